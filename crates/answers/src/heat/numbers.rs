//! What moves trip and reset by how much, and their spread over the tolerances.

use calotte_shell::{Heated, natural};
use calotte_solve::fold::Fold;
use calotte_solve::potential::{Potential, dot};
use calotte_solve::{Band, Work};
use calotte_specimen::{Heat, Part};

use super::path::{Kind, Place, like, refine};
use super::report::{Move, Tolerance};
use super::setup::{Setup, heated};
use crate::subject::Subject;

/// What a change of one number is called when the case file has no single key for it.
const ALL_THICKNESSES: &str = "thickness";
const DEPTH: &str = "depth";

/// The rim of `part` as the setup holds it.
pub(crate) fn held(setup: &Setup, part: &Part) -> Part {
    Part { rim: setup.part.rim, ..part.clone() }
}

/// The problem for another part and device, in the unknowns of `base`.
pub(crate) fn other(setup: &Setup, base: &Heated, part: &Part, heat: &Heat) -> Heated {
    let part = held(setup, part);
    let model = like(base.model(), &part);
    heated(model, &part, heat, setup.layers.formed_at, setup.unit, setup.radius)
}

/// Gradient at a state along `v` for another part, in that part's energy unit.
fn pull(problem: &Heated, place: &Place) -> f64 {
    let n = problem.unknowns();
    let (mut g, mut h) = (vec![0.0; n], Band::new(n, problem.half_bandwidth()));
    problem.assemble(&place.x, place.f, &mut g, &mut h);
    dot(&place.v, &g)
}

/// Kelvins per unit of a number, at a limit: `−(vᵀ ∂g/∂p)/(vᵀ ∂g/∂T)`; the state's own change drops out because `vᵀH = 0`.
fn slope(
    base: &Heated,
    place: &Place,
    ahead: Option<&Heated>,
    behind: Option<&Heated>,
    step: f64,
) -> Option<f64> {
    if place.kind != Kind::Limit {
        return None;
    }
    let here = || pull(base, place);
    let rise = match (ahead, behind) {
        (Some(a), Some(b)) => (pull(a, place) - pull(b, place)) / (2.0 * step),
        (Some(a), None) => (pull(a, place) - here()) / step,
        (None, Some(b)) => (here() - pull(b, place)) / step,
        (None, None) => return None,
    };
    let mut push = vec![0.0; place.x.len()];
    base.gradient_slope(&place.x, place.f, &mut push);
    Some(-rise / dot(&place.v, &push) * base.unit())
}

/// Every number of the case, the depth and all thicknesses together.
pub(crate) fn moves(
    subject: &dyn Subject,
    setup: &Setup,
    base: &Heated,
    trip: Option<&Place>,
    reset: Option<&Place>,
) -> (Vec<Move>, Option<Tolerance>) {
    let mut out = Vec::new();
    let mut squares = [0.0; 2];
    let mut any = false;
    let mut row = |name: &str, value: f64, half: Option<f64>, at: &dyn Fn(f64) -> Option<(Part, Heat)>| {
        let step = 1e-5 * if value == 0.0 { 1.0 } else { value.abs() };
        let made = |v: f64| at(v).map(|(p, h)| other(setup, base, &p, &h));
        let (ahead, behind) = (made(value + step), made(value - step));
        let per =
            [trip, reset].map(|p| p.and_then(|p| slope(base, p, ahead.as_ref(), behind.as_ref(), step)));
        // What rounding leaves of a number that does nothing.
        let nothing = |s: f64| (s * value.abs().max(1e-300)).abs() < 1e-9 && s.abs() < 1e-9;
        if per.iter().all(|p| p.is_none_or(nothing)) {
            return;
        }
        let half = half.filter(|h| *h > 0.0);
        let widths = per.map(|p| Some((p? * half?).abs()));
        any |= half.is_some();
        for (sum, w) in squares.iter_mut().zip(widths) {
            *sum += w.map_or(0.0, |w| w * w);
        }
        let percent = per.map(|p| p.filter(|_| value != 0.0).map(|s| 0.01 * s * value));
        out.push(Move {
            input: name.to_owned(),
            value,
            trip_K_per_SI: per[0],
            reset_K_per_SI: per[1],
            trip_K_per_percent: percent[0],
            reset_K_per_percent: percent[1],
            trip_half_width_K: widths[0],
            reset_half_width_K: widths[1],
        });
    };
    for (i, g) in subject.givens().iter().enumerate() {
        row(&g.key, g.value, g.half_width, &|v| subject.heated(&[(i, v)]));
    }
    let part = subject.part();
    row(DEPTH, subject.depth(), None, &|d| Some((subject.with_depth(d)?, setup.heat)));
    let h = part.wall.thickness(part.meridian.length());
    row(ALL_THICKNESSES, h, None, &|v| {
        Some((Part { wall: part.wall.scaled(v / h), ..part.clone() }, setup.heat))
    });
    let known = |p: Option<&Place>, s: f64| p.filter(|p| p.kind == Kind::Limit).map(|_| s.sqrt());
    let tolerance = any.then_some(Tolerance {
        trip_half_width_K: known(trip, squares[0]),
        reset_half_width_K: known(reset, squares[1]),
    });
    (out, tolerance)
}

/// A limit found again.
pub(crate) struct Again {
    pub(crate) problem: Heated,
    pub(crate) fold: Fold,
}

impl Again {
    /// Its temperature, K.
    pub(crate) fn temperature(&self) -> f64 {
        self.problem.temperature(self.fold.t)
    }

    /// Whether a stretch of stable round shapes ends here when the temperature rises (or falls). Newton's method may come to another
    /// limit, between unstable shapes.
    pub(crate) fn ends(&self, rising: bool) -> bool {
        let Fold { x, t, v, bend, push, .. } = &self.fold;
        // Along the branch T − T* is −½ (bend/push) s², and the soft eigenvalue grows as bend · s.
        if (bend / push > 0.0) != rising {
            return false;
        }
        const ASIDE: f64 = 1e-5;
        let beside: Vec<f64> = x.iter().zip(v).map(|(x, v)| x + ASIDE * bend.signum() * v).collect();
        let n = x.len();
        let (mut g, mut h) = (vec![0.0; n], Band::new(n, self.problem.half_bandwidth()));
        self.problem.assemble(&beside, *t, &mut g, &mut h);
        h.factor().is_ok_and(|f| f.negative == 0)
    }
}

/// Trip or reset of another part and device, from that of the base. `None` when Newton does not get there.
pub(crate) fn again(
    setup: &Setup,
    base: &Heated,
    place: &Place,
    part: &Part,
    heat: &Heat,
    work: &mut Work,
) -> Option<Again> {
    if place.kind != Kind::Limit {
        return None;
    }
    let problem = other(setup, base, part, heat);
    // The same displacements from the other part's natural shape: the same places would strain its wall by as much as the sizes differ.
    let (own, its) = (natural(base.model()), natural(problem.model()));
    let x: Vec<f64> = place.x.iter().zip(own.iter().zip(&its)).map(|(x, (a, b))| x + b - a).collect();
    refine(&problem, &x, place.f, work).map(|fold| Again { problem, fold })
}
