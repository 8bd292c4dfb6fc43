//! Figures of invented pokes: what is drawn, and where. See `invented_poke` for what is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests fail by panicking")]

mod common;
mod invented_poke;
mod reading;

use calotte_answers::poke::report::{EventKind, PokeReport};
use calotte_answers::report::SampledMeridian;
use calotte_figures::{Figure, poke_figures};
use invented_poke::{Poke, loops, over, pulled, rises, springs_back, stiffens};
use reading::{assert_sound, count, elements, number, points, words};

fn cases() -> Vec<Poke> {
    let d = Poke::default();
    let sideways = Some((3, 0.15, 0.55));
    vec![
        d.clone(),
        Poke { sideways, barriers: true, ..d.clone() },
        Poke { sideways, control: "displacement", ..d.clone() },
        Poke { made: loops, sideways: Some((5, 0.03, 0.2)), ..d.clone() },
        Poke { made: loops, control: "displacement", ..d.clone() },
        Poke { made: rises, ..d.clone() },
        Poke { made: pulled, ..d.clone() },
        Poke { made: springs_back, ..d.clone() },
        Poke { made: stiffens, barriers: true, ..d.clone() },
        Poke { stop_m: Some(6.5e-3), ..d.clone() },
        Poke { load_factor: 1e-7, displacement_factor: 1e-3, ..d.clone() },
        Poke {
            load_factor: 2e3,
            displacement_factor: 1e-3,
            load: ("pressure", "Pa"),
            displacement: ("volume swept", "m³"),
            ..d
        },
    ]
}

fn figure(report: &PokeReport, name: &str) -> Figure {
    poke_figures(report).into_iter().find(|f| f.name == name).expect("the figure is drawn")
}

fn names(report: &PokeReport) -> Vec<&'static str> {
    poke_figures(report).iter().map(|f| f.name).collect()
}

/// Page position against value along one axis, from the numbered ticks: where zero is, and units per value.
fn axis(svg: &str, across: bool) -> (f64, f64) {
    let (anchor, name, drop) = if across { ("\"middle\"", "x", 0.0) } else { ("\"end\"", "y", 3.6) };
    let pairs: Vec<(f64, f64)> = elements(svg, "number")
        .into_iter()
        .filter(|l| l.contains(anchor))
        .map(|l| (words(l, "number")[0].replace('−', "-").parse().unwrap(), number(l, name).unwrap()))
        .collect();
    let (a, b) = (pairs[0], pairs[pairs.len() - 1]);
    let slope = (b.1 - a.1) / (b.0 - a.0);
    (a.1 - drop - slope * a.0, slope)
}

#[test]
fn every_figure_is_sound() {
    for case in cases() {
        for f in poke_figures(&case.report()) {
            assert_sound(&f, &format!("{case:?}"));
            assert!(f.caption.starts_with("Invented cap"));
            assert!(f.svg.len() < 60_000, "{} {}", f.name, f.svg.len());
        }
    }
}

#[test]
fn figures_follow_what_the_report_holds() {
    let d = Poke::default();
    assert_eq!(names(&d.report()), ["path"]);
    let all = Poke { sideways: Some((3, 0.15, 0.55)), barriers: true, ..d };
    assert_eq!(names(&all.report()), ["path", "mode", "barrier"]);
    assert_eq!(poke_figures(&all.report()), poke_figures(&all.report()));
}

#[test]
fn stretches_meet_at_the_events_that_divide_them() {
    let report = Poke::default().report();
    let svg = figure(&report, "path").svg;
    let (stable, unstable) = (elements(&svg, "stable"), elements(&svg, "unstable"));
    assert_eq!((stable.len(), unstable.len()), (2, 1));
    let (first, second, middle) = (points(stable[0]), points(stable[1]), points(unstable[0]));
    assert_eq!(first.last(), middle.first());
    assert_eq!(middle.last(), second.first());
    let (x0, dx) = axis(&svg, true);
    let (y0, dy) = axis(&svg, false);
    let peak = report.events.iter().find(|e| e.kind == EventKind::LoadPeak).unwrap();
    let at = *middle.first().unwrap();
    assert!((at.0 - (x0 + dx * peak.displacement_SI * 1e3)).abs() < 0.05);
    assert!((at.1 - (y0 + dy * peak.load_SI)).abs() < 0.05);
}

#[test]
fn the_driving_asked_for_decides_what_is_stable() {
    let by = |control| figure(&Poke { control, ..Poke::default() }.report(), "path").svg;
    assert_eq!(count(&by("load"), "unstable"), 1);
    let set = by("displacement");
    assert_eq!((count(&set, "stable"), count(&set, "unstable")), (1, 0));
    assert!(set.contains(">stable, displacement set<"));
    let sideways = Poke { control: "displacement", sideways: Some((3, 0.15, 0.55)), ..Poke::default() };
    let svg = figure(&sideways.report(), "path").svg;
    assert_eq!((count(&svg, "stable"), count(&svg, "sideways"), count(&svg, "unstable")), (2, 1, 0));
}

#[test]
fn every_event_has_its_mark_and_labels_stay_few() {
    for case in cases() {
        let report = case.report();
        let svg = figure(&report, "path").svg;
        for (kind, class) in [
            (EventKind::LoadPeak, "load-peak"),
            (EventKind::LoadValley, "load-valley"),
            (EventKind::DisplacementLimit, "displacement-limit"),
            (EventKind::DisplacementReturn, "displacement-return"),
            (EventKind::Sideways, "sideways-event"),
            (EventKind::SidewaysRegained, "sideways-regained"),
            (EventKind::NoLoad, "no-load"),
            (EventKind::Stop, "stop"),
        ] {
            let want = report.events.iter().filter(|e| e.kind == kind).count();
            assert_eq!(count(&svg, class), want, "{case:?} {class}");
        }
        assert!(count(&svg, "label") <= 10, "{case:?}");
        assert!(report.by_load.is_none() || words(&svg, "label").iter().any(|w| w.contains("trips: ")));
    }
}

/// The trade's names stand at the events they belong to; a coned disc has the standard's curve beside the path.
#[test]
fn trade_figures_are_marked() {
    use calotte_answers::poke::trade::{DiscAnswer, KeyAnswer};
    use calotte_answers::trade::{ConedDisc, KeyEvents, Place, key};
    let mut report = Poke { stop_m: Some(6.5e-3), ..Poke::default() }.report();
    let at = |kind: EventKind| report.events.iter().position(|e| e.kind == kind).unwrap();
    let (peak, stop) = (at(EventKind::LoadPeak), at(EventKind::Stop));
    let place =
        |i: usize| Place { travel: report.events[i].displacement_SI, force: report.events[i].load_SI };
    let events = KeyEvents { peak: Some(place(peak)), contact: Some(place(stop)), ..KeyEvents::default() };
    let plain = figure(&report, "path");
    assert!(words(&plain.svg, "label").iter().all(|w| !w.contains("F1")));
    report.trade.key = Some(KeyAnswer {
        forces: key::read(&[], &events).unwrap(),
        actuation_event: peak,
        contact_event: Some(stop),
        return_event: Some(stop),
        peak_strain: 0.1,
        peak_strain_travel_m: 1e-3,
        peak_strain_at_m: 1e-3,
        contact_strain: None,
        strain_limit: None,
        peak_share: None,
    });
    let marked = figure(&report, "path");
    let labels = words(&marked.svg, "label");
    assert!(labels.iter().any(|w| w.contains("F1, ") && w.contains("peak")), "{labels:?}");
    assert!(labels.iter().any(|w| w.contains("F2 = F3, ") && w.contains("stop")), "{labels:?}");
    assert_sound(&marked, "key");

    report.trade.key = None;
    let curve: Vec<f64> = report.path.iter().map(|r| r.displacement_SI).collect();
    let disc = ConedDisc::new(0.05, 0.0254, 0.002, 0.0014, 206e9, 0.3).unwrap();
    report.trade.coned_disc = Some(DiscAnswer {
        formula: disc.report(),
        shell: Vec::new(),
        shell_peak: None,
        shell_valley: None,
        shell_stays: None,
        curve_load_N: report.path.iter().map(|r| 1.1 * r.load_SI).collect(),
        curve_deflection_m: curve,
    });
    let both = figure(&report, "path");
    assert!(count(&both.svg, "formula") > 0 && count(&plain.svg, "formula") == 0);
    assert!(both.svg.contains("formula of the standard") && both.caption.contains("spring formula"));
    assert_sound(&both, "coned disc");
}

#[test]
fn jumps_are_level_with_the_load_set_and_upright_with_the_displacement_set() {
    let svg = figure(&Poke { made: springs_back, ..Poke::default() }.report(), "path").svg;
    let jumps = elements(&svg, "jump");
    assert_eq!(jumps.len(), 2);
    for j in &jumps {
        assert!((number(j, "y1").unwrap() - number(j, "y2").unwrap()).abs() < 0.05);
    }
    assert!(
        number(jumps[0], "x2") > number(jumps[0], "x1") && number(jumps[1], "x2") < number(jumps[1], "x1")
    );
    let set = Poke { made: loops, control: "displacement", ..Poke::default() };
    let svg = figure(&set.report(), "path").svg;
    let jumps = elements(&svg, "jump");
    assert_eq!(jumps.len(), 1);
    assert!((number(jumps[0], "x1").unwrap() - number(jumps[0], "x2").unwrap()).abs() < 0.05);
}

#[test]
fn a_stop_stands_where_it_is_met_and_catches_the_jump() {
    let f = figure(&Poke { stop_m: Some(6.5e-3), ..Poke::default() }.report(), "path");
    let (x0, dx) = axis(&f.svg, true);
    let line = elements(&f.svg, "stop-line")[0];
    assert!((number(line, "x1").unwrap() - (x0 + dx * 6.5)).abs() < 0.05);
    assert!(f.caption.contains("is caught by the stop"));
}

#[test]
fn shapes_are_lettered_in_the_order_of_the_path_and_lie_below_it() {
    let f = figure(&Poke { made: loops, ..Poke::default() }.report(), "path");
    let labels = words(&f.svg, "shape-label");
    assert_eq!(labels.len(), 4);
    for (label, letter) in labels.iter().zip(["a", "b", "c", "d"]) {
        assert!(label.starts_with(letter));
        let keys = words(&f.svg, "label");
        assert!(keys.iter().any(|k| k == letter || k.starts_with(&format!("{letter}: "))), "{keys:?}");
    }
    let bottom = elements(&f.svg, "frame").iter().filter_map(|l| number(l, "y2")).fold(0.0, f64::max);
    for shape in elements(&f.svg, "shape") {
        assert!(points(shape).iter().all(|p| p.1 > bottom + 30.0));
    }
}

#[test]
fn domes_stand_on_their_rims() {
    let svg = figure(&Poke::default().report(), "path").svg;
    let natural = points(elements(&svg, "natural")[0]);
    let top = natural.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    assert!(top < natural[0].1 - 10.0 && (natural[0].1 - natural[natural.len() - 1].1).abs() < 0.02);
}

#[test]
fn a_sideways_branch_sets_off_with_its_slope_and_is_called_an_estimate() {
    let report = Poke { sideways: Some((3, 0.15, 0.55)), ..Poke::default() }.report();
    let svg = figure(&report, "path").svg;
    let stub = points(elements(&svg, "branch-off")[0]);
    let ((_, dx), (_, dy)) = (axis(&svg, true), axis(&svg, false));
    let slope = (stub[1].1 - stub[0].1) / dy / ((stub[1].0 - stub[0].0) / (dx * 1e3));
    assert!((slope + 900.0).abs() < 10.0, "{slope}");
    assert!(svg.contains("sideways branch (estimate)"));
}

#[test]
fn a_path_that_stiffens_beyond_its_events_is_cut_and_it_is_said() {
    let f = figure(&Poke { made: stiffens, ..Poke::default() }.report(), "path");
    assert!(f.caption.contains("goes on beyond the frame"));
    let (y0, dy) = axis(&f.svg, false);
    let top = elements(&f.svg, "stable").iter().flat_map(|l| points(l)).map(|p| p.1).fold(900.0, f64::min);
    assert!((top - y0) / dy < 5.0);
    assert!(!figure(&Poke::default().report(), "path").caption.contains("beyond the frame"));
}

#[test]
fn units_suit_the_range() {
    let tiny = Poke { load_factor: 1e-7, displacement_factor: 1e-3, ..Poke::default() };
    let svg = figure(&tiny.report(), "path").svg;
    assert!(svg.contains(">force (nN)<") && svg.contains(">travel of the pole (µm)<"));
    let pressure = cases().pop().unwrap();
    let svg = figure(&pressure.report(), "path").svg;
    assert!(svg.contains(">pressure (kPa)<") && svg.contains(">volume swept (cm³)<"));
}

#[test]
fn a_mode_has_its_waves_around_and_turns_over_across_the_axis() {
    for n in [2, 3, 7] {
        let report = Poke { sideways: Some((n, 0.15, 0.55)), ..Poke::default() }.report();
        let f = figure(&report, "mode");
        assert!(f.svg.contains(">amplitude arbitrary<") && f.caption.contains("exaggerated"));
        let wave = points(elements(&f.svg, "peak-circle")[0]);
        let size =
            |f: fn(f64, f64) -> f64, k: fn(&(f64, f64)) -> f64, start: f64| wave.iter().map(k).fold(start, f);
        let centre = (545.0, {
            let plain = points(elements(&f.svg, "plain")[1]);
            let ys = plain.iter().map(|p| p.1);
            (ys.clone().fold(f64::INFINITY, f64::min) + ys.fold(f64::NEG_INFINITY, f64::max)) / 2.0
        });
        assert!(size(f64::max, |p| p.0, 0.0) > centre.0 && size(f64::min, |p| p.0, 900.0) < centre.0);
        let r: Vec<f64> = wave.iter().map(|p| libm::hypot(p.0 - centre.0, p.1 - centre.1)).collect();
        let mean = r.iter().sum::<f64>() / r.len() as f64;
        let turns = r.windows(2).filter(|w| (w[0] > mean) != (w[1] > mean)).count();
        assert_eq!(turns, 2 * n as usize, "n = {n}");
        let peaks: Vec<f64> = elements(&f.svg, "peak").iter().filter_map(|l| number(l, "cy")).collect();
        assert_eq!((peaks[0] - peaks[1]).abs() < 0.05, n.is_multiple_of(2), "n = {n}: {peaks:?}");
    }
}

#[test]
fn barriers_lie_where_the_axes_say() {
    let report = Poke { barriers: true, ..Poke::default() }.report();
    let svg = figure(&report, "barrier").svg;
    assert_eq!((count(&svg, "barrier"), count(&svg, "barrier-point")), (2, 24));
    let ((x0, dx), (y0, dy)) = (axis(&svg, true), axis(&svg, false));
    let first = report.barriers.iter().find(|b| b.from == "start").unwrap();
    let at = points(elements(&svg, "barrier")[0])[0];
    assert!((at.0 - (x0 + dx * first.load_SI)).abs() < 0.05);
    assert!((at.1 - (y0 + dy * first.barrier_J * 1e3)).abs() < 0.05);
}

#[test]
fn absent_or_broken_data_leave_a_figure_out_without_panic() {
    let full = Poke { sideways: Some((3, 0.15, 0.55)), barriers: true, ..Poke::default() };
    let mut empty = full.report();
    empty.path.clear();
    empty.events.clear();
    empty.barriers.clear();
    assert!(names(&empty).is_empty());

    let mut broken = full.report();
    broken.path.iter_mut().for_each(|r| r.load_SI = f64::NAN);
    broken.events.iter_mut().for_each(|e| e.load_SI = f64::INFINITY);
    broken.barriers.iter_mut().for_each(|b| b.barrier_J = f64::NAN);
    assert!(names(&broken).is_empty());

    let mut spoiled = full.report();
    spoiled.path[7].load_SI = f64::NAN;
    spoiled.path[40].load_SI = 1e300;
    spoiled.path[41].load_SI = 1e30;
    spoiled.events[0].load_SI = f64::NAN;
    spoiled.events[1].meridian = SampledMeridian::default();
    spoiled.events[2].meridian.z_m.fill(f64::NAN);
    spoiled.events[2].after_row = 999_999;
    spoiled.part.meridian = SampledMeridian::default();
    spoiled.load.stop_m = Some(f64::NAN);
    spoiled.barriers[3].barrier_J = f64::INFINITY;
    if let Some(t) = &mut spoiled.by_load {
        t.event = 77;
        t.lands.as_mut().unwrap().displacement_SI = f64::NAN;
    }
    for f in poke_figures(&spoiled) {
        assert_sound(&f, "spoiled");
    }
    assert!(names(&spoiled).contains(&"path"));

    // A path of nothing but zeros, a flat mode, a barrier alone.
    let mut flat = full.report();
    for r in &mut flat.path {
        (r.load_SI, r.displacement_SI) = (0.0, 0.0);
    }
    flat.events.retain(|e| e.mode.is_some());
    flat.events.iter_mut().filter_map(|e| e.mode.as_mut()).for_each(|m| {
        m.u.fill(0.0);
        m.w.fill(0.0);
    });
    flat.barriers.truncate(1);
    assert_eq!(names(&flat), ["path", "barrier"]);
    for f in poke_figures(&flat) {
        assert_sound(&f, "flat");
    }
}

#[test]
fn titles_and_names_are_escaped() {
    let mut report = Poke { made: over, ..Poke::default() }.report();
    report.title = "Cap <\"A&B\">".to_owned();
    report.load.load_name = "force <F>".to_owned();
    let f = figure(&report, "path");
    assert!(f.svg.contains("force &lt;F&gt; (N)") && f.caption.starts_with("Cap <\"A&B\">"));
    assert_sound(&f, "escaped");
}
