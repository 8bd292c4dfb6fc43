//! The words of a side view.

use calotte_answers::explain::digits;
use calotte_desk::Sheet;
use calotte_lab::side::{Measured, SideReport};
use calotte_quantity::{Dimension, find_unit, show};

/// A length with twice its standard error.
fn mm(m: Measured) -> String {
    find_unit("mm", Dimension::Length).map_or_else(String::new, |u| show(m.value, Some(2.0 * m.sd), u))
}

fn degrees(m: Measured) -> String {
    find_unit("deg", Dimension::Angle).map_or_else(String::new, |u| show(m.value, Some(2.0 * m.sd), u))
}

fn um(x: f64) -> String {
    format!("{} µm", digits(1e6 * x, 2))
}

/// The answer as text; every ± is two standard errors.
pub(super) fn page(name: &str, r: &SideReport) -> String {
    let mut p = Sheet::new(&format!("{} VIEW, {}: {name}", r.view.to_uppercase(), r.shape));
    p.text_block("Outer face of the wall. Every ± is two standard errors.");
    p.doubts(&r.doubts);
    p.head("Sizes");
    if let Some(s) = r.sphere.as_ref().filter(|_| r.shape == "sphere") {
        p.row("radius", &mm(s.radius_m));
        p.row("half-angle", &degrees(s.half_angle_rad));
        p.row("rim diameter", &mm(s.rim_diameter_m));
        p.row("rise", &mm(s.rise_m));
    } else {
        let f = &r.free_form;
        p.row("rim diameter", &mm(f.rim_diameter_m));
        p.row(if r.view == "inverted" { "pole below the rim" } else { "rise" }, &mm(f.rise_m));
        p.row("slope at the rim", &degrees(f.rim_slope_rad));
        p.row("radius at the pole", &mm(f.pole_radius_m));
        p.row("length along the meridian", &mm(f.arc_length_m));
    }
    match &r.wall {
        Some(w) => p.row(
            "thickness",
            &format!(
                "{}, seen at {}",
                mm(w.thickness_m),
                if w.along.is_empty() { "the cut rim" } else { "both faces" }
            ),
        ),
        None => p.row("thickness", "not seen"),
    }
    p.item(&r.shape_why);
    if let Some(l) = &r.lip {
        p.head("Lip");
        p.row("width, from the turn of the slope to the rim", &mm(l.width_m));
        p.row("depth, rim from the tangent at the turn", &mm(l.depth_m));
        p.row("slope at the turn", &degrees(l.turn_slope_rad));
        p.row("slope at the rim", &degrees(l.rim_slope_rad));
        if let Some([x, z]) = l.crest_m {
            p.row("crest", &format!("{} mm from the axis, {} above the rim", digits(1e3 * x, 4), um(z)));
        }
    }
    if let Some(w) = r.wall.as_ref().filter(|w| !w.along.is_empty()) {
        p.head("Thickness along the meridian");
        for t in &w.along {
            p.row(&format!("{} mm from the pole", digits(1e3 * t.arc_m, 3)), &mm(t.thickness_m));
        }
    }
    if let Some(c) = &r.comparison {
        p.head("Beside the computed shape");
        p.item(&c.says);
        p.row("chi²", &format!("{} on {} degrees of freedom", digits(c.chi2, 3), digits(c.freedom, 3)));
        p.row("chance of more", &format!("{} %", digits(100.0 * c.chance, 2)));
        p.row("scale moved", &format!("{} of its standard errors", digits(c.scale_moved, 2)));
    }
    p.head("How well it was read");
    p.row(
        "edges",
        &format!(
            "{}, blurred by {} px, noise {} % of the step",
            r.picture.edges,
            digits(r.picture.blur_px, 2),
            digits(100.0 * r.picture.noise_share, 2)
        ),
    );
    p.row("distances from the curve", &format!("{} rms", um(r.free_form.residual_rms_m)));
    p.row(
        "scale",
        &format!(
            "{} px/mm ± {} %; {}",
            digits(1e-3 * r.scale.pixels_per_m.value, 5),
            digits(200.0 * r.scale.pixels_per_m.sd / r.scale.pixels_per_m.value, 2),
            r.scale.from
        ),
    );
    p.row("axis turned in the picture", &degrees(r.stance.tilt_rad));
    match r.stance.camera_rad {
        Some(c) => p.row("camera over the rim's plane", &degrees(c)),
        None => p.row("camera over the rim's plane", "not told by this picture"),
    }
    p.row(
        "left against right half",
        &format!("{} rms, {} at most", um(r.stance.asymmetry_rms_m), um(r.stance.asymmetry_largest_m)),
    );
    p.list("Not seen in one picture", &r.unseen);
    p.list("Warnings", &r.warnings);
    p.text()
}
