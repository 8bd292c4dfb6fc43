//! Questions to answers, with evidence.

pub mod report;
