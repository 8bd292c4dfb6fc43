//! Where the spread of a batch comes from: Sobol indices with their errors.

use calotte_answers::spread::report::{BatchGauge, BatchIndex, BatchReport};

use super::percent;
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Svg};
use crate::text::text_width;

const TOP: f64 = 58.0;
const ROW: f64 = 30.0;
/// From one gauge to the next.
const BETWEEN: f64 = 30.0;
/// Gauges and numbers of each at most.
const MOST: [usize; 2] = [3, 8];
const EDGE: Pen = Pen::solid(ink::INK, 0.7);
const ERROR: Pen = Pen::solid(ink::INK, 1.3);

/// The figure; `None` without indices.
pub(super) fn figure(report: &BatchReport) -> Option<Figure> {
    let finite =
        |i: &&BatchIndex| [i.first, i.first_error, i.total, i.total_error].iter().all(|x| x.is_finite());
    let gauges: Vec<(&BatchGauge, Vec<&BatchIndex>)> = report
        .gauges
        .iter()
        .map(|g| (g, g.indices.iter().filter(finite).take(MOST[1]).collect::<Vec<_>>()))
        .filter(|g| !g.1.is_empty())
        .take(MOST[0])
        .collect();
    if gauges.is_empty() {
        return None;
    }
    let name = |i: &BatchIndex| i.inputs.join(" with ");
    let all = || gauges.iter().flat_map(|g| &g.1);
    let widest = all().map(|i| text_width(&name(i), ink::LABEL)).fold(0.0, f64::max).min(260.0);
    let zero = 14.0 + widest + 10.0;
    let room = page_width() - zero - 128.0;
    let rows: usize = gauges.iter().map(|g| g.1.len()).sum();
    let height = TOP + ROW * rows as f64 + BETWEEN * (gauges.len() - 1) as f64 + 14.0;
    let mut svg = Svg::new(page_width(), height);
    svg.open("legend");
    let entries = [
        (Key::Patch(ink::AMBER), "share of the variance alone".to_owned()),
        (Key::Patch(ink::WALL_NATURAL), "with all it shares (total)".to_owned()),
        (Key::Line(ERROR), "± 2 standard errors".to_owned()),
    ];
    svg.legend_above((12.0, 20.0), page_width() - 10.0, &entries);
    svg.close();
    let mut y = TOP;
    let mut story = String::new();
    for (g, indices) in &gauges {
        svg.open("gauge");
        let frame = Frame {
            left: zero,
            right: zero + room,
            top: y,
            bottom: y + ROW * indices.len() as f64,
            across: Axis::between(0.0, 1.0, 5.0),
            up: Axis::between(0.0, 1.0, 1.0),
        };
        let names: Vec<String> = indices.iter().map(|i| name(i)).collect();
        svg.record.rows(&frame, &format!("share of the variance of {}", g.gauge), y - 0.5 * ROW, ROW, &names);
        svg.text("panel", (zero, y - 6.0), ink::LABEL, Anchor::Start, ink::GREY, &g.gauge);
        for i in indices {
            let half = 0.5 * (ROW - 6.0);
            svg.text("input", (zero - 6.0, y + 0.5 * ROW + 4.0), ink::LABEL, Anchor::End, ink::INK, &name(i));
            for (k, (value, error, fill)) in
                [(i.first, i.first_error, ink::AMBER), (i.total, i.total_error, ink::WALL_NATURAL)]
                    .into_iter()
                    .enumerate()
            {
                let x = |v: f64| zero + room * v.clamp(0.0, 1.0);
                let top = y + 3.0 + half * k as f64;
                let corners = [(zero, top), (x(value), top), (x(value), top + half), (zero, top + half)];
                svg.polygon("bar", &corners, fill, EDGE);
                let middle = top + 0.5 * half;
                let ends = [x(value - 2.0 * error), x(value + 2.0 * error)];
                svg.line("error", (ends[0], middle), (ends[1], middle), ERROR);
                for end in ends {
                    svg.line("stop", (end, middle - 3.0), (end, middle + 3.0), ERROR);
                }
            }
            let words = format!("{} / {}", percent(i.first.max(0.0)), percent(i.total.max(0.0)));
            let right = zero + room * i.total.max(i.first).clamp(0.0, 1.0) + 12.0;
            svg.text("value", (right, y + 0.5 * ROW + 4.0), ink::LABEL, Anchor::Start, ink::INK, &words);
            y += ROW;
        }
        svg.close();
        if let Some(i) = indices.first() {
            story += &format!(
                " Most of the {} comes from {} ({} in total).",
                g.gauge,
                name(i),
                percent(i.total.max(0.0))
            );
        }
        y += BETWEEN;
    }
    let alt = format!("Bars of Sobol indices, first order and total, with errors.{story}");
    let caption = format!(
        "{}. Sobol indices of the numbers with tolerances: first order and total.{story}",
        report.title
    );
    let heading = format!("{}: where the spread comes from", report.title);
    Some(Figure::new("indices", svg.finish(&heading, &alt), alt, caption))
}
