//! Two numbers that may change: where each wish is met, and the solutions.
//!
//! Curves of wishes and the ground where all are met are drawn from the grid of samples by cubic interpolation (Catmull and Rom);
//! solutions and the curve followed through them are exact.

use calotte_answers::size::report::{SizeReport, SizeWish};

use super::titled;
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Key, LEGEND_STEP, Mark, Point, Svg, legend_lines};
use crate::thin::{VISIBLE, clip, thin};

const PLOT: f64 = 380.0;
/// Cells of the drawing per cell of the grid.
const FINE: usize = 20;
const PENS: [Pen; 5] = [
    Pen::solid(ink::DEEP, 1.6),
    Pen::with(ink::RUST, 1.6, Dash::Dashed),
    Pen::with(ink::PLUM, 1.6, Dash::Chain),
    Pen::with(ink::SLATE, 1.4, Dash::Dotted),
    Pen::with(ink::GREY, 1.4, Dash::Solid),
];
const FOLLOWED: Pen = Pen::solid(ink::AMBER, 3.2);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.2);
const NONE: &str = "url(#size-none)";

/// A grid of readings.
struct Sheet<'a> {
    values: &'a [Option<f64>],
    columns: usize,
    rows: usize,
}

impl Sheet<'_> {
    fn value(&self, i: usize, j: usize) -> Option<f64> {
        self.values.get(j * self.columns + i).copied().flatten()
    }

    /// Cubic interpolation at a place in cells; linear where a neighbour farther off has no reading, `None` where one of the cell's own
    /// corners has none.
    fn at(&self, x: f64, y: f64) -> Option<f64> {
        let cell = |v: f64, n: usize| (v.floor() as usize).min(n.saturating_sub(2));
        let (i, j) = (cell(x, self.columns), cell(y, self.rows));
        let (u, v) = (x - i as f64, y - j as f64);
        let row = |jj: usize| -> Option<f64> {
            let (b, c) = (self.value(i, jj)?, self.value(i + 1, jj)?);
            let a = if i > 0 { self.value(i - 1, jj) } else { None };
            let d = self.value_right(i + 2, jj);
            Some(cubic(a, b, c, d, u))
        };
        let (b, c) = (row(j)?, row(j + 1)?);
        let a = if j > 0 { row(j - 1) } else { None };
        let d = if j + 2 < self.rows { row(j + 2) } else { None };
        Some(cubic(a, b, c, d, v))
    }

    fn value_right(&self, i: usize, j: usize) -> Option<f64> {
        if i < self.columns { self.value(i, j) } else { None }
    }
}

/// Between b and c; ends without a neighbour go on with the parabola through the three others, two without any are joined straight.
fn cubic(a: Option<f64>, b: f64, c: f64, d: Option<f64>, t: f64) -> f64 {
    let slope_b = match (a, d) {
        (Some(a), _) => 0.5 * (c - a),
        (None, Some(d)) => c - b - 0.5 * (d - 2.0 * c + b),
        (None, None) => c - b,
    };
    let slope_c = match (d, a) {
        (Some(d), _) => 0.5 * (d - b),
        (None, Some(a)) => c - b + 0.5 * (c - 2.0 * b + a),
        (None, None) => c - b,
    };
    let (t2, t3) = (t * t, t * t * t);
    b * (2.0 * t3 - 3.0 * t2 + 1.0)
        + c * (3.0 * t2 - 2.0 * t3)
        + slope_b * (t3 - 2.0 * t2 + t)
        + slope_c * (t3 - t2)
}

/// The figure; `None` when the ranges cannot be drawn.
pub(super) fn figure(r: &SizeReport) -> Option<Figure> {
    let [a, b] = r.vary.as_slice() else { return None };
    let [ax, ay] = r.scan.axes_si.as_slice() else { return None };
    let (columns, rows) = (ax.len(), ay.len());
    if columns < 2 || rows < 2 || r.scan.readings_si.iter().any(|w| w.len() != columns * rows) {
        return None;
    }
    let across = Axis::between(a.scale.shown(a.from_si), a.scale.shown(a.to_si), 7.0);
    let up = Axis::between(b.scale.shown(b.from_si), b.scale.shown(b.to_si), 6.0);
    let left = 10.0 + Frame::room_left(&up);
    let entries = entries(r);
    let top = 16.0 + LEGEND_STEP * legend_lines(left, page_width() - 10.0, &entries);
    let f = Frame { left, right: page_width() - 20.0, top, bottom: top + PLOT, across, up };
    let mut svg = Svg::new(page_width(), f.bottom + 46.0);
    svg.pattern("size-none", ink::PAPER, ink::PATTERN, false);
    // Where a place in cells lies on the page; the axes' samples are spaced as the ranges are.
    let value = |axis: &[f64], x: f64| {
        let i = (x.floor() as usize).min(axis.len() - 2);
        let t = x - i as f64;
        if axis[0] > 0.0 && axis[axis.len() - 1] > 10.0 * axis[0] {
            axis[i] * libm::pow(axis[i + 1] / axis[i], t)
        } else {
            axis[i] + t * (axis[i + 1] - axis[i])
        }
    };
    let page =
        |x: f64, y: f64| -> Point { (f.x(a.scale.shown(value(ax, x))), f.y(b.scale.shown(value(ay, y)))) };
    let sheets: Vec<Sheet<'_>> =
        r.scan.readings_si.iter().map(|w| Sheet { values: w, columns, rows }).collect();
    grounds(&mut svg, r, &sheets, &page);
    let window = f.window();
    for (k, (w, s)) in r.wishes.iter().zip(&sheets).enumerate() {
        let pen = PENS[k % PENS.len()];
        let thin_pen = Pen::with(pen.colour, 0.7, pen.dash);
        let levels: Vec<(f64, Pen)> = match w.aim_si {
            Some(aim) => vec![(aim, pen)]
                .into_iter()
                .chain([w.low_si, w.high_si].into_iter().flatten().map(|l| (l, thin_pen)))
                .collect(),
            None => [w.low_si, w.high_si].into_iter().flatten().map(|l| (l, pen)).collect(),
        };
        for (level, pen) in levels {
            for piece in contour(s, level, &page) {
                svg.line("wish", piece.0, piece.1, pen);
            }
        }
    }
    for c in r.set.iter().flat_map(|s| &s.curves) {
        for run in c.points_si.iter().zip(&c.met).collect::<Vec<_>>().split(|p| !p.1) {
            let points: Vec<Point> =
                run.iter().map(|p| (f.x(a.scale.shown(p.0[0])), f.y(b.scale.shown(p.0[1])))).collect();
            for piece in clip(&points, &window) {
                svg.curve("followed", &thin(&piece, VISIBLE), FOLLOWED);
            }
        }
    }
    f.draw(&mut svg, &titled(&a.key, &a.scale), &titled(&b.key, &b.scale));
    let at = |v: &[f64]| (f.x(a.scale.shown(v[0])), f.y(b.scale.shown(v[1])));
    let here = at(&[a.here_si, b.here_si]);
    if window.holds(here) {
        svg.mark("here", here, Mark::Target, 5.6, "none", OUTLINE);
    }
    for s in &r.solutions {
        svg.mark("solution", at(&s.values_si), Mark::Diamond, 5.0, ink::AMBER, OUTLINE);
    }
    if let Some(n) = r.obstacle.as_ref().and_then(|o| o.nearest.as_ref()) {
        svg.mark("nearest", at(&n.values_si), Mark::Cross, 4.6, "none", OUTLINE);
    }
    svg.open("legend");
    svg.legend_rows((left, 18.0), page_width() - 10.0, &entries);
    svg.close();
    let told = match r.solutions.len() {
        0 => "No place meets all wishes".to_owned(),
        1 => "One solution is marked".to_owned(),
        n => format!("{n} solutions are marked"),
    };
    let wishes = r.wishes.iter().map(|w| format!("“{}”", w.text)).collect::<Vec<_>>().join(", ");
    let alt = format!("Map with {} across and {} upwards; curves of {wishes}. {told}.", a.key, b.key);
    let caption = format!("{}. Where {wishes} are met over {} and {}. {told}.", r.title, a.key, b.key);
    Some(Figure::new("size", svg.finish(&format!("{}: sizes", r.title), &alt), alt, caption))
}

fn drawn(w: &SizeWish) -> bool {
    w.low_si.is_some() || w.high_si.is_some()
}

fn entries(r: &SizeReport) -> Vec<(Key, String)> {
    let mut all: Vec<(Key, String)> = r
        .wishes
        .iter()
        .enumerate()
        .filter(|(_, w)| drawn(w))
        .map(|(k, w)| (Key::Line(PENS[k % PENS.len()]), w.text.clone()))
        .collect();
    if r.wishes.iter().any(drawn) {
        all.push((Key::Patch(ink::SHADE), "all limits met".to_owned()));
    }
    if r.scan.readings_si.iter().flatten().any(Option::is_none) {
        all.push((Key::Patch(NONE), "no reading".to_owned()));
    }
    if r.set.as_ref().is_some_and(|s| !s.curves.is_empty()) {
        all.push((Key::Line(FOLLOWED), "solutions".to_owned()));
    }
    if !r.solutions.is_empty() {
        all.push((Key::Mark(Mark::Diamond, ink::AMBER, OUTLINE), "told in full".to_owned()));
    }
    if r.obstacle.as_ref().is_some_and(|o| o.nearest.is_some()) {
        all.push((Key::Mark(Mark::Cross, "none", OUTLINE), "nearest".to_owned()));
    }
    all.push((Key::Mark(Mark::Target, "none", OUTLINE), "this part".to_owned()));
    all
}

/// Cells of the drawing: shaded where all ends are kept, hatched where a reading is missing.
fn grounds(svg: &mut Svg, r: &SizeReport, sheets: &[Sheet<'_>], page: &dyn Fn(f64, f64) -> Point) {
    let Some(s) = sheets.first() else { return };
    let (nx, ny) = ((s.columns - 1) * FINE, (s.rows - 1) * FINE);
    let step = 1.0 / FINE as f64;
    let state = |i: usize, j: usize| -> Option<bool> {
        let (x, y) = ((i as f64 + 0.5) * step, (j as f64 + 0.5) * step);
        let mut all = r.wishes.iter().any(drawn);
        for (w, s) in r.wishes.iter().zip(sheets) {
            let v = s.at(x, y)?;
            all &= w.low_si.is_none_or(|l| v >= l) && w.high_si.is_none_or(|h| v <= h);
        }
        Some(all)
    };
    for j in 0..ny {
        // Neighbouring cells of one kind are one rectangle.
        let mut i = 0;
        while i < nx {
            let here = state(i, j);
            let mut end = i + 1;
            while end < nx && state(end, j) == here {
                end += 1;
            }
            let fill = match here {
                Some(true) => Some(ink::SHADE),
                None => Some(NONE),
                Some(false) => None,
            };
            if let Some(fill) = fill {
                let (p, q) =
                    (page(i as f64 * step, j as f64 * step), page(end as f64 * step, (j + 1) as f64 * step));
                svg.rectangle("ground", (p.0, q.1), (q.0 - p.0, p.1 - q.1 + 0.4), fill);
            }
            i = end;
        }
    }
}

/// Pieces of the curve on which a sheet takes a level, cell by cell of the drawing.
fn contour(s: &Sheet<'_>, level: f64, page: &dyn Fn(f64, f64) -> Point) -> Vec<(Point, Point)> {
    let (nx, ny) = ((s.columns - 1) * FINE, (s.rows - 1) * FINE);
    let step = 1.0 / FINE as f64;
    let mut out = Vec::new();
    for j in 0..ny {
        for i in 0..nx {
            let corners = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
                .map(|(i, j)| (i as f64 * step, j as f64 * step));
            let mut crossed: Vec<Point> = Vec::new();
            for k in 0..4 {
                let (p, q) = (corners[k], corners[(k + 1) % 4]);
                let (Some(a), Some(b)) = (s.at(p.0, p.1), s.at(q.0, q.1)) else { continue };
                if (a >= level) != (b >= level) {
                    let t = (level - a) / (b - a);
                    crossed.push(page(p.0 + t * (q.0 - p.0), p.1 + t * (q.1 - p.1)));
                }
            }
            for pair in crossed.chunks_exact(2) {
                out.push((pair[0], pair[1]));
            }
        }
    }
    out
}
