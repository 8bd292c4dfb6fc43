//! The answer to a poke in sentences.

use crate::explain::{digits, energy, length};
use crate::poke::report::{EventKind, PokeReport, Trip};

/// A load or displacement with its unit, scaled to a sensible size.
pub fn quantity(value: f64, unit: &str) -> String {
    match unit {
        "N" => crate::explain::force(value),
        "m" => length(value),
        "Pa" => scaled(value, &[(1e6, "MPa"), (1e3, "kPa"), (1.0, "Pa")]),
        "N/m" => scaled(value, &[(1e3, "kN/m"), (1.0, "N/m"), (1e-3, "mN/m")]),
        "m^3" => scaled(value, &[(1e-3, "litre"), (1e-6, "cm³"), (1e-9, "mm³")]),
        "m/s^2" => format!("{} m/s² ({} g0)", digits(value, 3), digits(value / 9.80665, 3)),
        other => format!("{} {}", digits(value, 4), other.replace(' ', "·")),
    }
}

fn scaled(value: f64, units: &[(f64, &str)]) -> String {
    let fits = units.iter().find(|(s, _)| value.abs() >= *s).or(units.last());
    fits.map_or_else(|| digits(value, 4), |(s, u)| format!("{} {u}", digits(value / s, 4)))
}

pub(super) fn say(r: &mut PokeReport) {
    let mut out = Vec::new();
    let l = r.load.clone();
    let load = |v: f64| quantity(v, &l.load_unit);
    let moved = |v: f64| quantity(v, &l.displacement_unit);
    let lost = r.evidence.ended == crate::poke::path::End::LostByPusher.words();
    let trip = |t: &Trip, how: &str, what: &str| {
        let route = if t.n == 0 {
            format!("the {what} has a limit there and the part jumps with its shape kept round")
        } else {
            format!(
                "the part gives way sideways there, in {} wave{} round the rim",
                t.n,
                if t.n == 1 { "" } else { "s" }
            )
        };
        let mut s = format!(
            "With the {how} set it trips at {} and {}: {route}.",
            load(t.load_SI),
            moved(t.displacement_SI)
        );
        // A branch that carries on is no jump: where the round path would end says nothing.
        let branch = r.events[t.event].mode.as_ref().and_then(|m| m.branch.as_ref());
        let gradual =
            branch.is_some_and(|b| if how == "load" { b.stable_by_load } else { b.stable_by_displacement });
        match &t.lands {
            _ if gradual => {}
            Some(j) if j.at_stop => {
                s += &format!(" It is caught by the stop at {}.", moved(j.displacement_SI))
            }
            Some(j) => {
                s += &format!(
                    " It comes to rest at {} and sets {} free.",
                    moved(j.displacement_SI),
                    energy(j.released_J)
                );
            }
            None if lost => {
                s += " Where the load falls to zero the pusher loses the part, which goes on by itself.";
            }
            None => s += " Where it comes to rest is not on the path followed.",
        }
        s
    };
    // A path that ended early says nothing of what comes after.
    let early = r.doubts.iter().any(|d| d.contains("ended early"));
    match &r.by_load {
        Some(t) => out.push(trip(t, "load", "load")),
        None if early => out.push("Nothing trips it as far as the path was followed.".to_owned()),
        None if r.path.len() > 1 => out.push(
            "With the load set nothing trips it on the path followed: it goes over smoothly.".to_owned(),
        ),
        None => {}
    }
    match &r.by_displacement {
        Some(t) => out.push(trip(t, "displacement", "displacement")),
        None if r.path.len() > 1 && !early => {
            out.push("With the displacement set it follows without a jump.".to_owned());
        }
        None => {}
    }
    let ripple = r.by_load.as_ref().filter(|t| t.n > 0).or(r.by_displacement.as_ref().filter(|t| t.n > 0));
    if let Some(t) = ripple {
        out.push(match r.events[t.event].mode.as_ref().and_then(|m| m.branch.as_ref()) {
            Some(b) => {
                let says = |stable: bool| if stable { "gives way gradually" } else { "jumps" };
                format!(
                    "The sideways branch starts with a {} load: the part {} there with the load set and {} with the \
                     displacement set (to second order in the amplitude, trusted to about {}).",
                    if b.load_curvature_SI_per_m2 < 0.0 { "falling" } else { "rising" },
                    says(b.stable_by_load),
                    says(b.stable_by_displacement),
                    length(b.trusted_to_m)
                )
            }
            None if r.path.iter().any(|p| p.contact_m.is_some()) => {
                "How the sideways branch starts was not computed: a body in contact is beyond that expansion."
                    .to_owned()
            }
            None => "How the sideways branch starts was not computed.".to_owned(),
        });
    }
    if let Some(b) = &r.return_trip {
        out.push(if b.load_SI > 0.0 {
            format!("Taken back, it returns at {}.", load(b.load_SI))
        } else {
            format!(
                "It does not return by itself: it would have to be pulled back with {}.",
                load(-b.load_SI)
            )
        });
    }
    match r.stays_afterwards {
        Some(true) => out.push(
            "Without the load the far state holds by itself: the part stays where it was pushed.".to_owned(),
        ),
        Some(false) if r.by_load.is_some() || r.by_displacement.is_some() => {
            out.push(
                "Without the load no far state holds by itself: the part comes back when it is let go."
                    .to_owned(),
            );
        }
        _ => {}
    }
    if r.events.iter().any(|e| e.kind == EventKind::RimLifts) {
        out.push("Where the load falls to zero the rim would have to be held down: on a table the part is free from there on, and what follows on the path needs a rim that is held.".to_owned());
    }
    let sideways = r.events.iter().any(|e| e.kind == EventKind::Sideways);
    if sideways {
        r.beyond.push("Past the first sideways event (but for the start of the branch) the real part no longer has the round shapes of this path: later events are those of a part kept round.".to_owned());
    }
    if l.kind == "pole" && r.part.hole_radius_m == 0.0 {
        r.beyond.push("A force on a point bends the wall without bound at that point; strains within a thickness of it are not reported.".to_owned());
    }
    r.explanation = out;
    if l.stop_m.is_none()
        && r.by_load.as_ref().is_some_and(|t| t.lands.as_ref().is_some_and(|j| j.released_J > 0.0))
    {
        r.warnings.push("Energy is set free in a jump: keep eyes and fingers away.".to_owned());
    }
}
