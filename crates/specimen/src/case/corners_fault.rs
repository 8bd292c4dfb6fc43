//! What is said when corners make no meridian.

use super::impossible::mm;
use crate::CornersFault;

impl std::fmt::Display for CornersFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooFew => f.write_str("a meridian needs at least two corners"),
            Self::OffSide { corner } => {
                write!(f, "corner {corner} lies on the axis or beyond it; only the first may lie on it")
            }
            Self::Coincide { corner } => write!(f, "corners {corner} and {} are one place", corner + 1),
            Self::ArcTooSmall { corner, least } => write!(
                f,
                "the arc from corner {corner} to {} is too small for the way between them: at least {}",
                corner + 1,
                mm(*least)
            ),
            Self::FilletTooLarge { corner, most } => {
                write!(
                    f,
                    "the rounding of corner {corner} does not fit between its neighbours: at most {}",
                    mm(*most)
                )
            }
            Self::FilletAtArc { corner } => {
                write!(f, "corner {corner} lies at the end of an arc and cannot be rounded")
            }
            Self::TurnsBack { corner } => write!(f, "the meridian turns back on itself at corner {corner}"),
            Self::Crosses { pieces: [one, other] } if one == other => {
                write!(f, "piece {one} of the meridian reaches the axis on its way")
            }
            Self::Crosses { pieces: [one, other] } => {
                write!(f, "pieces {one} and {other} of the meridian cross or touch")
            }
            Self::PoleSlope { slope } => write!(
                f,
                "the meridian leaves the axis at {:.4} deg; at a pole it must leave square",
                slope.to_degrees()
            ),
        }
    }
}

impl std::error::Error for CornersFault {}

impl CornersFault {
    /// What to do about it.
    pub(super) fn hint(&self) -> &'static str {
        match self {
            Self::TooFew => {
                "list the corners from the inner end to the rim: `r = [\"0 mm\", \"10 mm\"]`, `z = [\"0 mm\", \"0 mm\"]`"
            }
            Self::OffSide { .. } => "list the corners from the inner end to the rim, r from the axis",
            Self::Coincide { .. } => "remove one of them",
            Self::ArcTooSmall { .. } => "an arc spans at most half a circle; 0 makes the piece straight",
            Self::FilletTooLarge { .. } => "roundings on both ends of a piece share its length",
            Self::FilletAtArc { .. } => {
                "give the roundings as a list with 0 there; a rounding beside an arc is a piece of its own"
            }
            Self::TurnsBack { .. } => "look at the order of the corners",
            Self::Crosses { .. } => "look at the order of the corners and at the signs of the arcs",
            Self::PoleSlope { .. } => {
                "make the first two heights equal, or the first piece an arc; or begin at the edge of a hole"
            }
        }
    }

    /// The entry of the lists to look at. `one_fillet`: one rounding is given for all corners.
    pub(super) fn key(&self, one_fillet: bool) -> String {
        match self {
            Self::TooFew => "shape.r".to_owned(),
            Self::OffSide { corner } | Self::TurnsBack { corner } => format!("shape.r[{corner}]"),
            Self::Coincide { corner } => format!("shape.r[{}]", corner + 1),
            Self::ArcTooSmall { corner, .. } => format!("shape.arc[{corner}]"),
            Self::FilletTooLarge { .. } | Self::FilletAtArc { .. } if one_fillet => "shape.fillet".to_owned(),
            Self::FilletTooLarge { corner, .. } | Self::FilletAtArc { corner } => {
                format!("shape.fillet[{corner}]")
            }
            Self::Crosses { pieces: [_, later] } => format!("shape.r[{}]", later + 1),
            Self::PoleSlope { .. } => "shape.z[2]".to_owned(),
        }
    }
}
