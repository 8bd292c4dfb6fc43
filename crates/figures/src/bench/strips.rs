//! Clamped strips as they hang: points read and the bent strip that fits them.

use calotte_lab::bench::BenchReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};

const LINES: [Pen; 3] = [Pen::solid(ink::DEEP, 1.8), Pen::solid(ink::RUST, 1.8), Pen::solid(ink::GREY, 1.8)];
const OUTLINE: Pen = Pen::solid(ink::INK, 0.9);

/// The figure; `None` without strips.
pub(super) fn figure(r: &BenchReport) -> Option<Figure> {
    let strips = &r.strips;
    let all =
        || strips.iter().flat_map(|s| s.shape_m.iter().chain(&s.points_m)).map(|p| [1e3 * p[0], -1e3 * p[1]]);
    let start = [0.0_f64; 4];
    let [x0, x1, y0, y1] = all()
        .filter(|p| p.iter().all(|v| v.is_finite()))
        .fold(start, |e, p| [e[0].min(p[0]), f64::max(e[1], p[0]), e[2].min(p[1]), f64::max(e[3], p[1])]);
    if strips.is_empty() || x1 - x0 <= 0.0 {
        return None;
    }
    let across = Axis::covering(x0, 1.05 * x1, 7.0);
    let up = Axis::covering(1.05 * y0 - 1e-3, y1 + 0.04 * (y1 - y0), 5.0);
    let left = 10.0 + Frame::room_left(&up);
    let right = page_width() - 18.0;
    // To scale, unless that is too flat or too tall.
    let share =
        |axis: &Axis, a: f64, b: f64| 1.0 / (axis.share(b) - axis.share(a)).abs().max(1e-9) * (b - a).abs();
    let scale = (right - left) / share(&across, x0, x1);
    let tall = scale * share(&up, y0, y1);
    let height = tall.clamp(110.0, 420.0);
    let bottom = 44.0 + height;
    let f = Frame { left, right, top: 44.0, bottom, across, up };
    let mut svg = Svg::new(page_width(), bottom + 46.0);
    f.draw(&mut svg, "across from the clamp (mm)", "height above the clamp (mm)");
    let at = |p: &[f64; 2]| -> Point { (f.x(1e3 * p[0]), f.y(-1e3 * p[1])) };
    let mut entries = Vec::new();
    for (i, s) in strips.iter().enumerate() {
        let pen = LINES[i % LINES.len()];
        svg.curve("strip", &s.shape_m.iter().map(at).collect::<Vec<_>>(), pen);
        for p in &s.points_m {
            let (x, y) = at(p);
            let half = (f.y(0.0) - f.y(2e3 * s.point_deviation_m)).abs();
            if half > 1.5 {
                svg.line("error", (x, y - half), (x, y + half), OUTLINE);
            }
            svg.mark("point", (x, y), Mark::Disc, 3.2, ink::PAPER, OUTLINE);
        }
        entries.push((Key::Line(pen), s.test.clone()));
    }
    entries.push((Key::Mark(Mark::Disc, ink::PAPER, OUTLINE), "read, with its tolerance".to_owned()));
    svg.open("legend");
    svg.legend_above((left, 20.0), right, &entries);
    svg.close();
    let scaled =
        if (tall - height).abs() < 1.0 { "to scale" } else { "heights not to the scale of the lengths" };
    let told = strips
        .iter()
        .map(|s| {
            let tip = s.shape_m.last().copied().unwrap_or_default();
            format!("{}: the tip hangs {:.1} mm down, {:.1} mm out", s.test, 1e3 * tip[1], 1e3 * tip[0])
        })
        .collect::<Vec<_>>()
        .join("; ");
    let alt = format!("Clamped strips in side view, {scaled}: computed shape and points read. {told}.");
    let caption = format!("{}. Strips as they hang, {scaled}. {told}.", r.title);
    Some(Figure::new("strips", svg.finish(&format!("{}: strips", r.title), &alt), alt, caption))
}
