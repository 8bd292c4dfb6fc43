//! A casting mould of two halves for a part that stands on its pole: a bowl below, a core above that is pulled straight up.
//!
//! The bowl forms the outer face, the core the inner face and the face of the rim. They part in the plane of the rim's outer corner. The
//! part is filled through a channel in the core down to the pole; it fills from below, and the air leaves at the rim, the highest place:
//! through a thin gap all round (the flash, cut off afterwards) into a groove in the bowl and up through holes in the core's flange.
//! Cones on the bowl and sockets in the core, unevenly spaced, let the halves meet in one way only.
//!
//! Whatever draws apart must not be held: seen along the axis, each face may be met once only. The outer face must widen upwards all the
//! way, the inner one too; where one does not, that is the undercut that the fault names. Walls that stand within the draft of upright
//! are told.

use calotte_solid::{Circle, Flat, Mesh, Soundness, Turned, check, moments, segments};

use crate::section::Section;

/// What can be chosen; lengths in metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Least material round the cavity, below it and beside the groove.
    pub wall: f64,
    /// Draft of pins and channels, and least draft of the part's own faces that is not remarked on, rad.
    pub draft: f64,
    /// Linear shrinkage of the cast: the cavity is larger by 1/(1 − s).
    pub shrinkage: f64,
    /// Radius of the channel at its narrow end.
    pub channel: f64,
    /// Number of vents.
    pub vents: u32,
    /// Radius of a vent.
    pub vent: f64,
    /// Gap through which air leaves at the rim.
    pub flash: f64,
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
            channel: 1.5e-3,
            vents: 6,
            vent: 0.8e-3,
            flash: 0.1e-3,
            pin: 2.5e-3,
            play: 0.15e-3,
            tolerance: 0.01e-3,
            thinnest: 0.8e-3,
        }
    }
}

/// Why no such mould can be made.
#[derive(Clone, Debug, PartialEq)]
pub enum MouldFault {
    /// A face turns back: at this radius and height (m) it would be held.
    Undercut {
        /// `outer` (the bowl would hold it) or `inner` (the core would).
        face: &'static str,
        /// Radius and height, m.
        at: [f64; 2],
    },
    /// A number cannot be.
    Setting(String),
    /// The geometry does not close.
    Unsound(String),
}

impl std::fmt::Display for MouldFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Undercut { face, at } => write!(
                f,
                "the {face} face turns back at radius {:.3} mm, height {:.3} mm: a mould of two halves would hold the part there",
                1e3 * at[0],
                1e3 * at[1]
            ),
            Self::Setting(why) | Self::Unsound(why) => f.write_str(why),
        }
    }
}

/// A mould.
#[derive(Clone, Debug)]
pub struct Mould {
    /// The half below, as it stands.
    pub bowl: Mesh,
    /// The half above, in its place.
    pub core: Mesh,
    /// The cast part, as large as the cavity.
    pub cast: Mesh,
    /// What was found in checking the three.
    pub sound: [Soundness; 3],
    /// Height of the parting plane over the pole's outer face, m.
    pub parting: f64,
    /// Radius and height of the whole, m.
    pub size: [f64; 2],
    /// Exact volume of the cavity's outline turned about the axis (Pappus), m³.
    pub cavity: f64,
    /// Volume to pour: cavity, channel, flash and groove, m³.
    pub poured: f64,
    /// What the maker should know.
    pub notes: Vec<String>,
}

/// Where a face stops widening upwards.
fn undercut(face: &[[f64; 2]]) -> Option<[f64; 2]> {
    face.windows(2).find(|w| w[1][0] < w[0][0] || w[1][1] < w[0][1]).map(|w| w[1])
}

/// The place on a face at a radius, by chords.
fn height(face: &[[f64; 2]], r: f64) -> Option<f64> {
    face.windows(2).find(|w| w[0][0] <= r && r <= w[1][0]).map(|w| {
        let d = w[1][0] - w[0][0];
        if d > 0.0 { w[0][1] + (w[1][1] - w[0][1]) * (r - w[0][0]) / d } else { w[0][1] }
    })
}

/// The mould of a section.
///
/// # Errors
/// [`MouldFault`].
pub fn mould(part: &Section, s: &Settings) -> Result<Mould, MouldFault> {
    let setting = |why: &str| Err(MouldFault::Setting(why.to_owned()));
    for (what, value) in [
        ("wall", s.wall),
        ("channel", s.channel),
        ("vent", s.vent),
        ("flash", s.flash),
        ("pin", s.pin),
        ("play", s.play),
        ("tolerance", s.tolerance),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return setting(&format!("the {what} must be greater than 0"));
        }
    }
    if !(0.0..0.5).contains(&s.shrinkage) {
        return setting("the shrinkage must lie between 0 and 50 %");
    }
    if !(0.0..0.5).contains(&s.draft) {
        return setting("the draft must lie between 0 and 28 degrees");
    }
    if s.wall < s.thinnest {
        return setting(&format!(
            "a wall of {:.2} mm is thinner than the {:.2} mm that can be made",
            1e3 * s.wall,
            1e3 * s.thinnest
        ));
    }
    let part = part.scaled(1.0 / (1.0 - s.shrinkage));
    let (outer, inner) = (&part.outer, &part.inner);
    for (face, points) in [("outer", outer), ("inner", inner)] {
        if let Some(at) = undercut(points) {
            return Err(MouldFault::Undercut { face, at });
        }
    }
    let (rim, lip) = (outer[outer.len() - 1], inner[inner.len() - 1]);
    if lip[1] < rim[1] + 2.0 * s.flash || lip[0] > rim[0] {
        return Err(MouldFault::Undercut { face: "rim's", at: lip });
    }
    if outer[0][0] > 0.0 {
        return Err(MouldFault::Setting(
            "parts with a hole at the pole need a pin there; a mould for them is not made".to_owned(),
        ));
    }
    let parting = rim[1];
    // Radii outwards: rim, flash, groove, pins, edge.
    let land = rim[0] + 1.5e-3;
    let groove = [land, land + 2.0 * s.vent + 1.2e-3];
    let deep = 1.5e-3;
    let pins = groove[1] + 1.0e-3 + s.pin;
    let edge = pins + s.pin + s.wall;
    let below = outer[0][1] - s.wall;
    let top = parting + s.wall.max(3.0 * s.pin) + s.wall;
    let mid = 0.5 * (groove[0] + groove[1]);
    // The bowl: up its outside, over the flat, down the groove, over the land, down the cavity.
    let mut bowl = vec![[0.0, below], [edge, below], [edge, parting], [groove[1], parting]];
    bowl.extend([[groove[1], parting - deep], [groove[0], parting - deep], [groove[0], parting]]);
    let flat = 2;
    bowl.extend(outer.iter().rev().copied());
    // The core: over the inner face, down the rim's face to the flash, over the flash, the flat, up, over the top, down the channel.
    let foot = height(inner, s.channel)
        .ok_or_else(|| MouldFault::Setting("the channel is wider than the part".to_owned()))?;
    let along = (lip[1] - parting - s.flash) / (lip[1] - parting);
    let gap = [lip[0] + along * (rim[0] - lip[0]), parting + s.flash];
    let mut core = vec![[s.channel, foot]];
    core.extend(inner.iter().copied().filter(|p| p[0] > s.channel));
    core.extend([gap, [groove[0], parting + s.flash], [groove[0], parting]]);
    let under = core.len() - 1;
    core.extend([[edge, parting], [edge, top]]);
    let over = core.len() - 1;
    let mouth = s.channel + (top - foot) * libm::tan(s.draft.max(0.05));
    if mouth > lip[0] {
        return setting(
            "the channel's mouth is wider than the part: less draft or a narrower channel would do",
        );
    }
    core.push([mouth, top]);
    let around = segments(edge, s.tolerance);
    let about = 48;
    let turn = |k: f64, from: f64| {
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * k);
        [from * cos, from * sin]
    };
    // Three places that match in one way only.
    let places = [0.0, 0.3, 0.62];
    let tall = 2.0 * s.pin;
    let narrow = (s.pin - tall * libm::tan(s.draft.max(0.05))).max(0.4 * s.pin);
    let on_bowl = places.map(|k| {
        let circle = Circle { at: turn(k, pins), radius: s.pin };
        (flat, circle, Flat::Blind { to: parting + tall, radius: narrow })
    });
    let mut in_core: Vec<(usize, Circle, Flat)> = places
        .iter()
        .map(|k| {
            let circle = Circle { at: turn(*k, pins), radius: s.pin + s.play };
            (under, circle, Flat::Blind { to: parting + tall + s.play, radius: narrow + s.play })
        })
        .collect();
    for k in 0..s.vents {
        let circle = Circle { at: turn((f64::from(k) + 0.5) / f64::from(s.vents), mid), radius: s.vent };
        in_core.push((under, circle, Flat::Through { edge: over }));
    }
    let made = |what: &str, outline: &[[f64; 2]], flats: Vec<_>| {
        let turned = Turned { outline: outline.to_vec(), flats, around, about };
        let mesh = turned.mesh().map_err(|e| MouldFault::Unsound(format!("{what}: {e}")))?;
        let sound = check(&mesh).map_err(|e| MouldFault::Unsound(format!("{what}: {e}")))?;
        Ok((mesh, sound))
    };
    let outline = part.outline();
    let (bowl_mesh, a) = made("bowl", &bowl, on_bowl.to_vec())?;
    let (core_mesh, b) = made("core", &core, in_core)?;
    let (cast, c) = made("cast", &outline, Vec::new())?;
    let cavity = moments(&outline).1;
    let pi = std::f64::consts::PI;
    let ring = |a: f64, b: f64| pi * (b * b - a * a);
    let channel = pi / 3.0 * (top - foot) * (s.channel * s.channel + s.channel * mouth + mouth * mouth);
    let poured = cavity + channel + ring(rim[0], groove[0]) * s.flash + ring(groove[0], groove[1]) * deep;
    let mut notes = Vec::new();
    for (face, points) in [("outer", outer), ("inner", inner)] {
        let steep = points
            .windows(2)
            .map(|w| libm::atan2(w[1][0] - w[0][0], w[1][1] - w[0][1]))
            .fold(f64::INFINITY, f64::min);
        if steep < s.draft {
            notes.push(format!(
                "The {face} face stands within {:.1}° of upright at its steepest, less than the draft of {:.1}°: it may stick; a soft part can be peeled off.",
                steep.to_degrees(),
                s.draft.to_degrees()
            ));
        }
    }
    Ok(Mould {
        bowl: bowl_mesh,
        core: core_mesh,
        cast,
        sound: [a, b, c],
        parting: parting - outer[0][1],
        size: [edge, top - below],
        cavity,
        poured,
        notes,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section;
    use calotte_specimen::{Material, Meridian, Part, Rim, SphereCap, Wall};

    fn cap(half_angle: f64, wall: f64) -> Part {
        let shape = SphereCap { radius: 25e-3, half_angle: half_angle.to_radians(), hole_angle: 0.0 };
        let material = Material { youngs: 1e6, poisson: 0.49, density: Some(1100.0) };
        Part { meridian: Meridian::Sphere(shape), wall: Wall::uniform(wall), material, rim: Rim::Free }
    }

    /// Exact volume of a cap of even wall cut along its normal: 2π(1 − cos α)(R₂³ − R₁³)/3. Closed form.
    #[test]
    fn a_cap_has_its_mould() {
        for (angle, wall) in [(30.0, 1e-3), (60.0, 2.4e-3), (85.0, 3e-3)] {
            let part = section(&cap(angle, wall), 5e-6).unwrap();
            let m = mould(&part, &Settings::default()).unwrap();
            let (r1, r2) = (25e-3 - 0.5 * wall, 25e-3 + 0.5 * wall);
            let share = 1.0 - libm::cos(angle.to_radians());
            let exact = 2.0 * std::f64::consts::PI / 3.0 * share * (r2 * r2 * r2 - r1 * r1 * r1);
            assert!((m.cavity / exact - 1.0).abs() < 1e-3, "{angle}: {} {exact}", m.cavity);
            assert!((m.sound[2].volume / exact - 1.0).abs() < 1e-3, "{angle}: {} {exact}", m.sound[2].volume);
            // What is neither bowl nor core in the block: cavity, channel, flash, groove, vents, and the play of the pins.
            assert_eq!([m.sound[0].pieces, m.sound[1].pieces, m.sound[2].pieces], [1, 1, 1]);
            // Six vents and the channel go right through the core.
            assert_eq!(m.sound.map(|s| s.euler), [2, 2 - 2 * 7, 2]);
            assert!(m.poured > m.cavity && m.notes.is_empty() == (angle < 88.0), "{:?}", m.notes);
        }
    }

    #[test]
    fn what_cannot_be_moulded_is_said() {
        let deep = section(&cap(110.0, 2e-3), 5e-6).unwrap();
        let fault = mould(&deep, &Settings::default()).unwrap_err();
        assert!(
            matches!(fault, MouldFault::Undercut { face: "outer", at } if (at[1] - 25e-3).abs() < 3e-3),
            "{fault}"
        );
        let part = section(&cap(60.0, 2e-3), 5e-6).unwrap();
        let with = |s: Settings| mould(&part, &s).unwrap_err().to_string();
        assert!(with(Settings { wall: 0.5e-3, ..Settings::default() }).contains("thinner than"));
        assert!(with(Settings { shrinkage: 0.6, ..Settings::default() }).contains("shrinkage"));
        assert!(with(Settings { flash: 0.0, ..Settings::default() }).contains("flash"));
    }

    /// Shrinkage: the cavity is larger by 1/(1 − s) in every length.
    #[test]
    fn the_cavity_allows_for_shrinkage() {
        let part = section(&cap(60.0, 2e-3), 5e-6).unwrap();
        let volume =
            |shrinkage: f64| mould(&part, &Settings { shrinkage, ..Settings::default() }).unwrap().cavity;
        assert!((volume(0.02) / volume(0.0) * 0.98_f64.powi(3) - 1.0).abs() < 1e-9);
    }
}
