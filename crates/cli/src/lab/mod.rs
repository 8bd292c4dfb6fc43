//! Commands about measurements.

pub(crate) mod bench;
mod bench_words;
