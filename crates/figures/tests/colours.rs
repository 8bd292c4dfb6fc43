//! Colours: what a legend tells apart stays told apart in grey and for eyes that lack a kind of cone; text can be read.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "helpers of tests fail by panicking")]

mod common;
mod every;
mod invented_map;
#[allow(dead_code, reason = "other tests use more of them")]
mod invented_poke;
mod invented_release;
mod looks;
mod reading;

use looks::{SEEN, contrast, lab};
use reading::attribute;

#[test]
fn white_stays_white() {
    for (name, m) in SEEN {
        for row in m {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6, "{name} {row:?}");
        }
    }
    let [l, a, b] = lab([1.0; 3]);
    assert!((l - 100.0).abs() < 0.1 && a.abs() < 0.1 && b.abs() < 0.1, "{l} {a} {b}");
    // Black on white, WCAG 2.1.
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
}

#[test]
fn what_a_legend_tells_apart_is_seen_apart() {
    let (mut compared, mut bad) = (0, std::collections::BTreeSet::new());
    for f in every::figures() {
        let (pairs, alike) = looks::alike(&f.data, f.name);
        compared += pairs;
        bad.extend(alike);
    }
    assert!(compared > 10, "{compared} pairs");
    assert!(bad.is_empty(), "{bad:#?}");
}

#[test]
fn text_can_be_read() {
    let mut seen = std::collections::BTreeSet::new();
    for f in every::figures() {
        for line in f.svg.lines().filter(|l| l.starts_with("<text")) {
            let colour = attribute(line, "fill").unwrap();
            // Turned text and text on a ground have no white surround; the darkest ground that carries words is a phase's.
            let ground =
                if line.contains("paint-order") || line.contains("rotate(") { "#ffffff" } else { "#ded9e6" };
            seen.insert((colour.to_owned(), ground));
        }
    }
    assert!(seen.len() > 2, "{seen:?}");
    for (colour, ground) in seen {
        let c = contrast(&colour, ground);
        assert!(c >= 4.5, "{colour} on {ground}: {c:.2}");
    }
}
