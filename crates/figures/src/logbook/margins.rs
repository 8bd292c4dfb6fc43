//! Margins of the specimens with their errors, and what each did.

use calotte_lab::logbook::report::LogbookReport;

use super::{OUTCOMES, mark_of};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, LEGEND_STEP, Svg};
use crate::text::text_width;

/// Highest and lowest height of a row, and of all rows.
const ROW: [f64; 2] = [5.0, 15.0];
const MOST: f64 = 560.0;
const TOP: f64 = 30.0 + LEGEND_STEP;
const BAR: Pen = Pen::solid(ink::INK, 0.9);
const DESCRIBED: Pen = Pen::with(ink::GREY, 1.2, Dash::Dashed);
const FOUND: Pen = Pen::solid(ink::DEEP, 1.4);

/// A row: name, margin and its standard deviation, what it did.
struct Row<'a> {
    name: &'a str,
    margin: f64,
    sd: f64,
    did: Vec<&'static str>,
}

/// The figure; `None` with fewer than two margins.
pub(super) fn figure(r: &LogbookReport) -> Option<Figure> {
    let mut rows: Vec<Row<'_>> = r
        .specimens
        .iter()
        .filter_map(|s| {
            let did: Vec<&'static str> = s.trials.iter().filter_map(|t| t.outcome).collect();
            let (margin, sd) = (s.margin?, s.margin_sd?);
            (margin.is_finite() && sd.is_finite()).then_some(Row { name: &s.name, margin, sd, did })
        })
        .collect();
    if rows.len() < 2 {
        return None;
    }
    rows.sort_by(|a, b| b.margin.total_cmp(&a.margin));
    let height = (MOST / rows.len() as f64).clamp(ROW[0], ROW[1]);
    let ends = rows.iter().flat_map(|r| [r.margin - 2.0 * r.sd, r.margin + 2.0 * r.sd]);
    let (low, high) = ends.fold((0.0_f64, 0.0_f64), |(a, b), x| (a.min(x), b.max(x)));
    // A specimen of margin m stays where m plus the effect of the effective thickness is above 0.
    let slope = r.specimens.iter().filter_map(|s| s.margin_by_thickness).next().unwrap_or(-1.0);
    let found = r.sought.iter().find(|s| s.name == "thickness_factor").filter(|s| s.told);
    let at = |k: f64| 100.0 * -slope * libm::log(k);
    let named = height >= 9.0;
    let room =
        if named { rows.iter().map(|r| text_width(r.name, ink::TICK)).fold(0.0, f64::max) } else { 0.0 };
    let across = Axis::covering(100.0 * low, 100.0 * high, 7.0);
    let frame = Frame {
        left: 24.0 + room,
        right: page_width() - 18.0,
        top: TOP,
        bottom: TOP + height * (rows.len() as f64 + 1.0),
        across,
        up: Axis::between(0.0, 1.0, 1.0),
    };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    if let Some(k) = found {
        let [a, b] = [at(k.interval_95[0]), at(k.interval_95[1])]
            .map(|v| frame.x(v.clamp(frame.across.low, frame.across.high)));
        svg.rectangle("interval", (a, frame.top), (b - a, frame.bottom - frame.top), ink::TINTS[4]);
    }
    let names: Vec<String> = rows.iter().map(|r| r.name.to_owned()).collect();
    svg.record.rows(&frame, "margin (%)", frame.top, height, &names);
    across_axis(&mut svg, &frame);
    let zero = frame.x(0.0);
    svg.line("threshold", (zero, frame.top), (zero, frame.bottom), DESCRIBED);
    if let Some(k) = found {
        let x = frame.x(at(k.median));
        svg.line("found", (x, frame.top), (x, frame.bottom), FOUND);
    }
    svg.open("specimens");
    for (i, row) in rows.iter().enumerate() {
        let y = frame.top + height * (i as f64 + 1.0);
        let x = |m: f64| frame.x(100.0 * m);
        svg.line("error", (x(row.margin - 2.0 * row.sd), y), (x(row.margin + 2.0 * row.sd), y), BAR);
        // Several trials that ended alike are one mark.
        let kinds: Vec<&str> = OUTCOMES.into_iter().filter(|o| row.did.contains(o)).collect();
        for (k, did) in kinds.iter().enumerate() {
            let (mark, fill, pen) = mark_of(did);
            let shift = 9.0 * (k as f64 - 0.5 * (kinds.len() as f64 - 1.0));
            svg.mark("outcome", (x(row.margin) + shift, y), mark, (0.34 * height).clamp(2.2, 4.2), fill, pen);
        }
        if named {
            svg.text("name", (frame.left - 8.0, y + 3.6), ink::TICK, Anchor::End, ink::INK, row.name);
        }
    }
    svg.close();
    svg.open("legend");
    let mut entries: Vec<(Key, String)> = OUTCOMES
        .into_iter()
        .filter(|o| rows.iter().any(|r| r.did.contains(o)))
        .map(|o| {
            let (mark, fill, pen) = mark_of(o);
            (Key::Mark(mark, fill, pen), o.to_owned())
        })
        .collect();
    entries.push((Key::Line(BAR), "two standard deviations by its sizes".to_owned()));
    entries.push((Key::Line(DESCRIBED), "threshold as described".to_owned()));
    if found.is_some() {
        entries.push((Key::Line(FOUND), "as the trials have it".to_owned()));
        entries.push((Key::Patch(ink::TINTS[4]), "with 95 %".to_owned()));
    }
    svg.legend_above((12.0, 18.0), page_width() - 10.0, &entries);
    svg.close();
    let stay = rows.iter().filter(|r| r.did.contains(&"stays")).count();
    let told = format!("{} specimens, {stay} of which stayed", rows.len());
    let alt = format!(
        "Margins ln(h*/h) of the specimens in order, each with its error and a mark for what it did; parts right of the threshold stay. {told}."
    );
    let caption = format!("{}. Margins across the threshold. {told}.", r.title);
    Some(Figure::new("margins", svg.finish(&format!("{}: margins", r.title), &alt), alt, caption))
}

/// Box and lower axis; the rows have names, no numbers.
fn across_axis(svg: &mut Svg, frame: &Frame) {
    let (thin, dark) = (Pen::solid(ink::GREY, 0.6), Pen::solid(ink::INK, 1.0));
    svg.open("axes");
    svg.line("frame", (frame.left, frame.top), (frame.right, frame.top), thin);
    svg.line("frame", (frame.right, frame.top), (frame.right, frame.bottom), thin);
    svg.line("frame", (frame.left, frame.top), (frame.left, frame.bottom), thin);
    svg.line("frame", (frame.left, frame.bottom), (frame.right, frame.bottom), dark);
    for (value, major) in frame.across.ticks_along(frame.right - frame.left) {
        let x = frame.x(value);
        svg.line("tick", (x, frame.bottom), (x, frame.bottom + if major { 6.0 } else { 3.0 }), dark);
        if major {
            let label = frame.across.label(value);
            svg.text("number", (x, frame.bottom + 17.5), ink::TICK, Anchor::Middle, ink::INK, &label);
        }
    }
    let at = ((frame.left + frame.right) / 2.0, frame.bottom + 34.0);
    svg.text(
        "axis-title",
        at,
        ink::LABEL,
        Anchor::Middle,
        ink::INK,
        "margin ln(h*/h) of the sizes as read (%)",
    );
    svg.close();
}
