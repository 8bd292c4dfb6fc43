//! What a map says: labels and captions.

use calotte_answers::map::report::{MapReport, Observed};
use calotte_answers::report::Verdict;

use super::{Family, Plane, draw};
use crate::text::{capital, fixed, number};

/// What can have been seen, in the order of the legend, with its words.
pub(super) const OBSERVED: [(Option<Observed>, &str); 4] = [
    (Some(Observed::Stays), "seen to stay"),
    (Some(Observed::Waits), "waited, then returned"),
    (Some(Observed::Returns), "seen to return"),
    (None, "nothing noted"),
];

/// A margin as its curve is labelled.
pub(super) fn ratio(r: f64) -> String {
    let text = fixed(r, 3);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// "one specimen", "3 specimens".
fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("one {one}") } else { format!("{n} {many}") }
}

/// Names with the last one joined by "and".
fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

pub(super) fn speech(report: &MapReport, plane: &Plane, families: &[Family]) -> (String, String) {
    let [x, y] = &report.axes;
    let mut parts = Vec::new();
    let has = |class: &str| families.iter().any(|f| f.class == class);
    if has("threshold") {
        parts.push("the threshold beyond which an inverted part returns (heavy)".to_owned());
    }
    if has("waiting") {
        parts.push(
            "the ends of the band in which a held part waits, for the hold of the case and for one without end (amber)"
                .to_owned(),
        );
    }
    if has("margin") {
        parts.push("curves of equal margin h/h* (thin)".to_owned());
    }
    if has("snapping-first") {
        parts.push("where a load path first has a limit (dashed)".to_owned());
    }
    if has("trip-load") {
        parts.push("curves of equal trip load (chain)".to_owned());
    }
    if has("validity") {
        let names: Vec<String> =
            report.validity.iter().map(|v| format!("{} at {}", v.name, number(v.limit, 2))).collect();
        parts.push(format!("limits of validity (dotted: {})", list(&names)));
    }
    if report.grid.is_some() {
        parts.push("verdicts on a grid (shades)".to_owned());
    }
    let shows = if parts.is_empty() { String::new() } else { format!(": {}", list(&parts)) };
    let log = match (plane.frame.across.is_log(), plane.frame.up.is_log()) {
        (true, true) => " Both axes are logarithmic.".to_owned(),
        (true, false) => " The horizontal axis is logarithmic.".to_owned(),
        (false, true) => " The vertical axis is logarithmic.".to_owned(),
        (false, false) => String::new(),
    };
    let here = match draw::here_at(report, plane) {
        Some(_) => {
            let at = |a: &calotte_answers::map::report::Axis| {
                format!("{} {} {}", a.label, number(a.here_si / a.unit_si, 3), a.unit).trim_end().to_owned()
            };
            format!(" Cross hairs: this part, {} and {}.", at(x), at(y))
        }
        None => " This part lies outside the map.".to_owned(),
    };
    let specimens = format!("{}{}", swept(report, plane), specimens(report, plane));
    let caption =
        format!("{}. Map of {} and {}{shows}.{log}{here}{specimens}", report.title, x.label, y.label);
    let alt = format!("Map with {} across and {} upwards{shows}.{here}{specimens}", x.label, y.label);
    (alt, caption)
}

/// The points of a sweep in numbers; empty without one.
fn swept(report: &MapReport, plane: &Plane) -> String {
    let Some(p) = &report.points else { return String::new() };
    let some = |verdict, words: &str| match p.count(verdict) {
        0 => String::new(),
        n => format!(", {n} {words}"),
    };
    let drawn = match draw::swept_counts(p, plane) {
        (drawn, all) if drawn < all => format!("; {drawn} of those on the map, picked by chance, are drawn"),
        _ => String::new(),
    };
    format!(
        " {} points of the sweep \"{}\" as computed (small marks): {} stay (filled), {} return (open){}{}{drawn}.",
        p.x_si.len(),
        p.title,
        p.count(Some(Verdict::Stays)),
        p.count(Some(Verdict::Returns)),
        some(Some(Verdict::Undecided), "undecided (crosses)"),
        some(None, "without an answer (not drawn)"),
    )
}

/// The specimens in numbers; empty without any.
fn specimens(report: &MapReport, plane: &Plane) -> String {
    let all = report.specimens.len();
    if all == 0 {
        return String::new();
    }
    let outside = report.specimens.iter().filter(|s| draw::place(s, plane).is_none()).count();
    let outside = match outside {
        0 => String::new(),
        1 => " One specimen lies outside the map.".to_owned(),
        n => format!(" {n} specimens lie outside the map."),
    };
    let counts = report.counts.map_or_else(String::new, |c| {
        let ringed = if c.contradicted > 0 { " (ringed)" } else { "" };
        let mut kinds = vec![format!("{} in agreement", c.agree)];
        if c.within_tolerance > 0 {
            kinds.push(format!("{} at odds within tolerances", c.within_tolerance));
        }
        kinds.push(format!("{} contradicted{ringed}", c.contradicted));
        if c.open > 0 {
            kinds.push(format!("{} open", c.open));
        }
        format!(
            ", {} predicted to stay and {} to return, {} seen to stay and {} to return: {}",
            c.predicted_stay,
            c.predicted_return,
            c.observed_stay,
            c.observed_return,
            list(&kinds)
        )
    });
    format!(" {}{counts}.{outside}", capital(&count(all, "specimen", "specimens")))
}
