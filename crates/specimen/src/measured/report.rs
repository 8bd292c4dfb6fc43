//! What goes into a fit and what comes out of it.

/// Measured points of a meridian, from the pole (or the hole's edge) to the rim.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfilePoints {
    /// `[r, z]`, m; the rim above the pole.
    pub points: Vec<[f64; 2]>,
    /// Standard deviation of a point's position, in each direction, m.
    pub position_sd: f64,
    /// Whether the first point is the edge of a pole hole.
    pub hole: bool,
}

/// How well a curve fits its points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitReport {
    /// Points used.
    pub points: usize,
    /// Spline intervals.
    pub intervals: usize,
    /// Root mean square distance of the points from the curve, m.
    pub rms_m: f64,
    /// Largest distance, m.
    pub largest_m: f64,
    /// Index of the point at that distance.
    pub largest_at: usize,
    /// Sum of squared residuals over the variance, per degree of freedom: near 1 when the stated sd is right.
    pub reduced_chi2: f64,
    /// Standard deviation of the fitted slope at the rim (a sphere's half-angle), for the stated position sd, rad.
    pub rim_slope_sd: f64,
    /// First point whose foot on the curve lies more than 6 sd behind an earlier one's.
    pub out_of_order: Option<usize>,
}

/// Why no curve was fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum FitFailure {
    /// Fewer points than the curve needs.
    TooFewPoints {
        /// Points given.
        points: usize,
        /// Points needed.
        needed: usize,
    },
    /// Rim and pole lie at the same height, within three standard deviations or a thousandth of the rim radius.
    NoRise {
        /// Height of the last point above the first, m.
        rise: f64,
    },
    /// The steps did not settle.
    NotConverged {
        /// Root mean square distance reached, m.
        rms_m: f64,
    },
}

impl std::fmt::Display for FitFailure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooFewPoints { points, needed } => write!(f, "{points} points; the curve needs {needed}"),
            Self::NoRise { rise } => {
                write!(f, "the profile rises only {:.3} mm from pole to rim", rise * 1e3)
            }
            Self::NotConverged { rms_m } => {
                write!(f, "no smooth curve settles on these points (rms distance {:.3} mm)", rms_m * 1e3)
            }
        }
    }
}

impl std::error::Error for FitFailure {}
