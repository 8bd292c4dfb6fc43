//! Trip and reset in words.

use calotte_answers::explain::{digits, energy, force, length};
use calotte_answers::heat::report::{HeatOutcome, HeatReport, HeatSpread, Jump, Move};
use calotte_answers::heat::words::{celsius, kelvins};
use calotte_quantity::Dimension;
use calotte_specimen::Case;

use super::{HeatWhole, map};
use crate::sheet::Sheet;
use crate::words::part_words;

/// What happens in a few words.
fn headline(r: &HeatReport) -> Sheet {
    let jump = |j: &Jump, verb: &str| format!("{verb} at {} on {}", celsius(j.temperature_K), j.on);
    let word = match r.outcome {
        HeatOutcome::Trips => "TRIPS",
        HeatOutcome::Buckles => "BUCKLES",
        HeatOutcome::Follows => "FOLLOWS",
        HeatOutcome::Undecided => "UNDECIDED",
    };
    let mut p = Sheet::new(&format!("{word}: {}", r.title));
    let mut told = Vec::new();
    told.extend(r.trip.as_ref().map(|t| jump(t, "trips")));
    told.extend(r.reset.as_ref().map(|t| jump(t, "resets")));
    told.extend(r.delta_K.map(|d| format!("delta {}", kelvins(d.abs()))));
    if !told.is_empty() {
        p.text_block(&told.join(", "));
    }
    p
}

/// The answer in words.
pub(super) fn sheet(case: &Case, whole: &HeatWhole) -> Sheet {
    let r = &whole.heat;
    let mut p = headline(r);
    p.text_block(&part_words(&r.part));
    p.doubts(&r.doubts);
    p.head("What happens");
    p.items(&r.explanation);
    jumps(&mut p, r);
    moves(&mut p, case, r);
    if let Some(s) = &whole.spread {
        spread(&mut p, s);
    }
    if let Some(m) = &whole.map {
        map::sheet(&mut p, m);
    }
    evidence(&mut p, case, r);
    p.list("Notes on the case", case.notes());
    p.list("Beyond this model", &r.beyond);
    p.list("Warnings", &r.warnings);
    p
}

/// Trip and reset side by side.
fn jumps(p: &mut Sheet, r: &HeatReport) {
    let both = [r.trip.as_ref(), r.reset.as_ref()];
    if both.iter().all(Option::is_none) {
        return;
    }
    p.head("Trip and reset");
    p.cells("", &["trip", "reset"]);
    let mut row = |name: &str, tell: &dyn Fn(&Jump) -> String| {
        let told = both.map(|j| j.map_or("none found".to_owned(), tell));
        p.cells(name, &[&told[0], &told[1]]);
    };
    let unknown = |v: Option<f64>, tell: fn(f64) -> String| v.map_or("unknown".to_owned(), tell);
    row("temperature", &|j| celsius(j.temperature_K));
    row("on", &|j| j.on.clone());
    row("route", &|j| if j.n == 0 { j.route.clone() } else { format!("{}, n = {}", j.route, j.n) });
    row("movement of the centre", &|j| unknown(j.movement_m, length));
    row("travel before", &|j| length(j.travel_before_m));
    row("travel after", &|j| unknown(j.travel_after_m, length));
    row("energy set free", &|j| unknown(j.released_J, energy));
    if r.device.pin_gap_m.is_some() {
        row("force on the pin before", &|j| force(j.pin_force_before_N));
        row("force on the pin after", &|j| unknown(j.pin_force_after_N, force));
    }
    if both.iter().flatten().any(|j| j.n > 0) {
        row("limit, kept round", &|j| unknown(j.round_limit_K, celsius));
    }
    row("two meshes differ by", &|j| {
        j.mesh_difference_K.map_or("not compared".to_owned(), |d| format!("{d:.0e} K"))
    });
    if let Some(d) = r.delta_K {
        p.row("delta", &kelvins(d));
    }
    if let Some(c) = &r.creep {
        p.row(
            "creep before the trip",
            &format!(
                "{} from {} on, at first {} per kelvin",
                length(c.travel_m),
                celsius(c.from_K),
                length(c.at_first_m_per_K)
            ),
        );
    }
    if let Some(c) = &r.cycle {
        p.row("lost in a full cycle", &energy(c.lost_J));
    }
}

/// What moves trip and reset, the strongest first.
fn moves(p: &mut Sheet, case: &Case, r: &HeatReport) {
    if r.moves.is_empty() {
        return;
    }
    let worth = |m: &Move| {
        let largest = |a: [Option<f64>; 2]| a.into_iter().flatten().fold(0.0, |m: f64, x| m.max(x.abs()));
        (
            largest([m.trip_half_width_K, m.reset_half_width_K]),
            largest([m.trip_K_per_percent, m.reset_K_per_percent]),
        )
    };
    let mut sorted: Vec<&Move> = r.moves.iter().collect();
    sorted.sort_by(|a, b| {
        let (a, b) = (worth(a), worth(b));
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    p.head("What moves trip / reset (K for 1 % more; K by its tolerance)");
    let pair = |a: Option<f64>, b: Option<f64>, sign: bool| {
        let one = |v: Option<f64>| {
            v.map_or("unknown".to_owned(), |v| {
                let plus = if sign && v > 0.0 { "+" } else { "" };
                format!("{plus}{}", digits(v, 3))
            })
        };
        format!("{} / {}", one(a), one(b))
    };
    p.cells("input", &["1 % more", "tolerance"]);
    for m in sorted {
        let temperature =
            case.inputs().iter().any(|i| i.key == m.input && i.dimension == Dimension::Temperature);
        let percent = if temperature {
            // A per cent of a temperature means little.
            format!("{} per K", pair(m.trip_K_per_SI, m.reset_K_per_SI, true))
        } else if m.trip_K_per_percent.is_none() && m.reset_K_per_percent.is_none() {
            "stands at 0".to_owned()
        } else {
            pair(m.trip_K_per_percent, m.reset_K_per_percent, true)
        };
        let by_tolerance = if m.trip_half_width_K.is_none() && m.reset_half_width_K.is_none() {
            "none given".to_owned()
        } else {
            format!("± {}", pair(m.trip_half_width_K, m.reset_half_width_K, false))
        };
        p.cells(&m.input, &[&percent, &by_tolerance]);
    }
    if let Some(t) = &r.tolerance {
        let both = pair(t.trip_half_width_K, t.reset_half_width_K, false);
        p.cells("all tolerances together", &["", &format!("± {both}")]);
    }
    p.item(&format!("`depth`: {}. `thickness`: all layers by one factor.", r.depth_rule));
}

fn spread(p: &mut Sheet, s: &HeatSpread) {
    p.head("Spread over parts made within the tolerances");
    p.items(&s.words);
    for (name, one) in [("trip", &s.trip), ("reset", &s.reset), ("delta", &s.delta)] {
        let told = |v: Option<f64>| v.map_or("unknown".to_owned(), |v| format!("± {}", kelvins(v)));
        p.row(
            name,
            &format!(
                "two standard deviations {}; to first order {}",
                told(one.two_deviations_K),
                told(one.first_order_half_width_K)
            ),
        );
    }
    p.row("varied", &s.varied.join(", "));
}

fn evidence(p: &mut Sheet, case: &Case, r: &HeatReport) {
    let e = &r.evidence;
    p.head("Evidence");
    p.row(
        "branches",
        &format!(
            "{} equilibria near, {} far, on {} elements (trip and reset again on {} and more)",
            r.near.len(),
            r.far.len(),
            e.elements,
            e.elements_fine
        ),
    );
    if let Some(c) = &r.cycle {
        p.row(
            "energy over a cycle",
            &format!("what heat puts in and what the jumps set free differ by {:.0e}", c.gap),
        );
    }
    p.row("waves examined", &format!("n up to {} wherever the round shape is stable", e.largest_n));
    if let Some(w) = &e.refinement {
        p.row("trip found again in", &format!("{} assemblies", w.assemblies));
    }
    p.row("case digest", &case.digest());
}
