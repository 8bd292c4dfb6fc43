//! What it takes to make a part: casting moulds, cutting guides, drawings, forming tools and series of specimens, with their checks.
//! Nothing here prints or touches files: solids come as meshes, drawings as sketches in millimetres that are told as SVG or DXF.
//!
//! Parts stand in their natural shape, the rim higher than the pole, the hollow side up: what is poured in at the pole drives the air
//! out at the rim. `section.rs` has the faces of the wall; `mould/`, `guide.rs` with `strip.rs`, `drawing.rs`, `tool.rs` and `series/` are
//! what is made; `sketch/` draws; `cautions.rs` says what to mind.

pub mod cautions;
pub mod drawing;
pub mod guide;
pub mod job;
pub mod mould;
pub mod section;
pub mod series;
pub mod sketch;
pub mod strip;
pub mod tool;
