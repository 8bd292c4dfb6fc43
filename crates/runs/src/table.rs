//! A table of results: typed columns with units, rows, and where they come from.

/// What the values of a column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A real number.
    Number,
    /// A whole number.
    Count,
    /// Words.
    Text,
    /// Yes or no.
    Flag,
}

impl Kind {
    /// The kind in one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Number => "number",
            Self::Count => "count",
            Self::Text => "text",
            Self::Flag => "flag",
        }
    }
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Name with its unit as suffix, such as `thickness_m`; unique in its table.
    pub name: String,
    /// Unit, such as `m`; `1` for pure numbers, nothing for text and flags.
    pub unit: String,
    /// One sentence on what the column holds.
    pub about: String,
    /// What its values are.
    pub kind: Kind,
}

/// One cell. Equality is that of `f64` for numbers: a NaN equals nothing.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A real number; every bit is kept, those of a NaN too.
    Number(f64),
    /// A whole number.
    Count(i64),
    /// Words. An empty text and a missing value look alike in CSV, not in Parquet.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// Nothing, in a column of any kind.
    Missing,
}

impl Value {
    /// What it is; nothing for a missing value, which fits any column.
    pub(crate) fn kind(&self) -> Option<Kind> {
        match self {
            Self::Number(_) => Some(Kind::Number),
            Self::Count(_) => Some(Kind::Count),
            Self::Text(_) => Some(Kind::Text),
            Self::Flag(_) => Some(Kind::Flag),
            Self::Missing => None,
        }
    }
}

/// Rows under typed columns, with their provenance.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// The columns, in order.
    pub columns: Vec<Column>,
    /// The rows; each has one value per column.
    pub rows: Vec<Vec<Value>>,
    /// What produced the table, as keys and values in order.
    pub provenance: Vec<(String, String)>,
}

/// What keeps `rows` from standing under `columns`, in words; the row is counted from 0.
pub(crate) fn misfit(columns: &[Column], rows: &[Vec<Value>]) -> Option<String> {
    for (r, row) in rows.iter().enumerate() {
        if row.len() != columns.len() {
            return Some(format!("row {r} has {} values for {} columns", row.len(), columns.len()));
        }
        for (column, value) in columns.iter().zip(row) {
            if let Some(kind) = value.kind()
                && kind != column.kind
            {
                let (is, due) = (kind.word(), column.kind.word());
                return Some(format!("row {r} has a {is} in column `{}` of kind {due}", column.name));
            }
        }
    }
    None
}
