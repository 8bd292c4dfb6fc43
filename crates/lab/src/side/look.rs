//! Conducts the measurement of one side view.

use std::f64::consts::{FRAC_PI_2, PI};

use super::cap::{self, CapFit};
use super::compare::compare;
use super::find::{Outline, find, median};
use super::lip::lip;
use super::meridian::{
    Frame, Smooth, Spot, asymmetry, levelled, smooth as smooth_through, spots as spots_of, walls,
};
use super::pieces::{Corner, Pieces, corner, gap, split, straight};
use super::report::{
    FreeForm, Measured, PictureReport, Point, ScaleReport, SideReport, SphereReport, Stance, WallPoint,
    WallReport,
};
use super::{Fault, Scale};
use crate::picture::Gray;

/// Whether the part lies as it was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// As it was made.
    Natural,
    /// Turned inside out.
    Inverted,
}

/// What is asked.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The scale.
    pub scale: Scale,
    /// Natural or inverted.
    pub turn: Turn,
    /// Whether the picture shows the face of a part cut through its axis.
    pub section: bool,
    /// Box to look in: x, y, width, height, px.
    pub crop: Option<[f64; 4]>,
    /// Distance from the camera to the part, m.
    pub distance: Option<f64>,
    /// A computed shape to lay over it: name of the state, and r, z, slope and thickness from the pole to the rim.
    pub computed: Option<(String, Vec<[f64; 4]>)>,
}

/// A camera higher than this over the rim's plane makes a doubt, rad (5°).
const HIGH: f64 = 0.0873;
/// What the camera's height could be where the picture does not tell, rad (2°; common practice, no source).
const UNTOLD: f64 = 0.0349;
/// Schwarz's criterion must favour the free form by this much over the sphere.
const FAVOUR: f64 = 10.0;

fn magnitude(v: [f64; 2]) -> f64 {
    libm::hypot(v[0], v[1])
}

/// Measures a side view; grey values must be proportional to light.
///
/// # Errors
/// [`Fault`].
pub fn look(picture: &Gray, set: &Settings) -> Result<SideReport, Fault> {
    let size = [picture.width(), picture.height()];
    if let Scale::Points { ends, .. } = &set.scale {
        let inside = |p: &&[f64; 2]| (0..2).any(|c| p[c] < -0.5 || p[c] > size[c] as f64 - 0.5);
        if let Some(at) = ends.iter().find(inside) {
            return Err(Fault::ScaleOutside { at: *at, size });
        }
    }
    let outline = find(picture, set.crop)?;
    let pieces = split(&outline, set.section)?;
    let mut found = Found { warnings: Vec::new(), doubts: Vec::new() };
    // The rim's corners and the axis, from the sphere with its cut rim or, of other shapes, from the corners alone.
    let loose = loose_corners(&pieces);
    let cap = if set.turn == Turn::Natural { cap::fit(&pieces, section_hint(&pieces)).ok() } else { None };
    let corners = match cap.as_ref().filter(|c| sphere_is_right(c)) {
        Some(c) => known_corners(c, &pieces),
        None => loose?,
    };
    let mut axis = axis_of(&corners, &pieces);
    if let Some(c) = cap.as_ref().filter(|c| sphere_is_right(c)) {
        // The corners err together; the fit knows how.
        axis.tilt.sd = c.spread(&|x| x[3]);
    }
    let rim_px = gap(corners[0].at, corners[1].at);
    let density = set.scale.density().unwrap_or_else(|| {
        // The rim says the scale.
        let Scale::Rim(d) = &set.scale else { return Measured { value: f64::NAN, sd: f64::NAN } };
        let sd = magnitude([0, 1].map(|k| magnitude(corners[k].sd))) / 2.0_f64.sqrt();
        let value = rim_px / d.value;
        Measured { value, sd: value * libm::hypot(sd / rim_px, d.sd / d.value) }
    });
    let mut frame = Frame { origin: axis.origin, up: axis.up, density: density.value };
    let mut spots = spots_of(&pieces.arc, &frame);
    let mut smooth = smooth_through(&spots, corners, &frame)?;
    if !cap.as_ref().is_some_and(sphere_is_right) {
        // Corners alone tell the axis less well than both halves of the outline do: it is moved to where they agree.
        let axis_sd = axis.tilt.sd;
        for _ in 0..2 {
            let (moved, tilt_sd) = levelled(&frame, &spots, &smooth, [axis.shift_sd, axis_sd]);
            axis.tilt.value = turn_of(moved.up);
            axis.tilt.sd = tilt_sd;
            frame = moved;
            spots = spots_of(&pieces.arc, &frame);
            smooth = smooth_through(&spots, corners, &frame)?;
        }
    }
    let scaled = |m: Measured| {
        // Lengths on the picture carry the scale's error too.
        Measured { value: m.value, sd: libm::hypot(m.sd, m.value * density.sd / density.value) }
    };
    let free_form = free_form(&smooth, &spots, &scaled);
    let sphere = cap.as_ref().map(|c| sphere(c, pieces.margin, density.value, &scaled));
    let (shape, shape_why) = choose(sphere.as_ref(), cap.as_ref(), &free_form, &smooth, set.turn);
    let wall =
        wall(&pieces, cap.as_ref().filter(|_| shape == "sphere"), &smooth, &frame, &scaled, set.section);
    let camera = cap.as_ref().and_then(|c| c.height).filter(|_| !set.section).map(|m| Measured {
        value: libm::asin(m.value.abs().min(1.0)),
        sd: m.sd / (1.0 - m.value * m.value).max(0.01).sqrt(),
    });
    found.camera(camera, set, shape);
    found.picture(&outline, &pieces, cap.as_ref(), density, rim_px);
    let [rms, largest] = asymmetry(&spots, &smooth.residuals);
    let noise = median(spots.iter().map(|s| s.sd).collect());
    if rms > 6.0 * noise && rms > 0.004 * free_form.rim_diameter_m.value {
        found.doubts.push(format!(
            "Left and right half differ by {:.0} µm rms, {:.0} µm at most: the part or its stance is not one of revolution.",
            1e6 * rms,
            1e6 * largest
        ));
    }
    let lip = if set.turn == Turn::Inverted { lip(&smooth).map(|l| scaled_lip(l, &scaled)) } else { None };
    if set.turn == Turn::Inverted && lip.is_none() {
        found.warnings.push(
            "The slope does not turn before the rim by more than its error: no lip is seen (it may hide behind the rim, or the \
             part lies as it was made)."
                .into(),
        );
    }
    let comparison = set.computed.as_ref().and_then(|(state, shape)| {
        compare(state, &super::visible_face(shape), &spots, &smooth.clean(&spots), density, smooth.lift)
    });
    if let Some(c) = comparison.as_ref().filter(|c| c.agreement == "differs") {
        found.doubts.push(c.says.clone());
    }
    let points = points(&pieces, &spots, &smooth, &frame, cap.as_ref(), shape);
    let pole_px = frame.pixels([0.0, smooth.lift]);
    Ok(SideReport {
        schema_version: 1,
        view: if set.turn == Turn::Natural { "natural" } else { "inverted" },
        kind: if set.section { "section" } else { "whole" },
        shape,
        shape_why,
        picture: PictureReport {
            width_px: size[0],
            height_px: size[1],
            part: if outline.dark { "dark on light" } else { "light on dark" },
            blur_px: outline.blur,
            noise_share: outline.noise,
            contrast: outline.contrast,
            edges: outline.edges.len(),
            missed: outline.missed,
            wild: cap.as_ref().map_or(0, |c| c.wild),
        },
        scale: ScaleReport { pixels_per_m: density, from: set.scale.words() },
        stance: Stance {
            pole_px,
            rim_px: corners.map(|c| c.at),
            tilt_rad: axis.tilt,
            camera_rad: camera,
            asymmetry_rms_m: rms,
            asymmetry_largest_m: largest,
        },
        sphere,
        unseen: unseen(set, &free_form, axis.tilt),
        free_form,
        wall,
        lip,
        comparison,
        points,
        doubts: found.doubts,
        warnings: found.warnings,
    })
}

struct Found {
    warnings: Vec<String>,
    doubts: Vec<String>,
}

impl Found {
    fn camera(&mut self, camera: Option<Measured>, set: &Settings, shape: &str) {
        let degrees = |x: f64| x * 180.0 / PI;
        match camera {
            Some(c) if c.value - 2.0 * c.sd > HIGH => self.doubts.push(format!(
                "The camera looks on the rim's plane from {:.1}° above or below: level it; heights are read too small by about {:.1} %.",
                degrees(c.value),
                100.0 * (1.0 - libm::cos(c.value))
            )),
            Some(c) if c.value > 2.0 * c.sd => self.warnings.push(format!(
                "The rim's line is an ellipse: the camera stands {:.3} ± {:.3}° over or under the rim's plane; {}.",
                degrees(c.value),
                degrees(1.96 * c.sd),
                if shape == "sphere" { "the sphere allows for it" } else { "the smooth curve does not allow for it" }
            )),
            None if !set.section => self.warnings.push(format!(
                "The height of the camera over the rim's plane cannot be told from this picture; {:.0}° would lower heights by {:.2} %.",
                degrees(UNTOLD),
                100.0 * (1.0 - libm::cos(UNTOLD))
            )),
            _ => {}
        }
    }

    fn picture(&mut self, o: &Outline, p: &Pieces, cap: Option<&CapFit>, density: Measured, rim_px: f64) {
        if rim_px < 150.0 {
            self.warnings.push(format!(
                "The rim is only {rim_px:.0} pixels wide: a larger picture is read more exactly."
            ));
        }
        if o.blur < 0.4 {
            self.warnings.push(format!(
                "Edges are blurred by only {:.2} px: below about 0.4 px their places are uncertain by a tenth of a pixel.",
                o.blur
            ));
        }
        if o.missed * 5 > o.edges.len() {
            self.warnings.push(format!(
                "{} of {} places of the outline show no clean edge.",
                o.missed,
                o.missed + o.edges.len()
            ));
        }
        if cap.is_some_and(|c| c.table) {
            self.warnings.push(
                "The rim's plane is taken from the table beside the part: it must touch the table all round."
                    .into(),
            );
        }
        let share = density.sd / density.value;
        if share > 0.005 {
            self.warnings.push(format!(
                "The scale is known to {:.1} % only; every length carries that.",
                196.0 * share
            ));
        }
        if cap.is_some_and(|c| c.cut.is_none()) && p.inner.is_none() {
            self.warnings.push(format!(
                "The cut rim is not seen apart from its corners: the wall's thickness is not told, and the rim's diameter and height are those \
                 where the outline meets the rim's line, uncertain by the wall seen there (up to {:.0} µm).",
                1e6 * 2.0 * p.margin / density.value
            ));
        }
    }
}

struct Axis {
    origin: [f64; 2],
    up: [f64; 2],
    tilt: Measured,
    /// Deviation of its place at the rim, px.
    shift_sd: f64,
}

/// Turn of the axis from the nearer direction of the columns, up or down.
fn turn_of(up: [f64; 2]) -> f64 {
    let sign = if up[1] < 0.0 { -1.0 } else { 1.0 };
    libm::atan2(sign * up[0], sign * up[1])
}

/// The axis through the middle of the rim, square to it, from the pole to the rim.
fn axis_of(corners: &[Corner; 2], p: &Pieces) -> Axis {
    let [a, b] = corners.map(|c| c.at);
    let width = gap(a, b);
    let origin = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
    let mut up = [(b[1] - a[1]) / width, (a[0] - b[0]) / width];
    let pole = p.arc[p.arc.len() / 2].at;
    if (origin[0] - pole[0]) * up[0] + (origin[1] - pole[1]) * up[1] < 0.0 {
        up = [-up[0], -up[1]];
    }
    let turn = turn_of(up);
    let sd = magnitude([0, 1].map(|k| corners[k].sd[0] * up[0] + corners[k].sd[1] * up[1])) / width;
    let shift = 0.5 * magnitude([0, 1].map(|k| magnitude(corners[k].sd)));
    Axis { origin, up, tilt: Measured { value: turn, sd }, shift_sd: shift }
}

/// Corners where the arc's ends meet the lines beside them.
fn loose_corners(p: &Pieces) -> Result<[Corner; 2], Fault> {
    let n = p.arc.len();
    let count = 12.min(n / 2);
    let fault = |k: usize| Fault::NoArc { at: p.arc[if k == 0 { 0 } else { n - 1 }].at, corners: Vec::new() };
    let at = |k: usize| {
        let near = if k == 0 { p.arc[..count].to_vec() } else { p.arc[n - count..].to_vec() };
        let end = if k == 0 { p.arc[0].at } else { p.arc[n - 1].at };
        let line = straight(&p.sides[k]).ok_or_else(|| fault(k))?;
        corner(&near, &line, end).filter(|c| gap(c.at, end) < 8.0 * p.margin).ok_or_else(|| fault(k))
    };
    Ok([at(0)?, at(1)?])
}

/// The sphere's corners in the order of the arc's ends.
fn known_corners(cap: &CapFit, p: &Pieces) -> [Corner; 2] {
    let mut at = cap.corners();
    if gap(at[0], p.arc[0].at) > gap(at[1], p.arc[0].at) {
        at.swap(0, 1);
    }
    let sd = [0, 1].map(|c| cap.corner_spread(c));
    at.map(|at| Corner { at, sd })
}

fn sphere_is_right(c: &CapFit) -> bool {
    c.reduced_chi2 < 4.0
}

/// Median way from face to face of a section, px.
fn section_hint(p: &Pieces) -> Option<f64> {
    let inner = p.inner.as_ref()?;
    Some(median(walls(&p.arc, inner).iter().map(|(_, t)| t.value).collect())).filter(|t| t.is_finite())
}

fn sphere(c: &CapFit, margin: f64, density: f64, scaled: &dyn Fn(Measured) -> Measured) -> SphereReport {
    let length = |f: &dyn Fn(&[f64; 8]) -> f64| {
        let m = c.measured(f);
        scaled(Measured { value: m.value / density, sd: m.sd / density })
    };
    let rms = (c.arc.iter().map(|(_, d)| d * d).sum::<f64>() / c.arc.len() as f64).sqrt();
    // Where the cut rim is not seen apart, the outline meets the rim's line somewhere on it.
    let hidden = if c.cut_seen { 0.0 } else { margin };
    let wider = |m: Measured, by: f64| Measured { value: m.value, sd: libm::hypot(m.sd, by) };
    let (hidden_m, alpha) = (hidden / density, c.measured(&|x| x[4]));
    SphereReport {
        radius_m: length(&|x| x[2]),
        half_angle_rad: wider(alpha, hidden / c.measured(&|x| x[2]).value),
        rim_diameter_m: wider(length(&|x| 2.0 * x[2] * libm::sin(x[4])), 2.0 * hidden_m),
        rise_m: wider(length(&|x| x[2] * (1.0 - libm::cos(x[4]))), hidden_m),
        centre_px: c.centre,
        residual_rms_m: rms / density,
        reduced_chi2: c.reduced_chi2,
        correlation_factor: c.correlation,
    }
}

fn free_form(s: &Smooth, spots: &[Spot], scaled: &dyn Fn(Measured) -> Measured) -> FreeForm {
    let rim = s.measured(&|c| 2.0 * c.at(c.length()).r);
    let rms = (s.residuals.iter().map(|r| r[1] * r[1]).sum::<f64>() / spots.len() as f64).sqrt();
    FreeForm {
        intervals: s.curve.report().intervals,
        arc_length_m: scaled(s.measured(&|c| c.length())),
        rim_diameter_m: scaled(rim),
        rise_m: scaled(s.measured(&|c| c.at(c.length()).z - c.at(0.0).z)),
        rim_slope_rad: s.measured(&|c| c.slope(c.length())),
        pole_radius_m: scaled(s.measured(&|c| 1.0 / c.at(0.0).curvature)),
        residual_rms_m: rms,
        reduced_chi2: s.reduced_chi2,
        correlation_factor: s.correlation,
    }
}

/// Sphere or free form, by Schwarz's criterion on the mean squares of their distances from the same edges.
fn choose(
    sphere: Option<&SphereReport>,
    cap: Option<&CapFit>,
    free: &FreeForm,
    s: &Smooth,
    turn: Turn,
) -> (&'static str, String) {
    let (Some(sphere), Some(cap)) = (sphere, cap) else {
        let why = if turn == Turn::Inverted {
            "An inverted part is no sphere near its rim."
        } else {
            "No cap of a sphere with a cut rim settles on the outline."
        };
        return ("free form", why.to_owned());
    };
    let n = s.residuals.len() as f64 / cap.correlation.max(s.correlation);
    let unknowns = s.curve.report().intervals as f64 + 3.0;
    let criterion = |rms: f64, k: f64| n * libm::log(rms * rms) + k * libm::log(n);
    let gain = criterion(sphere.residual_rms_m, 3.0) - criterion(free.residual_rms_m, unknowns);
    let um = |x: f64| format!("{:.1} µm", 1e6 * x);
    let told = format!(
        "{} rms from the sphere, {} from the smooth curve",
        um(sphere.residual_rms_m),
        um(free.residual_rms_m)
    );
    if gain > FAVOUR {
        ("free form", format!("The edges leave the sphere: {told}."))
    } else {
        ("sphere", format!("A sphere describes the outline as well as a smooth curve does: {told}."))
    }
}

fn wall(
    p: &Pieces,
    cap: Option<&CapFit>,
    smooth: &Smooth,
    frame: &Frame,
    scaled: &dyn Fn(Measured) -> Measured,
    section: bool,
) -> Option<WallReport> {
    let density = frame.density;
    if section {
        let inner = p.inner.as_ref()?;
        let feet = super::meridian::Feet::of(&smooth.curve);
        let mut rows: Vec<(f64, Measured)> = walls(&p.arc, inner)
            .into_iter()
            .map(|(e, t)| {
                let [x, z] = frame.metres(e.at);
                let [s, _] = feet.at([x.abs(), z - smooth.lift]);
                (s, Measured { value: t.value / density, sd: t.sd / density })
            })
            .collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mean = |rows: &[(f64, Measured)]| {
            let weight = |m: &Measured| 1.0 / (m.sd * m.sd);
            let total: f64 = rows.iter().map(|r| weight(&r.1)).sum();
            let value = rows.iter().map(|r| weight(&r.1) * r.1.value).sum::<f64>() / total;
            let squares: f64 =
                rows.iter().map(|r| weight(&r.1) * (r.1.value - value) * (r.1.value - value)).sum();
            let excess = (squares / (rows.len() as f64 - 1.0).max(1.0)).max(1.0);
            let factor = smooth.correlation * excess;
            (
                Measured { value, sd: (factor / total).sqrt() },
                rows.iter().map(|r| r.0).sum::<f64>() / rows.len() as f64,
            )
        };
        if rows.len() < 8 {
            return None;
        }
        let groups = (rows.len() / 8).clamp(1, 16);
        let along = rows
            .chunks(rows.len().div_ceil(groups))
            .map(|g| {
                let (t, s) = mean(g);
                WallPoint { arc_m: s, thickness_m: scaled(t) }
            })
            .collect();
        return Some(WallReport {
            seen_at: "both faces",
            thickness_m: scaled(mean(&rows).0),
            rim_lean_rad: None,
            along,
        });
    }
    let cap = cap.filter(|c| c.cut.is_some())?;
    let t = cap.measured(&|x| x[5] * libm::cos(x[6]));
    let lean = cap.measured(&|x| x[6]);
    Some(WallReport {
        seen_at: "cut rim",
        thickness_m: scaled(Measured { value: t.value / density, sd: t.sd / density }),
        rim_lean_rad: (lean.sd > 0.0).then_some(lean),
        along: Vec::new(),
    })
}

fn scaled_lip(l: super::Lip, scaled: &dyn Fn(Measured) -> Measured) -> super::Lip {
    super::Lip {
        width_m: scaled(l.width_m),
        turn_radius_m: scaled(l.turn_radius_m),
        depth_m: scaled(l.depth_m),
        ..l
    }
}

fn points(
    p: &Pieces,
    spots: &[Spot],
    s: &Smooth,
    frame: &Frame,
    cap: Option<&CapFit>,
    shape: &str,
) -> Vec<Point> {
    let mut edges: Vec<([f64; 2], [f64; 2])> = p.arc.iter().map(|e| (e.at, frame.metres(e.at))).collect();
    edges.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]));
    edges
        .iter()
        .zip(spots.iter().zip(&s.residuals))
        .map(|((at, x), (spot, r))| {
            let sphere =
                cap.and_then(|c| c.arc.iter().find(|(e, _)| e.at == *at)).map(|(_, d)| d / frame.density);
            Point {
                x_px: at[0],
                y_px: at[1],
                r_m: x[0],
                z_m: spot.z - s.lift,
                standard_error_m: spot.sd,
                arc_m: r[0],
                residual_m: if shape == "sphere" { sphere.unwrap_or(r[1]) } else { r[1] },
                sphere_residual_m: sphere,
            }
        })
        .collect()
}

/// What one picture cannot show, with sizes where the camera's distance is given.
fn unseen(set: &Settings, free: &FreeForm, tilt: Measured) -> Vec<String> {
    let mut out = Vec::new();
    let r = 0.5 * free.rim_diameter_m.value;
    match set.distance {
        Some(d) if d > 2.0 * r => {
            out.push(format!(
                "Perspective: from {:.2} m the outline of a sphere touches nearer to the camera than its widest circle and is read {:.2} % too large \
                 ((R/D)²/2).",
                d,
                50.0 * (r / d) * (r / d)
            ));
            out.push(format!(
                "Parallax: a scale that lies as far in front of the axis as the rim reaches is {:.2} % too large for it (r/D); lay it in the plane of the axis.",
                100.0 * r / d
            ));
        }
        _ => out.push(
            "Perspective and parallax between scale and part: not seen in one picture; `--distance` gives their size.".into(),
        ),
    }
    out.push(
        "Distortion of the lens: not seen; a long lens and a part in the middle of the picture keep it small (a photographed grid tells)."
            .into(),
    );
    if tilt.value.abs() > FRAC_PI_2 / 3.0 {
        out.push("The part lies far turned in the picture; sizes do not suffer, but check that the rim is the one meant.".into());
    }
    out
}
