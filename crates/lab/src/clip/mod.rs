//! Clips: motion of pole and rim from frames, and what it says.
//!
//! Frames come as a stream ([`Frame`]); one pass finds where the clip moves ([`Stirring`]), a second one follows edges along lines
//! ([`Tracker`]); [`clock`] says when each frame was taken; [`read`](read::read) makes figures of the motion.

mod clock;
mod compare;
mod frames;
pub mod invent;
mod line;
mod motion;
mod physical;
pub mod read;
pub mod report;
mod sequence;
mod session;
mod track;

pub use clock::{Clock, Pace, Sized, Source, Stamp, clock};
pub use compare::{ComparedFigure, Comparison, compare};
pub use frames::{BadFrame, Frame, Still, gif, raw};
pub use line::{Line, Stirring, Strip};
pub use motion::{Motion, What};
pub use physical::{Figures, Place, physical};
pub use sequence::{Named, Sequence, fits, natural, sequence};
pub use session::{Role, Session, Watched};
pub use track::{Count, Lost, Spot, TrackSettings, Tracker};
