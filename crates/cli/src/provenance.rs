//! What produced an answer about a table alone.

use calotte_desk::{PROGRAM, VERSION};
use serde::Serialize;

/// An answer about a table alone, with its provenance.
#[derive(Serialize)]
pub(crate) struct TableAnswer<'a, R> {
    provenance: TableProvenance,
    #[serde(flatten)]
    report: &'a R,
}

#[derive(Serialize)]
struct TableProvenance {
    program: &'static str,
    version: &'static str,
    table: String,
    table_digest: String,
}

impl<'a, R> TableAnswer<'a, R> {
    pub(crate) fn new(table: &str, digest: &str, report: &'a R) -> Self {
        let provenance = TableProvenance {
            program: PROGRAM,
            version: VERSION,
            table: table.to_owned(),
            table_digest: digest.to_owned(),
        };
        Self { provenance, report }
    }
}
