//! Where labels go: clear of lines, marks and one another.

use crate::svg::Point;
use crate::text::text_width;

/// A rectangle of the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rect {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Rect {
    /// A rectangle about a point.
    pub(crate) fn about(at: Point, half_width: f64, half_height: f64) -> Self {
        Self {
            left: at.0 - half_width,
            top: at.1 - half_height,
            right: at.0 + half_width,
            bottom: at.1 + half_height,
        }
    }

    /// The smallest rectangle that holds all points; nothing when there are none.
    pub(crate) fn around(points: impl Iterator<Item = Point>) -> Self {
        let nothing = Self {
            left: f64::INFINITY,
            top: f64::INFINITY,
            right: f64::NEG_INFINITY,
            bottom: f64::NEG_INFINITY,
        };
        points.fold(nothing, |r, p| Self {
            left: r.left.min(p.0),
            top: r.top.min(p.1),
            right: r.right.max(p.0),
            bottom: r.bottom.max(p.1),
        })
    }

    /// Larger by a margin on every side.
    pub(crate) fn grown(self, by: f64) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// Whether a point lies inside.
    pub(crate) fn holds(&self, p: Point) -> bool {
        p.0 >= self.left && p.0 <= self.right && p.1 >= self.top && p.1 <= self.bottom
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn within(&self, outer: &Self) -> bool {
        self.left >= outer.left
            && self.right <= outer.right
            && self.top >= outer.top
            && self.bottom <= outer.bottom
    }

    fn crossed(&self, line: &(Point, Point)) -> bool {
        let (a, b) = *line;
        if a.0.max(b.0) < self.left
            || a.0.min(b.0) > self.right
            || a.1.max(b.1) < self.top
            || a.1.min(b.1) > self.bottom
        {
            return false;
        }
        // Corners on both sides of the line, or an end inside.
        let side = |x: f64, y: f64| (b.0 - a.0) * (y - a.1) - (b.1 - a.1) * (x - a.0) > 0.0;
        let corners = [
            side(self.left, self.top),
            side(self.right, self.top),
            side(self.right, self.bottom),
            side(self.left, self.bottom),
        ];
        corners.iter().any(|c| *c != corners[0]) || self.holds(a) || self.holds(b)
    }
}

/// Whether two segments cross.
pub(crate) fn cross(a: (Point, Point), b: (Point, Point)) -> bool {
    let side =
        |s: (Point, Point), p: Point| (s.1.0 - s.0.0) * (p.1 - s.0.1) - (s.1.1 - s.0.1) * (p.0 - s.0.0) > 0.0;
    side(a, b.0) != side(a, b.1) && side(b, a.0) != side(b, a.1)
}

/// Where a level label was put.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    /// Left end of the base line.
    pub(crate) at: Point,
    /// A leader line, when the label stands off its point.
    pub(crate) leader: Option<(Point, Point)>,
}

/// Where a label along a curve was put.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Along {
    /// Middle of the label, on the curve.
    pub(crate) middle: Point,
    /// Direction of reading in degrees, clockwise on the page.
    pub(crate) degrees: f64,
    /// Lengths along the curve between which it makes way.
    pub(crate) gap: (f64, f64),
}

/// Directions in which a label may stand, in order of taste.
const DIRECTIONS: [(f64, f64); 16] = [
    (1.0, -1.0),
    (-1.0, -1.0),
    (1.0, 1.0),
    (-1.0, 1.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.5, -1.0),
    (-0.5, -1.0),
    (0.5, 1.0),
    (-0.5, 1.0),
    (1.0, -0.5),
    (-1.0, -0.5),
    (1.0, 0.5),
    (-1.0, 0.5),
];

/// Distances tried beyond the nearest one.
const STEPS: [f64; 9] = [0.0, 5.0, 11.0, 18.0, 26.0, 36.0, 48.0, 62.0, 78.0];

/// A page that fills up.
pub(crate) struct Placer {
    within: Rect,
    taken: Vec<Rect>,
    lines: Vec<(Point, Point)>,
}

impl Placer {
    /// Nothing placed yet; labels stay inside `within`.
    pub(crate) fn new(within: Rect) -> Self {
        Self { within, taken: Vec::new(), lines: Vec::new() }
    }

    /// Keeps labels off a rectangle.
    pub(crate) fn block(&mut self, r: Rect) {
        self.taken.push(r);
    }

    /// Asks labels to avoid a line; they may cross it where there is no better place.
    pub(crate) fn avoid(&mut self, points: &[Point]) {
        self.lines.extend(points.windows(2).map(|w| (w[0], w[1])));
    }

    /// A copy that avoids further lines as well.
    pub(crate) fn with_lines(&self, more: &[&Vec<Point>]) -> Self {
        let mut copy = Self { within: self.within, taken: self.taken.clone(), lines: self.lines.clone() };
        for line in more {
            copy.avoid(line);
        }
        copy
    }

    /// Takes over what a copy has placed, without the lines it avoided.
    pub(crate) fn take_from(&mut self, copy: Self) {
        self.taken = copy.taken;
    }

    fn free(&self, r: &Rect) -> bool {
        r.within(&self.within) && !self.taken.iter().any(|t| t.meets(r))
    }

    fn crossings(&self, r: &Rect) -> usize {
        self.lines.iter().filter(|l| r.crossed(l)).count()
    }

    /// A place for a label beside a mark of radius `clear`; `None` when the neighbourhood is full.
    pub(crate) fn beside(&mut self, at: Point, clear: f64, text: &str, size: f64) -> Option<Spot> {
        const MOST_CROSSINGS: usize = 2;
        let (w, h) = (text_width(text, size), size);
        let mut best: Option<(f64, Rect, f64)> = None;
        for (k, step) in STEPS.iter().enumerate() {
            for (taste, &(dx, dy)) in DIRECTIONS.iter().enumerate() {
                let shrink: f64 = if dx != 0.0 && dy != 0.0 { 0.6 } else { 1.0 };
                let d = (clear + 2.0) * shrink + step;
                let centre = (at.0 + dx * (d + w / 2.0), at.1 + dy * (d + h / 2.0));
                let r = Rect::about(centre, w / 2.0 + 1.5, h / 2.0 + 1.0);
                if !self.free(&r) {
                    continue;
                }
                let mut cost = 30.0 * self.crossings(&r) as f64 + step + 0.3 * taste as f64;
                if k > 1 {
                    let (from, to) = leader(at, clear, &r);
                    // A leader through another label or along a curve misleads.
                    let hits = self.taken.iter().filter(|t| t.crossed(&(from, to)) && !t.holds(at)).count();
                    cost += 60.0 * hits as f64;
                    cost += 6.0 * self.lines.iter().filter(|l| cross(**l, (from, to))).count() as f64;
                }
                if best.as_ref().is_none_or(|b| cost < b.0) {
                    best = Some((cost, r, *step));
                }
            }
        }
        let (_, r, step) = best.filter(|b| self.crossings(&b.1) <= MOST_CROSSINGS)?;
        let line = (step > STEPS[1]).then(|| leader(at, clear, &r));
        self.block(r);
        if let Some(l) = line {
            self.lines.push(l);
        }
        let base = (r.top + r.bottom) / 2.0 + 0.36 * size;
        Some(Spot { at: (r.left + 1.5, base), leader: line })
    }

    /// A place for a label on a curve, read along it; `None` when no stretch is free and straight enough.
    pub(crate) fn along(&mut self, curve: &[Point], text: &str, size: f64) -> Option<Along> {
        const SHARES: [f64; 13] =
            [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.12, 0.88, 0.07, 0.93];
        const BENT: f64 = 2.2;
        let width = text_width(text, size) + 6.0;
        let total = length(curve);
        if total < width + 8.0 {
            return None;
        }
        for share in SHARES {
            let middle_at = share * total;
            let gap = (middle_at - width / 2.0, middle_at + width / 2.0);
            if gap.0 < 2.0 || gap.1 > total - 2.0 {
                continue;
            }
            let (a, m, b) = (point_at(curve, gap.0), point_at(curve, middle_at), point_at(curve, gap.1));
            if crate::thin::off(m, a, b) > BENT || libm::hypot(b.0 - a.0, b.1 - a.1) < 0.9 * width {
                continue;
            }
            let (a, b) = if b.0 >= a.0 { (a, b) } else { (b, a) };
            let beads = beads(a, b, size);
            if beads.iter().any(|r| !self.free(r) || self.crossings(r) > 0) {
                continue;
            }
            self.taken.extend(beads);
            let degrees = libm::atan2(b.1 - a.1, b.0 - a.0).to_degrees();
            return Some(Along { middle: m, degrees, gap });
        }
        None
    }

    /// Distance from a rectangle about `at` to the nearest thing placed; `None` when it does not fit.
    pub(crate) fn clearance(&self, at: Point, half_width: f64, half_height: f64) -> Option<f64> {
        let r = Rect::about(at, half_width, half_height);
        if !self.free(&r) || self.crossings(&r) > 0 {
            return None;
        }
        let mut room = [
            r.left - self.within.left,
            self.within.right - r.right,
            r.top - self.within.top,
            self.within.bottom - r.bottom,
        ]
        .into_iter()
        .fold(f64::INFINITY, f64::min);
        for &(a, b) in &self.lines {
            room = room.min(crate::thin::off(at, a, b));
        }
        for t in &self.taken {
            let near = (at.0.clamp(t.left, t.right), at.1.clamp(t.top, t.bottom));
            room = room.min(libm::hypot(near.0 - at.0, near.1 - at.1));
        }
        Some(room)
    }
}

/// From the edge of a mark to the nearest point of a label.
fn leader(at: Point, clear: f64, r: &Rect) -> (Point, Point) {
    let to = (at.0.clamp(r.left + 1.0, r.right - 1.0), at.1.clamp(r.top + 1.0, r.bottom - 1.0));
    let d = libm::hypot(to.0 - at.0, to.1 - at.1).max(1e-9);
    let t = (clear / d).min(1.0);
    ((at.0 + t * (to.0 - at.0), at.1 + t * (to.1 - at.1)), to)
}

/// Small squares that cover a turned label.
fn beads(a: Point, b: Point, size: f64) -> Vec<Rect> {
    let long = libm::hypot(b.0 - a.0, b.1 - a.1);
    let count = (long / (0.6 * size)).ceil().clamp(1.0, 60.0);
    (0..=count as u32)
        .map(|i| {
            let t = f64::from(i) / count;
            Rect::about((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)), 0.6 * size, 0.6 * size)
        })
        .collect()
}

/// Length of a polyline.
pub(crate) fn length(curve: &[Point]) -> f64 {
    curve.windows(2).map(|w| libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1)).sum()
}

/// The point of a polyline at a length along it.
pub(crate) fn point_at(curve: &[Point], at: f64) -> Point {
    let mut left = at;
    for w in curve.windows(2) {
        let step = libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1);
        if left <= step && step > 0.0 {
            let t = left / step;
            return (w[0].0 + t * (w[1].0 - w[0].0), w[0].1 + t * (w[1].1 - w[0].1));
        }
        left -= step;
    }
    curve.last().copied().unwrap_or((0.0, 0.0))
}

/// The two pieces of a polyline outside a gap.
pub(crate) fn around_gap(curve: &[Point], gap: (f64, f64)) -> [Vec<Point>; 2] {
    let (mut before, mut after) = (Vec::new(), vec![point_at(curve, gap.1)]);
    let mut run = 0.0;
    for (i, &p) in curve.iter().enumerate() {
        if i > 0 {
            run += libm::hypot(p.0 - curve[i - 1].0, p.1 - curve[i - 1].1);
        }
        if run < gap.0 {
            before.push(p);
        } else if run > gap.1 {
            after.push(p);
        }
    }
    before.push(point_at(curve, gap.0));
    [before, after]
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: Rect = Rect { left: 0.0, top: 0.0, right: 400.0, bottom: 300.0 };

    #[test]
    fn labels_keep_clear_of_marks_lines_and_one_another() {
        let mut placer = Placer::new(PAGE);
        placer.avoid(&[(0.0, 150.0), (400.0, 150.0)]);
        placer.block(Rect::about((200.0, 150.0), 4.0, 4.0));
        let mut boxes: Vec<Rect> = Vec::new();
        for _ in 0..6 {
            let spot = placer.beside((200.0, 150.0), 4.0, "a label of some length", 11.0).unwrap();
            let width = text_width("a label of some length", 11.0);
            let (left, base) = spot.at;
            let r = Rect { left, top: base - 8.8, right: left + width, bottom: base + 2.6 };
            assert!(r.within(&PAGE) && boxes.iter().all(|b| !b.meets(&r)));
            assert!(!r.crossed(&((0.0, 150.0), (400.0, 150.0))));
            boxes.push(r);
        }
    }

    #[test]
    fn a_full_page_takes_no_label() {
        let mut placer = Placer::new(PAGE);
        placer.block(PAGE);
        assert!(placer.beside((200.0, 150.0), 4.0, "x", 11.0).is_none());
        assert!(placer.along(&[(0.0, 10.0), (400.0, 10.0)], "x", 11.0).is_none());
        assert!(placer.clearance((200.0, 150.0), 5.0, 5.0).is_none());
    }

    #[test]
    fn labels_along_a_curve_read_left_to_right_and_the_curve_makes_way() {
        let curve = [(300.0, 100.0), (100.0, 100.0)];
        let along = Placer::new(PAGE).along(&curve, "0.80", 10.0).unwrap();
        assert_eq!((along.middle, along.degrees), ((200.0, 100.0), 0.0));
        let [a, b] = around_gap(&curve, along.gap);
        assert!(a.last().unwrap().0 > 205.0 && b[0].0 < 195.0);
        assert!((length(&a) + length(&b) + along.gap.1 - along.gap.0 - 200.0).abs() < 1e-9);
    }

    #[test]
    fn segments_that_only_touch_the_bounding_box_do_not_cross() {
        let r = Rect::about((0.0, 0.0), 1.0, 1.0);
        assert!(!r.crossed(&((0.9, -3.0), (3.0, 0.9))));
        assert!(r.crossed(&((-3.0, -3.0), (3.0, 3.0))));
        assert!(cross(((0.0, 0.0), (2.0, 2.0)), ((0.0, 2.0), (2.0, 0.0))));
        assert!(!cross(((0.0, 0.0), (1.0, 1.0)), ((0.0, 3.0), (3.0, 0.0))));
    }
}
