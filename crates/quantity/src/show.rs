//! Printing quantities.

use crate::decimal::Written;
use crate::unit::Factor;
use crate::{Dimension, Unit, find_unit};

/// `value` (SI) in `unit`, to the digits worth reading: a tolerance keeps one significant digit (two
/// when it starts with 1 or 2) and the value goes to the same place; without a tolerance four
/// significant digits, trailing zeros dropped.
pub fn show(value: f64, half_width: Option<f64>, unit: &Unit) -> String {
    let unit = readable(half_width, unit);
    let v = unit.from_si(value);
    match half_width.map(|w| unit.width_from_si(w)).filter(|w| *w > 0.0 && w.is_finite()) {
        Some(w) if v.is_finite() => {
            let lead = format!("{w:.1e}");
            let power = power_of(&lead);
            let digits = if lead.starts_with(['1', '2']) { 2 } else { 1 };
            let place = power + 1 - digits; // last digit kept is 10^place
            let plain = (-12..=6).contains(&place) && v.abs() < 1e15;
            if plain {
                let decimals = usize::try_from(-place).unwrap_or(0);
                with_unit(
                    &format!("{} ± {}", to_place(v, place, decimals), to_place(w, place, decimals)),
                    unit,
                )
            } else {
                with_unit(&format!("{v:.6e} ± {w:.1e}"), unit)
            }
        }
        _ => with_unit(&four_digits(v), unit),
    }
}

/// The shortest text that [`crate::Quantity::parse`] reads back as the same SI value, bit for bit;
/// for degrees, psi, ksi, 1/min and degF, whose factors are no decimals, perhaps one unit in the last place away,
/// and for temperatures below that of ice as far as the digits of degC and degF go.
pub fn show_exact(value: f64, half_width: Option<f64>, unit: &Unit) -> String {
    let unit = readable(half_width, unit);
    let v = exact(value, unit, true);
    match half_width {
        Some(w) => with_unit(&format!("{v} ± {}", exact(w, unit, false)), unit),
        None => with_unit(&v, unit),
    }
}

/// `49 ± 1 %` would read as one per cent of 49: with a tolerance, per cent print as plain numbers.
fn readable(half_width: Option<f64>, unit: &Unit) -> &Unit {
    match find_unit("", Dimension::Number) {
        Some(none) if unit.symbol == "%" && half_width.is_some() => none,
        _ => unit,
    }
}

/// `place`: a value, whose scale has a zero; otherwise a width.
fn exact(si: f64, unit: &Unit, place: bool) -> String {
    let shifted = place && unit.zero != 0;
    if let Factor::Ten(k) = unit.factor
        && !shifted
    {
        // The shortest digits of the SI value are the shortest digits in a unit of ten.
        let text = format!("{si:e}");
        let (mantissa, power) = text.split_once('e').unwrap_or((&text, "0"));
        let power: i32 = power.parse().unwrap_or(0);
        let moved = power - k;
        return if (-5..=6).contains(&moved) {
            plain(mantissa, moved)
        } else {
            format!("{mantissa}e{moved}")
        };
    }
    let v = if shifted { unit.from_si(si) } else { unit.width_from_si(si) };
    let back =
        |t: &str| Written::read(t).map(|(w, _)| if shifted { unit.read(&w) } else { w.times(unit.factor) });
    let steps = [v, v.next_up(), v.next_down(), v.next_up().next_up(), v.next_down().next_down()];
    let texts = steps.into_iter().flat_map(|c| (0..17).map(move |d| format!("{c:.d$e}")));
    let fits = texts.into_iter().find(|t| back(t) == Some(si));
    let text = fits.or_else(|| between_floats(v, si, &back)).unwrap_or_else(|| format!("{v:e}"));
    let (mantissa, power) = text.split_once('e').unwrap_or((&text, "0"));
    let power: i32 = power.parse().unwrap_or(0);
    if (-5..=6).contains(&power) { plain(mantissa, power) } else { text }
}

/// Looks near `v`, in the eighteenth digit, for a text that reads back as `si`.
fn between_floats(v: f64, si: f64, back: &dyn Fn(&str) -> Option<f64>) -> Option<String> {
    let text = format!("{:.17e}", v.abs());
    let (mantissa, power) = text.split_once('e')?;
    let digits: i64 = mantissa.replace('.', "").parse().ok()?;
    let power = power.parse::<i64>().ok()? - 17;
    let sign = if v < 0.0 { "-" } else { "" };
    let fits = (1..=120).flat_map(|k| [digits + k, digits - k]).map(|d| format!("{sign}{d}e{power}"));
    let found = fits.into_iter().find(|t| back(t) == Some(si))?;
    let (d, _) = found.strip_prefix('-').unwrap_or(&found).split_once('e')?;
    let power = power + i64::try_from(d.len()).ok()? - 1;
    Some(format!("{sign}{}.{}e{power}", &d[..1], d[1..].trim_end_matches('0')))
}

/// Moves the point of `d.ddd` by `power` places.
fn plain(mantissa: &str, power: i32) -> String {
    let (sign, body) = mantissa.strip_prefix('-').map_or(("", mantissa), |b| ("-", b));
    let digits: String = body.chars().filter(|c| *c != '.').collect();
    let point = power + 1; // digits before the point
    if point <= 0 {
        let zeros = "0".repeat(usize::try_from(-point).unwrap_or(0));
        return format!("{sign}0.{zeros}{digits}");
    }
    let point = usize::try_from(point).unwrap_or(0);
    if digits.len() <= point {
        return format!("{sign}{digits}{}", "0".repeat(point - digits.len()));
    }
    format!("{sign}{}.{}", &digits[..point], &digits[point..])
}

fn power_of(scientific: &str) -> i32 {
    scientific.split_once('e').and_then(|(_, p)| p.parse().ok()).unwrap_or(0)
}

fn to_place(x: f64, place: i32, decimals: usize) -> String {
    if place > 0 {
        let step = crate::unit::ten(place);
        format!("{:.0}", (x / step).round() * step)
    } else {
        format!("{x:.decimals$}")
    }
}

fn four_digits(v: f64) -> String {
    if v == 0.0 || !v.is_finite() {
        return format!("{v}");
    }
    let text = format!("{v:.3e}");
    let power = power_of(&text);
    if (-4..=6).contains(&power) {
        let decimals = usize::try_from(3 - power).unwrap_or(0);
        let s = to_place(v, power - 3, decimals);
        if s.contains('.') { s.trim_end_matches('0').trim_end_matches('.').to_owned() } else { s }
    } else {
        let (m, p) = text.split_once('e').unwrap_or((&text, "0"));
        format!("{}e{p}", m.trim_end_matches('0').trim_end_matches('.'))
    }
}

fn with_unit(number: &str, unit: &Unit) -> String {
    if unit.symbol.is_empty() { number.to_owned() } else { format!("{number} {}", unit.symbol) }
}
