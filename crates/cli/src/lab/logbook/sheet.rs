//! The answer about a logbook in words.

use calotte_answers::explain::{digits, duration, force};
use calotte_answers::heat::words::celsius;
use calotte_desk::Sheet;
use calotte_lab::logbook::report::{Candidate, Comparison, LogbookReport, ScoresReport, Sought};
use calotte_lab::logbook::shown;

/// Most specimens and pairs shown; the tables hold all.
const MOST: usize = 40;

fn percent(x: f64) -> String {
    format!("{} %", digits(100.0 * x, 2))
}

fn whole(x: f64) -> String {
    if x > 0.0 && x < 0.005 { "<1 %".to_owned() } else { format!("{:.0} %", 100.0 * x) }
}

fn plural(n: usize, one: &str) -> String {
    format!("{n} {one}{}", if n == 1 { "" } else { "s" })
}

pub(super) fn sheet(r: &LogbookReport) -> Sheet {
    let mut p = Sheet::new(&format!("LOGBOOK: {}", r.title));
    let kept = if r.lines_left_out > 0 {
        format!("; {} of {} lines left out", r.lines_left_out, r.lines)
    } else {
        String::new()
    };
    let ranges: Vec<String> =
        r.varied.iter().map(|v| format!("{} from {} to {}", v.key, v.shown[0], v.shown[1])).collect();
    let ranges = if ranges.is_empty() { String::new() } else { format!("; {}", ranges.join(", ")) };
    p.text_block(&format!(
        "{} of the family \"{}\", {}{kept}{ranges}",
        plural(r.specimen_count, "specimen"),
        r.family,
        plural(r.trial_count, "trial")
    ));
    p.doubts(&r.doubts);
    p.head("What the trials say");
    p.items(&r.explanation);
    sought(&mut p, &r.sought);
    specimens(&mut p, r);
    if let Some(s) = &r.as_described {
        scores(&mut p, "Chances by the theory as described", s);
    }
    if let Some(s) = &r.from_the_others {
        scores(&mut p, "Chances of every specimen from all the others", s);
    }
    r.compared.iter().for_each(|c| compared(&mut p, c));
    if let Some(next) = &r.next {
        p.head("What to make next");
        p.text_block(&format!(
            "  {} candidates tried, over {}; a trial teaches so many bits about the numbers sought",
            next.tried,
            if next.holds_s.len() > 1 {
                format!("{} and the hold", next.keys.join(", "))
            } else {
                next.keys.join(", ")
            }
        ));
        for (i, c) in next.best.iter().enumerate() {
            candidate(&mut p, i, c, next.holds_s.len() > 1);
        }
    }
    p.list("Assumed", &r.assumptions);
    evidence(&mut p, r);
    p.list("Warnings", &r.warnings);
    p
}

fn sought(p: &mut Sheet, all: &[Sought]) {
    if all.is_empty() {
        return;
    }
    p.head("Numbers sought");
    for s in all {
        let [a, b] = s.interval_95;
        let note = match (s.told, s.reaches) {
            (false, _) => "; not told by these trials",
            (true, Some("lower")) => "; the lower end is that of the bounds",
            (true, Some("upper")) => "; the upper end is that of the bounds",
            (true, Some(_)) => "; both ends are those of the bounds",
            (true, None) => "",
        };
        p.row(
            s.name,
            &format!("{}; 95 % between {} and {}{note}", shown(s, s.median), shown(s, a), shown(s, b)),
        );
    }
}

fn specimens(p: &mut Sheet, r: &LogbookReport) {
    p.head("Specimens");
    let mut rows = vec![
        ["specimen", "margin ln(h*/h)", "hold", "seen", "returns", "waits", "stays", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    for s in &r.specimens {
        let margin = match (s.margin, s.margin_sd) {
            (Some(m), Some(sd)) => format!("{m:+.4} ± {:.4}", 2.0 * sd),
            _ => "none".to_owned(),
        };
        if s.trials.is_empty() {
            rows.push(vec![s.name.clone(), margin.clone(), String::new(), "not tried".into()]);
        }
        for (i, t) in s.trials.iter().enumerate() {
            let seen = match (t.outcome, t.wait_s) {
                (Some("waits"), Some(w)) => format!("waits {}", duration(w)),
                (Some(o), _) => o.to_owned(),
                (None, _) => "trip alone".to_owned(),
            };
            let chance = |i: usize| {
                t.chances_from_the_others.or(t.chances_as_described).map_or("-".to_owned(), |c| whole(c[i]))
            };
            let first = i == 0;
            let flag = if t.surprising { "surprising" } else { "" };
            rows.push(vec![
                if first { s.name.clone() } else { String::new() },
                if first { margin.clone() } else { String::new() },
                duration(t.hold_s),
                seen,
                chance(0),
                chance(1),
                chance(2),
                flag.to_owned(),
            ]);
        }
    }
    let more = rows.len().saturating_sub(MOST + 1);
    rows.truncate(MOST + 1);
    p.table(rows);
    if more > 0 {
        p.item(&format!("{more} more are in specimens.csv (--out)."));
    }
}

fn scores(p: &mut Sheet, head: &str, s: &ScoresReport) {
    p.head(head);
    p.row(
        "log score",
        &format!(
            "{} per trial; {} for a guess by the shares seen",
            digits(s.log_score, 3),
            digits(s.log_score_of_shares, 3)
        ),
    );
    p.row("Brier score", &format!("{}; {} for that guess", digits(s.brier, 3), digits(s.brier_of_shares, 3)));
    for c in &s.counts {
        let seen = format!(
            "{} seen, {} expected; chance of this {}",
            c.seen,
            digits(c.expected, 3),
            digits(c.chance, 2)
        );
        p.row(c.outcome, &seen);
    }
}

fn compared(p: &mut Sheet, c: &Comparison) {
    p.head(&format!("Read and computed: {}", c.what));
    let show = |si: f64| match c.unit {
        "s" => duration(si),
        "N" => force(si),
        "K" => celsius(si),
        unit => format!("{} {unit}", digits(si, 4)),
    };
    let error = |si: f64, sd: f64| {
        if c.logarithmic {
            format!("{} ± {}", show(si), percent(2.0 * sd))
        } else {
            format!("{} ± {} {}", show(si), digits(2.0 * sd, 2), c.unit)
        }
    };
    let mut rows = vec![["specimen", "read", "computed", "z", "z fitted"].map(str::to_owned).to_vec()];
    for row in c.rows.iter().take(MOST) {
        let computed = match (row.computed_si, row.computed_sd, &row.instead) {
            (Some(v), Some(sd), _) => error(v, sd),
            (Some(v), None, _) => show(v),
            (None, _, Some(instead)) => instead.clone(),
            _ => "none".to_owned(),
        };
        let z = |z: Option<f64>| z.map_or("-".to_owned(), |z| format!("{z:+.1}"));
        rows.push(vec![
            row.specimen.clone(),
            error(row.read_si, row.read_sd),
            computed,
            z(row.z),
            z(row.z_fitted),
        ]);
    }
    p.table(rows);
    if c.freedom > 0 {
        p.row(
            "as described",
            &format!(
                "χ² {} for {}; chance of this {}",
                digits(c.chi_squared, 3),
                c.freedom,
                digits(c.chance, 2)
            ),
        );
    }
    if let Some(l) = &c.line {
        let of = if c.logarithmic { "ln read = a + b ln computed" } else { "read = a + b computed" };
        p.row(
            "line, errors in both",
            &format!(
                "{of}: a {} ± {}, b {} ± {}",
                digits(l.intercept, 3),
                digits(2.0 * l.intercept_sd, 2),
                digits(l.slope, 3),
                digits(2.0 * l.slope_sd, 2)
            ),
        );
    }
}

fn candidate(p: &mut Sheet, i: usize, c: &Candidate, holds: bool) {
    let sizes: Vec<String> = c.sizes.iter().map(|s| format!("{} {}", s.key, s.shown)).collect();
    let hold = if holds { format!(", held {}", duration(c.hold_s)) } else { String::new() };
    p.row(
        &format!("{}. {} bits", i + 1, digits(c.bits, 2)),
        &format!("{}{hold}; margin {:+.3}", sizes.join(", "), c.margin),
    );
    for (k, outcome) in ["returns", "waits", "stays"].into_iter().enumerate() {
        if c.chances[k] < 0.01 {
            continue;
        }
        let mut after: Vec<_> = c.after.iter().filter(|a| a.outcome == outcome).collect();
        // What it would narrow most comes first.
        after.sort_by(|a, b| (a.log_sd / a.log_sd_now).total_cmp(&(b.log_sd / b.log_sd_now)));
        let told: Vec<String> = after
            .iter()
            .take(2)
            .map(|a| {
                format!(
                    "{} {} ± {} (now ± {})",
                    a.name,
                    digits(a.value, 3),
                    percent(2.0 * a.log_sd),
                    percent(2.0 * a.log_sd_now)
                )
            })
            .collect();
        p.row("", &format!("if it {outcome} ({}): {}", whole(c.chances[k]), told.join(", ")));
    }
}

fn evidence(p: &mut Sheet, r: &LogbookReport) {
    let e = &r.evidence;
    p.head("Evidence");
    if e.draws > 0 {
        let least = r.sought.iter().map(|s| s.effective_draws).fold(f64::INFINITY, f64::min);
        let worst = r.sought.iter().map(|s| s.r_hat).fold(0.0, f64::max);
        p.row(
            "draws",
            &format!(
                "{} chains of {}, seed {}; worth at least {} independent ones; R̂ at most {}; {} of the steps taken",
                e.chains,
                e.draws,
                e.seed,
                digits(least, 2),
                digits(worst, 4),
                percent(e.accepted)
            ),
        );
    }
    if let (Some(error), Some(shift)) = (e.table_error, e.shape_shift) {
        p.row(
            "table of waits",
            &format!(
                "{} waits computed; it misses theory by at most {}; shapes of specimens shift waits by at most {}",
                e.waits_computed,
                percent(libm::expm1(error)),
                percent(libm::expm1(shift))
            ),
        );
    }
}
