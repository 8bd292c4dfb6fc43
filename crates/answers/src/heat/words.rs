//! The answer about heat in sentences.

use super::report::{HeatOutcome, HeatReport, Jump};
use crate::explain::{digits, energy, force, length};

/// Absolute zero in °C.
const ZERO: f64 = -273.15;

/// A temperature in °C, to a hundredth below a thousand.
pub fn celsius(kelvin: f64) -> String {
    let c = kelvin + ZERO;
    if c.abs() < 1000.0 { format!("{c:.2} °C") } else { format!("{c:.0} °C") }
}

/// A difference of temperatures.
pub fn kelvins(k: f64) -> String {
    format!("{} K", digits(k, 4))
}

/// What is always said of a part that protects.
pub(crate) const CAUTION: &str = "A computed trip temperature is a design aid, never evidence for a protective control: licensed practice, \
    the appliance and control standards in force and local codes decide, and tests on finished parts.";

fn jump(j: &Jump, what: &str) -> String {
    let mut line = format!("It {what} at {} on {}", celsius(j.temperature_K), j.on);
    if j.n > 0 {
        line += &format!(", giving way sideways in {} waves", j.n);
    }
    match (j.movement_m, j.released_J) {
        (Some(m), Some(e)) => {
            line += &format!(": the centre jumps {} and {} is set free.", length(m.abs()), energy(e));
        }
        _ => line += "; where it lands was not found.",
    }
    if j.lands_round == Some(false) {
        line += " It lands near a round shape that is itself not stable: it will look wavy.";
    }
    line
}

pub(crate) fn explain(r: &HeatReport) -> Vec<String> {
    let mut out = Vec::new();
    let w = &r.wall;
    if w.bending_per_K == 0.0 {
        out.push("Heat does not bend this wall; it only makes it grow.".to_owned());
    } else {
        let way = if w.bending_per_K > 0.0 { "deepens the dish" } else { "flattens the dish" };
        let mut line = format!(
            "Heat {way}: a free wall bends by {} · 10⁻⁶ per kelvin over its thickness.",
            digits(w.bending_per_K.abs() * 1e6, 4)
        );
        if let Some(t) = w.flat_at_K {
            let side = if t > w.formed_at_K { "above" } else { "below" };
            line += &format!(
                " By itself it would be flat {} {side} the {} at which its shape is given.",
                kelvins((t - w.formed_at_K).abs()),
                celsius(w.formed_at_K)
            );
        }
        out.push(line);
    }
    match (&r.trip, &r.reset) {
        (Some(t), Some(b)) => {
            out.push(jump(t, "trips"));
            out.push(jump(b, "resets"));
            if let Some(d) = r.delta_K {
                out.push(format!("Between the two lie {}.", kelvins(d.abs())));
            }
        }
        (Some(t), None) => {
            out.push(jump(t, "trips"));
            out.push("No way back was found on this branch.".to_owned());
        }
        (None, _) if r.outcome == HeatOutcome::Follows => {
            let kelvin = |pick: fn(f64, f64) -> f64, from: f64| {
                r.near.iter().map(|p| p.temperature_K).fold(from, pick)
            };
            let (low, high) = (kelvin(f64::min, f64::INFINITY), kelvin(f64::max, f64::NEG_INFINITY));
            out.push(format!(
                "It does not jump: followed from {} to {} it moves smoothly. What lies beyond was not looked at.",
                celsius(low),
                celsius(high)
            ));
        }
        _ => {}
    }
    for b in &r.buckling {
        let how = if b.n == 0 {
            "other round shapes branch off".to_owned()
        } else {
            format!("it gives way sideways in {} waves", b.n)
        };
        out.push(format!(
            "On {} {how} at {}; whether by a jump or little by little is not computed.",
            b.on,
            celsius(b.temperature_K)
        ));
    }
    if r.stays_tripped == Some(true) {
        out.push(format!(
            "Once tripped it stays so at {}, where its shape is given: it must be pushed back by hand.",
            celsius(w.formed_at_K)
        ));
    }
    if let (Some(c), Some(t)) = (&r.creep, &r.trip) {
        out.push(format!(
            "From {} to the trip the centre creeps {}, and jumps {}.",
            celsius(c.from_K),
            length(c.travel_m.abs()),
            t.movement_m.map_or("an unknown distance".to_owned(), |m| length(m.abs()))
        ));
    }
    if let Some(t) =
        r.trip.as_ref().filter(|t| t.pin_force_before_N > 0.0 || t.pin_force_after_N.is_some_and(|f| f > 0.0))
    {
        out.push(format!(
            "On the pin it pushes with {} just before the trip and {} after it.",
            force(t.pin_force_before_N),
            t.pin_force_after_N.map_or("an unknown force".to_owned(), force)
        ));
    }
    let most = |pick: fn(&super::report::Move) -> Option<f64>| {
        r.moves.iter().filter_map(|m| Some((m, pick(m)?))).max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
    };
    if let Some((m, k)) = most(|m| m.trip_half_width_K) {
        out.push(format!(
            "Of the tolerances, that of `{}` moves the trip most: ± {}.",
            m.input,
            kelvins(k.abs())
        ));
    } else if let Some((m, k)) = most(|m| m.trip_K_per_percent) {
        out.push(format!("One per cent more of `{}` moves the trip most: by {}.", m.input, kelvins(k)));
    }
    out
}
