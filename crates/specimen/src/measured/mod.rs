//! A meridian fitted to measured points.
//!
//! The slope angle φ₀(s) is a cubic spline with continuous curvature slope (C²) on equal intervals of
//! the arclength, and the curve is its integral,
//!
//! `r(s) = r(0) + ∫ cos φ₀ ds`,  `z(s) = z(0) + ∫ sin φ₀ ds`,
//!
//! so that it is parametrised by arclength exactly and its curvature is the spline's derivative.
//! At a pole φ₀ is odd in s: φ₀ = 0 and φ₀″ = 0 there, as on any smooth surface of revolution.

mod fit;
mod report;
mod solve;
mod spline;

pub use report::{FitFailure, FitReport, ProfilePoints};

use crate::meridian::MeridianPoint;
use spline::{Piece, integrate};

/// A smooth meridian through measured points. Lengths in m, angles in rad.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredMeridian {
    step: f64,
    pieces: Vec<Piece>,
    from_pole: bool,
    fit: FitReport,
}

impl MeasuredMeridian {
    /// Fits the points; the number of spline intervals follows from their position sd.
    ///
    /// The points go from the pole (or the hole's edge) to the rim; the first of a hole and the last of
    /// all are ends of the curve. The sum of squared distances from the curve over the variance, plus
    /// ln N for each coefficient (Schwarz's criterion), is least over the numbers of intervals tried.
    ///
    /// # Errors
    /// [`FitFailure`] when there are too few points, no rise, or no convergence.
    pub fn fit(points: &ProfilePoints) -> Result<Self, FitFailure> {
        fit::choose(points)
    }

    /// Fits the points as [`MeasuredMeridian::fit`] does but with twice as many intervals, and gives beside the curve those displaced by one standard deviation
    /// along each column of a root of the unknowns' covariance (for the stated position sd): the variance of any number read off
    /// the curve is, to first order, the sum of its squared differences between them and the curve.
    ///
    /// # Errors
    /// As [`MeasuredMeridian::fit`].
    pub fn fit_with_spread(points: &ProfilePoints) -> Result<(Self, Vec<Self>), FitFailure> {
        fit::with_spread(points)
    }

    /// Fits the points with a given number of spline intervals.
    ///
    /// # Errors
    /// As [`MeasuredMeridian::fit`]; also when there are fewer points than the spline needs.
    pub fn fit_with(points: &ProfilePoints, intervals: usize) -> Result<Self, FitFailure> {
        fit::with_intervals(points, intervals)
    }

    /// How well the curve fits.
    pub fn report(&self) -> &FitReport {
        &self.fit
    }

    /// Arclength of the whole curve, m.
    pub fn length(&self) -> f64 {
        self.step * self.pieces.len() as f64
    }

    /// Whether the curve starts on the axis.
    pub fn starts_at_pole(&self) -> bool {
        self.from_pole
    }

    /// Interior spline knots, m.
    pub fn knots(&self) -> Vec<f64> {
        (1..self.pieces.len()).map(|i| self.step * i as f64).collect()
    }

    /// The point at arclength `s`; beyond the ends the first or the last cubic goes on.
    pub fn at(&self, s: f64) -> MeridianPoint {
        let last = self.pieces.len() - 1;
        let i = ((s / self.step).floor().max(0.0) as usize).min(last);
        let piece = &self.pieces[i];
        let u = s - self.step * i as f64;
        let [r, z] = integrate(&piece.phi, u);
        let (sin, cos) = libm::sincos(piece.slope(u));
        MeridianPoint { r: piece.r + r, z: piece.z + z, sin, cos, curvature: piece.curvature(u) }
    }

    /// Slope angle φ₀ at arclength `s`, rad.
    pub fn slope(&self, s: f64) -> f64 {
        let i = ((s / self.step).floor().max(0.0) as usize).min(self.pieces.len() - 1);
        self.pieces[i].slope(s - self.step * i as f64)
    }

    /// The curve enlarged `factor` times (> 0) about the pole.
    pub fn enlarged(&self, factor: f64) -> Self {
        let mut fit = self.fit;
        fit.rms_m *= factor;
        fit.largest_m *= factor;
        let pieces = self.pieces.iter().map(|p| p.enlarged(factor)).collect();
        Self { step: self.step * factor, pieces, from_pole: self.from_pole, fit }
    }

    /// The parallel curve at `distance` (m) along the normal, counted toward the concave side of the
    /// bowl; the slopes at corresponding points are the same. Its report keeps the points' statistics.
    ///
    /// # Errors
    /// [`FitFailure`] when no spline follows it (a distance near the radius of curvature).
    pub fn parallel(&self, distance: f64) -> Result<Self, FitFailure> {
        let count = 60 + 24 * self.pieces.len();
        let at = |i: usize| {
            let p = self.at(self.length() * i as f64 / (count - 1) as f64);
            [p.r - distance * p.sin, p.z + distance * p.cos]
        };
        // Sampled without noise: a thousandth of what the points resolve is far below what matters.
        let sd = (1e-3 * self.fit.rms_m).max(1e-9 * self.length());
        let sampled =
            ProfilePoints { points: (0..count).map(at).collect(), position_sd: sd, hole: !self.from_pole };
        let mut curve = Self::fit(&sampled)?;
        curve.fit = FitReport { intervals: curve.fit.intervals, ..self.fit };
        Ok(curve)
    }

    /// Centre height, radius and half-angle of the sphere through both ends (the pole when there is no
    /// hole), centred on the axis.
    pub fn end_sphere(&self) -> (f64, f64, f64) {
        let (p, q) = (self.at(0.0), self.at(self.length()));
        fit::sphere_through([p.r, p.z], [q.r, q.z])
    }
}

#[cfg(test)]
mod tests;
