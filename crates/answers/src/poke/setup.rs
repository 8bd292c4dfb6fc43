//! From a part and a load to a problem on a mesh, with the units that lead back to the bench.

use std::f64::consts::PI;

use calotte_shell::{Body, Grading, Grips, Loaded, Mesh, Model, Push, mirror, natural};
use calotte_solve::minimise::{self, minimise};
use calotte_solve::{Band, Potential, Work};
use calotte_specimen::{Load, LoadKind, Meridian, Part, Rim, Start};

use crate::explain::length;
use crate::poke::report::LoadSummary;
use crate::scene::{Scene, is_inverted};

/// Stiffness of a rigid body's face over that of the wall squeezed through its thickness.
const RIGID: f64 = 100.0;

/// A part as it is poked: the rim that holds it, the mesh, the units.
pub(crate) struct Setup {
    pub(crate) scene: Scene,
    pub(crate) load: Load,
    /// +1 for a push from the natural shape, −1 from the inverted one.
    pub(crate) direction: f64,
    pub(crate) mesh: Mesh,
    grips: Grips,
    table: bool,
    /// Length of the natural rim over R.
    rim_length: f64,
    /// Natural rise over R.
    pub(crate) rise: f64,
    pub(crate) beyond: Vec<String>,
}

impl Setup {
    pub(crate) fn new(part: &Part, load: &Load) -> Self {
        let mut beyond = Vec::new();
        let table = matches!(part.rim, Rim::Table | Rim::Free) && load.kind != LoadKind::RimPull;
        let rim = match part.rim {
            // Pressed on its support, a rim that cannot be pulled down is as good as one on a ring.
            Rim::Table => Rim::Ring,
            Rim::Free if load.kind != LoadKind::RimPull => {
                beyond.push(
                    "The case's rim is free: for the poke it rests on a frictionless table, or it would give way."
                        .to_owned(),
                );
                Rim::Ring
            }
            other => other,
        };
        let scene = Scene::new(&Part { rim, ..part.clone() });
        let m = &scene.part.meridian;
        let end = m.at(m.length());
        let rise = (end.z - m.at(0.0).z) / scene.radius;
        let grips = Grips {
            inner: matches!(load.kind, LoadKind::Pusher { bonded: true, .. }),
            rim_slides: load.kind == LoadKind::RimDisplacement,
            afloat: false,
        };
        let direction = if load.from == Start::Natural { 1.0 } else { -1.0 };
        let rim_length = 2.0 * PI * end.r / scene.radius;
        let mesh = mesh(&scene, load);
        Self { scene, load: *load, direction, mesh, grips, table, rim_length, rise, beyond }
    }

    /// Whether the rim rests on something that cannot hold it down.
    pub(crate) fn on_table(&self) -> bool {
        self.table
    }

    pub(crate) fn model(&self, mesh: &Mesh) -> Model {
        Model::gripped(&self.scene.part, self.scene.radius, mesh, self.grips)
    }

    /// How the load acts on a model.
    pub(crate) fn push(&self, model: &Model) -> Option<Push> {
        let t = self.scene.own;
        let h = self.scene.rim_thickness * t;
        let n = model.unknowns();
        let unit_vector = |at: usize, value: f64| {
            let mut w = vec![0.0; n];
            w[at] = value;
            w
        };
        let body = |flat_to: f64, round: f64| {
            Push::Body(Body {
                flat_to,
                round,
                direction: self.direction,
                stiffness: RIGID / h,
                soft: 1e-4 * h,
            })
        };
        let r = self.scene.radius;
        Some(match self.load.kind {
            LoadKind::Pole | LoadKind::Pusher { bonded: true, .. } => {
                Push::Along(unit_vector(model.inner_height(), self.direction))
            }
            LoadKind::Ring { arc } => {
                let s = arc / r;
                let nodes = model.nodes();
                let near = (0..nodes.len())
                    .min_by(|a, b| (nodes[*a] - s).abs().total_cmp(&(nodes[*b] - s).abs()))?;
                Push::Along(unit_vector(model.height_of(near)?, self.direction))
            }
            // The body meets the face of the wall, half a thickness from the mid-surface.
            LoadKind::Flat => body(f64::INFINITY, 0.0),
            LoadKind::Ball { radius } => body(0.0, radius / r + 0.5 * h),
            LoadKind::Pusher { radius, edge, .. } => body((radius - edge) / r, edge / r + 0.5 * h),
            LoadKind::Pressure { follows: true } => Push::Volume { sign: -self.direction },
            LoadKind::Pressure { follows: false } => {
                let w = model.dead_pressure_vector();
                Push::Along(w.into_iter().map(|v| self.direction * v).collect())
            }
            LoadKind::RimDisplacement | LoadKind::RimPull => {
                Push::Along(unit_vector(model.rim_radius()?, -1.0))
            }
            LoadKind::Gravity => {
                let w = model.weight_vector();
                Push::Along(w.into_iter().map(|v| self.direction * v).collect())
            }
        })
    }

    /// The part at its own wall (thickness factor 1) on the mesh of the setup bisected, for curves over numbers of the case.
    pub(crate) fn own_model(&self) -> Model {
        self.as_made_on(&self.mesh.bisected())
    }

    /// SI value of a load over `E R²` (pressure: E) at thickness factor 1 and length unit `radius`.
    pub(crate) fn load_si_at(&self, load: f64, radius: f64) -> f64 {
        let m = &self.scene.part.material;
        match self.load.kind {
            LoadKind::Pressure { .. } => load * m.youngs,
            LoadKind::RimDisplacement | LoadKind::RimPull => {
                load * m.youngs * radius * radius / (self.rim_length * self.scene.radius)
            }
            LoadKind::Gravity => load * m.youngs / (radius * m.density.unwrap_or(f64::NAN)),
            _ => load * m.youngs * radius * radius,
        }
    }

    /// The model under the load, which acts in units chosen so that the parameter is of order one.
    pub(crate) fn loaded<'m>(&self, model: &'m Model, work: &mut Work) -> Option<Loaded<'m>> {
        let t = self.scene.own;
        let push = self.push(model)?;
        let unit = if matches!(push, Push::Body(_)) { 1.0 } else { self.unit(model, &push, work)? };
        let loaded = Loaded::new(model, t, unit, push);
        Some(match self.weight() {
            None => loaded,
            Some(a) => loaded.with_dead(model.weight_vector().into_iter().map(|v| a * v).collect()),
        })
    }

    /// Arclengths that keep their meaning from part to part: both ends of the mesh, corners, steps of the wall, a loaded circle; m.
    fn marks(&self) -> Vec<f64> {
        let (part, nodes) = (&self.scene.part, &self.mesh.nodes);
        let (first, last) = (nodes[0], nodes[nodes.len() - 1]);
        let mut marks: Vec<f64> = part.meridian.joints().iter().map(|j| j.s).collect();
        marks.extend(part.wall.steps());
        if let LoadKind::Ring { arc } = self.load.kind {
            marks.push(arc);
        }
        marks.retain(|s| *s > first && *s < last);
        marks.extend([first, last]);
        marks.sort_by(f64::total_cmp);
        marks
    }

    /// A mesh for this part with the nodes of another's, each at its share of the stretch between two marks; `None` when the marks
    /// of the parts do not match.
    pub(crate) fn mesh_like(&self, other: &Self) -> Option<Mesh> {
        let (from, to) = (other.marks(), self.marks());
        if from.len() != to.len() {
            return None;
        }
        let at = |s: &f64| {
            let i = from.partition_point(|m| m < s).clamp(1, from.len() - 1);
            let share = (s - from[i - 1]) / (from[i] - from[i - 1]);
            if share >= 1.0 { to[i] } else { to[i - 1] + share * (to[i] - to[i - 1]) }
        };
        Some(Mesh { nodes: other.mesh.nodes.iter().map(at).collect() })
    }

    /// The part at its own wall (thickness factor 1).
    pub(crate) fn as_made_on(&self, mesh: &Mesh) -> Model {
        Model::gripped(&self.scene.part_as_made(), self.scene.radius, mesh, self.grips)
    }

    /// The load, `unit` per parameter, on a model of [`Setup::as_made_on`]; `None` for one that cannot act on it.
    pub(crate) fn carried<'m>(&self, model: &'m Model, unit: f64) -> Option<Loaded<'m>> {
        let loaded = Loaded::new(model, 1.0, unit, self.push(model)?);
        Some(match self.weight() {
            None => loaded,
            Some(a) => loaded.with_dead(model.weight_vector().into_iter().map(|v| a * v).collect()),
        })
    }

    /// ρ a R/E of the weight that acts all the time.
    fn weight(&self) -> Option<f64> {
        let m = &self.scene.part.material;
        let density = m.density.filter(|_| self.load.gravity != 0.0)?;
        Some(density * self.load.gravity * self.scene.radius / m.youngs)
    }

    /// The load that would move its point by a fifth of the rise, were the part linear.
    fn unit(&self, model: &Model, push: &Push, work: &mut Work) -> Option<f64> {
        let x = natural(model);
        let probe = Loaded::new(model, self.scene.own, 1.0, push.clone());
        let n = x.len();
        let (mut g, mut h, mut slope) = (vec![0.0; n], Band::new(n, model.half_bandwidth()), vec![0.0; n]);
        model.assemble(&x, self.scene.own, &mut g, &mut h);
        probe.gradient_slope(&x, 0.0, &mut slope);
        let mut moved: Vec<f64> = slope.iter().map(|v| -v).collect();
        h.factor().ok()?.solve(&mut moved);
        work.factorisations += 1;
        work.solves += 1;
        let top = moved[model.inner_height()].abs();
        let far = moved.iter().zip(model.metric()).map(|(v, m)| m * v * v).sum::<f64>().sqrt();
        let compliance = top.max(far);
        (compliance > 0.0 && compliance.is_finite()).then(|| 0.2 * self.rise.abs().max(0.05) / compliance)
    }

    /// The state poked, before the load: natural, or inverted and stable; under the dead weight.
    pub(crate) fn rest(&self, loaded: &Loaded<'_>, at: f64, work: &mut Work) -> Result<Vec<f64>, String> {
        let model = loaded.model();
        let set = minimise::Settings { iterations: 80, ..minimise::Settings::default() };
        if self.direction > 0.0 {
            let x = natural(model);
            if self.weight().is_none() {
                return Ok(x);
            }
            return minimise(loaded, x, at, &set, work).map(|m| m.x).map_err(|_| {
                "Under its own weight the part has no equilibrium near its natural shape.".to_owned()
            });
        }
        if folds(&self.scene.part.meridian) {
            return Err("The meridian goes up and down on its way to the rim: such a part has no one shape that is inside out. \
                 Poke it from its natural shape."
                .to_owned());
        }
        let start = if matches!(self.scene.part.rim, Rim::Clamped | Rim::Elastic(_)) {
            self.scene.inverted(model, self.scene.own, work).map(|m| m.x)
        } else {
            Some(mirror(model))
        };
        let found = start.and_then(|x| minimise(loaded, x, at, &set, work).ok());
        found
            .map(|m| m.x)
            .filter(|x| is_inverted(&model.profile(x, 4)))
            .ok_or_else(|| "There is no stable inverted state to poke.".to_owned())
    }

    /// The equilibrium a thousandth of the thickness past the first touch of a body; `None` for other loads, or when none is
    /// found.
    pub(crate) fn pressed(
        &self,
        loaded: &Loaded<'_>,
        rest: &[f64],
        touch: f64,
        work: &mut Work,
    ) -> Option<(Vec<f64>, f64)> {
        let Push::Body(_) = loaded.push() else { return None };
        let at = touch + 1e-3 * self.scene.rim_thickness * self.scene.own;
        let found = minimise(loaded, rest.to_vec(), at, &minimise::Settings::default(), work).ok()?;
        Some((found.x, at))
    }

    /// Parameter before the load: for a body, the height of its tip at first touch.
    pub(crate) fn first_touch(&self, loaded: &Loaded<'_>, x: &[f64]) -> f64 {
        let Push::Body(b) = loaded.push() else { return 0.0 };
        let profile = loaded.model().profile(x, 8);
        profile
            .samples
            .iter()
            .map(|p| {
                let over = p.r - b.flat_to;
                let zeta = self.direction * p.z;
                if over <= 0.0 {
                    zeta
                } else if over < b.round {
                    zeta + b.round - (b.round * b.round - over * over).sqrt()
                } else {
                    f64::INFINITY
                }
            })
            .fold(f64::INFINITY, f64::min)
            - b.soft
    }

    /// SI value of a load over `E R² t` (pressure: `E t`).
    pub(crate) fn load_si(&self, load: f64) -> f64 {
        let e = self.scene.part.material.youngs * self.scene.own;
        let r = self.scene.radius;
        match self.load.kind {
            LoadKind::Pressure { .. } => load * e,
            LoadKind::RimDisplacement | LoadKind::RimPull => load * e * r / self.rim_length,
            LoadKind::Gravity => {
                load * self.scene.part.material.youngs
                    / (r * self.scene.part.material.density.unwrap_or(f64::NAN))
            }
            _ => load * e * r * r,
        }
    }

    /// SI value of a displacement.
    pub(crate) fn displacement_si(&self, d: f64) -> f64 {
        let r = self.scene.radius;
        match self.load.kind {
            LoadKind::Pressure { .. } => d * r * r * r,
            LoadKind::Gravity => {
                d * r.powi(4) * self.scene.own * self.scene.part.material.density.unwrap_or(f64::NAN)
            }
            _ => d * r,
        }
    }

    /// J per energy in `E R³ t`.
    pub(crate) fn energy_unit(&self) -> f64 {
        self.scene.part.material.youngs * self.scene.radius.powi(3) * self.scene.own
    }

    /// Travel (over R) up to which the path is followed.
    pub(crate) fn reach(&self) -> f64 {
        self.load.reach.map_or(2.15 * self.rise, |m| m / self.scene.radius)
    }

    pub(crate) fn summary(&self) -> LoadSummary {
        let (kind, words, load_name, unit) = match self.load.kind {
            LoadKind::Pole if self.scene.part.meridian.starts_at_pole() => {
                ("pole", "force on the pole".to_owned(), "force", "N")
            }
            LoadKind::Pole => ("pole", "force on the edge of the hole".to_owned(), "force", "N"),
            LoadKind::Ring { arc } => (
                "ring",
                format!("force spread over the circle {} from the inner end", length(arc)),
                "force",
                "N",
            ),
            LoadKind::Flat => ("flat", "rigid flat plate".to_owned(), "force", "N"),
            LoadKind::Ball { radius } => {
                ("ball", format!("rigid ball of radius {}", length(radius)), "force", "N")
            }
            LoadKind::Pusher { radius, bonded, .. } => {
                let how = if bonded { "bonded to the wall" } else { "sliding on the wall" };
                ("pusher", format!("flat pusher of radius {}, {how}", length(radius)), "force", "N")
            }
            LoadKind::Pressure { follows } => {
                let how = if follows { "that follows the wall" } else { "of fixed direction" };
                ("pressure", format!("uniform pressure {how}"), "pressure", "Pa")
            }
            LoadKind::RimDisplacement => (
                "rim-displacement",
                "grip of the rim moved inwards".to_owned(),
                "pull per length of rim",
                "N/m",
            ),
            LoadKind::RimPull => {
                ("rim-pull", "rim pushed inwards all round".to_owned(), "pull per length of rim", "N/m")
            }
            LoadKind::Gravity => ("gravity", "weight".to_owned(), "acceleration", "m/s^2"),
        };
        let (displacement_name, displacement_unit) = match self.load.kind {
            LoadKind::Pressure { .. } => ("volume swept", "m^3"),
            LoadKind::RimDisplacement | LoadKind::RimPull => ("inward travel of the rim", "m"),
            LoadKind::Gravity => ("mass times mean travel", "kg m"),
            LoadKind::Ring { .. } => ("travel of the circle", "m"),
            LoadKind::Pole => ("travel of the pole", "m"),
            _ => ("travel of the pusher", "m"),
        };
        LoadSummary {
            kind: kind.to_owned(),
            words,
            from: if self.direction > 0.0 { "natural" } else { "inverted" }.to_owned(),
            control: match self.load.control {
                calotte_specimen::Control::Load => "load",
                calotte_specimen::Control::Displacement => "displacement",
            }
            .to_owned(),
            load_unit: unit.to_owned(),
            displacement_unit: displacement_unit.to_owned(),
            load_name: load_name.to_owned(),
            displacement_name: displacement_name.to_owned(),
            work_factor: match self.load.kind {
                LoadKind::RimDisplacement | LoadKind::RimPull => self.rim_length * self.scene.radius,
                _ => 1.0,
            },
            stop_m: self.load.stop,
            gravity_m_per_s2: self.load.gravity,
        }
    }
}

/// Whether a meridian through corners both rises and falls on its way to the rim.
fn folds(meridian: &Meridian) -> bool {
    let Meridian::Corners(c) = meridian else { return false };
    let mut ends: Vec<f64> = c.joints().iter().map(|j| j.s).collect();
    ends.extend([0.0, c.length()]);
    let sines = ends.iter().flat_map(|s| [c.at(*s).sin, c.before(*s).sin]);
    let (low, high) = sines.fold((0.0_f64, 0.0_f64), |(a, b), s| (a.min(s), b.max(s)));
    low < -1e-9 && high > 1e-9
}

/// Fine where a ridge may wander, at a loaded place, and under a body.
fn mesh(scene: &Scene, load: &Load) -> Mesh {
    // Through corners the wall may be far thinner somewhere than at the rim.
    let thinnest = scene.part.wall.knots().iter().map(|k| k.1).fold(f64::INFINITY, f64::min) / scene.radius;
    let composed = matches!(scene.part.meridian, Meridian::Corners(_));
    let h = if composed { thinnest } else { scene.rim_thickness } * scene.own;
    let edge = h.sqrt();
    let plain = Grading::default();
    let body =
        matches!(load.kind, LoadKind::Flat | LoadKind::Ball { .. } | LoadKind::Pusher { bonded: false, .. });
    let longest = plain.longest.min(if body { 0.25 * edge } else { 0.45 * edge });
    let pole = (load.kind == LoadKind::Pole && scene.part.meridian.starts_at_pole()).then_some(0.02);
    let grading = Grading { thickness_factor: scene.own, longest, pole, ..plain };
    let mesh = Mesh::graded(&scene.part, scene.radius, &grading);
    let from = |s: f64, keep_inside: bool| {
        // A node exactly there; neighbours closer than a third of the local element make way.
        let mut nodes: Vec<f64> = Vec::new();
        let room = 0.3 * longest * scene.radius;
        let length = mesh.nodes[mesh.nodes.len() - 1];
        if keep_inside {
            nodes.extend(mesh.nodes.iter().copied().filter(|n| *n == 0.0 || *n < s - room));
        }
        nodes.push(s);
        nodes.extend(mesh.nodes.iter().copied().filter(|n| *n > s + room && *n < length));
        nodes.push(length);
        Mesh { nodes }
    };
    match load.kind {
        LoadKind::Ring { arc } => from(arc, true),
        LoadKind::Pusher { radius, bonded: true, .. } => {
            let m = &scene.part.meridian;
            let (mut a, mut b) = (0.0, m.length());
            for _ in 0..80 {
                let mid = 0.5 * (a + b);
                if m.at(mid).r < radius { a = mid } else { b = mid }
            }
            from(0.5 * (a + b), false)
        }
        _ => mesh,
    }
}
