//! Shapes as a flash lamp would show them: a film strip of walls, the flashes of the snap over one another, and the
//! height of a jump.

use calotte_answers::release::report::ReleaseReport;

use super::film::{Film, Line, extent};
use super::motion::told;
use super::time::{duration, hand_gone, signed, snap, usable};
use crate::Figure;
use crate::axis::round_below;
use crate::ink::{self, Dash, Pen};
use crate::place::{Placer, Rect};
use crate::style::page_width;
use crate::svg::{Anchor, Point, Svg};
use crate::text::{LengthUnit, Scaled, length, number, text_width};
use crate::thin::{VISIBLE, thin};

/// Cells in a row of the strip.
const COLUMNS: usize = 4;
/// Flashes in the snap, from a tenth to nine tenths of the way, and after it.
const FLASHES: usize = 5;
const AFTER: usize = 2;
/// Cells in all.
const MOST: usize = 8;
/// Greatest height of a shape in the strip and in the overlay.
const TALL: f64 = 84.0;
const OVERLAY: f64 = 170.0;
/// Room of the jump's panel.
const JUMP: f64 = 150.0;
const OUTLINE: Pen = Pen::solid(ink::INK, 0.8);
const TABLE: Pen = Pen::solid(ink::SLATE, 1.2);
const SHADES: [&str; FLASHES + AFTER] =
    ["#d98324", "#c07a45", "#9a6a58", "#6f5a6b", "#4a4d70", "#2c4268", "#12355b"];

/// One flash.
struct Flash {
    letter: char,
    time: f64,
    words: String,
    line: Line,
    /// Whether it belongs to the snap and what follows it.
    snaps: bool,
}

fn flashes(report: &ReleaseReport, film: &Film) -> Vec<Flash> {
    let (first, last) = (film.first(), film.last());
    let mut times: Vec<(f64, String, bool)> = vec![(first, "let go".to_owned(), false)];
    let gone = hand_gone(report).clamp(first, last);
    if let Some(s) = snap(report) {
        let step = (s.end_s - s.wait_s) / (FLASHES - 1) as f64;
        if s.wait_s - gone > 3.0 * step {
            times.push(((gone + s.wait_s) / 2.0, duration((gone + s.wait_s) / 2.0), false));
        }
        for k in 0..(FLASHES + AFTER).min(MOST - times.len()) {
            let t = s.wait_s + step * k as f64;
            if t > times[times.len() - 1].0 && t <= last {
                let level = (t - s.halfway_s).abs() < 0.01 * step;
                let words = if level { "half-way".to_owned() } else { signed(t - s.halfway_s) };
                times.push((t, words, true));
            }
        }
    } else {
        for k in 1..COLUMNS {
            let t = gone + (last - gone) * k as f64 / (COLUMNS - 1) as f64;
            if t > times[times.len() - 1].0 {
                times.push((t, duration(t), false));
            }
        }
    }
    times
        .into_iter()
        .zip('a'..='z')
        .map(|((time, words, snaps), letter)| Flash { letter, time, words, line: film.at(time), snaps })
        .collect()
}

/// A place and scale; heights grow upwards.
#[derive(Clone, Copy)]
struct Place {
    axis: f64,
    zero: f64,
    scale: f64,
}

impl Place {
    fn page(self, line: &Line) -> Vec<Point> {
        line.iter().map(|p| (self.axis + self.scale * p.0, self.zero - self.scale * p.1)).collect()
    }

    /// Tells the drawing how lengths lie in a rectangle of the page.
    fn tell(self, svg: &mut Svg, window: Rect, name: &str) {
        let unit = LengthUnit::for_length((window.right - window.left) / self.scale);
        let per = self.scale / unit.per_m;
        svg.record.section(window, (self.axis, self.zero), (per, -per), unit.name, name);
    }
}

/// The figure; `None` with fewer than two frames that can be drawn.
pub(super) fn figure(report: &ReleaseReport) -> Option<Figure> {
    let film = Film::new(report)?;
    let flashes = flashes(report, &film);
    let walls: Vec<Vec<Line>> = flashes.iter().map(|f| film.wall(&f.line)).collect();
    let (half, low, high) = extent(walls.iter().flatten());
    let table = report.protocol.rests == "table";
    let floor = film.floor();
    let (low, high) = if table { (low.min(floor), high.max(floor)) } else { (low, high) };
    let columns = ((page_width() - 20.0) / 150.0).floor().clamp(1.0, COLUMNS as f64) as usize;
    let cell = (page_width() - 20.0) / columns as f64;
    let scale = ((cell - 16.0) / (2.0 * half)).min(TALL / (high - low));
    if !(scale.is_finite() && scale > 0.0) {
        return None;
    }
    let tall = scale * (high - low);
    let row = 22.0 + tall + 12.0;
    let rows = flashes.len().div_ceil(columns);
    let jump = report.jump.filter(|j| usable(j.height_m) && j.height_m > 0.0);
    let snapping: Vec<&Flash> = flashes.iter().filter(|f| f.snaps).collect();
    let strip_end = 4.0 + row * rows as f64;

    // The overlay below the strip, if there is a snap.
    let overlay_room = page_width() - 20.0 - if jump.is_some() { JUMP + 20.0 } else { 0.0 };
    let large = ((overlay_room - 60.0) / (2.0 * half)).min(OVERLAY / (high - low)).min(3.0 * scale);
    let overlay = if snapping.len() > 1 { 26.0 + large * (high - low) } else { 0.0 };
    let below = overlay.max(if jump.is_some() { 26.0 + OVERLAY } else { 0.0 });
    let height = strip_end + below + 30.0;
    let mut svg = Svg::new(page_width(), height);

    svg.open("strip");
    for (i, (flash, wall)) in flashes.iter().zip(&walls).enumerate() {
        let place = Place {
            axis: 10.0 + cell * ((i % columns) as f64 + 0.5),
            zero: 4.0 + row * (i / columns) as f64 + 22.0 + scale * high,
            scale,
        };
        let at = (place.axis, place.zero - scale * high - 8.0);
        place.tell(
            &mut svg,
            Rect::about((place.axis, at.1 + row / 2.0), cell / 2.0, row / 2.0),
            &format!("flash {}", flash.letter),
        );
        let words = format!("{}: {}", flash.letter, flash.words);
        svg.text("flash-label", at, ink::LABEL, Anchor::Middle, ink::INK, &words);
        if table {
            let (reach, y) = (cell / 2.0 - 5.0, place.zero - scale * floor);
            svg.line("table", (place.axis - reach, y), (place.axis + reach, y), TABLE);
        }
        for piece in wall {
            let points = thin(&place.page(piece), VISIBLE / 2.0);
            svg.polygon("flash", &points, ink::WALL_INVERTED, OUTLINE);
        }
    }
    svg.close();
    if snapping.len() > 1 {
        let place =
            Place { axis: 10.0 + overlay_room / 2.0, zero: strip_end + 18.0 + large * high, scale: large };
        let heights = (strip_end + 2.0, height - 26.0);
        over_one_another(&mut svg, &film, &snapping, place, table.then_some(floor), heights);
    }
    if let Some(j) = jump {
        let zero = strip_end + below;
        leap(&mut svg, &film, j.height_m, j.height_marched, zero);
    }
    scale_bar(&mut svg, scale, snapping.len() > 1, large, height - 8.0);

    let (alt, caption) = speech(report, &flashes, snapping.len() > 1);
    let title = format!("{}: shapes on the way", report.title);
    Some(Figure::new("strobe", svg.finish(&title, &alt), alt, caption))
}

/// Mid-lines of the flashes of the snap over one another, with their letters at the pole.
fn over_one_another(
    svg: &mut Svg,
    film: &Film,
    flashes: &[&Flash],
    place: Place,
    table: Option<f64>,
    (top, bottom): (f64, f64),
) {
    svg.open("overlay");
    let (half, _, _) = extent(flashes.iter().map(|f| &f.line));
    let reach = place.scale * half + 26.0;
    let window = Rect { left: place.axis - reach, right: place.axis + reach, top, bottom };
    place.tell(svg, window, "snap, flashes over one another");
    if let Some(floor) = table {
        let y = place.zero - place.scale * floor;
        svg.line("table", (place.axis - reach, y), (place.axis + reach, y), TABLE);
    }
    let within = Rect { left: place.axis - reach - 20.0, top, right: place.axis + reach + 20.0, bottom };
    let mut placer = Placer::new(within);
    let mut ends: Vec<(Point, Point)> = Vec::new();
    for (i, flash) in flashes.iter().enumerate() {
        let pen = Pen::solid(SHADES[i.min(SHADES.len() - 1)], 1.8);
        for piece in film.middle(&flash.line) {
            let points = thin(&place.page(&piece), VISIBLE);
            svg.curve("overlaid", &points, pen);
            placer.avoid(&points);
        }
        let line = place.page(&flash.line);
        ends.extend(line.first().copied().zip(line.last().copied()));
    }
    // Letters stand at the pole or at the rim, wherever the lines lie further apart.
    for (i, (flash, (pole, rim))) in flashes.iter().zip(&ends).enumerate() {
        let apart = |own: &Point, of: fn(&(Point, Point)) -> Point| {
            ends.iter()
                .enumerate()
                .filter(|(k, _)| *k != i)
                .map(|(_, e)| libm::hypot(of(e).0 - own.0, of(e).1 - own.1))
                .fold(f64::INFINITY, f64::min)
        };
        let at = if apart(rim, |e| e.1) > apart(pole, |e| e.0) { rim } else { pole };
        let words = flash.letter.to_string();
        let Some(spot) = placer.beside(*at, 1.0, &words, ink::LABEL) else { continue };
        if let Some((a, b)) = spot.leader {
            svg.line("leader", a, b, Pen::solid(ink::GREY, 0.6));
        }
        svg.text("letter", spot.at, ink::LABEL, Anchor::Start, ink::INK, &words);
    }
    svg.close();
}

/// The part at the start and at the top of its jump, to a scale of its own.
fn leap(svg: &mut Svg, film: &Film, rise: f64, marched: bool, zero: f64) {
    let shape = film.at(film.last());
    let (half, low, high) = extent([&shape].into_iter());
    let tall = OVERLAY - 10.0;
    let scale = (tall / (rise + high - low)).min(0.5 * JUMP / half / 2.0);
    let axis = page_width() - 10.0 - JUMP + 0.3 * JUMP;
    svg.open("jump");
    svg.line("table", (page_width() - 10.0 - JUMP, zero), (page_width() - 10.0, zero), TABLE);
    for (lift, pen) in [(0.0, Pen::with(ink::GREY, 1.2, Dash::Dashed)), (rise, Pen::solid(ink::DEEP, 1.8))] {
        let place = Place { axis, zero: zero - scale * (lift - low), scale };
        let name = if lift == 0.0 { "at the start" } else { "at the top of the jump" };
        let lines = film.middle(&shape);
        let window = Rect::around(lines.iter().flat_map(|l| place.page(l)));
        place.tell(svg, window, name);
        for piece in film.middle(&shape) {
            svg.curve("leap", &thin(&place.page(&piece), VISIBLE), pen);
        }
    }
    let x = axis + scale * half + 10.0;
    let (from, to) = (zero, zero - scale * rise);
    svg.arrow("rise", (x, from), (x, to), Pen::solid(ink::INK, 1.2));
    let words = length(rise);
    let middle = (from + to) / 2.0;
    svg.text("rise-label", (x + 6.0, middle + 4.0), ink::LABEL, Anchor::Start, ink::INK, &words);
    if !marched {
        let at = (x + 6.0, middle + 18.0);
        svg.text("rise-note", at, ink::TICK, Anchor::Start, ink::GREY, "free flight");
    }
    svg.close();
}

fn scale_bar(svg: &mut Svg, scale: f64, two: bool, large: f64, y: f64) {
    svg.open("scale");
    let mut x = 14.0;
    for (name, s) in [("strip", scale), ("overlay", large)].into_iter().take(if two { 2 } else { 1 }) {
        let unit = LengthUnit::for_length(80.0 / s);
        let size = round_below(80.0 * unit.per_m / s);
        let end = x + size / unit.per_m * s;
        svg.line("scale-bar", (x, y - 4.0), (end, y - 4.0), Pen::solid(ink::INK, 1.4));
        for p in [x, end] {
            svg.line("scale-end", (p, y - 8.0), (p, y), Pen::solid(ink::INK, 1.4));
        }
        let label = format!("{} {}", number(size, 1), unit.name);
        let label = if two { format!("{label}, {name}") } else { label };
        svg.text("scale-label", (end + 7.0, y), ink::LABEL, Anchor::Start, ink::INK, &label);
        x = end + 7.0 + text_width(&label, ink::LABEL) + 26.0;
    }
    svg.close();
}

fn speech(report: &ReleaseReport, flashes: &[Flash], overlaid: bool) -> (String, String) {
    let told = told(report);
    let times = match snap(report) {
        Some(s) => {
            format!("Times with a sign count from half-way, {} after letting go", duration(s.halfway_s))
        }
        None => "Times count from letting go".to_owned(),
    };
    let step = flashes
        .windows(2)
        .filter(|w| w[0].snaps && w[1].snaps)
        .map(|w| w[1].time - w[0].time)
        .next()
        .map_or_else(String::new, |d| format!("; one flash every {} through the snap", duration(d)));
    let below = if overlaid { " Below: the mid-lines of the snap's flashes over one another." } else { "" };
    let jump = report.jump.filter(|j| usable(j.height_m) && j.height_m > 0.0).map_or_else(String::new, |j| {
        format!(
            " The centre of mass rises {} above its place at the start{}, to a scale of its own{}.",
            length(j.height_m),
            if j.height_marched { "" } else { " (free flight from take-off)" },
            if usable(j.takeoff_speed_m_per_s) {
                format!(", leaving at {}", Scaled::suiting(1.0, "m/s").print(j.takeoff_speed_m_per_s))
            } else {
                String::new()
            }
        )
    });
    let table = if report.protocol.rests == "table" { ", the table as a line" } else { "" };
    let caption = format!(
        "{}. Sections of the wall to scale on the way{table}. {times}{step}.{below}{jump} {told}",
        report.title
    );
    let each: Vec<String> = flashes.iter().map(|f| format!("{} {}", f.letter, f.words)).collect();
    let alt =
        format!("Sections of the wall at {} times: {}. {times}{step}.{below}{jump} {told}", flashes.len(), {
            each.join(", ")
        });
    (alt, caption)
}
