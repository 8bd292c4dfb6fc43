//! Sizes that give what is wished, as data.

use serde::Serialize;

use super::ask::Scale;
use crate::report::Work;

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeReport {
    /// Version of the JSON layout.
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// What came out.
    pub outcome: SizeOutcome,
    /// Why, in sentences.
    pub explanation: Vec<String>,
    /// Reasons to doubt it (empty when there are none).
    pub doubts: Vec<String>,
    /// Warnings and cautions.
    pub warnings: Vec<String>,
    /// What may change.
    pub vary: Vec<SizeVaried>,
    /// What is wished.
    pub wishes: Vec<SizeWish>,
    /// The part as it is: what each wish reads; `None` where it reads nothing.
    pub readings_here_si: Vec<Option<f64>>,
    /// Solutions: by value of the wish for the smallest or largest where there is one, else the nearest to the part as it is first.
    pub solutions: Vec<SizeSolution>,
    /// All that solves it, where that is more than single points.
    pub set: Option<SizeSet>,
    /// What one of two competing wishes costs the other.
    pub front: Option<SizeFront>,
    /// What stands in the way where nothing solves it.
    pub obstacle: Option<SizeObstacle>,
    /// What was read over the ranges.
    pub scan: SizeScan,
    /// Evidence.
    pub evidence: SizeEvidence,
}

/// What came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub enum SizeOutcome {
    /// There are sizes that give what is wished.
    Met,
    /// None within the limits.
    Unmet,
    /// The evidence does not carry an answer.
    Undecided,
}

/// A number that may change.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeVaried {
    /// Its key in the case file.
    pub key: String,
    /// How it is shown.
    pub scale: Scale,
    /// Lower limit.
    pub from_si: f64,
    /// Upper limit.
    pub to_si: f64,
    /// In the case as it is.
    pub here_si: f64,
}

/// A wish as understood.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeWish {
    /// As written.
    pub text: String,
    /// What it is about: a gauge, or a key of the case.
    pub about: String,
    /// `equal`, `at least`, `at most`, `smallest`, `largest`.
    pub wanted: String,
    /// Value aimed at, for `equal`.
    pub aim_si: Option<f64>,
    /// Least reading that will do.
    pub low_si: Option<f64>,
    /// Largest reading that will do.
    pub high_si: Option<f64>,
    /// Share of a batch for which it has to hold; its readings are then of the part at that end of the batch.
    pub share: Option<f64>,
    /// How long the part is held first, s, where the wish says so.
    pub hold_s: Option<f64>,
    /// How its readings are shown.
    pub scale: Scale,
}

/// Sizes that give what is wished.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeSolution {
    /// The numbers that may change, in their order, rounded to six digits in their unit.
    pub values_si: Vec<f64>,
    /// Which limit each of them stands at: −1 lower, 1 upper, 0 neither.
    pub at_limit: Vec<i8>,
    /// What it gives, wish by wish.
    pub readings: Vec<SizeReading>,
    /// Largest half-width of each number, the others exact, with which every wish is still met, to first order; `None` where none of
    /// them changes a wish.
    pub keeps_si: Vec<Option<f64>>,
    /// Distance from the part as it is, in shares of the ranges.
    pub distance: f64,
    /// Whether the forward question confirms it.
    pub confirmed: bool,
    /// The case file with these numbers, where its text is known.
    pub case_toml: Option<String>,
}

/// What a solution gives for one wish.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeReading {
    /// As the solver reads it.
    pub solver_si: f64,
    /// As the forward question, asked anew about this part, says.
    pub forward_si: Option<f64>,
    /// Which question that is.
    pub forward: String,
    /// Distance from the nearest end of what will do, positive inside; `None` for the smallest and largest.
    pub slack_si: Option<f64>,
    /// Whether the wish is met by both readings.
    pub met: bool,
    /// Whether this wish holds the solution where it is: it stands at its end.
    pub binds: bool,
    /// Change of the wish for the smallest or largest with this wish's end, SI per SI; `None` where there is none or it does not bind.
    pub price_si: Option<f64>,
    /// Slope over each number that may change, SI per SI.
    pub slopes_si: Vec<f64>,
    /// Share of drawn parts that meet the wish, with the limits within which it lies with 95 %; for wishes about a share of a batch.
    pub drawn: Option<SizeDrawn>,
}

/// Parts drawn from the tolerances.
#[derive(Clone, Copy, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeDrawn {
    /// How many.
    pub parts: usize,
    /// How many meet the wish.
    pub meet: usize,
    /// How many gave no reading (counted as not meeting it).
    pub unread: usize,
    /// Limits of the share, with 95 %.
    pub share_low: f64,
    /// Upper one.
    pub share_high: f64,
}

/// All that solves it.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeSet {
    /// How many numbers are free on it.
    pub freedom: usize,
    /// Least and largest value of each number on it, as far as it was followed.
    pub extents_si: Vec<[f64; 2]>,
    /// Stretches of a single number that solve it.
    pub intervals_si: Vec<[f64; 2]>,
    /// Curves, where one number is free: rows of values.
    pub curves: Vec<SizeCurve>,
    /// Share of the sampled places that solve it; for sets without an exact wish.
    pub share_of_samples: Option<f64>,
}

/// A curve of solutions.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeCurve {
    /// Points along it, each with every number that may change.
    pub points_si: Vec<Vec<f64>>,
    /// Whether the other wishes are met there.
    pub met: Vec<bool>,
    /// How it ends on either side.
    pub ends: [String; 2],
    /// Whether it closes on itself.
    pub closed: bool,
}

/// What one of two competing wishes costs the other.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeFront {
    /// The two wishes, by place among all.
    pub wishes: [usize; 2],
    /// From the best of the first to the best of the second.
    pub points: Vec<SizeFrontPoint>,
    /// The point farthest from the straight line between the ends, by place among the points; `None` when they are too few.
    pub knee: Option<usize>,
}

/// A point of a front.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeFrontPoint {
    /// The numbers that may change.
    pub values_si: Vec<f64>,
    /// The two readings.
    pub readings_si: [f64; 2],
    /// What the second gains for one of the first, along the front, SI per SI.
    pub rate_si: Option<f64>,
}

/// What stands in the way.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeObstacle {
    /// Wish by wish: how near it comes with the others kept.
    pub rows: Vec<SizeRelaxation>,
    /// Which of them stands in the way: the one whose end has to move least, in its own half-widths or hundredths; `None` when
    /// giving way to no single one is enough.
    pub culprit: Option<usize>,
    /// The part that misses all wishes together by the least.
    pub nearest: Option<SizeMiss>,
}

/// How near one wish comes.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeRelaxation {
    /// Which, by place among all.
    pub wish: usize,
    /// Best reading with the others kept; `None` where the others alone cannot be kept.
    pub best_si: Option<f64>,
    /// By how much it misses.
    pub short_si: Option<f64>,
    /// The numbers there.
    pub values_si: Vec<f64>,
    /// Which limits stop them: −1 lower, 1 upper, 0 neither.
    pub at_limit: Vec<i8>,
    /// Why there is no reading anywhere, where that is so.
    pub no_reading: Option<String>,
}

/// A part that comes near.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeMiss {
    /// The numbers.
    pub values_si: Vec<f64>,
    /// What each wish reads.
    pub readings_si: Vec<Option<f64>>,
    /// By how much each misses.
    pub short_si: Vec<Option<f64>>,
    /// Which limits stop them.
    pub at_limit: Vec<i8>,
}

/// What was read over the ranges.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeScan {
    /// Values per number that may change: one list for a line, two for a map; empty for more.
    pub axes_si: Vec<Vec<f64>>,
    /// Readings of every wish, the first number running fastest; `None` where there is none.
    pub readings_si: Vec<Vec<Option<f64>>>,
}

/// Evidence.
#[derive(Clone, Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct SizeEvidence {
    /// Parts read.
    pub parts_read: usize,
    /// Of these, parts without some reading.
    pub without_reading: usize,
    /// Distance of neighbouring samples, in shares of the range of each number.
    pub sample_step: f64,
    /// Searches started.
    pub starts: usize,
    /// Searches that ended without deciding.
    pub undecided_searches: usize,
    /// Largest difference between solver and forward question, in shares of what counts as a miss.
    pub largest_difference: Option<f64>,
    /// What "all solutions" means here, and how one could be missed.
    pub completeness: String,
    /// Work done by the solver; forward questions count their own.
    pub work: Work,
}
