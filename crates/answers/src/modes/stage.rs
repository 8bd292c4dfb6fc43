//! The state that vibrates, on two meshes.

use calotte_shell::{Grading, Grips, Harmonics, Mesh, Model, natural};
use calotte_solve::Work;
use calotte_solve::minimise::{self, minimise};
use calotte_specimen::{Layers, Meridian, Part, Rim};

use crate::modes::State;
use crate::ripples;
use crate::scene::Scene;
use crate::state;

/// A state on one mesh.
#[derive(Clone)]
pub(crate) struct Stage {
    pub(crate) model: Model,
    pub(crate) x: Vec<f64>,
    /// Thickness factor.
    pub(crate) t: f64,
}

impl Stage {
    pub(crate) fn harmonics(&self) -> Harmonics<'_> {
        Harmonics::new(&self.model, &self.x, self.t)
    }

    /// The mesh; a joint has two nodes at one place in the model, one here.
    fn mesh(&self) -> Mesh {
        let mut nodes: Vec<f64> = self.model.nodes().iter().map(|s| s * self.model.radius()).collect();
        nodes.dedup();
        Mesh { nodes }
    }

    /// The state as made on a mesh with every element halved; `None` where heat leaves none.
    pub(crate) fn bisected(&self, work: &mut Work) -> Option<Self> {
        let model = Model::new(self.model.part(), self.model.radius(), &self.mesh().bisected());
        let x = settled(&model, self.model.transfer(&self.x, &model), work)?;
        Some(Self { model, x, t: self.t })
    }

    /// The same state of the part without supports.
    pub(crate) fn bare(&self) -> Self {
        let part = Part { rim: Rim::Free, ..self.model.part().clone() };
        let grips = Grips { afloat: true, ..Grips::default() };
        let model = Model::gripped(&part, self.model.radius(), &self.mesh(), grips);
        let x = model.unknowns_of(&self.model.nodal(&self.x));
        Self { model, x, t: self.t }
    }

    /// Thinnest wall over R.
    fn thinnest(&self) -> f64 {
        let part = self.model.part();
        let length = part.meridian.length();
        let steps = 200;
        (0..=steps)
            .map(|i| part.wall.thickness(length * f64::from(i) / f64::from(steps)))
            .fold(f64::INFINITY, f64::min)
            * self.t
            / self.model.radius()
    }

    /// The wave number beyond which no mode lies below `sigma` (ω² over E/ρR²), by an estimate: in bending a mode of n
    /// waves costs at least `D n⁴/r⁴` per squared deflection, less `P n²/r²` from what compression and moments feed (see `ripples`),
    /// in its plane at least `G h n²/r²`, and its inertia is ρh.
    pub(crate) fn wave_bound(&self, sigma: f64, stressed: bool) -> f64 {
        let nu = self.model.part().material.poisson;
        let widest = self.model.profile(&self.x, 4).samples.iter().map(|s| s.r).fold(0.0, f64::max);
        let sigma = sigma.max(0.0);
        let h = self.thinnest();
        let bending = widest.powi(4) * sigma * 12.0 * (1.0 - nu * nu) / (h * h);
        let fed = if stressed { ripples::wave_bound(&self.model, &self.x, self.t).1.powi(2) } else { 0.0 };
        let by_bending = (0.5 * (fed + (fed * fed + 4.0 * bending).sqrt())).sqrt();
        let in_plane = widest * (2.0 * (1.0 + nu) * sigma).sqrt();
        by_bending.max(in_plane)
    }
}

/// The length unit: the sphere's radius, else the largest radius of the meridian.
pub(crate) fn length_unit(part: &Part) -> f64 {
    if let Meridian::Sphere(c) = part.meridian {
        return c.radius;
    }
    largest_radius(part)
}

/// The largest radius of the meridian, m.
pub(crate) fn largest_radius(part: &Part) -> f64 {
    let length = part.meridian.length();
    let steps = 400;
    (0..=steps).map(|i| part.meridian.at(length * f64::from(i) / f64::from(steps)).r).fold(0.0, f64::max)
}

/// The shape as made is at rest, unless layers that heat has stretched unlike each other move it: then the minimum near `start`.
fn settled(model: &Model, start: Vec<f64>, work: &mut Work) -> Option<Vec<f64>> {
    let at_rest =
        |l: &Layers| l.temperature == l.formed_at && l.face_difference == 0.0 && l.extra_curvature == 0.0;
    if model.part().wall.layers().is_none_or(at_rest) {
        return Some(natural(model));
    }
    minimise(model, start, 1.0, &minimise::Settings::default(), work).ok().map(|m| m.x)
}

/// A model of the part itself about its shape as made; `longest` is the longest element over R. `None` where heat leaves none.
pub(crate) fn natural_stage(part: &Part, longest: f64, work: &mut Work) -> Option<Stage> {
    let radius = length_unit(part);
    let mesh = Mesh::graded(part, radius, &Grading { longest, ..Grading::default() });
    let model = Model::new(part, radius, &mesh);
    let x = settled(&model, natural(&model), work)?;
    Some(Stage { model, x, t: 1.0 })
}

/// Coarser and finer.
pub(crate) struct Stages {
    pub(crate) coarse: Stage,
    pub(crate) fine: Stage,
}

impl Stages {
    /// The state asked for, or why there is none.
    pub(crate) fn new(part: &Part, which: State, work: &mut Work) -> Result<Self, String> {
        match which {
            State::Natural => {
                let none =
                    || "At its temperature no stable shape was found near the one described.".to_owned();
                let coarse = natural_stage(part, Grading::default().longest, work).ok_or_else(none)?;
                let fine = coarse.bisected(work).ok_or_else(none)?;
                Ok(Self { coarse, fine })
            }
            State::Inverted => inverted(part, work),
        }
    }

    /// Both meshes halved once more; only the natural state is known on every mesh.
    pub(crate) fn finer(&self, work: &mut Work) -> Option<Self> {
        Some(Self { coarse: self.fine.clone(), fine: self.fine.bisected(work)? })
    }
}

fn inverted(part: &Part, work: &mut Work) -> Result<Stages, String> {
    let scene = Scene::new(part);
    let rise = part.meridian.at(part.meridian.length()).z - part.meridian.at(0.0).z;
    if !(scene.radius.is_finite() && rise > 0.0) {
        return Err("The part has no rise: it has no inverted state to vibrate about.".to_owned());
    }
    let Some(found) = state::solve(&scene, None, work) else {
        return Err(
            "No stable inverted state was found to vibrate about; the verdict says whether there is one."
                .to_owned(),
        );
    };
    let seen = ripples::count(&found, scene.own, work);
    if !seen.certified {
        return Err("Counts of ripples at the inverted state broke down: whether it is stable is not known."
            .to_owned());
    }
    if !seen.rows.is_empty() {
        let n: Vec<String> = seen.rows.iter().map(|r| r.n.to_string()).collect();
        return Err(format!(
            "The inverted state is unstable sideways (n = {}): there is no stable one to vibrate about.",
            n.join(", ")
        ));
    }
    let (model, state) = found.coarse;
    let coarse = Stage { model, x: state.x, t: scene.own };
    let fine = Stage { model: found.model, x: found.state.x, t: scene.own };
    Ok(Stages { coarse, fine })
}
