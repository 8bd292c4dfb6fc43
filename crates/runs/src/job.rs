//! What is to be computed, as data.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::failure::Failure;
use crate::table::Column;

/// A run of many points.
#[derive(Clone, Debug)]
pub struct Job {
    /// Stem of the files, such as `grid`: `grid.run/`, `grid.csv`, `grid.parquet`.
    pub name: String,
    /// Text that changes whenever the result of any point could change: version of the program, digest of
    /// the inputs, settings. One matter per line makes for the best words when two runs differ.
    pub identity: String,
    /// The columns of the result. Name, unit, kind and order belong to the identity of the run.
    pub columns: Vec<Column>,
    /// How many points there are; also the rows of the result.
    pub points: u64,
    /// Points of one chunk (the last may have fewer): what is computed by one call and lost by a kill.
    /// Belongs to the identity of the run, so it should not depend on the machine.
    pub chunk: u64,
    /// Written into the tables. Does not belong to the identity: a resumed run writes its own.
    pub provenance: Vec<(String, String)>,
}

impl Job {
    /// How many chunks there are.
    pub(crate) fn chunks(&self) -> u64 {
        self.points.div_ceil(self.chunk)
    }

    /// The points of one chunk.
    pub(crate) fn range(&self, chunk: u64) -> Range<u64> {
        let start = chunk.saturating_mul(self.chunk);
        start.min(self.points)..start.saturating_add(self.chunk).min(self.points)
    }

    /// Whether it can be run at all.
    pub(crate) fn check(&self) -> Result<(), Failure> {
        let bad = |what: String| Err(Failure::BadJob(what));
        let plain = |c: char| c.is_alphanumeric() || "-_.".contains(c);
        if self.name.is_empty() || self.name.starts_with('.') || !self.name.chars().all(plain) {
            return bad(format!("`{}` is no stem of a file name", self.name));
        }
        if self.chunk == 0 {
            return bad("chunks hold no points".into());
        }
        if self.columns.is_empty() {
            return bad("there are no columns".into());
        }
        let mut names = BTreeSet::new();
        for c in &self.columns {
            if c.name.is_empty() {
                return bad("a column has no name".into());
            }
            if !names.insert(&c.name) {
                return bad(format!("two columns are named `{}`", c.name));
            }
        }
        Ok(())
    }
}
