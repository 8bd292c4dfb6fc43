//! What can be said of a part before any mechanics: its numbers, which questions make sense, how it is pushed, what to mind.

use calotte_specimen::{Load, Part};

use crate::heat::words::CAUTION;
use crate::poke::setup::Setup;
use crate::report::PartSummary;
use crate::subject::Subject;
use crate::verdict::limits_of;

pub use crate::heat::setup::no_heat;
pub use crate::release::no_release;
pub use crate::verdict::summarise;

/// A load in words, with the state that it starts from and what is set.
pub fn load_words(part: &Part, load: &Load) -> String {
    let l = Setup::new(part, load).summary();
    format!("{}; from the {} state, {} set", l.words, l.from, l.control)
}

/// What to mind, whatever is asked: limits of the theory that the part goes beyond, and what a computed temperature is not.
pub fn cautions(subject: &dyn Subject, summary: &PartSummary) -> Vec<String> {
    let beyond = limits_of(summary, None, None).into_iter().filter(|l| !l.met);
    let mut out: Vec<String> = beyond
        .map(|l| {
            format!(
                "{} is {}, beyond {}: {}.",
                l.name,
                crate::explain::digits(l.value, 3),
                l.limit,
                l.consequence
            )
        })
        .collect();
    if subject.part().wall.layers().is_some() {
        out.push(CAUTION.to_owned());
    }
    out
}
