//! Polylines cut to a window and thinned to what a reader can see.

use crate::place::Rect;
use crate::svg::Point;

/// What a thinned line may be off by, in user units (a fortieth of a millimetre on paper).
pub(crate) const VISIBLE: f64 = 0.1;

/// The part of a segment inside a window.
fn inside(a: Point, b: Point, window: &Rect) -> Option<(Point, Point)> {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (run, room) in [
        (-dx, a.0 - window.left),
        (dx, window.right - a.0),
        (-dy, a.1 - window.top),
        (dy, window.bottom - a.1),
    ] {
        if run == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if run < 0.0 {
            from = from.max(room / run);
        } else {
            to = to.min(room / run);
        }
    }
    let at = |t: f64| (a.0 + t * dx, a.1 + t * dy);
    // Whole ends are handed on untouched, so that pieces join where the data join.
    let end = |t: f64, p: Point, own: f64| if t == own { p } else { at(t) };
    (from <= to).then(|| (end(from, a, 0.0), end(to, b, 1.0)))
}

/// The pieces of a polyline inside a window. A point that is not finite ends a piece.
pub(crate) fn clip(points: &[Point], window: &Rect) -> Vec<Vec<Point>> {
    let mut pieces: Vec<Vec<Point>> = Vec::new();
    let mut joined = false;
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let whole = [a.0, a.1, b.0, b.1].iter().all(|x| x.is_finite());
        let Some((p, q)) = whole.then(|| inside(a, b, window)).flatten() else {
            joined = false;
            continue;
        };
        match pieces.last_mut() {
            Some(last) if joined && p == a => last.push(q),
            _ => pieces.push(vec![p, q]),
        }
        joined = q == b;
    }
    pieces
}

/// The fewest of the given points that keep every left-out one within `tolerance` of the line; ends stay.
pub(crate) fn thin(points: &[Point], tolerance: f64) -> Vec<Point> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut keep = vec![false; points.len()];
    keep[0] = true;
    keep[points.len() - 1] = true;
    // A stack of its own: a spiral of many points would recurse too deeply.
    let mut open = vec![(0, points.len() - 1)];
    while let Some((first, last)) = open.pop() {
        let far = (first + 1..last)
            .map(|i| (off(points[i], points[first], points[last]), i))
            .fold((tolerance, None), |best, (d, i)| if d > best.0 { (d, Some(i)) } else { best });
        if let (_, Some(i)) = far {
            keep[i] = true;
            open.push((first, i));
            open.push((i, last));
        }
    }
    points.iter().zip(&keep).filter(|(_, k)| **k).map(|(p, _)| *p).collect()
}

/// Distance of a point from a segment.
pub(crate) fn off(p: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let length = dx * dx + dy * dy;
    let t = if length > 0.0 { (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / length).clamp(0.0, 1.0) } else { 0.0 };
    libm::hypot(p.0 - a.0 - t * dx, p.1 - a.1 - t * dy)
}

/// The visible pieces of a polyline, thinned.
pub(crate) fn visible(points: &[Point], window: &Rect) -> Vec<Vec<Point>> {
    clip(points, window).iter().map(|piece| thin(piece, VISIBLE)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const WINDOW: Rect = Rect { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 };

    #[test]
    fn a_line_that_leaves_and_comes_back_is_cut_in_pieces() {
        let pieces = clip(&[(1.0, 5.0), (15.0, 5.0), (15.0, 7.0), (1.0, 7.0)], &WINDOW);
        assert_eq!(pieces, [vec![(1.0, 5.0), (10.0, 5.0)], vec![(10.0, 7.0), (1.0, 7.0)]]);
        assert!(clip(&[(-5.0, -5.0), (-1.0, 20.0)], &WINDOW).is_empty());
        let broken = clip(&[(1.0, 1.0), (2.0, 2.0), (f64::NAN, 3.0), (4.0, 4.0), (5.0, 5.0)], &WINDOW);
        assert_eq!(broken.len(), 2);
    }

    #[test]
    fn a_straight_line_keeps_its_ends_and_a_corner_stays() {
        let straight: Vec<Point> = (0..1000).map(|i| (f64::from(i), 2.0 * f64::from(i))).collect();
        assert_eq!(thin(&straight, VISIBLE), [(0.0, 0.0), (999.0, 1998.0)]);
        let corner = [(0.0, 0.0), (1.0, 0.01), (2.0, 0.0), (2.0, 5.0)];
        assert_eq!(thin(&corner, VISIBLE), [(0.0, 0.0), (2.0, 0.0), (2.0, 5.0)]);
    }

    #[test]
    fn thinning_a_long_spiral_stays_within_the_tolerance() {
        let spiral: Vec<Point> = (0..20_000)
            .map(|i| {
                let t = f64::from(i) * 0.002;
                (t * 5.0 * libm::cos(t), t * 5.0 * libm::sin(t))
            })
            .collect();
        let few = thin(&spiral, VISIBLE);
        assert!(few.len() < 800, "{}", few.len());
    }
}
