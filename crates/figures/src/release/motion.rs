//! Height of the pole over the rim against time: creep, snap and ringing, each at its own scale.

use calotte_answers::release::report::{Outcome, ReleaseReport};

use super::split::{STRIP, Split, legs};
use super::time::{at, duration, moments, phases, signed, snap, usable, whole_rows};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Svg};
use crate::text::{Scaled, number, text_width};

/// Height of the panels.
const PLOT: f64 = 250.0;
const MARK: f64 = 3.4;
const CURVE: Pen = Pen::solid(ink::DEEP, 2.0);
const LEVEL: Pen = Pen::with(ink::GREY, 0.9, Dash::Dotted);

/// The figure; `None` with fewer than two whole rows.
pub(super) fn figure(report: &ReleaseReport) -> Option<Figure> {
    let h = &report.history;
    let rows = whole_rows(&[&h.time_s, &h.pole_over_rim_m]);
    let (first, last) = (rows.first()?[0], rows.last()?[0]);
    if last <= first {
        return None;
    }
    let natural = Some(-report.part.rise_m).filter(|r| usable(*r) && snap(report).is_some());
    let (low, high) =
        rows.iter().map(|r| r[1]).chain(natural).fold((0.0_f64, 0.0_f64), |(a, b), x| (a.min(x), b.max(x)));
    let unit = Scaled::suiting(low.abs().max(high.abs()), "m");
    let pad = 0.06 * (high - low);
    let up = Axis::covering((low - pad) * unit.factor, (high + pad) * unit.factor, 6.0);
    let line: Vec<(f64, f64)> = rows.iter().map(|r| (r[0], r[1] * unit.factor)).collect();

    let left = 10.0 + Frame::room_left(&up);
    let top = 10.0 + STRIP;
    let pieces = legs(report, first, last);
    let split = Split::new(&pieces, &line, (left, page_width() - 14.0), (top, top + PLOT), up);
    let mut svg = Svg::new(page_width(), split.bottom + 46.0);
    let named = phases(report, first, last);
    split.phases(&mut svg, &named);
    split.draw(&mut svg, &unit.title("pole above rim"));

    let mut placer =
        Placer::new(Rect { left, top: split.top, right: page_width() - 14.0, bottom: split.bottom });
    svg.open("levels");
    let (x0, x1) = split.sides();
    let levels = [(0.0, "pole and rim level"), (-report.part.rise_m, "natural")];
    for (value, name) in levels.into_iter().take(if natural.is_some() { 2 } else { 1 }) {
        let y = split.y(value * unit.factor);
        svg.line("level", (x0, y), (x1, y), LEVEL);
        let at = (x0 + 5.0, y - 4.0);
        svg.text("level-name", at, ink::TICK, Anchor::Start, ink::GREY, name);
        let half = text_width(name, ink::TICK) / 2.0;
        placer.block(Rect::about((at.0 + half, at.1 - 3.6), half + 2.0, 6.0));
    }
    svg.close();
    svg.open("curve");
    for piece in split.curves(&line) {
        svg.curve("height", &piece, CURVE);
        placer.avoid(&piece);
    }
    svg.close();

    // Labels keep to their panels where they can.
    for panel in &split.panels {
        placer.avoid(&[(panel.left, split.top), (panel.left, split.bottom)]);
        placer.avoid(&[(panel.right, split.top), (panel.right, split.bottom)]);
    }
    svg.open("events");
    let marks = moments(report, first, last);
    let places: Vec<_> =
        marks.iter().map(|(t, words)| (split.page(*t, at(&rows, 1, *t) * unit.factor), words)).collect();
    for p in places.iter().filter_map(|p| p.0) {
        placer.block(Rect::about(p, MARK, MARK));
    }
    for (p, words) in &places {
        let Some(p) = *p else { continue };
        svg.circle("event", p, MARK, ink::PAPER, Pen::solid(ink::INK, 1.2));
        let Some(spot) = placer.beside(p, MARK + 2.0, words, ink::LABEL) else { continue };
        if let Some((a, b)) = spot.leader {
            svg.line("leader", a, b, Pen::solid(ink::GREY, 0.7));
        }
        svg.text("label", spot.at, ink::LABEL, Anchor::Start, ink::INK, words);
    }
    svg.close();

    let (alt, caption) = speech(report, &rows, &unit, pieces.len(), &named);
    let title = format!("{}: height of the pole over time", report.title);
    Some(Figure::new("motion", svg.finish(&title, &alt), alt, caption))
}

/// What the motion does, in words with numbers; shared with the other figures.
pub(super) fn told(report: &ReleaseReport) -> String {
    let Some(s) = snap(report) else {
        return match report.outcome {
            Outcome::Stays => "It stays inverted.".to_owned(),
            _ => "It does not snap within the time followed.".to_owned(),
        };
    };
    let wait = if report.outcome == Outcome::Waits {
        format!("It waits {} and then snaps", duration(s.wait_s))
    } else {
        format!("It sets off {} after letting go and snaps", duration(s.wait_s))
    };
    let speed = if usable(s.peak_speed_m_per_s) {
        format!(
            ", the pole moving at up to {} against the rim",
            Scaled::suiting(1.0, "m/s").print(s.peak_speed_m_per_s)
        )
    } else {
        String::new()
    };
    format!("{wait} from a tenth to nine tenths of the way in {}{speed}.", duration(s.snap_time_s))
}

fn speech(
    report: &ReleaseReport,
    rows: &[Vec<f64>],
    unit: &Scaled,
    panels: usize,
    named: &[super::time::Phase],
) -> (String, String) {
    let told = told(report);
    let ends = match (rows.first(), rows.last()) {
        (Some(a), Some(b)) => format!(
            "The pole starts {} above the rim and ends at {}, {} after letting go.",
            unit.print(a[1]),
            unit.print(b[1]),
            duration(b[0])
        ),
        _ => String::new(),
    };
    let ringing = report.ringing.filter(|r| usable(r.frequency_Hz) && usable(r.amplitude_m)).map_or_else(
        String::new,
        |r| {
            format!(
                " It rings at {} with an amplitude of {}.",
                Scaled::suiting(r.frequency_Hz, "Hz").print(r.frequency_Hz),
                Scaled::suiting(r.amplitude_m, "m").print(r.amplitude_m)
            )
        },
    );
    let jump = report.jump.filter(|j| usable(j.takeoff_s) && usable(j.takeoff_speed_m_per_s)).map_or_else(
        String::new,
        |j| {
            let when = snap(report).map_or_else(
                || duration(j.takeoff_s),
                |s| format!("{} from half-way", signed(j.takeoff_s - s.halfway_s)),
            );
            format!(" It leaves the table at {} m/s, {when}.", number(j.takeoff_speed_m_per_s, 3))
        },
    );
    let scales = match panels {
        0 | 1 => String::new(),
        n => format!(" Time runs through {n} panels, each with a scale of its own; the height is common."),
    };
    let bands: Vec<&str> = named.iter().map(|p| p.name).collect();
    let caption = format!(
        "{}. Height of the pole above the rim after letting go.{scales} Grounds: {}. {told}{ringing}{jump}",
        report.title,
        bands.join(", ")
    );
    let alt = format!(
        "Curve of the height of the pole above the rim over time.{scales} {ends} {told}{ringing}{jump}"
    );
    (alt, caption)
}
