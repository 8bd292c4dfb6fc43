//! Frequencies and buckling pressures against closed forms, and what the answer says about itself.

use std::f64::consts::{FRAC_PI_2, PI};

use calotte_answers::modes::report::{Kind, ModesReport, Outcome};
use calotte_answers::modes::{Face, Settings, State, modes};
use calotte_oracle::plate::{self, Edge};
use calotte_oracle::sphere::{Branch, frequency_squared};
use calotte_specimen::{Material, Meridian, Part, Rim, SphereCap, Straight, Wall};

const NU: f64 = 0.3;

fn part(meridian: Meridian, h: f64, rim: Rim) -> Part {
    let material = Material { youngs: 1.0, poisson: NU, density: None };
    Part { meridian, wall: Wall::uniform(h), material, rim }
}

fn cap(half_angle: f64, h: f64, rim: Rim) -> Part {
    part(Meridian::Sphere(SphereCap { radius: 1.0, half_angle, hole_angle: 0.0 }), h, rim)
}

fn disc(h: f64, rim: Rim) -> Part {
    part(Meridian::Straight(Straight { start: 0.0, slope: 0.0, length: 1.0 }), h, rim)
}

fn ask(part: &Part) -> ModesReport {
    modes(part, &Settings::default())
}

/// The ten lowest frequencies of a plate with their nodal diameters, from the characteristic equations of
/// Leissa 1969, NASA SP-160, ch. 2 (solved, not quoted). Nothing may be missing, nothing too many.
#[test]
fn the_ten_lowest_of_plates_are_complete() {
    for (edge, rim) in [(Edge::Free, Rim::Free), (Edge::Hinged, Rim::Hinged), (Edge::Clamped, Rim::Clamped)] {
        let mut known: Vec<(f64, u32, usize)> = Vec::new();
        for n in 0..12 {
            for index in 0..6 {
                known.push((plate::frequency(edge, n, NU, index).unwrap(), n, index));
            }
        }
        known.sort_by(|a, b| a.0.total_cmp(&b.0));
        let r = ask(&disc(0.01, rim));
        assert_eq!((r.outcome, r.lowest.len()), (Outcome::Answered, 10), "{:?}", r.doubts);
        for (i, (omega, n, index)) in r.lowest.iter().zip(&known) {
            let m = &r.modes[*i];
            assert_eq!((m.n, m.kind), (*n, Kind::Bending));
            let found = m.plate_parameter.unwrap();
            assert!((found / omega - 1.0).abs() < 2e-8, "{edge:?} n = {n}: {found} {omega}");
            // Circles: one for each frequency below; a free plate has one even at first for n = 0, 1.
            let extra = usize::from(edge == Edge::Free && *n < 2);
            assert_eq!(m.nodal_circles, index + extra, "{edge:?} n = {n}");
        }
        assert!(r.evidence.certified && r.search.complete);
        let rigid: Vec<(u32, usize)> = r.rigid.iter().map(|g| (g.n, g.count)).collect();
        let free = vec![(0, 2), (1, 2)];
        assert_eq!(rigid, if edge == Edge::Free { free } else { Vec::new() });
        assert!(r.rigid.iter().all(|g| g.residual < 1e-12));
    }
}

/// Closed form (see `oracle::sphere`): every degree l comes once for every n ≤ l, torsional ones too.
#[test]
fn complete_sphere_has_every_degree_for_every_n() {
    let h = 0.02;
    let set = Settings { most: Some(3), count: 6, ..Settings::default() };
    let r = modes(&cap(PI, h, Rim::Free), &set);
    for n in 0..=3_u32 {
        let mut known = Vec::new();
        for l in n.max(1)..40 {
            for branch in [Branch::Lower, Branch::Upper, Branch::Torsional] {
                known.extend(frequency_squared(branch, l, NU, h).filter(|x| *x > 1e-9));
            }
        }
        if n == 0 {
            known.extend(frequency_squared(Branch::Upper, 0, NU, h));
        }
        known.sort_by(f64::total_cmp);
        let found: Vec<f64> =
            r.modes.iter().filter(|m| m.n == n).map(|m| m.omega_squared * (1.0 - NU * NU)).collect();
        assert!(found.len() >= 6);
        for (f, k) in found.iter().zip(&known) {
            assert!((f / k - 1.0).abs() < 1e-8, "n = {n}: {f} {k}");
        }
    }
}

/// A cylinder and a ring held inside by a generator that runs inwards: what the parts can be. Values in the oracle; here
/// the pattern and that bending and stretching are told apart.
#[test]
fn cylinders_trade_stretching_for_bending() {
    let barrel =
        part(Meridian::Straight(Straight { start: 1.0, slope: FRAC_PI_2, length: 2.0 }), 0.01, Rim::Clamped);
    let r = ask(&barrel);
    let first = |n: u32| r.modes.iter().find(|m| m.n == n).unwrap();
    // Few waves stretch, many bend; the lowest lies between (Arnold & Warburton 1949, Proc. R. Soc. A 197, 238: from memory).
    assert!(first(2).bending_share < 0.05 && first(7).bending_share > 0.9);
    assert_eq!(r.modes[r.lowest[0]].n, 4);
    let share: Vec<f64> = (2..8).map(|n| first(n).bending_share).collect();
    assert!(share.windows(2).all(|w| w[1] > w[0]), "{share:?}");
    let twist = r.modes.iter().find(|m| m.kind == Kind::Torsion).unwrap();
    // Closed form: a bar in torsion, ω = (π/2L) √(G/ρ), but for terms of the order of h²/R².
    let known = (PI / 4.0).powi(2) / (2.0 * (1.0 + NU));
    assert!((twist.omega_squared / known - 1.0).abs() < 1e-4, "{} {known}", twist.omega_squared);
    assert!(twist.around_share > 1.0 - 1e-12);
}

/// The frequencies of an inverted cap are those of its verdict, and a cap that does not stay has none.
#[test]
fn inverted_state_as_the_verdict_finds_it() {
    let part = cap(1.0, 0.06, Rim::Free);
    let r = modes(&part, &Settings { state: State::Inverted, ..Settings::default() });
    assert_eq!(r.outcome, Outcome::Answered, "{:?}", r.doubts);
    let v = calotte_answers::verdict(&part, calotte_answers::Detail { branch: false, depth: false });
    // The verdict's Ω² is over the arclength.
    let unit = 12.0 * (1.0 - NU * NU) / (0.06 * 0.06);
    for row in v.ripples.iter().filter(|row| row.n < 5) {
        // The verdict leaves twisting out of no n but says the lowest alone; here it may be torsion.
        let m = r.modes.iter().find(|m| m.n == row.n).unwrap();
        let found = m.omega_squared * unit;
        assert!((found / row.smallest_eigenvalue - 1.0).abs() < 1e-4, "n = {}: {found}", row.n);
    }
    let thick =
        modes(&cap(1.0, 0.16, Rim::Free), &Settings { state: State::Inverted, ..Settings::default() });
    assert_eq!(thick.outcome, Outcome::Undecided);
    assert!(thick.modes.is_empty() && thick.doubts[0].contains("inverted state"), "{:?}", thick.doubts);
    let flat = modes(&disc(0.01, Rim::Free), &Settings { state: State::Inverted, ..Settings::default() });
    assert!(flat.doubts[0].contains("no rise"), "{:?}", flat.doubts);
}

/// Huang 1964, J. Appl. Mech. 31, 447 (equations; value recomputed in the oracle): clamped cap at λ = 6, lowest n = 2. Here at a
/// finite depth, so only nearly; the verification page extrapolates to shallow caps.
#[test]
fn clamped_cap_buckles_in_two_waves() {
    let nu: f64 = 1.0 / 3.0;
    let alpha = 2.0_f64.to_radians();
    let h = (12.0 * (1.0 - nu * nu)).sqrt() * (alpha / 6.0).powi(2);
    let mut part = cap(alpha, h, Rim::Clamped);
    part.material.poisson = nu;
    let r = modes(&part, &Settings { pressure: Some(Face::Outside), ..Settings::default() });
    assert_eq!(r.outcome, Outcome::Answered, "{:?}", r.doubts);
    let p = r.pressure.unwrap();
    let first = &p.losses[p.first.unwrap()];
    assert_eq!(first.n, 2);
    assert!((first.ratio / 0.7732535 - 1.0).abs() < 1e-3, "{}", first.ratio);
    let limit = p.axisymmetric_limit_Pa.unwrap() / p.classical_Pa;
    assert!((limit / 0.9922949 - 1.0).abs() < 1e-3, "{limit}");
    assert!(first.bracket < 1e-8 && first.shape.is_some());
    // From the inside a shallow cap only stiffens.
    let r = modes(&part, &Settings { pressure: Some(Face::Inside), ..Settings::default() });
    let p = r.pressure.unwrap();
    assert!(p.losses.is_empty() && p.axisymmetric_limit_Pa.is_none(), "{:?}", p.losses);
}

/// Zoelly 1915: closed form. The complete sphere loses all n up to the critical degree together, and more waves never
/// earlier; at h/R = 0.01 the exact axisymmetric value is 1.00645 q₀ (recomputed, see the oracle).
#[test]
fn complete_sphere_loses_many_n_together() {
    let set =
        Settings { most: Some(0), lowest: 1, count: 1, pressure: Some(Face::Outside), ..Settings::default() };
    let r = modes(&cap(PI, 0.01, Rim::Free), &set);
    let p = r.pressure.unwrap();
    let least = p.losses[0].ratio;
    assert!((least / 1.00645 - 1.0).abs() < 1e-5, "{least}");
    // √(12(1−ν²)) R/h = 330.5 lies between the degrees 17 (306) and 18 (342).
    for l in &p.losses {
        assert_eq!(l.ratio < least * (1.0 + 1e-6), l.n <= 18, "n = {}: {}", l.n, l.ratio);
    }
    assert!(p.losses.windows(2).all(|w| w[1].ratio > w[0].ratio * (1.0 - 1e-8)));
}

/// What cannot be pressed is refused, and says why.
#[test]
fn rims_that_give_way_cannot_be_pressed() {
    let set = Settings { pressure: Some(Face::Outside), ..Settings::default() };
    for (part, why) in [
        (cap(0.8, 0.02, Rim::Free), "keep its height"),
        (
            part(
                Meridian::Sphere(SphereCap { radius: 1.0, half_angle: 0.8, hole_angle: 0.2 }),
                0.02,
                Rim::Clamped,
            ),
            "hole",
        ),
    ] {
        let r = modes(&part, &set);
        assert_eq!(r.outcome, Outcome::Undecided);
        assert!(r.pressure.is_none() && r.doubts.iter().any(|d| d.contains(why)), "{:?}", r.doubts);
        assert_eq!(r.lowest.len(), 10, "frequencies are there all the same");
    }
}

/// A stretch of wall far narrower than √(Rh) loses its digits to rounding, and the answer doubts itself.
#[test]
fn rounding_is_told() {
    let hoop =
        part(Meridian::Straight(Straight { start: 1.0, slope: FRAC_PI_2, length: 0.005 }), 0.005, Rim::Free);
    let r = modes(&hoop, &Settings { most: Some(2), ..Settings::default() });
    assert_eq!(r.outcome, Outcome::Undecided);
    assert!(r.doubts.iter().any(|d| d.contains("meshes differ") || d.contains("rounding")), "{:?}", r.doubts);
}

/// Pinned work: a change that costs more must say so.
#[test]
fn work_is_pinned() {
    let r = ask(&disc(0.01, Rim::Clamped));
    let w = r.evidence.work;
    assert_eq!((w.energies, w.assemblies, w.factorisations, w.solves), (0, 0, 919, 4520));
    let again = ask(&disc(0.01, Rim::Clamped));
    let bits = |r: &ModesReport| r.modes.iter().map(|m| m.omega_squared.to_bits()).collect::<Vec<_>>();
    assert_eq!(bits(&r), bits(&again));
}

/// A corner without a bend is none: a cone in two pieces has the frequencies of the cone. A funnel with a sharp corner is answered.
#[test]
fn parts_through_corners() {
    let case = |r: &str, z: &str| {
        let text = format!(
            "[shape]\nkind = \"corners\"\nr = [{r}]\nz = [{z}]\n[wall]\nthickness = \"10 mm\"\n[material]\n\
             youngs_modulus = \"2 GPa\"\npoisson_ratio = 0.3\ndensity = \"1000 kg/m^3\"\n[rim]\nkind = \"clamped\"\n"
        );
        let (case, found) =
            calotte_specimen::read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
        case.unwrap_or_else(|| panic!("{found:?}"))
    };
    let one = modes(&case("\"300 mm\", \"1200 mm\"", "\"0 mm\", \"600 mm\""), &Settings::default());
    let two = modes(
        &case("\"300 mm\", \"700 mm\", \"1200 mm\"", "\"0 mm\", \"266.666666666667 mm\", \"600 mm\""),
        &Settings::default(),
    );
    let funnel = modes(
        &case("\"300 mm\", \"300 mm\", \"1200 mm\"", "\"0 mm\", \"500 mm\", \"800 mm\""),
        &Settings::default(),
    );
    for r in [&one, &two, &funnel] {
        assert_eq!((r.outcome, r.lowest.len()), (Outcome::Answered, 10), "{:?}", r.doubts);
    }
    for (a, b) in one.lowest.iter().zip(&two.lowest) {
        let (a, b) = (&one.modes[*a], &two.modes[*b]);
        assert_eq!((a.n, a.nodal_circles), (b.n, b.nodal_circles));
        assert!(
            (a.omega_squared / b.omega_squared - 1.0).abs() < 1e-6,
            "{} {}",
            a.omega_squared,
            b.omega_squared
        );
    }
}

/// Two layers of one material are a plain wall; heated between fixed edges they press, and the lowest frequency falls nearly as
/// 1 − N/N_cr in its square, N = EαΔT h/(1−ν), N_cr = 14.682 D/a² (common practice, no source; exact were the shapes of buckling and
/// vibration the same).
#[test]
fn layers_and_heat() {
    let case = |temperature: f64, layers: bool| {
        let wall = if layers {
            format!(
                "[layers]\nshare = [0.5, 0.5]\nyoungs_modulus = [\"200 GPa\", \"200 GPa\"]\npoisson_ratio = [0.3, 0.3]\n\
                 expansion = [\"12 ppm/K\", \"12 ppm/K\"]\n[heat]\nformed_at = \"20 degC\"\ntemperature = \"{temperature} degC\"\n"
            )
        } else {
            String::new()
        };
        let text = format!(
            "[shape]\nkind = \"corners\"\nr = [\"0 mm\", \"50 mm\"]\nz = [\"0 mm\", \"0 mm\"]\n[wall]\nthickness = \"1 mm\"\n\
             [material]\nyoungs_modulus = \"200 GPa\"\npoisson_ratio = 0.3\n{wall}[rim]\nkind = \"clamped\"\n"
        );
        let (case, found) =
            calotte_specimen::read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
        modes(&case.unwrap_or_else(|| panic!("{found:?}")), &Settings::default())
    };
    let (plain, cold) = (case(20.0, false), case(20.0, true));
    for (a, b) in plain.lowest.iter().zip(&cold.lowest) {
        let (a, b) = (&plain.modes[*a], &cold.modes[*b]);
        assert!(a.n == b.n && (a.omega_squared / b.omega_squared - 1.0).abs() < 1e-7);
    }
    let warm = case(30.0, true);
    assert_eq!(warm.outcome, Outcome::Answered, "{:?}", warm.doubts);
    let lowest = |r: &ModesReport| r.modes[r.lowest[0]].omega_squared;
    let share = 12e-6 * 10.0 / 0.7 / (14.682 / (12.0 * 0.91) * (1.0_f64 / 50.0).powi(2));
    let ratio = lowest(&warm) / lowest(&cold);
    assert!((ratio - (1.0 - share)).abs() < 0.02 * share, "{ratio} {share}");
}
