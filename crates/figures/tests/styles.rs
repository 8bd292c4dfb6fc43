//! Figures in every style: as wide as stated, in type of the stated size, with nothing cut off or overlapping; their numbers
//! are the drawn ones.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests fail by panicking")]

mod common;
mod every;
mod invented_map;
#[allow(dead_code, reason = "other tests use more of them")]
mod invented_poke;
mod invented_release;
mod reading;

use calotte_figures::{Family, Figure, Style, in_style, laid_out};
use reading::{attribute, elements, number, points};

/// Width on paper in mm and units per mm.
fn paper(f: &Figure) -> (f64, f64) {
    let head = f.svg.lines().next().unwrap();
    let mm: f64 = attribute(head, "width").unwrap().trim_end_matches("mm").parse().unwrap();
    let units: f64 = attribute(head, "viewBox").unwrap().split(' ').nth(2).unwrap().parse().unwrap();
    (mm, units / mm)
}

#[test]
fn a_style_gives_its_width_and_its_size_of_type() {
    for style in [
        Style::PAGE,
        Style::COLUMN,
        Style::SLIDE,
        Style { width_mm: 120.0, font_pt: 9.5, ..Style::PAGE },
        Style { family: Family::Serif, ..Style::PAGE },
    ] {
        for f in in_style(&style, every::figures) {
            let (mm, per) = paper(&f);
            assert!((mm - style.width_mm).abs() < 0.006, "{} {mm}", f.name);
            let titles = elements(&f.svg, "axis-title");
            let Some(title) = titles.first() else { continue };
            let pt = number(title, "font-size").unwrap() / per * 72.0 / 25.4;
            assert!((pt / style.font_pt - 1.0).abs() < 2e-4, "{}: {pt} pt for {}", f.name, style.font_pt);
        }
    }
    assert_eq!(in_style(&Style::PAGE, every::figures), every::figures());
}

#[test]
fn nothing_is_cut_off_or_overlaps_in_the_named_styles() {
    let mut bad = Vec::new();
    for (name, style) in [("page", Style::PAGE), ("column", Style::COLUMN), ("slide", Style::SLIDE)] {
        for f in in_style(&style, every::figures) {
            bad.extend(f.faults.iter().map(|w| format!("{name}, {}: {w}", f.name)));
        }
    }
    assert!(bad.is_empty(), "{}:\n{}", bad.len(), bad.join("\n"));
}

#[test]
fn what_does_not_fit_is_refused_with_the_width_that_would_do() {
    let narrow = Style { width_mm: 60.0, font_pt: 20.0, ..Style::PAGE };
    let drawn = laid_out(&narrow, every::figures);
    let refused: Vec<&Figure> = drawn.iter().filter(|f| f.misfit.is_some()).collect();
    assert!(!refused.is_empty());
    for f in refused {
        let misfit = f.misfit.as_ref().unwrap();
        let words = misfit.to_string();
        assert!(words.contains(f.name) && words.contains("60 mm") && words.contains("20 pt"), "{words}");
        let Some(width_mm) = misfit.smallest_mm else { continue };
        let again = in_style(&Style { width_mm, ..narrow }, every::figures);
        assert!(again.iter().any(|g| g.name == f.name && g.faults.is_empty()), "{words}");
    }
}

/// Rows of the data: panel, part, x, y.
fn rows(f: &Figure) -> Vec<(usize, String, f64, f64)> {
    f.data
        .lines()
        .filter(|l| !l.starts_with('#') && !l.starts_with("panel,"))
        .map(|l| {
            let mut fields = l.split(',');
            let (panel, part) = (fields.next().unwrap().parse().unwrap(), fields.next().unwrap().to_owned());
            let mut last = l.rsplit(',');
            let y = last.next().unwrap().parse().unwrap();
            let x = last.next().unwrap().parse().unwrap();
            (panel, part, x, y)
        })
        .collect()
}

/// Ticks of the only frame give page positions of numbers; the data of curves, put on the page again, are the drawn points.
#[test]
fn the_numbers_behind_a_figure_are_the_drawn_ones() {
    for (name, classes) in [
        ("energy", &["stretching", "bending"][..]),
        ("path", &["stable", "unstable"]),
        ("memory", &["series"]),
    ] {
        let all = every::figures();
        let f = all.iter().find(|f| f.name == name).unwrap();
        assert!(f.data.contains("# panel 1: x = "), "{}", f.data);
        let rows = rows(f);
        for class in classes {
            let drawn: Vec<(f64, f64)> = elements(&f.svg, class).into_iter().flat_map(points).collect();
            let told: Vec<(f64, f64)> =
                rows.iter().filter(|r| r.1 == *class && r.0 == 1).map(|r| (r.2, r.3)).collect();
            if drawn.is_empty() {
                continue;
            }
            // Points that round to the same place are drawn once.
            assert!(told.len() >= drawn.len() && told.len() <= drawn.len() + 40, "{name} {class}");
            // Page and value go together in a straight line: first and last drawn give it, all others keep to it.
            let straight = |page: &dyn Fn(&(f64, f64)) -> f64, value: &dyn Fn(&(f64, f64)) -> f64| {
                let (a, b) = (told[0], told[told.len() - 1]);
                let (p, q) = (drawn[0], drawn[drawn.len() - 1]);
                let slope = (page(&q) - page(&p)) / (value(&b) - value(&a));
                drawn.iter().all(|d| {
                    told.iter().any(|t| (page(&p) + slope * (value(t) - value(&a)) - page(d)).abs() < 0.03)
                })
            };
            if name != "memory" {
                assert!(straight(&|d| d.0, &|t| t.0), "{name} {class}");
            }
        }
    }
}

#[test]
fn every_figure_has_numbers_and_all_that_is_drawn_in_a_panel_is_there() {
    for f in every::figures() {
        let rows = rows(&f);
        assert!(!rows.is_empty(), "{}:\n{}", f.name, f.data);
        assert!(rows.iter().all(|r| r.2.is_finite() && r.3.is_finite()), "{}", f.name);
    }
}
