//! The folder of an unfinished run, `NAME.run/`, and the order in which its files come and go.
//!
//! - `lock`: empty; locked by the process that works here. The system frees the lock of a killed process.
//! - `manifest`: which run this is; written first.
//! - `00000000.chunk`, …: one file per finished chunk. Each also names its run, so the manifest can be
//!   lost without loss of work.
//! - `finished`: the manifest, renamed once the tables are written; what then remains is debris.
//! - `*.part`: a write that was interrupted.
//!
//! But for the lock, nothing is written or removed here before everything that lies here has been checked.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::ops::Range;
use std::path::{Path, PathBuf};

use crate::chunk::{self, Wrong};
use crate::failure::Failure;
use crate::files::{PART, sync_folder, write_atomic};
use crate::job::Job;
use crate::manifest;
use crate::table::Value;

const LOCK: &str = "lock";
const MANIFEST: &str = "manifest";
const FINISHED: &str = "finished";

/// How often the lock is reached for when other runs end at the same time and take the folder away.
const TRIES: u32 = 100;

/// The rows of a chunk.
pub(crate) type Rows = Vec<Vec<Value>>;

/// The folder of a run, locked for this process as long as the value lives.
pub(crate) struct Folder {
    path: PathBuf,
    fingerprint: u64,
    lock: fs::File,
}

/// What a name in the folder stands for.
#[derive(Clone, Copy, PartialEq)]
enum Ours {
    Lock,
    Manifest,
    Chunk(u64),
    Part,
    Finished,
}

/// What `name` stands for; nothing for what is not ours.
fn ours(name: &str) -> Option<Ours> {
    if let Some(whole) = name.strip_suffix(PART) {
        return matches!(ours(whole)?, Ours::Chunk(_) | Ours::Manifest).then_some(Ours::Part);
    }
    match name {
        LOCK => Some(Ours::Lock),
        MANIFEST => Some(Ours::Manifest),
        FINISHED => Some(Ours::Finished),
        _ => {
            let number = name.strip_suffix(".chunk")?.parse().ok()?;
            (file_name(number) == name).then_some(Ours::Chunk(number))
        }
    }
}

fn file_name(chunk: u64) -> String {
    format!("{chunk:08}.chunk")
}

impl Folder {
    /// Makes the folder of `job` below `target` unless it is there, and locks it.
    pub(crate) fn open(job: &Job, target: &Path) -> Result<Self, Failure> {
        // An empty path is the folder that the process works in; `create_dir_all` takes it as such.
        fs::create_dir_all(target).map_err(Failure::io(target))?;
        let path = target.join(format!("{}.run", job.name));
        let lock = lock(&path)?;
        sync_folder(target).map_err(Failure::io(target))?;
        Ok(Self { path, fingerprint: manifest::fingerprint(job), lock })
    }

    /// The chunks that are finished. All that lies here is checked first; then debris is removed and the
    /// manifest written if it lacks.
    pub(crate) fn resume(&self, job: &Job) -> Result<BTreeMap<u64, Rows>, Failure> {
        let there = self.list()?;
        let has = |what| there.iter().any(|t| t.1 == what);
        if has(Ours::Finished) {
            self.clear()?;
            self.begin(job)?;
            return Ok(BTreeMap::new());
        }
        let chunks = self.check(job, &there)?;
        for (name, _) in there.iter().filter(|t| t.1 == Ours::Part) {
            self.remove(name)?;
        }
        if !has(Ours::Manifest) {
            self.begin(job)?;
        }
        Ok(chunks)
    }

    /// Keeps the rows of a chunk for good.
    pub(crate) fn keep(&self, number: u64, range: &Range<u64>, rows: &Rows) -> Result<(), Failure> {
        let path = self.path.join(file_name(number));
        write_atomic(&path, &chunk::write(self.fingerprint, range, rows)).map_err(Failure::io(&path))
    }

    /// Removes the folder once the tables are written; files that are not ours keep it.
    pub(crate) fn close(self) -> Result<(), Failure> {
        let manifest = self.path.join(MANIFEST);
        fs::rename(&manifest, self.path.join(FINISHED)).map_err(Failure::io(&manifest))?;
        self.sync()?;
        self.clear()?;
        self.remove(LOCK)?;
        drop(self.lock);
        // Not empty: something in it is not ours, or the next run has begun.
        let _ = fs::remove_dir(&self.path);
        Ok(())
    }

    fn begin(&self, job: &Job) -> Result<(), Failure> {
        let path = self.path.join(MANIFEST);
        write_atomic(&path, manifest::write(job).as_bytes()).map_err(Failure::io(&path))
    }

    /// Removes what is ours but for the lock; the mark that all is debris goes last.
    fn clear(&self) -> Result<(), Failure> {
        for (name, what) in self.list()? {
            if matches!(what, Ours::Chunk(_) | Ours::Part) {
                self.remove(&name)?;
            }
        }
        self.sync()?;
        self.remove(FINISHED)
    }

    /// Reads and checks the manifest and all chunks.
    fn check(&self, job: &Job, there: &[(String, Ours)]) -> Result<BTreeMap<u64, Rows>, Failure> {
        let read = |name: &str| {
            let path = self.path.join(name);
            fs::read(&path).map_err(Failure::io(&path))
        };
        if there.iter().any(|t| t.1 == Ours::Manifest) {
            manifest::compare(&self.path.join(MANIFEST), &read(MANIFEST)?, job)?;
        }
        let mut out = BTreeMap::new();
        for (name, what) in there {
            let Ours::Chunk(number) = *what else { continue };
            let range = job.range(number);
            let rows = chunk::read(&read(name)?, self.fingerprint, &range, job.columns.len());
            let path = self.path.join(name);
            match rows {
                Ok(rows) if number < job.chunks() => {
                    out.insert(number, rows);
                }
                Ok(_) => {
                    let what = format!("the run has {} chunks only", job.chunks());
                    return Err(Failure::Damaged { path, what });
                }
                Err(Wrong::Damaged(what)) => return Err(Failure::Damaged { path, what: what.into() }),
                Err(Wrong::Foreign) => {
                    let what = "it was computed for another identity, columns or number of points".into();
                    return Err(Failure::Foreign { path, what });
                }
            }
        }
        Ok(out)
    }

    /// What is ours in the folder, sorted by name.
    fn list(&self) -> Result<Vec<(String, Ours)>, Failure> {
        let mut out = Vec::new();
        for entry in fs::read_dir(&self.path).map_err(Failure::io(&self.path))? {
            let name = entry.map_err(Failure::io(&self.path))?.file_name();
            if let Some(name) = name.to_str()
                && let Some(what) = ours(name)
            {
                out.push((name.to_owned(), what));
            }
        }
        out.sort_by(|a, b| a.0.cmp(&b.0));
        Ok(out)
    }

    fn remove(&self, name: &str) -> Result<(), Failure> {
        let path = self.path.join(name);
        fs::remove_file(&path).map_err(Failure::io(&path))
    }

    fn sync(&self) -> Result<(), Failure> {
        sync_folder(&self.path).map_err(Failure::io(&self.path))
    }
}

/// The locked lock file below `path`, which is made unless it is there.
fn lock(path: &Path) -> Result<fs::File, Failure> {
    let name = path.join(LOCK);
    for _ in 0..TRIES {
        match fs::create_dir(path) {
            Ok(()) => {}
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
            Err(e) => return Err(Failure::Io { path: path.to_owned(), source: e }),
        }
        let file = match fs::OpenOptions::new().create(true).truncate(false).write(true).open(&name) {
            Ok(file) => file,
            // A run that ended has just taken the folder away.
            Err(e) if e.kind() == io::ErrorKind::NotFound => continue,
            Err(e) => return Err(Failure::Io { path: name, source: e }),
        };
        match file.try_lock() {
            // A run that ended may have removed the very file that is locked now.
            Ok(()) if is_at(&file, &name) => return Ok(file),
            Ok(()) => {}
            Err(fs::TryLockError::WouldBlock) => break,
            Err(fs::TryLockError::Error(e)) => return Err(Failure::Io { path: name, source: e }),
        }
    }
    Err(Failure::Busy { path: path.to_owned() })
}

/// Whether the open `file` is the one that `path` names.
#[cfg(unix)]
fn is_at(file: &fs::File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(a), Ok(b)) => a.dev() == b.dev() && a.ino() == b.ino(),
        _ => false,
    }
}

/// Whether the open `file` is the one that `path` names, as far as can be told here.
#[cfg(not(unix))]
fn is_at(_: &fs::File, path: &Path) -> bool {
    path.exists()
}
