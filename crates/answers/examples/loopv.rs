#![allow(missing_docs, clippy::all)]
use calotte_answers::*;
use calotte_specimen::*;
fn main() {
    let p = Part { meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: 60f64.to_radians(), hole_angle: 0.0 }), wall: Wall::uniform(0.05), material: Material { youngs: 1.0, poisson: 0.3, density: None }, rim: Rim::Free };
    let t0 = std::time::Instant::now();
    for _ in 0..400 { std::hint::black_box(verdict(&p, Detail { branch: false, depth: true })); }
    println!("{:.2} ms", t0.elapsed().as_secs_f64() * 1e3 / 400.0);
}
