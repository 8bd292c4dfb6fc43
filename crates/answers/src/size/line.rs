//! One number that may change: every stretch of its range on which all wishes are met, and what is best on each.

use calotte_solve::wish::{Bracket, Line, Scan, together};

use super::ask::{Wanted, Wish};
use super::oracle::{Oracle, Row};
use super::space::badness;

/// Samples over the range.
pub(super) const SAMPLES: u32 = 25;
/// Width to which aims and limits are found, in shares of the range: less than rounding to six digits undoes.
const WITHIN: f64 = 1e-7;
/// The same for the ends of what will do about an aim, which only say how far a stretch goes.
const ENDS: f64 = 1e-4;
/// The same for borders.
const BORDER: f64 = 1e-6;

/// What was found on the line.
pub(super) struct OnLine {
    /// Stretches on which every wish is met, in shares of the range.
    pub(super) intervals: Vec<[f64; 2]>,
    /// Solutions, in shares of the range.
    pub(super) solutions: Vec<f64>,
}

/// Value near enough to an aim or a limit, in shares of what counts as a miss: solver and forward question may differ by more.
const ENOUGH: f64 = 1e-5;
/// The same for the ends of what will do about an aim.
const ENOUGH_AT_END: f64 = 1e-4;

/// One wish's reading over the share.
struct Of<'o, 'a> {
    oracle: &'o mut Oracle<'a>,
    wish: usize,
}

impl Line for Of<'_, '_> {
    fn values(&mut self, x: &[f64]) -> Vec<Option<f64>> {
        let rows = self.oracle.rows(&x.iter().map(|x| vec![*x]).collect::<Vec<_>>());
        rows.iter().map(|r| r[self.wish].as_ref().ok().copied()).collect()
    }
}

/// Scans and solves.
pub(super) fn solve(oracle: &mut Oracle<'_>) -> OnLine {
    let samples: Vec<f64> = (0..SAMPLES).map(|i| f64::from(i) / f64::from(SAMPLES - 1)).collect();
    let rows = oracle.rows(&samples.iter().map(|x| vec![*x]).collect::<Vec<_>>());
    // Ends of what every wish allows, and where it stands still: between two neighbours nothing changes from met to unmet.
    let mut marks: Vec<f64> = vec![0.0, 1.0];
    let mut aims: Vec<f64> = Vec::new();
    let equals = oracle.wishes.iter().filter(|w| w.is_equal()).count();
    // Brackets of all wishes, with the wish of each and whether it is about its aim.
    let mut brackets: Vec<Bracket> = Vec::new();
    let mut of: Vec<(usize, bool)> = Vec::new();
    for wish in 0..oracle.wishes.len() {
        let w = &oracle.wishes[wish];
        let objective = w.is_objective();
        let aim = match w.wanted {
            Wanted::Equal { aim, .. } => Some(aim),
            _ => None,
        };
        let levels: Vec<f64> = w.ends().into_iter().filter(|e| e.is_finite()).chain(aim).collect();
        let known: Vec<(f64, Option<f64>)> =
            samples.iter().zip(&rows).map(|(x, r)| (*x, r[wish].as_ref().ok().copied())).collect();
        let mut scan = Scan::new(&known);
        let f = &mut Of { oracle, wish };
        scan.borders(
            BORDER,
            &|near, last| objective || w.miss(last.1) == 0.0 || leads_to(&levels, near.1, last.1),
            f,
        );
        scan.extrema((!objective).then_some(&levels), WITHIN, f);
        for level in levels {
            let about = Some(level) == aim;
            let (within, enough) =
                if aim.is_some() && !about { (ENDS, ENOUGH_AT_END) } else { (WITHIN, ENOUGH) };
            let more = scan.brackets(level, within, enough * w.unit());
            of.extend(more.iter().map(|_| (wish, about)));
            brackets.extend(more);
        }
        for piece in &scan.pieces {
            let ends = [piece.samples.first(), piece.samples.last()];
            marks.extend(ends.into_iter().flatten().map(|p| p.0));
            if objective {
                // Standing points, as candidates for the best.
                let s = &piece.samples;
                marks.extend(
                    s.windows(3).filter(|w| (w[1].1 - w[0].1) * (w[2].1 - w[1].1) <= 0.0).map(|w| w[1].0),
                );
            }
        }
    }
    together(&mut brackets, &mut |asked| {
        let places: Vec<Vec<f64>> = asked.iter().map(|a| vec![a.1]).collect();
        let read = oracle.rows(&places);
        asked.iter().zip(&read).map(|((i, _), row)| row[of[*i].0].as_ref().ok().copied()).collect()
    });
    for (bracket, (_, about)) in brackets.iter().zip(&of) {
        if *about { &mut aims } else { &mut marks }.extend(bracket.root());
    }
    aims.sort_by(f64::total_cmp);
    aims.dedup_by(|a, b| (*a - *b).abs() < 2.0 * WITHIN);
    marks.extend(aims.iter().copied());
    marks.sort_by(f64::total_cmp);
    marks.dedup_by(|a, b| (*a - *b).abs() < 2.0 * WITHIN);
    let intervals = stretches(oracle, &marks);
    let solutions = intervals.iter().flat_map(|i| best(oracle, *i, &marks, &aims, equals)).collect();
    OnLine { intervals, solutions }
}

/// Whether the values near a border, from those of the nearest sample and of the last place, go on to a level.
fn leads_to(levels: &[f64], near: f64, last: f64) -> bool {
    let beyond = last + 2.0 * (last - near);
    levels.iter().any(|l| (l - last) * (l - beyond) <= 0.0)
}

/// Whether every wish is met; ends found as roots are, to their width.
fn met(oracle: &mut Oracle<'_>, x: f64) -> bool {
    let row = oracle.row(&[x]);
    meets(oracle.wishes, &row)
}

fn meets(wishes: &[Wish], row: &Row) -> bool {
    wishes.iter().zip(row).all(|(w, r)| r.as_ref().is_ok_and(|v| w.miss(*v) <= 1e-3 * w.unit()))
}

/// Stretches between marks on which every wish is met, joined; a lone mark that is met counts too.
fn stretches(oracle: &mut Oracle<'_>, marks: &[f64]) -> Vec<[f64; 2]> {
    // A place between two marks: one that is known already, or the middle.
    let v = &oracle.vary[0];
    let known: Vec<(f64, f64)> = oracle.everything().iter().map(|r| (v.share(r.0[0]), r.0[0])).collect();
    let between = |a: f64, b: f64| {
        let middle = 0.5 * (a + b);
        let inside = known.iter().filter(|k| k.0 > a + 0.1 * (b - a) && k.0 < b - 0.1 * (b - a));
        let nearest = inside.min_by(|x, y| (x.0 - middle).abs().total_cmp(&(y.0 - middle).abs()));
        nearest.map_or_else(|| v.at(middle), |k| k.1)
    };
    let middles: Vec<Vec<f64>> = marks.windows(2).map(|w| vec![between(w[0], w[1])]).collect();
    let between: Vec<bool> = oracle.rows_at(&middles).iter().map(|row| meets(oracle.wishes, row)).collect();
    let mut found: Vec<[f64; 2]> = Vec::new();
    for (i, mark) in marks.iter().enumerate() {
        if met(oracle, *mark) {
            match found.last_mut() {
                Some(last) if last[1] == *mark => {}
                _ => found.push([*mark, *mark]),
            }
        }
        if let Some(next) = marks.get(i + 1)
            && between[i]
        {
            match found.last_mut() {
                Some(last) if last[1] == *mark => last[1] = *next,
                _ => found.push([*mark, *next]),
            }
        }
    }
    found
}

/// The best places of one stretch.
fn best(oracle: &mut Oracle<'_>, i: [f64; 2], marks: &[f64], aims: &[f64], equals: usize) -> Vec<f64> {
    let inside = |x: &f64| *x >= i[0] && *x <= i[1];
    let objective = oracle.wishes.iter().any(super::ask::Wish::is_objective);
    if !objective && equals == 1 {
        let on: Vec<f64> = aims.iter().copied().filter(inside).collect();
        if !on.is_empty() {
            return on;
        }
    }
    if !objective && equals == 0 {
        // Nothing to choose by but how much has to change.
        let here = oracle.vary[0].share(oracle.vary[0].here);
        return vec![here.clamp(i[0], i[1])];
    }
    // Marks and places between them; the best of these, then its neighbourhood by thirds.
    let mut places: Vec<f64> = marks.iter().copied().filter(inside).collect();
    let between: Vec<f64> = places.windows(2).map(|w| 0.5 * (w[0] + w[1])).collect();
    places.extend(between);
    places.sort_by(f64::total_cmp);
    places.dedup();
    let value = |oracle: &mut Oracle<'_>, x: f64| {
        let row = oracle.row(&[x]);
        badness(oracle.wishes, &row, 1e-3)
    };
    let values: Vec<f64> = places.iter().map(|x| value(oracle, *x)).collect();
    let Some(k) = (0..places.len()).min_by(|a, b| values[*a].total_cmp(&values[*b])) else {
        return Vec::new();
    };
    let (mut a, mut b) = (places[k.saturating_sub(1)], places[(k + 1).min(places.len() - 1)]);
    let mut at = (places[k], values[k]);
    for _ in 0..24 {
        if b - a < 1e-6 {
            break;
        }
        let x = if at.0 - a > b - at.0 { 0.5 * (a + at.0) } else { 0.5 * (at.0 + b) };
        let v = value(oracle, x);
        if v < at.1 {
            if x < at.0 {
                b = at.0
            } else {
                a = at.0
            }
            at = (x, v);
        } else if x < at.0 {
            a = x;
        } else {
            b = x;
        }
    }
    vec![at.0]
}
