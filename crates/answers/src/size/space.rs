//! Several numbers that may change: a grid of samples, searches from its best places, distinct ends.

use calotte_solve::wish::{Band, End, Optimum, OptimumSettings, optimum};

use super::ask::{Wanted, Wish};
use super::oracle::{Oracle, Row};

/// Samples along each number, by how many there are.
pub(super) const GRID: [usize; 6] = [0, 25, 9, 5, 4, 3];
/// Searches at most.
const STARTS: usize = 8;
/// Ends closer than this, in shares of the ranges, are one.
const APART: f64 = 2e-3;
/// How far inside a limit is aimed at, in what counts as a miss: more than rounding to six digits undoes.
pub(super) const INSIDE: f64 = 2e-3;

/// How bad a reading is for choosing among places that meet all wishes: the objective in its own size, and how far off the aims are.
pub(super) fn badness(wishes: &[Wish], row: &Row, slack: f64) -> f64 {
    let mut sum = 0.0;
    for (w, r) in wishes.iter().zip(row) {
        let Ok(v) = r else { return f64::INFINITY };
        if w.miss(*v) > slack * w.unit() {
            return f64::INFINITY;
        }
        sum += match w.wanted {
            Wanted::Smallest => *v,
            Wanted::Largest => -v,
            Wanted::Equal { aim, half_width } if !wishes.iter().any(Wish::is_objective) => {
                ((v - aim) / half_width).powi(2)
            }
            _ => 0.0,
        };
    }
    sum
}

/// What a search is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Goal {
    /// The nearest to the part as it is.
    Nearest,
    /// The best of a wish for the smallest or largest.
    Best(usize),
    /// Nearest to the aims of the wishes for one value, all together.
    Aims,
    /// Least or largest value of one number: its place, and the sign of what is made small.
    Extent(usize, f64),
    /// The reading of a wish nearest to what it asks for.
    Toward(usize),
}

/// How wishes for one value are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Exact {
    /// At their aim.
    Aim,
    /// Anywhere in what will do.
    Band,
}

/// A search: goal, how wishes are taken, ends of wishes replaced, wishes left out.
#[derive(Clone, Debug)]
pub(super) struct Search {
    pub(super) goal: Goal,
    pub(super) exact: Exact,
    /// A wish held between other ends.
    pub(super) held: Option<(usize, [f64; 2])>,
    /// A wish that does not count.
    pub(super) without: Option<usize>,
}

impl Search {
    pub(super) fn for_goal(goal: Goal, exact: Exact) -> Self {
        Self { goal, exact, held: None, without: None }
    }

    /// Bands of the wishes that count, with their places among all.
    fn bands(&self, wishes: &[Wish]) -> Vec<(usize, Band)> {
        let mut out = Vec::new();
        for (i, w) in wishes.iter().enumerate() {
            if self.without == Some(i) {
                continue;
            }
            // A level that an objective is held at counts in hundredths of itself.
            let level = self.held.filter(|(k, _)| *k == i && w.is_objective()).map(|(_, e)| e);
            let unit = match level {
                Some(e) => e.into_iter().find(|v| v.is_finite()).map_or(1.0, |v| 0.01 * v.abs().max(1e-30)),
                None => w.unit(),
            };
            let [low, high] = match (self.held, w.wanted, self.exact) {
                (Some((k, ends)), _, _) if k == i => ends,
                (_, Wanted::Equal { aim, .. }, Exact::Aim) => [aim, aim],
                (_, Wanted::Equal { aim, half_width }, Exact::Band) => {
                    let w = half_width * (1.0 - INSIDE);
                    [aim - w, aim + w]
                }
                (_, Wanted::AtLeast(v), _) => [v + INSIDE * unit, f64::INFINITY],
                (_, Wanted::AtMost(v), _) => [f64::NEG_INFINITY, v - INSIDE * unit],
                (_, Wanted::Smallest | Wanted::Largest, _) => continue,
            };
            out.push((i, Band { low, high, unit }));
        }
        out
    }

    /// Places of the wishes that count, in the order of their multipliers.
    pub(super) fn places(&self, wishes: &[Wish]) -> Vec<usize> {
        self.bands(wishes).into_iter().map(|b| b.0).collect()
    }

    /// What is made small at a place, from its readings.
    fn objective(&self, oracle_wishes: &[Wish], here: &[f64], u: &[f64], readings: &[f64], size: f64) -> f64 {
        match self.goal {
            Goal::Nearest => 0.5 * u.iter().zip(here).map(|(a, b)| (a - b) * (a - b)).sum::<f64>(),
            Goal::Extent(i, sign) => sign * u[i],
            Goal::Aims => oracle_wishes
                .iter()
                .zip(readings)
                .map(|(w, r)| match w.wanted {
                    Wanted::Equal { aim, half_width } => 0.1 * ((r - aim) / half_width).powi(2),
                    _ => 0.0,
                })
                .sum(),
            Goal::Best(i) | Goal::Toward(i) => match oracle_wishes[i].wanted {
                Wanted::Smallest | Wanted::AtMost(_) => readings[i] / size,
                Wanted::Largest | Wanted::AtLeast(_) => -readings[i] / size,
                Wanted::Equal { aim, .. } => 0.5 * ((readings[i] - aim) / size).powi(2),
            },
        }
    }
}

/// The grid and what was read on it.
pub(super) struct Grid {
    /// Places per number.
    pub(super) count: usize,
    /// Places, the first number running fastest.
    pub(super) places: Vec<Vec<f64>>,
    /// Readings.
    pub(super) rows: Vec<Row>,
}

impl Grid {
    /// Reads all of it.
    pub(super) fn read(oracle: &mut Oracle<'_>) -> Self {
        let n = oracle.vary.len();
        let count = GRID[n.min(GRID.len() - 1)];
        let total = count.pow(n as u32);
        let places: Vec<Vec<f64>> = (0..total)
            .map(|k| {
                let mut k = k;
                let mut one = || {
                    let i = k % count;
                    k /= count;
                    i as f64 / (count - 1) as f64
                };
                (0..n).map(|_| one()).collect()
            })
            .collect();
        let rows = oracle.rows(&places);
        Self { count, places, rows }
    }

    /// Largest spread of a wish's readings over the grid; 1 where there is none.
    pub(super) fn size(&self, wish: usize) -> f64 {
        let all = self.rows.iter().filter_map(|r| r[wish].as_ref().ok());
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
        let size = high - low;
        if size > 0.0 && size.is_finite() { size } else { 1.0 }
    }

    /// Largest violation of the bands at a place; `None` where a wish has no reading.
    fn violation(&self, k: usize, bands: &[(usize, Band)]) -> Option<f64> {
        let all: Option<Vec<f64>> = self.rows[k].iter().map(|r| r.as_ref().ok().copied()).collect();
        let all = all?;
        Some(bands.iter().map(|(i, b)| b.violation(all[*i])).fold(0.0, f64::max))
    }

    /// Places to start from: those no worse than any neighbour, the best first.
    fn starts(&self, bands: &[(usize, Band)], merit: &dyn Fn(usize, f64) -> f64) -> Vec<Vec<f64>> {
        let of = |k: usize| self.violation(k, bands).map(|v| merit(k, v));
        let all: Vec<Option<f64>> = (0..self.places.len()).map(of).collect();
        let n = self.places.first().map_or(0, Vec::len);
        let mut found: Vec<(f64, usize)> = Vec::new();
        for (k, v) in all.iter().enumerate() {
            let Some(v) = *v else { continue };
            let mut stride = 1;
            let mut least = true;
            for _ in 0..n {
                let i = (k / stride) % self.count;
                let beside = [(i > 0).then(|| k - stride), (i + 1 < self.count).then(|| k + stride)];
                least &= beside.into_iter().flatten().all(|j| all[j].is_none_or(|o| v <= o));
                stride *= self.count;
            }
            if least {
                found.push((v, k));
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found.into_iter().take(STARTS).map(|(_, k)| self.places[k].clone()).collect()
    }
}

/// Ends of searches.
pub(super) struct Ends {
    /// Distinct ends that meet the bands, best first.
    pub(super) met: Vec<Optimum>,
    /// The end of least violation where none meets them.
    pub(super) nearest: Option<Optimum>,
    pub(super) starts: usize,
    pub(super) undecided: usize,
}

/// One search from one place.
pub(super) fn from(
    oracle: &mut Oracle<'_>,
    search: &Search,
    start: &[f64],
    size: f64,
    radius: f64,
) -> Optimum {
    let bands = search.bands(oracle.wishes);
    let here: Vec<f64> = oracle.vary.iter().map(|v| v.share(v.here)).collect();
    let only: Vec<Band> = bands.iter().map(|b| b.1).collect();
    let set = OptimumSettings { radius, ..OptimumSettings::default() };
    optimum(start, &only, &set, &mut |places: &[Vec<f64>]| {
        let rows = oracle.whole(places);
        places
            .iter()
            .zip(rows)
            .map(|(u, row)| {
                let row = row?;
                let mut out = vec![search.objective(oracle.wishes, &here, u, &row, size)];
                out.extend(bands.iter().map(|(i, _)| row[*i]));
                Some(out)
            })
            .collect()
    })
}

/// Searches from the grid's best places and from `more`.
pub(super) fn all(oracle: &mut Oracle<'_>, grid: &Grid, search: &Search, more: &[Vec<f64>]) -> Ends {
    let bands = search.bands(oracle.wishes);
    let size = match search.goal {
        Goal::Best(i) | Goal::Toward(i) if !oracle.wishes[i].is_equal() => grid.size(i),
        Goal::Toward(i) => oracle.wishes[i].unit().max(0.1 * grid.size(i)),
        _ => 1.0,
    };
    let here: Vec<f64> = oracle.vary.iter().map(|v| v.share(v.here)).collect();
    let wishes = oracle.wishes;
    // Violations in tenths of what the grid spans count beside the goal.
    let spans: f64 = bands.iter().map(|(i, b)| grid.size(*i) / b.unit).fold(1.0, f64::max);
    let merit = |k: usize, violation: f64| {
        let all: Vec<f64> = grid.rows[k].iter().map(|r| r.as_ref().map_or(f64::NAN, |v| *v)).collect();
        violation + 0.05 * spans * search.objective(wishes, &here, &grid.places[k], &all, size)
    };
    let mut starts = grid.starts(&bands, &merit);
    // Where the wishes alone are nearly met, whatever the goal.
    for s in grid.starts(&bands, &|_, v| v) {
        if starts.len() < STARTS && !starts.contains(&s) {
            starts.push(s);
        }
    }
    starts.extend(more.iter().cloned());
    let step = 1.0 / (grid.count - 1) as f64;
    let mut ends = Ends { met: Vec::new(), nearest: None, starts: starts.len(), undecided: 0 };
    for found in oracle.apart(starts.len(), |i, o| from(o, search, &starts[i], size, step)) {
        match found.end {
            End::Optimum => {
                let near = |o: &Optimum| o.u.iter().zip(&found.u).all(|(a, b)| (a - b).abs() < APART);
                if !ends.met.iter().any(near) {
                    ends.met.push(found);
                }
            }
            End::Unmet | End::Spent => {
                ends.undecided += usize::from(found.end == End::Spent);
                if ends.nearest.as_ref().is_none_or(|n| found.violation < n.violation) {
                    ends.nearest = Some(found);
                }
            }
            End::NoValue => ends.undecided += 1,
        }
    }
    ends.met.sort_by(|a, b| a.values[0].total_cmp(&b.values[0]));
    ends
}
