//! Why a load cannot act on a part.

use std::fmt;

use calotte_quantity::{Dimension, find_unit, show};

use super::impossible::mm;

/// A load that the part, its rim or the load's own sizes rule out. SI values.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum LoadFault {
    /// The circle of a ring load is no circle between the inner end and the rim.
    ArcOffPart {
        /// Arclength given, m.
        arc: f64,
        /// Length of the meridian, m.
        length: f64,
        /// Whether the inner end is the edge of a hole.
        hole: bool,
    },
    /// A pusher as wide as the rim or wider.
    PusherBeyondRim {
        /// Radius of the pusher, m.
        radius: f64,
        /// Radius of the rim, m.
        rim: f64,
    },
    /// A ball or pusher that goes through the hole at the pole.
    ThroughHole {
        /// `ball` or `pusher`.
        what: &'static str,
        /// Its radius, m.
        radius: f64,
        /// Radius of the hole, m.
        hole: f64,
    },
    /// The rounding leaves nothing of the pusher's flat.
    EdgeTooRound {
        /// Rounding of the edge, m.
        edge: f64,
        /// Radius of the pusher, m.
        radius: f64,
    },
    /// No part of the rim's hold takes an axial force.
    NothingHolds {
        /// Against what: `push` or `weight`.
        against: &'static str,
        /// Whether the rim is elastic, without an axial spring.
        elastic: bool,
    },
    /// The rim is moved, and nothing grips it.
    NoGrip,
    /// The rim is pulled, and cannot slide.
    CannotSlide,
    /// Pressure on a part whose rim may change its height.
    HeightNotKept,
    /// Pressure on a part with a hole.
    PressureEscapes {
        /// Radius of the hole, m.
        hole: f64,
    },
    /// The weight lifts the part off the table on which it rests.
    LiftsOff {
        /// Weight, m/s².
        weight: f64,
        /// Whether the inverted state is poked.
        inverted: bool,
    },
}

impl fmt::Display for LoadFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ArcOffPart { arc, .. } if *arc <= 0.0 => {
                write!(f, "at arc {} there is no circle between the inner end and the rim", mm(*arc))
            }
            Self::ArcOffPart { arc, length, .. } if arc == length => {
                write!(f, "the circle at arc {} is the rim itself", mm(*arc))
            }
            Self::ArcOffPart { arc, .. } => write!(f, "the circle at arc {} lies beyond the rim", mm(*arc)),
            Self::PusherBeyondRim { radius, rim } => {
                write!(f, "the pusher (radius {}) reaches the rim (radius {})", mm(*radius), mm(*rim))
            }
            Self::ThroughHole { what, radius, hole } => {
                write!(f, "the {what} (radius {}) goes through the hole (radius {})", mm(*radius), mm(*hole))
            }
            Self::EdgeTooRound { edge, radius } => {
                write!(f, "a rounding of {} leaves no flat on a pusher of radius {}", mm(*edge), mm(*radius))
            }
            Self::NothingHolds { against, .. } => write!(f, "nothing holds the rim against the {against}"),
            Self::NoGrip => f.write_str("nothing grips the rim that could move it"),
            Self::CannotSlide => f.write_str("a rim that is held radially cannot be pulled"),
            Self::HeightNotKept => f.write_str("pressure needs a rim that keeps its height"),
            Self::PressureEscapes { hole } => {
                write!(f, "the hole at the pole (radius {}) lets the pressure through", mm(*hole))
            }
            Self::LiftsOff { weight, .. } => {
                let shown = find_unit("m/s^2", Dimension::Acceleration).map(|u| show(*weight, None, u));
                write!(f, "a weight of {} lifts the part off its table", shown.unwrap_or_default())
            }
        }
    }
}

impl LoadFault {
    /// Keys of the case file to look at, the likeliest first.
    pub(super) fn keys(&self) -> Vec<&'static str> {
        match self {
            Self::ArcOffPart { .. } => vec!["load.arc", "load"],
            Self::PusherBeyondRim { .. } | Self::ThroughHole { .. } => vec!["load.radius", "load"],
            Self::EdgeTooRound { .. } => vec!["load.edge", "load.radius", "load"],
            Self::NothingHolds { .. } => vec!["rim.kind", "rim"],
            Self::NoGrip | Self::CannotSlide | Self::HeightNotKept | Self::PressureEscapes { .. } => {
                vec!["load.kind", "load"]
            }
            Self::LiftsOff { .. } => vec!["load.weight", "load"],
        }
    }

    /// What would be right.
    pub(super) fn hint(&self) -> String {
        match self {
            Self::ArcOffPart { arc, hole, .. } if *arc <= 0.0 => match hole {
                true => "to push the edge of the hole use kind = \"pole\"".to_owned(),
                false => "to push the pole use kind = \"pole\"".to_owned(),
            },
            Self::ArcOffPart { length, hole, .. } => format!(
                "from {} to the rim the meridian is {} long; stay short of it",
                if *hole { "the edge of the hole" } else { "the pole" },
                mm(*length)
            ),
            Self::PusherBeyondRim { .. } => {
                "give its radius, not its diameter; for a plate that covers the part use kind = \"flat\""
                    .to_owned()
            }
            Self::ThroughHole { hole, .. } => format!(
                "give more than {}; to push the edge of the hole use kind = \"pole\"",
                mm(*hole)
            ),
            Self::EdgeTooRound { .. } => {
                "the rounding must be smaller than the radius; for a round tip use kind = \"ball\"".to_owned()
            }
            Self::NothingHolds { elastic: false, .. } => {
                "use rim kind = \"ring\" or \"table\"".to_owned()
            }
            Self::NothingHolds { elastic: true, .. } => {
                "give the rim an `axial` spring, or use rim kind = \"ring\" or \"table\"".to_owned()
            }
            Self::NoGrip => {
                "use rim kind = \"hinged\" or \"clamped\"; a rim that slides takes load kind = \"rim-pull\""
                    .to_owned()
            }
            Self::CannotSlide => {
                "use rim kind = \"free\", \"table\" or \"ring\"; a rim that is gripped takes load kind = \"rim-displacement\""
                    .to_owned()
            }
            Self::HeightNotKept => {
                "use rim kind = \"ring\", \"table\", \"hinged\" or \"clamped\"".to_owned()
            }
            Self::PressureEscapes { .. } => {
                "close the hole in `[shape]`, or take a load that a part with a hole can bear, such as kind = \"ring\" or \"flat\""
                    .to_owned()
            }
            Self::LiftsOff { inverted, .. } => format!(
                "weight counts along the axis from the natural pole towards the plane of the rim: on a table the {} part needs {}; or hold it with rim kind = \"ring\"",
                if *inverted { "inverted" } else { "natural" },
                if *inverted { "0 or less" } else { "0 or more" }
            ),
        }
    }
}
