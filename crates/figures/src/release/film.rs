//! Shapes between the frames of a report, and the wall about them with its real thickness.

use calotte_answers::release::report::ReleaseReport;

use super::time::usable;

/// Radius and height, pole (or hole edge) to rim.
pub(crate) type Line = Vec<(f64, f64)>;

/// The frames that can be drawn, in order of time, and the wall's thickness.
pub(crate) struct Film {
    frames: Vec<(f64, Line)>,
    /// Share of the arc and thickness there.
    thickness: Vec<(f64, f64)>,
    /// Whether the wall stops short of the axis.
    pub(crate) hole: bool,
}

impl Film {
    /// The film of a report; `None` with fewer than two frames that can be drawn.
    pub(crate) fn new(report: &ReleaseReport) -> Option<Self> {
        let mut frames: Vec<(f64, Line)> = Vec::new();
        for f in &report.frames {
            let line: Line = f.r_m.iter().copied().zip(f.z_m.iter().copied()).collect();
            let whole = line.iter().all(|p| usable(p.0) && usable(p.1)) && usable(f.time_s);
            let later = frames.last().is_none_or(|l| l.0 < f.time_s);
            if whole && later && line.len() > 1 && f.r_m.len() == f.z_m.len() {
                frames.push((f.time_s, line));
            }
        }
        let m = &report.part.meridian;
        let arc = m.s_m.last().copied().unwrap_or(0.0);
        let start = m.s_m.first().copied().unwrap_or(0.0);
        let mut thickness: Vec<(f64, f64)> = m
            .s_m
            .iter()
            .zip(&m.thickness_m)
            .map(|(s, h)| ((s - start) / (arc - start), *h))
            .filter(|(s, h)| usable(*s) && usable(*h) && *h >= 0.0)
            .collect();
        if thickness.is_empty() {
            let plain = report.part.thickness_m;
            thickness.push((0.0, if usable(plain) { plain.max(0.0) } else { 0.0 }));
        }
        (frames.len() > 1).then_some(Self { frames, thickness, hole: report.part.hole_radius_m > 0.0 })
    }

    /// Time of the first frame.
    pub(crate) fn first(&self) -> f64 {
        self.frames[0].0
    }

    /// Time of the last frame.
    pub(crate) fn last(&self) -> f64 {
        self.frames[self.frames.len() - 1].0
    }

    /// Height at which a table is drawn: where the mid-surface touches it, the wall's lower face lies half a thickness
    /// below.
    pub(crate) fn floor(&self) -> f64 {
        let thick = self.thickness.iter().map(|t| t.1).fold(0.0, f64::max);
        let lowest = self.frames.iter().flat_map(|f| &f.1).map(|p| p.1).fold(f64::INFINITY, f64::min);
        if lowest < 0.25 * thick { -0.5 * thick } else { 0.0 }
    }

    /// The shape at a time: linear in time between frames, the nearest frame beyond them.
    pub(crate) fn at(&self, time: f64) -> Line {
        let i = self.frames.partition_point(|f| f.0 <= time);
        let (Some(k), Some(b)) = (i.checked_sub(1), self.frames.get(i)) else {
            return self.frames[i.min(self.frames.len() - 1)].1.clone();
        };
        let a = &self.frames[k];
        let t = (time - a.0) / (b.0 - a.0);
        if a.1.len() != b.1.len() {
            return if t < 0.5 { a.1.clone() } else { b.1.clone() };
        }
        a.1.iter().zip(&b.1).map(|(p, q)| (p.0 + t * (q.0 - p.0), p.1 + t * (q.1 - p.1))).collect()
    }

    fn thickness_at(&self, share: f64) -> f64 {
        let i = self.thickness.partition_point(|t| t.0 <= share);
        match (i.checked_sub(1).map(|k| self.thickness[k]), self.thickness.get(i)) {
            (Some(a), Some(b)) => a.1 + (share - a.0) / (b.0 - a.0) * (b.1 - a.1),
            (Some(t), None) => t.1,
            (None, Some(t)) => t.1,
            (None, None) => 0.0,
        }
    }

    /// Closed outlines of the wall about a mid-line, (x, height): one over the axis, two beside a hole.
    pub(crate) fn wall(&self, line: &Line) -> Vec<Line> {
        let mut run = vec![0.0];
        for w in line.windows(2) {
            run.push(run[run.len() - 1] + libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1));
        }
        let total = run[run.len() - 1].max(f64::MIN_POSITIVE);
        let face = |sign: f64| -> Line {
            (0..line.len())
                .map(|i| {
                    let (a, b) = (line[i.saturating_sub(1)], line[(i + 1).min(line.len() - 1)]);
                    let long = libm::hypot(b.0 - a.0, b.1 - a.1).max(f64::MIN_POSITIVE);
                    // At the pole the wall lies level.
                    let (tr, tz) = if i == 0 && !self.hole {
                        (1.0, 0.0)
                    } else {
                        ((b.0 - a.0) / long, (b.1 - a.1) / long)
                    };
                    let d = sign * self.thickness_at(run[i] / total) / 2.0;
                    (line[i].0 - d * tz, line[i].1 + d * tr)
                })
                .collect()
        };
        let (upper, lower) = (face(1.0), face(-1.0));
        let flip = |p: &(f64, f64)| (-p.0, p.1);
        let right: Line = upper.iter().copied().chain(lower.iter().rev().copied()).collect();
        if self.hole {
            let left = right.iter().map(flip).collect();
            return vec![right, left];
        }
        vec![
            upper
                .iter()
                .rev()
                .map(flip)
                .chain(upper.iter().copied())
                .chain(lower.iter().rev().copied())
                .chain(lower.iter().map(flip))
                .collect(),
        ]
    }

    /// The mid-line on both sides of the axis: one piece over the pole, two beside a hole.
    pub(crate) fn middle(&self, line: &Line) -> Vec<Line> {
        let left: Line = line.iter().map(|p| (-p.0, p.1)).collect();
        if self.hole {
            return vec![line.clone(), left];
        }
        vec![left.into_iter().rev().chain(line.iter().copied()).collect()]
    }
}

/// Half width, lowest and highest of outlines.
pub(crate) fn extent<'a>(lines: impl Iterator<Item = &'a Line>) -> (f64, f64, f64) {
    lines.flatten().fold((0.0, f64::INFINITY, f64::NEG_INFINITY), |(w, a, b), p| {
        (f64::max(w, p.0.abs()), a.min(p.1), b.max(p.1))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn film() -> Film {
        let frames = vec![(0.0, vec![(0.0, 1.0), (2.0, 0.0)]), (1.0, vec![(0.0, -1.0), (2.0, 1.0)])];
        Film { frames, thickness: vec![(0.0, 0.1), (1.0, 0.3)], hole: false }
    }

    #[test]
    fn shapes_between_frames_are_between_them_and_never_beyond() {
        let f = film();
        assert_eq!(f.at(0.25), [(0.0, 0.5), (2.0, 0.25)]);
        assert_eq!((f.at(-3.0), f.at(7.0)), (f.at(0.0), f.at(1.0)));
        assert_eq!(f.floor(), -0.15);
    }

    #[test]
    fn the_wall_is_as_thick_as_it_is() {
        let f = film();
        let line = vec![(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)];
        let wall = &f.wall(&line)[0];
        assert_eq!(wall.len(), 12);
        let ends: Vec<f64> = wall.iter().filter(|p| p.0 == 2.0).map(|p| p.1).collect();
        assert!((ends[0] - ends[1] - 0.3).abs() < 1e-12, "{ends:?}");
        let (half, low, high) = extent(f.wall(&line).iter());
        assert_eq!((half, -low, high), (2.0, 0.15, 0.15));
    }
}
