//! Every question by its name: whether it makes sense for a case, and its answer.

use calotte_quantity::nearest;
use calotte_specimen::Case;
use serde_json::Value;

use crate::reply::{Refusal, Reply, Want, Watch};
use crate::{look, verdict};

/// Questions beside `look`.
pub const QUESTIONS: [&str; 1] = [verdict::NAME];

fn unknown(question: &str) -> Refusal {
    let names = || QUESTIONS.into_iter().chain([look::NAME]);
    let help = nearest(question, names()).map_or_else(
        || format!("questions are {}", names().collect::<Vec<_>>().join(", ")),
        |near| format!("did you mean `{near}`?"),
    );
    Refusal::with_help(format!("there is no question `{question}`"), help)
}

/// Whether a question makes sense for a case, as far as its description tells.
///
/// # Errors
/// [`Refusal::Question`] with what speaks against it.
pub fn refuse(case: &Case, question: &str) -> Result<(), Refusal> {
    match question {
        look::NAME => Ok(()),
        verdict::NAME => verdict::refuse(case),
        other => Err(unknown(other)),
    }
}

/// Asks a question about a case, by its name and with its options as a JSON object (or null).
///
/// # Errors
/// [`Refusal::Question`] when there is no such question, it makes no sense for the case, or an option is unknown or wrong;
/// [`Refusal::Stopped`] when the watch stopped it.
pub fn ask(
    case: &Case,
    question: &str,
    options: &Value,
    want: Want,
    watch: &dyn Watch,
) -> Result<Reply, Refusal> {
    let _ = watch;
    match question {
        look::NAME => look::ask(case, options, want),
        verdict::NAME => verdict::ask(case, &verdict::options(options)?, want),
        other => Err(unknown(other)),
    }
}
