//! Two wishes for the smallest or largest: what one costs the other.
//!
//! The ends are the best of either alone. Between them one wish is held at least as good as a level and the other is made the best
//! (the ε-constraint method: Y. Y. Haimes, L. S. Lasdon, D. A. Wismer, IEEE Transactions on Systems, Man, and Cybernetics 1 (1971)
//! 296–297); levels are put where neighbours lie farthest apart, so that the points come out evenly spaced.

use calotte_solve::wish::{End, Optimum};

use super::ask::Wanted;
use super::oracle::Oracle;
use super::space::{Ends, Exact, Goal, Grid, Search, all, from};

/// Points of a front.
const POINTS: usize = 11;

/// A point: place, the two readings, slope of the first over the level of the second.
pub(super) struct Point {
    pub(super) u: Vec<f64>,
    pub(super) readings: [f64; 2],
    pub(super) rate: Option<f64>,
}

/// The front of two wishes; `None` when either has no best. Searches counted on the way come back with it.
pub(super) fn trace(
    oracle: &mut Oracle<'_>,
    grid: &Grid,
    pair: [usize; 2],
    exact: Exact,
) -> (Option<Vec<Point>>, usize, usize) {
    let (mut starts, mut undecided) = (0, 0);
    let mut end = |oracle: &mut Oracle<'_>, i: usize, other: usize| {
        let Ends { met, starts: s, undecided: u, .. } =
            all(oracle, grid, &Search::for_goal(Goal::Best(i), exact), &[]);
        (starts, undecided) = (starts + s + 1, undecided + u);
        let best = met.into_iter().next()?;
        // Of all that are as good to a ten-thousandth, the best for the other wish.
        let reading = oracle.row(&best.u)[i].as_ref().ok().copied()?;
        let held = level(oracle, i, reading, 1e-4 * grid.size(i));
        let search = Search { held: Some((i, held)), ..Search::for_goal(Goal::Best(other), exact) };
        let found = from(oracle, &search, &best.u, grid.size(other), 0.15);
        Some(if found.end == End::Optimum { found } else { best })
    };
    let ends = [end(oracle, pair[0], pair[1]), end(oracle, pair[1], pair[0])];
    let [Some(a), Some(b)] = ends else { return (None, starts, undecided) };
    let read = |oracle: &mut Oracle<'_>, u: &[f64]| -> Option<[f64; 2]> {
        let row = oracle.row(u);
        Some([row[pair[0]].as_ref().ok().copied()?, row[pair[1]].as_ref().ok().copied()?])
    };
    let (Some(ra), Some(rb)) = (read(oracle, &a.u), read(oracle, &b.u)) else {
        return (None, starts, undecided);
    };
    let mut points =
        vec![Point { u: a.u, readings: ra, rate: None }, Point { u: b.u, readings: rb, rate: None }];
    let sizes = [(ra[0] - rb[0]).abs(), (ra[1] - rb[1]).abs()];
    let same = sizes.iter().zip(ra).any(|(s, r)| *s <= 1e-4 * r.abs().max(1e-300));
    // Points before which nothing more was found.
    let mut given_up: Vec<Vec<f64>> = Vec::new();
    while !same && points.len() < POINTS && !oracle.stopped {
        // The widest gap, as long as halving it promises anything.
        let gap = |w: &[Point]| {
            (0..2).map(|i| ((w[0].readings[i] - w[1].readings[i]) / sizes[i]).powi(2)).sum::<f64>()
        };
        let Some(k) = (1..points.len())
            .filter(|k| !given_up.contains(&points[*k].u))
            .max_by(|i, j| gap(&points[i - 1..=*i]).total_cmp(&gap(&points[j - 1..=*j])).then(j.cmp(i)))
        else {
            break;
        };
        let middle = 0.5 * (points[k - 1].readings[1] + points[k].readings[1]);
        let held = level(oracle, pair[1], middle, 0.0);
        let search = Search { held: Some((pair[1], held)), ..Search::for_goal(Goal::Best(pair[0]), exact) };
        let near: Vec<f64> = points[k - 1].u.iter().zip(&points[k].u).map(|(a, b)| 0.5 * (a + b)).collect();
        // From between the neighbours, then from either of them.
        let mut found = None;
        for u in [&near, &points[k].u, &points[k - 1].u] {
            starts += 1;
            let one = from(oracle, &search, u, grid.size(pair[0]), 0.15);
            if one.end == End::Optimum {
                found = Some(one);
                break;
            }
        }
        let Some(found) = found else {
            undecided += 1;
            given_up.push(points[k].u.clone());
            continue;
        };
        let Some(readings) = read(oracle, &found.u) else { break };
        let rate = rate(&found, &search, oracle, pair, grid.size(pair[0]));
        points.insert(k, Point { u: found.u, readings, rate });
    }
    (Some(points), starts, undecided)
}

/// Ends within which a wish is at least as good as a reading, or worse by no more than `slack`.
fn level(oracle: &Oracle<'_>, wish: usize, reading: f64, slack: f64) -> [f64; 2] {
    match oracle.wishes[wish].wanted {
        Wanted::Smallest => [f64::NEG_INFINITY, reading + slack],
        _ => [reading - slack, f64::INFINITY],
    }
}

/// d(second)/d(first) along the front, from the multiplier of the level.
fn rate(found: &Optimum, search: &Search, oracle: &Oracle<'_>, pair: [usize; 2], size: f64) -> Option<f64> {
    let place = search.places(oracle.wishes).iter().position(|i| *i == pair[1])?;
    let sign = if oracle.wishes[pair[0]].wanted == Wanted::Largest { -1.0 } else { 1.0 };
    // d(objective)/d(level), the objective being ± the first reading over its size.
    let slope = sign * size * found.multipliers[place];
    (slope.abs() > 0.0).then(|| 1.0 / slope)
}

/// The point farthest from the chord between the ends, both readings in their own spans; `None` for fewer than three.
pub(super) fn knee(points: &[Point]) -> Option<usize> {
    let (a, b) = (points.first()?.readings, points.last()?.readings);
    let off = |p: &Point| {
        let x = (p.readings[0] - a[0]) / (b[0] - a[0]);
        let y = (p.readings[1] - a[1]) / (b[1] - a[1]);
        (x - y).abs()
    };
    let k =
        (1..points.len().saturating_sub(1)).max_by(|i, j| off(&points[*i]).total_cmp(&off(&points[*j])))?;
    (off(&points[k]) > 0.02).then_some(k)
}
