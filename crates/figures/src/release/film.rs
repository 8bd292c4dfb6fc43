//! Shapes between the frames of an answer, and the wall about them with its real thickness.

use calotte_answers::film;
use calotte_answers::release::report::ReleaseReport;

use super::time::usable;

/// Radius and height, pole (or hole edge) to rim.
pub(crate) type Line = Vec<(f64, f64)>;

/// A wall without its place.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Wall {
    /// Share of the arc and thickness there.
    thickness: Vec<(f64, f64)>,
    /// Whether the wall stops short of the axis.
    pub(crate) hole: bool,
}

/// The frames that can be drawn, in order of time (or of what stands for it), and the wall.
pub(crate) struct Film {
    frames: Vec<(f64, Line)>,
    /// Energy per area at the places of every line; empty where it is not known.
    energy: Vec<Vec<f64>>,
    pub(crate) shell: Wall,
}

/// Rows (arclength, thickness) as shares of the arc.
fn shares(s_m: &[f64], thickness_m: &[f64]) -> Vec<(f64, f64)> {
    let arc = s_m.last().copied().unwrap_or(0.0);
    let start = s_m.first().copied().unwrap_or(0.0);
    s_m.iter()
        .zip(thickness_m)
        .map(|(s, h)| ((s - start) / (arc - start), *h))
        .filter(|(s, h)| usable(*s) && usable(*h) && *h >= 0.0)
        .collect()
}

/// Whether a frame comes after those before it and can be drawn.
fn drawable(frames: &[(f64, Line)], at: f64, r_m: &[f64], z_m: &[f64]) -> Option<Line> {
    let line: Line = r_m.iter().copied().zip(z_m.iter().copied()).collect();
    let whole = line.iter().all(|p| usable(p.0) && usable(p.1)) && usable(at);
    let later = frames.last().is_none_or(|l| l.0 < at);
    (whole && later && line.len() > 1 && r_m.len() == z_m.len()).then_some(line)
}

impl Film {
    /// The film of a report; `None` with fewer than two frames that can be drawn.
    pub(crate) fn new(report: &ReleaseReport) -> Option<Self> {
        let mut frames: Vec<(f64, Line)> = Vec::new();
        for f in &report.frames {
            if let Some(line) = drawable(&frames, f.time_s, &f.r_m, &f.z_m) {
                frames.push((f.time_s, line));
            }
        }
        let m = &report.part.meridian;
        let mut thickness = shares(&m.s_m, &m.thickness_m);
        if thickness.is_empty() {
            let plain = report.part.thickness_m;
            thickness.push((0.0, if usable(plain) { plain.max(0.0) } else { 0.0 }));
        }
        let shell = Wall { thickness, hole: report.part.hole_radius_m > 0.0 };
        (frames.len() > 1).then_some(Self { frames, energy: Vec::new(), shell })
    }

    /// The film of shapes with energy, each at the place that `at` gives it (`None` leaves it out); `turned`: the natural bowl
    /// shown as a dome, its rim at height 0. `None` with no frame that can be drawn.
    pub(crate) fn of_shapes(
        film: &film::Film,
        at: &dyn Fn(&film::Frame) -> Option<f64>,
        turned: bool,
    ) -> Option<Self> {
        let (mut frames, mut energy): (Vec<(f64, Line)>, Vec<Vec<f64>>) = (Vec::new(), Vec::new());
        for f in &film.frames {
            let Some(place) = at(f) else { continue };
            let rim = f.z_m.last().copied().unwrap_or(0.0);
            let z: Vec<f64> = f.z_m.iter().map(|z| if turned { rim - z } else { *z }).collect();
            if let Some(line) = drawable(&frames, place, &f.r_m, &z) {
                let whole =
                    f.energy_J_per_m2.len() == line.len() && f.energy_J_per_m2.iter().all(|e| usable(*e));
                energy.push(if whole { f.energy_J_per_m2.clone() } else { vec![0.0; line.len()] });
                frames.push((place, line));
            }
        }
        let hole = frames.first()?.1.first()?.0 > 1e-9 * frames.first()?.1.last()?.0.abs();
        let shell = Wall { thickness: shares(&film.s_m, &film.thickness_m), hole };
        Some(Self { frames, energy, shell })
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
        let thick = self.shell.thickest();
        let lowest = self.frames.iter().flat_map(|f| &f.1).map(|p| p.1).fold(f64::INFINITY, f64::min);
        if lowest < 0.25 * thick { -0.5 * thick } else { 0.0 }
    }

    /// The frames about a time and the share of the second.
    fn between(&self, time: f64) -> (usize, usize, f64) {
        let i = self.frames.partition_point(|f| f.0 <= time);
        let last = self.frames.len() - 1;
        match i.checked_sub(1) {
            Some(k) if i <= last => {
                let t = (time - self.frames[k].0) / (self.frames[i].0 - self.frames[k].0);
                (k, i, t)
            }
            _ => (i.min(last), i.min(last), 0.0),
        }
    }

    /// The shape at a time: linear in time between frames, the nearest frame beyond them.
    pub(crate) fn at(&self, time: f64) -> Line {
        let (a, b, t) = self.between(time);
        let (a, b) = (&self.frames[a].1, &self.frames[b].1);
        if t == 0.0 || a.len() != b.len() {
            return if t < 0.5 { a.clone() } else { b.clone() };
        }
        a.iter().zip(b).map(|(p, q)| (p.0 + t * (q.0 - p.0), p.1 + t * (q.1 - p.1))).collect()
    }

    /// The energy per area at a time, at the places of the line; empty where it is not known.
    pub(crate) fn energy_at(&self, time: f64) -> Vec<f64> {
        if self.energy.is_empty() {
            return Vec::new();
        }
        let (a, b, t) = self.between(time);
        let (a, b) = (&self.energy[a], &self.energy[b]);
        if a.len() != b.len() {
            return if t < 0.5 { a.clone() } else { b.clone() };
        }
        a.iter().zip(b).map(|(p, q)| p + t * (q - p)).collect()
    }

    /// Closed outlines of the wall about a mid-line, (x, height): one over the axis, two beside a hole.
    pub(crate) fn wall(&self, line: &Line) -> Vec<Line> {
        self.shell.outlines(line, line)
    }

    /// The mid-line on both sides of the axis: one piece over the pole, two beside a hole.
    pub(crate) fn middle(&self, line: &Line) -> Vec<Line> {
        let left: Line = line.iter().map(|p| (-p.0, p.1)).collect();
        if self.shell.hole {
            return vec![line.clone(), left];
        }
        vec![left.into_iter().rev().chain(line.iter().copied()).collect()]
    }
}

impl Wall {
    /// Largest thickness.
    pub(crate) fn thickest(&self) -> f64 {
        self.thickness.iter().map(|t| t.1).fold(0.0, f64::max)
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

    /// Half the thickness at every point of a line.
    pub(crate) fn halves(&self, line: &Line) -> Vec<f64> {
        let mut run = vec![0.0];
        for w in line.windows(2) {
            run.push(run[run.len() - 1] + libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1));
        }
        let total = run[run.len() - 1].max(f64::MIN_POSITIVE);
        run.iter().map(|s| self.thickness_at(s / total) / 2.0).collect()
    }

    /// The line's neighbours half a thickness to its left and to its right.
    fn faces(&self, line: &Line) -> (Line, Line) {
        let halves = self.halves(line);
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
                    let d = sign * halves[i];
                    (line[i].0 - d * tz, line[i].1 + d * tr)
                })
                .collect()
        };
        (face(1.0), face(-1.0))
    }

    /// Closed outlines about the mid-lines right and left of the axis (both as radius and height): one over the axis, two beside
    /// a hole.
    pub(crate) fn outlines(&self, right: &Line, left: &Line) -> Vec<Line> {
        let flip = |line: &Line| -> Line { line.iter().map(|p| (-p.0, p.1)).collect() };
        let (upper, lower) = self.faces(right);
        let (upper_left, lower_left) = self.faces(left);
        let (upper_left, lower_left) = (flip(&upper_left), flip(&lower_left));
        if self.hole {
            let ring = |u: &Line, l: &Line| u.iter().copied().chain(l.iter().rev().copied()).collect();
            return vec![ring(&upper, &lower), ring(&upper_left, &lower_left)];
        }
        vec![
            upper_left
                .into_iter()
                .rev()
                .chain(upper)
                .chain(lower.into_iter().rev())
                .chain(lower_left)
                .collect(),
        ]
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
        let shell = Wall { thickness: vec![(0.0, 0.1), (1.0, 0.3)], hole: false };
        Film { frames, energy: Vec::new(), shell }
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
