//! How a part is poked: the kind of load, from which state, how it is driven, and what stops it.

/// How a part is poked.
///
/// A load is positive when it drives the part from its natural shape towards the inverted one: forces
/// act on the convex side of the natural bowl, along +z, pressure on its convex face. From the inverted
/// state the push goes the other way, onto that state's convex side, and counts positive there too.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// What pushes.
    pub kind: LoadKind,
    /// The state that is poked.
    pub from: Start,
    /// How the load is driven: which of the two answers is the headline.
    pub control: Control,
    /// Travel of the loaded place at which it meets a rigid stop, m.
    pub stop: Option<f64>,
    /// Largest travel followed, m; for pressure, that of the pole. `None`: a little beyond the mirror image.
    pub reach: Option<f64>,
    /// Weight that acts all the time: acceleration along +z, from the pole of the natural bowl towards the
    /// plane of its rim, m/s². (A dome lying on a table with its rim down: positive.) Needs a density.
    pub gravity: f64,
}

/// What pushes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoadKind {
    /// An axial force on the pole; with a hole, on the whole edge of the hole.
    Pole,
    /// An axial force spread evenly over the material circle at this arclength from the pole (or the edge
    /// of the hole), m.
    Ring {
        /// Arclength, m.
        arc: f64,
    },
    /// A rigid flat plate, square to the axis, without friction.
    Flat,
    /// A rigid ball of this radius on the axis, without friction, m.
    Ball {
        /// Radius, m.
        radius: f64,
    },
    /// A rigid flat pusher of this radius on the axis.
    Pusher {
        /// Radius, m.
        radius: f64,
        /// Bonded: the wall inside the radius moves with the pusher as one body. Otherwise the pusher slides
        /// without friction and the wall may lift off it.
        bonded: bool,
        /// Rounding of its edge, m; unused when bonded.
        edge: f64,
    },
    /// Uniform pressure on the convex face.
    Pressure {
        /// Whether it stays square to the deformed wall (as gas does); otherwise each force keeps the direction
        /// and size it has on the natural wall.
        follows: bool,
    },
    /// The grip of a hinged or clamped rim moves radially: inwards is positive.
    RimDisplacement,
    /// A dead radial force on a rim that may slide, per length of natural rim: inwards is positive.
    RimPull,
    /// Weight: acceleration along +z.
    Gravity,
}

/// The state that is poked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// As made.
    Natural,
    /// Turned inside out.
    Inverted,
}

/// How a load is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Control {
    /// The load is set (a weight, a gas): the part jumps at a limit of the load.
    Load,
    /// The travel is set (a screw, a finger): the part jumps at a limit of the travel.
    Displacement,
}

impl Default for Load {
    fn default() -> Self {
        Self {
            kind: LoadKind::Pole,
            from: Start::Natural,
            control: Control::Load,
            stop: None,
            reach: None,
            gravity: 0.0,
        }
    }
}
