//! Chance, without any physics: distributions, drawn numbers, fits with their errors.
//!
//! Numbers are plain; residuals that a fit takes are in units of their own standard deviation wherever a covariance is to
//! mean something. Same input, same output bits: drawn numbers come from [`Stream`]s with stated seeds.

mod draw;
mod fit;
pub mod normal;

pub use draw::Stream;
pub use fit::{Fit, FitSettings, NoFit, least_squares};
