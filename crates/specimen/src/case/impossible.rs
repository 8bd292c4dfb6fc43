//! Why no part has the numbers given.

use std::fmt;

use super::heat_fault::HeatFault;
use super::load_fault::LoadFault;
use super::motion_fault::MotionFault;
use crate::{CornersFault, FitFailure};

/// A combination of numbers that no part can have. SI values.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Impossible {
    /// A number outside the range that its key allows.
    OutOfRange {
        /// Key in the case file.
        key: String,
        /// The value.
        value: f64,
        /// What is allowed, in words.
        allowed: &'static str,
    },
    /// The half-angle lies outside 0 to 180 degrees, or not beyond the hole.
    HalfAngle {
        /// Half-angle, rad.
        half_angle: f64,
    },
    /// The rim diameter exceeds the sphere's.
    RimWiderThanSphere {
        /// Rim diameter, m.
        rim_diameter: f64,
        /// Sphere radius, m.
        radius: f64,
    },
    /// The rise reaches the sphere's diameter.
    RiseBeyondSphere {
        /// Rise, m.
        rise: f64,
        /// Sphere radius, m.
        radius: f64,
    },
    /// The arc from pole to rim reaches half the sphere's circumference.
    ArcBeyondSphere {
        /// Arc length, m.
        arc_length: f64,
        /// Sphere radius, m.
        radius: f64,
    },
    /// The arc from pole to rim is no longer than the rim radius.
    ArcTooShort {
        /// Arc length, m.
        arc_length: f64,
        /// Rim diameter, m.
        rim_diameter: f64,
    },
    /// The rise exceeds 0.7246 of the arc length, the most a cap of a sphere has.
    RiseBeyondArc {
        /// Rise, m.
        rise: f64,
        /// Arc length, m.
        arc_length: f64,
    },
    /// One size given as both.
    SameSizeTwice,
    /// The pole hole is as wide as the sphere or reaches the rim.
    HoleBeyondRim {
        /// Hole diameter, m.
        hole_diameter: f64,
        /// Largest diameter it may not reach, m.
        limit: f64,
    },
    /// Half the thickness reaches the radius of curvature.
    WallTooThick {
        /// Thickness, m.
        thickness: f64,
        /// Smallest radius of curvature of the mid-surface, m.
        radius: f64,
    },
    /// A thickness of the table is not positive.
    ThinTable {
        /// Row, from 1.
        row: usize,
        /// Thickness, m.
        thickness: f64,
    },
    /// The thickness table covers nothing of the meridian.
    EmptyTable,
    /// A complete sphere has neither a rim circle nor a hole.
    ClosedSphere,
    /// No meridian runs through the corners.
    Corners {
        /// Why.
        fault: CornersFault,
        /// Entry of the lists to look at.
        key: String,
    },
    /// No curve fits the measured points.
    Profile(FitFailure),
    /// The load cannot act on the part.
    Load(LoadFault),
    /// Temperatures do not go together.
    Heat(HeatFault),
    /// Memory and surroundings do not go together.
    Motion(MotionFault),
    /// The case has no input of this number.
    NoSuchInput {
        /// Number asked for, from 0.
        input: usize,
        /// Inputs there are.
        count: usize,
    },
    /// A depth that is not positive and finite.
    Depth {
        /// Depth asked for.
        depth: f64,
    },
}

/// A length in millimetres, four digits.
pub(super) fn mm(x: f64) -> String {
    calotte_quantity::find_unit("mm", calotte_quantity::Dimension::Length)
        .map_or_else(String::new, |u| calotte_quantity::show(x, None, u))
}

impl fmt::Display for Impossible {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange { key, allowed, .. } => write!(f, "`{key}` must be {allowed}"),
            Self::HalfAngle { half_angle } => {
                let degrees = half_angle.to_degrees();
                write!(f, "a half-angle of {degrees:.4} deg: it must lie between the hole (or 0) and 180 deg")
            }
            Self::RimWiderThanSphere { rim_diameter, radius } => write!(
                f,
                "the rim ({}) is wider than the sphere (diameter {})",
                mm(*rim_diameter),
                mm(2.0 * radius)
            ),
            Self::RiseBeyondSphere { rise, radius } => {
                write!(
                    f,
                    "the rise ({}) reaches the diameter of the sphere ({})",
                    mm(*rise),
                    mm(2.0 * radius)
                )
            }
            Self::ArcBeyondSphere { arc_length, radius } => write!(
                f,
                "the arc length ({}) reaches the far pole of the sphere ({})",
                mm(*arc_length),
                mm(std::f64::consts::PI * radius)
            ),
            Self::ArcTooShort { arc_length, rim_diameter } => write!(
                f,
                "the arc from pole to rim ({}) is no longer than the rim radius ({})",
                mm(*arc_length),
                mm(0.5 * rim_diameter)
            ),
            Self::RiseBeyondArc { rise, arc_length } => write!(
                f,
                "the rise ({}) is more than 0.7246 of the arc length ({}), the most a cap of a sphere has",
                mm(*rise),
                mm(*arc_length)
            ),
            Self::SameSizeTwice => f.write_str("one size is given twice"),
            Self::HoleBeyondRim { hole_diameter, limit } => {
                write!(f, "the hole ({}) reaches the rim or the equator ({})", mm(*hole_diameter), mm(*limit))
            }
            Self::WallTooThick { thickness, radius } => write!(
                f,
                "the wall ({}) is too thick for the mid-surface's radius of curvature ({}): its inner face would pass the centre",
                mm(*thickness),
                mm(*radius)
            ),
            Self::ThinTable { row, thickness } => {
                write!(f, "thickness {} in row {row} of the table: it must be positive", mm(*thickness))
            }
            Self::EmptyTable => f.write_str("the thickness table covers nothing of the meridian"),
            Self::ClosedSphere => {
                f.write_str("a half-angle of 180 deg is a complete sphere: it has no hole and no rim circle")
            }
            Self::Corners { fault, .. } => fault.fmt(f),
            Self::Profile(failure) => failure.fmt(f),
            Self::Load(fault) => fault.fmt(f),
            Self::Heat(fault) => fault.fmt(f),
            Self::Motion(fault) => fault.fmt(f),
            Self::NoSuchInput { input, count } => {
                write!(f, "there is no input {input}; the case has {count}")
            }
            Self::Depth { depth } => write!(f, "a depth of {depth} is not positive and finite"),
        }
    }
}

impl std::error::Error for Impossible {}

impl From<LoadFault> for Impossible {
    fn from(fault: LoadFault) -> Self {
        Self::Load(fault)
    }
}

impl From<HeatFault> for Impossible {
    fn from(fault: HeatFault) -> Self {
        Self::Heat(fault)
    }
}

impl From<MotionFault> for Impossible {
    fn from(fault: MotionFault) -> Self {
        Self::Motion(fault)
    }
}

impl Impossible {
    /// Keys of the case file to look at, the likeliest first.
    pub fn keys(&self) -> Vec<&str> {
        match self {
            Self::OutOfRange { key, .. } => vec![key],
            Self::HalfAngle { .. } => vec!["shape.half_angle"],
            Self::RimWiderThanSphere { .. } => vec!["shape.rim_diameter", "shape.radius"],
            Self::RiseBeyondSphere { .. } => vec!["shape.rise", "shape.radius"],
            Self::ArcBeyondSphere { .. } => vec!["shape.arc_length", "shape.radius"],
            Self::ArcTooShort { .. } => vec!["shape.arc_length", "shape.rim_diameter"],
            Self::RiseBeyondArc { .. } => vec!["shape.rise", "shape.arc_length"],
            Self::SameSizeTwice => vec!["shape"],
            Self::HoleBeyondRim { .. } => vec!["shape.hole_diameter"],
            Self::WallTooThick { .. } | Self::ThinTable { .. } | Self::EmptyTable => {
                vec!["wall.thickness", "wall.table", "wall"]
            }
            Self::ClosedSphere => vec!["shape.rim_diameter", "shape.hole_diameter", "shape.half_angle"],
            Self::Corners { key, .. } => vec![key, key.split('[').next().unwrap_or(key), "shape"],
            Self::Profile(_) => vec!["shape.file"],
            Self::Load(fault) => fault.keys(),
            Self::Heat(fault) => fault.keys(),
            Self::Motion(fault) => fault.keys(),
            Self::NoSuchInput { .. } | Self::Depth { .. } => vec![],
        }
    }

    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        let hint = match self {
            Self::Load(fault) => return Some(fault.hint()),
            Self::Heat(fault) => return Some(fault.hint()),
            Self::Motion(fault) => return Some(fault.hint()),
            Self::RimWiderThanSphere { .. } => "was a radius written for a diameter, or the other way round?",
            Self::RiseBeyondSphere { .. } => "the rise is the height from pole to rim plane",
            Self::ArcBeyondSphere { .. } | Self::ArcTooShort { .. } | Self::RiseBeyondArc { .. } => {
                "the arc length runs along the meridian from the pole to the rim, not from rim to rim"
            }
            Self::HoleBeyondRim { .. } => {
                "the hole must be smaller than the rim and lie this side of the equator"
            }
            Self::ClosedSphere => "give its radius or rise beside the half-angle, and no hole",
            Self::Corners { fault, .. } => fault.hint(),
            Self::WallTooThick { .. } => "check the unit of the thickness, and whether a radius was meant",
            Self::Profile(FitFailure::NoRise { .. }) => {
                "list the points from the pole (or the hole's edge) to the rim; a flat part is no cap"
            }
            _ => return None,
        };
        Some(hint.to_owned())
    }
}
