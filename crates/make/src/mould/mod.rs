//! Casting moulds for parts that stand with the rim upwards: a bowl below, a core above that is pulled straight up, and where the part
//! narrows again towards its rim, a ring between them.
//!
//! The bowl forms the lower face, the core the upper one and the face of the rim. They part in the plane of the rim's lower corner. The
//! part is filled through a channel in the core: down to the pole, or over the boss that keeps a hole at the pole open (a disc that is
//! cut off afterwards). It fills from below, and the air leaves at the rim through a thin gap all round (the flash) into a groove and up
//! through holes in the core's flange. Cones and sockets, unevenly spaced, let the pieces meet in one way only.
//!
//! What draws apart must not be held: along each face the radius may only grow. A lower face that grows and then narrows is parted at its
//! widest place. An upper face that narrows holds a core, off which only a soft part can be stretched: the share is told. Any other
//! narrowing is the undercut that the fault names. `shape.rs` makes the outlines, `faces.rs` looks along faces.

mod faces;
mod shape;
#[cfg(test)]
mod tests;

use calotte_solid::{Mesh, Soundness};
use calotte_specimen::Part;

use crate::section::offset_section;

/// What can be chosen; lengths in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Least material round the cavity, below it and beside the groove.
    pub wall: f64,
    /// Draft of pins and channels, and least draft of the part's own faces that is not remarked on, rad.
    pub draft: f64,
    /// Linear shrinkage of the cast: the cavity is larger by 1/(1 − s).
    pub shrinkage: f64,
    /// Both faces of the cavity lie further out by this: room for a coat, or for what a machine adds to its walls.
    pub offset: f64,
    /// Radius of the channel at its narrow end.
    pub channel: f64,
    /// Number of vents.
    pub vents: u32,
    /// Radius of a vent.
    pub vent: f64,
    /// Gap through which air leaves at the rim.
    pub flash: f64,
    /// Thickness of the disc through which a part with a hole is filled.
    pub gate: f64,
    /// Radius of a pin at its foot.
    pub pin: f64,
    /// Play of a pin in its socket, all round and at its end.
    pub play: f64,
    /// How far chords may leave the true faces.
    pub tolerance: f64,
    /// Thinnest wall that the maker's machine makes.
    pub thinnest: f64,
}

impl Default for Settings {
    /// Usual for printed moulds; common practice, no source.
    fn default() -> Self {
        Self {
            wall: 5e-3,
            draft: 2.0_f64.to_radians(),
            shrinkage: 0.0,
            offset: 0.0,
            channel: 1.5e-3,
            vents: 6,
            vent: 0.8e-3,
            flash: 0.1e-3,
            gate: 0.4e-3,
            pin: 2.5e-3,
            play: 0.15e-3,
            tolerance: 0.01e-3,
            thinnest: 0.8e-3,
        }
    }
}

impl Settings {
    /// Whether these are the usual ones, but for rounding in reading them.
    pub fn is_usual(&self) -> bool {
        let all = |s: &Self| {
            let lengths = [
                s.wall,
                s.offset,
                s.channel,
                s.vent,
                s.flash,
                s.gate,
                s.pin,
                s.play,
                s.tolerance,
                s.thinnest,
            ];
            (lengths, [s.draft, s.shrinkage], s.vents)
        };
        let (a, b) = (all(self), all(&Self::default()));
        let near = |a: &f64, b: &f64| (a - b).abs() <= 1e-9 * b.abs();
        a.0.iter().chain(&a.1).zip(b.0.iter().chain(&b.1)).all(|(a, b)| near(a, b)) && a.2 == b.2
    }
}

/// Why no such mould can be made.
#[derive(Clone, Debug, PartialEq)]
pub enum MouldFault {
    /// A face turns back: at this radius and height (m) it would be held.
    Undercut {
        /// `lower` (the bowl would hold it), `upper` (the core would) or `rim's`.
        face: &'static str,
        /// Radius and height over the lowest place, m.
        at: [f64; 2],
    },
    /// A number cannot be.
    Setting {
        /// What is wrong.
        says: String,
        /// What would work.
        help: String,
    },
    /// The geometry does not close.
    Unsound(String),
}

impl std::fmt::Display for MouldFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Undercut { face, at } => write!(
                f,
                "the {face} face turns back at radius {:.3} mm, height {:.3} mm: every mould of two or three pieces would hold the part there",
                1e3 * at[0],
                1e3 * at[1]
            ),
            Self::Setting { says, .. } | Self::Unsound(says) => f.write_str(says),
        }
    }
}

impl MouldFault {
    /// What would work instead.
    pub fn help(&self) -> String {
        match self {
            Self::Undercut { .. } => {
                "make the part in two castings that are joined there, or a core that dissolves or melts out"
                    .to_owned()
            }
            Self::Setting { help, .. } => help.clone(),
            Self::Unsound(_) => {
                "less tolerance or thicker walls may do; the numbers of the case may also cross".to_owned()
            }
        }
    }
}

/// A piece of a mould, or what is cast in it.
#[derive(Clone, Debug)]
pub struct Piece {
    /// `bowl`, `ring`, `core` or `cast`.
    pub name: &'static str,
    /// Its surface, in its place.
    pub mesh: Mesh,
    /// What was found in checking it.
    pub sound: Soundness,
    /// Exact volume of its outline turned about the axis with holes and pegs, m³.
    pub exact: f64,
    /// Its section (r, z), m, without holes and pegs.
    pub outline: Vec<[f64; 2]>,
}

/// A mould.
#[derive(Clone, Debug)]
pub struct Mould {
    /// From below upwards; the cast part, as large as the cavity, comes last.
    pub pieces: Vec<Piece>,
    /// Heights of the parting planes over the lowest place of the cavity, m.
    pub parting: Vec<f64>,
    /// Radius and height of the whole, m.
    pub size: [f64; 2],
    /// Exact volume of the cavity (Pappus), m³.
    pub cavity: f64,
    /// Volume to pour: cavity, channel, gate, flash and groove, m³.
    pub poured: f64,
    /// By how much the part has to be stretched to come off the core; 0 when it need not.
    pub stretch: f64,
    /// Whether the part was turned over to stand with its rim upwards.
    pub turned: bool,
    /// What the maker should know.
    pub notes: Vec<String>,
}

fn setting(says: impl Into<String>, help: impl Into<String>) -> MouldFault {
    MouldFault::Setting { says: says.into(), help: help.into() }
}

/// Looks whether the numbers can be.
fn sensible(s: &Settings) -> Result<(), MouldFault> {
    for (what, value) in [
        ("wall of the mould", s.wall),
        ("radius of the channel", s.channel),
        ("radius of a vent", s.vent),
        ("gap of the flash", s.flash),
        ("thickness of the gate", s.gate),
        ("radius of a pin", s.pin),
        ("play of the pins", s.play),
        ("tolerance", s.tolerance),
        ("thinnest wall", s.thinnest),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return Err(setting(
                format!("the {what} must be greater than 0"),
                format!(
                    "leave it out for the usual value, or give a length greater than 0 ({value} was given)"
                ),
            ));
        }
    }
    if !(0.0..0.5).contains(&s.shrinkage) {
        return Err(setting(
            "the shrinkage must lie between 0 and 50 %",
            "casting rubbers shrink by 0 to 3 %: see the maker's data sheet",
        ));
    }
    if !(0.0..0.5).contains(&s.draft) {
        return Err(setting("the draft must lie between 0 and 28 degrees", "1 to 3 degrees are usual"));
    }
    if s.vents > 48 {
        return Err(setting(format!("{} vents are too many", s.vents), "at most 48 are made"));
    }
    for (what, option, value) in
        [("wall of the mould", "--mould-wall", s.wall), ("diameter of the pins", "--pin", 2.0 * s.pin)]
    {
        if value < s.thinnest {
            return Err(setting(
                format!(
                    "a {what} of {:.2} mm is thinner than the {:.2} mm that the machine makes",
                    1e3 * value,
                    1e3 * s.thinnest
                ),
                format!("`{option} {:.2}mm` or more would do", 1e3 * s.thinnest),
            ));
        }
    }
    Ok(())
}

/// The mould of a part.
///
/// # Errors
/// [`MouldFault`].
pub fn mould(part: &Part, s: &Settings) -> Result<Mould, MouldFault> {
    sensible(s)?;
    let section = offset_section(part, 0.5 * s.tolerance, s.offset)
        .map_err(|e| setting(e, "a thinner wall or a wider hole would do"))?;
    let section = section.scaled(1.0 / (1.0 - s.shrinkage));
    let lowest = section.outer.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    shape::build(&section, s).map_err(|fault| match fault {
        MouldFault::Undercut { face, at } => MouldFault::Undercut { face, at: [at[0], at[1] - lowest] },
        other => other,
    })
}
