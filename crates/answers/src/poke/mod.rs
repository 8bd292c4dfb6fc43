//! What trips a part, and by which route?

pub(crate) mod path;
pub mod report;
pub(crate) mod setup;
