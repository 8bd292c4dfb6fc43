//! The meridian read off an outline: radius and height of every edge, both halves, a smooth curve through them, the wall of a section.

use calotte_specimen::{MeasuredMeridian, ProfilePoints};

use super::cap::correlation;
use super::pieces::{Corner, gap};
use super::{Fault, Measured};
use crate::picture::Edge;

/// Axis and scale: how pixels become radii and heights.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    /// A point on the axis, px.
    pub(super) origin: [f64; 2],
    /// Unit vector from the pole to the rim's plane.
    pub(super) up: [f64; 2],
    /// Pixels on a metre.
    pub(super) density: f64,
}

impl Frame {
    /// `[x, z]` of a point in m: signed distance from the axis, height along it.
    pub(super) fn metres(&self, p: [f64; 2]) -> [f64; 2] {
        let d = [p[0] - self.origin[0], p[1] - self.origin[1]];
        let across = [-self.up[1], self.up[0]];
        [
            (d[0] * across[0] + d[1] * across[1]) / self.density,
            (d[0] * self.up[0] + d[1] * self.up[1]) / self.density,
        ]
    }

    /// The point in the picture, px.
    pub(super) fn pixels(&self, x: [f64; 2]) -> [f64; 2] {
        let across = [-self.up[1], self.up[0]];
        [0, 1].map(|c| self.origin[c] + self.density * (x[0] * across[c] + x[1] * self.up[c]))
    }
}

/// One edge of the meridian's outline.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    /// Signed distance from the axis, m.
    pub(super) x: f64,
    /// Height over the origin, m.
    pub(super) z: f64,
    /// Deviation across the outline, m.
    pub(super) sd: f64,
}

/// The arc in metres, by x.
pub(super) fn spots(arc: &[Edge], frame: &Frame) -> Vec<Spot> {
    let mut out: Vec<Spot> = arc
        .iter()
        .map(|e| {
            let [x, z] = frame.metres(e.at);
            Spot { x, z, sd: e.sd / frame.density }
        })
        .collect();
    out.sort_by(|a, b| a.x.total_cmp(&b.x));
    out
}

/// A smooth curve through both halves, with what its errors do.
#[derive(Clone, Debug)]
pub(super) struct Smooth {
    /// The curve; its pole at height 0.
    pub(super) curve: MeasuredMeridian,
    /// The curves that make its errors, already widened by the factors below.
    displaced: Vec<MeasuredMeridian>,
    /// χ² over its freedom with the edges' own deviations.
    pub(super) reduced_chi2: f64,
    /// Factor on the variance for neighbours that err together.
    pub(super) correlation: f64,
    /// Factor on deviations: √(correlation × reduced χ² where that is above 1).
    factor: f64,
    /// Height of the curve's pole over the frame's origin, m.
    pub(super) lift: f64,
    /// Distance of every spot outward from the curve, m, in the order of the spots; its arclength, m.
    pub(super) residuals: Vec<[f64; 2]>,
}

impl Smooth {
    /// Which spots lie within 4.5 typical deviations of the curve.
    pub(super) fn clean(&self, spots: &[Spot]) -> Vec<bool> {
        let size = |k: usize| (self.residuals[k][1] / spots[k].sd).abs();
        let typical = (super::find::median((0..spots.len()).map(size).collect()) / 0.6745).max(1.0);
        (0..spots.len()).map(|k| size(k) < 4.5 * typical).collect()
    }

    /// A number read off the curve, with its deviation.
    pub(super) fn measured(&self, f: &dyn Fn(&MeasuredMeridian) -> f64) -> Measured {
        let value = f(&self.curve);
        let square: f64 = self.displaced.iter().map(|c| f(c) - value).map(|d| d * d).sum();
        Measured { value, sd: self.factor * square.sqrt() }
    }
}

/// Finds feet of points on a curve.
pub(super) struct Feet<'c> {
    curve: &'c MeasuredMeridian,
    table: Vec<[f64; 3]>,
}

impl<'c> Feet<'c> {
    pub(super) fn of(curve: &'c MeasuredMeridian) -> Self {
        let n = 96;
        let row = |k: usize| {
            let s = curve.length() * k as f64 / n as f64;
            let q = curve.at(s);
            [s, q.r, q.z]
        };
        Self { curve, table: (0..=n).map(row).collect() }
    }

    /// Arclength of the foot of a point `[r, z]` (the nearest place of a table, then Newton's method), and the distance outward: away
    /// from the axis, downward at the pole.
    pub(super) fn at(&self, p: [f64; 2]) -> [f64; 2] {
        let square = |row: &[f64; 3]| (row[1] - p[0]) * (row[1] - p[0]) + (row[2] - p[1]) * (row[2] - p[1]);
        let nearest = self.table.iter().min_by(|a, b| square(a).total_cmp(&square(b)));
        let (mut s, length) = (nearest.map_or(0.0, |row| row[0]), self.curve.length());
        let mut q = self.curve.at(s);
        for _ in 0..3 {
            let (dr, dz) = (q.r - p[0], q.z - p[1]);
            let along = dr * q.cos + dz * q.sin;
            let across = dz * q.cos - dr * q.sin;
            s = (s - along / (1.0 + q.curvature * across).max(0.25)).clamp(-0.05 * length, 1.05 * length);
            q = self.curve.at(s);
        }
        // The outward normal of a bowl is (sin φ, −cos φ).
        [s, (p[0] - q.r) * q.sin - (p[1] - q.z) * q.cos]
    }
}

/// The curve with its spread; where the steps do not settle on all points, those of every second or third.
fn settled(given: &ProfilePoints) -> Result<(MeasuredMeridian, Vec<MeasuredMeridian>), Fault> {
    let mut why = match MeasuredMeridian::fit_with_spread(given) {
        Ok(found) => return Ok(found),
        Err(e) => e,
    };
    for stride in [2, 3] {
        let last = given.points.len() - 1;
        let kept = (0..=last).filter(|k| k % stride == 0 || *k == last).map(|k| given.points[k]);
        let fewer = ProfilePoints { points: kept.collect(), ..given.clone() };
        match MeasuredMeridian::fit_with_spread(&fewer) {
            Ok(found) => return Ok(found),
            Err(e) => why = e,
        }
    }
    Err(Fault::Meridian(why))
}

/// The smooth curve through both halves and the rim's corners.
pub(super) fn smooth(spots: &[Spot], corners: [Corner; 2], frame: &Frame) -> Result<Smooth, Fault> {
    let ends = corners.map(|c| frame.metres(c.at));
    let end = [0.5 * (ends[0][0].abs() + ends[1][0].abs()), 0.5 * (ends[0][1] + ends[1][1])];
    let lowest = spots.iter().map(|s| s.z).fold(f64::INFINITY, f64::min);
    let mut points: Vec<[f64; 2]> = spots.iter().map(|s| [s.x.abs(), s.z - lowest]).collect();
    // From the pole to the rim: by the way along the outline, which the angle about the middle of the rim follows.
    let angle = |p: &[f64; 2]| libm::atan2(p[0], (end[1] - lowest) - p[1]);
    points.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    points.push([end[0], end[1] - lowest]);
    let sd = super::find::median(spots.iter().map(|s| s.sd).collect());
    let mut given = ProfilePoints { points, position_sd: sd, hole: false };
    let mut fitted = settled(&given)?;
    // Where edges scatter more than their noise says, a curve that follows the noise would be wrong: ask again with what is seen.
    let seen = fitted.0.report().reduced_chi2;
    if seen > 1.3 {
        given.position_sd = sd * seen.sqrt();
        fitted = settled(&given)?;
    }
    let (curve, mut displaced) = fitted;
    // The rim's corner is less sure than an edge: what its own error does to the curve is seen by moving it.
    let across = [-frame.up[1], frame.up[0]];
    for direction in [across, frame.up] {
        let along = corners.map(|c| libm::hypot(c.sd[0] * direction[0], c.sd[1] * direction[1]));
        let error = 0.5 * libm::hypot(along[0], along[1]) / frame.density;
        let mut moved = given.clone();
        if let Some(end) = moved.points.last_mut() {
            end[usize::from(direction == frame.up)] += error;
        }
        displaced
            .push(MeasuredMeridian::fit_with(&moved, curve.report().intervals).map_err(Fault::Meridian)?);
    }
    // The fit puts the pole at 0 whatever the lowest point was: its height over the origin is found by the spots.
    let feet = Feet::of(&curve);
    let mut shift = lowest;
    for _ in 0..3 {
        let gaps = spots.iter().map(|s| {
            let [t, d] = feet.at([s.x.abs(), s.z - shift]);
            -d / curve.at(t).cos.max(0.3)
        });
        shift += super::find::median(gaps.collect());
    }
    let residuals: Vec<[f64; 2]> = spots.iter().map(|s| feet.at([s.x.abs(), s.z - shift])).collect();
    let scaled: Vec<f64> = residuals.iter().zip(spots).map(|(r, s)| r[1] / s.sd).collect();
    let together = correlation(&scaled);
    let reduced = curve.report().reduced_chi2 * (given.position_sd / sd) * (given.position_sd / sd);
    // The displaced curves hold the widened deviation already.
    let factor = together.sqrt() * curve.report().reduced_chi2.max(1.0).sqrt();
    Ok(Smooth {
        curve,
        displaced,
        reduced_chi2: reduced,
        correlation: together,
        factor,
        lift: shift,
        residuals,
    })
}

/// The frame moved across by d and turned by δ to where the left and the right half agree best: least squares of the distances from
/// the curve, with what the corners say of the frame (`known`: deviations of d, px, and of δ, rad). Also the deviation of the turn.
pub(super) fn levelled(frame: &Frame, spots: &[Spot], smooth: &Smooth, known: [f64; 2]) -> (Frame, f64) {
    let known = [known[0].max(0.05) / frame.density, known[1].max(1e-4)];
    // Moving the frame by d along x and turning it by δ moves a spot by (−d − δ z, δ x) in it; outward is (± sin φ, −cos φ).
    let (mut a, mut b) = ([1.0 / (known[0] * known[0]), 0.0, 1.0 / (known[1] * known[1])], [0.0, 0.0]);
    for (s, r) in spots.iter().zip(&smooth.residuals) {
        let q = smooth.curve.at(r[0].clamp(0.0, smooth.curve.length()));
        let side = if s.x < 0.0 { -1.0 } else { 1.0 };
        let row = [-side * q.sin, -side * q.sin * s.z - q.cos * s.x];
        let w = 1.0 / (s.sd * s.sd * smooth.reduced_chi2.max(1.0));
        a = [a[0] + w * row[0] * row[0], a[1] + w * row[0] * row[1], a[2] + w * row[1] * row[1]];
        b = [b[0] - w * row[0] * r[1], b[1] - w * row[1] * r[1]];
    }
    let det = a[0] * a[2] - a[1] * a[1];
    let (d, turn) = ((b[0] * a[2] - b[1] * a[1]) / det, (b[1] * a[0] - b[0] * a[1]) / det);
    let across = [-frame.up[1], frame.up[0]];
    let (sin, cos) = libm::sincos(turn);
    let up = [0, 1].map(|c| cos * frame.up[c] + sin * across[c]);
    let origin = [0, 1].map(|c| frame.origin[c] + d * frame.density * across[c]);
    (Frame { origin, up, ..*frame }, (a[0] / det).sqrt())
}

/// How much the halves differ: root mean square and largest of the left's distance outward less the right's at the same arclength, m.
pub(super) fn asymmetry(spots: &[Spot], residuals: &[[f64; 2]]) -> [f64; 2] {
    let half = |left: bool| {
        let mut rows: Vec<[f64; 2]> =
            spots.iter().zip(residuals).filter(|(s, _)| (s.x < 0.0) == left).map(|(_, r)| *r).collect();
        rows.sort_by(|a, b| a[0].total_cmp(&b[0]));
        rows
    };
    let (left, right) = (half(true), half(false));
    let at = |rows: &[[f64; 2]], s: f64| {
        let k = rows.partition_point(|r| r[0] < s);
        (k > 0 && k < rows.len()).then(|| {
            let (p, q) = (rows[k - 1], rows[k]);
            p[1] + (s - p[0]) / (q[0] - p[0]).max(1e-30) * (q[1] - p[1])
        })
    };
    let differences: Vec<f64> = left.iter().filter_map(|l| Some(l[1] - at(&right, l[0])?)).collect();
    if differences.is_empty() {
        return [f64::NAN; 2];
    }
    let square = differences.iter().map(|d| d * d).sum::<f64>() / differences.len() as f64;
    [square.sqrt(), differences.iter().fold(0.0, |m: f64, d| m.max(d.abs()))]
}

/// Thickness at the edges of the outer wall: the way along the inward normal to the inner wall, px, with its deviation.
pub(super) fn walls(arc: &[Edge], inner: &[Edge]) -> Vec<(Edge, Measured)> {
    // A chord of length c lies c²κ/12 within its arc in the mean; κ from the turn of the whole inner wall.
    let (first, last) = (inner[0].direction, inner[inner.len() - 1].direction);
    let turn = libm::atan2(first[0] * last[1] - first[1] * last[0], first[0] * last[0] + first[1] * last[1]);
    let bend = turn.abs() / inner.windows(2).map(|w| gap(w[0].at, w[1].at)).sum::<f64>();
    arc.iter()
        .filter_map(|e| {
            let d = [-e.direction[0], -e.direction[1]];
            inner
                .windows(2)
                .filter_map(|w| {
                    let (p, q) = (w[0].at, w[1].at);
                    let side = [q[0] - p[0], q[1] - p[1]];
                    let cross = d[0] * side[1] - d[1] * side[0];
                    let to = [p[0] - e.at[0], p[1] - e.at[1]];
                    let t = (to[0] * side[1] - to[1] * side[0]) / cross;
                    let u = (to[0] * d[1] - to[1] * d[0]) / cross;
                    let apart = gap(p, q) < 20.0;
                    (t > 0.0 && (0.0..=1.0).contains(&u) && apart).then(|| Measured {
                        value: t - bend * gap(p, q) * gap(p, q) / 12.0,
                        sd: libm::hypot(e.sd, w[0].sd),
                    })
                })
                .min_by(|a, b| a.value.total_cmp(&b.value))
                .map(|t| (*e, t))
        })
        .collect()
}
