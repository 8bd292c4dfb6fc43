//! Nothing meets all wishes: which one stands in the way, and by how much.

use super::ask::{Ask, Wish};
use super::oracle::Oracle;
use super::report::{SizeMiss, SizeObstacle, SizeRelaxation};
use super::space::{Exact, Goal, Grid, Search, all};

/// What was found, with the searches made, and a place that meets all wishes after all.
pub(super) struct Looked {
    pub(super) obstacle: SizeObstacle,
    pub(super) starts: usize,
    pub(super) undecided: usize,
    /// A place that the search had missed.
    pub(super) after_all: Option<Vec<f64>>,
}

/// Looks wish by wish how near it comes with the others kept, and for the part that misses all together by the least.
pub(super) fn look(ask: &Ask, oracle: &mut Oracle<'_>, grid: &Grid) -> Looked {
    let mut out = Looked {
        obstacle: SizeObstacle { rows: Vec::new(), culprit: None, nearest: None },
        starts: 0,
        undecided: 0,
        after_all: None,
    };
    let limits = |u: &[f64]| -> Vec<i8> {
        u.iter().map(|x| if *x <= 1e-6 { -1 } else { i8::from(*x >= 1.0 - 1e-6) }).collect()
    };
    for (i, wish) in ask.wishes.iter().enumerate().filter(|(_, w)| !w.is_objective()) {
        let mut row = SizeRelaxation {
            wish: i,
            best_si: None,
            short_si: None,
            values_si: Vec::new(),
            at_limit: Vec::new(),
            no_reading: oracle.nowhere(i),
        };
        if row.no_reading.is_none() {
            let search = Search { without: Some(i), ..Search::for_goal(Goal::Toward(i), Exact::Band) };
            let ends = all(oracle, grid, &search, &[]);
            out.starts += ends.starts;
            out.undecided += ends.undecided;
            if let Some(best) = ends.met.first() {
                let reading = oracle.row(&best.u)[i].as_ref().ok().copied();
                row.best_si = reading;
                row.short_si = reading.map(|r| wish.miss(r));
                row.values_si = oracle.values(&best.u);
                row.at_limit = limits(&best.u);
                if row.short_si == Some(0.0) {
                    out.after_all = Some(best.u.clone());
                }
            }
        }
        out.obstacle.rows.push(row);
    }
    let scaled = |r: &SizeRelaxation| {
        let wish: &Wish = &ask.wishes[r.wish];
        r.short_si.map(|s| s / wish.unit())
    };
    let nowhere = out.obstacle.rows.iter().find(|r| r.no_reading.is_some());
    out.obstacle.culprit = nowhere.map(|r| r.wish).or_else(|| {
        let rows = out.obstacle.rows.iter().filter_map(|r| Some((r.wish, scaled(r)?)));
        rows.min_by(|a, b| a.1.total_cmp(&b.1)).map(|r| r.0)
    });
    let ends = all(oracle, grid, &Search::for_goal(Goal::Nearest, Exact::Band), &[]);
    out.starts += ends.starts;
    if let Some(n) = ends.met.first() {
        out.after_all = Some(n.u.clone());
    }
    out.obstacle.nearest = ends.nearest.map(|n| {
        let readings: Vec<Option<f64>> = oracle.row(&n.u).into_iter().map(Result::ok).collect();
        let short_si = ask.wishes.iter().zip(&readings).map(|(w, r)| r.map(|r| w.miss(r))).collect();
        SizeMiss { values_si: oracle.values(&n.u), readings_si: readings, short_si, at_limit: limits(&n.u) }
    });
    out
}
