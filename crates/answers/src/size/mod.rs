//! Which sizes give what is wished?
//!
//! Numbers of the case that may change within limits, and wishes about what the part does: all solutions, what holds them where they
//! are, what two competing wishes cost one another, or which wish stands in the way. Wishes are read by [`crate::gauge`] near the part
//! as described; every solution is asked about anew by the forward questions before it is told.

mod ask;
mod bench;
mod changed;
mod curve;
mod forward;
mod front;
mod line;
mod obstacle;
mod oracle;
pub mod report;
mod solution;
mod space;
#[cfg(test)]
mod tests;
mod words;

pub use ask::{About, Ask, Scale, Varied, Wanted, Wish};

use calotte_solve::wish::Optimum;

use crate::many::Watch;
use crate::report::SCHEMA_VERSION;
use crate::subject::Subject;
use oracle::{Oracle, Readings};
use report::{
    SizeCurve, SizeEvidence, SizeFront, SizeFrontPoint, SizeOutcome, SizeReport, SizeScan, SizeSet,
    SizeVaried, SizeWish,
};
use space::{Ends, Exact, Goal, Grid, Search};

/// Most numbers that may change.
pub const MOST_VARIED: usize = 5;

/// Answers; `None` when the watch stopped it.
///
/// # Errors
/// Words that say which wish makes no sense for the case.
pub fn size(subject: &dyn Subject, ask: &Ask, watch: &Watch<'_>) -> Result<Option<SizeReport>, String> {
    let bench = bench::Bench::new(subject, ask)?;
    Ok(answer(subject.title(), ask, &bench, watch))
}

/// What was found before it is checked.
#[derive(Default)]
struct Found {
    /// Places of solutions, in shares of the ranges.
    places: Vec<Vec<f64>>,
    set: Option<SizeSet>,
    front: Option<SizeFront>,
    starts: usize,
    undecided: usize,
}

impl Found {
    fn add(&mut self, ends: &Ends) {
        self.starts += ends.starts;
        self.undecided += ends.undecided;
    }
}

fn answer(title: &str, ask: &Ask, source: &dyn Readings, watch: &Watch<'_>) -> Option<SizeReport> {
    let mut oracle = Oracle::new(ask, source, watch);
    let o = &mut oracle;
    let here: Vec<f64> = ask.vary.iter().map(|v| v.here).collect();
    let readings_here = o.rows_at(&[here]).pop().unwrap_or_default().into_iter().map(Result::ok).collect();
    let grid = Grid::read(o);
    let mut found = if o.stopped { Found::default() } else { search(ask, o, &grid) };
    let mut obstacle = None;
    if found.places.is_empty() && !o.stopped {
        let looked = obstacle::look(ask, o, &grid);
        found.starts += looked.starts;
        found.undecided += looked.undecided;
        match looked.after_all {
            Some(u) => found.places.push(u),
            None => obstacle = Some(looked.obstacle),
        }
    }
    let mut doubts = Vec::new();
    let mut warnings = Vec::new();
    if o.stopped {
        return None;
    }
    let solutions = solution::check_all(ask, o, &found.places, &mut doubts)?;
    let largest = solutions.iter().flat_map(|s| solution::differences(ask, s)).reduce(f64::max);
    if o.stopped {
        return None;
    }
    let [parts_read, without_reading, failed] = o.counts();
    if failed > 0 {
        warnings.push(format!(
            "{failed} of {parts_read} parts could not be computed, or not be certified; a solution among them would not show."
        ));
    }
    let outcome = match (doubts.is_empty(), solutions.is_empty()) {
        (false, _) => SizeOutcome::Undecided,
        (true, false) => SizeOutcome::Met,
        (true, true) => SizeOutcome::Unmet,
    };
    let wanted = |w: &Wish| match w.wanted {
        Wanted::Equal { .. } => "equal",
        Wanted::AtLeast(_) => "at least",
        Wanted::AtMost(_) => "at most",
        Wanted::Smallest => "smallest",
        Wanted::Largest => "largest",
    };
    let key =
        |given: usize| ask.vary.iter().find(|v| v.given == given).map_or_else(String::new, |v| v.key.clone());
    let finite = |v: f64| Some(v).filter(|v| v.is_finite());
    let mut report = SizeReport {
        schema_version: SCHEMA_VERSION,
        title: title.to_owned(),
        outcome,
        explanation: Vec::new(),
        doubts,
        warnings,
        vary: ask
            .vary
            .iter()
            .map(|v| SizeVaried {
                key: v.key.clone(),
                scale: v.scale.clone(),
                from_si: v.from,
                to_si: v.to,
                here_si: v.here,
            })
            .collect(),
        wishes: ask
            .wishes
            .iter()
            .map(|w| SizeWish {
                text: w.text.clone(),
                about: w.name(&key),
                wanted: wanted(w).to_owned(),
                aim_si: match w.wanted {
                    Wanted::Equal { aim, .. } => Some(aim),
                    _ => None,
                },
                low_si: finite(w.ends()[0]),
                high_si: finite(w.ends()[1]),
                share: w.share,
                hold_s: w.hold,
                scale: w.scale.clone(),
            })
            .collect(),
        readings_here_si: readings_here,
        solutions,
        set: found.set,
        front: found.front,
        obstacle,
        scan: scan(ask, o, &grid),
        evidence: SizeEvidence {
            parts_read,
            without_reading,
            sample_step: 1.0 / (grid.count - 1) as f64,
            starts: found.starts,
            undecided_searches: found.undecided,
            largest_difference: largest,
            completeness: words::completeness(ask, &grid),
            work: source.work().into(),
        },
    };
    report.explanation = words::explain(&report);
    Some(report)
}

/// Everything that solves it.
fn search(ask: &Ask, o: &mut Oracle<'_>, grid: &Grid) -> Found {
    let mut found = Found::default();
    let n = ask.vary.len();
    let objectives: Vec<usize> = (0..ask.wishes.len()).filter(|i| ask.wishes[*i].is_objective()).collect();
    let equal = ask.wishes.iter().filter(|w| w.is_equal()).count();
    if let [first, second] = objectives[..] {
        return competing(ask, o, grid, [first, second]);
    }
    if n == 1 {
        let line = line::solve(o);
        found.places = line.solutions.iter().map(|x| vec![*x]).collect();
        let at = |x: f64| ask.vary[0].at(x);
        let intervals: Vec<[f64; 2]> = line.intervals.iter().map(|i| [at(i[0]), at(i[1])]).collect();
        if let (Some(first), Some(last)) = (intervals.first(), intervals.last()) {
            found.set = Some(SizeSet {
                freedom: usize::from(equal == 0),
                extents_si: vec![[first[0], last[1]]],
                intervals_si: intervals,
                curves: Vec::new(),
                share_of_samples: None,
            });
        }
        if let [i] = objectives[..] {
            best_only(o, &mut found.places, i);
        }
        return found;
    }
    let here: Vec<f64> = ask.vary.iter().map(|v| v.share(v.here).clamp(0.0, 1.0)).collect();
    let goal = objectives.first().map_or(Goal::Nearest, |i| Goal::Best(*i));
    let mut exact = Exact::Aim;
    let mut ends = space::all(o, grid, &Search::for_goal(goal, exact), std::slice::from_ref(&here));
    found.add(&ends);
    if ends.met.is_empty() && equal > 0 {
        // Not all aims at once: anywhere within what will do.
        exact = Exact::Band;
        let goal = if objectives.is_empty() { Goal::Aims } else { goal };
        ends = space::all(o, grid, &Search::for_goal(goal, exact), &[here]);
        found.add(&ends);
    }
    found.places = ends.met.iter().map(|e| e.u.clone()).collect();
    if let [i] = objectives[..] {
        best_only(o, &mut found.places, i);
        return found;
    }
    let freedom = n.saturating_sub(equal);
    if !found.places.is_empty() && freedom > 0 && exact == Exact::Aim {
        found.set = Some(whole_set(ask, o, grid, &mut found.places, &ends.met, freedom));
    }
    found
}

/// Keeps the best and those as good.
fn best_only(o: &mut Oracle<'_>, places: &mut Vec<Vec<f64>>, wish: usize) {
    let sign = if o.wishes[wish].wanted == Wanted::Largest { -1.0 } else { 1.0 };
    let mut all: Vec<(f64, Vec<f64>)> =
        places.drain(..).filter_map(|u| Some((sign * o.row(&u)[wish].as_ref().ok().copied()?, u))).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let best = all.first().map_or(0.0, |b| b.0);
    places.extend(all.into_iter().filter(|a| a.0 <= best + 1e-4 * best.abs()).map(|a| a.1));
}

/// More than single points: curves and extents. Solutions that lie on the curve of one before are left out.
fn whole_set(
    ask: &Ask,
    o: &mut Oracle<'_>,
    grid: &Grid,
    places: &mut Vec<Vec<f64>>,
    met: &[Optimum],
    freedom: usize,
) -> SizeSet {
    let n = ask.vary.len();
    let equal = n - freedom;
    let mut extents = vec![[f64::INFINITY, f64::NEG_INFINITY]; n];
    let mut set = SizeSet {
        freedom,
        extents_si: Vec::new(),
        intervals_si: Vec::new(),
        curves: Vec::new(),
        share_of_samples: None,
    };
    let mut widen = |values: &[f64]| {
        for (e, v) in extents.iter_mut().zip(values) {
            *e = [e[0].min(*v), e[1].max(*v)];
        }
    };
    if freedom == 1 && equal > 0 {
        let mut curves: Vec<curve::Curve> = Vec::new();
        let mut own: Vec<Vec<f64>> = Vec::new();
        for u in places.iter() {
            if !curves.iter().any(|c| passes(&c.points, u)) {
                curves.push(curve::through(o, u));
                own.push(u.clone());
            }
        }
        *places = own;
        for c in curves {
            let rows = o.rows(&c.points);
            let fine = |row: &oracle::Row| {
                ask.wishes
                    .iter()
                    .zip(row)
                    .all(|(w, r)| r.as_ref().is_ok_and(|v| w.miss(*v) <= 1e-3 * w.unit()))
            };
            let met: Vec<bool> = rows.iter().map(fine).collect();
            let points_si: Vec<Vec<f64>> = c.points.iter().map(|u| o.values(u)).collect();
            points_si.iter().zip(&met).filter(|p| *p.1).for_each(|p| widen(p.0));
            set.curves.push(SizeCurve { points_si, met, ends: c.ends, closed: c.closed });
        }
    } else {
        for u in met.iter().map(|m| &m.u) {
            widen(&o.values(u));
        }
        for i in 0..n {
            for sign in [1.0, -1.0] {
                let search = Search::for_goal(Goal::Extent(i, sign), Exact::Aim);
                let from = space::from(o, &search, &met[0].u, 1.0, 0.2);
                if from.end == calotte_solve::wish::End::Optimum {
                    widen(&o.values(&from.u));
                }
            }
        }
        if equal == 0 {
            let good = grid
                .rows
                .iter()
                .filter(|r| {
                    ask.wishes.iter().zip(*r).all(|(w, v)| v.as_ref().is_ok_and(|v| w.miss(*v) == 0.0))
                })
                .count();
            set.share_of_samples = Some(good as f64 / grid.rows.len() as f64);
        }
    }
    set.extents_si = extents;
    set
}

/// Whether a curve passes a place.
fn passes(points: &[Vec<f64>], u: &[f64]) -> bool {
    points.windows(2).any(|w| {
        let d: Vec<f64> = w[0].iter().zip(&w[1]).map(|(a, b)| b - a).collect();
        let size: f64 = d.iter().map(|x| x * x).sum();
        let t = u.iter().zip(&w[0]).zip(&d).map(|((u, a), d)| (u - a) * d).sum::<f64>() / size.max(1e-300);
        let t = t.clamp(0.0, 1.0);
        let off: f64 = u.iter().zip(&w[0]).zip(&d).map(|((u, a), d)| (u - a - t * d).powi(2)).sum();
        off.sqrt() < 0.01
    })
}

/// Two wishes for the smallest or largest.
fn competing(ask: &Ask, o: &mut Oracle<'_>, grid: &Grid, pair: [usize; 2]) -> Found {
    let mut found = Found::default();
    let (mut points, starts, undecided) = front::trace(o, grid, pair, Exact::Aim);
    (found.starts, found.undecided) = (starts, undecided);
    if points.is_none() && ask.wishes.iter().any(Wish::is_equal) {
        let (again, starts, undecided) = front::trace(o, grid, pair, Exact::Band);
        points = again;
        found.starts += starts;
        found.undecided += undecided;
    }
    let Some(points) = points else { return found };
    let knee = front::knee(&points);
    let mut shown = vec![0, points.len() - 1];
    shown.extend(knee);
    shown.sort_unstable();
    for k in shown {
        let u = &points[k].u;
        let known = found.places.iter().any(|p| p.iter().zip(u).all(|(a, b)| (a - b).abs() < 1e-4));
        if !known {
            found.places.push(u.clone());
        }
    }
    found.front = Some(SizeFront {
        wishes: pair,
        points: points
            .iter()
            .map(|p| SizeFrontPoint { values_si: o.values(&p.u), readings_si: p.readings, rate_si: p.rate })
            .collect(),
        knee,
    });
    found
}

/// What was read on the grid, for figures.
fn scan(ask: &Ask, o: &mut Oracle<'_>, grid: &Grid) -> SizeScan {
    let n = ask.vary.len();
    if n > 2 {
        return SizeScan { axes_si: Vec::new(), readings_si: Vec::new() };
    }
    // A line shows everything that was read along it; a map its grid.
    let rows: Vec<(Vec<f64>, oracle::Row)> = if n == 1 {
        o.everything()
    } else {
        grid.places.iter().map(|u| o.values(u)).zip(grid.rows.iter().cloned()).collect()
    };
    let axes_si = if n == 1 {
        vec![rows.iter().map(|r| r.0[0]).collect()]
    } else {
        (0..n)
            .map(|i| (0..grid.count).map(|k| ask.vary[i].at(k as f64 / (grid.count - 1) as f64)).collect())
            .collect()
    };
    let readings_si =
        (0..ask.wishes.len()).map(|w| rows.iter().map(|r| r.1[w].as_ref().ok().copied()).collect()).collect();
    SizeScan { axes_si, readings_si }
}
