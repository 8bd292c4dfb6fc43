//! Moulds of invented parts.

use super::*;
use calotte_specimen::{Corner, Corners, Material, Meridian, Part, Rim, SphereCap, Wall};

fn cap(half_angle: f64, hole: f64, wall: f64) -> Part {
    let (half_angle, hole_angle) = (half_angle.to_radians(), hole.to_radians());
    let shape = SphereCap { radius: 25e-3, half_angle, hole_angle };
    let material = Material { youngs: 1e6, poisson: 0.49, density: Some(1100.0) };
    Part { meridian: Meridian::Sphere(shape), wall: Wall::uniform(wall), material, rim: Rim::Free }
}

fn corners(places: &[[f64; 2]], wall: f64) -> Part {
    let all: Vec<Corner> =
        places.iter().map(|c| Corner { r: 1e-3 * c[0], z: 1e-3 * c[1], fillet: 0.0, arc: 0.0 }).collect();
    Part {
        meridian: Meridian::Corners(Box::new(Corners::new(&all).unwrap())),
        wall: Wall::uniform(wall),
        ..cap(60.0, 0.0, wall)
    }
}

/// Names, pieces that hang together, Euler numbers: 2 for a ball, 2 less for each hole right through.
#[track_caller]
fn sound(m: &Mould, expected: &[(&str, i64)]) {
    let found: Vec<(&str, i64)> = m.pieces.iter().map(|p| (p.name, p.sound.euler)).collect();
    assert_eq!(found, expected);
    for p in &m.pieces {
        assert_eq!(p.sound.pieces, 1, "{}", p.name);
        assert!((p.sound.volume / p.exact - 1.0).abs() < 1e-3, "{}: {} {}", p.name, p.sound.volume, p.exact);
    }
}

/// Exact volume of a cap of even wall cut along its normal: 2π(1 − cos α)(R₂³ − R₁³)/3. Closed form.
#[test]
fn a_cap_has_its_mould() {
    for (angle, wall) in [(30.0, 1e-3), (60.0, 2.4e-3), (85.0, 3e-3)] {
        let m = mould(&cap(angle, 0.0, wall), &Settings::default()).unwrap();
        let (r1, r2) = (25e-3 - 0.5 * wall, 25e-3 + 0.5 * wall);
        let share = 1.0 - libm::cos(f64::to_radians(angle));
        let exact = 2.0 * std::f64::consts::PI / 3.0 * share * (r2 * r2 * r2 - r1 * r1 * r1);
        assert!((m.cavity / exact - 1.0).abs() < 1e-3, "{angle}: {} {exact}", m.cavity);
        // Six vents and the channel go right through the core.
        sound(&m, &[("bowl", 2), ("core", 2 - 2 * 7), ("cast", 2)]);
        assert!(m.poured > m.cavity && m.notes.is_empty() && m.stretch == 0.0, "{:?}", m.notes);
    }
}

/// Bowl, core, cavity, channel, flash, groove, vents and the play of the pins fill the block between them: volumes add up.
#[test]
fn the_pieces_fill_their_block() {
    for part in [cap(60.0, 0.0, 2.4e-3), cap(60.0, 20.0, 2.4e-3), cap(115.0, 0.0, 2e-3)] {
        let s = Settings::default();
        let m = mould(&part, &s).unwrap();
        let pi = std::f64::consts::PI;
        let block = pi * m.size[0] * m.size[0] * m.size[1];
        let solid: f64 = m.pieces.iter().filter(|p| p.name != "cast").map(|p| p.exact).sum();
        let core = m.pieces.iter().find(|p| p.name == "core").unwrap();
        let tall = core.outline.iter().map(|p| p[1]).fold(f64::MIN, f64::max)
            - core.outline[core.outline.len() - 2][1];
        assert!(tall.abs() < 1e-12, "the mouth is level with the top");
        let flange = {
            let low =
                core.outline.iter().filter(|p| p[0] == m.size[0]).map(|p| p[1]).fold(f64::MAX, f64::min);
            core.outline.iter().map(|p| p[1]).fold(f64::MIN, f64::max) - low
        };
        let vents = f64::from(s.vents) * pi * s.vent * s.vent * flange;
        // Sockets are larger than pegs: three pairs at every joint.
        let joints = m.parting.len() as f64;
        let height =
            if joints > 1.0 { (2.0 * s.pin).min(0.5 * (m.parting[1] - m.parting[0])) } else { 2.0 * s.pin };
        let narrow = (s.pin - height * libm::tan(0.05)).max(0.4 * s.pin);
        let cone = |a: f64, b: f64, h: f64| pi / 3.0 * h * (a * a + a * b + b * b);
        let play = 3.0
            * joints
            * (cone(s.pin + s.play, narrow + s.play, height + s.play) - cone(s.pin, narrow, height));
        let sum = solid + m.poured + vents + play;
        assert!((sum / block - 1.0).abs() < 1e-12, "{:e}", sum / block - 1.0);
    }
}

#[test]
fn beyond_the_equator_three_pieces_part() {
    let m = mould(&cap(110.0, 0.0, 2e-3), &Settings::default()).unwrap();
    sound(&m, &[("bowl", 2), ("ring", 0), ("core", 2 - 2 * 7), ("cast", 2)]);
    assert_eq!(m.parting.len(), 2);
    // The core's widest place over the rim: 1/sin 110° − 1. Closed form.
    let exact = 1.0 / libm::sin(110.0_f64.to_radians()) - 1.0;
    assert!((m.stretch / exact - 1.0).abs() < 1e-3, "{} {exact}", m.stretch);
    assert!(m.notes.iter().any(|n| n.contains("stretched by 6.4 %")), "{:?}", m.notes);
    // Hardly beyond it, a ring would be too low.
    let m = mould(&cap(93.0, 0.0, 2e-3), &Settings::default()).unwrap();
    sound(&m, &[("bowl", 2), ("core", 2 - 2 * 7), ("cast", 2)]);
    assert!(m.notes.iter().any(|n| n.contains("squeezed")), "{:?}", m.notes);
    let fault = mould(&cap(150.0, 0.0, 2e-3), &Settings::default()).unwrap_err();
    assert!(matches!(fault, MouldFault::Undercut { face: "upper", .. }), "{fault}");
}

#[test]
fn a_hole_is_kept_open_by_a_boss() {
    let m = mould(&cap(60.0, 20.0, 2.4e-3), &Settings::default()).unwrap();
    sound(&m, &[("bowl", 2), ("core", 2 - 2 * 7), ("cast", 0)]);
    assert!(m.notes.iter().any(|n| n.contains("boss")));
    let fault = mould(&cap(60.0, 3.0, 2.4e-3), &Settings::default()).unwrap_err();
    assert!(fault.to_string().contains("channel") && fault.help().contains("--channel"), "{fault}");
}

#[test]
fn parts_of_lines_are_moulded() {
    let m =
        mould(&corners(&[[0.0, 0.0], [10.0, 0.0], [20.0, 10.0], [26.0, 10.0]], 1e-3), &Settings::default())
            .unwrap();
    sound(&m, &[("bowl", 2), ("core", 2 - 2 * 7), ("cast", 2)]);
    // A key with its button on top is turned over.
    let m = mould(&corners(&[[0.0, 5.0], [4.0, 5.0], [8.0, 0.0], [11.0, 0.0]], 1e-3), &Settings::default())
        .unwrap();
    assert!(m.turned);
    // A ridge holds air; a part that goes out, in and out again is held.
    let m = mould(
        &corners(&[[0.0, 0.0], [6.0, 0.0], [9.0, 4.0], [12.0, 0.0], [20.0, 8.0]], 1e-3),
        &Settings::default(),
    )
    .unwrap();
    assert!(m.notes.iter().any(|n| n.contains("Air stays at radius 9")), "{:?}", m.notes);
    let fault = mould(
        &corners(&[[0.0, 0.0], [10.0, 0.0], [14.0, 6.0], [8.0, 9.0], [16.0, 14.0]], 1e-3),
        &Settings::default(),
    );
    assert!(matches!(fault.unwrap_err(), MouldFault::Undercut { face: "lower", .. }));
}

#[test]
fn what_cannot_be_chosen_is_said() {
    let with = |s: Settings| mould(&cap(60.0, 0.0, 2e-3), &s).unwrap_err();
    let thin = with(Settings { wall: 0.5e-3, ..Settings::default() });
    assert!(
        thin.to_string().contains("thinner than") && thin.help().contains("--mould-wall 0.80mm"),
        "{thin}"
    );
    assert!(with(Settings { shrinkage: 0.6, ..Settings::default() }).to_string().contains("shrinkage"));
    assert!(with(Settings { flash: 0.0, ..Settings::default() }).to_string().contains("flash"));
    assert!(with(Settings { channel: 30e-3, ..Settings::default() }).to_string().contains("channel"));
    assert!(with(Settings { draft: f64::NAN, ..Settings::default() }).to_string().contains("draft"));
    assert!(with(Settings { offset: -1.1e-3, ..Settings::default() }).to_string().contains("leaves nothing"));
}

/// Shrinkage: the cavity is larger by 1/(1 − s) in every length. Offset: a cap's wall is thicker by twice the offset.
#[test]
fn the_cavity_allows_for_shrinkage_and_coats() {
    let volume = |s: Settings| mould(&cap(60.0, 0.0, 2e-3), &s).unwrap().cavity;
    let plain = volume(Settings::default());
    let shrunk = volume(Settings { shrinkage: 0.02, ..Settings::default() });
    assert!((shrunk / plain * 0.98_f64.powi(3) - 1.0).abs() < 1e-9);
    let thick = mould(&cap(60.0, 0.0, 2.2e-3), &Settings::default()).unwrap().cavity;
    let coated = volume(Settings { offset: 0.1e-3, ..Settings::default() });
    assert!((coated / thick - 1.0).abs() < 1e-9, "{coated} {thick}");
}
