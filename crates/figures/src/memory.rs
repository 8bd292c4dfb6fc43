//! A relaxing series against the readings it was fitted to, with its residuals.

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::release::time::{TimeUnit, duration, usable};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Mark, Point, Svg};
use crate::text::Scaled;
use crate::thin::{VISIBLE, thin};

const UPPER: f64 = 190.0;
const LOWER: f64 = 80.0;
const GAP: f64 = 16.0;
const MARK: f64 = 3.4;
const OUTLINE: Pen = Pen::solid(ink::INK, 0.9);
const SERIES: Pen = Pen::solid(ink::DEEP, 1.8);
const TERM: Pen = Pen::with(ink::GREY, 1.0, Dash::Dotted);
const STEM: Pen = Pen::solid(ink::RUST, 1.2);

/// A fitted series.
#[derive(Clone, Debug, PartialEq)]
pub struct SeriesFit {
    /// What was read, with its unit: "relaxation modulus", "Pa".
    pub what: String,
    /// SI unit; empty for a pure number.
    pub unit: String,
    /// Time (s), value as read and value of the series (SI), by time.
    pub readings: Vec<[f64; 3]>,
    /// Shares and times (s) of the terms.
    pub terms: Vec<[f64; 2]>,
}

/// The figure `memory`; `None` with fewer than two readings that can be drawn.
pub fn memory_figure(fit: &SeriesFit, title: &str) -> Option<Figure> {
    let rows: Vec<[f64; 3]> = fit
        .readings
        .iter()
        .copied()
        .filter(|r| r.iter().all(|v| usable(*v)) && r[0] > 0.0 && r[1] != 0.0)
        .collect();
    let (first, last) = (rows.first()?, rows.last()?);
    if last[0] <= first[0] {
        return None;
    }
    let time = TimeUnit::suiting(libm::sqrt(first[0] * last[0]).max(1e-3 * last[0]));
    let top = rows.iter().map(|r| r[1].max(r[2])).fold(0.0, f64::max);
    let scaled = Scaled::suiting(top, &fit.unit);
    let residual = |r: &[f64; 3]| 100.0 * (r[2] / r[1] - 1.0);
    let worst = rows.iter().map(|r| residual(r).abs()).fold(0.0, f64::max).max(1e-6);
    let across = || Axis::logarithmic(first[0] / 1.3 * time.per_s, last[0] * 1.3 * time.per_s);
    let up = Axis::covering(0.0, top * scaled.factor, 5.0);
    let down = Axis::between(-1.25 * worst, 1.25 * worst, 4.0);
    let left = 10.0 + Frame::room_left(&up).max(Frame::room_left(&down));
    let right = page_width() - 18.0;
    let upper = Frame { left, right, top: 40.0, bottom: 40.0 + UPPER, across: across(), up };
    let low = upper.bottom + GAP + 44.0;
    let lower = Frame { left, right, top: low, bottom: low + LOWER, across: across(), up: down };
    let mut svg = Svg::new(page_width(), lower.bottom + 46.0);
    let across_title = format!("time ({})", time.name);
    upper.draw(&mut svg, &across_title, &scaled.title(&fit.what));
    lower.draw(&mut svg, &across_title, "residual (%)");
    let window = upper.window();
    for [share, tau] in fit.terms.iter().filter(|t| t[1] > 0.0 && usable(t[1])) {
        let x = upper.x(tau * time.per_s);
        if x > window.left && x < window.right {
            svg.line("term", (x, upper.top), (x, upper.bottom), TERM);
            let words = format!("{:.0} %", 100.0 * share);
            svg.text("share", (x + 3.0, upper.bottom - 6.0), ink::TICK, Anchor::Start, ink::GREY, &words);
        }
    }
    let at = |t: f64, v: f64| -> Point { (upper.x(t * time.per_s), upper.y(v * scaled.factor)) };
    let line: Vec<Point> = rows.iter().map(|r| at(r[0], r[2])).collect();
    svg.curve("series", &thin(&line, VISIBLE), SERIES);
    let zero = lower.y(0.0);
    svg.line("zero", (left, zero), (right, zero), OUTLINE);
    for r in &rows {
        svg.mark("reading", at(r[0], r[1]), Mark::Disc, MARK, ink::PAPER, OUTLINE);
        let x = lower.x(r[0] * time.per_s);
        svg.line("residual", (x, zero), (x, lower.y(residual(r))), STEM);
    }
    svg.open("legend");
    let entries = [
        (Key::Mark(Mark::Disc, ink::PAPER, OUTLINE), "reading".to_owned()),
        (Key::Line(SERIES), "series".to_owned()),
        (Key::Line(TERM), "a term's time and share".to_owned()),
    ];
    svg.legend_above((left, 20.0), right, &entries);
    svg.close();
    let told = format!(
        "{} readings from {} to {}; a series of {} term{} misses none of them by more than {worst:.2} %",
        rows.len(),
        duration(first[0]),
        duration(last[0]),
        fit.terms.len(),
        if fit.terms.len() == 1 { "" } else { "s" }
    );
    let alt = format!(
        "Above, {} over the logarithm of time, readings and series; below, residuals. {told}.",
        fit.what
    );
    let caption = format!("{title}. {} and its relaxing series. {told}.", crate::text::capital(&fit.what));
    Some(Figure::new("memory", svg.finish(&format!("{title}: memory"), &alt), alt, caption))
}
