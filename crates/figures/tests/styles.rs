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

/// Rows of the data: panel, part, x, y, piece with its words.
fn rows(f: &Figure) -> Vec<(usize, String, f64, f64, String)> {
    f.data
        .lines()
        .filter(|l| !l.starts_with('#') && !l.starts_with("panel,"))
        .map(|l| {
            let mut fields = l.split(',');
            let (panel, part) = (fields.next().unwrap().parse().unwrap(), fields.next().unwrap().to_owned());
            let mut last = l.rsplit(',');
            let y = last.next().unwrap().parse().unwrap();
            let x = last.next().unwrap().parse().unwrap();
            let piece = last.collect::<Vec<_>>().join(",");
            (panel, part, x, y, piece)
        })
        .collect()
}

/// A number as it stands beside a tick: `−0.5`, `10⁻³`, `2·10⁻³`.
fn told(label: &str) -> f64 {
    const RAISED: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹";
    let label = label.replace('−', "-");
    let plain: String = label.chars().filter(|c| *c != '⁻' && !RAISED.contains(*c)).collect();
    let raised: String = label
        .chars()
        .filter_map(|c| match c {
            '⁻' => Some('-'),
            c => RAISED.chars().position(|r| r == c).map(|d| char::from(b'0' + d as u8)),
        })
        .collect();
    let (times, base) = plain.split_once('·').unwrap_or(("1", &plain));
    let base: f64 = base.parse().unwrap_or_else(|_| panic!("{label:?} beside a tick"));
    let power = if raised.is_empty() { 1 } else { raised.parse().unwrap() };
    times.parse::<f64>().unwrap() * base.powi(power)
}

/// An axis read off the page: places and numbers of its ticks.
#[derive(Clone, Default)]
struct Ticks(Vec<(f64, f64)>);

impl Ticks {
    /// Places of a number on the page, straight and by its logarithm, where the ticks allow them: two ticks fit both. A zero
    /// may stand beside a logarithmic axis.
    fn places(&self, value: f64) -> Vec<f64> {
        let positive: Vec<_> = self.0.iter().filter(|t| t.1 > 0.0).copied().collect();
        let place = |ticks: &[(f64, f64)], of: &dyn Fn(f64) -> f64| {
            let (a, b) = (ticks.first()?, ticks.last()?);
            let at = |v: f64| a.0 + (of(v) - of(a.1)) / (of(b.1) - of(a.1)) * (b.0 - a.0);
            ticks.iter().all(|t| (at(t.1) - t.0).abs() < 0.05).then(|| at(value))
        };
        place(&self.0, &|v| v).into_iter().chain(place(&positive, &libm::log)).collect()
    }
}

/// Frames of a figure as a reader sees them: titles of the axes, and ticks with numbers, across and up. Two legs of one axis
/// share the axis that goes up.
fn frames(svg: &str) -> Vec<([String; 2], [Ticks; 2])> {
    let mut out = Vec::new();
    let (mut across, mut up, mut legs) = (Ticks::default(), Ticks::default(), Vec::new());
    for l in svg.lines() {
        let words = || unescaped(&l[l.find('>').unwrap() + 1..l.rfind('<').unwrap()]);
        if l.contains("class=\"number\"") {
            if attribute(l, "text-anchor") == Some("middle") {
                across.0.push((number(l, "x").unwrap(), told(&words())));
            } else {
                up.0.push((number(l, "y").unwrap() - 3.6, told(&words())));
            }
        } else if l.contains("class=\"axis-title\"") && !l.contains("rotate(") {
            legs.push((words(), std::mem::take(&mut across)));
        } else if l.contains("class=\"axis-title\"") {
            let y = std::mem::take(&mut up);
            out.extend(legs.drain(..).map(|(title, x)| ([title, words()], [x, y.clone()])));
        }
    }
    out
}

/// Every point that a class draws.
fn drawn(svg: &str, class: &str) -> Vec<(f64, f64)> {
    let at = |l: &str, x: &str, y: &str| number(l, x).zip(number(l, y));
    let mut out = Vec::new();
    for l in elements(svg, class) {
        out.extend(points(l));
        for (x, y) in [("x1", "y1"), ("x2", "y2"), ("cx", "cy")] {
            out.extend(at(l, x, y));
        }
        if let (Some(a), Some(size)) = (at(l, "x", "y"), at(l, "width", "height")) {
            out.extend([a, (a.0 + size.0, a.1 + size.1), (a.0, a.1 + size.1), (a.0 + size.0, a.1)]);
        }
    }
    out
}

/// A reader with a ruler: axes are read off the ticks and the numbers beside them, and every row of the data, put on the page
/// with these, must be a point that its part draws. A mark is drawn around its point and an arrow ends in a head, so pieces
/// of one or two points lie within the size of these; curves and areas to a hair's breadth.
#[test]
fn the_numbers_behind_a_figure_are_the_drawn_ones() {
    let (mut exact, mut seen) = (0, std::collections::BTreeSet::new());
    for f in every::figures() {
        let frames = frames(&f.svg);
        let rows = rows(&f);
        let panels = f.data.lines().filter_map(|l| l.strip_prefix("# panel ")?.split_once(": x = "));
        for (panel, titles) in panels {
            let (x, y) = titles.split_once(", y = ").unwrap();
            // Narrow axes have the end of their title only. Panels alike in titles are told apart by their places.
            let alike: Vec<_> = frames.iter().filter(|(t, _)| x.ends_with(&t[0]) && t[1] == y).collect();
            if alike.iter().any(|(_, t)| t[0].0.len() < 2 || t[1].0.len() < 2) || alike.is_empty() {
                continue;
            }
            seen.insert(f.name);
            let mine: Vec<_> = rows.iter().filter(|r| r.0.to_string() == panel).collect();
            let mut parts: Vec<&str> = mine.iter().map(|r| r.1.as_str()).collect();
            parts.sort_unstable();
            parts.dedup();
            for part in parts {
                let on_page = drawn(&f.svg, part);
                assert!(!on_page.is_empty(), "{} draws no {part}", f.name);
                let few = |piece: &str| mine.iter().filter(|r| r.1 == part && r.4 == piece).count() < 3;
                for r in mine.iter().filter(|r| r.1 == part) {
                    let within = if few(&r.4) { 9.5 } else { 0.12 };
                    let hit = alike.iter().any(|(_, [across, up])| {
                        let (xs, ys) = (across.places(r.2), up.places(r.3));
                        on_page.iter().any(|p| {
                            xs.iter().any(|x| (x - p.0).abs() < within)
                                && ys.iter().any(|y| (y - p.1).abs() < within)
                        })
                    });
                    assert!(hit, "{}, panel {panel}: {part} at {}, {} is not drawn there", f.name, r.2, r.3);
                    exact += usize::from(within < 1.0);
                }
            }
        }
    }
    assert!(exact > 2000 && seen.len() >= 10, "{exact} points of {seen:?}");
}

fn unescaped(words: &str) -> String {
    words
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&")
}

#[test]
fn every_figure_has_numbers_and_all_that_is_drawn_in_a_panel_is_there() {
    for f in every::figures() {
        let rows = rows(&f);
        assert!(!rows.is_empty(), "{}:\n{}", f.name, f.data);
        assert!(rows.iter().all(|r| r.2.is_finite() && r.3.is_finite()), "{}", f.name);
    }
}
