//! Shapes before and after the jumps, their heights exaggerated by a stated factor.

use calotte_answers::heat::report::{HeatReport, Shape};

use super::{degrees, drawable};
use crate::Figure;
use crate::axis::round_below;
use crate::ink::{self, Dash, Pen};
use crate::place::Rect;
use crate::style::page_width;
use crate::svg::{Anchor, Key, Point, Svg};
use crate::text::LengthUnit;
use crate::thin::{VISIBLE, thin};

/// Greatest height of a panel's drawing.
const TALL: f64 = 120.0;
/// Room for the words above it.
const WORDS: f64 = 24.0;
const TOP: f64 = 34.0;

const GIVEN: Pen = Pen::with(ink::GREY, 1.1, Dash::Dotted);
const BEFORE: Pen = Pen::solid(ink::DEEP, 2.0);
const AFTER: Pen = Pen::with(ink::AMBER, 2.2, Dash::Dashed);

/// One jump with its shapes.
struct Panel {
    what: &'static str,
    kelvin: f64,
    before: Vec<Point>,
    after: Option<Vec<Point>>,
}

/// Radius and height over the rim's, whole rows only; `None` with fewer than two.
fn line(shape: &Shape) -> Option<Vec<Point>> {
    let m = &shape.meridian;
    let rows: Vec<Point> =
        m.r_m.iter().zip(&m.z_m).map(|(r, z)| (*r, *z)).filter(|p| drawable(p.0) && drawable(p.1)).collect();
    let rim = rows.last().filter(|_| rows.len() > 1)?.1;
    Some(rows.into_iter().map(|(r, z)| (r, z - rim)).collect())
}

/// The figure; `None` without a jump whose shapes are known.
pub(super) fn figure(report: &HeatReport) -> Option<Figure> {
    let named = |name: &str| report.shapes.iter().find(|s| s.name == name).and_then(line);
    let given = named("as given");
    let panels: Vec<Panel> = ["trip", "reset"]
        .into_iter()
        .zip([&report.trip, &report.reset])
        .filter_map(|(what, jump)| {
            let before = named(&format!("before the {what}"))?;
            let after = named(&format!("after the {what}"));
            Some(Panel { what, kelvin: jump.as_ref()?.temperature_K, before, after })
        })
        .filter(|p| drawable(p.kelvin))
        .collect();
    if panels.is_empty() {
        return None;
    }
    let all = || {
        panels
            .iter()
            .flat_map(|p| p.before.iter().chain(p.after.iter().flatten()))
            .chain(given.iter().flatten())
    };
    let half = all().map(|p| p.0.abs()).fold(0.0, f64::max);
    let low = all().map(|p| p.1).fold(0.0, f64::min);
    let high = all().map(|p| p.1).fold(0.0, f64::max);
    let cell = page_width() / 2.0;
    let across = (cell / 2.0 - 24.0) / half;
    // Heights as true as they can be seen: a round factor, at least one.
    let stretch = round_below(TALL / (high - low) / across).max(1.0);
    let scale = if stretch > 1.0 { across } else { across.min(TALL / (high - low)) };
    if !(scale.is_finite() && scale > 0.0) {
        return None;
    }
    let up = scale * stretch;
    let height = TOP + WORDS + up * (high - low) + 34.0;
    let mut svg = Svg::new(page_width(), height);
    let start = (page_width() - cell * panels.len() as f64) / 2.0;
    for (i, Panel { what, kelvin, before, after }) in panels.iter().enumerate() {
        let axis = start + cell * (i as f64 + 0.5);
        // Heights grow downwards, which shows a natural bowl as a dome.
        let zero = TOP + WORDS - up * low;
        let side = (half * scale) + 8.0;
        svg.open(what);
        let window = Rect::around([(axis - side, TOP), (axis + side, height)].into_iter());
        let unit = LengthUnit::for_length(2.0 * half);
        svg.record.section(window, (axis, zero), (scale / unit.per_m, up / unit.per_m), unit.name, what);
        let words = format!("{what}, {}", degrees(*kelvin));
        svg.text("panel", (axis, TOP + 8.0), ink::LABEL, Anchor::Middle, ink::INK, &words);
        svg.line("seat", (axis - side, zero), (axis + side, zero), Pen::solid(ink::FAINT, 0.6));
        let lines = [
            ("given", given.as_ref(), GIVEN),
            ("after", after.as_ref(), AFTER),
            ("before", Some(before), BEFORE),
        ];
        for (class, line, pen) in lines {
            let Some(line) = line else { continue };
            let page = |sign: f64| line.iter().map(move |p| (axis + sign * scale * p.0, zero + up * p.1));
            let left: Vec<Point> = page(-1.0).rev().collect();
            let right: Vec<Point> = page(1.0).collect();
            // One line over the pole, two pieces beside a hole.
            if line.first().is_some_and(|p| p.0 * scale < 0.05) {
                let whole: Vec<Point> = left.into_iter().chain(right).collect();
                svg.curve(class, &thin(&whole, VISIBLE), pen);
            } else {
                svg.curve(class, &thin(&left, VISIBLE), pen);
                svg.curve(class, &thin(&right, VISIBLE), pen);
            }
        }
        svg.close();
    }
    let told = if stretch > 1.0 { format!("heights × {stretch}") } else { "to scale".to_owned() };
    svg.text("scale", (page_width() - 14.0, height - 10.0), ink::TICK, Anchor::End, ink::GREY, &told);
    svg.open("legend");
    let entries = [
        (Key::Line(BEFORE), "just before the jump".to_owned()),
        (Key::Line(AFTER), "after it, at the same temperature".to_owned()),
        (Key::Line(GIVEN), "as given".to_owned()),
    ];
    svg.legend_above((12.0, 20.0), page_width() - 10.0, &entries);
    svg.close();
    let list: Vec<String> = panels.iter().map(|p| format!("{} at {}", p.what, degrees(p.kelvin))).collect();
    let list = list.join(" and ");
    let alt = format!("Sections before and after the {list}, {told}.");
    let caption = format!(
        "{}. Sections just before (solid) and after (dashed) the {list}; dotted: the shape as given; {told}, rims at one level.",
        report.title
    );
    let title = format!("{}: shapes before and after the jumps", report.title);
    Some(Figure::new("heat-shapes", svg.finish(&title, &alt), alt, caption))
}
