//! How the part is turned inside out, held, and let go; and what surrounds it then.

use crate::Memory;

/// Shape in which the part is held.
#[derive(Clone, Debug, PartialEq)]
pub enum HeldShape {
    /// On a former of the mirror image.
    Mirror,
    /// At its own inverted equilibrium (at the fold's shape where it has none).
    Inverted,
    /// By a push on the pole of the natural part, the rim on a table, to this travel of the pole (m).
    Poke {
        /// Travel of the pole from its natural place, m, > 0.
        travel: f64,
    },
    /// Pressed flat between two plates.
    Flat,
    /// On a former of a given shape: points (r, z) in metres from the pole (or the hole's edge) to the rim, z along the
    /// axis (any origin), positive from the natural pole towards the plane of the natural rim.
    Given(Vec<[f64; 2]>),
}

/// How the hold ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LetGo {
    /// The holding forces vanish at once.
    AtOnce,
    /// The holding forces fall smoothly to nothing in this time (s, > 0).
    Ramp(f64),
}

/// The hold protocol.
#[derive(Clone, Debug, PartialEq)]
pub struct Hold {
    /// Shape held.
    pub shape: HeldShape,
    /// How long it is held, s, ≥ 0. The part is turned at once before it, from a relaxed natural state.
    pub time: f64,
    /// How it is let go.
    pub let_go: LetGo,
    /// Sideways deflection of each wave number n = 1, 2, 3 when the hand is gone, m, ≥ 0: an imperfection.
    pub sideways: f64,
}

impl Default for Hold {
    fn default() -> Self {
        Self { shape: HeldShape::Inverted, time: 0.0, let_go: LetGo::AtOnce, sideways: 0.0 }
    }
}

/// What the part lies on when it is let go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rests {
    /// Nothing: it floats freely along its axis.
    Nowhere,
    /// A level table, its rim down and its turned pole up (a jumping cap).
    Table,
}

/// Air that drags: each ring of wall meets the pressure `½ ρ C v|v|` on its natural plan area against its axial
/// speed v.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Density ρ, kg/m³, > 0.
    pub density: f64,
    /// Drag coefficient C of a flat ring, ≥ 0.
    pub drag: f64,
}

/// Surroundings of a part that is let go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surroundings {
    /// Temperature, K.
    pub temperature: Option<f64>,
    /// Gravity, m/s², ≥ 0, acting from the turned pole towards the plane of the rim (onto the table).
    pub gravity: f64,
    /// What it lies on.
    pub rests: Rests,
    /// Air.
    pub air: Option<Air>,
    /// Damping rate c (1/s, ≥ 0) of a bath: a force `−c ρh v` per area, against every motion.
    pub damping: f64,
}

impl Default for Surroundings {
    fn default() -> Self {
        Self { temperature: None, gravity: 0.0, rests: Rests::Nowhere, air: None, damping: 0.0 }
    }
}

/// Everything about the motion of a part that is not the part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Motion {
    /// Memory of the material; `None` for an elastic one.
    pub memory: Option<Memory>,
    /// Hold protocol.
    pub hold: Hold,
    /// Surroundings.
    pub surroundings: Surroundings,
}
