//! Figures of invented reports: what is drawn, and where. See `common` for what is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests fail by panicking")]

mod common;

use calotte_answers::report::{Branch, EnergyAlongArc, SampledMeridian, Verdict, VerdictReport};
use calotte_figures::{Figure, PngFailure, png, verdict_figures};
use common::Invented;

/// The values of an attribute in every element that has the class, in the order of the file.
fn attributes<'a>(svg: &'a str, class: &str, name: &str) -> Vec<&'a str> {
    let class = format!("class=\"{class}\"");
    let name = format!(" {name}=\"");
    svg.lines()
        .filter(|l| l.contains(&class))
        .map(|l| {
            let from = l.find(&name).expect("the attribute is there") + name.len();
            &l[from..from + l[from..].find('"').expect("the attribute is closed")]
        })
        .collect()
}

fn numbers(svg: &str, class: &str, name: &str) -> Vec<f64> {
    attributes(svg, class, name).iter().map(|v| v.parse().unwrap()).collect()
}

/// Points of path data made of M and L.
fn points(d: &str) -> Vec<(f64, f64)> {
    d.trim_end_matches(" Z")
        .split(' ')
        .map(|p| {
            let (x, y) = p[1..].split_once(',').unwrap();
            (x.parse().unwrap(), y.parse().unwrap())
        })
        .collect()
}

fn count(svg: &str, class: &str) -> usize {
    svg.matches(&format!("class=\"{class}\"")).count()
}

fn figure(report: &VerdictReport, name: &str) -> Figure {
    verdict_figures(report).into_iter().find(|f| f.name == name).expect("the figure is drawn")
}

fn names(report: &VerdictReport) -> Vec<&'static str> {
    verdict_figures(report).iter().map(|f| f.name).collect()
}

/// Page units per metre, read off the scale bar.
fn scale(svg: &str) -> f64 {
    let bar = |name| numbers(svg, "scale-bar", name)[0];
    let line = svg.lines().find(|l| l.contains("class=\"scale-label\"")).unwrap();
    let text = &line[line.find('>').unwrap() + 1..line.rfind('<').unwrap()];
    let (size, unit) = text.split_once(' ').unwrap();
    let metres = size.parse::<f64>().unwrap() * if unit == "mm" { 1e-3 } else { 1e-6 };
    (bar("x2") - bar("x1")) / metres
}

/// Value against position of the numbered ticks along one side: a least-squares line, from the file.
fn axis(svg: &str, across: bool) -> (f64, f64) {
    let pairs: Vec<(f64, f64)> = svg
        .lines()
        .filter(|l| l.contains("class=\"number\""))
        .filter(|l| l.contains(if across { "\"middle\"" } else { "\"end\"" }))
        .map(|l| {
            let at = attributes(l, "number", if across { "x" } else { "y" })[0].parse().unwrap();
            let text = &l[l.find('>').unwrap() + 1..l.rfind('<').unwrap()];
            (text.replace('−', "-").parse::<f64>().unwrap(), at)
        })
        .collect();
    let (first, last) = (pairs[0], pairs[pairs.len() - 1]);
    let slope = (last.1 - first.1) / (last.0 - first.0);
    // Numbers sit a little below their tick on the upward axis.
    let drop = if across { 0.0 } else { 3.6 };
    (first.1 - drop - slope * first.0, slope)
}

fn cases() -> Vec<Invented> {
    let d = Invented::default();
    vec![
        d.clone(),
        Invented { half_angle_deg: 2.0, ..d.clone() },
        Invented { half_angle_deg: 12.0, thickness_m: 0.3e-3, ..d.clone() },
        Invented { half_angle_deg: 90.0, thickness_m: 1e-3, ..d.clone() },
        Invented { half_angle_deg: 170.0, ..d.clone() },
        Invented { hole_radius_m: 6e-3, ..d.clone() },
        Invented { inverted: false, threshold_over_thickness: 0.8, ..d.clone() },
        Invented { inverted: false, threshold_over_thickness: 0.1, ..d.clone() },
        Invented { threshold_over_thickness: 8.0, thickness_m: 0.3e-3, ..d.clone() },
        Invented { governing_n: 3, lip: false, ..d.clone() },
        Invented { radius_m: 50e-6, thickness_m: 1e-6, half_angle_deg: 20.0, ..d },
    ]
}

#[test]
fn every_figure_is_well_formed_finite_and_on_the_page() {
    for case in cases() {
        let report = case.report();
        let figures = verdict_figures(&report);
        assert_eq!(figures.len(), if case.inverted { 3 } else { 2 }, "{case:?}");
        for f in figures {
            assert!(!f.svg.contains("NaN") && !f.svg.contains("inf"), "{case:?} {}", f.name);
            assert!(f.svg.contains("<title id=") && f.svg.contains("<desc id="));
            assert!(f.caption.starts_with(&report.title) && f.caption.ends_with('.'));
            assert!(!f.alt.is_empty());
            let picture = png(&f.svg, 0.5).expect("the parser takes it");
            assert_eq!(&picture[1..4], b"PNG");
            let height = f.svg.split("viewBox=\"0 0 680 ").nth(1).unwrap();
            let height: f64 = height[..height.find('"').unwrap()].parse().unwrap();
            assert!((100.0..=420.0).contains(&height), "{case:?} {} {height}", f.name);
            for (class, name, size) in [
                ("label", "x", 680.0),
                ("label", "y", height),
                ("number", "x", 680.0),
                ("number", "y", height),
                ("key-text", "x", 680.0),
            ] {
                if count(&f.svg, class) == 0 {
                    continue;
                }
                for v in numbers(&f.svg, class, name) {
                    assert!((0.0..size).contains(&v), "{case:?} {} {class} {name} {v}", f.name);
                }
            }
        }
    }
}

#[test]
fn same_report_same_bytes() {
    let report = Invented::default().report();
    assert_eq!(verdict_figures(&report), verdict_figures(&report.clone()));
}

#[test]
fn walls_are_as_thick_as_the_scale_bar_says() {
    for case in cases() {
        let svg = figure(&case.report(), "shape").svg;
        let want = case.thickness_m * scale(&svg);
        let walls = attributes(&svg, "wall", "d");
        let pieces = if case.hole_radius_m > 0.0 { 2 } else { 1 };
        assert_eq!(walls.len(), pieces * if case.inverted { 2 } else { 1 });
        for (panel, d) in walls.into_iter().enumerate() {
            // An outline starts and ends on the two corners of one end face.
            let outline = points(d);
            let (a, b) = (outline[0], outline[outline.len() - 1]);
            let face = libm::hypot(a.0 - b.0, a.1 - b.1);
            assert!((face - want).abs() < 0.02, "{case:?}: {face} units for {want}");
            if case.hole_radius_m == 0.0 {
                // On the axis the wall is cut square as well.
                let axis = numbers(&svg, "axis", "x1")[panel];
                let on: Vec<f64> =
                    outline.iter().filter(|p| (p.0 - axis).abs() < 0.011).map(|p| p.1).collect();
                let high = on.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let low = on.iter().copied().fold(f64::INFINITY, f64::min);
                assert!((high - low - want).abs() < 0.03, "{case:?}: {on:?} for {want}");
            }
        }
    }
}

#[test]
fn the_natural_part_is_a_dome_of_the_right_size() {
    let case = Invented::default();
    let report = case.report();
    let svg = figure(&report, "shape").svg;
    let px = scale(&svg);
    let outline = points(attributes(&svg, "wall", "d")[0]);
    let top = outline.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
    let low = outline.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    let half = case.thickness_m / 2.0;
    // Outer pole to the lower corner of the rim face, from the geometry of two spheres.
    let alpha = case.half_angle_deg.to_radians();
    let height = (case.radius_m + half) - (case.radius_m - half) * libm::cos(alpha);
    assert!((low - top - height * px).abs() < 0.05);
    let axis = numbers(&svg, "axis", "x1")[0];
    assert!(outline.iter().any(|p| p.1 == top && (p.0 - axis).abs() < 0.02), "the pole is on top");
}

#[test]
fn the_lip_is_marked_with_its_length_and_its_sign_change() {
    let case = Invented::default();
    let report = case.report();
    let svg = figure(&report, "shape").svg;
    assert_eq!(count(&svg, "sign-change"), 1);
    assert_eq!(count(&svg, "lip-end"), 2);
    assert!(svg.contains(">lip 8.49 mm<"));
    let state = report.inverted.as_ref().unwrap();
    let s = state.curvature_sign_changes_m[0];
    let i = state.meridian.s_m.iter().position(|x| *x >= s).unwrap();
    let axis = numbers(&svg, "axis", "x1")[0];
    let r = (numbers(&svg, "sign-change", "cx")[0] - axis) / scale(&svg);
    assert!((state.meridian.r_m[i - 1]..=state.meridian.r_m[i] + 1e-6).contains(&(r + 5e-7)));

    let without = Invented { lip: false, ..case }.report();
    let shape = figure(&without, "shape");
    assert_eq!(count(&shape.svg, "sign-change") + count(&shape.svg, "lip-end"), 0);
    assert!(shape.caption.contains("there is no lip"));
    assert_eq!(count(&figure(&without, "energy").svg, "lip-region"), 0);
}

#[test]
fn without_an_inverted_state_only_the_mirror_image_is_drawn_and_it_is_said() {
    let report = Invented { inverted: false, ..Invented::default() }.report();
    assert_eq!(names(&report), ["shape", "branch"]);
    let shape = figure(&report, "shape");
    assert_eq!((count(&shape.svg, "wall"), count(&shape.svg, "mirror")), (1, 1));
    assert!(shape.svg.contains(">no inverted equilibrium to draw<"));
    assert!(shape.caption.contains("no inverted equilibrium"));
    assert_eq!(count(&figure(&report, "branch").svg, "state"), 0);
}

#[test]
fn energies_lie_where_the_axes_say() {
    let report = Invented::default().report();
    let svg = figure(&report, "energy").svg;
    let (x0, dx) = axis(&svg, true);
    let (y0, dy) = axis(&svg, false);
    let table = &report.inverted.as_ref().unwrap().energy;
    for (class, column) in [("stretching", &table.stretching_J_per_m2), ("bending", &table.bending_J_per_m2)]
    {
        let end = *points(attributes(&svg, class, "d")[0]).last().unwrap();
        let last = column.len() - 1;
        assert!((end.0 - (x0 + dx * table.s_m[last] * 1e3)).abs() < 0.05);
        assert!((end.1 - (y0 + dy * column[last])).abs() < 0.05, "{class}");
    }
    let left = numbers(&svg, "lip-region", "x")[0];
    let right = left + numbers(&svg, "lip-region", "width")[0];
    let width = report.inverted.as_ref().unwrap().lip_width_m.unwrap();
    assert!((right - left - dx * width * 1e3).abs() < 0.05);
    assert!(svg.contains(">stretching, total 10.7 mJ<"), "{svg}");
}

#[test]
fn fold_part_and_threshold_lie_where_the_axes_say() {
    let case = Invented { governing_n: 3, ..Invented::default() };
    let report = case.report();
    let svg = figure(&report, "branch").svg;
    let (x0, dx) = axis(&svg, true);
    let (y0, dy) = axis(&svg, false);
    let fold = &report.branch.points[report.branch.fold.unwrap()];
    assert!((numbers(&svg, "fold", "cx")[0] - (x0 + dx * fold.thickness_m * 1e3)).abs() < 0.05);
    assert!((numbers(&svg, "fold", "cy")[0] - (y0 + dy * fold.pole_height_m * 1e3)).abs() < 0.05);
    assert!((numbers(&svg, "part", "x1")[0] - (x0 + dx * case.thickness_m * 1e3)).abs() < 0.05);
    let threshold = report.margin.as_ref().unwrap().threshold_thickness_m;
    assert!((numbers(&svg, "threshold", "x1")[0] - (x0 + dx * threshold * 1e3)).abs() < 0.05);
    assert!(svg.contains("h* = 2.40 mm (ripple n = 3)"));
    assert_eq!((count(&svg, "stays-label"), count(&svg, "returns-label")), (1, 1));
}

#[test]
fn stable_and_saddle_sides_meet_at_the_fold_and_follow_the_counts() {
    let mut report = Invented::default().report();
    let svg = figure(&report, "branch").svg;
    let ends = |svg: &str, class: &str| points(attributes(svg, class, "d")[0]);
    let (stable, saddle) = (ends(&svg, "stable"), ends(&svg, "saddle"));
    assert_eq!(stable.last(), saddle.first());
    let fold = (numbers(&svg, "fold", "cx")[0], numbers(&svg, "fold", "cy")[0]);
    assert_eq!(*saddle.first().unwrap(), fold);

    // A count at the fold itself, either way, moves nothing.
    let at = report.branch.fold.unwrap();
    report.branch.points[at].negative = 1;
    assert_eq!(figure(&report, "branch").svg, svg);

    // A negative count on the way to the fold cuts the solid line.
    report.branch.points[at / 2].negative = 1;
    let cut = figure(&report, "branch").svg;
    assert_eq!((count(&cut, "stable"), count(&cut, "saddle")), (2, 2));
}

#[test]
fn a_part_far_beyond_the_branch_is_named_at_the_edge() {
    let report = Invented { inverted: false, threshold_over_thickness: 0.1, ..Invented::default() }.report();
    let svg = figure(&report, "branch").svg;
    assert!(svg.contains(">this part: 2.00 mm →<"));
    assert_eq!(svg.matches("<line class=\"part\"").count(), 0);
}

#[test]
fn without_a_threshold_no_side_is_named() {
    let mut report = Invented::default().report();
    report.margin = None;
    report.verdict = Verdict::Undecided;
    let branch = figure(&report, "branch");
    assert_eq!(count(&branch.svg, "stays") + count(&branch.svg, "returns"), 0);
    assert_eq!(count(&branch.svg, "fold"), 1);
    assert!(branch.caption.contains("holds no threshold"));
    assert!(branch.caption.contains("undecided"));
}

#[test]
fn absent_or_broken_data_leave_a_figure_out_without_panic() {
    let mut empty = Invented::default().report();
    empty.part.meridian = SampledMeridian::default();
    empty.branch = Branch::default();
    empty.inverted.as_mut().unwrap().energy = EnergyAlongArc::default();
    assert!(names(&empty).is_empty());

    let mut broken = Invented::default().report();
    broken.part.meridian.r_m.fill(f64::NAN);
    for p in &mut broken.branch.points {
        p.pole_height_m = f64::INFINITY;
    }
    broken.inverted.as_mut().unwrap().energy.bending_J_per_m2.fill(f64::NAN);
    assert!(names(&broken).is_empty());

    // A few bad rows and bad scalars cost only themselves.
    let mut spoiled = Invented::default().report();
    spoiled.part.meridian.z_m[7] = f64::NAN;
    spoiled.part.thickness_m = f64::NAN;
    spoiled.part.sphere_radius_m = f64::INFINITY;
    spoiled.branch.points[3].thickness_m = f64::NAN;
    let state = spoiled.inverted.as_mut().unwrap();
    state.lip_width_m = Some(f64::NAN);
    state.curvature_sign_changes_m = vec![f64::NAN];
    state.stretching_energy_J = f64::NAN;
    state.energy.stretching_J_per_m2[5] = f64::INFINITY;
    spoiled.margin.as_mut().unwrap().threshold_thickness_m = f64::NAN;
    let figures = verdict_figures(&spoiled);
    assert_eq!(figures.len(), 3);
    for f in figures {
        assert!(!f.svg.contains("NaN") && !f.svg.contains("inf\""), "{}", f.name);
        assert!(png(&f.svg, 0.5).is_ok());
    }
}

#[test]
fn the_fold_keeps_its_place_when_points_before_it_are_passed_over() {
    let mut report = Invented::default().report();
    let whole = figure(&report, "branch").svg;
    report.branch.points[3].thickness_m = f64::NAN;
    let spoiled = figure(&report, "branch").svg;
    assert_eq!(attributes(&whole, "fold", "cx"), attributes(&spoiled, "fold", "cx"));
    assert_eq!(attributes(&whole, "saddle", "d"), attributes(&spoiled, "saddle", "d"));
}

#[test]
fn titles_are_escaped_in_the_file_and_plain_in_the_caption() {
    let title = "Cap <\"A&B\"> no. 3";
    let report = Invented { title, ..Invented::default() }.report();
    for f in verdict_figures(&report) {
        assert!(f.caption.starts_with(title));
        assert!(f.svg.contains("Cap &lt;&quot;A&amp;B&quot;&gt; no. 3"));
        assert!(png(&f.svg, 0.5).is_ok());
    }
}

#[test]
fn text_is_set_in_the_typeface_of_the_binary() {
    let dark = |text: &str| {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40\" height=\"20\" \
             font-family=\"'DejaVu Sans', sans-serif\"><text x=\"2\" y=\"15\">{text}</text></svg>"
        );
        png(&svg, 1.0).unwrap()
    };
    assert_ne!(dark("WWW"), dark(""));
    assert_ne!(dark("WWW"), dark("iii"));
}

#[test]
fn pictures_of_no_size_or_no_svg_are_refused() {
    let svg = &figure(&Invented::default().report(), "branch").svg;
    for scale in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e6] {
        assert!(matches!(png(svg, scale), Err(PngFailure::Size { .. })), "{scale}");
    }
    let failure = png("<svg", 1.0).unwrap_err();
    assert!(matches!(failure, PngFailure::NotSvg(_)));
    assert!(failure.to_string().starts_with("not an SVG"));
}
