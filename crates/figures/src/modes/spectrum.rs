//! Frequency over the number of waves, a line for each number of nodal circles.

use std::collections::BTreeMap;

use calotte_answers::modes::report::{Kind, Mode, ModesReport};

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::Placer;
use crate::style::page_width;
use crate::svg::{Anchor, Key, Mark, Point, Svg};
use crate::text::{Scaled, number};

const HEIGHT: f64 = 300.0;
const RADIUS: f64 = 4.0;
const OUTLINE: Pen = Pen::solid(ink::INK, 0.9);
const ACROSS: Pen = Pen::solid(ink::DEEP, 1.3);
const IN_PLANE: Pen = Pen::with(ink::RUST, 1.1, Dash::Dashed);
const TWIST: Pen = Pen::with(ink::PLUM, 1.1, Dash::Dotted);

/// What moves most, for the mark.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Family {
    Across,
    InPlane,
    Torsion,
}

impl Family {
    fn of(m: &Mode) -> Self {
        match m.kind {
            Kind::Torsion => Self::Torsion,
            _ if m.normal_share >= 0.5 => Self::Across,
            _ => Self::InPlane,
        }
    }

    fn look(self) -> (Mark, &'static str, Pen) {
        match self {
            Self::Across => (Mark::Disc, ink::DEEP, ACROSS),
            Self::InPlane => (Mark::Square, ink::PAPER, IN_PLANE),
            Self::Torsion => (Mark::Diamond, ink::PLUM, TWIST),
        }
    }
}

/// The figure; `None` with fewer than two modes that can be drawn.
pub(super) fn figure(r: &ModesReport) -> Option<Figure> {
    let (name, unit, factor) = match r.units.frequency_Hz {
        Some(_) => ("frequency", "Hz", 1.0),
        None => ("ω R √(ρ/E)", "1", 1.0),
    };
    let pitch = |m: &Mode| match r.units.frequency_Hz {
        Some(_) => m.frequency_Hz,
        None => (m.omega_squared > 0.0).then(|| m.omega_squared.sqrt()),
    };
    let all: Vec<(&Mode, f64)> = r
        .modes
        .iter()
        .filter_map(|m| Some((m, factor * pitch(m)?)))
        .filter(|m| m.1.is_finite() && m.1 > 0.0 && m.1 < 1e100)
        .collect();
    if all.len() < 2 {
        return None;
    }
    let low = all.iter().map(|m| m.1).fold(f64::INFINITY, f64::min);
    let high = all.iter().map(|m| m.1).fold(0.0, f64::max);
    let most = all.iter().map(|m| m.0.n).max()?;
    let scaled = Scaled::suiting(high, unit);
    let up = if high > 20.0 * low {
        Axis::logarithmic(low * scaled.factor / 1.3, high * scaled.factor * 1.3)
    } else {
        Axis::covering(0.0, high * scaled.factor, 6.0)
    };
    let across = Axis::covering(-0.4, f64::from(most) + 0.4, f64::from(most.min(12)) + 1.0);
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: 36.0, bottom: 36.0 + HEIGHT, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    frame.draw(&mut svg, "waves around the axis, n", &scaled.title(name));
    let at = |m: &(&Mode, f64)| -> Point { (frame.x(f64::from(m.0.n)), frame.y(m.1 * scaled.factor)) };
    // The lowest of each n with the same number of circles.
    let mut lines: BTreeMap<(Family, usize), Vec<(u32, Point)>> = BTreeMap::new();
    for m in &all {
        let line = lines.entry((Family::of(m.0), m.0.nodal_circles)).or_default();
        if line.last().is_none_or(|l| l.0 != m.0.n) {
            line.push((m.0.n, at(m)));
        }
    }
    let mut placer = Placer::new(frame.window());
    for ((family, _), line) in &lines {
        for part in line.chunk_by(|a, b| b.0 == a.0 + 1).filter(|p| p.len() > 1) {
            let points: Vec<Point> = part.iter().map(|p| p.1).collect();
            svg.curve("family", &points, family.look().2);
            placer.avoid(&points);
        }
    }
    for m in &all {
        let (mark, fill, _) = Family::of(m.0).look();
        svg.mark("mode", at(m), mark, RADIUS, fill, OUTLINE);
    }
    for ((family, circles), line) in &lines {
        if *family != Family::Across || line.len() < 2 {
            continue;
        }
        let Some(end) = line.last() else { continue };
        let words = circles.to_string();
        if let Some(spot) = placer.beside(end.1, RADIUS + 2.0, &words, ink::TICK) {
            svg.text("circles", spot.at, ink::TICK, Anchor::Middle, ink::INK, &words);
        }
    }
    let mut entries = Vec::new();
    for (family, words) in [
        (Family::Across, "mostly across the wall (number: nodal circles)"),
        (Family::InPlane, "mostly in its plane"),
        (Family::Torsion, "torsion"),
    ] {
        if lines.keys().any(|k| k.0 == family) {
            let (mark, fill, _) = family.look();
            entries.push((Key::Mark(mark, fill, OUTLINE), words.to_owned()));
        }
    }
    svg.open("legend");
    svg.legend_above((left, 20.0), frame.right, &entries);
    svg.close();
    let lowest = r.lowest.first().and_then(|i| Some((r.modes[*i].n, pitch(&r.modes[*i])?)));
    let told = lowest.map_or(String::new(), |(n, f)| {
        let f = if unit == "Hz" { scaled.print(f) } else { number(f, 3) };
        format!(" The lowest is {f} with n = {n}.")
    });
    let alt = format!(
        "Frequencies of n = 0 to {most} about the {} shape, joined by number of nodal circles.{told}",
        r.state
    );
    let caption = format!(
        "{}. Frequencies about the {} shape over the number of waves; lines join modes with the same number of nodal circles.{told}",
        r.title, r.state
    );
    let title = format!("{}: frequencies", r.title);
    Some(Figure::new("spectrum", svg.finish(&title, &alt), alt, caption))
}
