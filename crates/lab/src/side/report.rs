//! What a side view says, as data: SI units in the keys.

use serde::Serialize;

use super::lip::Lip;

/// A number with its standard error; 95 of 100 such intervals value ± 1.96 errors hold the truth where the model is right.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// The number.
    pub value: f64,
    /// Its standard error, in the same unit.
    #[serde(rename = "standard_error")]
    pub sd: f64,
}

/// A side view measured. Points of the picture in px: column from the left, row from the top, from 0 at the centre of the first pixel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SideReport {
    /// Version of the layout.
    pub schema_version: u32,
    /// `natural` or `inverted`.
    pub view: &'static str,
    /// `whole` or `section`.
    pub kind: &'static str,
    /// `sphere` or `free form`: which of the two describes the outline.
    pub shape: &'static str,
    /// Why.
    pub shape_why: String,
    /// The picture.
    pub picture: PictureReport,
    /// The scale.
    pub scale: ScaleReport,
    /// How the part stands in the picture.
    pub stance: Stance,
    /// The cap of a sphere; of a natural part.
    pub sphere: Option<SphereReport>,
    /// The smooth meridian of the outer face.
    pub free_form: FreeForm,
    /// The wall, where both faces or the cut rim are seen.
    pub wall: Option<WallReport>,
    /// The lip of an inverted part.
    pub lip: Option<Lip>,
    /// Beside a computed shape.
    pub comparison: Option<Comparison>,
    /// The edges of the meridian's outline, from the left rim over the pole to the right rim.
    pub points: Vec<Point>,
    /// Errors that one picture cannot show, with their sizes where a camera distance is given.
    pub unseen: Vec<String>,
    /// What makes the whole doubtful.
    pub doubts: Vec<String>,
    /// What should be known.
    pub warnings: Vec<String>,
}

/// The picture and the edges in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PictureReport {
    /// Columns.
    pub width_px: usize,
    /// Rows.
    pub height_px: usize,
    /// `dark on light` or `light on dark`.
    pub part: &'static str,
    /// Blur of the edges (standard deviation of a Gaussian).
    pub blur_px: f64,
    /// Noise of a pixel over the step of the edges.
    pub noise_share: f64,
    /// Step of the edges, white being 1.
    pub contrast: f64,
    /// Edges used.
    pub edges: usize,
    /// Places of the outline without a clean edge.
    pub missed: usize,
    /// Edges left out as wild.
    pub wild: usize,
}

/// The scale.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScaleReport {
    /// Pixels on a metre.
    pub pixels_per_m: Measured,
    /// Where it comes from.
    pub from: String,
}

/// How the part stands in the picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stance {
    /// Pole, px.
    pub pole_px: [f64; 2],
    /// Both ends of the rim (outer edge), px.
    pub rim_px: [[f64; 2]; 2],
    /// Turn of the axis from the picture's columns.
    pub tilt_rad: Measured,
    /// Height of the camera over the rim's plane, its magnitude, where the rim line tells.
    pub camera_rad: Option<Measured>,
    /// Root mean square of the left half's distance outward less the right's.
    pub asymmetry_rms_m: f64,
    /// The largest such difference.
    pub asymmetry_largest_m: f64,
}

/// The cap of a sphere through the outer face.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SphereReport {
    /// Radius of the outer face.
    pub radius_m: Measured,
    /// Angle from the axis to the rim.
    pub half_angle_rad: Measured,
    /// Diameter of the rim's outer edge.
    pub rim_diameter_m: Measured,
    /// Height from the pole to the plane of the rim's outer edge.
    pub rise_m: Measured,
    /// Centre, px.
    pub centre_px: [f64; 2],
    /// Root mean square distance of the edges from the arc.
    pub residual_rms_m: f64,
    /// χ² over its freedom, with the edges' own errors.
    pub reduced_chi2: f64,
    /// Factor on the variances because neighbouring errors go together.
    pub correlation_factor: f64,
}

/// The smooth meridian.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FreeForm {
    /// Spline intervals of the slope.
    pub intervals: usize,
    /// Arclength from pole to rim.
    pub arc_length_m: Measured,
    /// Diameter of the rim's outer edge.
    pub rim_diameter_m: Measured,
    /// Height of the rim over the pole.
    pub rise_m: Measured,
    /// Slope angle at the rim.
    pub rim_slope_rad: Measured,
    /// Radius of curvature at the pole.
    pub pole_radius_m: Measured,
    /// Root mean square distance of the edges from the curve.
    pub residual_rms_m: f64,
    /// χ² over its freedom, with the edges' own errors.
    pub reduced_chi2: f64,
    /// Factor on the variances because neighbouring errors go together.
    pub correlation_factor: f64,
}

/// The wall.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WallReport {
    /// `cut rim` or `both faces`.
    pub seen_at: &'static str,
    /// Mean thickness.
    pub thickness_m: Measured,
    /// Lean of the cut rim from the wall's normal, where it is told.
    pub rim_lean_rad: Option<Measured>,
    /// Thickness along the meridian of the outer face: arclength from the pole, thickness; of a section.
    pub along: Vec<WallPoint>,
}

/// Thickness at a place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WallPoint {
    /// Arclength from the pole on the outer face.
    pub arc_m: f64,
    /// Thickness there.
    pub thickness_m: Measured,
}

/// An edge of the meridian's outline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Point {
    /// Column.
    pub x_px: f64,
    /// Row.
    pub y_px: f64,
    /// Distance from the axis; negative on the left, seen with the rim above.
    pub r_m: f64,
    /// Height over the pole.
    pub z_m: f64,
    /// Standard error across the outline.
    pub standard_error_m: f64,
    /// Arclength from the pole on the smooth curve.
    pub arc_m: f64,
    /// Distance outward from the shape that was chosen.
    pub residual_m: f64,
    /// Distance outward from the sphere, where one was fitted and the edge was not wild.
    pub sphere_residual_m: Option<f64>,
}

/// A measured outline beside a computed one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// `natural` or `inverted`.
    pub state: String,
    /// χ² of the distances with the measurement's errors; height and (within its error) scale are free.
    pub chi2: f64,
    /// Its degrees of freedom, less for neighbours that err together.
    pub freedom: f64,
    /// Chance of a larger χ² if the outline were the computed one.
    pub chance: f64,
    /// Root mean square distance.
    pub distance_rms_m: f64,
    /// Largest distance outward from the computed outline, by magnitude.
    pub distance_largest_m: f64,
    /// Its distance from the axis.
    pub largest_at_r_m: f64,
    /// By how many of its standard errors the scale was moved.
    pub scale_moved: f64,
    /// `agrees`, `differs slightly` or `differs`.
    pub agreement: &'static str,
    /// In words.
    pub says: String,
    /// Computed outline `[r, z]` with the pole of the measured one at height 0.
    pub computed_m: Vec<[f64; 2]>,
    /// Distance of every edge outward from the computed outline, in the order of `points`.
    pub distances_m: Vec<f64>,
}
