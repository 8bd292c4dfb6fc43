//! Reading a logbook: header, tables, and what contradicts itself in them.
//!
//! A fault of the header, or of the first line of a table, leaves no logbook. A fault of a line leaves that line out; all others
//! are kept.

mod check;
mod columns;
mod header;
mod rows;

pub use header::{Header, read_header};
pub use rows::{Sheet, read_logbook};
