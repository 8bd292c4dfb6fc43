//! The verdict as data: everything the program says about a part, in SI units, with evidence.
//! Key names carry the unit (`_m`, `_rad`, `_J`, `_Pa`, `_Hz`); keys without a suffix are pure numbers.

use serde::Serialize;

/// Version of the JSON layout below; raised when a key changes meaning or goes.
pub const SCHEMA_VERSION: u32 = 1;

/// The verdicts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// A stable inverted equilibrium exists.
    Stays,
    /// No inverted equilibrium, or only an unstable one.
    Returns,
    /// No elastic inverted equilibrium, but after the hold of the case the relaxed material holds the part a while.
    Waits,
    /// The evidence does not carry a verdict.
    Undecided,
}

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct VerdictReport {
    /// [`SCHEMA_VERSION`].
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// What will happen.
    pub verdict: Verdict,
    /// Why, in one or two sentences each; a student can follow them.
    pub explanation: Vec<String>,
    /// Reasons to doubt the verdict (empty when there are none).
    pub doubts: Vec<String>,
    /// Warnings that do not change the verdict (validity limits met, cautions).
    pub warnings: Vec<String>,
    /// The part as computed.
    pub part: PartSummary,
    /// How near the part is to the edge; `None` when no threshold was found.
    pub margin: Option<Margin>,
    /// The inverted equilibrium; `None` when there is none.
    pub inverted: Option<InvertedState>,
    /// Circumferential wave numbers examined at the inverted state.
    pub ripples: Vec<Ripple>,
    /// Why no ripple beyond the last one examined can be lost.
    pub ripple_bound: Option<String>,
    /// Path of an imposed eversion; only when no inverted equilibrium was found otherwise.
    pub eversion: Option<Eversion>,
    /// Branch of inverted states over thickness.
    pub branch: Branch,
    /// What the memory of the material does after the hold; `None` when the case has no memory.
    pub wait: Option<Wait>,
    /// Numerical evidence.
    pub evidence: Evidence,
}

/// What the memory of the material does after the hold.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Wait {
    /// How the part is turned and held, in sentences.
    pub protocol: Vec<String>,
    /// Share of the modulus lost at constant strain during the hold.
    pub loss: f64,
    /// Whether an inverted equilibrium exists when the hand lets go; `None` when that is not known.
    pub rests: Option<bool>,
    /// How long that equilibrium lasts, without inertia; `None` when there is none or it lasts for ever.
    pub wait_s: Option<f64>,
    /// The band of pseudo-bistability: walls thicker than this do not stay …
    pub band_from_m: Option<f64>,
    /// … and walls up to this thickness rest a while, after a hold of the exact mirror image as long as that of the case.
    pub band_to_m: Option<f64>,
    /// The same after a hold so long that the material has relaxed wholly.
    pub band_at_most_m: Option<f64>,
}

/// The part in numbers.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct PartSummary {
    /// "cap of a sphere", "measured meridian", …
    pub shape: String,
    /// Sphere radius R, or the radius of the sphere through pole and rim of a measured meridian.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub sphere_radius_m: f64,
    /// Half-angle α of that sphere at the rim.
    pub half_angle_rad: f64,
    /// Rim radius a of the natural mid-surface.
    pub rim_radius_m: f64,
    /// Rise H of the natural mid-surface, pole (or hole edge plane of the completed surface) to rim.
    pub rise_m: f64,
    /// Arclength of the meridian from pole (or hole edge) to rim.
    pub arc_length_m: f64,
    /// Radius of the pole hole, 0 for none.
    pub hole_radius_m: f64,
    /// Thickness at the rim.
    pub thickness_m: f64,
    /// Thickness over sphere radius.
    pub thickness_ratio: f64,
    /// Shallowness λ = [12(1−ν²)]^¼ ℓ/√(Rh), ℓ the arclength from pole to rim.
    pub lambda: f64,
    /// Young's modulus.
    pub youngs_modulus_Pa: f64,
    /// Poisson ratio.
    pub poisson_ratio: f64,
    /// Density, when given.
    pub density_kg_per_m3: Option<f64>,
    /// How the rim is held.
    pub rim: String,
    /// Whether the wall is uniform.
    pub uniform_wall: bool,
    /// Natural meridian, sampled.
    pub meridian: SampledMeridian,
}

/// Columns of a sampled meridian; all of one length, s increasing from pole to rim.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SampledMeridian {
    /// Arclength of the natural meridian.
    pub s_m: Vec<f64>,
    /// Radius.
    pub r_m: Vec<f64>,
    /// Height; the natural pole is at 0 and the natural rim above it.
    pub z_m: Vec<f64>,
    /// Slope angle φ (tan φ = dz/dr).
    pub slope_rad: Vec<f64>,
    /// Wall thickness.
    pub thickness_m: Vec<f64>,
}

/// Distance to the threshold.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Margin {
    /// What is lost at the threshold: 0 the axisymmetric state (fold), n ≥ 1 a ripple.
    pub governing_n: u32,
    /// Threshold thickness h* at the rim, at the depth of the part.
    pub threshold_thickness_m: f64,
    /// h/h*: below 1 the part stays.
    pub thickness_ratio: f64,
    /// λ/λ*: above 1 the part stays.
    pub lambda_ratio: f64,
    /// λ*.
    pub threshold_lambda: f64,
    /// Threshold depth at the thickness of the part; `None` when it was not found (say why in `depth_note`).
    pub depth: Option<DepthMargin>,
    /// Why there is no depth margin, or how depth was changed.
    pub depth_note: String,
    /// First-order spread from the tolerances in the case; `None` when the case has none.
    pub spread: Option<Spread>,
    /// Share of the margin that each input moves.
    pub sensitivities: Vec<Sensitivity>,
}

/// Threshold of depth.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct DepthMargin {
    /// Half-angle at threshold (spherical caps; radius and hole kept).
    pub threshold_half_angle_rad: Option<f64>,
    /// Rise at threshold.
    pub threshold_rise_m: f64,
    /// Rise over rise at threshold: above 1 the part stays.
    pub rise_ratio: f64,
}

/// First-order propagation of tolerances.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "VerdictSpread"))]
pub struct Spread {
    /// Half-width of h/h*, root sum of squares, same coverage as the tolerances.
    pub thickness_ratio_half_width: f64,
    /// Lower end of h/h*.
    pub thickness_ratio_low: f64,
    /// Upper end of h/h*.
    pub thickness_ratio_high: f64,
    /// Whether the interval contains 1: the batch will be mixed.
    pub crosses_threshold: bool,
}

/// One input's effect on h/h*.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Sensitivity {
    /// Case file key, e.g. `wall.thickness`.
    pub input: String,
    /// d ln(h/h*) / d ln(input); `None` when the input is 0.
    pub relative_slope: Option<f64>,
    /// d(h/h*) per SI unit of the input.
    pub slope_per_si: f64,
    /// Half-width of h/h* caused by this input's tolerance alone.
    pub half_width: f64,
}

/// The inverted equilibrium.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct InvertedState {
    /// |pole height − rim height| (hole edge instead of the pole when there is a hole).
    pub pole_height_m: f64,
    /// Rim radius.
    pub rim_radius_m: f64,
    /// Rim slope angle φ; the natural one is positive, the mirror image's negative.
    pub rim_slope_rad: f64,
    /// Lip: arc distance from the rim to the first point where the meridian's curvature changes sign;
    /// `None` when it changes nowhere (a rim that is held).
    pub lip_width_m: Option<f64>,
    /// Lip width over √(Rh).
    pub lip_width_over_root_Rh: Option<f64>,
    /// Every arclength (from the pole) at which dφ/ds changes sign.
    pub curvature_sign_changes_m: Vec<f64>,
    /// Stretching energy.
    pub stretching_energy_J: f64,
    /// Bending energy.
    pub bending_energy_J: f64,
    /// Energy of the rim springs (elastic rim), 0 otherwise.
    pub rim_energy_J: f64,
    /// Energy of the saddle on the axisymmetric path, when it was reached.
    pub saddle_energy_J: Option<f64>,
    /// Saddle minus inverted energy.
    pub barrier_J: Option<f64>,
    /// Strains.
    pub strains: Strains,
    /// Against the perfect mirror image.
    pub mirror: MirrorComparison,
    /// The deformed meridian.
    pub meridian: SampledMeridian,
    /// Energy along the arc.
    pub energy: EnergyAlongArc,
    /// The saddle's meridian at the thickness of the part, when it was reached.
    pub saddle_meridian: Option<SampledMeridian>,
}

/// Extreme strains (Biot), over the meridian and through the wall.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Strains {
    /// Meridional mid-surface strain at the rim.
    pub rim_meridional: f64,
    /// Hoop mid-surface strain at the rim.
    pub rim_hoop: f64,
    /// Largest magnitude of mid-surface strain.
    pub largest_membrane: f64,
    /// Largest magnitude of bending strain h|κ|/2.
    pub largest_bending: f64,
    /// Largest magnitude of the sum at either face.
    pub largest_surface: f64,
    /// Arclength where the largest surface strain sits.
    pub largest_surface_at_m: f64,
}

/// What the real inverted shape adds to the mirror image.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct MirrorComparison {
    /// Energy of the perfect mirror image (all bending for a free cap).
    pub energy_J: f64,
    /// Total inverted energy over mirror energy.
    pub energy_ratio: f64,
    /// Rim slope minus the mirror image's.
    pub rim_slope_change_rad: f64,
    /// Rim radius minus the natural one.
    pub rim_radius_change_m: f64,
    /// Pole-to-rim height over the natural rise.
    pub height_ratio: f64,
}

/// Energy per unit natural area along the arc, J/m².
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct EnergyAlongArc {
    /// Arclength.
    pub s_m: Vec<f64>,
    /// Stretching.
    pub stretching_J_per_m2: Vec<f64>,
    /// Bending.
    pub bending_J_per_m2: Vec<f64>,
}

/// One wave number at the inverted state.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Ripple {
    /// Circumferential wave number; 0 is axisymmetric.
    pub n: u32,
    /// Negative eigenvalues of the second variation (exact count by inertia).
    pub negative: usize,
    /// Rigid motions left out.
    pub rigid: usize,
    /// Smallest eigenvalue of K x = Ω² M x with Ω = ω ℓ² √(ρh/D) (ℓ arclength, h and D at the rim).
    #[cfg_attr(test, ts(type = "number | null"))]
    pub smallest_eigenvalue: f64,
    /// Relative residual of that eigenpair.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub residual: f64,
    /// Frequency when a density is given and the eigenvalue is positive.
    pub frequency_Hz: Option<f64>,
}

/// Branch of inverted equilibria over a common factor on the thickness.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "VerdictBranch"))]
pub struct Branch {
    /// Points from the thinnest along the stable branch, round the fold and back along the saddles.
    pub points: Vec<BranchPoint>,
    /// Index of the fold among the points.
    pub fold: Option<usize>,
}

/// One equilibrium of the branch.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BranchPoint {
    /// Thickness at the rim.
    pub thickness_m: f64,
    /// |pole − rim| height.
    pub pole_height_m: f64,
    /// Rim slope.
    pub rim_slope_rad: f64,
    /// Elastic energy.
    pub energy_J: f64,
    /// Negative eigenvalues, axisymmetric.
    pub negative: usize,
}

/// The force that turns the part inside out by its pole (or hole edge), axisymmetrically.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Eversion {
    /// Whether the path was followed past the mirror image.
    pub completed: bool,
    /// Whether a stable inverted equilibrium was met.
    pub inverted_found: bool,
    /// Largest force on the way.
    pub largest_force_N: f64,
    /// Least force after the first peak: above zero, nothing holds the part inverted. `None` when the force
    /// has no peak: it rises all the way.
    pub least_force_N: Option<f64>,
    /// Travel of the inner end at that force.
    pub least_force_at_travel_m: Option<f64>,
    /// Equilibria computed on the finer of two meshes.
    pub points: usize,
    /// Relative difference of the least (without a peak, the largest) force between the meshes.
    pub mesh_difference: Option<f64>,
}

/// Numerical evidence.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "VerdictEvidence"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Evidence {
    /// Largest out-of-balance force over the largest internal force, finer mesh.
    pub residual: Option<f64>,
    /// Elements of the coarser mesh.
    pub elements_coarse: usize,
    /// Elements of the finer mesh.
    pub elements_fine: usize,
    /// Relative difference of the threshold thickness between the meshes.
    pub threshold_difference: Option<f64>,
    /// Relative difference of the inverted energy between the meshes.
    pub energy_difference: Option<f64>,
    /// Relative difference of the softest ripple's eigenvalue (n ≥ 1) between the meshes; the table of
    /// ripples is from the coarser.
    pub ripple_difference: Option<f64>,
    /// Fold bracket: relative half-width of thickness around h*, from inertia at both sides.
    pub fold_bracket: Option<f64>,
    /// Residual of the extended system at the fold.
    pub fold_residual: Option<f64>,
    /// Validity limits: each with its value and whether it was met.
    pub limits: Vec<Limit>,
    /// Work done.
    pub work: Work,
}

/// A validity limit.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Limit {
    /// What is limited.
    pub name: String,
    /// Value found.
    pub value: f64,
    /// Limit.
    pub limit: f64,
    /// Whether the value keeps within.
    pub met: bool,
    /// What follows when it does not.
    pub consequence: String,
}

/// Work counters.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Work {
    /// Evaluations of energy alone.
    pub energies: u64,
    /// Assemblies of gradient and tangent.
    pub assemblies: u64,
    /// Exact directional derivatives.
    pub directionals: u64,
    /// Factorisations of a band.
    pub factorisations: u64,
    /// Solves with a factor.
    pub solves: u64,
}

impl From<calotte_solve::Work> for Work {
    fn from(w: calotte_solve::Work) -> Self {
        Self {
            energies: w.energies,
            assemblies: w.assemblies,
            directionals: w.directionals,
            factorisations: w.factorisations,
            solves: w.solves,
        }
    }
}

impl From<Work> for calotte_solve::Work {
    fn from(w: Work) -> Self {
        Self {
            energies: w.energies,
            assemblies: w.assemblies,
            directionals: w.directionals,
            factorisations: w.factorisations,
            solves: w.solves,
        }
    }
}
