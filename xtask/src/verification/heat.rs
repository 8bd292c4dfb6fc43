//! Computed values of heated walls and discs.

use std::sync::Arc;

use calotte_oracle::layered::Ply;
use calotte_oracle::{heat, heat_trip};
use calotte_shell::{Grading, Harmonics, Heated, Mesh, Model, natural};
use calotte_solve::fold::{self, Fold};
use calotte_solve::follow::{self, PathPoint, Watch};
use calotte_solve::{Band, Potential, Work, minimise};
use calotte_specimen::{Layer, Layers, Material, Meridian, Part, Property, Rim, RimSprings, Straight, Wall};

use super::Computed;
use super::compute::{shallow_limit, shallow_thickness, spherical};

/// Temperature without stress, K. Expansions below are so large that the parameters of the known answers are kelvins from here.
const ORIGIN: f64 = 300.0;

/// The part with a wall of these layers, from the convex face, faces apart by `face_difference` kelvins.
fn with_layers(part: Part, plies: &[Ply], face_difference: f64) -> Part {
    let whole: f64 = plies.iter().map(|p| p.thickness).sum();
    let layer = |p: &Ply| Layer {
        share: p.thickness / whole,
        youngs: Property::Constant(p.youngs),
        poisson: p.poisson,
        expansion: Property::Constant(p.expansion),
    };
    let layers = Layers {
        layers: plies.iter().filter(|p| p.thickness > 0.0).map(layer).collect(),
        formed_at: ORIGIN,
        temperature: ORIGIN,
        face_difference,
        extra_curvature: 0.0,
        flexivity: 0.0,
    };
    Part { wall: part.wall.clone().with_layers(Some(Arc::new(layers))), ..part }
}

/// Two equal layers of modulus 1 that differ in expansion.
fn halves(nu: f64, convex: f64, concave: f64) -> [Ply; 2] {
    [convex, concave].map(|expansion| Ply { thickness: 0.5, youngs: 1.0, poisson: nu, expansion })
}

fn plate(nu: f64, h: f64, rim: Rim) -> Part {
    Part {
        meridian: Meridian::Straight(Straight { start: 0.0, slope: 0.0, length: 1.0 }),
        wall: Wall::uniform(h),
        material: Material { youngs: 1.0, poisson: nu, density: None },
        rim,
    }
}

fn heated(part: &Part, bisections: usize) -> Heated {
    let mesh = Mesh::graded(part, 1.0, &Grading::default());
    let mesh = (0..bisections).fold(mesh, |m, _| m.bisected());
    Heated::new(Model::new(part, 1.0, &mesh), 1.0, ORIGIN, 1.0)
}

/// Trip and reset of a cap whose wall wants to lose the curvature f/R: x at the trip, at the reset, height before the trip and after.
struct Jumps([f64; 4]);

impl Jumps {
    const NONE: Self = Self([f64::NAN; 4]);

    /// The cap's wall grows by `growth` f too.
    fn of(nu: f64, alpha: f64, h: f64, growth: f64) -> Self {
        // Two equal layers: κh = 3/2 of the difference of their free strains.
        let half = h / 3.0;
        let plies = halves(nu, growth - half, growth + half);
        let part = with_layers(spherical(nu, alpha, h, Rim::Free), &plies, 0.0);
        Self::along(&heated(&part, 1), 1.0 - libm::cos(alpha)).unwrap_or(Self::NONE)
    }

    fn along(disc: &Heated, rise: f64) -> Option<Self> {
        let mut work = Work::default();
        let set = follow::Settings {
            step: 0.02 * rise,
            longest: 0.15 * rise,
            weight: 0.3 * rise,
            turn: 0.2,
            points: 5000,
            ..follow::Settings::default()
        };
        let start = follow::start(disc, natural(disc.model()), 0.0, true, set.weight, &mut work)?;
        let (mut folds, mut trip): (Vec<Fold>, Option<f64>) = (Vec::new(), None);
        let mut landed: Option<PathPoint> = None;
        let mut refining = Work::default();
        follow::follow(disc, start, &set, &mut work, |here, next| {
            if here.dt * next.dt < 0.0 {
                let near = if here.dt.abs() < next.dt.abs() { here } else { next };
                let found = fold::softest(disc, &near.x, near.t, &mut refining).and_then(|(v, _)| {
                    fold::refine(disc, near.x.clone(), near.t, v, 0.3, &mut refining).ok()
                });
                let Some(found) = found else { return Watch::Stop };
                trip = trip.or(Some(found.t));
                folds.push(found);
            }
            // Between the outermost folds a thin disc may have more of them.
            if folds.len() >= 2 && next.negative == 0 && trip.is_some_and(|t| next.t > t) {
                landed = Some(next.clone());
                return Watch::Stop;
            }
            Watch::Go
        });
        let (up, down) = (folds.first()?, folds.last()?);
        let landed = landed?;
        let (after, ..) = follow::shift_to(disc, &landed.x, landed.t, up.t, 20, &mut work)?;
        let height = |x: &[f64]| {
            let p = disc.model().profile(x, 1);
            (p.rim().z - p.inner().z) / rise
        };
        Some(Self([up.t, down.t, height(&up.x), height(&after)]))
    }
}

/// Least λ of a shallow disc that trips: where the flat state at f = 1 loses its stability. Its wall is bent as it wants to be, so
/// it is one of stretching alone, the same at every thickness, and found where it is the only state.
fn least_lambda(nu: f64) -> f64 {
    shallow_limit(|alpha| {
        let part = |lambda: f64| {
            let h = shallow_thickness(nu, alpha, lambda);
            with_layers(spherical(nu, alpha, h, Rim::Free), &halves(nu, -h / 3.0, h / 3.0), 0.0)
        };
        let mesh = Mesh::graded(&part(3.5), 1.0, &Grading::default()).bisected();
        let flat = |lambda: f64| Model::new(&part(lambda), 1.0, &mesh).warmed(ORIGIN + 1.0);
        let soft = flat(3.0);
        let set = minimise::Settings::default();
        let Ok(state) = minimise::minimise(&soft, natural(&soft), 1.0, &set, &mut Work::default()) else {
            return f64::NAN;
        };
        let unstable = |lambda: f64| {
            let model = flat(lambda);
            let mut tangent = Band::new(model.unknowns(), model.half_bandwidth());
            model.assemble(&state.x, 1.0, &mut vec![0.0; model.unknowns()], &mut tangent);
            tangent.factor().ok().map(|f| f.negative > 0)
        };
        threshold(unstable, 3.0, 4.0)
    })
}

/// Where `beyond` becomes true, by bisection; NaN when it cannot tell.
fn threshold(beyond: impl Fn(f64) -> Option<bool>, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..45 {
        let middle = 0.5 * (low + high);
        match beyond(middle) {
            Some(true) => high = middle,
            Some(false) => low = middle,
            None => return f64::NAN,
        }
    }
    0.5 * (low + high)
}

/// |κ| h of a free plate per kelvin. A strain of 1 per kelvin, so a millionth of a kelvin keeps the plate shallow.
fn bends(plies: &[Ply], face_difference: f64) -> f64 {
    let (h, warm) = (0.05, 1e-6);
    let part = with_layers(plate(0.3, h, Rim::Free), plies, face_difference * warm);
    let disc = heated(&part, 1);
    let to = if face_difference == 0.0 { warm } else { 0.0 };
    let found = follow::shift_to(&disc, &natural(disc.model()), 0.0, to, 20, &mut Work::default());
    found.map_or(f64::NAN, |(x, ..)| (disc.model().profile(&x, 1).rim().slope * h / warm).abs())
}

/// E h α ΔT a²/((1−ν) D) at which the flat plate, its edge immovable, loses its stability to n waves; h/a → 0.
fn buckles(clamped: bool, nu: f64, n: u32) -> f64 {
    let rim = if clamped { Rim::Clamped } else { Rim::Hinged };
    let at = |h: f64| {
        let unit = h * h / (12.0 * (1.0 + nu)); // αΔT per E h αΔT a²/((1−ν) D)
        let part = with_layers(plate(nu, h, rim), &halves(nu, unit, unit), 0.0);
        let disc = heated(&part, 1);
        let from = natural(disc.model());
        // The edge cannot move and the plate is flat: that state is the same at every temperature.
        let unstable = |f: f64| {
            let model = disc.warmed(f);
            Harmonics::new(&model, &from, 1.0).negative(n, &mut Work::default()).map(|found| found > 0)
        };
        threshold(unstable, 1.0, 50.0)
    };
    // The exact model's difference is of the order of the strain, (h/a)².
    let (thin, thick) = (at(0.005), at(0.01));
    (4.0 * thin - thick) / 3.0
}

/// Edge moment over E h² αΔT of the clamped hemisphere, linear: the mean of heating and cooling.
fn dome_edge() -> f64 {
    let (nu, h, warm) = (0.3, 0.01, 7e-7);
    let part = spherical(nu, std::f64::consts::FRAC_PI_2, h, Rim::Clamped);
    let disc = heated(&with_layers(part, &halves(nu, 1.0, 1.0), 0.0), 4);
    let d = h * h * h / (12.0 * (1.0 - nu * nu));
    let moment = |to: f64| {
        let found = follow::shift_to(&disc, &natural(disc.model()), 0.0, to, 20, &mut Work::default());
        found.map_or(f64::NAN, |(x, ..)| {
            let [ks, kt] = disc.model().profile(&x, 2).rim().bending;
            d * (ks + nu * kt)
        })
    };
    (0.5 * (moment(warm) - moment(-warm)) / (h * h * warm)).abs()
}

/// Moment along the edge of a clamped plate that differs in temperature across, over E h² ε. Measured by springs that keep the
/// edge from turning; 1/moment is linear in 1/stiffness, and is taken to rigid springs.
fn gradient_clamped() -> f64 {
    let (nu, h, across) = (0.3, 0.05, 1e-6);
    let d = h * h * h / (12.0 * (1.0 - nu * nu));
    let yields = |turning: f64| {
        // The axial spring only keeps the plate from floating away.
        let rim = Rim::Elastic(RimSprings { axial: 1.0, turning, ..RimSprings::default() });
        let part = with_layers(plate(nu, h, rim), &halves(nu, 1.0, 1.0), across);
        let disc = heated(&part, 1);
        let found = follow::shift_to(&disc, &natural(disc.model()), 0.0, 0.0, 20, &mut Work::default());
        found.map_or(f64::NAN, |(x, ..)| {
            h * h * across / (turning * disc.model().profile(&x, 1).rim().slope).abs()
        })
    };
    let (soft, hard) = (yields(50.0 * d), yields(100.0 * d));
    1.0 / (2.0 * hard - soft)
}

pub(crate) fn rows() -> Vec<Computed> {
    let mut out = Vec::new();
    let mut say = |id: &'static str, value: f64, claims: f64| out.push(Computed { id, value, claims });
    for l in heat::LAMINATES {
        say(l.bends.id, bends(&l.layers, 0.0), 1e-7);
    }
    say(heat::GRADIENT_FREE.id, bends(&halves(0.3, 1.0, 1.0), 1.0), 1e-7);
    say(heat::GRADIENT_CLAMPED.id, gradient_clamped(), 1e-7);
    for b in heat::BUCKLES {
        say(b.compression.id, buckles(b.clamped, b.nu, b.n), 1e-7);
    }
    say(heat::DOME_EDGE.id, dome_edge(), 1e-7);
    for l in heat::LEAST {
        say(l.lambda.id, least_lambda(l.nu), 1e-7);
    }
    // At a fold a height is worth half the digits of the parameter.
    let mut trip = |t: &heat_trip::Trip, found: [f64; 4], claims: f64| {
        for (i, (known, value)) in t.rows().iter().zip(found).enumerate() {
            say(known.id, value, if i < 2 { claims } else { 1e-6 });
        }
    };
    for d in heat_trip::SHALLOW {
        let at = |alpha: f64| Jumps::of(d.nu, alpha, shallow_thickness(d.nu, alpha, d.lambda), 0.0).0;
        let [one, two] = [1.0_f64, 2.0].map(|a| at(a.to_radians()));
        trip(&d.trip, std::array::from_fn(|i| (4.0 * one[i] - two[i]) / 3.0), 1e-7);
    }
    for d in heat_trip::DEEP_DISCS {
        trip(&d.trip, Jumps::of(0.3, d.alpha_deg.to_radians(), d.h_over_r, d.growth).0, 1e-7);
    }
    out
}
