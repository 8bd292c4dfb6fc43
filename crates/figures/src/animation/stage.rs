//! The scene of an animation: what stands still is drawn once, what moves is drawn over it.

use calotte_answers::release::report::ReleaseReport;
use resvg::tiny_skia::{Color, FillRule, LineCap, Paint, Path, PathBuilder, Pixmap, Rect, Stroke, Transform};
use resvg::usvg;

use super::Setting;
use super::schedule::Stretch;
use crate::axis::round_below;
use crate::ink::{self, Dash, Pen};
use crate::png::paint;
use crate::release::film::{Film, extent};
use crate::release::time::{TimeUnit, at, flight, phases, snap, whole_rows};
use crate::svg::{Anchor, Point, Svg};
use crate::text::{LengthUnit, fixed, text_width};
use crate::thin::{VISIBLE, thin};
use crate::typeface::options;

/// Width of the page in user units; its height follows from the picture's.
const PAGE: f64 = 480.0;
/// Heights of the lines with words, and where the scene begins.
const FIRST_LINE: f64 = 22.0;
const SECOND_LINE: f64 = 40.0;
const SCENE: f64 = 50.0;
/// Room for the trace with its names, below the scene.
const TRACE: f64 = 92.0;
/// Left end of the scene: the ruler stands there.
const RULER: f64 = 46.0;
/// Ground below the table.
const GROUND: f64 = 10.0;
/// Room for the title above the shapes.
const HEAD: f64 = 18.0;
const WORDS: f64 = 15.0;
const SMALL: f64 = 11.5;

/// A moment to be shown.
pub(super) struct Moment<'a> {
    pub(super) time: f64,
    /// Time to the next picture; 0 for a still.
    pub(super) step: f64,
    pub(super) words: &'a str,
}

/// The scene laid out.
pub(super) struct Stage<'a> {
    film: &'a Film,
    options: usvg::Options<'static>,
    /// What stands still, without and with the ruler as it is while the camera rests.
    bare: Pixmap,
    rest: Pixmap,
    /// Pixels per user unit.
    pixels: f32,
    height: f64,
    /// User units per metre, and the page height of height 0 with the camera at rest.
    scale: f64,
    zero: f64,
    floor: Option<f64>,
    /// Time, trace height on the page.
    trace: Vec<Vec<f64>>,
    camera: Camera,
    plan: Vec<Stretch>,
    halfway: Option<f64>,
    unit: TimeUnit,
    ruler: (f64, LengthUnit),
}

/// Follows a part in flight by its centre of mass: ringing does not shake it.
struct Camera {
    /// Take-off.
    from: f64,
    /// Time and height of the centre of mass.
    centre: Vec<Vec<f64>>,
    /// How far a shape reaches above the centre in flight.
    reach: f64,
}

impl Camera {
    /// `shown`: time, half width, lowest and highest of every shape.
    fn new(report: &ReleaseReport, from: f64, shown: &[(f64, f64, f64, f64)]) -> Self {
        let h = &report.history;
        let mut centre = whole_rows(&[&h.time_s, &h.centre_height_m]);
        if centre.is_empty() {
            // The shapes themselves then.
            centre = shown.iter().map(|s| vec![s.0, (s.2 + s.3) / 2.0]).collect();
        }
        let flying = shown.iter().filter(|s| s.0 >= from);
        let reach = flying.map(|s| s.3 - at(&centre, 1, s.0)).fold(f64::NEG_INFINITY, f64::max);
        Self { from, centre, reach }
    }

    /// Height that has to be seen for the camera to rest at take-off.
    fn start(&self) -> f64 {
        if self.from.is_finite() { at(&self.centre, 1, self.from) + self.reach } else { f64::NEG_INFINITY }
    }

    /// How far it has risen, if it sees up to `highest` at rest.
    fn rise(&self, time: f64, highest: f64) -> f64 {
        if time < self.from { 0.0 } else { (at(&self.centre, 1, time) + self.reach - highest).max(0.0) }
    }
}

fn colour(hex: &str) -> Color {
    let part = |i: usize| hex.get(i..i + 2).and_then(|h| u8::from_str_radix(h, 16).ok()).unwrap_or(0);
    Color::from_rgba8(part(1), part(3), part(5), 255)
}

fn ink_of(hex: &str) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color(colour(hex));
    paint.anti_alias = true;
    paint
}

fn stroke(width: f32) -> Stroke {
    Stroke { width, line_cap: LineCap::Round, ..Stroke::default() }
}

fn closed(points: &[Point]) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (i, p) in points.iter().enumerate() {
        let (x, y) = (p.0 as f32, p.1 as f32);
        if i == 0 { builder.move_to(x, y) } else { builder.line_to(x, y) }
    }
    builder.close();
    builder.finish()
}

/// Page x of a time: pictures are equally far apart.
fn across(plan: &[Stretch], time: f64) -> f64 {
    let total: usize = plan.iter().map(|s| s.count).sum();
    let mut done = 0.0;
    for s in plan {
        if time < s.to {
            done += s.count as f64 * ((time - s.from) / (s.to - s.from)).max(0.0);
            break;
        }
        done += s.count as f64;
    }
    let (left, right) = (RULER, PAGE - 14.0);
    left + (right - left) * done / (total.max(1)) as f64
}

impl<'a> Stage<'a> {
    /// Lays the scene out and draws what stands still; `None` when it has no extent.
    pub(super) fn new(
        report: &ReleaseReport,
        film: &'a Film,
        plan: &[Stretch],
        setting: &Setting,
    ) -> Option<Self> {
        let height = PAGE * f64::from(setting.height) / f64::from(setting.width);
        let (top, bottom) = (SCENE, height - TRACE);
        let end = plan.last()?.to;
        let shown: Vec<(f64, f64, f64, f64)> = plan
            .iter()
            .flat_map(|s| (0..=s.count).map(move |k| s.from + s.step() * k as f64))
            .map(|t| {
                let (half, low, high) = extent(film.wall(&film.at(t)).iter());
                (t, half, low, high)
            })
            .collect();
        // In flight the camera follows, so that the flight does not make the part small.
        let camera = Camera::new(report, flight(report, end).map_or(f64::INFINITY, |f| f.0), &shown);
        let (half, low, high) = shown.iter().fold((0.0, f64::INFINITY, camera.start()), |(w, a, b), s| {
            let stands = s.0 < camera.from;
            (f64::max(w, s.1), if stands { a.min(s.2) } else { a }, if stands { f64::max(b, s.3) } else { b })
        });
        let floor = (report.protocol.rests == "table").then(|| film.floor());
        let low = floor.map_or(low, |f| low.min(f));
        let scale =
            ((PAGE - RULER - 40.0) / (2.0 * half)).min((bottom - top - GROUND - HEAD - 4.0) / (high - low));
        if !(scale.is_finite() && scale > 0.0) || bottom - top < 60.0 {
            return None;
        }
        // The shapes stand in the middle of the scene, on the ground where there is a table.
        let spare = (bottom - top - GROUND) - scale * (high - low);
        let zero = bottom - GROUND - if floor.is_some() { 0.0 } else { spare / 2.0 } + scale * low;

        let h = &report.history;
        let mut trace = whole_rows(&[&h.time_s, &h.pole_over_rim_m]);
        let (least, most) =
            trace.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), r| (a.min(r[1]), b.max(r[1])));
        let (trace_top, trace_bottom) = (bottom + 14.0, height - 24.0);
        let range = if most > least { most - least } else { 1.0 };
        let place = |x: f64| trace_bottom - 4.0 - (x - least) / range * (trace_bottom - trace_top - 8.0);
        trace.iter_mut().for_each(|r| r[1] = place(r[1]));
        let unit = LengthUnit::for_length((high - low).abs());
        let step = round_below(60.0 * unit.per_m / scale) / unit.per_m;
        let first = film.first();
        let mut stage = Self {
            film,
            options: options(),
            rest: Pixmap::new(setting.width, setting.height)?,
            bare: Pixmap::new(setting.width, setting.height)?,
            pixels: setting.width as f32 / PAGE as f32,
            height,
            scale,
            zero,
            floor,
            trace,
            camera,
            plan: plan.to_vec(),
            halfway: snap(report).map(|s| s.halfway_s),
            unit: if end < 0.9 { TimeUnit::suiting(end) } else { TimeUnit { per_s: 1.0, name: "s" } },
            ruler: (step, unit),
        };
        let named = phases(report, first, end);
        let zero_line = (least < 0.0 && most > 0.0).then(|| place(0.0));
        let svg = stage.still(&named, zero_line, (trace_top, trace_bottom), &report.title);
        paint(&svg, &stage.options, &mut stage.bare).ok()?;
        stage.rest = stage.bare.clone();
        let mut ruler = Svg::clear(PAGE, height);
        stage.measure(&mut ruler, zero);
        paint(&ruler.finish("", "").svg, &stage.options, &mut stage.rest).ok()?;
        Some(stage)
    }

    /// Title, axis and trace.
    fn still(
        &self,
        named: &[crate::release::time::Phase],
        zero: Option<f64>,
        (top, bottom): (f64, f64),
        title: &str,
    ) -> String {
        let mut svg = Svg::new(PAGE, self.height);
        let axis = (PAGE + RULER) / 2.0;
        let pen = Pen::with(ink::FAINT, 0.9, Dash::Chain);
        svg.line("axis", (axis, SCENE), (axis, self.height - TRACE), pen);
        let (left, right) = (RULER, PAGE - 14.0);
        for phase in named {
            let (x0, x1) = (across(&self.plan, phase.from), across(&self.plan, phase.to));
            svg.rectangle("phase", (x0, top), (x1 - x0, bottom - top), phase.tint);
            if x1 - x0 > text_width(phase.name, SMALL) {
                let at = ((x0 + x1) / 2.0, bottom + 14.0);
                svg.text("phase-name", at, SMALL, Anchor::Middle, ink::INK, phase.name);
            }
        }
        for s in self.plan.iter().skip(1) {
            let x = across(&self.plan, s.from);
            svg.line("join", (x, top), (x, bottom), Pen::with(ink::GREY, 0.8, Dash::Dotted));
        }
        if let Some(y) = zero {
            svg.line("level", (left, y), (right, y), Pen::with(ink::GREY, 0.8, Dash::Dotted));
            svg.text("level-name", (left - 4.0, y + 4.0), SMALL, Anchor::End, ink::GREY, "level");
        }
        let end = self.plan.last().map_or(0.0, |s| s.to);
        let mut line: Vec<Point> =
            self.trace.iter().filter(|r| r[0] <= end).map(|r| (across(&self.plan, r[0]), r[1])).collect();
        if !self.trace.is_empty() {
            line.push((right, at(&self.trace, 1, end)));
        }
        svg.curve("trace", &thin(&line, VISIBLE), Pen::solid(ink::DEEP, 1.6));
        let mut shown: String = title.to_owned();
        while text_width(&shown, SMALL) > PAGE / 2.0 && shown.pop().is_some() {}
        svg.text("title", (right, SCENE + 12.0), SMALL, Anchor::End, ink::GREY, &shown);
        svg.finish(&shown, "").svg
    }

    /// The picture of a moment; `None` when its words cannot be set.
    pub(super) fn paint(&self, moment: &Moment<'_>) -> Option<Pixmap> {
        let transform = Transform::from_scale(self.pixels, self.pixels);
        let line = self.film.at(moment.time);
        let wall = self.film.wall(&line);
        let camera = self.camera.rise(moment.time, (self.zero - SCENE - HEAD) / self.scale);
        let zero = self.zero + self.scale * camera;
        let mut picture = if camera > 0.0 { self.bare.clone() } else { self.rest.clone() };
        let ground = self.height - TRACE;
        let axis = (PAGE + RULER) / 2.0;
        if let Some(table) = self.floor.map(|f| zero - self.scale * f).filter(|y| *y < ground) {
            let (x, y) = (RULER as f32, table as f32);
            let right = (PAGE - 14.0) as f32;
            let rect = Rect::from_ltrb(x, y, right, ground as f32)?;
            picture.fill_rect(rect, &ink_of(ink::SHADE), transform, None);
            let mut top = PathBuilder::new();
            top.move_to(x, y);
            top.line_to(right, y);
            picture.stroke_path(&top.finish()?, &ink_of(ink::INK), &stroke(1.2), transform, None);
        }
        for piece in &wall {
            let points: Vec<Point> =
                piece.iter().map(|p| (axis + self.scale * p.0, zero - self.scale * p.1)).collect();
            let path = closed(&points)?;
            picture.fill_path(&path, &ink_of(ink::WALL_INVERTED), FillRule::Winding, transform, None);
            picture.stroke_path(&path, &ink_of(ink::INK), &stroke(1.1), transform, None);
        }
        if !self.trace.is_empty() {
            let (x, y) = (across(&self.plan, moment.time), at(&self.trace, 1, moment.time));
            let dot = PathBuilder::from_circle(x as f32, y as f32, 4.5)?;
            picture.fill_path(&dot, &ink_of(ink::AMBER), FillRule::Winding, transform, None);
            picture.stroke_path(&dot, &ink_of(ink::INK), &stroke(1.0), transform, None);
        }
        paint(&self.lettering(moment, (camera > 0.0).then_some(zero)), &self.options, &mut picture).ok()?;
        Some(picture)
    }

    /// Words and clock of a moment, and the ruler when the camera has moved.
    fn lettering(&self, moment: &Moment<'_>, moved: Option<f64>) -> String {
        let mut svg = Svg::clear(PAGE, self.height);
        svg.text_on_colour("words", (12.0, FIRST_LINE), WORDS, Anchor::Start, ink::INK, moment.words);
        let decimals = |per_s: f64| {
            let step = if moment.step > 0.0 { moment.step } else { 1e-3 / per_s };
            (-libm::log10(step * per_s)).ceil().clamp(0.0, 7.0) as usize
        };
        let clock =
            format!("{} {}", fixed(moment.time * self.unit.per_s, decimals(self.unit.per_s)), self.unit.name);
        svg.text_on_colour("clock", (PAGE - 12.0, FIRST_LINE), WORDS, Anchor::End, ink::INK, &clock);
        svg.text_on_colour(
            "clock-of",
            (PAGE - 12.0, SECOND_LINE),
            SMALL,
            Anchor::End,
            ink::GREY,
            "after letting go",
        );
        if let Some(half) = self.halfway {
            let from = moment.time - half;
            let near = TimeUnit::suiting(from);
            // Far from it the clock says enough.
            if moment.step > 0.0 && from.abs() < 2000.0 * moment.step {
                let sign = if from >= 0.0 { "+" } else { "" };
                let per_s = if near.name == "µs" { 1e3 } else { near.per_s };
                let name = if near.name == "µs" { "ms" } else { near.name };
                let words = format!("half-way {sign}{} {name}", fixed(from * per_s, decimals(per_s)));
                svg.text_on_colour("from-half", (12.0, SECOND_LINE), SMALL, Anchor::Start, ink::GREY, &words);
            }
        }
        if let Some(zero) = moved {
            self.measure(&mut svg, zero);
        }
        svg.finish("", "").svg
    }

    /// A ruler of heights left of the scene.
    fn measure(&self, svg: &mut Svg, zero: f64) {
        let (step, unit) = self.ruler;
        let (top, bottom) = (SCENE + 4.0, self.height - TRACE);
        let pen = Pen::solid(ink::GREY, 0.9);
        svg.line("ruler", (RULER, top), (RULER, bottom), pen);
        if !(step.is_finite() && step > 0.0) {
            return;
        }
        let height = |y: f64| (zero - y) / self.scale;
        let (first, last) = ((height(bottom) / step).ceil(), (height(top) / step).floor());
        if !(0.0..60.0).contains(&(last - first)) {
            return;
        }
        let mut k = first;
        while k <= last {
            let y = zero - k * step * self.scale;
            svg.line("ruler-tick", (RULER - 5.0, y), (RULER, y), pen);
            let size = step * unit.per_m;
            let decimals = if size < 1.0 { (-libm::log10(size)).ceil().clamp(0.0, 6.0) as usize } else { 0 };
            let label = fixed(k * size, decimals);
            svg.text_on_colour("ruler-number", (RULER - 8.0, y + 4.0), SMALL, Anchor::End, ink::GREY, &label);
            k += 1.0;
        }
        svg.text("ruler-unit", (RULER + 5.0, SCENE + 12.0), SMALL, Anchor::Start, ink::GREY, unit.name);
    }
}
