//! Side views: from a picture of a part seen from the side to its sizes, with errors.
//!
//! `find` takes the outline as edges, `pieces` splits it at the corners of the rim, `cap` fits a sphere with its cut rim, `meridian` a
//! smooth curve and the wall of a section, `lip` reads what an inverted part does at its rim, `compare` lays a computed shape over it.
//! `outline` and `rehearse` go the other way: what a part would show, and invented pictures of it.

mod cap;
mod case_file;
mod compare;
mod fault;
mod find;
mod lip;
mod look;
mod meridian;
pub mod outline;
mod pieces;
mod rehearse;
mod report;
mod scale;

#[cfg(test)]
mod tests;

pub use case_file::{CaseWords, case_file, profile_csv};
pub use compare::visible_face;
pub use fault::Fault;
pub use lip::Lip;
pub use look::{Settings, Turn, look};
pub use rehearse::{Rehearsed, Support, View, rehearse};
pub use report::{
    Comparison, FreeForm, Measured, PictureReport, Point, ScaleReport, SideReport, SphereReport, Stance,
    WallPoint, WallReport,
};
pub use scale::{BadScale, CLICK_SD, Scale};
