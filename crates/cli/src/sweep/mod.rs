//! `calotte sweep`: questions at many points, on this machine or on a cluster.

mod cluster;
mod words;

use std::path::{Path, PathBuf};

use calotte_desk::{Refusal, Written, misread};
use calotte_quantity::{Dimension, Quantity};
use calotte_specimen::{Case, Level};
use calotte_sweep::{Place, Plan, Sweep, read_chunks, read_plan};

use crate::answer::refused;
use crate::map::left;
use crate::progress::bar;
use crate::{End, files, findings, paint, stop};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Plan file (TOML): case, questions, numbers that vary.
    plan: PathBuf,
    /// Folder of the results, one Parquet file per chunk; a sweep that was stopped goes on from there.
    #[arg(long, value_name = "DIR", required_unless_present = "points")]
    out: Option<PathBuf>,
    /// Threads; 0 takes every core. With --slurm: processors of a task, 0 takes one.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Compute these chunks alone, e.g. `3-7,12`: what a task of a cluster does.
    #[arg(long, value_name = "LIST", conflicts_with_all = ["slurm", "gather", "points"])]
    chunks: Option<String>,
    /// Look at every chunk, say what is missing or damaged, and close the sweep when all are there.
    #[arg(long, conflicts_with_all = ["slurm", "points"])]
    gather: bool,
    /// Write all points as one CSV when all chunks are there.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["slurm", "points", "chunks"])]
    csv: Option<PathBuf>,
    /// Print the numbers of single points, e.g. `0,17,42`, and compute nothing.
    #[arg(long, value_name = "LIST", conflicts_with = "slurm")]
    points: Option<String>,
    /// Submit what is missing to a cluster run by Slurm, as an array of tasks.
    #[arg(long)]
    slurm: bool,
    /// Tasks of the array at most; chunks beyond are shared among them.
    #[arg(long, value_name = "N", default_value_t = 1000, requires = "slurm", value_parser = clap::value_parser!(u64).range(1..))]
    array_max: u64,
    /// Tasks that run at the same time at most.
    #[arg(long, value_name = "N", requires = "slurm", value_parser = clap::value_parser!(u64).range(1..))]
    simultaneous: Option<u64>,
    /// Time limit of a task, e.g. `30min`.
    #[arg(long, value_name = "TIME", requires = "slurm")]
    time: Option<String>,
    /// Further options for `sbatch`, e.g. `"--partition=long --mem=1G"`.
    #[arg(long, value_name = "OPTIONS", requires = "slurm", allow_hyphen_values = true)]
    sbatch: Option<String>,
    /// Write the script of the job and submit nothing.
    #[arg(long, requires = "slurm")]
    write_only: bool,
    /// Print the summary as JSON.
    #[arg(long)]
    json: bool,
}

pub(crate) fn sweep(o: &Options) -> End {
    match run(o) {
        Ok(end) => end,
        Err(refusal) => refused(&refusal, ""),
    }
}

/// Reads a plan with its case, showing every finding; `None` when it cannot be used.
pub(crate) fn read(path: &Path) -> Option<(Plan, Case)> {
    let bytes = match files::read(path) {
        Ok(bytes) => bytes,
        Err(e) => {
            let help = "docs/sweep.md shows a plan to start from";
            paint::complain(&format!("{}: cannot be read: {e}\n  help: {help}", path.display()));
            return None;
        }
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    let read = read_plan(&bytes, &|name| files::read(&folder.join(name)), &|case, name| {
        files::read(&folder.join(case).parent().unwrap_or(Path::new("")).join(name))
    });
    if let Some(name) = read.case_name.as_ref().filter(|_| !read.case_findings.is_empty()) {
        // Warnings of a case are told where it is asked alone; a thousand tasks need not tell them.
        let errors: Vec<_> = read.case_findings.iter().filter(|f| f.level == Level::Error).cloned().collect();
        let content = read.files.get(name).map_or(&[][..], Vec::as_slice);
        findings::show(&folder.join(name), content, &read.case_files, &errors);
    }
    findings::show(path, &bytes, &read.files, &read.findings);
    read.plan
}

fn run(o: &Options) -> Result<End, Refusal> {
    let Some((plan, case)) = read(&o.plan) else { return Ok(End::BadInput) };
    let sweep = Sweep::new(&plan, &case)?;
    if let Some(list) = &o.points {
        let points = read_chunks(list, sweep.points() - 1)
            .map_err(|why| Refusal::question(format!("--points: {}", why.replace("chunk", "point"))))?;
        return Ok(words::points(&sweep, &points, o.json));
    }
    let Some(out) = &o.out else { return Err(Refusal::question("--out is missing")) };
    if let Some(csv) = &o.csv
        && same_folder(csv, out)
    {
        let says = format!("--csv {}: a table beside the chunks would be read as one of them", csv.display());
        return Err(Refusal::with_help(says, "write it elsewhere, or into the folder _sweep"));
    }
    let place = Place::new(out);
    place.prepare(&sweep)?;
    if o.slurm {
        let time_s = o.time.as_ref().map(|t| seconds(&Written::new("--time", t))).transpose()?;
        return cluster::submit(o, &sweep, &place, time_s);
    }
    if o.gather {
        return gather(o, &sweep, &place);
    }
    let last = sweep.chunks() - 1;
    let asked: Vec<u64> = match &o.chunks {
        Some(list) => read_chunks(list, last).map_err(|why| Refusal::question(format!("--chunks: {why}")))?,
        None => (0..=last).collect(),
    };
    let (missing, damaged) = place.missing(&sweep, &asked)?;
    for d in &damaged {
        paint::complain(&words::damaged(d));
    }
    if !compute(o, &sweep, &place, &asked, &missing)? {
        paint::complain(&format!(
            "stopped; finished chunks are kept in {}: the same command goes on from there",
            out.display()
        ));
        return Ok(End::Stopped);
    }
    if o.chunks.is_some() {
        return Ok(words::computed(&sweep, &asked, &missing, o.json));
    }
    gather(o, &sweep, &place)
}

/// Computes the missing ones of the chunks asked for; `false` when stopped.
fn compute(
    o: &Options,
    sweep: &Sweep<'_>,
    place: &Place,
    asked: &[u64],
    missing: &[u64],
) -> Result<bool, Refusal> {
    if missing.is_empty() {
        return Ok(true);
    }
    let shards = place.shards(sweep);
    let points =
        |chunks: &[u64]| chunks.iter().map(|c| shards.range(*c)).map(|r| r.end - r.start).sum::<u64>();
    let all = points(asked);
    let bar = bar("points", all);
    let ended = shards.run(
        missing,
        all - points(missing),
        o.threads,
        &stop::watch(),
        &mut |p| {
            bar.set_position(p.done);
            bar.set_message(left(p.left));
        },
        &|k| sweep.row(k),
    );
    bar.finish_and_clear();
    ended.map_err(|e| {
        let help = "finished chunks are kept; make room or repair this, then give the same command again";
        Refusal::with_help(e.to_string(), help)
    })
}

fn gather(o: &Options, sweep: &Sweep<'_>, place: &Place) -> Result<End, Refusal> {
    let bar = bar("chunks", sweep.chunks());
    let gathered = place.gather(sweep, &mut |done| bar.set_position(done));
    bar.finish_and_clear();
    let gathered = gathered?;
    if let Some(csv) = o.csv.as_ref().filter(|_| gathered.missing.is_empty()) {
        place.csv(sweep, csv)?;
    }
    Ok(words::gathered(sweep, place, &gathered, o.csv.as_deref(), o.json))
}

fn same_folder(file: &Path, folder: &Path) -> bool {
    let parent = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match (parent.canonicalize(), folder.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => parent == folder,
    }
}

fn seconds(written: &Written) -> Result<f64, Refusal> {
    let place = format!("{} {}", written.option, written.text);
    let read = Quantity::parse(&written.text, Dimension::Time).map_err(|e| misread(&place, &e))?;
    if read.value > 0.0 && read.value < 1e9 {
        Ok(read.value)
    } else {
        Err(Refusal::question(format!("{place}: a limit of time is greater than 0, for example `30min`")))
    }
}
