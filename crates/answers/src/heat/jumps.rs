//! From a branch with its places to jumps: where the part trips, where it lands, where it comes back.

use calotte_shell::Heated;
use calotte_solve::minimise::{self, minimise};
use calotte_solve::{Potential, Work, follow};

use super::path::{Branch, Kind, Place};
use super::report::{Cycle, Jump};
use super::setup::Setup;

/// A state on a branch.
#[derive(Clone, Debug)]
pub(crate) struct Landing {
    pub(crate) x: Vec<f64>,
    pub(crate) f: f64,
    /// Whether it is stable against sideways waves too.
    pub(crate) round: bool,
}

/// A jump with its states.
pub(crate) struct Found {
    /// Index of its place.
    pub(crate) place: usize,
    pub(crate) lands: Option<Landing>,
    pub(crate) told: Jump,
}

/// The state at parameter `f` on the rows of `range` (each with the next one) that is stable as a round shape, nearest to its
/// beginning.
pub(crate) fn stable_at(
    heated: &Heated,
    b: &Branch,
    f: f64,
    range: impl Iterator<Item = usize>,
    work: &mut Work,
) -> Option<Landing> {
    for i in range {
        let (Some(p), Some(q)) = (b.points.get(i), b.points.get(i + 1)) else { continue };
        if (p.t - f) * (q.t - f) > 0.0 || p.t == q.t || p.negative + q.negative > 0 {
            continue;
        }
        let (near, row) = if (p.t - f).abs() < (q.t - f).abs() { (p, i) } else { (q, i + 1) };
        if let Some((x, _, 0)) = follow::shift_to(heated, &near.x, near.t, f, 15, work) {
            return Some(Landing { x, f, round: b.lost[row].is_empty() });
        }
    }
    None
}

/// The first loss of stability on one way from the start of a branch.
pub(crate) fn first(b: &Branch, upwards: bool) -> Option<usize> {
    if upwards {
        b.places.iter().position(|p| p.after >= b.rest && p.loses[0])
    } else {
        b.places.iter().rposition(|p| p.after < b.rest && p.loses[1])
    }
}

/// The limit of temperature on one way from the start.
pub(crate) fn limit(b: &Branch, upwards: bool) -> Option<&Place> {
    let on_way = |p: &&Place| p.kind == Kind::Limit && (p.after >= b.rest) == upwards;
    if upwards { b.places.iter().find(on_way) } else { b.places.iter().rfind(on_way) }
}

/// Where the part comes to rest when it leaves a limit: downhill from it along its null vector, at the temperature of the limit.
pub(crate) fn fall(setup: &Setup, heated: &Heated, p: &Place, work: &mut Work) -> Option<Vec<f64>> {
    let start = heated.energy(&p.x, p.f);
    let set = minimise::Settings::default();
    let rise = Setup::natural_height(&setup.part, setup.radius).abs().max(0.02);
    for size in [0.02, 0.05, 0.1, 0.2] {
        for sign in [1.0, -1.0] {
            let x: Vec<f64> = p.x.iter().zip(&p.v).map(|(x, v)| x + sign * size * rise * v).collect();
            if heated.energy(&x, p.f) >= start {
                continue;
            }
            if let Ok(m) = minimise(heated, x, p.f, &set, work)
                && m.energy < start
                && !heated.model().profile(&m.x, 2).crosses_itself()
            {
                return Some(m.x);
            }
        }
    }
    None
}

/// The jump at place `at` of `from`, towards the branch `to`.
pub(crate) fn found(
    setup: &Setup,
    heated: &Heated,
    finer: &[Heated],
    from: &Branch,
    at: usize,
    to: Option<&Branch>,
    heating: bool,
    work: &mut Work,
) -> Found {
    let p = &from.places[at];
    let lands = to.and_then(|b| {
        let here = b.rest;
        // From where the branch was started outwards, both ways.
        let rows = (0..b.points.len()).flat_map(|k| [here.checked_sub(k + 1), Some(here + k)]).flatten();
        stable_at(heated, b, p.f, rows, work)
    });
    let model = heated.model();
    let before = p
        .fine
        .as_ref()
        .map_or_else(|| setup.travel(model, &p.x), |f| setup.travel(finer[f.level].model(), &f.x));
    let after = lands.as_ref().map(|l| setup.travel(model, &l.x));
    let released =
        lands.as_ref().map(|l| (heated.energy(&p.x, p.f) - heated.energy(&l.x, p.f)) * setup.energy_unit());
    let n = if let Kind::Sideways(n) = p.kind { n } else { 0 };
    let told = Jump {
        temperature_K: heated.temperature(p.best()),
        on: if heating { "heating" } else { "cooling" }.to_owned(),
        route: if n == 0 { "axisymmetric" } else { "sideways" }.to_owned(),
        n,
        travel_before_m: before,
        travel_after_m: after,
        movement_m: after.map(|a| a - before),
        released_J: released,
        pin_force_before_N: heated.pin_force(&p.x) * setup.force_unit(),
        pin_force_after_N: lands.as_ref().map(|l| heated.pin_force(&l.x) * setup.force_unit()),
        mesh_difference_K: p.fine.as_ref().map(|f| f.apart * heated.unit()),
        last_step: (p.kind == Kind::Limit).then_some(p.last_step),
        lands_round: lands.as_ref().map(|l| l.round),
        round_limit_K: limit(from, p.after >= from.rest).map(|l| heated.temperature(l.best())),
    };
    Found { place: at, lands, told }
}

/// Energy over the cycle trip, landing, reset, landing.
pub(crate) fn cycle(
    setup: &Setup,
    heated: &Heated,
    [near, far]: [&Branch; 2],
    trip: &Found,
    reset: &Found,
    work: &mut Work,
) -> Option<Cycle> {
    let (out, home) = (trip.lands.as_ref()?, reset.lands.as_ref()?);
    let one = along(heated, home, &near.places[trip.place], near, work)?;
    let other = along(heated, out, &far.places[reset.place], far, work)?;
    let unit = setup.energy_unit();
    let lost = trip.told.released_J? + reset.told.released_J?;
    let put_in = (one + other) * unit;
    Some(Cycle { lost_J: lost, put_in_J: put_in, gap: (lost - put_in).abs() / lost.abs().max(put_in.abs()) })
}

/// ∫ ∂Π/∂T dT along the stable branch from a landing to a limit, in E R³ t. The branch ends as a square root there, so the square of
/// what is left runs evenly: T = T_end − (T_end − T_start)(1 − u)².
fn along(heated: &Heated, from: &Landing, to: &Place, b: &Branch, work: &mut Work) -> Option<f64> {
    let (start, end) = (from.f, to.f);
    let rule = calotte_solve::quadrature::gauss_legendre(12);
    let pieces = 6;
    let mut sum = 0.0;
    // From the landing on, each state starts the search of the next.
    let (mut x, mut f) = (from.x.clone(), from.f);
    for k in 0..pieces {
        for &(u, w) in &rule {
            let u = (f64::from(k) + u) / f64::from(pieces);
            let next = end - (end - start) * (1.0 - u) * (1.0 - u);
            let slope = 2.0 * (end - start) * (1.0 - u) / f64::from(pieces);
            x = walk(heated, &x, f, next, work).or_else(|| near_limit(heated, to, b, next, work))?;
            f = next;
            sum += w * slope * heated.unit() * heated.energy_slope(&x, f);
        }
    }
    Some(sum)
}

/// The stable state at parameter `to` from that at `f`, in up to eight parts.
fn walk(heated: &Heated, x: &[f64], f: f64, to: f64, work: &mut Work) -> Option<Vec<f64>> {
    for parts in [1, 2, 4, 8] {
        let (mut x, mut here) = (x.to_vec(), f);
        let all = (1..=parts).all(|i| {
            let next = f + (to - f) * f64::from(i) / f64::from(parts);
            match follow::shift_to(heated, &x, here, next, 12, work) {
                Some((y, _, 0)) => {
                    (x, here) = (y, next);
                    true
                }
                _ => false,
            }
        });
        if all {
            return Some(x);
        }
    }
    None
}

/// The stable state beside a limit: between it and the last stable point as a square root, then Newton.
fn near_limit(heated: &Heated, to: &Place, b: &Branch, f: f64, work: &mut Work) -> Option<Vec<f64>> {
    let (p, q) = (&b.points[to.after], b.points.get(to.after + 1)?);
    let side = if p.negative == 0 { p } else { q };
    let share = ((f - to.f) / (side.t - to.f)).max(0.0).sqrt();
    let x: Vec<f64> = to.x.iter().zip(&side.x).map(|(a, b)| a + share * (b - a)).collect();
    let (x, _, negative) = follow::shift_to(heated, &x, f, f, 25, work)?;
    (negative == 0).then_some(x)
}
