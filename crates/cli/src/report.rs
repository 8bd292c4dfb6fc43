//! `calotte report`: writes a report about a case, or makes one again and compares it with itself.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use calotte_desk::Refusal;
use calotte_report::again::{Repeated, carried, compare};
use calotte_report::model::Document;
use calotte_report::{
    Given, Paper, ReadSpecimens, Report, Request, html, pdf, report as composed, sheet as lesson,
};
use calotte_specimen::{Case, read_case};

use crate::answer::{not_written, refused};
use crate::map::specimens;
use crate::progress::Bars;
use crate::{End, files, findings, folder, paint};
use calotte_runs::cores;

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    #[arg(required_unless_present = "again")]
    case: Option<PathBuf>,
    /// Questions to add: poke, release, heat, map, modes, spread, size.
    #[arg(long, value_delimiter = ',', value_name = "QUESTION,…")]
    with: Vec<String>,
    /// Questions to leave out.
    #[arg(long, value_delimiter = ',', value_name = "QUESTION,…")]
    without: Vec<String>,
    /// Answers about measurements to set beside the computed ones: answer.json of `side`, `clip`, `bench` or `logbook`.
    #[arg(long, value_name = "FILE", num_args = 1..)]
    measured: Vec<PathBuf>,
    /// Measured specimens for the map: CSV as `calotte map` takes it.
    #[arg(long, value_name = "FILE")]
    specimens: Option<PathBuf>,
    /// A teaching sheet instead: one page for a class, sheet.html and sheet.pdf.
    #[arg(long, conflicts_with_all = ["measured", "specimens", "json", "again"])]
    sheet: bool,
    /// Date to print, as it shall be read: `2026-11-26`. None is taken from the clock.
    #[arg(long, value_name = "TEXT")]
    date: Option<String>,
    /// Paper of the PDF.
    #[arg(long, value_enum, default_value_t = Size::A4)]
    paper: Size,
    /// Make this report (report.html or report.json) again from what it carries, and compare every number.
    #[arg(long, value_name = "REPORT", conflicts_with_all = ["case", "with", "without", "measured", "specimens", "date", "out"])]
    again: Option<PathBuf>,
    /// Threads for questions that ask many times; 0 takes every core.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Print the report's data (with `--again`: the comparison) as JSON.
    #[arg(long)]
    json: bool,
    /// Folder for report.html, report.pdf, report.json, sources.bib and figures (default: a folder named after the case).
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Size {
    /// 210 mm × 297 mm.
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

impl Size {
    fn paper(self) -> Paper {
        match self {
            Self::A4 => Paper::A4,
            Self::Letter => Paper::Letter,
        }
    }
}

/// Reads specimens that were given as a file.
const READ: ReadSpecimens<'static> =
    &|file, axes, case| specimens::from_bytes(&file.name, &file.bytes, axes, case);

pub(crate) fn report(o: &Options) -> End {
    match (&o.again, &o.case) {
        (Some(path), _) => again(path, o.json, o.threads),
        (None, Some(path)) => write(o, path),
        (None, None) => End::BadInput,
    }
}

/// The last part of a path, as text.
fn name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// A file that was named on the command line.
fn given(option: &str, path: &Path) -> Result<Given, Refusal> {
    match files::read(path) {
        Ok(bytes) => Ok(Given { name: name(path), bytes }),
        Err(e) => Err(Refusal::question(format!("{option} {}: cannot be read: {e}", path.display()))),
    }
}

/// Measurements by names of their own: files of one name are told apart by their folders.
fn measured(paths: &[PathBuf]) -> Result<Vec<Given>, Refusal> {
    let mut out: Vec<Given> = Vec::new();
    for path in paths {
        let mut file = given("--measured", path)?;
        let shared = paths.iter().filter(|p| p.file_name() == path.file_name()).count() > 1;
        if let Some(folder) = path.parent().filter(|_| shared) {
            file.name = format!("{}/{}", name(folder), file.name);
        }
        let (plain, mut n) = (file.name.clone(), 1);
        while out.iter().any(|f| f.name == file.name) {
            n += 1;
            file.name = format!("{plain} ({n})");
        }
        out.push(file);
    }
    Ok(out)
}

/// A case with the files that it names; findings are shown.
fn read(path: &Path) -> Option<(Case, Vec<Given>)> {
    let bytes = match files::read(path) {
        Ok(bytes) => bytes,
        Err(e) => {
            let help = "`calotte new cap` writes a case to start from";
            paint::complain(&format!("{}: cannot be read: {e}\n  help: {help}", path.display()));
            return None;
        }
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    opened(path, &bytes, &|name| files::read(&folder.join(name)))
}

fn opened(
    path: &Path,
    bytes: &[u8],
    open: &dyn Fn(&str) -> std::io::Result<Vec<u8>>,
) -> Option<(Case, Vec<Given>)> {
    let others = RefCell::new(BTreeMap::new());
    let (case, found) = read_case(bytes, &|name| {
        let content = open(name)?;
        others.borrow_mut().insert(name.to_owned(), content.clone());
        Ok(content)
    });
    let others = others.into_inner();
    findings::show(path, bytes, &others, &found);
    let side = others.into_iter().map(|(name, bytes)| Given { name, bytes }).collect();
    Some((case?, side))
}

fn write(o: &Options, path: &Path) -> End {
    let Some((case, side_files)) = read(path) else { return End::BadInput };
    let request = || -> Result<Request, Refusal> {
        Ok(Request {
            with: o.with.clone(),
            without: o.without.clone(),
            date: o.date.clone(),
            paper: o.paper.paper(),
            measured: measured(&o.measured)?,
            specimens: o.specimens.as_ref().map(|p| given("--specimens", p)).transpose()?,
            case_name: name(path),
            side_files,
        })
    };
    let threads = cores(o.threads);
    let bars = Bars::new();
    if o.sheet {
        let made = request().and_then(|r| lesson(&case, &r, READ, threads, &bars));
        drop(bars);
        return match made {
            Ok(page) => put_sheet(o, path, &page),
            Err(why) => refused(&why, ""),
        };
    }
    let made = request().and_then(|r| composed(&case, &r, READ, threads, &bars));
    drop(bars);
    let report = match made {
        Ok(report) => report,
        Err(why) => return refused(&why, ""),
    };
    let dir = o.out.clone().unwrap_or_else(|| usual_folder(path));
    if let Err(e) = put(&dir, &report, o.paper.paper()) {
        return not_written(&dir, &e);
    }
    let printed = if o.json {
        paint::json(&report.data)
    } else {
        let answer = &report.document.answer;
        paint::line(&format!(
            "{answer}\nreport.html, report.pdf, report.json, sources.bib and figures are in {}",
            dir.display()
        ))
    };
    match printed {
        End::Answered if report.doubtful => End::Undecided,
        end => end,
    }
}

/// `report-CASE`, beside where one stands; a case called `case.toml` lends its folder's name.
fn usual_folder(path: &Path) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let folder = path.parent().and_then(Path::file_name).map(|f| f.to_string_lossy().into_owned());
    let word = if stem == "case" { folder.unwrap_or(stem) } else { stem };
    PathBuf::from(format!("report-{word}"))
}

/// Writes a teaching sheet.
fn put_sheet(o: &Options, path: &Path, page: &Document) -> End {
    let dir = o.out.clone().unwrap_or_else(|| usual_folder(path));
    let put = || -> Result<(), String> {
        let text = |e: std::io::Error| e.to_string();
        let pages = pdf(page, o.paper.paper()).map_err(|e| e.to_string())?;
        std::fs::create_dir_all(&dir).map_err(text)?;
        files::write(&dir.join("sheet.html"), html(page).as_bytes()).map_err(text)?;
        files::write(&dir.join("sheet.pdf"), &pages).map_err(text)
    };
    match put() {
        Ok(()) => paint::line(&format!("{}\nsheet.html and sheet.pdf are in {}", page.answer, dir.display())),
        Err(e) => not_written(&dir, &e),
    }
}

/// Writes everything.
fn put(dir: &Path, report: &Report, paper: Paper) -> Result<(), String> {
    let text = |e: std::io::Error| e.to_string();
    let pictures = dir.join("figures");
    std::fs::create_dir_all(&pictures).map_err(text)?;
    let json = serde_json::to_vec_pretty(&report.data).map_err(|e| e.to_string())?;
    files::write(&dir.join("report.json"), &json).map_err(text)?;
    files::write(&dir.join("report.html"), html(&report.document).as_bytes()).map_err(text)?;
    let pages = pdf(&report.document, paper).map_err(|e| e.to_string())?;
    files::write(&dir.join("report.pdf"), &pages).map_err(text)?;
    files::write(&dir.join("sources.bib"), report.bibtex.as_bytes()).map_err(text)?;
    for p in report.document.pictures() {
        folder::picture(&pictures, &format!("{:02}-{}", p.number, p.file), &p.svg)?;
    }
    Ok(())
}

fn again(path: &Path, json: bool, threads: usize) -> End {
    let shown = path.display().to_string();
    let bytes = match files::read(path) {
        Ok(bytes) => bytes,
        Err(e) => {
            paint::complain(&format!("--again {shown}: cannot be read: {e}"));
            return End::BadInput;
        }
    };
    match repeated(&shown, &bytes, threads) {
        Ok(Some(found)) => tell(&found, json),
        Ok(None) => End::BadInput,
        Err(why) => refused(&why, ""),
    }
}

/// Makes a report again; `None` when its case cannot be read, which has been said.
fn repeated(shown: &str, bytes: &[u8], threads: usize) -> Result<Option<Repeated>, Refusal> {
    let (told, provenance) = carried(shown, bytes)?;
    let damaged = |says: String| Refusal::question(format!("{shown}: its provenance is damaged: {says}"));
    let request = provenance.request().map_err(damaged)?;
    let case = provenance.case.given().map_err(damaged)?;
    let open = |name: &str| {
        let file = request.side_files.iter().find(|f| f.name == name);
        file.map(|f| f.bytes.clone())
            .ok_or_else(|| std::io::Error::new(std::io::ErrorKind::NotFound, "the report does not carry it"))
    };
    let Some((case, _)) = opened(Path::new(&case.name), &case.bytes, &open) else { return Ok(None) };
    let bars = Bars::new();
    let made = composed(&case, &request, READ, cores(threads), &bars);
    drop(bars);
    let made = made?;
    let page = html(&made.document);
    let was = std::str::from_utf8(bytes).ok().filter(|t| !t.trim_start().starts_with('{'));
    Ok(Some(compare(&told, &made.data, &provenance, was.map(|w| [w, page.as_str()]))))
}

/// Says how a report compares with itself made again.
fn tell(r: &Repeated, json: bool) -> End {
    let same = r.differences.is_empty() && r.same_page != Some(false);
    let end = if json { paint::json(r) } else { paint::line(&words(r)) };
    match end {
        End::Answered if !same => End::Undecided,
        end => end,
    }
}

/// Differences shown at most; `--json` has all of them.
const SHOWN: usize = 40;

fn words(r: &Repeated) -> String {
    let mut p = calotte_desk::Sheet::new(&match r.differences.len() {
        0 => format!("SAME: {}", r.title),
        1 => format!("1 DIFFERENCE: {}", r.title),
        n => format!("{n} DIFFERENCES: {}", r.title),
    });
    if r.told_by != r.again_by {
        p.text_block(&format!(
            "The report was made by version {}, this is version {}: numbers may differ for that reason.",
            r.told_by, r.again_by
        ));
    }
    p.row("numbers compared", &r.numbers.to_string());
    for a in &r.answers {
        let different = match a.different {
            0 => "all the same".to_owned(),
            n => format!("{n} differ"),
        };
        p.row(&a.question, &format!("{} numbers, {different}", a.numbers));
    }
    if let Some(same) = r.same_page {
        p.row("the page", if same { "the same, byte for byte" } else { "not the same" });
    }
    if !r.differences.is_empty() {
        p.head("What differs");
        for d in r.differences.iter().take(SHOWN) {
            p.row(&d.place, &format!("told {}; again {}", d.told, d.again));
        }
        if r.differences.len() > SHOWN {
            p.row("", &format!("{} more (all of them with --json)", r.differences.len() - SHOWN));
        }
    }
    p.text()
}
