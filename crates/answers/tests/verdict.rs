//! The verdict as a whole: what it must say, what it must never say, and what it costs.

use calotte_answers::report::{Verdict, VerdictReport};
use calotte_answers::{Detail, verdict};
use calotte_specimen::{Material, Meridian, Part, Rim, RimSprings, SphereCap, Wall};

fn cap(alpha_deg: f64, h: f64, nu: f64, hole_deg: f64, rim: Rim) -> Part {
    Part {
        meridian: Meridian::Sphere(SphereCap {
            radius: 1.0,
            half_angle: alpha_deg.to_radians(),
            hole_angle: hole_deg.to_radians(),
        }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: nu, density: None },
        rim,
    }
}

fn ask(part: &Part) -> VerdictReport {
    verdict(part, Detail { branch: false, depth: false })
}

/// Recomputed value of the oracle, from both sides: the verdict turns where the threshold is.
#[test]
fn the_verdict_turns_at_the_threshold() {
    let known = 0.123479907272;
    for (factor, expected) in
        [(0.99, Verdict::Stays), (1.0 - 1e-6, Verdict::Stays), (1.0 + 1e-6, Verdict::Returns)]
    {
        let r = ask(&cap(60.0, known * factor, 0.3, 0.0, Rim::Free));
        assert_eq!(r.verdict, expected, "{factor}: {:?}", r.doubts);
        let m = r.margin.unwrap();
        assert!((m.thickness_ratio - factor).abs() < 1e-8);
        assert_eq!(m.governing_n, 0);
    }
}

/// On the threshold itself to within the evidence, no verdict is given.
#[test]
fn on_the_threshold_it_is_undecided() {
    let r = ask(&cap(60.0, 0.123479907272, 0.3, 0.0, Rim::Free));
    assert_eq!(r.verdict, Verdict::Undecided);
    assert!(r.doubts.iter().any(|d| d.contains("threshold")), "{:?}", r.doubts);
}

/// Design rule: no certificate beyond h/R = 1/4, warnings beyond 1/10.
#[test]
fn validity_limits_are_kept() {
    let thick = ask(&cap(110.0, 0.26, 0.3, 0.0, Rim::Free));
    assert_eq!(thick.verdict, Verdict::Undecided);
    let warned = ask(&cap(110.0, 0.15, 0.3, 0.0, Rim::Free));
    assert_eq!(warned.verdict, Verdict::Stays);
    assert!(warned.evidence.limits.iter().any(|l| !l.met && l.value > 0.1));
    assert!(warned.warnings.len() > 1);
    let thin = ask(&cap(60.0, 0.01, 0.3, 0.0, Rim::Free));
    assert!(thin.evidence.limits[0].met);
}

/// Common practice, no source: of two caps cut from one ball the deeper stays and the shallower returns.
#[test]
fn the_deeper_cap_of_one_ball_stays() {
    let h = 0.07;
    assert_eq!(ask(&cap(60.0, h, 0.49, 0.0, Rim::Free)).verdict, Verdict::Stays);
    assert_eq!(ask(&cap(45.0, h, 0.49, 0.0, Rim::Free)).verdict, Verdict::Returns);
}

/// Depth and thickness thresholds lie on one curve: at the threshold depth the part's thickness is h*.
#[test]
fn threshold_depth_agrees_with_threshold_thickness() {
    let part = cap(60.0, 0.05, 0.3, 0.0, Rim::Free);
    let r = verdict(&part, Detail { branch: false, depth: true });
    let depth = r.margin.unwrap().depth.unwrap();
    let alpha = depth.threshold_half_angle_rad.unwrap();
    let there = ask(&cap(alpha.to_degrees(), 0.05, 0.3, 0.0, Rim::Free));
    assert!((there.margin.unwrap().thickness_ratio - 1.0).abs() < 1e-7);
}

/// A barrier is positive and falls towards the threshold; the branch has its largest thickness at the fold.
#[test]
fn barrier_and_branch_are_consistent() {
    let mut last = f64::INFINITY;
    for h in [0.04, 0.08, 0.11, 0.12, 0.1234] {
        let part = cap(60.0, h, 0.3, 0.0, Rim::Free);
        let r = verdict(&part, Detail { branch: true, depth: false });
        let i = r.inverted.unwrap();
        let share = i.barrier_J.unwrap() / (i.stretching_energy_J + i.bending_energy_J);
        assert!(share > 0.0 && share < last, "{h}: {share}");
        last = share;
        let fold = r.branch.fold.unwrap();
        let top = r.branch.points[fold].thickness_m;
        assert!(r.branch.points.iter().all(|p| p.thickness_m <= top * (1.0 + 1e-12)));
        assert!(r.branch.points[..fold].iter().all(|p| p.negative == 0));
        assert!(r.branch.points[fold + 1..].iter().all(|p| p.negative >= 1));
    }
}

/// Every rim gives an answer with sound evidence; what is held more stays longer.
#[test]
fn every_rim_answers() {
    let springs = RimSprings { radial: 0.02, axial: 0.02, circumferential: 0.02, turning: 1e-5 };
    for rim in [Rim::Free, Rim::Table, Rim::Ring, Rim::Hinged, Rim::Elastic(springs)] {
        let r = ask(&cap(60.0, 0.03, 0.3, 0.0, rim));
        assert_eq!(r.verdict, Verdict::Stays, "{rim:?} {:?}", r.doubts);
        assert!(r.evidence.residual.unwrap() < 1e-9);
        assert!(r.evidence.threshold_difference.unwrap() < 1e-6);
    }
    let clamped = ask(&cap(60.0, 0.03, 0.3, 0.0, Rim::Clamped));
    assert_eq!(clamped.verdict, Verdict::Returns, "{:?}", clamped.doubts);
    let e = clamped.eversion.unwrap();
    assert!(
        e.completed
            && !e.inverted_found
            && e.least_force_N.unwrap() > 0.0
            && e.mesh_difference.unwrap() < 1e-3
    );
    let ratio = |rim| ask(&cap(60.0, 0.03, 0.3, 0.0, rim)).margin.unwrap().thickness_ratio;
    assert!(ratio(Rim::Hinged) < ratio(Rim::Free));
}

/// The same bits twice, and the work pinned: more work is a regression, less is news for this line.
#[test]
fn deterministic_and_of_known_cost() {
    let part = cap(60.0, 0.05, 0.3, 0.0, Rim::Free);
    let (a, b) = (ask(&part), ask(&part));
    let bits = |r: &VerdictReport| {
        let i = r.inverted.as_ref().unwrap();
        [i.stretching_energy_J, i.bending_energy_J, i.barrier_J.unwrap(), r.ripples[3].smallest_eigenvalue]
            .map(f64::to_bits)
    };
    assert_eq!(bits(&a), bits(&b));
    let w = a.evidence.work;
    assert_eq!((a.evidence.elements_coarse, a.evidence.elements_fine), (10, 20));
    assert_eq!(
        (w.energies, w.assemblies, w.directionals, w.factorisations, w.solves),
        (21, 128, 13, 168, 478),
        "work changed"
    );
}

/// Meshes of equal elements: the threshold's error falls at least as the seventh power of the element
/// length (eight is the theory for quintics: twice the degree less twice the order of the energy).
#[test]
fn threshold_converges_at_high_order() {
    use calotte_shell::{Mesh, Model, mirror};
    use calotte_solve::{Work, fold, minimise};
    let known = 0.123479907272;
    let part = cap(60.0, known, 0.3, 0.0, Rim::Free);
    let mut errors = Vec::new();
    for count in [3, 6, 12] {
        let model = Model::new(&part, 1.0, &Mesh::uniform(&part, count));
        let mut work = Work::default();
        let set = minimise::Settings::default();
        let m = minimise::minimise(&model, mirror(&model), 0.93, &set, &mut work).unwrap();
        let (v, _) = fold::softest(&model, &m.x, 0.93, &mut work).unwrap();
        let f = fold::refine(&model, m.x, 0.93, v, 0.3, &mut work).unwrap();
        errors.push((f.t - 1.0).abs());
    }
    let order = |i: usize| libm::log2(errors[i] / errors[i + 1]);
    assert!(order(0) > 6.0 && order(1) > 7.0, "{errors:?} orders {} {}", order(0), order(1));
}

/// A complete sphere has each frequency of degree l once for every n ≤ l. Closed form with bending: oracle.
#[test]
fn complete_sphere_shows_every_degree_for_every_n() {
    use calotte_oracle::sphere::{Branch, frequency_squared};
    use calotte_shell::{Harmonics, Mesh, Model, natural};
    use calotte_solve::Work;
    let (nu, h) = (0.3, 0.05);
    let part = cap(180.0, h, nu, 0.0, Rim::Free);
    let mut part = part;
    part.meridian =
        Meridian::Sphere(SphereCap { radius: 1.0, half_angle: std::f64::consts::PI, hole_angle: 0.0 });
    let model = Model::new(&part, 1.0, &Mesh::uniform(&part, 20));
    let harmonics = Harmonics::new(&model, &natural(&model), 1.0);
    let mut work = Work::default();
    let mut checked = 0;
    for l in 2..=6_u32 {
        for branch in [Branch::Lower, Branch::Torsional, Branch::Upper] {
            let x = frequency_squared(branch, l, nu, h).unwrap() / (1.0 - nu * nu);
            for n in 0..=l {
                let count = |sigma: f64, work: &mut Work| harmonics.count_below(n, sigma, work).unwrap();
                let inside = count(x * (1.0 + 1e-7), &mut work) - count(x * (1.0 - 1e-7), &mut work);
                assert_eq!(inside, 1, "l={l} n={n} {branch:?}");
                checked += 1;
            }
            // One more wave than the degree allows: not there.
            let over = l + 1;
            let count = |s: f64, work: &mut Work| harmonics.count_below(over, s, work).unwrap();
            assert_eq!(
                count(x * (1.0 + 1e-7), &mut work),
                count(x * (1.0 - 1e-7), &mut work),
                "l={l} {branch:?}"
            );
        }
    }
    assert!(checked > 60);
}

/// Way 1934, clamped plate under uniform load with an immovable edge, ν = 0.3; recomputed: w₀/h.
#[test]
fn clamped_plate_deflects_as_known() {
    use calotte_shell::{Grading, Mesh, Model, natural};
    use calotte_solve::{Work, minimise};
    let h = 1e-3;
    let mut part = cap(60.0, h, 0.3, 0.0, Rim::Clamped);
    part.meridian = Meridian::Straight(calotte_specimen::Straight { start: 0.0, slope: 0.0, length: 1.0 });
    let mesh = Mesh::graded(&part, 1.0, &Grading::default()).bisected();
    for (load, known) in [(1.0, 0.16803), (5.0, 0.67960), (20.0, 1.49379)] {
        let model = Model::new(&part, 1.0, &mesh).with_pressure(load * h * h * h * h);
        let set = minimise::Settings::default();
        let m = minimise::minimise(&model, natural(&model), 1.0, &set, &mut Work::default()).unwrap();
        let w = m.x[model.inner_height()].abs() / h;
        // Half a unit of the last digit printed; the exact shell differs from the plate equations by h²/a².
        assert!((w - known).abs() < 6e-6, "{load}: {w}");
    }
}

/// A wall that changes within a hair's breadth asks for elements there; the estimate finds them.
#[test]
fn the_mesh_adapts_to_a_sudden_wall() {
    use calotte_shell::{Grading, Mesh};
    let mut part = cap(60.0, 0.03, 0.3, 0.0, Rim::Free);
    part.wall = Wall::table(vec![(0.0, 0.05), (0.55, 0.05), (0.57, 0.025), (1.05, 0.025)]).unwrap();
    let r = ask(&part);
    assert_eq!(r.verdict, Verdict::Stays, "{:?}", r.doubts);
    let plain = Mesh::graded(&part, 1.0, &Grading::default()).elements();
    assert!(r.evidence.elements_coarse > plain + 2, "{} {plain}", r.evidence.elements_coarse);
    assert!(r.evidence.energy_difference.unwrap() < 1e-7);
}

/// What is drawn changes nothing in the answer. (A part on a soft elastic rim once returned without a figure and
/// was undecided with one: the comparison with the branch was made only when the branch was drawn.)
#[test]
fn the_verdict_does_not_depend_on_what_is_drawn() {
    let springs = RimSprings { radial: 2.81197e-4, axial: 0.449469, circumferential: 0.0, turning: 7.363e-5 };
    let parts = [
        cap(84.80753018687281, 7.643511e-3, 0.261191652, 0.0, Rim::Elastic(springs)),
        cap(60.0, 0.05, 0.3, 0.0, Rim::Free),
        cap(60.0, 0.13, 0.3, 0.0, Rim::Free),
        cap(60.0, 0.03, 0.3, 20.0, Rim::Hinged),
    ];
    for part in parts {
        let [plain, drawn] = [false, true].map(|branch| verdict(&part, Detail { branch, depth: false }));
        assert_eq!(plain.verdict, drawn.verdict);
        assert_eq!((plain.doubts, plain.explanation), (drawn.doubts, drawn.explanation));
        let barrier = |r: Option<calotte_answers::report::InvertedState>| r.and_then(|i| i.barrier_J);
        assert_eq!(barrier(plain.inverted), barrier(drawn.inverted));
    }
}

/// A thick clamped dome only resists: the force of an eversion rises all the way, and both meshes say so.
#[test]
fn a_force_that_only_rises_decides() {
    let r = ask(&cap(57.62, 0.085, 0.42, 0.0, Rim::Clamped));
    assert_eq!(r.verdict, Verdict::Returns, "{:?} {:?}", r.doubts, r.eversion);
    let e = r.eversion.unwrap();
    assert!(e.completed && e.least_force_N.is_none() && e.mesh_difference.unwrap() < 1e-3);
}
