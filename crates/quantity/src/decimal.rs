//! Numbers as written, converted with one rounding.

use crate::unit::{Factor, ten};

/// A finite number as written.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Written {
    /// ± digits · 10^ten.
    Decimal { negative: bool, digits: String, ten: i64 },
    /// num / den, den > 0.
    Fraction { num: u64, den: u64 },
}

impl Written {
    /// Reads the number that `text` starts with, and how many bytes it takes.
    pub(crate) fn read(text: &str) -> Option<(Self, usize)> {
        Self::read_fraction(text).or_else(|| Self::read_decimal(text))
    }

    /// `3/8` and `1 3/8`, up to six digits each.
    fn read_fraction(text: &str) -> Option<(Self, usize)> {
        let (first, mut at) = whole(text)?;
        let (mut units, mut num) = (0, first);
        if !text[at..].starts_with('/') {
            let gap = text[at..].len() - text[at..].trim_start_matches(' ').len();
            let (second, taken) = whole(&text[at + gap..])?;
            if gap == 0 {
                return None;
            }
            (units, num, at) = (first, second, at + gap + taken);
        }
        let rest = text[at..].strip_prefix('/')?;
        let (den, taken) = whole(rest)?;
        let end = at + 1 + taken;
        let goes_on = text[end..].starts_with(['.', '/']);
        (den > 0 && !goes_on).then(|| (Self::Fraction { num: units * den + num, den }, end))
    }

    fn read_decimal(text: &str) -> Option<(Self, usize)> {
        let mut rest = text;
        let negative = rest.starts_with(['-', '−']);
        if let Some(after) = rest.strip_prefix(['-', '−', '+']) {
            rest = after;
        }
        let whole_part = digits(rest);
        rest = &rest[whole_part.len()..];
        let mut part = "";
        if let Some(after) = rest.strip_prefix('.') {
            part = digits(after);
            rest = &after[part.len()..];
        }
        if whole_part.is_empty() && part.is_empty() {
            return None;
        }
        let mut ten = -i64::try_from(part.len()).ok()?;
        if let Some(after) = rest.strip_prefix(['e', 'E']) {
            let minus = after.starts_with(['-', '−']);
            let after = after.strip_prefix(['-', '−', '+']).unwrap_or(after);
            let power = digits(after);
            if !power.is_empty() {
                // More than nine digits of exponent overflow or vanish whatever they are.
                let p: i64 = power.parse().unwrap_or(999_999_999).min(999_999_999);
                ten += if minus { -p } else { p };
                rest = &after[power.len()..];
            }
        }
        let digits = format!("{whole_part}{part}");
        let digits = digits.trim_start_matches('0').to_owned();
        Some((Self::Decimal { negative, digits, ten }, text.len() - rest.len()))
    }

    /// Whether a minus sign precedes a number other than zero.
    pub(crate) fn is_negative(&self) -> bool {
        matches!(self, Self::Decimal { negative: true, digits, .. } if digits.bytes().any(|b| b != b'0'))
    }

    /// The number and so many hundredths; without rounding where digits allow.
    pub(crate) fn plus(&self, hundredths: i32) -> Self {
        let exactly = || {
            let Self::Decimal { negative, digits, ten } = self else { return None };
            let digits = if digits.is_empty() { "0" } else { digits };
            let place = (*ten).min(-2);
            let at_place = |n: i128, from: i64| {
                let power = u32::try_from(from - place).ok().filter(|p| *p <= 36)?;
                n.checked_mul(10_i128.checked_pow(power)?)
            };
            let n: i128 = digits.parse().ok()?;
            let sum = at_place(if *negative { -n } else { n }, *ten)?
                .checked_add(at_place(hundredths.into(), -2)?)?;
            Some(Self::Decimal { negative: sum < 0, digits: sum.unsigned_abs().to_string(), ten: place })
        };
        exactly().unwrap_or_else(|| {
            let sum = self.times(Factor::Ten(0)) + f64::from(hundredths) / 100.0;
            Self::read(&format!("{sum:e}")).map_or_else(|| self.clone(), |(w, _)| w)
        })
    }

    /// The number times a factor, rounded once where the factor allows; infinite when too large.
    pub(crate) fn times(&self, factor: Factor) -> f64 {
        match (self, factor) {
            (Self::Decimal { negative, digits, ten }, Factor::Ten(k)) => {
                float(*negative, digits, ten + i64::from(k))
            }
            (Self::Decimal { negative, digits, ten }, Factor::Exact(m, k)) => {
                match digits.parse::<u128>().ok().and_then(|d| d.checked_mul(u128::from(m))) {
                    Some(product) => float(*negative, &product.to_string(), ten + i64::from(k)),
                    None => float(*negative, digits, ten + i64::from(k)) * f64::from(m),
                }
            }
            (Self::Decimal { negative, digits, ten }, Factor::Pair(hi, lo)) => {
                let x = float(*negative, digits, *ten);
                if x.is_finite() { x.mul_add(hi, x * lo) } else { x }
            }
            (Self::Fraction { num, den }, Factor::Ten(k)) => ratio(*num, *den, 1, k),
            (Self::Fraction { num, den }, Factor::Exact(m, k)) => ratio(*num, *den, m, k),
            (Self::Fraction { num, den }, Factor::Pair(hi, lo)) => {
                let x = *num as f64 / *den as f64;
                x.mul_add(hi, x * lo)
            }
        }
    }
}

/// num·m·10^k / den; numerator and denominator are exact for the sizes `read_fraction` lets through.
fn ratio(num: u64, den: u64, m: u32, k: i32) -> f64 {
    let num = num as f64 * f64::from(m);
    if k < 0 { num / (den as f64 * ten(-k)) } else { num * ten(k) / den as f64 }
}

fn float(negative: bool, digits: &str, ten: i64) -> f64 {
    let digits = if digits.is_empty() { "0" } else { digits };
    // Every decimal text in this form parses; the standard parser rounds correctly.
    let x: f64 = format!("{digits}e{ten}").parse().unwrap_or(f64::NAN);
    if negative { -x } else { x }
}

fn digits(text: &str) -> &str {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    &text[..end]
}

fn whole(text: &str) -> Option<(u64, usize)> {
    let d = digits(text);
    (!d.is_empty() && d.len() <= 6).then(|| d.parse().ok().map(|n| (n, d.len())))?
}
