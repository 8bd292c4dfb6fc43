//! Sideways modes: along the section and around the axis, exaggerated.

use calotte_answers::poke::report::{Event, EventKind, PokeReport, SidewaysMode};

use super::{by_load, meridian, placed};
use crate::Figure;
use crate::ink::{self, Dash, Pen};
use crate::place::Rect;
use crate::style::page_width;
use crate::svg::{Anchor, DOT, Key, Point, Svg};
use crate::text::{LengthUnit, Scaled};
use crate::thin::{VISIBLE, thin};

/// Most modes drawn.
const MOST: usize = 2;
/// Largest displacement drawn over the largest radius.
const EXAGGERATION: f64 = 0.14;
/// Height of one mode's row without its heading.
const ROW: f64 = 176.0;
const HEADING: f64 = 24.0;
/// Middle of the section and of the plan.
const SECTION_X: f64 = 205.0;
const PLAN_X: f64 = 545.0;
/// Greatest half-width of a section and radius of a plan, the wave included.
const HALF: f64 = 180.0;
const PLAN: f64 = 84.0;

const PLAIN: Pen = Pen::with(ink::GREY, 1.0, Dash::Dashed);
const MOVED: Pen = Pen::solid(ink::DEEP, 2.0);
const PEAK: Pen = Pen::with(ink::AMBER, 1.8, Dash::Chain);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.1);

/// A place or length across the page, less on a page narrower than the usual one.
fn wide(units: f64) -> f64 {
    units * (page_width() / 680.0).min(1.0)
}

/// A station of the section with its mode.
#[derive(Clone, Copy)]
struct Station {
    s: f64,
    r: f64,
    z: f64,
    u: f64,
    v: f64,
    w: f64,
}

/// The deformed section with the mode interpolated on it; `None` with too little to draw.
fn stations(event: &Event, mode: &SidewaysMode) -> Option<Vec<Station>> {
    let rows: Vec<[f64; 4]> = mode
        .s_m
        .iter()
        .zip(&mode.u)
        .zip(&mode.v)
        .zip(&mode.w)
        .map(|(((&s, &u), &v), &w)| [s, u, v, w])
        .filter(|row| row.iter().all(|x| x.abs() < 1e9))
        .collect();
    let section = meridian(&event.meridian);
    if rows.len() < 2 || section.len() < 2 {
        return None;
    }
    let at = |s: f64| -> [f64; 4] {
        let next = rows.partition_point(|row| row[0] < s).clamp(1, rows.len() - 1);
        let (a, b) = (rows[next - 1], rows[next]);
        let run = b[0] - a[0];
        let t = if run > 0.0 { ((s - a[0]) / run).clamp(0.0, 1.0) } else { 0.0 };
        [0, 1, 2, 3].map(|k| a[k] + t * (b[k] - a[k]))
    };
    let all: Vec<Station> = section
        .iter()
        .map(|&(s, r, z)| {
            let [_, u, v, w] = at(s);
            Station { s, r, z, u, v, w }
        })
        .collect();
    all.iter().any(|p| p.u != 0.0 || p.w != 0.0).then_some(all)
}

/// The first sideways events that have a mode, in the order met.
fn picked(report: &PokeReport) -> Vec<(&Event, &SidewaysMode, Vec<Station>)> {
    report
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Sideways && placed(e))
        .filter_map(|e| {
            let mode = e.mode.as_ref()?;
            Some((e, mode, stations(e, mode)?))
        })
        .take(MOST)
        .collect()
}

/// The figure; `None` when no sideways event has a mode.
pub(super) fn figure(report: &PokeReport) -> Option<Figure> {
    let modes = picked(report);
    if modes.is_empty() {
        return None;
    }
    let largest = modes.iter().map(|m| m.0.load_SI.abs()).fold(0.0, f64::max);
    let unit = Scaled::suiting(largest, &report.load.load_unit);
    let top = 34.0;
    let mut svg = Svg::new(page_width(), top + modes.len() as f64 * (HEADING + ROW) + 8.0);
    let mut schematic = false;
    for (i, (event, mode, line)) in modes.iter().enumerate() {
        let y = top + i as f64 * (HEADING + ROW);
        svg.open(&format!("mode-{i}"));
        let heading = format!("n = {} at {}", mode.n, unit.print(event.load_SI));
        svg.text("label", (12.0, y + 14.0), ink::LABEL, Anchor::Start, ink::INK, &heading);
        let note = "amplitude arbitrary";
        svg.text("label", (12.0, y + 30.0), ink::TICK, Anchor::Start, ink::GREY, note);
        section(&mut svg, mode, line, y + HEADING + 8.0);
        schematic |= plan(&mut svg, mode, line, y + HEADING + ROW / 2.0);
        svg.close();
    }
    svg.open("legend");
    let entries = [
        (Key::Line(PLAIN), "without the mode".to_owned()),
        (Key::Line(MOVED), "section, rim".to_owned()),
        (Key::Line(PEAK), "circle that moves most".to_owned()),
        (Key::Dot(ink::AMBER, OUTLINE), "its place".to_owned()),
    ];
    if crate::style::now().is_usual() {
        svg.legend((12.0, 20.0), &entries);
    } else {
        svg.legend_above((12.0, 20.0), page_width() - 8.0, &entries);
    }
    svg.close();

    let list: Vec<String> =
        modes.iter().map(|(e, m, _)| format!("n = {} at {}", m.n, unit.print(e.load_SI))).collect();
    let list = list.join(" and ");
    let what = if modes.len() == 1 { "Sideways mode" } else { "Sideways modes" };
    let waves = if schematic {
        " Where the motion is mostly along the axis, its wave is drawn outwards in the plan."
    } else {
        ""
    };
    let set = super::words::driving(by_load(report));
    let caption = format!(
        "{}. {what} {list}, where the axisymmetric path loses its stability: section through a crest (left) \
         and plan of the rim and of the circle that moves most (right). Amplitudes are arbitrary and \
         exaggerated.{waves}",
        report.title
    );
    let alt = format!(
        "{what} {list}, with the {set} set: section and plan with {} waves around, exaggerated.",
        modes.iter().map(|m| m.1.n.to_string()).collect::<Vec<_>>().join(" and ")
    );
    let title = format!("{}: sideways modes", report.title);
    Some(Figure::new("mode", svg.finish(&title, &alt), alt, caption))
}

/// Largest displacement of the stations.
fn size(line: &[Station]) -> f64 {
    line.iter().map(|p| libm::hypot(p.u, p.w)).fold(0.0, f64::max)
}

/// The station nearest to where the mode is largest.
fn peak(mode: &SidewaysMode, line: &[Station]) -> Station {
    let far = |p: &Station| {
        if mode.peak_at_m.is_finite() { (p.s - mode.peak_at_m).abs() } else { -libm::hypot(p.u, p.w) }
    };
    line.iter().skip(1).fold(line[0], |best, p| if far(p) < far(&best) { *p } else { best })
}

/// The section through a crest: on the far side of the axis the wave has run n half-turns.
fn section(svg: &mut Svg, mode: &SidewaysMode, line: &[Station], top: f64) {
    let radius = line.iter().map(|p| p.r.abs()).fold(0.0, f64::max);
    let amplitude = EXAGGERATION * radius / size(line);
    let far_sign = if mode.n.is_multiple_of(2) { 1.0 } else { -1.0 };
    let side = |sign: f64, wave: f64| -> Vec<Point> {
        line.iter().map(|p| (sign * (p.r + wave * amplitude * p.u), p.z + wave * amplitude * p.w)).collect()
    };
    let (right, left) = (side(1.0, 1.0), side(-1.0, far_sign));
    let (plain_right, plain_left) = (side(1.0, 0.0), side(-1.0, 0.0));
    let all = || right.iter().chain(&left).chain(&plain_right);
    let half = all().map(|p| p.0.abs()).fold(0.0, f64::max);
    let low = all().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let high = all().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    let scale = (wide(HALF) / half).min((ROW - 26.0) / (high - low));
    if !(scale.is_finite() && scale > 0.0) {
        return;
    }
    let spare = ROW - 16.0 - scale * (high - low);
    // Heights grow downwards, which shows a natural bowl as a dome.
    let page = |p: &Point| (wide(SECTION_X) + scale * p.0, top + spare / 2.0 + scale * (p.1 - low));
    let window = Rect::around(
        [(wide(SECTION_X) - wide(HALF), top - 6.0), (wide(SECTION_X) + wide(HALF), top + ROW)].into_iter(),
    )
    .grown(4.0);
    let unit = LengthUnit::for_length(2.0 * half);
    let per = scale / unit.per_m;
    let zero = (wide(SECTION_X), top + spare / 2.0 - scale * low);
    svg.record.section(window, zero, (per, per), unit.name, &format!("section, n = {}", mode.n));
    let axis = Pen::with(ink::FAINT, 0.8, Dash::Chain);
    svg.line("axis", (wide(SECTION_X), top - 2.0), (wide(SECTION_X), top + ROW - 14.0), axis);
    let hole = line[0].r * scale > 0.05;
    for (class, pen, left, right) in
        [("plain", PLAIN, &plain_left, &plain_right), ("moved", MOVED, &left, &right)]
    {
        let right: Vec<Point> = right.iter().map(page).collect();
        let left: Vec<Point> = left.iter().rev().map(page).collect();
        if hole {
            svg.curve(class, &thin(&left, VISIBLE), pen);
            svg.curve(class, &thin(&right, VISIBLE), pen);
        } else {
            let whole: Vec<Point> = left.into_iter().chain(right).collect();
            svg.curve(class, &thin(&whole, VISIBLE), pen);
        }
    }
    let p = peak(mode, line);
    for (sign, wave) in [(1.0, 1.0), (-1.0, far_sign)] {
        let at = page(&(sign * (p.r + wave * amplitude * p.u), p.z + wave * amplitude * p.w));
        svg.circle("peak", at, DOT, ink::AMBER, OUTLINE);
    }
}

/// Rim and busiest circle from above; says whether a mostly axial motion was drawn outwards.
fn plan(svg: &mut Svg, mode: &SidewaysMode, line: &[Station], middle: f64) -> bool {
    const IN_PLAN: f64 = 0.25;
    let radius = line.iter().map(|p| p.r.abs()).fold(0.0, f64::max);
    let largest = size(line);
    let amplitude = EXAGGERATION * radius / largest;
    let scale = wide(PLAN) / (radius * (1.0 + EXAGGERATION));
    let (peak, rim) = (peak(mode, line), line[line.len() - 1]);
    if !(scale.is_finite() && scale > 0.0) {
        return false;
    }
    let axial = libm::hypot(peak.u, peak.v) < IN_PLAN * largest;
    let window = Rect::about((wide(PLAN_X), middle), wide(PLAN), wide(PLAN)).grown(4.0);
    let unit = LengthUnit::for_length(2.0 * radius);
    let per = scale / unit.per_m;
    let name = format!("plan, n = {}, x and y for r and z", mode.n);
    svg.record.section(window, (wide(PLAN_X), middle), (per, -per), unit.name, &name);
    let circle = |p: Station, wave: f64| -> Vec<Point> {
        let steps = 72 * mode.n.clamp(1, 40) + 72;
        let out = if axial { p.u + p.w } else { p.u };
        let along = if axial { 0.0 } else { p.v };
        (0..=steps)
            .map(|i| {
                let angle = 2.0 * std::f64::consts::PI * f64::from(i) / f64::from(steps);
                let (sin, cos) = libm::sincos(f64::from(mode.n) * angle);
                let r = scale * (p.r + wave * amplitude * out * cos);
                let t = scale * wave * amplitude * along * sin;
                let (s, c) = libm::sincos(angle);
                (wide(PLAN_X) + r * c - t * s, middle - r * s - t * c)
            })
            .collect()
    };
    svg.curve("plain", &thin(&circle(rim, 0.0), VISIBLE), PLAIN);
    svg.curve("rim", &thin(&circle(rim, 1.0), VISIBLE), MOVED);
    // A peak at the rim is the rim; one at the pole has no circle.
    if (peak.r - rim.r).abs() * scale > 3.0 && peak.r * scale > 3.0 {
        svg.curve("plain", &thin(&circle(peak, 0.0), VISIBLE), PLAIN);
        svg.curve("peak-circle", &thin(&circle(peak, 1.0), VISIBLE), PEAK);
    }
    axial
}
