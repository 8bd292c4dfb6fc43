//! How the wait spreads over a batch: cumulative share, and what the spread comes from.

use calotte_answers::release::curves::WaitSpread;

use super::time::{TimeUnit, duration, usable};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Point, Svg};
use crate::text::{number, text_width};
use crate::thin::{VISIBLE, thin};

const PLOT: f64 = 220.0;
/// Width of an end bar and its distance from the frame.
const BAR: f64 = 22.0;
const APART: f64 = 6.0;
/// Height of a row of the second panel.
const ROW: f64 = 22.0;
/// Most inputs shown.
const MOST: usize = 8;
const CURVE: Pen = Pen::solid(ink::DEEP, 2.2);
const GUIDE: Pen = Pen::with(ink::GREY, 0.8, Dash::Dotted);
const EDGE: Pen = Pen::solid(ink::INK, 0.7);

fn percent(share: f64) -> String {
    let p = share * 100.0;
    if p > 0.0 && p < 1.0 { format!("{} %", number(p, 1)) } else { format!("{} %", p.round()) }
}

/// The figure; `None` when no draw has a finite wait and none is known to stay.
pub(super) fn figure(spread: &WaitSpread, title: &str) -> Option<Figure> {
    let mut waits: Vec<f64> = spread.waits.iter().copied().filter(|w| usable(*w) && *w > 0.0).collect();
    waits.sort_by(f64::total_cmp);
    let answered = waits.len() + spread.waits.iter().filter(|w| w.is_infinite()).count();
    // Share of the answered draws at or below a wait; from the quantiles when the draws are not at hand.
    let steps: Vec<(f64, f64)> = if waits.is_empty() {
        let told = spread.quantiles.iter().filter_map(|q| Some((q.wait_s?, q.share)));
        told.filter(|(w, s)| usable(*w) && *w > 0.0 && usable(*s)).collect()
    } else {
        waits.iter().enumerate().map(|(i, w)| (*w, (i + 1) as f64 / answered as f64)).collect()
    };
    let share = |x: f64| if usable(x) { x.clamp(0.0, 1.0) } else { 0.0 };
    let (stay, at_once) = (share(spread.stay), share(spread.at_once));
    if steps.is_empty() && stay == 0.0 {
        return None;
    }
    let (least, most) = match (steps.first(), steps.last()) {
        (Some(a), Some(b)) => (a.0, b.0),
        _ => (1.0, 10.0),
    };
    let unit = TimeUnit::suiting(libm::sqrt(least * most).max(most * 1e-3));
    let across = Axis::logarithmic(least / 1.1 * unit.per_s, most * 1.1 * unit.per_s);
    let mut up = Axis::covering(0.0, 100.0, 5.0);
    (up.low, up.high) = (0.0, 100.0);

    let inputs: Vec<_> = spread.sensitivities.iter().filter(|s| usable(s.share)).take(MOST).collect();
    let left = 10.0 + Frame::room_left(&up) + BAR + 2.0 * APART;
    let right = page_width() - 18.0 - BAR - 2.0 * APART;
    let top = 40.0;
    let frame = Frame { left, right, top, bottom: top + PLOT, across, up };
    let second = frame.bottom + 66.0;
    let height =
        if inputs.is_empty() { frame.bottom + 46.0 } else { second + ROW * inputs.len() as f64 + 14.0 };
    let mut svg = Svg::new(page_width(), height);
    // The vertical axis stands left of the bar of those that return at once.
    let axis_left = left - BAR - 2.0 * APART;
    frame.draw_apart(&mut svg, axis_left, &format!("wait ({})", unit.name), "share of the batch (%)");

    let mut placer = Placer::new(frame.window());
    let mut line: Vec<Point> = vec![(frame.left, frame.bottom)];
    let mut level = frame.bottom;
    for &(w, s) in &steps {
        let x = frame.x(w * unit.per_s);
        line.push((x, level));
        level = frame.y(s * 100.0);
        line.push((x, level));
    }
    line.push((frame.right, level));
    let line = thin(&line, VISIBLE);
    placer.avoid(&line);
    svg.open("share");
    svg.curve("cumulative", &line, CURVE);
    svg.close();
    svg.open("quantiles");
    let quantiles: Vec<(f64, f64)> = spread
        .quantiles
        .iter()
        .filter_map(|q| Some((q.share, q.wait_s?)))
        .filter(|(s, w)| usable(*s) && usable(*w) && *w >= least && *w <= most)
        .collect();
    for &(s, w) in &quantiles {
        let p = (frame.x(w * unit.per_s), frame.y(s * 100.0));
        svg.line("guide", (frame.left, p.1), p, GUIDE);
        svg.line("guide", p, (p.0, frame.bottom), GUIDE);
        svg.circle("quantile", p, 3.4, ink::PAPER, Pen::solid(ink::INK, 1.2));
        placer.block(Rect::about(p, 4.0, 4.0));
        placer.avoid(&[p, (p.0, frame.bottom)]);
    }
    for &(s, w) in &quantiles {
        let p = (frame.x(w * unit.per_s), frame.y(s * 100.0));
        let words = format!("{} within {}", percent(s), duration(w));
        let Some(spot) = placer.beside(p, 5.0, &words, ink::LABEL) else { continue };
        if let Some((a, b)) = spot.leader {
            svg.line("leader", a, b, Pen::solid(ink::GREY, 0.7));
        }
        svg.text("label", spot.at, ink::LABEL, Anchor::Start, ink::INK, &words);
    }
    svg.close();

    svg.open("ends");
    let bar = |svg: &mut Svg, class: &str, x: f64, from: f64, to: f64, fill: &str| {
        let (y0, y1) = (frame.y(from * 100.0), frame.y(to * 100.0));
        let corners = [(x, y0), (x + BAR, y0), (x + BAR, y1), (x, y1)];
        svg.polygon(class, &corners, fill, EDGE);
    };
    bar(&mut svg, "at-once", left - APART - BAR, 0.0, at_once, ink::WALL_NATURAL);
    bar(&mut svg, "stay", right + APART, 1.0 - stay, 1.0, ink::WALL_INVERTED);
    let words = format!("{} return at once", percent(at_once));
    svg.text("end-label", (axis_left, top - 8.0), ink::LABEL, Anchor::Start, ink::INK, &words);
    let words = format!("{} stay", percent(stay));
    svg.text("end-label", (page_width() - 14.0, top - 8.0), ink::LABEL, Anchor::End, ink::INK, &words);
    svg.close();
    if !inputs.is_empty() {
        shares(&mut svg, &inputs, second);
    }

    let (alt, caption) = speech(spread, title, &quantiles);
    let heading = format!("{title}: spread of the wait");
    Some(Figure::new("spread", svg.finish(&heading, &alt), alt, caption))
}

/// Bars of the inputs' shares of the spread.
fn shares(svg: &mut Svg, inputs: &[&calotte_answers::release::curves::WaitSensitivity], top: f64) {
    let widest = inputs.iter().map(|s| text_width(&s.input, ink::LABEL)).fold(0.0, f64::max).min(260.0);
    let zero = 14.0 + widest + 10.0;
    let room = page_width() - zero - 190.0;
    svg.open("shares");
    let head = "share of the spread (of ranks)";
    svg.text("panel", (zero, top - 8.0), ink::LABEL, Anchor::Start, ink::GREY, head);
    for (i, s) in inputs.iter().enumerate() {
        let y = top + ROW * i as f64;
        let long = room * s.share.clamp(0.0, 1.0);
        let base = y + ROW / 2.0 + 4.0;
        svg.text("input", (zero - 6.0, base), ink::LABEL, Anchor::End, ink::INK, &s.input);
        let corners =
            [(zero, y + 4.0), (zero + long, y + 4.0), (zero + long, y + ROW - 4.0), (zero, y + ROW - 4.0)];
        svg.polygon("bar", &corners, ink::DEEP, EDGE);
        let slope = s.relative_slope.filter(|x| usable(*x)).map_or_else(String::new, |x| {
            format!("; +1 % gives {}{} %", if x >= 0.0 { "+" } else { "" }, number(x, 2))
        });
        let words = format!("{}{slope}", percent(s.share));
        svg.text("bar-label", (zero + long + 6.0, base), ink::LABEL, Anchor::Start, ink::INK, &words);
    }
    svg.close();
}

fn speech(spread: &WaitSpread, title: &str, quantiles: &[(f64, f64)]) -> (String, String) {
    let ends = format!(
        "Of {} parts drawn {} wait and return, {} return at once, {} stay{}",
        spread.drawn,
        percent(spread.wait),
        percent(spread.at_once),
        percent(spread.stay),
        if spread.unknown > 0.0 {
            format!(", {} are without an answer", percent(spread.unknown))
        } else {
            String::new()
        }
    );
    let within: Vec<String> =
        quantiles.iter().map(|(s, w)| format!("{} within {}", percent(*s), duration(*w))).collect();
    let within = if within.is_empty() { String::new() } else { format!("; back are {}", within.join(", ")) };
    let first = spread.sensitivities.first().filter(|s| usable(s.share)).map_or_else(String::new, |s| {
        format!(" Most of the spread comes from {} ({}).", s.input, percent(s.share))
    });
    let said = crate::release::sentences(&spread.words);
    let caption = format!(
        "{title}. Share of a batch that has returned over the wait (logarithmic); bars at the ends: parts that return at \
         once and parts that stay; below: what the spread comes from. {ends}{within}.{first}{said}"
    );
    let alt = format!("Cumulative share of a batch over the wait. {ends}{within}.{first}");
    (alt, caption)
}
