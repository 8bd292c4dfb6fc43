//! Values as they are shown.

use calotte_answers::explain::digits;
use calotte_answers::size::Scale;

/// A value with its unit.
pub(super) fn value(scale: &Scale, si: f64) -> String {
    shown(scale, si, 6)
}

/// The same with so many digits.
pub(super) fn shown(scale: &Scale, si: f64, count: i32) -> String {
    let unit = if scale.unit == "degC" { "°C" } else { &scale.unit };
    format!("{} {unit}", digits(scale.shown(si), count)).trim_end().to_owned()
}

/// Unit of a difference.
pub(super) fn width_unit(scale: &Scale) -> &str {
    match scale.unit.as_str() {
        "degC" => "K",
        other => other,
    }
}

/// A difference with its unit.
pub(super) fn width(scale: &Scale, si: f64) -> String {
    format!("{} {}", digits(si / scale.size_si, 3), width_unit(scale)).trim_end().to_owned()
}
