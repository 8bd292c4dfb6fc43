//! What lies on the bench: the natural shape of a part, its wall, its material and how its rim is
//! held; and the case file that describes them.
//!
//! Lengths are metres, angles radians, moduli pascals. The natural part is drawn as a bowl: the pole
//! at `z = 0`, the rim above it, so the slope angle φ₀ grows from 0 at the pole and the natural
//! curvature of a cap is `+1/R`. The inverted part is the mirror image `z → −z`.

mod case;
mod corners;
mod heat;
mod hold;
mod layers;
mod load;
mod material;
mod measured;
mod memory;
mod memory_fit;
mod meridian;
mod rim;
mod shelf;
mod wall;

pub use case::lines;
pub use case::{
    Case, Entry, File, Finding, HeatFault, Impossible, Input, KeyForm, Level, LoadFault, MotionFault, Place,
    SIZE_DRAWS, SizeTable, SizeText, TEMPLATES, TableForm, case_form, fingerprint, json_schema,
    new_cap_template, new_template, place, read_case,
};
pub use corners::{Corner, Corners, CornersFault, Joint};
pub use heat::{Heat, Pin};
pub use hold::{Air, HeldShape, Hold, LetGo, Motion, Rests, Surroundings};
pub use layers::{Layer, Layers, Property};
pub use load::{Control, Load, LoadKind, Start};
pub use material::Material;
pub use measured::{FitFailure, FitReport, MeasuredMeridian, ProfilePoints};
pub use memory::{GAS_CONSTANT, Memory, MemoryTerm, TimeShift};
pub use memory_fit::{
    Creep, MOST_TERMS, MemoryColumn, MemoryFit, MemoryFitFailure, MemoryFitSettings, MemoryReading,
    MemoryTable, USUAL_ACCURACY, fit_memory_table, read_memory_table,
};
pub use meridian::{Meridian, MeridianPoint, SphereCap, Straight};
pub use rim::{Rim, RimSprings};
pub use shelf::{FromHardness, Stated, Stocked, find_on_shelf, modulus_from_hardness, shelf};
pub use wall::{Stiffened, Wall};

/// A part ready for mechanics: every number is SI and consistent.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Natural (stress-free) mid-surface meridian.
    pub meridian: Meridian,
    /// Wall thickness along the arc.
    pub wall: Wall,
    /// Elastic constants and density.
    pub material: Material,
    /// How the outer edge is held.
    pub rim: Rim,
}
