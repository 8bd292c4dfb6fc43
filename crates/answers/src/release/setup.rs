//! From a part and its hold protocol to a motion that can be marched: mesh, held shape, units.

use calotte_shell::{
    Around, Flattened, Grips, Hand, InMotion, Loaded, Mesh, Model, laid_along, mirror, natural,
};
use calotte_solve::follow::{self, Watch};
use calotte_solve::minimise::{self, minimise};
use calotte_solve::{AtRest, Moving, Relaxing, State, Work};
use calotte_specimen::{HeldShape, LetGo, MeasuredMeridian, Motion, Part, ProfilePoints, Rests, Rim};

use crate::film::surface_strain;
use crate::scene::{Scene, is_inverted};
use crate::threshold::{self, NoThreshold, Threshold};

/// Why a release cannot be computed: something is missing, or the part cannot follow the hold.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Fault {
    /// No density: nothing tells how heavy the wall is.
    NoDensity,
    /// The temperature lies outside the domain of the shift of times.
    Temperature,
    /// No state of the part was found in the held shape; says which.
    Hold(String),
    /// The rim is held so that the question makes no sense; says why.
    Rim(String),
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoDensity => f.write_str(
                "the case gives no density (`material.density`): without it there is no inertia, and no time of the snap",
            ),
            Self::Temperature => f.write_str(
                "the temperature (`surroundings.temperature`) lies outside the domain of the law that shifts the relaxation times",
            ),
            Self::Hold(why) | Self::Rim(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for Fault {}

/// Units of a motion in SI.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Units {
    pub(crate) length: f64,
    pub(crate) time: f64,
    pub(crate) energy: f64,
    pub(crate) force: f64,
}

/// A part with everything that its release needs.
#[derive(Debug)]
pub(crate) struct Setup {
    pub(crate) scene: Scene,
    pub(crate) motion: Motion,
    pub(crate) terms: Vec<Relaxing>,
    pub(crate) units: Units,
    /// `ℓ² √(ρh/D)` over the unit of time.
    pub(crate) bending_time: f64,
    /// Natural rise over R.
    pub(crate) rise: f64,
    pub(crate) threshold: Result<Threshold, NoThreshold>,
    pub(crate) table: bool,
    /// The mesh that the threshold and the inverted state suit.
    pub(crate) mesh: Mesh,
}

/// Why a part cannot be let go after this hold, as far as its description tells; `None` when it can.
pub fn no_release(part: &Part, motion: &Motion) -> Option<Fault> {
    if part.material.density.is_none() {
        return Some(Fault::NoDensity);
    }
    if let Err(fault) = on_table(part, motion, Scene::new(part).radius) {
        return Some(fault);
    }
    let out_of_domain =
        motion.memory.as_ref().is_some_and(|m| m.at(motion.surroundings.temperature).is_none());
    out_of_domain.then_some(Fault::Temperature)
}

/// Whether it lies on a table; `radius` is its unit of length.
fn on_table(part: &Part, motion: &Motion, radius: f64) -> Result<bool, Fault> {
    let table = motion.surroundings.rests == Rests::Table || part.rim == Rim::Table;
    if table && !matches!(part.rim, Rim::Free | Rim::Table) {
        return Err(Fault::Rim(
            "a part that lies on a table must have a free rim (`rim.kind = \"free\"` or \"table\")".into(),
        ));
    }
    if !(radius.is_finite() && radius > 0.0) {
        return Err(Fault::Rim("a flat part has nothing to snap back to".into()));
    }
    Ok(table)
}

impl Setup {
    /// Prepares; `work` counts the search for the threshold.
    pub(crate) fn new(part: &Part, motion: &Motion, work: &mut Work) -> Result<Self, Fault> {
        part.material.density.ok_or(Fault::NoDensity)?;
        Self::at_rest(part, motion, work)
    }

    /// The same for questions without inertia, which need no density (then any will do).
    pub(crate) fn at_rest(part: &Part, motion: &Motion, work: &mut Work) -> Result<Self, Fault> {
        let density = part.material.density.unwrap_or(1e3);
        let scene = Scene::new(part);
        let table = on_table(part, motion, scene.radius)?;
        let length = scene.radius;
        let time = length * (density / part.material.youngs).sqrt();
        let own = scene.own;
        let units = Units {
            length,
            time,
            energy: part.material.youngs * length.powi(3) * own,
            force: part.material.youngs * length.powi(2) * own,
        };
        let terms = match &motion.memory {
            Some(m) => m.at(motion.surroundings.temperature).ok_or(Fault::Temperature)?,
            None => Vec::new(),
        };
        let terms = terms.iter().map(|m| Relaxing { share: m.share, time: m.time / time }).collect();
        let m = &part.meridian;
        let nu = part.material.poisson;
        let h = part.wall.thickness(m.length());
        let arc = m.length() / length;
        let threshold = threshold::find(&scene, work);
        let mesh = match &threshold {
            Ok(t) if (0.5..2.0).contains(&(own / t.fold.t)) => scene.mesh_of(&t.coarse),
            _ => scene.model(own).0,
        };
        Ok(Self {
            motion: motion.clone(),
            terms,
            units,
            bending_time: arc * arc * (12.0 * (1.0 - nu * nu)).sqrt() * length / h,
            rise: (m.at(m.length()).z - m.at(0.0).z) / length,
            threshold,
            table,
            mesh,
            scene,
        })
    }

    /// Thickness factor of the elastic threshold; `None` when there is none.
    pub(crate) fn threshold_factor(&self) -> Option<f64> {
        self.threshold.as_ref().ok().map(|t| t.fold.t)
    }

    /// A model with its rim's height held, for states at rest.
    pub(crate) fn model(&self, mesh: &Mesh) -> Model {
        self.scene.model_on(mesh)
    }

    /// Whether an inverted equilibrium is left for ever, however far the material relaxes. A part that lies on a table
    /// also bears its weight, with what is left of its stiffness.
    pub(crate) fn holds(&self, work: &mut Work) -> bool {
        let own = self.scene.own;
        let weightless = match &self.threshold {
            Ok(t) => own < t.fold.t,
            Err(NoThreshold::NoFold { up_to }) => own <= *up_to,
            Err(NoThreshold::NoInverted) => false,
        };
        if !weightless || !self.bears() {
            return weightless;
        }
        let model = self.model(&self.mesh);
        let left: f64 = 1.0 - self.terms.iter().map(|m| m.share).sum::<f64>();
        let Some(start) = self.scene.inverted(&model, own, work) else { return false };
        let mut around = self.around();
        around.weight /= left;
        let (motion, q) = self.borne(&self.mesh, &model, &start.x, around);
        let none = vec![0.0; motion.measures()];
        matches!(rested(&motion, none, q, work), Rested::At(_))
    }

    /// Whether something bears the part's weight, so that it bends under it: a table, or a held rim.
    fn bears(&self) -> bool {
        let held = match self.scene.part.rim {
            Rim::Free | Rim::Table => self.table,
            Rim::Elastic(k) => k.axial > 0.0,
            Rim::Ring | Rim::Hinged | Rim::Clamped => true,
        };
        held && self.motion.surroundings.gravity > 0.0
    }

    /// The part where its weight is borne, with a state known on `fixed`.
    fn borne(&self, mesh: &Mesh, fixed: &Model, x: &[f64], around: Around) -> (InMotion, Vec<f64>) {
        if self.table {
            return self.placed(mesh, fixed, x, around);
        }
        (InMotion::new(fixed.clone(), self.scene.own, around), x.to_vec())
    }

    /// What acts, without a table.
    pub(crate) fn around(&self) -> Around {
        let s = &self.motion.surroundings;
        let (m, r) = (&self.scene.part.material, self.scene.radius);
        let density = m.density.unwrap_or(0.0);
        Around {
            terms: self.terms.clone(),
            damping: s.damping * self.units.time,
            weight: s.gravity * density * r / m.youngs,
            drag: s.air.filter(|_| density > 0.0).map_or(0.0, |a| 0.5 * a.drag * a.density / density),
            table: None,
            inertialess: false,
        }
    }

    /// The shape in which the part is held, on a model that holds its rim's height.
    pub(crate) fn held(&self, model: &Model, work: &mut Work) -> Result<Vec<f64>, Fault> {
        let own = self.scene.own;
        let x = match &self.motion.hold.shape {
            HeldShape::Mirror => mirror(model),
            HeldShape::Inverted => return self.inverted(model, work),
            HeldShape::Poke { travel } => return self.poked(model, travel / self.scene.radius, work),
            HeldShape::Flat => {
                let pressed = Flattened::new(model, own);
                let set = minimise::Settings { iterations: 80, ..minimise::Settings::default() };
                let found = minimise(&pressed, pressed.start(), own, &set, work);
                found
                    .map_err(|_| {
                        Fault::Hold("no flat state of this part was found between the plates".into())
                    })?
                    .x
            }
            HeldShape::Given(points) => {
                let x = self.given(model, points)?;
                let strained = largest_strain(model, &x, own);
                if strained > MOST_STRAIN {
                    return Err(Fault::Hold(format!(
                        "the given shape would strain the wall by {} %, more than a part can follow: look at its points and at \
                         its length along the arc",
                        crate::explain::digits(100.0 * strained, 2)
                    )));
                }
                x
            }
        };
        Ok(x)
    }

    /// The inverted equilibrium, or the fold's shape where there is none.
    fn inverted(&self, model: &Model, work: &mut Work) -> Result<Vec<f64>, Fault> {
        let own = self.scene.own;
        let stays = self.threshold_factor().is_none_or(|t| own < t);
        if stays && let Some(m) = self.scene.inverted(model, own, work) {
            return Ok(m.x);
        }
        match &self.threshold {
            Ok(t) if own >= t.fold.t => Ok(t.coarse.transfer(&t.coarse_fold.x, model)),
            _ => Err(Fault::Hold(
                "the part has no inverted equilibrium to be held at, and no fold of one was found: choose \
                 `hold.shape = \"mirror\"` or another hold"
                    .into(),
            )),
        }
    }

    /// The state with the pole pushed by `travel` over R, on the path of that push.
    fn poked(&self, model: &Model, travel: f64, work: &mut Work) -> Result<Vec<f64>, Fault> {
        let t = self.scene.own;
        let start = natural(model);
        let at = model.inner_height();
        let from = start[at];
        let h = self.scene.rim_thickness * t;
        let unit = h * h * h.sqrt() * self.rise.abs().sqrt() / t;
        let pushed = Loaded::on_inner_end(model, t, unit);
        let set = follow::Settings {
            step: 0.01,
            longest: 0.08,
            weight: 0.05,
            points: 1500,
            ..follow::Settings::default()
        };
        let cannot = || {
            Fault::Hold(
                "the path of the push on the pole could not be followed to `hold.travel`: choose another travel or hold".into(),
            )
        };
        let begun = follow::start(&pushed, start, 0.0, true, set.weight, work).ok_or_else(cannot)?;
        let mut reached = None;
        follow::follow(&pushed, begun, &set, work, |here, next| {
            if next.x[at] - from >= travel {
                reached = Some([here.clone(), next.clone()]);
                return Watch::Stop;
            }
            Watch::Go
        });
        let [a, b] = reached.ok_or_else(cannot)?;
        let found = follow::locate(&pushed, &a, &b, &set, 1e-12, work, |p, _| Some(p.x[at] - from - travel));
        found.map(|l| l.point.x).ok_or_else(cannot)
    }

    /// The wall laid along a given curve.
    fn given(&self, model: &Model, points: &[[f64; 2]]) -> Result<Vec<f64>, Fault> {
        // The fit wants a curve that rises from the pole to the rim; an inverted one is turned over and back.
        let ends = points.first().zip(points.last());
        let sign = if ends.is_some_and(|(a, b)| b[1] < a[1]) { -1.0 } else { 1.0 };
        let length: f64 = points.windows(2).map(|w| libm::hypot(w[1][0] - w[0][0], w[1][1] - w[0][1])).sum();
        let profile = ProfilePoints {
            points: points.iter().map(|p| [p[0], sign * p[1]]).collect(),
            position_sd: 1e-4 * length,
            hole: !self.scene.part.meridian.starts_at_pole(),
        };
        let curve = MeasuredMeridian::fit(&profile).map_err(|e| {
            Fault::Hold(format!("no smooth curve follows the points of the given shape: {e}"))
        })?;
        let (r, whole) = (self.scene.radius, curve.length());
        if curve.report().rms_m > FOLLOWS * length || (whole / length - 1.0).abs() > 10.0 * FOLLOWS {
            return Err(Fault::Hold(
                "no smooth curve follows the points of the given shape: give them in order from the pole to the rim, without \
                 corners"
                    .into(),
            ));
        }
        Ok(laid_along(model, whole / r, |share| {
            let p = curve.at(share * whole);
            [p.r / r, sign * p.z / r, p.cos, sign * p.sin, sign * p.curvature * r]
        }))
    }

    /// The motion with its state at the end of a hold of `hold` seconds. On a table, the held part bears its weight.
    pub(crate) fn let_go(&self, mesh: &Mesh, hold: f64, work: &mut Work) -> Result<(InMotion, State), Fault> {
        let fixed = self.model(mesh);
        let x = self.held(&fixed, work)?;
        let (mut motion, mut q) = self.placed(mesh, &fixed, &x, self.around());
        if self.table && self.motion.hold.shape == HeldShape::Inverted {
            // At its own equilibrium it bears its weight, where it can.
            let none = vec![0.0; motion.measures()];
            if let Rested::At(x) = rested(&motion, none, q.clone(), work) {
                q = x;
            }
        }
        let state = State::at_rest(&motion, q).held(&motion, hold / self.units.time);
        if let LetGo::Ramp(ramp) = self.motion.hold.let_go {
            let xi = state.memory(&motion);
            let force = motion
                .held_force(&state.q, &xi)
                .ok_or_else(|| Fault::Hold("the wall folds over itself in the held shape".into()))?;
            motion = motion.with_hand(Hand { force, span: [0.0, ramp / self.units.time] }, &state.q);
        }
        Ok((motion, state))
    }

    /// A motion afloat along its axis, with a state known on `fixed`. A table bears its weight in that shape: a part laid
    /// into it any deeper would be thrown up.
    fn placed(&self, mesh: &Mesh, fixed: &Model, x: &[f64], mut around: Around) -> (InMotion, Vec<f64>) {
        let grips = Grips { afloat: true, ..Grips::default() };
        let free = Model::gripped(&self.scene.part, self.scene.radius, mesh, grips);
        let q = free.unknowns_of(&fixed.nodal(x));
        around.table = self.table.then_some(0.0);
        let mut motion = InMotion::new(free, self.scene.own, around);
        if let Some(at) = motion.resting_height(&q) {
            motion = motion.with_table_at(at);
        }
        (motion, q)
    }

    /// The motion without inertia and the equilibrium at the end of the hold, with its memory, where there is an
    /// inverted one. A part that lies on a table with its weight touches it; any other keeps the height of its rim.
    pub(crate) fn resting(&self, mesh: &Mesh, hold: f64, work: &mut Work) -> Result<AfterHold, Fault> {
        let fixed = self.model(mesh);
        let x = self.held(&fixed, work)?;
        // An elastic part beyond its threshold has none: the fold itself is the proof.
        if self.terms.is_empty()
            && self.threshold_factor().is_some_and(|t| self.scene.own >= t)
            && !self.bears()
        {
            return Ok(AfterHold::Gone);
        }
        let mut around = self.around();
        around.inertialess = true;
        around.drag = 0.0;
        around.damping = 0.0;
        let (motion, q) = if self.bears() {
            self.borne(mesh, &fixed, &x, around)
        } else {
            // Nothing bears it: it falls as a whole.
            around.weight = 0.0;
            (InMotion::new(fixed, self.scene.own, around), x)
        };
        let mut state = State::at_rest(&motion, q).held(&motion, hold / self.units.time);
        let xi = state.memory(&motion);
        Ok(match rested(&motion, xi, state.q.clone(), work) {
            Rested::At(q) => {
                state.q = q;
                AfterHold::Rests(Box::new((motion, state)))
            }
            Rested::Gone => AfterHold::Gone,
            Rested::Unknown => AfterHold::Unknown,
        })
    }
}

/// How closely a smooth curve must follow the points of a given shape, over their length; ten times that for the length
/// itself. Common practice, no source.
const FOLLOWS: f64 = 0.01;

/// Surface strain beyond which a given shape is none that a part could be held in. Common practice, no source.
const MOST_STRAIN: f64 = 1.0;

/// Largest surface strain of a state.
pub(crate) fn largest_strain(model: &Model, x: &[f64], own: f64) -> f64 {
    model.profile(x, 4).samples.iter().map(|s| surface_strain(s, own)).fold(0.0, f64::max)
}

/// What is found after a hold.
pub(crate) enum AfterHold {
    /// An inverted equilibrium: the motion without inertia, and its state.
    Rests(Box<(InMotion, State)>),
    /// There is none: the energy falls all the way to another state.
    Gone,
    /// The search failed; nothing is known.
    Unknown,
}

/// Outcome of [`rested`].
enum Rested {
    At(Vec<f64>),
    Gone,
    Unknown,
}

/// The inverted equilibrium with the memory `xi`, from a state near it. A minimum that is not inverted says that there is
/// none; a search that ends without a minimum says nothing.
fn rested(motion: &InMotion, xi: Vec<f64>, from: Vec<f64>, work: &mut Work) -> Rested {
    let set = minimise::Settings { iterations: 400, radius: 0.1, ..minimise::Settings::default() };
    match minimise(&AtRest::new(motion, xi), from, 0.0, &set, work) {
        Ok(m) if is_inverted(&motion.model().profile(&m.x, 4)) => Rested::At(m.x),
        Ok(_) => Rested::Gone,
        Err(_) => Rested::Unknown,
    }
}
