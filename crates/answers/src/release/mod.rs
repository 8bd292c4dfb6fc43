//! Let go of the inverted part: when does it snap, how fast, what does it do then?

mod answer;
pub mod curves;
mod read;
pub mod report;
mod setup;
mod track;
mod wait;
mod words;

pub use answer::{Ask, release};
pub use setup::Fault;
