//! `calotte rehearse`: an invented measurement of a computed part.

use super::rehearse_clip;
use super::rehearse_side;
use crate::End;

/// What is rehearsed.
#[derive(clap::Subcommand)]
pub(crate) enum Rehearse {
    /// An invented clip of a computed release, to be read with `calotte clip`.
    Clip(rehearse_clip::Options),
    /// An invented side view of a part, to be read with `calotte side`.
    Side(rehearse_side::Options),
}

pub(crate) fn rehearse(what: &Rehearse) -> End {
    match what {
        Rehearse::Clip(options) => rehearse_clip::clip(options),
        Rehearse::Side(options) => rehearse_side::side(options),
    }
}
