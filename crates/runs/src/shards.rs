//! Runs that outgrow one machine: every chunk stays a Parquet file of its own, and any process anywhere may compute any of them.
//!
//! Nothing is locked. A shard is written beside, synced and renamed, and holds the same bytes whoever computes it: two writers of one
//! chunk are harmless, a kill loses the chunk in work. A shard carries what it belongs to, which chunk it is and a checksum of its
//! cells; whether its bytes are those that this program writes for its cells is looked at too, so that any changed byte shows.

use std::fs;
use std::io::{self, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};

use crate::chunk;
use crate::failure::Failure;
use crate::files::{checksum, sync_folder};
use crate::job::Job;
use crate::table::{Table, Value, misfit};

/// The shards of a job.
pub struct Shards<'a> {
    /// What is computed. Its provenance goes into every shard and belongs to the identity of the run; so do its columns.
    pub job: &'a Job,
    /// Where the shards lie.
    pub folder: &'a Path,
    /// Where shards are written before they take their names (`tmp/`) and where damaged ones are put (`set-aside/`); on the same
    /// disk.
    pub beside: &'a Path,
}

/// What lies where a shard should be.
#[derive(Clone, Debug, PartialEq)]
pub enum Shard {
    /// Nothing.
    Missing,
    /// The shard, whole.
    Whole(Whole),
    /// A shard of another run, whole or not; says what differs.
    Foreign(String),
    /// Something that is no whole shard; says what is wrong.
    Damaged(String),
}

/// A whole shard.
#[derive(Clone, Debug, PartialEq)]
pub struct Whole {
    /// Its table.
    pub table: Table,
    /// Checksum of the file (FNV-1a, 64 bits).
    pub digest: u64,
    /// Bytes of the file.
    pub bytes: u64,
}

/// Tries to find a free name beside, where leftovers of killed writers may lie.
const TRIES: u32 = 100_000;

impl Shards<'_> {
    /// How many chunks there are.
    pub fn count(&self) -> u64 {
        self.job.chunks()
    }

    /// The points of a chunk.
    pub fn range(&self, chunk: u64) -> Range<u64> {
        self.job.range(chunk)
    }

    /// Name of a chunk's file: names in order are chunks in order.
    pub fn name(&self, chunk: u64) -> String {
        let digits = self.count().saturating_sub(1).to_string().len().max(6);
        format!("{}-{chunk:0digits$}.parquet", self.job.name)
    }

    /// Where the shard of a chunk lies.
    pub fn path(&self, chunk: u64) -> PathBuf {
        self.folder.join(self.name(chunk))
    }

    /// The chunk whose name a file has.
    fn chunk_of(&self, name: &str) -> Option<u64> {
        let digits = name.strip_suffix(".parquet")?.strip_prefix(&self.job.name)?.strip_prefix('-')?;
        digits.bytes().all(|b| b.is_ascii_digit()).then(|| digits.parse().ok())?
    }

    /// Chunks that have a file, whatever is in it, in order; and the names of files that look like shards and are none of this run.
    ///
    /// # Errors
    /// [`Failure::Io`] when the folder is there and cannot be read.
    pub fn listed(&self) -> Result<(Vec<u64>, Vec<String>), Failure> {
        let entries = match fs::read_dir(self.folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok((Vec::new(), Vec::new())),
            Err(e) => return Err(Failure::io(self.folder)(e)),
        };
        let (mut ours, mut strange) = (Vec::new(), Vec::new());
        for entry in entries {
            let name = entry.map_err(Failure::io(self.folder))?.file_name();
            let Some(name) = name.to_str() else { continue };
            match self.chunk_of(name) {
                Some(chunk) if chunk < self.count() && self.name(chunk) == name => ours.push(chunk),
                Some(_) => strange.push(name.to_owned()),
                None if name.ends_with(".parquet") => strange.push(name.to_owned()),
                None => {}
            }
        }
        ours.sort_unstable();
        strange.sort();
        Ok((ours, strange))
    }

    fn table(&self, chunk: u64, rows: Vec<Vec<Value>>) -> Table {
        let cells = checksum(&chunk::write(0, &self.range(chunk), &rows));
        let mut provenance = self.job.provenance.clone();
        provenance.push(("chunk".to_owned(), chunk.to_string()));
        provenance.push(("first_point".to_owned(), self.range(chunk).start.to_string()));
        provenance.push(("cells_digest".to_owned(), format!("{cells:016x}")));
        Table { columns: self.job.columns.clone(), rows, provenance }
    }

    /// Looks at what lies where the shard of a chunk should be.
    ///
    /// # Errors
    /// [`Failure::Io`] when it is there and cannot be read.
    pub fn look(&self, chunk: u64) -> Result<Shard, Failure> {
        let path = self.path(chunk);
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Shard::Missing),
            Err(e) => return Err(Failure::io(&path)(e)),
        };
        let table = match Table::from_parquet(&path) {
            Ok(table) => table,
            Err(why) => return Ok(Shard::Damaged(why)),
        };
        for (key, due) in &self.job.provenance {
            let found = table.provenance.iter().find(|p| p.0 == *key).map(|p| p.1.as_str());
            if found != Some(due) {
                let is = found.map_or("says nothing".to_owned(), |f| format!("says `{f}`"));
                return Ok(Shard::Foreign(format!("its {key} {is}, where this run has `{due}`")));
            }
        }
        let due = self.range(chunk);
        let rows = due.end - due.start;
        if table.rows.len() as u64 != rows {
            return Ok(Shard::Damaged(format!("it has {} rows, not {rows}", table.rows.len())));
        }
        let again = self.table(chunk, table.rows.clone());
        if again.columns != table.columns || again.provenance != table.provenance {
            return Ok(Shard::Damaged("it does not say of itself what it holds".to_owned()));
        }
        if again.to_parquet()? != bytes {
            return Ok(Shard::Damaged("its bytes are not those that its cells are written as".to_owned()));
        }
        Ok(Shard::Whole(Whole { digest: checksum(&bytes), bytes: bytes.len() as u64, table }))
    }

    /// Puts what lies in the place of a chunk's shard aside, and says where.
    ///
    /// # Errors
    /// [`Failure::Io`].
    pub fn set_aside(&self, chunk: u64) -> Result<PathBuf, Failure> {
        let folder = self.beside.join("set-aside");
        fs::create_dir_all(&folder).map_err(Failure::io(&folder))?;
        let name = self.name(chunk);
        let mut to = folder.join(&name);
        let mut k = 1;
        while to.exists() {
            to = folder.join(format!("{name}.{k}"));
            k += 1;
        }
        let from = self.path(chunk);
        fs::rename(&from, &to).map_err(Failure::io(&from))?;
        Ok(to)
    }

    /// Writes the shard of a chunk, whole and for good.
    ///
    /// # Errors
    /// [`Failure::Misfit`] for rows that do not fit, [`Failure::Io`] when the disk refuses: then nothing has the name.
    pub fn write(&self, chunk: u64, rows: Vec<Vec<Value>>) -> Result<(), Failure> {
        let range = self.range(chunk);
        if rows.len() as u64 != range.end - range.start {
            let what = format!("{} rows for {} points", rows.len(), range.end - range.start);
            return Err(Failure::Misfit { chunk, what });
        }
        if let Some(what) = misfit(&self.job.columns, &rows) {
            return Err(Failure::Misfit { chunk, what });
        }
        let bytes = self.table(chunk, rows).to_parquet()?;
        let (beside, mut file) = self.free(chunk)?;
        let path = self.path(chunk);
        let written = file
            .write_all(&bytes)
            .and_then(|()| file.sync_all())
            .map_err(Failure::io(&beside))
            .and_then(|()| fs::rename(&beside, &path).map_err(Failure::io(&path)));
        if let Err(failure) = written {
            // The neighbour is ours; what cannot be removed was most likely never made.
            let _ = fs::remove_file(&beside);
            // Another writer may have been quicker, and the end of the run have tidied up.
            return if matches!(self.look(chunk), Ok(Shard::Whole(_))) { Ok(()) } else { Err(failure) };
        }
        sync_folder(self.folder).map_err(Failure::io(self.folder))
    }

    /// A new file beside that no other writer has.
    fn free(&self, chunk: u64) -> Result<(PathBuf, fs::File), Failure> {
        let folder = self.beside.join("tmp");
        fs::create_dir_all(&folder).map_err(Failure::io(&folder))?;
        let name = self.name(chunk);
        for k in 0..TRIES {
            let path = folder.join(format!("{name}.{k}.tmp"));
            match fs::OpenOptions::new().write(true).create_new(true).open(&path) {
                Ok(file) => return Ok((path, file)),
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
                Err(e) => return Err(Failure::io(&path)(e)),
            }
        }
        Err(Failure::Busy { path: folder })
    }

    /// Removes what killed writers left of chunks that are whole by now.
    ///
    /// # Errors
    /// [`Failure::Io`].
    pub fn tidy(&self) -> Result<(), Failure> {
        let folder = self.beside.join("tmp");
        let Ok(entries) = fs::read_dir(&folder) else { return Ok(()) };
        for entry in entries.flatten() {
            if entry.file_name().to_str().is_some_and(|n| n.ends_with(".tmp")) {
                // Another process may have been quicker.
                let _ = fs::remove_file(entry.path());
            }
        }
        let _ = fs::remove_dir(&folder);
        Ok(())
    }
}
