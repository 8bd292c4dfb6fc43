//! Numbers that may change: `wall.thickness=0.5mm..4mm`.

use calotte_answers::size::{Scale, Varied};
use calotte_quantity::{Dimension, Quantity, find_unit, nearest, units};
use calotte_specimen::{Case, Input};

use crate::options::{Written, misread};
use crate::reply::Refusal;

/// An example of a range for a number.
fn example(input: &Input) -> String {
    let half = input.show(0.5 * input.value, None);
    let double = input.show(2.0 * input.value, None);
    match input.dimension {
        Dimension::Temperature => format!("{}=20degC..90degC", input.key),
        _ if input.value > 0.0 => {
            format!("{}={}..{}", input.key, half.replace(' ', ""), double.replace(' ', ""))
        }
        _ => format!("{}=FROM..TO", input.key),
    }
}

/// Reads one.
pub(super) fn read(written: &Written, case: &Case) -> Result<Varied, Refusal> {
    let Written { option, text } = written;
    let (key, range) = text.split_once('=').map_or((text.trim(), None), |(k, r)| (k.trim(), Some(r)));
    let Some(given) = case.inputs().iter().position(|i| i.key == key) else {
        let keys = || case.inputs().iter().map(|i| i.key.as_str());
        let help = nearest(key, keys()).map_or_else(
            || format!("numbers of this case: {}", keys().collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        return Err(Refusal::with_help(format!("{option} {text}: the case has no number `{key}`"), help));
    };
    let input = &case.inputs()[given];
    let unit = find_unit(&input.unit, input.dimension).or_else(|| units(input.dimension).next());
    let scale = unit.map_or_else(Scale::plain, |u| {
        let zero = u.to_si(0.0);
        Scale { unit: u.symbol.to_owned(), size_si: u.to_si(1.0) - zero, zero_si: zero }
    });
    let Some((a, b)) = range.and_then(|r| r.split_once("..")) else {
        return Err(Refusal::with_help(
            format!("{option} {text}: limits are missing"),
            format!("write KEY=FROM..TO, for example `{}`", example(input)),
        ));
    };
    let one = |t: &str| {
        Quantity::parse(t, input.dimension).map_err(|e| misread(&format!("{option} {text}: `{t}`"), &e))
    };
    let to = one(b.trim())?;
    // A first limit without a unit takes that of the second.
    let bare = a.trim().parse::<f64>().is_ok() && !to.unit_text.is_empty();
    let from = if bare { one(&format!("{} {}", a.trim(), to.unit_text))? } else { one(a.trim())? };
    if to.value <= from.value {
        return Err(Refusal::with_help(
            format!("{option} {text}: the range is empty"),
            format!("the second limit is greater than the first, for example `{}`", example(input)),
        ));
    }
    Ok(Varied { given, key: key.to_owned(), scale, from: from.value, to: to.value, here: input.value })
}
