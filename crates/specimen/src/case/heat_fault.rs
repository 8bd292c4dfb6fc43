//! Why a wall cannot be heated so.

use std::fmt;

use super::motion_fault::celsius;

/// Temperatures of a case that cannot go together. SI values.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum HeatFault {
    /// A temperature at which a property of a layer is not known.
    OutsideTable {
        /// Key of the temperature.
        key: &'static str,
        /// Temperature, K; that of a face when the faces differ.
        temperature: f64,
        /// Between these every property is known, K.
        known: [f64; 2],
    },
    /// The tables of the layers have no temperature in common.
    TablesApart,
    /// The highest temperature is not above the lowest.
    RangeFalls,
    /// A face is no warmer than absolute zero.
    TooCold {
        /// Temperature of the colder face, K.
        face: f64,
    },
}

impl fmt::Display for HeatFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutsideTable { key, temperature, known: [low, high] } => write!(
                f,
                "`{key}`: at {} not every property is known; the tables reach from {} to {}",
                celsius(*temperature),
                celsius(*low),
                celsius(*high)
            ),
            Self::TablesApart => f.write_str("the tables of the layers have no temperature in common"),
            Self::RangeFalls => f.write_str("`to` must be above `from`"),
            Self::TooCold { face } => {
                write!(f, "with this difference one face is at {face:.4} K, at or below absolute zero")
            }
        }
    }
}

impl HeatFault {
    /// Keys of the case file to look at, the likeliest first.
    pub(super) fn keys(&self) -> Vec<&str> {
        match self {
            Self::OutsideTable { key, .. } => vec![key, "layers.moduli", "layers.expansions", "heat"],
            Self::TablesApart => vec!["layers.moduli", "layers.expansions"],
            Self::RangeFalls => vec!["heat.to", "heat.from"],
            Self::TooCold { .. } => vec!["heat.face_difference", "heat"],
        }
    }

    /// What to do about it.
    pub(super) fn hint(&self) -> String {
        match self {
            Self::OutsideTable { key: "heat.formed_at", .. } => {
                "give `formed_at` in `[heat]` within the tables (20 degC is taken when it is left out), or readings that reach it"
                    .to_owned()
            }
            Self::OutsideTable { .. } => {
                "stay within the tables, or give readings that reach so far; nothing is extrapolated".to_owned()
            }
            Self::TablesApart => "give readings over one range for all layers".to_owned(),
            Self::RangeFalls => "swap the two".to_owned(),
            Self::TooCold { .. } => {
                "`face_difference` is that of the concave face less that of the convex one, in kelvins".to_owned()
            }
        }
    }
}
