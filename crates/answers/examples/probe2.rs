#![allow(missing_docs, clippy::all)]
use calotte_answers::*;
use calotte_shell::*;
use calotte_solve::*;
use calotte_specimen::*;
use std::time::Instant;
fn t<R>(name: &str, n: usize, mut f: impl FnMut() -> R) {
    let mut best = f64::MAX;
    for _ in 0..7 {
        let t0 = Instant::now();
        for _ in 0..n {
            std::hint::black_box(f());
        }
        best = best.min(t0.elapsed().as_secs_f64() / n as f64);
    }
    println!("{name}: {:.2} us", best * 1e6);
}
fn main() {
    let a = 60f64.to_radians();
    let p = Part {
        meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: a, hole_angle: 0.0 }),
        wall: Wall::uniform(0.05),
        material: Material { youngs: 1.0, poisson: 0.3, density: None },
        rim: Rim::Free,
    };
    let mesh = Mesh::graded(&p, 1.0, &Grading::default());
    t("mesh", 100, || Mesh::graded(&p, 1.0, &Grading::default()));
    t("model", 100, || Model::new(&p, 1.0, &mesh));
    let m = Model::new(&p, 1.0, &mesh);
    println!("N {}", m.elements());
    let x = mirror(&m);
    let n = m.unknowns();
    let (mut g, mut h) = (vec![0.0; n], Band::new(n, m.half_bandwidth()));
    t("assemble", 100, || m.assemble(&x, 1.0, &mut g, &mut h));
    t("energy", 100, || m.energy(&x, 1.0));
    t("factor", 100, || h.clone().factor().map(|f| f.negative));
    let f = h.clone().factor().unwrap();
    let mut v = g.clone();
    t("solve", 100, || {
        v.copy_from_slice(&g);
        f.solve(&mut v);
    });
    let mut d = Directional::new(n);
    t("directional", 100, || m.directional(&x, 1.0, &g, &mut d));
    let mut w = Work::default();
    t("minimise", 20, || {
        minimise::minimise(&m, x.clone(), 1.0, &Default::default(), &mut w).map(|m| m.iterations).ok()
    });
    t("mirror+model+min", 20, || {
        let mesh = Mesh::graded(&p, 1.0, &Grading::default());
        let m = Model::new(&p, 1.0, &mesh);
        minimise::minimise(&m, mirror(&m), 1.0, &Default::default(), &mut w).map(|m| m.iterations).ok()
    });
    let mm = minimise::minimise(&m, x.clone(), 1.0, &Default::default(), &mut w).unwrap();
    println!("it {}", mm.iterations);
    t("harmonics", 20, || Harmonics::new(&m, &mm.x, 1.0));
    let ha = Harmonics::new(&m, &mm.x, 1.0);
    for k in 0..6 {
        t("smallest", 20, || ha.smallest(k, None, &mut w).map(|s| s.0.value));
    }
    t("profile6", 20, || m.profile(&mm.x, 6));
    t("profile2", 20, || m.profile(&mm.x, 2));
    t("verdict", 5, || verdict(&p, Detail { branch: false, depth: true }));
    t("verdict-nodepth", 5, || verdict(&p, Detail { branch: false, depth: false }));
    t("verdict-branch", 5, || verdict(&p, Detail { branch: true, depth: true }));
    let r = verdict(&p, Detail { branch: false, depth: true });
    println!("{:?}", r.evidence.work);
    let r = verdict(&p, Detail { branch: false, depth: false });
    println!("{:?}", r.evidence.work);
}
