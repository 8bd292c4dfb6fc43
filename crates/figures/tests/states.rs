//! Figures of stable states: what is drawn, and where. Everything in the reports is INVENTED: cones turned over without any mechanics.

#![allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

mod common;
mod reading;

use calotte_answers::report::{SampledMeridian, Work};
use calotte_answers::states::report::{Piece, State, StatesEvidence, StatesReport, Way};
use calotte_figures::{Figure, states_figures};
use common::Invented;
use reading::{assert_sound, count, elements, number, points, words};

/// Cones one after the other, each 10 mm wide and high, those in `turned` falling.
fn meridian(cones: usize, turned: &[usize]) -> SampledMeridian {
    let mut m = SampledMeridian::default();
    let (mut z, long) = (0.0, 10e-3 * 2f64.sqrt());
    for i in 0..cones {
        let sign = if turned.contains(&(i + 1)) { -1.0 } else { 1.0 };
        for k in 0..=4 {
            let t = f64::from(k) / 4.0;
            m.s_m.push((i as f64 + t) * long);
            m.r_m.push(10e-3 * (2.0 + i as f64 + t));
            m.z_m.push(z + sign * 10e-3 * t);
            m.slope_rad.push(sign * std::f64::consts::FRAC_PI_4);
            m.thickness_m.push(1e-3 * (1.0 + i as f64));
        }
        z += sign * 10e-3;
    }
    m
}

fn state(cones: usize, turned: &[usize], energy: f64) -> State {
    let list: Vec<String> = turned.iter().map(ToString::to_string).collect();
    let name = match turned {
        [] => "as made".to_owned(),
        [one] => format!("piece {one} turned over"),
        _ => format!("pieces {} turned over", list.join(", ")),
    };
    State {
        name,
        turned: turned.to_vec(),
        stable: true,
        unstable_n: Vec::new(),
        height_m: 0.0,
        energy_J: energy,
        barrier_J: None,
        beyond: None,
        largest_strain: 0.1,
        largest_strain_at_m: 0.0,
        strain_share: None,
        mesh_difference: Some(0.0),
        meridian: meridian(cones, turned),
    }
}

fn way(from: usize, to: usize, barrier: f64) -> Way {
    Way {
        from,
        to,
        pushed_at_m: 0.0,
        trip_force_N: 1.0,
        trip_travel_m: 1e-3,
        barrier_J: barrier,
        unstable: 1,
        peak_strain: 0.2,
    }
}

/// Every combination of `cones` turned over, neighbours in a list joined by passes.
fn report(cones: usize) -> StatesReport {
    let long = 10e-3 * 2f64.sqrt();
    let states: Vec<State> = (0..1_usize << cones)
        .map(|k| {
            let turned: Vec<usize> = (0..cones).filter(|i| k >> i & 1 == 1).map(|i| i + 1).collect();
            state(cones, &turned, 2e-3 * k as f64)
        })
        .collect();
    let ways = (1..states.len()).flat_map(|i| [way(i - 1, i, 5e-3), way(i, i - 1, 3e-3)]).collect();
    let part = Invented::default().report().part;
    StatesReport {
        schema_version: 1,
        title: "Invented bowl".to_owned(),
        stable: Some(states.len()),
        explanation: Vec::new(),
        doubts: Vec::new(),
        warnings: Vec::new(),
        part,
        pieces: (0..cones)
            .map(|i| Piece {
                number: i + 1,
                span_m: [i as f64 * long, (i + 1) as f64 * long],
                rise_m: 10e-3,
                turns: true,
            })
            .collect(),
        states,
        ways,
        fold: None,
        folded: None,
        fold_note: None,
        strain_limit: None,
        evidence: StatesEvidence {
            elements: [10, 20],
            starts: 1,
            failed: 0,
            paths: 1,
            points: 1,
            cut_short: 0,
            limits: Vec::new(),
            work: Work::default(),
        },
    }
}

fn named(figures: &[Figure], name: &str) -> Figure {
    figures.iter().find(|f| f.name == name).unwrap().clone()
}

/// Every state once, its turned pieces in the accent's colour, on both sides of the axis, thick pieces thick.
#[test]
fn sections_show_every_state_and_what_is_turned() {
    for cones in [1, 2, 3] {
        let r = report(cones);
        let f = named(&states_figures(&r), "states");
        assert_sound(&f, &format!("{cones} cones"));
        let all = 1 << cones;
        assert_eq!(words(&f.svg, "panel").len(), all);
        // A hole: two outlines per piece; half of all pieces in all combinations are turned.
        assert_eq!((count(&f.svg, "turned"), count(&f.svg, "wall")), (cones * all, cones * all));
        assert_eq!(words(&f.svg, "stored")[1], "2.00 mJ");
        // The face of each piece is a line across the page as long as its own wall is thick.
        let outlines = elements(&f.svg, "wall");
        let thick = |line: &str| {
            let p = points(line);
            let n = p.len() / 2;
            libm::hypot(p[0].0 - p[2 * n - 1].0, p[0].1 - p[2 * n - 1].1)
        };
        for k in 1..cones {
            let ratio = thick(outlines[2 * k]) / thick(outlines[0]);
            assert!((ratio - (k + 1) as f64).abs() < 0.05, "{ratio}");
        }
    }
}

/// Bars in order of height, each pass above both of its states by what its label says.
#[test]
fn levels_show_energies_and_passes() {
    let r = report(2);
    let f = named(&states_figures(&r), "levels");
    assert_sound(&f, "levels");
    let bars: Vec<f64> = elements(&f.svg, "level").iter().map(|l| number(l, "y1").unwrap()).collect();
    assert_eq!((bars.len(), count(&f.svg, "pass")), (4, 3));
    // The same energy apart.
    let step = bars[0] - bars[1];
    assert!(step > 0.0 && bars.windows(2).all(|w| (w[0] - w[1] - step).abs() < 0.02), "{bars:?}");
    for (k, line) in elements(&f.svg, "pass").iter().enumerate() {
        let top = points(line).iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        // 3 mJ over the higher of the two, at 2 mJ a step.
        assert!((bars[k + 1] - top - 1.5 * step).abs() < 0.05, "{k}: {top} {bars:?}");
    }
    assert_eq!(words(&f.svg, "barrier"), ["3.00 mJ"; 3]);
    assert!(f.alt.contains("2 to 1 3.00 mJ") && f.caption.contains("upper bounds"), "{}", f.alt);
}

/// Of several ways between two states the lowest counts; one beside which a lower lies is dashed.
#[test]
fn the_lowest_pass_is_drawn() {
    let mut r = report(1);
    r.ways.push(Way { unstable: 2, ..way(1, 0, 1e-3) });
    r.ways.push(way(1, 0, 9e-3));
    let f = named(&states_figures(&r), "levels");
    assert_eq!(words(&f.svg, "barrier"), ["1.00 mJ"]);
    let [pass] = elements(&f.svg, "pass")[..] else { panic!("one pass") };
    assert!(pass.contains("dasharray"));
}

#[test]
fn what_is_not_there_is_left_out() {
    let mut r = report(2);
    r.states[1].stable = false;
    r.states[2].energy_J = f64::NAN;
    r.ways[4].barrier_J = f64::INFINITY;
    let figures = states_figures(&r);
    let f = named(&figures, "states");
    assert_sound(&f, "spoiled");
    assert_eq!(words(&f.svg, "panel").len(), 2);
    // No pass joins two states that are drawn.
    assert_eq!(figures.len(), 1);
    r.states.clear();
    assert!(states_figures(&r).is_empty());
}
