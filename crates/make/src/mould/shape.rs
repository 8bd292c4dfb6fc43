//! The outlines of a mould's pieces, their pins, sockets and channels.

use std::f64::consts::{PI, TAU};

use calotte_solid::{Circle, Flat, Turned, check, moments, segments};

use super::faces::{height, narrows, not_narrowing, steepest, stretch, tops};
use super::{Mould, MouldFault, Piece, Settings, setting};
use crate::section::Section;

/// Steps round pins and channels.
const ABOUT: u32 = 48;
/// Places of the pins, shares of a turn: they match in one way only.
const PLACES: [f64; 3] = [0.0, 0.3, 0.62];
/// Depth of the groove.
const DEEP: f64 = 1.5e-3;
/// Largest share by which a soft part may be squeezed or stretched out of a mould: beyond it, it would tear or never come off. Common
/// practice, no source.
const SOFT: f64 = 0.5;
/// The same where a ring would be too low to be made.
const SQUEEZE: f64 = 0.05;

type Holes = Vec<(usize, Circle, Flat)>;

/// A place on a circle about the axis.
fn turn(share: f64, radius: f64) -> [f64; 2] {
    let (sin, cos) = libm::sincos(TAU * share);
    [radius * cos, radius * sin]
}

/// Pins at the three places on a level edge.
struct Pins {
    from_axis: f64,
    foot: f64,
    narrow: f64,
    play: f64,
}

impl Pins {
    fn pegs(&self, edge: usize, z: f64, tall: f64) -> Holes {
        let one = |k: f64| Circle { at: turn(k, self.from_axis), radius: self.foot };
        PLACES.map(|k| (edge, one(k), Flat::Blind { to: z + tall, radius: self.narrow })).to_vec()
    }
    fn sockets(&self, edge: usize, z: f64, tall: f64) -> Holes {
        let one = |k: f64| Circle { at: turn(k, self.from_axis), radius: self.foot + self.play };
        let bottom = Flat::Blind { to: z + tall + self.play, radius: self.narrow + self.play };
        PLACES.map(|k| (edge, one(k), bottom)).to_vec()
    }
}

/// Volume of a frustum of a cone.
fn frustum(a: f64, b: f64, tall: f64) -> f64 {
    PI / 3.0 * tall.abs() * (a * a + a * b + b * b)
}

fn piece(name: &'static str, outline: Vec<[f64; 2]>, flats: Holes, around: u32) -> Result<Piece, MouldFault> {
    // What holes take and pegs add, exactly.
    let level = |i: usize| (outline[i][1], outline[(i + 1) % outline.len()][0] < outline[i][0]);
    let mut exact = moments(&outline).1;
    for (edge, circle, what) in &flats {
        let (z, up) = level(*edge);
        match what {
            Flat::Blind { to, radius } => {
                let sign = if (*to > z) == up { 1.0 } else { -1.0 };
                exact += sign * frustum(circle.radius, *radius, to - z);
            }
            Flat::Through { edge } => exact -= frustum(circle.radius, circle.radius, level(*edge).0 - z),
        }
    }
    let turned = Turned { outline: outline.clone(), flats, around, about: ABOUT };
    let mesh = turned.mesh().map_err(|e| MouldFault::Unsound(format!("{name}: {e}")))?;
    let sound = check(&mesh).map_err(|e| MouldFault::Unsound(format!("{name}: {e}")))?;
    Ok(Piece { name, mesh, sound, exact, outline })
}

/// How the lower face parts.
enum Parts {
    Two,
    /// At the widest point of the lower face.
    Three(usize),
}

fn parts(outer: &[[f64; 2]], s: &Settings, notes: &mut Vec<String>) -> Result<Parts, MouldFault> {
    let Some(widest) = narrows(outer, s.tolerance) else { return Ok(Parts::Two) };
    if let Some(at) = not_narrowing(outer, widest, s.tolerance) {
        return Err(MouldFault::Undercut { face: "lower", at });
    }
    let tall = outer[outer.len() - 1][1] - outer[widest][1];
    if tall >= DEEP + 2.0 * s.thinnest {
        return Ok(Parts::Three(widest));
    }
    let squeeze = stretch(outer);
    if squeeze > SQUEEZE {
        return Err(MouldFault::Undercut { face: "lower", at: outer[outer.len() - 1] });
    }
    notes.push(format!(
        "The lower face narrows again by {:.1} % over its last {:.2} mm, too low for a ring: a soft part is squeezed out of the bowl, a stiff one would be held.",
        1e2 * squeeze,
        1e3 * tall
    ));
    Ok(Parts::Two)
}

pub(super) fn build(part: &Section, s: &Settings) -> Result<Mould, MouldFault> {
    let (outer, inner) = (&part.outer, &part.inner);
    let (rim, lip) = (outer[outer.len() - 1], inner[inner.len() - 1]);
    let mut notes = Vec::new();
    let how = parts(outer, s, &mut notes)?;
    let stretched = stretch(inner);
    if stretched > SOFT {
        let at = narrows(inner, s.tolerance).map_or(lip, |i| inner[i]);
        return Err(MouldFault::Undercut { face: "upper", at });
    }
    if lip[0] > rim[0] + s.tolerance {
        return Err(MouldFault::Undercut { face: "rim's", at: lip });
    }
    let highest = |f: &[[f64; 2]]| f.iter().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
    let lowest = outer.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let widest = outer.iter().chain(inner).map(|p| p[0]).fold(0.0, f64::max);
    let parting = rim[1];
    // Radii outwards: rim, flash, groove, pins, edge.
    let land = rim[0] + (1.5e-3_f64).max(2.0 * s.thinnest);
    let groove = [land, land + 2.0 * s.vent + 1.2e-3];
    let pins_at = groove[1].max(widest + s.wall.min(2e-3)) + 1e-3 + s.pin;
    let edge = pins_at + s.pin + s.wall;
    let below = lowest - s.wall;
    let top = parting.max(highest(inner)) + s.wall.max(3.0 * s.pin) + s.wall;
    let draft = s.draft.max(0.05);
    let tall = match how {
        Parts::Two => 2.0 * s.pin,
        Parts::Three(k) => (2.0 * s.pin).min(0.5 * (parting - outer[k][1])),
    };
    let pins = Pins {
        from_axis: pins_at,
        foot: s.pin,
        narrow: (s.pin - tall * libm::tan(draft)).max(0.4 * s.pin),
        play: s.play,
    };

    // The middle of the bowl: the pole, or the boss in the hole.
    let mut boss = Vec::new();
    let mut gate = 0.0;
    if outer[0][0] > 0.0 {
        let (a, b) = (outer[0], inner[0]);
        let share = 1.0 - s.gate / (b[1] - a[1]);
        if b[1] <= a[1] || share < 0.3 {
            return Err(setting(
                format!(
                    "the edge of the hole is {:.2} mm high, too low for a gate of {:.2} mm",
                    1e3 * (b[1] - a[1]),
                    1e3 * s.gate
                ),
                format!("`--gate {:.2}mm` or less would do", 0.7e3 * (b[1] - a[1]).max(0.0)),
            ));
        }
        if b[0] > a[0] + s.tolerance {
            return Err(MouldFault::Undercut { face: "hole's", at: b });
        }
        if s.channel >= 0.9 * b[0] {
            return Err(setting(
                format!(
                    "the channel of radius {:.2} mm does not fit into the hole of radius {:.2} mm",
                    1e3 * s.channel,
                    1e3 * b[0]
                ),
                format!("`--channel {:.2}mm` or less would do", 0.8e3 * b[0]),
            ));
        }
        let up = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
        boss = vec![up, [0.0, up[1]]];
        gate = frustum(up[0], b[0], b[1] - up[1]);
        notes.push(format!(
            "The part is filled over the boss in its hole, through a disc {:.2} mm thick that is cut out of the cast with a punch or blade.",
            1e3 * s.gate
        ));
    }

    // The core: over the upper face, down the rim's face to the flash, over it, the flat, up, over the top, down the channel.
    let (mut core, foot) = if boss.is_empty() {
        let foot = height(inner, s.channel).ok_or_else(|| {
            setting(
                "the channel is wider than the part",
                format!("`--channel {:.2}mm` or less would do", 0.2e3 * rim[0]),
            )
        })?;
        let mut core = vec![[s.channel, foot]];
        core.extend(inner.iter().copied().skip_while(|p| p[0] <= s.channel));
        // Between the channel's lower end and the upper face.
        let mut under: Vec<[f64; 2]> = inner.iter().copied().take_while(|p| p[0] <= s.channel).collect();
        under.extend([[s.channel, foot], [0.0, foot]]);
        gate = moments(&under).1;
        (core, foot)
    } else {
        let mut core = vec![[s.channel, inner[0][1]]];
        core.extend(inner.iter().copied());
        (core, inner[0][1])
    };
    let mut wedge = 0.0;
    if lip[1] > parting + 2.0 * s.flash {
        let along = (lip[1] - parting - s.flash) / (lip[1] - parting);
        let gap = [lip[0] + along * (rim[0] - lip[0]), parting + s.flash];
        core.push(gap);
        wedge = moments(&[gap, rim, [rim[0], gap[1]]]).1;
    } else {
        core.extend([rim, [rim[0], parting + s.flash]]);
        core.dedup();
    }
    core.extend([[groove[0], parting + s.flash], [groove[0], parting]]);
    let under = core.len() - 1;
    core.extend([[edge, parting], [edge, top]]);
    let over = core.len() - 1;
    let mouth = s.channel + (top - foot) * libm::tan(draft);
    if mouth > groove[0] - 1e-3 {
        return Err(setting(
            format!("the channel's mouth, {:.1} mm wide, would reach the vents", 2e3 * mouth),
            "less `--draft` or a narrower `--channel` would do",
        ));
    }
    core.push([mouth, top]);
    let mut in_core = pins.sockets(under, parting, tall);
    for k in 0..s.vents {
        let at = turn((f64::from(k) + 0.5) / f64::from(s.vents), 0.5 * (groove[0] + groove[1]));
        in_core.push((under, Circle { at, radius: s.vent }, Flat::Through { edge: over }));
    }

    let around = segments(edge, s.tolerance);
    // Up the outside, over the flat, down the groove, over the land.
    let flat = |from: f64| {
        let mut out = vec![[edge, from], [edge, parting], [groove[1], parting]];
        out.extend([[groove[1], parting - DEEP], [groove[0], parting - DEEP], [groove[0], parting]]);
        out
    };
    let mut pieces = Vec::new();
    let mut planes = vec![parting - lowest];
    match how {
        Parts::Two => {
            let mut bowl = vec![[0.0, below]];
            bowl.extend(flat(below));
            bowl.extend(outer.iter().rev().copied());
            bowl.extend(boss);
            pieces.push(piece("bowl", bowl, pins.pegs(2, parting, tall), around)?);
        }
        Parts::Three(k) => {
            let equator = outer[k];
            let mut bowl = vec![[0.0, below], [edge, below], [edge, equator[1]]];
            bowl.extend(outer[..=k].iter().rev().copied());
            bowl.extend(boss);
            pieces.push(piece("bowl", bowl, pins.pegs(2, equator[1], tall), around)?);
            let mut ring = flat(equator[1]);
            ring.extend(outer[k..].iter().rev().copied());
            let bottom = ring.len() - 1;
            let mut holes = pins.sockets(bottom, equator[1], tall);
            holes.extend(pins.pegs(1, parting, tall));
            pieces.push(piece("ring", ring, holes, around)?);
            planes.insert(0, equator[1] - lowest);
        }
    }
    pieces.push(piece("core", core, in_core, around)?);
    let outline = part.outline();
    let cavity = moments(&outline).1;
    pieces.push(piece("cast", outline, Vec::new(), around)?);

    if stretched > 1e-3 {
        notes.push(format!(
            "The upper face narrows towards the rim: the part has to be stretched by {:.1} % to come off the core, which only a soft material bears.",
            1e2 * stretched
        ));
    }
    for (face, points) in [("lower", outer), ("upper", inner)] {
        // A face that narrows again passes through upright; that has been told.
        let steep = steepest(points);
        if steep < s.draft && narrows(points, s.tolerance).is_none() {
            notes.push(format!(
                "The {face} face stands within {:.1}° of upright at its steepest, less than the draft of {:.1}°: it may stick; a soft part can be peeled off.",
                steep.to_degrees(),
                s.draft.to_degrees()
            ));
        }
    }
    for r in tops(inner, s.tolerance) {
        notes.push(format!(
            "Air stays at radius {:.2} mm, where the upper face is highest: degas the resin, tilt the mould while it fills, or drill a vent there.",
            1e3 * r
        ));
    }
    let ring = |a: f64, b: f64| PI * (b * b - a * a);
    let overflow = wedge + ring(rim[0], groove[0]) * s.flash + ring(groove[0], groove[1]) * DEEP;
    Ok(Mould {
        pieces,
        parting: planes,
        size: [edge, top - below],
        cavity,
        poured: cavity + gate + frustum(s.channel, mouth, top - foot) + overflow,
        stretch: stretched,
        turned: part.turned,
        notes,
    })
}
