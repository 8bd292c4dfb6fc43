//! Invented side views of computed parts: what a set-up would show, to try it and to hold what is measured against what was drawn.

use calotte_chance::Stream;

use super::outline;
use crate::picture::{Gray, paint, stored_of};

/// What holds the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Support {
    /// Nothing that is seen.
    None,
    /// It stands on its rim on a dark table.
    Table,
    /// A dark stick from the rim's side.
    Stick,
}

/// How the picture is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Pixels on a metre.
    pub density: f64,
    /// Turn of the axis in the picture, rad.
    pub tilt: f64,
    /// Height of the camera over the rim's plane, rad.
    pub elevation: f64,
    /// Blur, px.
    pub blur: f64,
    /// Noise of a pixel, white being 1 (of light).
    pub noise: f64,
    /// How much brighter the background is on the right than on the left, as a share.
    pub gradient: f64,
    /// Specks of dust.
    pub dust: usize,
    /// What holds the part.
    pub support: Support,
    /// Whether the part is cut through its axis and the cut face is seen.
    pub section: bool,
    /// Whether part and background change places: light on dark.
    pub light_part: bool,
    /// Seed of noise and dust.
    pub seed: u64,
    /// Where the part stands, as a shift from the middle of the picture, px.
    pub shift: [f64; 2],
}

impl Default for View {
    fn default() -> Self {
        Self {
            density: 10e3,
            tilt: 0.0,
            elevation: 0.0,
            blur: 1.0,
            noise: 0.01,
            gradient: 0.1,
            dust: 0,
            support: Support::None,
            section: false,
            light_part: false,
            seed: 1,
            shift: [0.0; 2],
        }
    }
}

/// A picture as a camera stores it (sRGB, eight bits), and two marks to take the scale from.
#[derive(Clone, Debug)]
pub struct Rehearsed {
    /// The picture.
    pub picture: Gray,
    /// Two points, px.
    pub marks: [[f64; 2]; 2],
    /// Length between them, m.
    pub length_m: f64,
}

/// Light of part and background, or the other way round.
const DARK: f64 = 0.06;
const LIGHT: f64 = 0.8;

/// Paints the side view of a shape given by r, z, slope and thickness from the pole to the rim (m, rad), the pole above.
pub fn rehearse(shape: &[[f64; 4]], view: &View) -> Rehearsed {
    let faces = outline::faces(shape);
    let last = shape.len() - 1;
    // Heights count from the pole to the rim.
    let sign = if shape[last][1] < shape[0][1] { -1.0 } else { 1.0 };
    let [a, b] = faces.map(|f| f.iter().map(|p| [p[0], sign * p[1]]).collect::<Vec<[f64; 2]>>());
    let (outer, inner) = if sign > 0.0 { (b, a) } else { (a, b) };
    let body = if view.section {
        outline::section(&outer, &inner)
    } else {
        let meridian: Vec<[f64; 2]> = outer.iter().chain(inner.iter().rev()).copied().collect();
        outline::whole(&meridian, view.elevation, 400)
    };
    let bound = |c: usize, low: bool| {
        body.iter().map(|p| p[c]).fold(if low { f64::INFINITY } else { f64::NEG_INFINITY }, |m, v| {
            if low { m.min(v) } else { m.max(v) }
        })
    };
    let (low, high) = ([bound(0, true), bound(1, true)], [bound(0, false), bound(1, false)]);
    // Beside a part on a table some of the table must be seen.
    let margin = if view.support == Support::Table { 70.0 } else { 30.0 };
    let size = |c: usize| ((high[c] - low[c]) * view.density + 2.0 * margin).ceil();
    let (tilt_sin, tilt_cos) = libm::sincos(view.tilt);
    // Room for the turn.
    let lean = tilt_sin.abs() * size(0).max(size(1));
    let (w, h) = ((size(0) + lean) as usize, (size(1) + lean) as usize);
    let middle = 0.5 * (low[1] + high[1]);
    let up = [tilt_sin, tilt_cos];
    let across = [-up[1], up[0]];
    let place = |x: f64, z: f64| {
        [0, 1].map(|c| {
            0.5 * ([w, h][c] as f64 - 1.0)
                + view.shift[c]
                + view.density * (x * across[c] + (z - middle) * up[c])
        })
    };
    let (ground, own) = if view.light_part { (DARK, LIGHT) } else { (LIGHT, DARK) };
    let mut picture = Gray::filled(w, h, 0.0);
    for j in 0..h {
        for (i, v) in picture.row_mut(j).iter_mut().enumerate() {
            let (x, y) = (i as f64 / w as f64 - 0.5, j as f64 / h as f64 - 0.5);
            // Brighter to the right, and less so towards the corners.
            *v = (ground * (1.0 + view.gradient * (x - 0.6 * (x * x + y * y)))) as f32;
        }
    }
    let mut stream = Stream::of(view.seed, 1);
    let outlined: Vec<[f64; 2]> = body.iter().map(|p| place(p[0], p[1])).collect();
    let shade = |_: f64, _: f64| own;
    paint::fill(&mut picture, &outlined, &shade);
    let far = 4.0 * (w + h) as f64 / view.density;
    match view.support {
        Support::None => {}
        Support::Table => {
            let corners = [[-far, high[1]], [far, high[1]], [far, far], [-far, far]];
            paint::fill(&mut picture, &corners.map(|p| place(p[0], p[1])), &shade);
        }
        Support::Stick => {
            let width = 0.12 * high[0] * view.density;
            paint::stroke(
                &mut picture,
                &[place(0.02 * high[0], middle), place(0.02 * high[0], far)],
                width,
                &shade,
            );
        }
    }
    for _ in 0..view.dust {
        let at = [stream.unit() * w as f64, stream.unit() * h as f64];
        let radius = 0.6 + 1.6 * stream.unit();
        let speck: Vec<[f64; 2]> = (0..12)
            .map(|k| {
                let (sin, cos) = libm::sincos(f64::from(k) * std::f64::consts::PI / 6.0);
                [at[0] + radius * cos, at[1] + radius * sin]
            })
            .collect();
        let shade = if stream.unit() < 0.5 { 0.3 } else { 0.6 };
        paint::fill(&mut picture, &speck, &|_, _| shade);
    }
    paint::blur(&mut picture, view.blur);
    paint::noise(&mut picture, view.noise, 0.0, &mut Stream::of(view.seed, 2));
    picture.values_mut().iter_mut().for_each(|v| *v = stored_of(f64::from(v.clamp(0.0, 1.0))) as f32);
    paint::develop(&mut picture, 255);
    let half = 0.5 * (w as f64 - 20.0) / view.density;
    let level = 0.5 * h as f64;
    let marks = [[9.5, level], [9.5 + 2.0 * half * view.density, level]];
    Rehearsed { picture, marks, length_m: 2.0 * half }
}
