//! What a next specimen would teach, over the numbers that vary.

use calotte_lab::logbook::report::{LogbookReport, NextReport, SpecimenReport};

use super::{OUTCOMES, mark_of};
use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Mark, Point, Svg};
use crate::text::{fixed, number};

const TOP: f64 = 40.0;
const PLOT: f64 = 300.0;
const SCALE: f64 = 14.0;
const TARGET: Pen = Pen::solid(ink::RUST, 1.8);
const LINE: Pen = Pen::solid(ink::DEEP, 1.8);

/// From paper to deep blue.
fn tint(share: f64) -> String {
    let mix = |a: f64, b: f64| (a + (b - a) * share.clamp(0.0, 1.0)).round() as u8;
    format!("#{:02x}{:02x}{:02x}", mix(255.0, 74.0), mix(255.0, 122.0), mix(255.0, 170.0))
}

/// The outcome that a specimen is marked by: that of its last trial.
fn last(s: &SpecimenReport) -> Option<&'static str> {
    s.trials.iter().rev().find_map(|t| t.outcome)
}

/// The figure; `None` without candidates.
pub(super) fn figure(r: &LogbookReport) -> Option<Figure> {
    let next = r.next.as_ref()?;
    let most = next.bits.iter().flatten().copied().fold(0.0, f64::max);
    if most.is_nan() || most <= 0.0 || next.axes_si.iter().any(|a| a.len() < 2) {
        return None;
    }
    let svg = match next.axes_si.len() {
        1 => line(r, next, most),
        _ => plane(r, next, most),
    };
    let best = next.best.first()?;
    let sizes: Vec<String> = best.sizes.iter().map(|s| format!("{} {}", s.key, s.shown)).collect();
    let told = format!("the best, {}, teaches {} bits", sizes.join(", "), number(best.bits, 2));
    let alt = format!(
        "Bits that the trial of a next specimen teaches on average, over {}; {told}.",
        next.keys.join(" and ")
    );
    let caption = format!("{}. What a next specimen would teach; {told}.", r.title);
    Some(Figure::new("next", svg.finish(&format!("{}: what to make next", r.title), &alt), alt, caption))
}

fn axis(next: &NextReport, i: usize) -> Axis {
    let (values, unit) = (&next.axes_si[i], next.units_si[i]);
    let (first, last) = (values[0] / unit, values[values.len() - 1] / unit);
    let half = 0.5 * (last - first) / (values.len() - 1) as f64;
    Axis::between(first - half, last + half, 6.0)
}

fn title(next: &NextReport, i: usize) -> String {
    let unit = &next.units[i];
    if unit.is_empty() { next.keys[i].clone() } else { format!("{} ({unit})", next.keys[i]) }
}

/// Values of a specimen on the axes.
fn values(next: &NextReport, s: &SpecimenReport) -> Option<Vec<f64>> {
    let of = |(i, k): (usize, &String)| {
        s.sizes.iter().find(|z| z.key == *k).map(|z| z.value_si / next.units_si[i])
    };
    next.keys.iter().enumerate().map(of).collect()
}

fn plane(r: &LogbookReport, next: &NextReport, most: f64) -> Svg {
    let (across, up) = (axis(next, 0), axis(next, 1));
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 96.0, top: TOP, bottom: TOP + PLOT, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    let counts = [next.axes_si[0].len(), next.axes_si[1].len()];
    let size = [(frame.right - frame.left) / counts[0] as f64, (frame.bottom - frame.top) / counts[1] as f64];
    svg.open("bits");
    for (k, bits) in next.bits.iter().enumerate() {
        let Some(bits) = bits.filter(|b| b.is_finite()) else { continue };
        let (i, j) = (k % counts[0], k / counts[0]);
        let at = (frame.left + size[0] * i as f64, frame.bottom - size[1] * (j as f64 + 1.0));
        // A hair of overlap, so that no seam shows between the cells.
        svg.rectangle("cell", at, (size[0] + 0.3, size[1] + 0.3), &tint(bits / most));
    }
    svg.close();
    frame.draw(&mut svg, &title(next, 0), &title(next, 1));
    let at = |v: &[f64]| -> Point { (frame.x(v[0]), frame.y(v[1])) };
    svg.open("specimens");
    for s in &r.specimens {
        let (Some(v), Some(did)) = (values(next, s), last(s)) else { continue };
        let p = at(&v);
        if frame.window().holds(p) {
            let (mark, fill, pen) = mark_of(did);
            svg.mark("specimen", p, mark, 3.6, fill, pen);
        }
    }
    svg.close();
    best(&mut svg, next, &at);
    // The scale.
    let (x, steps) = (frame.right + 22.0, 40);
    svg.open("scale");
    for i in 0..steps {
        let share = (f64::from(i) + 0.5) / f64::from(steps);
        let step = PLOT / f64::from(steps);
        svg.rectangle("step", (x, frame.bottom - step * f64::from(i + 1)), (SCALE, step + 0.3), &tint(share));
    }
    for share in [0.0, 0.5, 1.0] {
        let y = frame.bottom - share * PLOT;
        svg.line("tick", (x + SCALE, y), (x + SCALE + 4.0, y), Pen::solid(ink::INK, 0.8));
        svg.text(
            "number",
            (x + SCALE + 8.0, y + 3.6),
            ink::TICK,
            Anchor::Start,
            ink::INK,
            &fixed(share * most, 2),
        );
    }
    svg.text_upright(
        "axis-title",
        (x + SCALE + 48.0, 0.5 * (frame.top + frame.bottom)),
        ink::LABEL,
        Anchor::Middle,
        ink::INK,
        "bits",
    );
    svg.close();
    legend(&mut svg, r);
    svg
}

fn line(r: &LogbookReport, next: &NextReport, most: f64) -> Svg {
    let (across, up) = (axis(next, 0), Axis::covering(0.0, most, 5.0));
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: TOP, bottom: TOP + 0.7 * PLOT, across, up };
    let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
    frame.draw(&mut svg, &title(next, 0), "what its trial teaches (bits)");
    let unit = next.units_si[0];
    let points: Vec<Point> = next.axes_si[0]
        .iter()
        .zip(&next.bits)
        .filter_map(|(x, b)| Some((frame.x(x / unit), frame.y((*b)?))))
        .collect();
    svg.curve("bits", &points, LINE);
    svg.open("specimens");
    for s in &r.specimens {
        let (Some(v), Some(did)) = (values(next, s), last(s)) else { continue };
        let (mark, fill, pen) = mark_of(did);
        let p = (frame.x(v[0]), frame.bottom - 7.0);
        if frame.window().holds(p) {
            svg.mark("specimen", p, mark, 3.6, fill, pen);
        }
    }
    svg.close();
    let bits = |v: &[f64]| {
        next.best
            .iter()
            .find(|b| b.sizes.iter().any(|s| (s.value_si / unit - v[0]).abs() < 1e-9))
            .map_or(0.0, |b| b.bits)
    };
    best(&mut svg, next, &|v| (frame.x(v[0]), frame.y(bits(v))));
    legend(&mut svg, r);
    svg
}

fn best(svg: &mut Svg, next: &NextReport, at: &dyn Fn(&[f64]) -> Point) {
    svg.open("best");
    for (i, c) in next.best.iter().enumerate() {
        let of = |(k, key): (usize, &String)| {
            c.sizes.iter().find(|z| z.key == *key).map(|z| z.value_si / next.units_si[k])
        };
        let Some(v) = next.keys.iter().enumerate().map(of).collect::<Option<Vec<f64>>>() else { continue };
        let p = at(&v);
        svg.mark("target", p, Mark::Target, 6.0, "none", TARGET);
        svg.text(
            "rank",
            (p.0 + 10.0, p.1 - 7.0),
            ink::LABEL,
            Anchor::Start,
            ink::RUST,
            &format!("{}", i + 1),
        );
    }
    svg.close();
}

fn legend(svg: &mut Svg, r: &LogbookReport) {
    svg.open("legend");
    let mut entries: Vec<(Key, String)> = OUTCOMES
        .into_iter()
        .filter(|o| r.specimens.iter().any(|s| last(s) == Some(*o)))
        .map(|o| {
            let (mark, fill, pen) = mark_of(o);
            (Key::Mark(mark, fill, pen), o.to_owned())
        })
        .collect();
    entries.push((Key::Mark(Mark::Target, "none", TARGET), "best to make next".to_owned()));
    svg.legend_above((12.0, 18.0), page_width() - 10.0, &entries);
    svg.close();
}
