//! Keys: forces, ratios and stroke as makers of rubber keys and metal domes state them.
//!
//! F₁ is the actuation force (the peak), F₂ the contact force (at the stop, else in the valley), F₃ the force at which the key
//! comes back. Snap ratio of a rubber key: `(F₁ − F₂)/F₁`; a metal dome is judged by `(F₁ − F₃)/F₁`. Common practice of the
//! trade, no source.

use serde::Serialize;

use super::{GRAM_FORCE, Place};
use crate::explain::digits;

/// Snap ratios usual in rubber keys (makers' public guides, from memory).
pub const USUAL_SNAP: [f64; 2] = [0.4, 0.6];
/// Actuation forces usual in rubber keys, gf (makers' public guides, from memory).
pub const USUAL_ACTUATION_GF: [f64; 2] = [125.0, 150.0];

/// What is known of the curve beside its rows; what is not is looked for in the rows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct KeyEvents {
    /// First peak of the force.
    pub peak: Option<Place>,
    /// Valley after it.
    pub valley: Option<Place>,
    /// Where the contact closes: a stop.
    pub contact: Option<Place>,
    /// Where the key jumps back as the force is taken off; a negative force has to be a pull.
    pub back: Option<Place>,
    /// Whether it is of metal: what is usual in rubber keys then says nothing.
    pub metal: bool,
}

/// Why rows make no key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KeyFault {
    /// A travel or a force is not a number; the row (from 0), `None` for an event.
    NotFinite {
        /// Which row.
        row: Option<usize>,
    },
    /// The force has no positive peak: nothing snaps.
    NoPeak,
    /// The contact closes before the peak is reached.
    ContactBeforePeak {
        /// Travel of the contact, m.
        contact: f64,
        /// Travel of the peak, m.
        peak: f64,
    },
}

impl KeyFault {
    /// In words.
    pub fn words(&self) -> String {
        let length = crate::explain::length;
        match self {
            Self::NotFinite { row: Some(row) } => {
                format!("row {} of the curve holds something that is no number", row + 1)
            }
            Self::NotFinite { row: None } => {
                "an event of the curve holds something that is no number".to_owned()
            }
            Self::NoPeak => "the force rises all the way: there is no peak and no snap".to_owned(),
            Self::ContactBeforePeak { contact, peak } => format!(
                "the contact at {} closes before the peak at {}: nothing snaps before the stop",
                length(*contact),
                length(*peak)
            ),
        }
    }
}

/// A key in the trade's terms.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct KeyReport {
    /// Actuation force F₁, N.
    pub actuation_force_N: f64,
    /// The same in gram-force.
    pub actuation_force_gf: f64,
    /// Travel at the peak, m.
    pub actuation_travel_m: f64,
    /// Contact force F₂, N; `None` when the curve has neither contact nor valley.
    pub contact_force_N: Option<f64>,
    /// The same in gram-force.
    pub contact_force_gf: Option<f64>,
    /// What the contact was taken to be: `stop` or `valley`.
    pub contact_by: Option<String>,
    /// Stroke: travel to the contact, m.
    pub stroke_m: Option<f64>,
    /// Force F₃ at which it comes back, N; negative: it has to be pulled.
    pub return_force_N: Option<f64>,
    /// The same in gram-force.
    pub return_force_gf: Option<f64>,
    /// Travel at which it comes back, m.
    pub return_travel_m: Option<f64>,
    /// (F₁ − F₂)/F₁.
    pub snap_ratio: Option<f64>,
    /// (F₁ − F₃)/F₁.
    pub return_ratio: Option<f64>,
    /// Usual values of rubber keys that this one does not have, and other cautions.
    pub cautions: Vec<String>,
}

/// Reads a key from its curve; rows in the order of the path, travel in m, force in N.
///
/// # Errors
/// [`KeyFault`] when there is nothing to read.
pub fn read(rows: &[Place], events: &KeyEvents) -> Result<KeyReport, KeyFault> {
    if let Some(row) = rows.iter().position(|p| !p.is_finite()) {
        return Err(KeyFault::NotFinite { row: Some(row) });
    }
    let given = [events.peak, events.valley, events.contact, events.back];
    if given.iter().flatten().any(|p| !p.is_finite()) {
        return Err(KeyFault::NotFinite { row: None });
    }
    let peak = events.peak.or_else(|| turn(rows, 1.0)).filter(|p| p.force > 0.0).ok_or(KeyFault::NoPeak)?;
    // The valley is looked for from the last row before the peak is passed.
    let passed = rows.iter().position(|p| p.travel > peak.travel).unwrap_or(rows.len());
    let valley = events.valley.or_else(|| turn(&rows[passed.saturating_sub(1)..], -1.0));
    let contact = events.contact.or(valley);
    if let Some(c) = contact.filter(|c| c.travel < peak.travel) {
        return Err(KeyFault::ContactBeforePeak { contact: c.travel, peak: peak.travel });
    }
    let share = |p: Place| (peak.force - p.force) / peak.force;
    let by = if events.contact.is_some() { "stop" } else { "valley" };
    let mut report = KeyReport {
        actuation_force_N: peak.force,
        actuation_force_gf: peak.force / GRAM_FORCE,
        actuation_travel_m: peak.travel,
        contact_force_N: contact.map(|c| c.force),
        contact_force_gf: contact.map(|c| c.force / GRAM_FORCE),
        contact_by: contact.map(|_| by.to_owned()),
        stroke_m: contact.map(|c| c.travel),
        return_force_N: events.back.map(|b| b.force),
        return_force_gf: events.back.map(|b| b.force / GRAM_FORCE),
        return_travel_m: events.back.map(|b| b.travel),
        snap_ratio: contact.map(share),
        return_ratio: events.back.map(share),
        cautions: Vec::new(),
    };
    report.cautions = cautions(&report, events.metal);
    Ok(report)
}

/// First inner row where the force turns: a maximum for `sign` = 1, a minimum for −1. Of equal rows the first.
fn turn(rows: &[Place], sign: f64) -> Option<Place> {
    let mut top: Option<(usize, f64)> = None;
    for (i, p) in rows.iter().enumerate() {
        let value = sign * p.force;
        match top {
            Some((at, best)) if value < best => {
                if at > 0 {
                    return Some(rows[at]);
                }
                // The first row is no turn: go down from it and wait for a rise.
                top = Some((0, value));
            }
            Some((_, best)) if value == best => {}
            _ => top = Some((i, value)),
        }
    }
    None
}

fn cautions(r: &KeyReport, metal: bool) -> Vec<String> {
    let mut out = Vec::new();
    let outside = |x: f64, usual: [f64; 2]| !metal && (x < usual[0] || x > usual[1]);
    if let Some(ratio) = r.snap_ratio.filter(|x| outside(*x, USUAL_SNAP)) {
        out.push(format!(
            "The snap ratio is {} %; rubber keys usually have {} to {} % (makers' guides, from memory).",
            digits(100.0 * ratio, 3),
            digits(100.0 * USUAL_SNAP[0], 3),
            digits(100.0 * USUAL_SNAP[1], 3)
        ));
    }
    if outside(r.actuation_force_gf, USUAL_ACTUATION_GF) {
        out.push(format!(
            "The actuation force is {} gf; rubber keys usually have {} to {} gf (makers' guides, from memory).",
            digits(r.actuation_force_gf, 3),
            USUAL_ACTUATION_GF[0],
            USUAL_ACTUATION_GF[1]
        ));
    }
    if r.return_force_N.is_some_and(|f| f <= 0.0) {
        out.push("It does not come back by itself: it would have to be pulled.".to_owned());
    }
    if r.contact_force_N.is_some_and(|f| f < 0.0) {
        out.push(
            "At the contact the key pulls away from the finger: it presses the contact by itself.".to_owned(),
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(points: &[(f64, f64)]) -> Vec<Place> {
        points.iter().map(|&(travel, force)| Place { travel, force }).collect()
    }

    const KEY: [(f64, f64); 6] =
        [(0.0, 0.0), (4e-4, 0.9), (8e-4, 1.3), (12e-4, 1.0), (16e-4, 0.65), (18e-4, 1.1)];

    /// By hand: peak 1.3 N, valley 0.65 N, so half the force is gone; 1.3 N are 132.6 gf.
    #[test]
    fn rows_alone_make_a_key() {
        let r = read(&curve(&KEY), &KeyEvents::default()).unwrap();
        assert_eq!((r.actuation_force_N, r.actuation_travel_m), (1.3, 8e-4));
        assert!((r.actuation_force_gf - 132.563).abs() < 1e-3);
        assert_eq!((r.contact_force_N, r.stroke_m), (Some(0.65), Some(16e-4)));
        assert!((r.snap_ratio.unwrap() - 0.5).abs() < 1e-15);
        assert_eq!(r.contact_by.as_deref(), Some("valley"));
        assert!(r.return_ratio.is_none() && r.cautions.is_empty(), "{:?}", r.cautions);
    }

    /// Events come before rows; a stop comes before the valley.
    #[test]
    fn events_are_believed() {
        let place = |travel, force| Some(Place { travel, force });
        let events = KeyEvents {
            peak: place(8.1e-4, 1.31),
            valley: place(16e-4, 0.6),
            contact: place(14e-4, 0.8),
            back: place(6e-4, 0.262),
            metal: false,
        };
        let r = read(&curve(&KEY), &events).unwrap();
        assert_eq!(r.actuation_force_N, 1.31);
        assert_eq!((r.contact_force_N, r.contact_by.as_deref()), (Some(0.8), Some("stop")));
        assert!((r.snap_ratio.unwrap() - 0.51 / 1.31).abs() < 1e-15);
        assert!((r.return_ratio.unwrap() - 0.8).abs() < 1e-12);
        assert_eq!(r.cautions.len(), 1, "38.9 % lie below the usual: {:?}", r.cautions);
        assert!(read(&curve(&KEY), &KeyEvents { metal: true, ..events }).unwrap().cautions.is_empty());
    }

    #[test]
    fn what_is_no_key_is_told() {
        let none = KeyEvents::default();
        assert_eq!(read(&curve(&[(0.0, 0.0), (1e-3, 1.0), (2e-3, 2.0)]), &none), Err(KeyFault::NoPeak));
        assert_eq!(read(&[], &none), Err(KeyFault::NoPeak));
        // Falling from the start is no peak, and a peak below zero is no actuation.
        assert_eq!(read(&curve(&[(0.0, 1.0), (1e-3, 0.5)]), &none), Err(KeyFault::NoPeak));
        let below = curve(&[(0.0, -2.0), (1e-3, -1.0), (2e-3, -1.5)]);
        assert_eq!(read(&below, &none), Err(KeyFault::NoPeak));
        let bad = curve(&[(0.0, 0.0), (1e-3, f64::NAN)]);
        assert_eq!(read(&bad, &none), Err(KeyFault::NotFinite { row: Some(1) }));
        let early = KeyEvents { contact: Some(Place { travel: 1e-4, force: 0.2 }), ..none };
        let fault = read(&curve(&KEY), &early).unwrap_err();
        assert_eq!(fault, KeyFault::ContactBeforePeak { contact: 1e-4, peak: 8e-4 });
        assert!(fault.words().contains("0.1000 mm") || fault.words().contains("0.1 mm"), "{}", fault.words());
    }

    /// The valley may be the first row after the peak.
    #[test]
    fn four_rows_are_enough() {
        let four = curve(&[(0.0, 0.0), (1e-3, 1.3), (2e-3, 0.6), (3e-3, 0.9)]);
        assert_eq!(read(&four, &KeyEvents::default()).unwrap().contact_force_N, Some(0.6));
    }

    /// A peak without a valley is still an actuation.
    #[test]
    fn no_contact_no_ratio() {
        let r = read(&curve(&KEY[..5]), &KeyEvents::default()).unwrap();
        assert!(r.contact_force_N.is_none() && r.snap_ratio.is_none() && r.stroke_m.is_none());
    }

    /// A key that stays down is said to.
    #[test]
    fn pulled_back() {
        let events = KeyEvents { back: Some(Place { travel: 1e-3, force: -0.1 }), ..KeyEvents::default() };
        let r = read(&curve(&KEY), &events).unwrap();
        assert!(r.cautions.iter().any(|c| c.contains("pulled")) && r.return_ratio.unwrap() > 1.0);
    }
}
