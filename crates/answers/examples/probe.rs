#![allow(missing_docs, clippy::all)]
use calotte_answers::*;
use calotte_specimen::*;
use std::time::Instant;
fn part(alpha: f64, h: f64, nu: f64, hole: f64, rim: Rim) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap {
            radius: 1.0,
            half_angle: alpha.to_radians(),
            hole_angle: hole.to_radians(),
        }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: nu, density: None },
        rim,
    }
}
fn show(name: &str, p: &Part) {
    let t0 = Instant::now();
    let r = verdict(p, Detail::default());
    let dt = t0.elapsed();
    let e = &r.evidence;
    println!(
        "{name}: {:?} {dt:?} el {}/{} dE {:?} dT {:?} br {:?} res {:?}",
        r.verdict,
        e.elements_coarse,
        e.elements_fine,
        e.energy_difference.map(|x| format!("{x:.1e}")),
        e.threshold_difference,
        e.fold_bracket,
        e.residual
    );
    if let Some(m) = &r.margin {
        println!(
            "   h* {:.10} n {} ratio {:.6} lam {:.4}/{:.4} depth {:?} {}",
            m.threshold_thickness_m,
            m.governing_n,
            m.thickness_ratio,
            m.lambda_ratio,
            m.threshold_lambda,
            m.depth.as_ref().map(|d| (d.threshold_half_angle_rad.map(|a| a.to_degrees()), d.rise_ratio)),
            m.depth_note
        );
    }
    if let Some(i) = &r.inverted {
        println!(
            "   Em {:.8e} Eb {:.8e} saddle {:?} slope {:.6} lip {:?} strain {:.3} mirror {:.4}",
            i.stretching_energy_J,
            i.bending_energy_J,
            i.saddle_energy_J,
            i.rim_slope_rad,
            i.lip_width_over_root_Rh,
            i.strains.largest_surface,
            i.mirror.energy_ratio
        );
    }
    println!(
        "   ripples {} branch {} neg {:?} doubts {:?} work {:?}",
        r.ripples.len(),
        r.branch.points.len(),
        r.ripples.iter().filter(|q| q.negative > 0).map(|q| q.n).collect::<Vec<_>>(),
        r.doubts,
        e.work
    );
}
fn main() {
    let f = Rim::Free;
    for _ in 0..2 {
        show("20/.005", &part(20.0, 0.005, 0.3, 0.0, f));
    }
    show("60/.05", &part(60.0, 0.05, 0.3, 0.0, f));
    show("60/.12", &part(60.0, 0.12, 0.3, 0.0, f));
    show("60/.13", &part(60.0, 0.13, 0.3, 0.0, f));
    show("50/.08 .49", &part(50.0, 0.07, 0.49, 0.0, f));
    show("20/.01", &part(20.0, 0.01, 0.3, 0.0, f));
    show("90/.01", &part(90.0, 0.01, 0.3, 0.0, f));
    show("110/.1", &part(110.0, 0.1, 0.3, 0.0, f));
    show("60/.001", &part(60.0, 0.001, 0.3, 0.0, f));
    show("60/.0001", &part(60.0, 0.0001, 0.3, 0.0, f));
    show("3/.0001", &part(3.0, 0.0001, 0.3, 0.0, f));
    show("60 hole 15", &part(60.0, 0.05, 0.3, 15.0, f));
    show("60 hole 45", &part(60.0, 0.05, 0.3, 45.0, f));
    show("60 ring", &part(60.0, 0.05, 0.3, 0.0, Rim::Ring));
    show("60 hinged", &part(60.0, 0.05, 0.3, 0.0, Rim::Hinged));
    show("60 clamped", &part(60.0, 0.02, 0.3, 0.0, Rim::Clamped));
    show(
        "60 elastic",
        &part(
            60.0,
            0.05,
            0.3,
            0.0,
            Rim::Elastic(RimSprings { radial: 0.01, axial: 0.0, circumferential: 0.0, turning: 0.0 }),
        ),
    );
    show("60 nu -.5", &part(60.0, 0.05, -0.5, 0.0, f));
    show("120/.3", &part(120.0, 0.3, 0.5, 0.0, f));
}
