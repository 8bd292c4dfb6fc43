//! What `--out DIR` writes: the answer, tables as CSV and Parquet, figures as SVG and PNG; and small parts of tables.

use std::fs;
use std::path::Path;

use calotte_figures::Figure;
use calotte_runs::{Column, Kind, Table, Value};
use serde::Serialize;

use crate::files;

/// Pixels of the PNG per point of the drawing: 300 a inch.
pub(crate) const PNG_SCALE: f64 = 300.0 / 96.0;

/// Makes the folder and writes `answer.json` into it.
pub(crate) fn answer(dir: &Path, answer: &impl Serialize) -> Result<(), String> {
    fs::create_dir_all(dir).map_err(|e| e.to_string())?;
    let json = serde_json::to_vec_pretty(answer).map_err(|e| e.to_string())?;
    files::write(&dir.join("answer.json"), &json).map_err(|e| e.to_string())
}

/// Writes a table as CSV and as Parquet.
pub(crate) fn table(dir: &Path, name: &str, table: &Table) -> Result<(), String> {
    files::write(&dir.join(format!("{name}.csv")), &table.to_csv()).map_err(|e| e.to_string())?;
    let parquet = table.to_parquet().map_err(|e| e.to_string())?;
    files::write(&dir.join(format!("{name}.parquet")), &parquet).map_err(|e| e.to_string())
}

/// Writes figures as SVG and as PNG.
pub(crate) fn figures(dir: &Path, figures: impl IntoIterator<Item = Figure>) -> Result<(), String> {
    for f in figures {
        files::write(&dir.join(format!("{}.svg", f.name)), f.svg.as_bytes()).map_err(|e| e.to_string())?;
        let png = calotte_figures::png(&f.svg, PNG_SCALE).map_err(|e| e.to_string())?;
        files::write(&dir.join(format!("{}.png", f.name)), &png).map_err(|e| e.to_string())?;
    }
    Ok(())
}

/// A column of a table.
pub(crate) fn column(name: &str, unit: &str, about: &str, kind: Kind) -> Column {
    Column { name: name.to_owned(), unit: unit.to_owned(), about: about.to_owned(), kind }
}

/// A number, or a gap.
pub(crate) fn number(v: Option<f64>) -> Value {
    v.map_or(Value::Missing, Value::Number)
}
