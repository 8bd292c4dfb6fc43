//! What it takes to make a part: a casting mould, guides and tools as geometry with its checks. Nothing here draws or writes files.
//!
//! Parts stand in their natural shape, the pole lowest, the hollow side up, so that the rim of a cap is the highest place: what is poured
//! in at the pole drives the air out at the rim.

pub mod mould;
pub mod section;

pub use mould::{Mould, MouldFault, Piece, Settings, mould};
pub use section::{Section, offset_section, section};
