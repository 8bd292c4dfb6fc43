//! A batch in sentences.

use super::report::{BatchOutcome, BatchReport, BatchShare};
use super::{ANEW, DOUBTED};
use crate::explain::digits;

/// A share in words with its interval.
pub fn share_words(s: &BatchShare) -> String {
    let surface = if s.surface_error > 0.0 {
        format!("; {} more or less by the approximation", percent(s.surface_error))
    } else {
        String::new()
    };
    format!("{} (95 % interval {} to {}{surface})", percent(s.share), percent(s.low), percent(s.high))
}

/// A share in per cent, as close to 100 as it is.
pub fn percent(share: f64) -> String {
    if share > 0.9 && share < 1.0 {
        let missing = digits(100.0 * (1.0 - share), 2);
        let places = missing.split_once('.').map_or(0, |m| m.1.len());
        return format!("{:.places$} %", 100.0 * share);
    }
    format!("{} %", digits(100.0 * share, 3))
}

pub(super) fn say(r: &mut BatchReport, wanted: bool, fault: Option<&str>) {
    let mut out = Vec::new();
    out.push(format!("Of {} drawn parts {} are good: {}.", r.drawn, share_words(&r.good), r.good_means));
    if let Some(v) = &r.verdicts {
        let waits =
            v.waits.map_or(String::new(), |w| format!("{} wait a while and return, ", percent(w.share)));
        out.push(format!(
            "Turned inside out, {} stay, {waits}{} return.",
            percent(v.stays.share),
            percent(v.returns.share)
        ));
    }
    for w in &r.windows {
        let mut misses = Vec::new();
        for (share, what) in
            [(w.below, "lie below"), (w.above, "lie above"), (w.nowhere, "do not do that at all")]
        {
            if share > 0.0 {
                misses.push(format!("{} {what}", percent(share)));
            }
        }
        let misses = if misses.is_empty() { String::new() } else { format!("; {}", misses.join(", ")) };
        out.push(format!(
            "Of the window of the {}: {} lie inside{misses}.",
            w.gauge,
            percent(w.inside.share)
        ));
    }
    if let Some(g) = r.gauges.first()
        && let Some(i) = g.indices.first()
    {
        out.push(format!(
            "What makes parts differ most in their {} is `{}`: it alone is {} of the variance, with all it shares {}.",
            g.gauge,
            i.inputs.join("` with `"),
            percent(i.first.max(0.0)),
            percent(i.total.max(0.0))
        ));
    }
    if let Some(t) = r.tightening.first().filter(|t| t.saved > 2.0 * t.saved_error && t.saved > 0.0) {
        let of =
            t.of_failing.map_or(String::new(), |f| format!(", {} of those that are not good", percent(f)));
        out.push(format!(
            "Tighten `{}` first: half its tolerance would save {} of all parts{of}.",
            t.input,
            percent(t.saved)
        ));
    }
    if let Some(w) = &r.want {
        let goal = percent(w.wanted);
        out.push(match (w.met, w.all) {
            (true, _) => format!("The tolerances as they are give the {goal} that are wanted."),
            (false, Some(f)) => format!("For {goal} good parts all tolerances together must be {} of what they are.", percent(f)),
            (false, None) => format!(
                "No tolerances give {goal} good parts: the middle itself lies wrong. Move the numbers, not the tolerances."
            ),
        });
    }
    let w = &r.waves;
    if r.verdicts.is_some() || r.gauges.iter().any(|g| g.gauge.starts_with("trip")) {
        out.push(if w.first == 0 {
            format!(
                "Waves round the axis were counted at each of the {} parts computed exactly, {} corners of the tolerances among them: \
                 nowhere do they come first.",
                w.parts, w.corners
            )
        } else {
            let n: Vec<String> = w.n.iter().map(u32::to_string).collect();
            format!(
                "Of the {} parts computed exactly {} are lost in waves round the axis first (n = {}): their readings are those of the \
                 waves.",
                w.parts,
                w.first,
                n.join(", ")
            )
        });
    }
    r.explanation = out;
    if !r.method.surface {
        r.warnings.push(format!(
            "Every part was computed exactly, {} instead of {}: {}.",
            r.drawn, r.asked, r.method.why_not
        ));
        r.warnings.push(
            "Without an approximation there are no indices, and nothing says what to tighten first."
                .to_owned(),
        );
        if wanted {
            r.warnings
                .push("The tolerances for a wanted share were not sought for the same reason.".to_owned());
        }
    }
    if r.unknown.share > 0.0 {
        let why = fault.map_or(String::new(), |f| format!(" ({f})"));
        let says = format!(
            "{} of the parts could not be judged{why}; they count as not good.",
            percent(r.unknown.share)
        );
        if r.unknown.share > DOUBTED { r.doubts.push(says) } else { r.warnings.push(says) }
    }
    if r.good.surface_error > DOUBTED {
        r.doubts.push(format!(
            "{} of the parts lie too near to an edge for the approximation and were not computed exactly.",
            percent(r.good.surface_error)
        ));
    }
    if r.method.anew_difference > ANEW {
        r.doubts.push(if r.method.anew_difference.is_finite() {
            format!(
                "Computed anew, a reading differs from the followed one by {} of its deviation.",
                digits(r.method.anew_difference, 2)
            )
        } else {
            "Computed anew, a part does not do what was followed to it.".to_owned()
        });
    }
    r.warnings.push(
        "The shares are those of the distributions assumed: how a real batch varies is known from measured parts alone."
            .to_owned(),
    );
    if !r.doubts.is_empty() {
        r.outcome = BatchOutcome::Undecided;
    }
}
