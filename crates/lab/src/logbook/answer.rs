//! From a logbook to its report.

use std::sync::atomic::{AtomicBool, Ordering};

use calotte_answers::Watch;
use calotte_specimen::Case;

use super::belief::{Prior, Theta, Unknown, fixed};
use super::chain::Walk;
use super::posterior::{Posterior, Problem};
use super::record::{Logbook, Specimen};
use super::report::{
    AssumedReport, Correlation, CountReport, LogbookEvidence, LogbookReport, ScoresReport, SizeReport,
    Sought, SpecimenReport, TrialReport, Varied,
};
use super::score::scores;
use super::theory::{Heed, Theory, clock, half_width};
use super::{chances, compare, suggest, words};

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ask {
    /// Seed of the chains.
    pub seed: u64,
    /// Also which specimen to make next.
    pub next: bool,
    /// Threads.
    pub threads: usize,
}

/// Chance of what was seen below which it is told.
const SURPRISING: f64 = 0.05;
/// Steps of a histogram.
const STEPS: usize = 40;
/// R̂ and draws that chains must reach.
const MIXED: (f64, f64) = (1.03, 400.0);

/// Answers; `Ok(None)` when stopped.
///
/// # Errors
/// Words that say why the logbook's questions make no sense for the case.
pub fn logbook(
    case: &Case,
    book: &Logbook,
    ask: Ask,
    heed: Heed<'_>,
) -> Result<Option<LogbookReport>, String> {
    let stop = AtomicBool::new(false);
    let progress = |share: f64, words: &str| {
        if !heed(share, words) {
            stop.store(true, Ordering::Relaxed);
        }
    };
    let theory_steps = |_: usize| progress(0.2, "theory of the specimens");
    let watch = Watch { threads: ask.threads.max(1), stop: &stop, progress: &theory_steps };
    let Some(mut theory) = Theory::new(case, book, &watch, heed)? else { return Ok(None) };
    let described = theory.known();
    let mut known = described.clone();
    let mut priors = theory.priors();
    let mut posterior = None;
    let mut how = Walk { seed: ask.seed, ..Walk::default() };
    let mut rounds = 0;
    while !priors.is_empty() {
        let problem =
            Problem { specimens: &known, law: theory.law(), assumed: book.settings.assumed, priors: &priors };
        let words = if rounds == 0 { "numbers sought" } else { "numbers sought, again" };
        let steps = |done: usize| progress(0.4 + 0.1 * done as f64, words);
        let watch = Watch { threads: watch.threads, stop: &stop, progress: &steps };
        let Ok(found) = problem.posterior(&how, &watch) else { return Ok(None) };
        let Some(found) = found else {
            return Err("no value of the numbers sought makes the trials possible".into());
        };
        rounds += 1;
        if rounds == 1 {
            // Theory goes straight about walls that act as the trials ask for: loads bend much on the way there.
            let about = medians(&priors, Some(&found))[Unknown::Thickness as usize];
            if !theory.straighten(about, &watch) {
                return Ok(None);
            }
            known = theory.known();
            priors = theory.priors();
            continue;
        }
        let mixed = found.mixing.iter().all(|m| m.r_hat < MIXED.0 && m.effective > MIXED.1);
        posterior = Some(found);
        if mixed || rounds > 2 {
            break;
        }
        how = Walk { warm_up: 2 * how.warm_up, draws: 4 * how.draws, ..how };
    }
    let problem =
        Problem { specimens: &known, law: theory.law(), assumed: book.settings.assumed, priors: &priors };
    let fitted = medians(&priors, posterior.as_ref());
    let told =
        Told { theory: &theory, problem: &problem, described: &described, posterior: posterior.as_ref() };
    let specimens: Vec<SpecimenReport> = (0..book.specimens.len()).map(|i| told.specimen(i)).collect();
    let next = match posterior.as_ref().filter(|_| ask.next) {
        Some(p) => match suggest::suggest(
            &theory,
            &problem,
            p,
            &Watch { progress: &|_| progress(0.9, "what to make next"), ..watch },
        ) {
            Some(found) => found,
            None => return Ok(None),
        },
        None => None,
    };
    let scored = |of: fn(&TrialReport) -> Option<[f64; 3]>| {
        let waits = theory.table.is_some();
        let trials = book.specimens.iter().zip(&specimens).flat_map(|(s, r)| s.trials.iter().zip(&r.trials));
        let (forecast, seen): (Vec<_>, Vec<_>) =
            trials.filter_map(|(t, r)| Some((of(r)?, chances::class(t.outcome?, waits)))).unzip();
        scores(&forecast, &seen).map(|s| scores_report(&s, seen.len()))
    };
    let sought = posterior.as_ref().map_or_else(Vec::new, |p| sought(&priors, p));
    let mut report = LogbookReport {
        schema_version: 1,
        title: if book.settings.title.is_empty() { case.title.clone() } else { book.settings.title.clone() },
        family: case.title.clone(),
        lines: book.lines,
        lines_left_out: book.left_out,
        specimen_count: book.specimens.len(),
        trial_count: book.trials().count(),
        varied: varied(case, book),
        assumptions: Vec::new(),
        assumed: assumed(book),
        as_described: scored(|t| t.chances_as_described),
        from_the_others: scored(|t| t.chances_from_the_others),
        compared: compare::compare(&theory, &described, &known, &fitted),
        correlations: posterior.as_ref().map_or_else(Vec::new, |p| correlations(&priors, p)),
        sought,
        next,
        evidence: LogbookEvidence {
            seed: ask.seed,
            chains: how.chains,
            draws: posterior.as_ref().map_or(0, |p| p.draws.chains.first().map_or(0, Vec::len)),
            accepted: posterior.as_ref().map_or(0.0, |p| p.draws.accepted),
            evaluations: posterior.as_ref().map_or(0, |p| p.draws.evaluations),
            waits_computed: theory.table.as_ref().map_or(0, |t| t.computed),
            weight_shift: theory.table.as_ref().and_then(|t| t.weight),
            table_error: theory.table.as_ref().map(|t| t.error),
            shape_shift: theory
                .table
                .as_ref()
                .map(|t| t.specimens.iter().map(|s| s[1].abs()).fold(0.0, f64::max)),
            common_margin_sd: theory.common_sd,
        },
        specimens,
        explanation: Vec::new(),
        doubts: Vec::new(),
        warnings: Vec::new(),
    };
    words::say(&mut report, &theory);
    Ok(Some(report))
}

/// Medians of the numbers sought, the usual values of the others.
fn medians(priors: &[Prior], posterior: Option<&Posterior>) -> Theta {
    let mut theta = fixed();
    if let Some(p) = posterior {
        for (i, prior) in priors.iter().enumerate() {
            theta[prior.of as usize] = p.summary(i).quantiles[2];
        }
    }
    theta
}

/// What rows of the report are made of.
struct Told<'a> {
    theory: &'a Theory<'a>,
    problem: &'a Problem<'a>,
    /// Specimens about their sizes as read.
    described: &'a [super::likelihood::Known],
    posterior: Option<&'a Posterior>,
}

impl Told<'_> {
    fn specimen(&self, i: usize) -> SpecimenReport {
        let (theory, book) = (self.theory, self.theory.book);
        let s = &book.specimens[i];
        let margin = theory.specimens[i].margin.as_ref();
        let known = &self.problem.specimens[i];
        let counted = margin.is_ok() && !known.trials.is_empty();
        let weights =
            self.posterior.filter(|_| counted).and_then(|p| chances::without(i, known, self.problem, p));
        let trials = s.trials.iter().map(|t| self.trial(i, s, t, weights.as_deref())).collect();
        SpecimenReport {
            name: s.name.clone(),
            line: s.line,
            sizes: sizes(theory.case, book, s),
            margin: margin.ok().map(|m| m[0]),
            margin_by_thickness: margin.ok().map(|m| m[1]),
            margin_sd: margin.ok().map(|m| m[2]),
            no_margin: margin.err().cloned(),
            trials,
        }
    }

    fn trial(
        &self,
        i: usize,
        _: &Specimen,
        t: &super::record::Trial,
        weights: Option<&[f64]>,
    ) -> TrialReport {
        let (theory, set) = (self.theory, &self.theory.book.settings);
        let known = &self.problem.specimens[i];
        let clock = clock(theory.case, t.temperature);
        let watched = t.watched.unwrap_or(set.watched);
        let parted = [set.at_once / clock, watched.max(set.at_once) / clock];
        let seen = theory.seen(t).filter(|_| theory.specimens[i].margin.is_ok());
        let described = seen
            .as_ref()
            .map(|s| chances::of(i, &self.described[i], s.hold, parted, self.problem, &chances::described()));
        let others = seen
            .as_ref()
            .zip(self.posterior)
            .zip(weights)
            .map(|((s, p), w)| chances::weighted(i, known, s.hold, parted, self.problem, p, w));
        let class = t.outcome.map(|o| chances::class(o, theory.table.is_some()));
        let surprising = others.zip(class).is_some_and(|(p, c)| p[c] < SURPRISING);
        TrialReport {
            line: t.line,
            outcome: t.outcome.map(super::record::Outcome::word),
            hold_s: t.hold.unwrap_or(theory.case.motion().hold.time),
            temperature: t.temperature,
            wait_s: t.wait.map(|w| w.value),
            wait_half_width_s: t.wait.map(|w| w.half_width.unwrap_or(set.wait_error * w.value)),
            watched_s: watched,
            snap_time_s: t.snap_time.map(|s| s.value),
            chances_as_described: described,
            chances_from_the_others: others,
            surprising,
            when: t.when.clone(),
            note: t.note.clone(),
        }
    }
}

/// Sizes of a specimen for the report.
fn sizes(case: &Case, book: &Logbook, s: &Specimen) -> Vec<SizeReport> {
    let one = |(k, f): (&usize, &super::record::Figure)| {
        let (input, half) = (&case.inputs()[*k], half_width(case, *k, f));
        let shown = input.show(f.value, Some(half).filter(|h| *h > 0.0));
        SizeReport { key: input.key.clone(), value_si: f.value, half_width_si: half, shown }
    };
    book.keys.iter().zip(&s.sizes).map(one).collect()
}

fn varied(case: &Case, book: &Logbook) -> Vec<Varied> {
    let one = |(i, k): (usize, &usize)| {
        let values = book.specimens.iter().map(|s| s.sizes[i].value);
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        let input = &case.inputs()[*k];
        Varied {
            key: input.key.clone(),
            least_si: low,
            most_si: high,
            shown: [low, high].map(|v| input.show(v, None)),
        }
    };
    book.keys.iter().enumerate().map(one).collect()
}

fn assumed(book: &Logbook) -> AssumedReport {
    let s = &book.settings;
    AssumedReport {
        at_once_s: s.at_once,
        watched_s: s.watched,
        trial_scatter: s.assumed.trial_scatter,
        lapse: s.assumed.lapse,
        wait_error: s.wait_error,
        trip_error: s.trip_error,
        temperature_error: s.temperature_error,
    }
}

fn scores_report(s: &super::score::Scores, trials: usize) -> ScoresReport {
    let counts = super::record::Outcome::ALL.into_iter().zip(&s.counts);
    ScoresReport {
        trials,
        log_score: s.log_score,
        brier: s.brier,
        log_score_of_shares: s.base_rates[0],
        brier_of_shares: s.base_rates[1],
        counts: counts
            .map(|(o, c)| CountReport {
                outcome: o.word(),
                seen: c.seen,
                expected: c.expected,
                chance: c.chance,
            })
            .collect(),
    }
}

fn sought(priors: &[Prior], p: &Posterior) -> Vec<Sought> {
    priors
        .iter()
        .enumerate()
        .map(|(i, prior)| {
            let s = p.summary(i);
            let [low, high] = prior.bounds;
            // A twentieth of the way from an end is at that end.
            let near = 0.02 * (high - low);
            let reaches = match (s.quantiles[0] < low + near, s.quantiles[4] > high - near) {
                (true, true) => Some("both"),
                (true, false) => Some("lower"),
                (false, true) => Some("upper"),
                (false, false) => None,
            };
            let prior_sd = prior.normal.map_or((high - low) / 12f64.sqrt(), |n| n[1]);
            let values = p.sorted(i);
            let (first, last) =
                (values.first().copied().unwrap_or(low), values.last().copied().unwrap_or(high));
            let wide = ((last - first) / STEPS as f64).max(1e-12);
            let mut histogram = vec![0.0; STEPS];
            for v in &values {
                let k = (((v - first) / wide) as usize).min(STEPS - 1);
                histogram[k] += 1.0 / values.len() as f64;
            }
            Sought {
                name: prior.of.name(),
                words: prior.of.words(),
                prior: if prior.normal.is_some() { "normal" } else { "flat" },
                prior_bounds: prior.bounds.map(libm::exp),
                median: libm::exp(s.quantiles[2]),
                interval_95: [libm::exp(s.quantiles[0]), libm::exp(s.quantiles[4])],
                interval_68: [libm::exp(s.quantiles[1]), libm::exp(s.quantiles[3])],
                log_sd: s.sd,
                prior_log_sd: prior_sd,
                reaches,
                told: s.sd < 0.8 * prior_sd,
                r_hat: p.mixing[i].r_hat,
                effective_draws: p.mixing[i].effective,
                histogram,
                histogram_bounds: [libm::exp(first), libm::exp(last)],
            }
        })
        .collect()
}

fn correlations(priors: &[Prior], p: &Posterior) -> Vec<Correlation> {
    let mut out = Vec::new();
    for i in 0..priors.len() {
        for j in 0..i {
            let pair: [Unknown; 2] = [priors[j].of, priors[i].of];
            out.push(Correlation {
                one: pair[0].name(),
                other: pair[1].name(),
                correlation: p.correlation(j, i),
            });
        }
    }
    out
}
