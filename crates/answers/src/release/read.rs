//! A motion read: snap, jump, ringing, energies, events, history, frames; everything in SI.

use super::answer::Run;
use super::report::{EnergyRow, Event, Frame, History, Jump, Ringing, Snap};
use super::setup::Setup;
use super::track::{Row, Track};
use super::wait::Rest;
use crate::explain::{duration, length, speed};
use crate::film::{self, Camera, MOST, thinned};

/// Frames told at most.
const FRAMES: usize = 240;

/// Energy stored at the start, in units of the motion (the natural state at rest has none).
pub(crate) fn available(track: &Track) -> f64 {
    track.rows.first().map_or(f64::NAN, |r| r.ledger.stored)
}

pub(crate) fn snap(setup: &Setup, track: &Track, rest: Rest) -> Option<Snap> {
    let (begins, halfway, ninth) = (track.begins?, track.halfway?, track.ninth?);
    let u = &setup.units;
    let speed = u.length / u.time;
    let kinetic = track.rows.iter().find(|r| r.t >= ninth)?.ledger.kinetic;
    Some(Snap {
        wait_s: begins * u.time,
        snap_time_s: (ninth - begins) * u.time,
        halfway_s: halfway * u.time,
        end_s: ninth * u.time,
        peak_speed_m_per_s: track.peak[0] * speed,
        peak_speed_at_s: track.peak[1] * u.time,
        energy_available_J: available(track) * u.energy,
        kinetic_energy_J: kinetic * u.energy,
        creep_wait_s: match rest {
            Rest::Ends(t) => Some(t * u.time),
            _ => None,
        },
    })
}

/// Rows between which the part flies: first row in the air after the last touch before the flight, and the row of the
/// next touch, if any. A flight lasts at least a third of what a throw with its speed would.
fn flight(run: &Run) -> Option<(usize, Option<usize>)> {
    let rows = &run.track.rows;
    let g = run.motion.weight();
    let halfway = run.track.halfway?;
    let mut i = rows.iter().position(|r| r.t >= halfway)?;
    loop {
        i += rows[i..].iter().position(|r| r.reaction == 0.0)?;
        let next = rows[i..].iter().position(|r| r.reaction > 0.0).map(|n| i + n);
        let throw = 2.0 * rows[i].centre_speed.max(0.0) / g;
        let last = next.unwrap_or(rows.len() - 1);
        if rows[i].centre_speed > 0.0 && (next.is_none() || rows[last].t - rows[i].t > throw / 3.0) {
            return Some((i, next));
        }
        i = next?;
    }
}

pub(crate) fn jump(setup: &Setup, run: &Run) -> Option<Jump> {
    let g = run.motion.weight();
    if !run.motion.has_table() || g <= 0.0 {
        return None;
    }
    let rows = &run.track.rows;
    let (off, next) = flight(run)?;
    let (start, leave) = (rows[0], rows[off]);
    let u = &setup.units;
    let v = leave.centre_speed;
    // Rise against weight and square drag k v²: ln(1 + k v²/g)/2k.
    let k = run.motion.drag_of_fall();
    let throw = if k > 0.0 { libm::log1p(k * v * v / g) / (2.0 * k) } else { v * v / (2.0 * g) };
    let marched = rows[off..next.unwrap_or(rows.len())]
        .windows(2)
        .any(|w| w[0].centre_speed > 0.0 && w[1].centre_speed <= 0.0);
    let apex = rows[off..].iter().map(|r| r.centre).fold(f64::NEG_INFINITY, f64::max);
    let height = if marched { apex } else { leave.centre + throw } - start.centre;
    let mass = run.motion.total_mass();
    // The hand's net force, air and bath count as well.
    let gained = mass * v + mass * g * (leave.t - start.t) - run.motion.hand_impulse(leave.t) - leave.drag;
    let bound = (start.ledger.stored + leave.ledger.supplied) / (mass * g);
    Some(Jump {
        takeoff_s: leave.t * u.time,
        takeoff_speed_m_per_s: v * u.length / u.time,
        height_m: height * u.length,
        height_marched: marched,
        height_bound_m: bound * u.length,
        flight_energy_J: 0.5 * mass * v * v * u.energy,
        impulse_N_s: leave.impulse * u.force * u.time,
        impulse_closure: (gained - leave.impulse) / leave.impulse,
        largest_reaction_N: rows[..off].iter().map(|r| r.reaction).fold(0.0, f64::max) * u.force,
        landing_s: next.filter(|_| marched).map(|n| rows[n].t * u.time),
    })
}

/// Ringing from crossings of the mean, in the rows after the snap (from the start where the part stays), for no longer than
/// `window`.
pub(crate) fn ringing(setup: &Setup, track: &Track, stays: bool, window: Option<f64>) -> Option<Ringing> {
    let from = if stays { 0.0 } else { track.ninth? };
    let to = from + window.unwrap_or(f64::INFINITY);
    let rows: Vec<&Row> = track.rows.iter().filter(|r| r.t >= from && r.t <= to).collect();
    let (first, last) = (rows.first()?, rows.last()?);
    let span = last.t - first.t;
    if span <= 0.0 {
        return None;
    }
    // Mean over time by trapezes.
    let mean =
        rows.windows(2).map(|w| 0.5 * (w[0].height() + w[1].height()) * (w[1].t - w[0].t)).sum::<f64>()
            / span;
    let (low, high) =
        rows.iter().map(|r| r.height()).fold((f64::MAX, f64::MIN), |(a, b), h| (a.min(h), b.max(h)));
    // A crossing counts when the height has been away from the mean by a tenth of the range since the last one.
    let away = 0.1 * (high - low);
    let (mut crossings, mut armed) = (Vec::new(), false);
    for w in rows.windows(2) {
        let (a, b) = (w[0].height() - mean, w[1].height() - mean);
        armed |= a < -away;
        if armed && a < 0.0 && b >= 0.0 {
            crossings.push(w[0].t + (w[1].t - w[0].t) * a / (a - b));
            armed = false;
        }
    }
    let periods = crossings.len().saturating_sub(1);
    let (a, b) = (crossings.first()?, crossings.last()?);
    let u = &setup.units;
    if periods < 2 || high - low < 1e-6 * setup.rise.abs() {
        return None;
    }
    Some(Ringing {
        frequency_Hz: periods as f64 / ((b - a) * u.time),
        from_s: a * u.time,
        to_s: b * u.time,
        periods,
        amplitude_m: 0.5 * (high - low) * u.length,
    })
}

fn elastic(r: &Row) -> f64 {
    r.ledger.stored + r.ledger.other - r.gravity - r.contact
}

/// The row nearest after a time.
fn row_at(track: &Track, t: f64) -> Option<&Row> {
    track.rows.iter().find(|r| r.t >= t).or(track.rows.last())
}

pub(crate) fn energies(setup: &Setup, run: &Run) -> Vec<EnergyRow> {
    let track = &run.track;
    let mut moments = vec![("let go".to_owned(), 0.0)];
    for (name, t) in [("snap begins", track.begins), ("half-way", track.halfway), ("snapped", track.ninth)] {
        moments.extend(t.map(|t| (name.to_owned(), t)));
    }
    if let Some((off, _)) = flight(run).filter(|_| run.motion.has_table()) {
        moments.push(("take-off".to_owned(), track.rows[off].t));
    }
    moments.extend(track.rows.last().map(|r| ("end".to_owned(), r.t)));
    let e = setup.units.energy;
    let start = track.rows.first().map_or(0.0, |r| r.gravity);
    moments
        .iter()
        .filter_map(|(moment, t)| {
            let r = row_at(track, *t)?;
            Some(EnergyRow {
                moment: moment.clone(),
                time_s: r.t * setup.units.time,
                kinetic_J: e * r.ledger.kinetic,
                elastic_J: e * elastic(r),
                gravity_J: e * (r.gravity - start),
                contact_J: e * r.contact,
                relaxed_J: e * r.ledger.relaxed,
                dragged_J: e * r.ledger.dragged,
                hand_J: e * r.ledger.supplied,
            })
        })
        .collect()
}

pub(crate) fn events(setup: &Setup, run: &Run) -> Vec<Event> {
    let (u, track) = (&setup.units, &run.track);
    let mut out = Vec::new();
    let mut add = |t: f64, kind: &str, what: String| {
        out.push(Event { time_s: t * u.time, kind: kind.to_owned(), what });
    };
    add(0.0, "let-go", "the hand begins to let go".into());
    if let calotte_specimen::LetGo::Ramp(r) = setup.motion.hold.let_go
        && track.rows.last().is_some_and(|l| l.t * u.time >= r)
    {
        add(r / u.time, "gone", "the hand is gone".into());
    }
    if let (Some(begins), Some(halfway)) = (track.begins, track.halfway) {
        add(begins, "snap", format!("the snap begins, after {}", duration(begins * u.time)));
        add(halfway, "halfway", "pole and rim are at one height".into());
    }
    if let Some(ninth) = track.ninth {
        add(ninth, "snapped", "nine tenths of the way are done".into());
    }
    // Every lift-off and touch-down after the part has begun to move, few enough to be told.
    if run.motion.has_table() {
        let flown = flight(run);
        let mut told = 0;
        for (i, w) in track.rows.windows(2).enumerate() {
            let (a, b) = (w[0].reaction > 0.0, w[1].reaction > 0.0);
            if a == b || told >= 40 {
                continue;
            }
            told += 1;
            let t = w[1].t;
            match (a, flown) {
                (true, Some((off, _))) if off == i + 1 => {
                    let v = w[1].centre_speed * u.length / u.time;
                    add(t, "take-off", format!("it leaves the table at {}", speed(v)));
                }
                (true, _) => add(t, "lift-off", "nothing touches the table".into()),
                (false, Some((_, Some(n)))) if n == i + 1 => {
                    add(t, "landing", "it touches the table again".into())
                }
                (false, _) => add(t, "touch-down", "it touches the table".into()),
            }
        }
        if let Some((off, next)) = flown {
            let flight = &track.rows[off..next.unwrap_or(track.rows.len())];
            let top = flight.windows(2).find(|w| w[0].centre_speed > 0.0 && w[1].centre_speed <= 0.0);
            if let Some(w) = top {
                let rise = (w[1].centre - track.rows[0].centre) * u.length;
                add(w[1].t, "apex", format!("its centre of mass has risen by {}", length(rise)));
            }
        }
    }
    out.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    out
}

pub(crate) fn history(setup: &Setup, run: &Run) -> History {
    let (u, rows) = (&setup.units, &run.track.rows);
    let column =
        |unit: f64, f: &dyn Fn(&Row) -> f64| -> Vec<f64> { rows.iter().map(|r| unit * f(r)).collect() };
    let v = u.length / u.time;
    let z = run.origin;
    let start = rows.first().map_or(0.0, |r| r.gravity);
    History {
        time_s: column(u.time, &|r| r.t),
        pole_over_rim_m: column(u.length, &Row::height),
        pole_over_rim_speed_m_per_s: column(v, &|r| r.closing),
        pole_height_m: column(u.length, &|r| r.pole - z),
        rim_height_m: column(u.length, &|r| r.rim - z),
        centre_height_m: column(u.length, &|r| r.centre - z),
        centre_speed_m_per_s: column(v, &|r| r.centre_speed),
        reaction_N: column(u.force, &|r| r.reaction),
        kinetic_J: column(u.energy, &|r| r.ledger.kinetic),
        elastic_J: column(u.energy, &elastic),
        gravity_J: column(u.energy, &|r| r.gravity - start),
        contact_J: column(u.energy, &|r| r.contact),
        relaxed_J: column(u.energy, &|r| r.ledger.relaxed),
        dragged_J: column(u.energy, &|r| r.ledger.dragged),
        hand_J: column(u.energy, &|r| r.ledger.supplied),
    }
}

/// Numbers of the shapes that are told: those nearest to the half-way time are kept the densest.
fn told(run: &Run) -> Vec<usize> {
    let shapes = &run.track.shapes;
    let stride = shapes.len().div_ceil(FRAMES).max(1);
    let snap = run.track.begins.zip(run.track.ninth);
    let within = |t: f64| snap.is_some_and(|(a, b)| t >= a - (b - a) && t <= b + (b - a));
    let last = shapes.len().saturating_sub(1);
    (0..shapes.len()).filter(|i| i % stride == 0 || *i == last || within(shapes[*i].t)).collect()
}

/// Shapes for pictures.
pub(crate) fn frames(setup: &Setup, run: &Run) -> Vec<Frame> {
    let u = &setup.units;
    told(run)
        .into_iter()
        .map(|i| &run.track.shapes[i])
        .map(|s| Frame {
            time_s: s.t * u.time,
            r_m: s.points.iter().map(|p| p[0] * u.length).collect(),
            z_m: s.points.iter().map(|p| (p[1] - run.origin) * u.length).collect(),
        })
        .collect()
}

/// The same with fields, at most as many as a film holds; `row`: number of the frame.
pub(crate) fn film(setup: &Setup, run: &Run, camera: &Camera<'_>) -> Vec<film::Frame> {
    let (told, shapes) = (told(run), &run.track.shapes);
    let (model, t) = (run.motion.model(), run.motion.thickness_factor());
    // The snap goes by in few of many frames.
    let marks = [run.track.begins, run.track.halfway, run.track.ninth];
    let row_at = |t: f64| told.iter().position(|i| shapes[*i].t >= t);
    let keep = marks.into_iter().flatten().filter_map(row_at);
    thinned(told.len(), MOST, keep)
        .into_iter()
        .map(|row| {
            let s = &shapes[told[row]];
            film::Frame {
                at: s.t * setup.units.time,
                row: Some(row),
                ..camera.frame_above(model, &s.q, t, run.origin)
            }
        })
        .collect()
}
