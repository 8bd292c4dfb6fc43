//! The picture with the edges of the meridian, the rim's ends, the axis, and a computed outline where there is one.

use calotte_lab::picture::Gray;
use calotte_lab::side::SideReport;

use crate::Figure;
use crate::ink::{self, Dash, Pen};
use crate::place::Rect;
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};

const EDGE: Pen = Pen::solid(ink::RUST, 2.4);
const RIM: Pen = Pen::solid(ink::RUST, 1.4);
const AXIS: Pen = Pen::with(ink::DEEP, 1.0, Dash::Dotted);
/// Under the axis, so that it is seen on a dark part.
const UNDER: Pen = Pen::solid(ink::PAPER, 2.6);
/// Lies on the outline as read, which shows through.
const COMPUTED: Pen = Pen::with(ink::DEEP, 1.2, Dash::Dashed);
/// Widest picture that is carried inside the figure, pixels.
const WIDEST: usize = 900;

/// The picture with every n × n pixels as their mean, so that it is at most [`WIDEST`] wide.
fn smaller(picture: &Gray) -> (Gray, usize) {
    let n = picture.width().max(picture.height()).div_ceil(WIDEST).max(1);
    let (w, h) = (picture.width() / n, picture.height() / n);
    let mut out = Gray::filled(w, h, 0.0);
    for j in 0..h {
        let row = out.row_mut(j);
        for (i, v) in row.iter_mut().enumerate() {
            let sum: f32 = (0..n * n).map(|k| picture.row(j * n + k / n)[i * n + k % n]).sum();
            *v = sum / (n * n) as f32;
        }
    }
    // As a viewer shows it.
    out.values_mut()
        .iter_mut()
        .for_each(|v| *v = calotte_lab::picture::stored_of(f64::from(v.clamp(0.0, 1.0))) as f32);
    (out, n)
}

pub(super) fn figure(r: &SideReport, picture: &Gray, title: &str) -> Option<Figure> {
    let (small, n) = smaller(picture);
    let png = calotte_lab::picture::paint::to_png(&small).ok()?;
    let per = page_width() / (small.width() * n) as f64;
    let top = 34.0;
    let height = per * (small.height() * n) as f64;
    let mut svg = Svg::new(page_width(), top + height);
    svg.picture("picture", (0.0, top), (page_width(), height), &png);
    // The centre of pixel (0, 0) lies half a pixel inside.
    let at = |p: [f64; 2]| -> Point { ((p[0] + 0.5) * per, top + (p[1] + 0.5) * per) };
    let window = Rect::around([(0.0, top), (page_width(), top + height)].into_iter());
    svg.record.section(window, at([0.0, 0.0]), (per, per), "px, columns and rows of the picture", "");
    let s = &r.stance;
    let line: Vec<Point> = r.points.iter().map(|p| at([p.x_px, p.y_px])).collect();
    svg.curve("edges", &line, EDGE);
    let middle = [0.5 * (s.rim_px[0][0] + s.rim_px[1][0]), 0.5 * (s.rim_px[0][1] + s.rim_px[1][1])];
    let d = [middle[0] - s.pole_px[0], middle[1] - s.pole_px[1]];
    let along = |t: f64| at([s.pole_px[0] + t * d[0], s.pole_px[1] + t * d[1]]);
    svg.line("under-axis", along(-0.12), along(1.15), UNDER);
    svg.line("axis", along(-0.12), along(1.15), AXIS);
    for c in s.rim_px {
        svg.mark("rim", at(c), Mark::Cross, 4.0, ink::RUST, RIM);
    }
    let mut entries = vec![
        (Key::Line(EDGE), "outline as read".to_owned()),
        (Key::Line(AXIS), "axis".to_owned()),
        (Key::Mark(Mark::Cross, ink::RUST, RIM), "rim".to_owned()),
    ];
    if let Some(c) = &r.comparison {
        // Radius and height to the picture: along the rim and along the axis.
        let density = r.scale.pixels_per_m.value;
        let length = libm::hypot(d[0], d[1]);
        let up = [d[0] / length, d[1] / length];
        for side in [-1.0, 1.0] {
            let curve: Vec<Point> = c
                .computed_m
                .iter()
                .map(|p| {
                    let (x, z) = (side * p[0] * density, p[1] * density);
                    at([s.pole_px[0] - x * up[1] + z * up[0], s.pole_px[1] + x * up[0] + z * up[1]])
                })
                .collect();
            svg.curve("computed", &curve, COMPUTED);
        }
        entries.push((Key::Line(COMPUTED), "computed outline".to_owned()));
    }
    svg.legend_above((8.0, 16.0), page_width() - 8.0, &entries);
    let told = format!(
        "{} edges of the {} part ({}), left rim over the pole to the right rim",
        r.points.len(),
        r.view,
        r.picture.part
    );
    let alt = format!("The picture with {told}, the axis and both ends of the rim.");
    let caption = format!("{title}. {told}.");
    Some(Figure::new("silhouette", svg.finish(&format!("{title}: outline"), &alt), alt, caption))
}
