#![allow(missing_docs, clippy::all)]
use calotte_shell::*;
use calotte_solve::*;
use calotte_solve::{fold, follow, minimise};
use calotte_specimen::*;
use std::time::Instant;
fn part(alpha: f64, h: f64, nu: f64) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap {
            radius: 1.0,
            half_angle: alpha.to_radians(),
            hole_angle: 0.0,
        }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: nu, density: None },
        rim: Rim::Free,
    }
}
fn main() {
    for (alpha, h, m0, b0) in
        [(20.0, 0.005, 1.43986675e-9, 1.60431315e-8), (60.0, 0.05, 1.17564396e-5, 1.34751681e-4)]
    {
        let p = part(alpha, h, 0.3);
        let mut mesh = Mesh::graded(&p, 1.0, &Grading::default());
        for _ in 0..3 {
            let model = Model::new(&p, 1.0, &mesh);
            let mut w = Work::default();
            let t0 = Instant::now();
            let x = mirror(&model);
            let m = minimise::minimise(&model, x, 1.0, &Default::default(), &mut w);
            let dt = t0.elapsed();
            match m {
                Ok(m) => {
                    let e = model.energies(&m.x, 1.0);
                    let pr = model.profile(&m.x, 4);
                    let z = model.curvature_zeros(&m.x);
                    println!(
                        "{alpha} {h}: N={} it={} dec={:.1e} Em {:.9e} ({:.1e}) Eb {:.9e} ({:.1e}) slope {:.8} lip {:?} {:?} {dt:?} imb {:.1e}",
                        mesh.elements(),
                        m.iterations,
                        m.decrement,
                        e.stretching,
                        e.stretching / m0 - 1.,
                        e.bending,
                        e.bending / b0 - 1.,
                        pr.rim().slope,
                        z.iter().map(|z| alpha.to_radians() - z).collect::<Vec<_>>(),
                        w,
                        model.imbalance(&m.x, 1.0)
                    );
                    let t0 = Instant::now();
                    let har = Harmonics::new(&model, &m.x, 1.0);
                    println!("assembled {:?}", t0.elapsed());
                    let ell: f64 = alpha.to_radians();
                    let om = ell.powi(4) * 12.0 * 0.91 / (h * h);
                    for n in 0..8 {
                        let t0 = Instant::now();
                        let mut w = Work::default();
                        match har.smallest(n, None, &mut w) {
                            Some((s, r)) => println!(
                                "  n={n} neg {} rigid {r} Om2 {:.6} res {:.1e} cert {} {:?} {w:?}",
                                s.negative,
                                s.value * om,
                                s.residual,
                                s.certified,
                                t0.elapsed()
                            ),
                            None => println!("  n={n} none"),
                        }
                    }
                }
                Err(e) => println!("fail {e:?}"),
            }
            mesh = mesh.bisected();
        }
    }
    // thresholds
    for (alpha, nu, known) in [
        (10.0f64, 0.3, 0.0033405167),
        (30.0, 0.3, 0.0302452767),
        (60.0, 0.3, 0.1234799073),
        (90.0, 0.3, 0.2876062794),
        (20.0, 0.5, 0.0111177441),
        (60.0, 0.5, 0.1024963333),
    ] {
        let a = alpha.to_radians();
        let h0 = (12.0f64 * (1.0 - nu * nu)).sqrt() * a * a / (5.087 + 1.31 * nu).powi(2);
        let p = part(alpha, h0, nu);
        let mut mesh = Mesh::graded(&p, 1.0, &Grading::default());
        for _ in 0..3 {
            let model = Model::new(&p, 1.0, &mesh);
            let mut w = Work::default();
            let t0 = Instant::now();
            let Ok(m) = minimise::minimise(&model, mirror(&model), 0.93, &Default::default(), &mut w) else {
                println!("{alpha}: no start");
                break;
            };
            let d1 = t0.elapsed();
            let Some((v, mu)) = fold::softest(&model, &m.x, 0.93, &mut w) else {
                println!("softest");
                break;
            };
            match fold::refine(&model, m.x, 0.93, v, 0.3, &mut w) {
                Ok(f) => {
                    println!(
                        "{alpha} nu {nu} N={} h* {:.12} rel {:.1e} it {} sing {:.1e} start {:?} total {:?} {:?} mu {mu:.2e}",
                        mesh.elements(),
                        f.t * h0,
                        f.t * h0 / known - 1.0,
                        f.iterations,
                        f.singularity,
                        d1,
                        t0.elapsed(),
                        w
                    );
                    if let Some(s) = fold::sides(&model, &f, 1e-9, 1.0, &mut w) {
                        for q in s {
                            print!("   side t-t* {:.3e} neg {} E {:.6e};", q.t - f.t, q.negative, q.energy)
                        }
                        println!()
                    } else {
                        println!("no sides")
                    }
                }
                Err(e) => println!("{alpha} fold fail {e:?}"),
            }
            mesh = mesh.bisected();
        }
    }
    let _ = follow::Settings::default();
}
