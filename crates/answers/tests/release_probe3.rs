use calotte_answers::Subject;
use calotte_answers::release::*;
use calotte_specimen::*;
use std::sync::atomic::AtomicBool;

#[test]
fn probe() {
    let text = r#"
title = "x"
[shape]
kind = "cap"
radius = "25 mm"
half_angle = "50 deg"
[wall]
thickness = "2.18 ± 0.02 mm"
[material]
youngs_modulus = "1.2 MPa"
poisson_ratio = "0.49"
density = "1080 kg/m^3"
[rim]
kind = "free"
[memory]
shares = ["0.08 ± 0.01", "0.06", "0.06 ± 0.01"]
times = ["5 ms", "0.1 s", "3 s"]
[hold]
shape = "mirror"
time = "5 ± 1 s"
let_go = "ramp"
ramp = "50 ms"
"#;
    let (case, f) = read_case(text.as_bytes(), &|_| Err(std::io::Error::other("none")));
    for f in &f {
        println!("{f:?}");
    }
    let case = case.unwrap();
    let stop = AtomicBool::new(false);
    let watch = Watch { threads: 2, stop: &stop, progress: &|_| {} };
    let now = std::time::Instant::now();
    let c = wait_curve(&case, [0.01, 100.0], 32, &watch).unwrap().unwrap();
    println!("curve {:?}", now.elapsed());
    for p in &c.points {
        println!("{:?}", p);
    }
    println!("{:?} {:#?}", c.shortest_hold_s, c.words);
    let now = std::time::Instant::now();
    let c = wait_spread(&case, 100, &watch).unwrap().unwrap();
    println!("spread {:?}", now.elapsed());
    println!("{:#?}", c.words);
    println!("{:?}", c.quantiles);
    for s in &c.sensitivities {
        println!("{s:?}");
    }
    println!("{} {} {} {}", c.stay, c.wait, c.at_once, c.unknown);
    let now = std::time::Instant::now();
    let c = slowing(&case, [1e-6, 0.1], 11, &watch).unwrap().unwrap();
    println!("slowing {:?}", now.elapsed());
    for p in &c.elastic {
        println!("{:?}", p);
    }
    for p in &c.damped {
        println!("{:?}", p);
    }
    for p in &c.frequencies {
        println!("{:?}", p);
    }
    println!("{:#?}", c.words);
    let _ = case.title();
}
