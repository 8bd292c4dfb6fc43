//! What one of two competing wishes costs the other.

use calotte_answers::size::report::SizeReport;

use super::{ends, titled};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::map::draw;
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Mark, Point, Svg};

const PLOT: f64 = 300.0;
const CURVE: Pen = Pen::solid(ink::DEEP, 1.8);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.0);

/// The figure; `None` with fewer than three points.
pub(super) fn figure(r: &SizeReport) -> Option<Figure> {
    let f = r.front.as_ref().filter(|f| f.points.len() > 2)?;
    let [a, b] = f.wishes.map(|i| &r.wishes[i]);
    let readings: Vec<[f64; 2]> =
        f.points.iter().map(|p| [a.scale.shown(p.readings_si[0]), b.scale.shown(p.readings_si[1])]).collect();
    let here = f.wishes.map(|i| r.readings_here_si.get(i).copied().flatten());
    let here = match here {
        [Some(x), Some(y)] => Some([a.scale.shown(x), b.scale.shown(y)]),
        _ => None,
    };
    let axis = |k: usize, wanted: f64| {
        let (low, high) = ends(readings.iter().map(|p| p[k]).chain(here.map(|h| h[k])))?;
        let pad = 0.06 * (high - low);
        Some(Axis::covering(low - pad, high + pad, wanted))
    };
    let (across, up) = (axis(0, 7.0)?, axis(1, 6.0)?);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 20.0, top: 14.0, bottom: 14.0 + PLOT, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    let at = |p: &[f64; 2]| -> Point { (frame.x(p[0]), frame.y(p[1])) };
    let mut points: Vec<Point> = readings.iter().map(at).collect();
    points.sort_by(|p, q| p.0.total_cmp(&q.0));
    frame.draw(
        &mut svg,
        &titled(&format!("{} ({})", a.about, a.wanted), &a.scale),
        &titled(&format!("{} ({})", b.about, b.wanted), &b.scale),
    );
    svg.curve("front", &points, CURVE);
    let mut placer = Placer::new(frame.window().grown(-2.0));
    placer.avoid(&points);
    for p in &readings {
        svg.mark("point", at(p), Mark::Disc, 3.2, ink::PAPER, OUTLINE);
        placer.block(Rect::about(at(p), 4.0, 4.0));
    }
    if let Some(h) = here {
        svg.mark("here", at(&h), Mark::Target, 5.6, "none", OUTLINE);
        draw::label(&mut svg, &mut placer, at(&h), 8.0, "this part", ink::LABEL);
    }
    if let Some(k) = f.knee {
        svg.mark("knee", at(&readings[k]), Mark::Diamond, 5.0, ink::AMBER, OUTLINE);
        draw::label(&mut svg, &mut placer, at(&readings[k]), 7.0, "knee", ink::LABEL);
    }
    let told = format!("{} points, each the best of one for what the other is held at", f.points.len());
    let alt = format!("{} across, {} upwards. {told}.", a.about, b.about);
    let caption = format!("{}. What “{}” and “{}” cost one another: {told}.", r.title, a.text, b.text);
    Some(Figure::new("front", svg.finish(&format!("{}: front", r.title), &alt), alt, caption))
}
