//! How far a part is from its threshold: in thickness, in depth, in λ, and with tolerances.

use calotte_solve::potential::{Potential, dot};
use calotte_solve::{Band, Work};
use calotte_specimen::{Meridian, Part};

use crate::report::{DepthMargin, Sensitivity, Spread};
use crate::scene::Scene;
use crate::subject::Subject;
use crate::threshold::{Nearby, Threshold};

/// d ln(h/h*)/d ln(input) for every input, and the spread that the tolerances cause, to first order.
///
/// At a fold with null vector v, `dt*/dp = −(vᵀ ∂g/∂p)/(vᵀ ∂g/∂t)`: the state's own change drops out
/// because `vᵀH = 0`. `∂g/∂p` by a central difference of the gradient at the fixed state.
pub(crate) fn sensitivities(
    subject: &dyn Subject,
    scene: &Scene,
    t: &Threshold,
    ratio: f64,
) -> (Vec<Sensitivity>, Option<Spread>) {
    let givens = subject.givens();
    let mut rows = Vec::new();
    let mut variance = 0.0;
    let mut any = false;
    for (i, g) in givens.iter().enumerate() {
        let step = 1e-5 * if g.value == 0.0 { 1.0 } else { g.value.abs() };
        let Some(slope) = threshold_slope(subject, scene, t, i, g.value, step) else { continue };
        // h/h* = own/t*, so d ln(h/h*) = −dt*/t*.
        let per_unit = -slope / t.fold.t;
        let relative = (g.value != 0.0).then_some(per_unit * g.value);
        let half = g.half_width.unwrap_or(0.0);
        any |= half > 0.0;
        let half_width = (ratio * per_unit * half).abs();
        variance += half_width * half_width;
        if relative.is_none_or(|r| r.abs() > 1e-9) || half > 0.0 {
            let slope_per_si = ratio * per_unit;
            rows.push(Sensitivity {
                input: g.key.clone(),
                relative_slope: relative,
                slope_per_si,
                half_width,
            });
        }
    }
    let half = variance.sqrt();
    let spread = any.then_some(Spread {
        thickness_ratio_half_width: half,
        thickness_ratio_low: ratio - half,
        thickness_ratio_high: ratio + half,
        crosses_threshold: ratio - half < 1.0 && ratio + half > 1.0,
    });
    (rows, spread)
}

fn threshold_slope(
    subject: &dyn Subject,
    scene: &Scene,
    t: &Threshold,
    input: usize,
    value: f64,
    step: f64,
) -> Option<f64> {
    let model = &t.coarse;
    let fold = &t.coarse_fold;
    let gradient = |p: &Part| {
        // Same mesh by share of arclength, same length unit, same reference for the wall.
        let scaled = Part { wall: p.wall.scaled(1.0 / scene.own), ..p.clone() };
        let moved = model.rebuilt(&scaled);
        let n = moved.unknowns();
        let (mut g, mut h) = (vec![0.0; n], Band::new(n, moved.half_bandwidth()));
        moved.assemble(&fold.x, fold.t, &mut g, &mut h);
        dot(&fold.v, &g)
    };
    let ahead = subject.with_given(input, value + step);
    let behind = subject.with_given(input, value - step);
    let slope = match (ahead, behind) {
        (Some(a), Some(b)) => (gradient(&a) - gradient(&b)) / (2.0 * step),
        // At the end of the allowed range (ν = 0.5) only one side exists.
        (Some(a), None) => (gradient(&a) - gradient(subject.part())) / step,
        (None, Some(b)) => (gradient(subject.part()) - gradient(&b)) / step,
        (None, None) => return None,
    };
    Some(-slope / fold.push)
}

/// Depth at which the part's own thickness is the threshold. `Err` says why there is none.
pub(crate) fn depth(
    subject: &dyn Subject,
    scene: &Scene,
    t: &Threshold,
    ratio: f64,
    work: &mut Work,
) -> Result<DepthMargin, String> {
    match search(subject, ratio, &mut Nearby::new(scene, t), work) {
        Ok(Some(found)) => Ok(found),
        // Folds met from one another led astray: every search anew.
        _ => search(subject, ratio, &mut Nearby::anew(scene, t), work)?
            .ok_or_else(|| "the threshold met at that depth was not certified".to_owned()),
    }
}

/// `None` when inertia does not confirm the threshold in the end.
fn search(
    subject: &dyn Subject,
    ratio: f64,
    nearby: &mut Nearby,
    work: &mut Work,
) -> Result<Option<DepthMargin>, String> {
    let own = subject.part().wall.thickness(subject.part().meridian.length());
    // ln(h*(depth)/h) for a threshold at a thickness factor of a scene; h* grows roughly as depth².
    let log_ratio = |part: &Part, scene: &Scene, t: f64| {
        libm::log(part.wall.thickness(part.meridian.length()) * t / scene.own / own)
    };
    let mut find = |depth: f64, work: &mut Work| -> Result<(Part, Scene, f64), String> {
        let part = subject.with_depth(depth).ok_or("no such part exists at that depth")?;
        let scene = Scene::new(&part);
        let t = nearby.find(&scene, work).map_err(|_| "no threshold was found on the way")?;
        Ok((part, scene, t))
    };
    let sphere = match subject.part().meridian {
        Meridian::Sphere(c) => Some(c),
        _ => None,
    };
    // What counts is how far the rim lies from the inner end: the arc beyond a hole.
    let base = sphere.map_or(0.0, |c| c.hole_angle);
    let here = subject.depth();
    let (mut a, mut fa) = (here - base, -libm::log(ratio));
    let mut b = a * ratio.sqrt();
    let mut slope = 2.0;
    let mut retreats = 0;
    let mut last = None;
    for _ in 0..30 {
        let (part, scene, t) = match find(base + b, work) {
            Ok(found) => found,
            // Half way back, in the logarithm, towards the depth that worked.
            Err(_) if retreats < 2 => {
                retreats += 1;
                b = (a * b).sqrt();
                continue;
            }
            Err(why) => return Err(why),
        };
        let fb = log_ratio(&part, &scene, t);
        last = Some((part, scene));
        // The correction below brings in the slope, good to the square root of this or better.
        if fb.abs() < 2e-5 || (b / a - 1.0).abs() < 1e-13 {
            break;
        }
        slope = (fb - fa) / (libm::log(b / a));
        (a, fa) = (b, fb);
        // Keep each move within a factor, in case the curve is far from a power.
        let move_by = if slope.abs() > 0.2 { (-fb / slope).clamp(-0.7, 0.7) } else { -fb.signum() * 0.1 };
        b *= libm::exp(move_by);
        last = None;
    }
    let (part, scene) = match last {
        Some(l) => l,
        None => find(base + b, work).map(|(part, scene, _)| (part, scene))?,
    };
    // The search used the standard mesh; one correction with that mesh bisected.
    let Some(t) = nearby.refined(&scene, work) else { return Ok(None) };
    b *= libm::exp(-log_ratio(&part, &scene, t) / slope);
    let part = subject.with_depth(base + b).unwrap_or(part);
    let rise = |p: &Part| p.meridian.at(p.meridian.length()).z;
    let (rise_then, rise_now) = (rise(&part), rise(subject.part()));
    Ok(Some(DepthMargin {
        threshold_half_angle_rad: sphere.map(|_| base + b),
        threshold_rise_m: rise_then,
        rise_ratio: rise_now / rise_then,
    }))
}
