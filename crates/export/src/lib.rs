//! Shapes and fields of answers as files that other programs read: surfaces turned about the axis as VTK XML with a collection over
//! time, temperature or shapes, the solid wall as STL, and a table that says what lies where.
//!
//! Lengths are metres in VTK files and millimetres in STL files; names of fields carry their SI units. No file is written here.

mod collection;
mod solid;
mod surface;
mod vtk;

pub use collection::{Export, ModeColumns, NamedFile, Steps, modes, surfaces};
pub use solid::{SolidFailure, wall_stl};
pub use surface::{Field, Surface};
pub use vtk::vtu;
