//! Turning inside out as a film: the pole is pushed through, the share of the way is the clock, and the energy stored runs beside.

use calotte_answers::film;
use calotte_answers::turning::TurningReport;

use super::Setting;
use super::play::{Chart, Closing, Moment, Play, Scale, Shape, steady, stretch};
use crate::ink::{self, Pen};
use crate::release::film::Film;
use crate::text::{Scaled, fixed};

/// Room for the chart.
const TALL: f64 = 148.0;

/// A part pushed inside out and drawn back the same way. `None` when fewer than two shapes can be drawn.
pub fn turning(report: &TurningReport, shapes: &film::Film, setting: &Setting) -> Option<Play> {
    let rows = &report.rows;
    let film =
        Film::of_shapes(shapes, &|f| f.row.map(|r| r as f64), true).filter(|f| f.first() < f.last())?;
    if rows.len() < 2 {
        return None;
    }
    let (x, y) = (Scale::over(rows.iter().map(|r| r.share)), Scale::over(rows.iter().map(|r| r.energy_J)));
    let most = |f: fn(&calotte_answers::turning::TurningRow) -> f64| {
        rows.iter().map(f).map(f64::abs).fold(0.0, f64::max)
    };
    let (stored, pushed) = (most(|r| r.energy_J), most(|r| r.force_N));
    let (joule, newton) = (Scaled::suiting(stored, "J"), Scaled::suiting(pushed, "N"));
    let place = |share: f64, energy: f64| (x.place(share), y.place(energy));
    // Pictures are equally far apart on the chart, there and back.
    let mut run = vec![0.0];
    for w in rows.windows(2) {
        let (a, b) = (place(w[0].share, w[0].energy_J), place(w[1].share, w[1].energy_J));
        run.push(run[run.len() - 1] + libm::hypot(b.0 - a.0, b.1 - a.1));
    }
    let total = run[run.len() - 1];
    let half = (setting.pictures / 2).max(6);
    let moment = |way: f64, back: bool| {
        let k = run.partition_point(|r| *r < way * total).clamp(1, run.len() - 1);
        let t = if run[k] > run[k - 1] {
            ((way * total - run[k - 1]) / (run[k] - run[k - 1])).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let (a, b) = (&rows[k - 1], &rows[k]);
        let mix = |p: f64, q: f64| p + t * (q - p);
        let i = (k - 1) as f64 + t;
        let (share, energy) = (mix(a.share, b.share), mix(a.energy_J, b.energy_J));
        Moment {
            shape: Shape { line: film.at(i), energy: film.energy_at(i), wave: None },
            delay_cs: setting.delay_cs,
            at: share,
            phase: if back { "back" } else { "turning" },
            words: if back { "back the same way" } else { "pushed inside out" }.to_owned(),
            clock: format!("{} % of the way", fixed(100.0 * share, 0)),
            clock_of: format!(
                "{} stored, push {}",
                steady(energy, &joule, stored),
                steady(mix(a.force_N, b.force_N), &newton, pushed)
            ),
            dot: Some(place(share, energy)),
            ..Moment::default()
        }
    };
    let mut moments: Vec<Moment> = (0..half).map(|k| moment(k as f64 / half as f64, false)).collect();
    moments.extend((0..half).map(|k| moment(1.0 - k as f64 / half as f64, true)));
    let lines: Vec<_> = moments.iter().map(|m| m.shape.line.clone()).collect();
    let stretch = stretch(lines.iter());
    let line = rows.iter().map(|r| place(r.share, r.energy_J)).collect();
    let percent: Vec<(f64, String)> = x.ticks(100.0);
    Some(Play {
        alt: format!(
            "{}: the pole is pushed through until the part is inside out; the energy stored over the share of the way.",
            report.title
        ),
        title: report.title.clone(),
        wall: film.shell.clone(),
        floor: None,
        stretch,
        domed: true,
        note: if stretch > 1.0 { format!("heights × {stretch}") } else { String::new() },
        chart: Chart {
            tall: TALL,
            curves: vec![(line, Pen::solid(ink::DEEP, 1.8))],
            across: percent,
            up: y.ticks(joule.factor),
            across_name: "share of the way (%)".to_owned(),
            up_name: joule.title("energy stored"),
            ..Chart::default()
        },
        moments,
        closing: Closing::Flows,
    })
}
