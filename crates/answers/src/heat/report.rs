//! What heat does to a part, as data: the branch over temperature, trip and reset, what moves them, with evidence.
//!
//! Travels are those of the centre (the pole, or the edge of its hole) along the axis from its place in the described shape,
//! positive from the natural pole towards the plane of the rim, i.e. towards the other state.

use serde::Serialize;

use crate::report::{Limit, PartSummary, SampledMeridian, Work};

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct HeatReport {
    /// Version of the JSON layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// Whether it trips.
    pub outcome: HeatOutcome,
    /// Why, in sentences.
    pub explanation: Vec<String>,
    /// Reasons to doubt the outcome (empty when there are none).
    pub doubts: Vec<String>,
    /// Warnings and cautions.
    pub warnings: Vec<String>,
    /// What the model cannot say about this part.
    pub beyond: Vec<String>,
    /// The part as computed.
    pub part: PartSummary,
    /// Its wall.
    pub wall: WallSummary,
    /// What stands around it.
    pub device: DeviceSummary,
    /// The jump of the branch that starts at the described shape.
    pub trip: Option<Jump>,
    /// The jump back.
    pub reset: Option<Jump>,
    /// Where the branch of the described shape loses its round or flat form without a limit, on the ways that do not trip.
    pub buckling: Vec<Buckling>,
    /// Trip less reset temperature, K.
    pub delta_K: Option<f64>,
    /// Whether the part, once tripped, is still tripped at the temperature at which its shape is given.
    pub stays_tripped: Option<bool>,
    /// Slow movement before the trip.
    pub creep: Option<Creep>,
    /// What moves trip and reset by how much.
    pub moves: Vec<Move>,
    /// How depth is changed, for people.
    pub depth_rule: String,
    /// Half-widths that all tolerances cause together, to first order (root of the sum of squares), K.
    pub tolerance: Option<Tolerance>,
    /// Energy over a full cycle of heating and cooling.
    pub cycle: Option<Cycle>,
    /// Shapes worth seeing.
    pub shapes: Vec<Shape>,
    /// The branch of the described shape, in order.
    pub near: Vec<HeatRow>,
    /// The branch on which it lands, in order.
    pub far: Vec<HeatRow>,
    /// Evidence.
    pub evidence: HeatEvidence,
}

/// What happens over the temperatures followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum HeatOutcome {
    /// It jumps.
    Trips,
    /// It loses its round (or flat) shape without a limit of temperature; whether by a jump or little by little is not computed.
    Buckles,
    /// It moves smoothly.
    Follows,
    /// The evidence does not carry an answer.
    Undecided,
}

/// The wall and what heat alone would do to it.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct WallSummary {
    /// Number of layers.
    pub layers: usize,
    /// Temperature at which the shape is given, K.
    pub formed_at_K: f64,
    /// Temperature of the case, K.
    pub temperature_K: f64,
    /// Temperature of the concave face less that of the convex one, K.
    pub face_difference_K: f64,
    /// Curvature of a free wall per kelvin at the temperature at which the shape is given, times thickness, 1/K: the trade's flexivity
    /// when all layers have one Poisson ratio. Positive: heat bends the wall like the natural bowl.
    pub bending_per_K: f64,
    /// Expansion of the middle of a free wall per kelvin there, 1/K.
    pub expansion_per_K: f64,
    /// Temperature at which the free wall has lost the curvature of the described shape (the sphere through pole and rim), K.
    pub flat_at_K: Option<f64>,
}

/// The device around the part.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct DeviceSummary {
    /// Force on the centre that acts all the time, N; positive towards the other state.
    pub preload_N: f64,
    /// Travel of the centre at which it meets the pin, m.
    pub pin_gap_m: Option<f64>,
    /// Spring behind the pin, N/m; `None` for a rigid one, and without a pin.
    pub pin_stiffness_N_per_m: Option<f64>,
    /// Lowest temperature asked for, K.
    pub from_K: Option<f64>,
    /// Highest temperature asked for, K.
    pub to_K: Option<f64>,
}

/// A jump.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "HeatJump"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Jump {
    /// Temperature, K.
    pub temperature_K: f64,
    /// `heating` or `cooling`.
    pub on: String,
    /// `axisymmetric` or `sideways`.
    pub route: String,
    /// Circumferential waves of the way it gives way; 0 for axisymmetric.
    pub n: u32,
    /// Travel just before, m.
    pub travel_before_m: f64,
    /// Travel after it, at the same temperature, m.
    pub travel_after_m: Option<f64>,
    /// How far the centre jumps, m.
    pub movement_m: Option<f64>,
    /// Whether the round shape that it lands on is stable against sideways waves; if not it ends in a wavy shape near it.
    pub lands_round: Option<bool>,
    /// Limit temperature of the round shapes on this way, K: where it jumps at the latest.
    pub round_limit_K: Option<f64>,
    /// Energy set free, J.
    pub released_J: Option<f64>,
    /// Push of the centre on the pin just before, N.
    pub pin_force_before_N: f64,
    /// And after, N.
    pub pin_force_after_N: Option<f64>,
    /// Difference of the temperature between two meshes, K.
    pub mesh_difference_K: Option<f64>,
    /// Last step of Newton's method on it, relative to the whole range of the dish.
    pub last_step: Option<f64>,
}

/// A loss of the round or flat form.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Buckling {
    /// Temperature, K.
    pub temperature_K: f64,
    /// `heating` or `cooling`.
    pub on: String,
    /// Circumferential waves; 0: other round shapes branch off.
    pub n: u32,
    /// Difference of the temperature between two meshes, K.
    pub mesh_difference_K: Option<f64>,
}

/// Slow movement.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Creep {
    /// Counted from this temperature, K.
    pub from_K: f64,
    /// Travel from there to the trip, m.
    pub travel_m: f64,
    /// Travel per kelvin at the start, m/K.
    pub at_first_m_per_K: f64,
}

/// What one number of the case does.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Move {
    /// Key of the case file, or `depth` for the rise of the dish (see `depth_rule`), or `thickness` for all thicknesses by one factor.
    pub input: String,
    /// Its value, SI.
    pub value: f64,
    /// Change of the trip temperature per unit of it, K per SI.
    pub trip_K_per_SI: Option<f64>,
    /// Change of the reset temperature per unit of it, K per SI.
    pub reset_K_per_SI: Option<f64>,
    /// Change of the trip temperature for one per cent more of it, K.
    pub trip_K_per_percent: Option<f64>,
    /// Change of the reset temperature for one per cent more of it, K.
    pub reset_K_per_percent: Option<f64>,
    /// Half-width that its tolerance gives the trip temperature, K.
    pub trip_half_width_K: Option<f64>,
    /// Half-width that its tolerance gives the reset temperature, K.
    pub reset_half_width_K: Option<f64>,
}

/// All tolerances together.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Tolerance {
    /// Trip temperature, K.
    pub trip_half_width_K: Option<f64>,
    /// Reset temperature, K.
    pub reset_half_width_K: Option<f64>,
}

/// Energy over a cycle, J.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "HeatCycle"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Cycle {
    /// Set free by both jumps.
    pub lost_J: f64,
    /// ∮ ∂Π/∂T dT along both branches: what heat puts in.
    pub put_in_J: f64,
    /// Difference over the larger.
    #[cfg_attr(test, ts(type = "number | null"))]
    pub gap: f64,
}

/// A shape.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "HeatShape"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Shape {
    /// `as given`, `before the trip`, `after the trip`, `before the reset`, `after the reset`.
    pub name: String,
    /// Temperature, K.
    pub temperature_K: f64,
    /// The deformed meridian.
    pub meridian: SampledMeridian,
}

/// One equilibrium.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct HeatRow {
    /// Temperature, K.
    pub temperature_K: f64,
    /// Travel of the centre, m.
    pub travel_m: f64,
    /// Slope of the rim, rad.
    pub rim_slope_rad: f64,
    /// Elastic energy of part and spring less the work of the preload, J.
    pub energy_J: f64,
    /// Push of the centre on the pin, N.
    pub pin_force_N: f64,
    /// Unstable axisymmetric directions.
    pub unstable: usize,
    /// Waves n ≥ 1 that are lost (looked for where the round shape is stable).
    pub unstable_n: Vec<u32>,
}

/// Evidence.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct HeatEvidence {
    /// Elements, on both meshes.
    pub elements: usize,
    /// On the finer.
    pub elements_fine: usize,
    /// Largest n examined.
    pub largest_n: u32,
    /// Counts that failed.
    pub uncounted: usize,
    /// Validity limits.
    pub limits: Vec<Limit>,
    /// Work.
    pub work: Work,
    /// Work of finding trip and reset again for a part with other numbers (one refinement on the standard mesh).
    pub refinement: Option<Work>,
}

/// Trip, reset and delta of many parts drawn within the tolerances.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct HeatSpread {
    /// Parts drawn.
    pub drawn: usize,
    /// Numbers that were varied: keys of the case file.
    pub varied: Vec<String>,
    /// Trip temperature.
    pub trip: Spread,
    /// Reset temperature.
    pub reset: Spread,
    /// Trip less reset temperature; known where both are.
    pub delta: Spread,
    /// Share of the drawn parts that lose their round shape to waves before the trip's limit, and so trip a little earlier.
    pub sideways_first: f64,
    /// Share for which that could not be counted.
    pub sideways_unknown: f64,
    /// Trip temperatures, K, one per draw; `None` where there is none or it is unknown.
    pub trips_K: Vec<Option<f64>>,
    /// Reset temperatures, K, one per draw.
    pub resets_K: Vec<Option<f64>>,
    /// The same in sentences.
    pub words: Vec<String>,
}

/// How one temperature spreads.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "HeatSpreadOfOne"))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Spread {
    /// Share of the draws for which it is known and lies within the range.
    pub known: f64,
    /// Share for which it lies beyond the range asked for, or beyond what the layers tell.
    pub beyond: f64,
    /// Share of draws that move without a jump.
    pub none: f64,
    /// Share of draws for which it was not found, so that nothing is known.
    pub unknown: f64,
    /// Quantiles of those known.
    pub quantiles: Vec<HeatQuantile>,
    /// Mean of those known, K.
    pub mean_K: Option<f64>,
    /// Twice their standard deviation, K.
    pub two_deviations_K: Option<f64>,
    /// Half-width that the tolerances give to first order, K: two standard deviations of inputs that are not cut off.
    pub first_order_half_width_K: Option<f64>,
}

/// One quantile.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct HeatQuantile {
    /// Share of the known draws at or below it.
    pub share: f64,
    /// Temperature or difference of temperatures, K.
    pub at_K: f64,
}

/// Trip, reset and delta over depth and thickness. Temperatures are the limits of the round shape on the standard mesh. Grids go row
/// by row from the smallest thickness, depth fastest.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct HeatMap {
    /// Depth of the part: half-angle (rad) of a cap, factor on the heights otherwise.
    pub depth_here_si: f64,
    /// Thickness of its wall, m.
    pub thickness_here_m: f64,
    /// Whether depth is a half-angle.
    pub depth_is_angle: bool,
    /// Depths of the columns.
    pub depths_si: Vec<f64>,
    /// Thicknesses of the rows, m; all layers by one factor.
    pub thicknesses_m: Vec<f64>,
    /// What each part of the grid does.
    pub states: Vec<MapState>,
    /// How many trip.
    pub tripping: usize,
    /// Of those, how many have no reset within the temperatures looked at, or none was found.
    pub no_reset: usize,
    /// How many trip beyond the temperatures looked at.
    pub beyond: usize,
    /// How many were followed over all temperatures looked at without a trip.
    pub none: usize,
    /// Places without such a part.
    pub no_part: usize,
    /// Places where nothing was found.
    pub unknown: usize,
    /// Trip temperatures, K.
    pub trips_K: Vec<Option<f64>>,
    /// Reset temperatures, K; `None` also beyond the temperatures looked at.
    pub resets_K: Vec<Option<f64>>,
    /// Trip less reset, K.
    pub deltas_K: Vec<Option<f64>>,
    /// Curves of equal trip temperature, round in °C.
    pub equal_trip: Vec<LevelCurves>,
    /// Curves of equal delta.
    pub equal_delta: Vec<LevelCurves>,
    /// Points of curves that were not found.
    pub lost_crossings: usize,
    /// Parts that the walk did not reach and that were followed anew.
    pub followed_anew: usize,
    /// Parts that lose their round shape to waves before the trip's limit.
    pub waves_first: usize,
    /// Parts for which that could not be counted.
    pub waves_unknown: usize,
    /// Places that trip, followed anew to compare.
    pub checked: usize,
    /// Of those, how many do not trip then.
    pub contradicted: usize,
    /// Largest difference of the trip's limit there, on finer meshes, K.
    pub check_difference_K: Option<f64>,
    /// Reasons to doubt the map.
    pub doubts: Vec<String>,
    /// The same in sentences.
    pub words: Vec<String>,
}

/// What a part of a map does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum MapState {
    /// It trips.
    Trips,
    /// It trips beyond the temperatures looked at.
    Beyond,
    /// It was followed over all temperatures looked at without a trip.
    None,
    /// There is no such part.
    NoPart,
    /// Nothing was found.
    Unknown,
}

/// Curves of one level.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct LevelCurves {
    /// Trip temperature or delta, K.
    pub level_K: f64,
    /// Its curves; a closed one ends where it begins.
    pub curves: Vec<MapCurve>,
}

/// A curve: columns of its points.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct MapCurve {
    /// Depths.
    pub depth_si: Vec<f64>,
    /// Thicknesses, m.
    pub thickness_m: Vec<f64>,
}
