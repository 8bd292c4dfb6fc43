//! The inverted equilibrium of the part itself: computed on two meshes, then read.

use calotte_shell::{Mesh, Model, Profile, mirror};
use calotte_solve::Work;
use calotte_solve::minimise::{self, Minimum};

use crate::report::{EnergyAlongArc, InvertedState, MirrorComparison, SampledMeridian, Strains};
use crate::scene::{Scene, is_inverted};

/// The inverted state on two meshes.
pub(crate) struct Inverted {
    /// The coarser mesh with its state.
    pub(crate) coarse: (Model, Minimum),
    pub(crate) model: Model,
    pub(crate) state: Minimum,
    /// Relative difference of the total energy.
    pub(crate) energy_difference: f64,
}

/// A state to start from, with its mesh and model.
pub(crate) type Start = (Mesh, Model, Minimum);

/// Relative energy-norm error (squared) that ends refinement.
const AGREEMENT: f64 = 4e-9;

/// Solves at the part's own thickness; elements whose share of the energy-norm difference between a mesh
/// and its bisection is largest are halved until the whole difference is below 4e-9 (at most four times).
pub(crate) fn solve(scene: &Scene, start: Option<Start>, work: &mut Work) -> Option<Inverted> {
    let t = scene.own;
    let (mut mesh, mut model, mut state) = match start {
        Some(s) => s,
        None => {
            let (mesh, model) = scene.model(t);
            let state = scene.inverted(&model, t, work)?;
            (mesh, model, state)
        }
    };
    for level in 0..5 {
        let finer: Mesh = mesh.bisected();
        let fine = scene.model_on(&finer);
        let x = model.transfer(&state.x, &fine);
        let Ok(better) = minimise::minimise(&fine, x.clone(), t, &minimise::Settings::default(), work) else {
            return None;
        };
        let shares = fine.local_difference(&better.x, &x, t);
        let total: f64 = shares.iter().sum();
        if total <= AGREEMENT || level == 4 {
            let energy_difference = (state.energy / better.energy - 1.0).abs();
            return is_inverted(&fine.profile(&better.x, 6)).then_some(Inverted {
                coarse: (model, state),
                model: fine,
                state: better,
                energy_difference,
            });
        }
        // Two halves per element.
        let pair = |e: usize| shares[2 * e] + shares[2 * e + 1];
        let worst = (0..mesh.elements()).map(pair).fold(0.0, f64::max);
        let marked: Vec<bool> = (0..mesh.elements()).map(|e| pair(e) > 0.02 * worst).collect();
        let next_mesh = mesh.refined(&marked);
        let next = scene.model_on(&next_mesh);
        let from = model.transfer(&state.x, &next);
        let m = minimise::minimise(&next, from, t, &minimise::Settings::default(), work).ok()?;
        (mesh, model, state) = (next_mesh, next, m);
    }
    None
}

/// A profile as columns in SI. `factor` scales thickness.
pub(crate) fn columns(p: &Profile, radius: f64, factor: f64, z_shift: f64) -> SampledMeridian {
    let s = &p.samples;
    SampledMeridian {
        s_m: s.iter().map(|q| q.s * radius).collect(),
        r_m: s.iter().map(|q| q.r * radius).collect(),
        z_m: s.iter().map(|q| (q.z + z_shift) * radius).collect(),
        slope_rad: s.iter().map(|q| q.slope).collect(),
        thickness_m: s.iter().map(|q| q.thickness * factor * radius).collect(),
    }
}

/// Everything the report says about an inverted state. `saddle` is the saddle's model, unknowns and energy (J).
pub(crate) fn describe(
    scene: &Scene,
    inv: &Inverted,
    z_rim: f64,
    saddle: Option<(&Model, &[f64], f64)>,
) -> InvertedState {
    let (model, x, t) = (&inv.model, &inv.state.x, scene.own);
    let r = scene.radius;
    let unit = scene.part.material.youngs * r * r * r;
    let e = model.energies(x, t);
    let profile = model.profile(x, 6);
    let (inner, rim) = (profile.inner(), profile.rim());
    let length = scene.part.meridian.length();
    let zeros: Vec<f64> = model.curvature_zeros(x).iter().map(|s| s * r).collect();
    let lip = zeros.last().map(|s| length - s);
    let h = rim.thickness * t;
    let mut strains = Strains {
        rim_meridional: rim.strain[0],
        rim_hoop: rim.strain[1],
        largest_membrane: 0.0,
        largest_bending: 0.0,
        largest_surface: 0.0,
        largest_surface_at_m: 0.0,
    };
    let nu = scene.part.material.poisson;
    let mut energy = EnergyAlongArc::default();
    for p in &profile.samples {
        let half = 0.5 * p.thickness * t;
        for (m, k) in p.strain.iter().zip(&p.bending) {
            strains.largest_membrane = strains.largest_membrane.max(m.abs());
            strains.largest_bending = strains.largest_bending.max((half * k).abs());
            let face = (m + half * k).abs().max((m - half * k).abs());
            if face > strains.largest_surface {
                strains.largest_surface = face;
                strains.largest_surface_at_m = p.s * r;
            }
        }
        let form = |v: [f64; 2]| 0.5 * (v[0] * v[0] + 2.0 * nu * v[0] * v[1] + v[1] * v[1]);
        let c = 2.0 * half / (1.0 - nu * nu);
        let per_area = scene.part.material.youngs * r;
        energy.s_m.push(p.s * r);
        energy.stretching_J_per_m2.push(per_area * c * form(p.strain));
        energy.bending_J_per_m2.push(per_area * c * half * half / 3.0 * form(p.bending));
    }
    let total = unit * e.total();
    let image = model.energies(&mirror(model), t);
    let natural_height = {
        let m = &scene.part.meridian;
        m.at(length).z - m.at(0.0).z
    };
    let natural_rim = scene.part.meridian.at(length);
    let height = (inner.z - rim.z).abs() * r;
    InvertedState {
        pole_height_m: height,
        rim_radius_m: rim.r * r,
        rim_slope_rad: rim.slope,
        lip_width_m: lip,
        lip_width_over_root_Rh: lip.map(|l| l / r / h.sqrt()),
        curvature_sign_changes_m: zeros,
        stretching_energy_J: unit * e.stretching,
        bending_energy_J: unit * e.bending,
        rim_energy_J: unit * e.rim,
        saddle_energy_J: saddle.map(|s| s.2),
        barrier_J: saddle.map(|s| s.2 - total),
        strains,
        mirror: MirrorComparison {
            energy_J: unit * image.total(),
            energy_ratio: e.total() / image.total(),
            rim_slope_change_rad: rim.slope + libm::atan2(natural_rim.sin, natural_rim.cos),
            rim_radius_change_m: rim.r * r - natural_rim.r,
            height_ratio: height / natural_height,
        },
        meridian: columns(&profile, r, t, z_rim / r),
        energy,
        saddle_meridian: saddle.map(|(m, x, _)| columns(&m.profile(x, 6), r, t, z_rim / r)),
    }
}
