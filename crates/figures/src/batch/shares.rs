//! Shares of a batch with their intervals.

use calotte_answers::spread::report::{BatchReport, BatchShare};

use super::percent;
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Svg};
use crate::text::text_width;

const TOP: f64 = 20.0;
const ROW: f64 = 26.0;
const EDGE: Pen = Pen::solid(ink::INK, 0.7);
const INTERVAL: Pen = Pen::solid(ink::INK, 1.4);

/// The figure: one bar for each share that was asked for.
pub(super) fn figure(report: &BatchReport) -> Option<Figure> {
    let mut rows: Vec<(String, BatchShare, &str)> =
        vec![("good".to_owned(), report.good, ink::WALL_INVERTED)];
    if let Some(v) = &report.verdicts {
        rows.push(("stay".to_owned(), v.stays, ink::WALL_NATURAL));
        rows.extend(v.waits.map(|w| ("wait".to_owned(), w, ink::WALL_NATURAL)));
        rows.push(("return".to_owned(), v.returns, ink::WALL_NATURAL));
    }
    rows.extend(report.windows.iter().map(|w| (format!("{} inside", w.gauge), w.inside, ink::WALL_NATURAL)));
    if report.unknown.share > 0.0 {
        rows.push(("not known".to_owned(), report.unknown, ink::PAPER));
    }
    rows.retain(|r| [r.1.share, r.1.low, r.1.high].iter().all(|x| (0.0..=1.0).contains(x)));
    if rows.is_empty() {
        return None;
    }
    let widest = rows.iter().map(|r| text_width(&r.0, ink::LABEL)).fold(0.0, f64::max);
    let bottom = TOP + ROW * rows.len() as f64;
    let mut across = Axis::covering(0.0, 100.0, 5.0);
    (across.low, across.high) = (0.0, 100.0);
    let frame = Frame {
        left: 20.0 + widest,
        right: page_width() - 74.0,
        top: TOP,
        bottom,
        across,
        up: Axis::between(0.0, rows.len() as f64, 1.0),
    };
    let mut svg = Svg::new(page_width(), bottom + 46.0);
    let names: Vec<String> = rows.iter().map(|r| r.0.clone()).collect();
    svg.record.rows(&frame, "share of the batch (%)", TOP - 0.5 * ROW, ROW, &names);
    svg.open("shares");
    for (i, (name, s, fill)) in rows.iter().enumerate() {
        let y = TOP + ROW * i as f64;
        let x = |share: f64| frame.x(100.0 * share);
        let corners = [
            (frame.left, y + 5.0),
            (x(s.share), y + 5.0),
            (x(s.share), y + ROW - 5.0),
            (frame.left, y + ROW - 5.0),
        ];
        svg.polygon("bar", &corners, fill, EDGE);
        let middle = y + 0.5 * ROW;
        svg.line("interval", (x(s.low), middle), (x(s.high), middle), INTERVAL);
        for end in [s.low, s.high] {
            svg.line("stop", (x(end), middle - 4.0), (x(end), middle + 4.0), INTERVAL);
        }
        svg.text("name", (frame.left - 8.0, middle + 4.0), ink::LABEL, Anchor::End, ink::INK, name);
        svg.text(
            "share",
            (frame.right + 8.0, middle + 4.0),
            ink::LABEL,
            Anchor::Start,
            ink::INK,
            &percent(s.share),
        );
    }
    svg.close();
    svg.open("axes");
    svg.line("frame", (frame.left, frame.bottom), (frame.right, frame.bottom), Pen::solid(ink::INK, 1.0));
    for (value, major) in frame.across.ticks_along(frame.right - frame.left).into_iter().filter(|t| t.1) {
        let x = frame.x(value);
        svg.line("tick", (x, bottom), (x, bottom + if major { 6.0 } else { 3.0 }), Pen::solid(ink::INK, 1.0));
        svg.text(
            "number",
            (x, bottom + 17.5),
            ink::TICK,
            Anchor::Middle,
            ink::INK,
            &frame.across.label(value),
        );
    }
    let middle = 0.5 * (frame.left + frame.right);
    svg.text(
        "title",
        (middle, bottom + 36.0),
        ink::LABEL,
        Anchor::Middle,
        ink::INK,
        "share of the batch (%), 95 % interval",
    );
    svg.close();
    let story: String = rows
        .iter()
        .map(|(name, s, _)| {
            format!(" {name}: {} ({} to {}).", percent(s.share), percent(s.low), percent(s.high))
        })
        .collect();
    let alt = format!("Bars of the shares of {} drawn parts with 95 % intervals.{story}", report.drawn);
    let caption = format!("{}. Shares of {} drawn parts, 95 % intervals.{story}", report.title, report.drawn);
    let heading = format!("{}: shares of a batch", report.title);
    Some(Figure::new("shares", svg.finish(&heading, &alt), alt, caption))
}
