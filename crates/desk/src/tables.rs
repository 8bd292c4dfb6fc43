//! Small parts of tables.

use calotte_runs::{Column, Kind, Value};

/// A column of a table.
pub fn column(name: &str, unit: &str, about: &str, kind: Kind) -> Column {
    Column { name: name.to_owned(), unit: unit.to_owned(), about: about.to_owned(), kind }
}

/// A number, or a gap.
pub fn number(v: Option<f64>) -> Value {
    v.map_or(Value::Missing, Value::Number)
}
