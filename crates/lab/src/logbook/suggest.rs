//! Candidates for the next specimen, over the numbers that vary and the hold.

use calotte_answers::{Watch, each};
use calotte_quantity::find_unit;

use super::belief::{Prior, Unknown};
use super::curve::Curve;
use super::likelihood::{Known, margin};
use super::next::{CLASSES, WAITS, after, chances, class_ends, teaching};
use super::posterior::{Posterior, Problem};
use super::record::{Figure, Outcome};
use super::report::{After, Candidate, NextReport, SizeReport};
use super::theory::{Theory, half_width};

/// Steps of each number that varies.
const STEPS: usize = 13;
/// Holds tried.
const HOLDS: usize = 4;
/// Candidates told.
const BEST: usize = 3;
/// Draws of the numbers that a candidate is judged by.
const DRAWS: usize = 400;
/// Numbers that vary together at most.
const MOST_KEYS: usize = 2;

/// Values evenly between two ends.
fn evenly([a, b]: [f64; 2], count: usize) -> Vec<f64> {
    (0..count).map(|i| a + (b - a) * i as f64 / (count - 1).max(1) as f64).collect()
}

/// Everything about a candidate but its hold.
struct Place {
    sizes: Vec<Figure>,
    known: Known,
}

/// Looks for the most instructive specimens; `None` when stopped, `Some(None)` where there is nothing to vary.
pub(crate) fn suggest(
    theory: &Theory<'_>,
    problem: &Problem<'_>,
    posterior: &Posterior,
    watch: &Watch<'_>,
) -> Option<Option<NextReport>> {
    let (book, case) = (theory.book, theory.case);
    let ranges: Vec<(usize, [f64; 2])> = {
        let told: Vec<_> = book.next.iter().filter_map(|(k, r)| Some(((*k)?, *r))).collect();
        if told.is_empty() { usual_ranges(theory) } else { told }
    };
    let ranges = &ranges[..ranges.len().min(MOST_KEYS)];
    if ranges.is_empty() {
        return Some(None);
    }
    let axes: Vec<Vec<f64>> = ranges.iter().map(|r| evenly(r.1, STEPS)).collect();
    let count: usize = axes.iter().map(Vec::len).product();
    let middle = middle_sizes(theory);
    let sizes_at = |k: usize| {
        let mut sizes = middle.clone();
        let mut rest = k;
        for (axis, (key, _)) in axes.iter().zip(ranges) {
            sizes[*key].value = axis[rest % axis.len()];
            rest /= axis.len();
        }
        sizes
    };
    let margins: Vec<Option<[f64; 3]>> = each(count, watch, |k| theory.margin_of(&sizes_at(k)).ok())?;
    let place = |k: usize| {
        let [margin, by_thickness, size_sd] = margins[k]?;
        let known = Known { margin, by_thickness, size_sd, trials: Vec::new(), numbers: Vec::new() };
        Some(Place { sizes: sizes_at(k), known })
    };
    let holds = holds(theory);
    let set = &book.settings;
    let ends = class_ends(set.at_once, set.watched);
    let step = posterior.thetas.len().div_ceil(DRAWS).max(1);
    let thetas: Vec<_> = posterior.thetas.iter().step_by(step).collect();
    // The curves do not depend on the sizes.
    let curves: Vec<Vec<Curve>> = holds
        .iter()
        .map(|h| {
            let one = |t: &&super::belief::Theta| {
                theory.curve(*h, t[Unknown::Shares as usize], t[Unknown::Times as usize])
            };
            thetas.iter().map(one).collect()
        })
        .collect();
    let by_draw = |k: &Known, hold: usize| -> Vec<[f64; CLASSES]> {
        thetas.iter().zip(&curves[hold]).map(|(t, c)| chances(k, c, &ends, &problem.assumed, t)).collect()
    };
    let judged = each(count, watch, |k| {
        let place = place(k)?;
        let bits = |hold: usize| teaching(&by_draw(&place.known, hold)).bits;
        Some((0..holds.len()).map(bits).collect::<Vec<f64>>())
    })?;
    let mut order: Vec<(usize, usize, f64)> = judged
        .iter()
        .enumerate()
        .flat_map(|(k, b)| b.iter().flatten().enumerate().map(move |(h, bits)| (k, h, *bits)))
        .collect();
    order.sort_by(|a, b| b.2.total_cmp(&a.2).then(a.0.cmp(&b.0)).then(a.1.cmp(&b.1)));
    let mut chosen: Vec<(usize, usize, f64)> = Vec::new();
    for one in &order {
        // Neighbours on the grid teach the same.
        let near = |o: &(usize, usize, f64)| {
            let (mut a, mut b, mut far) = (one.0, o.0, 0);
            for axis in &axes {
                far = far.max((a % axis.len()).abs_diff(b % axis.len()));
                (a, b) = (a / axis.len(), b / axis.len());
            }
            far < 3
        };
        if chosen.len() < BEST && !chosen.iter().any(near) {
            chosen.push(*one);
        }
    }
    let best = chosen
        .into_iter()
        .filter_map(|(k, hold, bits)| {
            let place = place(k)?;
            let by_draw = by_draw(&place.known, hold);
            let told = teaching(&by_draw);
            let sizes = book.keys.iter().zip(&place.sizes).map(|(key, s)| {
                let (input, half) = (&case.inputs()[*key], half_width(case, *key, s));
                SizeReport {
                    key: input.key.clone(),
                    value_si: s.value,
                    half_width_si: half,
                    shown: input.show(s.value, Some(half).filter(|h| *h > 0.0)),
                }
            });
            Some(Candidate {
                sizes: sizes.collect(),
                hold_s: holds[hold],
                bits,
                margin: margin(&place.known, &super::belief::fixed())[0],
                chances: [told.chances[0], told.chances[1..=WAITS].iter().sum(), told.chances[CLASSES - 1]],
                after: afters(problem.priors, &thetas, &by_draw),
            })
        })
        .collect();
    let bits = judged.iter().map(|b| b.as_ref().map(|b| b.iter().copied().fold(0.0, f64::max))).collect();
    Some(Some(NextReport {
        keys: ranges.iter().map(|(k, _)| case.inputs()[book.keys[*k]].key.clone()).collect(),
        units: ranges.iter().map(|(k, _)| case.inputs()[book.keys[*k]].unit.clone()).collect(),
        units_si: ranges
            .iter()
            .map(|(k, _)| {
                let input = &case.inputs()[book.keys[*k]];
                find_unit(&input.unit, input.dimension).map_or(1.0, |u| u.to_si(1.0))
            })
            .collect(),
        axes_si: axes,
        tried: count * holds.len(),
        holds_s: holds,
        bits,
        best,
    }))
}

/// What each outcome would leave of each number sought.
fn afters(priors: &[Prior], thetas: &[&super::belief::Theta], by_draw: &[[f64; CLASSES]]) -> Vec<After> {
    let ranges =
        [(Outcome::Returns, 0..1), (Outcome::Waits, 1..WAITS + 1), (Outcome::Stays, CLASSES - 1..CLASSES)];
    let mut out = Vec::new();
    for (outcome, classes) in ranges {
        for p in priors {
            let values: Vec<f64> = thetas.iter().map(|t| t[p.of as usize]).collect();
            let [mean, sd] = after(by_draw, classes.clone(), &values);
            let [_, now] = after(by_draw, 0..CLASSES, &values);
            let told = [mean, sd].iter().all(|x| x.is_finite());
            if told {
                out.push(After {
                    outcome: outcome.word(),
                    name: p.of.name(),
                    value: libm::exp(mean),
                    log_sd: sd,
                    log_sd_now: now,
                });
            }
        }
    }
    out
}

/// The numbers that differ between specimens by more than a hundredth, those that differ most first, with their ranges wider by a
/// tenth at both ends.
fn usual_ranges(theory: &Theory<'_>) -> Vec<(usize, [f64; 2])> {
    let book = theory.book;
    let mut out: Vec<(usize, [f64; 2])> = (0..book.keys.len())
        .filter_map(|k| {
            let values = book.specimens.iter().map(|s| s.sizes[k].value);
            let (low, high) =
                values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            let wide = 0.1 * (high - low);
            (low > 0.0 && high / low > 1.01).then_some((k, [low - wide, high + wide]))
        })
        .collect();
    out.sort_by(|a, b| (b.1[1] / b.1[0]).total_cmp(&(a.1[1] / a.1[0])));
    out
}

/// Sizes in the middle of the logbook: medians of values and tolerances.
fn middle_sizes(theory: &Theory<'_>) -> Vec<Figure> {
    let book = theory.book;
    let median = |mut v: Vec<f64>| {
        v.sort_by(f64::total_cmp);
        v.get(v.len() / 2).copied().unwrap_or(0.0)
    };
    (0..book.keys.len())
        .map(|k| {
            let value = median(book.specimens.iter().map(|s| s.sizes[k].value).collect());
            let half = median(
                book.specimens.iter().map(|s| half_width(theory.case, book.keys[k], &s.sizes[k])).collect(),
            );
            Figure { value, half_width: Some(half).filter(|h| *h > 0.0) }
        })
        .collect()
}

/// Holds tried: those told, or those of the trials; one where nothing waits.
fn holds(theory: &Theory<'_>) -> Vec<f64> {
    let told = theory.book.next.iter().find(|n| n.0.is_none()).map(|n| n.1);
    let (Some(first), Some(last)) = (theory.holds.first(), theory.holds.last()) else { return Vec::new() };
    let [a, b] = told.unwrap_or([*first, *last]);
    if theory.table.is_none() || b / a < 1.05 {
        return vec![b];
    }
    (0..HOLDS).map(|i| a * libm::pow(b / a, i as f64 / (HOLDS - 1) as f64)).collect()
}
