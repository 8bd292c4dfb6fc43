//! What `--out DIR` writes: the answer, tables as CSV and Parquet, figures as SVG, PNG and PDF with their numbers.

use std::fs;
use std::path::Path;

use calotte_desk::Reply;
use calotte_figures::{Figure, laid_out};
use calotte_runs::Table;
use serde::Serialize;

use crate::looks::{Kind, Looks, left_out};
use crate::{files, paint};

/// Makes the folder and writes an answer into it: the report, tables, figures.
pub(crate) fn reply(dir: &Path, reply: &Reply, looks: &Looks) -> Result<(), String> {
    answer(dir, &reply.report)?;
    for (name, content) in &reply.tables {
        table(dir, name, content)?;
    }
    figures(dir, &reply.figures, looks)
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

/// Writes a picture of a page as SVG and as PNG, 300 dots an inch.
pub(crate) fn picture(dir: &Path, name: &str, svg: &str) -> Result<(), String> {
    files::write(&dir.join(format!("{name}.svg")), svg.as_bytes()).map_err(|e| e.to_string())?;
    let png =
        calotte_figures::png(svg, calotte_figures::Style::PAGE.png_scale()).map_err(|e| e.to_string())?;
    files::write(&dir.join(format!("{name}.png")), &png).map_err(|e| e.to_string())
}

/// Draws figures in the style asked for and writes them.
pub(crate) fn draw(dir: &Path, looks: &Looks, draw: impl Fn() -> Vec<Figure>) -> Result<(), String> {
    figures(dir, &laid_out(&looks.style(), draw), looks)
}

/// Writes figures as the files asked for. One that cannot be laid out is left out, with a word on what would do.
fn figures(dir: &Path, figures: &[Figure], looks: &Looks) -> Result<(), String> {
    for f in figures {
        if let Some(misfit) = &f.misfit {
            paint::complain(&format!("{misfit}\n  help: `--figure-width` and `--figure-font` change both"));
            left_out();
            continue;
        }
        let write = |ending: &str, bytes: &[u8]| {
            files::write(&dir.join(format!("{}.{ending}", f.name)), bytes).map_err(|e| e.to_string())
        };
        if looks.wants(Kind::Svg) {
            write("svg", f.svg.as_bytes())?;
        }
        if looks.wants(Kind::Png) {
            let png = calotte_figures::png(&f.svg, looks.style().png_scale()).map_err(|e| e.to_string())?;
            write("png", &png)?;
        }
        if looks.wants(Kind::Pdf) {
            write("pdf", &calotte_paper::figure(f).map_err(|e| e.to_string())?)?;
        }
        if looks.wants(Kind::Csv) {
            write("figure.csv", f.data.as_bytes())?;
        }
    }
    Ok(())
}
