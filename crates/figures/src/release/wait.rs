//! Wait against hold time.

use calotte_answers::release::curves::{WaitCurve, WaitPoint};

use super::time::{TimeUnit, duration, usable};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, LEGEND_STEP, Mark, Point, Svg, legend_lines};
use crate::text::text_width;
use crate::thin::{VISIBLE, thin};

const PLOT: f64 = 250.0;
/// Height of the band of parts that stay, above the frame.
const BAND: f64 = 30.0;
/// Width of the column for a hold of nothing.
const STUB: f64 = 34.0;
const MARK: f64 = 4.2;
const OUTLINE: Pen = Pen::solid(ink::INK, 1.1);
const RESTS: Pen = Pen::solid(ink::DEEP, 1.8);
const AT_ONCE: Pen = Pen::with(ink::GREY, 1.4, Dash::Dashed);
const SHORTEST: Pen = Pen::with(ink::RUST, 1.3, Dash::Chain);

/// The figure; `None` when no point can be drawn.
pub(super) fn figure(curve: &WaitCurve, title: &str) -> Option<Figure> {
    let mut points: Vec<WaitPoint> = curve
        .points
        .iter()
        .copied()
        .filter(|p| usable(p.hold_s) && p.hold_s >= 0.0)
        .filter(|p| p.stays || p.wait_s.is_some_and(|w| usable(w) && w > 0.0))
        .collect();
    points.sort_by(|a, b| a.hold_s.total_cmp(&b.hold_s));
    let shortest = curve.shortest_hold_s.filter(|h| usable(*h) && *h > 0.0);
    let range = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, 0.0_f64), |(a, b), x| (a.min(x), b.max(x)))
    };
    let (shortest_drawn, longest) =
        range(&mut points.iter().map(|p| p.hold_s).chain(shortest).filter(|h| *h > 0.0));
    let (least, most) = range(&mut points.iter().filter(|p| !p.stays).filter_map(|p| p.wait_s));
    if points.is_empty() || longest <= 0.0 {
        return None;
    }
    let (least, most) = if most > 0.0 { (least, most) } else { (0.1, 1.0) };
    let middle = |a: f64, b: f64| TimeUnit::suiting(libm::sqrt(a * b).max(b * 1e-3));
    let (hold_unit, wait_unit) = (middle(shortest_drawn, longest), middle(least, most));
    let across = Axis::logarithmic(shortest_drawn / 1.2 * hold_unit.per_s, longest * 1.2 * hold_unit.per_s);
    let up = Axis::logarithmic(least / 1.6 * wait_unit.per_s, most * 1.6 * wait_unit.per_s);

    let any = |f: fn(&WaitPoint) -> bool| points.iter().any(f);
    let mut entries = Vec::new();
    if any(|p| p.rests && !p.stays) {
        entries.push((Key::Mark(Mark::Disc, ink::DEEP, OUTLINE), "rests, then returns".to_owned()));
    }
    if any(|p| !p.rests && !p.stays) {
        entries
            .push((Key::Mark(Mark::Square, ink::PAPER, OUTLINE), "does not rest: inertia alone".to_owned()));
    }
    if any(|p| p.stays) {
        entries.push((Key::Mark(Mark::Up, ink::AMBER, OUTLINE), "stays".to_owned()));
    }
    if shortest.is_some() {
        entries.push((Key::Line(SHORTEST), "shortest hold that makes it rest".to_owned()));
    }
    let zero = points.first().is_some_and(|p| p.hold_s == 0.0);
    let axis_left = 10.0 + Frame::room_left(&up);
    let left = axis_left + if zero { STUB } else { 0.0 };
    let top = 12.0 + LEGEND_STEP * legend_lines(axis_left, page_width() - 14.0, &entries) + 6.0 + BAND;
    let frame = Frame { left, right: page_width() - 18.0, top, bottom: top + PLOT, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    let band = (frame.right - left, BAND);
    svg.rectangle("stays-band", (left, top - BAND), band, ink::SHADE);
    svg.text_on_colour("band-name", (left + 6.0, top - 11.0), ink::LABEL, Anchor::Start, ink::INK, "stays");
    if zero {
        svg.rectangle("no-hold", (axis_left, top - BAND), (STUB, PLOT + BAND), ink::TINTS[1]);
        let at = (axis_left + STUB / 2.0, frame.bottom + 17.5);
        svg.text("number", at, ink::TICK, Anchor::Middle, ink::INK, "0");
    }
    frame.draw_apart(
        &mut svg,
        axis_left,
        &format!("hold ({})", hold_unit.name),
        &format!("wait ({})", wait_unit.name),
    );
    let page = |p: &WaitPoint| -> Point {
        let x = if p.hold_s > 0.0 { frame.x(p.hold_s * hold_unit.per_s) } else { axis_left + STUB / 2.0 };
        let y = match p.wait_s.filter(|_| !p.stays) {
            Some(w) => frame.y(w * wait_unit.per_s),
            None => top - BAND / 2.0,
        };
        (x, y)
    };
    if let Some(h) = shortest {
        let x = frame.x(h * hold_unit.per_s);
        svg.line("shortest", (x, top), (x, frame.bottom), SHORTEST);
        let words = duration(h);
        let wide = text_width(&words, ink::LABEL);
        let (anchor, at) =
            if x + wide + 8.0 > frame.right { (Anchor::End, x - 5.0) } else { (Anchor::Start, x + 5.0) };
        svg.text("shortest-label", (at, frame.bottom - 8.0), ink::LABEL, anchor, ink::INK, &words);
    }
    svg.open("curve");
    // Points joined while they are of one kind.
    for run in points.chunk_by(|a, b| a.rests == b.rests && !a.stays && !b.stays && a.hold_s > 0.0) {
        if run.len() > 1 {
            let line: Vec<Point> = run.iter().map(page).collect();
            svg.curve("wait", &thin(&line, VISIBLE), if run[0].rests { RESTS } else { AT_ONCE });
        }
    }
    for p in &points {
        let at = page(p);
        let (class, mark, fill) = match (p.stays, p.rests) {
            (true, _) => ("stays", Mark::Up, ink::AMBER),
            (_, true) => ("rests", Mark::Disc, ink::DEEP),
            _ => ("at-once", Mark::Square, ink::PAPER),
        };
        svg.mark(class, at, mark, MARK, fill, OUTLINE);
    }
    svg.close();
    svg.open("legend");
    svg.legend_rows((axis_left, 20.0), page_width() - 14.0, &entries);
    svg.close();

    let count = |f: fn(&&WaitPoint) -> bool| points.iter().filter(f).count();
    let counted = format!(
        "Of {} holds from {} to {}, {} make it rest and then return, {} make it stay, after {} it returns without resting",
        points.len(),
        points.first().map_or_else(String::new, |p| duration(p.hold_s)),
        points.last().map_or_else(String::new, |p| duration(p.hold_s)),
        count(|p| p.rests && !p.stays),
        count(|p| p.stays),
        count(|p| !p.rests && !p.stays),
    );
    let waits = if most > 0.0 && points.iter().any(|p| !p.stays) {
        format!("; the wait runs from {} to {}", duration(least), duration(most))
    } else {
        String::new()
    };
    let edge = shortest
        .map_or_else(String::new, |h| format!(" The shortest hold that makes it rest is {}.", duration(h)));
    let said = crate::release::sentences(&curve.words);
    let caption = format!("{title}. Wait against hold, both logarithmic. {counted}{waits}.{edge}{said}");
    let alt = format!("Points of the wait over the hold on logarithmic axes. {counted}{waits}.{edge}");
    let heading = format!("{title}: wait against hold");
    Some(Figure::new("wait", svg.finish(&heading, &alt), alt, caption))
}
