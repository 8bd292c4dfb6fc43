//! A batch of parts as data: shares that stay, wait, return and lie in their windows, what makes them differ, with errors.
//!
//! A share comes with two errors that are kept apart: the interval that so many independent draws tell (Clopper & Pearson, 95 %), and
//! the share of parts too near to an edge for the approximation by which they were judged.

use serde::Serialize;

use crate::report::Work;

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchReport {
    /// Version of the JSON layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// Whether the evidence carries the answer.
    pub outcome: BatchOutcome,
    /// The answer in sentences.
    pub explanation: Vec<String>,
    /// Reasons to doubt it (empty when there are none).
    pub doubts: Vec<String>,
    /// Warnings and cautions.
    pub warnings: Vec<String>,
    /// Parts asked for.
    pub asked: usize,
    /// Parts drawn: fewer where each had to be computed exactly.
    pub drawn: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Numbers that vary.
    pub inputs: Vec<BatchInput>,
    /// Numbers that vary together.
    pub together: Vec<BatchPair>,
    /// Shares by what the part does when it is turned inside out; `None` where that is not asked.
    pub verdicts: Option<BatchVerdicts>,
    /// Parts that could not be judged.
    pub unknown: BatchShare,
    /// Good parts.
    pub good: BatchShare,
    /// What makes a part good, for people.
    pub good_means: String,
    /// Windows asked for.
    pub windows: Vec<BatchWindow>,
    /// What was read of every part.
    pub gauges: Vec<BatchGauge>,
    /// What one tolerance made half as wide would save, largest first; empty where no approximation was good enough.
    pub tightening: Vec<BatchTightening>,
    /// Tolerances for the share of good parts that is wanted.
    pub want: Option<BatchWant>,
    /// Waves round the axis.
    pub waves: BatchWaves,
    /// How the parts were judged.
    pub method: BatchMethod,
    /// Work counters of all exact readings.
    pub work: Work,
}

/// Whether there is an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "snake_case")]
pub enum BatchOutcome {
    /// Yes.
    Answered,
    /// There are doubts.
    Undecided,
}

/// A share of the drawn parts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchShare {
    /// Share of the drawn parts.
    pub share: f64,
    /// Lower end of the 95 % interval of so many draws.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// Share of the drawn parts that lie too near to an edge for the approximation and were not computed exactly: the share may be wrong
    /// by as much.
    pub surface_error: f64,
}

/// A number that varies.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BatchInput {
    /// Key in the case file.
    pub input: String,
    /// Its value.
    pub value_SI: f64,
    /// Half-width of its tolerance; 0 where measured values say how it varies.
    pub half_width_SI: f64,
    /// Its distribution.
    pub distribution: String,
    /// Mean of the drawn values.
    pub mean_SI: f64,
    /// Their standard deviation.
    pub deviation_SI: f64,
    /// Whether it changes anything that was read.
    pub matters: bool,
}

/// Two numbers that vary together.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchPair {
    /// Keys in the case file.
    pub inputs: [String; 2],
    /// Correlation of the normal deviates behind them.
    pub correlation: f64,
}

/// Shares by what the part does when it is turned inside out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchVerdicts {
    /// Stay inverted.
    pub stays: BatchShare,
    /// Rest a while after the hold of the case, then return; `None` where that is not known of the case (no memory, or another hold than in
    /// the mirror image): such parts then count as returning.
    pub waits: Option<BatchShare>,
    /// Return.
    pub returns: BatchShare,
}

/// A window and the parts in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BatchWindow {
    /// What is read.
    pub gauge: String,
    /// SI unit, empty for numbers.
    pub unit: String,
    /// Lower end; `None` when it is open.
    pub from_SI: Option<f64>,
    /// Upper end; `None` when it is open.
    pub to_SI: Option<f64>,
    /// Parts inside.
    pub inside: BatchShare,
    /// Share below.
    pub below: f64,
    /// Share above.
    pub above: f64,
    /// Share that does not do that at all.
    pub nowhere: f64,
}

/// What was read of every part.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BatchGauge {
    /// Its name.
    pub gauge: String,
    /// SI unit, empty for numbers.
    pub unit: String,
    /// Of the part as described; `None` where it does not do that.
    pub as_described_SI: Option<f64>,
    /// Mean over the parts that do.
    pub mean_SI: Option<f64>,
    /// Standard deviation over them.
    pub deviation_SI: Option<f64>,
    /// Quantiles over them.
    pub quantiles: Vec<BatchQuantile>,
    /// Places of its edges: windows, and 0 for a margin.
    pub edges_SI: Vec<f64>,
    /// Bound of the approximation's error; `None` where every part was computed exactly.
    pub surface_error_SI: Option<f64>,
    /// Shares of its variance by number, largest total first; empty without an approximation.
    pub indices: Vec<BatchIndex>,
    /// How many parts lie where.
    pub histogram: BatchHistogram,
}

/// A quantile.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BatchQuantile {
    /// Share of the parts below.
    pub share: f64,
    /// Where.
    pub at_SI: f64,
}

/// Sobol indices of one number, or of two that vary together.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchIndex {
    /// Keys in the case file.
    pub inputs: Vec<String>,
    /// Share of the variance that would go if it were known.
    pub first: f64,
    /// Standard error of that.
    pub first_error: f64,
    /// Share that would be left if all others were known.
    pub total: f64,
    /// Standard error of that.
    pub total_error: f64,
}

/// Counts of parts over a gauge, by what they do.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BatchHistogram {
    /// Ends of the bins.
    pub ends_SI: Vec<f64>,
    /// Counts of each kind of part.
    pub kinds: Vec<BatchKind>,
}

/// Counts of one kind of part.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchKind {
    /// `stays`, `waits`, `returns`, or `good` and `bad` where no verdict is asked.
    pub kind: String,
    /// Parts in each bin.
    pub counts: Vec<usize>,
}

/// What one tolerance made half as wide would save.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchTightening {
    /// Key in the case file.
    pub input: String,
    /// Share of all parts that would be good and are not, less those that would no longer be.
    pub saved: f64,
    /// Standard error of that.
    pub saved_error: f64,
    /// The same over the share of parts that are not good; `None` when all are.
    pub of_failing: Option<f64>,
}

/// Tolerances for a wanted share of good parts.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchWant {
    /// Share wanted.
    pub wanted: f64,
    /// Whether the tolerances as given do.
    pub met: bool,
    /// Factor on all tolerances alike that reaches it; `None` when none does (the middle itself is not good enough).
    pub all: Option<f64>,
    /// Factor on one tolerance alone.
    pub alone: Vec<BatchFactor>,
    /// Drawn parts on which that was found.
    pub parts: usize,
}

/// A factor on the tolerance of one number.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct BatchFactor {
    /// Key in the case file.
    pub input: String,
    /// Largest factor that reaches the wanted share; `None` when none does.
    pub factor: Option<f64>,
    /// Half-width of the tolerance then.
    pub half_width_SI: Option<f64>,
}

/// Waves round the axis at the parts that were computed exactly.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchWaves {
    /// Parts computed exactly; in each the waves were counted.
    pub parts: usize,
    /// Corners of the box of tolerances among them.
    pub corners: usize,
    /// Parts that are lost in waves first.
    pub first: usize,
    /// Wave numbers in which.
    pub n: Vec<u32>,
}

/// How the parts were judged.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct BatchMethod {
    /// Whether a polynomial approximation judged most of them.
    pub surface: bool,
    /// Why not; empty when it did.
    pub why_not: String,
    /// Its total degree, the largest of any gauge.
    pub degree: usize,
    /// Its terms, the most of any gauge.
    pub terms: usize,
    /// Exact readings that it was fitted to.
    pub fitted: usize,
    /// Exact readings that it was held against.
    pub held_out: usize,
    /// Drawn parts near an edge that were computed exactly.
    pub near: usize,
    /// Readings followed from the part as described that were computed anew to compare.
    pub anew: usize,
    /// Largest difference of those, over the standard deviation of the gauge.
    pub anew_difference: f64,
}
