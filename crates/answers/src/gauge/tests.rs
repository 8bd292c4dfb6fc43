//! Gauges against answers found another way: followed readings against those found anew, and those against the questions.

use calotte_solve::Work;
use calotte_specimen::{Case, read_case};

use super::{Gauge, Gauges, NoReading, Reading};
use crate::poke::poke;
use crate::verdict::{Detail, verdict};
use crate::waiting::{lagging_threshold, loss, terms};

fn case(text: &str) -> Case {
    let (case, findings) = read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
    case.unwrap_or_else(|| panic!("{findings:?}"))
}

fn index(case: &Case, key: &str) -> usize {
    case.inputs().iter().position(|i| i.key == key).unwrap()
}

const CAP: &str = "[shape]\nkind = \"cap\"\nradius = \"25 mm\"\nhalf_angle = \"60 deg\"\n[wall]\nthickness = \"2.4 mm\"\n\
[material]\nyoungs_modulus = \"1.2 MPa\"\npoisson_ratio = 0.49\ndensity = \"1100 kg/m^3\"\n[rim]\nkind = \"free\"\n";

/// Followed and anew are the same to the accuracy of two meshes; the margin is the verdict's.
#[test]
fn margins_are_those_of_the_verdict() {
    let case = case(CAP);
    let mut work = Work::default();
    let gauges = Gauges::new(&case, &[Gauge::Margin, Gauge::PeakStrain, Gauge::Mass], &mut work).unwrap();
    let told = verdict(&case, Detail { branch: false, depth: false });
    let here = gauges.read(&[], &mut work);
    let ratio = told.margin.unwrap().thickness_ratio;
    assert!((here[0].as_ref().unwrap() + libm::log(ratio)).abs() < 1e-9, "{here:?} {ratio}");
    let strain = told.inverted.unwrap().strains.largest_surface;
    assert!((here[1].as_ref().unwrap() / strain - 1.0).abs() < 1e-9, "{here:?} {strain}");
    // Closed form: ρ h 2πR² (1 − cos α).
    let mass = 1100.0 * 2.4e-3 * std::f64::consts::PI * 2.0 * 0.025 * 0.025 * 0.5;
    assert!((here[2].as_ref().unwrap() / mass - 1.0).abs() < 1e-12);
    for (thickness, radius, angle) in
        [(2.4e-3, 0.025, 60.5f64), (2.3e-3, 0.0246, 59.0), (2.2e-3, 0.0255, 63.0)]
    {
        let changes = [
            (index(&case, "wall.thickness"), thickness),
            (index(&case, "shape.radius"), radius),
            (index(&case, "shape.half_angle"), angle.to_radians()),
        ];
        let mut near = Work::default();
        let followed = gauges.read(&changes, &mut near);
        let anew = gauges.read_anew(&changes, &mut Work::default());
        let apart = |i: usize| followed[i].as_ref().unwrap() - anew[i].as_ref().unwrap();
        assert!(apart(0).abs() < 2e-6, "{}", apart(0));
        assert!(apart(1).abs() < 1e-4 * anew[1].as_ref().unwrap(), "{}", apart(1));
        // Pinned: what a part a few per cent off costs.
        assert!(near.assemblies <= 40, "{near:?}");
    }
}

fn near(a: &Reading, b: &Reading, within: f64) {
    let (x, y) = (a.as_ref().unwrap(), b.as_ref().unwrap());
    assert!((x - y).abs() <= within * y.abs(), "{x} {y}");
}

/// Every kind of limit: followed from the part as described and anew, and against the poke's own answer.
#[test]
fn trip_loads_are_those_of_the_poke() {
    let loads = [
        ("kind = \"pole\"\nfrom = \"inverted\"", "table"),
        ("kind = \"pressure\"", "ring"),
        ("kind = \"pusher\"\nradius = \"5 mm\"\nbonded = true", "ring"),
        ("kind = \"ring\"\narc = \"8 mm\"\n[surroundings]\ngravity = \"9.81 m/s^2\"", "table"),
    ];
    for (load, rim) in loads {
        let text = CAP.replace("\"free\"", &format!("\"{rim}\""));
        let case = case(&format!("{text}[load]\n{load}\n"));
        let mut work = Work::default();
        let gauges = Gauges::new(&case, &[Gauge::TripLoad], &mut work).unwrap();
        let here = gauges.read(&[], &mut Work::default());
        let told = poke(&case, case.load().unwrap()).by_load.unwrap();
        near(&here[0], &Ok(told.load_SI), 1e-6);
        for (thickness, radius) in [(2.45e-3, 0.025), (2.2e-3, 0.0255), (2.3e-3, 0.0246)] {
            let changes = [
                (index(&case, "wall.thickness"), thickness),
                (index(&case, "shape.radius"), radius),
                (index(&case, "material.youngs_modulus"), 1.3e6),
            ];
            let mut cost = Work::default();
            let (followed, anew) =
                (gauges.read(&changes, &mut cost), gauges.read_anew(&changes, &mut Work::default()));
            near(&followed[0], &anew[0], 1e-5);
            // Pinned: what a limit followed costs.
            assert!(cost.assemblies <= 25, "{cost:?}");
        }
    }
}

/// A lid that gives way in waves: the place where they are lost is followed too, to whatever number of waves comes first, and costs a
/// tenth of a path.
#[test]
fn trips_in_waves_are_followed() {
    let text = "[shape]\nkind = \"cap\"\nradius = \"120 mm\"\nrim_diameter = \"60 mm\"\n[wall]\nthickness = \"0.40 mm\"\n\
[material]\nyoungs_modulus = \"70 GPa\"\npoisson_ratio = 0.33\n[rim]\nkind = \"hinged\"\n[load]\nkind = \"pressure\"\n";
    let case = case(text);
    let mut work = Work::default();
    let gauges = Gauges::new(&case, &[Gauge::TripLoad], &mut work).unwrap();
    assert!(gauges.follows(Gauge::TripLoad));
    let mut waves = Vec::new();
    for (thickness, rim) in [(0.4e-3, 0.06), (0.38e-3, 0.0602), (0.42e-3, 0.061), (0.33e-3, 0.062)] {
        let changes =
            [(index(&case, "wall.thickness"), thickness), (index(&case, "shape.rim_diameter"), rim)];
        let mut cost = Work::default();
        let followed = gauges.read_in_waves(&changes, &mut cost);
        let anew = gauges.readings(&changes, true, &mut Work::default());
        let ((f, n), (a, m)) = (followed[0].clone().unwrap(), anew[0].clone().unwrap());
        assert!((f / a - 1.0).abs() < 1e-8 && n == m && n > 1, "{f} {n} {a} {m}");
        waves.push(n);
        // Pinned: what a place where waves are lost costs.
        assert!(cost.assemblies <= 30, "{cost:?}");
    }
    // Not the same number of waves in all of them.
    waves.dedup();
    assert!(waves.len() > 1, "{waves:?}");
}

/// The guard of a followed limit: a part whose load lies beyond the range of one step is read as it is read anew.
#[test]
fn a_limit_far_off_is_not_taken_for_another() {
    let text = CAP.replace("\"free\"", "\"table\"");
    let case = case(&format!("{text}[load]\nkind = \"pole\"\nfrom = \"inverted\"\n"));
    let gauges = Gauges::new(&case, &[Gauge::TripLoad], &mut Work::default()).unwrap();
    let here = gauges.read(&[], &mut Work::default())[0].clone().unwrap();
    // Just before the threshold, where the load vanishes.
    let changes = [(index(&case, "wall.thickness"), 2.55e-3)];
    let (mut cost, mut cold) = (Work::default(), Work::default());
    let followed = gauges.read(&changes, &mut cost);
    let anew = gauges.read_anew(&changes, &mut cold);
    near(&followed[0], &anew[0], 1e-5);
    // It was read anew, after the steps that the guard refused: one that was followed would cost less.
    assert!(cost.assemblies >= cold.assemblies, "{cost:?} {cold:?}");
    let ratio = followed[0].clone().unwrap() / here;
    assert!(!(0.4..2.5).contains(&ratio), "{ratio}");
}

/// Closed form: all forces go with the modulus and all masses with the density.
#[test]
fn what_scales_scales() {
    let text = CAP.replace("\"free\"", "\"ring\"");
    let case = case(&format!("{text}[load]\nkind = \"pole\"\nfrom = \"inverted\"\n"));
    let mut work = Work::default();
    let kinds = [Gauge::TripLoad, Gauge::Mass, Gauge::Margin];
    let gauges = Gauges::new(&case, &kinds, &mut work).unwrap();
    let changes =
        [(index(&case, "material.youngs_modulus"), 2.4e6), (index(&case, "material.density"), 2200.0)];
    let (one, two) = (gauges.read(&[], &mut work), gauges.read(&changes, &mut work));
    near(&two[0], &one[0].clone().map(|v| 2.0 * v), 1e-9);
    near(&two[1], &one[1].clone().map(|v| 2.0 * v), 1e-15);
    near(&two[2], &one[2], 1e-12);
}

#[test]
fn waiting_margins_are_the_band_of_the_verdict() {
    let memory = "[memory]\nshares = [0.1, 0.1]\ntimes = [\"0.1 s\", \"3 s\"]\n[hold]\nshape = \"mirror\"\ntime = \"5 s\"\n";
    let case = case(&format!("{CAP}{memory}"));
    let mut work = Work::default();
    let gauges = Gauges::new(&case, &[Gauge::WaitingMargin, Gauge::Margin], &mut work).unwrap();
    let lag = loss(&terms(case.motion()).unwrap(), 5.0);
    let band = lagging_threshold(case.part(), lag, &mut work).unwrap();
    let here = gauges.read(&[], &mut work);
    near(&here[0], &Ok(libm::log(band / 2.4e-3)), 1e-9);
    assert!(here[0].as_ref().unwrap() > here[1].as_ref().unwrap());
    let changes = [(index(&case, "hold.time"), 2.0), (index(&case, "wall.thickness"), 2.5e-3)];
    let (followed, anew) = (gauges.read(&changes, &mut work), gauges.read_anew(&changes, &mut work));
    near(&followed[0], &anew[0], 1e-5);
}

#[test]
fn what_makes_no_sense_is_refused_in_words() {
    let bare = case(CAP);
    for (kind, says) in [
        (Gauge::TripTemperature, "[layers]"),
        (Gauge::WaitingMargin, "[memory]"),
        (Gauge::SnapRatio, "[load]"),
    ] {
        let no = Gauges::new(&bare, &[kind], &mut Work::default()).err().unwrap();
        assert!(no.contains(says) && no.starts_with(kind.name()), "{no}");
    }
    let gauges = Gauges::new(&bare, &[Gauge::Margin], &mut Work::default()).unwrap();
    // Nothing stays so thick: there is no inverted state to strain or to poke.
    let thick = case(&CAP.replace("2.4 mm", "3.2 mm"));
    let gauges_thick = Gauges::new(&thick, &[Gauge::PeakStrain], &mut Work::default()).unwrap();
    assert!(matches!(gauges_thick.read(&[], &mut Work::default())[0], Err(NoReading::Nowhere(_))));
    let none = gauges.read(&[(index(&bare, "wall.thickness"), -1.0)], &mut Work::default());
    assert_eq!(none, [Err(NoReading::NoSuchPart)]);
    for kind in Gauge::ALL {
        assert_eq!(Gauge::named(&kind.name().replace(' ', "-")), Some(kind));
    }
}
