//! Modes as a film: one period of each, slowed by a factor that every picture tells, far larger than it ever is, and the picture says so.

use std::f64::consts::TAU;

use calotte_answers::film;
use calotte_answers::modes::report::{Mode, ModesReport};

use super::play::{Chart, Closing, Moment, Play, Shape, Wave, steady};
use super::schedule::factor_words;
use super::{LONGEST, Setting};
use crate::ink::{self, Pen};
use crate::release::film::Film;
use crate::text::{Scaled, number, quantity};

/// Modes shown where none is asked for.
const SHOWN: usize = 3;
/// Largest displacement over the largest radius.
const AMPLITUDE: f64 = 0.14;
/// Room for the chart.
const TALL: f64 = 92.0;

/// One period of one of the lowest modes (`only`, counted from 1), or of the first three. `None` when the mode is not among the
/// report's lowest or its shape cannot be drawn.
pub fn modes(
    report: &ModesReport,
    shapes: &film::Film,
    only: Option<usize>,
    setting: &Setting,
) -> Option<Play> {
    let film = Film::of_shapes(shapes, &|f| Some(f.at), true)?;
    let line = film.at(film.first());
    let chosen: Vec<&Mode> = match only {
        Some(k) => report.lowest.get(k.checked_sub(1)?).map(|i| &report.modes[*i]).into_iter().collect(),
        None => report.lowest.iter().take(SHOWN).map(|i| &report.modes[*i]).collect(),
    };
    let radius = line.iter().map(|p| p.0).fold(0.0, f64::max);
    let largest = AMPLITUDE * radius;
    let slopes = &report.meridian.slope_rad;
    let waves: Option<Vec<(&Mode, Wave)>> = chosen
        .into_iter()
        .map(|m| {
            let shape = m.shape.as_ref()?;
            let columns = [&shape.across, &shape.along, &shape.around];
            if columns.iter().any(|c| c.len() != line.len()) || slopes.len() != line.len() {
                return None;
            }
            let (mut out, mut up) = (Vec::new(), Vec::new());
            for i in 0..line.len() {
                let (sin, cos) = libm::sincos(slopes[i]);
                out.push(largest * (shape.along[i] * cos - shape.across[i] * sin));
                // The bowl is shown as a dome.
                up.push(-largest * (shape.along[i] * sin + shape.across[i] * cos));
            }
            Some((m, Wave { n: m.n, out, up, around: shape.around.iter().map(|v| largest * v).collect() }))
        })
        .collect();
    let waves = waves.filter(|w| !w.is_empty())?;
    let delay_s = f64::from(setting.delay_cs) / 100.0;
    let mut moments = Vec::new();
    let mut bands = Vec::new();
    let mut curve = Vec::new();
    let count = waves.len() as f64;
    for (k, (m, wave)) in waves.iter().enumerate() {
        let period = m.frequency_Hz.map(|f| 1.0 / f);
        let each = match (setting.slowed, period) {
            (Some(factor), Some(t)) => (t * factor / delay_s).round(),
            _ => (setting.pictures / waves.len()) as f64,
        };
        if each * delay_s > LONGEST {
            return None;
        }
        let each = each.max(8.0) as usize;
        let slowed = period.map(|t| delay_s * each as f64 / t);
        let what = format!(
            "n = {}{}",
            m.n,
            m.frequency_Hz.map_or(String::new(), |f| format!(", {}", quantity(f, "Hz")))
        );
        let factor = slowed.map_or("no density, no time".to_owned(), factor_words);
        let circles = match m.nodal_circles {
            0 => String::new(),
            1 => ", 1 nodal circle".to_owned(),
            c => format!(", {c} nodal circles"),
        };
        bands.push((k as f64 / count, (k + 1) as f64 / count, ink::TINTS[[1, 3, 4][k % 3]], ""));
        // From rest to rest, so that the next one begins where this one ends.
        for step in 0..=each {
            let share = step as f64 / each as f64;
            let swing = libm::sin(TAU * share);
            let times = |column: &[f64]| column.iter().map(|v| v * swing).collect();
            let wave =
                Wave { n: wave.n, out: times(&wave.out), up: times(&wave.up), around: times(&wave.around) };
            let at = (k as f64 + share) / count;
            let clock = period.map_or(format!("{} of a period", crate::text::fixed(share, 2)), |t| {
                steady(share * t, &Scaled::suiting(t, "s"), t)
            });
            moments.push(Moment {
                shape: Shape { line: line.clone(), energy: Vec::new(), wave: Some(wave) },
                delay_cs: setting.delay_cs,
                at: period.map_or(share, |t| share * t),
                phase: "mode",
                slowed,
                words: format!("{what}: {factor}"),
                clock,
                clock_of: period.map_or(String::new(), |t| {
                    let unit = Scaled::suiting(t, "s");
                    format!("of one period, {}", unit.print(t))
                }),
                beside: format!("{}{circles}", m.kind.word()),
                dot: Some((at, 0.5 + 0.5 * swing)),
                top: None,
            });
        }
        let steps = 120 / waves.len();
        curve.extend((0..=steps).map(|i| {
            let share = i as f64 / steps as f64;
            ((k as f64 + share) / count, 0.5 + 0.5 * libm::sin(TAU * share))
        }));
    }
    let told: Vec<String> = waves
        .iter()
        .map(|(m, _)| {
            format!(
                "n = {}{}",
                m.n,
                m.frequency_Hz.map_or(String::new(), |f| format!(" at {}", quantity(f, "Hz")))
            )
        })
        .collect();
    Some(Play {
        alt: format!(
            "{}: one period of each of these modes about the {} shape, amplitudes exaggerated: {}.",
            report.title,
            report.state,
            told.join("; ")
        ),
        title: report.title.clone(),
        wall: film.shell.clone(),
        floor: None,
        stretch: 1.0,
        domed: true,
        note: format!("drawn {} of the radius: exaggerated", number(AMPLITUDE, 2)),
        chart: Chart {
            tall: TALL,
            bands,
            curves: vec![(curve, Pen::solid(ink::DEEP, 1.6))],
            level: Some((0.5, "rest")),
            ..Chart::default()
        },
        moments,
        closing: Closing::Flows,
    })
}
