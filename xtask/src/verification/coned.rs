//! Coned discs: shell theory beside the rigid-section formula. Not a check: the two theories differ.

use std::fmt::Write;

use calotte_oracle::coned_disc::{Disc, TABLE};
use calotte_shell::{Grading, Loaded, Mesh, Model, natural};
use calotte_solve::Work;
use calotte_solve::follow::{self, PathPoint, Watch};
use calotte_specimen::{Material, Meridian, Part, Rim, Straight, Wall};

/// Ratios of the diameters.
const RATIOS: [f64; 5] = [1.01, 1.05, 1.2, 1.5, 2.0];
/// h₀ over the width: so small that the formula's small slopes are no part of the difference.
const SLOPE: f64 = 0.005;

/// Forces at the deflections asked for (increasing), by shell theory: an axial force on the inner edge, the outer edge
/// on a frictionless ring.
fn forces(disc: &Disc, deflections: &[f64]) -> Option<Vec<f64>> {
    let radius = 0.5 * disc.outer;
    let width = 0.5 * (disc.outer - disc.inner);
    let part = Part {
        meridian: Meridian::Straight(Straight {
            start: 0.5 * disc.inner,
            slope: libm::atan2(disc.height, width),
            length: libm::hypot(disc.height, width),
        }),
        wall: Wall::uniform(disc.thickness),
        material: Material { youngs: disc.youngs, poisson: disc.poisson, density: None },
        rim: Rim::Ring,
    };
    let grading = Grading { longest: 0.05 * width / radius, ..Grading::default() };
    let model = Model::new(&part, radius, &Mesh::graded(&part, radius, &grading));
    // The formula's force at half the height keeps the parameter of order one.
    let unit = disc.force(0.5 * disc.height) / (disc.youngs * radius * radius);
    let pushed = Loaded::on_inner_end(&model, 1.0, unit);
    let at = model.inner_height();
    let from = natural(&model);
    let top = from[at];
    let travel = |p: &PathPoint| (p.x[at] - top) * radius;
    let mut work = Work::default();
    let slope = disc.height / width;
    let set = follow::Settings {
        step: 0.02 * slope,
        longest: 0.1 * slope,
        weight: 0.1 * slope,
        points: 800,
        ..follow::Settings::default()
    };
    let mut wanted = deflections.iter().copied().peekable();
    let mut around: Vec<(f64, PathPoint, PathPoint)> = Vec::new();
    let from = follow::start(&pushed, from, 0.0, true, set.weight, &mut work)?;
    follow::follow(&pushed, from, &set, &mut work, |here, next| {
        while let Some(&s) = wanted.peek() {
            if travel(next) < s {
                return Watch::Go;
            }
            around.push((s, here.clone(), next.clone()));
            wanted.next();
        }
        Watch::Stop
    });
    if around.len() < deflections.len() {
        return None;
    }
    around
        .iter()
        .map(|(s, a, b)| {
            let found =
                follow::locate(&pushed, a, b, &set, 1e-9, &mut work, |p, _| Some(travel(p) / s - 1.0))?;
            Some(found.point.t * unit * disc.youngs * radius * radius)
        })
        .collect()
}

/// A disc of outer diameter 2, h₀/t = 1.
fn ring(ratio: f64, poisson: f64, slope: f64) -> Disc {
    let inner = 2.0 / ratio;
    let height = slope * 0.5 * (2.0 - inner);
    Disc { outer: 2.0, inner, thickness: height, height, youngs: 1.0, poisson }
}

/// Shell force over formula at shares of the height.
fn ratios(disc: &Disc, shares: &[f64]) -> Option<Vec<f64>> {
    let at: Vec<f64> = shares.iter().map(|s| s * disc.height).collect();
    let found = forces(disc, &at)?;
    Some(found.iter().zip(&at).map(|(f, s)| f / disc.force(*s)).collect())
}

/// The section of the page.
pub(crate) fn render() -> String {
    let mut out = String::from(
        "\n## Coned discs: shell theory against the rigid-section formula\n\n\
         No check, and nothing here is met or not met: two theories that differ, and by how much. The formula is that of \
         Almen & Laszlo 1936 and EN 16984 (closed form, evaluated in crates/oracle): the section turns without bending. \
         The shell is this program's: an axial force on the inner edge of the mid-surface, the outer edge on a \
         frictionless ring, both edges free to turn and to slide. The formula's diameters and height are those of the \
         edges where these loads act, so its lever arm is the distance between them. Forces at the deflections s = h₀/2 \
         and s = h₀.\n\n\
         Left out by both: friction at the edges, bearing flats. Left out by the shell: that the loads of a real disc act \
         on corners of its rectangular section, half a thickness off the mid-surface, so that the lever arm changes as \
         the section turns; and that the wall is no thin one when the width is a few thicknesses.\n\n\
         The two do **not** agree for narrow rings at ν = 0.3: the ratio tends to 1 − ν² = 0.91. A narrow section \
         carries no stress along the meridian and narrows or widens freely, so its hoop's stiffness is E; the formula \
         puts E/(1 − ν²). At ν = 0, where that makes no difference, they agree for narrow rings. A wider section bends, \
         which the formula forbids, and takes stress along the meridian: the ratio drifts from its narrow limit, by 1 to \
         3 % where the outer diameter is twice the inner one. The factor 1/(1 − ν²) \
         makes most of the difference at ν = 0.3, at every width listed.\n\n\
         Shell over formula, h₀/t = 1, h₀ = 0.005 × width (shallow: half of it changes no number by more than 1e-4):\n\n\
         | outer / inner diameter | ν = 0.3, h₀/2 | ν = 0.3, h₀ | over 1 − ν²: h₀/2 | over 1 − ν²: h₀ | ν = 0, h₀/2 | ν = 0, h₀ |\n\
         |---|---|---|---|---|---|---|\n",
    );
    let missing = || vec![f64::NAN; 4];
    for ratio in RATIOS {
        let (steel, cork) = (ring(ratio, 0.3, SLOPE), ring(ratio, 0.0, SLOPE));
        let a = ratios(&steel, &[0.5, 1.0]).unwrap_or_else(missing);
        let b = ratios(&cork, &[0.5, 1.0]).unwrap_or_else(missing);
        let free = steel.narrow_ratio();
        // Writing to a string cannot fail.
        let _ = writeln!(
            out,
            "| {ratio} | {:.4} | {:.4} | {:.4} | {:.4} | {:.4} | {:.4} |",
            a[0],
            a[1],
            a[0] / free,
            a[1] / free,
            b[0],
            b[1]
        );
    }
    out.push_str(
        "\nDiscs of the standard's sizes (E = 206 GPa, ν = 0.3), outer × inner diameter × thickness, in newtons; the \
         diameters and h₀ taken as those of the mid-surface edges. EN 16983 prints the load at 3/4 h₀ (from memory).\n\n\
         | disc | s/h₀ | formula, N | shell, N | shell / formula | printed, N |\n|---|---|---|---|---|---|\n",
    );
    for t in TABLE {
        let shares = [0.25, 0.5, 0.75, 1.0];
        let found = ratios(&t.disc, &shares).unwrap_or_else(missing);
        for (share, ratio) in shares.iter().zip(found) {
            let formula = t.disc.force(share * t.disc.height);
            let printed = if *share == 0.75 { format!("{}", t.printed) } else { String::new() };
            let _ = writeln!(
                out,
                "| {} | {share} | {formula:.1} | {:.1} | {ratio:.4} | {printed} |",
                t.name,
                ratio * formula
            );
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shell_over_formula(disc: &Disc) -> Vec<f64> {
        ratios(disc, &[0.5, 1.0]).unwrap_or_default()
    }

    fn apart(a: &[f64], b: &[f64]) -> f64 {
        assert!(a.len() == 2 && b.len() == 2);
        a.iter().zip(b).map(|(x, y)| (x / y - 1.0).abs()).fold(0.0, f64::max)
    }

    /// Without a Poisson effect the two theories meet in the limit of a narrow ring; with it they stay 1 − ν² apart.
    #[test]
    fn narrow_rings_tend_to_the_formula() {
        for poisson in [0.0, 0.3, 0.5] {
            let off = |ratio: f64| {
                let disc = ring(ratio, poisson, SLOPE);
                apart(&shell_over_formula(&disc), &[disc.narrow_ratio(); 2])
            };
            let (narrow, wide) = (off(1.01), off(2.0));
            assert!(narrow < 1e-4 && wide > 1e-3, "{poisson}: {narrow:e} {wide:e}");
        }
    }

    /// The page's numbers are those of shallow discs.
    #[test]
    fn the_slope_is_small_enough() {
        for ratio in [1.05, 2.0] {
            let at = |slope: f64| shell_over_formula(&ring(ratio, 0.3, slope));
            let off = apart(&at(SLOPE), &at(0.5 * SLOPE));
            assert!(off < 1e-4, "{ratio}: {off:e}");
        }
    }
}
