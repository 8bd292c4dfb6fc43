//! Axes, ranges, loads and grid sizes as people write them.

use calotte_answers::map::{AxisSpec, Quantity};
use calotte_quantity as q;
use calotte_quantity::{Dimension, nearest};
use calotte_specimen::{Case, LoadKind, Meridian};

use crate::options::{Written, misread};
use crate::reply::Refusal;

/// Reads `KEY` or `KEY=FROM..TO`.
///
/// # Errors
/// [`Refusal::Question`] when the case has no such number, or its range is none.
pub fn axis(written: &Written, case: &Case) -> Result<AxisSpec, Refusal> {
    let Written { option, text } = written;
    let (key, range) = text.split_once('=').map_or((text.as_str(), None), |(k, r)| (k.trim(), Some(r)));
    let (quantity, dimension, here, symbol) = if key == "depth" {
        let cap = matches!(case.part().meridian, Meridian::Sphere(_));
        let (dimension, unit) = if cap { (Dimension::Angle, "deg") } else { (Dimension::Number, "") };
        (Quantity::Depth, dimension, case.depth(), unit)
    } else {
        let place = case.inputs().iter().position(|i| i.key == key);
        let Some(i) = place else {
            let keys = || case.inputs().iter().map(|i| i.key.as_str()).chain(["depth"]);
            let hint = nearest(key, keys()).map_or_else(
                || format!("numbers of this case: {}", keys().collect::<Vec<_>>().join(", ")),
                |near| format!("did you mean `{near}`?"),
            );
            return Err(Refusal::with_help(
                format!("{option} {key}: the case has no number of this name"),
                hint,
            ));
        };
        let input = &case.inputs()[i];
        (Quantity::Given(i), input.dimension, input.value, input.unit.as_str())
    };
    let unit = q::find_unit(symbol, dimension).or_else(|| q::units(dimension).next());
    let unit_si = unit.map_or(1.0, |u| u.to_si(1.0));
    let range = match range {
        Some(r) => ends(&Written::new(option.clone(), r), dimension)?,
        None => usual(key, here, case),
    };
    if here <= 0.0 && range[0] <= 0.0 {
        return Err(Refusal::question(format!(
            "{option} {key}: a map's axis runs over positive values; give a range such as `{key}=1..10`"
        )));
    }
    let label = key.rsplit('.').next().unwrap_or(key).replace('_', " ");
    let label = if key == "depth" && dimension == Dimension::Angle { "half-angle".to_owned() } else { label };
    Ok(AxisSpec { quantity, key: key.to_owned(), label, unit: symbol.to_owned(), unit_si, range })
}

/// Reads a range `FROM..TO` of values greater than 0.
///
/// # Errors
/// [`Refusal::Question`] when it is none.
pub fn ends(written: &Written, dimension: Dimension) -> Result<[f64; 2], Refusal> {
    let Written { option, text } = written;
    let Some((a, b)) = text.split_once("..") else {
        let example = match dimension {
            Dimension::Time => "0.1s..100s",
            Dimension::Length => "1mm..4mm",
            _ => "10deg..60deg",
        };
        let says = format!("{option}: `{text}` is no range; write FROM..TO, for example `{example}`");
        return Err(Refusal::question(says));
    };
    let one = |t: &str| {
        q::Quantity::parse(t.trim(), dimension)
            .map(|v| v.value)
            .map_err(|e| misread(&format!("{option}: `{}`", t.trim()), &e))
    };
    let (a, b) = (one(a)?, one(b)?);
    if !(a > 0.0 && b > a * (1.0 + 1e-9)) {
        let says = format!(
            "{option}: the range `{text}` is empty; FROM must be greater than 0 and TO greater than FROM"
        );
        return Err(Refusal::question(says));
    }
    Ok([a, b])
}

/// A range around the case: a factor of two down and up for depth, of three for other numbers.
fn usual(key: &str, here: f64, case: &Case) -> [f64; 2] {
    if key == "depth" {
        let most = if matches!(case.part().meridian, Meridian::Sphere(_)) {
            150.0_f64.to_radians()
        } else {
            f64::INFINITY
        };
        return [0.5 * here, (2.0 * here).min(most)];
    }
    if key.ends_with("poisson_ratio") {
        return [0.05, 0.5];
    }
    [here / 3.0, 3.0 * here]
}

/// A load in the unit of the case's load.
pub(crate) fn load(written: &Written, case: &Case) -> Result<f64, Refusal> {
    let Written { option, text } = written;
    let wrong = |why: String| Refusal::question(format!("{option} {text}: {why}"));
    let kind = case.load().map_or(LoadKind::Pole, |l| l.kind);
    let read = |dimension| {
        q::Quantity::parse(text, dimension)
            .map(|v| v.value)
            .map_err(|e| misread(&format!("{option} {text}"), &e))
    };
    let value = match kind {
        LoadKind::Pressure { .. } => read(Dimension::Pressure)?,
        LoadKind::Gravity => read(Dimension::Acceleration)?,
        _ => {
            let (number, unit) = text.trim().split_at(
                text.trim()
                    .find(|c: char| c.is_alphabetic() && c != 'e' && c != 'E')
                    .unwrap_or(text.trim().len()),
            );
            let factor = match unit.trim() {
                "N" | "N/m" => 1.0,
                "mN" | "mN/m" => 1e-3,
                "kN" | "kN/m" => 1e3,
                "gf" => 9.806_65e-3,
                other => {
                    return Err(wrong(format!("`{other}` is no unit of force here; write N, mN, kN or gf")));
                }
            };
            let n: f64 = number.trim().parse().map_err(|_| wrong(format!("`{number}` is no number")))?;
            n * factor
        }
    };
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(wrong("a trip load is greater than 0".to_owned()))
    }
}

/// `64x64` as columns and rows.
///
/// # Errors
/// [`Refusal::Question`] when it is no such size.
pub fn grid_size(written: &Written) -> Result<[usize; 2], Refusal> {
    let Written { option, text } = written;
    let wrong = || {
        let says = format!("{option} {text}: write columns x rows, each from 1 to 4096, for example 64x64");
        Refusal::question(says)
    };
    let (a, b) = text.split_once(['x', 'X', '×']).ok_or_else(wrong)?;
    let one = |t: &str| t.trim().parse::<usize>().ok().filter(|n| (1..=4096).contains(n)).ok_or_else(wrong);
    Ok([one(a)?, one(b)?])
}
