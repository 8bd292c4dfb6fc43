//! Shapes with fields for pictures: the same meridian in one state after another, all on one grid of natural arclengths.
//!
//! Everything is read off states that an answer has computed already; no film costs a solve.

mod digits;
mod thin;

use calotte_shell::{Field, Grading, Mesh, Model, Sample, Spot, unwind};
use calotte_specimen::{MeridianPoint, Part};
use serde::Serialize;

use self::digits::six;
pub(crate) use self::thin::thinned;
use crate::scene::length_unit;

/// Shapes of one part on one grid. Numbers are rounded to six significant digits.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Film {
    /// What `at` counts: `shapes`, `path`, `time` or `temperature`.
    #[cfg_attr(test, ts(type = "\"shapes\" | \"path\" | \"time\" | \"temperature\""))]
    pub over: String,
    /// Natural arclengths of the grid from the pole or the inner edge; both sides of a joint have a place of their own.
    pub s_m: Vec<f64>,
    /// Wall thickness at these places.
    pub thickness_m: Vec<f64>,
    /// The shapes, in order; at most 240. Empty when the answer has no state to show.
    pub frames: Vec<Frame>,
}

/// One shape. The natural pole is at z = 0 and the natural rim above it. The rim of every shape lies where the natural one does, but
/// over time, where heights are those of the report.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Frame {
    /// `natural`, `inverted`, `saddle`, or the name of a state; empty along a path, over time and over temperature.
    pub name: String,
    /// Number of the shape, row of the path, time (s) or temperature (K).
    pub at: f64,
    /// Index into the report's rows, where it has one for this shape.
    pub row: Option<usize>,
    /// Over temperature: `near` or `far`.
    pub branch: Option<String>,
    /// Radius.
    pub r_m: Vec<f64>,
    /// Height.
    pub z_m: Vec<f64>,
    /// Slope angle (tan of it is dz/dr), continuous along the meridian.
    pub slope_rad: Vec<f64>,
    /// Largest magnitude of principal strain at either face, counted from the described shape.
    pub strain: Vec<f64>,
    /// Elastic energy per natural area. Heat's own strains are taken off; memory of the material is left aside.
    pub energy_J_per_m2: Vec<f64>,
    /// Biot strains ε_s and ε_θ of the mid-surface, bending measures κ_s and κ_θ (1/m), not rounded. Not told to the page; empty where it
    /// is not known.
    #[serde(skip)]
    pub measures: Vec<[f64; 4]>,
    /// Width of the lip, where it was computed.
    pub lip_m: Option<f64>,
}

/// Frames of a film at most.
pub(crate) const MOST: usize = 240;
/// Steps of a grid, about.
const STEPS: usize = 96;
/// Places of a grid at most, but for the joints.
const PLACES: usize = 120;

/// The part as described: one frame, `natural`, without strain or energy. Costs no mechanics.
pub fn natural(part: &Part) -> Film {
    let camera = Camera::new(part);
    let frame = camera.natural();
    camera.film("shapes", vec![frame])
}

/// Largest strain at either face of the wall.
pub(crate) fn surface_strain(s: &Sample, own: f64) -> f64 {
    let half = 0.5 * s.thickness * own;
    (0..2).map(|i| s.strain[i].abs() + half * s.bending[i].abs()).fold(0.0, f64::max)
}

/// Takes frames of one part on one grid.
pub(crate) struct Camera<'a> {
    part: &'a Part,
    /// Length unit, m.
    radius: f64,
    /// Places of the grid, arclengths in metres.
    places: Vec<Spot>,
    /// The same over R.
    spots: Vec<Spot>,
}

impl<'a> Camera<'a> {
    /// A grid as fine at edges and joints as the meshes are.
    pub(crate) fn new(part: &'a Part) -> Self {
        let unit = length_unit(part);
        // A measured profile may be flat, and its sphere without bounds.
        let radius = if unit.is_finite() && unit > 0.0 { unit } else { part.meridian.length() };
        Self::at(part, radius, grid(part, radius))
    }

    /// The grid of a sampled state.
    pub(crate) fn on_samples(part: &'a Part, radius: f64, samples: &[Sample]) -> Self {
        let spots: Vec<Spot> = samples.iter().map(|s| Spot { s: s.s, ends: false }).collect();
        let places = spots.iter().map(|p| Spot { s: p.s * radius, ..*p }).collect();
        Self { part, radius, places, spots }
    }

    fn at(part: &'a Part, radius: f64, places: Vec<Spot>) -> Self {
        let spots = places.iter().map(|p| Spot { s: p.s / radius, ..*p }).collect();
        Self { part, radius, places, spots }
    }

    /// The film of these frames.
    pub(crate) fn film(&self, over: &str, frames: Vec<Frame>) -> Film {
        let wall = &self.part.wall;
        let thickness = |p: &Spot| if p.ends { wall.thickness_before(p.s) } else { wall.thickness(p.s) };
        Film {
            over: over.to_owned(),
            s_m: self.places.iter().map(|p| six(p.s)).collect(),
            thickness_m: self.places.iter().map(|p| six(thickness(p))).collect(),
            frames,
        }
    }

    /// The described shape.
    pub(crate) fn natural(&self) -> Frame {
        let m = &self.part.meridian;
        let points: Vec<MeridianPoint> =
            self.places.iter().map(|p| if p.ends { m.before(p.s) } else { m.at(p.s) }).collect();
        let mut slopes: Vec<f64> = points.iter().map(|p| libm::atan2(p.sin, p.cos)).collect();
        unwind(slopes.iter_mut());
        Frame {
            name: "natural".to_owned(),
            r_m: points.iter().map(|p| six(p.r)).collect(),
            z_m: points.iter().map(|p| six(p.z)).collect(),
            slope_rad: slopes.into_iter().map(six).collect(),
            strain: vec![0.0; points.len()],
            energy_J_per_m2: vec![0.0; points.len()],
            measures: vec![[0.0; 4]; points.len()],
            ..Frame::default()
        }
    }

    /// A state at thickness factor `t`, its rim where the natural one lies.
    pub(crate) fn frame(&self, model: &Model, x: &[f64], t: f64) -> Frame {
        let fields = model.fields(x, t, &self.spots);
        let m = &self.part.meridian;
        let rim = fields.last().map_or(0.0, |f| f.sample.z);
        self.told(&fields, t, m.before(m.length()).z - rim * self.radius)
    }

    /// A state with heights counted from `origin` (over R).
    pub(crate) fn frame_above(&self, model: &Model, x: &[f64], t: f64, origin: f64) -> Frame {
        self.told(&model.fields(x, t, &self.spots), t, -origin * self.radius)
    }

    fn told(&self, fields: &[Field], t: f64, lift: f64) -> Frame {
        let r = self.radius;
        let energy = self.part.material.youngs * r * t;
        let column = |f: &dyn Fn(&Field) -> f64| fields.iter().map(|v| six(f(v))).collect::<Vec<f64>>();
        Frame {
            r_m: column(&|f| f.sample.r * r),
            z_m: column(&|f| f.sample.z * r + lift),
            slope_rad: column(&|f| f.sample.slope),
            strain: column(&|f| surface_strain(&f.sample, t)),
            energy_J_per_m2: column(&|f| energy * f.energy),
            measures: fields
                .iter()
                .map(|f| {
                    let s = &f.sample;
                    [s.strain[0], s.strain[1], s.bending[0] / r, s.bending[1] / r]
                })
                .collect(),
            ..Frame::default()
        }
    }
}

/// Places of a grid, m: the nodes of the mesh that suits the part, elements cut evenly, both sides of every joint.
fn grid(part: &Part, radius: f64) -> Vec<Spot> {
    let nodes = Mesh::graded(part, radius, &Grading::default()).nodes;
    let last = nodes.len() - 1;
    let tiny = 1e-9 * part.meridian.length();
    let mut joints: Vec<f64> = part.meridian.joints().iter().map(|j| j.s).collect();
    joints.extend(part.wall.steps());
    let joint = |i: usize| i > 0 && i < last && joints.iter().any(|p| (p - nodes[i]).abs() < tiny);
    let cuts = (STEPS / last).max(1);
    // A part of very many elements shows every second, third … node.
    let stride = last.div_ceil(PLACES);
    let mut places = Vec::new();
    for i in 0..last {
        if joint(i) {
            places.push(Spot { s: nodes[i], ends: true });
        } else if i % stride != 0 {
            continue;
        }
        let size = nodes[i + 1] - nodes[i];
        places.extend((0..cuts).map(|k| Spot { s: nodes[i] + size * k as f64 / cuts as f64, ends: false }));
    }
    places.push(Spot { s: nodes[last], ends: true });
    places
}

#[cfg(test)]
mod tests;
