//! What trips a part, as data: the path, its events, trip and return, with evidence.
//!
//! Loads and displacements are SI; [`LoadSummary`] names their units, because they depend on the kind of load:
//! N and m for forces, Pa and m³ for pressure, N/m and m for a rim pull, m/s² and J·s²/m for weight. The product
//! of load and displacement is always an energy (per [`LoadSummary::work_factor`]).

use serde::Serialize;

use crate::report::{Limit, PartSummary, SampledMeridian, Work};

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct PokeReport {
    /// Version of the JSON layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// What happens under the way of driving that the case asks for.
    pub outcome: Outcome,
    /// Why, in sentences.
    pub explanation: Vec<String>,
    /// Reasons to doubt the outcome (empty when there are none).
    pub doubts: Vec<String>,
    /// Warnings and cautions.
    pub warnings: Vec<String>,
    /// What the axisymmetric model cannot say about this part.
    pub beyond: Vec<String>,
    /// The part as computed.
    pub part: PartSummary,
    /// The load as understood.
    pub load: LoadSummary,
    /// First instability when the load is set.
    pub by_load: Option<Trip>,
    /// First instability when the displacement is set.
    pub by_displacement: Option<Trip>,
    /// How the part comes back when the load is taken off again (load set).
    pub return_trip: Option<Return>,
    /// Snap ratios, when the load falls after its first peak.
    pub snap: Option<SnapRatios>,
    /// Work of a full cycle of push and return that is not given back, J; by driving.
    pub hysteresis: Hysteresis,
    /// Energy barriers out of the unloaded states and under load.
    pub barriers: Vec<Barrier>,
    /// Whether a stable unloaded state other than the one poked is found along the path.
    pub stays_afterwards: Option<bool>,
    /// The trade's own figures.
    pub trade: crate::poke::trade::Trade,
    /// Initial stiffness: load over displacement at the start of the path, SI.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub initial_stiffness_SI: f64,
    /// The path, in the order it is followed.
    pub path: Vec<PathRow>,
    /// Events along the path, in the order met.
    pub events: Vec<Event>,
    /// Evidence.
    pub evidence: PokeEvidence,
}

/// Outcome under the driving asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "PokeOutcome"))]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// It jumps.
    Trips,
    /// It goes over smoothly: no instability up to the travel followed.
    Follows,
    /// The evidence does not carry an answer.
    Undecided,
}

/// The load as understood.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct LoadSummary {
    /// `pole`, `ring`, `flat`, `ball`, `pusher`, `pressure`, `rim-displacement`, `rim-pull`, `gravity`.
    pub kind: String,
    /// In words, e.g. "rigid ball of radius 5 mm on the pole".
    pub words: String,
    /// `natural` or `inverted`.
    pub from: String,
    /// `load` or `displacement`.
    pub control: String,
    /// Unit of every `load_SI`.
    pub load_unit: String,
    /// Unit of every `displacement_SI`.
    pub displacement_unit: String,
    /// What the load is called: "force", "pressure", …
    pub load_name: String,
    /// What the displacement is called: "travel of the pole", "volume swept", …
    pub displacement_name: String,
    /// Work = factor · ∫ load d(displacement): 1, but the length of the natural rim for loads per length of rim.
    pub work_factor: f64,
    /// Travel at which a stop stands, m.
    pub stop_m: Option<f64>,
    /// Weight acting all the time, m/s².
    pub gravity_m_per_s2: f64,
}

/// One equilibrium of the path.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct PathRow {
    /// Load, positive along the push.
    pub load_SI: f64,
    /// Displacement that the load works on.
    pub displacement_SI: f64,
    /// Travel of the pole (or the edge of the hole) relative to the rim since the start, along the push, m.
    pub travel_m: f64,
    /// Elastic energy of the part, J (weight's potential not counted).
    pub energy_J: f64,
    /// Work done by the load since the start, J.
    pub work_J: f64,
    /// Unstable axisymmetric directions with the load set.
    pub unstable_load: usize,
    /// Unstable axisymmetric directions with the displacement set.
    pub unstable_displacement: usize,
    /// Wave numbers n ≥ 1 that have lost their stability here.
    pub unstable_n: Vec<u32>,
    /// Natural arclengths between which a pusher touches, m; `None` without one.
    pub contact_m: Option<[f64; 2]>,
    /// Axial force of the support on the rim against the push, N (negative: the rim is held down).
    pub rim_reaction_N: Option<f64>,
}

impl PathRow {
    /// Whether the state is stable against everything examined, with the load set.
    pub fn stable_by_load(&self) -> bool {
        self.unstable_load == 0 && self.unstable_n.is_empty()
    }

    /// The same with the displacement set.
    pub fn stable_by_displacement(&self) -> bool {
        self.unstable_displacement == 0 && self.unstable_n.is_empty()
    }
}

/// What an event is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "PokeEventKind"))]
#[serde(rename_all = "kebab-case")]
pub enum EventKind {
    /// The load has a maximum along the path.
    LoadPeak,
    /// The load has a minimum along the path.
    LoadValley,
    /// The displacement has a maximum along the path: with the displacement set, the part jumps.
    DisplacementLimit,
    /// The displacement has a minimum along the path.
    DisplacementReturn,
    /// A sideways mode with wave number `n` loses its stability.
    Sideways,
    /// A sideways mode with wave number `n` regains it.
    SidewaysRegained,
    /// The load passes zero: an equilibrium without it.
    NoLoad,
    /// The rim would have to be held down to stay on the table.
    RimLifts,
    /// The pole lifts off the pusher.
    PoleLiftsOff,
    /// The stop is met.
    Stop,
}

/// A place on the path where something happens, refined to the digits shown in `bracket`.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "PokeEvent"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Event {
    /// What happens.
    pub kind: EventKind,
    /// Wave number of a sideways event.
    pub n: Option<u32>,
    /// Last row of the path before it.
    pub after_row: usize,
    /// Load there.
    pub load_SI: f64,
    /// Displacement there.
    pub displacement_SI: f64,
    /// Travel of the pole, m.
    pub travel_m: f64,
    /// Elastic energy, J.
    pub energy_J: f64,
    /// Work of the load up to here, J.
    pub work_J: f64,
    /// Whether the path is stable just before, with the load set.
    pub stable_before_load: bool,
    /// The same with the displacement set.
    pub stable_before_displacement: bool,
    /// Half-width of the bracket proved by signs on both sides, relative to the load.
    pub bracket: f64,
    /// Relative difference of the load between two meshes; `None` where it was not confirmed.
    pub mesh_difference: Option<f64>,
    /// Deformed meridian.
    pub meridian: SampledMeridian,
    /// Mode of a sideways event.
    pub mode: Option<SidewaysMode>,
}

/// A sideways mode at its bifurcation.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct SidewaysMode {
    /// Wave number.
    pub n: u32,
    /// Natural arclength of the samples, m.
    pub s_m: Vec<f64>,
    /// Outward radial part `u cos nθ` of the displacement, scaled so that the largest part is 1.
    pub u: Vec<f64>,
    /// Circumferential part `v sin nθ`.
    pub v: Vec<f64>,
    /// Axial part `w cos nθ`.
    pub w: Vec<f64>,
    /// Natural arclength at which the displacement is largest, m.
    pub peak_at_m: f64,
    /// How the branch leaves; `None` when it was not computed.
    pub branch: Option<BranchOff>,
}

/// The sideways branch near its bifurcation, to second order in its amplitude ξ (largest displacement, m).
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BranchOff {
    /// d²(load)/dξ² / 2 with ξ the largest displacement: load ≈ load* + curvature · ξ². Negative: the load falls.
    pub load_curvature_SI_per_m2: f64,
    /// The same for the displacement.
    pub displacement_curvature_SI_per_m2: f64,
    /// Whether the branch is stable at first with the load set.
    pub stable_by_load: bool,
    /// The same with the displacement set.
    pub stable_by_displacement: bool,
    /// Energy gap to the axisymmetric state at the same load, per ξ⁴: ΔΠ ≈ gap · ξ⁴ (negative: lower).
    pub energy_gap_J_per_m4: f64,
    /// Slope of the load over displacement along the branch at its start, SI; the axisymmetric path's is
    /// `path_slope_SI`.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub slope_SI: f64,
    /// Slope of the load over displacement of the axisymmetric path there.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub path_slope_SI: f64,
    /// Amplitude at which the second-order terms are as large as the first: beyond it the estimate is a guess, m.
    pub trusted_to_m: f64,
}

/// A first instability.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Trip {
    /// Which event.
    pub event: usize,
    /// `axisymmetric` or `sideways`.
    pub route: String,
    /// Wave number: 0 axisymmetric.
    pub n: u32,
    /// Trip load.
    pub load_SI: f64,
    /// Displacement there.
    pub displacement_SI: f64,
    /// Work done up to there, J.
    pub work_J: f64,
    /// Where the axisymmetric path would put the part after the jump; `None` beyond the path followed.
    pub lands: Option<Landing>,
}

/// Where a jump ends.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Landing {
    /// Load after the jump.
    pub load_SI: f64,
    /// Displacement after the jump.
    pub displacement_SI: f64,
    /// Travel of the pole after the jump, m.
    pub travel_m: f64,
    /// Whether the stop catches it before an equilibrium is met.
    pub at_stop: bool,
    /// Energy set free by the jump, J.
    pub released_J: f64,
}

/// The way back with the load set.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "PokeReturn"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Return {
    /// Which event.
    pub event: usize,
    /// Load at which it jumps back; negative: it has to be pulled.
    pub load_SI: f64,
    /// Displacement there.
    pub displacement_SI: f64,
    /// Where it lands.
    pub lands: Option<Landing>,
}

/// Snap ratios of the trade.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SnapRatios {
    /// (F1 − F2)/F1 with F1 the first peak and F2 the load at the stop (or, without one, the valley).
    pub peak_to_contact: f64,
    /// (F1 − F3)/F1 with F3 the load at which the part jumps back.
    pub peak_to_return: Option<f64>,
}

/// Energy lost in a full cycle, J.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Hysteresis {
    /// With the load set; `None` without a return.
    pub by_load_J: Option<f64>,
    /// With the displacement set.
    pub by_displacement_J: Option<f64>,
}

/// Energy needed to pass the saddle at a fixed load.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Barrier {
    /// The state left: `start` or `far`.
    pub from: String,
    /// Load held.
    pub load_SI: f64,
    /// Potential of the saddle less that of the state, J.
    pub barrier_J: f64,
    /// Displacement of the state.
    pub displacement_SI: f64,
    /// Displacement of the saddle.
    pub saddle_displacement_SI: f64,
}

/// Evidence for a path.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct PokeEvidence {
    /// Why following ended, in words.
    pub ended: String,
    /// Elements of the mesh followed.
    pub elements: usize,
    /// Elements of the finer mesh that confirms events.
    pub elements_fine: usize,
    /// Largest out-of-balance force over the largest internal force at sampled points.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub residual: f64,
    /// Largest |energy − work| over the largest energy on the path.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub energy_work_gap: f64,
    /// Greatest mesh difference of a limit load.
    pub mesh_difference: f64,
    /// Largest wave number examined.
    pub largest_n: u32,
    /// Deepest penetration of a rigid pusher over the thickness; `None` without one.
    pub penetration: Option<f64>,
    /// Least cosine between successive tangents.
    pub least_cosine: f64,
    /// Validity limits.
    pub limits: Vec<Limit>,
    /// Work done.
    pub work: Work,
}
