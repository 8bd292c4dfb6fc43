//! `spread`: how many parts of a batch stay, wait, return and lie in their windows, and which tolerance matters most.

mod read;
mod sheet;
mod tables;

use std::ops::RangeInclusive;

use calotte_answers::spread::report::{BatchOutcome, BatchReport};
use calotte_answers::spread::{self as answer, Draws, Request, STEPS};
use calotte_specimen::Case;
use serde_json::Value;

use crate::many::many;
use crate::options::{Given, Written};
use crate::provenance::with_provenance;
use crate::reply::{Refusal, Reply, Want, Watch};

pub use read::window;

/// Name of the question.
pub const NAME: &str = "spread";
/// How many parts may be drawn.
pub const COUNT: RangeInclusive<i64> = 100..=1_000_000;
/// How many are drawn where nothing is said.
pub const USUAL_COUNT: u32 = 100_000;
/// Seed where nothing is said.
pub const USUAL_SEED: u64 = 1;

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// Parts to draw.
    pub count: u32,
    /// Seed of the draws.
    pub seed: u64,
    /// `KEY=NAME` of a distribution, or `KEY=VALUE;VALUE;…` measured.
    pub distributions: Vec<Written>,
    /// `GAUGE=FROM..TO`, either end open.
    pub windows: Vec<Written>,
    /// `KEY,KEY=CORRELATION`.
    pub together: Vec<Written>,
    /// Share of good parts wanted, `99%`.
    pub want: Option<Written>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            count: USUAL_COUNT,
            seed: USUAL_SEED,
            distributions: Vec::new(),
            windows: Vec::new(),
            together: Vec::new(),
            want: None,
        }
    }
}

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["count", "seed", "distribution", "window", "together", "want"])?;
    Ok(Options {
        count: given.count("count", COUNT)?.map_or(USUAL_COUNT, |n| n as u32),
        seed: given.count("seed", 0..=i64::MAX)?.unwrap_or(USUAL_SEED),
        distributions: given.texts("distribution")?.unwrap_or_default(),
        windows: given.texts("window")?.unwrap_or_default(),
        together: given.texts("together")?.unwrap_or_default(),
        want: given.text("want")?,
    })
}

/// Why the question makes no sense for the case, whatever is asked.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    let any = case.inputs().iter().any(|i| i.half_width.is_some_and(|h| h > 0.0));
    if any { Ok(()) } else { Err(Refusal::question(answer::NO_TOLERANCE)) }
}

/// Answers.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense, an option is wrong, or the watch stopped it.
pub fn ask(case: &Case, o: &Options, want: Want, watch: &dyn Watch) -> Result<Reply, Refusal> {
    let request = Request {
        count: o.count as usize,
        seed: o.seed,
        laws: o.distributions.iter().map(|d| read::law(d, case)).collect::<Result<_, _>>()?,
        together: o.together.iter().map(|t| read::together(t, case)).collect::<Result<_, _>>()?,
        windows: o.windows.iter().map(|w| window(w, case)).collect::<Result<_, _>>()?,
        want: o.want.as_ref().map(read::share).transpose()?,
    };
    if request.laws.is_empty() {
        refuse(case)?;
    }
    let (report, draws) = many(watch, want.threads, "parts", STEPS, |m| {
        answer::spread(case, &request, m).map_err(Refusal::question)
    })?;
    reply(case, &report, &draws, want)
}

fn reply(case: &Case, report: &BatchReport, draws: &Draws, want: Want) -> Result<Reply, Refusal> {
    Ok(Reply {
        question: NAME,
        sheet: sheet::sheet(case, report),
        report: with_provenance(case, report)?,
        doubtful: report.outcome == BatchOutcome::Undecided,
        film: None,
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || calotte_figures::batch_figures(report))
        } else {
            Vec::new()
        },
        tables: if want.tables { tables::all(case, report, draws) } else { Vec::new() },
    })
}
