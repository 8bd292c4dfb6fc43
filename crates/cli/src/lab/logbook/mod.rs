//! `calotte logbook`: specimens and trials beside theory, and which specimen to make next.

mod sheet;
mod tables;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use calotte_desk::{Refusal, Reply, Watch, with_provenance};
use calotte_lab::logbook::{Ask, Header, Sheet, logbook as answer, read_header, read_logbook};
use calotte_specimen::{Case, fingerprint};

use crate::answer::{give, not_written, read, refused};
use crate::looks::Looks;
use crate::progress::Bars;
use crate::{End, files, findings, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// The logbook: `logbook.toml`, or one CSV file of trials (then with --case).
    #[arg(required_unless_present = "template")]
    file: Option<PathBuf>,
    /// Case file of the family (default: the one that the logbook names).
    #[arg(long, value_name = "CASE")]
    case: Option<PathBuf>,
    /// Also: which specimen to make next to learn most.
    #[arg(long)]
    next: bool,
    /// Seed of the draws from the posterior.
    #[arg(long, default_value_t = 1, value_name = "N")]
    seed: u64,
    /// Threads; 0 takes every core. No answer depends on it.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), tables (CSV and Parquet) and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
    /// Write a commented logbook to start from, with its case, into this folder; it must not hold one yet.
    #[arg(long, value_name = "DIR", conflicts_with_all = ["file", "case", "next", "json", "out"])]
    template: Option<PathBuf>,
}

/// A logbook with everything that it names.
struct Opened {
    header: Header,
    bytes: Vec<u8>,
    case: Case,
    specimens: Option<(String, Vec<u8>)>,
    trials: Option<(String, Vec<u8>)>,
}

pub(crate) fn logbook(o: &Options) -> End {
    if let Some(dir) = &o.template {
        return template(dir);
    }
    let Some(path) = &o.file else { return End::BadInput };
    let Some(opened) = open(path, o.case.as_deref()) else { return End::BadInput };
    let Opened { header, bytes, case, specimens, trials } = opened;
    fn sheet(file: &Option<(String, Vec<u8>)>) -> Option<Sheet<'_>> {
        file.as_ref().map(|(name, bytes)| Sheet { name, bytes })
    }
    let (book, found) = read_logbook(&header, &bytes, &case, sheet(&specimens), sheet(&trials));
    let digest = fingerprint(&[&bytes[..], of(&specimens), of(&trials)].concat());
    let others: BTreeMap<String, Vec<u8>> = [specimens, trials].into_iter().flatten().collect();
    findings::show_kept(path, &bytes, &others, &found, book.is_some());
    let Some(book) = book else { return End::BadInput };
    if book.left_out > 0 {
        let were = if book.left_out == 1 { "was" } else { "were" };
        let lines = if book.lines == 1 { "line" } else { "lines" };
        paint::complain(&format!(
            "{} of {} {lines} {were} left out, all others kept",
            book.left_out, book.lines
        ));
    }
    let bars = Bars::new();
    let ask = Ask { seed: o.seed, next: o.next, threads: calotte_runs::cores(o.threads) };
    let report = answer(&case, &book, ask, &|share, words| bars.progress(Some(share), words));
    drop(bars);
    let report = match report {
        Ok(Some(report)) => report,
        Ok(None) => return refused(&Refusal::Stopped, ""),
        Err(why) => return refused(&Refusal::question(why), &format!("{}: ", path.display())),
    };
    let json = with_provenance(&case, &report).map(|mut json| {
        if let Some(p) = json.get_mut("provenance").and_then(|p| p.as_object_mut()) {
            p.insert("logbook".into(), path.display().to_string().into());
            p.insert("logbook_digest".into(), digest.into());
        }
        json
    });
    let reply = json.map(|json| Reply {
        question: "logbook",
        sheet: sheet::sheet(&report),
        report: json,
        doubtful: !report.doubts.is_empty(),
        film: None,
        figures: if o.out.is_some() {
            calotte_figures::laid_out(&o.looks.style(), || calotte_figures::logbook_figures(&report))
        } else {
            Vec::new()
        },
        tables: if o.out.is_some() { tables::tables(&case, &report) } else { Vec::new() },
    });
    match give(
        reply,
        "",
        o.json,
        o.out.as_deref(),
        &o.looks,
        "Figures, tables (CSV and Parquet) and answer.json",
    ) {
        // What is whole was worked out; what was left out is bad input all the same.
        End::Answered | End::Undecided if book.left_out > 0 => End::BadInput,
        end => end,
    }
}

fn of(file: &Option<(String, Vec<u8>)>) -> &[u8] {
    file.as_ref().map_or(&[], |f| &f.1)
}

/// Reads the logbook and what it names; faults are told.
fn open(path: &Path, case: Option<&Path>) -> Option<Opened> {
    let cannot = |name: &Path, e: &std::io::Error, help: &str| {
        paint::complain(&format!("{}: cannot be read: {e}\n  help: {help}", name.display()));
    };
    let bytes = match files::read(path) {
        Ok(bytes) => bytes,
        Err(e) => {
            cannot(path, &e, "`calotte logbook --template DIR` writes a logbook to start from");
            return None;
        }
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) {
        let Some(case) = case else {
            paint::complain(&format!(
                "{}: a CSV file alone does not say of which case its specimens are\n  help: write `--case case.toml`",
                path.display()
            ));
            return None;
        };
        let case = read(case)?;
        let name = path.display().to_string();
        return Some(Opened {
            header: Header::default(),
            bytes: Vec::new(),
            case,
            specimens: None,
            trials: Some((name, bytes)),
        });
    }
    let (header, found) = read_header(&bytes);
    findings::show(path, &bytes, &BTreeMap::new(), &found);
    let header = header?;
    let case = match (case, &header.case) {
        (Some(case), _) => case.to_owned(),
        (None, Some((name, _))) => folder.join(name),
        (None, None) => {
            paint::complain(&format!(
                "{}: the logbook names no case\n  help: write `case = \"case.toml\"` in it, or `--case case.toml`",
                path.display()
            ));
            return None;
        }
    };
    let case = read(&case)?;
    let file = |named: &Option<(String, std::ops::Range<usize>)>| match named {
        None => Some(None),
        Some((name, _)) => match files::read(&folder.join(name)) {
            Ok(bytes) => Some(Some((name.clone(), bytes))),
            Err(e) => {
                cannot(
                    &folder.join(name),
                    &e,
                    "the logbook names this file; its place is counted from the logbook's folder",
                );
                None
            }
        },
    };
    let (specimens, trials) = (file(&header.specimens)?, file(&header.trials)?);
    Some(Opened { header, bytes, case, specimens, trials })
}

/// Files of the template.
const TEMPLATE: [(&str, &str); 3] = [
    ("logbook.toml", include_str!("template/logbook.toml")),
    ("trials.csv", include_str!("template/trials.csv")),
    ("case.toml", include_str!("template/case.toml")),
];

fn template(dir: &Path) -> End {
    if let Some((name, _)) = TEMPLATE.iter().find(|(name, _)| dir.join(name).exists()) {
        paint::complain(&format!("{} exists already; name another folder", dir.join(name).display()));
        return End::BadInput;
    }
    let write = || -> std::io::Result<()> {
        fs::create_dir_all(dir)?;
        TEMPLATE.iter().try_for_each(|(name, text)| files::write(&dir.join(name), text.as_bytes()))
    };
    match write() {
        Ok(()) => paint::line(&format!(
            "Wrote logbook.toml, trials.csv and case.toml into {}. Change their numbers, then run: calotte logbook {} --next",
            dir.display(),
            dir.join("logbook.toml").display()
        )),
        Err(e) => not_written(dir, &e.to_string()),
    }
}
