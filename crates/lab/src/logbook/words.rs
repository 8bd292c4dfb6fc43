//! Sentences about a logbook: what was assumed, what was found, what is doubtful.

use calotte_answers::explain::{digits, duration};

use super::belief::Unknown;
use super::report::{LogbookReport, ScoresReport, Sought};
use super::theory::Theory;

/// Chance below which counts or differences are told as a disagreement.
const DISAGREES: f64 = 0.01;
/// Difference of ln wait between table and theory that makes waits doubtful.
const COARSE: f64 = 0.15;

fn percent(x: f64) -> String {
    format!("{} %", digits(100.0 * x, 2))
}

fn named(r: &LogbookReport, u: Unknown) -> Option<&Sought> {
    r.sought.iter().find(|s| s.name == u.name())
}

/// Fills in assumptions, explanation, doubts and warnings.
pub(crate) fn say(r: &mut LogbookReport, theory: &Theory<'_>) {
    r.assumptions = assumptions(r, theory);
    r.explanation = explanation(r, theory);
    r.doubts = doubts(r, theory);
    r.warnings = warnings(r, theory);
}

fn assumptions(r: &LogbookReport, theory: &Theory<'_>) -> Vec<String> {
    let set = &theory.book.settings;
    let mut out = vec![
        "Tolerances and half-widths are two standard deviations of normal, independent errors.".to_owned(),
        "The margin ln(h*/h) of a specimen is that of its sizes as read, the wall taken as thick as the factor on the thickness makes \
         it, and a normal deviation by its sizes and the scatter of theory, the same in all its trials."
            .to_owned(),
        format!(
            "From try to try the margin of one specimen moves by {} (standard deviation). This is assumed, not sought (`trial_scatter` \
             in the logbook): no wait that was read tells a margin more closely than that. Were it larger, waits would tell less of the \
             memory and the intervals would be wider; were it smaller, narrower. Tries repeated with one specimen show how large it is.",
            percent(set.assumed.trial_scatter)
        ),
        format!("One line in {} was noted wrongly.", digits(1.0 / set.assumed.lapse.max(1e-9), 3)),
        format!(
            "A wait below {} is not noticed; where a line does not say how long one looked, it was {}.",
            duration(set.at_once),
            duration(set.watched)
        ),
    ];
    if let Some(by) = r.evidence.weight_shift.filter(|by| *by != 0.0) {
        out.push(format!(
            "The parts' weight, borne where they lie or are held, moves every margin by {}{}: found half-way through the band of the \
             case and taken to be the same for all.",
            if by < 0.0 { "-" } else { "+" },
            percent(by.abs())
        ));
    }
    let unstated = |f: fn(&super::record::Trial) -> Option<super::record::Figure>| {
        theory.book.trials().filter(|(_, t)| f(t).is_some_and(|f| f.half_width.is_none())).count()
    };
    for (n, what, error) in [
        (unstated(|t| t.wait), "waits", percent(set.wait_error)),
        (unstated(|t| t.trip_load), "trip loads", percent(set.trip_error)),
        (
            unstated(|t| t.trip_temperature),
            "trip temperatures",
            format!("{} K", digits(set.temperature_error, 2)),
        ),
        (
            unstated(|t| t.reset_temperature),
            "reset temperatures",
            format!("{} K", digits(set.temperature_error, 2)),
        ),
    ] {
        if n > 0 {
            out.push(format!("{n} of the {what} have no error of their own: ±{error} is taken."));
        }
    }
    for s in &r.sought {
        let [a, b] = s.prior_bounds;
        out.push(format!(
            "Held beforehand of {}: {} in its logarithm, from {} to {}.",
            s.name,
            if s.prior == "normal" { "normal" } else { "anything alike" },
            shown(s, a),
            shown(s, b)
        ));
    }
    if theory.table.is_some() {
        out.push(
            "Waits are those of the creep at rest, without inertia, from the moment the hand begins to let go; the memory's shares are multiplied by one factor, its times by another."
                .to_owned(),
        );
    }
    out
}

/// A value of a number sought, for people: factors as they are, scatters in per cent.
pub fn shown(s: &Sought, x: f64) -> String {
    let scatter = Unknown::named(s.name).is_some_and(Unknown::is_scatter);
    if scatter { percent(x) } else { digits(x, 4) }
}

fn explanation(r: &LogbookReport, theory: &Theory<'_>) -> Vec<String> {
    let mut out = Vec::new();
    if let Some(k) = named(r, Unknown::Thickness).filter(|k| k.told) {
        let off = k.median - 1.0;
        let clear = k.interval_95[0] > 1.0 || k.interval_95[1] < 1.0;
        let side = if off < 0.0 { "thinner" } else { "thicker" };
        out.push(if clear {
            format!(
                "The parts behave as if their walls were {} {side} than read. What shifts every threshold alike looks the same: a bias \
                 of the callipers, a swollen mould, a wrong Poisson ratio or radius.",
                percent(off.abs())
            )
        } else {
            "The walls act as thick as they were read, within the error.".to_owned()
        });
        if r.evidence.common_margin_sd > 0.0 {
            out.push(format!(
                "Numbers of the case that all specimens share have tolerances that move every margin by {} (standard deviation): so \
                 much of the factor on the thickness can come from them.",
                percent(r.evidence.common_margin_sd)
            ));
        }
    }
    if let Some(s) = named(r, Unknown::Scatter) {
        if s.reaches == Some("lower") || s.reaches == Some("both") {
            out.push("The sizes' tolerances explain which specimens stay; no scatter of theory beyond them is called for.".to_owned());
        } else {
            out.push(format!(
                "Beyond what the sizes explain, margins scatter about theory by {} ({} to {}).",
                percent(s.median),
                percent(s.interval_95[0]),
                percent(s.interval_95[1])
            ));
        }
    }
    match named(r, Unknown::Youngs) {
        Some(e) if e.told => out.push(format!(
            "Trip loads tell Young's modulus: {} times that of the case ({} to {}). Thresholds and waits do not depend on it.",
            digits(e.median, 3),
            digits(e.interval_95[0], 3),
            digits(e.interval_95[1], 3)
        )),
        Some(_) => {}
        None => out.push(
            "Nothing here tells Young's modulus: whether a part stays, and how long it waits, do not depend on it; trip loads would."
                .to_owned(),
        ),
    }
    for s in r.sought.iter().filter(|s| !Unknown::named(s.name).is_some_and(Unknown::is_scatter)) {
        if !s.told {
            out.push(format!(
                "The trials do not tell the {}: what was held beforehand is hardly narrowed.",
                s.words
            ));
        }
    }
    for c in r.correlations.iter().filter(|c| c.correlation.abs() > 0.8) {
        let words = |n: &str| Unknown::named(n).map_or("", Unknown::words);
        out.push(format!(
            "The {} and the {} are told together rather than each (correlation {}): one up goes with the other {}.",
            words(c.one),
            words(c.other),
            digits(c.correlation, 2),
            if c.correlation > 0.0 { "up" } else { "down" }
        ));
    }
    if let Some(best) = r.next.as_ref().and_then(|n| n.best.first()) {
        let sizes: Vec<String> = best.sizes.iter().map(|s| format!("{} {}", s.key, s.shown)).collect();
        let held = if theory.table.is_some() {
            format!(", held for {}", duration(best.hold_s))
        } else {
            String::new()
        };
        out.push(format!(
            "Make next: {}{held}. Its trial is worth {} bits on average; chances are {} that it returns, {} that it waits, {} that it stays.",
            sizes.join(", "),
            digits(best.bits, 2),
            percent(best.chances[0]),
            percent(best.chances[1]),
            percent(best.chances[2])
        ));
    }
    out
}

fn disagreements(s: &ScoresReport, of: &str, out: &mut Vec<String>) {
    for c in s.counts.iter().filter(|c| c.chance < DISAGREES) {
        out.push(format!(
            "{of}: {} of {} trials ended in `{}`, {} were expected (chance of this {}).",
            c.seen,
            s.trials,
            c.outcome,
            digits(c.expected, 3),
            digits(c.chance, 2)
        ));
    }
}

fn doubts(r: &LogbookReport, theory: &Theory<'_>) -> Vec<String> {
    let mut out = Vec::new();
    for s in &r.sought {
        if s.r_hat > 1.05 || s.effective_draws < 200.0 {
            out.push(format!(
                "The chains have not mixed for the {} (R̂ {}, {} independent draws): its interval is rough.",
                s.words,
                digits(s.r_hat, 3),
                digits(s.effective_draws, 2)
            ));
        }
    }
    if let Some(s) = &r.from_the_others {
        disagreements(s, "Even with the numbers sought", &mut out);
    }
    if r.evidence.table_error.is_some_and(|e| e > COARSE) {
        let e = r.evidence.table_error.unwrap_or(0.0);
        out.push(format!("The table of waits misses theory by {} in places.", percent(libm::expm1(e))));
    }
    if theory.table.as_ref().is_some_and(|t| t.weight.is_none()) {
        out.push("The parts' weight moves the part of the case out of its band of waiting; waits are those of weightless parts.".to_owned());
    }
    if let Some(why) = &theory.no_table {
        out.push(format!("No waits were computed: {why}. The trials are read as stays or returns alone."));
    }
    if let Some(k) = named(r, Unknown::Thickness).filter(|k| k.told && k.reaches.is_some()) {
        out.push(format!(
            "The interval of the effective thickness reaches the bound of what was held possible ({} to {}).",
            digits(k.prior_bounds[0], 3),
            digits(k.prior_bounds[1], 3)
        ));
    }
    out
}

fn warnings(r: &LogbookReport, theory: &Theory<'_>) -> Vec<String> {
    let mut out = Vec::new();
    if r.lines_left_out > 0 {
        let were = if r.lines_left_out == 1 { "was" } else { "were" };
        out.push(format!("{} of {} lines {were} left out; the faults were told.", r.lines_left_out, r.lines));
    }
    if let Some(n) = theory.table.as_ref().map(|t| t.unlikened).filter(|n| *n > 0) {
        out.push(format!(
            "For {n} specimen{} no wait of the own shape was found: waits are those of the shape of the case.",
            if n == 1 { "" } else { "s" }
        ));
    }
    if let Some(s) = &r.as_described {
        disagreements(s, "The theory as described", &mut out);
    }
    for c in r.compared.iter().filter(|c| c.chance < DISAGREES) {
        out.push(format!(
            "The {}s as described miss the readings by more than their errors (χ² {} for {}).",
            c.what,
            digits(c.chi_squared, 3),
            c.freedom
        ));
    }
    for s in &r.specimens {
        for t in s.trials.iter().filter(|t| t.surprising) {
            out.push(format!(
                "Specimen {}, line {}: `{}` surprises the others' theory.",
                s.name,
                t.line,
                t.outcome.unwrap_or("")
            ));
        }
        if let Some(why) = &s.no_margin
            && s.trials.iter().any(|t| t.outcome.is_some())
        {
            out.push(format!(
                "Specimen {}: no margin was found ({why}); its outcomes count for nothing.",
                s.name
            ));
        }
    }
    if theory.case.motion().memory.is_none()
        && theory.book.trials().any(|(_, t)| t.outcome == Some(super::record::Outcome::Waits))
    {
        out.push(
            "Parts waited, but the case has no `[memory]`: it is only used that they did not stay."
                .to_owned(),
        );
    }
    let unsure = r
        .specimens
        .iter()
        .flat_map(|s| &s.trials)
        .filter(|t| t.chances_as_described.is_some() && t.chances_from_the_others.is_none());
    let unsure = unsure.count();
    if unsure > 0 && !r.sought.is_empty() {
        out.push(format!("{unsure} trials weigh so much that they cannot be foretold from the others."));
    }
    out
}
