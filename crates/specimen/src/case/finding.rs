//! What the reader of a case has to say.

use std::ops::Range;

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// No case can be built.
    Error,
    /// The case stands, but look here.
    Warning,
}

/// Which file a finding is about.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum File {
    /// The case file.
    Case,
    /// A file the case refers to, by the name written there.
    Other(String),
}

/// One remark, pointing at bytes of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How bad it is.
    pub level: Level,
    /// The file it is about.
    pub file: File,
    /// Bytes at fault.
    pub span: Range<usize>,
    /// What is wrong.
    pub says: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Finding {
    /// An error at a place of a file.
    pub fn error(file: File, span: Range<usize>, says: impl Into<String>) -> Self {
        Self { level: Level::Error, file, span, says: says.into(), hint: None }
    }

    /// A warning at a place of a file.
    pub fn warning(file: File, span: Range<usize>, says: impl Into<String>) -> Self {
        Self { level: Level::Warning, ..Self::error(file, span, says) }
    }

    /// The same with what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// Line and column of a byte, both from 1; columns count characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Line.
    pub line: usize,
    /// Column.
    pub column: usize,
}

/// Where byte `at` of a file lies. Bytes that are not UTF-8 count as one character for each broken
/// sequence; beyond the end the place after the last character is meant.
pub fn place(bytes: &[u8], at: usize) -> Place {
    let before = &bytes[..at.min(bytes.len())];
    let line = before.iter().filter(|b| **b == b'\n').count() + 1;
    let start = before.iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
    Place { line, column: String::from_utf8_lossy(&before[start..]).chars().count() + 1 }
}
