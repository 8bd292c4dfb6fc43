//! The trade's own figures for parts that snap: coned discs by the spring maker's formulae, keys by their ratios, folding
//! bowls by their forces and strains.
//!
//! Pure functions of numbers. What the shell theory of the other questions says stands beside them, not in them.

pub mod coned_disc;
pub mod folding;
pub mod key;

pub use coned_disc::{ConedDisc, DiscReport, recognise};
pub use folding::{FoldFault, FoldReport, FoldRow, Folding};
pub use key::{KeyEvents, KeyFault, KeyReport};

/// A travel and the force that goes with it, positive along the push.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Travel since the start, m.
    pub travel: f64,
    /// Force, N.
    pub force: f64,
}

impl Place {
    fn is_finite(&self) -> bool {
        self.travel.is_finite() && self.force.is_finite()
    }
}

/// A gram of force, N (standard gravity).
pub const GRAM_FORCE: f64 = 9.806_65e-3;
