//! `heat`: at which temperatures does it trip and reset, and what moves them?

mod map;
mod sheet;
mod tables;

use std::ops::RangeInclusive;

use calotte_answers::beforehand::no_heat;
use calotte_answers::heat::report::{HeatMap, HeatOutcome, HeatReport, HeatSpread};
use calotte_answers::heat::{Branches, NoHeat};
use calotte_specimen::Case;
use serde::Serialize;
use serde_json::Value;

pub use map::{MapOptions, USUAL_GRID};

use crate::many::many;
use crate::options::Given;
use crate::provenance::with_provenance;
use crate::reply::{Refusal, Reply, Want, Watch};

/// Name of the question.
pub const NAME: &str = "heat";
/// How many parts may be drawn.
pub const DRAWS: RangeInclusive<i64> = 10..=1_000_000;

/// What is asked beside trip and reset.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// The spread over so many parts drawn from the tolerances of the case.
    pub spread: Option<u32>,
    /// Trip, reset and delta over depth and thickness.
    pub map: Option<MapOptions>,
}

/// The answer with what was asked for beside it.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(
    test,
    ts(
        type = "import(\"./HeatReport\").HeatReport & { spread: import(\"./HeatSpread\").HeatSpread | null, \
               map: import(\"./HeatMap\").HeatMap | null }"
    )
)]
pub struct HeatWhole {
    /// Trip and reset.
    #[serde(flatten)]
    pub heat: HeatReport,
    /// Spread of trip and reset.
    pub spread: Option<HeatSpread>,
    /// Trip and delta over depth and thickness.
    pub map: Option<HeatMap>,
}

impl From<NoHeat> for Refusal {
    fn from(no: NoHeat) -> Self {
        Self::question(no.0)
    }
}

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["spread", "map", "depth", "thickness", "grid"])?;
    Ok(Options { spread: given.count("spread", DRAWS)?.map(|n| n as u32), map: map::options(&given)? })
}

/// Why the question makes no sense for the case.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    no_heat(case.part(), &case.heat().unwrap_or_default()).map_or(Ok(()), |no| Err(no.into()))
}

/// Answers.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense, an option is wrong, or the watch stopped it.
pub fn ask(case: &Case, o: &Options, want: Want, watch: &dyn Watch) -> Result<Reply, Refusal> {
    refuse(case)?;
    let request = o.map.as_ref().map(|m| m.request(case)).transpose()?;
    let branches = Branches::of(case)?;
    let heat = branches.report();
    let spread = o.spread.map(|count| {
        let count = count as usize;
        many(watch, want.threads, "draws", count, |m| Ok(branches.spread(count, m)?))
    });
    let spread = spread.transpose()?;
    let map = request
        .map(|r| many(watch, want.threads, "map", r.size[0] * r.size[1], |m| Ok(branches.map(&r, m)?)));
    let whole = &HeatWhole { heat, spread, map: map.transpose()? };
    let doubted = whole.map.as_ref().is_some_and(|m| !m.doubts.is_empty());
    Ok(Reply {
        question: NAME,
        sheet: sheet::sheet(case, whole),
        report: with_provenance(case, whole)?,
        doubtful: doubted || whole.heat.outcome == HeatOutcome::Undecided,
        film: want.film.then(|| branches.film()),
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || figures(case, whole))
        } else {
            Vec::new()
        },
        tables: if want.tables { tables::all(case, whole) } else { Vec::new() },
    })
}

fn figures(case: &Case, whole: &HeatWhole) -> Vec<calotte_figures::Figure> {
    let mut figures = calotte_figures::heat_figures(&whole.heat);
    figures.extend(
        whole.spread.as_ref().and_then(|s| calotte_figures::heat_spread_figure(s, &whole.heat.title)),
    );
    figures.extend(whole.map.as_ref().and_then(|m| calotte_figures::heat_map_figure(m, &case.title)));
    figures
}
