//! The part to scale: natural section, inverted section, mirror image, lip.

use calotte_answers::report::VerdictReport;

use crate::Figure;
use crate::axis::round_below;
use crate::ink::{self, Dash, Pen};
use crate::place::Rect;
use crate::section::{Extent, Section, Station};
use crate::style::page_width;
use crate::svg::{Anchor, DOT, Key, Point, Svg};
use crate::text::{LengthUnit, length, number, text_width};

/// Room at either side of stacked panels; the label of the lip goes there.
const SIDE: f64 = 104.0;
/// Room left of panels set side by side.
const EDGE: f64 = 24.0;
/// Room above a panel: end of the axis, label, and the lip of a very deep part.
const ABOVE: f64 = 30.0;
/// Room below a panel.
const BELOW: f64 = 26.0;
/// Greatest height of the drawing proper.
const TALLEST: f64 = 300.0;
/// Height of the strip with scale bar and legend.
const STRIP: f64 = 38.0;
/// Height of the panel titles above panels set side by side.
const HEADING: f64 = 16.0;
/// Distance of the lip's bracket from the wall.
const BRACKET: f64 = 7.0;

/// Panels go side by side unless that makes them smaller than this share of the stacked ones:
/// it saves height.
const COMPACT: f64 = 0.9;

const MIRROR: Pen = Pen::with(ink::INK, 1.3, Dash::Dashed);

/// Where a panel sits on the page.
#[derive(Clone, Copy)]
struct Place {
    axis_x: f64,
    zero_y: f64,
    scale: f64,
}

impl Place {
    /// Page position of (x, z). Heights grow downwards, which shows a natural bowl as a dome.
    fn page(self, p: (f64, f64)) -> Point {
        (self.axis_x + self.scale * p.0, self.zero_y + self.scale * p.1)
    }

    fn outline(self, points: &[(f64, f64)]) -> Vec<Point> {
        points.iter().map(|&p| self.page(p)).collect()
    }
}

/// The two panels' places and the height of the figure.
struct Layout {
    natural: Place,
    inverted: Place,
    natural_title: Point,
    inverted_title: Point,
    height: f64,
}

fn layout(a: Extent, b: Extent, right_room: f64) -> Option<Layout> {
    let between = ABOVE + BELOW;
    let stacked = ((page_width() - 2.0 * SIDE) / (2.0 * a.half_width.max(b.half_width)))
        .min((TALLEST - between) / (a.height() + b.height()));
    let room = page_width() - EDGE - 2.0 * BELOW - right_room;
    let beside = (room / (2.0 * (a.half_width + b.half_width)))
        .min((TALLEST - 2.0 * HEADING) / a.height().max(b.height()));
    let scale = if stacked * COMPACT > beside { stacked } else { beside };
    if !(scale.is_finite() && scale > 0.0) {
        return None;
    }
    let at = |axis_x: f64, top: f64, e: Extent| Place { axis_x, zero_y: top - scale * e.low, scale };
    if stacked * COMPACT > beside {
        let second = ABOVE + scale * a.height() + between;
        let end = second + scale * b.height() + BELOW;
        Some(Layout {
            natural: at(page_width() / 2.0, ABOVE, a),
            inverted: at(page_width() / 2.0, second, b),
            natural_title: (12.0, ABOVE + 2.0),
            inverted_title: (12.0, second + scale * b.height() - 2.0),
            height: end + STRIP,
        })
    } else {
        let spare = (room - 2.0 * scale * (a.half_width + b.half_width)) / 3.0;
        let left = EDGE + spare;
        let right = left + 2.0 * scale * a.half_width + 2.0 * BELOW + spare;
        let tall = scale * a.height().max(b.height());
        let top = |e: Extent| HEADING + ABOVE + (tall - scale * e.height()) / 2.0;
        Some(Layout {
            natural: at(left + scale * a.half_width, top(a), a),
            inverted: at(right + scale * b.half_width, top(b), b),
            natural_title: (12.0, 18.0),
            inverted_title: (right, 18.0),
            height: HEADING + ABOVE + tall + BELOW + STRIP,
        })
    }
}

/// The figure; `None` when the natural meridian has too few whole rows.
pub(crate) fn figure(report: &VerdictReport) -> Option<Figure> {
    let natural = Section::new(&report.part.meridian)?;
    let mirror = natural.mirror();
    let inverted = report.inverted.as_ref().and_then(|i| Section::new(&i.meridian));
    let hole = report.part.hole_radius_m > 0.0;

    let natural_wall = natural.wall(hole);
    let mirror_line = mirror.middle(hole);
    let inverted_wall = inverted.as_ref().map_or_else(Vec::new, |i| i.wall(hole));
    let a = Extent::of(natural_wall.iter());
    let b = Extent::of(inverted_wall.iter().chain(mirror_line.iter()));
    // The label of the lip stands right of the inverted part unless its rim closes over the axis.
    let right_room = match &inverted {
        Some(i) if i.rim().r > 0.6 * b.half_width => SIDE,
        _ => EDGE,
    };
    let layout = layout(a, b, right_room)?;
    let unit = LengthUnit::for_length(2.0 * a.half_width.max(b.half_width));

    let mut svg = Svg::new(page_width(), layout.height);
    let outline = Pen::solid(ink::INK, 0.9);

    let per = layout.natural.scale / unit.per_m;
    let panels = [(layout.natural, a, "natural"), (layout.inverted, b, "inverted")];
    for (place, extent, name) in panels {
        let corners = [(-extent.half_width, extent.low), (extent.half_width, extent.high)];
        let window = Rect::around(corners.into_iter().map(|p| place.page(p))).grown(BRACKET + 6.0);
        svg.record.section(window, (place.axis_x, place.zero_y), (per, per), unit.name, name);
    }
    svg.open("natural");
    for piece in &natural_wall {
        svg.polygon("wall", &layout.natural.outline(piece), ink::WALL_NATURAL, outline);
    }
    axis_line(&mut svg, layout.natural, a, true);
    let out = natural.rim().normal();
    rim_label(&mut svg, layout.natural, natural.rim(), (-out.0, -out.1));
    panel_title(&mut svg, layout.natural_title, "a", "natural");
    svg.close();

    svg.open("inverted");
    for piece in &inverted_wall {
        svg.polygon("wall", &layout.inverted.outline(piece), ink::WALL_INVERTED, outline);
    }
    axis_line(&mut svg, layout.inverted, b, false);
    for piece in &mirror_line {
        svg.curve("mirror", &layout.inverted.outline(piece), MIRROR);
    }
    let mut changes = Vec::new();
    let mut lip = None;
    if let (Some(section), Some(state)) = (&inverted, &report.inverted) {
        lip = state.lip_width_m.filter(|w| w.is_finite() && *w > 0.0);
        if let Some(width) = lip {
            lip_bracket(&mut svg, layout.inverted, section, width);
        }
        changes = state.curvature_sign_changes_m.clone();
        changes.retain(|s| s.is_finite());
        for &s in &changes {
            let p = section.at(s);
            let at = layout.inverted.page((p.r, p.z));
            svg.circle("sign-change", at, DOT, ink::PAPER, Pen::solid(ink::INK, 1.2));
        }
        let n = section.rim().normal();
        rim_label(&mut svg, layout.inverted, section.rim(), (-n.0, -n.1));
        panel_title(&mut svg, layout.inverted_title, "b", "inverted");
    } else {
        panel_title(&mut svg, layout.inverted_title, "b", "mirror");
    }
    svg.close();

    strip(&mut svg, &layout, unit, inverted.is_some(), &changes);

    let (alt, caption) = words(report, inverted.is_some(), lip, changes.len());
    let title = format!("{}: section to scale", report.title);
    Some(Figure::new("shape", svg.finish(&title, &alt), alt, caption))
}

fn axis_line(svg: &mut Svg, place: Place, extent: Extent, named: bool) {
    let top = place.page((0.0, extent.low)).1 - 14.0;
    let bottom = place.page((0.0, extent.high)).1 + 12.0;
    let pen = Pen::with(ink::GREY, 0.8, Dash::Chain);
    svg.line("axis", (place.axis_x, top), (place.axis_x, bottom), pen);
    if named {
        let at = (place.axis_x + 5.0, top + 8.0);
        svg.text("label", at, ink::LABEL, Anchor::Start, ink::GREY, "axis");
    }
}

fn panel_title(svg: &mut Svg, at: Point, letter: &str, name: &str) {
    let text = format!("({letter}) {name}");
    svg.text("panel", at, ink::LABEL + 1.0, Anchor::Start, ink::INK, &text);
}

/// The word "rim" beyond the rim's end, or beside it on the side `away` when the end points to the axis.
fn rim_label(svg: &mut Svg, place: Place, rim: Station, away: (f64, f64)) {
    let along = (libm::cos(rim.slope), libm::sin(rim.slope));
    let (d, gap) = if along.0 > 0.3 { (along, 7.0) } else { (away, 7.0 + place.scale * rim.thickness / 2.0) };
    let end = place.page((rim.r, rim.z));
    let (x, y) = (end.0 + gap * d.0, end.1 + gap * d.1);
    let anchor = if d.0 < -0.3 { Anchor::End } else { Anchor::Start };
    let drop = 4.0 + 4.0 * d.1;
    svg.text("label", (x, y + drop), ink::LABEL, anchor, ink::INK, "rim");
}

/// A bracket along the outer face from the sign change to the rim, and its length.
fn lip_bracket(svg: &mut Svg, place: Place, section: &Section, width: f64) {
    let rim = section.rim();
    let start = rim.s - width;
    let pen = Pen::solid(ink::INK, 1.1);
    let off = |p: Station, extra: f64| place.page(p.off(p.thickness / 2.0 + (BRACKET + extra) / place.scale));
    let line: Vec<Point> = section.from(start).into_iter().map(|p| off(p, 0.0)).collect();
    svg.open("lip");
    svg.curve("lip", &line, pen);
    for end in [section.at(start), rim] {
        svg.line("lip-end", off(end, -4.0), off(end, 4.0), pen);
    }
    let middle = section.at(rim.s - width / 2.0);
    let n = middle.normal();
    let text = format!("lip {}", length(width));
    let half = text_width(&text, ink::LABEL) / 2.0;
    let mark = off(middle, 5.0);
    let (at, anchor) = if n.1 > 0.6 && n.0 > 0.3 {
        // The bracket rises outwards: below it and to its right nothing is in the way.
        ((mark.0 + 2.0, mark.1 + 9.0), Anchor::Start)
    } else if n.1 > 0.6 {
        // Under the bracket, clear of the part of it that the text spans.
        let ends = [off(section.at(start), 4.0), off(rim, 4.0)];
        let lowest = line
            .iter()
            .chain(&ends)
            .filter(|p| (p.0 - mark.0).abs() < half + 4.0)
            .fold(mark.1, |y, p| y.max(p.1));
        ((mark.0, lowest + 12.0), Anchor::Middle)
    } else {
        let anchor = if n.0 < -0.3 { Anchor::End } else { Anchor::Start };
        ((mark.0, mark.1 + 4.0 + 5.0 * n.1), anchor)
    };
    svg.text("label", at, ink::LABEL, anchor, ink::INK, &text);
    svg.close();
}

/// Scale bar, legend, and the note when there is no inverted state.
fn strip(svg: &mut Svg, layout: &Layout, unit: LengthUnit, inverted: bool, changes: &[f64]) {
    let y = layout.height - 12.0;
    let per_unit = layout.natural.scale / unit.per_m;
    let size = round_below(130.0 / per_unit);
    let (x0, x1) = (14.0, 14.0 + size * per_unit);
    let pen = Pen::solid(ink::INK, 1.4);
    svg.open("scale");
    svg.line("scale-bar", (x0, y - 4.0), (x1, y - 4.0), pen);
    for x in [x0, x1] {
        svg.line("scale-end", (x, y - 8.0), (x, y), pen);
    }
    let label = format!("{} {}", number(size, 1), unit.name);
    svg.text("scale-label", (x1 + 7.0, y), ink::LABEL, Anchor::Start, ink::INK, &label);
    svg.close();

    let mut entries = vec![(Key::Line(MIRROR), "mirror image (mid-surface)".to_owned())];
    if !changes.is_empty() {
        let pen = Pen::solid(ink::INK, 1.2);
        entries.push((Key::Dot(ink::PAPER, pen), "curvature changes sign".to_owned()));
    }
    svg.open("legend");
    let note = if inverted { "" } else { "no inverted equilibrium to draw" };
    if svg.legend_below((SIDE + 130.0, y), &entries, note) {
        svg.close();
        return;
    }
    let x = svg.legend((SIDE + 130.0, y), &entries);
    if !inverted {
        svg.text("note", (x, y), ink::LABEL, Anchor::Start, ink::INK, note);
    }
    svg.close();
}

fn words(report: &VerdictReport, inverted: bool, lip: Option<f64>, changes: usize) -> (String, String) {
    let part = &report.part;
    let sizes = format!(
        "sphere radius {}, half-angle {}°, {} {}",
        length(part.sphere_radius_m),
        number(part.half_angle_rad.to_degrees(), 3),
        if part.uniform_wall { "thickness" } else { "thickness at the rim" },
        length(part.thickness_m),
    );
    let pole = if part.hole_radius_m > 0.0 { "edge of the hole" } else { "pole" };
    let (panel, bend) = match (inverted, lip) {
        (false, _) => (
            "mirror image".to_owned(),
            "The report holds no inverted equilibrium; the dashed line is the mid-surface of the \
             mirror image."
                .to_owned(),
        ),
        (true, Some(w)) => (
            format!("inverted, and the mid-surface of the mirror image (dashed), aligned at the {pole}"),
            format!(
                "At the rim the inverted wall bends back over a lip of {}; {} where the curvature \
                 of the meridian changes sign.",
                length(w),
                if changes == 1 { "the circle marks" } else { "circles mark" }
            ),
        ),
        (true, None) => (
            format!("inverted, and the mid-surface of the mirror image (dashed), aligned at the {pole}"),
            "The curvature of the meridian keeps its sign up to the rim: there is no lip.".to_owned(),
        ),
    };
    let sizes_after =
        if part.shape.is_empty() { capital(&sizes) } else { format!("{}; {sizes}", capital(&part.shape)) };
    let caption = format!(
        "{}. Sections through the axis, to scale: (a) natural, drawn as a dome; (b) {panel}. \
         {sizes_after}. {bend}",
        report.title,
    );
    let shown = if inverted { "the inverted shape and the mirror image" } else { "the mirror image" };
    let alt = format!(
        "Section of the part through its axis, to scale: {sizes}. Shown are the natural shape as a \
         dome and, beside it, {shown}. {bend}"
    );
    (alt, caption)
}

/// A sentence's first letter made a capital.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}
