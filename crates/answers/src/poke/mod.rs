//! What trips a part, and by which route?

pub mod report;
