//! Tables of a release: history, waits, draws, slowing down.

use calotte_answers::release::curves::{Slowing, WaitCurve, WaitSpread};
use calotte_answers::release::report::ReleaseReport;
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::Case;

use super::ReleaseWhole;
use crate::provenance::facts;
use crate::tables::{column, number};

/// Every table that the answer has.
pub(super) fn all(case: &Case, whole: &ReleaseWhole) -> Vec<(String, Table)> {
    let mut all = vec![("history".to_owned(), history(case, &whole.release))];
    all.extend(whole.wait_curve.as_ref().map(|c| ("wait".to_owned(), wait(case, c))));
    all.extend(whole.spread.as_ref().map(|s| ("draws".to_owned(), draws(case, s))));
    all.extend(whole.slowing.as_ref().map(|s| ("slowing".to_owned(), slowing(case, s))));
    all
}

/// The time history, one row per step.
fn history(case: &Case, r: &ReleaseReport) -> Table {
    let h = &r.history;
    let all: [(&str, &str, &str, &[f64]); 15] = [
        ("time_s", "s", "time since the hand begins to let go", &h.time_s),
        ("pole_over_rim_m", "m", "height of the pole (or hole edge) over the rim", &h.pole_over_rim_m),
        ("pole_over_rim_speed_m_per_s", "m/s", "its speed", &h.pole_over_rim_speed_m_per_s),
        (
            "pole_height_m",
            "m",
            "height of the pole over the table, or over the rim at the start",
            &h.pole_height_m,
        ),
        ("rim_height_m", "m", "height of the rim", &h.rim_height_m),
        ("centre_height_m", "m", "height of the centre of mass", &h.centre_height_m),
        ("centre_speed_m_per_s", "m/s", "its speed", &h.centre_speed_m_per_s),
        ("reaction_N", "N", "reaction of the table", &h.reaction_N),
        ("kinetic_J", "J", "kinetic energy", &h.kinetic_J),
        ("elastic_J", "J", "elastic energy", &h.elastic_J),
        ("gravity_J", "J", "energy of weight, from the start", &h.gravity_J),
        ("contact_J", "J", "energy in the contact with the table", &h.contact_J),
        ("relaxed_J", "J", "lost in the memory so far", &h.relaxed_J),
        ("dragged_J", "J", "lost in air and bath so far", &h.dragged_J),
        ("hand_J", "J", "work of the hand so far", &h.hand_J),
    ];
    let columns = all.iter().map(|(name, unit, about, _)| column(name, unit, about, Kind::Number)).collect();
    let rows = (0..h.time_s.len()).map(|i| all.iter().map(|c| Value::Number(c.3[i])).collect()).collect();
    Table { columns, rows, provenance: facts(case) }
}

/// Wait against hold time.
fn wait(case: &Case, c: &WaitCurve) -> Table {
    let columns = vec![
        column("hold_s", "s", "how long it was held", Kind::Number),
        column("wait_s", "s", "how long it waits; missing when it stays for ever", Kind::Number),
        column("rests", "", "whether it rests in equilibrium first", Kind::Flag),
        column("stays", "", "whether it stays for ever", Kind::Flag),
    ];
    let rows = c
        .points
        .iter()
        .map(|p| vec![Value::Number(p.hold_s), number(p.wait_s), Value::Flag(p.rests), Value::Flag(p.stays)])
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

/// The wait of every draw.
fn draws(case: &Case, s: &WaitSpread) -> Table {
    let columns = vec![
        column("draw", "1", "number of the draw", Kind::Count),
        column(
            "wait_s",
            "s",
            "how long it waits; missing when it stays for ever or no wait was found",
            Kind::Number,
        ),
        column("stays", "", "whether it stays for ever; missing when no wait was found", Kind::Flag),
    ];
    let rows = s
        .waits
        .iter()
        .enumerate()
        .map(|(i, w)| {
            let stays = if w.is_nan() { Value::Missing } else { Value::Flag(w.is_infinite()) };
            vec![Value::Count(i as i64 + 1), number(Some(*w).filter(|w| w.is_finite())), stays]
        })
        .collect();
    Table { columns, rows, provenance: facts(case) }
}

/// Slowing down near the threshold.
fn slowing(case: &Case, s: &Slowing) -> Table {
    let columns = vec![
        column("what", "", "elastic delay, damped delay or frequency", Kind::Text),
        column("distance", "1", "distance of h/h* from 1", Kind::Number),
        column("value_SI", "s or Hz", "delay or frequency", Kind::Number),
        column("exponent", "1", "local exponent", Kind::Number),
    ];
    let mut rows = Vec::new();
    let mut add = |what: &str, d: f64, v: f64, e: Option<f64>| {
        rows.push(vec![Value::Text(what.to_owned()), Value::Number(d), Value::Number(v), number(e)]);
    };
    s.elastic.iter().for_each(|p| add("elastic delay", p.distance, p.time_s, p.exponent));
    s.damped.iter().for_each(|p| add("damped delay", p.distance, p.time_s, p.exponent));
    s.frequencies.iter().for_each(|p| add("frequency", p.distance, p.frequency_Hz, p.exponent));
    Table { columns, rows, provenance: facts(case) }
}
