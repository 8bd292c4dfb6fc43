//! Known answers, each with its source; for tests only.
//!
//! A [`Known`] is a number that somebody else, a formula, or an independent program arrived at, with
//! the slack that its printed digits allow and an honest word on where it comes from. The typed
//! tables ([`cap::THRESHOLDS`] and the like) carry the inputs that a test loops over; [`sections`]
//! lists everything that the verification page must show.
//!
//! Formulas are evaluated here, not copied as digits, wherever there is one: plates of any wave
//! number ([`plate`]), complete spheres of any degree ([`sphere`]), coned discs ([`coned_disc`]),
//! walls of layers ([`layered`]).

pub mod bessel;
pub mod cap;
pub mod coned_disc;
pub mod coned_disc_sizes;
pub mod dome;
pub mod heat;
pub mod heat_trip;
pub mod layered;
pub mod motion;
pub mod natural;
pub mod plate;
pub mod pole_force;
pub mod pressed;
pub mod ring_plate;
pub mod sphere;
pub mod straight;

/// Where a known answer comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Printed in the source named.
    Published,
    /// A formula, evaluated here to full precision; the source derives or prints the formula.
    ClosedForm,
    /// Computed from the equations of the source by a program that shares no code with ours.
    Recomputed,
    /// Quoted from memory; nobody has looked it up again.
    FromMemory,
}

impl Status {
    /// The word printed beside the answer.
    pub fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::ClosedForm => "closed form",
            Self::Recomputed => "recomputed",
            Self::FromMemory => "from memory",
        }
    }
}

/// How far a right answer may lie from the value: half a unit of its last printed digit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Slack {
    /// In the unit of the value.
    Absolute(f64),
    /// As a fraction of the value.
    Relative(f64),
}

/// A known answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// Stable key, `group/name`.
    pub id: &'static str,
    /// What the number is, as a sentence.
    pub what: &'static str,
    /// The number.
    pub value: f64,
    /// Its unit; `1` for a pure number.
    pub unit: &'static str,
    /// Slack of the number itself; a computed value adds its own.
    pub within: Slack,
    /// Author, year, title and equation, or how it was obtained.
    pub source: &'static str,
    /// Kind of source.
    pub status: Status,
}

impl Known {
    /// The slack in the unit of the value.
    pub fn half_unit(&self) -> f64 {
        match self.within {
            Slack::Absolute(d) => d,
            Slack::Relative(d) => d * self.value.abs(),
        }
    }

    /// Whether `computed` agrees to every digit printed; `more` is the relative error that the
    /// computation claims for itself.
    pub fn agrees(&self, computed: f64, more: f64) -> bool {
        (computed - self.value).abs() <= self.half_unit() + more * self.value.abs()
    }

    /// Decimal digits to which `computed` agrees, at most 16.
    pub fn digits(&self, computed: f64) -> f64 {
        let off = (computed - self.value).abs() / self.value.abs().max(f64::MIN_POSITIVE);
        if off.is_nan() { 0.0 } else { (-libm::log10(off)).clamp(0.0, 16.0) }
    }
}

/// A heading of the verification page with its answers.
#[derive(Clone, Debug)]
pub struct Section {
    /// Heading.
    pub title: &'static str,
    /// Answers in order.
    pub rows: Vec<Known>,
}

/// Every tabulated answer, in the order of the verification page.
pub fn sections() -> Vec<Section> {
    vec![
        Section {
            title: "Inverted free cap, shallow limit",
            rows: cap::SHALLOW.iter().map(|t| t.lambda).collect(),
        },
        Section {
            title: "Inverted free cap, any depth: threshold",
            rows: cap::THRESHOLDS.iter().map(|t| t.h_over_r).chain(cap::FOLD_SHAPE.iter().copied()).collect(),
        },
        Section { title: "Inverted free cap, any depth: states", rows: cap::state_rows() },
        Section {
            title: "Inverted shallow cap: softest ripples",
            rows: cap::RIPPLES.iter().map(|r| r.omega_squared).collect(),
        },
        Section {
            title: "Natural shallow cap: frequencies",
            rows: cap::NATURAL.iter().map(|r| r.omega).collect(),
        },
        Section {
            title: "Circular plates: frequencies",
            rows: plate::TABLE.iter().map(|r| r.omega).collect(),
        },
        Section {
            title: "Rings and discs in their plane: frequencies",
            rows: ring_plate::RINGS
                .iter()
                .map(|r| r.omega)
                .chain(ring_plate::IN_PLANE.iter().map(|r| r.omega))
                .collect(),
        },
        Section {
            title: "Cylinders and cones: frequencies",
            rows: straight::TABLE.iter().map(|r| r.omega_squared).collect(),
        },
        Section { title: "Spheres, shallow caps, narrow rings: formulae", rows: natural::rows() },
        Section { title: "Caps under a force on the pole", rows: pole_force::rows() },
        Section { title: "Clamped caps and a complete sphere under pressure", rows: pressed::rows() },
        Section { title: "Clamped dome and ridge", rows: dome::TABLE.to_vec() },
        Section { title: "Caps let go: snaps, waits, slowing down", rows: motion::rows() },
        Section { title: "Heat: bent walls, plates that buckle, a dome", rows: heat::rows() },
        Section { title: "Heat: free discs that trip and reset", rows: heat_trip::rows() },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_answer_is_whole_and_named_once() {
        let mut seen = BTreeSet::new();
        for known in sections().iter().flat_map(|s| &s.rows) {
            assert!(known.value.is_finite() && known.half_unit() > 0.0, "{}", known.id);
            assert!(known.half_unit() <= 0.006 * known.value.abs(), "{} has too few digits", known.id);
            assert!(!known.what.is_empty() && !known.source.is_empty() && !known.unit.is_empty());
            assert!(seen.insert(known.id), "{} appears twice", known.id);
        }
        assert!(seen.len() > 40);
    }

    #[test]
    fn agreement_counts_the_last_digit() {
        let known = Known {
            id: "test",
            what: "A number.",
            value: 2.50,
            unit: "1",
            within: Slack::Absolute(0.005),
            source: "test",
            status: Status::FromMemory,
        };
        assert!(known.agrees(2.5049, 0.0) && !known.agrees(2.5051, 0.0) && known.agrees(2.5051, 1e-3));
        assert!(!known.agrees(f64::NAN, 0.0));
        assert!((known.digits(2.525) - 2.0).abs() < 1e-9);
    }
}
