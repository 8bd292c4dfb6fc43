//! A case file and a profile from a side view.

use std::fmt::Write;

use calotte_quantity::{Dimension, find_unit, show};

use super::{Measured, SideReport};

/// What the picture does not show, as it goes into the case file.
#[derive(Clone, Debug, Default)]
pub struct CaseWords {
    /// Name of the picture.
    pub picture: String,
    /// Thickness as people write it, where the picture does not tell it.
    pub thickness: Option<String>,
    /// Material of the shelf.
    pub material: Option<String>,
}

fn length(m: Measured) -> String {
    find_unit("mm", Dimension::Length).map_or_else(String::new, |u| show(m.value, Some(2.0 * m.sd), u))
}

/// The meridian's points as `[r, z]` rows in mm, from the pole to the rim, for `file = "profile.csv"` of a case.
pub fn profile_csv(r: &SideReport) -> String {
    let mut rows: Vec<(f64, [f64; 2])> = r.points.iter().map(|p| (p.arc_m, [p.r_m.abs(), p.z_m])).collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows.push((
        r.free_form.arc_length_m.value,
        [0.5 * r.free_form.rim_diameter_m.value, r.free_form.rise_m.value],
    ));
    let mut out = String::from("r_mm,z_mm\n");
    for (_, [x, z]) in rows {
        let _ = writeln!(out, "{:.4},{:.4}", 1e3 * x, 1e3 * z);
    }
    out
}

/// A case file that `calotte verdict` accepts; `None` for an inverted view, or where neither picture nor words tell the thickness.
/// Tolerances are two standard errors. `profile.csv` is expected beside it where the shape is free.
pub fn case_file(r: &SideReport, words: &CaseWords) -> Option<String> {
    let measured = r.wall.as_ref().map(|w| length(w.thickness_m));
    let thickness = words.thickness.clone().or(measured).filter(|_| r.view == "natural")?;
    let picture = words.picture.replace(['"', '\\', '\n', '\r'], "_");
    let mut out = format!(
        "# Read off a side view; tolerances are two standard errors.\ntitle = \"Side view {picture}\"\n\n[shape]\n"
    );
    match r.sphere.as_ref().filter(|_| r.shape == "sphere") {
        Some(s) => {
            let degrees = find_unit("deg", Dimension::Angle).map_or_else(String::new, |u| {
                show(s.half_angle_rad.value, Some(2.0 * s.half_angle_rad.sd), u)
            });
            let _ = write!(
                out,
                "kind = \"cap\"\nsurface = \"outer\"\nradius = \"{}\"\nhalf_angle = \"{degrees}\"\n",
                length(s.radius_m)
            );
        }
        None => {
            let sd = r.free_form.residual_rms_m.max(1e-9);
            let share = r.scale.pixels_per_m.sd / r.scale.pixels_per_m.value;
            let _ = write!(
                out,
                "kind = \"meridian\"\nfile = \"profile.csv\"\nsurface = \"outer\"\nposition_sd = \"{:.5} mm\"\nscale = \"1 ± {:.6}\"\n",
                1e3 * sd,
                2.0 * share.max(1e-6)
            );
        }
    }
    let _ = write!(out, "\n[wall]\nthickness = \"{thickness}\"\n\n[material]\n");
    match &words.material {
        Some(m) => {
            let _ = writeln!(out, "name = \"{m}\"");
        }
        None => out.push_str("name = \"silicone-30\"    # NOT measured: name your own (`calotte shelf`)\n"),
    }
    out.push_str("\n[rim]\nkind = \"free\"                # NOT measured\n");
    Some(out)
}
