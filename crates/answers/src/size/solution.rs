//! A place that solves it, told: rounded as it is written, read, asked about anew, with its slopes and what they allow.

use calotte_chance::binomial;
use calotte_solve::wish::dense;

use super::ask::{Ask, Wanted, Wish};
use super::oracle::{Forward, Oracle, around, slopes};
use super::report::{SizeDrawn, SizeReading, SizeSolution};

/// A miss up to this share of what counts as one is rounding (limits are aimed at a little inside).
const ROUNDING: f64 = 1e-2;
/// Largest difference between solver and forward question, in shares of what counts as a miss.
const AGREE: f64 = 0.1;
/// A reading this close to an end, in shares of what counts as a miss, stands at it.
const AT_END: f64 = 0.02;

/// Distance of the differences of slopes, in shares of the ranges.
const DIFFERENCE: f64 = 1e-3;

/// Checks all places. `None` says that the watch stopped it; a place of which there is nothing left after rounding is a doubt.
pub(super) fn check_all(
    ask: &Ask,
    oracle: &mut Oracle<'_>,
    places: &[Vec<f64>],
    doubts: &mut Vec<String>,
) -> Option<Vec<SizeSolution>> {
    let rounded =
        |u: &Vec<f64>| ask.vary.iter().zip(u).map(|(v, u)| v.rounded(v.at(*u))).collect::<Vec<f64>>();
    let values: Vec<Vec<f64>> = places.iter().map(rounded).collect();
    let rows = oracle.rows_at(&values);
    let mut kept: Vec<(Vec<f64>, Vec<f64>)> = Vec::new();
    for (values, row) in values.into_iter().zip(rows) {
        match row.into_iter().map(Result::ok).collect::<Option<Vec<f64>>>() {
            Some(solver) => kept.push((values, solver)),
            None => doubts.push("A solution is lost when its numbers are rounded to six digits.".to_owned()),
        }
    }
    // All neighbours at once, for the slopes.
    let near = |(v, _): &(Vec<f64>, Vec<f64>)| around(&shares(ask, v), DIFFERENCE);
    oracle.rows(&kept.iter().flat_map(near).collect::<Vec<_>>());
    if oracle.stopped {
        return None;
    }
    let parts: Vec<Vec<f64>> = kept.iter().map(|k| k.0.clone()).collect();
    let forward = oracle.source().forward(&parts, oracle.watch())?;
    kept.into_iter()
        .zip(forward)
        .map(|((values, solver), forward)| check(ask, oracle, values, &solver, &forward, doubts))
        .collect()
}

/// Where values lie in their ranges, in shares.
fn shares(ask: &Ask, values: &[f64]) -> Vec<f64> {
    ask.vary.iter().zip(values).map(|(v, x)| v.share(*x)).collect()
}

/// Checks one place; `None` when stopped.
fn check(
    ask: &Ask,
    oracle: &mut Oracle<'_>,
    values: Vec<f64>,
    solver: &[f64],
    forward: &[Forward],
    doubts: &mut Vec<String>,
) -> Option<SizeSolution> {
    let at = shares(ask, &values);
    // Slopes per SI unit of each number.
    let per_share = slopes(oracle, &at, DIFFERENCE);
    let slope: Vec<Vec<f64>> = per_share
        .iter()
        .map(|s| s.iter().zip(ask.vary.iter().zip(&values)).map(|(s, (v, x))| s / v.stretch(*x)).collect())
        .collect();
    let at_limit: Vec<i8> =
        at.iter().map(|x| if *x <= 1e-6 { -1 } else { i8::from(*x >= 1.0 - 1e-6) }).collect();
    let which = doubts.len();
    let place = words_of(ask, &values);
    let mut readings = Vec::new();
    for (i, (w, f)) in ask.wishes.iter().zip(forward).enumerate() {
        let drawn = if w.share.is_some() {
            let [meet, unread] = oracle.source().draw(&values, i, ask.draws, oracle.watch())?;
            let [low, high] = binomial::interval(meet as u64, ask.draws as u64, 0.95);
            Some(SizeDrawn { parts: ask.draws, meet, unread, share_low: low, share_high: high })
        } else {
            None
        };
        readings.push(reading(w, solver[i], f, drawn, &slope[i], &place, doubts));
    }
    prices(ask, &mut readings, &at_limit);
    let here: Vec<f64> = ask.vary.iter().map(|v| v.share(v.here)).collect();
    let distance = at.iter().zip(&here).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt();
    let keeps_si = (0..ask.vary.len()).map(|j| keeps(ask, &readings, j)).collect();
    let confirmed = doubts.len() == which && readings.iter().all(|r| r.met);
    Some(SizeSolution {
        values_si: values,
        at_limit,
        readings,
        keeps_si,
        distance,
        confirmed,
        case_toml: None,
    })
}

fn words_of(ask: &Ask, values: &[f64]) -> String {
    let one =
        |(v, x): (&super::ask::Varied, &f64)| format!("{} = {}", v.key, super::words::value(&v.scale, *x));
    ask.vary.iter().zip(values).map(one).collect::<Vec<_>>().join(", ")
}

/// Compares solver and forward question.
fn reading(
    w: &Wish,
    solver: f64,
    f: &Forward,
    drawn: Option<SizeDrawn>,
    slopes: &[f64],
    place: &str,
    doubts: &mut Vec<String>,
) -> SizeReading {
    let unit = if w.is_objective() { 0.01 * solver.abs() } else { w.unit() };
    for d in &f.doubts {
        doubts.push(format!("At {place}, {} says: {d}", f.question));
    }
    let forward = match &f.value {
        Ok(v) => Some(*v),
        Err(why) => {
            doubts.push(format!("At {place}, {} gives no number for “{}”: {why}.", f.question, w.text));
            None
        }
    };
    let met = |v: f64| w.miss(v) <= ROUNDING * unit;
    let mut good = met(solver) && forward.is_none_or(met);
    if let (Some(v), None) = (forward, w.share) {
        // A wait without end is read as a long one.
        let like = f.like.unwrap_or(v);
        let apart = if v.is_infinite() && solver > 0.0 { 0.0 } else { (like - solver).abs() };
        if apart > AGREE * unit || !met(v) {
            doubts.push(format!(
                "At {place}, the solver reads {} for “{}”, {} says {}.",
                super::words::value(&w.scale, solver),
                w.text,
                f.question,
                super::words::value(&w.scale, v)
            ));
            good = false;
        }
    }
    if let (Some(d), Some(share)) = (&drawn, w.share)
        && d.share_high < share
    {
        doubts.push(format!(
            "At {place}, {} of {} parts drawn meet “{}”: fewer than wished (95 % limits {:.1} % and {:.1} %).",
            d.meet,
            d.parts,
            w.text,
            100.0 * d.share_low,
            100.0 * d.share_high
        ));
        good = false;
    }
    let [low, high] = w.ends();
    let slack = (!w.is_objective()).then(|| (solver - low).min(high - solver));
    let binds = w.is_equal() || slack.is_some_and(|s| s <= AT_END * unit);
    SizeReading {
        solver_si: solver,
        forward_si: forward.filter(|v| v.is_finite()),
        forward: f.question.to_owned(),
        slack_si: slack,
        met: good,
        binds,
        price_si: None,
        slopes_si: slopes.to_vec(),
        drawn,
    }
}

/// Differences between solver and forward question in shares of what counts as a miss.
pub(super) fn differences(ask: &Ask, s: &SizeSolution) -> Vec<f64> {
    let one = |(w, r): (&Wish, &SizeReading)| {
        let unit = if w.is_objective() { 0.01 * r.solver_si.abs() } else { w.unit() };
        r.forward_si.filter(|_| w.share.is_none()).map(|v| (v - r.solver_si).abs() / unit)
    };
    ask.wishes.iter().zip(&s.readings).filter_map(one).collect()
}

/// What the ends that bind cost the wish for the smallest or largest: ∇f = Σ pᵢ ∇cᵢ over the numbers that are free, by least squares.
fn prices(ask: &Ask, readings: &mut [SizeReading], at_limit: &[i8]) {
    let objectives: Vec<usize> = (0..ask.wishes.len()).filter(|i| ask.wishes[*i].is_objective()).collect();
    let [f] = objectives[..] else { return };
    let binding: Vec<usize> = (0..readings.len()).filter(|i| *i != f && readings[*i].binds).collect();
    if binding.is_empty() {
        return;
    }
    // Per share of the ranges, so that numbers of different units count alike.
    let scaled = |i: usize| -> Vec<f64> {
        let free =
            |(s, (v, l)): (&f64, (&super::ask::Varied, &i8))| if *l == 0 { s * (v.to - v.from) } else { 0.0 };
        readings[i].slopes_si.iter().zip(ask.vary.iter().zip(at_limit)).map(free).collect()
    };
    let goal = scaled(f);
    let rows: Vec<Vec<f64>> = binding.iter().map(|i| scaled(*i)).collect();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let gram = rows.iter().map(|a| rows.iter().map(|b| dot(a, b)).collect()).collect();
    let right = rows.iter().map(|a| dot(a, &goal)).collect();
    if let Some(p) = dense::solve(gram, right) {
        for (i, p) in binding.iter().zip(p) {
            readings[*i].price_si = Some(p).filter(|p| p.is_finite());
        }
    }
}

/// Largest half-width of one number with which every wish is still met, to first order.
fn keeps(ask: &Ask, readings: &[SizeReading], number: usize) -> Option<f64> {
    let one = |(w, r): (&Wish, &SizeReading)| {
        let slope = r.slopes_si[number];
        if slope == 0.0 || !slope.is_finite() {
            return None;
        }
        match w.wanted {
            Wanted::Smallest | Wanted::Largest => None,
            _ => r.slack_si.map(|s| s.max(0.0) / slope.abs()),
        }
    };
    ask.wishes.iter().zip(readings).filter_map(one).min_by(f64::total_cmp)
}
