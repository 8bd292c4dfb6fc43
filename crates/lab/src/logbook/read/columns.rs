//! Columns of a logbook's tables, and their cells.

use std::ops::Range;

use calotte_quantity::{Dimension, Quantity, find_unit, nearest, units};
use calotte_specimen::{Case, LoadKind};

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Column {
    /// Name of the specimen.
    Specimen,
    /// What happened.
    Outcome,
    /// How long it was held.
    Hold,
    /// Temperature of the trial.
    Temperature,
    /// Wait as read.
    Wait,
    /// How long one looked.
    Watched,
    /// Load that tripped it.
    TripLoad,
    /// Temperature at which it tripped.
    TripTemperature,
    /// Temperature at which it reset.
    ResetTemperature,
    /// Duration of the snap.
    SnapTime,
    /// When.
    When,
    /// Note.
    Note,
    /// A number of the case: its place among the inputs.
    Size(usize),
}

const PLAIN: [(&str, Column); 15] = [
    ("specimen", Column::Specimen),
    ("name", Column::Specimen),
    ("outcome", Column::Outcome),
    ("observed", Column::Outcome),
    ("hold", Column::Hold),
    ("temperature", Column::Temperature),
    ("wait", Column::Wait),
    ("watched", Column::Watched),
    ("trip_load", Column::TripLoad),
    ("trip_temperature", Column::TripTemperature),
    ("reset_temperature", Column::ResetTemperature),
    ("snap_time", Column::SnapTime),
    ("when", Column::When),
    ("date", Column::When),
    ("note", Column::Note),
];

/// Words by which a column of tolerances ends.
const TOLERANCE: [&str; 3] = ["tolerance", "error", "±"];

/// A column as its name tells it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Named {
    pub(super) column: Column,
    /// It holds the half-widths of the column of that kind.
    pub(super) tolerance: bool,
    /// Unit in the name; empty when the cells have their own.
    pub(super) unit: String,
}

/// What is wrong with a name, and what would be right.
pub(super) struct Misnamed {
    pub(super) says: String,
    pub(super) hint: Option<String>,
}

/// Dimension of a column's numbers under a case; `None` for words.
pub(super) fn dimension(column: Column, case: &Case) -> Option<Dimension> {
    Some(match column {
        Column::Specimen | Column::Outcome | Column::When | Column::Note => return None,
        Column::Hold | Column::Wait | Column::Watched | Column::SnapTime => Dimension::Time,
        Column::Temperature | Column::TripTemperature | Column::ResetTemperature => Dimension::Temperature,
        Column::TripLoad => match case.load().map(|l| &l.kind) {
            Some(LoadKind::Pressure { .. }) => Dimension::Pressure,
            Some(LoadKind::RimDisplacement | LoadKind::RimPull) => Dimension::Stiffness,
            Some(LoadKind::Gravity) => Dimension::Acceleration,
            _ => Dimension::Force,
        },
        Column::Size(i) => case.inputs().get(i)?.dimension,
    })
}

/// Reads the name of a column: `wait_s`, `wait (s)`, `wall.thickness`, `wall.thickness_tolerance_mm`.
pub(super) fn named(text: &str, case: &Case) -> Result<Named, Misnamed> {
    let keys = case.inputs().iter().enumerate().map(|(i, k)| (k.key.as_str(), Column::Size(i)));
    let all: Vec<(&str, Column)> = PLAIN.into_iter().chain(keys).collect();
    let rest_of = |name: &str| {
        let rest = text.strip_prefix(name)?;
        (rest.is_empty() || rest.starts_with(['_', ' ', '(', '['])).then_some(rest)
    };
    let longest = all.iter().filter(|(n, _)| rest_of(n).is_some()).max_by_key(|(n, _)| n.len());
    let Some((name, column)) = longest else {
        let stem = text.split([' ', '(']).next().unwrap_or(text);
        let near = nearest(stem, all.iter().map(|a| a.0));
        let hint = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None if text == "depth" => {
                "write the key of the case that stands for it, such as `shape.half_angle`".into()
            }
            None => format!(
                "columns are {}, and the numbers of the case: {}",
                PLAIN.map(|p| p.0).join(", "),
                case.inputs().iter().map(|k| k.key.as_str()).collect::<Vec<_>>().join(", ")
            ),
        };
        return Err(Misnamed { says: format!("column `{text}` is not known"), hint: Some(hint) });
    };
    let trim = |t: &str| {
        t.trim_matches(|c: char| matches!(c, '_' | '(' | ')' | '[' | ']') || c.is_whitespace()).to_owned()
    };
    let mut rest = trim(rest_of(name).unwrap_or(""));
    let mut tolerance = false;
    for word in TOLERANCE {
        if let Some(after) = rest.strip_prefix(word) {
            rest = trim(after);
            tolerance = true;
            break;
        }
    }
    let (column, unit) = (*column, rest);
    let Some(dimension) = dimension(column, case) else {
        if tolerance || !unit.is_empty() {
            let says = format!("column `{text}`: `{name}` holds words, it has no unit and no tolerance");
            return Err(Misnamed { says, hint: Some(format!("write `{name}`")) });
        }
        return Ok(Named { column, tolerance, unit });
    };
    let of_width = if dimension == Dimension::Temperature && tolerance {
        Dimension::TemperatureDifference
    } else {
        dimension
    };
    if !unit.is_empty() && find_unit(&unit, of_width).is_none() {
        let known: Vec<&str> = units(of_width).map(|u| u.symbol).filter(|s| !s.is_empty()).collect();
        let hint = format!("known units: {}", known.join(", "));
        return Err(Misnamed { says: format!("column `{text}`: unknown unit `{unit}`"), hint: Some(hint) });
    }
    Ok(Named { column, tolerance, unit })
}

/// Reads a cell; `unit` is that of its column's name, taken where the cell has none.
pub(super) fn quantity(text: &str, unit: &str, dimension: Dimension) -> Result<Quantity, Misnamed> {
    let with_unit = match text.split_once(['±']) {
        _ if unit.is_empty() => text.to_owned(),
        Some((value, width)) if width.trim_end().ends_with('%') => {
            format!("{} {unit} ± {}", value.trim(), width.trim())
        }
        _ => format!("{text} {unit}"),
    };
    let found = match Quantity::parse(text, dimension) {
        // A bare number is read in the unit of the column.
        Ok(q) if unit.is_empty() || !q.unit_text.is_empty() => Ok(q),
        _ => Quantity::parse(&with_unit, dimension),
    };
    found.map_err(|e| Misnamed { says: e.to_string(), hint: e.hint().map(|h| h.to_string()) })
}

/// A cell of a row with its place.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) named: Named,
    pub(super) text: String,
    pub(super) span: Range<usize>,
}
