//! The answer about a logbook as data: SI, documented in `docs/logbook.md`.

use serde::Serialize;

/// Everything that a logbook says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LogbookReport {
    /// Version of this layout.
    pub schema_version: u32,
    /// Title of the logbook.
    pub title: String,
    /// Title of the case.
    pub family: String,
    /// Lines with data, and those left out.
    pub lines: usize,
    /// Lines left out because of a fault.
    pub lines_left_out: usize,
    /// Specimens.
    pub specimen_count: usize,
    /// Trials.
    pub trial_count: usize,
    /// Numbers that specimens have of their own.
    pub varied: Vec<Varied>,
    /// What is assumed, in words.
    pub assumptions: Vec<String>,
    /// What is assumed, as numbers.
    pub assumed: AssumedReport,
    /// Specimens with theory and trials.
    pub specimens: Vec<SpecimenReport>,
    /// Chances of the theory as described against what happened.
    pub as_described: Option<ScoresReport>,
    /// Chances of every specimen's trials from all other specimens.
    pub from_the_others: Option<ScoresReport>,
    /// Numbers read beside numbers computed.
    pub compared: Vec<Comparison>,
    /// What the trials say about the numbers sought.
    pub sought: Vec<Sought>,
    /// Correlations of the numbers sought.
    pub correlations: Vec<Correlation>,
    /// Which specimen to make next.
    pub next: Option<NextReport>,
    /// How it was computed.
    pub evidence: LogbookEvidence,
    /// Sentences.
    pub explanation: Vec<String>,
    /// What makes the answer doubtful.
    pub doubts: Vec<String>,
    /// What to look at.
    pub warnings: Vec<String>,
}

/// A number of the case that specimens have of their own.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Varied {
    /// Key in the case.
    pub key: String,
    /// Least value, SI.
    pub least_si: f64,
    /// Largest value, SI.
    pub most_si: f64,
    /// Both in words.
    pub shown: [String; 2],
}

/// What is assumed, as numbers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AssumedReport {
    /// Shortest wait that is noticed.
    pub at_once_s: f64,
    /// How long one looks where a line does not say.
    pub watched_s: f64,
    /// Standard deviation of the margin from try to try.
    pub trial_scatter: f64,
    /// Share of trials noted wrongly.
    pub lapse: f64,
    /// Relative half-width of waits without one.
    pub wait_error: f64,
    /// Relative half-width of trip loads without one.
    pub trip_error: f64,
    /// Half-width of temperatures without one.
    #[serde(rename = "temperature_error_K")]
    pub temperature_error: f64,
}

/// A size of a specimen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SizeReport {
    /// Key in the case.
    pub key: String,
    /// Value, SI.
    pub value_si: f64,
    /// Half-width, SI.
    pub half_width_si: f64,
    /// Both in words.
    pub shown: String,
}

/// A specimen with theory and trials.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpecimenReport {
    /// Name.
    pub name: String,
    /// Line of its file.
    pub line: usize,
    /// Sizes.
    pub sizes: Vec<SizeReport>,
    /// ln(h*/h) of the sizes as read.
    pub margin: Option<f64>,
    /// Its standard deviation by the sizes.
    pub margin_sd: Option<f64>,
    /// Its slope by ln h.
    pub margin_by_thickness: Option<f64>,
    /// Why there is no margin.
    pub no_margin: Option<String>,
    /// Trials.
    pub trials: Vec<TrialReport>,
}

/// A trial with the chances of what could have happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TrialReport {
    /// Line of its file.
    pub line: usize,
    /// What happened.
    pub outcome: Option<&'static str>,
    /// Hold.
    pub hold_s: f64,
    /// Temperature.
    #[serde(rename = "temperature_K")]
    pub temperature: Option<f64>,
    /// Wait as read.
    pub wait_s: Option<f64>,
    /// Half-width of it.
    pub wait_half_width_s: Option<f64>,
    /// How long one looked.
    pub watched_s: f64,
    /// Duration of the snap as read.
    pub snap_time_s: Option<f64>,
    /// Chances of returns, waits, stays by the theory as described.
    pub chances_as_described: Option<[f64; 3]>,
    /// The same from all other specimens.
    pub chances_from_the_others: Option<[f64; 3]>,
    /// Whether what happened had a chance below 5 % there.
    pub surprising: bool,
    /// When, as written.
    pub when: String,
    /// Note, as written.
    pub note: String,
}

/// Chances against what happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScoresReport {
    /// Trials scored.
    pub trials: usize,
    /// Mean ln of the chance of what happened.
    pub log_score: f64,
    /// Mean squared difference of chances and what happened.
    pub brier: f64,
    /// The log score of a forecast by the shares seen.
    pub log_score_of_shares: f64,
    /// The Brier score of a forecast by the shares seen.
    pub brier_of_shares: f64,
    /// By outcome.
    pub counts: Vec<CountReport>,
}

/// How often an outcome was seen and expected.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CountReport {
    /// Outcome.
    pub outcome: &'static str,
    /// Seen.
    pub seen: usize,
    /// Expected.
    pub expected: f64,
    /// Two-sided chance of what was seen, if the chances are right.
    pub chance: f64,
}

/// Numbers of one kind, read and computed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// What: "wait", "trip load", "trip temperature", "reset temperature".
    pub what: String,
    /// SI unit.
    pub unit: &'static str,
    /// Whether it is compared in logarithms: then errors are relative.
    pub logarithmic: bool,
    /// Pairs.
    pub rows: Vec<ComparedRow>,
    /// Σ z² of the theory as described.
    pub chi_squared: f64,
    /// Its degrees of freedom.
    pub freedom: usize,
    /// Chance of as large a sum, if theory and errors are right.
    pub chance: f64,
    /// The line through read over computed with errors in both.
    pub line: Option<LineReport>,
}

/// One pair. With logarithms errors are standard deviations of ln; otherwise in the unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ComparedRow {
    /// Specimen.
    pub specimen: String,
    /// Lines of its trials.
    pub lines: Vec<usize>,
    /// As read, SI.
    pub read_si: f64,
    /// Standard deviation of it.
    pub read_sd: f64,
    /// As computed, SI; `None` where theory gives none.
    pub computed_si: Option<f64>,
    /// Standard deviation of it by the sizes.
    pub computed_sd: Option<f64>,
    /// Difference over both errors together.
    pub z: Option<f64>,
    /// The same with the numbers sought at their medians and the scatter found.
    pub z_fitted: Option<f64>,
    /// What theory says where it gives no number.
    pub instead: Option<String>,
    /// Whether |z| > 3.
    pub outlier: bool,
}

/// A line y = a + b x.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LineReport {
    /// a, of logarithms where those are compared.
    pub intercept: f64,
    /// Its standard deviation.
    pub intercept_sd: f64,
    /// b; 1 when theory is right.
    pub slope: f64,
    /// Its standard deviation.
    pub slope_sd: f64,
    /// Least sum of squares.
    pub chi_squared: f64,
    /// Its degrees of freedom.
    pub freedom: usize,
}

/// What the trials say about one number.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sought {
    /// Its name.
    pub name: &'static str,
    /// For people.
    pub words: &'static str,
    /// "flat" or "normal", in the logarithm.
    pub prior: &'static str,
    /// Bounds of the prior.
    pub prior_bounds: [f64; 2],
    /// Median.
    pub median: f64,
    /// Ends of the interval that holds it with 95 %.
    pub interval_95: [f64; 2],
    /// The same with 68 %.
    pub interval_68: [f64; 2],
    /// Standard deviation of its logarithm, and of that of the prior.
    pub log_sd: f64,
    /// Of the prior.
    pub prior_log_sd: f64,
    /// The end of the bounds that the interval reaches: "lower", "upper", "both"; `None` for neither.
    pub reaches: Option<&'static str>,
    /// Whether the trials narrow it: its deviation is below 0.8 of the prior's.
    pub told: bool,
    /// Split R̂ of the chains.
    pub r_hat: f64,
    /// Independent draws that would tell as much.
    pub effective_draws: f64,
    /// Shares of the draws in forty equal steps of the logarithm between the ends of [`Self::histogram_bounds`].
    pub histogram: Vec<f64>,
    /// Those ends.
    pub histogram_bounds: [f64; 2],
}

/// Correlation of the logarithms of two numbers sought.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Correlation {
    /// One.
    pub one: &'static str,
    /// The other.
    pub other: &'static str,
    /// From −1 to 1.
    pub correlation: f64,
}

/// Which specimen to make next.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NextReport {
    /// Keys that vary.
    pub keys: Vec<String>,
    /// Units of each as the case has them.
    pub units: Vec<String>,
    /// Their sizes in SI.
    pub units_si: Vec<f64>,
    /// Values of each, SI.
    pub axes_si: Vec<Vec<f64>>,
    /// Holds.
    pub holds_s: Vec<f64>,
    /// Information of the best hold at every pair of values, bits; the first key runs fastest; `None` where no such part exists.
    pub bits: Vec<Option<f64>>,
    /// Candidates tried, holds counted.
    pub tried: usize,
    /// The best few.
    pub best: Vec<Candidate>,
}

/// A specimen that could be made.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidate {
    /// Sizes in the order of the keys.
    pub sizes: Vec<SizeReport>,
    /// Hold.
    pub hold_s: f64,
    /// What its trial would teach on average.
    pub bits: f64,
    /// Margin of the theory as described.
    pub margin: f64,
    /// Chances of returns, waits, stays.
    pub chances: [f64; 3],
    /// What each outcome would leave of the numbers sought.
    pub after: Vec<After>,
}

/// What one outcome would leave of one number.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct After {
    /// Outcome.
    pub outcome: &'static str,
    /// Number.
    pub name: &'static str,
    /// Its value (exponential of the mean logarithm).
    pub value: f64,
    /// Standard deviation of its logarithm.
    pub log_sd: f64,
    /// The same now.
    pub log_sd_now: f64,
}

/// How it was computed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LogbookEvidence {
    /// Seed of the chains.
    pub seed: u64,
    /// Chains.
    pub chains: usize,
    /// Draws kept of each.
    pub draws: usize,
    /// Share of steps taken.
    pub accepted: f64,
    /// Evaluations of the likelihood.
    pub evaluations: u64,
    /// Waits computed for the table.
    pub waits_computed: usize,
    /// What the parts' weight does to their waits, as a margin.
    pub weight_shift: Option<f64>,
    /// Largest difference of ln wait between table and theory.
    pub table_error: Option<f64>,
    /// Largest shift of ln wait of a specimen's shape against that of the case.
    pub shape_shift: Option<f64>,
    /// Standard deviation of every margin by the numbers of the case that all specimens share.
    pub common_margin_sd: f64,
}
