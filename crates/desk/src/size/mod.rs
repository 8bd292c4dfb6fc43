//! `size`: which sizes give what is wished?

mod sheet;
mod tables;
mod vary;
mod wish;
mod words;

use std::ops::RangeInclusive;

use calotte_answers::size::report::{SizeOutcome, SizeReport};
use calotte_answers::size::{Ask, MOST_VARIED, Wanted, size};
use calotte_specimen::Case;
use serde_json::Value;

use crate::options::{Given, Written};
use crate::provenance::with_provenance;
use crate::reply::{Refusal, Reply, Want, Watch};

/// Name of the question.
pub const NAME: &str = "size";
/// How many parts may be drawn to check a wish about a share of a batch.
pub const DRAWS: RangeInclusive<i64> = 100..=100_000;
/// How many are drawn where nothing is said.
pub const USUAL_DRAWS: u32 = 1000;

/// What is wished, and what may change.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// Numbers that may change: `wall.thickness=0.5mm..4mm`.
    pub vary: Vec<Written>,
    /// Wishes in words.
    pub wishes: Vec<Written>,
    /// Parts drawn to check a wish about a share of a batch.
    pub draws: Option<u32>,
}

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["vary", "wish", "draws"])?;
    Ok(Options {
        vary: given.texts("vary")?.unwrap_or_default(),
        wishes: given.texts("wish")?.unwrap_or_default(),
        draws: given.count("draws", DRAWS)?.map(|n| n as u32),
    })
}

/// Why the question makes no sense for the case: it has no number to change.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    if case.inputs().is_empty() {
        return Err(Refusal::question("the case has no number that could be changed"));
    }
    Ok(())
}

/// The question as asked of a case, with notes about what was taken where nothing is said.
fn read(case: &Case, o: &Options) -> Result<(Ask, Vec<String>), Refusal> {
    let name = |list: &[Written], usual: &'static str| list.first().map_or(usual, |w| w.option);
    if o.vary.is_empty() {
        let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
        return Err(Refusal::with_help(
            "nothing may change, so nothing can be sized",
            format!(
                "give one to {MOST_VARIED} numbers with limits, for example `--vary {}=FROM..TO`; numbers of this case: {}",
                keys.first().unwrap_or(&"KEY"),
                keys.join(", ")
            ),
        ));
    }
    if o.wishes.is_empty() {
        return Err(Refusal::with_help("nothing is wished", wish::EXAMPLES));
    }
    if o.vary.len() > MOST_VARIED {
        return Err(Refusal::question(format!(
            "{}: {} numbers may change; at most {MOST_VARIED} can",
            name(&o.vary, "vary"),
            o.vary.len()
        )));
    }
    let mut all: Vec<calotte_answers::size::Varied> = Vec::new();
    for w in &o.vary {
        let one = vary::read(w, case)?;
        if all.iter().any(|v| v.given == one.given) {
            return Err(Refusal::question(format!("{} {}: `{}` is given twice", w.option, w.text, one.key)));
        }
        all.push(one);
    }
    let mut notes = Vec::new();
    let mut wishes = Vec::new();
    for w in &o.wishes {
        let (wish, note) = wish::read(w, case, &all)?;
        notes.extend(note);
        wishes.push(wish);
    }
    let best = wishes.iter().filter(|w| matches!(w.wanted, Wanted::Smallest | Wanted::Largest)).count();
    if best > 2 {
        return Err(Refusal::with_help(
            format!("{best} wishes ask for the smallest or largest; at most two can compete"),
            "turn the others into limits, for example `margin >= 10 %`",
        ));
    }
    Ok((Ask { vary: all, wishes, draws: o.draws.unwrap_or(USUAL_DRAWS) as usize }, notes))
}

/// Computes the answer.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense, an option is wrong, or the watch stopped it.
pub fn compute(case: &Case, o: &Options, threads: usize, watch: &dyn Watch) -> Result<SizeReport, Refusal> {
    refuse(case)?;
    let (ask, notes) = read(case, o)?;
    if !watch.progress(None, "setting up") {
        return Err(Refusal::Stopped);
    }
    let stop = std::sync::atomic::AtomicBool::new(false);
    let progress = |done: usize| {
        if !watch.progress(None, &format!("{done} parts read")) {
            stop.store(true, std::sync::atomic::Ordering::Relaxed);
        }
    };
    let many = calotte_answers::release::Watch { threads: threads.max(1), stop: &stop, progress: &progress };
    let mut report = size(case, &ask, &many)?.ok_or(Refusal::Stopped)?;
    report.warnings.splice(0..0, notes);
    // A hold that a wish states belongs to the part that meets it.
    let held: Vec<(usize, f64)> = case
        .inputs()
        .iter()
        .position(|i| i.key == "hold.time")
        .zip(ask.wishes.iter().find_map(|w| w.hold))
        .into_iter()
        .collect();
    let mut unwritten = None;
    for s in &mut report.solutions {
        let changes: Vec<(usize, f64)> =
            ask.vary.iter().zip(&s.values_si).map(|(v, x)| (v.given, *x)).chain(held.clone()).collect();
        match case.rewritten(&changes) {
            Ok(text) => s.case_toml = Some(text),
            Err(why) => unwritten = Some(why),
        }
    }
    report.warnings.extend(unwritten.map(|why| format!("No case file is written for the solutions: {why}.")));
    Ok(report)
}

/// The answer as it is given.
///
/// # Errors
/// [`Refusal::Failed`] when the report cannot be told as JSON, which none does.
pub fn reply(case: &Case, report: &SizeReport, want: Want) -> Result<Reply, Refusal> {
    Ok(Reply {
        question: NAME,
        sheet: sheet::sheet(report),
        report: with_provenance(case, report)?,
        doubtful: report.outcome == SizeOutcome::Undecided,
        film: None,
        figures: if want.figures { calotte_figures::size_figures(report) } else { Vec::new() },
        tables: if want.tables { tables::all(case, report) } else { Vec::new() },
    })
}
