//! Trip loads and keys: the first limit of a path under load, followed from one part to others.

use calotte_shell::{Harmonics, Loaded, Model, Push, mirror, natural};
use calotte_solve::fold::{self, Fold};
use calotte_solve::{Band, Potential, Work};
use calotte_specimen::{Load, Part};

use super::state::returns;
use super::waves::{self, Wave};
use super::{InWaves, NoReading, Reading};
use crate::poke::path::{LARGEST_N, first_loss, settings};
use crate::poke::report::{EventKind, PokeReport};
use crate::poke::setup::Setup;
use crate::poke::{load_or_pole, poke};
use crate::ripples;
use crate::subject::Subject;

/// The first limit of the part as described.
pub(super) struct FirstLimit {
    known: Option<Known>,
}

struct Known {
    setup: Setup,
    model: Model,
    limit: Limit,
    /// SI.
    load: f64,
    /// Load per parameter, over E R².
    unit: f64,
}

/// How the stable way ends.
enum Limit {
    /// The round shape has no more load to give.
    Peak(Fold),
    /// Waves round the axis are lost.
    Wave(Wave),
}

impl Limit {
    fn x(&self) -> &[f64] {
        match self {
            Self::Peak(f) => &f.x,
            Self::Wave(w) => &w.point.x,
        }
    }
}

/// Load over that of the part it is followed from: beyond, another limit was met.
const NEARBY: std::ops::Range<f64> = 0.4..2.5;
/// Steps in which another part is come to: fewer first.
const STEPS: [u32; 3] = [1, 3, 8];

impl FirstLimit {
    pub(super) fn of(part: &Part, load: &Load, work: &mut Work) -> Self {
        Self { known: known(part, load, work) }
    }

    /// Whether others are followed from it.
    pub(super) fn known(&self) -> bool {
        self.known.is_some()
    }

    /// The load at which the stable way of another part first ends, SI, and the waves in which. The gauge is the same whatever the case
    /// sets, load or displacement. `between` are the parts on the way from the known one (0) to the one that is read (1): a path that turns
    /// sharply at its limit lets Newton's method come from nearby alone.
    pub(super) fn read(
        &self,
        between: &dyn Fn(f64) -> Option<(Part, Load)>,
        anew: bool,
        work: &mut Work,
    ) -> InWaves {
        let Some((part, load)) = between(1.0) else { return Err(NoReading::NoSuchPart) };
        let near = if anew { None } else { self.known.as_ref().and_then(|k| k.walk(between, work)) };
        near.map_or_else(|| cold(&part, &load, work), Ok)
    }
}

/// A limit in the load that is a limit of the parameter: a body's height is none, and paths under it are followed anew each time.
fn known(part: &Part, load: &Load, work: &mut Work) -> Option<Known> {
    let setup = Setup::new(part, load);
    if !sound(&setup) {
        return None;
    }
    let model = setup.model(&setup.mesh);
    let (limit, si) = {
        let loaded = setup.loaded(&model, work)?;
        if matches!(loaded.push(), Push::Body(_)) {
            return None;
        }
        let first = first_loss(&setup, &loaded, work).ok().flatten()?;
        let (limit, t) = match (first.event.kind, first.event.n) {
            (EventKind::LoadPeak, _) => {
                let (v, _) = fold::softest(&loaded, &first.near.x, first.near.t, work)?;
                let f = fold::refine(&loaded, first.near.x, first.near.t, v, 0.05, work).ok()?;
                let t = f.t;
                (Limit::Peak(f), t)
            }
            (EventKind::Sideways, Some(n)) => {
                let set = settings(&setup, &loaded);
                let w = waves::meet(&loaded, &set, &first.near, n, None, work)?;
                let w = w.first(&loaded, &set, work)?;
                let t = w.t;
                (Limit::Wave(w), t)
            }
            _ => return None,
        };
        (limit, setup.load_si(loaded.unit() * t))
    };
    Some(Known { setup, model, limit, load: si, unit: f64::NAN })
}

impl Known {
    /// The load of the same limit of another part, met at once or in more steps, and the waves in which; no other wave is lost there.
    fn walk(&self, between: &dyn Fn(f64) -> Option<(Part, Load)>, work: &mut Work) -> Option<(f64, u32)> {
        for steps in STEPS {
            let mut here: Option<Self> = None;
            let all = (1..=steps).all(|i| {
                let at = if i == steps { 1.0 } else { f64::from(i) / f64::from(steps) };
                let from = here.as_ref().unwrap_or(self);
                let next = between(at).and_then(|(part, load)| from.follow(&part, &load, work));
                let found = next.is_some();
                here = next.or(here.take());
                found
            });
            if let Some(end) = here.filter(|_| all) {
                let loaded = end.setup.carried(&end.model, end.unit)?;
                return match end.limit {
                    Limit::Peak(f) => round(&loaded, &f, work)?.then_some((end.load, 0)),
                    Limit::Wave(w) => {
                        let t = w.t;
                        let first = w.first(&loaded, &settings(&end.setup, &loaded), work)?;
                        Some((end.load * first.t / t, first.n))
                    }
                };
            }
        }
        None
    }

    /// The same limit of a part nearby: from the displacements of this one by Newton's method. Certified as the end of a stable way
    /// with rising load.
    fn follow(&self, part: &Part, load: &Load, work: &mut Work) -> Option<Self> {
        let setup = Setup::new(part, load);
        if !sound(&setup) {
            return None;
        }
        let model = setup.as_made_on(&setup.mesh_like(&self.setup)?);
        // A rim that has lifted off its table has other unknowns than one that lies on it.
        let known = self.limit.x();
        if model.unknowns() != known.len() || self.model.unknowns() != known.len() {
            return None;
        }
        // In this unit the load of the known part is 1.
        let unit = self.load / setup.load_si_at(1.0, model.radius());
        let (limit, t) = {
            let loaded = setup.carried(&model, unit)?;
            let start = |m: &Model| if setup.direction > 0.0 { natural(m) } else { mirror(m) };
            let shift = start(&self.model).into_iter().zip(start(&model));
            let x: Vec<f64> = known.iter().zip(shift).map(|(x, (was, is))| x + is - was).collect();
            let (limit, t) = match &self.limit {
                Limit::Peak(_) => {
                    let (v, _) = fold::softest(&loaded, &x, 1.0, work)?;
                    let f = fold::refine(&loaded, x, 1.0, v, 0.1, work).ok()?;
                    let t = f.t;
                    ends_stable_way(&loaded, &f).then_some((Limit::Peak(f), t))?
                }
                Limit::Wave(w) => {
                    let found = w.carried(&loaded, &settings(&setup, &loaded), x, 1.0 / w.t, work)?;
                    let t = found.t;
                    (Limit::Wave(found), t)
                }
            };
            NEARBY.contains(&t).then_some((limit, t))?
        };
        Some(Self { load: t * self.load, setup, model, limit, unit })
    }
}

fn sound(setup: &Setup) -> bool {
    setup.rise > 1e-9 && setup.scene.radius.is_finite()
}

/// Whether stable round shapes end at this limit as the load rises.
fn ends_stable_way(loaded: &Loaded<'_>, f: &Fold) -> bool {
    // Along the path f − f* is −½ (bend/push) s², and the soft eigenvalue grows as bend · s.
    if f.bend / f.push <= 0.0 {
        return false;
    }
    const ASIDE: f64 = 1e-5;
    let beside: Vec<f64> = f.x.iter().zip(&f.v).map(|(x, v)| x + ASIDE * f.bend.signum() * v).collect();
    let n = f.x.len();
    let (mut g, mut h) = (vec![0.0; n], Band::new(n, loaded.half_bandwidth()));
    loaded.assemble(&beside, f.t, &mut g, &mut h);
    h.factor().is_ok_and(|l| l.negative == 0)
}

/// Whether no wave is lost at a limit; `None` when a count fails.
fn round(loaded: &Loaded<'_>, f: &Fold, work: &mut Work) -> Option<bool> {
    let last = ripples::wave_bound(loaded.model(), &f.x, loaded.thickness_factor()).0.min(LARGEST_N);
    let harmonics = Harmonics::loaded(loaded, &f.x, f.t);
    for n in 1..=last {
        if harmonics.negative(n, work)? > 0 {
            return Some(false);
        }
    }
    Some(true)
}

/// The path followed anew up to its first loss of stability.
fn cold(part: &Part, load: &Load, work: &mut Work) -> InWaves {
    let failed = |why: &str| NoReading::Failed(why.to_owned());
    let setup = Setup::new(part, load);
    if !sound(&setup) {
        return Err(NoReading::Nowhere("it has no rise: there is nothing to push through".to_owned()));
    }
    let model = setup.model(&setup.mesh);
    let loaded = setup.loaded(&model, work).ok_or_else(|| failed("the load cannot be put on this part"))?;
    match first_loss(&setup, &loaded, work) {
        Err(_) if setup.direction < 0.0 && returns(&setup.scene, work) => {
            Err(NoReading::Nowhere("it returns by itself: there is no inverted state to poke".to_owned()))
        }
        Err(why) => Err(NoReading::Failed(why)),
        Ok(Some(first)) => Ok((first.event.load_SI, first.event.n.unwrap_or(0))),
        Ok(None) => Err(NoReading::Nowhere("nothing trips it: the load rises all the way".to_owned())),
    }
}

/// A pressed key.
pub(super) struct Key {
    snap_ratio: Option<f64>,
    /// Largest strain up to the contact.
    pub(super) peak_strain: f64,
}

impl Key {
    pub(super) fn snap_ratio(&self) -> Reading {
        self.snap_ratio
            .ok_or_else(|| NoReading::Nowhere("it has neither a contact nor a valley of force".to_owned()))
    }
}

/// A part with numbers changed, as a subject of its own.
struct Changed<'a> {
    subject: &'a dyn Subject,
    part: Part,
}

impl Subject for Changed<'_> {
    fn title(&self) -> &str {
        self.subject.title()
    }
    fn shape_name(&self) -> &str {
        self.subject.shape_name()
    }
    fn part(&self) -> &Part {
        &self.part
    }
    fn givens(&self) -> Vec<crate::subject::Given> {
        Vec::new()
    }
    fn with_given(&self, _: usize, _: f64) -> Option<Part> {
        None
    }
    fn depth(&self) -> f64 {
        self.part.depth()
    }
    fn with_depth(&self, depth: f64) -> Option<Part> {
        self.part.with_depth(depth)
    }
    fn depth_rule(&self) -> &str {
        self.subject.depth_rule()
    }
    fn changed(&self, changes: &[(usize, f64)], depth: Option<f64>) -> Option<(Part, Load)> {
        self.part.changed(changes, depth)
    }
    fn motion(&self) -> calotte_specimen::Motion {
        self.subject.motion()
    }
    fn moved(&self, changes: &[(usize, f64)]) -> Option<(Part, calotte_specimen::Motion)> {
        self.part.moved(changes)
    }
    fn strain_limit(&self) -> Option<f64> {
        self.subject.strain_limit()
    }
}

/// The key that a part with given numbers changed makes under the load of the case, by its whole path.
pub(super) fn key(
    subject: &dyn Subject,
    changes: &[(usize, f64)],
    work: &mut Work,
) -> Result<Key, NoReading> {
    let (part, load) = subject.changed(changes, None).ok_or(NoReading::NoSuchPart)?;
    let changed = Changed { subject, part };
    let report: PokeReport = poke(&changed, &load_or_pole(Some(&load)));
    *work += report.evidence.work.into();
    match &report.trade.key {
        Some(k) => Ok(Key { snap_ratio: k.forces.snap_ratio, peak_strain: k.peak_strain }),
        None => {
            let told = report.warnings.iter().find(|w| w.contains("figures of a key"));
            let why = told.cloned().unwrap_or_else(|| "the load of the case presses no key".to_owned());
            Err(if report.events.iter().any(|e| e.kind == EventKind::LoadPeak) {
                NoReading::Failed(why)
            } else {
                NoReading::Nowhere(why)
            })
        }
    }
}
