//! The part in the round: its wall with both faces and its thickness, turned about the axis, shaded, over its shadow.
//!
//! Parallel projection from `ELEVATION` above the plane of the rim. A face is lit as `ambient + diffuse · max(0, n·l)` (Lambert) for two
//! lamps, and gets lighter where it turns away from the eye (rim light), so that outlines stand out. Colour stands for the face, or for
//! the energy stored per area.

mod raster;

use std::f64::consts::TAU;

use self::raster::{Corner, Raster, blur};
use super::palette::channels;
use super::play::{Play, Shape};
use crate::ink;
use crate::release::film::extent;

/// Height of the eye above the level, rad (27°).
const ELEVATION: f64 = 0.47;
/// Steps around the axis, and rows along the meridian at most.
const AROUND: usize = 120;
const ROWS: usize = 72;
/// Samples a pixel has to each side.
const FINE: usize = 3;
/// Directions to the lamps (x to the right, y away from the eye, z up) and their strengths.
const LAMPS: [([f64; 3], f64); 2] = [([-0.47, -0.44, 0.765], 0.62), ([0.83, -0.50, 0.25], 0.18)];
const AMBIENT: f64 = 0.34;
/// How much of the way to white the outline goes.
const RIM_LIGHT: f64 = 0.45;
/// How dark a full shadow is.
const SHADOW: f64 = 0.30;
/// Depth of the pattern that spreads rounding, levels, and the pattern (Bayer 1973).
const GRAIN: f64 = 9.0;
const BAYER: [[f64; 4]; 4] =
    [[0.0, 8.0, 2.0, 10.0], [12.0, 4.0, 14.0, 6.0], [3.0, 11.0, 1.0, 9.0], [15.0, 7.0, 13.0, 5.0]];
/// Colours of rising energy.
const ENERGY: [&str; 5] = ["#dfe6ee", "#f1cf9f", ink::AMBER, ink::RUST, "#4a1f14"];

/// The colour of a share of the largest energy, 0 to 1.
pub(super) fn energy_colour(share: f64) -> [f64; 3] {
    let x = share.clamp(0.0, 1.0) * (ENERGY.len() - 1) as f64;
    let i = (x.floor() as usize).min(ENERGY.len() - 2);
    let (a, b) = (channels(ENERGY[i]), channels(ENERGY[i + 1]));
    let t = x - i as f64;
    [0, 1, 2].map(|k| f64::from(a[k]) + t * (f64::from(b[k]) - f64::from(a[k])))
}

/// A scene in the round: where the part stands on a panel.
pub(super) struct Solid {
    /// Pixels of the panel.
    width: usize,
    height: usize,
    /// Pixels per metre, and the row of height 0 on the axis.
    pub(super) scale: f64,
    zero: f64,
    /// Largest radius, m.
    half: f64,
    /// Height of the ground.
    ground: f64,
    stretch: f64,
    /// Largest energy; 0: faces have their own colours.
    energy: f64,
    domed: bool,
}

impl Solid {
    /// Lays out a panel for the shapes of a film; `None` when they have no extent or the panel none. `high`: what has to be seen at least
    /// with the camera at rest.
    pub(super) fn new(play: &Play, (width, height): (usize, usize), energy: bool) -> Option<Self> {
        let walls = |m: &super::play::Moment| {
            let (right, left) = m.shape.sides();
            extent(play.wall.outlines(&right, &left).iter())
        };
        let (mut half, mut low, mut high) = (0.0_f64, f64::INFINITY, f64::NEG_INFINITY);
        let mut flying = false;
        for m in &play.moments {
            let (w, a, b) = walls(m);
            half = half.max(w);
            match m.top {
                None => (low, high) = (low.min(a), high.max(b)),
                // At take-off the camera begins to follow.
                Some(top) if !flying => (flying, high) = (true, high.max(top)),
                Some(_) => {}
            }
        }
        let low = play.floor.map_or(low, |f| low.min(f));
        let (sin, cos) = libm::sincos(ELEVATION);
        let tall = (high - low) * play.stretch * cos + 2.0 * half * sin;
        let room = (width as f64 - 24.0, height as f64 - 26.0);
        let scale = (room.0 / (2.25 * half)).min(room.1 / tall);
        if !(scale.is_finite() && scale > 0.0) || width < 40 || height < 40 {
            return None;
        }
        // The front of a ring on the ground touches the lower edge but for some room.
        let zero =
            (height as f64 + scale * tall) / 2.0 - scale * half * sin + scale * low * play.stretch * cos;
        let most = if energy { play.usual_energy() } else { 0.0 };
        Some(Self {
            width,
            height,
            scale,
            zero,
            half,
            ground: low,
            stretch: play.stretch,
            energy: most,
            domed: play.domed,
        })
    }

    /// Largest energy that a colour stands for; `None` where colours are those of faces.
    pub(super) fn energy(&self) -> Option<f64> {
        (self.energy > 0.0).then_some(self.energy)
    }

    /// How far the camera has to rise, m, for a height to be seen.
    pub(super) fn rise(&self, top: f64) -> f64 {
        let (sin, cos) = libm::sincos(ELEVATION);
        // The back of a ring as high as the top.
        let seen = (self.zero - 20.0 - self.scale * self.half * sin) / (self.scale * self.stretch * cos);
        (top - seen).max(0.0)
    }

    /// The panel with a shape, red, green and blue row by row; heights sink by `rise`.
    pub(super) fn draw(&self, play: &Play, shape: &Shape, rise: f64) -> Vec<u8> {
        let skin = self.skin(play, shape);
        let (sin, cos) = libm::sincos(ELEVATION);
        let fine = FINE as f64;
        let project = |p: [f64; 3]| {
            let z = (p[2] - rise) * self.stretch;
            let x = self.width as f64 / 2.0 + self.scale * p[0];
            let y = self.zero - self.scale * (z * cos + p[1] * sin);
            (x, y, z * sin - p[1] * cos)
        };
        let mut shadow = Raster::new(self.width, self.height, 1);
        let mut raster = Raster::new(self.width, self.height, FINE);
        let lamp = LAMPS[0].0;
        for quad in &skin.quads {
            let corners = quad.map(|i| {
                let v = &skin.points[i];
                let (x, y, depth) = project(v.place);
                Corner { x: x * fine, y: y * fine, depth, colour: v.colour }
            });
            let cast = quad.map(|i| {
                let p = skin.points[i].place;
                // Half as long as the lamp's own shadow: shorter ones show better where a part stands.
                let fall =
                    0.5 * ((p[2] - self.ground).max(0.0) * self.stretch).min(0.6 * self.half) / lamp[2];
                let (x, y, _) = project([p[0] - lamp[0] * fall, p[1] - lamp[1] * fall, self.ground]);
                Corner { x, y, depth: 0.0, colour: [0.0; 3] }
            });
            // Faces that look away are hidden by others; left out, they cannot show through thin walls.
            let away = quad.iter().all(|i| skin.points[*i].away);
            for [a, b, c] in [[0, 1, 2], [0, 2, 3]] {
                if !away {
                    raster.triangle([corners[a], corners[b], corners[c]]);
                }
                shadow.triangle([cast[a], cast[b], cast[c]]);
            }
        }
        // A part in the air has a fainter shadow.
        let low = skin.points.iter().map(|p| p.place[2]).fold(f64::INFINITY, f64::min);
        let height = ((low - self.ground) * self.stretch / self.half).max(0.0);
        self.compose(&raster, &shadow, SHADOW / (1.0 + 2.0 * height))
    }

    fn compose(&self, raster: &Raster, shadow: &Raster, strength: f64) -> Vec<u8> {
        let mut mask: Vec<f64> =
            (0..self.width * self.height).map(|k| shadow.pixel(k % self.width, k / self.width).0).collect();
        let reach = (self.width.min(self.height) / 70).max(1);
        for _ in 0..3 {
            blur(&mut mask, self.width, self.height, reach);
        }
        let paper = channels(ink::PAPER).map(f64::from);
        let dark = channels(ink::SLATE).map(f64::from);
        let mut out = Vec::with_capacity(3 * mask.len());
        for (k, m) in mask.iter().enumerate() {
            let (x, y) = (k % self.width, k / self.width);
            let (cover, colour) = raster.pixel(x, y);
            // Colours of energy under light are more than a palette holds: a fixed pattern spreads the rounding.
            let grain = if self.energy > 0.0 && cover == 1.0 {
                GRAIN * (BAYER[y % 4][x % 4] / 16.0 - 0.47)
            } else {
                0.0
            };
            for c in 0..3 {
                let ground = paper[c] + strength * m * (dark[c] - paper[c]);
                let seen = ground + cover * (colour[c] - ground) + grain;
                out.push(seen.round().clamp(0.0, 255.0) as u8);
            }
        }
        out
    }

    /// The closed skin of a shape.
    fn skin(&self, play: &Play, shape: &Shape) -> Skin {
        let count = shape.line.len();
        // Every so many points of the meridian, and the last one.
        let stride = count.div_ceil(ROWS).max(1);
        let mut rows: Vec<usize> = (0..count).step_by(stride).collect();
        if rows.last() != Some(&(count - 1)) {
            rows.push(count - 1);
        }
        // Both sides of a joint share a place, and one will do.
        rows.dedup_by(|b, a| {
            let (p, q) = (shape.line[*a], shape.line[*b]);
            libm::hypot(p.0 - q.0, p.1 - q.1) < 1e-9
        });
        let halves = play.wall.halves(&shape.line);
        let middle: Vec<[f64; 3]> = rows
            .iter()
            .flat_map(|i| (0..AROUND).map(move |j| (*i, j)))
            .map(|(i, j)| shape.place(i, TAU * j as f64 / AROUND as f64))
            .collect();
        let normals = normals(&middle, rows.len(), play.wall.hole);
        let mut skin = Skin::default();
        let n = rows.len() * AROUND;
        // The left face, then the right one.
        for sign in [1.0, -1.0] {
            for (k, (p, normal)) in middle.iter().zip(&normals).enumerate() {
                let row = rows[k / AROUND];
                let place = [0, 1, 2].map(|c| p[c] + sign * halves[row] * normal[c]);
                let outside = (sign > 0.0) == self.domed;
                skin.points.push(self.lit(place, normal.map(|v| sign * v), self.own(shape, row, outside)));
            }
        }
        let side = |face: usize, i: usize, j: usize| face * n + i * AROUND + j % AROUND;
        for face in 0..2 {
            for i in 1..rows.len() {
                for j in 0..AROUND {
                    skin.quads.push([
                        side(face, i - 1, j),
                        side(face, i - 1, j + 1),
                        side(face, i, j + 1),
                        side(face, i, j),
                    ]);
                }
            }
        }
        // The edges of the wall: at the rim, and about a hole.
        let last = rows.len() - 1;
        let edges = if play.wall.hole { vec![last, 0] } else { vec![last] };
        for i in edges {
            let from = skin.points.len();
            let inwards = if i == 0 { 1 } else { i - 1 };
            for j in 0..AROUND {
                let (a, b) = (middle[side(0, i, j)], middle[side(0, inwards, j)]);
                let outwards = unit([0, 1, 2].map(|c| a[c] - b[c]));
                for face in 0..2 {
                    let place = skin.points[side(face, i, j)].place;
                    let own = self.own(shape, rows[i], (face == 0) == self.domed);
                    let point = self.lit(place, outwards, own);
                    skin.points.push(point);
                }
            }
            let edge = |j: usize, face: usize| from + 2 * (j % AROUND) + face;
            for j in 0..AROUND {
                skin.quads.push([edge(j, 0), edge(j + 1, 0), edge(j + 1, 1), edge(j, 1)]);
            }
        }
        skin
    }

    /// The colour of a place without light.
    fn own(&self, shape: &Shape, row: usize, outside: bool) -> [f64; 3] {
        match shape.energy.get(row) {
            Some(e) if self.energy > 0.0 => energy_colour(e / self.energy),
            _ => channels(if outside { ink::WALL_INVERTED } else { ink::WALL_NATURAL }).map(f64::from),
        }
    }

    fn lit(&self, place: [f64; 3], normal: [f64; 3], own: [f64; 3]) -> Point {
        // Heights drawn too large turn normals towards the level.
        let n = unit([normal[0], normal[1], normal[2] / self.stretch]);
        let (sin, cos) = libm::sincos(ELEVATION);
        let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        let eye = [0.0, -cos, sin];
        let facing = dot(n, eye);
        let light = AMBIENT + LAMPS.iter().map(|(l, s)| s * dot(n, *l).max(0.0)).sum::<f64>();
        // Half-way between lamp and eye: a soft gleam.
        let half = unit([0, 1, 2].map(|c| LAMPS[0].0[c] + eye[c]));
        let gleam = 0.16 * libm::pow(dot(n, half).max(0.0), 24.0);
        let edge = 1.0 - facing.abs();
        let rim = RIM_LIGHT * edge * edge * edge * edge;
        let colour = own.map(|c| {
            let lit = c * light.min(1.12);
            let lit = lit + (255.0 - lit) * gleam;
            (lit + (255.0 - lit) * rim * 0.6).min(255.0)
        });
        Point { place, colour, away: facing < 0.0 }
    }
}

/// A point of the skin.
struct Point {
    place: [f64; 3],
    colour: [f64; 3],
    /// Whether its face looks away from the eye.
    away: bool,
}

#[derive(Default)]
struct Skin {
    points: Vec<Point>,
    quads: Vec<[usize; 4]>,
}

fn unit(v: [f64; 3]) -> [f64; 3] {
    let long = (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt().max(f64::MIN_POSITIVE);
    v.map(|c| c / long)
}

/// Normals of a grid of points, rows of `AROUND`, to the left of its meridians.
fn normals(points: &[[f64; 3]], rows: usize, hole: bool) -> Vec<[f64; 3]> {
    let at = |i: usize, j: usize| points[i * AROUND + j % AROUND];
    let less = |a: [f64; 3], b: [f64; 3]| [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    let mut out = Vec::with_capacity(points.len());
    for i in 0..rows {
        for j in 0..AROUND {
            let along = less(at((i + 1).min(rows - 1), j), at(i.saturating_sub(1), j));
            let about = less(at(i, j + 1), at(i, j + AROUND - 1));
            out.push(unit([
                along[1] * about[2] - along[2] * about[1],
                along[2] * about[0] - along[0] * about[2],
                along[0] * about[1] - along[1] * about[0],
            ]));
        }
    }
    if !hole && rows > 1 {
        // At the pole all meridians meet: the mean of the ring beside it.
        let mut mean = [0.0; 3];
        for j in 0..AROUND {
            (0..3).for_each(|c| mean[c] += out[AROUND + j][c]);
        }
        out[..AROUND].fill(unit(mean));
    }
    out
}
