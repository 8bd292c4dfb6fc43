//! The answer in words that a student understands.

use crate::report::{Limit, Verdict, VerdictReport};
use crate::verdict::CERTIFICATION;

/// A length with a sensible unit and four significant digits.
pub fn length(m: f64) -> String {
    let (value, unit) = match m.abs() {
        x if x >= 1.0 => (m, "m"),
        x if x >= 1e-5 || x == 0.0 => (m * 1e3, "mm"),
        _ => (m * 1e6, "µm"),
    };
    format!("{} {unit}", digits(value, 4))
}

/// A force with a sensible unit and three significant digits.
pub fn force(n: f64) -> String {
    if n == 0.0 {
        return "0 N".to_owned();
    }
    for (scale, unit) in [(1e3, "kN"), (1.0, "N"), (1e-3, "mN"), (1e-6, "µN")] {
        if n.abs() >= scale {
            return format!("{} {unit}", digits(n / scale, 3));
        }
    }
    format!("{n:.2e} N")
}

/// An energy with a sensible unit and three significant digits.
pub fn energy(j: f64) -> String {
    if j == 0.0 {
        return "0 J".to_owned();
    }
    for (scale, unit) in [(1.0, "J"), (1e-3, "mJ"), (1e-6, "µJ"), (1e-9, "nJ")] {
        if j.abs() >= scale {
            return format!("{} {unit}", digits(j / scale, 3));
        }
    }
    format!("{j:.2e} J")
}

/// A time with a sensible unit and four significant digits.
pub fn duration(s: f64) -> String {
    for (scale, unit) in [(3600.0, "h"), (60.0, "min"), (1.0, "s"), (1e-3, "ms"), (1e-6, "µs")] {
        // Seconds stay seconds up to two minutes, minutes up to two hours.
        let least = if scale > 1.0 { 2.0 * scale } else { scale };
        if s.abs() >= least {
            return format!("{} {unit}", digits(s / scale, 4));
        }
    }
    if s == 0.0 { "0 s".to_owned() } else { format!("{s:.2e} s") }
}

/// A speed with a sensible unit and three significant digits.
pub fn speed(v: f64) -> String {
    if v == 0.0 {
        return "0 m/s".to_owned();
    }
    for (scale, unit) in [(1.0, "m/s"), (1e-3, "mm/s")] {
        if v.abs() >= scale {
            return format!("{} {unit}", digits(v / scale, 3));
        }
    }
    format!("{v:.2e} m/s")
}

/// A frequency with a sensible unit and four significant digits.
pub fn frequency(f: f64) -> String {
    if f.abs() >= 1e3 { format!("{} kHz", digits(f / 1e3, 4)) } else { format!("{} Hz", digits(f, 4)) }
}

/// `count` significant digits, without an exponent for ordinary numbers.
pub fn digits(x: f64, count: i32) -> String {
    if x == 0.0 || !x.is_finite() {
        return format!("{x}");
    }
    let magnitude = libm::floor(libm::log10(x.abs())) as i32;
    if !(-4..7).contains(&magnitude) {
        return format!("{x:.*e}", (count - 1).max(0) as usize);
    }
    format!("{x:.*}", (count - 1 - magnitude).max(0) as usize)
}

/// An angle in degrees.
pub fn degrees(rad: f64) -> String {
    format!("{}°", digits(rad.to_degrees(), 4))
}

/// Warnings from the validity limits that are passed; the one that takes the certificate away is a doubt, not a warning.
pub(crate) fn limits_passed(limits: &[Limit]) -> impl Iterator<Item = String> {
    limits.iter().filter(|l| !l.met && l.name != CERTIFICATION).map(|l| {
        format!("Limit passed, {}: {} is above {}: {}.", l.name, digits(l.value, 3), l.limit, l.consequence)
    })
}

/// Warnings from the validity limits, and what a rim or a mixed batch asks to be said.
pub(crate) fn warnings(r: &mut VerdictReport) {
    r.warnings.extend(limits_passed(&r.evidence.limits));
    if r.part.rim == "frictionless table" {
        r.warnings.push(
            "A frictionless table pushes only where a load presses the part on it; with no load the rim is \
             free, and so it was computed."
                .into(),
        );
    }
    if r.margin.as_ref().and_then(|m| m.spread.as_ref()).is_some_and(|s| s.crosses_threshold) {
        r.warnings.push(
            "The tolerances reach across the threshold: parts made to them will not all behave alike.".into(),
        );
    }
    let lost: Vec<u32> = r.ripples.iter().filter(|q| q.negative > 0).map(|q| q.n).collect();
    if let (Some(first), Some(last), Some(m)) = (lost.first(), lost.last(), &r.margin)
        && m.thickness_ratio < 1.0
    {
        r.warnings.push(format!(
            "The margin is the axisymmetric threshold's. This part lies on its staying side and yet returns: \
             ripples with {first} to {last} waves are lost at its thickness."
        ));
    }
    if !r.part.uniform_wall {
        r.warnings.push(
            "The wall is not uniform: thicknesses quoted are those at the rim, and margins scale the whole \
             wall."
                .into(),
        );
    }
    if let Some(i) = &r.inverted {
        r.warnings.push(format!(
            "Inverted, the part stores {}. When it snaps it gives this back within milliseconds and may jump: keep eyes \
             and faces clear.",
            energy(i.stretching_energy_J + i.bending_energy_J + i.rim_energy_J)
        ));
    }
    r.warnings.push(if r.wait.is_some() {
        "Prediction at rest: handling may tip a part that stays or waits; waits depend strongly on the shape held and on the \
         hold (`calotte release` tells their spread)."
            .into()
    } else {
        "Elastic prediction at rest: a material with memory may hold a part a while that returns here, and \
         handling may tip one that stays."
            .into()
    });
}

/// The explanation.
pub(crate) fn words(r: &mut VerdictReport) {
    let mut out = Vec::new();
    out.push(
        "Turned inside out, a thin shell bends almost for free: the mirror image of its shape is nearly a \
         resting place, because it stretches nothing."
            .to_owned(),
    );
    match (&r.inverted, r.verdict) {
        (_, Verdict::Waits) => {
            out.push(
                "At this thickness the lip at the rim is too wide for the elastic part to stay: it has no inverted \
                 equilibrium. But while it is held, its bending stresses relax, and when it is let go the material still \
                 remembers the inverted shape: for a while an equilibrium exists and holds it. As the material forgets, that \
                 equilibrium drifts to its end, and the part snaps back."
                    .into(),
            );
        }
        (Some(s), Verdict::Stays) => {
            if let (Some(lip), Some(scaled)) = (s.lip_width_m, s.lip_width_over_root_Rh) {
                out.push(format!(
                    "Near the rim the wall bends back towards its natural curvature in a lip {} wide ({} √(Rh)): \
                     there it pays a little stretching ({} % of the energy) to save bending.",
                    length(lip),
                    digits(scaled, 3),
                    digits(
                        100.0 * s.stretching_energy_J / (s.stretching_energy_J + s.bending_energy_J),
                        2
                    )
                ));
            } else {
                out.push(format!(
                    "Stretching takes {} % of the energy, bending the rest.",
                    digits(
                        100.0 * s.stretching_energy_J / (s.stretching_energy_J + s.bending_energy_J),
                        2
                    )
                ));
            }
            out.push(
                "What is left of the mirror image is stiff enough to hold the lip, so the part stays.".into(),
            );
        }
        (Some(_), Verdict::Returns) => {
            let n = r.ripples.iter().find(|q| q.negative > 0).map_or(0, |q| q.n);
            out.push(format!(
                "An axisymmetric inverted equilibrium exists, but it is unstable: it gives way in a pattern with \
                 {n} waves round the circumference, so the part returns."
            ));
        }
        (None, Verdict::Returns) if r.eversion.is_some() => {
            if matches!(r.part.rim.as_str(), "clamped" | "elastic") {
                out.push(
                    "Here the rim is held, so the mirror image cannot reach it: between the two runs a ridge, about \
                     √(Rh) wide, in which the wall bends and stretches, and whose energy falls as it shrinks towards \
                     the pole."
                        .into(),
                );
            }
            let how = r.eversion.as_ref().and_then(|e| e.least_force_N).map_or_else(
                || "a force that rises all the way".to_owned(),
                |f| format!("a force all the way, after its first peak never less than {}", force(f)),
            );
            out.push(format!(
                "Pushed over by its pole, axisymmetrically, the part needs {how}. Nothing holds it inverted, so it \
                 returns as soon as it is let go."
            ));
        }
        (None, Verdict::Returns) => out.push(
            "At this thickness the lip at the rim would be so wide, compared with the part, that nothing of the \
             mirror image is left to hold it: there is no inverted equilibrium, and the part rolls back."
                .into(),
        ),
        (_, _) => out.push("The evidence does not carry a verdict; the doubts say why.".into()),
    }
    if let Some(m) = &r.margin {
        let off = 100.0 * (m.thickness_ratio - 1.0).abs();
        let side = if m.thickness_ratio < 1.0 { "thinner" } else { "thicker" };
        out.push(format!(
            "The threshold thickness at this depth is {}; the part is {} % {side} than that.",
            length(m.threshold_thickness_m),
            digits(off, 2)
        ));
        if let Some(d) = &m.depth {
            let angle =
                d.threshold_half_angle_rad.map_or(String::new(), |a| format!("half-angle {}, ", degrees(a)));
            out.push(format!(
                "At its own thickness the threshold lies at {angle}rise {}: deeper parts stay, shallower ones \
                 return.",
                length(d.threshold_rise_m)
            ));
        }
    }
    if let Some(w) = &r.wait {
        let hold = w.protocol.first().map_or("", String::as_str);
        match (r.verdict, w.rests, w.wait_s) {
            (Verdict::Waits, _, Some(t)) => out.push(format!("{hold} Let go, it rests for {} before it snaps.", duration(t))),
            (Verdict::Returns, Some(false), _) => out.push(format!(
                "{hold} That is not enough to hold it: when it is let go there is no equilibrium to rest in, and only inertia \
                 delays the snap."
            )),
            (Verdict::Stays, ..) => out.push(
                "The memory of the material does not change that: relaxing at constant Poisson ratio softens bending and \
                 stretching alike."
                    .into(),
            ),
            _ => {}
        }
        if let (Some(from), Some(to), Some(most)) = (w.band_from_m, w.band_to_m, w.band_at_most_m) {
            out.push(format!(
                "Walls from {} to {} wait after a hold of the mirror image as long as this one, up to {} after a hold without \
                 end.",
                length(from),
                length(to),
                length(most)
            ));
        }
    }
    let layered =
        r.margin.as_ref().is_some_and(|m| m.sensitivities.iter().any(|s| s.input.starts_with("layers.")));
    out.push(if layered {
        "Geometry and the layers decide: what they are made of in proportion, and what heat makes of them; one modulus for all \
         would only set the forces."
            .into()
    } else if r.part.rim == "elastic" {
        "The rim's springs are set against the wall's stiffness, so here the modulus matters beside the geometry.".into()
    } else {
        "Geometry decides (and a little Poisson's ratio): the modulus sets the forces, not the verdict.".into()
    });
    r.explanation = out;
}
