//! Why the wait differs from try to try: its spread from the tolerances of the case, and what matters most.

use calotte_solve::Work;

use super::curves::{Quantile, WaitSensitivity, WaitSpread};
use super::hold_curve::settled_wait;
use super::setup::{Fault, Setup};
use crate::draws::{changes, hypercube, loose};
use crate::explain::{digits, duration};
use crate::many::{Watch, each};
use crate::subject::Subject;

/// Shares whose quantiles are told.
const SHARES: [f64; 7] = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95];

/// What one draw does.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Draw {
    Rests(f64),
    AtOnce(f64),
    Stays,
    Unknown,
}

impl Draw {
    /// The wait; infinite for ever, NaN for unknown.
    fn wait(self) -> f64 {
        match self {
            Self::Rests(t) | Self::AtOnce(t) => t,
            Self::Stays => f64::INFINITY,
            Self::Unknown => f64::NAN,
        }
    }
}

/// The spread of the wait over `count` draws. Inputs with tolerances vary independently and normally, their tolerance
/// taken as two standard deviations and cut off there; draws fill the range of each input evenly (a Latin hypercube,
/// McKay, Beckman & Conover 1979, Technometrics 21, 239) and are the same every time. `None` when stopped.
///
/// # Errors
/// [`Fault`] when the question makes no sense for the part as given, or nothing has a tolerance.
pub fn wait_spread(
    subject: &dyn Subject,
    count: usize,
    watch: &Watch<'_>,
) -> Result<Option<WaitSpread>, Fault> {
    let givens = subject.givens();
    let loose = loose(&givens, &["load."]);
    if loose.is_empty() {
        return Err(Fault::Hold(
            "no number of the case has a tolerance, so the wait has no spread: write for example `time = \"5 ± 1 s\"`".into(),
        ));
    }
    // The part as given first: a fault there is told.
    let nominal = draw(subject, &[])?;
    let plan = hypercube(count, loose.len());
    // After the draws, the two ends of each input alone.
    let ends = 2 * loose.len();
    let found = each(count + ends, watch, |k| {
        let changes = if k < count {
            changes(&loose, &plan[k])
        } else {
            let (i, g, h) = loose[(k - count) / 2];
            vec![(i, if (k - count).is_multiple_of(2) { g.value - h } else { g.value + h })]
        };
        draw(subject, &changes).unwrap_or(Draw::Unknown)
    });
    let Some(found) = found else { return Ok(None) };
    let (draws, ends) = found.split_at(count);
    let share = |f: fn(&Draw) -> bool| draws.iter().filter(|d| f(d)).count() as f64 / count as f64;
    let mut known: Vec<f64> = draws.iter().map(|d| d.wait()).filter(|w| !w.is_nan()).collect();
    known.sort_by(f64::total_cmp);
    let quantile = |share: f64| {
        let at = (share * known.len() as f64).ceil().max(1.0) as usize - 1;
        Some(Quantile { share, wait_s: known.get(at).copied().filter(|w| w.is_finite()) })
    };
    let quantiles =
        if known.is_empty() { Vec::new() } else { SHARES.iter().filter_map(|s| quantile(*s)).collect() };
    let shares = shares(&plan, draws);
    let mut sensitivities: Vec<WaitSensitivity> = loose
        .iter()
        .enumerate()
        .map(|(j, (_, g, h))| {
            let [low, high] = [ends[2 * j].wait(), ends[2 * j + 1].wait()];
            let slope = libm::log(high / low) / libm::log((g.value + h) / (g.value - h));
            WaitSensitivity {
                input: g.key.clone(),
                relative_slope: Some(slope).filter(|s| s.is_finite() && g.value.abs() > *h),
                at_low_s: Some(low).filter(|w| w.is_finite()),
                at_high_s: Some(high).filter(|w| w.is_finite()),
                share: shares[j],
            }
        })
        .collect();
    sensitivities.sort_by(|a, b| b.share.total_cmp(&a.share));
    let mut out = WaitSpread {
        drawn: count,
        stay: share(|d| *d == Draw::Stays),
        wait: share(|d| matches!(d, Draw::Rests(_))),
        at_once: share(|d| matches!(d, Draw::AtOnce(_))),
        unknown: share(|d| *d == Draw::Unknown),
        quantiles,
        waits: draws.iter().map(|d| d.wait()).collect(),
        sensitivities,
        words: Vec::new(),
    };
    out.words = say(subject, &out, nominal)?;
    Ok(Some(out))
}

fn draw(subject: &dyn Subject, changes: &[(usize, f64)]) -> Result<Draw, Fault> {
    let Some((part, motion)) = subject.moved(changes) else { return Ok(Draw::Unknown) };
    let p = settled_wait(&part, &motion, &mut Work::default())?;
    Ok(match (p.wait_s, p.rests, p.stays) {
        (_, _, true) => Draw::Stays,
        (Some(t), true, _) => Draw::Rests(t),
        (Some(t), false, _) => Draw::AtOnce(t),
        (None, _, _) => Draw::Unknown,
    })
}

/// Shares of the variance of the ranks of the waits: squares of the coefficients of their regression on the ranks of the
/// inputs, over the variance of the ranks. Those that stay rank above all.
fn shares(plan: &[Vec<f64>], draws: &[Draw]) -> Vec<f64> {
    let size = plan.first().map_or(0, Vec::len);
    let known: Vec<usize> = (0..draws.len()).filter(|i| !draws[*i].wait().is_nan()).collect();
    let n = known.len();
    if n < size + 3 {
        return vec![f64::NAN; size];
    }
    let ranks = |value: &dyn Fn(usize) -> f64| -> Vec<f64> {
        let mut order = known.clone();
        order.sort_by(|a, b| value(*a).total_cmp(&value(*b)));
        let mut out = vec![0.0; draws.len()];
        let mut i = 0;
        while i < n {
            // Equal values share their mean rank.
            let mut k = i;
            while k + 1 < n && value(order[k + 1]) == value(order[i]) {
                k += 1;
            }
            for o in &order[i..=k] {
                out[*o] = 0.5 * (i + k) as f64 / n as f64 - 0.5;
            }
            i = k + 1;
        }
        known.iter().map(|k| out[*k]).collect()
    };
    let y = ranks(&|i| draws[i].wait());
    let xs: Vec<Vec<f64>> = (0..size).map(|j| ranks(&|i| plan[i][j])).collect();
    let centred = |v: &[f64]| {
        let mean = v.iter().sum::<f64>() / n as f64;
        v.iter().map(|x| x - mean).collect::<Vec<f64>>()
    };
    let y = centred(&y);
    let xs: Vec<Vec<f64>> = xs.iter().map(|x| centred(x)).collect();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let total = dot(&y, &y);
    if total == 0.0 {
        return vec![0.0; size];
    }
    // Normal equations; inputs of a hypercube are nearly independent, so elimination without pivots is safe.
    let mut a: Vec<Vec<f64>> = (0..size)
        .map(|i| {
            let mut row: Vec<f64> = (0..size).map(|j| dot(&xs[i], &xs[j])).collect();
            row.push(dot(&xs[i], &y));
            row
        })
        .collect();
    for k in 0..size {
        for i in k + 1..size {
            let c = a[i][k] / a[k][k];
            for j in k..=size {
                a[i][j] -= c * a[k][j];
            }
        }
    }
    let mut beta = vec![0.0; size];
    for k in (0..size).rev() {
        let rest: f64 = (k + 1..size).map(|j| a[k][j] * beta[j]).sum();
        beta[k] = (a[k][size] - rest) / a[k][k];
    }
    (0..size).map(|j| beta[j] * beta[j] * dot(&xs[j], &xs[j]) / total).collect()
}

fn say(subject: &dyn Subject, s: &WaitSpread, nominal: Draw) -> Result<Vec<String>, Fault> {
    let mut out = vec![match nominal {
        Draw::Rests(t) => format!("As given, the part rests for {}.", duration(t)),
        Draw::AtOnce(t) => {
            format!("As given, the part does not rest: the snap begins after {}.", duration(t))
        }
        Draw::Stays => "As given, the part stays for ever.".to_owned(),
        Draw::Unknown => "As given, no wait was found for the part.".to_owned(),
    }];
    let percent = |x: f64| format!("{} %", digits(100.0 * x, 3));
    let mut parts = Vec::new();
    for (share, what) in [(s.wait, "rest a while"), (s.at_once, "do not rest"), (s.stay, "stay for ever")] {
        if share > 0.0 {
            parts.push(format!("{} {what}", percent(share)));
        }
    }
    out.push(format!("Of {} parts made and held within the tolerances, {}.", s.drawn, parts.join(", ")));
    let at = |share: f64| s.quantiles.iter().find(|q| q.share == share);
    if let (Some(a), Some(m), Some(b)) = (at(0.05), at(0.5), at(0.95)) {
        let told = |q: &Quantile| q.wait_s.map_or("for ever".to_owned(), duration);
        out.push(format!(
            "Nine in ten wait between {} and {}; half of them up to {}.",
            told(a),
            told(b),
            told(m)
        ));
    }
    if let Some(first) = s.sensitivities.first().filter(|f| f.share.is_finite()) {
        let mut line = format!(
            "What matters most is `{}` ({} of the variance of the ranks",
            first.input,
            percent(first.share)
        );
        line += &first.relative_slope.map_or(").".to_owned(), |k| {
            format!("; 1 % more of it changes the wait by {} %).", digits(k, 2))
        });
        out.push(line);
    }
    out.push(format!("Shares below about {} are noise of so many draws.", percent(2.0 / s.drawn as f64)));
    let (part, motion) = (subject.part(), subject.motion());
    let setup = Setup::new(part, &motion, &mut Work::default())?;
    if let Some(t) = setup.threshold_factor() {
        let d = setup.scene.own / t - 1.0;
        if d > 0.0 {
            out.push(format!(
                "The part lies {} % beyond its threshold. A relaxed part rests until the drift of its equilibrium has used \
                 up the distance to the fold; nearer to the threshold the drift is slower and has less and less to go on, so \
                 the wait grows without bound there, and a change of the thickness by a small share of the part is a large \
                 share of those {} %.",
                digits(100.0 * d, 3),
                digits(100.0 * d, 3)
            ));
        } else {
            out.push(format!(
                "The part lies {} % below its threshold: draws beyond it return, the others stay.",
                digits(-100.0 * d, 3)
            ));
        }
    }
    if s.unknown > 0.0 {
        out.push(format!(
            "For {} of the draws no wait was found; they are left out of the quantiles.",
            percent(s.unknown)
        ));
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draws::normal;

    /// From memory: 84.13 % of a normal distribution lie below one standard deviation; between the cuts at ±2 that is
    /// (0.841345 − 0.022750)/0.954500 of what is left.
    #[test]
    fn the_cut_normal_has_its_quantiles() {
        assert!(normal(0.5).abs() < 1e-12);
        assert!((normal((0.841_345 - 0.022_750) / 0.954_500) - 1.0).abs() < 1e-5);
        assert!(normal(1e-12) > -2.0 && normal(1.0 - 1e-12) < 2.0);
    }

    /// Closed form: every slice of every dimension holds one point; a wait that depends on one input alone gives it the
    /// whole variance of the ranks, and half on each of two that count alike.
    #[test]
    fn shares_of_known_waits_are_known() {
        let plan = hypercube(400, 3);
        for j in 0..3 {
            let mut slices: Vec<usize> = plan.iter().map(|p| (p[j] * 400.0) as usize).collect();
            slices.sort_unstable();
            assert!(slices.iter().enumerate().all(|(i, s)| i == *s));
        }
        let one: Vec<Draw> = plan.iter().map(|p| Draw::Rests(libm::exp(3.0 * p[1]))).collect();
        let s = shares(&plan, &one);
        assert!((s[1] - 1.0).abs() < 1e-9 && s[0] < 1e-6 && s[2] < 1e-6, "{s:?}");
        let two: Vec<Draw> = plan.iter().map(|p| Draw::Rests(p[0] + p[2])).collect();
        let s = shares(&plan, &two);
        // Ranks of a sum are not quite linear in ranks.
        assert!((s[0] - 0.5).abs() < 0.07 && (s[2] - 0.5).abs() < 0.07 && s[1] < 1e-2, "{s:?}");
    }
}
