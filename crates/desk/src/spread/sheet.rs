//! A batch in words.

use calotte_answers::explain::digits;
use calotte_answers::poke::words::quantity;
use calotte_answers::spread::report::{BatchGauge, BatchOutcome, BatchReport};
use calotte_answers::spread::words::{percent, share_words};
use calotte_specimen::Case;

use crate::sheet::Sheet;

/// A reading in words.
fn told(value: f64, unit: &str, gauge: &str) -> String {
    match unit {
        "" => digits(value, 4),
        "K" if gauge.ends_with("temperature") => format!("{} °C", digits(value - 273.15, 5)),
        "K" => format!("{} K", digits(value, 4)),
        unit => quantity(value, unit),
    }
}

pub(super) fn sheet(case: &Case, r: &BatchReport) -> Sheet {
    let head = match r.outcome {
        BatchOutcome::Answered => format!("{} GOOD", percent(r.good.share)),
        BatchOutcome::Undecided => "UNDECIDED".to_owned(),
    };
    let mut p = Sheet::new(&format!("{head}: {}", r.title));
    p.doubts(&r.doubts);
    p.list("The batch", &r.explanation);
    p.head("Shares");
    p.row("good", &share_words(&r.good));
    if let Some(v) = &r.verdicts {
        p.row("stay", &share_words(&v.stays));
        if let Some(w) = &v.waits {
            p.row("wait", &share_words(w));
        }
        p.row("return", &share_words(&v.returns));
    }
    for w in &r.windows {
        let end = |e: Option<f64>| e.map_or(String::new(), |e| told(e, &w.unit, &w.gauge));
        let name = format!("{} {} … {}", w.gauge, end(w.from_SI), end(w.to_SI));
        p.row(name.replace("  ", " ").trim_end(), &share_words(&w.inside));
    }
    if r.unknown.share > 0.0 {
        p.row("not known", &share_words(&r.unknown));
    }
    for g in &r.gauges {
        gauge(&mut p, g);
    }
    if !r.tightening.is_empty() && r.good.share < 1.0 {
        p.head("What half a tolerance would save");
        for t in &r.tightening {
            let of = t.of_failing.map_or(String::new(), |f| format!("; {} of those that fail", percent(f)));
            p.row(&t.input, &format!("{} ± {} of all{of}", percent(t.saved), percent(t.saved_error)));
        }
    }
    if let Some(w) = &r.want {
        p.head(&format!("Tolerances for {}", percent(w.wanted)));
        let factor =
            |f: Option<f64>| f.map_or("none does".to_owned(), |f| format!("{} of what it is", percent(f)));
        if w.met {
            p.row("as they are", "enough");
        } else {
            p.row("all together", &factor(w.all));
            for a in &w.alone {
                let input = case.inputs().iter().find(|i| i.key == a.input);
                let half = a
                    .half_width_SI
                    .zip(input)
                    .map_or(String::new(), |(h, i)| format!("; {}", i.show(i.value, Some(h))));
                p.row(&format!("{} alone", a.input), &format!("{}{half}", factor(a.factor)));
            }
        }
    }
    p.head("What varies");
    for i in &r.inputs {
        let input = case.inputs().iter().find(|c| c.key == i.input);
        let half = (i.half_width_SI > 0.0).then_some(i.half_width_SI);
        let value = input.map_or_else(|| digits(i.value_SI, 4), |c| c.show(c.value, half));
        let nothing = if i.matters { "" } else { "; changes nothing that is read" };
        p.row(&i.input, &format!("{value}, {}{nothing}", i.distribution));
    }
    for t in &r.together {
        p.row(&t.inputs.join(" with "), &format!("correlation {}", digits(t.correlation, 3)));
    }
    evidence(&mut p, r);
    p.list("Warnings", &r.warnings);
    p
}

fn gauge(p: &mut Sheet, g: &BatchGauge) {
    p.head(&format!("Spread of the {}", g.gauge));
    let say = |v: f64| told(v, &g.unit, &g.gauge);
    if let Some(v) = g.as_described_SI {
        p.row("as described", &say(v));
    }
    if let (Some(m), Some(d)) = (g.mean_SI, g.deviation_SI) {
        let d = if g.unit.is_empty() { digits(d, 3) } else { told(d, &g.unit, "") };
        p.row("mean and deviation", &format!("{}, {d}", say(m)));
    }
    let at = |share: f64| g.quantiles.iter().find(|q| q.share == share).map(|q| q.at_SI);
    if let (Some(a), Some(b)) = (at(0.025), at(0.975)) {
        p.row("middle 95 %", &format!("{} to {}", say(a), say(b)));
    }
    for i in g.indices.iter().filter(|i| i.total > 0.001) {
        p.row(
            &i.inputs.join(" with "),
            &format!(
                "{} of the variance alone (± {}), {} with all it shares (± {})",
                percent(i.first.max(0.0)),
                percent(i.first_error),
                percent(i.total),
                percent(i.total_error)
            ),
        );
    }
}

fn evidence(p: &mut Sheet, r: &BatchReport) {
    let m = &r.method;
    p.head("Evidence");
    p.row("drawn", &format!("{} parts, seed {}", r.drawn, r.seed));
    if m.surface {
        p.row(
            "approximation",
            &format!(
                "degree {}, {} terms, fitted to {} exact readings and held against {} others",
                m.degree, m.terms, m.fitted, m.held_out
            ),
        );
        for g in &r.gauges {
            if let Some(e) = g.surface_error_SI {
                let e = if g.unit.is_empty() { format!("{e:.1e}") } else { format!("{e:.1e} {}", g.unit) };
                p.row(&format!("error of the {}", g.gauge), &format!("below {e}"));
            }
        }
        p.row("near an edge", &format!("{} parts computed exactly", m.near));
    } else {
        p.row("approximation", "none: every part was computed exactly");
    }
    p.row(
        "computed anew",
        &format!("{} parts; they differ by {:.0e} of a deviation at most", m.anew, m.anew_difference),
    );
    p.row("assemblies", &r.work.assemblies.to_string());
}
