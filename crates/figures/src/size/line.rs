//! Readings over the one number that may change, with what will do and the solutions: a panel per wish.

use calotte_answers::size::report::{SizeReport, SizeWish};

use super::{ends, titled};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, LEGEND_STEP, Mark, Point, Svg, legend_lines};
use crate::thin::clip;

const GAP: f64 = 58.0;
const READING: Pen = Pen::solid(ink::DEEP, 1.8);
const LIMIT: Pen = Pen::with(ink::RUST, 1.1, Dash::Dashed);
const SOLVED: Pen = Pen::with(ink::INK, 0.8, Dash::Dotted);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.2);
const NONE: &str = "url(#size-none)";

/// The figure; `None` when nothing can be drawn.
pub(super) fn figure(r: &SizeReport) -> Option<Figure> {
    let v = r.vary.first()?;
    let (from, to) = (v.scale.shown(v.from_si), v.scale.shown(v.to_si));
    // A wish about the number itself is a straight line that shows nothing.
    let panels: Vec<(usize, &SizeWish)> =
        r.wishes.iter().enumerate().filter(|(_, w)| w.about != v.key).take(4).collect();
    let places: Vec<f64> = r.scan.axes_si.first()?.iter().map(|x| v.scale.shown(*x)).collect();
    let mut ups = Vec::new();
    for (k, w) in &panels {
        let inside = places
            .iter()
            .zip(r.scan.readings_si.get(*k)?)
            .filter(|(x, _)| (from..=to).contains(*x))
            .filter_map(|(_, y)| y.map(|y| w.scale.shown(y)));
        let limits = [w.low_si, w.high_si].into_iter().flatten().map(|y| w.scale.shown(y));
        let (a, b) = ends(inside.chain(limits)).unwrap_or((0.0, 1.0));
        let pad = 0.05 * (b - a);
        ups.push(Axis::covering(a - pad, b + pad, 5.0));
    }
    if panels.is_empty() {
        return None;
    }
    let height = if panels.len() == 1 { 260.0 } else { 170.0 };
    let left = 10.0 + ups.iter().map(Frame::room_left).fold(0.0, f64::max);
    let right = page_width() - 18.0;
    let entries = entries(r);
    let mut top = 16.0 + LEGEND_STEP * legend_lines(left, right, &entries);
    let bottom = top + (height + GAP) * panels.len() as f64 - GAP;
    let mut svg = Svg::new(page_width(), bottom + 46.0);
    svg.pattern("size-none", ink::PAPER, ink::PATTERN, false);
    for ((k, w), up) in panels.iter().zip(ups) {
        let frame =
            Frame { left, right, top, bottom: top + height, across: Axis::between(from, to, 7.0), up };
        panel(&mut svg, r, &frame, *k, w, &places);
        frame.draw(&mut svg, &titled(&v.key, &v.scale), &titled(&w.about, &w.scale));
        let above = (frame.left + 4.0, frame.top - 5.0);
        if panels.len() > 1 {
            svg.text("wish", above, ink::TICK, Anchor::Start, ink::GREY, &w.text);
        }
        marks(&mut svg, r, &frame, *k, w);
        top += height + GAP;
    }
    svg.open("legend");
    svg.legend_rows((left, 18.0), right, &entries);
    svg.close();
    let told = match r.solutions.len() {
        0 => "No value meets all wishes".to_owned(),
        1 => "One solution is marked".to_owned(),
        n => format!("{n} solutions are marked"),
    };
    let wishes = panels.iter().map(|p| format!("“{}”", p.1.text)).collect::<Vec<_>>().join(", ");
    let alt = format!("Readings of {wishes} over {}. {told}.", v.key);
    let caption = format!("{}. What {} gives, with the wishes {wishes}. {told}.", r.title, v.key);
    Some(Figure::new("size", svg.finish(&format!("{}: sizes", r.title), &alt), alt, caption))
}

fn entries(r: &SizeReport) -> Vec<(Key, String)> {
    let mut all =
        vec![(Key::Line(READING), "reading".to_owned()), (Key::Patch(ink::SHADE), "will do".to_owned())];
    if r.evidence.without_reading > 0 {
        all.push((Key::Patch(NONE), "no reading".to_owned()));
    }
    if !r.solutions.is_empty() {
        all.push((Key::Mark(Mark::Diamond, ink::AMBER, OUTLINE), "solution".to_owned()));
    }
    all.push((Key::Mark(Mark::Target, "none", OUTLINE), "this part".to_owned()));
    all
}

fn panel(svg: &mut Svg, r: &SizeReport, f: &Frame, k: usize, w: &SizeWish, places: &[f64]) {
    let window = f.window();
    if w.low_si.is_some() || w.high_si.is_some() {
        let y =
            |si: Option<f64>, other: f64| si.map_or(other, |v| f.y(w.scale.shown(v)).clamp(f.top, f.bottom));
        let (low, high) = (y(w.low_si, f.bottom), y(w.high_si, f.top));
        svg.rectangle("will-do", (f.left, high), (f.right - f.left, low - high), ink::SHADE);
    }
    let rows: Vec<(f64, Option<f64>)> = places
        .iter()
        .zip(&r.scan.readings_si[k])
        .map(|(x, y)| (*x, y.map(|y| w.scale.shown(y))))
        .filter(|(x, _)| *x >= f.across.low && *x <= f.across.high)
        .collect();
    // Between the last place with a reading and the first without lies a border.
    for pair in rows.windows(2) {
        if pair[0].1.is_none() || pair[1].1.is_none() {
            let (a, b) = (f.x(pair[0].0), f.x(pair[1].0));
            svg.rectangle("none", (a, f.top), (b - a, f.bottom - f.top), NONE);
        }
    }
    for edge in [w.low_si, w.high_si].into_iter().flatten() {
        let y = f.y(w.scale.shown(edge));
        if y >= f.top && y <= f.bottom {
            svg.line("limit", (f.left, y), (f.right, y), LIMIT);
        }
    }
    for stretch in rows.split(|p| p.1.is_none()) {
        let points: Vec<Point> = stretch.iter().filter_map(|(x, y)| Some((f.x(*x), f.y((*y)?)))).collect();
        for piece in clip(&points, &window) {
            svg.curve("reading", &piece, READING);
        }
    }
}

fn marks(svg: &mut Svg, r: &SizeReport, f: &Frame, k: usize, w: &SizeWish) {
    let Some(v) = r.vary.first() else { return };
    let inside =
        |p: Point| p.0 >= f.left - 0.1 && p.0 <= f.right + 0.1 && p.1 >= f.top - 0.1 && p.1 <= f.bottom + 0.1;
    if let Some(y) = r.readings_here_si.get(k).copied().flatten() {
        let at = (f.x(v.scale.shown(v.here_si)), f.y(w.scale.shown(y)));
        if inside(at) {
            svg.mark("here", at, Mark::Target, 5.6, "none", OUTLINE);
        }
    }
    for s in &r.solutions {
        let at = (f.x(v.scale.shown(s.values_si[0])), f.y(w.scale.shown(s.readings[k].solver_si)));
        if inside(at) {
            svg.line("solved", at, (at.0, f.bottom), SOLVED);
            svg.mark("solution", at, Mark::Diamond, 5.0, ink::AMBER, OUTLINE);
        }
    }
}
