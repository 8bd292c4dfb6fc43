//! Reading a quantity.

use std::ops::Range;

use crate::decimal::Written;
use crate::unit::{Factor, spellings};
use crate::{Dimension, Fault, Quantity, QuantityError, Unit, find_unit, nearest};

const SEPARATORS: [&str; 5] = ["±", "+/-", "+/−", "+-", "+−"];

/// A place in the text and what is left of it.
struct Cursor<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Cursor<'t> {
    fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    fn skip_blanks(&mut self) {
        self.at += self.rest().len() - self.rest().trim_start().len();
    }

    fn take(&mut self, word: &str) -> bool {
        let found = self.rest().starts_with(word);
        self.at += if found { word.len() } else { 0 };
        found
    }

    /// Text up to the first of `stops`, blanks trimmed, with its place.
    fn until(&mut self, stops: &[&str]) -> (&'t str, Range<usize>) {
        let rest = self.rest();
        let end = stops.iter().filter_map(|s| rest.find(s)).min().unwrap_or(rest.len());
        let word = rest[..end].trim();
        let start = self.at + (rest[..end].len() - rest[..end].trim_start().len());
        self.at += end;
        (word, start..start + word.len())
    }
}

fn fail<T>(fault: Fault, at: Range<usize>) -> Result<T, QuantityError> {
    Err(QuantityError { fault, at })
}

pub(crate) fn quantity(text: &str, wanted: Dimension) -> Result<Quantity, QuantityError> {
    let all = trimmed(text);
    if all.is_empty() {
        return fail(Fault::Empty, 0..text.len());
    }
    let mut c = Cursor { text: &text[..all.end], at: all.start };
    let bracket = c.take("(");
    c.skip_blanks();
    let number_at = c.at;
    let Some((number, taken)) = Written::read(c.rest()) else {
        return fail(not_a_number(c.rest(), wanted), c.at..all.end);
    };
    c.at += taken;
    let number_span = number_at..c.at;
    if c.rest().starts_with(',') && c.rest()[1..].starts_with(|d: char| d.is_ascii_digit()) {
        let more = c.rest()[1..].find(|d: char| !d.is_ascii_digit()).map_or(all.end, |n| c.at + 1 + n);
        let with_point = format!("{}.{}", &text[number_span.clone()], &text[c.at + 1..more]);
        return fail(Fault::DecimalComma { with_point }, number_at..more);
    }

    let mut stops = SEPARATORS.to_vec();
    stops.push(")");
    let (mut unit_text, mut unit_span) = c.until(&stops);
    let mut tolerance = None;
    if SEPARATORS.iter().any(|s| c.take(s)) {
        c.skip_blanks();
        let start = c.at;
        let Some((width, taken)) = Written::read(c.rest()) else {
            return fail(not_finite(c.rest()).unwrap_or(Fault::ToleranceNotANumber), start..all.end);
        };
        c.at += taken;
        if width.is_negative() {
            return fail(Fault::NegativeTolerance, start..c.at);
        }
        if c.rest().starts_with(',') {
            return fail(Fault::ToleranceNotANumber, start..all.end);
        }
        let width_span = start..c.at;
        let (own_unit, own_span) = c.until(&[")"]);
        tolerance = Some((width, width_span, own_unit, own_span));
    }
    if c.take(")") != bracket {
        return fail(Fault::Bracket, all);
    }
    if bracket {
        let (shared, shared_span) = c.until(&[]);
        if !shared.is_empty() {
            let inside = tolerance.as_ref().map_or("", |t| t.2);
            if !unit_text.is_empty() || !(inside.is_empty() || inside == "%") {
                return fail(Fault::Bracket, shared_span);
            }
            (unit_text, unit_span) = (shared, shared_span);
        }
    } else if let Some((_, _, own, own_span)) = &tolerance
        && unit_text.is_empty()
        && *own != "%"
    {
        (unit_text, unit_span) = (*own, own_span.clone());
    }

    // Where a missing unit would go: after the tolerance, unless that is per cent.
    let numbers = match &tolerance {
        Some((_, width_span, "", _)) => &text[number_span.start..width_span.end],
        _ => &text[number_span.clone()],
    };
    let unit = unit_of(unit_text, unit_span, wanted, numbers, &number_span)?;
    let value = unit.read(&number);
    if !value.is_finite() {
        return fail(Fault::NotFinite, number_span);
    }
    let half_width = match tolerance {
        None => None,
        Some((_, _, "%", own_span)) if unit.symbol == "%" => return fail(Fault::AmbiguousPercent, own_span),
        Some((_, _, "%", own_span)) if wanted == Dimension::Temperature => {
            return fail(Fault::PercentOfTemperature, own_span);
        }
        Some((width, span, "%", _)) => Some((width.times(Factor::Ten(-2)) * value.abs(), span)),
        Some((width, span, "", _)) => Some((width.times(unit.factor), span)),
        Some((width, span, own, own_span)) => {
            let own_unit = unit_of(own, own_span, wanted, &text[span.clone()], &span)?;
            Some((width.times(own_unit.factor), span))
        }
    };
    let half_width = match half_width {
        Some((w, span)) if !w.is_finite() => return fail(Fault::NotFinite, span),
        other => other.map(|w| w.0),
    };
    Ok(Quantity { value, half_width, unit, unit_text: unit_text.to_owned(), text: text.to_owned() })
}

fn trimmed(text: &str) -> Range<usize> {
    let start = text.len() - text.trim_start().len();
    start..start + text.trim().len()
}

/// `inf` and `nan`, whatever their sign and case.
fn not_finite(text: &str) -> Option<Fault> {
    let word = text.trim_start_matches(['+', '-', '−']).to_lowercase();
    (word.starts_with("inf") || word.starts_with("nan") || word.starts_with('∞')).then_some(Fault::NotFinite)
}

fn not_a_number(text: &str, wanted: Dimension) -> Fault {
    not_finite(text).unwrap_or(Fault::NotANumber { wanted })
}

/// The unit named at `span`, or why it will not do.
fn unit_of(
    name: &str,
    span: Range<usize>,
    wanted: Dimension,
    number: &str,
    number_span: &Range<usize>,
) -> Result<&'static Unit, QuantityError> {
    if let Some(unit) = find_unit(name, wanted) {
        return Ok(unit);
    }
    if name.is_empty() {
        let corrected = format!("{number} {}", wanted.usual_unit());
        return fail(Fault::MissingUnit { wanted, corrected }, number_span.clone());
    }
    let unit = name.to_owned();
    if name.starts_with(['+', '-', '−']) {
        return fail(Fault::OneSidedTolerance, span);
    }
    let elsewhere = Dimension::ALL.into_iter().find(|d| *d != wanted && find_unit(name, *d).is_some());
    if let Some(found) = elsewhere {
        return fail(Fault::WrongDimension { unit, found, wanted }, span);
    }
    let near = nearest(name, spellings(wanted).filter(|s| !s.is_empty()))
        .or_else(|| nearest(name, Dimension::ALL.into_iter().flat_map(spellings).filter(|s| !s.is_empty())));
    fail(Fault::UnknownUnit { unit, wanted, near }, span)
}
