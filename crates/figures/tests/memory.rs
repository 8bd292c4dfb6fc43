//! The figure of a fitted series: its marks lie where the readings say, and bad rows are passed over.

mod reading;

use calotte_figures::{SeriesFit, memory_figure};
use reading::{count, elements, number};

/// Invented readings over four decades, three per cent of scatter.
fn fit() -> SeriesFit {
    let readings = (0..25)
        .map(|i| {
            let t = libm::pow(10.0, -2.0 + f64::from(i) / 6.0);
            let g = 1.2e6 * (0.8 + 0.2 * libm::exp(-t));
            [t, g * (1.0 + 0.03 * libm::sin(7.0 * f64::from(i))), g]
        })
        .collect();
    SeriesFit {
        what: "relaxation modulus".to_owned(),
        unit: "Pa".to_owned(),
        readings,
        terms: vec![[0.2, 1.0]],
    }
}

#[test]
fn readings_and_residuals_are_drawn() {
    let f = memory_figure(&fit(), "Invented strip").unwrap();
    assert_eq!(count(&f.svg, "reading"), 25);
    assert_eq!(elements(&f.svg, "residual").len(), 25);
    assert!(f.alt.contains("25 readings from 10.0 ms to 100 s"), "{}", f.alt);
    // A residual of plus three per cent of the reading points the other way from one of minus.
    let stems: Vec<f64> = elements(&f.svg, "residual")
        .iter()
        .map(|l| number(l, "y2").unwrap() - number(l, "y1").unwrap())
        .collect();
    for (r, stem) in fit().readings.iter().zip(&stems) {
        // Downwards on the page is negative.
        assert!((r[2] - r[1]) * stem <= 0.0, "{r:?} {stem}");
    }
    assert!(stems.iter().any(|s| *s > 5.0) && stems.iter().any(|s| *s < -5.0));
}

#[test]
fn what_is_not_finite_is_passed_over() {
    let mut spoiled = fit();
    spoiled.readings[3][1] = f64::NAN;
    spoiled.readings[4][2] = f64::INFINITY;
    let f = memory_figure(&spoiled, "Invented strip").unwrap();
    assert_eq!(count(&f.svg, "reading"), 23);
    spoiled.readings.truncate(1);
    assert_eq!(memory_figure(&spoiled, "Invented strip"), None);
}
