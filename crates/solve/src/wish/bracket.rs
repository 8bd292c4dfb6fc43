//! A root between two places of opposite signs, asked for value by value, so that many can be found side by side.
//!
//! Source: R. P. Brent, Algorithms for Minimization without Derivatives, Prentice-Hall 1973, chapter 4 (inverse quadratic
//! interpolation, secants, bisection). The first place is that of the inverse cubic through four samples where they rise or fall all
//! the way.

use super::line::Sample;

/// Steps of a root: many more than any needs.
const MOST: usize = 200;

/// A bracket that closes. Values are kept less the level.
#[derive(Clone, Debug)]
pub struct Bracket {
    level: f64,
    within: f64,
    enough: f64,
    /// The one before.
    a: Sample,
    /// The best so far.
    b: Sample,
    /// The other end.
    c: Sample,
    step: f64,
    before: f64,
    guess: Option<f64>,
    steps: usize,
    state: State,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Open,
    Found,
    /// The function has no value on the way, or the steps did not do.
    Lost,
}

impl Bracket {
    /// Between two samples on either side of a level (or one of them on it). Done when it is no wider than `within`, or when a value
    /// lies no farther from the level than `enough`.
    pub fn new(a: Sample, b: Sample, level: f64, within: f64, enough: f64) -> Self {
        let (a, b) = ((a.0, a.1 - level), (b.0, b.1 - level));
        let (a, b) = if a.1.abs() < b.1.abs() { (b, a) } else { (a, b) };
        let step = b.0 - a.0;
        let state = if b.1.abs() <= enough { State::Found } else { State::Open };
        Self { level, within, enough, a, b, c: a, step, before: step, guess: None, steps: 0, state }
    }

    /// With the samples beyond either end, where there are such.
    pub(super) fn with_guess(mut self, beside: [Option<Sample>; 2]) -> Self {
        let [left, right] = beside.map(|s| s.map(|s| (s.0, s.1 - self.level)));
        let (low, high) = if self.a.0 < self.b.0 { (self.a, self.b) } else { (self.b, self.a) };
        let all: Vec<Sample> = left.into_iter().chain([low, high]).chain(right).collect();
        let rises = all.windows(2).all(|w| w[1].1 > w[0].1);
        let falls = all.windows(2).all(|w| w[1].1 < w[0].1);
        if all.len() > 2 && (rises || falls) {
            // Lagrange's form of x over the value, at zero.
            let term = |i: usize| {
                let others = all.iter().enumerate().filter(|(j, _)| *j != i);
                others.fold(all[i].0, |p, (_, o)| p * o.1 / (o.1 - all[i].1))
            };
            let x: f64 = (0..all.len()).map(term).sum();
            let margin = 1e-3 * (high.0 - low.0);
            self.guess = Some(x).filter(|x| *x > low.0 + margin && *x < high.0 - margin);
        }
        self
    }

    /// The next place to be asked for; `None` when it is done.
    fn next(&mut self) -> Option<f64> {
        if self.state != State::Open {
            return None;
        }
        if let Some(x) = self.guess.take() {
            self.a = self.b;
            return Some(x);
        }
        if self.b.1 * self.c.1 > 0.0 {
            self.c = self.a;
            self.step = self.b.0 - self.a.0;
            self.before = self.step;
        }
        if self.c.1.abs() < self.b.1.abs() {
            self.a = self.b;
            self.b = self.c;
            self.c = self.a;
        }
        let (a, b, c) = (self.a, self.b, self.c);
        let half = 0.5 * (c.0 - b.0);
        let tolerance = 2.0 * f64::EPSILON * b.0.abs() + 0.5 * self.within;
        if half.abs() <= tolerance || b.1 == 0.0 {
            self.state = State::Found;
            return None;
        }
        if self.steps >= MOST {
            self.state = State::Lost;
            return None;
        }
        let (mut step, mut before) = (half, half);
        if self.before.abs() >= tolerance && a.1.abs() > b.1.abs() {
            let s = b.1 / a.1;
            let (mut p, mut q) = if a.0 == c.0 {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (a.1 / c.1, b.1 / c.1);
                (s * (2.0 * half * q * (q - r) - (b.0 - a.0) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
            };
            if p > 0.0 {
                q = -q;
            } else {
                p = -p;
            }
            if 2.0 * p < (3.0 * half * q - (tolerance * q).abs()).min((self.before * q).abs()) {
                (before, step) = (self.step, p / q);
            }
        }
        (self.step, self.before) = (step, before);
        self.a = b;
        Some(if step.abs() > tolerance { b.0 + step } else { b.0 + tolerance * half.signum() })
    }

    /// Takes the value at the place asked for.
    fn take(&mut self, x: f64, value: Option<f64>) {
        self.steps += 1;
        match value {
            Some(v) => self.b = (x, v - self.level),
            None => self.state = State::Lost,
        }
        if self.state == State::Open && self.b.1.abs() <= self.enough {
            self.state = State::Found;
        }
    }

    /// The root, once it is found.
    pub fn root(&self) -> Option<f64> {
        (self.state == State::Found).then_some(self.b.0)
    }
}

/// Values of one round: which bracket asks, and the place.
pub type Round<'f> = dyn FnMut(&[(usize, f64)]) -> Vec<Option<f64>> + 'f;

/// Closes all brackets side by side, round by round.
pub fn together(all: &mut [Bracket], f: &mut Round<'_>) {
    loop {
        let asked: Vec<(usize, f64)> =
            all.iter_mut().enumerate().filter_map(|(i, b)| Some((i, b.next()?))).collect();
        if asked.is_empty() {
            return;
        }
        for ((i, x), v) in asked.iter().zip(f(&asked)) {
            all[*i].take(*x, v);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: x³ − 2 = 0 and eˣ = 3. Found in parallel they come out as alone, and a value near enough ends the search.
    #[test]
    fn roots_side_by_side_are_those_found_alone() {
        let f = |k: usize, x: f64| if k == 0 { x * x * x } else { libm::exp(x) };
        let levels = [2.0, 3.0];
        let one = |k: usize, enough: f64| {
            Bracket::new((1.0, f(k, 1.0)), (2.0, f(k, 2.0)), levels[k], 1e-12, enough)
        };
        let mut rounds = 0;
        let mut all = [one(0, 0.0), one(1, 0.0), one(1, 1e-3)];
        together(&mut all, &mut |asked| {
            rounds += 1;
            asked.iter().map(|(i, x)| Some(f((*i).min(1), *x))).collect()
        });
        let mut alone = [one(0, 0.0)];
        together(&mut alone, &mut |asked| asked.iter().map(|(_, x)| Some(f(0, *x))).collect());
        assert_eq!(all[0].root(), alone[0].root());
        assert!((all[0].root().unwrap() - libm::cbrt(2.0)).abs() < 1e-12);
        assert!((all[1].root().unwrap() - libm::log(3.0)).abs() < 1e-12);
        let near = all[2].root().unwrap();
        assert!((libm::exp(near) - 3.0).abs() <= 1e-3 && near != libm::log(3.0));
        assert_eq!((rounds, all.map(|b| b.steps)), (7, [7, 5, 3]));
    }

    #[test]
    fn a_hole_on_the_way_leaves_no_root() {
        let mut all = [Bracket::new((0.0, -1.0), (1.0, 1.0), 0.0, 1e-9, 0.0)];
        together(&mut all, &mut |asked| vec![None; asked.len()]);
        assert_eq!(all[0].root(), None);
    }

    /// Four samples of a cubic in the value: the first guess is the root.
    #[test]
    fn the_first_place_is_that_of_the_inverse_cubic() {
        // Closed form: x = y + 0.1 y³, so that y = 0 at x = 0.
        let at = |y: f64| (y + 0.1 * y * y * y, y);
        let mut one =
            Bracket::new(at(-0.5), at(0.4), 0.0, 1e-12, 1e-12).with_guess([Some(at(-1.5)), Some(at(1.2))]);
        assert!(one.next().unwrap().abs() < 1e-14);
    }
}
