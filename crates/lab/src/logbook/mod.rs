//! The logbook: specimens and trials beside theory.
//!
//! `read/` reads the format; `theory.rs` computes margins, loads and temperatures of the specimens, `table.rs` their waits;
//! `likelihood.rs` says how likely trials are, `chain.rs` and `posterior.rs` what they say about the numbers sought; `compare.rs`,
//! `chances.rs` and `score.rs` set trials and theory side by side; `next.rs` and `suggest.rs` look for the specimen that teaches
//! most. `answer.rs` conducts, `report.rs` is the data, `words.rs` the sentences.

mod answer;
mod belief;
mod chain;
mod chances;
mod compare;
mod curve;
mod likelihood;
mod next;
mod posterior;
mod read;
mod record;
pub mod report;
mod score;
mod suggest;
mod table;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_invented;
#[cfg(test)]
mod tests_rank;
#[cfg(test)]
mod tests_read;
mod theory;
mod words;

pub use answer::{Ask, logbook};
pub use belief::{Prior, Unknown};
pub use likelihood::Assumed;
pub use read::{Header, Sheet, read_header, read_logbook};
pub use record::{Figure, Logbook, NextRange, Outcome, Settings, Specimen, Trial};
pub use theory::Heed;
pub use words::shown;
