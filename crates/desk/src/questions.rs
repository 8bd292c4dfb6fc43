//! Every question by its name: whether it makes sense for a case, and its answer.

use calotte_quantity::nearest;
use calotte_specimen::Case;
use serde_json::Value;

use crate::reply::{Refusal, Reply, Want, Watch};
use crate::{heat, look, map, modes, poke, release, size, spread, states, verdict};

/// Questions beside `look`.
pub const QUESTIONS: [&str; 9] = [
    verdict::NAME,
    states::NAME,
    poke::NAME,
    release::NAME,
    map::NAME,
    heat::NAME,
    modes::NAME,
    spread::NAME,
    size::NAME,
];

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
        look::NAME | modes::NAME => Ok(()),
        verdict::NAME => verdict::refuse(case),
        states::NAME => states::refuse(case),
        poke::NAME => poke::refuse(case),
        release::NAME => release::refuse(case),
        map::NAME => map::refuse(case),
        heat::NAME => heat::refuse(case),
        spread::NAME => spread::refuse(case),
        size::NAME => size::refuse(case),
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
    // Options are read before anything is computed; a question that cannot be stopped on its way can be before it begins.
    let begin = || if watch.progress(None, "computing") { Ok(()) } else { Err(Refusal::Stopped) };
    match question {
        look::NAME => look::ask(case, options, want),
        verdict::NAME => {
            let options = verdict::options(options)?;
            begin()?;
            verdict::ask(case, &options, want)
        }
        states::NAME => {
            states::options(options)?;
            begin()?;
            states::ask(case, want)
        }
        poke::NAME => {
            let options = poke::options(options)?;
            begin()?;
            poke::ask(case, options, want)
        }
        release::NAME => {
            let options = release::options(options)?;
            begin()?;
            let (whole, film) = release::compute(case, &options, want.threads, watch)?;
            release::reply(case, &whole, film, want)
        }
        map::NAME => {
            let options = map::options(options)?;
            map::refuse(case)?;
            let request = options.request(case)?;
            begin()?;
            map::reply(case, &map::compute(case, &request, watch)?, want)
        }
        heat::NAME => {
            let options = heat::options(options)?;
            begin()?;
            heat::ask(case, &options, want, watch)
        }
        modes::NAME => {
            let options = modes::options(options)?;
            begin()?;
            modes::ask(case, &options, want)
        }
        spread::NAME => {
            let options = spread::options(options)?;
            begin()?;
            spread::ask(case, &options, want, watch)
        }
        size::NAME => {
            let options = size::options(options)?;
            size::reply(case, &size::compute(case, &options, want.threads, watch)?, want)
        }
        other => Err(unknown(other)),
    }
}
