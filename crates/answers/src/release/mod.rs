//! Let go of the inverted part: when does it snap, how fast, what does it do then?

mod answer;
pub mod curves;
mod hold_curve;
mod read;
pub mod report;
mod setup;
mod sideways;
mod slowing;
mod spread;
mod track;
mod wait;
mod words;

pub use crate::many::Watch;
pub use answer::{Ask, release, release_with_film};
pub use hold_curve::wait_curve;
pub(crate) use hold_curve::{LONG, settled_wait};
pub use setup::{Fault, no_release};
pub use slowing::slowing;
pub use spread::wait_spread;
pub use wait::{Creep, creep, relaxed_threshold};
pub(crate) use wait::{Rest, Resting, rest_after};
pub(crate) use words::hold_words as protocol_words;
