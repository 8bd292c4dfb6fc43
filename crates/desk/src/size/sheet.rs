//! The answer in words.

use calotte_answers::explain::digits;
use calotte_answers::size::report::{SizeOutcome, SizeReading, SizeReport, SizeSolution};

use super::words::{shown, value, width, width_unit};
use crate::sheet::Sheet;

/// The whole sheet.
pub(super) fn sheet(r: &SizeReport) -> Sheet {
    let n = r.solutions.len();
    let head = match (r.outcome, &r.front, n) {
        (SizeOutcome::Undecided, _, _) => "UNDECIDED".to_owned(),
        (SizeOutcome::Unmet, _, _) => "NO SOLUTION".to_owned(),
        (_, Some(f), _) if f.points.len() > 2 => "TRADE-OFF".to_owned(),
        (_, _, 1) => "1 SOLUTION".to_owned(),
        (_, _, n) => format!("{n} SOLUTIONS"),
    };
    let mut p = Sheet::new(&format!("{head}: {}", r.title));
    r.explanation.iter().for_each(|e| p.text_block(e));
    p.doubts(&r.doubts);
    asked(&mut p, r);
    for (k, s) in r.solutions.iter().enumerate() {
        solution(&mut p, r, k, s);
    }
    front(&mut p, r);
    nearest(&mut p, r);
    p.list("Warnings", &r.warnings);
    evidence(&mut p, r);
    p
}

fn asked(p: &mut Sheet, r: &SizeReport) {
    p.head("Asked");
    for v in &r.vary {
        p.row(
            &v.key,
            &format!(
                "{} to {}; now {}",
                shown(&v.scale, v.from_si, 4),
                shown(&v.scale, v.to_si, 4),
                shown(&v.scale, v.here_si, 5)
            ),
        );
    }
    for (w, here) in r.wishes.iter().zip(&r.readings_here_si) {
        let now = here.map_or("nothing".to_owned(), |v| shown(&w.scale, v, 5));
        p.row("wish", &format!("{}; now {now}", w.text));
    }
}

fn solution(p: &mut Sheet, r: &SizeReport, k: usize, s: &SizeSolution) {
    let name = match (&r.front, r.solutions.len()) {
        (Some(f), _) => {
            let at = f.points.iter().position(|q| {
                q.values_si.iter().zip(&s.values_si).all(|(a, b)| (a - b).abs() <= 1e-4 * a.abs())
            });
            match at {
                Some(i) if Some(i) == f.knee => format!("Solution {}: the knee", k + 1),
                Some(0) => format!("Solution {}: best for “{}”", k + 1, r.wishes[f.wishes[0]].text),
                Some(_) => format!("Solution {}: best for “{}”", k + 1, r.wishes[f.wishes[1]].text),
                None => format!("Solution {}", k + 1),
            }
        }
        (None, 1) => "Solution".to_owned(),
        _ => format!("Solution {}", k + 1),
    };
    p.head(&name);
    for (j, v) in r.vary.iter().enumerate() {
        let keeps = match s.keeps_si[j] {
            Some(w) if w > 1e-4 * s.values_si[j].abs() => {
                format!("; ± {} keeps every wish", width(&v.scale, w))
            }
            Some(_) => "; stands at a limit of a wish, with no room to one side".to_owned(),
            None => String::new(),
        };
        let limit = match s.at_limit[j] {
            0 => "",
            l if l < 0 => "; at its lower limit",
            _ => "; at its upper limit",
        };
        p.row(&v.key, &format!("{}{limit}{keeps}", value(&v.scale, s.values_si[j])));
    }
    for (w, read) in r.wishes.iter().zip(&s.readings) {
        p.row(&w.about, &reading(r, w, read));
        for (v, slope) in r.vary.iter().zip(&read.slopes_si) {
            if slope.is_finite() && *slope != 0.0 {
                let per = slope * v.scale.size_si / w.scale.size_si;
                let one = format!("1 {}", width_unit(&v.scale));
                p.row(
                    "",
                    &format!(
                        "{} {} for {} of {}",
                        digits(per, 4),
                        width_unit(&w.scale),
                        one.trim_end(),
                        v.key
                    ),
                );
            }
        }
    }
}

fn reading(r: &SizeReport, w: &calotte_answers::size::report::SizeWish, read: &SizeReading) -> String {
    let mut out = shown(&w.scale, read.solver_si, 5);
    if w.share.is_some() {
        out += " at that end of the batch";
        if let Some(f) = read.forward_si {
            out += &format!("; the part as described: {}, by {}", shown(&w.scale, f, 5), read.forward);
        }
    } else {
        match read.forward_si {
            // No other question tells it.
            Some(f) if read.forward == "the same, anew" => {
                out += &format!("; computed anew, {}", shown(&w.scale, f, 5));
            }
            Some(f) => out += &format!("; asked anew, {} says {}", read.forward, shown(&w.scale, f, 5)),
            None => out += &format!("; {} gives no number", read.forward),
        }
    }
    if !read.met {
        out += "; NOT MET";
    }
    if let Some(slack) = read.slack_si.filter(|_| w.wanted != "equal") {
        out += &if read.binds {
            "; at its limit".to_owned()
        } else {
            format!("; {} to spare", width(&w.scale, slack))
        };
    }
    if let Some(price) = read.price_si
        && let Some((goal, _)) =
            r.wishes.iter().zip(&r.wishes).find(|(g, _)| ["smallest", "largest"].contains(&g.wanted.as_str()))
    {
        let per = price * w.scale.size_si / goal.scale.size_si;
        out += &format!(
            "; 1 {} more changes {} by {} {}",
            width_unit(&w.scale),
            goal.about,
            digits(per, 3),
            width_unit(&goal.scale)
        );
    }
    if let Some(d) = &read.drawn {
        let unread = if d.unread > 0 { format!(", {} gave no reading", d.unread) } else { String::new() };
        out += &format!(
            "; {} of {} parts drawn meet it{unread} (share {} to {} % with 95 %)",
            d.meet,
            d.parts,
            digits(100.0 * d.share_low, 4),
            digits(100.0 * d.share_high, 4)
        );
    }
    out
}

fn front(p: &mut Sheet, r: &SizeReport) {
    let Some(f) = r.front.as_ref().filter(|f| f.points.len() > 2) else { return };
    p.head("What one costs the other");
    let [a, b] = f.wishes.map(|i| &r.wishes[i]);
    let with_unit =
        |name: &str, unit: &str| if unit.is_empty() { name.to_owned() } else { format!("{name}, {unit}") };
    let mut head = vec![with_unit(&a.about, &a.scale.unit), with_unit(&b.about, &b.scale.unit)];
    head.extend(r.vary.iter().map(|v| with_unit(&v.key, &v.scale.unit)));
    head.push(String::new());
    let mut rows = vec![head];
    for (k, q) in f.points.iter().enumerate() {
        let mut row =
            vec![digits(a.scale.shown(q.readings_si[0]), 4), digits(b.scale.shown(q.readings_si[1]), 4)];
        row.extend(r.vary.iter().zip(&q.values_si).map(|(v, x)| digits(v.scale.shown(*x), 4)));
        row.push(if Some(k) == f.knee { "knee".to_owned() } else { String::new() });
        rows.push(row);
    }
    p.table(rows);
}

fn nearest(p: &mut Sheet, r: &SizeReport) {
    let Some(n) = r.obstacle.as_ref().and_then(|o| o.nearest.as_ref()) else { return };
    if r.wishes.len() < 2 {
        return;
    }
    p.head("The part that comes nearest to all wishes together");
    for (v, x) in r.vary.iter().zip(&n.values_si) {
        p.row(&v.key, &shown(&v.scale, *x, 5));
    }
    for ((w, reads), short) in r.wishes.iter().zip(&n.readings_si).zip(&n.short_si) {
        let reads = reads.map_or("nothing".to_owned(), |v| shown(&w.scale, v, 5));
        let short = match short {
            Some(s) if *s > 0.0 => format!(", {} short", width(&w.scale, *s)),
            Some(_) => ", met".to_owned(),
            None => String::new(),
        };
        p.row(&w.about, &format!("{reads}{short}"));
    }
}

fn evidence(p: &mut Sheet, r: &SizeReport) {
    let e = &r.evidence;
    p.head("Evidence");
    let without = if e.without_reading > 0 {
        format!(", {} without some reading", e.without_reading)
    } else {
        String::new()
    };
    p.row("parts read", &format!("{}{without}", e.parts_read));
    if e.starts > 0 {
        let open = if e.undecided_searches > 0 {
            format!(", {} ended without deciding", e.undecided_searches)
        } else {
            String::new()
        };
        p.row("searches", &format!("{}{open}", e.starts));
    }
    if let Some(d) = e.largest_difference {
        p.row(
            "solver against forward",
            &format!("largest difference {} of what counts as a miss", digits(d, 2)),
        );
    }
    p.text_block(&e.completeness);
}
