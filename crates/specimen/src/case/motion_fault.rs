//! Why a material cannot remember so.

use std::fmt;

use calotte_quantity::{Dimension, find_unit, show};

/// Numbers of memory and surroundings that cannot go together. SI values.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum MotionFault {
    /// The shares that relax add up to the whole modulus, or more.
    SharesReachOne {
        /// Key of the share that passes 1.
        key: String,
        /// Sum up to it.
        sum: f64,
    },
    /// A relaxation time is not above the one before.
    TimesFall {
        /// Key of the time.
        key: String,
    },
    /// The law that shifts the times does not reach this temperature.
    OutsideShift {
        /// Temperature, K.
        temperature: f64,
        /// The law holds above this temperature only, K.
        above: f64,
    },
}

/// A temperature in degrees Celsius, four digits.
pub(super) fn celsius(kelvin: f64) -> String {
    find_unit("degC", Dimension::Temperature).map_or_else(String::new, |u| show(kelvin, None, u))
}

impl fmt::Display for MotionFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SharesReachOne { sum, .. } => {
                write!(f, "the shares add up to {sum:.4} here; they must stay below 1")
            }
            Self::TimesFall { .. } => f.write_str("the times must increase"),
            Self::OutsideShift { temperature, .. } => write!(
                f,
                "the shift of the relaxation times does not reach {}: they would be 0 or endless",
                celsius(*temperature)
            ),
        }
    }
}

impl MotionFault {
    /// Keys of the case file to look at.
    pub(super) fn keys(&self) -> Vec<&str> {
        match self {
            Self::SharesReachOne { key, .. } | Self::TimesFall { key } => vec![key],
            Self::OutsideShift { .. } => vec!["surroundings.temperature", "memory.shift"],
        }
    }

    /// What to do about it.
    pub(super) fn hint(&self) -> String {
        match self {
            Self::SharesReachOne { .. } => {
                "each is a share of the instantaneous modulus; what is left of 1 is the modulus after a very long time".to_owned()
            }
            Self::TimesFall { .. } => "list the terms from the fastest to the slowest, each time once".to_owned(),
            Self::OutsideShift { above, .. } if *above > 0.0 => {
                format!("it needs a temperature well above {}, the reference less `c2`", celsius(*above))
            }
            Self::OutsideShift { .. } => "check the temperature, the reference and the activation energy".to_owned(),
        }
    }
}
