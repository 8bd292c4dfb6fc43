//! Batches against brute force and closed forms.

use std::sync::atomic::AtomicBool;

use calotte_chance::normal;
use calotte_specimen::{Case, read_case};

use super::*;

fn case(text: &str) -> Case {
    let (case, findings) = read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
    case.unwrap_or_else(|| panic!("{findings:?}"))
}

fn ask(case: &Case, request: &Request, threads: usize) -> (BatchReport, Draws) {
    let stop = AtomicBool::new(false);
    spread(case, request, &Watch { threads, stop: &stop, progress: &|_| {} }).unwrap().unwrap()
}

fn usual(count: usize) -> Request {
    Request { count, seed: 1, laws: Vec::new(), together: Vec::new(), windows: Vec::new(), want: None }
}

/// A cap near its threshold: about half of the batch stays.
const CAP: &str = "[shape]\nkind = \"cap\"\nradius = \"25 ± 0.2 mm\"\nhalf_angle = \"60 ± 1 deg\"\n[wall]\nthickness = \"2.58 ± 0.05 mm\"\n\
[material]\nyoungs_modulus = \"1.2 ± 0.1 MPa\"\npoisson_ratio = 0.49\ndensity = \"1100 kg/m^3\"\n[rim]\nkind = \"free\"\n";

/// The share is that of the same parts computed one by one, within the error that is stated; no part is judged wrongly.
#[test]
fn shares_are_those_of_brute_force() {
    let case = case(CAP);
    let (report, draws) = ask(&case, &usual(2000), 2);
    assert!(report.method.surface, "{}", report.method.why_not);
    let mut work = Work::default();
    let gauges = Gauges::new(&case, &[Gauge::Margin], &mut work).unwrap();
    let places: Vec<usize> =
        draws.inputs.iter().map(|k| case.inputs().iter().position(|i| i.key == *k).unwrap()).collect();
    let mut stays = 0;
    let mut worst = 0.0_f64;
    for d in &draws.rows {
        let changes: Vec<(usize, f64)> = places.iter().copied().zip(d.numbers.iter().copied()).collect();
        let margin = gauges.read(&changes, &mut work)[0].clone().unwrap();
        stays += usize::from(margin > 0.0);
        worst = worst.max((margin - d.readings[0].unwrap()).abs());
        assert_eq!(margin > 0.0, d.kind == "stays");
    }
    let v = report.verdicts.unwrap();
    let share = stays as f64 / 2000.0;
    assert!((v.stays.share - share).abs() <= v.stays.surface_error + 1e-12);
    assert!(v.stays.low < share && share < v.stays.high && (0.2..0.8).contains(&share), "{share}");
    let g = &report.gauges[0];
    assert!(worst <= g.surface_error_SI.unwrap(), "{worst} {g:?}");
    // The modulus does nothing to whether an elastic part stays.
    assert!(!report.inputs.iter().find(|i| i.input == "material.youngs_modulus").unwrap().matters);
    // Independent numbers of a nearly linear margin: first order and total agree and add up to one.
    let sum: f64 = g.indices.iter().map(|i| i.first).sum();
    assert!((sum - 1.0).abs() < 0.02, "{:?}", g.indices);
    // Pinned: exact readings behind a batch of any size.
    assert!(report.method.fitted + report.method.held_out + report.method.near < 200, "{:?}", report.method);
}

/// The same bits whatever the threads, other parts for another seed.
#[test]
fn a_seed_is_a_batch() {
    let case = case(CAP);
    let (one, draws) = ask(&case, &usual(3000), 1);
    let (two, same) = ask(&case, &usual(3000), 3);
    assert_eq!(serde_json::to_string(&one).unwrap(), serde_json::to_string(&two).unwrap());
    assert_eq!(draws, same);
    let (_, other) = ask(&case, &Request { seed: 2, ..usual(3000) }, 2);
    assert!(draws.rows[0].numbers != other.rows[0].numbers);
}

/// Closed form: the mass is linear in the thickness, so the share below an edge is the normal distribution's, and all variance is the
/// thickness'; half its tolerance saves what the distribution says.
#[test]
fn one_linear_number_gives_the_normal_distribution() {
    let text = CAP.replace("25 ± 0.2", "25").replace("60 ± 1", "60").replace("1.2 ± 0.1", "1.2");
    let case = case(&text.replace("2.58 ± 0.05", "2.00 ± 0.05"));
    let place = case.inputs().iter().position(|i| i.key == "wall.thickness").unwrap();
    let mut work = Work::default();
    let gauges = Gauges::new(&case, &[Gauge::Mass], &mut work).unwrap();
    let mass = gauges.read(&[], &mut work)[0].clone().unwrap();
    // One standard deviation of the thickness above the middle.
    let edge = mass * (1.0 + 0.025 / 2.0);
    let window = Window { gauge: Gauge::Mass, ends: [f64::NEG_INFINITY, edge] };
    let request = Request {
        laws: vec![(place, Law::Normal)],
        windows: vec![window],
        want: Some(0.99),
        ..usual(100_000)
    };
    let (report, _) = ask(&case, &request, 2);
    let known = normal::below(1.0);
    let inside = report.windows[0].inside;
    assert!(inside.low < known && known < inside.high, "{inside:?} {known}");
    assert!((inside.high - inside.low) < 0.006 && inside.surface_error == 0.0);
    let saved = normal::below(2.0) - known;
    let t = &report.tightening[0];
    assert!((t.saved - saved).abs() < 4.0 * t.saved_error + 1e-9, "{t:?} {saved}");
    let g = report.gauges.iter().find(|g| g.gauge == "mass").unwrap();
    assert!((g.indices[0].total - 1.0).abs() < 0.01 && (g.indices[0].first - 1.0).abs() < 0.01);
    // Closed form: Φ(1/f) = 0.99.
    let want = report.want.unwrap();
    let factor = 1.0 / normal::quantile(0.99);
    assert!((want.all.unwrap() / factor - 1.0).abs() < 0.03, "{want:?} {factor}");
    assert_eq!(want.alone[0].factor, want.all);
}

/// Closed form: of two numbers that vary together fully against one another, the ratio spreads more than of independent ones.
#[test]
fn numbers_may_vary_together() {
    let case = case(CAP);
    let place = |key: &str| case.inputs().iter().position(|i| i.key == key).unwrap();
    let pair = [place("shape.radius"), place("wall.thickness")];
    let deviation = |r: &BatchReport| r.gauges[0].deviation_SI.unwrap();
    let alone = deviation(&ask(&case, &usual(2000), 2).0);
    let together = Request { together: vec![(pair, 0.9)], ..usual(2000) };
    let (report, _) = ask(&case, &together, 2);
    // A larger radius and a thinner wall both help to stay: alike they cancel.
    assert!(deviation(&report) < alone, "{} {alone}", deviation(&report));
    assert!(report.gauges[0].indices.iter().any(|i| i.inputs.len() == 2));
}

#[test]
fn what_makes_no_sense_is_refused_in_words() {
    let stop = AtomicBool::new(false);
    let watch = Watch { threads: 1, stop: &stop, progress: &|_| {} };
    let case = case(CAP);
    let bare = super::tests::case(
        &CAP.replace("25 ± 0.2", "25")
            .replace("60 ± 1", "60")
            .replace("1.2 ± 0.1", "1.2")
            .replace("2.58 ± 0.05", "2.58"),
    );
    let no = spread(&bare, &usual(10), &watch).unwrap_err();
    assert!(no.contains("tolerance"), "{no}");
    let nu = case.inputs().iter().position(|i| i.key == "material.poisson_ratio").unwrap();
    let no = spread(&case, &Request { laws: vec![(nu, Law::Uniform)], ..usual(10) }, &watch).unwrap_err();
    assert!(no.contains("material.poisson_ratio") && no.contains("tolerance"), "{no}");
    let window = Window { gauge: Gauge::Delta, ends: [0.0, 1.0] };
    let no = spread(&case, &Request { windows: vec![window], ..usual(10) }, &watch).unwrap_err();
    assert!(no.contains("[layers]"), "{no}");
}
