//! A pole followed alone: a flight is never taken for way, and what rings or creeps in its place is read as before.

use calotte_chance::Stream;
use calotte_lab::clip::read::{Asked, Readings, Row, read};

use crate::motion::Law;

const RATE: f64 = 2000.0;
/// 9.81 m/s² at 0.2 mm a pixel.
const GRAVITY: f64 = 9.81 / 2e-4;
const SEEDS: u64 = 60;

fn rows(s: &mut Stream, frames: u32, place: &dyn Fn(f64) -> f64) -> Vec<Row> {
    (0..frames)
        .map(|k| f64::from(k) / RATE)
        .map(|t| Row { t, x: place(t) + 0.05 * s.normal(), e: 0.05 })
        .collect()
}

/// Invented: snaps up or down; with a throw of this speed, px a frame.
fn law(s: &mut Stream, speed: Option<f64>, up: bool) -> Law {
    let mut law = Law {
        rest: 85.0,
        way: if up { 45.0 } else { -45.0 },
        sigma: RATE * (0.22 + 0.1 * s.unit()),
        omega: RATE * (0.16 + 0.08 * s.unit()),
        zeta: 0.02 + 0.05 * s.unit(),
        switch: (70.0 + s.unit()) / RATE,
        throw: None,
    };
    let leaves = law.truth().end;
    law.throw = speed.map(|v| [GRAVITY, v * RATE, leaves]);
    law
}

fn alone(rows: &[Row], gravity: Option<f64>) -> Readings {
    let asked = Asked { let_go: Some([0.0, 1e-4]), exposed: [0.0; 2], gravity, alone: true };
    read(rows, rows, &asked).unwrap()
}

/// Closed form. Whichever way it snaps, a throw that rises higher than the way is found, once its top is passed: it is never counted as
/// way; and the height of the flight holds what was thrown.
#[test]
fn a_high_flight_is_never_taken_for_way() {
    let (mut seen, mut held, mut told) = (0, 0, 0);
    for seed in 0..SEEDS {
        let mut s = Stream::of(61, seed);
        for up in [true, false] {
            for speed in [1.2, 2.0] {
                let law = law(&mut s, Some(speed), up);
                let [g, v, leaves] = law.throw.unwrap();
                for share in [1.3, 1.7, 3.0] {
                    let frames = ((leaves + share * v / g) * RATE) as u32;
                    let landed = |t: f64| law.relative(t)[0] + law.rim(t).max(0.0);
                    let r = alone(&rows(&mut s, frames, &landed), Some(GRAVITY));
                    let place = format!("seed {seed}, up {up}, {speed} px a frame, until {share} of the top");
                    seen += 1;
                    let why = r.unsettled.as_deref().unwrap_or_default();
                    assert!(r.snap.is_none() && why.contains("--rim-left"), "{place}: {why} {:?}", r.snap);
                    if let Some(j) = r.jump.filter(|_| share < 2.0) {
                        let height = v * v / (2.0 * g) + law.way;
                        told += 1;
                        held += u32::from((j.height.value - height).abs() <= 1.96 * j.height.deviation());
                    }
                }
            }
        }
    }
    assert!(told * 10 >= seen * 5, "{told} of {seen}");
    let share = f64::from(held) / f64::from(told);
    assert!((0.9..=0.99).contains(&share), "{held} of {told}");
}

/// Closed form. Snaps of forty to two hundred frames, whose first swing bends between a third and ten times as much as a throw: where the
/// rim is said to stay, they are all read, and the intervals hold.
#[test]
fn slow_and_fast_snaps_of_a_seated_part() {
    let seeds = 200;
    let mut hits = [0; 2];
    for seed in 0..seeds {
        let mut s = Stream::of(67, seed);
        let mut law = law(&mut s, None, seed % 2 == 0);
        let curvature = GRAVITY * libm::pow(10.0, -0.5 + 1.5 * s.unit());
        law.omega = (curvature / law.way.abs()).sqrt();
        law.sigma = law.omega * (1.5 + s.unit());
        law.switch = 9.0 / law.sigma;
        let truth = law.truth();
        let frames = ((truth.end + 2.0 * std::f64::consts::TAU / law.omega) * RATE) as u32;
        let asked = Asked { let_go: Some([0.0, 1e-4]), exposed: [0.0; 2], gravity: None, alone: false };
        let places = rows(&mut s, frames, &|t| law.relative(t)[0]);
        let r = read(&places, &places, &asked).unwrap();
        let snap = r.snap.as_ref().unwrap_or_else(|| panic!("seed {seed}: {:?}", r.unread));
        for (hits, (figure, want)) in
            hits.iter_mut().zip([(&snap.time, truth.end - truth.begin), (&snap.speed, truth.peak)])
        {
            let z = (figure.value - want) / figure.deviation();
            assert!(z.abs() < 5.0, "seed {seed}: {figure:?}, true {want}");
            *hits += u32::from(z.abs() <= 1.959_964);
        }
    }
    for hits in hits {
        let share = f64::from(hits) / seeds as f64;
        assert!((0.9..=0.99).contains(&share), "{hits:?} of {seeds}");
    }
}
