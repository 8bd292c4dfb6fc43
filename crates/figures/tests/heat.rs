//! Figures of invented heated discs: what is drawn, and where. Everything in the reports is INVENTED: the branches are a cubic in the
//! travel, the shapes scaled caps. They exercise the drawing and say nothing about any real part.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests fail by panicking")]

mod common;
mod reading;

use calotte_answers::heat::report::{
    Buckling, Creep, DeviceSummary, HeatEvidence, HeatMap, HeatOutcome, HeatQuantile, HeatReport, HeatRow,
    HeatSpread, Jump, LevelCurves, MapCurve, MapState, Shape, Spread, WallSummary,
};
use calotte_answers::report::SCHEMA_VERSION;
use calotte_figures::{Figure, heat_figures, heat_map_figure, heat_spread_figure};
use common::Invented;
use reading::{assert_sound, attribute, count, elements, number, points, words};

/// Travel in m and temperature in K along an S: limits at travels 0.3 and 0.7 of `size`.
fn at(size: f64, share: f64) -> (f64, f64) {
    let s = share - 0.5;
    (size * share, 350.0 + 900.0 * (s * s * s - 0.12 * s))
}

#[derive(Clone, Debug)]
struct Disc {
    size: f64,
    pin: Option<f64>,
    waves: Vec<u32>,
    lands: bool,
    trips: bool,
}

impl Default for Disc {
    fn default() -> Self {
        Self { size: 1e-3, pin: None, waves: Vec::new(), lands: true, trips: true }
    }
}

impl Disc {
    fn row(&self, share: f64) -> HeatRow {
        let (travel_m, kelvin) = at(self.size, share);
        HeatRow {
            temperature_K: kelvin,
            travel_m,
            rim_slope_rad: 0.1 - 0.2 * share,
            energy_J: 1e-4,
            pin_force_N: 0.0,
            unstable: usize::from(share > 0.3 && share < 0.7),
            unstable_n: if share > 0.9 { self.waves.clone() } else { Vec::new() },
        }
    }

    fn jump(&self, share: f64, lands: f64, on: &str) -> Jump {
        let ((before, kelvin), (after, _)) = (at(self.size, share), at(self.size, lands));
        Jump {
            temperature_K: kelvin,
            on: on.to_owned(),
            route: "axisymmetric".to_owned(),
            n: 0,
            travel_before_m: before,
            travel_after_m: self.lands.then_some(after),
            movement_m: self.lands.then_some(after - before),
            lands_round: self.lands.then_some(true),
            round_limit_K: Some(kelvin),
            released_J: self.lands.then_some(1e-3),
            pin_force_before_N: 0.0,
            pin_force_after_N: self.lands.then_some(0.0),
            mesh_difference_K: Some(1e-9),
            last_step: Some(1e-12),
        }
    }

    fn report(&self) -> HeatReport {
        let verdict =
            Invented { title: "Invented disc", half_angle_deg: 6.0, ..Invented::default() }.report();
        let shape = |name: &str, factor: f64, share: f64| {
            let mut meridian = verdict.part.meridian.clone();
            meridian.z_m.iter_mut().for_each(|z| *z *= factor);
            Shape { name: name.to_owned(), temperature_K: at(self.size, share).1, meridian }
        };
        let near = (0..=14).map(|i| self.row(0.02 * f64::from(i))).chain([self.row(0.35), self.row(0.45)]);
        let far = (0..=14).rev().map(|i| self.row(0.72 + 0.02 * f64::from(i)));
        let far: Vec<HeatRow> = far.chain([self.row(0.65), self.row(0.4)]).collect();
        let shapes = vec![
            shape("as given", 1.0, 0.0),
            shape("before the trip", 0.4, 0.3),
            shape("after the trip", -0.9, 0.3),
            shape("before the reset", -0.4, 0.7),
            shape("after the reset", 0.9, 0.7),
        ];
        let outcome = if self.trips { HeatOutcome::Trips } else { HeatOutcome::Buckles };
        HeatReport {
            schema_version: SCHEMA_VERSION,
            title: "Invented disc".to_owned(),
            outcome,
            explanation: Vec::new(),
            doubts: Vec::new(),
            warnings: Vec::new(),
            beyond: Vec::new(),
            part: verdict.part.clone(),
            wall: WallSummary {
                layers: 2,
                formed_at_K: 293.15,
                temperature_K: 293.15,
                face_difference_K: 0.0,
                bending_per_K: -2e-5,
                expansion_per_K: 1e-5,
                flat_at_K: Some(350.0),
            },
            device: DeviceSummary {
                preload_N: 0.0,
                pin_gap_m: self.pin,
                pin_stiffness_N_per_m: None,
                from_K: None,
                to_K: None,
            },
            trip: self.trips.then(|| self.jump(0.3, 0.9, "heating")),
            reset: self.trips.then(|| self.jump(0.7, 0.1, "cooling")),
            buckling: if self.trips {
                Vec::new()
            } else {
                vec![Buckling {
                    temperature_K: at(self.size, 0.2).1,
                    on: "heating".to_owned(),
                    n: 2,
                    mesh_difference_K: None,
                }]
            },
            delta_K: self.trips.then(|| at(self.size, 0.3).1 - at(self.size, 0.7).1),
            stays_tripped: None,
            creep: self.trips.then(|| Creep {
                from_K: at(self.size, 0.06).1,
                travel_m: self.size * 0.24,
                at_first_m_per_K: 1e-6,
            }),
            moves: Vec::new(),
            depth_rule: String::new(),
            tolerance: None,
            cycle: None,
            shapes,
            near: near.collect(),
            far: if self.trips { far } else { Vec::new() },
            evidence: HeatEvidence {
                elements: 3,
                elements_fine: 6,
                largest_n: 9,
                uncounted: 0,
                limits: Vec::new(),
                work: verdict.evidence.work,
                refinement: None,
            },
        }
    }
}

fn cases() -> Vec<Disc> {
    let d = Disc::default();
    vec![
        d.clone(),
        Disc { pin: Some(0.8e-3), ..d.clone() },
        Disc { waves: vec![3], ..d.clone() },
        Disc { lands: false, ..d.clone() },
        Disc { size: 5e-6, ..d.clone() },
        Disc { size: 20e-3, pin: Some(25e-3), ..d.clone() },
        Disc { trips: false, ..d },
    ]
}

fn figure(report: &HeatReport, name: &str) -> Figure {
    heat_figures(report).into_iter().find(|f| f.name == name).expect("the figure is drawn")
}

/// Page position of a temperature in °C, from the numbered ticks.
fn across(svg: &str, celsius: f64) -> f64 {
    let ticks: Vec<(f64, f64)> = elements(svg, "number")
        .into_iter()
        .filter(|l| l.contains("\"middle\""))
        .map(|l| (words(l, "number")[0].replace('−', "-").parse().unwrap(), number(l, "x").unwrap()))
        .collect();
    let (a, b) = (ticks[0], ticks[ticks.len() - 1]);
    a.1 + (celsius - a.0) * (b.1 - a.1) / (b.0 - a.0)
}

#[test]
fn every_figure_is_sound() {
    for case in cases() {
        let report = case.report();
        for f in heat_figures(&report) {
            assert_sound(&f, &format!("{case:?}"));
            assert!(f.caption.starts_with("Invented disc"));
        }
        let names: Vec<&str> = heat_figures(&report).iter().map(|f| f.name).collect();
        let all = ["heat", "heat-shapes"];
        assert_eq!(names, if case.trips { &all[..] } else { &all[..1] });
        assert_eq!(heat_figures(&report), heat_figures(&report));
    }
}

#[test]
fn jumps_stand_at_their_temperatures() {
    let report = Disc::default().report();
    let f = figure(&report, "heat");
    for (start, j) in elements(&f.svg, "jump-start").iter().zip([&report.trip, &report.reset]) {
        let x = across(&f.svg, j.as_ref().unwrap().temperature_K - 273.15);
        assert!((number(start, "cx").unwrap() - x).abs() < 0.05, "{start} {x}");
    }
    let arrows = elements(&f.svg, "jump");
    assert_eq!(arrows.len(), 2);
    for a in arrows {
        assert_eq!(attribute(a, "x1"), attribute(a, "x2"), "a jump goes straight up or down");
    }
    // The trip goes up the page, the reset down.
    let rise = |i: usize| {
        number(elements(&f.svg, "jump")[i], "y2").unwrap()
            < number(elements(&f.svg, "jump")[i], "y1").unwrap()
    };
    assert!(rise(0) && !rise(1));
    let told = words(&f.svg, "label");
    assert!(
        told.iter().any(|w| w.starts_with("trips at ")) && told.iter().any(|w| w.starts_with("resets at ")),
        "{told:?}"
    );
    assert!(told.iter().any(|w| w.starts_with("creep 0.240 mm")), "{told:?}");
    assert_eq!(count(&figure(&Disc { lands: false, ..Disc::default() }.report(), "heat").svg, "jump"), 0);
}

/// The branches are cut at the limits, and what both show of the unstable stretch is drawn once.
#[test]
fn stretches_end_at_the_limits() {
    let report = Disc::default().report();
    let svg = figure(&report, "heat").svg;
    assert_eq!((count(&svg, "stable"), count(&svg, "unstable")), (2, 2));
    let trip = across(&svg, report.trip.as_ref().unwrap().temperature_K - 273.15);
    let ends: Vec<f64> = points(elements(&svg, "stable")[0]).iter().map(|p| p.0).collect();
    assert!((ends[ends.len() - 1] - trip).abs() < 0.05);
    let shared = points(elements(&svg, "unstable")[1]);
    let lowest = points(elements(&svg, "unstable")[0]).last().unwrap().1;
    assert!(shared.iter().filter(|p| p.1 > lowest + 0.1).count() <= 1, "{shared:?} {lowest}");
    let waves = figure(&Disc { waves: vec![3], ..Disc::default() }.report(), "heat").svg;
    assert_eq!(count(&waves, "sideways"), 1);
    let pinned = figure(&Disc { pin: Some(0.8e-3), ..Disc::default() }.report(), "heat").svg;
    assert_eq!((count(&pinned, "pin-line"), count(&svg, "pin-line")), (1, 0));
}

/// Heights are exaggerated by the factor that the figure tells.
#[test]
fn shapes_tell_their_exaggeration() {
    let report = Disc::default().report();
    let svg = figure(&report, "heat-shapes").svg;
    let told = words(&svg, "scale");
    let factor: f64 = told[0].strip_prefix("heights × ").unwrap().parse().unwrap();
    let given = points(elements(&svg, "given")[0]);
    let size = |pick: fn(&(f64, f64)) -> f64| {
        let all = || given.iter().map(pick);
        all().fold(f64::NEG_INFINITY, f64::max) - all().fold(f64::INFINITY, f64::min)
    };
    let m = &report.part.meridian;
    let (wide, high) = (2.0 * m.r_m[m.r_m.len() - 1], m.z_m[m.z_m.len() - 1] - m.z_m[0]);
    let drawn = size(|p| p.1) / size(|p| p.0);
    assert!((drawn / (high / wide) / factor - 1.0).abs() < 1e-2, "{drawn} {factor}");
    assert_eq!((count(&svg, "before"), count(&svg, "after")), (2, 2));
}

#[test]
fn spoiled_rows_are_passed_over() {
    let mut report = Disc::default().report();
    report.near[3].temperature_K = f64::NAN;
    report.far[2].travel_m = f64::INFINITY;
    report.shapes[1].meridian.z_m[5] = f64::NAN;
    report.reset.as_mut().unwrap().temperature_K = f64::NAN;
    for f in heat_figures(&report) {
        assert_sound(&f, "spoiled");
    }
    report.near.clear();
    report.far.clear();
    report.shapes.clear();
    assert!(heat_figures(&report).is_empty());
}

fn spread(count: usize, unknown: usize) -> HeatSpread {
    let draws = |centre: f64, width: f64| -> Vec<Option<f64>> {
        let one = |i: usize| centre + width * libm::sin(12.9898 * i as f64) * libm::sin(7.7 * i as f64 + 1.0);
        (0..count).map(|i| (i >= unknown).then(|| one(i))).collect()
    };
    let told = |centre: f64, width: f64| Spread {
        known: (count - unknown) as f64 / count as f64,
        unknown: unknown as f64 / count as f64,
        quantiles: [(0.025, -0.8), (0.5, 0.0), (0.975, 0.8)]
            .map(|(share, at)| HeatQuantile { share, at_K: centre + at * width })
            .to_vec(),
        mean_K: Some(centre),
        two_deviations_K: Some(0.9 * width),
        first_order_half_width_K: Some(width),
        ..Spread::default()
    };
    HeatSpread {
        drawn: count,
        varied: vec!["shape.rise".to_owned()],
        trip: told(383.0, 4.0),
        reset: told(355.0, 2.0),
        delta: told(28.0, 3.0),
        sideways_first: 0.0,
        sideways_unknown: 0.0,
        trips_K: draws(383.0, 4.0),
        resets_K: draws(355.0, 2.0),
        words: Vec::new(),
    }
}

/// The bars of each panel hold all known draws.
#[test]
fn bars_of_a_spread_add_up() {
    for (count, unknown) in [(100, 0), (400, 80), (12, 0)] {
        let f = heat_spread_figure(&spread(count, unknown), "Invented disc").unwrap();
        assert_sound(&f, "spread");
        let up: Vec<(f64, f64)> = elements(&f.svg, "number")
            .into_iter()
            .filter(|l| l.contains("\"end\"") && number(l, "x").unwrap() < 200.0)
            .map(|l| (words(l, "number")[0].parse().unwrap(), number(l, "y").unwrap()))
            .collect();
        let per = (up[0].1 - up[up.len() - 1].1) / (up[up.len() - 1].0 - up[0].0);
        let bars = elements(&f.svg, "bar");
        let high = |l: &&&str| {
            let y: Vec<f64> = points(l).iter().map(|p| p.1).collect();
            y.iter().copied().fold(0.0, f64::max) - y.iter().copied().fold(f64::INFINITY, f64::min)
        };
        let left = bars.iter().filter(|l| points(l)[0].0 < 340.0);
        let sum: f64 = left.map(|l| high(&l)).sum::<f64>() / per;
        let want = 100.0 * (count - unknown) as f64 / count as f64;
        assert!((sum - want).abs() < 0.5, "{sum} {want}");
        assert_eq!(f.alt.contains("% have no trip"), unknown > 0, "{}", f.alt);
    }
    assert!(heat_spread_figure(&spread(10, 10), "Invented disc").is_none());
}

/// An invented map of `n` by `n` places: trip 300 K + 1000 depth, delta linear in both, no trip in the upper left corner.
fn map(n: usize, unknown: usize) -> HeatMap {
    let steps =
        |a: f64, b: f64| -> Vec<f64> { (0..n).map(|i| a + (b - a) * i as f64 / (n - 1) as f64).collect() };
    let (depths, thicknesses) = (steps(0.05, 0.15), steps(1e-4, 3e-4));
    let state = |k: usize| match (k % n, k / n) {
        _ if k < unknown => MapState::Unknown,
        (i, j) if j > i + n / 2 => MapState::None,
        _ => MapState::Trips,
    };
    let states: Vec<MapState> = (0..n * n).map(state).collect();
    let trips = |k: usize| (states[k] == MapState::Trips).then(|| 300.0 + 1000.0 * depths[k % n]);
    let resets = |k: usize| trips(k).filter(|_| k + 1 != n).map(|t| t - 20.0);
    let trip_at: Vec<Option<f64>> = (0..n * n).map(trips).collect();
    let reset_at: Vec<Option<f64>> = (0..n * n).map(resets).collect();
    let upright = |level: f64, depth: f64| LevelCurves {
        level_K: level,
        curves: vec![MapCurve { depth_si: vec![depth, depth], thickness_m: vec![1e-4, 2e-4] }],
    };
    let slanted = |level: f64, from: f64| LevelCurves {
        level_K: level,
        curves: vec![MapCurve { depth_si: vec![from, from + 0.03], thickness_m: vec![1e-4, 3e-4] }],
    };
    let number = |s: MapState| states.iter().filter(|x| **x == s).count();
    HeatMap {
        depth_here_si: 0.12,
        thickness_here_m: 2.2e-4,
        depth_is_angle: true,
        depths_si: depths.clone(),
        thicknesses_m: thicknesses,
        tripping: number(MapState::Trips),
        no_reset: 1,
        beyond: 0,
        none: number(MapState::None),
        no_part: 0,
        unknown,
        deltas_K: reset_at.iter().map(|r| r.map(|_| 20.0)).collect(),
        states,
        trips_K: trip_at,
        resets_K: reset_at,
        equal_trip: vec![upright(353.15, 0.08), upright(383.15, 0.11)],
        equal_delta: vec![slanted(12.5, 0.09), slanted(15.0, 0.1)],
        lost_crossings: 0,
        followed_anew: 0,
        waves_first: 0,
        waves_unknown: 0,
        checked: 9,
        contradicted: 0,
        check_difference_K: Some(1e-9),
        doubts: Vec::new(),
        words: Vec::new(),
    }
}

/// Curves stand at their places with their level beside them, and what does not trip is shaded.
#[test]
fn maps_show_levels_and_what_does_not_trip() {
    let f = heat_map_figure(&map(11, 0), "Invented disc").unwrap();
    assert_sound(&f, "map");
    assert_eq!(words(&f.svg, "curve-label"), ["12.5 K", "15 K", "80 °C", "110 °C"]);
    // Each curve is cut where its label stands.
    let curve = points(elements(&f.svg, "equal-trip")[0]);
    let x = across(&f.svg, 0.08f64.to_degrees());
    assert!((curve[0].0 - x).abs() < 0.05, "{curve:?} {x}");
    assert!(count(&f.svg, "cell-none") > 0 && count(&f.svg, "here") == 1);
    assert_eq!((count(&f.svg, "cell-no-reset"), count(&f.svg, "cell-unknown")), (1, 0));
    assert!(f.caption.contains("15 of 121 parts have no trip"), "{}", f.caption);
    let f = heat_map_figure(&map(11, 3), "Invented disc").unwrap();
    assert_sound(&f, "map with unknown places");
    assert_eq!(count(&f.svg, "cell-unknown"), 1);
    let spoiled = HeatMap { depths_si: vec![f64::NAN; 11], ..map(11, 0) };
    assert!(heat_map_figure(&spoiled, "Invented disc").is_none());
    let outside = HeatMap { depth_here_si: 1.0, ..map(11, 0) };
    let f = heat_map_figure(&outside, "Invented disc").unwrap();
    assert_sound(&f, "part outside");
    assert!(f.alt.contains("outside the map"));
}
