//! Axes with round numbers.

use crate::ink::{self, Pen};
use crate::svg::{Anchor, Svg};
use crate::text::{fixed, number, text_width};

/// A numbered axis.
#[derive(Clone, Debug)]
pub(crate) struct Axis {
    /// Lower end.
    pub(crate) low: f64,
    /// Upper end.
    pub(crate) high: f64,
    step: f64,
    parts: u32,
}

/// The largest of 1, 2, 5 times a power of ten that does not exceed `x`; 0 when `x` is not positive.
pub(crate) fn round_below(x: f64) -> f64 {
    if !(x.is_finite() && x > 0.0) {
        return 0.0;
    }
    let decade = libm::pow(10.0, libm::log10(x).floor());
    let leading = x / decade * (1.0 + 1e-12);
    let m = if leading >= 10.0 {
        10.0
    } else if leading >= 5.0 {
        5.0
    } else if leading >= 2.0 {
        2.0
    } else {
        1.0
    };
    m * decade
}

impl Axis {
    /// An axis that covers `low..high` with about `wanted` numbered ticks; the ends lie on minor ticks.
    pub(crate) fn covering(low: f64, high: f64, wanted: f64) -> Self {
        let (mut low, mut high) = if low <= high { (low, high) } else { (high, low) };
        let size = low.abs().max(high.abs());
        let least = if size > 0.0 { size * 1e-6 } else { 1.0 };
        if high - low < least {
            let pad = if size > 0.0 { size * 0.05 } else { 0.5 };
            low -= pad;
            high += pad;
        }
        let rough = (high - low) / wanted.max(1.0);
        let decade = libm::pow(10.0, libm::log10(rough).floor());
        // Of the round steps, the one nearest to the wish in ratio.
        let miss = |step: f64| (step / rough).max(rough / step);
        let step = [2.0, 5.0, 10.0]
            .map(|m| m * decade)
            .into_iter()
            .fold(decade, |best, s| if miss(s) < miss(best) { s } else { best });
        let leading = step / libm::pow(10.0, libm::log10(step * 1.000001).floor());
        let parts = if leading > 1.5 && leading < 2.5 { 4 } else { 5 };
        let minor = step / f64::from(parts);
        Self {
            low: (low / minor + 1e-9).floor() * minor,
            high: (high / minor - 1e-9).ceil() * minor,
            step,
            parts,
        }
    }

    /// Share of the axis at a value.
    pub(crate) fn share(&self, x: f64) -> f64 {
        (x - self.low) / (self.high - self.low)
    }

    /// Minor and major ticks inside the axis: value, and whether it is numbered.
    pub(crate) fn ticks(&self) -> Vec<(f64, bool)> {
        let minor = self.step / f64::from(self.parts);
        let first = (self.low / minor - 1e-6).ceil();
        let last = (self.high / minor + 1e-6).floor();
        if !(first.is_finite() && last.is_finite()) || last - first > 400.0 {
            return Vec::new();
        }
        let parts = f64::from(self.parts);
        (0..=(last - first) as u32)
            .map(|i| {
                let k = first + f64::from(i);
                let major = (k / parts).round() * parts == k;
                (k * minor, major)
            })
            .collect()
    }

    /// The number beside a major tick.
    pub(crate) fn label(&self, x: f64) -> String {
        let decimals = -libm::log10(self.step * 1.000001).floor();
        let size = self.low.abs().max(self.high.abs());
        if !(1e-5..1e7).contains(&size) {
            return number(x, 3);
        }
        fixed(x, decimals.clamp(0.0, 9.0) as usize)
    }
}

/// A rectangle of the page with two axes.
pub(crate) struct Frame {
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
    pub(crate) across: Axis,
    pub(crate) up: Axis,
}

impl Frame {
    /// Page x of a value.
    pub(crate) fn x(&self, value: f64) -> f64 {
        self.left + self.across.share(value) * (self.right - self.left)
    }

    /// Page y of a value.
    pub(crate) fn y(&self, value: f64) -> f64 {
        self.bottom - self.up.share(value) * (self.bottom - self.top)
    }

    /// Room left of the frame that the numbers and the title of the upward axis need.
    pub(crate) fn room_left(up: &Axis) -> f64 {
        let widest = up
            .ticks()
            .iter()
            .filter(|t| t.1)
            .map(|t| text_width(&up.label(t.0), ink::TICK))
            .fold(0.0, f64::max);
        widest + 34.0
    }

    /// Draws the box, ticks, numbers and titles.
    pub(crate) fn draw(&self, svg: &mut Svg, across_title: &str, up_title: &str) {
        let thin = Pen::solid(ink::GREY, 0.6);
        let dark = Pen::solid(ink::INK, 1.0);
        svg.open("axes");
        svg.line("frame", (self.left, self.top), (self.right, self.top), thin);
        svg.line("frame", (self.right, self.top), (self.right, self.bottom), thin);
        svg.line("frame", (self.left, self.bottom), (self.right, self.bottom), dark);
        svg.line("frame", (self.left, self.top), (self.left, self.bottom), dark);
        for (value, major) in self.across.ticks() {
            let x = self.x(value);
            let long = if major { 6.0 } else { 3.0 };
            svg.line("tick", (x, self.bottom), (x, self.bottom + long), dark);
            if major {
                let at = (x, self.bottom + 17.5);
                let label = self.across.label(value);
                svg.text("number", at, ink::TICK, Anchor::Middle, ink::INK, &label);
            }
        }
        for (value, major) in self.up.ticks() {
            let y = self.y(value);
            let long = if major { 6.0 } else { 3.0 };
            svg.line("tick", (self.left - long, y), (self.left, y), dark);
            if major {
                let at = (self.left - 9.0, y + 3.6);
                svg.text("number", at, ink::TICK, Anchor::End, ink::INK, &self.up.label(value));
            }
        }
        let middle = (self.left + self.right) / 2.0;
        let at = (middle, self.bottom + 34.0);
        svg.text("axis-title", at, ink::LABEL, Anchor::Middle, ink::INK, across_title);
        let at = (self.left - Self::room_left(&self.up) + 12.0, (self.top + self.bottom) / 2.0);
        svg.text_upright("axis-title", at, ink::LABEL, Anchor::Middle, ink::INK, up_title);
        svg.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_numbers_are_one_two_five() {
        assert!((round_below(7.3) - 5.0).abs() < 1e-12);
        assert!((round_below(0.03) - 0.02).abs() < 1e-15);
        assert!((round_below(1000.0) - 1000.0).abs() < 1e-9);
        assert_eq!(round_below(f64::NAN), 0.0);
        assert_eq!(round_below(-1.0), 0.0);
    }

    #[test]
    fn axes_cover_their_data_with_a_few_numbers() {
        for (low, high) in [(0.0, 1.0), (-3.2, 17.0), (1.9, 2.3), (0.0, 4.4e-4), (5.0, 5.0)] {
            let axis = Axis::covering(low, high, 6.0);
            let slack = 1e-12 * high.abs();
            assert!(axis.low <= low + slack && axis.high >= high - slack, "{low} {high} {axis:?}");
            let numbered = axis.ticks().iter().filter(|t| t.1).count();
            assert!((3..=11).contains(&numbered), "{low} {high}: {numbered}");
            assert!(axis.ticks().len() > numbered);
        }
    }

    #[test]
    fn numbers_on_an_axis_are_all_different() {
        let axis = Axis::covering(1.98, 2.03, 6.0);
        let labels: Vec<String> = axis.ticks().iter().filter(|t| t.1).map(|t| axis.label(t.0)).collect();
        let mut unique = labels.clone();
        unique.dedup();
        assert_eq!(labels, unique);
        assert!(labels.contains(&"2.00".to_owned()), "{labels:?}");
    }
}
