//! Why a run did not end well.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// Why a run did not end well. Whatever it is, chunks that were finished are kept.
#[derive(Debug)]
pub enum Failure {
    /// The job itself makes no sense: no columns, chunks of nothing, a name that is no file name.
    BadJob(String),
    /// Another process works on the same run.
    Busy {
        /// The folder of the run.
        path: PathBuf,
    },
    /// What lies there belongs to another job; it was left as it is.
    Foreign {
        /// The file that says so.
        path: PathBuf,
        /// What differs.
        what: String,
    },
    /// A file of the run is truncated or damaged; it was left as it is.
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// The disk refused.
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What it said.
        source: io::Error,
    },
    /// The computation of a chunk panicked.
    Panicked {
        /// Number of the chunk, from 0.
        chunk: u64,
        /// What the panic said.
        message: String,
    },
    /// The computation of a chunk returned rows that do not fit the job.
    Misfit {
        /// Number of the chunk, from 0.
        chunk: u64,
        /// What does not fit.
        what: String,
    },
    /// A table could not be written as Parquet.
    Table(String),
    /// No thread could be started.
    Threads(io::Error),
}

impl Failure {
    /// For `map_err`: the disk refused at `path`.
    pub(crate) fn io(path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        |source| Self::Io { path, source }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BadJob(what) => write!(f, "this run cannot be started: {what}"),
            Self::Busy { path } => write!(f, "another process works in {}; wait for it", path.display()),
            Self::Foreign { path, what } => write!(
                f,
                "{} belongs to another run: {what}; it was left as it is: finish that run with the program and \
                 settings it was started with, remove its folder, or choose another folder",
                path.display()
            ),
            Self::Damaged { path, what } => {
                write!(f, "{} is damaged: {what}; delete this file to have it computed again", path.display())
            }
            Self::Io { path, source } => write!(f, "{}: {source}", path.display()),
            Self::Panicked { chunk, message } => {
                write!(f, "chunk {chunk} panicked: {message}; finished chunks are kept")
            }
            Self::Misfit { chunk, what } => write!(f, "chunk {chunk} returned what does not fit: {what}"),
            Self::Table(what) => write!(f, "the table cannot be written as Parquet: {what}"),
            Self::Threads(source) => write!(f, "no thread could be started: {source}"),
        }
    }
}

impl std::error::Error for Failure {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } | Self::Threads(source) => Some(source),
            _ => None,
        }
    }
}
