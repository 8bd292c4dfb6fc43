//! What is asked for, what comes back, and what does not.

use calotte_answers::film::Film;
use calotte_figures::{Figure, Style};
use calotte_runs::Table;
use serde_json::Value;

use crate::sheet::Sheet;

/// What is wanted beside sheet and report.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Want {
    /// Shapes for pictures.
    pub film: bool,
    /// Figures as SVG.
    pub figures: bool,
    /// How figures look.
    pub style: Style,
    /// Tables.
    pub tables: bool,
    /// Threads for questions that ask many times; 0 counts as 1. No answer depends on it.
    pub threads: usize,
}

/// Watches a question that takes its time.
pub trait Watch: Sync {
    /// Told now and then how much is done (0 to 1; `None` where the end is not known) and what is being done. `false` stops
    /// the work as soon as it can be stopped. Several threads may call it.
    fn progress(&self, share: Option<f64>, words: &str) -> bool;
}

/// A watch that never stops anything.
#[derive(Clone, Copy, Debug)]
pub struct NoWatch;

impl Watch for NoWatch {
    fn progress(&self, _: Option<f64>, _: &str) -> bool {
        true
    }
}

/// An answer.
#[derive(Clone, Debug)]
pub struct Reply {
    /// What was asked.
    pub question: &'static str,
    /// The answer in words.
    pub sheet: Sheet,
    /// The whole answer with its provenance, as `--json` prints it.
    pub report: Value,
    /// Whether the evidence does not carry the answer.
    pub doubtful: bool,
    /// Shapes for pictures, where they are wanted and there are any.
    pub film: Option<Film>,
    /// Figures, where they are wanted.
    pub figures: Vec<Figure>,
    /// Tables with their names, where they are wanted.
    pub tables: Vec<(String, Table)>,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// The question makes no sense for the case, or its options are wrong.
    Question {
        /// What is wrong, and where.
        says: String,
        /// What would be right.
        help: Option<String>,
    },
    /// The watch stopped it.
    Stopped,
    /// It could not be finished.
    Failed {
        /// Why.
        says: String,
    },
}

impl Refusal {
    /// A question refused, without help.
    pub fn question(says: impl Into<String>) -> Self {
        Self::Question { says: says.into(), help: None }
    }
    /// What is wrong and what would be right in one line.
    pub fn line(&self) -> String {
        match self {
            Self::Question { says, help: Some(help) } => format!("{says}; {help}"),
            other => other.to_string(),
        }
    }
    /// A question refused, with what would be right.
    pub fn with_help(says: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Question { says: says.into(), help: Some(help.into()) }
    }
}

impl From<String> for Refusal {
    fn from(says: String) -> Self {
        Self::question(says)
    }
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Question { says, help: Some(help) } => write!(f, "{says}\n  help: {help}"),
            Self::Question { says, help: None } | Self::Failed { says } => f.write_str(says),
            Self::Stopped => f.write_str("stopped"),
        }
    }
}

impl std::error::Error for Refusal {}
