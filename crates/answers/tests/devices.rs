//! Shapes of devices against known answers: coned rings, keys with rigid tops, kinks and steps, tubes.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests, outside a #[test] function")]

use calotte_answers::poke;
use calotte_answers::poke::report::{Event, EventKind, PokeReport};
use calotte_answers::poke::trade::DiscAnswer;
use calotte_answers::trade::coned_disc::DiscStresses;
use calotte_shell::{Grading, Loaded, Mesh, Model, Push, natural};
use calotte_solve::{Potential, Work, follow};
use calotte_specimen::{
    Control, Corner, Corners, Load, LoadKind, Material, Meridian, Part, Rim, SphereCap, Stiffened, Wall,
};

const NU: f64 = 0.3;

fn corner(r: f64, z: f64) -> Corner {
    Corner { r, z, fillet: 0.0, arc: 0.0 }
}

fn part(corners: &[Corner], wall: Wall, rim: Rim) -> Part {
    Part {
        meridian: Meridian::Corners(Box::new(Corners::new(corners).unwrap())),
        wall,
        material: Material { youngs: 1.0, poisson: NU, density: None },
        rim,
    }
}

fn first(r: &PokeReport, kind: EventKind) -> Option<&Event> {
    r.events.iter().find(|e| e.kind == kind)
}

/// A coned disc of outer radius 1 with this δ = Dₑ/Dᵢ and h₀/t, flattened by a force on the edge of its hole. The slope is small, so
/// that only the width of the section tells it from the formula.
fn disc(ratio: f64, height_over_thickness: f64) -> PokeReport {
    let inner = 1.0 / ratio;
    let height = 0.01 * (1.0 - inner);
    let wall = Wall::uniform(height / height_over_thickness);
    let cone = part(&[corner(inner, 0.0), corner(1.0, height)], wall, Rim::Ring);
    poke(&cone, &Load { reach: Some(2.6 * height), ..Load::default() })
}

fn answer(r: &PokeReport) -> &DiscAnswer {
    r.trade.coned_disc.as_ref().unwrap()
}

/// Load of the shell over the formula's, at a quarter of h₀ and flat.
///
/// Closed form for the narrow limit: the formula's bracket is a stretching part, (h₀/t − s/t)(h₀/t − s/2t), and a bending part, 1,
/// both times E/(1−ν²). A narrow section bears neither N_s nor M_s: it narrows by −ν ε_θ and bends by −ν κ_θ (in all of a section that is
/// narrow beside √(Rh)), and both parts have E. The ratio is then 1 − ν².
/// The other rows: computed here, kept, shown in docs/trade.md.
#[test]
fn coned_discs_leave_the_formula_as_they_get_wider() {
    let shares = |ratio: f64, y: f64| {
        let r = disc(ratio, y);
        let d = answer(&r);
        [0, 3].map(|i| 1.0 + d.shell[i].difference.unwrap())
    };
    let limit = 1.0 - NU * NU;
    for y in [0.5, 1.3, 2.5] {
        for (ratio, within) in [(1.02, 5e-5), (1.04, 2e-4)] {
            let found = shares(ratio, y);
            // What is left is of the order of the slope squared, 1e-4.
            assert!(found.iter().all(|f| (f - limit).abs() < within), "{ratio} {y}: {found:?}");
        }
    }
    let page = include_str!("../../../docs/trade.md");
    for (ratio, kept) in KEPT {
        let mut line = format!("| {ratio} |");
        for (y, kept) in [0.5, 1.3, 2.5].into_iter().zip(kept) {
            let found = shares(ratio, y);
            for (f, k) in found.into_iter().zip(kept) {
                assert!((f - k).abs() < 1e-4, "{ratio} {y}: {f} {k}");
                line += &format!(" {k:.3} |");
            }
        }
        assert!(page.contains(&line), "docs/trade.md has no line {line}");
    }
}

/// Closed form, as above: where nothing acts along the section the hoop's stress is E times its strain, 1 − ν² times the formula's at
/// every corner (Almen & Laszlo 1936), and there is no meridional stress.
#[test]
fn stresses_of_a_narrow_disc() {
    let all = |s: &DiscStresses| [s.om_Pa, s.i_Pa, s.ii_Pa, s.iii_Pa, s.iv_Pa];
    // Largest gaps of hoop and meridional stresses over the largest of the formula.
    let gaps = |ratio: f64, y: f64| {
        let r = disc(ratio, y);
        let d = answer(&r);
        let mut worst = [0.0_f64; 2];
        for (row, shell) in d.formula.rows.iter().zip(&d.shell) {
            let (f, hoop) = (all(&row.stresses), all(shell.hoop.as_ref().unwrap()));
            let along = all(shell.meridional.as_ref().unwrap());
            let size = f.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
            for i in 0..5 {
                worst[0] = worst[0].max((hoop[i] - (1.0 - NU * NU) * f[i]).abs() / size);
                worst[1] = worst[1].max(along[i].abs() / size);
            }
        }
        worst
    };
    // The width that a section gains or loses moves its edges by the order of δ − 1, which the formula leaves out.
    for y in [0.5, 1.3, 2.5] {
        let (near, far) = (gaps(1.01, y), gaps(1.02, y));
        for k in 0..2 {
            assert!(far[k] < 0.3 * 0.02 && near[k] < 0.6 * far[k], "{y} {k}: {near:?} {far:?}");
        }
    }
}

/// δ, and for h₀/t = 0.5, 1.3, 2.5 the shell's load over the formula's at a quarter of h₀ and flat.
const KEPT: [(f64, [[f64; 2]; 3]); 4] = [
    (1.1, [[0.91038, 0.91056], [0.90985, 0.91051], [0.90942, 0.91036]]),
    (1.5, [[0.91727, 0.92065], [0.907504, 0.91989], [0.89969, 0.91740]]),
    (2.0, [[0.93021, 0.93982], [0.90273, 0.93809], [0.88080, 0.93206]]),
    (3.0, [[0.95461, 0.97702], [0.89147, 0.97477], [0.84128, 0.96590]]),
];

/// Least h₀/t for which `holds`, to 1e-4.
fn least(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    assert!(holds(high) && !holds(low));
    while high - low > 1e-4 {
        let mid = 0.5 * (low + high);
        if holds(mid) { high = mid } else { low = mid }
    }
    high
}

/// Closed form: √2 and 2√2 (Almen & Laszlo 1936). Both parts of the bracket change alike in a narrow section (see above), so the limits
/// are those of the formula though the load is not. Wider discs: computed here, kept, shown in docs/trade.md.
#[test]
fn limits_of_falling_and_of_staying() {
    let falls = |ratio: f64| least(1.2, 1.8, |y| first(&disc(ratio, y), EventKind::LoadPeak).is_some());
    let stays = |ratio: f64| {
        least(2.5, 3.3, |y| first(&disc(ratio, y), EventKind::LoadValley).is_some_and(|e| e.load_SI < 0.0))
    };
    let root = std::f64::consts::SQRT_2;
    let narrow = [falls(1.02), stays(1.02)];
    assert!((narrow[0] / root - 1.0).abs() < 2e-3, "{narrow:?}");
    assert!((narrow[1] / (2.0 * root) - 1.0).abs() < 2e-3, "{narrow:?}");
    let wide = [falls(2.0), stays(2.0)];
    for (w, k) in wide.into_iter().zip([1.4686, 2.9430]) {
        assert!((w - k).abs() < 3e-4, "{wide:?}");
    }
}

/// A rubber key: rigid flat top, conical web, clamped foot. Units of the top's radius.
fn key(factor: f64, fillet: f64) -> Part {
    let mut corners = [corner(0.0, 0.0), corner(1.0, 0.0), corner(1.8, 0.7), corner(2.2, 0.7)];
    corners[1].fillet = fillet;
    corners[2].fillet = fillet;
    let made = Corners::new(&corners).unwrap();
    let ends = [1, 2].map(|i| made.span_of(i)[0]);
    let knots = vec![(0.0, 0.4), (ends[0], 0.4), (ends[0], 0.12), (ends[1], 0.12), (ends[1], 0.3)];
    let wall = Wall::stepped(knots).unwrap();
    let wall = if factor > 1.0 {
        wall.with_stiffened(vec![Stiffened { span: [0.0, ends[0]], factor }])
    } else {
        wall
    };
    part(&corners, wall, Rim::Clamped)
}

fn pressed() -> Load {
    Load { control: Control::Displacement, stop: Some(0.6), ..Load::default() }
}

/// Recomputed from the stated equations: a piece a thousand times stiffer than needed moves as one body, and how stiff it is makes no
/// difference.
#[test]
fn a_rigid_top_moves_as_one_body() {
    let reports = [1e4, 1e5].map(|factor| poke(&key(factor, 0.0), &pressed()));
    for kind in [EventKind::LoadPeak, EventKind::Stop] {
        let [a, b] = [0, 1].map(|i| first(&reports[i], kind).unwrap());
        assert!((a.load_SI / b.load_SI - 1.0).abs() < 1e-3, "{kind:?} {} {}", a.load_SI, b.load_SI);
        let m = &a.meridian;
        let turned = |of: &dyn Fn(f64) -> bool, natural: f64| {
            (0..m.s_m.len())
                .filter(|i| of(m.s_m[*i]))
                .map(|i| (m.slope_rad[i] - natural).abs())
                .fold(0.0, f64::max)
        };
        let web_slope = libm::atan2(0.7, 0.8);
        let top = turned(&|s| s < 0.999, 0.0);
        let web = turned(&|s| s > 1.001 && s < 2.05, web_slope);
        assert!(top < 1e-3 * web, "{top:e} {web:e}");
    }
}

/// Closed form of what a key's figures mean: F₂ is the load where the stop stands, with or without it; on a falling stretch the key comes
/// back from there.
#[test]
fn figures_of_a_key_are_those_of_its_path() {
    let r = poke(&key(1e4, 0.0), &pressed());
    let k = r.trade.key.as_ref().unwrap();
    let without = poke(&key(1e4, 0.0), &Load { stop: None, reach: Some(0.9), ..pressed() });
    let at = without.path.windows(2).find(|w| w[1].displacement_SI > 0.6).unwrap();
    let u = (0.6 - at[0].displacement_SI) / (at[1].displacement_SI - at[0].displacement_SI);
    let load = at[0].load_SI + u * (at[1].load_SI - at[0].load_SI);
    // A straight line between rows leaves an eighth of the step squared times the curvature.
    assert!((k.forces.contact_force_N.unwrap() / load - 1.0).abs() < 1e-2);
    assert_eq!(k.forces.actuation_force_N, first(&r, EventKind::LoadPeak).unwrap().load_SI);
    assert_eq!(k.forces.stroke_m.map(|s| (s - 0.6).abs() < 1e-9), Some(true));
    assert_eq!((k.return_event, k.forces.return_force_N), (k.contact_event, k.forces.contact_force_N));
    assert!(k.peak_strain > 0.05 && k.peak_strain >= k.contact_strain.unwrap());
    assert!(k.strain_limit.is_none() && k.forces.cautions.iter().any(|c| c.contains("not judged")));
    // The whole feel curve in well under a second: the work is pinned.
    let w = r.evidence.work;
    assert_eq!((w.assemblies, w.factorisations), (365, 2034), "{w:?}");
}

/// Displacement of the inner end under a force, over R, on a mesh.
fn pushed(part: &Part, mesh: &Mesh, force: f64) -> f64 {
    let model = Model::new(part, 1.0, mesh);
    let mut along = vec![0.0; model.unknowns()];
    along[model.inner_height()] = 1.0;
    let loaded = Loaded::new(&model, 1.0, force, Push::Along(along));
    let (mut x, mut work) = (natural(&model), Work::default());
    let start = loaded.displacement(&x, 0.0);
    for i in 0..8 {
        let [from, to] = [i, i + 1].map(|i| f64::from(i) / 8.0);
        x = follow::shift_to(&loaded, &x, from, to, 30, &mut work).expect("a step").0;
    }
    loaded.displacement(&x, 1.0) - start
}

/// A key without rigid parts, pushed on the edge of a hole so that no point load spoils the order.
fn kinked(fillet: f64) -> Part {
    let mut corners = [corner(0.4, 0.0), corner(1.0, 0.0), corner(1.8, 0.7), corner(2.2, 0.7)];
    corners[1].fillet = fillet;
    corners[2].fillet = fillet;
    let made = Corners::new(&corners).unwrap();
    let ends = [1, 2].map(|i| made.span_of(i)[0]);
    let knots = vec![(0.0, 0.2), (ends[0], 0.2), (ends[0], 0.12), (ends[1], 0.12), (ends[1], 0.3)];
    // A rounding shares one thickness, or its two halves would be steps of their own.
    let wall = if fillet > 0.0 { Wall::uniform(0.15) } else { Wall::stepped(knots).unwrap() };
    part(&corners, wall, Rim::Clamped)
}

/// Recomputed from the stated equations: between kinks and steps the solution is smooth, and every halving of the mesh gains a high power.
#[test]
fn kinks_and_steps_keep_the_order() {
    let part = kinked(0.0);
    let coarse = Mesh::graded(&part, 1.0, &Grading { edge: 1.5, longest: 0.4, ..Grading::default() });
    let meshes = [coarse.clone(), coarse.bisected(), coarse.bisected().bisected()];
    let d = meshes.map(|m| pushed(&part, &m, 2e-3));
    let (a, b) = ((d[0] - d[1]).abs(), (d[1] - d[2]).abs());
    assert!(b < a / 32.0 || b < 1e-9 * d[2].abs(), "{a:e} {b:e}");
}

/// Closed form of the limit: a rounding that shrinks tends to the sharp corner, about as its radius does.
#[test]
fn roundings_tend_to_the_sharp_corner() {
    let at = |fillet: f64| {
        let part = Part { wall: Wall::uniform(0.15), ..kinked(fillet) };
        let mesh = Mesh::graded(&part, 1.0, &Grading::default()).bisected();
        pushed(&part, &mesh, 4e-4)
    };
    let sharp = at(0.0);
    let gaps = [0.08, 0.04, 0.02, 0.01].map(|r| (at(r) / sharp - 1.0).abs());
    assert!(gaps.windows(2).all(|g| g[1] < 0.6 * g[0]), "{gaps:?}");
    assert!(gaps[3] < 5e-3, "{gaps:?}");
}

/// Closed form: an arc from the axis is a cap of a sphere. On one mesh the two are one model.
#[test]
fn an_arc_through_corners_is_the_cap() {
    let alpha = 0.7;
    let (sin, half) = (libm::sin(alpha), libm::sin(0.5 * alpha));
    let made = |meridian: Meridian, rim: Rim| Part {
        meridian,
        wall: Wall::uniform(0.05),
        material: Material { youngs: 1.0, poisson: NU, density: None },
        rim,
    };
    let end = corner(sin, 2.0 * half * half);
    let arc = Corners::new(&[Corner { arc: 1.0, ..corner(0.0, 0.0) }, end]).unwrap();
    let arc = Meridian::Corners(Box::new(arc));
    let cap = Meridian::Sphere(SphereCap { radius: 1.0, half_angle: alpha, hole_angle: 0.0 });
    let mesh = Mesh::graded(&made(cap.clone(), Rim::Ring), 1.0, &Grading::default()).bisected();
    let [a, b] = [&cap, &arc].map(|m| pushed(&made(m.clone(), Rim::Ring), &mesh, 1e-4));
    assert!((a / b - 1.0).abs() < 1e-10, "{a} {b}");
    // The poke grades a mesh of its own for each.
    for kind in [LoadKind::Ring { arc: 0.3 }, LoadKind::Pressure { follows: true }] {
        let load = Load { kind, ..Load::default() };
        let [a, b] = [&cap, &arc].map(|m| poke(&made(m.clone(), Rim::Ring), &load));
        let [p, q] = [&a, &b].map(|r| first(r, EventKind::LoadPeak).unwrap());
        assert!((p.load_SI / q.load_SI - 1.0).abs() < 1e-6, "{kind:?} {} {}", p.load_SI, q.load_SI);
    }
}

/// Timoshenko & Woinowsky-Krieger 1959, "Theory of plates and shells", art. 114: a long tube under a radial edge load Q per length moves
/// by w = Q e^(−βx) cos βx/(2β³D), β⁴ = 3(1−ν²)/(R²h²). Theirs leaves out what is of the order of h/R.
#[test]
fn a_tube_under_an_edge_load() {
    let h: f64 = 1e-3;
    let beta = (3.0 * (1.0 - NU * NU) / (h * h)).sqrt().sqrt();
    let stiffness = 2.0 * beta.powi(3) * h.powi(3) / (12.0 * (1.0 - NU * NU));
    let tube = part(&[corner(1.0, 0.0), corner(1.0, 0.4)], Wall::uniform(h), Rim::Ring);
    let r = poke(&tube, &Load { kind: LoadKind::RimPull, reach: Some(0.01), ..Load::default() });
    assert!((r.initial_stiffness_SI / stiffness - 1.0).abs() < 2.0 * h);
    // The same as a shape, by a load too small to change it.
    let mesh = Mesh::graded(&tube, 1.0, &Grading::default()).bisected().bisected();
    let model = Model::new(&tube, 1.0, &mesh);
    let mut along = vec![0.0; model.unknowns()];
    along[model.rim_radius().unwrap()] = -1.0;
    let load = 1e-4 * h * stiffness / h * 2.0 * std::f64::consts::PI;
    let loaded = Loaded::new(&model, 1.0, load, Push::Along(along));
    let x = natural(&model);
    let x = follow::shift_to(&loaded, &x, 0.0, 1.0, 20, &mut Work::default()).unwrap().0;
    let profile = model.profile(&x, 4);
    let edge = 1.0 - profile.rim().r;
    for s in &profile.samples {
        let u = beta * (0.4 - s.s);
        let want = libm::exp(-u) * libm::cos(u);
        assert!(((1.0 - s.r) / edge - want).abs() < 3.0 * h, "βx {u}: {} {want}", (1.0 - s.r) / edge);
    }
}

/// A metal dome on a ring with a stop (invented numbers): with the load set the jump is caught by the stop, and what the dome still
/// pushes with there is the contact force.
#[test]
fn a_metal_dome_on_its_stop() {
    let dome = Part {
        meridian: Meridian::Sphere(SphereCap { radius: 0.028, half_angle: 0.18, hole_angle: 0.0 }),
        wall: Wall::uniform(8e-5),
        material: Material { youngs: 193e9, poisson: 0.28, density: None },
        rim: Rim::Ring,
    };
    let pusher = LoadKind::Pusher { radius: 5e-4, bonded: true, edge: 0.0 };
    let with = |stop: Option<f64>| {
        poke(&dome, &Load { kind: pusher, stop, control: Control::Displacement, ..Load::default() })
    };
    let (r, free) = (with(Some(5e-4)), with(None));
    let k = r.trade.key.as_ref().unwrap();
    let lands = r.by_load.as_ref().unwrap().lands.as_ref().unwrap();
    assert!(lands.at_stop && (lands.displacement_SI - 5e-4).abs() < 1e-10);
    assert_eq!(k.forces.contact_by.as_deref(), Some("stop"));
    let peak = first(&free, EventKind::LoadPeak).unwrap().load_SI;
    assert!((k.forces.actuation_force_N / peak - 1.0).abs() < 1e-9);
    // Rubber keys' usual values say nothing of metal.
    assert!(k.forces.cautions.iter().all(|c| !c.contains("rubber")), "{:?}", k.forces.cautions);
    // Without the stop the valley stands for the contact.
    let f = free.trade.key.as_ref().unwrap();
    assert_eq!(f.forces.contact_by.as_deref(), Some("valley"));
    assert!(f.forces.stroke_m > k.forces.stroke_m && f.forces.contact_force_N < k.forces.contact_force_N);
}

/// Common practice, no source: a plate laid on a level top carries at once, and pushes as a force on a rigid top does until the wall
/// beside it rises past it.
#[test]
fn a_plate_on_a_level_top() {
    let corners = [corner(0.0, 0.0), corner(1.0, 0.0), corner(1.8, 0.7), corner(2.2, 0.7)];
    let soft = part(&corners, Wall::uniform(0.1), Rim::Clamped);
    let r = poke(&soft, &Load { kind: LoadKind::Flat, reach: Some(0.1), ..Load::default() });
    assert!(r.path.len() > 3, "{:?}", r.doubts);
    let force = |kind| {
        poke(
            &key(1e4, 0.0),
            &Load { kind, reach: Some(0.3), control: Control::Displacement, ..Load::default() },
        )
    };
    let [plate, point] = [LoadKind::Flat, LoadKind::Pole].map(|k| force(k).by_load.unwrap().load_SI);
    assert!((plate / point - 1.0).abs() < 1e-3, "{plate} {point}");
}

/// Folded shapes have no one inside-out shape, and a level part has nothing to push through: both are said.
#[test]
fn what_cannot_be_poked_is_told() {
    let bellows = part(
        &[corner(0.0, 0.0), corner(1.0, 0.0), corner(1.5, 0.6), corner(2.0, 0.2), corner(2.5, 0.9)],
        Wall::uniform(0.05),
        Rim::Ring,
    );
    let inverted = Load { from: calotte_specimen::Start::Inverted, ..Load::default() };
    let r = poke(&bellows, &inverted);
    assert!(r.doubts.iter().any(|d| d.contains("up and down")), "{:?}", r.doubts);
    let level = part(
        &[corner(0.0, 0.0), corner(1.0, 0.0), corner(1.5, 0.6), corner(2.0, 0.0)],
        Wall::uniform(0.05),
        Rim::Ring,
    );
    let r = poke(&level, &Load::default());
    assert!(r.doubts.iter().any(|d| d.contains("level with the rim")), "{:?}", r.doubts);
}
