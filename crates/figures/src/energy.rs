//! Energy per unit area along the arc.

use calotte_answers::report::VerdictReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Point, Svg};
use crate::text::{LengthUnit, length, prefix, quantity, text_width};

const HEIGHT: f64 = 400.0;
const STRETCHING: Pen = Pen::solid(ink::DEEP, 2.2);
const BENDING: Pen = Pen::with(ink::AMBER, 2.2, Dash::Dashed);

/// One row of the table: arclength, stretching, bending.
type Row = (f64, f64, f64);

/// The figure; `None` without an inverted state or with fewer than two whole rows.
pub(crate) fn figure(report: &VerdictReport) -> Option<Figure> {
    let state = report.inverted.as_ref()?;
    let e = &state.energy;
    let rows: Vec<Row> = e
        .s_m
        .iter()
        .zip(&e.stretching_J_per_m2)
        .zip(&e.bending_J_per_m2)
        .map(|((&s, &a), &b)| (s, a, b))
        .filter(|&(s, a, b)| s.is_finite() && a.is_finite() && b.is_finite())
        .collect();
    let (first, last) = (rows.first()?.0, rows.last()?.0);
    if rows.len() < 2 || last <= first {
        return None;
    }
    let unit = LengthUnit::for_length(last.abs().max(first.abs()));
    let highest = rows.iter().map(|r| r.1.max(r.2)).fold(0.0, f64::max);
    let lowest = rows.iter().map(|r| r.1.min(r.2)).fold(0.0, f64::min);
    let (factor, name) = prefix(highest.max(-lowest));

    let up = Axis::covering(lowest * factor, highest * factor * 1.04, 5.0);
    let mut across = Axis::covering(first * unit.per_m, last * unit.per_m, 8.0);
    // The frame ends at the rim.
    across.low = first * unit.per_m;
    across.high = last * unit.per_m;
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: 62.0, bottom: HEIGHT - 46.0, across, up };
    let page = |s: f64, density: f64| -> Point { (frame.x(s * unit.per_m), frame.y(density * factor)) };

    let mut svg = Svg::new(page_width(), HEIGHT);
    let lip = state.lip_width_m.filter(|w| w.is_finite() && *w > 0.0);
    if let Some(width) = lip {
        lip_region(&mut svg, &frame, (last - width).max(first) * unit.per_m, &length(width));
    }
    let start = if report.part.hole_radius_m > 0.0 { "the edge of the hole" } else { "the pole" };
    frame.draw(
        &mut svg,
        &format!("distance from {start} along the arc ({})", unit.name),
        &format!("energy density ({name}J/m²)"),
    );
    svg.open("curves");
    let curve = |pick: fn(&Row) -> f64| -> Vec<Point> { rows.iter().map(|r| page(r.0, pick(r))).collect() };
    svg.curve("stretching", &curve(|r| r.1), STRETCHING);
    svg.curve("bending", &curve(|r| r.2), BENDING);
    svg.close();

    let total = |x: f64| if x.is_finite() { quantity(x, "J") } else { "unknown".to_owned() };
    let (stretching, bending) = (total(state.stretching_energy_J), total(state.bending_energy_J));
    svg.open("legend");
    let entries = [
        (Key::Line(STRETCHING), format!("stretching, total {stretching}")),
        (Key::Line(BENDING), format!("bending, total {bending}")),
    ];
    if crate::style::now().is_usual() {
        svg.legend((frame.left, 22.0), &entries);
    } else {
        svg.legend_above((frame.left, 22.0), page_width() - 8.0, &entries);
    }
    svg.close();

    let shaded =
        lip.map_or_else(String::new, |w| format!(" Shaded: the lip, the last {} before the rim.", length(w)));
    let springs = if state.rim_energy_J.is_finite() && state.rim_energy_J != 0.0 {
        format!(" The rim springs hold {} more.", total(state.rim_energy_J))
    } else {
        String::new()
    };
    let caption = format!(
        "{}. Elastic energy of the inverted state per unit natural area, along the arc from {start} \
         to the rim: stretching (solid, {stretching} in total) and bending (dashed, {bending} in \
         total).{shaded}{springs} Totals weigh each ring with its circumference.",
        report.title
    );
    let peak = |pick: fn(&Row) -> f64| -> String {
        rows.iter()
            .max_by(|a, b| pick(a).total_cmp(&pick(b)))
            .map_or_else(String::new, |r| format!("{} at {}", quantity(pick(r), "J/m²"), length(r.0)))
    };
    let alt = format!(
        "Energy density of the inverted state over the distance from {start}, up to the rim at {}. \
         Stretching is highest with {}; bending is highest with {}. Totals: stretching \
         {stretching}, bending {bending}.{shaded}",
        length(last),
        peak(|r| r.1),
        peak(|r| r.2),
    );
    let title = format!("{}: energy along the arc", report.title);
    Some(Figure::new("energy", svg.finish(&title, &alt), alt, caption))
}

/// Shades the lip and brackets it above the frame, where no curve can meet its label.
fn lip_region(svg: &mut Svg, frame: &Frame, start: f64, width: &str) {
    let x0 = frame.x(start);
    let x1 = frame.right;
    svg.open("lip");
    svg.rectangle("lip-region", (x0, frame.top), (x1 - x0, frame.bottom - frame.top), ink::SHADE);
    let pen = Pen::solid(ink::INK, 1.0);
    let y = frame.top - 7.0;
    svg.line("lip", (x0, y), (x1, y), pen);
    for x in [x0, x1] {
        svg.line("lip-end", (x, y - 4.0), (x, y + 4.0), pen);
    }
    let label = format!("lip {width}");
    let half = text_width(&label, ink::LABEL) / 2.0;
    let x = ((x0 + x1) / 2.0).min(frame.right - half).max(frame.left + half);
    svg.text("label", (x, y - 7.0), ink::LABEL, Anchor::Middle, ink::INK, &label);
    svg.close();
}
