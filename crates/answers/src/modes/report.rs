//! Natural frequencies and buckling pressures as data, in SI units, with evidence.

use serde::Serialize;

use crate::report::{Limit, PartSummary, Work};

/// Whether the evidence carries the answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ModesOutcome"))]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// Every number stated is certified.
    Answered,
    /// There are doubts; they say why.
    Undecided,
}

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ModesReport {
    /// Version of the layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// Whether the evidence carries it.
    pub outcome: Outcome,
    /// The state about which it vibrates: `natural` or `inverted`.
    pub state: String,
    /// What was found, in sentences.
    pub explanation: Vec<String>,
    /// Reasons to doubt (empty when there are none).
    pub doubts: Vec<String>,
    /// Warnings that do not change the answer.
    pub warnings: Vec<String>,
    /// What the model leaves out.
    pub beyond: Vec<String>,
    /// The part as computed.
    pub part: PartSummary,
    /// Units of the pure numbers.
    pub units: Units,
    /// Every mode computed, by n, then by frequency.
    pub modes: Vec<Mode>,
    /// Places in `modes` of the lowest frequencies of all n, rising: none below the last of them is missing.
    pub lowest: Vec<usize>,
    /// Motions that cost nothing.
    pub rigid: Vec<Rigid>,
    /// How far n went, and why no further.
    pub search: Search,
    /// Meridian of the state.
    pub meridian: Place,
    /// Pressures at which the forms are lost; `None` when not asked for.
    pub pressure: Option<Pressure>,
    /// Numerical evidence.
    pub evidence: Evidence,
}

/// Units of the pure numbers.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ModesUnits"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Units {
    /// The length unit R: radius of the sphere for part of one, the largest radius of the meridian otherwise.
    pub length_m: f64,
    /// √(E/ρ)/(2πR): the frequency of a mode with ω² = 1; `None` without a density.
    pub frequency_Hz: Option<f64>,
    /// Factor from ω² to Ω², `Ω = ω a² √(ρh/D)` with a the largest radius of the meridian; `None` unless the wall is uniform.
    pub plate_factor: Option<f64>,
}

/// What moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ModeKind"))]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Most of the elastic energy bends the wall.
    Bending,
    /// Most of it stretches the wall.
    Stretching,
    /// n = 0, around the axis alone.
    Torsion,
}

impl Kind {
    /// The word in the JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::Bending => "bending",
            Self::Stretching => "stretching",
            Self::Torsion => "torsion",
        }
    }
}

/// One mode (for n ≥ 1 a pair, turned by a quarter wave).
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Mode {
    /// Waves around the axis.
    pub n: u32,
    /// Place among the modes of this n, from 1.
    pub order: usize,
    /// Circles inside the wall, ends left out, on which the largest field (across the wall, along the meridian or around) changes sign.
    pub nodal_circles: usize,
    /// Arclengths of these circles.
    pub circles_at_m: Vec<f64>,
    /// Bending, stretching or torsion.
    pub kind: Kind,
    /// ω² over E/(ρR²); negative: the state is unstable.
    pub omega_squared: f64,
    /// Ω = ω a² √(ρh/D); `None` for a wall that varies, or an unstable mode.
    pub plate_parameter: Option<f64>,
    /// Frequency; `None` without a density, or for an unstable mode.
    pub frequency_Hz: Option<f64>,
    /// Share of bending in the elastic energy of the motion (second variation, supports left out).
    pub bending_share: f64,
    /// Share of the kinetic energy across the wall.
    pub normal_share: f64,
    /// Share of the kinetic energy around the axis.
    pub around_share: f64,
    /// Residual of the eigenpair, relative.
    pub residual: f64,
    /// Relative difference of ω² between the meshes; `None` when the coarser has no such mode.
    pub mesh_difference: Option<f64>,
    /// The motion; `None` but for the lowest of all n.
    pub shape: Option<Shape>,
}

/// A motion along the meridian, the largest displacement 1: across and along go as cos nθ, around as sin nθ.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ModeShape"))]
pub struct Shape {
    /// Across the wall, positive to the left of the meridian (the concave side of a bowl).
    pub across: Vec<f64>,
    /// Along the meridian, positive towards the rim.
    pub along: Vec<f64>,
    /// Around the axis.
    pub around: Vec<f64>,
}

/// Where the columns of shapes are taken.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ModesMeridian"))]
pub struct Place {
    /// Arclength from the pole or the inner end.
    pub s_m: Vec<f64>,
    /// Radius.
    pub r_m: Vec<f64>,
    /// Height.
    pub z_m: Vec<f64>,
    /// Slope.
    pub slope_rad: Vec<f64>,
}

/// Rigid motions of one n.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Rigid {
    /// Waves around the axis: 0 along and around the axis, 1 sideways and tilting.
    pub n: u32,
    /// How many.
    pub count: usize,
    /// Largest force that they cause over the largest entry of the stiffness: rounding.
    pub residual: f64,
}

/// How far the search went.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ModesSearch"))]
pub struct Search {
    /// Largest n whose modes were computed.
    pub largest_n: u32,
    /// Largest n whose modes below the last of `lowest` were counted (none beyond `largest_n`).
    pub counted_to_n: u32,
    /// Whether nothing is missing among the lowest.
    pub complete: bool,
    /// Why.
    pub reason: String,
}

/// Pressures at which the forms of n waves are lost.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Pressure {
    /// Which face is pressed: `outside` (the convex face of a bowl) or `inside`.
    pub face: String,
    /// 2E(h/R)²/√(3(1−ν²)) with the thickness at the rim and the length unit as R: of a complete sphere, classically.
    pub classical_Pa: f64,
    /// First loss of every n met, by n.
    pub losses: Vec<Loss>,
    /// Place in `losses` of the lowest pressure.
    pub first: Option<usize>,
    /// Largest pressure of the axisymmetric path; `None` when it has no limit up to where it was followed.
    pub axisymmetric_limit_Pa: Option<f64>,
    /// Relative difference of that limit between the meshes.
    pub limit_mesh_difference: Option<f64>,
    /// Up to where forms were examined.
    pub followed_to_Pa: f64,
    /// Why not further.
    pub ended: String,
    /// How it was found.
    pub method: String,
    /// Largest n examined.
    pub largest_n: u32,
    /// Equilibria on the way, finer mesh.
    pub points: usize,
}

/// The pressure at which the form of n waves is no longer positive.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Loss {
    /// Waves around the axis.
    pub n: u32,
    /// The pressure.
    pub pressure_Pa: f64,
    /// Over the classical pressure.
    pub ratio: f64,
    /// Relative width of the bracket; counts differ at its ends.
    pub bracket: f64,
    /// Relative difference between the meshes; `None` when the coarser does not lose this form.
    pub mesh_difference: Option<f64>,
    /// The motion that costs nothing there; `None` but for the lowest pressure, or when it could not be computed.
    pub shape: Option<Shape>,
}

/// Numerical evidence.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "ModesEvidence"))]
pub struct Evidence {
    /// Elements of the coarser mesh.
    pub elements_coarse: usize,
    /// Elements of the finer mesh.
    pub elements_fine: usize,
    /// Largest relative difference of ω² among the lowest modes.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub mesh_difference: f64,
    /// Largest residual of an eigenpair, relative.
    pub residual: f64,
    /// Whether counts confirm that no mode of any n computed is missing.
    pub certified: bool,
    /// Validity limits.
    pub limits: Vec<Limit>,
    /// Work done.
    pub work: Work,
}
