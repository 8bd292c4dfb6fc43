//! A guide for cutting slices from a hollow ball: a ring stand that holds it, the height at which it is scribed, strips to wrap round it.
//!
//! A ball of outer radius R rests with the pole of the slice upwards in a ring of inner radius a whose edge lies at height t: its centre
//! stands at z_c = t + √(R² − a²). A slice whose middle surface has half-angle α is cut at the plane R_m cos α over the centre, R_m the
//! radius of the middle surface; on the outer surface that is the colatitude α_o with R cos α_o = R_m cos α. Closed form. The cut is
//! level, while theory cuts along the wall's normal: the middle surface ends at the same place.

use std::f64::consts::PI;

use calotte_solid::{Mesh, Turned, check, segments};
use calotte_specimen::{Meridian, Part};

use crate::cautions::put_cautions;
use crate::sketch::{Anchor, Layer, Page, Paper, Sketch, paragraph};
use crate::strip::{Strip, TAB, TooLong, strip};

/// What can be chosen; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    /// Sheet that is printed on.
    pub paper: Paper,
    /// Width of the strips.
    pub wide: f64,
    /// Thickness of the paper.
    pub thick: f64,
    /// Pieces of each strip; as few as fit where nothing is said.
    pub pieces: Option<usize>,
    /// Inner radius of the ring's edge over the ball's outer radius.
    pub ring: f64,
}

impl Default for Choice {
    /// Usual; common practice, no source.
    fn default() -> Self {
        Self { paper: Paper::ALL[2], wide: 12.0, thick: 0.1, pieces: None, ring: 0.7 }
    }
}

/// A slice that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Its label.
    pub label: String,
    /// Half-angle of its middle surface, rad.
    pub half_angle: f64,
    /// What is predicted of it, in words; empty where it was not asked.
    pub predicted: String,
}

/// A slice with its numbers, mm and rad.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Slice {
    /// Its label.
    pub label: String,
    /// Half-angle of the middle surface.
    pub half_angle_rad: f64,
    /// Half-angle of the cut on the outer surface.
    pub outer_half_angle_rad: f64,
    /// Height of the outer pole over the cut.
    pub outer_rise_m: f64,
    /// Height of the middle surface's pole over the cut.
    pub rise_m: f64,
    /// Radius of the cut's outer edge.
    pub cut_radius_m: f64,
    /// Height of the cut over the table that the stand rests on.
    pub scribe_height_m: f64,
    /// Length of the strip's marking edge.
    pub strip_length_m: f64,
    /// Pieces of the strip.
    pub strip_pieces: usize,
    /// What is predicted.
    pub predicted: String,
}

/// A guide.
#[derive(Clone, Debug)]
pub struct Guide {
    /// The slices.
    pub slices: Vec<Slice>,
    /// Pages: instructions first, then strips.
    pub pages: Vec<Page>,
    /// The ring stand, m.
    pub stand: Mesh,
    /// Its height, and the radius of its edge, m.
    pub ring: [f64; 2],
    /// Height of the ball's centre over the table, m.
    pub centre: f64,
    /// What the maker should know.
    pub notes: Vec<String>,
}

/// Most slices of a guide.
pub const MOST_SLICES: usize = 24;

/// Outer radius of the ball and its wall, mm.
///
/// # Errors
/// [`TooLong`]: what is wrong and what would work, where the part is no slice of a hollow ball.
fn ball(part: &Part) -> Result<(f64, f64), TooLong> {
    match &part.meridian {
        Meridian::Sphere(s) if s.hole_angle == 0.0 && part.wall.is_uniform() => {
            let h = part.wall.thickness(0.0);
            Ok((1e3 * (s.radius + 0.5 * h), 1e3 * h))
        }
        _ => Err(TooLong {
            says:
                "a guide for slices from a hollow ball needs a cap of a sphere with an even wall and no hole"
                    .to_owned(),
            help: "`--what mould` or `--what drawing` takes other parts".to_owned(),
        }),
    }
}

/// The calibration bars: 100 mm across and 50 mm up.
fn bars(s: &mut Sketch, at: [f64; 2]) {
    for (from, to, n) in [(at, [at[0] + 100.0, at[1]], 10), (at, [at[0], at[1] + 50.0], 5)] {
        s.line(Layer::Outline, from, to);
        let along = [(to[0] - from[0]) / f64::from(n), (to[1] - from[1]) / f64::from(n)];
        for k in 0..=n {
            let p = [from[0] + f64::from(k) * along[0], from[1] + f64::from(k) * along[1]];
            let tick = if k % 5 == 0 { 3.0 } else { 1.8 };
            let across = if along[0] > 0.0 { [0.0, -tick] } else { [-tick, 0.0] };
            s.line(Layer::Words, p, [p[0] + across[0], p[1] + across[1]]);
        }
    }
    s.text(
        [at[0] + 4.0, at[1] + 1.5],
        2.6,
        Anchor::Start,
        "100 mm across, 50 mm up: measure both; print at 100 %, without fitting to the page",
    );
}

/// The guide.
///
/// # Errors
/// [`TooLong`]: what is wrong and what would work.
pub fn guide(
    part: &Part,
    title: &str,
    wanted: &[Wanted],
    choice: &Choice,
    cautions: &[String],
) -> Result<Guide, TooLong> {
    let (outer, wall) = ball(part)?;
    if wanted.is_empty() || wanted.len() > MOST_SLICES {
        return Err(TooLong {
            says: format!("{} slices cannot be laid out", wanted.len()),
            help: format!("give 1 to {MOST_SLICES} half-angles"),
        });
    }
    if !(0.2..=0.95).contains(&choice.ring)
        || !(4.0..=40.0).contains(&choice.wide)
        || !(0.0..=2.0).contains(&choice.thick)
    {
        return Err(TooLong {
            says: "the ring, the strip's width or the paper's thickness cannot be so".to_owned(),
            help: "the ring's radius is 0.2 to 0.95 of the ball's, a strip 4 to 40 mm wide, paper up to 2 mm thick".to_owned(),
        });
    }
    let middle = outer - 0.5 * wall;
    let edge = choice.ring * outer;
    let up = (outer * outer - edge * edge).sqrt();
    // The ball hangs clear of the table.
    let tall = (outer - up + 3.0).max(10.0).ceil();
    let centre = tall + up;
    let mut slices = Vec::new();
    let mut strips: Vec<(usize, Strip)> = Vec::new();
    let mut notes = Vec::new();
    for w in wanted {
        let plane = middle * libm::cos(w.half_angle);
        if !(w.half_angle > 0.0 && w.half_angle < PI && plane.abs() < outer - wall) {
            return Err(TooLong {
                says: format!(
                    "a slice of half-angle {:.2}° cannot be cut from a ball of radius {outer:.2} mm with a wall of {wall:.2} mm",
                    w.half_angle.to_degrees()
                ),
                help: "its cut has to pass through the hollow".to_owned(),
            });
        }
        let angle = libm::acos(plane / outer);
        let one = strip(outer, angle, choice.wide, choice.thick, &choice.paper, choice.pieces)?;
        if centre + plane <= tall + 1.0 {
            notes.push(format!("The cut of {} lies at or below the ring's edge: turn the ball over, or mark it with its strip.", w.label));
        }
        slices.push(Slice {
            label: w.label.clone(),
            half_angle_rad: w.half_angle,
            outer_half_angle_rad: angle,
            outer_rise_m: 1e-3 * (outer - plane),
            rise_m: 1e-3 * (middle - plane),
            cut_radius_m: 1e-3 * outer * libm::sin(angle),
            scribe_height_m: 1e-3 * (centre + plane),
            strip_length_m: 1e-3 * one.length,
            strip_pieces: one.pieces,
            predicted: w.predicted.clone(),
        });
        strips.push((slices.len() - 1, one));
    }
    notes.push("The cut is level; theory cuts along the wall's normal. The middle surface ends at the same place, the rim's faces differ by half the wall at most.".to_owned());
    let mut pages = vec![first(title, [outer, wall, edge, tall, centre], &slices, choice, cautions)];
    pages.extend(strip_pages(title, &strips, &slices, choice));
    let stand = stand(edge, tall, outer)
        .map_err(|says| TooLong { says, help: "another `--ring` may do".to_owned() })?;
    Ok(Guide { slices, pages, stand, ring: [1e-3 * tall, 1e-3 * edge], centre: 1e-3 * centre, notes })
}

/// The ring stand as a solid: the ball touches its inner edge, below which it gives way.
fn stand(edge: f64, tall: f64, outer: f64) -> Result<Mesh, String> {
    let foot = (edge + 8.0).max(0.9 * outer);
    let outline = [[edge + 0.6 * (foot - edge) * 0.5, 0.0], [foot, 0.0], [edge + 3.0, tall], [edge, tall]];
    let turned = Turned {
        outline: outline.iter().map(|p| p.map(|v| 1e-3 * v)).collect(),
        flats: Vec::new(),
        around: segments(1e-3 * foot, 5e-6),
        about: 48,
    };
    let mesh = turned.mesh()?;
    check(&mesh).map_err(|e| e.to_string())?;
    Ok(mesh)
}

fn first(
    title: &str,
    [outer, wall, edge, tall, centre]: [f64; 5],
    slices: &[Slice],
    choice: &Choice,
    cautions: &[String],
) -> Page {
    let [wide, high] = choice.paper.size;
    let (left, right) = (Paper::MARGIN + 5.0, wide - Paper::MARGIN - 5.0);
    let mut s = Sketch::default();
    let mut y = high - Paper::MARGIN - 8.0;
    s.bold([left, y], 5.5, Anchor::Start, "Slices from a hollow ball: cutting guide");
    y = paragraph(&mut s, [left, y - 7.0], 3.2, right - left, title) - 2.0;
    // The ball in its ring, to a scale that fits.
    let room = [0.46 * (right - left), 70.0];
    let scale = (room[0] / (2.2 * outer.max(edge + 8.0))).min(room[1] / (centre + outer + 6.0)).min(1.0);
    let base = [left + 0.5 * room[0], y - room[1]];
    let at = |r: f64, z: f64| [base[0] + scale * r, base[1] + scale * z];
    s.line(Layer::Words, at(-1.1 * outer, 0.0), at(1.1 * outer, 0.0));
    s.arc(Layer::Outline, at(0.0, centre), scale * outer, 0.0, 2.0 * PI);
    s.arc(Layer::Hatch, at(0.0, centre), scale * (outer - wall), 0.0, 2.0 * PI);
    let foot = (edge + 8.0).max(0.9 * outer);
    for side in [-1.0, 1.0] {
        let ring = [[edge + 0.3 * (foot - edge), 0.0], [foot, 0.0], [edge + 3.0, tall], [edge, tall]];
        s.path(Layer::Outline, ring.iter().map(|p| at(side * p[0], p[1])).collect(), true);
    }
    s.line(Layer::Centre, at(0.0, 0.0), at(0.0, centre + outer + 4.0 / scale));
    for slice in slices {
        let z = 1e3 * slice.scribe_height_m;
        let r = 1e3 * slice.cut_radius_m;
        s.line(Layer::Cut, at(-r, z), at(r, z));
    }
    // Labels of cuts stand apart however near the cuts are.
    let mut labels: Vec<(f64, &str)> =
        slices.iter().map(|c| (base[1] + scale * 1e3 * c.scribe_height_m, c.label.as_str())).collect();
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut last = f64::NEG_INFINITY;
    for (z, label) in labels {
        let place = z.max(last + 2.8);
        last = place;
        let x = base[0] + scale * outer + 2.0;
        s.line(Layer::Dimension, [x - 1.5, z], [x + 2.0, place]);
        s.text([x + 2.6, place - 0.9], 2.4, Anchor::Start, label);
    }
    let x = left + 0.56 * (right - left);
    let mut t = y - 2.0;
    let steps = [
        format!("1. Ball of outer diameter {:.2} mm, wall {wall:.2} mm. Measure both again; they are in the case file.", 2.0 * outer),
        format!("2. Ring stand {tall:.1} mm high, inner edge of diameter {:.2} mm: print it from its file, or turn it. The ball's centre then stands {centre:.2} mm over the table.", 2.0 * edge),
        "3. Set a scribing point to the height of the slice and turn the ball on the stand, or wrap the strip tightly round the ball, its coloured edge towards the slice, and trace that edge.".to_owned(),
        "4. Cut along the line, trim to it, and measure the rise: it tells most about the slice.".to_owned(),
    ];
    for step in &steps {
        t = paragraph(&mut s, [x, t], 2.9, right - x, step) - 1.0;
    }
    y = (base[1] - 8.0).min(t - 3.0);
    let heads = ["slice", "half-angle", "scribe at", "outer rise", "cut diameter", "strip", "predicted"];
    let shares = [0.0, 0.1, 0.23, 0.36, 0.49, 0.64, 0.8];
    let column = |k: usize| left + shares[k] * (right - left);
    s.line(Layer::Words, [left, y + 4.5], [right, y + 4.5]);
    heads.iter().enumerate().for_each(|(k, h)| s.bold([column(k), y], 2.8, Anchor::Start, *h));
    s.line(Layer::Words, [left, y - 2.0], [right, y - 2.0]);
    y -= 2.0;
    for slice in slices {
        y -= 5.0;
        let cells = [
            slice.label.clone(),
            format!("{:.2}°", slice.half_angle_rad.to_degrees()),
            format!("{:.2} mm", 1e3 * slice.scribe_height_m),
            format!("{:.2} mm", 1e3 * slice.outer_rise_m),
            format!("{:.2} mm", 2e3 * slice.cut_radius_m),
            format!("{:.1} mm", 1e3 * slice.strip_length_m)
                + &if slice.strip_pieces > 1 { format!(" in {}", slice.strip_pieces) } else { String::new() },
            slice.predicted.clone(),
        ];
        cells.iter().enumerate().for_each(|(k, c)| s.text([column(k), y], 2.8, Anchor::Start, c.clone()));
    }
    y -= 2.0;
    s.line(Layer::Words, [left, y], [right, y]);
    put_cautions(&mut s, [left, y - 8.0], right - left, cautions);
    Page { size: choice.paper.size, title: format!("Cutting guide: {title}"), sketch: s }
}

/// Strips laid out in pages from top to bottom.
fn strip_pages(title: &str, strips: &[(usize, Strip)], slices: &[Slice], choice: &Choice) -> Vec<Page> {
    let [_, high] = choice.paper.size;
    let [wide, _] = choice.paper.room();
    let start = |n: usize| {
        let mut s = Sketch::default();
        let y = high - Paper::MARGIN - 6.0;
        s.bold([Paper::MARGIN, y], 4.0, Anchor::Start, format!("Strips, sheet {n}"));
        bars(&mut s, [Paper::MARGIN + 5.0, Paper::MARGIN + 5.0]);
        (s, y - 5.0)
    };
    let mut pages = Vec::new();
    let (mut sketch, mut y) = start(1);
    let mut used = false;
    for (slice, one) in strips {
        for piece in 0..one.pieces {
            // Clear of the calibration bars.
            let floor = Paper::MARGIN + 60.0;
            if used && y - one.room[1] - 6.0 < floor {
                pages.push(std::mem::take(&mut sketch));
                (sketch, y) = start(pages.len() + 1);
            }
            let label = if one.pieces > 1 {
                format!("{}, piece {} of {}", slices[*slice].label, piece + 1, one.pieces)
            } else {
                slices[*slice].label.clone()
            };
            let words = format!(
                "{label}: half-angle {:.2}°, edge {:.2} mm",
                slices[*slice].half_angle_rad.to_degrees(),
                one.piece()
            );
            y -= 4.0;
            sketch.text(
                [Paper::MARGIN, y],
                2.8,
                Anchor::Start,
                format!("{words}; coloured edge towards the slice, tab of {TAB:.0} mm beneath"),
            );
            let left = Paper::MARGIN + 0.5 * (wide - one.room[0]).max(0.0);
            y -= one.room[1] + 2.0;
            sketch.put(&one.draw(piece, &label), [left, y]);
            y -= 3.0;
            used = true;
        }
    }
    pages.push(sketch);
    let name = |n: usize| format!("Cutting guide, strips, sheet {n}: {title}");
    pages
        .into_iter()
        .enumerate()
        .map(|(n, sketch)| Page { size: choice.paper.size, title: name(n + 1), sketch })
        .collect()
}
