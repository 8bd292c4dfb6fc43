use calotte_answers::release::{Ask, release};
use calotte_answers::{Detail, verdict};
use calotte_specimen::*;

fn silicone(h: f64) -> Part {
    let cap = SphereCap { radius: 25e-3, half_angle: 50f64.to_radians(), hole_angle: 0.0 };
    Part {
        meridian: Meridian::Sphere(cap),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.2e6, poisson: 0.49, density: Some(1080.0) },
        rim: Rim::Free,
    }
}

#[test]
fn probe() {
    let v = verdict(&silicone(1.8e-3), Detail::default());
    let hc = v.margin.unwrap().threshold_thickness_m;
    println!("hc {hc}");
    let memory = Memory {
        terms: vec![
            MemoryTerm { share: 0.08, time: 0.005 },
            MemoryTerm { share: 0.06, time: 0.1 },
            MemoryTerm { share: 0.06, time: 3.0 },
        ],
        shift: TimeShift::None,
    };
    let table = Surroundings { gravity: 9.81, rests: Rests::Table, ..Surroundings::default() };
    let hold = |shape, time, let_go| Hold { shape, time, let_go, sideways: 0.0 };
    let cases = [
        ("elastic floating", 1.01, Motion::default()),
        ("elastic table", 1.01, Motion { surroundings: table, ..Motion::default() }),
        (
            "elastic table mirror",
            1.05,
            Motion {
                surroundings: table,
                hold: hold(HeldShape::Mirror, 0.0, LetGo::AtOnce),
                ..Motion::default()
            },
        ),
        (
            "memory mirror 5 s at once",
            1.02,
            Motion {
                memory: Some(memory.clone()),
                surroundings: table,
                hold: hold(HeldShape::Mirror, 5.0, LetGo::AtOnce),
            },
        ),
        (
            "memory mirror 5 s ramp",
            1.02,
            Motion {
                memory: Some(memory.clone()),
                surroundings: table,
                hold: hold(HeldShape::Mirror, 5.0, LetGo::Ramp(0.05)),
            },
        ),
        (
            "memory flat 5 s ramp",
            1.02,
            Motion {
                memory: Some(memory.clone()),
                surroundings: table,
                hold: hold(HeldShape::Flat, 5.0, LetGo::Ramp(0.05)),
            },
        ),
        (
            "memory poke 5 s ramp",
            1.02,
            Motion {
                memory: Some(memory.clone()),
                surroundings: table,
                hold: hold(HeldShape::Poke { travel: 17e-3 }, 5.0, LetGo::Ramp(0.05)),
            },
        ),
        (
            "stays",
            0.9,
            Motion {
                memory: Some(memory.clone()),
                surroundings: table,
                hold: hold(HeldShape::Mirror, 1.0, LetGo::AtOnce),
            },
        ),
        (
            "stays elastic",
            0.9,
            Motion { hold: hold(HeldShape::Mirror, 1.0, LetGo::AtOnce), ..Motion::default() },
        ),
    ];
    for (name, ratio, motion) in cases {
        let now = std::time::Instant::now();
        let r =
            release(&silicone(hc * ratio), &motion, &Ask { evidence: false, ..Ask::default() }, &mut |_| {
                true
            });
        let one = now.elapsed();
        let r = match r {
            Ok(r) => r,
            Err(e) => {
                println!("## {name}: {e}");
                continue;
            }
        };
        println!("## {name}: {:?} {:?}", r.outcome, one);
        for w in r.explanation.iter().chain(&r.doubts) {
            println!("   {w}");
        }
        println!("   {:?}", r.snap);
        println!("   {:?}", r.jump);
        println!("   {:?}", r.ringing);
        let e = &r.evidence;
        println!(
            "   balance {:.1e} {:.1e} mesh {:?} step {:?} speed {:?} contact {:.2e} steps {} {} its {} frames {} ended {} strain {:.3}",
            e.balance_to_snap,
            e.balance_whole,
            e.mesh_difference,
            e.step_difference,
            e.speed_difference,
            e.deepest_contact,
            e.steps,
            e.refused,
            e.iterations,
            r.frames.len(),
            e.ended,
            e.largest_strain
        );
        for e in &r.energies {
            println!(
                "   {} {:.4} k {:.3e} e {:.3e} g {:.2e} c {:.1e} relaxed {:.2e} hand {:.2e}",
                e.moment, e.time_s, e.kinetic_J, e.elastic_J, e.gravity_J, e.contact_J, e.relaxed_J, e.hand_J
            );
        }
        for e in r.events.iter().take(14) {
            println!("   {:.5} {} {}", e.time_s, e.kind, e.what);
        }
    }
}
