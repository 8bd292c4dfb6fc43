//! Reading figures back: elements by class, their numbers, and the boxes of texts.

#![allow(dead_code, reason = "each test file reads another part")]

use calotte_figures::{Figure, png};

/// Lines of the file whose element has the class.
pub(crate) fn elements<'a>(svg: &'a str, class: &str) -> Vec<&'a str> {
    let class = format!("class=\"{class}\"");
    svg.lines().filter(|l| l.contains(&class)).collect()
}

pub(crate) fn count(svg: &str, class: &str) -> usize {
    elements(svg, class).len()
}

pub(crate) fn attribute<'a>(element: &'a str, name: &str) -> Option<&'a str> {
    let from = element.find(&format!(" {name}=\""))? + name.len() + 3;
    Some(&element[from..from + element[from..].find('"')?])
}

pub(crate) fn number(element: &str, name: &str) -> Option<f64> {
    attribute(element, name)?.parse().ok()
}

/// Points of path data made of M and L.
pub(crate) fn points(element: &str) -> Vec<(f64, f64)> {
    attribute(element, "d")
        .unwrap_or("")
        .trim_end_matches(" Z")
        .split(' ')
        .filter_map(|p| {
            let (x, y) = p.get(1..)?.split_once(',')?;
            Some((x.parse().ok()?, y.parse().ok()?))
        })
        .collect()
}

/// Words of the texts with a class.
pub(crate) fn words(svg: &str, class: &str) -> Vec<String> {
    elements(svg, class).iter().filter_map(|l| Some(l[l.find('>')? + 1..l.rfind('<')?].to_owned())).collect()
}

/// Left, top, right, bottom of every level text, a little narrower than it is set.
pub(crate) fn boxes(svg: &str) -> Vec<(String, [f64; 4])> {
    svg.lines()
        .filter(|l| l.starts_with("<text") && !l.contains("rotate("))
        .filter_map(|l| {
            let text = l[l.find('>')? + 1..l.rfind('<')?].to_owned();
            let (x, y, size) = (number(l, "x")?, number(l, "y")?, number(l, "font-size")?);
            let width = 0.5 * size * text.chars().count() as f64;
            let left = match attribute(l, "text-anchor")? {
                "start" => x,
                "middle" => x - width / 2.0,
                _ => x - width,
            };
            Some((text, [left, y - 0.7 * size, left + width, y]))
        })
        .collect()
}

/// Asserts what holds for every figure: well formed, finite, texts on the page and clear of one another.
pub(crate) fn assert_sound(f: &Figure, what: &str) {
    let svg = &f.svg;
    assert!(!svg.contains("NaN") && !svg.contains("inf\""), "{what} {}", f.name);
    assert!(svg.contains("<title id=") && svg.contains("<desc id="), "{what} {}", f.name);
    assert!(f.caption.ends_with('.') && f.alt.ends_with('.'), "{what} {}: {}", f.name, f.caption);
    let picture = png(svg, 0.5);
    assert!(picture.is_ok_and(|p| p.starts_with(b"\x89PNG")), "{what} {}", f.name);
    let size = svg.split("viewBox=\"0 0 ").nth(1).and_then(|s| s.split('"').next()).unwrap_or("");
    let size: Vec<f64> = size.split(' ').filter_map(|s| s.parse().ok()).collect();
    assert_eq!((size.len(), size[0]), (2, 680.0), "{what} {}", f.name);
    assert!((100.0..=600.0).contains(&size[1]), "{what} {} {}", f.name, size[1]);
    let boxes = boxes(svg);
    for (i, (text, a)) in boxes.iter().enumerate() {
        let on_page = a[0] >= 0.0 && a[1] >= 0.0 && a[2] <= size[0] && a[3] <= size[1];
        assert!(on_page, "{what} {}: {text:?} at {a:?}", f.name);
        for (other, b) in &boxes[..i] {
            let meet = a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
            assert!(!meet, "{what} {}: {text:?} on {other:?}", f.name);
        }
    }
}
