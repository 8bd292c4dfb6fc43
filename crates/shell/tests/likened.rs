//! States carried over to other parts, and descents given up on the way.

use calotte_shell::{Grading, Mesh, Model, mirror};
use calotte_solve::minimise::{Failure, Settings, minimise, minimise_while};
use calotte_solve::{Potential, Work};
use calotte_specimen::{Material, Meridian, Part, Rim, SphereCap, Wall};

fn cap(half_angle: f64, thickness: f64) -> Model {
    let part = Part {
        meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle, hole_angle: 0.0 }),
        wall: Wall::uniform(thickness),
        material: Material { youngs: 1.0, poisson: 0.4, density: None },
        rim: Rim::Free,
    };
    Model::new(&part, 1.0, &Mesh::graded(&part, 1.0, &Grading::default()))
}

/// On its own part a state stays as it is; on a shallow cap half as deep again, with the wall in proportion to the rise, the guess
/// lies far closer to the equilibrium than the mirror image does.
#[test]
fn a_state_is_likened_to_that_of_another_part() {
    let (a, b) = (cap(0.2, 1e-3), cap(0.3, 2.25e-3));
    let found =
        |m: &Model| minimise(m, mirror(m), 1.0, &Settings::default(), &mut Work::default()).unwrap().x;
    let (x, y) = (found(&a), found(&b));
    let same = a.likened(&x, &a, [1.0, 1.0]);
    assert!(x.iter().zip(&same).all(|(p, q)| (p - q).abs() < 1e-13));
    let rises = (1.0 - libm::cos(0.3)) / (1.0 - libm::cos(0.2));
    let guess = a.likened(&x, &b, [rises * rises / 1.5, rises]);
    let apart = |z: &[f64]| -> f64 {
        z.iter().zip(&y).zip(b.metric()).map(|((p, q), m)| m * (p - q) * (p - q)).sum::<f64>().sqrt()
    };
    assert!(apart(&guess) < 0.03 * apart(&mirror(&b)), "{:e} {:e}", apart(&guess), apart(&mirror(&b)));
}

/// A descent ends as soon as it is told to.
#[test]
fn a_descent_can_be_given_up() {
    let m = cap(0.5, 1e-3);
    let mut seen = 0;
    let mut work = Work::default();
    let end = minimise_while(&m, mirror(&m), 1.0, &Settings::default(), &mut work, |_, energy| {
        seen += 1;
        energy > 0.0 && seen < 2
    });
    assert!(matches!(end, Err(Failure::GivenUp)), "{end:?}");
    assert_eq!((seen, work.assemblies), (2, 2));
}
