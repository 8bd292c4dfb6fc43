//! A wall as callipers read it: thickness along the arc, and what is left of it round the axis.

use std::f64::consts::PI;

use calotte_lab::bench::BenchReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::style::page_width;
use crate::svg::{Key, Mark, Point, Svg};

const OUTLINE: Pen = Pen::solid(ink::INK, 0.9);
const MEAN: Pen = Pen::solid(ink::DEEP, 1.8);
const WAVE: Pen = Pen::solid(ink::RUST, 1.6);

/// The figure of the first wall; `None` without one.
pub(super) fn figure(r: &BenchReport) -> Option<Figure> {
    let map = r.thickness.first()?;
    let mm = |x: f64| 1e3 * x;
    let ends = |of: &dyn Fn(&[f64; 3]) -> f64| {
        map.readings
            .iter()
            .map(of)
            .fold([f64::INFINITY, f64::NEG_INFINITY], |e, x| [e[0].min(x), e[1].max(x)])
    };
    let [s0, s1] = ends(&|p| mm(p[0]));
    let [h0, h1] = ends(&|p| mm(p[2]));
    if !(s1 > s0 && h0.is_finite()) {
        return None;
    }
    let room = (0.25 * (h1 - h0)).max(0.01 * h1);
    let across = Axis::covering(s0.min(0.0), s1 + 0.04 * (s1 - s0), 7.0);
    let up = Axis::covering(h0 - room, h1 + room, 5.0);
    let left = 10.0 + Frame::room_left(&up);
    let right = page_width() - 18.0;
    let upper = Frame { left, right, top: 44.0, bottom: 210.0, across, up };
    let lopsided = map.lopsided.as_ref();
    let mut svg = Svg::new(page_width(), if lopsided.is_some() { 420.0 } else { 256.0 });
    upper.draw(&mut svg, "arclength from the pole (mm)", "thickness (mm)");
    let at = |s: f64, h: f64| -> Point { (upper.x(mm(s)), upper.y(mm(h))) };
    for p in &map.readings {
        svg.mark("reading", at(p[0], p[2]), Mark::Disc, 2.6, ink::PAPER, OUTLINE);
    }
    let line: Vec<Point> = map.wall.iter().map(|w| at(w.arclength_m, w.thickness_m)).collect();
    svg.curve("wall", &line, MEAN);
    for w in &map.wall {
        let (x, y) = at(w.arclength_m, w.thickness_m);
        let half = (upper.y(mm(w.thickness_m)) - upper.y(mm(w.thickness_m + 2.0 * w.deviation_m))).abs();
        svg.line("error", (x, y - half), (x, y + half), MEAN);
    }
    let mut entries = vec![
        (Key::Mark(Mark::Disc, ink::PAPER, OUTLINE), "reading".to_owned()),
        (Key::Line(MEAN), "mean round the axis, 95 %".to_owned()),
    ];
    let mut told =
        format!("{}: {} readings, {:.3} mm on average", map.test, map.readings.len(), mm(map.mean_m));
    if let Some(l) = lopsided {
        let mean_at =
            |s: f64| map.wall.iter().find(|w| w.arclength_m == s).map_or(map.mean_m, |w| w.thickness_m);
        let off: Vec<[f64; 2]> =
            map.readings.iter().map(|p| [p[1].to_degrees(), mm(p[2] - mean_at(p[0]))]).collect();
        let most = off.iter().map(|p| p[1].abs()).fold(mm(l.amplitude_m), f64::max).max(1e-6);
        let turn = off.iter().map(|p| p[0]).fold([0.0_f64, 360.0_f64], |e, x| [e[0].min(x), e[1].max(x)]);
        let lower = Frame {
            left,
            right,
            top: 270.0,
            bottom: 374.0,
            across: Axis::between(turn[0] - 8.0, turn[1] + 8.0, 8.0),
            up: Axis::between(-1.25 * most, 1.25 * most, 4.0),
        };
        lower.draw(&mut svg, "angle round the axis (degrees)", "off the mean (mm)");
        svg.line("zero", (left, lower.y(0.0)), (right, lower.y(0.0)), OUTLINE);
        for p in &off {
            svg.mark("reading", (lower.x(p[0]), lower.y(p[1])), Mark::Disc, 2.6, ink::PAPER, OUTLINE);
        }
        let wave: Vec<Point> = (0..=120)
            .map(|i| {
                let angle = turn[0] + (turn[1] - turn[0]) * f64::from(i) / 120.0;
                let h = l.amplitude_m * libm::cos(angle * PI / 180.0 - l.direction_rad);
                (lower.x(angle), lower.y(mm(h)))
            })
            .collect();
        svg.curve("wave", &wave, WAVE);
        entries.push((Key::Line(WAVE), "one wave round the axis".to_owned()));
        told += &format!(
            "; one wave round the axis of {:.3} ± {:.3} mm, thickest at {:.0}°{}",
            mm(l.amplitude_m),
            mm(2.0 * l.deviation_m),
            l.direction_rad.to_degrees(),
            if l.seen { "" } else { ", no more than chance" }
        );
    }
    svg.open("legend");
    svg.legend_above((left, 20.0), right, &entries);
    svg.close();
    let alt = format!("Above, thickness along the arc; below, what is left round the axis. {told}.");
    let caption = format!("{}. Wall. {told}.", r.title);
    Some(Figure::new("wall", svg.finish(&format!("{}: wall", r.title), &alt), alt, caption))
}
