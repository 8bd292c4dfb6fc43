//! `calotte export`: shapes and fields of an answer as files that other programs read.

use std::path::PathBuf;

use calotte_desk::{Film, Refusal, Reply, Sheet, Want, Watch, ask, facts, refuse, with_provenance};
use calotte_export::{Export, ModeColumns, NamedFile, modes, surfaces, wall_stl};
use calotte_specimen::Case;
use serde::Serialize;
use serde_json::Value;

use crate::answer::{not_written, read, refused};
use crate::film::given::{bytes, said};
use crate::progress::Bars;
use crate::{End, files, folder, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// Whose shapes and tables.
    #[arg(long, value_enum, value_name = "KIND")]
    of: Kind,
    /// Points around the axis.
    #[arg(long, default_value_t = 96, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(8..=2000))]
    around: u32,
    /// Shapes at most; of more, every so many, the first and the last among them.
    #[arg(long, default_value_t = 60, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=240))]
    shapes: u32,
    /// Do not pack the surfaces with zlib.
    #[arg(long)]
    unpacked: bool,
    /// Write nothing when there would be more bytes than this.
    #[arg(long, default_value = "500MB", value_name = "BYTES")]
    most: String,
    /// Print what was written as JSON instead of words.
    #[arg(long)]
    json: bool,
    /// Folder for the files.
    #[arg(long, default_value = "export", value_name = "DIR")]
    out: PathBuf,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    /// The natural and the inverted state.
    Verdict,
    /// The path of the load.
    Poke,
    /// The motion.
    Release,
    /// Both branches over temperature.
    Heat,
    /// All stable states.
    States,
    /// The lowest modes as vectors on the shape.
    Modes,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::Verdict => "verdict",
            Self::Poke => "poke",
            Self::Release => "release",
            Self::Heat => "heat",
            Self::States => "states",
            Self::Modes => "modes",
        }
    }
}

/// What was written, as data.
#[derive(Serialize)]
struct ExportReport {
    schema_version: u32,
    title: String,
    of: &'static str,
    around: u32,
    timestep: &'static str,
    surfaces: usize,
    shapes_found: usize,
    points: usize,
    total_bytes: u64,
    files: Vec<FileWritten>,
    not_made: Vec<String>,
}

#[derive(Serialize)]
struct FileWritten {
    name: String,
    bytes: u64,
}

/// Layout of the JSON.
const SCHEMA_VERSION: u32 = 1;

/// Runs the command.
pub(crate) fn export(o: &Options) -> End {
    let most = match bytes("--most", &o.most) {
        Ok(most) => most,
        Err(why) => return refused(&why, ""),
    };
    let Some(case) = read(&o.case) else { return End::BadInput };
    let place = format!("{}: ", o.case.display());
    if let Err(why) = refuse(&case, o.of.word()) {
        return refused(&why, &place);
    }
    let bars = Bars::new();
    let want = Want { film: true, tables: true, threads: 1, ..Want::default() };
    let reply = match ask(&case, o.of.word(), &Value::Null, want, &bars) {
        Ok(reply) => reply,
        Err(why) => {
            drop(bars);
            return refused(&why, &place);
        }
    };
    let done = write(o, &case, &reply, most, &bars);
    drop(bars);
    let report = match done {
        Ok(report) => report,
        Err(Stop::Stopped(count)) => {
            paint::complain(&format!("stopped; {count} surfaces are written, no collection names them"));
            return End::Stopped;
        }
        Err(Stop::Refused(why)) => return refused(&why, &place),
        Err(Stop::Disk(why)) => return not_written(&o.out, &why),
    };
    let value = match with_provenance(&case, &report) {
        Ok(value) => value,
        Err(why) => return refused(&why, ""),
    };
    let printed = if o.json { paint::json(&value) } else { paint::line(&sheet(o, &report).text()) };
    match printed {
        End::Answered if reply.doubtful => End::Undecided,
        end => end,
    }
}

enum Stop {
    /// By Ctrl-C, after so many files.
    Stopped(usize),
    Refused(Refusal),
    Disk(String),
}

impl From<Refusal> for Stop {
    fn from(why: Refusal) -> Self {
        Self::Refused(why)
    }
}

/// At most `most` shapes of a film, the first and the last among them.
fn thinned(film: Film, most: usize) -> Film {
    let count = film.frames.len();
    if count <= most {
        return film;
    }
    let last = count - 1;
    let steps = most.max(2) - 1;
    let keep: Vec<usize> = (0..=steps).map(|k| (k * last + steps / 2) / steps).take(most).collect();
    let mut frames = film.frames;
    let mut k = 0;
    frames.retain(|_| {
        k += 1;
        keep.contains(&(k - 1))
    });
    Film { frames, ..film }
}

/// The lowest modes of a report with the names of their fields.
fn mode_columns(report: &Value) -> Vec<ModeColumns> {
    let numbers = |v: &Value| -> Vec<f64> {
        v.as_array().map(|a| a.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
    };
    let lowest = report["lowest"].as_array().cloned().unwrap_or_default();
    lowest
        .iter()
        .filter_map(Value::as_u64)
        .enumerate()
        .filter_map(|(k, i)| {
            let m = &report["modes"][i as usize];
            let n = m["n"].as_u64()? as u32;
            let columns = ["across", "along", "around"].map(|c| numbers(&m["shape"][c]));
            let pitch = m["frequency_Hz"].as_f64().map_or(String::new(), |f| format!("_at_{f:.0}_Hz"));
            Some(ModeColumns { name: format!("mode_{:02}_n_{n}{pitch}_displacement_1", k + 1), n, columns })
        })
        .collect()
}

fn write(o: &Options, case: &Case, reply: &Reply, most: u64, bars: &Bars) -> Result<ExportReport, Stop> {
    let none = || {
        Refusal::with_help(
            format!("there are no shapes to export: the answer to `{}` found no state", o.of.word()),
            format!("`calotte {}` says why", if o.of == Kind::States { "verdict" } else { o.of.word() }),
        )
    };
    let film = reply.film.clone().filter(|f| !f.frames.is_empty()).ok_or_else(none)?;
    let shapes_found = film.frames.len();
    let film = thinned(film, o.shapes as usize);
    let about: Vec<String> = facts(case).into_iter().map(|(k, v)| format!("{k}: {v}")).collect();
    let made = surfaces(case.part(), &film, o.of.word(), &about, o.around, !o.unpacked);
    let first =
        if o.of == Kind::Modes { modes(&made, &mode_columns(&reply.report)) } else { made.surface(0) };
    let first = first.ok_or_else(none)?;
    let mut rest = vec![made.collection()];
    let mut not_made = Vec::new();
    let natural = calotte_answers::film::natural(case.part());
    let named =
        film.frames.iter().filter(|f| !f.name.is_empty() && f.name != "natural" && o.of != Kind::Modes);
    let solids = natural.frames.iter().map(|f| (&natural, f)).chain(named.map(|f| (&film, f)));
    for (film, frame) in solids {
        let plain: String =
            frame.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
        let name = format!("{plain}.stl");
        if rest.iter().any(|f| f.name == name) {
            continue;
        }
        match wall_stl(film, frame, &format!("{}, {}, mm", case.title, frame.name)) {
            Ok(bytes) => rest.push(NamedFile { name, bytes }),
            Err(why) => not_made.push(format!("{name}: {why}")),
        }
    }
    let mut tables = reply.tables.clone();
    tables.push(("surfaces".to_owned(), made.table(facts(case))));
    let mut packed: Vec<NamedFile> = Vec::new();
    for (name, table) in &tables {
        packed.push(NamedFile { name: format!("{name}.csv"), bytes: table.to_csv() });
        let bytes = table.to_parquet().map_err(|e| Stop::Disk(e.to_string()))?;
        packed.push(NamedFile { name: format!("{name}.parquet"), bytes });
    }
    // Said before anything is written: surfaces of one export are about as large as the first.
    let count = made.count() + rest.len() + packed.len() + 1;
    let others: usize = rest.iter().chain(&packed).map(|f| f.bytes.len()).sum();
    let about = (first.bytes.len() * made.count() + others) as u64;
    let told = format!("{count} files, about {}, into {}", said(about), o.out.display());
    if about > most {
        return Err(Refusal::with_help(
            format!("--most {}: these would be {told}", said(most)),
            "ask for fewer `--shapes`, fewer points `--around`, or more bytes",
        )
        .into());
    }
    if !o.json {
        paint::complain(&format!("writing {told}"));
    }
    let disk = |e: std::io::Error| Stop::Disk(e.to_string());
    std::fs::create_dir_all(&o.out).map_err(disk)?;
    let mut written = Vec::new();
    let mut put = |f: &NamedFile| -> Result<(), Stop> {
        files::write(&o.out.join(&f.name), &f.bytes).map_err(disk)?;
        written.push(FileWritten { name: f.name.clone(), bytes: f.bytes.len() as u64 });
        Ok(())
    };
    put(&first)?;
    surfaces_after_first(o, &made, bars, &mut put)?;
    // The collection comes after all that it names.
    for f in packed.iter().chain(&rest) {
        put(f)?;
    }
    folder::answer(&o.out, &reply.report).map_err(Stop::Disk)?;
    let json = std::fs::metadata(o.out.join("answer.json")).map_err(disk)?.len();
    written.push(FileWritten { name: "answer.json".to_owned(), bytes: json });
    Ok(ExportReport {
        schema_version: SCHEMA_VERSION,
        title: case.title.clone(),
        of: o.of.word(),
        around: o.around,
        timestep: made.steps.word(),
        surfaces: made.count(),
        shapes_found,
        points: film.s_m.len() * o.around as usize,
        total_bytes: written.iter().map(|f| f.bytes).sum(),
        files: written,
        not_made,
    })
}

fn surfaces_after_first(
    o: &Options,
    made: &Export<'_>,
    bars: &Bars,
    put: &mut dyn FnMut(&NamedFile) -> Result<(), Stop>,
) -> Result<(), Stop> {
    if o.of == Kind::Modes {
        return Ok(());
    }
    for k in 1..made.count() {
        if !bars.progress(Some(k as f64 / made.count() as f64), "surfaces") {
            return Err(Stop::Stopped(k));
        }
        if let Some(f) = made.surface(k) {
            put(&f)?;
        }
    }
    Ok(())
}

fn sheet(o: &Options, r: &ExportReport) -> Sheet {
    let mut p = Sheet::new(&format!("EXPORT of {}: {}", r.of, r.title));
    p.head("Surfaces");
    let thin =
        if r.surfaces < r.shapes_found { format!(" of {} found", r.shapes_found) } else { String::new() };
    p.row("shapes", &format!("{}{thin}", r.surfaces));
    p.row("points of each", &format!("about {}, {} around the axis", r.points, r.around));
    p.row("steps of the collection", r.timestep);
    p.head(&format!("Files in {}", o.out.display()));
    let of_kind = |ending: &str| r.files.iter().filter(move |f| f.name.ends_with(ending)).collect::<Vec<_>>();
    let all = of_kind(".vtu");
    let total = all.iter().map(|f| f.bytes).sum::<u64>();
    p.row(
        &format!("{} surfaces, *.vtu", all.len()),
        &format!("{}; metres, units in the names of fields", said(total)),
    );
    for f in r.files.iter().filter(|f| !f.name.ends_with(".vtu")) {
        p.row(&f.name, &said(f.bytes));
    }
    p.row("all together", &said(r.total_bytes));
    for n in &r.not_made {
        p.row("not made", n);
    }
    p
}
