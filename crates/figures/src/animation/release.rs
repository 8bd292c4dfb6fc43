//! A release as a film: time runs, slowed or sped up by a factor that every picture tells.

use calotte_answers::film;
use calotte_answers::release::report::ReleaseReport;

use super::play::{Chart, Closing, Moment, Play, Shape};
use super::schedule::{Stretch, factor_words, schedule, slowed};
use super::{LONGEST, SIDES, Setting};
use crate::ink::{self, Pen};
use crate::release::film::{Film, extent};
use crate::release::time::{TimeUnit, at, flight, phases, snap, whole_rows};
use crate::text::fixed;

/// Room for the trace with its names, below the scene.
const TRACE: f64 = 92.0;
/// How long the stills at both ends stay, hundredths of a second.
const STILL_CS: u16 = 80;

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
    /// `shown`: time, lowest and highest of every shape.
    fn new(report: &ReleaseReport, from: f64, shown: &[(f64, f64, f64)]) -> Self {
        let h = &report.history;
        let mut centre = whole_rows(&[&h.time_s, &h.centre_height_m]);
        if centre.is_empty() {
            // The shapes themselves then.
            centre = shown.iter().map(|s| vec![s.0, (s.1 + s.2) / 2.0]).collect();
        }
        let flying = shown.iter().filter(|s| s.0 >= from);
        let reach = flying.map(|s| s.2 - at(&centre, 1, s.0)).fold(f64::NEG_INFINITY, f64::max);
        Self { from, centre, reach }
    }

    /// The height that has to be seen in flight.
    fn top(&self, time: f64) -> Option<f64> {
        (time >= self.from).then(|| at(&self.centre, 1, time) + self.reach)
    }
}

/// Page place of a time, 0 to 1: pictures are equally far apart.
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
    done / (total.max(1)) as f64
}

/// The pole's height over the rim's along the plan.
fn chart(report: &ReleaseReport, plan: &[Stretch], first: f64, end: f64) -> (Chart, Vec<Vec<f64>>) {
    let h = &report.history;
    let mut trace = whole_rows(&[&h.time_s, &h.pole_over_rim_m]);
    let (least, most) =
        trace.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), r| (a.min(r[1]), b.max(r[1])));
    let range = if most > least { most - least } else { 1.0 };
    let place = |x: f64| (x - least) / range;
    trace.iter_mut().for_each(|r| r[1] = place(r[1]));
    let mut line: Vec<(f64, f64)> =
        trace.iter().filter(|r| r[0] <= end).map(|r| (across(plan, r[0]), r[1])).collect();
    if !trace.is_empty() {
        line.push((1.0, at(&trace, 1, end)));
    }
    let bands = phases(report, first, end)
        .into_iter()
        .map(|p| (across(plan, p.from), across(plan, p.to), p.tint, p.name))
        .collect();
    let chart = Chart {
        tall: TRACE,
        bands,
        curves: vec![(line, Pen::solid(ink::DEEP, 1.6))],
        joins: plan.iter().skip(1).map(|s| across(plan, s.from)).collect(),
        level: (least < 0.0 && most > 0.0).then(|| (place(0.0), "level")),
        ..Chart::default()
    };
    (chart, trace)
}

/// What the clock and the line below the words say.
fn told(time: f64, step: f64, unit: TimeUnit, halfway: Option<f64>) -> (String, String) {
    let decimals = |per_s: f64| {
        let step = if step > 0.0 { step } else { 1e-3 / per_s };
        (-libm::log10(step * per_s)).ceil().clamp(0.0, 7.0) as usize
    };
    let clock = format!("{} {}", fixed(time * unit.per_s, decimals(unit.per_s)), unit.name);
    let Some(from) = halfway.map(|h| time - h) else { return (clock, String::new()) };
    // Far from it the clock says enough.
    if !(step > 0.0 && from.abs() < 2000.0 * step) {
        return (clock, String::new());
    }
    let near = TimeUnit::suiting(from);
    let sign = if from >= 0.0 { "+" } else { "" };
    let (per_s, name) = if near.name == "µs" { (1e3, "ms") } else { (near.per_s, near.name) };
    (clock, format!("half-way {sign}{} {name}", fixed(from * per_s, decimals(per_s))))
}

/// A release: a still of the part as held, the motion, a still of the end, and a fade back. Shapes are those of the report, or of a film of
/// it, which has energies. `None` when there are fewer than two shapes that can be drawn, or the setting has no usable size.
pub fn release(report: &ReleaseReport, shapes: Option<&film::Film>, setting: &Setting) -> Option<Play> {
    if !SIDES.contains(&setting.width) || !SIDES.contains(&setting.height) || setting.delay_cs == 0 {
        return None;
    }
    let film = match shapes {
        Some(shapes) => Film::of_shapes(shapes, &|f| Some(f.at), false).filter(|f| f.first() < f.last())?,
        None => Film::new(report)?,
    };
    let plan = schedule(report, &film, setting);
    if plan.iter().map(|s| s.count as f64).sum::<f64>() * f64::from(setting.delay_cs) > 200.0 * LONGEST {
        return None;
    }
    let end = plan.last()?.to;
    let first = film.first();
    let named = phases(report, first, end);
    let phase_at = |t: f64| {
        let found = named.iter().find(|p| t >= p.from && t < p.to).or(named.last());
        found.map_or("", |p| p.name)
    };
    let delay_s = f64::from(setting.delay_cs) / 100.0;
    let unit = if end < 0.9 { TimeUnit::suiting(end) } else { TimeUnit { per_s: 1.0, name: "s" } };
    let halfway = snap(report).map(|s| s.halfway_s);
    let shown: Vec<(f64, f64, f64)> = plan
        .iter()
        .flat_map(|s| (0..=s.count).map(move |k| s.from + s.step() * k as f64))
        .map(|t| {
            let (_, low, high) = extent(film.wall(&film.at(t)).iter());
            (t, low, high)
        })
        .collect();
    let camera = Camera::new(report, flight(report, end).map_or(f64::INFINITY, |f| f.0), &shown);
    let (chart, trace) = chart(report, &plan, first, end);
    let moment = |time: f64, phase: &'static str, step: Option<f64>, delay_cs: u16, words: String| {
        let (clock, beside) = told(time, step.unwrap_or(0.0), unit, halfway);
        Moment {
            shape: Shape { line: film.at(time), energy: film.energy_at(time), wave: None },
            delay_cs,
            at: time,
            phase,
            slowed: step.map(|s| slowed(s, delay_s)),
            words,
            clock,
            clock_of: "after letting go".to_owned(),
            beside,
            dot: (!trace.is_empty()).then(|| (across(&plan, time), at(&trace, 1, time))),
            top: camera.top(time),
        }
    };
    let mut moments = vec![moment(first, "held", None, STILL_CS, "held (still)".to_owned())];
    for stretch in &plan {
        let step = stretch.step();
        for k in 0..stretch.count {
            let time = stretch.from + step * k as f64;
            // A picture stands for the time up to the next one.
            let phase = phase_at(time + step / 2.0);
            let words = format!("{phase}, {}", factor_words(slowed(step, delay_s)));
            moments.push(moment(time, phase, Some(step), setting.delay_cs, words));
        }
    }
    let phase = phase_at(end);
    moments.push(moment(end, phase, None, STILL_CS, format!("{phase} (still)")));
    let words: Vec<String> = named.iter().map(|p| p.name.to_owned()).collect();
    Some(Play {
        alt: format!(
            "{}: the part is let go of in its inverted shape; {}. Below, the height of the pole over the rim.",
            report.title,
            words.join(", ")
        ),
        title: report.title.clone(),
        wall: film.shell.clone(),
        floor: (report.protocol.rests == "table").then(|| film.floor()),
        stretch: 1.0,
        domed: false,
        note: String::new(),
        chart,
        moments,
        closing: Closing::Fades,
    })
}
