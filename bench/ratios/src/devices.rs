//! Times of heated discs and folding bowls; nothing is compared, the work is told beside.

use std::sync::Arc;

use calotte_answers::heat::heat;
use calotte_answers::states::states;
use calotte_shell::{Grading, Heated, Mesh, Model, natural};
use calotte_solve::{Work, fold, follow};
use calotte_specimen::{
    Corner, Corners, Layer, Layers, Material, Meridian, Part, Property, Rim, SphereCap, Stiffened, Wall,
};

/// A disc of λ near 5 whose wall loses the curvature x/R per x kelvins.
fn disc(h: f64) -> Part {
    let layer = Layer {
        share: 1.0,
        youngs: Property::Constant(1e9),
        poisson: 0.3,
        expansion: Property::Constant(0.0),
    };
    let layers = Layers {
        layers: vec![layer],
        formed_at: 300.0,
        temperature: 300.0,
        face_difference: 0.0,
        extra_curvature: 0.0,
        flexivity: -0.04,
    };
    Part {
        meridian: Meridian::Sphere(SphereCap { radius: 1.0, half_angle: 0.6, hole_angle: 0.0 }),
        wall: Wall::uniform(h).with_layers(Some(Arc::new(layers))),
        material: Material { youngs: 1e9, poisson: 0.3, density: None },
        rim: Rim::Free,
    }
}

fn heated(part: &Part) -> Heated {
    let mesh = Mesh::graded(part, 1.0, &Grading::default()).bisected();
    Heated::new(Model::new(part, 1.0, &mesh), 1.0, 300.0, 1.0)
}

/// The limit on heating: along the path to its turn, then by the extended system.
fn limit(h: &Heated, work: &mut Work) -> Option<fold::Fold> {
    let set = follow::Settings {
        step: 0.01,
        longest: 0.05,
        weight: 0.05,
        turn: 0.08,
        ..follow::Settings::default()
    };
    let from = follow::start(h, natural(h.model()), 0.0, true, set.weight, work)?;
    let (last, _) = follow::follow(h, from, &set, work, |a, b| {
        if a.dt * b.dt < 0.0 { follow::Watch::Stop } else { follow::Watch::Go }
    });
    again(h, &last.x, last.t, work)
}

fn again(h: &Heated, x: &[f64], f: f64, work: &mut Work) -> Option<fold::Fold> {
    let (v, _) = fold::softest(h, x, f, work)?;
    fold::refine(h, x.to_vec(), f, v, 0.1, work).ok()
}

/// A bowl of a rigid base, three thin frusta and the rings between them.
fn bowl() -> Option<Part> {
    let corner = |r: f64, z: f64| Corner { r, z, fillet: 0.0, arc: 0.0 };
    let mut corners = vec![corner(0.0, 0.0), corner(0.030, 0.0)];
    let mut thick = vec![2.5e-3];
    let (mut r, mut z) = (0.030, 0.0);
    for _ in 0..3 {
        (r, z) = (r + 0.008, z + 0.010);
        corners.push(corner(r, z));
        (r, z) = (r + 0.003, z + 0.0005);
        corners.push(corner(r, z));
        thick.extend([0.8e-3, 2.5e-3]);
    }
    let c = Corners::new(&corners).ok()?;
    let knots = (0..c.pieces()).flat_map(|i| c.span_of(i).map(|s| (s, thick[i]))).collect();
    let rigid = Stiffened { span: c.span_of(0), factor: 1e4 };
    Some(Part {
        meridian: Meridian::Corners(Box::new(c)),
        wall: Wall::stepped(knots)?.with_stiffened(vec![rigid]),
        material: Material { youngs: 3e6, poisson: 0.49, density: None },
        rim: Rim::Free,
    })
}

/// Prints them.
pub(crate) fn report(batches: usize) {
    let mut work = Work::default();
    let (part, thicker) = (disc(0.04), disc(0.0404));
    let (base, other) = (heated(&part), heated(&thicker));
    let found = limit(&base, &mut work);
    if found.is_none() {
        println!("trip temperature of a disc: none was found");
    }
    if let Some(f) = found {
        let mut once = Work::default();
        let moved = again(&other, &f.x, f.t, &mut once).map_or(f64::NAN, |g| g.t - f.t);
        let seconds =
            crate::time(batches, 20, || again(&other, &f.x, f.t, &mut Work::default()).map(|g| g.t));
        println!(
            "trip temperature of a changed disc, {} elements: {:.2} ms (moved by {moved:.5} of the dish; {} factorisations)",
            base.model().elements(),
            seconds * 1e3,
            once.factorisations
        );
        let path = crate::time(batches, 2, || limit(&base, &mut Work::default()).map(|g| g.t));
        println!("trip temperature of a disc from its cold shape, path included: {:.2} ms", path * 1e3);
    }
    let whole = crate::time(batches.min(3), 1, || heat(&part).map(|r| r.delta_K));
    println!(
        "whole answer about heat (two branches, meshes to 1e-10, every wave, cycle, moves): {:.0} ms",
        whole * 1e3
    );
    let Some(part) = bowl() else {
        println!("stable states of a three-frustum bowl: its sizes make no bowl");
        return;
    };
    let found = states(&part, None);
    let seconds = crate::time(batches.min(3), 1, || states(&part, None).stable);
    println!(
        "stable states of a three-frustum bowl: {:.2} s ({} states, {} paths, {} factorisations)",
        seconds,
        found.states.len(),
        found.evidence.paths,
        found.evidence.work.factorisations
    );
}
