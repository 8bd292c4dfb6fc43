//! What the memory of the material adds to a verdict: whether the part waits, how long, and the band in which it does.

use calotte_solve::Work;
use calotte_specimen::{HeldShape, MemoryTerm, Motion, Part, Rim};

use crate::release::{Rest, Resting, protocol_words, rest_after};
use crate::report::{Verdict, VerdictReport, Wait};
use crate::scene::Scene;
use crate::subject::Subject;
use crate::threshold;

/// Share of the modulus lost at constant strain in `hold` seconds.
pub(crate) fn loss(terms: &[MemoryTerm], hold: f64) -> f64 {
    // expm1 keeps the digits of short holds.
    -terms.iter().map(|m| m.share * libm::expm1(-hold / m.time)).sum::<f64>()
}

/// Terms of the memory at the temperature of the case, and the hold.
pub(crate) fn terms(motion: &Motion) -> Option<Vec<MemoryTerm>> {
    motion.memory.as_ref()?.at(motion.surroundings.temperature)
}

/// Threshold thickness (m) after the share `lag` of the stresses has relaxed in the mirror image.
pub(crate) fn lagging_threshold(part: &Part, lag: f64, work: &mut Work) -> Option<f64> {
    let scene = Scene::lagging(part, lag);
    let found = threshold::find(&scene, work).ok()?;
    Some(found.fold.t * scene.rim_thickness * scene.radius)
}

/// Adds the wait to a verdict whose elastic part is done, and turns `returns` into `waits` where the part rests.
pub(crate) fn add(subject: &dyn Subject, report: &mut VerdictReport) {
    let motion = subject.motion();
    let Some(terms) = terms(&motion) else {
        if motion.memory.is_some() {
            report.doubts.push(
                "The temperature lies outside the domain of the law that shifts the relaxation times, so the wait is not known."
                    .into(),
            );
            if report.verdict == Verdict::Returns {
                report.verdict = Verdict::Undecided;
            }
        }
        return;
    };
    let part = subject.part();
    let mut work = Work::default();
    let lost = loss(&terms, motion.hold.time);
    let whole = terms.iter().map(|m| m.share).sum();
    // A held slope keeps the part from its mirror image; bands are told for the others.
    let free = part.rim != Rim::Clamped && report.margin.is_some();
    let band = |lag: f64, work: &mut Work| if free { lagging_threshold(part, lag, work) } else { None };
    let mut wait = Wait {
        protocol: protocol_words(&motion),
        loss: lost,
        rests: match report.verdict {
            Verdict::Stays => Some(true),
            Verdict::Returns => Some(false),
            Verdict::Waits | Verdict::Undecided => None,
        },
        wait_s: None,
        band_from_m: report.margin.as_ref().map(|m| m.threshold_thickness_m),
        band_to_m: band(lost, &mut work),
        band_at_most_m: band(whole, &mut work),
    };
    if report.verdict == Verdict::Returns && report.inverted.is_none() {
        match rest_after(part, &motion, &mut work) {
            Ok((Resting { lost: Some(n), .. }, _)) => {
                report.doubts.push(format!(
                    "After the hold an equilibrium exists, but it gives way in {n} wave{} round the rim; how long that takes is not \
                     known.",
                    if n == 1 { "" } else { "s" }
                ));
                report.verdict = Verdict::Undecided;
            }
            Ok((Resting { rest: Rest::Ends(_), .. }, seconds)) => {
                wait.rests = Some(true);
                wait.wait_s = seconds;
                report.verdict = Verdict::Waits;
            }
            Ok((Resting { rest: Rest::None, .. }, _)) => {}
            Ok((Resting { rest: Rest::Unknown, .. }, _)) => {
                report.doubts.push(
                    "Whether an equilibrium exists after the hold, and when it ends, was not found.".into(),
                );
                report.verdict = Verdict::Undecided;
            }
            Ok((Resting { rest: Rest::Stays, .. }, _)) => {
                report.doubts.push(
                    "After the hold an equilibrium exists, but its end was not found; an elastic part of this thickness has none."
                        .into(),
                );
                report.verdict = Verdict::Undecided;
            }
            Err(fault) => {
                report.doubts.push(format!("How long it waits is not known: {fault}"));
                report.verdict = Verdict::Undecided;
            }
        }
    }
    if report.verdict == Verdict::Undecided {
        wait.rests = None;
    }
    if free && (wait.band_to_m.is_none() || wait.band_at_most_m.is_none()) {
        report.warnings.push(
            "Where the band of waiting ends was not found: no fold of the relaxed part was met at any thickness tried.".into(),
        );
    }
    // The band is that of the mirror image; another hold has another.
    if motion.hold.shape != HeldShape::Mirror && wait.band_to_m.is_some() {
        report.warnings.push(
            "The band of waiting is told for a hold of the exact mirror image; the case holds another shape, which the wait itself \
             takes into account."
                .into(),
        );
    }
    report.wait = Some(wait);
}
