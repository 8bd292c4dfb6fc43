//! What a film shows, whatever it is about: shapes with words and a clock, and a chart with a dot that moves.

use crate::ink::Pen;
use crate::release::film::{Line, Wall};
use crate::text::number;

/// A film before it is painted: every picture's shape, words and clock.
///
/// Made by the functions of this module's neighbours from an answer; painted by [`super::paint`].
pub struct Play {
    /// Title of the case.
    pub(crate) title: String,
    /// The wall.
    pub(crate) wall: Wall,
    /// Height of the table, where there is one.
    pub(crate) floor: Option<f64>,
    /// Heights are drawn so many times too large.
    pub(crate) stretch: f64,
    /// Whether the left of the meridian is the convex face of the natural part.
    pub(crate) domed: bool,
    /// What stands on every picture, such as how far motions are exaggerated.
    pub(crate) note: String,
    /// The chart below the scene.
    pub(crate) chart: Chart,
    /// The pictures.
    pub(crate) moments: Vec<Moment>,
    /// What happens between the last picture and the first.
    pub(crate) closing: Closing,
    /// What a reader who cannot see the film should know.
    pub(crate) alt: String,
}

impl Play {
    /// What a reader who cannot see the film should know; plain text.
    pub fn alt(&self) -> &str {
        &self.alt
    }

    /// How the last picture leads into the first, in words.
    pub fn closing(&self) -> &'static str {
        match self.closing {
            Closing::Flows => "the last picture leads into the first",
            Closing::Fades => "fades back to the beginning",
            Closing::Cut => "cuts back to the beginning after a still",
        }
    }

    /// Pictures and how long they play, s, but for a closing fade.
    pub fn length(&self) -> (usize, f64) {
        (self.moments.len(), self.moments.iter().map(|m| f64::from(m.delay_cs) / 100.0).sum())
    }

    /// The energy per area that all but a fiftieth of the places stay below: a force on a point makes very large ones beside it.
    pub(crate) fn usual_energy(&self) -> f64 {
        let mut all: Vec<f64> = self.moments.iter().flat_map(|m| &m.shape.energy).copied().collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len().saturating_sub(1) * 49 / 50).copied().unwrap_or(0.0)
    }

    /// Largest energy per area of all pictures.
    pub(crate) fn most_energy(&self) -> f64 {
        self.moments.iter().flat_map(|m| &m.shape.energy).copied().fold(0.0, f64::max)
    }
}

/// What happens between the last picture and the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Closing {
    /// The motion closes by itself.
    Flows,
    /// The last picture fades into the first.
    Fades,
    /// A still, then a cut.
    Cut,
}

/// One picture to be painted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Moment {
    /// The shape.
    pub(crate) shape: Shape,
    /// How long it stays, hundredths of a second.
    pub(crate) delay_cs: u16,
    /// Time of the motion, where there is one; the parameter otherwise.
    pub(crate) at: f64,
    /// What happens.
    pub(crate) phase: &'static str,
    /// How many times slower than it happens it plays.
    pub(crate) slowed: Option<f64>,
    /// The words on it.
    pub(crate) words: String,
    /// The clock, and what it counts.
    pub(crate) clock: String,
    pub(crate) clock_of: String,
    /// A second, smaller line under the words.
    pub(crate) beside: String,
    /// The dot on the chart.
    pub(crate) dot: Option<(f64, f64)>,
    /// In flight: the height that has to be seen.
    pub(crate) top: Option<f64>,
}

/// A shape of the part.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shape {
    /// Radius and height, pole (or hole edge) to rim.
    pub(crate) line: Line,
    /// Energy per area there; empty where it is not known.
    pub(crate) energy: Vec<f64>,
    /// A deflection in waves about the axis.
    pub(crate) wave: Option<Wave>,
}

/// A deflection that goes as cos nθ outwards and upwards and as sin nθ around, m.
#[derive(Clone, Debug)]
pub(crate) struct Wave {
    pub(crate) n: u32,
    pub(crate) out: Vec<f64>,
    pub(crate) up: Vec<f64>,
    pub(crate) around: Vec<f64>,
}

impl Shape {
    /// The meridian at a place around the axis given by cos nθ: radius and height.
    fn meridian(&self, cos: f64) -> Line {
        let Some(w) = &self.wave else { return self.line.clone() };
        self.line.iter().enumerate().map(|(i, p)| (p.0 + cos * w.out[i], p.1 + cos * w.up[i])).collect()
    }

    /// Meridians right and left of the axis.
    pub(crate) fn sides(&self) -> (Line, Line) {
        let odd = self.wave.as_ref().is_some_and(|w| w.n % 2 == 1);
        (self.meridian(1.0), self.meridian(if odd { -1.0 } else { 1.0 }))
    }

    /// The place of point `i` at angle θ, x, y, z.
    pub(crate) fn place(&self, i: usize, theta: f64) -> [f64; 3] {
        let (r, z) = self.line[i];
        let (sin, cos) = libm::sincos(theta);
        let Some(w) = &self.wave else { return [r * cos, r * sin, z] };
        let (sn, cn) = libm::sincos(f64::from(w.n) * theta);
        let (radius, turn) = (r + cn * w.out[i], sn * w.around[i]);
        [radius * cos - turn * sin, radius * sin + turn * cos, z + cn * w.up[i]]
    }
}

/// The chart below the scene; places run from 0 to 1, upwards.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chart {
    /// Height it takes with its names, user units.
    pub(crate) tall: f64,
    /// Grounds with names: from, to, tint.
    pub(crate) bands: Vec<(f64, f64, &'static str, &'static str)>,
    /// Curves.
    pub(crate) curves: Vec<(Line, Pen)>,
    /// Dotted lines up and down.
    pub(crate) joins: Vec<f64>,
    /// A dotted level with a name.
    pub(crate) level: Option<(f64, &'static str)>,
    /// Ticks of both axes.
    pub(crate) across: Vec<(f64, String)>,
    pub(crate) up: Vec<(f64, String)>,
    /// Names of both axes.
    pub(crate) across_name: String,
    pub(crate) up_name: String,
}

/// A linear axis from values to places between 0 and 1, with a little room at both ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    from: f64,
    to: f64,
}

impl Scale {
    /// An axis that shows all values; around the only one there is.
    pub(crate) fn over(values: impl Iterator<Item = f64>) -> Self {
        let (a, b) = values
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        if a > b {
            return Self { from: 0.0, to: 1.0 };
        }
        let room = if b > a { 0.05 * (b - a) } else { a.abs().max(1.0) };
        Self { from: a - room, to: b + room }
    }

    /// Where a value lies.
    pub(crate) fn place(&self, v: f64) -> f64 {
        (v - self.from) / (self.to - self.from)
    }

    /// Three or four round values with their numbers times `factor`.
    pub(crate) fn ticks(&self, factor: f64) -> Vec<(f64, String)> {
        let (a, b) = (self.from * factor, self.to * factor);
        let step = crate::axis::round_below((b - a) / 3.0);
        if !(step > 0.0 && step.is_finite()) {
            return Vec::new();
        }
        let decimals = (-libm::log10(step)).ceil().clamp(0.0, 6.0) as usize;
        let mut out = Vec::new();
        let mut k = (a / step).ceil();
        while k * step <= b && out.len() < 9 {
            let told =
                if decimals > 5 { number(k * step, 3) } else { crate::text::fixed(k * step, decimals) };
            out.push((self.place(k * step / factor), told));
            k += 1.0;
        }
        out
    }
}

/// How many times heights are drawn too large so that a flat part can be seen: a round number, 1 for a part that is not flat.
pub(crate) fn stretch<'a>(lines: impl Iterator<Item = &'a Line>) -> f64 {
    let (half, low, high) = crate::release::film::extent(lines);
    let flat = 0.5 * half / (high - low);
    if flat.is_finite() && flat > 2.0 { crate::axis::round_below(flat).max(1.0) } else { 1.0 }
}

/// A value with as many decimals as the largest needs for three digits, so that a clock keeps its width.
pub(crate) fn steady(si: f64, unit: &crate::text::Scaled, largest: f64) -> String {
    let size = (largest * unit.factor).abs();
    let places = if size > 0.0 { 2.0 - libm::log10(size).floor() } else { 0.0 };
    let told = crate::text::fixed(si * unit.factor, places.clamp(0.0, 6.0) as usize);
    format!("{told} {}", unit.name).trim_end().to_owned()
}
