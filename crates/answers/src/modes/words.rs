//! The answer in sentences.

use crate::explain::{digits, frequency};
use crate::modes::report::{Kind, Loss, Mode, ModesReport};
use crate::poke::words::quantity;

/// "3 waves and 1 nodal circle".
pub fn pattern(m: &Mode) -> String {
    let around = match m.n {
        0 if m.kind == Kind::Torsion => "twisting round the axis".to_owned(),
        0 => "the same all round".to_owned(),
        1 => "1 wave".to_owned(),
        n => format!("{n} waves"),
    };
    match m.nodal_circles {
        0 => around,
        1 => format!("{around}, 1 nodal circle"),
        c => format!("{around}, {c} nodal circles"),
    }
}

/// A mode's frequency, in Hz where there is a density, else in √(E/ρ)/R.
pub fn pitch(m: &Mode) -> String {
    match m.frequency_Hz {
        Some(f) => frequency(f),
        None if m.omega_squared > 0.0 => format!("{} √(E/ρ)/R", digits(m.omega_squared.sqrt(), 5)),
        None => "unstable".to_owned(),
    }
}

pub(super) fn say(r: &mut ModesReport) {
    let mut out = Vec::new();
    if let Some(m) = r.lowest.first().map(|i| &r.modes[*i]) {
        let turned = if m.n > 0 { ", in any direction round the axis" } else { "" };
        out.push(format!(
            "About its {} shape it vibrates lowest at {}: {}{turned}; {} % of the energy bends the wall.",
            r.state,
            pitch(m),
            pattern(m),
            digits(100.0 * m.bending_share, 3)
        ));
    }
    let rigid: usize = r.rigid.iter().map(|g| if g.n > 0 { 2 * g.count } else { g.count }).sum();
    if rigid > 0 {
        out.push(format!(
            "It is free to move as a rigid body in {rigid} way{}; those cost nothing and are left out.",
            if rigid == 1 { "" } else { "s" }
        ));
    }
    let pa = |v: f64| quantity(v, "Pa");
    if let Some(p) = &r.pressure {
        let first = p.first.map(|i| &p.losses[i]);
        let face = &p.face;
        match (first, p.axisymmetric_limit_Pa) {
            (Some(l), limit) if limit.is_none_or(|x| l.pressure_Pa < x) => {
                // Forms of several n may be lost together, as those of a sphere are.
                let near = |m: &&Loss| m.pressure_Pa < l.pressure_Pa * (1.0 + 1e-7);
                let together: Vec<u32> = p.losses.iter().filter(near).map(|m| m.n).collect();
                let waves = match (&together[..], l.n) {
                    ([a, .., b], _) => format!("in {a} to {b} waves alike"),
                    (_, 0) => "with the shape kept round".to_owned(),
                    (_, 1) => "in 1 wave".to_owned(),
                    (_, n) => format!("in {n} waves"),
                };
                out.push(format!(
                    "Pressed on the {face}, it buckles at {} {waves}: {} times the classical pressure of a complete sphere.",
                    pa(l.pressure_Pa),
                    digits(l.ratio, 4)
                ));
                if let Some(x) = limit {
                    out.push(format!(
                        "Kept round it would carry {}, where the pressure has its limit.",
                        pa(x)
                    ));
                }
            }
            (_, Some(x)) => out.push(format!(
                "Pressed on the {face}, it gives way at {}, kept round; no waves are lost before.",
                pa(x)
            )),
            _ => out.push(format!(
                "Pressed on the {face}, nothing gives way up to {}: {}.",
                pa(p.followed_to_Pa),
                p.ended
            )),
        }
        if face == "outside" {
            out.push(
                "These are pressures of a perfect shape: real shells buckle well below, by their imperfections.".to_owned(),
            );
        }
    }
    r.explanation = out;
}
