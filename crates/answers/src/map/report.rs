//! A design map as data: curves over two numbers of the case, an optional grid of verdicts, specimens.

use serde::Serialize;

use crate::report::Verdict;

/// The whole map.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct MapReport {
    /// Version of the JSON layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// Horizontal and vertical axis.
    pub axes: [Axis; 2],
    /// Sentences on what the map shows.
    pub explanation: Vec<String>,
    /// What is doubtful.
    pub doubts: Vec<String>,
    /// Warnings and cautions.
    pub warnings: Vec<String>,
    /// Where an inverted part stops staying.
    pub threshold: Vec<Curve>,
    /// Where the band ends in which a part waits: beyond the threshold and up to these curves.
    pub waiting: Vec<WaitingCurves>,
    /// Curves of equal margin h/h*.
    pub margins: Vec<MarginCurves>,
    /// Where a load–displacement path first has a limit: beyond it the part snaps.
    pub snapping_first: Vec<Curve>,
    /// Curves of a given trip load.
    pub trip_loads: Vec<TripCurves>,
    /// Limits of validity.
    pub validity: Vec<ValidityCurves>,
    /// A grid of verdicts, where asked for.
    pub grid: Option<Grid>,
    /// Points that a sweep has computed, where one is laid over the map.
    pub points: Option<SweptPoints>,
    /// Specimens laid over the map.
    pub specimens: Vec<Specimen>,
    /// Their counts.
    pub counts: Option<Counts>,
    /// Evidence.
    pub evidence: MapEvidence,
}

/// An axis: one number of the case.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Axis {
    /// Key in the case file, e.g. `wall.thickness`; `depth` for the depth of the part.
    pub key: String,
    /// In words, e.g. "thickness".
    pub label: String,
    /// Unit for display.
    pub unit: String,
    /// SI value of one display unit.
    pub unit_si: f64,
    /// Lower end, SI.
    pub low_si: f64,
    /// Upper end, SI.
    pub high_si: f64,
    /// Value in the case, SI.
    pub here_si: f64,
    /// Half-width of its tolerance, SI.
    pub here_half_width_si: Option<f64>,
}

/// A curve in the plane, followed directly.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(test, ts(rename = "PlaneCurve"))]
pub struct Curve {
    /// Horizontal values, SI.
    pub x_si: Vec<f64>,
    /// Vertical values, SI.
    pub y_si: Vec<f64>,
    /// Indices of points that are cusps, where the curve turns back on itself.
    pub cusps: Vec<usize>,
    /// Why it ends, in words: at its first and its last point.
    pub ends: [String; 2],
}

/// Curves of one margin.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct MarginCurves {
    /// h/h*.
    pub ratio: f64,
    /// The curves.
    pub curves: Vec<Curve>,
}

/// End of the band in which a relaxed part rests a while.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct WaitingCurves {
    /// After which hold: `as held` for that of the case (at each place of the map, where an axis changes it), `relaxed`
    /// after a hold without end.
    pub hold: String,
    /// Share of the modulus lost at constant strain, at the numbers of the case.
    pub loss: f64,
    /// The curves.
    pub curves: Vec<Curve>,
}

/// Curves of one trip load.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct TripCurves {
    /// Load.
    pub load_SI: f64,
    /// Its unit.
    pub load_unit: String,
    /// The curves.
    pub curves: Vec<Curve>,
}

/// One validity limit in the plane.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct ValidityCurves {
    /// What is limited, e.g. "h/R, thin-shell theory".
    pub name: String,
    /// The limit.
    pub limit: f64,
    /// The curves; the limit is passed on the side of larger thickness.
    pub curves: Vec<Curve>,
}

/// A grid of verdicts, row by row from the lowest y; x runs fastest.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Grid {
    /// Horizontal values, SI.
    pub x_si: Vec<f64>,
    /// Vertical values, SI.
    pub y_si: Vec<f64>,
    /// One per cell; `None` where no such part exists.
    pub verdicts: Vec<Option<Verdict>>,
    /// h/h* per cell.
    pub thickness_ratio: Vec<Option<f64>>,
}

/// Points of a sweep, in its order.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SweptPoints {
    /// Title of the sweep.
    pub title: String,
    /// Digest of its plan.
    pub plan_digest: String,
    /// Points of the plan; fewer are here where chunks are missing.
    pub planned: u64,
    /// Horizontal values, SI.
    pub x_si: Vec<f64>,
    /// Vertical values, SI.
    pub y_si: Vec<f64>,
    /// One per point; `None` where there is no such part or no answer.
    pub verdicts: Vec<Option<Verdict>>,
    /// h/h* per point.
    pub thickness_ratio: Vec<Option<f64>>,
}

impl SweptPoints {
    /// How many points have a verdict, or none.
    pub fn count(&self, verdict: Option<Verdict>) -> usize {
        self.verdicts.iter().filter(|v| **v == verdict).count()
    }
}

/// What was seen of a specimen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum Observed {
    /// It stayed inverted.
    Stays,
    /// It came back at once.
    Returns,
    /// It waited and came back.
    Waits,
}

/// One measured specimen.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Specimen {
    /// Name.
    pub name: String,
    /// Horizontal value, SI.
    pub x_si: f64,
    /// Vertical value, SI.
    pub y_si: f64,
    /// Half-width of the tolerance, SI.
    pub x_half_width_si: Option<f64>,
    /// Half-width of the tolerance, SI.
    pub y_half_width_si: Option<f64>,
    /// What was seen; `None` when nothing was noted.
    pub observed: Option<Observed>,
    /// What is predicted at the values given.
    pub predicted: Verdict,
    /// h/h* there.
    pub thickness_ratio: Option<f64>,
    /// Half-width of h/h* from the tolerances of the two axes.
    pub ratio_half_width: Option<f64>,
    /// How prediction and observation compare.
    pub comparison: Comparison,
}

/// Prediction against observation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "kebab-case")]
pub enum Comparison {
    /// They agree.
    Agrees,
    /// They differ, but the threshold lies within the tolerances.
    WithinTolerance,
    /// They differ by more than the tolerances explain.
    Contradicted,
    /// Nothing was observed, or nothing was predicted.
    Open,
}

/// Specimens counted.
#[derive(Clone, Copy, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Counts {
    /// Specimens with a prediction that they stay.
    pub predicted_stay: usize,
    /// Specimens with a prediction that they return.
    pub predicted_return: usize,
    /// Specimens seen to stay.
    pub observed_stay: usize,
    /// Specimens seen to return, at once or after a wait.
    pub observed_return: usize,
    /// Agreeing.
    pub agree: usize,
    /// Differing within the tolerances.
    pub within_tolerance: usize,
    /// Contradicted.
    pub contradicted: usize,
    /// Without observation or prediction.
    pub open: usize,
}

/// Evidence for a map.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct MapEvidence {
    /// Greatest relative difference of a threshold point between two meshes.
    pub mesh_difference: f64,
    /// Points at which it was checked.
    pub checked_points: usize,
    /// Points computed on all curves.
    pub curve_points: usize,
    /// Extended systems solved.
    pub newton_iterations: u64,
}
