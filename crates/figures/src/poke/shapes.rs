//! Little sections of deformed states in a strip below a path.

use calotte_answers::report::SampledMeridian;

use crate::ink::{self, Dash, Pen};
use crate::place::Rect;
use crate::style::page_width;
use crate::svg::{Anchor, Point, Svg};
use crate::text::{LengthUnit, text_width};
use crate::thin::{VISIBLE, thin};

/// Most shapes in a strip.
pub(super) const MOST: usize = 4;
/// Greatest height of a shape.
const TALL: f64 = 62.0;
/// Half of its greatest width.
const HALF: f64 = 64.0;
/// Room for the line of words above a shape.
const WORDS: f64 = 20.0;

const NATURAL: Pen = Pen::with(ink::GREY, 1.0, Dash::Dotted);
const STATE: Pen = Pen::solid(ink::DEEP, 1.8);

/// One state of the strip.
pub(super) struct Shape {
    pub(super) letter: char,
    pub(super) words: String,
    /// Radius and height, pole to rim.
    pub(super) line: Vec<(f64, f64)>,
}

/// Radius and height over the rim's, whole rows only; `None` with fewer than two.
pub(super) fn line(m: &SampledMeridian) -> Option<Vec<(f64, f64)>> {
    let rows = super::meridian(m);
    let rim = rows.last().filter(|_| rows.len() > 1)?.2;
    Some(rows.into_iter().map(|(_, r, z)| (r, z - rim)).collect())
}

/// A strip laid out: its scale and heights.
pub(super) struct Strip {
    shapes: Vec<Shape>,
    natural: Option<Vec<(f64, f64)>>,
    scale: f64,
    /// Above and below the rim, user units.
    above: f64,
    below: f64,
}

impl Strip {
    /// Lays out the shapes at one scale; `None` when there is nothing to draw.
    pub(super) fn new(shapes: Vec<Shape>, natural: Option<Vec<(f64, f64)>>) -> Option<Self> {
        if shapes.is_empty() {
            return None;
        }
        let points = || shapes.iter().map(|s| &s.line).chain(&natural).flatten();
        let half = points().map(|p| p.0.abs()).fold(0.0, f64::max);
        let low = points().map(|p| p.1).fold(0.0, f64::min);
        let high = points().map(|p| p.1).fold(0.0, f64::max);
        let room = HALF.min((page_width() - 20.0) / MOST as f64 / 2.0 - 6.0);
        let scale = (room / half).min(TALL / (high - low));
        if !(scale.is_finite() && scale > 0.0) {
            return None;
        }
        Some(Self { shapes, natural, scale, above: -low * scale, below: high * scale })
    }

    /// Height it takes on the page.
    pub(super) fn height(&self) -> f64 {
        WORDS + self.above + self.below + 10.0
    }

    /// Draws the strip between two sides, its top at `top`.
    pub(super) fn draw(&self, svg: &mut Svg, left: f64, right: f64, top: f64) {
        let cell = (right - left) / MOST as f64;
        let start = left + (right - left - cell * self.shapes.len() as f64) / 2.0;
        let zero = top + WORDS + self.above;
        svg.open("shapes");
        for (i, shape) in self.shapes.iter().enumerate() {
            let axis = start + cell * (i as f64 + 0.5);
            let full = format!("{}: {}", shape.letter, shape.words);
            let words =
                if text_width(&full, ink::LABEL) < cell - 4.0 { full } else { shape.letter.to_string() };
            svg.text("shape-label", (axis, top + 10.0), ink::LABEL, Anchor::Middle, ink::INK, &words);
            let window = Rect::around(
                [(axis - cell / 2.0, top), (axis + cell / 2.0, zero + self.below + 10.0)].into_iter(),
            );
            let unit = LengthUnit::for_length(2.0 * HALF / self.scale);
            let per = self.scale / unit.per_m;
            svg.record.section(
                window,
                (axis, zero),
                (per, per),
                unit.name,
                &format!("shape {}", shape.letter),
            );
            let table = Pen::solid(ink::FAINT, 0.6);
            let reach = HALF.min(cell / 2.0 - 6.0) + 4.0;
            svg.line("table", (axis - reach, zero), (axis + reach, zero), table);
            if let Some(natural) = &self.natural {
                self.pair(svg, "natural", natural, (axis, zero), NATURAL);
            }
            self.pair(svg, "shape", &shape.line, (axis, zero), STATE);
        }
        svg.close();
    }

    /// Both sides of the axis; heights grow downwards, which shows a natural bowl as a dome.
    fn pair(&self, svg: &mut Svg, class: &str, line: &[(f64, f64)], at: Point, pen: Pen) {
        let side =
            |sign: f64| line.iter().map(move |p| (at.0 + sign * self.scale * p.0, at.1 + self.scale * p.1));
        let left: Vec<Point> = side(-1.0).rev().collect();
        let right: Vec<Point> = side(1.0).collect();
        // One line over the pole, two pieces beside a hole.
        if line.first().is_some_and(|p| p.0 * self.scale < 0.05) {
            let whole: Vec<Point> = left.into_iter().chain(right).collect();
            svg.curve(class, &thin(&whole, VISIBLE), pen);
        } else {
            svg.curve(class, &thin(&left, VISIBLE), pen);
            svg.curve(class, &thin(&right, VISIBLE), pen);
        }
    }
}
