//! Energies of the stable states as bars, the lowest passes found between them as peaks.

use std::collections::BTreeMap;

use calotte_answers::states::report::StatesReport;

use super::{left_out, short, shown};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Point, Svg};
use crate::text::{Scaled, quantity, text_width};

const HEIGHT: f64 = 330.0;
/// Room under the frame for the names.
const NAMES: f64 = 42.0;
/// More of it when names take two lines.
const SECOND: f64 = 14.0;
const LEVEL: Pen = Pen::solid(ink::DEEP, 3.2);
const PASS: Pen = Pen::solid(ink::AMBER, 1.5);
/// A pass beside which a lower one lies.
const ROUGH: Pen = Pen::with(ink::AMBER, 1.5, Dash::Dashed);

/// The lowest pass between two states, by their places in the figure.
#[derive(Clone, Copy)]
struct Pass {
    top: f64,
    rough: bool,
}

/// The figure; `None` without two stable states and a pass between them.
pub(super) fn figure(report: &StatesReport) -> Option<Figure> {
    let states = shown(report);
    let place = |i: usize| states.iter().position(|s| s.0 == i);
    let mut passes: BTreeMap<(usize, usize), Pass> = BTreeMap::new();
    for w in &report.ways {
        let (Some(a), Some(b)) = (place(w.from), place(w.to)) else { continue };
        let top = states[a].1.energy_J + w.barrier_J;
        if a == b || !(top.is_finite() && top.abs() < 1e100) {
            continue;
        }
        let pass = Pass { top, rough: w.unstable > 1 };
        let known = passes.entry((a.min(b), a.max(b))).or_insert(pass);
        if top < known.top {
            *known = pass;
        }
    }
    if states.len() < 2 || passes.is_empty() {
        return None;
    }
    let level = |k: usize| states[k].1.energy_J;
    let highest = passes.values().map(|p| p.top).chain((0..states.len()).map(level)).fold(0.0, f64::max);
    let scaled = Scaled::suiting(highest, "J");
    let up = Axis::covering(0.0, highest * scaled.factor * 1.08, 5.0);
    let count = states.len() as f64;
    // Half a place of room at both ends.
    let across = Axis::between(0.0, count, 2.0);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 14.0, top: 40.0, bottom: 40.0 + HEIGHT, across, up };
    let slot = (frame.right - frame.left) / count;
    let middle = |k: usize| frame.left + slot * (k as f64 + 0.5);
    let half = (0.26 * slot).min(34.0);
    let y = |joules: f64| frame.y(joules * scaled.factor);
    // Names that are too wide for their place take every second line.
    let wide = states.iter().any(|s| text_width(&short(&s.1.name), ink::TICK) > 0.94 * slot);
    let mut svg = Svg::new(page_width(), frame.bottom + NAMES + if wide { SECOND } else { 0.0 });
    svg.record.frame(
        &frame,
        "place of the state from the left, the first at 0.5",
        &scaled.title("elastic energy"),
    );
    axes(&mut svg, &frame, &scaled.title("elastic energy"));
    let mut placer = Placer::new(frame.window());
    let bars: Vec<[Point; 2]> = (0..states.len())
        .map(|k| [(middle(k) - half, y(level(k))), (middle(k) + half, y(level(k)))])
        .collect();
    for b in &bars {
        placer.block(Rect { left: b[0].0, right: b[1].0, top: b[0].1 - 4.0, bottom: b[0].1 + 4.0 });
    }
    let mut peaks = Vec::new();
    svg.open("passes");
    for (&(a, b), pass) in &passes {
        let line = hump(bars[a][1], bars[b][0], y(pass.top));
        svg.curve("pass", &line, if pass.rough { ROUGH } else { PASS });
        placer.avoid(&line);
        peaks.push(((a, b), pass, line[line.len() / 2]));
    }
    svg.close();
    for ((k, (i, state)), b) in states.iter().enumerate().zip(&bars) {
        svg.line("level", b[0], b[1], LEVEL);
        let number = (i + 1).to_string();
        svg.text("number", (middle(k), frame.bottom + 18.0), ink::LABEL, Anchor::Middle, ink::INK, &number);
        let name = short(&state.name);
        let drop = 32.0 + if wide && k % 2 == 1 { SECOND } else { 0.0 };
        let half_name = text_width(&name, ink::TICK) / 2.0;
        let x = middle(k).clamp(half_name + 4.0, page_width() - half_name - 4.0);
        svg.text("name", (x, frame.bottom + drop), ink::TICK, Anchor::Middle, ink::INK, &name);
    }
    let mut told = Vec::new();
    for ((a, b), pass, at) in peaks {
        let from = if level(a) > level(b) { a } else { b };
        let words = quantity(pass.top - level(from), "J");
        if let Some(spot) = placer.beside(at, 2.0, &words, ink::TICK) {
            if let Some((p, q)) = spot.leader {
                svg.line("leader", p, q, Pen::solid(ink::GREY, 0.5));
            }
            svg.text("barrier", spot.at, ink::TICK, Anchor::Start, ink::RUST, &words);
        }
        let to = a + b - from;
        told.push(format!("{} to {} {words}", states[from].0 + 1, states[to].0 + 1));
    }
    let mut entries = vec![
        (Key::Line(LEVEL), "stable state".to_owned()),
        (Key::Line(PASS), "lowest pass found (number: from its higher state)".to_owned()),
    ];
    if passes.values().any(|p| p.rough) {
        entries.push((Key::Line(ROUGH), "a lower one lies beside it".to_owned()));
    }
    svg.open("legend");
    svg.legend_above((12.0, 18.0), page_width() - 8.0, &entries);
    svg.close();
    let caption = format!(
        "{}. Elastic energy of the stable states (bars) and of the lowest passes found between them (peaks); at each peak the \
         energy needed to reach it from the higher of its two states. Passes are upper bounds: the real ones are as high or \
         lower.{}",
        report.title,
        left_out(report, states.len())
    );
    let alt = format!(
        "Energies of {} stable states with the passes between them: {}.",
        states.len(),
        told.join("; ")
    );
    let title = format!("{}: energies and passes", report.title);
    Some(Figure::new("levels", svg.finish(&title, &alt), alt, caption))
}

/// A smooth way from one bar over a peak to another.
fn hump(from: Point, to: Point, peak: f64) -> Vec<Point> {
    const POINTS: usize = 25;
    let mid = (from.0 + to.0) / 2.0;
    let ease = |t: f64| 0.5 - 0.5 * libm::cos(std::f64::consts::PI * t);
    let side = |a: Point, k: usize| {
        let t = k as f64 / (POINTS - 1) as f64;
        (a.0 + t * (mid - a.0), a.1 + ease(t) * (peak - a.1))
    };
    let up = (0..POINTS).map(|k| side(from, k));
    up.chain((0..POINTS - 1).rev().map(|k| side(to, k))).collect()
}

/// The box with numbers at its upward side only.
fn axes(svg: &mut Svg, frame: &Frame, title: &str) {
    let (thin, dark) = (Pen::solid(ink::GREY, 0.6), Pen::solid(ink::INK, 1.0));
    let (l, r, t, b) = (frame.left, frame.right, frame.top, frame.bottom);
    svg.open("axes");
    svg.line("frame", (l, t), (r, t), thin);
    svg.line("frame", (r, t), (r, b), thin);
    svg.line("frame", (l, b), (r, b), dark);
    svg.line("frame", (l, t), (l, b), dark);
    for (value, major) in frame.up.ticks() {
        let y = frame.y(value);
        svg.line("tick", (l - if major { 6.0 } else { 3.0 }, y), (l, y), dark);
        if major {
            let label = frame.up.label(value);
            svg.text("number", (l - 9.0, y + 3.6), ink::TICK, Anchor::End, ink::INK, &label);
        }
    }
    let at = (l - Frame::room_left(&frame.up) + 12.0, (t + b) / 2.0);
    svg.text_upright("axis-title", at, ink::LABEL, Anchor::Middle, ink::INK, title);
    svg.close();
}
