//! Chance, without any physics: distributions, drawn numbers, fits with their errors.
//!
//! Numbers are plain; residuals that a fit takes are in units of their own standard deviation wherever a covariance is to
//! mean something. Same input, same output bits: drawn numbers come from [`Stream`]s with stated seeds.

pub mod beta;
pub mod binomial;
pub mod chi_squared;
mod draw;
pub mod fisher;
mod fit;
pub mod gamma;
pub mod indices;
mod invert;
pub mod normal;
pub mod profile;
pub mod quasi;
mod robust;
pub mod sample;
mod shuffle;
pub mod student;
pub mod york;

pub use draw::Stream;
pub use fit::{Fit, FitSettings, NoFit, least_squares};
pub use robust::{Loss, RobustFit, robust};
pub use shuffle::Shuffle;
