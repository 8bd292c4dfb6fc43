//! A dimensioned drawing of a part: its section through the axis to scale, the sizes of the case with their tolerances, sizes that follow
//! from them in brackets (ISO 129-1, from memory), millimetres.

use std::f64::consts::{FRAC_PI_2, PI};

use calotte_specimen::{Case, Meridian, Part};

use crate::section::{Section, section};
use crate::sketch::{Anchor, Layer, Page, Paper, Sketch, paragraph, width};

/// Scales that drawings use, paper over part (ISO 5455, from memory).
const SCALES: [f64; 11] = [50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02];

/// A drawing.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// The sheet.
    pub page: Page,
    /// The same view at true scale, for DXF.
    pub view: Sketch,
    /// Paper over part.
    pub scale: f64,
    /// Sizes that were read off the section, m.
    pub sizes: Sizes,
}

/// Overall sizes, m.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Sizes {
    /// Largest diameter.
    pub diameter_m: f64,
    /// Height over all.
    pub height_m: f64,
    /// Wall at the rim.
    pub rim_wall_m: f64,
    /// Smallest diameter of the hole; 0 without one.
    pub hole_m: f64,
}

fn sizes(part: &Part, s: &Section) -> Sizes {
    let all = || s.outer.iter().chain(&s.inner);
    let low = all().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let high = all().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
    let length = part.meridian.length();
    Sizes {
        diameter_m: 2.0 * all().map(|p| p[0]).fold(0.0, f64::max),
        height_m: high - low,
        rim_wall_m: part.wall.thickness_before(length),
        hole_m: 2.0 * s.outer[0][0].min(s.inner[0][0]),
    }
}

/// A scale in words: 2:1, 1:5.
pub fn scale_words(scale: f64) -> String {
    if scale >= 1.0 { format!("{scale:.0}:1") } else { format!("1:{:.0}", 1.0 / scale) }
}

/// A view of the section; `scale` is paper over part, `unit` the size of type, arrows and distances over their usual size.
struct View {
    sketch: Sketch,
    scale: f64,
    unit: f64,
}

impl View {
    fn at(&self, p: [f64; 2]) -> [f64; 2] {
        p.map(|v| 1e3 * self.scale * v)
    }

    fn words(&mut self, at: [f64; 2], anchor: Anchor, turn: f64, words: &str) {
        self.sketch.turned_text(at, 3.0 * self.unit, anchor, turn, words);
    }

    fn arrow(&mut self, tip: [f64; 2], along: f64) {
        let (sin, cos) = libm::sincos(along);
        let at = |d: f64, w: f64| {
            [tip[0] - self.unit * (d * cos + w * sin), tip[1] - self.unit * (d * sin - w * cos)]
        };
        let solid = crate::sketch::Mark::Solid(vec![tip, at(2.4, 0.4), at(2.4, -0.4)]);
        self.sketch.marks.push((Layer::Dimension, solid));
    }

    /// A dimension between two places at a distance below (level) or to the right (upright); the words in its middle.
    fn span(&mut self, a: [f64; 2], b: [f64; 2], place: f64, level: bool, words: &str) {
        let (i, j) = if level { (0, 1) } else { (1, 0) };
        let on = |p: [f64; 2]| {
            let mut q = p;
            q[j] = place;
            q
        };
        let beyond = if place < a[j].min(b[j]) { -1.5 } else { 1.5 } * self.unit;
        for p in [a, b] {
            let mut end = on(p);
            end[j] += beyond;
            let mut start = p;
            start[j] += 0.6 * beyond;
            self.sketch.line(Layer::Dimension, start, end);
        }
        let (from, to) = if a[i] < b[i] { (on(a), on(b)) } else { (on(b), on(a)) };
        let long = to[i] - from[i];
        let turn = if level { 0.0 } else { FRAC_PI_2 };
        let need = width(words, 3.0 * self.unit);
        let mut middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
        middle[j] += if level { 1.0 } else { -1.0 } * self.unit;
        if long > need + 8.0 * self.unit || long > 7.0 * self.unit {
            self.sketch.line(Layer::Dimension, from, to);
            self.arrow(to, turn);
            self.arrow(from, turn + PI);
        } else {
            // Arrows from outside.
            for (p, sign) in [(from, -1.0), (to, 1.0)] {
                let mut far = p;
                far[i] += sign * 6.0 * self.unit;
                self.sketch.line(Layer::Dimension, far, p);
                self.arrow(p, if sign < 0.0 { turn } else { turn + PI });
            }
        }
        if long < need + 2.0 * self.unit {
            middle[i] = to[i] + 7.0 * self.unit;
            self.words(middle, Anchor::Start, turn, words);
        } else {
            self.words(middle, Anchor::Middle, turn, words);
        }
    }
}

/// Hatch lines at 45° in a closed outline: even-odd crossings of each line, in part coordinates.
fn hatch(outline: &[[f64; 2]], apart: f64) -> Vec<[[f64; 2]; 2]> {
    let across = |p: &[f64; 2]| p[1] - p[0];
    let low = outline.iter().map(across).fold(f64::INFINITY, f64::min);
    let high = outline.iter().map(across).fold(f64::NEG_INFINITY, f64::max);
    let mut out = Vec::new();
    let first = (low / apart).ceil() as i64;
    let last = (high / apart).floor() as i64;
    for k in first..=last {
        // Lines never go through corners but by chance.
        let c = (k as f64 + 0.137) * apart;
        let mut cuts: Vec<f64> = Vec::new();
        for (i, a) in outline.iter().enumerate() {
            let b = outline[(i + 1) % outline.len()];
            let (u, v) = (across(a) - c, across(&b) - c);
            if (u < 0.0) != (v < 0.0) {
                cuts.push(a[0] + (b[0] - a[0]) * u / (u - v));
            }
        }
        cuts.sort_by(f64::total_cmp);
        out.extend(cuts.chunks_exact(2).map(|w| [[w[0], w[0] + c], [w[1], w[1] + c]]));
    }
    out
}

/// A length of the case with its tolerance where it has one; in brackets where it follows from others.
fn length(case: &Case, key: &str, value: f64) -> String {
    match case.inputs().iter().find(|i| i.key == key && (i.value - value).abs() <= 1e-9 * value.abs()) {
        Some(i) => match i.half_width {
            Some(h) => format!("{:.2} ± {}", 1e3 * i.value, trimmed(1e3 * h)),
            None => format!("{:.2}", 1e3 * i.value),
        },
        None => format!("({:.2})", 1e3 * value),
    }
}

/// Two significant digits at most, no trailing noughts.
fn trimmed(v: f64) -> String {
    let digits = (1 - libm::log10(v.abs().max(1e-12)).floor() as i32).clamp(0, 6) as usize;
    let text = format!("{v:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

fn view(case: &Case, s: &Section, z: &Sizes, scale: f64, unit: f64) -> Sketch {
    let part = case.part();
    let mut v = View { sketch: Sketch::default(), scale, unit };
    let mirrored = |p: &[f64; 2]| [-p[0], p[1]];
    let outline = s.outline();
    for side in [1.0, -1.0] {
        let path: Vec<[f64; 2]> = outline.iter().map(|p| [side * p[0], p[1]]).collect();
        for line in hatch(&path, 1.2e-3 * 2.0 / scale * unit) {
            let [a, b] = line.map(|p| v.at(p));
            v.sketch.line(Layer::Hatch, a, b);
        }
    }
    match &part.meridian {
        Meridian::Sphere(c) if part.wall.is_uniform() && !s.turned => {
            // True arcs.
            let h = part.wall.thickness(0.0);
            let centre = v.at([0.0, c.radius]);
            for radius in [c.radius - 0.5 * h, c.radius + 0.5 * h] {
                let r = 1e3 * scale * radius;
                let (a, b) = (c.hole_angle - FRAC_PI_2, c.half_angle - FRAC_PI_2);
                if c.hole_angle == 0.0 {
                    v.sketch.arc(Layer::Outline, centre, r, -FRAC_PI_2 - c.half_angle, b);
                } else {
                    v.sketch.arc(Layer::Outline, centre, r, a, b);
                    v.sketch.arc(
                        Layer::Outline,
                        centre,
                        r,
                        -FRAC_PI_2 - c.half_angle,
                        -FRAC_PI_2 - c.hole_angle,
                    );
                }
            }
            let ends: &[usize] = if c.hole_angle == 0.0 { &[1] } else { &[0, 1] };
            for end in ends {
                let pick = |f: &[[f64; 2]]| if *end == 0 { f[0] } else { f[f.len() - 1] };
                let (a, b) = (pick(&s.outer), pick(&s.inner));
                v.sketch.line(Layer::Outline, v.at(a), v.at(b));
                v.sketch.line(Layer::Outline, v.at(mirrored(&a)), v.at(mirrored(&b)));
            }
            let r = 1e3 * scale * c.radius;
            let degrees = case.inputs().iter().find(|i| i.key == "shape.half_angle");
            let words = match degrees {
                Some(i) => match i.half_width {
                    Some(h) => format!("{:.2}° ± {}°", i.value.to_degrees(), trimmed(h.to_degrees())),
                    None => format!("{:.2}°", i.value.to_degrees()),
                },
                None => format!("({:.2}°)", c.half_angle.to_degrees()),
            };
            // Half-angle, from the centre, where that lies on the sheet.
            let near = r < 90.0 * unit;
            if near {
                let reach = 0.45 * r;
                let (sin, cos) = libm::sincos(c.half_angle);
                let end = [centre[0] + (r - 3.0 * unit) * sin, centre[1] - (r - 3.0 * unit) * cos];
                v.sketch.line(Layer::Centre, centre, end);
                v.sketch.arc(Layer::Dimension, centre, reach, -FRAC_PI_2, c.half_angle - FRAC_PI_2);
                let head = [centre[0] + reach * sin, centre[1] - reach * cos];
                v.arrow(head, c.half_angle);
                let up = if c.half_angle > FRAC_PI_2 { -5.0 } else { 1.0 };
                v.words([head[0] + 3.0 * unit, head[1] + up * unit], Anchor::Start, 0.0, &words);
            }
            // Radius of the middle surface, to the left.
            let angle = -FRAC_PI_2 - 0.6 * c.half_angle;
            let (sin, cos) = libm::sincos(angle);
            let long = if near { 0.65 * r } else { 22.0 * unit };
            let tip = [centre[0] + r * cos, centre[1] + r * sin];
            let tail = [tip[0] - long * cos, tip[1] - long * sin];
            v.sketch.line(Layer::Dimension, tail, tip);
            v.arrow(tip, angle);
            let beside = if near { String::new() } else { format!(", half-angle {words}") };
            v.words(
                [tail[0] - unit, tail[1] + unit],
                Anchor::End,
                0.0,
                &format!("SR {:.2} middle{beside}", 1e3 * c.radius),
            );
        }
        _ => {
            for side in [1.0, -1.0] {
                let path = outline.iter().map(|p| v.at([side * p[0], p[1]])).collect();
                v.sketch.path(Layer::Outline, path, true);
            }
        }
    }
    let all = || s.outer.iter().chain(&s.inner);
    let low = all().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let high = all().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
    let widest = all().copied().fold([0.0, 0.0], |a: [f64; 2], p| if p[0] > a[0] { p } else { a });
    let (bottom, top) = (v.at([0.0, low]), v.at([0.0, high]));
    v.sketch.line(Layer::Centre, [0.0, bottom[1] - 5.0 * unit], [0.0, top[1] + 5.0 * unit]);
    v.span(
        v.at(mirrored(&widest)),
        v.at(widest),
        bottom[1] - if z.hole_m > 0.0 { 20.0 } else { 12.0 } * unit,
        true,
        &format!("⌀ {}", length(case, "shape.diameter", z.diameter_m)),
    );
    let right = v.at(widest)[0] + 12.0 * unit;
    let pole = all().copied().fold([0.0, f64::INFINITY], |a: [f64; 2], p| if p[1] < a[1] { p } else { a });
    let tip = all().copied().fold([0.0, f64::NEG_INFINITY], |a: [f64; 2], p| if p[1] > a[1] { p } else { a });
    v.span(v.at(pole), v.at(tip), right, false, &length(case, "shape.height", z.height_m));
    if z.hole_m > 0.0 {
        let edge = if s.outer[0][0] < s.inner[0][0] { s.outer[0] } else { s.inner[0] };
        v.span(
            v.at(mirrored(&edge)),
            v.at(edge),
            bottom[1] - 10.0 * unit,
            true,
            &format!("⌀ ({:.2})", 1e3 * z.hole_m),
        );
    }
    // Wall at the rim: a leader across the wall from outside.
    let (a, b) = (v.at(mirrored(&s.outer[s.outer.len() - 1])), v.at(mirrored(&s.inner[s.inner.len() - 1])));
    let along = libm::atan2(b[1] - a[1], b[0] - a[0]);
    let (sin, cos) = libm::sincos(along);
    let tail = [a[0] - 7.0 * unit * cos, a[1] - 7.0 * unit * sin];
    v.sketch.line(Layer::Dimension, tail, a);
    v.arrow(a, along);
    let far = [b[0] + 6.0 * unit * cos, b[1] + 6.0 * unit * sin];
    v.sketch.line(Layer::Dimension, far, b);
    v.arrow(b, along + PI);
    let words = format!("t {}", length(case, "wall.thickness", z.rim_wall_m));
    v.words([tail[0] - unit, tail[1] - unit], Anchor::End, 0.0, &words);
    v.sketch
}

/// On which surface; the middle one where the case does not say.
fn measured_on(case: &Case) -> String {
    let told = case.text().lines().find_map(|l| l.trim().strip_prefix("surface")?.trim().strip_prefix('='));
    match told.and_then(|t| t.split('"').nth(1)) {
        Some("mid") | None => "middle".to_owned(),
        Some(name) => name.to_owned(),
    }
}

/// The drawing of a case's part.
///
/// # Errors
/// In words, where there is no section.
pub fn drawing(case: &Case, paper: &Paper) -> Result<Drawing, String> {
    let part = case.part();
    let s = section(part, 1e-6)?;
    let z = sizes(part, &s);
    // Sheets lie on their long side.
    let [high, wide] = paper.size;
    let frame = [Paper::MARGIN, Paper::MARGIN, wide - Paper::MARGIN, high - Paper::MARGIN];
    let column = 0.36 * (frame[2] - frame[0]);
    let room = [frame[2] - frame[0] - column - 66.0, frame[3] - frame[1] - 50.0];
    let fits = |scale: &f64| 1e3 * scale * z.diameter_m <= room[0] && 1e3 * scale * z.height_m <= room[1];
    let scale = SCALES.into_iter().find(fits).ok_or_else(|| {
        format!("a part of {:.0} mm does not fit on {} paper at 1:50", 1e3 * z.diameter_m, paper.name)
    })?;
    let mut page = Sketch::default();
    let [x0, y0, x1, y1] = frame;
    page.path(Layer::Words, vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]], true);
    let left = x1 - column;
    page.line(Layer::Words, [left, y0], [left, y1]);
    let low = s.outer.iter().chain(&s.inner).map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let middle = [0.5 * (x0 + left), 0.5 * (y0 + y1) - 1e3 * scale * (low + 0.5 * z.height_m)];
    page.put(&view(case, &s, &z, scale, 1.0), middle);
    let (text, inside) = (left + 4.0, column - 8.0);
    let mut y = y1 - 8.0;
    page.bold([text, y], 4.2, Anchor::Start, "Drawing of a part of revolution");
    y = paragraph(&mut page, [text, y - 6.5], 3.2, inside, &case.title) - 1.5;
    for line in [
        format!("Section through the axis, {} on this sheet; lengths in mm.", scale_words(scale)),
        "Sizes in brackets follow from the others.".to_owned(),
    ] {
        y = paragraph(&mut page, [text, y], 2.8, inside, &line);
    }
    y -= 3.0;
    page.bold([text, y], 3.2, Anchor::Start, "Sizes that govern");
    y -= 5.0;
    let governs = |key: &str| {
        key.starts_with("shape.") || key.starts_with("wall.") || key.starts_with("layers.thickness")
    };
    let all: Vec<_> = case.inputs().iter().filter(|i| governs(&i.key)).collect();
    for (shown, i) in all.iter().enumerate() {
        if y < y0 + 52.0 {
            page.text(
                [text, y],
                2.6,
                Anchor::Start,
                format!("and {} more: see the case file", all.len() - shown),
            );
            y -= 4.0;
            break;
        }
        page.text([text, y], 2.6, Anchor::Start, i.key.clone());
        page.text([text + inside, y], 2.6, Anchor::End, i.to_string());
        y -= 3.9;
    }
    y -= 2.0;
    for line in [
        format!("Sizes are measured on the {} surface. Middle surface: diameter {:.3} mm at the rim.", measured_on(case), 2e3 * part.meridian.at(part.meridian.length()).r),
        "Tolerances as stated; for all others the general tolerances agreed with the maker hold. No tolerance of form is stated: the rim's face is square to the wall.".to_owned(),
        "Computed from a case file, not released for manufacture: whoever makes the part checks it.".to_owned(),
    ] {
        y = paragraph(&mut page, [text, y], 2.6, inside, &line) - 0.8;
    }
    let dxf = view(case, &s, &z, 1.0, 1.0 / scale);
    Ok(Drawing {
        page: Page { size: [wide, high], title: format!("Drawing: {}", case.title), sketch: page },
        view: dxf,
        scale,
        sizes: z,
    })
}
