//! The band in which a relaxed part waits: its ends as curves over the map.

use calotte_solve::Work;
use calotte_specimen::HeldShape;

use super::report::{MapReport, WaitingCurves};
use super::trace::Window;
use super::{Chart, SCAN, curve, curves_from, doubt_curves, log_margin, starts};
use crate::waiting::{loss, terms};

/// Adds the ends of the band for the hold of the case and for one without end; nothing without a memory.
pub(super) fn add(chart: &Chart<'_>, window: Window, report: &mut MapReport, work: &mut Work) {
    let motion = chart.subject.motion();
    let Some(own) = terms(&motion) else { return };
    for (hold, wholly) in [("as held", false), ("relaxed", true)] {
        let lost = loss(&own, if wholly { f64::INFINITY } else { motion.hold.time });
        if !wholly && lost <= 0.0 && chart.axes.iter().all(|a| !a.key.starts_with("hold.")) {
            continue;
        }
        // Hold and memory at a place are those of its numbers.
        let lag = |p: [f64; 2]| {
            let there = chart.motion(p.map(libm::exp))?;
            Some(loss(&terms(&there)?, if wholly { f64::INFINITY } else { there.hold.time }))
        };
        let mut scan = vec![vec![None; SCAN]; SCAN];
        for (c, column) in scan.iter_mut().enumerate() {
            for (r, cell) in column.iter_mut().enumerate() {
                let place = window.place([c as f64, r as f64], SCAN);
                *cell = lag(place).and_then(|l| log_margin(&chart.at(place)?.0, l, work));
            }
        }
        let begins = starts(&scan, 0.0);
        let found = curves_from(chart, window, &begins, (1.0, &lag), report, work);
        let name = format!("end of the band of waiting ({hold})");
        doubt_curves(&name, begins.is_empty(), &found, &mut report.doubts);
        let curves = found.iter().map(|t| curve(t, &mut report.evidence)).collect();
        report.waiting.push(WaitingCurves { hold: hold.to_owned(), loss: lost, curves });
    }
    if motion.hold.shape != HeldShape::Mirror {
        report.warnings.push(
            "The band of waiting is told for holds of the exact mirror image; the case holds another shape."
                .into(),
        );
    }
}

/// What the band means.
pub(super) fn say(r: &mut MapReport) {
    for w in r.waiting.iter().filter(|w| !w.curves.is_empty()) {
        r.explanation.push(format!(
            "Beyond the threshold and up to the curve {} a part held as its mirror image waits: its material has then lost {} % of \
             its modulus, and remembers the inverted shape a while.",
            if w.hold == "relaxed" { "of a hold without end" } else { "of the hold of the case" },
            crate::explain::digits(100.0 * w.loss, 3)
        ));
    }
}
