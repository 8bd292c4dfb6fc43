//! Why a picture cannot be measured, and what would be right.

use std::fmt;

use calotte_specimen::FitFailure;

use super::BadScale;

/// Why there is no measurement.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// The scale.
    Scale(BadScale),
    /// A point of the scale lies outside the picture.
    ScaleOutside {
        /// The point, px.
        at: [f64; 2],
        /// Columns and rows of the picture.
        size: [usize; 2],
    },
    /// The box to look in is empty or leaves the picture.
    Crop {
        /// x, y, width, height.
        crop: [f64; 4],
        /// Columns and rows of the picture.
        size: [usize; 2],
    },
    /// Nothing stands out from the background.
    NoPart {
        /// Share of the variance of grey values that a split in two explains.
        explained: f64,
    },
    /// What stands out is too small to be measured.
    Tiny {
        /// Its width and height, px.
        size: [f64; 2],
    },
    /// The part runs out of the picture (or of the box).
    Cut {
        /// Where, px.
        at: [f64; 2],
    },
    /// The outline has no arc between two corners of a rim.
    NoArc {
        /// Middle of what was looked at, px.
        at: [f64; 2],
        /// Corners found, px.
        corners: Vec<[f64; 2]>,
    },
    /// A section was asked for, but no inner wall is seen.
    NoInner,
    /// The fit of the outline did not settle.
    Unsettled {
        /// Which.
        what: &'static str,
    },
    /// The smooth meridian.
    Meridian(FitFailure),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Scale(e) => e.fmt(f),
            Self::ScaleOutside { at, size } => write!(
                f,
                "the point ({}, {}) of the scale lies outside the picture of {} × {} pixels",
                at[0], at[1], size[0], size[1]
            ),
            Self::Crop { crop, size } => write!(
                f,
                "the box {},{},{},{} does not lie in the picture of {} × {} pixels",
                crop[0], crop[1], crop[2], crop[3], size[0], size[1]
            ),
            Self::NoPart { explained } => write!(
                f,
                "no part stands out from the background (two levels of grey explain {:.0} % of the picture)",
                100.0 * explained
            ),
            Self::Tiny { size } => {
                write!(f, "the largest thing in the picture is only {:.0} × {:.0} pixels", size[0], size[1])
            }
            Self::Cut { at } => {
                write!(f, "the part is cut by the edge of the picture near ({:.0}, {:.0})", at[0], at[1])
            }
            Self::NoArc { at, corners } => {
                let places: Vec<String> =
                    corners.iter().take(8).map(|c| format!("({:.0}, {:.0})", c[0], c[1])).collect();
                let seen = if places.is_empty() {
                    "no corner".to_owned()
                } else {
                    format!("corners at {}", places.join(", "))
                };
                write!(
                    f,
                    "the outline about ({:.0}, {:.0}) is no arc between the two ends of a rim ({seen})",
                    at[0], at[1]
                )
            }
            Self::NoInner => write!(f, "no inner wall is seen in the section"),
            Self::Unsettled { what } => write!(f, "the fit of the {what} did not settle"),
            Self::Meridian(e) => write!(f, "no meridian: {e}"),
        }
    }
}

impl Fault {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::Scale(e) => e.hint(),
            Self::ScaleOutside { .. } => "columns count from the left and rows from the top, from 0".into(),
            Self::Crop { .. } => "write x,y,width,height in pixels from the upper left corner".into(),
            Self::NoPart { .. } => {
                "photograph against a bright, even background (or light on dark), or choose the part with `--crop`".into()
            }
            Self::Tiny { .. } => "the part should fill half of the picture's width: go nearer or crop less".into(),
            Self::Cut { .. } => {
                "leave a margin of background around the part, or choose a box with `--crop` that holds all of it".into()
            }
            Self::NoArc { .. } => {
                "show the part from the side, rim edge-on, held from the rim's side; choose it alone with `--crop`".into()
            }
            Self::NoInner => "leave `--section` out for a whole part; the cut face must differ from its background".into(),
            Self::Unsettled { .. } | Self::Meridian(_) => "choose the part alone with `--crop`; clean dust and reflections; hold a part that stands on a table on a stick, or take a larger picture".into(),
        }
    }
}
