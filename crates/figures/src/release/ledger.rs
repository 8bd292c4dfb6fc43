//! Where the energy is: kinetic, elastic, gravity, contact, lost in memory and in air, stacked over the same time axis
//! as the motion.

use calotte_answers::release::report::ReleaseReport;

use super::motion::told;
use super::split::{STRIP, Split, legs};
use super::time::{phases, whole_rows};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Key, LEGEND_STEP, Point, Svg, legend_lines};
use crate::text::{prefix, quantity};

const PLOT: f64 = 240.0;
/// A share smaller than this of the whole is not drawn.
const SMALL: f64 = 2e-3;
const SUM: Pen = Pen::with(ink::INK, 1.5, Dash::Dashed);
const EDGE: Pen = Pen::solid(ink::INK, 0.5);

/// Columns of the rows after the time, from the bottom of the stack upwards: name and fill; each pair
/// differs in lightness by nine or more, so that they are told apart without colour.
const KINDS: [(&str, &str); 7] = [
    ("lost in memory", "#705b84"),
    ("lost in air and bath", "#a79bb8"),
    ("taken by the hand", "#f7f5fb"),
    ("gravity", "#e4dbc7"),
    ("contact", "#858174"),
    ("elastic", "#e8b774"),
    ("kinetic", "#1c4780"),
];

/// The figure; `None` with fewer than two whole rows or no energy.
pub(super) fn figure(report: &ReleaseReport) -> Option<Figure> {
    let h = &report.history;
    let mut rows = whole_rows(&[
        &h.time_s,
        &h.relaxed_J,
        &h.dragged_J,
        &h.hand_J,
        &h.gravity_J,
        &h.contact_J,
        &h.elastic_J,
        &h.kinetic_J,
    ]);
    let (first, last) = (rows.first()?[0], rows.last()?[0]);
    if last <= first {
        return None;
    }
    // Gravity counts from its lowest, so that everything stacks upwards.
    let lowest = rows.iter().map(|r| r[4]).fold(f64::INFINITY, f64::min);
    for r in &mut rows {
        r[4] -= lowest;
        // What the hand takes is stacked too; what it gives is not.
        r[3] = -r[3];
    }
    let stacked = |r: &[f64], up_to: usize| -> f64 { r[1..=up_to].iter().map(|x| x.max(0.0)).sum() };
    let sum = |r: &[f64]| r[1..=7].iter().sum::<f64>();
    let highest = rows.iter().map(|r| stacked(r, 7).max(sum(r))).fold(0.0, f64::max);
    if highest <= 0.0 {
        return None;
    }
    let (factor, name) = prefix(highest);
    let shown: Vec<usize> =
        (1..=7).filter(|&k| rows.iter().any(|r| r[k].max(0.0) > SMALL * highest)).collect();

    let mut entries: Vec<(Key, String)> =
        shown.iter().rev().map(|&k| (Key::Patch(KINDS[k - 1].1), KINDS[k - 1].0.to_owned())).collect();
    entries.push((Key::Line(SUM), "sum less work of the hand".to_owned()));
    let up = Axis::covering(0.0, highest * 1.06 * factor, 5.0);
    let left = 10.0 + Frame::room_left(&up);
    let top = 12.0 + LEGEND_STEP * legend_lines(left, page_width() - 14.0, &entries) + 6.0 + STRIP;
    let over = &h.pole_over_rim_m;
    let motion: Vec<(f64, f64)> = whole_rows(&[&h.time_s, over]).iter().map(|r| (r[0], r[1])).collect();
    let pieces = legs(report, first, last);
    let split = Split::new(&pieces, &motion, (left, page_width() - 14.0), (top, top + PLOT), up);

    let mut svg = Svg::new(page_width(), split.bottom + 46.0);
    split.phases(&mut svg, &phases(report, first, last));
    svg.open("stack");
    for &k in shown.iter().rev() {
        let line: Vec<(f64, f64)> = rows.iter().map(|r| (r[0], stacked(r, k) * factor)).collect();
        for piece in split.curves(&line) {
            let (Some(a), Some(b)) = (piece.first().copied(), piece.last().copied()) else { continue };
            let mut area: Vec<Point> = piece;
            area.extend([(b.0, split.bottom), (a.0, split.bottom)]);
            svg.polygon("energy", &area, KINDS[k - 1].1, EDGE);
        }
    }
    svg.close();
    let line: Vec<(f64, f64)> = rows.iter().map(|r| (r[0], sum(r) * factor)).collect();
    for piece in split.curves(&line) {
        svg.curve("sum", &piece, SUM);
    }
    split.draw(&mut svg, &format!("energy ({name}J)"));
    svg.open("legend");
    svg.legend_rows((left, 20.0), page_width() - 14.0, &entries);
    svg.close();

    let told = told(report);
    let peak = |k: usize| rows.iter().map(|r| r[k]).fold(0.0, f64::max);
    let sums: Vec<f64> = rows.iter().map(|r| sum(r)).collect();
    let (least, most) =
        sums.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)));
    let ends = rows.last().map_or_else(String::new, |r| {
        let lost: Vec<String> = [(1, "are lost in the memory of the material"), (2, "in air and bath")]
            .into_iter()
            .filter(|(k, _)| r[*k] > 0.0)
            .map(|(k, words)| format!("{} {words}", quantity(r[k], "J")))
            .collect();
        let lost = if lost.is_empty() { "nothing is lost".to_owned() } else { lost.join(" and ") };
        let lost = lost.replace("J in air", if r[1] > 0.0 { "J in air" } else { "J are lost in air" });
        format!("The kinetic energy peaks at {}; by the end {lost}", quantity(peak(7), "J"))
    });
    let closed = format!("the sum less the work of the hand keeps to {} within {}", quantity(most, "J"), {
        quantity(most - least, "J")
    });
    let scales = if pieces.len() > 1 {
        format!(", over {} panels of time with scales of their own", pieces.len())
    } else {
        String::new()
    };
    let caption = format!(
        "{}. Energies after letting go, stacked{scales}; gravity counts from its lowest. {ends}; {closed}. {told}",
        report.title
    );
    let alt = format!("Stacked areas of the energies over time{scales}. {ends}; {closed}. {told}");
    let title = format!("{}: where the energy is", report.title);
    Some(Figure::new("ledger", svg.finish(&title, &alt), alt, caption))
}
