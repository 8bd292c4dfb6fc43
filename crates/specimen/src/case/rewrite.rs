//! A case file with some of its numbers written anew, everything else as it was.

use toml_edit::{DocumentMut, Item, Value};

use super::{Case, Input};

/// The case's text with these values.
pub(super) fn rewritten(case: &Case, changes: &[(usize, f64)]) -> Result<String, String> {
    let mut document: DocumentMut =
        case.text().parse().map_err(|e| format!("the case file cannot be read again: {e}"))?;
    for (i, value) in changes {
        let input = case.inputs().get(*i).ok_or_else(|| format!("the case has no number {i}"))?;
        put(&mut document, input, *value)?;
    }
    Ok(document.to_string())
}

fn put(document: &mut DocumentMut, input: &Input, value: f64) -> Result<(), String> {
    let elsewhere =
        || format!("`{}` does not stand in the case file itself, so it cannot be written there", input.key);
    let (table, rest) = input.key.split_once('.').ok_or_else(elsewhere)?;
    let (name, entry) = match rest.split_once('[') {
        Some((name, n)) => (name, n.trim_end_matches(']').parse::<usize>().ok()),
        None => (rest, None),
    };
    let number = number_in(input, value);
    let table =
        document.as_table_mut().get_mut(table).and_then(Item::as_table_like_mut).ok_or_else(elsewhere)?;
    let Some(item) = table.get_mut(name) else {
        if !input.from_shelf {
            return Err(elsewhere());
        }
        let text = format!("{number} {}", input.unit).trim_end().to_owned();
        table.insert(name, toml_edit::value(text));
        return Ok(());
    };
    let mut old = item.as_value_mut().ok_or_else(elsewhere)?;
    if let Value::Array(list) = old {
        let place = entry.and_then(|n| n.checked_sub(1)).ok_or_else(elsewhere)?;
        old = list.get_mut(place).ok_or_else(elsewhere)?;
    }
    let mut new = match &*old {
        Value::String(text) => Value::from(in_place_of(text.value(), &number)),
        Value::Integer(_) | Value::Float(_) => Value::from(number.parse::<f64>().unwrap_or(value)),
        _ => return Err(elsewhere()),
    };
    *new.decor_mut() = old.decor().clone();
    *old = new;
    Ok(())
}

/// The value in the unit as written, as short as it can be for six digits.
fn number_in(input: &Input, value: f64) -> String {
    let shown = input.as_unit.from_si(value);
    // Six digits first; all of them where six say something else.
    let short: f64 = format!("{shown:.5e}").parse().unwrap_or(shown);
    let same = (input.as_unit.to_si(short) - value).abs() <= 1e-12 * value.abs();
    format!("{}", if same { short } else { shown })
}

/// A quantity as written with another number in it: `2.10 ± 0.05 mm` with 2.3 is `2.3 ± 0.05 mm`.
fn in_place_of(text: &str, number: &str) -> String {
    let start = text.len() - text.trim_start_matches([' ', '(']).len();
    let rest = &text[start..];
    let mut end = 0;
    let mut after_exponent = false;
    for (i, c) in rest.char_indices() {
        let follows = |ok: &dyn Fn(char) -> bool| rest[i + c.len_utf8()..].chars().next().is_some_and(ok);
        let part = match c {
            '0'..='9' | '.' => true,
            '+' | '-' | '−' => i == 0 || after_exponent,
            'e' | 'E' => i > 0 && follows(&|d| d.is_ascii_digit() || "+-−".contains(d)),
            // A fraction, or the space in `1 3/8`.
            '/' => follows(&|d| d.is_ascii_digit()),
            ' ' => follows(&|d| d.is_ascii_digit()),
            _ => false,
        };
        after_exponent = matches!(c, 'e' | 'E');
        if !part {
            break;
        }
        end = i + c.len_utf8();
    }
    format!("{}{number}{}", &text[..start], &rest[end..])
}

#[cfg(test)]
mod tests {
    use super::super::read_case;
    use super::in_place_of;

    const CASE: &str = "title = \"t\" # invented\n[shape]\nkind = \"cap\"\nradius = \"25.0 ± 0.2 mm\" # as measured\n\
        half_angle = \"60 ± 1 deg\"\n\n[wall]\narc = [\"0 mm\", \"26 mm\"]\nthickness = [\"2.1 mm\", \"1.8 mm\"] # two\n\
        [material]\nname = \"silicone-30\"\npoisson_ratio = 0.49\n[rim]\nkind = \"free\"\n";

    #[test]
    fn numbers_change_and_nothing_else() {
        let case = read_case(CASE.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into())).0.unwrap();
        let at = |key: &str| case.inputs().iter().position(|i| i.key == key).unwrap();
        let changes = [
            (at("shape.radius"), 0.0231234),
            (at("wall.thickness[2]"), 1.95e-3),
            (at("material.poisson_ratio"), 0.48),
            (at("material.youngs_modulus"), 1.25e6),
        ];
        let text = case.rewritten(&changes).unwrap();
        let wanted =
            CASE.replace("25.0 ±", "23.1234 ±").replace("\"1.8 mm\"", "\"1.95 mm\"").replace("0.49", "0.48");
        assert!(text.starts_with(wanted.split("[rim]").next().unwrap().trim_end()), "{text}");
        let again = read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into())).0.unwrap();
        for (i, value) in changes {
            let key = &case.inputs()[i].key;
            let read = again.inputs().iter().find(|i| &i.key == key).unwrap();
            assert!((read.value / value - 1.0).abs() < 1e-12, "{key}: {}", read.value);
        }
    }

    #[test]
    fn quantities_keep_their_unit_and_tolerance() {
        for (text, wanted) in [
            ("2.10 ± 0.05 mm", "7 ± 0.05 mm"),
            ("1.2e-3 m", "7 m"),
            ("(2.1 ± 1) mm", "(7 ± 1) mm"),
            ("1 3/8 in", "7 in"),
            ("50deg", "7deg"),
            ("0.49", "7"),
            ("-40 degC +/- 2 K", "7 degC +/- 2 K"),
        ] {
            assert_eq!(in_place_of(text, "7"), wanted);
        }
    }
}
