//! `calotte memory`: a Prony series from a table of relaxation or creep, and how well it fits.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use calotte_answers::explain::digits;
use calotte_desk::tables::column;
use calotte_desk::{PROGRAM, Sheet, VERSION, misread};
use calotte_figures::{SeriesFit, memory_figure};
use calotte_quantity::{Dimension, Quantity, find_unit, show};
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::{
    MOST_TERMS, MemoryColumn, MemoryFit, MemoryFitSettings, MemoryTerm, USUAL_ACCURACY, fingerprint,
    fit_memory_table,
};
use serde::Serialize;

use crate::folder;
use crate::looks::Looks;
use crate::provenance::TableAnswer;
use crate::{End, files, findings, paint};

/// A series that misses its readings by more than this (rms) is doubtful, as in the case file.
const POOR: f64 = 0.05;

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// CSV file with the columns `time` and one of `modulus`, `youngs`, `ratio`, `compliance`, units in its first line:
    /// `time_s,youngs_MPa`.
    table: PathBuf,
    /// Number of terms, 1 to 20 (default: as few as the readings ask for).
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=MOST_TERMS as i64))]
    terms: Option<u8>,
    /// Accuracy of the readings, such as `1%`: a series within it (rms) is good enough (default: 0.01%).
    #[arg(long, value_name = "SHARE")]
    accuracy: Option<String>,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write a figure (SVG, PNG, PDF, CSV), the residuals as CSV and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

#[derive(Serialize)]
struct Report {
    schema_version: u32,
    column: &'static str,
    value_unit: &'static str,
    terms: Vec<Term>,
    share_left: f64,
    #[serde(rename = "instantaneous_modulus_Pa")]
    instantaneous_modulus: Option<f64>,
    #[serde(rename = "relaxed_modulus_Pa")]
    relaxed_modulus: Option<f64>,
    instantaneous_ratio: Option<f64>,
    creep: Option<CreepReport>,
    span_s: [f64; 2],
    residual_rms: f64,
    residual_largest: f64,
    residual_largest_at_s: f64,
    residual_rms_grid: f64,
    most_terms: usize,
    readings: Vec<Reading>,
    case_block: String,
    doubts: Vec<String>,
    warnings: Vec<String>,
}

#[derive(Serialize)]
struct Term {
    share: f64,
    time_s: f64,
    outside_span: bool,
}

#[derive(Serialize)]
struct CreepReport {
    #[serde(rename = "instantaneous_compliance_per_Pa")]
    instantaneous: f64,
    retardations: Vec<Retardation>,
}

#[derive(Serialize)]
struct Retardation {
    #[serde(rename = "compliance_per_Pa")]
    compliance: f64,
    retardation_time_s: f64,
}

#[derive(Serialize)]
struct Reading {
    time_s: f64,
    measured_si: f64,
    fitted_si: f64,
    residual: f64,
}

pub(crate) fn memory(o: &Options) -> End {
    let name = o.table.display().to_string();
    let accuracy = match o.accuracy.as_deref().map(accuracy).transpose() {
        Ok(accuracy) => accuracy.unwrap_or(USUAL_ACCURACY),
        Err(why) => {
            paint::complain(&why);
            return End::BadInput;
        }
    };
    let bytes = match files::read(&o.table) {
        Ok(bytes) => bytes,
        Err(e) => {
            paint::complain(&format!(
                "{name}: cannot be read: {e}\n  help: a table is a CSV file that starts with `time_s,youngs_MPa`"
            ));
            return End::BadInput;
        }
    };
    let asked = o.terms.map(usize::from);
    let (fit, found) = fit_memory_table(&name, &bytes, MemoryFitSettings { terms: asked, accuracy });
    findings::show(&o.table, &bytes, &BTreeMap::from([(name.clone(), bytes.clone())]), &found);
    let Some(fit) = fit else { return End::BadInput };
    let report = report(&fit, asked);
    let digest = fingerprint(&bytes);
    if let Some(dir) = &o.out
        && let Err(e) = write_all(dir, &name, &digest, &report, &o.looks)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed = if o.json {
        paint::json(&TableAnswer::new(&name, &digest, &report))
    } else {
        paint::line(&page(&name, &report))
    };
    if let Some(dir) = o.out.as_ref().filter(|_| !o.json) {
        paint::line(&format!(
            "memory.svg, memory.png, residuals.csv and answer.json are in {}",
            dir.display()
        ));
    }
    match printed {
        End::Answered if !report.doubts.is_empty() => End::Undecided,
        end => end,
    }
}

fn accuracy(text: &str) -> Result<f64, String> {
    let read = Quantity::parse(text, Dimension::Number)
        .map_err(|e| misread(&format!("--accuracy {text}"), &e).to_string())?;
    if (0.0..1.0).contains(&read.value) {
        return Ok(read.value);
    }
    Err(format!(
        "--accuracy {text}: it must be 0 or greater and less than 1\n  help: write for example `--accuracy 1%`"
    ))
}

fn report(fit: &MemoryFit, asked: Option<usize>) -> Report {
    let mut doubts = Vec::new();
    let mut warnings = Vec::new();
    if fit.rms > POOR {
        doubts.push(format!(
            "The series misses the readings by {} rms; no series of relaxing terms comes closer than about {}.",
            percent(fit.rms),
            percent(fit.grid_rms.min(fit.rms))
        ));
    }
    if let Some(n) = asked.filter(|n| *n > fit.terms.len()) {
        warnings.push(format!("The readings tell {} terms apart, not {n}.", fit.terms.len()));
    }
    let [first, _] = fit.span();
    for t in fit.terms.iter().filter(|t| fit.doubtful(t)) {
        let side = if t.time < first { "first" } else { "last" };
        warnings.push(format!(
            "The term of {} lies beyond the {side} reading: little in the table speaks for it.",
            seconds(t.time)
        ));
    }
    let left = 1.0 - fit.terms.iter().map(|t| t.share).sum::<f64>();
    let modulus = (fit.column != MemoryColumn::Ratio).then_some(fit.instantaneous);
    Report {
        schema_version: 1,
        column: fit.column.name(),
        value_unit: fit.column.unit(),
        terms: fit
            .terms
            .iter()
            .map(|t| Term { share: t.share, time_s: t.time, outside_span: fit.doubtful(t) })
            .collect(),
        share_left: left,
        instantaneous_modulus: modulus,
        relaxed_modulus: modulus.map(|m| m * left),
        instantaneous_ratio: (fit.column == MemoryColumn::Ratio).then_some(fit.instantaneous),
        creep: fit.creep.as_ref().map(|c| CreepReport {
            instantaneous: c.instantaneous,
            retardations: c
                .terms
                .iter()
                .map(|[compliance, time]| Retardation { compliance: *compliance, retardation_time_s: *time })
                .collect(),
        }),
        span_s: fit.span(),
        residual_rms: fit.rms,
        residual_largest: fit.largest,
        residual_largest_at_s: fit.readings[fit.largest_at].time,
        residual_rms_grid: fit.grid_rms,
        most_terms: fit.most_terms,
        readings: fit
            .readings
            .iter()
            .map(|r| Reading {
                time_s: r.time,
                measured_si: r.measured,
                fitted_si: r.fitted,
                residual: r.residual(),
            })
            .collect(),
        case_block: case_block(&fit.terms),
        doubts,
        warnings,
    }
}

/// The table `[memory]` of a case file, to six digits.
fn case_block(terms: &[MemoryTerm]) -> String {
    let six = |x: f64| format!("{x:.5e}").parse::<f64>().map_or_else(|_| x.to_string(), |x| x.to_string());
    let shares: Vec<String> = terms.iter().map(|t| six(t.share)).collect();
    let times: Vec<String> = terms.iter().map(|t| format!("\"{} s\"", six(t.time))).collect();
    format!("[memory]\nshares = [{}]\ntimes = [{}]", shares.join(", "), times.join(", "))
}

fn write_all(dir: &Path, name: &str, digest: &str, report: &Report, looks: &Looks) -> Result<(), String> {
    folder::answer(dir, &TableAnswer::new(name, digest, report))?;
    files::write(&dir.join("residuals.csv"), &residuals(name, digest, report).to_csv())
        .map_err(|e| e.to_string())?;
    let drawn = SeriesFit {
        what: match report.column {
            "youngs" => "Young's modulus",
            "modulus" => "relaxation modulus",
            "compliance" => "creep compliance",
            _ => "modulus over its first value",
        }
        .to_owned(),
        unit: report.value_unit.to_owned(),
        readings: report.readings.iter().map(|r| [r.time_s, r.measured_si, r.fitted_si]).collect(),
        terms: report.terms.iter().map(|t| [t.share, t.time_s]).collect(),
    };
    folder::draw(dir, looks, || memory_figure(&drawn, name).into_iter().collect())
}

/// Every reading beside the fit.
fn residuals(name: &str, digest: &str, r: &Report) -> Table {
    let columns = vec![
        column("time_s", "s", "time since the step", Kind::Number),
        column("measured_si", r.value_unit, &format!("{} as read", r.column), Kind::Number),
        column("fitted_si", r.value_unit, &format!("{} of the series", r.column), Kind::Number),
        column("residual", "1", "fitted over measured, less 1", Kind::Number),
    ];
    let row = |r: &Reading| [r.time_s, r.measured_si, r.fitted_si, r.residual].map(Value::Number).to_vec();
    let provenance = [
        ("program", format!("{PROGRAM} {VERSION}")),
        ("table", name.to_owned()),
        ("table_digest", digest.to_owned()),
    ];
    Table {
        columns,
        rows: r.readings.iter().map(row).collect(),
        provenance: provenance.map(|(k, v)| (k.to_owned(), v)).to_vec(),
    }
}

fn percent(x: f64) -> String {
    format!("{} %", digits(100.0 * x, 2))
}

fn seconds(t: f64) -> String {
    find_unit("s", Dimension::Time).map_or_else(String::new, |u| show(t, None, u))
}

fn modulus(pa: f64) -> String {
    let unit = if pa < 1e9 { "MPa" } else { "GPa" };
    find_unit(unit, Dimension::Pressure).map_or_else(String::new, |u| show(pa, None, u))
}

/// The answer as text.
fn page(name: &str, r: &Report) -> String {
    let count = r.terms.len();
    let s = if count == 1 { "" } else { "s" };
    let mut p = Sheet::new(&format!("{count} TERM{}: {name}", s.to_uppercase()));
    let what = match r.column {
        "youngs" => "Young's relaxation modulus",
        "ratio" => "relaxation modulus over a fixed value",
        "compliance" => "creep compliance, converted exactly into relaxation",
        _ => "relaxation modulus",
    };
    p.text_block(&format!(
        "{} readings of a {what}, from {} to {}",
        r.readings.len(),
        seconds(r.span_s[0]),
        seconds(r.span_s[1])
    ));
    p.doubts(&r.doubts);
    p.head("Memory");
    for t in &r.terms {
        let doubt = if t.outside_span { "; outside the readings, doubtful" } else { "" };
        p.row(&format!("in {}", seconds(t.time_s)), &format!("{}{doubt}", percent(t.share)));
    }
    p.row("left after a long time", &percent(r.share_left));
    p.head("Modulus");
    if let (Some(m), Some(relaxed)) = (r.instantaneous_modulus, r.relaxed_modulus) {
        p.row("at once", &modulus(m));
        p.row("after a long time", &modulus(relaxed));
    }
    if let Some(ratio) = r.instantaneous_ratio {
        p.row("at once", &format!("{} in the ratio of the table", digits(ratio, 4)));
    }
    p.item(match r.column {
        "youngs" => "The case's `youngs_modulus` must be the modulus at once, as given here.",
        "ratio" => "The case's `youngs_modulus` must be the modulus at once: the one that the ratios are over, times the ratio given here.",
        _ => "The case's `youngs_modulus` must be the modulus at once; a shear modulus becomes Young's by the factor 2 (1 + ν).",
    });
    p.head("How well it fits");
    p.row("residual, rms", &percent(r.residual_rms));
    p.row("largest", &format!("{} at {}", percent(r.residual_largest), seconds(r.residual_largest_at_s)));
    p.row(
        "on a fine grid of times",
        &format!("{} rms; the readings tell {} terms apart", percent(r.residual_rms_grid), r.most_terms),
    );
    p.head("Readings");
    for reading in &r.readings {
        let value = |x: f64| match r.column {
            "ratio" => digits(x, 4),
            "compliance" => format!("{} 1/MPa", digits(1e6 * x, 4)),
            _ => modulus(x),
        };
        p.row(
            &seconds(reading.time_s),
            &format!(
                "{}; fitted {}; residual {:+.2} %",
                value(reading.measured_si),
                value(reading.fitted_si),
                100.0 * reading.residual
            ),
        );
    }
    p.list("Warnings", &r.warnings);
    p.head("For the case file");
    format!("{}\n{}", p.text(), r.case_block)
}
