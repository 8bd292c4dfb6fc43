//! How trip, reset and delta spread over parts made within their tolerances.

use calotte_shell::Harmonics;
use calotte_solve::Work;
use calotte_specimen::{Heat, Part};

use super::numbers::{self, Again};
use super::path::LARGEST_N;
use super::report::{HeatQuantile, HeatSpread, Spread};
use super::words::{celsius, kelvins};
use super::{Followed, Limits, NoHeat};
use crate::draws::{Loose, changes, hypercube, loose};
use crate::explain::digits;
use crate::many::{Watch, each};
use crate::ripples;
use crate::subject::Subject;

/// Shares whose quantiles are told.
const SHARES: [f64; 7] = [0.025, 0.05, 0.25, 0.5, 0.75, 0.95, 0.975];

/// Tables of the case file whose numbers heat does not feel.
const WITHOUT_EFFECT: [&str; 4] = ["load.", "memory.", "hold.", "surroundings."];

/// One temperature of one draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Found {
    At(f64),
    /// It moves without a jump.
    Nowhere,
    Unknown,
}

impl Found {
    pub(crate) fn at(self) -> Option<f64> {
        if let Self::At(t) = self { Some(t) } else { None }
    }
}

/// One part drawn.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Draw {
    pub(crate) trip: Found,
    pub(crate) reset: Found,
    /// Whether waves come before the trip's limit.
    pub(crate) sideways: Option<bool>,
}

const LOST: Draw = Draw { trip: Found::Unknown, reset: Found::Unknown, sideways: None };

pub(super) fn spread(
    subject: &dyn Subject,
    base: &Followed,
    count: usize,
    watch: &Watch<'_>,
) -> Result<Option<HeatSpread>, NoHeat> {
    let givens = subject.givens();
    let loose = loose(&givens, &WITHOUT_EFFECT);
    if loose.is_empty() {
        return Err(NoHeat(
            "no number of the case has a tolerance, so trip and reset have no spread: write for example `rise = \"0.50 ± 0.01 mm\"`"
                .to_owned(),
        ));
    }
    let plan = hypercube(count, loose.len());
    let limits = base.limits();
    let found = each(count, watch, |k| {
        subject
            .heated(&changes(&loose, &plan[k]))
            .map_or(LOST, |(part, heat)| draw(base, limits, &part, &heat, &mut Work::default()))
    });
    let Some(draws) = found else { return Ok(None) };
    let range = base.setup.range.map(|r| r.0);
    let trips: Vec<Found> = draws.iter().map(|d| d.trip).collect();
    let resets: Vec<Found> = draws.iter().map(|d| d.reset).collect();
    let deltas: Vec<Found> = draws.iter().map(|d| delta(*d)).collect();
    let share = |f: fn(&Draw) -> bool| draws.iter().filter(|d| f(d)).count() as f64 / count.max(1) as f64;
    let first = limits.map_or([None; 3], |l| first_order(subject, base, l, &loose));
    let within = |at: &[Found], first: Option<f64>| gather(at, range, first);
    let mut out = HeatSpread {
        drawn: count,
        varied: loose.iter().map(|(_, g, _)| g.key.clone()).collect(),
        trip: within(&trips, first[0]),
        reset: within(&resets, first[1]),
        delta: gather(&deltas, [f64::NEG_INFINITY, f64::INFINITY], first[2]),
        sideways_first: share(|d| d.sideways == Some(true)),
        sideways_unknown: share(|d| d.trip.at().is_some() && d.sideways.is_none()),
        trips_K: trips.iter().map(|f| f.at()).collect(),
        resets_K: resets.iter().map(|f| f.at()).collect(),
        words: Vec::new(),
    };
    out.words = say(&out);
    Ok(Some(out))
}

pub(crate) fn delta(d: Draw) -> Found {
    match (d.trip, d.reset) {
        (Found::At(t), Found::At(r)) => Found::At(t - r),
        (Found::Nowhere, _) => Found::Nowhere,
        _ => Found::Unknown,
    }
}

/// Trip and reset of one part: from those of the base by Newton's method; where that fails or comes to other limits, its branches
/// are followed anew.
pub(crate) fn draw(
    base: &Followed,
    limits: Option<Limits<'_>>,
    part: &Part,
    heat: &Heat,
    work: &mut Work,
) -> Draw {
    let near = limits.and_then(|l| {
        let mut again = |place| numbers::again(&base.setup, &base.heated, place, part, heat, work);
        let (trip, reset) = (again(l.trip)?, again(l.reset?)?);
        let (t, r) = (trip.temperature(), reset.temperature());
        let sound = trip.ends(l.heating) && reset.ends(!l.heating) && (t > r) == l.heating && t != r;
        sound.then(|| Draw { trip: Found::At(t), reset: Found::At(r), sideways: sideways(&trip, work) })
    });
    near.unwrap_or_else(|| anew(part, heat, work))
}

fn anew(part: &Part, heat: &Heat, work: &mut Work) -> Draw {
    let Ok(followed) = Followed::of(part, heat) else { return LOST };
    *work += followed.work;
    let Some(l) = followed.limits() else {
        let none = if followed.follows() { Found::Nowhere } else { Found::Unknown };
        return Draw { trip: none, reset: none, sideways: None };
    };
    let kelvin = |f: f64| Found::At(followed.heated.temperature(f));
    let trip = numbers::again(&followed.setup, &followed.heated, l.trip, part, heat, work);
    Draw {
        trip: kelvin(l.trip.f),
        reset: l.reset.map_or(Found::Unknown, |p| kelvin(p.f)),
        sideways: trip.as_ref().and_then(|t| sideways(t, work)),
    }
}

/// Whether waves n ≥ 1 are lost already at a limit; `None` when a count fails.
pub(super) fn sideways(at: &Again, work: &mut Work) -> Option<bool> {
    let model = at.problem.warmed(at.fold.t);
    let t = at.problem.thickness_factor();
    let last = ripples::wave_bound(&model, &at.fold.x, t).0.min(LARGEST_N);
    let harmonics = Harmonics::new(&model, &at.fold.x, t);
    let counts: Option<Vec<usize>> = (1..=last).map(|n| harmonics.negative(n, work)).collect();
    counts.map(|c| c.iter().any(|n| *n > 0))
}

/// Half-widths of trip, reset and delta to first order.
fn first_order(
    subject: &dyn Subject,
    base: &Followed,
    limits: Limits<'_>,
    loose: &[Loose<'_>],
) -> [Option<f64>; 3] {
    let moves = numbers::moves(subject, &base.setup, &base.heated, Some(limits.trip), limits.reset).0;
    let mut squares = [Some(0.0); 3];
    for (_, g, h) in loose {
        // A number that moves neither has no row.
        let Some(m) = moves.iter().find(|m| m.input == g.key) else { continue };
        let both = m.trip_K_per_SI.zip(m.reset_K_per_SI).map(|(t, r)| t - r);
        for (sum, slope) in squares.iter_mut().zip([m.trip_K_per_SI, m.reset_K_per_SI, both]) {
            *sum = sum.zip(slope).map(|(sum, s)| sum + s * s * h * h);
        }
    }
    squares.map(|s| s.map(f64::sqrt))
}

fn gather(found: &[Found], range: [f64; 2], first: Option<f64>) -> Spread {
    let inside = |t: &f64| range[0] <= *t && *t <= range[1];
    let all = found.len().max(1) as f64;
    let share = |f: &dyn Fn(&Found) -> bool| found.iter().filter(|x| f(x)).count() as f64 / all;
    let mut known: Vec<f64> = found.iter().filter_map(|f| f.at()).filter(inside).collect();
    known.sort_by(f64::total_cmp);
    let count = known.len() as f64;
    let mean = known.iter().sum::<f64>() / count;
    let square = known.iter().map(|t| (t - mean) * (t - mean)).sum::<f64>() / (count - 1.0);
    let quantile = |share: f64| {
        let at = (share * count).ceil().max(1.0) as usize - 1;
        known.get(at).map(|t| HeatQuantile { share, at_K: *t })
    };
    Spread {
        known: count / all,
        beyond: share(&|f| f.at().is_some_and(|t| !inside(&t))),
        none: share(&|f| *f == Found::Nowhere),
        unknown: share(&|f| *f == Found::Unknown),
        quantiles: SHARES.iter().filter_map(|s| quantile(*s)).collect(),
        mean_K: (count > 0.0).then_some(mean),
        two_deviations_K: (count > 1.0).then(|| 2.0 * square.sqrt()),
        first_order_half_width_K: first,
    }
}

fn say(s: &HeatSpread) -> Vec<String> {
    let percent = |x: f64| format!("{} %", digits(100.0 * x, 3));
    let mut out = Vec::new();
    for (what, one, absolute) in
        [("trip", &s.trip, true), ("reset", &s.reset, true), ("delta", &s.delta, false)]
    {
        let told = |t: f64| if absolute { celsius(t) } else { kelvins(t) };
        let at = |share: f64| one.quantiles.iter().find(|q| q.share == share).map(|q| q.at_K);
        if let (Some(a), Some(m), Some(b)) = (at(0.025), at(0.5), at(0.975)) {
            out.push(format!(
                "Of {} drawn parts the middle 95 % have their {what} between {} and {}; half of them lie below {}.",
                s.drawn,
                told(a),
                told(b),
                told(m)
            ));
        }
        for (share, how) in [
            (one.beyond, "beyond the range looked at"),
            (one.none, "nowhere: these parts move without a jump"),
        ] {
            if share > 0.0 && absolute {
                out.push(format!("{} have their {what} {how}.", percent(share)));
            }
        }
        if one.unknown > 0.0 && absolute {
            out.push(format!(
                "For {} the {what} was not found; they are left out of the quantiles.",
                percent(one.unknown)
            ));
        }
    }
    if s.sideways_first > 0.0 {
        out.push(format!(
            "{} lose their round shape to waves before the limit counted here, and trip a little earlier.",
            percent(s.sideways_first)
        ));
    }
    if s.sideways_unknown > 0.0 {
        out.push(format!("For {} waves before the trip could not be counted.", percent(s.sideways_unknown)));
    }
    out.push(format!(
        "Shares below about {} are noise of so many draws.",
        percent(2.0 / s.drawn.max(1) as f64)
    ));
    out
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use calotte_specimen::{Layer, Layers, Material, Meridian, Property, Rim, SphereCap, Wall};

    use super::*;

    /// Closed form: quantiles, shares, mean and deviation of a known list.
    #[test]
    fn known_lists_give_known_spreads() {
        let mut found: Vec<Found> = (1..=100).map(|i| Found::At(f64::from(i))).collect();
        let s = gather(&found, [0.0, 200.0], Some(3.0));
        assert_eq!((s.known, s.beyond, s.none, s.unknown), (1.0, 0.0, 0.0, 0.0));
        let at: Vec<f64> = s.quantiles.iter().map(|q| q.at_K).collect();
        assert_eq!(at, [3.0, 5.0, 25.0, 50.0, 75.0, 95.0, 98.0]);
        // Variance of 1…n: n(n + 1)/12.
        assert!((s.two_deviations_K.unwrap() - 2.0 * (100.0f64 * 101.0 / 12.0).sqrt()).abs() < 1e-12);
        assert_eq!((s.mean_K, s.first_order_half_width_K), (Some(50.5), Some(3.0)));
        found.extend([Found::Nowhere, Found::Unknown, Found::Unknown]);
        found.resize(125, Found::At(500.0));
        let s = gather(&found, [0.0, 90.0], None);
        assert_eq!((s.known, s.beyond, s.none, s.unknown), (0.72, 32.0 / 125.0, 0.008, 0.016));
        let empty = gather(&[Found::Unknown], [0.0, 1.0], None);
        assert!(empty.quantiles.is_empty() && empty.mean_K.is_none() && empty.unknown == 1.0);
    }
    /// A limit found again from the base is the one that following the changed part anew finds.
    #[test]
    fn found_again_is_followed_anew() {
        let layer = Layer {
            share: 1.0,
            youngs: Property::Constant(1e9),
            poisson: 0.3,
            expansion: Property::Constant(0.002),
        };
        let layers = Layers {
            layers: vec![layer],
            formed_at: 1000.0,
            temperature: 1000.0,
            face_difference: 0.0,
            extra_curvature: 0.0,
            flexivity: -0.02,
        };
        let disc = |radius: f64, half_angle: f64, h: f64| Part {
            meridian: Meridian::Sphere(SphereCap { radius, half_angle, hole_angle: 0.0 }),
            wall: Wall::uniform(h).with_layers(Some(Arc::new(layers.clone()))),
            material: Material { youngs: 1e9, poisson: 0.3, density: None },
            rim: Rim::Free,
        };
        let heat = Heat::default();
        let base = Followed::of(&disc(1.0, 0.4, 0.02), &heat).unwrap();
        let limits = base.limits();
        assert!(limits.is_some_and(|l| l.heating && l.reset.is_some()));
        for (radius, half_angle, h) in
            [(1.0, 0.4, 0.02), (1.02, 0.4, 0.02), (1.0, 0.41, 0.021), (0.98, 0.39, 0.0185)]
        {
            let part = disc(radius, half_angle, h);
            let free = &mut Work::default();
            let (quick, slow) = (draw(&base, limits, &part, &heat, free), anew(&part, &heat, free));
            let mut work = Work::default();
            let l = limits.unwrap();
            let again = numbers::again(&base.setup, &base.heated, l.trip, &part, &heat, &mut work);
            assert!(again.is_some_and(|a| a.ends(true) && !a.ends(false)));
            // Pinned: what changes of a few per cent cost.
            assert!(work.assemblies <= 12, "{}", work.assemblies);
            for (a, b) in [(quick.trip, slow.trip), (quick.reset, slow.reset)] {
                // Two meshes, each graded for its own part.
                assert!((a.at().unwrap() - b.at().unwrap()).abs() < 1e-6, "{a:?} {b:?}");
            }
            assert_eq!(quick.sideways, slow.sideways);
        }
    }
}
