//! Figures of a motion, each with its standard deviation and where that comes from.
//!
//! The motion is a list of places and times with errors; what is read has the unit of the places (pixels, or metres) and
//! seconds. Scale and frame rate enter afterwards ([`super::report`]).

mod all;
mod growth;
mod jump;
mod local;
mod ringing;
mod settle;
mod snap;

use calotte_chance::student;

pub use all::{Asked, Readings, Unread, read};
pub use growth::{Growth, Slowing};
pub use jump::{Flight, Jump};
pub use ringing::Ringing;
pub use snap::{Levels, Snap};

/// Standard deviations on each side that hold 95 % of a normal distribution.
pub const NORMAL: f64 = 1.959_963_984_540_054;

/// A place at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// When, s.
    pub t: f64,
    /// Where.
    pub x: f64,
    /// Standard deviation of that.
    pub e: f64,
}

/// A figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Value.
    pub value: f64,
    /// What makes it uncertain, each as a standard deviation; independent.
    pub parts: Vec<Part>,
}

/// One reason for uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What.
    pub what: &'static str,
    /// Standard deviation that it makes.
    pub deviation: f64,
}

impl Figure {
    /// A value with the deviation of the fit alone.
    pub fn new(value: f64, scatter: f64) -> Self {
        Self { value, parts: vec![Part { what: SCATTER, deviation: scatter }] }
    }

    /// A value from a fit that takes its scatter from its own residuals with so much freedom: its deviation is widened so that
    /// 1.96 of it hold 95 % as Student's distribution does.
    pub fn fitted([value, deviation]: [f64; 2], freedom: f64) -> Self {
        Self::new(value, deviation * student::quantile(0.975, freedom.max(1.0)) / NORMAL)
    }

    /// Ends of the 95 % interval.
    pub fn interval(&self) -> [f64; 2] {
        let half = NORMAL * self.deviation();
        [self.value - half, self.value + half]
    }

    /// The same with one more reason.
    #[must_use]
    pub fn with(mut self, what: &'static str, deviation: f64) -> Self {
        if deviation > 0.0 {
            self.parts.push(Part { what, deviation });
        }
        self
    }

    /// Standard deviation of all.
    pub fn deviation(&self) -> f64 {
        self.parts.iter().map(|p| p.deviation * p.deviation).sum::<f64>().sqrt()
    }
}

/// Scatter of the places.
pub const SCATTER: &str = "scatter of the edge";
/// The choice of a window.
pub const WINDOW: &str = "choice of the window";
/// Blur by the time of exposure.
pub const SHUTTER: &str = "exposure";
/// The levels between which a part goes.
pub const LEVELS: &str = "rest and end level";
/// Scale.
pub const SCALE: &str = "scale";
/// Frame rate.
pub const RATE: &str = "frame rate";
/// The moment of letting go.
pub const LET_GO: &str = "moment of letting go";
/// Local gravity.
pub const GRAVITY: &str = "local gravity";

/// What two windows, one within the other, disagree by beyond their own noise: the difference of two least-squares readings has
/// the variance of the narrower less that of the wider (Hausman 1978, Econometrica 46, 1251). Nothing within two of those.
pub(super) fn disagreement(wide: [f64; 2], narrow: [f64; 2]) -> f64 {
    let d = (wide[0] - narrow[0]) * (wide[0] - narrow[0]);
    let own = (narrow[1] * narrow[1] - wide[1] * wide[1]).max(0.0);
    if d > 4.0 * own { (d - own).sqrt() } else { 0.0 }
}

/// Factor on the deviations of a fit whose residuals follow each other: √((1 + ρ)/(1 − ρ)) for a correlation ρ from one row to the next
/// (variance of a mean under a first-order autoregression: Bartlett 1946, J. R. Statist. Soc. Suppl. 8, 27). 1 where ρ is no more than
/// twice its own deviation 1/√n.
pub(super) fn following(residuals: &[f64]) -> f64 {
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    let next: f64 = residuals.windows(2).map(|w| w[0] * w[1]).sum();
    let rho = next / squares;
    if rho > 2.0 / (residuals.len() as f64).sqrt() && rho < 1.0 {
        ((1.0 + rho) / (1.0 - rho)).sqrt()
    } else {
        1.0
    }
}
