//! The 95 % intervals of every figure hold the truth in 90 to 99 of a hundred clips.

use calotte_chance::Stream;
use calotte_lab::clip::read::{Asked, Row, read};
use calotte_lab::clip::{
    Figures, Frame, Line, Motion, Pace, Place, Role, Session, Sized, TrackSettings, Watched, physical,
};

use crate::motion::{Camera, Law, film};

const SEEDS: u64 = 200;

fn line(height: usize) -> Line {
    Line { from: [2.0, 0.0], to: [2.0, height as f64 - 1.0] }
}

/// A strip watched: a session takes one picture at a time, so pole and rim have one each.
fn rows(frames: Vec<Frame>, height: usize, pace: &Pace) -> Motion {
    let settings = TrackSettings::default();
    let mut session =
        Session::new(&[Watched { role: Role::Pole, line: line(height), found: false, settings }]);
    for f in frames {
        session.see(f).unwrap();
    }
    session.motion(1, pace).unwrap()
}

fn clip(seed: u64, jumps: bool) -> (Law, Figures, Vec<String>, f64) {
    let mut s = Stream::of(41, seed);
    let rate = 2000.0;
    let scale = 2e-4;
    let camera = Camera {
        rate,
        frames: if jumps { 300 } else { 330 },
        height: if jumps { 160 } else { 120 },
        shutter: 0.4,
        blur: 0.6 + 0.5 * s.unit(),
        noise: 0.01 + 0.02 * s.unit(),
        glare: 0.03,
        drops: 0.03,
    };
    let mut law = Law {
        rest: 85.0 + s.unit(),
        way: -55.0 + 4.0 * s.unit(),
        sigma: rate * (0.22 + 0.1 * s.unit()),
        omega: rate * (0.16 + 0.08 * s.unit()),
        zeta: 0.02 + 0.05 * s.unit(),
        switch: (70.0 + s.unit()) / rate,
        throw: None,
    };
    if jumps {
        let leaves = law.truth().end;
        law.throw = Some([9.81 / scale, (1.1 + 0.1 * s.unit()) * rate, leaves]);
    }
    // What is stated is not quite so.
    let stated = |value: f64, share: f64, s: &mut Stream| Sized {
        value: value * (1.0 + share * s.normal()),
        deviation: share * value,
    };
    let pace = Pace { rate: Some(stated(rate, 1e-3, &mut s)), slow: None };
    let place = Place { scale: stated(scale, 4e-3, &mut s), gravity: Sized { value: 9.81, deviation: 1e-3 } };
    let (let_go, known) = (5.0 / rate, 0.3 / rate);
    let asked = Asked {
        let_go: Some([let_go + known * s.normal(), known]),
        exposed: [camera.shutter / rate; 2],
        gravity: Some(9.81 / place.scale.value),
        alone: !jumps,
    };
    let pole = rows(film(&camera, seed, 1, &|t| law.relative(t)[0] + law.rim(t)), camera.height, &pace);
    let readings = if jumps {
        // The rim lies lower in a picture of its own.
        let rim = rows(film(&camera, seed, 2, &|t| 20.0 + law.rim(t)), camera.height, &pace);
        let mut over = Vec::new();
        for r in &pole.rows {
            if let Some(q) = rim.rows.iter().find(|q| q.t == r.t) {
                over.push(Row { t: r.t, x: r.x - q.x, e: libm::hypot(r.e, q.e) });
            }
        }
        read(&over, &pole.edge, &asked).unwrap_or_else(|e| panic!("seed {seed}: {e}"))
    } else {
        read(&pole.rows, &pole.edge, &asked).unwrap_or_else(|e| panic!("seed {seed}: {e}"))
    };
    let (figures, unread) = physical(&readings, &pole.clock, &place);
    (law, figures, unread.iter().map(|u| format!("{}: {}", u.figure, u.why)).collect(), let_go)
}

fn cover(jumps: bool) {
    let scale = 2e-4;
    let mut tally: std::collections::BTreeMap<&str, (u64, u64)> = std::collections::BTreeMap::new();
    let mut said = Vec::new();
    for seed in 0..SEEDS {
        let (law, f, unread, let_go) = clip(seed, jumps);
        let truth = law.truth();
        let omega = law.omega * (1.0 - law.zeta * law.zeta).sqrt();
        let height = law.throw.map_or(f64::NAN, |[g, v, _]| v * v / (2.0 * g) + law.way);
        let wanted = [
            truth.begin - let_go,
            law.sigma,
            truth.end - truth.begin,
            truth.peak * scale,
            law.way.abs() * scale,
            omega / (2.0 * std::f64::consts::PI),
            law.zeta,
            height * scale,
            9.81,
        ];
        for ((name, _, figure), want) in f.all().into_iter().zip(wanted) {
            let Some(figure) = figure else { continue };
            let z = (figure.value - want) / figure.deviation();
            let t = tally.entry(name).or_default();
            t.0 += 1;
            t.1 += u64::from(z.abs() <= 1.959_964);
        }
        said.extend(unread);
    }
    for (name, (n, hits)) in &tally {
        assert!(*n >= SEEDS * 9 / 10, "{name}: read {n} times only; {said:?}");
        let share = *hits as f64 / *n as f64;
        assert!((0.9..=0.99).contains(&share), "{name}: {hits} of {n}");
    }
}

#[test]
fn intervals_of_a_part_that_rests() {
    cover(false);
}

#[test]
fn intervals_of_a_part_that_jumps() {
    cover(true);
}
