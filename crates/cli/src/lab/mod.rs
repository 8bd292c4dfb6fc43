//! Commands of the lab: measurements, and invented ones to try a set-up with.

pub(crate) mod bench;
mod bench_words;
pub(crate) mod clip;
pub(crate) mod logbook;
pub(crate) mod rehearse;
mod rehearse_clip;
mod rehearse_side;
pub(crate) mod side;
mod side_words;
