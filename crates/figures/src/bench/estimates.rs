//! Moduli from every test with their 95 % intervals, and what all of them come to.

use calotte_lab::bench::BenchReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Mark, Svg};
use crate::text::{Scaled, text_width};

const ROW: f64 = 26.0;
const OUTLINE: Pen = Pen::solid(ink::INK, 0.9);
const BAR: Pen = Pen::solid(ink::DEEP, 2.0);
const MEAN: Pen = Pen::solid(ink::RUST, 1.6);
const MAP: Pen = Pen::solid(ink::GREY, 0.9);
const ENDS: Pen = Pen::with(ink::RUST, 1.0, Dash::Dotted);

/// The figure; `None` without estimates.
pub(super) fn figure(r: &BenchReport) -> Option<Figure> {
    let all = &r.estimates;
    let combined = r.combined.as_ref()?;
    let ends = all
        .iter()
        .map(|e| e.interval)
        .chain([combined.interval])
        .chain(r.hardness.iter().flat_map(|h| h.maps.iter().map(|m| [m.modulus; 2])))
        .filter(|e| e[0].is_finite() && e[1].is_finite() && e[0] > 0.0)
        .fold([f64::INFINITY, 0.0_f64], |a, b| [a[0].min(b[0]), a[1].max(b[1])]);
    if ends[0] > ends[1] {
        return None;
    }
    let scaled = Scaled::suiting(ends[1], "Pa");
    let names: Vec<String> = all.iter().map(|e| e.test.clone()).chain(["together".to_owned()]).collect();
    let room = names.iter().map(|n| text_width(n, ink::TICK)).fold(40.0, f64::max).min(0.4 * page_width());
    let rows = names.len() as f64;
    let bottom = 44.0 + ROW * rows;
    let across = Axis::covering(0.9 * ends[0] * scaled.factor, 1.05 * ends[1] * scaled.factor, 6.0);
    let up = Axis::between(0.0, rows, rows);
    let f = Frame { left: room + 16.0, right: page_width() - 18.0, top: 44.0, bottom, across, up };
    let mut svg = Svg::new(page_width(), bottom + 46.0);
    let x = |pa: f64| f.x(pa * scaled.factor);
    // The frame without an axis upwards: its rows are tests.
    svg.record.rows(&f, &scaled.title("Young's modulus"), 44.0 - 0.5 * ROW, ROW, &names);
    svg.open("axis");
    svg.line("axis", (f.left, bottom), (f.right, bottom), OUTLINE);
    for (tick, labelled) in f.across.ticks_along(f.right - f.left) {
        let at = f.x(tick);
        svg.line("tick", (at, bottom), (at, bottom + if labelled { 5.0 } else { 3.0 }), OUTLINE);
        if labelled {
            svg.text(
                "label",
                (at, bottom + 16.0),
                ink::TICK,
                Anchor::Middle,
                ink::INK,
                &f.across.label(tick),
            );
        }
    }
    let title = scaled.title("Young's modulus");
    svg.text(
        "title",
        (0.5 * (f.left + f.right), bottom + 34.0),
        ink::LABEL,
        Anchor::Middle,
        ink::INK,
        &title,
    );
    svg.close();
    for e in combined.interval {
        svg.line("together", (x(e), f.top), (x(e), bottom), ENDS);
    }
    for (i, name) in names.iter().enumerate() {
        let y = f.top + ROW * (i as f64 + 0.5);
        svg.text("test", (f.left - 8.0, y + 3.5), ink::TICK, Anchor::End, ink::INK, name);
        let (interval, at, pen) = match all.get(i) {
            Some(e) => (e.interval, e.modulus, BAR),
            None => (combined.interval, combined.modulus, MEAN),
        };
        let [low, high] = interval.map(x);
        svg.line("interval", (low, y), (high, y), pen);
        for end in [low, high] {
            svg.line("end", (end, y - 5.0), (end, y + 5.0), pen);
        }
        svg.mark("estimate", (x(at), y), Mark::Disc, 3.6, ink::PAPER, pen);
        for map in r.hardness.iter().filter(|h| h.test == *name).flat_map(|h| &h.maps) {
            svg.mark("map", (x(map.modulus), y - 8.0), Mark::Down, 2.8, ink::GREY, MAP);
        }
    }
    svg.open("legend");
    let mut entries = vec![
        (Key::Line(BAR), "a test, 95 %".to_owned()),
        (Key::Line(MEAN), "all tests together, 95 %".to_owned()),
    ];
    if !r.hardness.is_empty() {
        entries.push((Key::Mark(Mark::Down, ink::GREY, MAP), "what one map from hardness says".to_owned()));
    }
    svg.legend_above((10.0, 20.0), f.right, &entries);
    svg.close();
    let verdict = if combined.agree { "they agree" } else { "they disagree" };
    let told = format!(
        "{} estimate{} of Young's modulus; together {}, 95 % from {} to {}{}",
        all.len(),
        if all.len() == 1 { "" } else { "s" },
        scaled.print(combined.modulus),
        scaled.print(combined.interval[0]),
        scaled.print(combined.interval[1]),
        if all.len() > 1 { format!("; {verdict}") } else { String::new() }
    );
    let alt = format!("One row for each test with its 95 % interval, and all of them together. {told}.");
    let caption = format!("{}. {told}.", r.title);
    Some(Figure::new("estimates", svg.finish(&format!("{}: estimates", r.title), &alt), alt, caption))
}
