//! The lowest modes: section through a crest and plan with nodal lines and circles.

use std::f64::consts::PI;

use calotte_answers::modes::report::{Mode, ModesReport, Shape};
use calotte_answers::modes::words::pitch;

use crate::Figure;
use crate::ink::{self, Dash, Pen};
use crate::place::Rect;
use crate::style::page_width;
use crate::svg::{Anchor, Key, Point, Svg};
use crate::text::LengthUnit;
use crate::thin::{VISIBLE, thin};

/// Most modes drawn, and how many side by side.
const MOST: usize = 6;
const COLUMNS: usize = 2;
const ROW: f64 = 132.0;
const HEADING: f64 = 22.0;
const TOP: f64 = 34.0;
/// Largest displacement drawn over the largest extent.
const EXAGGERATION: f64 = 0.12;
/// Half-width of a section, radius of a plan.
const HALF: f64 = 92.0;
const PLAN: f64 = 50.0;

const PLAIN: Pen = Pen::with(ink::GREY, 1.0, Dash::Dashed);
const MOVED: Pen = Pen::solid(ink::DEEP, 1.8);
const NODE: Pen = Pen::with(ink::AMBER, 1.5, Dash::Chain);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.1);

/// The figure; `None` when no mode has a shape.
pub(super) fn figure(r: &ModesReport) -> Option<Figure> {
    let picked: Vec<(&Mode, &Shape)> = r
        .lowest
        .iter()
        .filter_map(|i| r.modes.get(*i))
        .filter_map(|m| Some((m, m.shape.as_ref()?)))
        .filter(|(_, s)| s.across.len() == r.meridian.r_m.len() && s.across.len() > 1)
        .take(MOST)
        .collect();
    if picked.is_empty() {
        return None;
    }
    let columns = (page_width() / 300.0).floor().clamp(1.0, COLUMNS as f64) as usize;
    let rows = picked.len().div_ceil(columns);
    let mut svg = Svg::new(page_width(), TOP + rows as f64 * (HEADING + ROW) + 6.0);
    let cell = page_width() / columns as f64;
    for (i, (m, shape)) in picked.iter().enumerate() {
        let (x, y) = ((i % columns) as f64 * cell, TOP + (i / columns) as f64 * (HEADING + ROW));
        svg.open(&format!("mode-{i}"));
        let heading = format!("{}: n = {}, {}", pitch(m), m.n, circles(m));
        svg.text("label", (x + 12.0, y + 14.0), ink::LABEL, Anchor::Start, ink::INK, &heading);
        section(&mut svg, r, m, shape, (x + 12.0 + HALF, y + HEADING));
        plan(&mut svg, r, m, (x + cell - PLAN - 18.0, y + HEADING + ROW / 2.0));
        svg.close();
    }
    svg.open("legend");
    let entries = [
        (Key::Line(PLAIN), "at rest".to_owned()),
        (Key::Line(MOVED), "section through a crest".to_owned()),
        (Key::Line(NODE), "nodal lines and circles in plan".to_owned()),
    ];
    if crate::style::now().is_usual() {
        svg.legend((12.0, 20.0), &entries);
    } else {
        svg.legend_above((12.0, 20.0), page_width() - 8.0, &entries);
    }
    svg.close();
    let list: Vec<String> =
        picked.iter().map(|(m, _)| format!("{} with n = {} and {}", pitch(m), m.n, circles(m))).collect();
    let list = list.join("; ");
    let alt = format!("The {} lowest modes: {list}. Sections and plans, exaggerated.", picked.len());
    let caption = format!(
        "{}. The {} lowest modes about the {} shape: section through a crest (left), and plan with the lines and circles where \
         the largest displacement vanishes (right). Amplitudes are arbitrary and exaggerated.",
        r.title,
        picked.len(),
        r.state
    );
    let title = format!("{}: lowest modes", r.title);
    Some(Figure::new("modes", svg.finish(&title, &alt), alt, caption))
}

fn circles(m: &Mode) -> String {
    match m.nodal_circles {
        0 => "no circle".to_owned(),
        1 => "1 circle".to_owned(),
        c => format!("{c} circles"),
    }
}

/// Both sides of the section: on the far side of the axis the wave has run n half-turns.
fn section(svg: &mut Svg, r: &ModesReport, m: &Mode, shape: &Shape, (middle, top): Point) {
    let p = &r.meridian;
    let far = if m.n.is_multiple_of(2) { 1.0 } else { -1.0 };
    let extent = p.r_m.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    let moved = |i: usize, wave: f64| -> Point {
        let (sin, cos) = libm::sincos(p.slope_rad[i]);
        let a = wave * EXAGGERATION * extent;
        (
            p.r_m[i] + a * (shape.along[i] * cos - shape.across[i] * sin),
            p.z_m[i] + a * (shape.along[i] * sin + shape.across[i] * cos),
        )
    };
    let side = |wave: f64| -> Vec<Point> { (0..p.r_m.len()).map(|i| moved(i, wave)).collect() };
    let (still, near, other) = (side(0.0), side(1.0), side(far));
    let all = || still.iter().chain(&near).chain(&other);
    let half = all().map(|q| q.0.abs()).fold(0.0, f64::max);
    let low = all().map(|q| q.1).fold(f64::INFINITY, f64::min);
    let high = all().map(|q| q.1).fold(f64::NEG_INFINITY, f64::max);
    let scale = (HALF / half).min((ROW - 22.0) / (high - low));
    if !(scale.is_finite() && scale > 0.0) {
        return;
    }
    let spare = 0.5 * (ROW - 12.0 - scale * (high - low));
    // Heights grow downwards, which shows a natural bowl as a dome.
    let page = |sign: f64, q: &Point| (middle + sign * scale * q.0, top + spare + scale * (q.1 - low));
    let window = Rect::around([(middle - HALF, top), (middle + HALF, top + ROW)].into_iter()).grown(2.0);
    let unit = LengthUnit::for_length(2.0 * half);
    let per = scale / unit.per_m;
    let zero = (middle, top + spare - scale * low);
    svg.record.section(window, zero, (per, per), unit.name, &format!("{}, n = {}", pitch(m), m.n));
    let axis = Pen::with(ink::FAINT, 0.8, Dash::Chain);
    svg.line("axis", (middle, top), (middle, top + ROW - 12.0), axis);
    for (class, pen, left, right) in [("still", PLAIN, &still, &still), ("moved", MOVED, &other, &near)] {
        let on_right: Vec<Point> = right.iter().map(|q| page(1.0, q)).collect();
        let on_left: Vec<Point> = left.iter().map(|q| page(-1.0, q)).collect();
        svg.curve(class, &thin(&on_left, VISIBLE), pen);
        svg.curve(class, &thin(&on_right, VISIBLE), pen);
    }
}

/// Edges, nodal circles and nodal lines seen along the axis.
fn plan(svg: &mut Svg, r: &ModesReport, m: &Mode, (x, y): Point) {
    let p = &r.meridian;
    let radius = p.r_m.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    let scale = PLAN / radius;
    if !(scale.is_finite() && scale > 0.0) {
        return;
    }
    let window = Rect::about((x, y), PLAN, PLAN).grown(2.0);
    let unit = LengthUnit::for_length(2.0 * radius);
    let per = scale / unit.per_m;
    svg.record.section(
        window,
        (x, y),
        (per, -per),
        unit.name,
        &format!("plan, n = {}, x and y for r and z", m.n),
    );
    let ends = [p.r_m[0], p.r_m[p.r_m.len() - 1]].map(|q| scale * q.abs());
    svg.circle("outline", (x, y), PLAN, "none", OUTLINE);
    for e in ends.iter().filter(|e| **e > 1.0 && **e < PLAN - 0.5) {
        svg.circle("edge", (x, y), *e, "none", OUTLINE);
    }
    for s in &m.circles_at_m {
        let next = p.s_m.partition_point(|q| q < s).clamp(1, p.s_m.len() - 1);
        let (a, b) = (p.s_m[next - 1], p.s_m[next]);
        let share = if b > a { (s - a) / (b - a) } else { 0.0 };
        let at = p.r_m[next - 1] + share * (p.r_m[next] - p.r_m[next - 1]);
        svg.circle("nodal-circle", (x, y), scale * at.abs(), "none", NODE);
    }
    let inner = if p.r_m.iter().any(|q| scale * q.abs() < 1.0) { 0.0 } else { ends[0].min(ends[1]) };
    for k in 0..2 * m.n {
        let (sin, cos) = libm::sincos(PI * (f64::from(k) + 0.5) / f64::from(m.n));
        svg.line("nodal-line", (x + inner * cos, y - inner * sin), (x + PLAN * cos, y - PLAN * sin), NODE);
    }
}
