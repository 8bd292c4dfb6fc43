//! Draws of numbers within their tolerances: the same ones every time.

use calotte_chance::Stream;

use crate::subject::Given;

/// A number with a tolerance: its place among the givens, itself, its half-width.
pub(crate) type Loose<'a> = (usize, &'a Given, f64);

/// The numbers with a tolerance, but for those whose key starts with one of `without`.
pub(crate) fn loose<'a>(givens: &'a [Given], without: &[&str]) -> Vec<Loose<'a>> {
    givens
        .iter()
        .enumerate()
        .filter_map(|(i, g)| Some((i, g, g.half_width.filter(|h| *h > 0.0)?)))
        .filter(|(_, g, _)| !without.iter().any(|w| g.key.starts_with(w)))
        .collect()
}

/// The changes that a point of [`hypercube`] stands for: the tolerance is two standard deviations, and the cut.
pub(crate) fn changes(loose: &[Loose<'_>], point: &[f64]) -> Vec<(usize, f64)> {
    loose.iter().zip(point).map(|((i, g, h), u)| (*i, g.value + 0.5 * h * normal(*u))).collect()
}

/// `count` points in `size` dimensions: in each, every slice of width 1/count holds one.
pub(crate) fn hypercube(count: usize, size: usize) -> Vec<Vec<f64>> {
    let mut stream = Stream::new(20);
    let mut points = vec![vec![0.0; size]; count];
    for j in 0..size {
        let mut order: Vec<usize> = (0..count).collect();
        for i in (1..count).rev() {
            order.swap(i, stream.below(i + 1));
        }
        for (i, slice) in order.iter().enumerate() {
            points[i][j] = (*slice as f64 + stream.unit()) / count as f64;
        }
    }
    points
}

/// Standard normal deviate cut off at ±2 for a share `u` of (0, 1): bisection of the distribution function.
pub(crate) fn normal(u: f64) -> f64 {
    let phi = |x: f64| 0.5 * libm::erfc(-x / std::f64::consts::SQRT_2);
    let wanted = phi(-2.0) + u * (phi(2.0) - phi(-2.0));
    let (mut a, mut b) = (-2.0, 2.0);
    for _ in 0..60 {
        let m = 0.5 * (a + b);
        if phi(m) < wanted { a = m } else { b = m }
    }
    0.5 * (a + b)
}
