//! The one place that turns a part into a discretised problem.

use calotte_shell::{Grading, Mesh, Model, Profile, dimple, mirror};
use calotte_solve::Work;
use calotte_solve::minimise::{self, Minimum};
use calotte_specimen::{Meridian, Part, Rim, Wall};

/// A part whose wall is scaled so that the expected threshold lies at thickness factor 1.
#[derive(Clone, Debug)]
pub(crate) struct Scene {
    /// The part with its wall at the expected threshold.
    pub(crate) part: Part,
    /// Length unit, m.
    pub(crate) radius: f64,
    /// Thickness factor at which the real part sits.
    pub(crate) own: f64,
    /// Rim thickness at factor 1, over R.
    pub(crate) rim_thickness: f64,
    /// Share of its bending stresses that the material has lost while it was held as its mirror image: it then bends as if
    /// its natural curvature were 1 − 2·lag of the real one.
    pub(crate) lag: f64,
}

impl Scene {
    pub(crate) fn new(part: &Part) -> Self {
        Self::lagging(part, 0.0)
    }

    /// The same with a lag (see [`Scene::lag`]), 0 ≤ lag < 1.
    pub(crate) fn lagging(part: &Part, lag: f64) -> Self {
        let radius = length_unit(part);
        let length = part.meridian.length();
        let thickness = part.wall.thickness(length);
        // A start alone: relaxed parts hold in thicker walls.
        let relaxed = if lag > 0.0 { libm::pow(1.0 - lag, -1.2) } else { 1.0 };
        let sphere = part.meridian.arc_sphere().0;
        // A flat part has no threshold: its own thickness will do.
        let expected = if sphere.is_finite() {
            relaxed * expected_threshold(part.material.poisson, length, sphere)
        } else {
            thickness
        };
        let factor = expected / thickness;
        // Uniform walls of any thickness give the same bits: thresholds can then be kept.
        let wall = if part.wall.is_uniform() {
            Wall::uniform(expected).with_layers(part.wall.layers_shared())
        } else {
            part.wall.scaled(factor)
        };
        let scaled = Part { wall, ..part.clone() };
        Self { part: scaled, radius, own: 1.0 / factor, rim_thickness: expected / radius, lag }
    }

    /// The part with its own wall.
    pub(crate) fn part_as_made(&self) -> Part {
        Part { wall: self.part.wall.scaled(self.own), ..self.part.clone() }
    }

    /// A model graded for thickness factor `t`.
    pub(crate) fn model(&self, t: f64) -> (Mesh, Model) {
        let grading = Grading { thickness_factor: t, ..Grading::default() };
        let mesh = Mesh::graded(&self.part, self.radius, &grading);
        let model = self.model_on(&mesh);
        (mesh, model)
    }

    /// A mesh fine enough everywhere for a ridge of factor `t`: the saddles of thin walls carry one that wanders
    /// inwards from the rim.
    pub(crate) fn ridge_model(&self, t: f64) -> (Mesh, Model) {
        let plain = Grading::default();
        let longest = plain.longest.min(0.8 * (self.rim_thickness * t).sqrt());
        let mesh = Mesh::graded(&self.part, self.radius, &Grading { thickness_factor: t, longest, ..plain });
        let model = self.model_on(&mesh);
        (mesh, model)
    }

    /// The mesh of a model built on this scene.
    pub(crate) fn mesh_of(&self, model: &Model) -> Mesh {
        Mesh { nodes: model.nodes().iter().map(|s| s * self.radius).collect() }
    }

    pub(crate) fn model_on(&self, mesh: &Mesh) -> Model {
        let model = Model::new(&self.part, self.radius, mesh);
        if self.lag > 0.0 { model.turned(self.lag) } else { model }
    }

    /// Minimum-energy inverted state at factor `t`, from the mirror image or, where the rim's slope is
    /// held, from mirror dimples that end inside the rim. Of several, the one of least energy.
    pub(crate) fn inverted(&self, model: &Model, t: f64, work: &mut Work) -> Option<Minimum> {
        let edge = (self.rim_thickness * t).sqrt();
        let mut starts = Vec::new();
        if self.part.rim != Rim::Clamped {
            starts.push(mirror(model));
        }
        if matches!(self.part.rim, Rim::Clamped | Rim::Elastic(_)) {
            let length = self.part.meridian.length() / self.radius;
            for reach in [1.5, 2.5, 4.0] {
                if reach * edge < 0.8 * length {
                    starts.push(dimple(model, reach * edge, 0.6 * edge));
                }
            }
        }
        let m = &self.part.meridian;
        let rise = (m.at(m.length()).z - m.at(0.0).z).abs() / self.radius;
        let mut best: Option<Minimum> = None;
        for x in starts {
            // A search may wander far; a bound keeps it short.
            let set = minimise::Settings { iterations: 60, ..minimise::Settings::default() };
            // A descent whose inner end comes out on the natural side of the rim has left the inverted states behind. Giving it
            // up decides nothing: a search without result is never a verdict.
            let at = model.inner_height();
            let lowest = x[at].min(0.0) - 0.1 * rise;
            let found = minimise::minimise_while(model, x, t, &set, work, |x, _| x[at] > lowest);
            let Ok(m) = found else { continue };
            if is_inverted(&model.profile(&m.x, 4)) && best.as_ref().is_none_or(|b| m.energy < b.energy) {
                best = Some(m);
            }
        }
        best
    }
}

/// Length unit of a part's model, m: the radius of the sphere for a cap and a measured meridian, the largest radius for what
/// lines and arcs make (they may be flat).
pub(crate) fn length_unit(part: &Part) -> f64 {
    let m = &part.meridian;
    if matches!(m, Meridian::Sphere(_) | Meridian::Measured(_)) {
        return m.arc_sphere().0;
    }
    m.breaks().into_iter().chain([0.0, m.length()]).map(|s| m.at(s).r).fold(0.0, f64::max)
}

/// Threshold thickness expected of a free cap from the shallow-shell value λ*(ν), metres: only a start.
fn expected_threshold(nu: f64, arc: f64, radius: f64) -> f64 {
    let lambda = 5.087 + 1.31 * nu;
    (12.0 * (1.0 - nu * nu)).sqrt() * arc * arc / (radius * lambda * lambda)
}

/// λ = [12(1−ν²)]^¼ ℓ/√(Rh).
pub(crate) fn lambda(nu: f64, arc: f64, radius: f64, thickness: f64) -> f64 {
    (12.0 * (1.0 - nu * nu)).sqrt().sqrt() * arc / (radius * thickness).sqrt()
}

/// Whether a state lies among the inverted ones: the inner end on the other side of the rim plane, every
/// slope within π, no crossing. (Rolled-up equilibria of the same equations are not inverted states.)
pub(crate) fn is_inverted(p: &Profile) -> bool {
    let pi = std::f64::consts::PI;
    p.inner().z > p.rim().z && p.samples.iter().all(|s| s.slope.abs() < pi) && !p.crosses_itself()
}

#[cfg(test)]
mod tests {
    use super::is_inverted;
    use calotte_shell::{Profile, Sample};

    /// A meridian through points `(r, z)` with given slopes.
    fn profile(points: &[(f64, f64, f64)]) -> Profile {
        let sample = |(i, &(r, z, slope)): (usize, &(f64, f64, f64))| Sample {
            s: i as f64,
            r,
            z,
            slope,
            curvature: 0.0,
            strain: [0.0; 2],
            bending: [0.0; 2],
            thickness: 0.01,
        };
        Profile { samples: points.iter().enumerate().map(sample).collect() }
    }

    /// Common practice, no source: rolled-up equilibria of the same equations have rim slopes near −5 rad, pass
    /// through themselves, and are not inverted states.
    #[test]
    fn rolled_up_and_crossing_meridians_are_refused() {
        let mirror = profile(&[(0.0, 0.5, 0.0), (0.5, 0.4, -0.5), (0.9, 0.0, -1.0)]);
        assert!(is_inverted(&mirror));
        let natural = profile(&[(0.0, -0.5, 0.0), (0.5, -0.4, 0.5), (0.9, 0.0, 1.0)]);
        assert!(!is_inverted(&natural));
        let rolled = profile(&[(0.0, 0.5, 0.0), (0.5, 0.4, -0.5), (0.6, 0.2, -2.5), (0.5, 0.1, -5.0)]);
        assert!(!is_inverted(&rolled));
        let crossing = profile(&[
            (0.0, 0.5, 0.0),
            (0.8, 0.4, -0.2),
            (0.8, 0.2, -1.6),
            (0.4, 0.2, -3.1),
            (0.4, 0.6, 1.6),
            (0.5, 0.0, -1.4),
        ]);
        assert!(!is_inverted(&crossing));
        let through_the_axis = profile(&[(0.0, 0.5, 0.0), (-0.1, 0.4, -0.5), (0.9, 0.0, -1.0)]);
        assert!(!is_inverted(&through_the_axis));
    }
}
