//! The answer of a bench file as data, in SI units.

use serde::Serialize;

use super::bend::StripShape;
use super::combine::Combined;
use super::estimate::Estimate;
use super::hard::HardnessMaps;
use super::relax::MemoryEstimate;
use super::thick::ThicknessMap;

/// What the tests of a bench file say.
#[derive(Clone, Debug, Serialize)]
pub struct BenchReport {
    /// Version of the layout.
    pub schema_version: u32,
    /// Title of the file.
    pub title: String,
    /// `answered`, or `doubtful`: `doubts` say why.
    pub outcome: &'static str,
    /// Reasons to doubt.
    pub doubts: Vec<String>,
    /// Warnings that do not change the answer.
    pub warnings: Vec<String>,
    /// Young's modulus from each test, in the order of the file.
    pub estimates: Vec<Estimate>,
    /// All of them together; `None` without any.
    pub combined: Option<Combined>,
    /// Strips as computed.
    pub strips: Vec<StripShape>,
    /// Every hardness through every map.
    pub hardness: Vec<HardnessMaps>,
    /// Walls.
    pub thickness: Vec<ThicknessMap>,
    /// Relaxation or creep.
    pub memory: Option<MemoryEstimate>,
    /// Tables for a case file.
    pub case_block: String,
}
