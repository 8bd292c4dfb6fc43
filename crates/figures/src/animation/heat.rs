//! A cycle of heat as a film: the temperature is the clock; at trip and reset the part leaps, and the shapes between are drawn quickly and
//! are not the motion.

use calotte_answers::film;
use calotte_answers::heat::report::{HeatReport, HeatRow, Jump};

use super::Setting;
use super::play::{Chart, Closing, Moment, Play, Scale, Shape, steady, stretch};
use crate::ink::{self, Dash, Pen};
use crate::release::film::Film;
use crate::text::Scaled;

/// Share of the pictures that a leap takes, and a rest after it.
const LEAP: f64 = 0.05;
const REST: f64 = 0.05;
/// Room for the chart.
const TALL: f64 = 148.0;
const ZERO_CELSIUS: f64 = 273.15;

/// A place on one of the two branches: which, and the row with a fraction.
type Spot = (usize, f64);

/// Both branches with their shapes.
struct Branches<'a> {
    rows: [&'a [HeatRow]; 2],
    films: [Option<Film>; 2],
}

impl Branches<'_> {
    /// Temperature and travel at a spot.
    fn at(&self, (b, i): Spot) -> (f64, f64) {
        let rows = self.rows[b];
        let k = (i.floor() as usize).min(rows.len() - 1);
        let (p, q, t) = (&rows[k], &rows[(k + 1).min(rows.len() - 1)], i - k as f64);
        let mix = |a: f64, b: f64| a + t * (b - a);
        (mix(p.temperature_K, q.temperature_K), mix(p.travel_m, q.travel_m))
    }

    fn shape(&self, (b, i): Spot) -> Option<Shape> {
        let film = self.films[b].as_ref()?;
        Some(Shape { line: film.at(i), energy: film.energy_at(i), wave: None })
    }

    /// Where a branch has this temperature, nearest to this travel.
    fn crossing(&self, kelvin: f64, travel: f64) -> Option<Spot> {
        let mut best: Option<(f64, Spot)> = None;
        for b in 0..2 {
            for (i, w) in self.rows[b].windows(2).enumerate() {
                let (a, c) = (w[0].temperature_K - kelvin, w[1].temperature_K - kelvin);
                if a * c > 0.0 || a == c || self.films[b].is_none() {
                    continue;
                }
                let spot = (b, i as f64 + a / (a - c));
                let off = (self.at(spot).1 - travel).abs();
                if best.is_none_or(|x| off < x.0) {
                    best = Some((off, spot));
                }
            }
        }
        best.map(|b| b.1)
    }

    /// The stable row nearest to where a jump begins, on a branch that has shapes: both branches may lie on one curve.
    fn start(&self, jump: &Jump, spans: (f64, f64)) -> Option<Spot> {
        let off = |(b, i): (usize, usize)| {
            let r = &self.rows[b][i];
            let t = (r.temperature_K - jump.temperature_K) / spans.0;
            let m = (r.travel_m - jump.travel_before_m) / spans.1;
            t * t + m * m
        };
        let spots = (0..2).filter(|b| self.films[*b].is_some()).flat_map(|b| {
            let rows = self.rows[b];
            (0..rows.len()).filter(|i| stable(&rows[*i])).map(move |i| (b, i))
        });
        spots.min_by(|x, y| off(*x).total_cmp(&off(*y))).map(|(b, i)| (b, i as f64))
    }
}

fn stable(r: &HeatRow) -> bool {
    r.unstable == 0 && r.unstable_n.is_empty()
}

/// A stretch of the cycle: along a branch, or a leap.
struct Leg {
    from: Spot,
    to: Spot,
    leaps: bool,
    words: &'static str,
}

/// The legs, and whether they close.
fn legs(report: &HeatReport, branches: &Branches<'_>, spans: (f64, f64)) -> Option<(Vec<Leg>, bool)> {
    let leg = |from: Spot, to: Spot, leaps, words| Leg { from, to, leaps, words };
    let start = |j: &Option<Jump>| j.as_ref().and_then(|j| branches.start(j, spans));
    let land = |j: &Option<Jump>| {
        let j = j.as_ref()?;
        branches.crossing(j.temperature_K, j.travel_after_m?)
    };
    let words = |from: Spot, to: Spot| {
        if branches.at(to).0 > branches.at(from).0 { "warming" } else { "cooling" }
    };
    let along = |from: Spot, to: Spot| leg(from, to, false, words(from, to));
    if let (Some(a), Some(b), Some(c), Some(d)) =
        (start(&report.trip), land(&report.trip), start(&report.reset), land(&report.reset))
        && d.0 == a.0
        && b.0 == c.0
    {
        return Some((
            vec![along(d, a), leg(a, b, true, "trips"), along(b, c), leg(c, d, true, "resets")],
            true,
        ));
    }
    let near: Vec<usize> = (0..branches.rows[0].len()).filter(|i| stable(&branches.rows[0][*i])).collect();
    let by_heat = |i: &&usize| branches.rows[0][**i].temperature_K;
    let coldest = (0, *near.iter().min_by(|a, b| by_heat(a).total_cmp(&by_heat(b)))? as f64);
    let hottest = (0, *near.iter().max_by(|a, b| by_heat(a).total_cmp(&by_heat(b)))? as f64);
    if let (Some(a), Some(b)) = (start(&report.trip), land(&report.trip)) {
        let from = if branches.at(coldest).0 < branches.at(a).0 { coldest } else { hottest };
        return Some((vec![along(from, a), leg(a, b, true, "trips")], false));
    }
    branches.films[0].as_ref()?;
    Some((vec![along(coldest, hottest), along(hottest, coldest)], true))
}

/// A cycle of heat. `None` when too few shapes can be drawn.
pub fn heat(report: &HeatReport, shapes: &film::Film, setting: &Setting) -> Option<Play> {
    let film = |name: &str| {
        let at = |f: &film::Frame| f.row.filter(|_| f.branch.as_deref() == Some(name)).map(|r| r as f64);
        Film::of_shapes(shapes, &at, true).filter(|f| f.first() < f.last())
    };
    let branches = Branches { rows: [&report.near, &report.far], films: [film("near"), film("far")] };
    let all = || report.near.iter().chain(&report.far);
    let celsius = |k: f64| k - ZERO_CELSIUS;
    let (x, y) =
        (Scale::over(all().map(|r| celsius(r.temperature_K))), Scale::over(all().map(|r| r.travel_m)));
    let place = |p: (f64, f64)| (x.place(celsius(p.0)), y.place(p.1));
    let span = |f: fn(&HeatRow) -> f64| {
        let (a, b) = all().map(f).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
        (b - a).max(f64::MIN_POSITIVE)
    };
    let spans = (span(|r| r.temperature_K), span(|r| r.travel_m));
    let (legs, closes) = legs(report, &branches, spans)?;
    let most = all().map(|r| r.travel_m.abs()).fold(0.0, f64::max);
    let moved = Scaled::suiting(most, "m");
    let slow: f64 = legs
        .iter()
        .filter(|l| !l.leaps)
        .map(|l| {
            let (a, b) = (place(branches.at(l.from)), place(branches.at(l.to)));
            libm::hypot(b.0 - a.0, b.1 - a.1)
        })
        .sum();
    let wanted = setting.pictures.max(12) as f64;
    let leaps = legs.iter().filter(|l| l.leaps).count();
    let left = wanted * (1.0 - leaps as f64 * (LEAP + REST));
    let mut moments = Vec::new();
    for leg in &legs {
        let (a, b) = (branches.at(leg.from), branches.at(leg.to));
        let (from, to) = (branches.shape(leg.from)?, branches.shape(leg.to)?);
        let (p, q) = (place(a), place(b));
        let share = libm::hypot(q.0 - p.0, q.1 - p.1) / slow.max(f64::MIN_POSITIVE);
        let count = if leg.leaps { wanted * LEAP } else { left * share };
        let count = count.round().max(2.0) as usize;
        let moment = |t: f64| -> Option<Moment> {
            let (shape, at) = if leg.leaps {
                (mixed(&from, &to, t), (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)))
            } else {
                let spot = (leg.from.0, leg.from.1 + t * (leg.to.1 - leg.from.1));
                (branches.shape(spot)?, branches.at(spot))
            };
            let beside = if leg.leaps { "drawn quickly: not the motion" } else { "" };
            Some(Moment {
                shape,
                delay_cs: setting.delay_cs,
                at: at.0,
                phase: leg.words,
                words: leg.words.to_owned(),
                clock: format!("{} °C", crate::text::fixed(celsius(at.0), 1)),
                clock_of: format!("travel {}", steady(at.1, &moved, most)),
                beside: beside.to_owned(),
                dot: Some(place(at)),
                ..Moment::default()
            })
        };
        for k in 0..count {
            moments.push(moment(k as f64 / count as f64)?);
        }
        if leg.leaps {
            let still = Moment { beside: String::new(), ..moment(1.0)? };
            moments.extend(std::iter::repeat_n(still, (wanted * REST).round() as usize));
        }
    }
    if !closes && let Some(end) = moments.last().cloned() {
        moments.push(Moment { delay_cs: 80, words: "stays here".to_owned(), phase: "still", ..end });
    }
    let mut curves: Vec<(Vec<(f64, f64)>, Pen)> = Vec::new();
    for rows in branches.rows {
        let mut fresh = true;
        for w in rows.windows(2) {
            let whole = stable(&w[0]) && stable(&w[1]);
            let pen =
                if whole { Pen::solid(ink::DEEP, 1.8) } else { Pen::with(ink::GREY, 1.2, Dash::Dashed) };
            let [p, q] = [0, 1].map(|k: usize| place((w[k].temperature_K, w[k].travel_m)));
            match curves.last_mut() {
                Some((line, old)) if !fresh && old.width == pen.width => line.push(q),
                _ => curves.push((vec![p, q], pen)),
            }
            fresh = false;
        }
    }
    for leg in legs.iter().filter(|l| l.leaps) {
        let line = vec![place(branches.at(leg.from)), place(branches.at(leg.to))];
        curves.push((line, Pen::with(ink::AMBER, 1.6, Dash::Dashed)));
    }
    let lines: Vec<_> = moments.iter().map(|m| m.shape.line.clone()).collect();
    let stretch = stretch(lines.iter());
    let wall = branches.films.iter().flatten().next()?.shell.clone();
    let jump = |j: &Option<Jump>, word: &str| {
        j.as_ref().map_or(String::new(), |j| format!(", {word} at {:.1} °C", celsius(j.temperature_K)))
    };
    Some(Play {
        alt: format!(
            "{}: travel of the centre over temperature, with the part as it deforms{}{}.",
            report.title,
            jump(&report.trip, "trips"),
            jump(&report.reset, "resets")
        ),
        title: report.title.clone(),
        wall,
        floor: None,
        stretch,
        domed: true,
        note: if stretch > 1.0 { format!("heights × {stretch}") } else { String::new() },
        chart: Chart {
            tall: TALL,
            curves,
            across: x.ticks(1.0),
            up: y.ticks(moved.factor),
            across_name: "temperature (°C)".to_owned(),
            up_name: moved.title("travel of the centre"),
            ..Chart::default()
        },
        moments,
        closing: if closes { Closing::Flows } else { Closing::Fades },
    })
}

/// A share `t` from one shape to another on the same grid.
fn mixed(a: &Shape, b: &Shape, t: f64) -> Shape {
    let mix = |p: f64, q: f64| p + t * (q - p);
    if a.line.len() != b.line.len() || a.energy.len() != b.energy.len() {
        return if t < 0.5 { a.clone() } else { b.clone() };
    }
    Shape {
        line: a.line.iter().zip(&b.line).map(|(p, q)| (mix(p.0, q.0), mix(p.1, q.1))).collect(),
        energy: a.energy.iter().zip(&b.energy).map(|(p, q)| mix(*p, *q)).collect(),
        wave: None,
    }
}
