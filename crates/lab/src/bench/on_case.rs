//! A dead weight on a part, and a part that rings: moduli through the mechanics of a case.

use std::collections::BTreeMap;

use calotte_answers::explain::digits;
use calotte_answers::modes::{self, Settings, State};
use calotte_answers::{Subject, load_or_pole, poke};
use calotte_specimen::{Case, Load, LoadKind, Part, Rim};

use super::estimate::{BudgetRow, Estimate, Reading, estimate};

/// Keys of inputs that an estimate of the modulus does not vary: the modulus itself, and what is no part of the measured state.
const WITHOUT: [&str; 5] =
    ["material.youngs_modulus", "material.strain_limit", "memory.", "hold.", "surroundings."];

/// Why forces of this case do not go as one modulus, if they do not.
fn not_one_modulus(part: &Part) -> Option<String> {
    if part.wall.layers().is_some() {
        return Some("the case has a wall of layers, which has no one modulus".to_owned());
    }
    match part.rim {
        Rim::Elastic(_) => {
            Some("the case's rim is on springs, so that forces do not go as the modulus".to_owned())
        }
        _ => None,
    }
}

/// The case's inputs that have a tolerance, as readings; and their places among the givens.
fn loose(case: &Case, without_density: bool) -> (Vec<Reading>, Vec<usize>) {
    let mut readings = Vec::new();
    let mut places = Vec::new();
    for (i, g) in case.givens().iter().enumerate() {
        let Some(half) = g.half_width.filter(|h| *h > 0.0) else { continue };
        if WITHOUT.iter().any(|w| g.key.starts_with(w)) || (without_density && g.key == "material.density") {
            continue;
        }
        readings.push(Reading {
            id: format!("case: {}", g.key),
            value: g.value,
            deviation: 0.5 * half,
            unit: "SI",
        });
        places.push(i);
    }
    (readings, places)
}

/// What is computed of the case's part at values of its loose numbers, once for each set of them.
struct Parts<'c, T> {
    case: &'c Case,
    places: Vec<usize>,
    base: Vec<f64>,
    known: BTreeMap<Vec<u64>, Result<T, String>>,
}

impl<'c, T: Clone> Parts<'c, T> {
    fn new(case: &'c Case, loose: &[Reading], places: Vec<usize>) -> Self {
        Self { case, places, base: loose.iter().map(|r| r.value).collect(), known: BTreeMap::new() }
    }

    fn at(&mut self, v: &[f64], f: impl FnOnce(&Part) -> Result<T, String>) -> Result<T, String> {
        let key = v.iter().map(|x| x.to_bits()).collect();
        let Self { case, places, base, known } = self;
        let made = || {
            let moved = places.iter().zip(v).zip(base.iter()).filter(|((_, x), b)| x != b);
            let changes: Vec<(usize, f64)> = moved.map(|((i, x), _)| (*i, *x)).collect();
            f(&case.changed(&changes, None).map_err(|e| e.to_string())?.0)
        };
        known.entry(key).or_insert_with(made).clone()
    }
}

/// The first rise of the load with the displacement, m and N.
fn first_rise(part: &Part, load: &Load) -> Result<Vec<[f64; 2]>, String> {
    let report = poke(part, load);
    let mut rise: Vec<[f64; 2]> = Vec::new();
    for r in &report.path {
        if rise.last().is_some_and(|l| r.load_SI <= l[1] || r.displacement_SI <= l[0]) {
            break;
        }
        rise.push([r.displacement_SI, r.load_SI]);
    }
    if rise.len() < 3 {
        let doubt = report.doubts.first().cloned();
        return Err(doubt.unwrap_or_else(|| "no path of the load was found".to_owned()));
    }
    Ok(rise)
}

/// Force at which the part has gone `displacement` along its first rise, N.
fn force_at(rise: &[[f64; 2]], displacement: f64) -> Result<f64, String> {
    let Some(after) = rise.iter().position(|r| r[0] >= displacement).filter(|i| *i > 0) else {
        let last = rise.last().map_or(0.0, |r| r[0]);
        return Err(format!(
            "the part resists with growing force only up to {:.3} mm: poke it less deep",
            1e3 * last
        ));
    };
    // Cubic through four neighbours.
    let first = after.saturating_sub(2).min(rise.len().saturating_sub(4));
    let four = &rise[first..rise.len().min(first + 4)];
    let mut force = 0.0;
    for (i, p) in four.iter().enumerate() {
        let others = four.iter().enumerate().filter(|(j, _)| *j != i);
        let weight: f64 = others.map(|(_, q)| (displacement - q[0]) / (p[0] - q[0])).product();
        force += weight * p[1];
    }
    Ok(force)
}

/// A poke: the modulus at which the computed displacement is the one read. Forces of an elastic part go as its modulus, so that
/// `E = E₀ F/F₀(d)` with F₀ the force that the case's own modulus E₀ asks for.
pub(super) fn poked(
    name: &str,
    case: &Case,
    force: &Reading,
    displacement: &Reading,
) -> Result<Estimate, String> {
    if let Some(why) = not_one_modulus(case.part()) {
        return Err(why);
    }
    let load = load_or_pole(case.load());
    let on_the_part = matches!(
        load.kind,
        LoadKind::Pole
            | LoadKind::Ring { .. }
            | LoadKind::Flat
            | LoadKind::Ball { .. }
            | LoadKind::Pusher { .. }
    );
    if !on_the_part {
        return Err("the case's [load] is no weight on the part: a poke wants \"pole\", \"ring\" or a body"
            .to_owned());
    }
    let (loose, places) = loose(case, true);
    let mut readings = vec![force.clone(), displacement.clone()];
    readings.extend(loose);
    let youngs = case.part().material.youngs;
    let mut parts = Parts::new(case, &readings[2..], places);
    let mut model = |v: &[f64]| {
        let needed = force_at(&parts.at(&v[2..], |part| first_rise(part, &load))?, v[1])?;
        Ok(libm::log(youngs * v[0] / needed))
    };
    let mut e = estimate("poke", name, &readings, &[], &mut model)?;
    e.notes.push(format!("Sizes, Poisson ratio and load from the case \"{}\".", case.title));
    Ok(e)
}

/// Frequency of the mode with so many waves round the axis, the lowest being of order 1, Hz.
fn frequency_of(part: &Part, settings: &Settings, waves: u32, order: usize) -> Result<f64, String> {
    let report = modes::modes(part, settings);
    let mode = report.modes.iter().find(|m| m.n == waves && m.order == order);
    mode.and_then(|m| m.frequency_Hz).filter(|f| *f > 0.0).ok_or_else(|| {
        let doubt = report.doubts.first().cloned();
        doubt.unwrap_or_else(|| format!("no mode with {waves} waves, order {order}, was found"))
    })
}

/// A part that rings: `E = E₀ (f/f₀)²` with f₀ the frequency that the case's own modulus gives.
pub(super) fn rings(
    name: &str,
    case: &Case,
    frequency: &Reading,
    inverted: bool,
    waves: u32,
    order: usize,
) -> Result<Estimate, String> {
    if let Some(why) = not_one_modulus(case.part()) {
        return Err(why);
    }
    if case.part().material.density.is_none() {
        return Err("the case gives no density, and a frequency needs one".to_owned());
    }
    let (loose, places) = loose(case, false);
    let mut readings = vec![frequency.clone()];
    readings.extend(loose);
    let youngs = case.part().material.youngs;
    let state = if inverted { State::Inverted } else { State::Natural };
    let settings =
        Settings { state, count: order.max(2), lowest: 1, most: Some(waves.max(2)), pressure: None };
    let mut parts = Parts::new(case, &readings[1..], places);
    let mut model = |v: &[f64]| {
        let computed = parts.at(&v[1..], |part| frequency_of(part, &settings, waves, order))?;
        Ok(libm::log(youngs) + 2.0 * libm::log(v[0] / computed))
    };
    let mut e = estimate("ringing", name, &readings, &[], &mut model)?;
    e.notes.push(format!("Sizes, density and Poisson ratio from the case \"{}\".", case.title));
    Ok(e)
}

/// Roots of `1 + cos λ cosh λ = 0` (clamped and free end) and `1 − cos λ cosh λ = 0` (both free): closed form, to rounding by Newton's
/// method.
pub(super) fn beam_root(clamped: bool, order: usize) -> f64 {
    let sign = if clamped { 1.0 } else { -1.0 };
    let at = order as f64;
    let mut x = if clamped { std::f64::consts::PI * (at - 0.5) } else { std::f64::consts::PI * (at + 0.5) };
    for _ in 0..50 {
        // Divided by cosh λ, which grows without end.
        let (sin, cos) = libm::sincos(x);
        let value = cos + sign / libm::cosh(x);
        let slope = -sin - sign * libm::sinh(x) / (libm::cosh(x) * libm::cosh(x));
        let step = value / slope;
        x -= step;
        if step.abs() < 1e-15 * x {
            break;
        }
    }
    x
}

/// A strip that rings across its thickness: `f = λ² h/(2π L²) √(E/(12 ρ))`.
pub(super) fn strip_rings(
    name: &str,
    readings: &[Reading; 4],
    clamped: bool,
    order: usize,
) -> Result<Estimate, String> {
    let root = beam_root(clamped, order);
    let mut model = |v: &[f64]| {
        let [length, thickness, density, frequency] = v else {
            return Err("four readings are wanted".to_owned());
        };
        if v.iter().any(|x| *x <= 0.0) {
            return Err("a size fell to nothing".to_owned());
        }
        let speed = 2.0 * std::f64::consts::PI * frequency * length * length / (root * root * thickness);
        Ok(libm::log(12.0 * density) + 2.0 * libm::log(speed))
    };
    let mut e = estimate("ringing", name, readings, &[], &mut model)?;
    let slender = readings[0].value / readings[1].value * std::f64::consts::PI / root;
    if slender < 15.0 {
        e.notes.push(
            "A quarter wave of the strip is short against its thickness: shear and rotary inertia, which are left out, lower the frequency."
                .to_owned(),
        );
    }
    if clamped {
        e.notes.push("A clamp that gives makes the frequency, and the modulus from it, too low.".to_owned());
    }
    Ok(e)
}

/// The estimate as the instantaneous modulus, what the memory has taken in `after` seconds put back.
pub(super) fn at_once(e: Estimate, left: [f64; 2], after: f64) -> Estimate {
    let row = BudgetRow {
        input: format!("memory: what is left after {} s", digits(after, 3)),
        value: Some(left[0]),
        deviation: Some(left[1]),
        unit: "1",
        effect: -left[1] / left[0],
        share: 0.0,
    };
    let mut budget = e.budget.clone();
    budget.push(row);
    let mut out = super::estimate::finished(e.kind, &e.test, e.log() - libm::log(left[0]), budget);
    out.notes = e.notes;
    out.notes.push(format!(
        "Read {} s after loading, when {:.1} % of the instantaneous modulus are left; given here: the instantaneous one.",
        digits(after, 3),
        100.0 * left[0]
    ));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_chance::Stream;

    /// Leissa and the textbooks: 1.8751, 4.6941, 7.8548 and 4.7300, 7.8532 (from memory).
    #[test]
    fn roots_of_beams() {
        for (clamped, order, root) in [
            (true, 1, 1.875_104),
            (true, 2, 4.694_091),
            (true, 3, 7.854_757),
            (false, 1, 4.730_041),
            (false, 2, 7.853_205),
        ] {
            assert!((beam_root(clamped, order) - root).abs() < 2e-6);
        }
    }

    /// A cap on a ring whose path is followed as far as it is poked; sizes with tolerances.
    fn cap(more: &str, density: &str) -> Case {
        let text = format!(
            "title = \"c\"\n[shape]\nkind = \"cap\"\nradius = \"26.0 mm\"\nhalf_angle = \"60 deg\"\n[wall]\n\
             thickness = \"2.40 ± 0.05 mm\"\n[material]\nyoungs_modulus = \"1 MPa\"\npoisson_ratio = 0.49\n\
             density = \"1080{density} kg/m^3\"\n{more}"
        );
        let (case, found) =
            calotte_specimen::read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
        case.unwrap_or_else(|| panic!("{found:?}"))
    }

    /// Of 200 true parts drawn within the tolerances (two deviations each), with readings of their own: how many estimates hold the
    /// true modulus in their 95 % interval.
    fn covered(
        case: &Case,
        truth: f64,
        without_density: bool,
        estimate: &dyn Fn(&Part, &mut Stream) -> Estimate,
    ) -> u64 {
        let (loose, places) = loose(case, without_density);
        let youngs = case.givens().iter().position(|g| g.key == "material.youngs_modulus").unwrap();
        let mut hits = 0;
        for seed in 0..200 {
            let mut s = Stream::of(103, seed);
            let mut changes: Vec<(usize, f64)> =
                places.iter().zip(&loose).map(|(i, r)| (*i, r.value + r.deviation * s.normal())).collect();
            changes.push((youngs, truth));
            let (part, _) = case.changed(&changes, None).unwrap();
            let e = estimate(&part, &mut s);
            hits += u64::from((e.interval[0]..=e.interval[1]).contains(&truth));
        }
        hits
    }

    #[test]
    fn pokes_cover() {
        let case = cap("[rim]\nkind = \"ring\"\n[load]\nkind = \"pole\"\nreach = \"0.6 mm\"\n", "");
        let load = load_or_pole(case.load());
        let hits = covered(&case, 1.7e6, true, &|part, s| {
            let force = force_at(&first_rise(part, &load).unwrap(), 0.4e-3).unwrap();
            let [f, d] = [0.01 * force, 0.005e-3];
            let reading =
                |id: &str, value, deviation| Reading { id: id.to_owned(), value, deviation, unit: "1" };
            let read = [
                reading("force", force + f * s.normal(), f),
                reading("displacement", 0.4e-3 + d * s.normal(), d),
            ];
            poked("p", &case, &read[0], &read[1]).unwrap()
        });
        assert!((180..=198).contains(&hits), "{hits} of 200");
    }

    #[test]
    fn parts_that_ring_cover() {
        // A frequency for every tolerance and seed takes its time: the wall's tolerance stands for all.
        let case = cap("[rim]\nkind = \"free\"\n", "");
        let set = Settings { state: State::Natural, count: 2, lowest: 1, most: Some(2), pressure: None };
        let hits = covered(&case, 1.7e6, false, &|part, s| {
            let f = frequency_of(part, &set, 2, 1).unwrap();
            let deviation = 0.01 * f;
            let value = f + deviation * s.normal();
            let reading = Reading { id: "frequency".to_owned(), value, deviation, unit: "Hz" };
            rings("r", &case, &reading, false, 2, 1).unwrap()
        });
        assert!((180..=198).contains(&hits), "{hits} of 200");
    }

    /// Closed form: frequencies go as the root of modulus over density, so a part of four times the modulus rings an octave higher, and
    /// a per cent of density is a per cent of modulus. A wall half as thick again rings as it bends: its lowest mode of two waves is
    /// inextensional (Rayleigh 1881), so the frequency goes as the thickness and the modulus as its square.
    #[test]
    fn a_part_that_rings_gives_its_modulus_back() {
        let case = cap("[rim]\nkind = \"free\"\n", " ± 20");
        let set = Settings { state: State::Natural, count: 2, lowest: 1, most: Some(2), pressure: None };
        let f = frequency_of(case.part(), &set, 2, 1).unwrap();
        let reading =
            Reading { id: "frequency".to_owned(), value: 2.0 * f, deviation: 0.005 * f, unit: "Hz" };
        let e = rings("r", &case, &reading, false, 2, 1).unwrap();
        assert!((e.modulus / 4e6 - 1.0).abs() < 1e-9, "{}", e.modulus);
        let effect = |name: &str| e.budget.iter().find(|b| b.input.contains(name)).unwrap().effect;
        assert!((effect("density") - 10.0 / 1080.0).abs() < 1e-5, "{}", effect("density"));
        assert!((effect("frequency") - 0.005).abs() < 1e-5, "{}", effect("frequency"));
        assert!((effect("thickness") / (0.025 / 2.4) + 2.0).abs() < 0.2, "{}", effect("thickness"));
    }

    #[test]
    fn strips_that_ring_cover() {
        let nominal = [[0.05, 0.1e-3], [2e-3, 0.02e-3], [1080.0, 10.0], [0.0, 0.3]];
        let modulus = 2.5e6_f64;
        let mut hits = 0;
        for seed in 0..200 {
            let mut s = Stream::of(101, seed);
            let t: Vec<f64> = nominal.iter().map(|[v, d]| v + d * s.normal()).collect();
            let f = beam_root(true, 1).powi(2) * t[1] / (2.0 * std::f64::consts::PI * t[0] * t[0])
                * (modulus / (12.0 * t[2])).sqrt();
            let readings = std::array::from_fn(|i| {
                let value = if i == 3 { f + nominal[3][1] * s.normal() } else { nominal[i][0] };
                Reading { id: i.to_string(), value, deviation: nominal[i][1], unit: "1" }
            });
            let e = strip_rings("r", &readings, true, 1).unwrap();
            hits += u64::from((e.interval[0]..=e.interval[1]).contains(&modulus));
        }
        assert!((180..=198).contains(&hits), "{hits} of 200");
    }
}
