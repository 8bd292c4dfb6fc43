//! What one line says, and whether it contradicts itself.

use std::ops::Range;

use calotte_quantity::{Dimension, nearest};
use calotte_specimen::Case;

use super::super::record::{Figure, Outcome, Settings, Trial};
use super::columns::{Cell, Column, Misnamed, dimension, quantity};
use super::rows::Row;

/// A fault with its place.
pub(super) type Fault = (Range<usize>, Misnamed);

fn fault(cell: &Cell, says: impl Into<String>, hint: &str) -> Fault {
    let hint = Some(hint.to_owned()).filter(|h| !h.is_empty());
    (cell.span.clone(), Misnamed { says: says.into(), hint })
}

/// The number of a column with its tolerance, from the cell or from a column of its own.
pub(super) fn figure(row: &Row, column: Column, case: &Case) -> Result<Option<Figure>, Fault> {
    let Some(of) = dimension(column, case) else { return Ok(None) };
    let width_of = if of == Dimension::Temperature { Dimension::TemperatureDifference } else { of };
    let (value, width) = (row.cell(column, false), row.cell(column, true));
    let Some(cell) = value else {
        return match width {
            Some(w) => Err(fault(w, "a tolerance, but no value", "")),
            None => Ok(None),
        };
    };
    let read = quantity(&cell.text, &cell.named.unit, of).map_err(|e| (cell.span.clone(), e))?;
    let mut half_width = read.half_width;
    if let Some(w) = width {
        if half_width.is_some() {
            return Err(fault(w, "a second tolerance: the value has one already", "write it in one place"));
        }
        let text = w.text.trim_start_matches(['±', ' ']);
        let own = if text.ends_with('%') {
            quantity(text, "", Dimension::Number).map(|q| (q.value * read.value).abs())
        } else {
            let unit = if w.named.unit.is_empty() { &cell.named.unit } else { &w.named.unit };
            quantity(text, unit, width_of).map(|q| q.value)
        };
        let own = own.map_err(|e| (w.span.clone(), e))?;
        if own < 0.0 {
            return Err(fault(w, "a tolerance must not be negative", ""));
        }
        half_width = Some(own);
    }
    Ok(Some(Figure { value: read.value, half_width: half_width.filter(|h| *h > 0.0) }))
}

/// The trial of a line; `None` for a line that has only a specimen.
///
/// # Errors
/// Every fault of the line with its place.
pub(super) fn trial(row: &Row, case: &Case, settings: &Settings) -> Result<Option<Trial>, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut read = |column| {
        figure(row, column, case).unwrap_or_else(|f| {
            faults.push(f);
            None
        })
    };
    let hold = read(Column::Hold);
    let temperature = read(Column::Temperature);
    let watched = read(Column::Watched);
    let trip_load = read(Column::TripLoad);
    let trip_temperature = read(Column::TripTemperature);
    let reset_temperature = read(Column::ResetTemperature);
    let snap_time = read(Column::SnapTime);
    // A wait that was cut short is written `> 600 s`.
    let cut = row
        .cell(Column::Wait, false)
        .and_then(|c| Some((c, c.text.strip_prefix('>')?.trim_start_matches('='))));
    let wait = if cut.is_some() { None } else { read(Column::Wait) };
    let mut still = None;
    if let Some((c, text)) = cut {
        match quantity(text.trim(), &c.named.unit, Dimension::Time) {
            Ok(q) => still = Some((c, q.value)),
            Err(e) => faults.push((c.span.clone(), e)),
        }
    }
    let words = |column| row.cell(column, false).map_or_else(String::new, |c| c.text.clone());
    let at = |column| row.cell(column, false);
    let told = [hold, temperature, watched, trip_load, trip_temperature, reset_temperature, snap_time, wait];
    let outcome = match at(Column::Outcome) {
        None if told.iter().all(Option::is_none) && still.is_none() && faults.is_empty() => return Ok(None),
        // A trip or a reset alone.
        None if trip_load.or(trip_temperature).or(reset_temperature).is_some()
            && wait.is_none()
            && still.is_none() =>
        {
            None
        }
        None => {
            let says = "the trial has no outcome".to_owned();
            let hint = Some("write `returns`, `waits` or `stays` in a column `outcome`".to_owned());
            faults.push((row.span.clone(), Misnamed { says, hint }));
            None
        }
        Some(c) => outcome(c, &mut still, &mut faults),
    };
    positive(row, &mut faults, case);
    if let Some(outcome) = outcome {
        contradictions(
            row,
            outcome,
            &[hold, wait, watched, trip_load, snap_time],
            still.as_ref().map(|s| s.1),
            settings,
            &mut faults,
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Some(Trial {
        line: row.line,
        // Still there when one stopped looking: it stayed as far as anyone knows.
        outcome: if still.is_some() { Some(Outcome::Stays) } else { outcome },
        hold: hold.map(|h| h.value),
        temperature: temperature.map(|t| t.value),
        wait,
        watched: still.map(|s| s.1).or(watched.map(|w| w.value)),
        trip_load,
        trip_temperature,
        reset_temperature,
        snap_time,
        when: words(Column::When),
        note: words(Column::Note),
    }))
}

/// The outcome in a cell; `still there after 600 s` is one.
fn outcome<'a>(c: &'a Cell, still: &mut Option<(&'a Cell, f64)>, faults: &mut Vec<Fault>) -> Option<Outcome> {
    let text = c.text.to_lowercase();
    if let Some(after) = text.strip_prefix("still there") {
        let after = after.trim().trim_start_matches("after").trim();
        if after.is_empty() {
            return Some(Outcome::Stays);
        }
        return match quantity(after, "", Dimension::Time) {
            Ok(q) => {
                *still = Some((c, q.value));
                Some(Outcome::Stays)
            }
            Err(e) => {
                faults.push((c.span.clone(), e));
                None
            }
        };
    }
    let found = Outcome::ALL.into_iter().find(|o| o.word() == text);
    if found.is_none() {
        let near = nearest(&text, Outcome::ALL.into_iter().map(Outcome::word));
        let hint = near
            .map_or("write `returns`, `waits`, `stays` or `still there after 600 s`".to_owned(), |n| {
                format!("did you mean `{n}`?")
            });
        faults.push(fault(c, format!("`{}` is no outcome", c.text), &hint));
    }
    found
}

/// Numbers that cannot be negative.
fn positive(row: &Row, faults: &mut Vec<Fault>, case: &Case) {
    let all = [
        (Column::Hold, "a hold", true),
        (Column::Wait, "a wait", false),
        (Column::Watched, "the time one looked", false),
        (Column::TripLoad, "a trip load", false),
        (Column::SnapTime, "a snap", false),
        (Column::Temperature, "a temperature above absolute zero", false),
        (Column::TripTemperature, "a temperature above absolute zero", false),
        (Column::ResetTemperature, "a temperature above absolute zero", false),
    ];
    for (column, what, zero) in all {
        let Some(c) = row.cell(column, false) else { continue };
        let Ok(Some(f)) = figure(row, column, case) else { continue };
        if f.value < 0.0 || (f.value == 0.0 && !zero) {
            let least = if zero { "0 or greater" } else { "greater than 0" };
            faults.push(fault(c, format!("{what} must be {least}, this is {}", c.text), ""));
        }
    }
}

/// What cannot be true together. `figures`: hold, wait, watched, trip load, snap time.
fn contradictions(
    row: &Row,
    outcome: Outcome,
    figures: &[Option<Figure>; 5],
    still: Option<f64>,
    settings: &Settings,
    faults: &mut Vec<Fault>,
) {
    let [_, wait, watched, trip_load, snap] = figures;
    let at = |column| row.cell(column, false);
    if let (Some(c), Some(w)) = (at(Column::Wait), wait) {
        match outcome {
            Outcome::Stays => faults.push(fault(
                c,
                format!("the outcome is `stays`, but a wait of {} is given", c.text),
                "write `waits`, or `>` before the time when it was still there then",
            )),
            Outcome::Returns if w.value > settings.at_once => faults.push(fault(
                c,
                format!("the outcome is `returns`, but a wait of {} is given", c.text),
                "a part that rests a while `waits`; the shortest wait that counts is `at_once` of the header",
            )),
            Outcome::Returns | Outcome::Waits => {}
        }
        if w.half_width.is_some_and(|h| h >= w.value) {
            let place = row.cell(Column::Wait, true).unwrap_or(c);
            faults.push(fault(
                place,
                "the wait is shorter than its own error",
                "such a reading says nothing: leave the wait empty",
            ));
        }
        if let (Some(looked), Some(place)) = (watched, at(Column::Watched))
            && outcome == Outcome::Waits
            && w.value > looked.value
        {
            faults.push(fault(
                place,
                format!("the part waited {} but was watched for {}", c.text, place.text),
                "",
            ));
        }
    }
    if still.is_some() && outcome == Outcome::Returns {
        let c = at(Column::Wait).or(at(Column::Outcome));
        faults.extend(c.map(|c| {
            fault(
                c,
                format!("the outcome is `returns`, but it was still there: {}", c.text),
                "write `stays` or `waits`",
            )
        }));
    }
    if let (Some(c), Some(t), Outcome::Returns) = (at(Column::TripLoad), trip_load, outcome) {
        let _ = t;
        faults.push(fault(
            c,
            "a part that returned by itself cannot have been tripped by a load",
            "write the outcome of this trial, or another line",
        ));
    }
    if let (Some(c), Some(_), Outcome::Stays) = (at(Column::SnapTime), snap, outcome)
        && trip_load.is_none()
    {
        faults.push(fault(
            c,
            "the outcome is `stays`, but the duration of a snap is given",
            "write `waits` or `returns`, or the load that tripped it",
        ));
    }
}
