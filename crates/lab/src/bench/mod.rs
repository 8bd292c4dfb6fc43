//! Bench tests: what droops, pokes, ringing, hardness, callipers and relaxation say about a material and a wall.
//!
//! A bench file (TOML, `docs/bench-tests.md`) goes in; every test of it that is whole is worked out, whatever is wrong with the others.
//! A stated tolerance is two standard deviations.

mod bend;
mod combine;
mod estimate;
mod hard;
mod keys;
mod on_case;
mod read;
mod relax;
mod report;
mod strip;
#[cfg(test)]
mod tests;
mod thick;
mod work;

pub use bend::StripShape;
pub use combine::Combined;
pub use estimate::{BudgetRow, Estimate};
pub use hard::{HardnessMaps, MapValue};
pub use relax::{Evidence, MemoryEstimate, TermEstimate};
pub use report::BenchReport;
pub use strip::{Bent, Hung, Strip};
pub use thick::{Lopsided, ThicknessMap, WallPoint};
pub use work::bench;

/// A commented bench file to start from; its numbers are invented.
pub fn bench_template() -> &'static str {
    include_str!("template.toml")
}
