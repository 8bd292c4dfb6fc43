//! The branch of inverted states over thickness, with the fold and the part.

use calotte_answers::report::{BranchPoint, Verdict, VerdictReport};

use crate::Figure;
use crate::axis::{Axis, Frame};
use crate::ink::{self, Dash, Pen};
use crate::style::page_width;
use crate::svg::{Anchor, DOT, Key, Point, Svg};
use crate::text::{LengthUnit, length, number, text_width};

const HEIGHT: f64 = 400.0;
const STABLE: Pen = Pen::solid(ink::DEEP, 2.4);
const SADDLE: Pen = Pen::with(ink::AMBER, 2.2, Dash::Dashed);
const PART: Pen = Pen::with(ink::INK, 1.3, Dash::Chain);
const OUTLINE: Pen = Pen::solid(ink::INK, 1.2);
/// Height of the bar that names the two sides.
const BAR: f64 = 17.0;
/// A part this many times thicker than the thickest point of branch is named at the edge, not reached.
const FAR: f64 = 3.0;

/// A stretch of the branch with one stability.
#[derive(Clone, Debug, PartialEq)]
struct Stretch {
    stable: bool,
    /// Thickness and pole height.
    points: Vec<(f64, f64)>,
}

/// Cuts the branch where its stability changes. The fold belongs to both sides, so a step that ends
/// on it has the stability of its other end; any other mixed step counts as unstable.
fn stretches(points: &[BranchPoint], fold: Option<usize>) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    let place = |i: usize| (points[i].thickness_m, points[i].pole_height_m);
    for i in 1..points.len() {
        let free = |k: usize| fold == Some(k) || points[k].negative == 0;
        let stable = free(i - 1) && free(i);
        match out.last_mut() {
            Some(last) if last.stable == stable => last.points.push(place(i)),
            _ => out.push(Stretch { stable, points: vec![place(i - 1), place(i)] }),
        }
    }
    out
}

/// The whole points of the branch and where the fold is among them.
fn whole(report: &VerdictReport) -> (Vec<BranchPoint>, Option<usize>) {
    let mut fold = None;
    let mut points = Vec::new();
    for (i, p) in report.branch.points.iter().enumerate() {
        if p.thickness_m.is_finite() && p.pole_height_m.is_finite() {
            if report.branch.fold == Some(i) {
                fold = Some(points.len());
            }
            points.push(p.clone());
        }
    }
    (points, fold)
}

/// The figure; `None` with fewer than two whole points.
pub(crate) fn figure(report: &VerdictReport) -> Option<Figure> {
    let (points, fold) = whole(report);
    if points.len() < 2 {
        return None;
    }
    let (thinnest, thickest) = points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
        (low.min(p.thickness_m), high.max(p.thickness_m))
    });
    let part = Some(report.part.thickness_m).filter(|h| h.is_finite() && *h > 0.0);
    let threshold =
        report.margin.as_ref().map(|m| m.threshold_thickness_m).filter(|h| h.is_finite() && *h > 0.0);
    let far = part.is_some_and(|h| h > FAR * thickest);
    let near = part.filter(|_| !far);
    let low = [near, threshold].into_iter().flatten().fold(thinnest, f64::min);
    let high = [near, threshold].into_iter().flatten().fold(thickest, f64::max);
    let span = (high - low).max(high.abs() * 1e-3);

    let unit = LengthUnit::for_length(high);
    let tall = points.iter().map(|p| p.pole_height_m).fold(0.0, f64::max);
    let short = points.iter().map(|p| p.pole_height_m).fold(f64::INFINITY, f64::min);
    let height_unit = LengthUnit::for_length(tall);
    let rise = (tall - short).max(tall.abs() * 1e-3);
    let up = Axis::covering(
        // A branch that comes down far is drawn from zero.
        if short < 0.6 * tall { short.min(0.0) } else { short - 0.06 * rise } * height_unit.per_m,
        (tall + 0.06 * rise) * height_unit.per_m,
        5.0,
    );
    // A part beyond h* has its label on its right, where it cannot meet the line of h*.
    let beyond = near.zip(threshold).is_some_and(|(h, t)| h > t);
    let right_pad = if far {
        0.45
    } else if beyond {
        0.27
    } else {
        0.16
    };
    let across = Axis::covering(
        (low - 0.03 * span).max(0.0) * unit.per_m,
        (high + right_pad * span) * unit.per_m,
        7.0,
    );
    let left = 10.0 + Frame::room_left(&up);
    let frame = Frame { left, right: page_width() - 18.0, top: 76.0, bottom: HEIGHT - 46.0, across, up };
    let page = |p: (f64, f64)| -> Point { (frame.x(p.0 * unit.per_m), frame.y(p.1 * height_unit.per_m)) };

    let mut svg = Svg::new(page_width(), HEIGHT);
    let governing = report.margin.as_ref().map_or(0, |m| m.governing_n);
    if let Some(h) = threshold {
        sides(&mut svg, &frame, frame.x(h * unit.per_m), &length(h), governing);
    }
    let hole = report.part.hole_radius_m > 0.0;
    let end = if hole { "hole edge" } else { "pole" };
    let place = if report.part.uniform_wall { "thickness" } else { "thickness at the rim" };
    frame.draw(
        &mut svg,
        &format!("{place} ({})", unit.name),
        &format!("height between {end} and rim ({})", height_unit.name),
    );
    svg.open("curves");
    for stretch in stretches(&points, fold) {
        let line: Vec<Point> = stretch.points.iter().map(|&p| page(p)).collect();
        let (class, pen) = if stretch.stable { ("stable", STABLE) } else { ("saddle", SADDLE) };
        svg.curve(class, &line, pen);
    }
    svg.close();
    if let Some(h) = part {
        let x = if far { frame.right } else { frame.x(h * unit.per_m) };
        part_line(&mut svg, &frame, x, &length(h), threshold.is_none_or(|t| h <= t), far);
    }
    svg.open("marks");
    if let Some(f) = fold {
        let at = page((points[f].thickness_m, points[f].pole_height_m));
        svg.circle("fold", at, DOT + 0.6, ink::PAPER, OUTLINE);
    }
    let state = report.inverted.as_ref().map(|i| i.pole_height_m).filter(|z| z.is_finite());
    let own = near.zip(state).filter(|&(_, z)| {
        let y = z * height_unit.per_m;
        y >= frame.up.low && y <= frame.up.high
    });
    if let Some(at) = own {
        svg.circle("state", page(at), DOT + 0.6, ink::INK, OUTLINE);
    }
    svg.close();

    let mut entries = vec![(
        Key::Line(STABLE),
        if governing == 0 { "stable" } else { "axisymmetrically stable" }.to_owned(),
    )];
    if stretches(&points, fold).iter().any(|s| !s.stable) {
        entries.push((Key::Line(SADDLE), "saddle".to_owned()));
    }
    if fold.is_some() {
        entries.push((Key::Dot(ink::PAPER, OUTLINE), "fold".to_owned()));
    }
    if own.is_some() {
        entries.push((Key::Dot(ink::INK, OUTLINE), "this part, inverted".to_owned()));
    }
    svg.open("legend");
    if crate::style::now().is_usual() {
        svg.legend((frame.left, 20.0), &entries);
    } else {
        svg.legend_above((frame.left, 20.0), page_width() - 8.0, &entries);
    }
    svg.close();

    let (alt, caption) = words(report, end, threshold, fold.is_some());
    let title = format!("{}: branch of inverted states", report.title);
    Some(Figure::new("branch", svg.finish(&title, &alt), alt, caption))
}

/// The bar above the frame that says on which side of h* a part stays, and the line of h*.
fn sides(svg: &mut Svg, frame: &Frame, x: f64, threshold: &str, governing: u32) {
    let x = x.clamp(frame.left, frame.right);
    let y = frame.top - 44.0;
    svg.open("sides");
    svg.rectangle("stays", (frame.left, y), (x - frame.left, BAR), ink::SHADE);
    svg.rectangle("returns", (x, y), (frame.right - x, BAR), ink::SHADE_RETURNS);
    let pen = Pen::with(ink::GREY, 1.2, Dash::Dotted);
    svg.line("threshold", (x, y + BAR), (x, frame.bottom), pen);
    svg.line("threshold-bar", (x, y), (x, y + BAR), Pen::solid(ink::INK, 1.2));
    let value = if governing == 0 {
        format!("h* = {threshold}")
    } else {
        format!("h* = {threshold} (ripple n = {governing})")
    };
    let base = y + 12.4;
    let (stay_room, return_room) = (x - frame.left, frame.right - x);
    let mut side = |class, word: &str, with: String, at: Point, anchor, room: f64, valued: bool| {
        let text = if valued && text_width(&with, ink::LABEL) + 12.0 < room { with } else { word.to_owned() };
        if text_width(&text, ink::LABEL) + 8.0 < room {
            svg.text_on_colour(class, at, ink::LABEL, anchor, ink::INK, &text);
        }
    };
    let left_valued = stay_room >= return_room;
    let with = format!("stays below {value}");
    let at = (x - 7.0, base);
    side("stays-label", "stays", with, at, Anchor::End, stay_room, left_valued);
    let with = format!("returns above {value}");
    let at = (x + 7.0, base);
    side("returns-label", "returns", with, at, Anchor::Start, return_room, !left_valued);
    svg.close();
}

/// The part's own thickness. The label lies on the side away from h*, so that neither line cuts it.
fn part_line(svg: &mut Svg, frame: &Frame, x: f64, value: &str, below: bool, far: bool) {
    let base = frame.top - 9.0;
    let text = format!("this part: {value}{}", if far { " →" } else { "" });
    let width = text_width(&text, ink::LABEL);
    svg.open("part");
    if !far {
        svg.line("part", (x, frame.top - 20.0), (x, frame.bottom), PART);
    }
    let leftwards =
        far || (below && x - width - 6.0 > frame.left) || (!below && x + width + 6.0 > frame.right);
    let (shift, anchor) = if leftwards { (-5.0, Anchor::End) } else { (5.0, Anchor::Start) };
    let shift = if far { 0.0 } else { shift };
    svg.text("part-label", (x + shift, base), ink::LABEL, anchor, ink::INK, &text);
    svg.close();
}

fn words(report: &VerdictReport, end: &str, threshold: Option<f64>, fold: bool) -> (String, String) {
    let governing = report.margin.as_ref().map_or(0, |m| m.governing_n);
    let edge = match (threshold, governing) {
        (None, _) => " The report holds no threshold.".to_owned(),
        (Some(h), 0) => {
            format!(" Below the threshold h* = {} a part stays inverted, above it returns.", length(h))
        }
        (Some(h), n) => format!(
            " Below the threshold h* = {} a part stays inverted; above it the state is lost to a \
             ripple with n = {n}.",
            length(h)
        ),
    };
    let ratio = report
        .margin
        .as_ref()
        .map(|m| m.thickness_ratio)
        .filter(|r| r.is_finite())
        .map_or_else(String::new, |r| format!(", {} of h*", number(r, 3)));
    let own = if report.part.thickness_m.is_finite() {
        format!(" This part: {}{ratio}.", length(report.part.thickness_m))
    } else {
        String::new()
    };
    let doubt = match report.verdict {
        Verdict::Undecided => " The verdict on this part is undecided.",
        Verdict::Stays | Verdict::Returns | Verdict::Waits => "",
    };
    let turn = if fold { ", which meet at the fold (open circle)" } else { "" };
    let caption = format!(
        "{}. Inverted equilibria over a common factor on the thickness: height between {end} and \
         rim along stable states (solid) and saddles (dashed){turn}.{edge}{own}{doubt}",
        report.title
    );
    let alt = format!(
        "Height between {end} and rim for inverted equilibria of growing thickness: a stable \
         branch (solid) and a branch of saddles (dashed){turn}.{edge}{own}{doubt}"
    );
    (alt, caption)
}
