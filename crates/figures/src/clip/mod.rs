//! Figures of a clip: what a line saw over time with the followed edge on it (`strip`), the track with its errors (`track`), growth
//! on a logarithmic scale (`growth`), ringing with its fit (`ringing`), and a computed release laid over (`overlay`).

mod strip;

use calotte_lab::clip::Strip;
use calotte_lab::clip::report::ClipReport;

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::release::time::{TimeUnit, duration, usable};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Mark, Point, Svg};
use crate::thin::{VISIBLE, thin};

/// What is drawn.
#[derive(Clone, Debug)]
pub struct ClipDrawing<'a> {
    /// What the pole's line saw.
    pub strip: &'a Strip,
    /// Place of the followed edge on it, px, by frame.
    pub along: Vec<(u64, f64)>,
    /// The report.
    pub report: &'a ClipReport,
}

const HEIGHT: f64 = 250.0;
const FIT: Pen = Pen::solid(ink::RUST, 1.4);
const TRACK: Pen = Pen::solid(ink::DEEP, 1.0);
const LEVEL: Pen = Pen::with(ink::GREY, 0.9, Dash::Dashed);
const MOMENT: Pen = Pen::with(ink::GREY, 0.9, Dash::Dotted);
const DOT: f64 = 2.2;

/// The figures that the report has data for.
pub fn clip_figures(drawing: &ClipDrawing<'_>, title: &str) -> Vec<Figure> {
    let r = drawing.report;
    [strip::strip(drawing, title), track(r, title), growth(r, title), ringing(r, title), overlay(r, title)]
        .into_iter()
        .flatten()
        .collect()
}

/// Time (s), height (m) and deviation (m) of the rows within a window.
fn rows(r: &ClipReport, window: [f64; 2]) -> Vec<[f64; 3]> {
    let t = &r.track;
    (0..t.time_s.len())
        .map(|i| [t.time_s[i], t.height_m[i], t.deviation_m[i]])
        .filter(|row| row[0] >= window[0] && row[0] <= window[1] && row.iter().all(|v| usable(*v)))
        .collect()
}

/// A frame of heights (mm) over time, with the axes drawn.
struct Panel {
    svg: Svg,
    frame: Frame,
    time: TimeUnit,
}

impl Panel {
    fn new(rows: &[[f64; 3]]) -> Option<Self> {
        let (first, last) = (rows.first()?, rows.last()?);
        if last[0] <= first[0] {
            return None;
        }
        let time = TimeUnit::suiting(last[0].abs().max(first[0].abs()));
        let (low, high) = rows.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), r| {
            (a.min(r[1] - 2.0 * r[2]), b.max(r[1] + 2.0 * r[2]))
        });
        let across = Axis::between(first[0] * time.per_s, last[0] * time.per_s, 7.0);
        let up = Axis::covering(1e3 * low, 1e3 * high, 5.0);
        Some(Self::with(across, up, time, "height (mm)"))
    }

    fn with(across: Axis, up: Axis, time: TimeUnit, up_title: &str) -> Self {
        let left = 10.0 + Frame::room_left(&up);
        let frame = Frame { left, right: page_width() - 18.0, top: 54.0, bottom: 54.0 + HEIGHT, across, up };
        let mut svg = Svg::new(page_width(), frame.bottom + 46.0);
        frame.draw(&mut svg, &format!("time from the first frame ({})", time.name), up_title);
        Self { svg, frame, time }
    }

    fn at(&self, t: f64, up: f64) -> Point {
        (self.frame.x(t * self.time.per_s), self.frame.y(up))
    }

    fn curve(&mut self, class: &str, points: &[[f64; 2]], pen: Pen) {
        let window = self.frame.window();
        let line: Vec<Point> =
            points.iter().map(|p| self.at(p[0], p[1])).filter(|p| window.holds(*p)).collect();
        if line.len() > 1 {
            self.svg.curve(class, &thin(&line, VISIBLE), pen);
        }
    }

    /// Rows as dots with two deviations up and down, where these can be seen.
    fn dots(&mut self, rows: &[[f64; 3]], up: &dyn Fn(f64) -> f64) {
        for r in rows {
            let at = self.at(r[0], up(r[1]));
            if !self.frame.window().holds(at) {
                continue;
            }
            let ends = [r[1] - 2.0 * r[2], r[1] + 2.0 * r[2]].map(|x| self.at(r[0], up(x)));
            let visible = (ends[1].1 - ends[0].1).abs() > 2.0 * DOT;
            if visible && ends.iter().all(|e| usable(e.1) && self.frame.window().holds(*e)) {
                self.svg.line("deviation", ends[0], ends[1], TRACK);
            }
            self.svg.mark("frame", at, Mark::Disc, DOT, ink::PAPER, TRACK);
        }
    }

    /// A moment's line, its name over the frame, left or right of the line.
    fn moment(&mut self, t: f64, words: &str, side: Anchor) {
        let x = self.frame.x(t * self.time.per_s);
        if x > self.frame.left && x < self.frame.right {
            self.svg.line("moment", (x, self.frame.top - 4.0), (x, self.frame.bottom), MOMENT);
            let off = if side == Anchor::End { -2.0 } else { 2.0 };
            let at = (x + off, self.frame.top - 6.0);
            self.svg.text("moment-name", at, ink::TICK, side, ink::GREY, words);
        }
    }

    fn finish(
        mut self,
        name: &'static str,
        title: &str,
        legend: &[(Key, String)],
        alt: String,
        caption: String,
    ) -> Figure {
        self.svg.open("legend");
        self.svg.legend_above((self.frame.left, 20.0), self.frame.right, legend);
        self.svg.close();
        let svg = self.svg.finish(&format!("{title}: {name}"), &alt);
        Figure::new(name, svg, alt, caption)
    }
}

/// A value with its deviation, both to two digits of the latter.
fn told(value: f64, deviation: f64) -> String {
    let places = if usable(deviation) && deviation > 0.0 {
        (1.0 - libm::log10(deviation).floor()).clamp(0.0, 9.0) as usize
    } else {
        4
    };
    format!("{value:.places$} ± {deviation:.places$}")
}

fn dot() -> Key {
    Key::Mark(Mark::Disc, ink::PAPER, TRACK)
}

const DOTS: &str = "frame, ± two standard deviations where larger than the dot";

fn pairs(t: &[f64], h: &[f64]) -> Vec<[f64; 2]> {
    t.iter().zip(h).map(|(t, h)| [*t, 1e3 * h]).collect()
}

/// The whole track.
fn track(r: &ClipReport, title: &str) -> Option<Figure> {
    let rows = rows(r, [f64::NEG_INFINITY, f64::INFINITY]);
    let mut p = Panel::new(&rows)?;
    let mut legend = vec![(dot(), DOTS.to_owned())];
    if let Some(s) = &r.snap {
        p.moment(s.begins_s, "begins", Anchor::End);
        p.moment(s.ends_s, "ends", Anchor::Start);
        let ends = [rows[0][0], rows[rows.len() - 1][0]];
        for level in [s.rest_m, s.end_m] {
            p.curve("level", &[[ends[0], 1e3 * level], [ends[1], 1e3 * level]], LEVEL);
        }
        legend.push((Key::Line(LEVEL), "level at rest, level of the ringing".to_owned()));
    }
    p.dots(&rows, &|x| 1e3 * x);
    let alt = format!("Height of the edge over time in {} frames, with its errors.", rows.len());
    let caption =
        format!("{title}. Track of the edge: {} frames; gaps are frames in which it was lost.", rows.len());
    Some(p.finish("track", title, &legend, alt, caption))
}

/// Deflection from the level that it grows from, on a logarithmic scale.
fn growth(r: &ClipReport, title: &str) -> Option<Figure> {
    let g = r.growth.as_ref()?;
    let rate = r.figures.growth_rate_per_s.as_ref()?;
    let [first, last] = g.fit.window_s;
    let sign = g.deflection_m.signum();
    let all: Vec<[f64; 3]> = rows(r, [first, last + 0.5 * (last - first)]);
    let top = 3.0 * g.deflection_m.abs();
    let typical = all.iter().map(|r| r[2]).fold(f64::INFINITY, f64::min);
    let low = typical.max(1e-4 * top);
    let shown: Vec<[f64; 3]> = all
        .iter()
        .map(|r| [r[0], sign * (r[1] - g.level_m), r[2]])
        .filter(|r| r[1] > low && r[1] < top)
        .collect();
    let (a, b) = (shown.first()?, shown.last()?);
    if b[0] <= a[0] {
        return None;
    }
    let time = TimeUnit::suiting(b[0]);
    let across = Axis::between(a[0] * time.per_s, b[0] * time.per_s, 7.0);
    let mut p = Panel::with(across, Axis::logarithmic(1e3 * low, 1e3 * top), time, "deflection (mm)");
    let line: Vec<[f64; 2]> = (0..=60)
        .map(|k| a[0] + (b[0] - a[0]) * f64::from(k) / 60.0)
        .map(|t| [t, 1e3 * g.deflection_m.abs() * libm::exp(rate.value * (t - last))])
        .collect();
    p.curve("fit", &line, FIT);
    p.moment(last, "fit ends", Anchor::End);
    p.dots(&shown, &|x| 1e3 * x.max(low));
    let legend = [
        (dot(), DOTS.to_owned()),
        (Key::Line(FIT), format!("exponential, σ = {} 1/s", told(rate.value, rate.deviation))),
    ];
    let alt = format!(
        "Deflection before the snap on a logarithmic scale: an exponential with rate {:.1} per second fits {} frames.",
        rate.value, g.fit.rows
    );
    let caption = format!("{title}. Growth of the instability; the fit ends at a tenth of the way.");
    Some(p.finish("growth", title, &legend, alt, caption))
}

/// Ringing and its fit.
fn ringing(r: &ClipReport, title: &str) -> Option<Figure> {
    let fit = r.ringing.as_ref()?;
    let f = r.figures.ringing_frequency_Hz.as_ref()?;
    let [first, last] = fit.window_s;
    let rows = rows(r, [first - 0.05 * (last - first), last]);
    let mut p = Panel::new(&rows)?;
    p.curve("fit", &pairs(&fit.time_s, &fit.height_m), FIT);
    p.dots(&rows, &|x| 1e3 * x);
    let legend = [
        (dot(), DOTS.to_owned()),
        (Key::Line(FIT), format!("damped wave, {} Hz", told(f.value, f.deviation))),
    ];
    let alt =
        format!("Height after the snap with a damped wave of {:.1} Hz through {} frames.", f.value, fit.rows);
    let caption = format!("{title}. Ringing after the snap and the damped wave that fits it.");
    Some(p.finish("ringing", title, &legend, alt, caption))
}

/// The computed release laid over.
fn overlay(r: &ClipReport, title: &str) -> Option<Figure> {
    let c = r.comparison.as_ref()?;
    let (first, last) = (c.time_s.first()?, c.time_s.last()?);
    let rows = rows(r, [*first, *last]);
    let mut p = Panel::new(&rows)?;
    p.dots(&rows, &|x| 1e3 * x);
    p.curve("computed", &pairs(&c.time_s, &c.height_m), FIT);
    let legend = [
        (dot(), DOTS.to_owned()),
        (Key::Line(FIT), format!("computed, time stretched by {}", told(c.stretch, c.stretch_deviation))),
    ];
    let alt = format!(
        "Track of the clip and the computed release laid over it from {} to {}; they differ by {:.1} times the error of the edge.",
        duration(*first),
        duration(*last),
        c.residual_ratio
    );
    let caption = format!("{title}. Clip and computed release ({}).", c.title);
    Some(p.finish("overlay", title, &legend, alt, caption))
}
