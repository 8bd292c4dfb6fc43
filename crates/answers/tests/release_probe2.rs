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
    let memory = Memory {
        terms: vec![
            MemoryTerm { share: 0.08, time: 0.005 },
            MemoryTerm { share: 0.06, time: 0.1 },
            MemoryTerm { share: 0.06, time: 3.0 },
        ],
        shift: TimeShift::None,
    };
    for (g, rests) in [(0.0, Rests::Nowhere), (0.0, Rests::Table), (9.81, Rests::Table), (0.1, Rests::Table)]
    {
        let motion = Motion {
            memory: Some(memory.clone()),
            surroundings: Surroundings { gravity: g, rests, ..Surroundings::default() },
            hold: Hold { shape: HeldShape::Mirror, time: 5.0, let_go: LetGo::Ramp(0.05), sideways: 0.0 },
        };
        let now = std::time::Instant::now();
        let r =
            release(&silicone(hc * 1.02), &motion, &Ask { evidence: false, ..Ask::default() }, &mut |_| true)
                .unwrap();
        let s = r.snap.unwrap();
        println!(
            "## {g} {rests:?}: {:?} {:?} creep {:?} wait {} half {} steps {}",
            r.outcome,
            now.elapsed(),
            s.creep_wait_s,
            s.wait_s,
            s.halfway_s,
            r.evidence.steps
        );
        let h = &r.history;
        let mut next = 0.0;
        for i in 0..h.time_s.len() {
            if h.time_s[i] >= next {
                println!(
                    "   t {:.4} u {:.5} rim {:.6} reaction {:.5} kin {:.2e} el {:.6e}",
                    h.time_s[i],
                    h.pole_over_rim_m[i] * 1e3,
                    h.rim_height_m[i] * 1e3,
                    h.reaction_N[i],
                    h.kinetic_J[i],
                    h.elastic_J[i]
                );
                next = h.time_s[i] + 0.4;
            }
        }
    }
}
