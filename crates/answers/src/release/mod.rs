//! Let go of the inverted part: when does it snap, how fast, what does it do then?

pub mod curves;
pub mod report;
