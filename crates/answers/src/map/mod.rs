//! How thresholds run over two numbers of a case.

pub mod report;
