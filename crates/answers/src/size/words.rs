//! Sizes in sentences.

use super::ask::{Ask, Scale};
use super::report::{SizeOutcome, SizeReport};
use super::space::Grid;
use crate::explain::digits;

/// A value with its unit.
pub(super) fn value(scale: &Scale, si: f64) -> String {
    shown(scale, si, 5)
}

fn shown(scale: &Scale, si: f64, count: i32) -> String {
    let unit = if scale.unit == "degC" { "°C" } else { &scale.unit };
    format!("{} {unit}", digits(scale.shown(si), count)).trim_end().to_owned()
}

/// A difference of two values with its unit.
pub(super) fn width(scale: &Scale, si: f64) -> String {
    let unit = match scale.unit.as_str() {
        "degC" => "K",
        other => other,
    };
    format!("{} {unit}", digits(si / scale.size_si, 3)).trim_end().to_owned()
}

/// What "all solutions" means.
pub(super) fn completeness(ask: &Ask, grid: &Grid) -> String {
    let step = 100.0 / (grid.count - 1) as f64;
    if ask.vary.len() == 1 {
        return format!(
            "All solutions: every crossing that {} samples show, and every pair of crossings that an extremum between samples shows. \
             A pair closer together than {} % of the range that leaves no trace in three neighbouring samples would be missed.",
            grid.count,
            digits(step, 2)
        );
    }
    format!(
        "All solutions: the distinct ends of searches from the best of {} places, {} along each number ({} % of its range apart), and from \
         the part as it is. A solution in a hollow between these places, smaller than their distance, would be missed.",
        grid.places.len(),
        grid.count,
        digits(step, 2)
    )
}

/// What came out.
pub(super) fn explain(r: &SizeReport) -> Vec<String> {
    let mut out = Vec::new();
    let keys = r.vary.iter().map(|v| v.key.as_str()).collect::<Vec<_>>().join(" and ");
    match (r.outcome, r.solutions.len()) {
        (SizeOutcome::Unmet, _) => {}
        (_, 0) => {}
        (_, n) => {
            let best = r.wishes.iter().any(|w| ["smallest", "largest"].contains(&w.wanted.as_str()));
            let what = match (n, r.front.is_some(), best) {
                (_, true, _) => format!("{n} places on the front are told in full: its ends and its knee."),
                (1, _, true) => format!("One {keys} is best."),
                (1, _, _) => format!("One solution in {keys}."),
                (n, _, _) => format!("{n} solutions in {keys}."),
            };
            out.push(what);
        }
    }
    if let Some(s) = &r.set {
        for i in s.intervals_si.iter().filter(|_| s.freedom > 0) {
            let v = &r.vary[0];
            out.push(format!(
                "Every {} from {} to {} will do.",
                v.key,
                shown(&v.scale, i[0], 4),
                shown(&v.scale, i[1], 4)
            ));
        }
        if r.vary.len() > 1 && s.freedom > 0 {
            let each = r
                .vary
                .iter()
                .zip(&s.extents_si)
                .map(|(v, e)| {
                    format!("{} from {} to {}", v.key, shown(&v.scale, e[0], 4), shown(&v.scale, e[1], 4))
                })
                .collect::<Vec<_>>()
                .join(", ");
            let what = match (s.freedom, s.curves.len()) {
                (1, 1) => "A curve of sizes will do".to_owned(),
                (1, n) if n > 1 => format!("{n} curves of sizes will do"),
                (k, _) => format!("{k} numbers are free together"),
            };
            out.push(format!("{what}: {each}; the solution told is the one nearest to the part as it is."));
        }
    }
    if let Some(f) = &r.front {
        let [a, b] = f.wishes.map(|i| &r.wishes[i]);
        if let (Some(first), Some(last)) = (f.points.first(), f.points.last()) {
            if f.points.len() == 2 && first.values_si == last.values_si {
                out.push(format!("“{}” and “{}” do not compete: one part is best for both.", a.text, b.text));
            } else {
                out.push(format!(
                    "“{}” and “{}” compete: {} runs from {} to {} while {} runs from {} to {}.",
                    a.text,
                    b.text,
                    a.about,
                    shown(&a.scale, first.readings_si[0], 4),
                    shown(&a.scale, last.readings_si[0], 4),
                    b.about,
                    shown(&b.scale, first.readings_si[1], 4),
                    shown(&b.scale, last.readings_si[1], 4)
                ));
            }
        }
    }
    out.extend(obstacle(r));
    out
}

fn limits(r: &SizeReport, at_limit: &[i8]) -> String {
    let each: Vec<String> = r
        .vary
        .iter()
        .zip(at_limit)
        .filter(|(_, l)| **l != 0)
        .map(|(v, l)| {
            let (side, end) = if *l < 0 { ("lower", v.from_si) } else { ("upper", v.to_si) };
            format!("{} stands at its {side} limit of {}", v.key, shown(&v.scale, end, 4))
        })
        .collect();
    if each.is_empty() {
        String::new()
    } else {
        format!(" There {}: a wider range may help.", each.join(" and "))
    }
}

fn obstacle(r: &SizeReport) -> Vec<String> {
    let Some(o) = &r.obstacle else { return Vec::new() };
    let mut out = Vec::new();
    let alone = o.rows.len() == 1;
    match o.culprit {
        Some(k) => {
            let w = &r.wishes[k];
            let row = o.rows.iter().find(|x| x.wish == k);
            if let Some(why) = row.and_then(|x| x.no_reading.as_ref()) {
                out.push(format!("“{}” stands in the way: no part within the limits has a {}: {why}.", w.text, w.about));
            } else if let Some((row, best, short)) = row.and_then(|x| Some((x, x.best_si?, x.short_si?))) {
                let kept = if alone { "" } else { " with the other wishes kept" };
                out.push(format!(
                    "“{}” stands in the way: the nearest{kept} is {}, {} short.{}",
                    w.text,
                    value(&w.scale, best),
                    width(&w.scale, short),
                    limits(r, &row.at_limit)
                ));
            }
        }
        None => out.push(
            "No single wish stands in the way: whichever is given up, the others still cannot be met together.".to_owned(),
        ),
    }
    for row in o.rows.iter().filter(|x| Some(x.wish) != o.culprit) {
        let w = &r.wishes[row.wish];
        if let (Some(best), Some(short)) = (row.best_si, row.short_si) {
            out.push(format!(
                "Giving way to “{}” instead: the nearest with the others kept is {}, {} short.",
                w.text,
                value(&w.scale, best),
                width(&w.scale, short)
            ));
        }
    }
    out
}
