//! Layers of a map: shades, curves, specimens, the part itself.

use calotte_answers::map::report::{Comparison, Curve, Grid, MapReport, Observed, Specimen, SweptPoints};
use calotte_answers::report::Verdict;

use super::few::few;
use super::{Family, OUTLINE, POINT, Plane, SPECIMEN, SWEPT};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect, around_gap, length, point_at};
use crate::svg::{Anchor, Mark, Point, Svg};

/// Fill of cells whose part returns.
pub(super) const RETURNS: &str = "url(#map-returns)";
/// Fill of cells without a verdict.
pub(super) const UNDECIDED: &str = "url(#map-undecided)";
pub(crate) const HERE: Pen = Pen::solid(ink::INK, 1.7);
pub(super) const RING: Pen = Pen::solid(ink::INK, 1.6);
const BARS: Pen = Pen::solid(ink::GREY, 0.7);
const RING_RADIUS: f64 = 7.6;
pub(crate) const HERE_RADIUS: f64 = 5.6;
/// Overlap of neighbouring cells.
const SEAM: f64 = 0.4;
/// Most specimens that are named.
const MOST_NAMED: usize = 8;

/// Page edges of cells with the given middles: halfway between neighbours on the page, so that
/// logarithmic axes are halved as they look.
fn edges(middles: &[f64], low: f64, high: f64) -> Vec<(f64, f64)> {
    let half = |i: usize, k: usize| (middles[i] + middles[k]) / 2.0;
    let last = middles.len().wrapping_sub(1);
    (0..middles.len())
        .map(|i| {
            let own = if last == 0 { (low, high) } else { (middles[i], middles[i]) };
            let before = match i {
                _ if last == 0 => own.0,
                0 => 2.0 * middles[0] - half(0, 1),
                _ => half(i - 1, i),
            };
            let after = match i {
                _ if last == 0 => own.1,
                i if i == last => 2.0 * middles[i] - half(i - 1, i),
                _ => half(i, i + 1),
            };
            (before.min(after).clamp(low, high), before.max(after).clamp(low, high))
        })
        .collect()
}

/// Shades under everything: runs of equal cells of a row in one rectangle.
pub(super) fn grid(svg: &mut Svg, grid: &Grid, plane: &Plane) {
    let f = &plane.frame;
    let xs: Vec<f64> = grid.x_si.iter().map(|x| f.x(x / plane.units.0)).collect();
    let ys: Vec<f64> = grid.y_si.iter().map(|y| f.y(y / plane.units.1)).collect();
    if xs.iter().chain(&ys).any(|v| !v.is_finite()) || grid.verdicts.len() != xs.len() * ys.len() {
        return;
    }
    let (across, up) = (edges(&xs, f.left, f.right), edges(&ys, f.top, f.bottom));
    svg.pattern("map-returns", ink::SHADE_RETURNS, ink::PATTERN, false);
    svg.pattern("map-undecided", ink::SHADE_UNDECIDED, ink::GREY, true);
    svg.open("grid");
    for (j, &(top, bottom)) in up.iter().enumerate() {
        let row = &grid.verdicts[j * xs.len()..(j + 1) * xs.len()];
        let mut from = 0;
        for run in row.chunk_by(|a, b| a == b) {
            let to = from + run.len() - 1;
            let (a, b) = (across[from], across[to]);
            let (left, right) = (a.0.min(b.0), a.1.max(b.1));
            from = to + 1;
            let (class, fill) = match run[0] {
                Some(Verdict::Stays) => ("cell-stays", ink::SHADE),
                Some(Verdict::Returns | Verdict::Waits) => ("cell-returns", RETURNS),
                Some(Verdict::Undecided) => ("cell-undecided", UNDECIDED),
                None => continue,
            };
            if right - left > 0.01 && bottom - top > 0.01 {
                // A little overlap, or the page shines through between neighbours.
                let (right, bottom) = ((right + SEAM).min(f.right), (bottom + SEAM).min(f.bottom));
                svg.rectangle(class, (left, top), (right - left, bottom - top), fill);
            }
        }
    }
    svg.close();
}

/// Curves with gaps where their labels stand; validity limits carry ticks on the side beyond.
pub(crate) fn curves(svg: &mut Svg, all: &[Family], thicker: Option<Point>, window: &Rect) {
    svg.open("curves");
    for f in all {
        for (k, piece) in f.pieces.iter().enumerate() {
            match &f.spot {
                Some((at, along)) if *at == k => {
                    for part in around_gap(piece, along.gap) {
                        if length(&part) > 0.2 {
                            svg.curve(f.class, &part, f.pen);
                        }
                    }
                }
                _ => svg.curve(f.class, piece, f.pen),
            }
            if let Some(to) = thicker.filter(|_| f.class == "validity") {
                beyond(svg, piece, to, window);
            }
        }
    }
    svg.close();
}

/// Short slanted ticks on the side of a curve towards `to`.
fn beyond(svg: &mut Svg, piece: &[Point], to: Point, window: &Rect) {
    const STEP: f64 = 11.0;
    const LONG: f64 = 7.0;
    let total = length(piece);
    let count = ((total / STEP).floor()).clamp(0.0, 400.0) as u32;
    for i in 0..count {
        let s = STEP * (f64::from(i) + 0.5);
        let (at, ahead) = (point_at(piece, s), point_at(piece, (s + 1.0).min(total)));
        let (dx, dy) = (ahead.0 - at.0, ahead.1 - at.1);
        let long = libm::hypot(dx, dy);
        if !(long.is_finite() && long > 1e-6) {
            continue;
        }
        let (tx, ty) = (dx / long, dy / long);
        // The normal on the side asked for, slanted back along the curve.
        let sign = if -ty * to.0 + tx * to.1 >= 0.0 { 1.0 } else { -1.0 };
        let end = (at.0 + LONG * (0.8 * sign * -ty + 0.6 * tx), at.1 + LONG * (0.8 * sign * tx + 0.6 * ty));
        if window.holds(end) {
            svg.line("beyond", at, end, Pen::solid(ink::GREY, 0.8));
        }
    }
}

/// Places where a curve turns back on itself.
pub(super) fn cusps(svg: &mut Svg, curves: &[Curve], plane: &Plane) {
    for c in curves {
        for &i in &c.cusps {
            let (Some(x), Some(y)) = (c.x_si.get(i), c.y_si.get(i)) else { continue };
            let at = plane.page(*x, *y);
            if plane.frame.window().holds(at) {
                svg.mark("cusp", at, Mark::Square, 4.6, ink::PAPER, OUTLINE);
            }
        }
    }
}

/// Labels along curves.
pub(crate) fn labels(svg: &mut Svg, all: &[Family]) {
    svg.open("curve-labels");
    for f in all {
        if let (Some((_, along)), Some(label)) = (&f.spot, &f.label) {
            svg.text_turned("curve-label", along.middle, ink::TICK, along.degrees, ink::INK, label);
        }
    }
    svg.close();
}

/// Most points of a sweep that are drawn.
const MOST_POINTS: usize = 4000;

/// Points of a sweep that have a verdict and lie on the map.
fn on_map(points: &SweptPoints, plane: &Plane) -> Vec<(Point, Verdict)> {
    let all = points.x_si.iter().zip(&points.y_si).zip(&points.verdicts);
    all.filter_map(|((x, y), verdict)| {
        let at = plane.page(*x, *y);
        verdict.filter(|_| plane.frame.window().holds(at)).map(|v| (at, v))
    })
    .collect()
}

/// How many points of a sweep are drawn, and of how many on the map.
pub(super) fn swept_counts(points: &SweptPoints, plane: &Plane) -> (usize, usize) {
    let all = on_map(points, plane).len();
    (all.min(MOST_POINTS), all)
}

/// Class, mark and fill of a point of a sweep.
pub(super) fn swept_mark(verdict: Verdict) -> (&'static str, Mark, &'static str) {
    match verdict {
        Verdict::Stays => ("swept-stays", Mark::Disc, ink::SLATE),
        Verdict::Returns | Verdict::Waits => ("swept-returns", Mark::Disc, ink::PAPER),
        Verdict::Undecided => ("swept-undecided", Mark::Cross, ink::PAPER),
    }
}

/// Points of a sweep, as computed.
pub(super) fn swept(svg: &mut Svg, points: &SweptPoints, plane: &Plane) {
    svg.open("swept");
    let all = on_map(points, plane);
    for (at, verdict) in few(all.len(), MOST_POINTS).map(|k| all[k]) {
        let (class, mark, fill) = swept_mark(verdict);
        svg.mark(class, at, mark, SWEPT, fill, POINT);
    }
    svg.close();
}

/// Mark and fill of a specimen.
pub(super) fn specimen_mark(observed: Option<Observed>) -> (Mark, &'static str) {
    match observed {
        Some(Observed::Stays) => (Mark::Disc, ink::INK),
        Some(Observed::Returns) => (Mark::Disc, ink::PAPER),
        Some(Observed::Waits) => (Mark::Half, ink::PAPER),
        None => (Mark::Cross, ink::PAPER),
    }
}

pub(super) fn is_contradicted(s: &Specimen) -> bool {
    s.comparison == Comparison::Contradicted
}

/// Where a specimen lies; `None` outside the frame.
pub(super) fn place(s: &Specimen, plane: &Plane) -> Option<Point> {
    let at = plane.page(s.x_si, s.y_si);
    plane.frame.window().holds(at).then_some(at)
}

/// Ends of a tolerance on the page, cut at the frame.
fn reach(plane: &Plane, x: f64, y: f64, half: (f64, f64)) -> Rect {
    let w = plane.frame.window();
    let (a, b) = (plane.page(x - half.0, y + half.1), plane.page(x + half.0, y - half.1));
    // Below zero a logarithm has no end: the tolerance runs to the frame.
    let end =
        |v: f64, other: f64, low: f64, high: f64| if v.is_finite() { v.clamp(low, high) } else { other };
    Rect {
        left: end(a.0, w.left, w.left, w.right),
        top: end(a.1, w.top, w.top, w.bottom),
        right: end(b.0, w.right, w.left, w.right),
        bottom: end(b.1, w.bottom, w.top, w.bottom),
    }
}

fn half_width(h: Option<f64>) -> f64 {
    h.filter(|h| h.is_finite() && *h > 0.0).unwrap_or(0.0)
}

/// Keeps labels off what is drawn after them.
pub(super) fn block_marks(report: &MapReport, plane: &Plane, placer: &mut Placer) {
    for s in &report.specimens {
        if let Some(at) = place(s, plane) {
            let r = if is_contradicted(s) { RING_RADIUS } else { SPECIMEN };
            placer.block(Rect::about(at, r + 1.0, r + 1.0));
            let half = (half_width(s.x_half_width_si), half_width(s.y_half_width_si));
            let bars = reach(plane, s.x_si, s.y_si, half);
            placer.avoid(&[(bars.left, at.1), (bars.right, at.1)]);
            placer.avoid(&[(at.0, bars.top), (at.0, bars.bottom)]);
        }
    }
    // Among very many marks no label would find a place.
    if let Some(points) = report.points.as_ref().filter(|p| p.x_si.len() <= 500) {
        for (x, y) in points.x_si.iter().zip(&points.y_si) {
            let at = plane.page(*x, *y);
            if plane.frame.window().holds(at) {
                placer.block(Rect::about(at, SWEPT + 0.5, SWEPT + 0.5));
            }
        }
    }
    if let Some((at, half)) = here_at(report, plane) {
        placer.block(Rect::about(at, 1.6 * HERE_RADIUS, 1.6 * HERE_RADIUS));
        let [x, y] = &report.axes;
        let r = reach(plane, x.here_si, y.here_si, half);
        if half.0 > 0.0 || half.1 > 0.0 {
            let (a, b) = ((r.left, r.top), (r.right, r.top));
            placer.avoid(&[a, b, (r.right, r.bottom), (r.left, r.bottom), a]);
        }
    }
}

/// Specimens with their tolerances; bars under all marks.
pub(super) fn specimens(svg: &mut Svg, report: &MapReport, plane: &Plane) {
    svg.open("specimens");
    let shown: Vec<(&Specimen, Point)> =
        report.specimens.iter().filter_map(|s| place(s, plane).map(|at| (s, at))).collect();
    for (s, at) in &shown {
        let half = (half_width(s.x_half_width_si), half_width(s.y_half_width_si));
        let r = reach(plane, s.x_si, s.y_si, half);
        if half.0 > 0.0 {
            svg.line("bar", (r.left, at.1), (r.right, at.1), BARS);
        }
        if half.1 > 0.0 {
            svg.line("bar", (at.0, r.top), (at.0, r.bottom), BARS);
        }
    }
    for (s, at) in &shown {
        if is_contradicted(s) {
            svg.circle("contradicted", *at, RING_RADIUS, "none", Pen::solid(ink::PAPER, 3.6));
            svg.circle("contradicted-ring", *at, RING_RADIUS, "none", RING);
        }
    }
    for (s, at) in &shown {
        let (mark, fill) = specimen_mark(s.observed);
        svg.mark("specimen", *at, mark, SPECIMEN, fill, OUTLINE);
    }
    svg.close();
}

/// Names of contradicted specimens, when they are few.
pub(super) fn contradicted(svg: &mut Svg, report: &MapReport, plane: &Plane, placer: &mut Placer) {
    let those: Vec<(&Specimen, Point)> = report
        .specimens
        .iter()
        .filter(|s| is_contradicted(s) && !s.name.is_empty())
        .filter_map(|s| place(s, plane).map(|at| (s, at)))
        .collect();
    if those.len() > MOST_NAMED {
        return;
    }
    for (s, at) in those {
        let name: String = s.name.chars().take(24).collect();
        label(svg, placer, at, RING_RADIUS + 1.0, &name, ink::TICK);
    }
}

/// A label beside a mark, with a leader where it stands far off.
pub(crate) fn label(svg: &mut Svg, placer: &mut Placer, at: Point, clear: f64, text: &str, size: f64) {
    if let Some(spot) = placer.beside(at, clear, text, size) {
        if let Some((from, to)) = spot.leader {
            svg.line("leader", from, to, Pen::solid(ink::SLATE, 0.8));
        }
        svg.text("label", spot.at, size, Anchor::Start, ink::INK, text);
    }
}

/// Where the part itself lies, with its tolerances; `None` outside the frame.
pub(super) fn here_at(report: &MapReport, plane: &Plane) -> Option<(Point, (f64, f64))> {
    let [x, y] = &report.axes;
    let at = plane.page(x.here_si, y.here_si);
    let half = (half_width(x.here_half_width_si), half_width(y.here_half_width_si));
    plane.frame.window().holds(at).then_some((at, half))
}

/// The part itself: cross hairs, and a box or a bar for its tolerances.
pub(super) fn here(svg: &mut Svg, report: &MapReport, plane: &Plane, placer: &mut Placer) {
    let Some((at, half)) = here_at(report, plane) else { return };
    let [x, y] = &report.axes;
    let r = reach(plane, x.here_si, y.here_si, half);
    svg.open("here");
    match (half.0 > 0.0, half.1 > 0.0) {
        (true, true) => {
            let corners = [(r.left, r.top), (r.right, r.top), (r.right, r.bottom), (r.left, r.bottom)];
            svg.polygon("tolerance", &corners, "none", Pen::with(ink::INK, 1.1, Dash::Dashed));
        }
        (true, false) => svg.line("tolerance", (r.left, at.1), (r.right, at.1), OUTLINE),
        (false, true) => svg.line("tolerance", (at.0, r.top), (at.0, r.bottom), OUTLINE),
        (false, false) => {}
    }
    svg.circle("here-ground", at, HERE_RADIUS + 1.2, ink::PAPER, Pen::solid(ink::PAPER, 0.5));
    svg.mark("here", at, Mark::Target, HERE_RADIUS, "none", HERE);
    label(svg, placer, at, 1.6 * HERE_RADIUS, "this part", ink::LABEL);
    svg.close();
}
