//! The answers that a report tells, asked of the desk one after another.

use calotte_answers::map::report::MapReport;
use calotte_answers::map::{AxisSpec, Chart, Measured, compare};
use calotte_desk::{Refusal, Reply, Want, Watch, Written, ask, map};
use calotte_specimen::Case;
use serde_json::Value;

use crate::request::{Given, Plan, Request};

/// Reads measured specimens for the axes of a map.
pub type ReadSpecimens<'a> = &'a dyn Fn(&Given, &[AxisSpec; 2], &Case) -> Result<Vec<Measured>, String>;

/// Answers in the order of the plan.
///
/// # Errors
/// A [`Refusal`] where a question cannot be answered or the watch stopped it.
pub(crate) fn answers(
    case: &Case,
    plan: &Plan,
    request: &Request,
    specimens: ReadSpecimens<'_>,
    threads: usize,
    watch: &dyn Watch,
) -> Result<Vec<Reply>, Refusal> {
    let want = Want { film: false, figures: true, tables: false, threads, ..Want::default() };
    let count = plan.questions.len();
    let mut out = Vec::new();
    for (i, question) in plan.questions.iter().enumerate() {
        if !watch.progress(None, &format!("{question} ({} of {count})", i + 1)) {
            return Err(Refusal::Stopped);
        }
        let reply = if *question == map::NAME {
            drawn(case, request, specimens, want, watch)
        } else {
            ask(case, question, &Value::Null, want, watch)
        };
        out.push(reply?);
    }
    Ok(out)
}

/// The map over depth and thickness, with measured specimens where there are any.
fn drawn(
    case: &Case,
    request: &Request,
    read: ReadSpecimens<'_>,
    want: Want,
    watch: &dyn Watch,
) -> Result<Reply, Refusal> {
    let options = map::Options {
        x: Written::new("--x", map::USUAL_X),
        y: Written::new("--y", map::USUAL_Y),
        margins: ("--margin", map::USUAL_MARGINS.to_vec()),
        trip_loads: Vec::new(),
        snapping: false,
    };
    let asked = options.request(case)?;
    let measured = match &request.specimens {
        None => Vec::new(),
        Some(file) => read(file, &asked.axes, case)?,
    };
    let mut report: MapReport = map::compute(case, &asked, watch)?;
    if !measured.is_empty() {
        let (specimens, counts) = compare(&Chart::new(case, &asked.axes), &measured);
        (report.specimens, report.counts) = (specimens, Some(counts));
    }
    map::reply(case, &report, want)
}
