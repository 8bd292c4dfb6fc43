//! Stable states of parts of several pieces.

use calotte_answers::states::report::StatesReport;
use calotte_answers::states::states;
use calotte_specimen::{Corner, Corners, Material, Meridian, Part, Rim, Stiffened, Wall};

/// A bowl of a flat rigid base, thin frusta and thick rings between them (invented sizes, m).
#[allow(clippy::unwrap_used, reason = "a helper of tests: sizes that make no bowl fail the test")]
fn bowl(frusta: usize, thin: f64) -> Part {
    let corner = |r: f64, z: f64| Corner { r, z, fillet: 0.0, arc: 0.0 };
    let mut corners = vec![corner(0.0, 0.0), corner(0.030, 0.0)];
    let mut thick = vec![2.5e-3];
    let (mut r, mut z) = (0.030, 0.0);
    for _ in 0..frusta {
        (r, z) = (r + 0.008, z + 0.010);
        corners.push(corner(r, z));
        thick.push(thin);
        (r, z) = (r + 0.003, z + 0.0005);
        corners.push(corner(r, z));
        thick.push(2.5e-3);
    }
    let c = Corners::new(&corners).unwrap();
    let knots = (0..c.pieces()).flat_map(|i| c.span_of(i).map(|s| (s, thick[i]))).collect();
    let rigid = Stiffened { span: c.span_of(0), factor: 1e4 };
    Part {
        meridian: Meridian::Corners(Box::new(c)),
        wall: Wall::stepped(knots).unwrap().with_stiffened(vec![rigid]),
        material: Material { youngs: 3e6, poisson: 0.49, density: None },
        rim: Rim::Free,
    }
}

fn turned(r: &StatesReport) -> Vec<Vec<usize>> {
    r.states.iter().filter(|s| s.stable).map(|s| s.turned.clone()).collect()
}

/// A thin-walled bowl of three frusta rests with any of them turned over; a thicker one in five shapes only. Every pass is one
/// place, whichever side it is reached from: the energies of the way there and back agree.
#[test]
fn three_frusta_rest_in_every_combination_when_thin() {
    let thin = states(&bowl(3, 0.5e-3), None);
    assert_eq!(thin.stable, Some(8), "{:?}", thin.doubts);
    let mut found = turned(&thin);
    found.sort();
    let all: [&[usize]; 8] = [&[], &[2], &[2, 4], &[2, 4, 6], &[2, 6], &[4], &[4, 6], &[6]];
    assert_eq!(found, all);
    let thick = states(&bowl(3, 0.8e-3), None);
    assert_eq!(thick.stable, Some(5), "{:?}", thick.doubts);
    for r in [&thin, &thick] {
        assert_eq!(r.states[0].name, "as made");
        assert!(r.states[0].energy_J == 0.0 && r.states[1..].iter().all(|s| s.energy_J > 0.0));
        let mut both = 0;
        for w in &r.ways {
            assert!(w.barrier_J > 0.0 && w.unstable >= 1 && w.trip_force_N != 0.0);
            let way_back = |b: &&calotte_answers::states::report::Way| {
                b.from == w.to && b.to == w.from && b.unstable == 1 && w.unstable == 1
            };
            for b in r.ways.iter().filter(way_back) {
                let (there, back) =
                    (r.states[w.from].energy_J + w.barrier_J, r.states[b.from].energy_J + b.barrier_J);
                // State energies are those of the finer mesh, passes those of the search's.
                assert!((there / back - 1.0).abs() < 1e-3, "{} {} {there:e} {back:e}", w.from, w.to);
                both += 1;
            }
        }
        assert!(both >= 4, "{both}");
        // What is stored in the states is the wall's: it grows with the thickness less than its cube, more than itself.
        assert!(r.evidence.failed == 0 && r.evidence.starts == 8);
    }
    let share = thick.states.iter().find(|s| s.turned == [6]).unwrap().energy_J
        / thin.states.iter().find(|s| s.turned == [6]).unwrap().energy_J;
    assert!(share > 1.6 && share < 1.6f64.powi(3), "{share}");
}

/// Two meshes agree on the energies.
#[test]
fn states_agree_on_two_meshes() {
    let r = states(&bowl(2, 0.6e-3), Some(0.2));
    assert!(r.stable.unwrap() >= 3, "{:?}", r.states.iter().map(|s| &s.name).collect::<Vec<_>>());
    for s in &r.states[1..] {
        assert!(s.mesh_difference.unwrap() < 5e-4, "{} {:?}", s.name, s.mesh_difference);
        assert!((s.strain_share.unwrap() - s.largest_strain / 0.2).abs() < 1e-12 && s.largest_strain > 0.0);
    }
}

/// A flat plate and a part that is rigid all over have one state.
#[test]
fn what_cannot_turn_rests_as_made() {
    let corner = |r: f64, z: f64| Corner { r, z, fillet: 0.0, arc: 0.0 };
    let plate = Corners::new(&[corner(0.0, 0.0), corner(0.05, 0.0)]).unwrap();
    let part = |c: Corners, wall: Wall| Part {
        meridian: Meridian::Corners(Box::new(c)),
        wall,
        material: Material { youngs: 3e6, poisson: 0.49, density: None },
        rim: Rim::Free,
    };
    let flat = states(&part(plate, Wall::uniform(1e-3)), None);
    assert_eq!((flat.stable, flat.states.len()), (Some(1), 1), "{:?} {:?}", flat.doubts, flat.states);
    let cone = Corners::new(&[corner(0.01, 0.0), corner(0.02, 0.01)]).unwrap();
    let thick = states(&part(cone.clone(), Wall::uniform(6e-3)), None);
    assert_eq!(thick.stable, Some(1), "{:?}", thick.doubts);
    let thin = states(&part(cone, Wall::uniform(0.5e-3)), None);
    assert_eq!(thin.stable, Some(2), "{:?}", thin.doubts);
    assert_eq!(thin.states[1].turned, [1]);
}

/// The work of a whole search, pinned within a third: what decides how long a bowl takes.
#[test]
fn the_search_costs_what_it_costs() {
    let r = states(&bowl(3, 0.8e-3), None);
    assert!(r.evidence.points < 7000 && r.evidence.work.factorisations < 70_000);
}

/// Bellows of thin walls (invented sizes) whose flat cones lean beyond the upright: each can be turned over alone, and turning one
/// costs the same wherever it sits.
#[test]
fn bellows_rest_with_any_flat_cone_turned_over() {
    let corner = |r: f64, z: f64| Corner { r: r * 1e-3, z: z * 1e-3, fillet: 0.0, arc: 0.0 };
    let c = [
        corner(12.0, 0.0),
        corner(20.0, 6.0),
        corner(13.0, 9.0),
        corner(20.0, 15.0),
        corner(13.0, 18.0),
        corner(20.0, 24.0),
    ];
    let part = Part {
        meridian: Meridian::Corners(Box::new(Corners::new(&c).unwrap())),
        wall: Wall::uniform(0.15e-3),
        material: Material { youngs: 1.5e9, poisson: 0.42, density: None },
        rim: Rim::Free,
    };
    let r = states(&part, None);
    let find = |turned: &[usize]| r.states.iter().find(|s| s.turned == turned).unwrap();
    let (two, four, both) = (find(&[2]), find(&[4]), find(&[2, 4]));
    assert!((two.energy_J / four.energy_J - 1.0).abs() < 0.02, "{} {}", two.energy_J, four.energy_J);
    assert!((both.energy_J / (two.energy_J + four.energy_J) - 1.0).abs() < 0.02);
    assert!((two.barrier_J.unwrap() / four.barrier_J.unwrap() - 1.0).abs() < 0.05);
    // Turned over, a cone 3 mm high shortens the bellows by nearly twice that.
    assert!((two.height_m - r.states[0].height_m) > 4e-3 && (two.height_m - r.states[0].height_m) < 6e-3);
    // What gives way sideways is no stable state, and is said.
    assert!(r.states.iter().all(|s| s.stable == s.unstable_n.is_empty()));
}

/// A part that rests as made alone is pushed all the same, and its folded starts slide home.
#[test]
fn a_single_state_is_pushed_too() {
    let corner = |r: f64, z: f64| Corner { r: r * 1e-3, z: z * 1e-3, fillet: 0.0, arc: 0.0 };
    let cone = Corners::new(&[corner(12.7, 0.0), corner(25.0, 1.6)]).unwrap();
    let part = Part {
        meridian: Meridian::Corners(Box::new(cone)),
        wall: Wall::uniform(0.8e-3),
        material: Material { youngs: 206e9, poisson: 0.29, density: None },
        rim: Rim::Free,
    };
    let r = states(&part, None);
    assert_eq!((r.stable, r.states.len(), r.evidence.failed), (Some(1), 1, 0));
    assert!(r.evidence.points > 8 * r.evidence.paths, "{:?}", r.evidence);
}
