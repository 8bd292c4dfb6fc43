//! How far the inner loop is from the floating-point limit of the core.

use calotte_shell::{Grading, Mesh, Model, mirror};
use calotte_solve::{Band, Potential};
use calotte_specimen::{Material, Meridian, Part, Rim, SphereCap, Wall};

use crate::time;

/// Floating-point operations of one integration point of `Model::assemble`, counted in the source:
/// interpolation 5 sums of 6 products; density with first and second derivatives about 175; gradient
/// 6 × (3 + 2) products; second derivative times shape functions 6 × (12 + 4) products and 6 × 9 sums;
/// three 6 × 6 blocks of 3, 2 and 2 products.
const PER_POINT: f64 = 5.0 * 11.0 + 175.0 + 6.0 * 10.0 + 6.0 * 25.0 + 36.0 * 14.0;

/// Operations per second of multiply-then-add on registers, compiled like everything else here (no fused
/// operations, no wider vectors than the target's baseline).
fn peak() -> f64 {
    const LANES: usize = 16;
    const TURNS: usize = 4000;
    let (a, b) = (std::hint::black_box(0.999_999), std::hint::black_box(1e-9));
    let seconds = time(20, 20, || {
        let mut acc = [1.0_f64; LANES];
        for _ in 0..TURNS {
            for x in &mut acc {
                *x = *x * a + b;
            }
        }
        acc
    });
    (2 * LANES * TURNS) as f64 / seconds
}

/// Prints the assembly's rate against the peak.
pub(crate) fn report() {
    let part = Part {
        meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: 1.0, hole_angle: 0.0 }),
        wall: Wall::uniform(0.02),
        material: Material { youngs: 1.0, poisson: 0.3, density: None },
        rim: Rim::Free,
    };
    let mesh = Mesh::graded(&part, 1.0, &Grading::default()).bisected();
    let model = Model::new(&part, 1.0, &mesh);
    let x = mirror(&model);
    let n = model.unknowns();
    let (mut g, mut h) = (vec![0.0; n], Band::new(n, model.half_bandwidth()));
    let assembly = time(15, 200, || model.assemble(&x, 1.0, &mut g, &mut h));
    let points = (6 * model.elements()) as f64;
    let rate = points * PER_POINT / assembly;
    let limit = peak();
    println!(
        "inner loop (energy, gradient, tangent of {} elements): {:.1} µs, {:.0} operations a point, {:.2} Gop/s; \
         peak of multiply-add as compiled {:.2} Gop/s: {:.0} %",
        model.elements(),
        assembly * 1e6,
        PER_POINT,
        rate / 1e9,
        limit / 1e9,
        100.0 * rate / limit
    );
    let factor = time(15, 200, || h.clone().factor().map(|f| f.negative));
    let half = model.half_bandwidth() as f64;
    let operations = n as f64 * (half * (half + 1.0) + half);
    println!(
        "band factorisation ({n} unknowns, {half} sub-diagonals): {:.1} µs, {:.2} Gop/s: {:.0} %",
        factor * 1e6,
        operations / factor / 1e9,
        100.0 * operations / factor / limit
    );
}
