//! Circumferential wave numbers at an inverted state: how many are examined, and why no more.

use calotte_shell::{Harmonics, Model};
use calotte_solve::Work;

use crate::report::Ripple;
use crate::state::Inverted;

/// Everything the second variation says about ripples at one state.
pub(crate) struct Ripples {
    pub(crate) rows: Vec<Ripple>,
    pub(crate) bound: String,
    /// Whether every row was computed and certified.
    pub(crate) certified: bool,
    /// Relative difference of the softest ripple (n ≥ 1) between the meshes.
    pub(crate) mesh_difference: f64,
}

/// The wave number beyond which no ripple can be lost.
///
/// A ripple of short waves bends the wall: its energy density is at least `½D (k² + n²/r²)² w²` for
/// meridional wave number k. What can feed it is compression and the moments acting on the turned normal,
/// at most `½P (k² + n²/r²) w²` with `P = max(−N_s, −N_θ, 0) + |M| |b|` (b the deformed curvature); natural
/// curvature and stretching only stiffen. So it needs `n² < r² P/D` somewhere; doubled here to allow for
/// waves as long as the edge layer over which N and M vary.
pub(crate) fn wave_bound(model: &Model, x: &[f64], t: f64) -> (u32, f64) {
    if model.part().wall.layers().is_some() {
        // The same of the layers' own resultants.
        let needed = model
            .resultants(x, t)
            .iter()
            .map(|p| {
                let compression = p.force.iter().map(|n| -n).fold(0.0, f64::max);
                let moment = p.moment[0].abs().max(p.moment[1].abs());
                let bent = p.curvature[0].abs().max(p.curvature[1].abs());
                p.r * p.r * (compression + moment * bent) / p.stiffness
            })
            .fold(0.0, f64::max)
            .sqrt();
        return ((2.0 * needed).ceil().max(7.0) as u32 + 1, needed);
    }
    let nu = model.part().material.poisson;
    let largest = model
        .profile(x, 6)
        .samples
        .iter()
        .map(|p| {
            let h = t * p.thickness;
            let c = h / (1.0 - nu * nu);
            let d = c * h * h / 12.0;
            let [es, et] = p.strain;
            let [ks, kt] = p.bending;
            let compression = (-c * (es + nu * et)).max(-c * (et + nu * es)).max(0.0);
            let moment = d * (ks + nu * kt).abs().max((kt + nu * ks).abs());
            let bent = p.curvature.abs().max(if p.r > 0.0 { (libm::sin(p.slope) / p.r).abs() } else { 0.0 });
            p.r * p.r * (compression + moment * bent) / d
        })
        .fold(0.0, f64::max);
    let needed = largest.sqrt();
    ((2.0 * needed).ceil().max(7.0) as u32 + 1, needed)
}

/// Examines every n up to the bound on the coarser mesh, and the softest n ≥ 1 on the finer. `omega` turns eigenvalues into Ω²; `hertz` (when known) turns their
/// square roots into Hz.
pub(crate) fn examine(
    inverted: &Inverted,
    t: f64,
    omega: f64,
    hertz: Option<f64>,
    work: &mut Work,
) -> Ripples {
    let (model, x) = (&inverted.coarse.0, &inverted.coarse.1.x);
    let (last, needed) = wave_bound(model, x, t);
    let harmonics = Harmonics::new(model, x, t);
    let mut certified = true;
    let mut rows = Vec::new();
    let mut start: Option<Vec<f64>> = None;
    for n in 0..=last {
        // From n = 3 on neighbouring modes look alike.
        let guess = if n > 2 { start.as_deref() } else { None };
        let Some((s, rigid)) = harmonics.smallest(n, guess, work) else {
            certified = false;
            continue;
        };
        certified &= s.certified;
        rows.push(Ripple {
            n,
            negative: s.negative,
            rigid,
            smallest_eigenvalue: s.value * omega,
            residual: s.residual,
            frequency_Hz: hertz.filter(|_| s.value > 0.0).map(|f| f * s.value.sqrt()),
        });
        start = Some(s.vector);
    }
    let softest = rows
        .iter()
        .filter(|r| r.n > 0)
        .min_by(|a, b| a.smallest_eigenvalue.total_cmp(&b.smallest_eigenvalue))
        .map(|r| (r.n, r.smallest_eigenvalue / omega));
    let mesh_difference = softest
        .and_then(|(n, value)| {
            let finer = Harmonics::new(&inverted.model, &inverted.state.x, t);
            let (s, _) = finer.smallest(n, None, work)?;
            Some((value / s.value - 1.0).abs())
        })
        .unwrap_or(f64::INFINITY);
    let bound = format!(
        "Every n up to {last} was examined. A ripple with more waves costs at least D n⁴/r⁴ per unit of \
         deflection squared in bending and gains at most P n²/r² from the compression and moments in the \
         wall, so by this estimate none is lost beyond n = {:.1}; twice that is examined, and at least 8.",
        needed
    );
    Ripples { rows, bound, certified, mesh_difference }
}

/// The counts alone, n from 1 to the bound, on the coarser mesh; rows only for what is lost.
pub(crate) fn count(inverted: &Inverted, t: f64, work: &mut Work) -> Ripples {
    let (model, x) = (&inverted.coarse.0, &inverted.coarse.1.x);
    let (last, _) = wave_bound(model, x, t);
    let harmonics = Harmonics::new(model, x, t);
    let mut rows = Vec::new();
    let mut certified = true;
    for n in 1..=last {
        match harmonics.negative(n, work) {
            None => certified = false,
            Some(0) => {}
            Some(negative) => rows.push(Ripple {
                n,
                negative,
                rigid: 0,
                smallest_eigenvalue: f64::NAN,
                residual: f64::NAN,
                frequency_Hz: None,
            }),
        }
    }
    Ripples { rows, bound: String::new(), certified, mesh_difference: 0.0 }
}

/// Negative count of ripples n ≥ 1 at a state, with the first n that has one.
pub(crate) fn first_lost(model: &Model, x: &[f64], t: f64, work: &mut Work) -> Option<u32> {
    let (last, _) = wave_bound(model, x, t);
    let harmonics = Harmonics::new(model, x, t);
    (1..=last).find(|n| harmonics.negative(*n, work).is_some_and(|c| c > 0))
}
