//! What a logbook holds: specimens with their sizes, and trials of them.

use super::belief::Prior;
use super::likelihood::Assumed;

/// What a part did after it was let go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// It returned at once.
    Returns,
    /// It waited, then returned.
    Waits,
    /// It was still there when one stopped looking.
    Stays,
}

impl Outcome {
    /// All, from short waits to long ones.
    pub const ALL: [Self; 3] = [Self::Returns, Self::Waits, Self::Stays];

    /// Word in files and reports.
    pub fn word(self) -> &'static str {
        match self {
            Self::Returns => "returns",
            Self::Waits => "waits",
            Self::Stays => "stays",
        }
    }
}

/// A number as written: SI value and the half-width of its tolerance (two standard deviations), where one is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// Value.
    pub value: f64,
    /// Half-width, above 0.
    pub half_width: Option<f64>,
}

/// One trial.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// Line of its file, from 1.
    pub line: usize,
    /// What happened when it was let go; `None` in a trial that only reads a trip or a reset.
    pub outcome: Option<Outcome>,
    /// How long it was held, s; `None` for the hold of the case.
    pub hold: Option<f64>,
    /// Temperature, K; `None` for that of the case.
    pub temperature: Option<f64>,
    /// Wait as read, s.
    pub wait: Option<Figure>,
    /// It was seen inverted until then, s, and not watched longer; `None` for the usual of the logbook.
    pub watched: Option<f64>,
    /// Load that tripped it, in the SI unit of the case's load.
    pub trip_load: Option<Figure>,
    /// Temperature at which it tripped, K.
    pub trip_temperature: Option<Figure>,
    /// Temperature at which it reset, K.
    pub reset_temperature: Option<Figure>,
    /// Duration of the snap, s; kept and shown, compared with nothing.
    pub snap_time: Option<Figure>,
    /// When, as written.
    pub when: String,
    /// Note, as written.
    pub note: String,
}

/// One specimen with its trials.
#[derive(Clone, Debug, PartialEq)]
pub struct Specimen {
    /// Name.
    pub name: String,
    /// Line of its file, from 1.
    pub line: usize,
    /// Sizes in the order of [`Logbook::keys`].
    pub sizes: Vec<Figure>,
    /// Trials in the order of the file.
    pub trials: Vec<Trial>,
}

/// Range that a next specimen may lie in: place among [`Logbook::keys`] (`None`: the hold), ends in SI.
pub type NextRange = (Option<usize>, [f64; 2]);

/// What the header says, or the usual.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Title; empty when none is written.
    pub title: String,
    /// A wait shorter than this is not noticed, s.
    pub at_once: f64,
    /// How long one looks where the line does not say, s.
    pub watched: f64,
    /// Relative half-width of a wait without one.
    pub wait_error: f64,
    /// Relative half-width of a trip load without one.
    pub trip_error: f64,
    /// Half-width of a temperature without one, K.
    pub temperature_error: f64,
    /// What is assumed of trials.
    pub assumed: Assumed,
    /// What is held beforehand; numbers without one have the usual.
    pub priors: Vec<Prior>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            title: String::new(),
            at_once: 0.2,
            watched: 600.0,
            wait_error: 0.1,
            trip_error: 0.05,
            temperature_error: 1.0,
            assumed: Assumed::default(),
            priors: Vec::new(),
        }
    }
}

/// A logbook, checked against its case.
#[derive(Clone, Debug, PartialEq)]
pub struct Logbook {
    /// What its header says.
    pub settings: Settings,
    /// Numbers of the case that its specimens have of their own: places among the case's inputs.
    pub keys: Vec<usize>,
    /// Ranges for the next specimen.
    pub next: Vec<NextRange>,
    /// Specimens.
    pub specimens: Vec<Specimen>,
    /// Lines with data.
    pub lines: usize,
    /// Lines left out because of a fault.
    pub left_out: usize,
}

impl Logbook {
    /// Trials of all specimens.
    pub fn trials(&self) -> impl Iterator<Item = (usize, &Trial)> {
        self.specimens.iter().enumerate().flat_map(|(i, s)| s.trials.iter().map(move |t| (i, t)))
    }
}
