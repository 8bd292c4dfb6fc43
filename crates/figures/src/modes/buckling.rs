//! Pressure of buckling over the number of waves.

use calotte_answers::modes::report::ModesReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};
use crate::text::Scaled;

const HEIGHT: f64 = 230.0;
const RADIUS: f64 = 4.0;
const OUTLINE: Pen = Pen::solid(ink::INK, 0.9);
const LINE: Pen = Pen::solid(ink::DEEP, 1.3);
const LIMIT: Pen = Pen::with(ink::RUST, 1.3, Dash::Dashed);

/// The figure; `None` when no form is lost.
pub(super) fn figure(r: &ModesReport) -> Option<Figure> {
    let p = r.pressure.as_ref()?;
    let rows: Vec<(usize, u32, f64)> = p
        .losses
        .iter()
        .enumerate()
        .map(|(i, l)| (i, l.n, l.pressure_Pa))
        .filter(|l| l.2.is_finite() && l.2 > 0.0)
        .collect();
    let most = rows.iter().map(|l| l.1).max()?;
    let limit = p.axisymmetric_limit_Pa.filter(|l| l.is_finite() && *l > 0.0);
    let high = rows.iter().map(|l| l.2).chain(limit).fold(0.0, f64::max);
    let scaled = Scaled::suiting(high, "Pa");
    let up = Axis::covering(0.0, high * scaled.factor, 5.0);
    let across = Axis::covering(-0.4, f64::from(most) + 0.4, f64::from(most.min(12)) + 1.0);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: 36.0, bottom: 36.0 + HEIGHT, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    frame.draw(&mut svg, "waves around the axis, n", &scaled.title("pressure"));
    let at = |l: &(usize, u32, f64)| -> Point { (frame.x(f64::from(l.1)), frame.y(l.2 * scaled.factor)) };
    for part in rows.chunk_by(|a, b| b.1 == a.1 + 1).filter(|p| p.len() > 1) {
        svg.curve("losses", &part.iter().map(at).collect::<Vec<Point>>(), LINE);
    }
    let mut entries = vec![
        (Key::Mark(Mark::Disc, ink::DEEP, OUTLINE), "form of n waves lost".to_owned()),
        (Key::Mark(Mark::Target, ink::AMBER, OUTLINE), "lowest".to_owned()),
    ];
    if let Some(l) = limit {
        let y = frame.y(l * scaled.factor);
        svg.line("limit", (frame.left, y), (frame.right, y), LIMIT);
        entries.push((Key::Line(LIMIT), "limit, kept round".to_owned()));
    }
    for l in &rows {
        let first = p.first == Some(l.0);
        let (mark, fill) = if first { (Mark::Target, ink::AMBER) } else { (Mark::Disc, ink::DEEP) };
        svg.mark("loss", at(l), mark, if first { 1.5 * RADIUS } else { RADIUS }, fill, OUTLINE);
    }
    svg.open("legend");
    svg.legend_above((left, 20.0), frame.right, &entries);
    svg.close();
    let lowest = p.first.and_then(|i| p.losses.get(i));
    let told = lowest.map_or(String::new(), |l| {
        format!(" The lowest is {} with n = {}.", scaled.print(l.pressure_Pa), l.n)
    });
    let alt = format!("Pressure on the {} at which n waves are lost, n up to {most}.{told}", p.face);
    let caption = format!(
        "{}. Pressure on the {} at which the form of n waves is lost, for a perfect shape.{told}",
        r.title, p.face
    );
    let title = format!("{}: buckling under pressure", r.title);
    Some(Figure::new("buckling", svg.finish(&title, &alt), alt, caption))
}
