//! What `--out DIR` writes: the answer, tables as CSV and Parquet, figures as SVG and PNG.

use std::fs;
use std::path::Path;

use calotte_desk::Reply;
use calotte_figures::Figure;
use calotte_runs::Table;
use serde::Serialize;

use crate::files;

/// Pixels of the PNG per point of the drawing: 300 a inch.
const PNG_SCALE: f64 = 300.0 / 96.0;

/// Makes the folder and writes an answer into it: the report, tables, figures.
pub(crate) fn reply(dir: &Path, reply: &Reply) -> Result<(), String> {
    answer(dir, &reply.report)?;
    for (name, content) in &reply.tables {
        table(dir, name, content)?;
    }
    figures(dir, &reply.figures)
}

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
pub(crate) fn figures(dir: &Path, figures: &[Figure]) -> Result<(), String> {
    figures.iter().try_for_each(|f| picture(dir, f.name, &f.svg))
}

/// Writes one figure as SVG and as PNG.
pub(crate) fn picture(dir: &Path, name: &str, svg: &str) -> Result<(), String> {
    files::write(&dir.join(format!("{name}.svg")), svg.as_bytes()).map_err(|e| e.to_string())?;
    let png = calotte_figures::png(svg, PNG_SCALE).map_err(|e| e.to_string())?;
    files::write(&dir.join(format!("{name}.png")), &png).map_err(|e| e.to_string())
}
