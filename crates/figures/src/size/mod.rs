//! Sizes that give what is wished: readings over one number, wishes over two, what one wish costs another.

mod front;
mod line;
mod plane;

use calotte_answers::size::Scale;
use calotte_answers::size::report::SizeReport;

use crate::Figure;
use crate::release::time::usable;

/// The figures of sizes, in the order `size`, `front`.
pub(super) fn figures(r: &SizeReport) -> Vec<Figure> {
    let first = match r.scan.axes_si.len() {
        1 => line::figure(r),
        2 => plane::figure(r),
        _ => None,
    };
    [first, front::figure(r)].into_iter().flatten().collect()
}

/// A name with its unit, for an axis.
fn titled(name: &str, scale: &Scale) -> String {
    match scale.unit.as_str() {
        "" => name.to_owned(),
        "degC" => format!("{name} (°C)"),
        unit => format!("{name} ({unit})"),
    }
}

/// Smallest and largest of what can be drawn; `None` when nothing can.
fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let all = values.filter(|v| v.is_finite() && usable(*v));
    let (a, b) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    (a <= b).then_some((a, b))
}
