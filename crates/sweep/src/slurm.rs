//! What a cluster run by Slurm is given: a script that a person can read and change, and the chunks of each of its tasks. Text alone:
//! starts nothing.

use std::path::Path;

use calotte_desk::Refusal;

use crate::chunks::{ranges, read_chunks};
use crate::folder::short;
use crate::sweep::Sweep;

/// How it is to be run.
#[derive(Clone, Debug)]
pub struct Cluster {
    /// Tasks of one array at most.
    pub array_max: u64,
    /// Tasks that run at the same time at most.
    pub simultaneous: Option<u64>,
    /// Time limit of a task, s; that of the partition where there is none.
    pub time_s: Option<f64>,
    /// Processors of a task.
    pub threads: usize,
    /// Further options of `sbatch`, as they are.
    pub extra: Option<String>,
}

/// Name of the file with the jobs that were submitted: a line each, job id and file of tasks.
pub const JOBS: &str = "jobs.txt";

/// The chunks of each task: even shares in order, as few as the array may have tasks.
pub fn tasks(chunks: &[u64], array_max: u64) -> Vec<&[u64]> {
    let each = (chunks.len() as u64).div_ceil(array_max.max(1)).max(1);
    chunks.chunks(usize::try_from(each).unwrap_or(usize::MAX)).collect()
}

/// The file of tasks: a line each.
pub fn tasks_text(tasks: &[&[u64]]) -> String {
    tasks.iter().map(|t| ranges(t) + "\n").collect()
}

/// Name of the next file of tasks: one per job, so that a job that still runs keeps its own.
pub fn tasks_name(jobs: &str, exists: impl Fn(&str) -> bool) -> String {
    let mut k = jobs.lines().count() + 1;
    loop {
        let name = format!("tasks-{k:03}.txt");
        if !exists(&name) {
            return name;
        }
        k += 1;
    }
}

/// Jobs that were submitted, with their files of tasks.
pub fn jobs(text: &str) -> Vec<(String, String)> {
    let pair = |l: &str| l.split_once(' ').map(|(id, file)| (id.to_owned(), file.trim().to_owned()));
    text.lines().filter_map(pair).collect()
}

/// Chunks of the tasks that `squeue -h -r -o %K` lists (an index a line) of a job with this file of tasks.
pub fn queued(listed: &str, tasks: &str, last: u64) -> Vec<u64> {
    let lines: Vec<&str> = tasks.lines().collect();
    let of =
        |index: &str| index.trim().parse::<usize>().ok().and_then(|i| read_chunks(lines.get(i)?, last).ok());
    listed.lines().filter_map(of).flatten().collect()
}

/// A time as Slurm writes limits, rounded up to a second.
pub fn time_limit(seconds: f64) -> String {
    let s = seconds.ceil() as u64;
    format!("{}-{:02}:{:02}:{:02}", s / 86_400, s / 3600 % 24, s / 60 % 60, s % 60)
}

/// A path between single quotes of a shell.
fn quoted(path: &Path) -> String {
    format!("'{}'", path.display().to_string().replace('\'', "'\\''"))
}

/// The script of a job.
///
/// # Errors
/// A refusal for paths and options that cannot stand in a script.
pub fn script(
    sweep: &Sweep<'_>,
    out: &Path,
    program: &Path,
    tasks: &str,
    count: usize,
    c: &Cluster,
) -> Result<String, Refusal> {
    let shown = out.display().to_string();
    if shown.contains(['"', '\n', '\r', '\\']) {
        let says = format!("--out {shown}: a quote, backslash or line break cannot stand in a script's head");
        return Err(Refusal::with_help(says, "choose a folder with a plain name"));
    }
    if c.extra.as_ref().is_some_and(|e| e.contains(['\n', '\r'])) {
        return Err(Refusal::question("--sbatch: the options must be one line"));
    }
    let mut head = vec![
        format!("--job-name=sweep-{}", &short(sweep.digest())[..8]),
        format!("--array=0-{}{}", count - 1, c.simultaneous.map_or(String::new(), |n| format!("%{n}"))),
        format!("--cpus-per-task={}", c.threads.max(1)),
        "--requeue".to_owned(),
        "--open-mode=append".to_owned(),
        format!("--output=\"{}/_sweep/logs/%A_%a.log\"", shown.replace('%', "%%")),
    ];
    head.extend(c.time_s.map(|t| format!("--time={}", time_limit(t))));
    head.extend(c.extra.clone());
    let head: String = head.iter().map(|o| format!("#SBATCH {o}\n")).collect();
    let (dir, program) = (quoted(out), quoted(program));
    Ok(format!(
        "#!/bin/bash
{head}
# One array task computes one line of the file of tasks: some chunks of the sweep. A chunk that is there already
# is passed over, so that any task may be run again, here or anywhere, at no cost.
# Results: one Parquet file per chunk in OUT. Gather them: calotte sweep OUT/_sweep/plan.toml --out OUT --gather

OUT={dir}
PROGRAM=${{CALOTTE:-{program}}}

chunks=$(sed -n \"$((SLURM_ARRAY_TASK_ID + 1))p\" \"$OUT/_sweep/{tasks}\")
echo \"task $SLURM_ARRAY_TASK_ID, start $((${{SLURM_RESTART_COUNT:-0}} + 1)): chunks $chunks\"

\"$PROGRAM\" sweep \"$OUT/_sweep/plan.toml\" --out \"$OUT\" --chunks \"$chunks\" --threads \"${{SLURM_CPUS_PER_TASK:-1}}\"
code=$?

# Slurm starts a task again when its node is lost, not when its program was killed (codes above 128), as where memory
# runs out: that is done here, three times. 130 and 143 are somebody's wish or a time limit: those end it.
if [ $code -gt 128 ] && [ $code -ne 130 ] && [ $code -ne 143 ] && [ \"${{SLURM_RESTART_COUNT:-0}}\" -lt 3 ]; then
    echo \"killed by signal $((code - 128)): back to the queue\"
    scontrol requeue \"${{SLURM_ARRAY_JOB_ID}}_${{SLURM_ARRAY_TASK_ID}}\"
fi
exit $code
"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chunks_are_shared_out() {
        let all: Vec<u64> = (0..25).collect();
        assert_eq!(tasks(&all, 1000).len(), 25);
        let few = tasks(&all, 10);
        assert_eq!((few.len(), few[0].len(), few[8]), (9, 3, &[24][..]));
        assert_eq!(tasks_text(&few[..2]), "0-2\n3-5\n");
        assert!(tasks(&[], 10).is_empty());
        let text = tasks_text(&few);
        assert_eq!(queued("0\n8\nN/A\n\n99\n", &text, 24), [0, 1, 2, 24]);
        assert_eq!(jobs("12 tasks-001.txt\n\n14 tasks-002.txt\n").len(), 2);
        assert_eq!(tasks_name("12 tasks-001.txt\n", |n| n == "tasks-002.txt"), "tasks-003.txt");
    }

    #[test]
    fn limits_of_time() {
        assert_eq!(time_limit(1800.0), "0-00:30:00");
        assert_eq!(time_limit(100_000.2), "1-03:46:41");
    }
}
