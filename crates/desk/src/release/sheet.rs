//! The answer to a release in words.

use calotte_answers::explain::{digits, duration, energy, force, frequency, length, speed};
use calotte_answers::release::report::{Outcome, ReleaseReport};

use super::ReleaseWhole;
use crate::sheet::Sheet;
use crate::words::part_words;

/// The answer in words.
pub(super) fn sheet(w: &ReleaseWhole) -> Sheet {
    let r = &w.release;
    let word = match r.outcome {
        Outcome::Stays => "STAYS",
        Outcome::Returns => "RETURNS",
        Outcome::Waits => "WAITS",
        Outcome::Undecided => "UNDECIDED",
    };
    let mut p = Sheet::new(&format!("{word}: {}", r.title));
    p.text_block(&part_words(&r.part));
    p.doubts(&r.doubts);
    p.head("Protocol");
    p.items(&r.protocol.words);
    p.head("What happens");
    p.items(&r.explanation);
    numbers(&mut p, r);
    if r.energies.len() > 1 {
        p.head("Energies");
        for e in &r.energies {
            let mut parts =
                vec![format!("{} moving", energy(e.kinetic_J)), format!("{} elastic", energy(e.elastic_J))];
            for (v, what) in [
                (e.gravity_J, "of height"),
                (e.relaxed_J, "lost in the memory"),
                (e.dragged_J, "lost in air and bath"),
                (e.hand_J, "put in by the hand"),
            ] {
                if v.abs() > 5e-4 * r.energies[0].elastic_J.abs() {
                    parts.push(format!("{} {what}", energy(v)));
                }
            }
            p.row(&format!("{}, {}", e.moment, duration(e.time_s)), &parts.join(", "));
        }
    }
    if !r.sideways.is_empty() {
        p.head("Sideways");
        for s in &r.sideways {
            let wins = if s.wins { "; it wins: the motion is not axisymmetric any more" } else { "" };
            p.row(
                &format!("{} wave{} round the rim", s.n, if s.n == 1 { "" } else { "s" }),
                &format!(
                    "{} grow {} times to {} at {}{wins}",
                    length(s.start_m),
                    digits(s.growth, 3),
                    length(s.largest_m),
                    duration(s.largest_at_s)
                ),
            );
        }
    }
    if let Some(c) = &w.wait_curve {
        p.head("Wait against hold");
        p.items(&c.words);
        for q in thinned(&c.points) {
            let wait = match (q.wait_s, q.stays) {
                (Some(t), _) => duration(t),
                (None, true) => "stays for ever".to_owned(),
                (None, false) => "not found".to_owned(),
            };
            let rests = if q.rests || q.wait_s.is_none() { "" } else { " (does not rest)" };
            p.row(&format!("held {}", duration(q.hold_s)), &format!("{wait}{rests}"));
        }
    }
    if let Some(s) = &w.spread {
        p.head("Spread of the wait");
        p.items(&s.words);
        for q in &s.sensitivities {
            let told = |t: Option<f64>| t.map_or("no end".to_owned(), duration);
            p.row(
                &q.input,
                &format!(
                    "{} % of the spread; from {} at its lower end to {} at its upper",
                    digits(100.0 * q.share, 2),
                    told(q.at_low_s),
                    told(q.at_high_s)
                ),
            );
        }
    }
    if let Some(s) = &w.slowing {
        p.head("Slowing down near the threshold");
        p.row("threshold thickness", &length(s.threshold_thickness_m));
        p.items(&s.words);
    }
    evidence(&mut p, r);
    p.head("What the words mean");
    for d in &r.definitions {
        p.item(&format!("{}: {}", d.word, d.meaning));
    }
    p.list("Warnings", &r.warnings);
    p
}

/// At most a dozen of many points, ends included.
fn thinned<T>(points: &[T]) -> impl Iterator<Item = &T> {
    let stride = points.len().div_ceil(12).max(1);
    let last = points.len().saturating_sub(1);
    points.iter().enumerate().filter(move |(i, _)| i % stride == 0 || *i == last).map(|(_, p)| p)
}

fn numbers(p: &mut Sheet, r: &ReleaseReport) {
    p.head("Numbers");
    if let Some(s) = &r.snap {
        p.row("wait", &duration(s.wait_s));
        if let Some(c) = s.creep_wait_s {
            p.row("creep wait", &format!("{} (without inertia)", duration(c)));
        }
        p.row("snap time", &duration(s.snap_time_s));
        p.row("half-way time", &duration(s.halfway_s));
        p.row("peak speed", &format!("{} at {}", speed(s.peak_speed_m_per_s), duration(s.peak_speed_at_s)));
        p.row("energy available", &energy(s.energy_available_J));
    }
    if let Some(j) = &r.jump {
        let how = if j.height_marched { "marched" } else { "as thrown from take-off" };
        p.row(
            "jump height",
            &format!("{} ({how}); at most {}", length(j.height_m), length(j.height_bound_m)),
        );
        p.row("take-off", &format!("{} at {}", speed(j.takeoff_speed_m_per_s), duration(j.takeoff_s)));
        p.row("flight energy", &energy(j.flight_energy_J));
        p.row(
            "contact impulse",
            &format!(
                "{} mN·s; largest reaction {}",
                digits(1e3 * j.impulse_N_s, 3),
                force(j.largest_reaction_N)
            ),
        );
        if let Some(t) = j.landing_s {
            p.row("landing", &duration(t));
        }
    }
    if let Some(k) = &r.ringing {
        p.row("ringing", &format!("{} over {} periods", frequency(k.frequency_Hz), k.periods));
    }
    if let Some(f) = r.scales.natural_frequency_Hz {
        p.row("natural frequency", &frequency(f));
    }
    p.row("hand's axial force", &force(r.protocol.hand_force_N));
}

fn evidence(p: &mut Sheet, r: &ReleaseReport) {
    let e = &r.evidence;
    p.head("Evidence");
    p.row(
        "energies balance to",
        &format!(
            "{:.0e} of the energy available to the end of the snap, {:.0e} in all",
            e.balance_to_snap, e.balance_whole
        ),
    );
    for (what, d) in [("elements halved", e.mesh_difference), ("error a tenth", e.step_difference)] {
        if let Some(d) = d {
            p.row(what, &format!("half-way time changes by {d:.0e}"));
        }
    }
    if let Some(d) = e.speed_difference {
        p.row("both", &format!("peak speed changes by {d:.0e}"));
    }
    if let Some(j) = &r.jump {
        p.row("momentum", &format!("impulse and weight account for it to {:.0e}", j.impulse_closure.abs()));
    }
    if e.deepest_contact > 0.0 {
        p.row(
            "pressed into the table",
            &format!("{} of the thickness at most", digits(e.deepest_contact, 2)),
        );
    }
    p.row(
        "march",
        &format!(
            "{} steps ({} refused) on {} elements over {}; {}",
            e.steps,
            e.refused,
            e.elements,
            duration(e.followed_s),
            e.ended
        ),
    );
}
