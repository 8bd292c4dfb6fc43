//! `calotte bench`: moduli, memory and wall from bench tests, each with its error.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use calotte_desk::tables::column;
use calotte_desk::{PROGRAM, VERSION};
use calotte_lab::bench::{BenchReport, bench as work_out, bench_template};
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::{Level, fingerprint};
use serde::Serialize;

use super::bench_words::page;
use crate::looks::Looks;
use crate::{End, files, findings, folder, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Bench file (TOML): tests as tables, readings with `± …`.
    #[arg(required_unless_present = "template")]
    file: Option<PathBuf>,
    /// Print a commented bench file to start from, and nothing else.
    #[arg(long, conflicts_with_all = ["file", "json", "out"])]
    template: bool,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), tables (CSV and Parquet), the wall for a case file and the answer as JSON and text into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

#[derive(Serialize)]
struct Answer<'a> {
    provenance: Provenance,
    #[serde(flatten)]
    report: &'a BenchReport,
}

#[derive(Serialize)]
struct Provenance {
    program: &'static str,
    version: &'static str,
    bench_file: String,
    bench_digest: String,
}

pub(crate) fn bench(o: &Options) -> End {
    let Some(file) = o.file.as_ref().filter(|_| !o.template) else {
        return paint::line(bench_template().trim_end());
    };
    let name = file.display().to_string();
    let bytes = match files::read(file) {
        Ok(bytes) => bytes,
        Err(e) => {
            paint::complain(&format!(
                "{name}: cannot be read: {e}\n  help: `calotte bench --template` prints a bench file to start from"
            ));
            return End::BadInput;
        }
    };
    let beside = file.parent().unwrap_or_else(|| Path::new(""));
    let others: RefCell<BTreeMap<String, Vec<u8>>> = RefCell::default();
    let open = |name: &str| {
        let read = files::read(&beside.join(name))?;
        others.borrow_mut().insert(name.to_owned(), read.clone());
        Ok(read)
    };
    let (report, found) = work_out(&bytes, &open);
    let bad = found.iter().any(|f| f.level == Level::Error);
    let others = others.into_inner();
    findings::show_kept(file, &bytes, &others, &found, report.is_some());
    let Some(report) = report else { return End::BadInput };
    // The digest covers the files that the bench file names.
    let mut all = bytes.clone();
    others.values().for_each(|b| all.extend_from_slice(b));
    let provenance = Provenance {
        program: PROGRAM,
        version: VERSION,
        bench_file: name.clone(),
        bench_digest: fingerprint(&all),
    };
    let answer = Answer { provenance, report: &report };
    let words = page(&name, &report);
    if let Some(dir) = &o.out
        && let Err(e) = write_all(dir, &name, &answer, &words, &o.looks)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed = if o.json { paint::json(&answer) } else { paint::line(&words) };
    if let Some(dir) = o.out.as_ref().filter(|_| !o.json) {
        paint::line(&format!("Figures, tables, answer.json and answer.txt are in {}", dir.display()));
    }
    match printed {
        End::Answered if bad => End::BadInput,
        End::Answered if !report.doubts.is_empty() => End::Undecided,
        end => end,
    }
}

fn write_all(dir: &Path, name: &str, answer: &Answer<'_>, words: &str, looks: &Looks) -> Result<(), String> {
    let report = answer.report;
    folder::answer(dir, answer)?;
    let write = |file: &str, bytes: &[u8]| files::write(&dir.join(file), bytes).map_err(|e| e.to_string());
    write("answer.txt", format!("{words}\n").as_bytes())?;
    for (i, map) in report.thickness.iter().enumerate() {
        let file = if i == 0 { "wall.csv".to_owned() } else { format!("wall-{}.csv", i + 1) };
        write(&file, map.wall_csv.as_bytes())?;
    }
    if !report.estimates.is_empty() {
        folder::table(dir, "estimates", &estimates(name, answer))?;
    }
    if let Some(m) = &report.memory {
        let columns = vec![
            column("time_s", "s", "time since the step", Kind::Number),
            column("measured_si", "SI", "as read", Kind::Number),
            column("fitted_si", "SI", "value of the series", Kind::Number),
            column("residual", "1", "fitted over measured, less 1", Kind::Number),
        ];
        let rows = m.readings.iter().map(|r| r.map(Value::Number).to_vec()).collect();
        folder::table(dir, "memory", &Table { columns, rows, provenance: origin(name, answer) })?;
    }
    folder::draw(dir, looks, || calotte_figures::bench_figures(report))
}

fn origin(name: &str, answer: &Answer<'_>) -> Vec<(String, String)> {
    vec![
        ("program".to_owned(), format!("{PROGRAM} {VERSION}")),
        ("bench_file".to_owned(), name.to_owned()),
        ("bench_digest".to_owned(), answer.provenance.bench_digest.clone()),
    ]
}

/// Every estimate and what each error does to it.
fn estimates(name: &str, answer: &Answer<'_>) -> Table {
    let columns = vec![
        column("test", "", "name of the test", Kind::Text),
        column("kind", "", "kind of the test", Kind::Text),
        column("youngs_modulus_Pa", "Pa", "Young's modulus", Kind::Number),
        column("relative_deviation", "1", "standard deviation of its logarithm", Kind::Number),
        column("input", "", "whose error", Kind::Text),
        column(
            "effect",
            "1",
            "what one standard deviation of it does to the modulus, relative",
            Kind::Number,
        ),
        column("share", "1", "share of the variance", Kind::Number),
    ];
    let mut rows = Vec::new();
    for e in &answer.report.estimates {
        for b in &e.budget {
            rows.push(vec![
                Value::Text(e.test.clone()),
                Value::Text(e.kind.to_owned()),
                Value::Number(e.modulus),
                Value::Number(e.relative_deviation),
                Value::Text(b.input.clone()),
                Value::Number(b.effect),
                Value::Number(b.share),
            ]);
        }
    }
    Table { columns, rows, provenance: origin(name, answer) }
}
