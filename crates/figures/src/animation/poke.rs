//! A poke as a film: the load (or the displacement) is the clock. Where the part trips it leaps: the load stays, the shapes between are
//! drawn quickly and are not the motion.

use calotte_answers::film;
use calotte_answers::poke::report::{Landing, PokeReport};

use super::Setting;
use super::play::{Chart, Closing, Moment, Play, Scale, Shape, steady, stretch};
use crate::ink::{self, Dash, Pen};
use crate::release::film::Film;
use crate::text::{Scaled, capital};

/// Share of the pictures that a leap takes, and a rest after it.
const LEAP: f64 = 0.06;
const REST: f64 = 0.05;
/// Room for the chart.
const TALL: f64 = 148.0;

/// A stretch of the play: rows of the path from one to another, quickly or not.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Leg {
    from: f64,
    to: f64,
    leaps: bool,
    words: &'static str,
    /// Where the dot goes, where not along the rows: a stop carries what the part does not.
    dot: Option<[(f64, f64); 2]>,
}

/// The row (with a fraction) beyond `from` where the set quantity comes back to `value` nearest to `other`.
fn landing(rows: &[(f64, f64)], from: usize, forward: bool, by_load: bool, to: &Landing) -> Option<f64> {
    let set = |i: usize| if by_load { rows[i].1 } else { rows[i].0 };
    let value = if by_load { to.load_SI } else { to.displacement_SI };
    let far = |i: f64| {
        let (k, t) = (i.floor() as usize, i.fract());
        let b = rows[(k + 1).min(rows.len() - 1)];
        let other = |p: (f64, f64)| if by_load { p.0 } else { p.1 };
        let want = if by_load { to.displacement_SI } else { to.load_SI };
        (other(rows[k]) + t * (other(b) - other(rows[k])) - want).abs()
    };
    let pairs: Vec<usize> =
        (0..rows.len() - 1).filter(|i| if forward { *i >= from } else { *i < from }).collect();
    pairs
        .into_iter()
        .filter_map(|i| {
            let (a, b) = (set(i) - value, set(i + 1) - value);
            (a * b <= 0.0 && a != b).then(|| i as f64 + a / (a - b))
        })
        .min_by(|a, b| far(*a).total_cmp(&far(*b)))
}

/// The legs of a play over the rows of the path, and whether it closes by itself.
fn legs(report: &PokeReport, rows: &[(f64, f64)]) -> (Vec<Leg>, bool) {
    let end = (rows.len() - 1) as f64;
    let by_load = report.load.control != "displacement";
    let trip = if by_load { &report.by_load } else { &report.by_displacement };
    let leg = |from, to, leaps, words| Leg { from, to, leaps, words, dot: None };
    let (on, off) = if by_load { ("load rises", "load falls") } else { ("pushed in", "let out") };
    let there = trip.as_ref().and_then(|t| {
        let at = report.events.get(t.event)?.after_row.min(rows.len() - 1);
        let stop = t.lands.as_ref().filter(|l| l.at_stop && by_load);
        let lands = t.lands.as_ref().and_then(|l| match stop {
            Some(_) => landing(rows, at + 1, true, false, l).or(Some(end)),
            None => landing(rows, at + 1, true, by_load, l),
        });
        Some((at, lands, stop.map(|l| (l.displacement_SI, rows[at].1))))
    });
    let Some((trips, lands, stop)) = there else {
        // Nothing trips: there and back.
        let peak = (0..rows.len()).max_by(|a, b| {
            let set = |i: &usize| if by_load { rows[*i].1 } else { rows[*i].0 };
            set(a).total_cmp(&set(b))
        });
        let far = if by_load { peak.map_or(end, |p| p as f64) } else { end };
        return (vec![leg(0.0, far, false, on), leg(far, 0.0, false, off)], true);
    };
    let mut out = vec![leg(0.0, trips as f64, false, on)];
    let Some(lands) = lands else {
        return (out, false);
    };
    match stop {
        Some(stop) => {
            let (a, b) = (rows[lands.floor() as usize], rows[lands.ceil() as usize]);
            let part = (stop.0, a.1 + lands.fract() * (b.1 - a.1));
            out.push(Leg {
                dot: Some([rows[trips], stop]),
                ..leg(trips as f64, lands, true, "leaps to the stop")
            });
            out.push(Leg { dot: Some([stop, part]), ..leg(lands, lands, false, "load falls, on the stop") });
        }
        None => out.push(leg(trips as f64, lands, true, "leaps")),
    }
    let back = report.return_trip.as_ref().filter(|_| by_load).and_then(|r| {
        let at = report.events.get(r.event)?.after_row.min(rows.len() - 1);
        let to = r.lands.as_ref().and_then(|l| landing(rows, at, false, true, l));
        Some((at as f64, to))
    });
    match back {
        Some((at, Some(to))) if at <= lands => {
            out.push(leg(lands, at, false, off));
            out.push(leg(at, to, true, "leaps back"));
            out.push(leg(to, 0.0, false, off));
            (out, true)
        }
        // Off the stop the part pushes back with more than the load, and leaps to where the path before the trip has that load.
        _ if stop.is_some() && !report.path[lands.floor() as usize].stable_by_load() => {
            let left = out.last().and_then(|l| l.dot).map_or(0.0, |d| d[1].1);
            let Some(i) = (0..trips).find(|i| rows[*i].1 <= left && rows[*i + 1].1 > left) else {
                return (out, false);
            };
            let to = i as f64 + (left - rows[i].1) / (rows[i + 1].1 - rows[i].1);
            out.push(leg(lands, to, true, "leaps back"));
            out.push(leg(to, 0.0, false, off));
            (out, true)
        }
        _ => {
            // Unloaded as far as the landed branch is followed: to no load, or to where it ends.
            let zero = (0..lands.floor() as usize)
                .rev()
                .find(|i| if by_load { rows[*i].1 <= 0.0 && rows[*i + 1].1 > 0.0 } else { *i <= trips });
            if let Some(i) = zero.filter(|i| by_load && *i > trips) {
                let t = rows[i].1 / (rows[i].1 - rows[i + 1].1);
                out.push(leg(lands, i as f64 + t, false, off));
            }
            (out, false)
        }
    }
}

/// A poke. `None` when fewer than two shapes of the path can be drawn.
pub fn poke(report: &PokeReport, shapes: &film::Film, setting: &Setting) -> Option<Play> {
    let rows: Vec<(f64, f64)> = report.path.iter().map(|r| (r.displacement_SI, r.load_SI)).collect();
    let film =
        Film::of_shapes(shapes, &|f| f.row.map(|r| r as f64), true).filter(|f| f.first() < f.last())?;
    if rows.len() < 2 || !rows.iter().all(|p| p.0.abs() < 1e100 && p.1.abs() < 1e100) {
        return None;
    }
    let (legs, closes) = legs(report, &rows);
    let (x, y) = (Scale::over(rows.iter().map(|p| p.0)), Scale::over(rows.iter().map(|p| p.1).chain([0.0])));
    let reach = |f: fn(&(f64, f64)) -> f64| rows.iter().map(f).map(f64::abs).fold(0.0, f64::max);
    let moved = Scaled::suiting(reach(|p| p.0), &report.load.displacement_unit);
    let loads = Scaled::suiting(reach(|p| p.1), &report.load.load_unit);
    let on_path = |i: f64| {
        let k = (i.floor() as usize).min(rows.len() - 1);
        let (a, b, t) = (rows[k], rows[(k + 1).min(rows.len() - 1)], i - k as f64);
        (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))
    };
    let place = |p: (f64, f64)| (x.place(p.0), y.place(p.1));
    // Legs take pictures by their length on the chart.
    let way = |from: f64, to: f64| -> Vec<(f64, f64)> {
        let steps = (8.0 * (to - from).abs()).ceil().clamp(8.0, 4000.0) as usize;
        let mut run = vec![(from, 0.0)];
        for k in 1..=steps {
            let i = from + (to - from) * k as f64 / steps as f64;
            let (a, b) = (place(on_path(run[k - 1].0)), place(on_path(i)));
            run.push((i, run[k - 1].1 + libm::hypot(b.0 - a.0, b.1 - a.1)));
        }
        run
    };
    let slow: Vec<&Leg> = legs.iter().filter(|l| !l.leaps).collect();
    let length = |l: &Leg| match l.dot {
        Some([a, b]) => libm::hypot(place(b).0 - place(a).0, place(b).1 - place(a).1),
        None => way(l.from, l.to).last().map_or(0.0, |r| r.1),
    };
    let long: f64 = slow.iter().map(|l| length(l)).sum();
    let all = setting.pictures.max(12) as f64;
    let leaps = legs.len() - slow.len();
    let left = all * (1.0 - leaps as f64 * (LEAP + REST)).max(0.3);
    let control = if report.load.control == "displacement" { "displacement" } else { "load" };
    // A path is one of shapes alike all round: what gives way in waves is drawn round, and said to be.
    let waves = |leg: &Leg| {
        let there = if control == "load" { &report.by_load } else { &report.by_displacement };
        there.as_ref().filter(|_| leg.to > leg.from).map_or(0, |t| t.n)
    };
    let not_the_motion = |leg: &Leg| match waves(leg) {
        0 => "drawn quickly: not the motion".to_owned(),
        n => format!("gives way in {n} wave{}; drawn round", if n == 1 { "" } else { "s" }),
    };
    let mut moments = Vec::new();
    for leg in &legs {
        let [start, stop] = leg.dot.unwrap_or([on_path(leg.from), on_path(leg.to)]);
        let run = way(leg.from, leg.to);
        let total = run[run.len() - 1].1;
        let count = if leg.leaps { all * LEAP } else { left * length(leg) / long.max(f64::MIN_POSITIVE) };
        let count = count.round().max(2.0) as usize;
        let moment = |share: f64| {
            let k = run.partition_point(|r| r.1 < share * total).clamp(1, run.len() - 1);
            let (a, b) = (run[k - 1], run[k]);
            let t = if b.1 > a.1 { ((share * total - a.1) / (b.1 - a.1)).clamp(0.0, 1.0) } else { 0.0 };
            let i = a.0 + t * (b.0 - a.0);
            // In a leap the dot goes straight, as what is set stays.
            let at = if leg.leaps || leg.dot.is_some() {
                (start.0 + share * (stop.0 - start.0), start.1 + share * (stop.1 - start.1))
            } else {
                on_path(i)
            };
            Moment {
                shape: Shape { line: film.at(i), energy: film.energy_at(i), wave: None },
                delay_cs: setting.delay_cs,
                at: i,
                phase: leg.words,
                words: if leg.leaps { format!("{}, {control} set", leg.words) } else { leg.words.to_owned() },
                clock: steady(at.1, &loads, reach(|p| p.1)),
                clock_of: format!("at {}", steady(at.0, &moved, reach(|p| p.0))),
                beside: if leg.leaps { not_the_motion(leg) } else { String::new() },
                dot: Some(place(at)),
                ..Moment::default()
            }
        };
        moments.extend((0..count).map(|k| moment(k as f64 / count as f64)));
        if leg.leaps {
            let rests = (all * REST).round() as usize;
            let still =
                Moment { beside: String::new(), words: "landed".to_owned(), phase: "landed", ..moment(1.0) };
            moments.extend(std::iter::repeat_n(still, rests));
        }
    }
    let last = legs.last()?.to;
    if !closes {
        let at = on_path(last);
        moments.push(Moment {
            shape: Shape { line: film.at(last), energy: film.energy_at(last), wave: None },
            delay_cs: 80,
            at: last,
            phase: "still",
            words: if legs.len() == 1 {
                "trips (no landing found)".to_owned()
            } else {
                "stays here".to_owned()
            },
            clock: steady(at.1, &loads, reach(|p| p.1)),
            clock_of: format!("at {}", steady(at.0, &moved, reach(|p| p.0))),
            dot: Some(place(at)),
            ..Moment::default()
        });
    }
    let stable = |i: usize| {
        let r = &report.path[i];
        if control == "load" { r.stable_by_load() } else { r.stable_by_displacement() }
    };
    let mut curves: Vec<(Vec<(f64, f64)>, Pen)> = Vec::new();
    for i in 0..rows.len() - 1 {
        let whole = stable(i) && stable(i + 1);
        let pen = if whole { Pen::solid(ink::DEEP, 1.8) } else { Pen::with(ink::GREY, 1.2, Dash::Dashed) };
        match curves.last_mut() {
            Some((line, p)) if p.width == pen.width => line.push(place(rows[i + 1])),
            _ => curves.push((vec![place(rows[i]), place(rows[i + 1])], pen)),
        }
    }
    for leg in legs.iter().filter(|l| l.leaps || l.dot.is_some()) {
        let [a, b] = leg.dot.unwrap_or([on_path(leg.from), on_path(leg.to)]);
        let line = vec![place(a), place(b)];
        curves.push((line, Pen::with(ink::AMBER, 1.6, Dash::Dashed)));
    }
    let lines: Vec<_> = moments.iter().map(|m| m.shape.line.clone()).collect();
    let stretch = stretch(lines.iter());
    let names = (capital(&report.load.load_name), capital(&report.load.displacement_name));
    Some(Play {
        alt: format!(
            "{}: {} over {}, with the part as it deforms. {}",
            report.title,
            report.load.load_name,
            report.load.displacement_name,
            report.explanation.first().map_or("", String::as_str)
        ),
        title: report.title.clone(),
        wall: film.shell.clone(),
        floor: None,
        stretch,
        domed: true,
        note: if stretch > 1.0 { format!("heights × {stretch}") } else { String::new() },
        chart: Chart {
            tall: TALL,
            curves,
            across: x.ticks(moved.factor),
            up: y.ticks(loads.factor),
            across_name: moved.title(&names.1),
            up_name: loads.title(&names.0),
            ..Chart::default()
        },
        moments,
        closing: if closes { Closing::Flows } else { Closing::Fades },
    })
}
