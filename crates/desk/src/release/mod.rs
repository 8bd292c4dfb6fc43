//! `release`: let go of the inverted part; when does it snap, how fast, what does it do then?

mod sheet;
mod tables;

use std::ops::RangeInclusive;

use calotte_answers::beforehand::no_release;
use calotte_answers::film::Film;
use calotte_answers::release::curves::{Slowing, WaitCurve, WaitSpread};
use calotte_answers::release::report::{Outcome, ReleaseReport};
use calotte_answers::release::{self as answer, Fault};
use calotte_answers::{explain, refuse};
use calotte_quantity::{Dimension, Quantity};
use calotte_specimen::Case;
use serde::Serialize;
use serde_json::Value;

use crate::axes::ends;
use crate::many::many;
use crate::options::{Given, Written, misread};
use crate::provenance::with_provenance;
use crate::reply::{Refusal, Reply, Want, Watch};

/// Name of the question.
pub const NAME: &str = "release";
/// Steps allowed where nothing is said.
pub const USUAL_STEPS: u64 = 200_000;
/// How many hold times may be asked for.
pub const HOLDS: RangeInclusive<i64> = 2..=10_000;
/// How many are taken where nothing is said.
pub const USUAL_HOLDS: u32 = 32;
/// How many parts may be drawn.
pub const DRAWS: RangeInclusive<i64> = 10..=1_000_000;

/// Distances from the threshold over which slowing down is told.
const NEAR: [f64; 2] = [1e-6, 0.1];
/// Points of it.
const NEAR_POINTS: usize = 21;

/// What is to be followed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Options {
    /// Time followed after letting go, `80 ms`; by default through the snap and six periods of ringing.
    pub until: Option<Written>,
    /// Follow the flight until the part has landed.
    pub landing: bool,
    /// Steps allowed.
    pub steps: u64,
    /// Also the wait against the hold time over this range, `0.1s..100s`.
    pub hold: Option<Written>,
    /// Hold times in that range.
    pub count: u32,
    /// Also the spread of the wait over so many parts drawn from the tolerances of the case.
    pub spread: Option<u32>,
    /// Also how delay and frequency slow down near the threshold.
    pub slowing: bool,
}

/// The release alone, followed as long as is usual.
impl Default for Options {
    fn default() -> Self {
        Self {
            until: None,
            landing: false,
            steps: USUAL_STEPS,
            hold: None,
            count: USUAL_HOLDS,
            spread: None,
            slowing: false,
        }
    }
}

/// The answer with what was asked for beside it.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[cfg_attr(
    test,
    ts(
        type = "import(\"./ReleaseReport\").ReleaseReport & { wait_curve: import(\"./WaitCurve\").WaitCurve | null, \
               spread: import(\"./WaitSpread\").WaitSpread | null, slowing: import(\"./Slowing\").Slowing | null }"
    )
)]
pub struct ReleaseWhole {
    /// The motion.
    #[serde(flatten)]
    pub release: ReleaseReport,
    /// Wait against hold time.
    pub wait_curve: Option<WaitCurve>,
    /// Spread of the wait.
    pub spread: Option<WaitSpread>,
    /// Slowing down near the threshold.
    pub slowing: Option<Slowing>,
}

impl From<Fault> for Refusal {
    fn from(f: Fault) -> Self {
        Self::question(f.to_string())
    }
}

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let known = ["until", "landing", "steps", "hold", "count", "spread", "slowing"];
    let given = Given::new(NAME, value, &known)?;
    Ok(Options {
        until: given.text("until")?,
        landing: given.flag("landing", false)?,
        steps: given.count("steps", 0..=i64::MAX)?.unwrap_or(USUAL_STEPS),
        hold: given.text("hold")?,
        count: given.count("count", HOLDS)?.map_or(USUAL_HOLDS, |n| n as u32),
        spread: given.count("spread", DRAWS)?.map(|n| n as u32),
        slowing: given.flag("slowing", false)?,
    })
}

/// Why a part is not turned inside out as a whole.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse_to_turn(case: &Case) -> Result<(), Refusal> {
    if let Some(why) = refuse::no_rim(case.part()) {
        return Err(Refusal::question(why));
    }
    refuse::turns_in_pieces(case.part()).map_or(Ok(()), |why| Err(Refusal::question(why)))
}

/// Why the question makes no sense for the case.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    refuse_to_turn(case)?;
    no_release(case.part(), case.motion()).map_or(Ok(()), |fault| Err(fault.into()))
}

fn until(written: &Written) -> Result<f64, Refusal> {
    let place = format!("{} {}", written.option, written.text);
    let read = Quantity::parse(&written.text, Dimension::Time).map_err(|e| misread(&place, &e))?;
    if read.value > 0.0 && read.value.is_finite() {
        return Ok(read.value);
    }
    Err(Refusal::question(format!("{place}: a time is greater than 0, for example `80 ms`")))
}

/// Computes the answer, with its shapes.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense, an option is wrong, or the watch stopped it.
pub fn compute(
    case: &Case,
    o: &Options,
    threads: usize,
    watch: &dyn Watch,
) -> Result<(ReleaseWhole, Film), Refusal> {
    refuse_to_turn(case)?;
    let until = o.until.as_ref().map(until).transpose()?;
    let holds = o.hold.as_ref().map(|h| ends(h, Dimension::Time)).transpose()?;
    let ask = answer::Ask { until, landing: o.landing, steps: o.steps, ..answer::Ask::default() };
    let mut stopped = false;
    let (mut release, film) = answer::release_with_film(case, case.motion(), &ask, &mut |t| {
        stopped |= !watch.progress(None, &format!("marching, {}", explain::duration(t)));
        !stopped
    })?;
    if stopped {
        return Err(Refusal::Stopped);
    }
    if !case.says_motion() {
        release.warnings.insert(
            0,
            "The case has none of the tables [memory], [hold] and [surroundings]: the material is taken as elastic, and the part \
             let go at once at its inverted equilibrium (or in the shape of its threshold), floating."
                .into(),
        );
    }
    let wait_curve = holds.map(|range| {
        let count = o.count as usize;
        many(watch, threads, "holds", count, |m| Ok(answer::wait_curve(case, range, count, m)?))
    });
    let wait_curve = wait_curve.transpose()?;
    let spread = o.spread.map(|count| {
        let count = count as usize;
        many(watch, threads, "draws", count, |m| Ok(answer::wait_spread(case, count, m)?))
    });
    let spread = spread.transpose()?;
    let slowing = o.slowing.then(|| {
        many(watch, threads, "distances", 3 * NEAR_POINTS, |m| {
            Ok(answer::slowing(case, NEAR, NEAR_POINTS, m)?)
        })
    });
    Ok((ReleaseWhole { release, wait_curve, spread, slowing: slowing.transpose()? }, film))
}

/// The answer as it is given.
///
/// # Errors
/// [`Refusal::Failed`] when the report cannot be told as JSON, which none does.
pub fn reply(case: &Case, whole: &ReleaseWhole, film: Film, want: Want) -> Result<Reply, Refusal> {
    Ok(Reply {
        question: NAME,
        sheet: sheet::sheet(whole),
        report: with_provenance(case, whole)?,
        doubtful: whole.release.outcome == Outcome::Undecided,
        film: want.film.then_some(film),
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || figures(whole))
        } else {
            Vec::new()
        },
        tables: if want.tables { tables::all(case, whole) } else { Vec::new() },
    })
}

fn figures(whole: &ReleaseWhole) -> Vec<calotte_figures::Figure> {
    let title = &whole.release.title;
    let mut figures = calotte_figures::release_figures(&whole.release);
    figures.extend(whole.wait_curve.as_ref().and_then(|c| calotte_figures::wait_figure(c, title)));
    figures.extend(whole.spread.as_ref().and_then(|s| calotte_figures::spread_figure(s, title)));
    figures.extend(whole.slowing.as_ref().and_then(|s| calotte_figures::slowing_figure(s, title)));
    figures
}
