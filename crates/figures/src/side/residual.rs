//! Distances of the edges from the shape that was chosen, along the arc, with the band of their errors.

use calotte_lab::side::SideReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};

const LEFT: Pen = Pen::solid(ink::DEEP, 0.9);
const RIGHT: Pen = Pen::solid(ink::RUST, 0.9);
const ZERO: Pen = Pen::solid(ink::INK, 0.9);
const NONE: Pen = Pen::solid(ink::SHADE, 0.1);

pub(super) fn figure(r: &SideReport, title: &str) -> Option<Figure> {
    let usable = |x: f64| x.is_finite();
    let against = r.comparison.as_ref();
    // Beside a computed outline its distances, otherwise those from the chosen shape.
    let rows: Vec<[f64; 3]> = r
        .points
        .iter()
        .enumerate()
        .map(|(k, p)| {
            let d = against.and_then(|c| c.distances_m.get(k).copied()).unwrap_or(p.residual_m);
            [1e3 * p.arc_m.abs() * if p.r_m < 0.0 { -1.0 } else { 1.0 }, 1e6 * d, 1e6 * p.standard_error_m]
        })
        .filter(|v| v.iter().all(|x| usable(*x)))
        .collect();
    if rows.len() < 4 {
        return None;
    }
    let extreme = |f: &dyn Fn(&[f64; 3]) -> f64| rows.iter().map(f).fold(0.0, f64::max);
    let far = extreme(&|v| v[0].abs());
    let high = 1.15 * extreme(&|v| v[1].abs().max(2.0 * v[2]));
    let across = Axis::between(-1.03 * far, 1.03 * far, 8.0);
    let up = Axis::between(-high, high, 6.0);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: 40.0, bottom: 260.0, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    let at = |x: f64, y: f64| -> Point { (frame.x(x), frame.y(y)) };
    let upper = rows.iter().map(|v| at(v[0], 2.0 * v[2]));
    let lower = rows.iter().rev().map(|v| at(v[0], -2.0 * v[2]));
    svg.polygon("band", &upper.chain(lower).collect::<Vec<Point>>(), ink::SHADE, NONE);
    let from = if against.is_some() { "the computed outline" } else { r.shape };
    frame.draw(
        &mut svg,
        "arclength from the pole (mm), left half negative",
        &format!("outward from {from} (µm)"),
    );
    svg.line("zero", at(-1.03 * far, 0.0), at(1.03 * far, 0.0), ZERO);
    for v in &rows {
        svg.mark("edge", at(v[0], v[1]), Mark::Disc, 2.0, ink::PAPER, if v[0] < 0.0 { LEFT } else { RIGHT });
    }
    let entries = [
        (Key::Mark(Mark::Disc, ink::PAPER, LEFT), "left half".to_owned()),
        (Key::Mark(Mark::Disc, ink::PAPER, RIGHT), "right half".to_owned()),
        (Key::Patch(ink::SHADE), "two standard errors of an edge".to_owned()),
    ];
    svg.legend_above((left, 20.0), page_width() - 18.0, &entries);
    let rms = (rows.iter().map(|v| v[1] * v[1]).sum::<f64>() / rows.len() as f64).sqrt();
    let told = format!("{} edges, {rms:.1} µm rms from {from}", rows.len());
    let alt = format!("Distances of the edges along the arc with the band of two standard errors: {told}.");
    let caption = format!("{title}. Distances along the arc: {told}.");
    Some(Figure::new("residual", svg.finish(&format!("{title}: distances"), &alt), alt, caption))
}
