//! Submits what is missing of a sweep to a cluster run by Slurm.

use std::io;
use std::process::{Command, Output, Stdio};

use calotte_desk::{Refusal, Sheet};
use calotte_sweep::slurm::{self, Cluster, JOBS};
use calotte_sweep::{Place, Sweep, ranges};
use serde_json::json;

use super::{Options, words};
use crate::{End, paint};

/// Name of the script.
const SCRIPT: &str = "job.sh";

pub(super) fn submit(
    o: &Options,
    sweep: &Sweep<'_>,
    place: &Place,
    time_s: Option<f64>,
) -> Result<End, Refusal> {
    let all: Vec<u64> = (0..sweep.chunks()).collect();
    let (mut missing, damaged) = place.missing(sweep, &all)?;
    for d in &damaged {
        paint::complain(&words::damaged(d));
    }
    let (queued, unsure) = queued(sweep, place);
    missing.retain(|c| queued.binary_search(c).is_err());
    if let Some(why) = unsure {
        paint::complain(&format!("{why}; a chunk that is computed twice does no harm"));
    }
    if missing.is_empty() {
        return Ok(nothing(o, sweep, &queued));
    }
    let out = std::path::absolute(&place.out).map_err(|e| Refusal::question(format!("--out: {e}")))?;
    let program = std::env::current_exe().map_err(|e| Refusal::Failed { says: e.to_string() })?;
    let tasks = slurm::tasks(&missing, o.array_max);
    let jobs = place.kept(JOBS);
    let name = slurm::tasks_name(&jobs, |n| place.side.join(n).exists());
    let cluster = Cluster {
        array_max: o.array_max,
        simultaneous: o.simultaneous,
        time_s,
        threads: o.threads.max(1),
        extra: o.sbatch.clone(),
    };
    let script = slurm::script(sweep, &out, &program, &name, tasks.len(), &cluster)?;
    place.keep(&name, &slurm::tasks_text(&tasks))?;
    place.logs()?;
    let script = place.keep(SCRIPT, &script)?;
    let id = if o.write_only { None } else { Some(sbatch(&script)?) };
    if let Some(id) = &id {
        place.keep(JOBS, &format!("{jobs}{id} {name}\n"))?;
    }
    if o.json {
        let more = json!({
            "job": id,
            "script": script.display().to_string(),
            "submitted_chunks": missing.len(),
            "queued_chunks": queued.len(),
            "array_tasks": tasks.len(),
        });
        return Ok(words::say(sweep, more));
    }
    let mut sheet = Sheet::new(&format!("SWEEP: {}", sweep.plan().title));
    let what = format!(
        "{} in {}{}",
        words::count(missing.len() as u64, "missing chunk"),
        words::count(tasks.len() as u64, "task"),
        if queued.is_empty() { String::new() } else { format!("; {} queued already", queued.len()) }
    );
    match &id {
        Some(id) => {
            sheet.text_block(&format!("Submitted as job {id}: {what}."));
            sheet.row("how it is going", &format!("squeue -r -j {id}"));
            sheet.row("logs", &place.side.join("logs").display().to_string());
            sheet.row("when it has ended", "the same command with --gather instead of --slurm");
            sheet.row("end it", &format!("scancel {id}"));
        }
        None => {
            sheet.text_block(&format!("Written, not submitted: {what}."));
            sheet.row("submit", &format!("sbatch {}", script.display()));
        }
    }
    sheet.row("script", &script.display().to_string());
    Ok(paint::line(&sheet.text()))
}

fn nothing(o: &Options, sweep: &Sweep<'_>, queued: &[u64]) -> End {
    if o.json {
        let more = json!({
            "job": null,
            "script": null,
            "submitted_chunks": 0,
            "queued_chunks": queued.len(),
            "array_tasks": 0,
        });
        return words::say(sweep, more);
    }
    let why = match queued {
        [] => "all chunks are there; gather them with --gather".to_owned(),
        all => format!("every missing chunk is queued already: {}", ranges(all)),
    };
    paint::line(&format!("SWEEP: {}: nothing to submit: {why}", sweep.plan().title))
}

/// Chunks of tasks that wait or run, in order, and what could not be found out.
fn queued(sweep: &Sweep<'_>, place: &Place) -> (Vec<u64>, Option<String>) {
    let (mut out, mut unsure) = (Vec::new(), None);
    for (id, tasks) in slurm::jobs(&place.kept(JOBS)) {
        match run("squeue", &["-h", "-r", "-o", "%K", "-j", &id]) {
            Ok(o) if o.status.success() => {
                let listed = String::from_utf8_lossy(&o.stdout).into_owned();
                out.extend(slurm::queued(&listed, &place.kept(&tasks), sweep.chunks() - 1));
            }
            // It has ended so long ago that the cluster has forgotten it.
            Ok(o) if String::from_utf8_lossy(&o.stderr).contains("Invalid job id") => {}
            Ok(o) => unsure = Some(format!("whether job {id} still runs is not known: {}", last_line(&o))),
            Err(e) => unsure = Some(format!("whether job {id} still runs is not known: squeue: {e}")),
        }
    }
    out.sort_unstable();
    out.dedup();
    (out, unsure)
}

/// Submits the script; the id of the job.
fn sbatch(script: &std::path::Path) -> Result<String, Refusal> {
    let path = script.display().to_string();
    let help = format!(
        "the script is written: `sbatch {path}` on a machine of the cluster submits it; --write-only writes it alone"
    );
    match run("sbatch", &["--parsable", &path]) {
        Ok(o) if o.status.success() => {
            let said = String::from_utf8_lossy(&o.stdout).into_owned();
            let id = said.trim().split(';').next().unwrap_or("").to_owned();
            if id.is_empty() || !id.bytes().all(|b| b.is_ascii_digit()) {
                return Err(Refusal::with_help(
                    format!("sbatch said `{}` where a job id was due", said.trim()),
                    help,
                ));
            }
            Ok(id)
        }
        Ok(o) => Err(Refusal::with_help(format!("sbatch refused the job: {}", last_line(&o)), help)),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            Err(Refusal::with_help("there is no `sbatch` here: this machine submits no jobs to Slurm", help))
        }
        Err(e) => Err(Refusal::with_help(format!("sbatch could not be run: {e}"), help)),
    }
}

fn run(program: &str, arguments: &[&str]) -> io::Result<Output> {
    Command::new(program).args(arguments).stdin(Stdio::null()).output()
}

fn last_line(o: &Output) -> String {
    let said = String::from_utf8_lossy(&o.stderr).into_owned();
    said.lines().rev().find(|l| !l.trim().is_empty()).map_or_else(|| format!("{}", o.status), str::to_owned)
}
