//! The scene of a film: what stands still is drawn once, what moves is drawn over it.

use resvg::tiny_skia::{Color, FillRule, LineCap, Paint, Path, PathBuilder, Pixmap, Rect, Stroke, Transform};
use resvg::usvg;

use super::View;
use super::palette::channels;
use super::play::{Chart, Moment, Play};
use super::solid::{Solid, energy_colour};
use crate::axis::round_below;
use crate::ink::{self, Dash, Pen};
use crate::png::paint;
use crate::release::film::{Line, extent};
use crate::svg::{Anchor, Point, Svg};
use crate::text::{LengthUnit, fixed, quantity, text_width};
use crate::thin::{VISIBLE, thin};
use crate::typeface::options;

/// Width of the page in user units; its height follows from the picture's.
const PAGE: f64 = 480.0;
/// Heights of the lines with words, and where the scene begins.
const FIRST_LINE: f64 = 22.0;
const SECOND_LINE: f64 = 40.0;
const SCENE: f64 = 50.0;
/// Left end of the chart and of a scene alone: the ruler stands there.
const RULER: f64 = 46.0;
/// Right end.
const RIGHT: f64 = PAGE - 14.0;
/// Ground below the table.
const GROUND: f64 = 10.0;
/// Room for the title above the shapes.
const HEAD: f64 = 18.0;
/// Beside a part in the round the title has a line of its own.
const THIRD_LINE: f64 = 58.0;
const WORDS: f64 = 15.0;
const SMALL: f64 = 11.5;

/// The part in section: where it stands.
struct Section {
    left: f64,
    right: f64,
    /// User units per metre, and the page height of height 0 with the camera at rest.
    scale: f64,
    zero: f64,
    ruler: (f64, LengthUnit),
}

/// The scene laid out.
pub(super) struct Stage<'a> {
    play: &'a Play,
    options: usvg::Options<'static>,
    /// What stands still, without and with the ruler as it is while the camera rests.
    bare: Pixmap,
    rest: Pixmap,
    /// Pixels per user unit.
    pixels: f64,
    height: f64,
    /// Where the scene begins.
    scene: f64,
    section: Option<Section>,
    /// With its place on the picture, pixels.
    solid: Option<(Solid, usize, usize, usize)>,
}

fn colour(hex: &str) -> Color {
    let [r, g, b] = channels(hex);
    Color::from_rgba8(r, g, b, 255)
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

/// Closed outlines of the wall of a moment.
fn walls(play: &Play, m: &Moment) -> Vec<Line> {
    let (right, left) = m.shape.sides();
    play.wall.outlines(&right, &left)
}

impl Section {
    /// Lays out the section between two sides of the page; `None` when it has no extent.
    fn new(play: &Play, (left, right): (f64, f64), (top, bottom): (f64, f64)) -> Option<Self> {
        let (mut half, mut low, mut high) = (0.0_f64, f64::INFINITY, f64::NEG_INFINITY);
        let mut flying = false;
        for m in &play.moments {
            let (w, a, b) = extent(walls(play, m).iter());
            half = half.max(w);
            match m.top {
                None => (low, high) = (low.min(a), high.max(b)),
                // In flight the camera follows, so that the flight does not make the part small.
                Some(top) if !flying => (flying, high) = (true, high.max(top)),
                Some(_) => {}
            }
        }
        let low = play.floor.map_or(low, |f| low.min(f));
        let tall = (high - low) * play.stretch;
        let scale = ((right - left - 26.0) / (2.0 * half)).min((bottom - top - GROUND - HEAD - 4.0) / tall);
        if !(scale.is_finite() && scale > 0.0) || bottom - top < 60.0 {
            return None;
        }
        // The shapes stand in the middle of the scene, on the ground where there is a table.
        let spare = (bottom - top - GROUND) - scale * tall;
        let below = if play.floor.is_some() { 0.0 } else { spare / 2.0 };
        let zero = bottom - GROUND - below + scale * play.stretch * low;
        let unit = LengthUnit::for_length((high - low).abs());
        let step = round_below(60.0 * unit.per_m / (scale * play.stretch)) / unit.per_m;
        Some(Self { left, right, scale, zero, ruler: (step, unit) })
    }

    fn axis(&self) -> f64 {
        (self.left + self.right) / 2.0
    }
}

impl<'a> Stage<'a> {
    /// Lays the scene out and draws what stands still; `None` when it has no extent.
    pub(super) fn new(play: &'a Play, (width, height): (u32, u32), view: View, energy: bool) -> Option<Self> {
        let pixels = f64::from(width) / PAGE;
        let tall = f64::from(height) / pixels;
        let scene = if view == View::Section { SCENE } else { THIRD_LINE + 8.0 };
        let (top, bottom) = (scene, tall - play.chart.tall);
        let (solid_right, section_left) = match view {
            View::Section => (0.0, RULER),
            View::Solid => (PAGE, PAGE),
            View::Both => (PAGE * 0.52, PAGE * 0.52 + RULER),
        };
        let mut solid = None;
        if view != View::Section {
            let (x, y) = (0, (top * pixels).round() as usize);
            let wide = ((solid_right * pixels).floor() as usize).min(width as usize);
            let down = (((bottom - top) * pixels).floor().max(0.0)) as usize;
            solid = Some((Solid::new(play, (wide, down), energy)?, x, y, wide));
        }
        let section = match view {
            View::Solid => None,
            _ => Some(Section::new(play, (section_left, RIGHT), (top, bottom))?),
        };
        let mut stage = Self {
            play,
            options: options(),
            rest: Pixmap::new(width, height)?,
            bare: Pixmap::new(width, height)?,
            pixels,
            height: tall,
            scene,
            section,
            solid,
        };
        let svg = stage.still();
        paint(&svg, &stage.options, &mut stage.bare).ok()?;
        stage.rest = stage.bare.clone();
        if let Some(s) = &stage.section {
            let mut ruler = Svg::clear(PAGE, tall);
            stage.measure(&mut ruler, s, s.zero);
            paint(&ruler.finish("", "").svg, &stage.options, &mut stage.rest).ok()?;
        }
        Some(stage)
    }

    /// Where the chart lies: top and bottom.
    fn chart(&self) -> (f64, f64) {
        let Chart { tall, across, .. } = &self.play.chart;
        // Numbers, and the name under them.
        let names = if across.is_empty() { 24.0 } else { 42.0 };
        (self.height - tall + 14.0, self.height - names)
    }

    /// A place of the chart on the page.
    fn place(&self, p: (f64, f64)) -> Point {
        let (top, bottom) = self.chart();
        (RULER + p.0 * (RIGHT - RULER), bottom - 4.0 - p.1 * (bottom - top - 8.0))
    }

    /// Title, note, axis and chart.
    fn still(&self) -> String {
        let mut svg = Svg::new(PAGE, self.height);
        let chart = &self.play.chart;
        if let Some(s) = &self.section {
            let pen = Pen::with(ink::FAINT, 0.9, Dash::Chain);
            svg.line("axis", (s.axis(), self.scene), (s.axis(), self.height - chart.tall), pen);
        }
        let (top, bottom) = self.chart();
        for (from, to, tint, name) in &chart.bands {
            let (x0, x1) = (self.place((*from, 0.0)).0, self.place((*to, 0.0)).0);
            svg.rectangle("phase", (x0, top), (x1 - x0, bottom - top), tint);
            if x1 - x0 > text_width(name, SMALL) {
                let at = ((x0 + x1) / 2.0, bottom + 14.0);
                svg.text("phase-name", at, SMALL, Anchor::Middle, ink::INK, name);
            }
        }
        for x in &chart.joins {
            let x = self.place((*x, 0.0)).0;
            svg.line("join", (x, top), (x, bottom), Pen::with(ink::GREY, 0.8, Dash::Dotted));
        }
        if let Some((y, name)) = &chart.level {
            let y = self.place((0.0, *y)).1;
            svg.line("level", (RULER, y), (RIGHT, y), Pen::with(ink::GREY, 0.8, Dash::Dotted));
            svg.text("level-name", (RULER - 4.0, y + 4.0), SMALL, Anchor::End, ink::GREY, name);
        }
        self.axes(&mut svg, (top, bottom));
        for (line, pen) in &chart.curves {
            let line: Vec<Point> = line.iter().map(|p| self.place(*p)).collect();
            svg.curve("trace", &thin(&line, VISIBLE), *pen);
        }
        let alone = self.solid.is_none();
        let room = if alone { PAGE / 2.0 } else { PAGE - 40.0 - text_width(&self.play.note, SMALL) };
        let shown = fitting(&self.play.title, room);
        let (anchor, at) =
            if alone { (Anchor::End, (RIGHT, SCENE + 12.0)) } else { (Anchor::Start, (12.0, THIRD_LINE)) };
        svg.text("title", at, SMALL, anchor, ink::GREY, &shown);
        if !self.play.note.is_empty() {
            let y = if alone { SCENE + 27.0 } else { THIRD_LINE };
            svg.text("note", (RIGHT, y), SMALL, Anchor::End, ink::INK, &self.play.note);
        }
        if let Some((solid, ..)) = &self.solid {
            self.legends(&mut svg, solid);
        }
        svg.finish(&shown, "").svg
    }

    /// Ticks and names of the chart's axes.
    fn axes(&self, svg: &mut Svg, (top, bottom): (f64, f64)) {
        let chart = &self.play.chart;
        let pen = Pen::solid(ink::GREY, 0.9);
        if !chart.across.is_empty() {
            svg.line("axis-across", (RULER, bottom), (RIGHT, bottom), pen);
        }
        if !chart.up.is_empty() {
            svg.line("axis-up", (RULER, top), (RULER, bottom), pen);
        }
        for (x, told) in &chart.across {
            let x = self.place((*x, 0.0)).0;
            svg.line("tick", (x, bottom), (x, bottom + 4.0), pen);
            svg.text("tick-number", (x, bottom + 16.0), SMALL, Anchor::Middle, ink::GREY, told);
        }
        for (y, told) in &chart.up {
            let y = self.place((0.0, *y)).1;
            svg.line("tick", (RULER - 4.0, y), (RULER, y), pen);
            svg.text("tick-number", (RULER - 7.0, y + 4.0), SMALL, Anchor::End, ink::GREY, told);
        }
        svg.text("across-name", (RIGHT, bottom + 32.0), SMALL, Anchor::End, ink::INK, &chart.across_name);
        svg.text("up-name", (RULER + 6.0, top + 8.0), SMALL, Anchor::Start, ink::INK, &chart.up_name);
    }

    /// A scale bar, and what colours mean, beside the part in the round.
    fn legends(&self, svg: &mut Svg, solid: &Solid) {
        let unit = LengthUnit::for_length(100.0 / (solid.scale / self.pixels));
        let step = round_below(90.0 * unit.per_m * self.pixels / solid.scale) / unit.per_m;
        let long = step * solid.scale / self.pixels;
        let y = self.height - self.play.chart.tall - 4.0;
        let pen = Pen::solid(ink::GREY, 1.2);
        svg.line("bar", (14.0, y), (14.0 + long, y), pen);
        for x in [14.0, 14.0 + long] {
            svg.line("bar-end", (x, y - 3.0), (x, y + 3.0), pen);
        }
        svg.text("bar-length", (14.0, y - 6.0), SMALL, Anchor::Start, ink::GREY, &unit.print(step));
        if let Some(most) = solid.energy() {
            let (x, y, wide) = (14.0, self.scene + 3.0, 84.0);
            for k in 0..42 {
                let [r, g, b] = energy_colour(f64::from(k) / 41.0).map(|c| c.round() as u8);
                let fill = format!("#{r:02x}{g:02x}{b:02x}");
                svg.rectangle("energy", (x + f64::from(k) * wide / 42.0, y), (wide / 42.0 + 0.3, 8.0), &fill);
            }
            svg.text("energy-from", (x, y + 20.0), SMALL, Anchor::Start, ink::GREY, "0");
            let more = if self.play.most_energy() > 1.001 * most { "and more" } else { "stored" };
            let words = format!("{} {more}", quantity(most, "J/m²"));
            svg.text("energy-to", (x + wide + 5.0, y + 8.0), SMALL, Anchor::Start, ink::GREY, &words);
        }
    }

    /// The picture of a moment, red, green and blue; `None` when its words cannot be set.
    pub(super) fn paint(&self, moment: &Moment) -> Option<Vec<u8>> {
        let transform = Transform::from_scale(self.pixels as f32, self.pixels as f32);
        let mut moved = None;
        if let Some(s) = &self.section {
            let seen = (s.zero - self.scene - HEAD) / (s.scale * self.play.stretch);
            let rise = moment.top.map_or(0.0, |t| (t - seen).max(0.0));
            moved = (rise > 0.0).then_some(s.zero + s.scale * self.play.stretch * rise);
        }
        let mut picture = if moved.is_some() { self.bare.clone() } else { self.rest.clone() };
        if let Some((solid, left, top, wide)) = &self.solid {
            let rise = moment.top.map_or(0.0, |t| solid.rise(t));
            let panel = solid.draw(self.play, &moment.shape, rise);
            lay(&mut picture, &panel, (*left, *top, *wide));
        }
        if let Some(s) = &self.section {
            self.cut(&mut picture, moment, s, moved.unwrap_or(s.zero), transform)?;
        }
        if let Some(dot) = moment.dot {
            let (x, y) = self.place(dot);
            let dot = PathBuilder::from_circle(x as f32, y as f32, 4.5)?;
            picture.fill_path(&dot, &ink_of(ink::AMBER), FillRule::Winding, transform, None);
            picture.stroke_path(&dot, &ink_of(ink::INK), &stroke(1.0), transform, None);
        }
        paint(&self.lettering(moment, moved), &self.options, &mut picture).ok()?;
        Some(picture.data().chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect())
    }

    /// Table and wall in section.
    fn cut(&self, picture: &mut Pixmap, moment: &Moment, s: &Section, zero: f64, t: Transform) -> Option<()> {
        let ground = self.height - self.play.chart.tall;
        let up = s.scale * self.play.stretch;
        if let Some(table) = self.play.floor.map(|f| zero - up * f).filter(|y| *y < ground) {
            let (x, y, right) = (s.left as f32, table as f32, s.right as f32);
            let rect = Rect::from_ltrb(x, y, right, ground as f32)?;
            picture.fill_rect(rect, &ink_of(ink::SHADE), t, None);
            let mut top = PathBuilder::new();
            top.move_to(x, y);
            top.line_to(right, y);
            picture.stroke_path(&top.finish()?, &ink_of(ink::INK), &stroke(1.2), t, None);
        }
        for piece in &walls(self.play, moment) {
            let points: Vec<Point> =
                piece.iter().map(|p| (s.axis() + s.scale * p.0, zero - up * p.1)).collect();
            let path = closed(&points)?;
            picture.fill_path(&path, &ink_of(ink::WALL_INVERTED), FillRule::Winding, t, None);
            picture.stroke_path(&path, &ink_of(ink::INK), &stroke(1.1), t, None);
        }
        Some(())
    }

    /// Words and clock of a moment, the ruler when the camera has moved, and what the part in the round may have covered.
    fn lettering(&self, moment: &Moment, moved: Option<f64>) -> String {
        let mut svg = Svg::clear(PAGE, self.height);
        svg.text_on_colour("words", (12.0, FIRST_LINE), WORDS, Anchor::Start, ink::INK, &moment.words);
        svg.text_on_colour("clock", (PAGE - 12.0, FIRST_LINE), WORDS, Anchor::End, ink::INK, &moment.clock);
        let second = |svg: &mut Svg, class, x, anchor, words: &str| {
            if !words.is_empty() {
                svg.text_on_colour(class, (x, SECOND_LINE), SMALL, anchor, ink::GREY, words);
            }
        };
        second(&mut svg, "clock-of", PAGE - 12.0, Anchor::End, &moment.clock_of);
        second(&mut svg, "from-half", 12.0, Anchor::Start, &moment.beside);
        if let (Some(s), Some(zero)) = (&self.section, moved) {
            self.measure(&mut svg, s, zero);
        }
        svg.finish("", "").svg
    }

    /// A ruler of heights left of the section.
    fn measure(&self, svg: &mut Svg, s: &Section, zero: f64) {
        let (step, unit) = s.ruler;
        let up = s.scale * self.play.stretch;
        let (top, bottom) = (self.scene + 4.0, self.height - self.play.chart.tall);
        let pen = Pen::solid(ink::GREY, 0.9);
        svg.line("ruler", (s.left, top), (s.left, bottom), pen);
        if !(step.is_finite() && step > 0.0) {
            return;
        }
        let height = |y: f64| (zero - y) / up;
        let (first, last) = ((height(bottom) / step).ceil(), (height(top) / step).floor());
        if !(0.0..60.0).contains(&(last - first)) {
            return;
        }
        let mut k = first;
        while k <= last {
            let y = zero - k * step * up;
            svg.line("ruler-tick", (s.left - 5.0, y), (s.left, y), pen);
            let size = step * unit.per_m;
            let decimals = if size < 1.0 { (-libm::log10(size)).ceil().clamp(0.0, 6.0) as usize } else { 0 };
            let label = fixed(k * size, decimals);
            svg.text_on_colour(
                "ruler-number",
                (s.left - 8.0, y + 4.0),
                SMALL,
                Anchor::End,
                ink::GREY,
                &label,
            );
            k += 1.0;
        }
        svg.text("ruler-unit", (s.left + 5.0, self.scene + 12.0), SMALL, Anchor::Start, ink::GREY, unit.name);
    }
}

/// As much of a text as there is room for.
fn fitting(text: &str, room: f64) -> String {
    if text_width(text, SMALL) <= room {
        return text.to_owned();
    }
    let mut shown = text.to_owned();
    while text_width(&shown, SMALL) + SMALL > room && shown.pop().is_some() {}
    format!("{}…", shown.trim_end())
}

/// Multiplies a panel over a picture: paper lets through what is drawn there.
fn lay(picture: &mut Pixmap, panel: &[u8], (left, top, wide): (usize, usize, usize)) {
    let across = picture.width() as usize;
    let data = picture.data_mut();
    for (k, p) in panel.chunks_exact(3).enumerate() {
        let at = 4 * ((top + k / wide) * across + left + k % wide);
        if let Some(under) = data.get_mut(at..at + 3) {
            for (u, c) in under.iter_mut().zip(p) {
                *u = ((u16::from(*u) * u16::from(*c) + 127) / 255) as u8;
            }
        }
    }
}
