//! What the figures of a poke say: labels, marks, captions.

use calotte_answers::poke::report::{Event, EventKind, Outcome, PokeReport};

use crate::ink::{self, Pen};
use crate::svg::Mark;
use crate::text::Scaled;

/// Part of an event in the story of the driving asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Trip,
    Return,
    Other,
}

/// Units of the two axes.
#[derive(Clone, Debug)]
pub(super) struct Units {
    pub(super) load: Scaled,
    pub(super) displacement: Scaled,
}

/// The label of an event.
pub(super) fn label(event: &Event, role: Role, units: &Units) -> String {
    let load = units.load.print(event.load_SI);
    let displacement = units.displacement.print(event.displacement_SI);
    let n = event.n.or(event.mode.as_ref().map(|m| m.n));
    let mode = n.map_or_else(|| "sideways".to_owned(), |n| format!("n = {n}"));
    let plain = match event.kind {
        EventKind::LoadPeak => format!("peak {load}"),
        EventKind::LoadValley => format!("valley {load}"),
        EventKind::DisplacementLimit => format!("limit {displacement}"),
        EventKind::DisplacementReturn => format!("turns at {displacement}"),
        EventKind::Sideways => format!("{mode} at {load}"),
        EventKind::SidewaysRegained => format!("{mode} regained"),
        EventKind::NoLoad => "no load".to_owned(),
        EventKind::RimLifts => "rim lifts".to_owned(),
        EventKind::PoleLiftsOff => "pole lifts off".to_owned(),
        EventKind::Stop => format!("stop at {displacement}"),
    };
    match role {
        Role::Trip => format!("trips: {plain}"),
        Role::Return => format!("back: {plain}"),
        Role::Other => plain,
    }
}

/// Mark, fill and legend words of a kind of event.
pub(super) fn mark(kind: EventKind) -> (Mark, &'static str, &'static str) {
    match kind {
        EventKind::LoadPeak => (Mark::Up, ink::INK, "load peak"),
        EventKind::LoadValley => (Mark::Down, ink::INK, "load valley"),
        EventKind::DisplacementLimit => (Mark::Right, ink::PAPER, "displacement limit"),
        EventKind::DisplacementReturn => (Mark::Left, ink::PAPER, "displacement turns"),
        EventKind::Sideways => (Mark::Diamond, ink::AMBER, "lost sideways"),
        EventKind::SidewaysRegained => (Mark::Diamond, ink::PAPER, "regained sideways"),
        EventKind::NoLoad => (Mark::Disc, ink::PAPER, "no load"),
        EventKind::RimLifts => (Mark::Square, ink::PAPER, "rim lifts"),
        EventKind::PoleLiftsOff => (Mark::Cross, ink::PAPER, "pole lifts off"),
        EventKind::Stop => (Mark::Square, ink::INK, "stop"),
    }
}

/// Outline of the marks.
pub(super) const OUTLINE: Pen = Pen::solid(ink::INK, 1.2);

/// The kinds in the order of the legend.
pub(super) const KINDS: [EventKind; 10] = [
    EventKind::LoadPeak,
    EventKind::LoadValley,
    EventKind::DisplacementLimit,
    EventKind::DisplacementReturn,
    EventKind::Sideways,
    EventKind::SidewaysRegained,
    EventKind::NoLoad,
    EventKind::RimLifts,
    EventKind::PoleLiftsOff,
    EventKind::Stop,
];

/// What is set, in words.
pub(super) fn driving(by_load: bool) -> &'static str {
    if by_load { "load" } else { "displacement" }
}

/// What happens under the driving asked for, in a sentence that starts with a space; empty when nothing trips.
pub(super) fn story(report: &PokeReport, by_load: bool, units: &Units) -> String {
    let set = driving(by_load);
    let trip = if by_load { &report.by_load } else { &report.by_displacement };
    let doubt =
        if report.outcome == Outcome::Undecided { " The evidence leaves this undecided." } else { "" };
    let Some(t) = trip.as_ref().filter(|t| t.load_SI.is_finite() && t.displacement_SI.is_finite()) else {
        return format!(" With the {set} set, no jump was met on the path.{doubt}");
    };
    let route = match t.n {
        0 => "axisymmetrically".to_owned(),
        n => format!("sideways with n = {n}"),
    };
    let lands = match t.lands.as_ref().filter(|l| l.load_SI.is_finite() && l.displacement_SI.is_finite()) {
        Some(l) if l.at_stop => " and is caught by the stop".to_owned(),
        Some(l) if by_load => {
            format!(" and lands at {}", units.displacement.print(l.displacement_SI))
        }
        Some(l) => format!(" and lands at {}", units.load.print(l.load_SI)),
        None => String::new(),
    };
    let back = report
        .return_trip
        .as_ref()
        .filter(|r| by_load && r.load_SI.is_finite())
        .map_or_else(String::new, |r| format!(" It jumps back at {}.", units.load.print(r.load_SI)));
    format!(
        " With the {set} set, the part jumps {route} at {} and {}{lands}.{back}{doubt}",
        units.load.print(t.load_SI),
        units.displacement.print(t.displacement_SI)
    )
}
