//! A question to the desk.

use std::sync::Arc;

use calotte_desk::{Refusal, Want, ask as at_the_desk};
use calotte_figures::Style;
use calotte_runs::cores;
use calotte_specimen::Case;
use pyo3::prelude::*;

use crate::failure::{FailedError, QuestionError, refused};
use crate::told::Reply;
use crate::watched::watched;

pub(crate) fn want(figures: bool, tables: bool, film: bool, threads: usize) -> Want {
    Want { film, figures, style: Style::default(), tables, threads: cores(threads) }
}

/// Asks; the lock is released, signals are heeded.
pub(crate) fn ask(
    py: Python<'_>,
    case: &Arc<Case>,
    question: String,
    options: &str,
    want: Want,
    progress: Option<&Bound<'_, PyAny>>,
) -> PyResult<Reply> {
    let options = serde_json::from_str(options)
        .map_err(|e| QuestionError::new_err((format!("the options are no JSON: {e}"), None::<String>)))?;
    let case = Arc::clone(case);
    let reply = watched(py, progress, move |watch| {
        let reply = at_the_desk(&case, &question, &options, want, watch)?;
        Reply::new(reply).map_err(|e| Refusal::Failed { says: e.to_string() })
    })?;
    match reply {
        Ok(reply) => Ok(reply),
        // Only the wait itself stops the work, and then raises what stopped it.
        Err(Refusal::Stopped) => Err(FailedError::new_err("stopped")),
        Err(refusal) => Err(refused(&refusal)),
    }
}
