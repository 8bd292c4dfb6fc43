//! A release in words: protocol, definitions, explanation, cautions.

use calotte_solve::march::Stuck;
use calotte_specimen::{HeldShape, LetGo, Motion};

use super::answer::{Ask, Run};
use super::report::{Definition, MemoryTerm, Outcome, Protocol, ReleaseReport};
use super::setup::Setup;
use super::track::{Ended, Track};
use super::wait::Rest;
use crate::explain::{digits, duration, energy, frequency, length, limits_passed, speed};

/// Why the motion was followed no further.
pub(crate) fn ended(track: &Track, setup: &Setup, ask: &Ask) -> String {
    match track.ended {
        Ended::Followed => "all that was asked for was followed".into(),
        Ended::Spent => format!(
            "the {} steps allowed were spent: it rings on without resting (a ramp in letting go, or short relaxation \
             times in the memory, would quieten it)",
            ask.steps
        ),
        Ended::Stuck(Stuck::Shortest { t }) => {
            format!("no step short enough was found at {}", duration(t * setup.units.time))
        }
        Ended::Stuck(_) => "the wall folds over itself".into(),
        Ended::Stopped => "it was stopped".into(),
    }
}

/// How the part is turned, held and let go, in sentences. `folded`: it has no inverted equilibrium of its own.
fn told(motion: &Motion, folded: bool) -> Vec<String> {
    let hold = &motion.hold;
    let how = match &hold.shape {
        HeldShape::Mirror => "on a former of its mirror image".to_owned(),
        HeldShape::Inverted if folded => {
            "in the shape of the threshold (it has no inverted equilibrium of its own)".to_owned()
        }
        HeldShape::Inverted => "at its inverted equilibrium".to_owned(),
        HeldShape::Poke { travel } => {
            format!("by its pole, pushed {} from its natural place", length(*travel))
        }
        HeldShape::Flat => "pressed flat between two plates".to_owned(),
        HeldShape::Given(p) => format!("on a former given by {} points", p.len()),
    };
    vec![
        if hold.time > 0.0 {
            format!("Turned at once from its natural, relaxed state; held {how} for {}.", duration(hold.time))
        } else {
            format!("Turned at once from its natural, relaxed state {how}, and not held there.")
        },
        match hold.let_go {
            LetGo::Ramp(r) => {
                format!("Let go with a hand whose force falls smoothly to nothing in {}.", duration(r))
            }
            LetGo::AtOnce => "Let go at once.".to_owned(),
        },
    ]
}

/// The same for a part that returns.
pub(crate) fn hold_words(motion: &Motion) -> Vec<String> {
    told(motion, true)
}

pub(crate) fn protocol(setup: &Setup, run: &Run) -> Protocol {
    let (hold, around) = (&setup.motion.hold, &setup.motion.surroundings);
    let u = &setup.units;
    let name = match &hold.shape {
        HeldShape::Mirror => "mirror",
        HeldShape::Inverted => "inverted",
        HeldShape::Poke { .. } => "poke",
        HeldShape::Flat => "flat",
        HeldShape::Given(_) => "given",
    };
    let ramp = match hold.let_go {
        LetGo::Ramp(r) => r,
        LetGo::AtOnce => 0.0,
    };
    let folded = setup.threshold_factor().is_some_and(|t| setup.scene.own >= t);
    let mut words = told(&setup.motion, folded);
    let gravity = match around.gravity {
        0.0 => "no gravity".to_owned(),
        g => format!("gravity {} m/s²", digits(g, 4)),
    };
    words.push(match (setup.table, around.gravity) {
        (true, _) => format!("It lies with its rim on a table, the turned pole up; {gravity}."),
        (false, 0.0) => "It floats freely along its axis; no gravity.".to_owned(),
        (false, _) => format!("Nothing lies under it; {gravity} along its axis, towards the rim."),
    });
    if let Some(air) = around.air {
        words.push(format!(
            "Air of {} kg/m³ drags each ring of wall like a flat ring of its natural plan area (coefficient {}).",
            digits(air.density, 3),
            digits(air.drag, 3)
        ));
    }
    if around.damping > 0.0 {
        words.push(format!("A bath damps every motion at the rate {} 1/s.", digits(around.damping, 3)));
    }
    let memory: Vec<MemoryTerm> =
        setup.terms.iter().map(|m| MemoryTerm { share: m.share, time_s: m.time * u.time }).collect();
    words.push(if memory.is_empty() {
        "The material is elastic: it has no memory.".to_owned()
    } else {
        let terms: Vec<String> = memory
            .iter()
            .map(|m| format!("{} % in {}", digits(100.0 * m.share, 3), duration(m.time_s)))
            .collect();
        let at = around.temperature.map_or(String::new(), |k| format!(" at {} °C", digits(k - 273.15, 3)));
        format!("The material relaxes{at}: {}.", terms.join(", "))
    });
    Protocol {
        shape: name.to_owned(),
        hold_s: hold.time,
        ramp_s: ramp,
        rests: if setup.table { "table" } else { "nowhere" }.to_owned(),
        gravity_m_per_s2: around.gravity,
        temperature_K: around.temperature,
        memory,
        hand_force_N: run.hand * u.force,
        words,
    }
}

pub(crate) fn definitions() -> Vec<Definition> {
    let def = |word: &str, meaning: &str| Definition { word: word.to_owned(), meaning: meaning.to_owned() };
    vec![
        def(
            "way",
            "height of the pole over the rim, from the equilibrium in which the part rests after the hold (from the shape held, where there is none) to the natural shape",
        ),
        def(
            "wait",
            "from the moment the hand begins to let go until the snap begins: until the speed of the pole against the rim \
             last rises through a tenth of its peak, before the half",
        ),
        def("snap time", "from the end of the wait until nine tenths of the way are done"),
        def(
            "half-way time",
            "from the moment the hand begins to let go until pole and rim are at one height",
        ),
        def("peak speed", "largest speed of the pole against the rim before the end of the snap"),
        def(
            "creep wait",
            "how long the equilibrium lasts when inertia is left out; the part rests in it meanwhile",
        ),
        def(
            "energy available",
            "energy stored in wall and springs when the hand lets go; the natural state at rest has none",
        ),
        def("jump height", "largest rise of the centre of mass over its place when the hand lets go"),
    ]
}

pub(crate) fn say(r: &mut ReleaseReport, outcome: Outcome, rest: Rest, setup: &Setup) {
    let mut out = Vec::new();
    let margin = setup.threshold_factor().map(|t| setup.scene.own / t - 1.0);
    let beyond = |m: f64| {
        format!(
            "{} % {} its elastic threshold",
            digits(100.0 * m.abs(), 3),
            if m > 0.0 { "above" } else { "below" }
        )
    };
    match outcome {
        Outcome::Stays => {
            out.push("Let go, the part stays inverted.".into());
            if let Some(m) = margin {
                out.push(format!(
                    "Its wall is {}: an inverted equilibrium is left however far the material relaxes, because relaxing at \
                     constant Poisson ratio softens bending and stretching alike.",
                    beyond(m)
                ));
            }
        }
        Outcome::Returns | Outcome::Waits => {
            if let Some(s) = &r.snap {
                out.push(if outcome == Outcome::Waits {
                    format!(
                        "Let go, it rests for {} and then snaps back within {}.",
                        duration(s.wait_s),
                        duration(s.snap_time_s)
                    )
                } else {
                    format!(
                        "Let go, it gathers speed for {} and then snaps back within {}.",
                        duration(s.wait_s),
                        duration(s.snap_time_s)
                    )
                });
            }
            if let (Outcome::Waits, Some(m)) = (outcome, margin) {
                out.push(if m > 0.0 {
                    format!(
                        "Its wall is {}, so no equilibrium of the elastic part would hold it. While it was held, bending stresses \
                         relaxed: for a while the material remembers the inverted shape and an equilibrium exists. As it \
                         forgets, the equilibrium drifts towards its end; there nothing is left but inertia.",
                        beyond(m)
                    )
                } else {
                    format!(
                        "Its wall is {}, where the elastic part would stay; but what the material remembers of the hold \
                         pulls it out of the inverted equilibrium for a while, and it does not come back to it.",
                        beyond(m)
                    )
                });
            }
            if let (Outcome::Returns, Some(m)) = (outcome, margin) {
                out.push(match rest {
                    Rest::None if m > 0.0 => format!(
                        "Its wall is {}: there is no inverted equilibrium to rest in, and nothing but inertia delays it. Nearer \
                         to the threshold it would hesitate longer (the delay grows like the distance to the power −1/4 at last).",
                        beyond(m)
                    ),
                    _ if m > 0.0 => format!(
                        "Its wall is {}. What the material remembers of the hold leaves an equilibrium for a while, but let go from this \
                         hold the part runs past it.",
                        beyond(m)
                    ),
                    _ => format!(
                        "Its wall is {}, where an inverted equilibrium exists; but let go from this hold it runs past it.",
                        beyond(m)
                    ),
                });
            }
            if let Some(s) = &r.snap {
                let taken = r.energies.iter().find(|e| e.moment == "snapped").map_or(0.0, |e| -e.hand_J);
                let taken = if taken > 0.01 * s.energy_available_J {
                    format!(" ({} of it went back into the hand)", energy(taken))
                } else {
                    String::new()
                };
                out.push(format!(
                    "The pole reaches {} against the rim; {} of the {} stored{taken} is motion when the snap ends.",
                    speed(s.peak_speed_m_per_s),
                    energy(s.kinetic_energy_J),
                    energy(s.energy_available_J)
                ));
            }
        }
        Outcome::Undecided => {
            out.push("The motion was followed without an answer; the doubts say why.".into());
        }
    }
    if let Some(j) = &r.jump {
        out.push(format!(
            "It leaves the table at {} after {} and rises by {}{} (all its energy would lift it by {}).",
            speed(j.takeoff_speed_m_per_s),
            duration(j.takeoff_s),
            length(j.height_m),
            if j.height_marched { "" } else { ", as thrown" },
            length(j.height_bound_m)
        ));
    }
    if let Some(k) = &r.ringing {
        let own = r.scales.natural_frequency_Hz.filter(|_| outcome != Outcome::Stays);
        out.push(format!(
            "It rings at {}{}.",
            frequency(k.frequency_Hz),
            own.map_or(String::new(), |f| format!(
                " (lowest frequency of its natural shape: {})",
                frequency(f)
            ))
        ));
    }
    if r.outcome == Outcome::Undecided && outcome != Outcome::Undecided {
        out.insert(0, "The numbers below are doubtful, for the reasons given.".into());
    }
    r.explanation = out;
    r.warnings.extend(limits_passed(&r.evidence.limits));
    for s in r.sideways.iter().filter(|s| s.wins) {
        r.warnings.push(format!(
            "A sideways deflection with {} wave{} round the rim, {} when the hand is gone, outgrows the wall's thickness before the \
             snap ends: the real motion is then not round, and the times after that are those of a rounder part.",
            s.n,
            if s.n == 1 { "" } else { "s" },
            length(s.start_m)
        ));
    }
    if let Some(d) = r.evidence.speed_difference.filter(|d| *d > 1e-2) {
        r.warnings.push(format!(
            "The peak speed differs by {} % on a finer mesh: waves run together at the pole, where it is measured.",
            digits(100.0 * d, 2)
        ));
    }
    if r.evidence.deepest_contact > 0.25 {
        r.warnings.push(format!(
            "The table presses into the wall by {} of its thickness: the blow is harder than a thin wall can say.",
            digits(r.evidence.deepest_contact, 2)
        ));
    }
    let stored = r.energies.first().map_or(0.0, |e| e.elastic_J);
    r.warnings.push(format!(
        "When the hand lets go, the part stores {}; when it snaps it gives energy back within milliseconds: keep eyes and \
         faces clear, wear eye protection near stiff parts.",
        energy(stored)
    ));
    if let Some(j) = &r.jump {
        r.warnings.push(format!(
            "It flies with {}. Small parts and flying toys: the maker checks the toy-safety standard in force; a computed \
             energy is not a test.",
            energy(j.flight_energy_J)
        ));
    }
    if !r.protocol.memory.is_empty() {
        r.warnings.push(
            "Waits depend strongly on the shape held, the hold and the temperature, and nearest the threshold on everything: \
             ask for their spread."
                .into(),
        );
    }
}
