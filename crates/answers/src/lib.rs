//! Questions to answers, with evidence.
//!
//! A [`Subject`] (a part and the numbers that describe it) goes in, a report goes out; `scene` is the one
//! place that picks the discretisation.

#[cfg(test)]
mod api;
pub mod beforehand;
mod branch;
mod draws;
mod eversion;
pub mod explain;
pub mod film;
pub mod gauge;
pub mod heat;
mod many;
pub mod map;
mod margin;
pub mod modes;
pub mod poke;
pub mod refuse;
pub mod release;
pub mod report;
mod ripples;
mod scene;
pub mod size;
pub mod spread;
mod state;
pub mod states;
mod subject;
mod threshold;
pub mod trade;
pub mod turning;
mod verdict;
mod waiting;

pub use many::{Watch, each};
pub use poke::{load_or_pole, poke, poke_with_film};
pub use subject::{Given, Subject};
pub use verdict::{Cells, Detail, STRAIN_WARNING, THIN_LIMIT, THIN_WARNING, verdict, verdict_with_film};
