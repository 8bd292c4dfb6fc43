//! The folder of a sweep: shards directly in it, everything else in `_sweep/`, which programs that read folders of tables pass over.
//!
//! `_sweep/` holds `manifest.json`, the plan as `plan.toml` with copies of what it names (a node needs nothing else), `job.sh` and
//! `logs/` of a cluster, `tmp/` while shards are written and `set-aside/` with damaged ones.

use std::path::{Path, PathBuf};

use calotte_desk::{PROGRAM, Refusal, VERSION};
use calotte_runs::{Failure, Shard, Shards, Value, checksum, make_folder, read, write_atomic, write_with};
use serde::{Deserialize, Serialize};
use serde_json::json;

use crate::chunks::ranges;
use crate::question::Question;
use crate::sweep::Sweep;

/// The folder.
#[derive(Clone, Debug)]
pub struct Place {
    /// Where the shards lie.
    pub out: PathBuf,
    /// `_sweep/` in it.
    pub side: PathBuf,
}

/// Version of the manifest's layout.
const SCHEMA_VERSION: u32 = 1;

/// A shard as the manifest has it.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Entry {
    chunk: u64,
    file: String,
    first_point: u64,
    rows: u64,
    bytes: u64,
    digest: String,
}

/// What is compared before anything is done.
#[derive(Deserialize)]
struct Owner {
    program: String,
    version: String,
    plan_digest: String,
}

/// What there is after all shards have been looked at.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Gathered {
    /// Chunks that are whole.
    pub whole: u64,
    /// Chunks that are not there, in order; those that were damaged too.
    pub missing: Vec<u64>,
    /// Damaged shards: what is wrong, and where they were put.
    pub damaged: Vec<Damaged>,
    /// Tables in the folder that are none of this sweep.
    pub strange: Vec<String>,
    /// Points that are there.
    pub points: u64,
    /// Points whose note is not empty.
    pub with_note: u64,
    /// Bytes of all shards.
    pub bytes: u64,
    /// What was answered how often.
    pub counts: Vec<Count>,
}

/// A damaged shard.
#[derive(Clone, Debug, Serialize)]
pub struct Damaged {
    /// Its chunk.
    pub chunk: u64,
    /// What is wrong.
    pub why: String,
    /// Where it was put.
    pub set_aside: String,
}

/// How often something was answered.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Count {
    /// The question.
    pub question: &'static str,
    /// The answer.
    pub answer: String,
    /// Points.
    pub points: u64,
}

/// What the disk refused, with what helps.
fn disk(failure: &Failure) -> Refusal {
    Refusal::with_help(
        failure.to_string(),
        "finished chunks are kept; make room or repair this, then give the same command again",
    )
}

impl Place {
    /// The folder at a path.
    pub fn new(out: &Path) -> Self {
        Self { out: out.to_owned(), side: out.join("_sweep") }
    }

    /// The shards of a sweep in it.
    pub fn shards<'a>(&'a self, sweep: &'a Sweep<'_>) -> Shards<'a> {
        Shards { job: sweep.job(), folder: &self.out, beside: &self.side }
    }

    /// Where the manifest lies.
    pub fn manifest(&self) -> PathBuf {
        self.side.join("manifest.json")
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> Result<(), Refusal> {
        if read(path).is_ok_and(|there| there == bytes) {
            return Ok(());
        }
        let folder = path.parent().unwrap_or(&self.side);
        let written = make_folder(folder).and_then(|()| write_atomic(path, bytes));
        // Another process may have written the same at the same time.
        match written {
            Err(_) if read(path).is_ok_and(|there| there == bytes) => Ok(()),
            Err(source) => Err(disk(&Failure::Io { path: path.to_owned(), source })),
            Ok(()) => Ok(()),
        }
    }

    /// Makes the folder ready: refuses one that holds another sweep, copies the plan and what it names, writes the manifest.
    ///
    /// # Errors
    /// [`Refusal::Question`] for a folder of another sweep, or when the disk refuses.
    pub fn prepare(&self, sweep: &Sweep<'_>) -> Result<(), Refusal> {
        let known = self.owned(sweep)?;
        let plan = sweep.plan();
        let case = self.side.join("case");
        self.write(&case.join("case.toml"), &plan.case_bytes)?;
        for (name, bytes) in &plan.case_files {
            if Path::new(name).is_absolute() || name.split(['/', '\\']).any(|p| p == "..") {
                let says = format!(
                    "the case names `{name}`, which lies outside of its folder and so cannot be copied"
                );
                return Err(Refusal::with_help(says, "put the file beside the case and name it so"));
            }
            self.write(&case.join(name), bytes)?;
        }
        if let Some(table) = &plan.table {
            self.write(&self.side.join("table.csv"), table)?;
        }
        self.write(&self.plan(), plan.portable.as_bytes())?;
        if known { Ok(()) } else { self.write_manifest(sweep, &[], false) }
    }

    /// The copy of the plan.
    pub fn plan(&self) -> PathBuf {
        self.side.join("plan.toml")
    }

    /// Whether the manifest says that the folder is this sweep's; refuses when it is another's.
    fn owned(&self, sweep: &Sweep<'_>) -> Result<bool, Refusal> {
        let Ok(bytes) = read(&self.manifest()) else { return Ok(false) };
        // Every shard says what it belongs to, so a manifest that cannot be read is written anew.
        let Ok(owner) = serde_json::from_slice::<Owner>(&bytes) else { return Ok(false) };
        if owner.plan_digest != sweep.digest() {
            let says = format!(
                "{} holds the results of another plan: its digest is {}, that of this one is {}",
                self.out.display(),
                owner.plan_digest,
                sweep.digest()
            );
            let help =
                "choose another --out; or go on with the plan that was begun, kept in _sweep/plan.toml there";
            return Err(Refusal::with_help(says, help));
        }
        if (owner.program.as_str(), owner.version.as_str()) != (PROGRAM, VERSION) {
            let says = format!(
                "{} was begun with {} {}, this is {PROGRAM} {VERSION}: their numbers may differ",
                self.out.display(),
                owner.program,
                owner.version
            );
            return Err(Refusal::with_help(says, "go on with that version, or choose another --out"));
        }
        Ok(true)
    }

    fn write_manifest(&self, sweep: &Sweep<'_>, entries: &[Entry], complete: bool) -> Result<(), Refusal> {
        let columns: Vec<_> = sweep
            .job()
            .columns
            .iter()
            .map(|c| json!({ "name": c.name, "unit": c.unit, "kind": c.kind.word(), "about": c.about }))
            .collect();
        let manifest = json!({
            "schema_version": SCHEMA_VERSION,
            "program": PROGRAM,
            "version": VERSION,
            "title": sweep.plan().title,
            "plan_digest": sweep.digest(),
            "case_digest": sweep.case().digest(),
            "points": sweep.points(),
            "points_per_chunk": sweep.job().chunk,
            "chunk_count": sweep.chunks(),
            "complete": complete,
            "columns": columns,
            "chunks": entries,
        });
        let bytes =
            serde_json::to_vec_pretty(&manifest).map_err(|e| Refusal::Failed { says: e.to_string() })?;
        self.write(&self.manifest(), &bytes)
    }

    /// Of the chunks asked for, those that are not there or not whole; damaged ones are set aside and told of.
    ///
    /// # Errors
    /// [`Refusal::Question`] for a shard of another sweep, or when the disk refuses.
    pub fn missing(&self, sweep: &Sweep<'_>, chunks: &[u64]) -> Result<(Vec<u64>, Vec<Damaged>), Refusal> {
        let shards = self.shards(sweep);
        let (mut missing, mut damaged) = (Vec::new(), Vec::new());
        for &chunk in chunks {
            match self.look(&shards, chunk)? {
                Looked::Whole(_) => {}
                Looked::Missing => missing.push(chunk),
                Looked::Damaged(d) => {
                    missing.push(chunk);
                    damaged.push(d);
                }
            }
        }
        Ok((missing, damaged))
    }

    fn look(&self, shards: &Shards<'_>, chunk: u64) -> Result<Looked, Refusal> {
        match shards.look(chunk).map_err(|e| disk(&e))? {
            Shard::Whole(whole) => Ok(Looked::Whole(Box::new(whole))),
            Shard::Missing => Ok(Looked::Missing),
            Shard::Foreign(what) => Err(Refusal::with_help(
                format!("{} belongs to another sweep: {what}", shards.path(chunk).display()),
                "sweeps are not mixed: choose another --out, or take this file away",
            )),
            Shard::Damaged(why) => {
                let aside = shards.set_aside(chunk).map_err(|e| disk(&e))?;
                Ok(Looked::Damaged(Damaged { chunk, why, set_aside: aside.display().to_string() }))
            }
        }
    }

    /// Looks at every shard, counts, and writes the manifest: complete when all are whole.
    ///
    /// # Errors
    /// As [`Place::missing`].
    pub fn gather(&self, sweep: &Sweep<'_>, progress: &mut dyn FnMut(u64)) -> Result<Gathered, Refusal> {
        self.owned(sweep)?;
        let shards = self.shards(sweep);
        let (listed, strange) = shards.listed().map_err(|e| disk(&e))?;
        let mut out = Gathered { strange, ..Gathered::default() };
        let mut entries = Vec::new();
        let mut tally = Tally::new(sweep);
        let mut there = listed.into_iter().peekable();
        for chunk in 0..sweep.chunks() {
            if there.next_if_eq(&chunk).is_none() {
                out.missing.push(chunk);
                continue;
            }
            match self.look(&shards, chunk)? {
                Looked::Whole(whole) => {
                    let rows = whole.table.rows.len() as u64;
                    out.points += rows;
                    out.bytes += whole.bytes;
                    tally.add(&whole.table.rows);
                    entries.push(Entry {
                        chunk,
                        file: shards.name(chunk),
                        first_point: shards.range(chunk).start,
                        rows,
                        bytes: whole.bytes,
                        digest: format!("{:016x}", whole.digest),
                    });
                }
                Looked::Missing => out.missing.push(chunk),
                Looked::Damaged(d) => {
                    out.missing.push(chunk);
                    out.damaged.push(d);
                }
            }
            progress(chunk + 1);
        }
        out.whole = entries.len() as u64;
        out.with_note = tally.with_note;
        out.counts = tally.counts();
        let complete = out.missing.is_empty();
        if complete {
            shards.tidy().map_err(|e| disk(&e))?;
        }
        make_folder(&self.side).map_err(|source| disk(&Failure::Io { path: self.side.clone(), source }))?;
        self.write_manifest(sweep, &entries, complete)?;
        Ok(out)
    }

    /// Writes all rows as one CSV, whole or not at all; every chunk must be there.
    ///
    /// # Errors
    /// [`Refusal::Question`] when one is not, or when the disk refuses.
    pub fn csv(&self, sweep: &Sweep<'_>, path: &Path) -> Result<(), Refusal> {
        let shards = self.shards(sweep);
        let mut lost = None;
        let written = write_with(path, &mut |file| {
            for chunk in 0..sweep.chunks() {
                match shards.look(chunk).map_err(|e| std::io::Error::other(e.to_string()))? {
                    Shard::Whole(mut whole) => {
                        whole.table.provenance.clone_from(&sweep.job().provenance);
                        let csv = if chunk == 0 { whole.table.to_csv() } else { whole.table.to_csv_rows() };
                        file.write_all(&csv)?;
                    }
                    _ => {
                        lost = Some(chunk);
                        return Err(std::io::Error::other("a chunk is missing"));
                    }
                }
            }
            Ok(())
        });
        match (written, lost) {
            (Ok(()), _) => Ok(()),
            (Err(_), Some(chunk)) => Err(Refusal::question(format!("chunk {chunk} is missing or damaged"))),
            (Err(source), None) => Err(disk(&Failure::Io { path: path.to_owned(), source })),
        }
    }

    /// Keeps a file of a cluster job in `_sweep/`.
    ///
    /// # Errors
    /// When the disk refuses.
    pub fn keep(&self, name: &str, text: &str) -> Result<PathBuf, Refusal> {
        let path = self.side.join(name);
        self.write(&path, text.as_bytes())?;
        Ok(path)
    }

    /// A text kept in `_sweep/`; empty when there is none.
    pub fn kept(&self, name: &str) -> String {
        read(&self.side.join(name))
            .map_or_else(|_| String::new(), |b| String::from_utf8_lossy(&b).into_owned())
    }

    /// Makes the folder of logs.
    ///
    /// # Errors
    /// When the disk refuses.
    pub fn logs(&self) -> Result<PathBuf, Refusal> {
        let logs = self.side.join("logs");
        make_folder(&logs).map_err(|source| disk(&Failure::Io { path: logs.clone(), source }))?;
        Ok(logs)
    }
}

enum Looked {
    Whole(Box<calotte_runs::Whole>),
    Missing,
    Damaged(Damaged),
}

impl Gathered {
    /// Missing chunks as people write them.
    pub fn missing_ranges(&self) -> String {
        ranges(&self.missing)
    }
}

/// Question, column, words with their counts; for the threshold: stays, returns.
type Words = (Question, usize, Vec<(String, u64)>);

/// Counts answers.
struct Tally {
    of: Vec<Words>,
    note: usize,
    with_note: u64,
}

impl Tally {
    fn new(sweep: &Sweep<'_>) -> Self {
        let mut at = 1 + sweep.plan().vary.len();
        let mut of = Vec::new();
        for q in &sweep.plan().questions {
            let words: &[&str] = if *q == Question::Threshold { &["stays", "returns"] } else { q.outcomes() };
            of.push((*q, at, words.iter().map(|w| ((*w).to_owned(), 0)).collect()));
            at += q.columns(sweep.case()).len();
        }
        Self { of, note: at, with_note: 0 }
    }

    fn add(&mut self, rows: &[Vec<Value>]) {
        for row in rows {
            self.with_note += u64::from(row.get(self.note).is_some_and(|n| *n != Value::Missing));
            for (_, at, words) in &mut self.of {
                let word = match row.get(*at) {
                    Some(Value::Text(word)) => word.as_str(),
                    Some(Value::Number(ratio)) if *ratio < 1.0 => "stays",
                    Some(Value::Number(_)) => "returns",
                    _ => continue,
                };
                if let Some(w) = words.iter_mut().find(|w| w.0 == word) {
                    w.1 += 1;
                }
            }
        }
    }

    fn counts(self) -> Vec<Count> {
        let all = self.of.into_iter().flat_map(|(q, _, words)| {
            words.into_iter().map(move |(answer, points)| Count { question: q.name(), answer, points })
        });
        all.filter(|c| c.points > 0).collect()
    }
}

/// Checksum of a text, for names.
pub(crate) fn short(text: &str) -> String {
    format!("{:016x}", checksum(text.as_bytes()))
}
