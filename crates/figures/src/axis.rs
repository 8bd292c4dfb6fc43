//! Axes with round numbers.

use crate::ink::{self, Pen};
use crate::place::Rect;
use crate::svg::{Anchor, Svg};
use crate::text::{fixed, number, text_width};

/// Ends further apart in ratio than this are joined by a logarithmic axis where ends are given.
const LOG_FROM: f64 = 20.0;

/// A numbered axis.
#[derive(Clone, Debug)]
pub(crate) struct Axis {
    /// Lower end.
    pub(crate) low: f64,
    /// Upper end.
    pub(crate) high: f64,
    step: f64,
    parts: u32,
    log: bool,
}

/// A round number as a power of ten: `10⁻³`, `2·10⁻³`; near 1 as it is.
fn power(x: f64) -> String {
    if (0.099..101.0).contains(&x) {
        return fixed(x, usize::from(x < 0.99));
    }
    let exponent = libm::log10(x * 1.000001).floor();
    let leading = (x / libm::pow(10.0, exponent)).round();
    let raised: String = format!("{exponent}")
        .chars()
        .filter_map(|c| match c {
            '-' => Some('⁻'),
            c => "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().nth(c.to_digit(10)? as usize),
        })
        .collect();
    if leading == 1.0 { format!("10{raised}") } else { format!("{leading}·10{raised}") }
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
            log: false,
        }
    }

    /// An axis whose ends are exactly `low` and `high`; logarithmic if they are positive and more than
    /// [`LOG_FROM`] apart in ratio.
    pub(crate) fn between(low: f64, high: f64, wanted: f64) -> Self {
        let (low, high) = if low <= high { (low, high) } else { (high, low) };
        let mut axis = Self::covering(low, high, wanted);
        if low < high {
            axis.low = low;
            axis.high = high;
        }
        axis.log = low > 0.0 && high / low > LOG_FROM;
        axis
    }

    /// A logarithmic axis over positive ends, widened to at least half a decade.
    pub(crate) fn logarithmic(low: f64, high: f64) -> Self {
        let (low, high) = if low <= high { (low, high) } else { (high, low) };
        let mut axis = Self::covering(low, high, 5.0);
        let widen = libm::sqrt((3.2 / (high / low)).max(1.0));
        (axis.low, axis.high, axis.log) = (low / widen, high * widen, true);
        axis
    }

    /// Whether the axis is logarithmic.
    pub(crate) fn is_log(&self) -> bool {
        self.log
    }

    /// Share of the axis at a value.
    pub(crate) fn share(&self, x: f64) -> f64 {
        if self.log {
            return libm::log(x / self.low) / libm::log(self.high / self.low);
        }
        (x - self.low) / (self.high - self.low)
    }

    /// The value at a share of the axis: the other way round.
    pub(crate) fn value(&self, share: f64) -> f64 {
        if self.log {
            return self.low * libm::exp(share * libm::log(self.high / self.low));
        }
        self.low + share * (self.high - self.low)
    }

    /// Minor and major ticks inside the axis: value, and whether it is numbered.
    pub(crate) fn ticks(&self) -> Vec<(f64, bool)> {
        if self.log {
            return self.log_ticks();
        }
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

    fn log_ticks(&self) -> Vec<(f64, bool)> {
        let (first, last) = (libm::log10(self.low).floor(), libm::log10(self.high).ceil());
        let decades = libm::log10(self.high / self.low);
        if !(decades.is_finite() && last - first < 400.0) {
            return Vec::new();
        }
        // Every how many decades a number stands; within three, 2 and 5 are numbered as well.
        let every = (decades / 8.0).ceil().max(1.0);
        let mut out = Vec::new();
        for k in 0..=(last - first) as u32 {
            let exponent = first + f64::from(k);
            for m in 1..10_u32 {
                let value = f64::from(m) * libm::pow(10.0, exponent);
                if value < self.low * (1.0 - 1e-9) || value > self.high * (1.0 + 1e-9) {
                    continue;
                }
                let major = match m {
                    1 => (exponent / every).round() * every == exponent,
                    2 | 5 => decades <= 3.0,
                    _ => false,
                };
                if major || m == 1 || decades <= 12.0 {
                    out.push((value, major));
                }
            }
        }
        // Where that leaves fewer than three numbers on an axis shorter than a decade, every tick has one.
        if decades < 1.0 && out.iter().filter(|t| t.1).count() < 3 {
            out.iter_mut().for_each(|t| t.1 = true);
        }
        out
    }

    /// Ticks of an axis that lies along `length`. Where numbers would run into one another, fewer ticks have one: the powers of
    /// ten on a logarithmic axis and others where there is room, every second, fifth or tenth on another.
    pub(crate) fn ticks_along(&self, length: f64) -> Vec<(f64, bool)> {
        let ticks = self.ticks();
        let crowded = |ticks: &[(f64, bool)]| {
            let spans: Vec<(f64, f64)> = ticks
                .iter()
                .filter(|t| t.1)
                .map(|t| {
                    let (at, half) =
                        (self.share(t.0) * length, 0.5 * text_width(&self.label(t.0), ink::TICK) + 1.5);
                    (at - half, at + half)
                })
                .collect();
            spans.windows(2).any(|w| w[1].0 < w[0].1)
        };
        let whole = |x: f64| (x - x.round()).abs() < 1e-6;
        let keeping = |kept: &dyn Fn(f64) -> bool| -> Vec<(f64, bool)> {
            ticks.iter().map(|t| (t.0, t.1 && kept(t.0))).collect()
        };
        if !crowded(&ticks) {
            return ticks;
        }
        if self.log {
            // The powers of ten, and of the others those for which there is room.
            let mut kept = keeping(&|x| whole(libm::log10(x)));
            for (i, _) in ticks.iter().enumerate().filter(|(_, t)| t.1) {
                let before = kept[i].1;
                kept[i].1 = true;
                if !before && crowded(&kept) {
                    kept[i].1 = false;
                }
            }
            return kept;
        }
        let fewer = |every: f64| keeping(&|x| whole(x / (every * self.step)));
        [2.0, 5.0].map(fewer).into_iter().find(|t| !crowded(t)).unwrap_or_else(|| fewer(10.0))
    }

    /// The number beside a major tick.
    pub(crate) fn label(&self, x: f64) -> String {
        if self.log {
            // Far from 1, or over many decades, powers are shorter than zeros.
            let many = self.high / self.low > 2e4;
            if many || !(0.99e-4..1e6).contains(&x) {
                return power(x);
            }
            return fixed(x, (-libm::log10(x * 1.000001).floor()).clamp(0.0, 9.0) as usize);
        }
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

    /// The frame as a window for curves.
    pub(crate) fn window(&self) -> Rect {
        Rect { left: self.left, top: self.top, right: self.right, bottom: self.bottom }
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
        self.draw_apart(svg, self.left, across_title, up_title);
    }

    /// The same with the upward axis at `axis_left`, left of the frame: room for a column of its own between.
    pub(crate) fn draw_apart(&self, svg: &mut Svg, axis_left: f64, across_title: &str, up_title: &str) {
        let thin = Pen::solid(ink::GREY, 0.6);
        let dark = Pen::solid(ink::INK, 1.0);
        svg.record.frame(self, across_title, up_title);
        let before = svg.record.silence(true);
        svg.open("axes");
        svg.line("frame", (self.left, self.top), (self.right, self.top), thin);
        svg.line("frame", (self.right, self.top), (self.right, self.bottom), thin);
        svg.line("frame", (axis_left, self.bottom), (self.right, self.bottom), dark);
        svg.line("frame", (axis_left, self.top), (axis_left, self.bottom), dark);
        if axis_left < self.left {
            svg.line("frame", (self.left, self.top), (self.left, self.bottom), thin);
        }
        for (value, major) in self.across.ticks_along(self.right - self.left) {
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
            svg.line("tick", (axis_left - long, y), (axis_left, y), dark);
            if major {
                let at = (axis_left - 9.0, y + 3.6);
                svg.text("number", at, ink::TICK, Anchor::End, ink::INK, &self.up.label(value));
            }
        }
        let middle = (self.left + self.right) / 2.0;
        let at = (middle, self.bottom + 34.0);
        svg.text("axis-title", at, ink::LABEL, Anchor::Middle, ink::INK, across_title);
        let at = (axis_left - Self::room_left(&self.up) + 12.0, (self.top + self.bottom) / 2.0);
        svg.text_upright("axis-title", at, ink::LABEL, Anchor::Middle, ink::INK, up_title);
        svg.close();
        svg.record.silence(before);
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
    fn given_ends_are_kept_and_wide_ratios_are_logarithmic() {
        let axis = Axis::between(0.3, 0.9, 5.0);
        assert_eq!((axis.low, axis.high, axis.is_log()), (0.3, 0.9, false));
        let axis = Axis::between(0.03, 40.0, 5.0);
        assert!(axis.is_log() && (axis.share(40.0) - 1.0).abs() < 1e-12);
        assert!((axis.share(libm::sqrt(0.03 * 40.0)) - 0.5).abs() < 1e-12);
        let labels: Vec<String> = axis.ticks().iter().filter(|t| t.1).map(|t| axis.label(t.0)).collect();
        assert_eq!(labels, ["0.1", "1", "10"]);
        let labels =
            |a: Axis| -> Vec<String> { a.ticks().iter().filter(|t| t.1).map(|t| a.label(t.0)).collect() };
        assert_eq!(labels(Axis::between(0.5, 11.0, 5.0)), ["0.5", "1", "2", "5", "10"]);
        assert!(!Axis::between(0.0, 40.0, 5.0).is_log());
        assert!(Axis::between(1e-30, 1e30, 5.0).ticks().iter().filter(|t| t.1).count() <= 10);
    }

    #[test]
    fn powers_stand_where_zeros_would_be_many() {
        let labels =
            |a: Axis| -> Vec<String> { a.ticks().iter().filter(|t| t.1).map(|t| a.label(t.0)).collect() };
        assert_eq!(labels(Axis::logarithmic(1e-6, 1e-3)), {
            ["10⁻⁶", "2·10⁻⁶", "5·10⁻⁶", "10⁻⁵", "2·10⁻⁵", "5·10⁻⁵", "0.0001", "0.0002", "0.0005", "0.001"]
        });
        assert_eq!(labels(Axis::logarithmic(1e-3, 1e3)), ["10⁻³", "10⁻²", "0.1", "1", "10", "100", "10³"]);
        assert_eq!(labels(Axis::logarithmic(1.5, 4.4)), ["2", "3", "4"]);
        let long = Axis::logarithmic(5.0, 300.0);
        let along = |length: f64| -> Vec<String> {
            long.ticks_along(length).iter().filter(|t| t.1).map(|t| long.label(t.0)).collect()
        };
        assert_eq!(along(300.0), ["5", "10", "20", "50", "100", "200"]);
        assert_eq!(along(80.0), ["5", "10", "100"]);
        let even = Axis::between(0.6, 1.4, 8.0);
        let along = |length: f64| -> Vec<String> {
            even.ticks_along(length).iter().filter(|t| t.1).map(|t| even.label(t.0)).collect()
        };
        assert_eq!(along(400.0), ["0.6", "0.7", "0.8", "0.9", "1.0", "1.1", "1.2", "1.3", "1.4"]);
        assert_eq!(along(110.0), ["0.6", "0.8", "1.0", "1.2", "1.4"]);
        assert_eq!(along(70.0), ["1.0"]);
        let flat = Axis::logarithmic(4.0, 4.0);
        assert!(flat.high / flat.low > 3.1 && (flat.share(4.0) - 0.5).abs() < 1e-12);
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
