//! What the trials say about each number sought.

use calotte_lab::logbook::report::{LogbookReport, Sought};
use calotte_lab::logbook::shown;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Svg};
use crate::text::capital;

const COLUMNS: usize = 3;
const PLOT: f64 = 110.0;
const TOP: f64 = 52.0;
const STEP: f64 = 176.0;
const EDGE: Pen = Pen::solid(ink::INK, 0.4);
const MIDDLE: Pen = Pen::solid(ink::INK, 1.4);
const AS_DESCRIBED: Pen = Pen::with(ink::RUST, 1.3, Dash::Dashed);

/// The figure, a panel for each number; `None` without any.
pub(super) fn figure(r: &LogbookReport) -> Option<Figure> {
    let all: Vec<&Sought> = r.sought.iter().filter(|s| !s.histogram.is_empty()).collect();
    if all.is_empty() {
        return None;
    }
    let most = (page_width() / 200.0).floor().max(1.0) as usize;
    let columns = all.len().min(COLUMNS).min(most);
    let rows = all.len().div_ceil(columns);
    let mut svg = Svg::new(page_width(), TOP + STEP * rows as f64 - 12.0);
    let room = page_width() / columns as f64;
    for (i, s) in all.iter().enumerate() {
        let (column, row) = (i % columns, i / columns);
        panel(&mut svg, s, room * column as f64 + 14.0, room - 26.0, TOP + STEP * row as f64);
    }
    svg.open("legend");
    let entries = [
        (Key::Patch(ink::WALL_INVERTED), "draws".to_owned()),
        (Key::Patch(ink::AMBER), "middle 95 %".to_owned()),
        (Key::Line(MIDDLE), "median".to_owned()),
        (Key::Line(AS_DESCRIBED), "as described".to_owned()),
    ];
    svg.legend_above((12.0, 18.0), page_width() - 10.0, &entries);
    svg.close();
    let told: Vec<String> = all
        .iter()
        .map(|s| {
            format!(
                "{} {} ({} to {})",
                s.words,
                shown(s, s.median),
                shown(s, s.interval_95[0]),
                shown(s, s.interval_95[1])
            )
        })
        .collect();
    let told = told.join("; ");
    let alt = format!("Histograms of draws of every number sought, with medians and 95 % intervals: {told}.");
    let caption = format!("{}. What the trials say: {told}.", r.title);
    Some(Figure::new("sought", svg.finish(&format!("{}: numbers sought", r.title), &alt), alt, caption))
}

fn panel(svg: &mut Svg, s: &Sought, left: f64, wide: f64, top: f64) {
    let [low, high] = s.histogram_bounds;
    let scatter = s.name.ends_with("scatter");
    let unit = if scatter { 100.0 } else { 1.0 };
    let most = s.histogram.iter().copied().fold(0.0, f64::max);
    if !(low > 0.0 && high > low && most > 0.0) {
        return;
    }
    // The draws of a scatter are even in its logarithm.
    let across = if scatter {
        Axis::logarithmic(low * unit, high * unit)
    } else {
        Axis::between(low * unit, high * unit, 4.0)
    };
    let frame = Frame {
        left,
        right: left + wide,
        top,
        bottom: top + PLOT,
        across,
        up: Axis::between(0.0, 1.12 * most, 2.0),
    };
    let n = s.histogram.len() as f64;
    let edge = |k: f64| low * libm::pow(high / low, k / n);
    svg.record.frame(&frame, if scatter { "%" } else { "factor" }, &format!("{}: share of draws", s.words));
    svg.open("draws");
    for (k, share) in s.histogram.iter().enumerate().filter(|(_, h)| **h > 0.0) {
        let (a, b) = (edge(k as f64), edge(k as f64 + 1.0));
        let (x0, x1, y) = (frame.x(a * unit), frame.x(b * unit), frame.y(*share));
        let middle = 0.5 * (a + b);
        let inside = middle >= s.interval_95[0] && middle <= s.interval_95[1];
        let fill = if inside { ink::AMBER } else { ink::WALL_INVERTED };
        svg.polygon("bar", &[(x0, frame.bottom), (x1, frame.bottom), (x1, y), (x0, y)], fill, EDGE);
    }
    svg.close();
    let dark = Pen::solid(ink::INK, 1.0);
    svg.open("axes");
    svg.line("frame", (frame.left, frame.bottom), (frame.right, frame.bottom), dark);
    for (value, major) in frame.across.ticks_along(wide) {
        let x = frame.x(value);
        svg.line("tick", (x, frame.bottom), (x, frame.bottom + if major { 6.0 } else { 3.0 }), dark);
        if major {
            svg.text(
                "number",
                (x, frame.bottom + 17.5),
                ink::TICK,
                Anchor::Middle,
                ink::INK,
                &frame.across.label(value),
            );
        }
    }
    svg.close();
    let x = frame.x(s.median * unit);
    svg.line("median", (x, frame.top + 6.0), (x, frame.bottom), MIDDLE);
    if !scatter && (low..=high).contains(&1.0) {
        let x = frame.x(1.0);
        svg.line("described", (x, frame.top + 6.0), (x, frame.bottom), AS_DESCRIBED);
    }
    let name =
        if scatter { format!("{} (%)", capital(s.words)) } else { format!("{} (factor)", capital(s.words)) };
    svg.text("panel", (frame.left, frame.top - 4.0), ink::LABEL, Anchor::Start, ink::INK, &name);
    let note = if s.told { String::new() } else { "not told".to_owned() };
    if !note.is_empty() {
        svg.text("note", (frame.right, frame.top - 4.0), ink::LABEL, Anchor::End, ink::RUST, &note);
    }
}
