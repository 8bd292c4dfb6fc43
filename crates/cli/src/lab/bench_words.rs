//! The answer of `calotte bench` in words.

use calotte_answers::explain::digits;
use calotte_desk::Sheet;
use calotte_lab::bench::{BenchReport, Combined, Estimate, MemoryEstimate, ThicknessMap};
use calotte_quantity::{Dimension, find_unit, show};

/// Rows of a budget that are shown: the rest is smaller.
const SHOWN: usize = 4;

fn modulus(pa: f64, deviation: f64) -> String {
    let unit = if pa < 1e9 { "MPa" } else { "GPa" };
    find_unit(unit, Dimension::Pressure).map_or_else(String::new, |u| show(pa, Some(2.0 * deviation * pa), u))
}

fn interval(e: [f64; 2]) -> String {
    let (scale, unit) = if e[1] < 1e9 { (1e-6, "MPa") } else { (1e-9, "GPa") };
    format!("{} to {} {unit}", digits(scale * e[0], 3), digits(scale * e[1], 3))
}

fn percent(x: f64) -> String {
    format!("{} %", digits(100.0 * x, 2))
}

fn length(m: f64, deviation: f64) -> String {
    find_unit("mm", Dimension::Length)
        .map_or_else(String::new, |u| show(m, Some(2.0 * deviation).filter(|d| *d > 0.0), u))
}

fn seconds(t: f64, deviation: Option<f64>) -> String {
    find_unit("s", Dimension::Time).map_or_else(String::new, |u| show(t, deviation.map(|d| 2.0 * d), u))
}

/// The answer as text.
pub(super) fn page(name: &str, r: &BenchReport) -> String {
    let head = match &r.combined {
        Some(c) => format!(
            "{}YOUNG'S MODULUS {}: {}",
            if r.doubts.is_empty() { "" } else { "DOUBTFUL, " },
            modulus(c.modulus, c.relative_deviation),
            r.title
        ),
        None => format!("{}BENCH TESTS: {}", if r.doubts.is_empty() { "" } else { "DOUBTFUL " }, r.title),
    };
    let mut p = Sheet::new(&head);
    p.text_block(&format!("{name}. `±` is two standard deviations, in the readings as in the answers."));
    p.doubts(&r.doubts);
    if let Some(c) = &r.combined {
        together(&mut p, c);
    }
    for e in &r.estimates {
        estimate(&mut p, e);
    }
    for h in &r.hardness {
        p.head(&format!("Hardness {} Shore A: {}", digits(h.shore_a, 3), h.test));
        for m in &h.maps {
            let out = if m.within_range { "" } else { "; outside its range" };
            p.row(m.map, &format!("{} MPa{out}", digits(1e-6 * m.modulus, 3)));
        }
        p.row("apart", &format!("{}; which of them is right nobody knows", percent(h.apart)));
    }
    for t in &r.thickness {
        wall(&mut p, t);
    }
    if let Some(m) = &r.memory {
        memory(&mut p, m);
    }
    p.list("Warnings", &r.warnings);
    p.head("Cautions");
    p.item("Cut rubber with a closed or guarded blade, in a cut-resistant glove, away from the hand; vent a pressurised ball first.");
    p.item("Keep eyes away from strips and caps that may fly, and fingers and feet from under weights.");
    if r.case_block.is_empty() {
        return p.text();
    }
    p.head("For the case file");
    format!("{}\n{}", p.text(), r.case_block.trim_end())
}

fn together(p: &mut Sheet, c: &Combined) {
    p.head("All tests together");
    p.row("Young's modulus", &modulus(c.modulus, c.relative_deviation));
    p.row("95 % interval", &interval(c.interval));
    if c.freedom == 0 {
        p.row("agreement", "one test alone: nothing to compare it with");
        return;
    }
    let verdict = if c.agree { "the tests agree" } else { "the tests disagree" };
    p.row(
        "agreement",
        &format!(
            "{verdict}: χ² {} for {} degrees of freedom, chance {}, Birge ratio {}",
            digits(c.chi_squared, 2),
            c.freedom,
            percent(c.chance),
            digits(c.birge_ratio, 2)
        ),
    );
    if c.added_deviation > 0.0 {
        p.row(
            "added to each test",
            &format!("{} (one standard deviation), so that they agree", percent(c.added_deviation)),
        );
    }
    if !c.shared.is_empty() {
        p.row("shared, not averaged out", &c.shared.join(", "));
    }
}

fn estimate(p: &mut Sheet, e: &Estimate) {
    p.head(&format!("From {}: {}", kind(e.kind), e.test));
    p.row("Young's modulus", &modulus(e.modulus, e.relative_deviation));
    p.row("95 % interval", &interval(e.interval));
    for (i, b) in e.budget.iter().take(SHOWN).enumerate() {
        let what = b.input.strip_prefix(&format!("{}: ", e.test)).unwrap_or(&b.input);
        let value = format!(
            "{}: ±{} on the modulus, {} of the variance",
            what.replace('_', " "),
            percent(2.0 * b.effect.abs()),
            percent(b.share)
        );
        p.row(if i == 0 { "its error, the largest first" } else { "" }, &value);
    }
}

fn kind(kind: &str) -> &str {
    match kind {
        "droop" => "its droop",
        "cantilever" => "a weight at the tip",
        "poke" => "a dead weight",
        "ringing" => "ringing",
        "hardness" => "hardness",
        other => other,
    }
}

fn wall(p: &mut Sheet, t: &ThicknessMap) {
    p.head(&format!("Wall: {}", t.test));
    for w in &t.wall {
        let value = format!(
            "{}; {} readings over {} mm",
            length(w.thickness_m, w.deviation_m),
            w.count,
            digits(1e3 * w.range_m, 2)
        );
        p.row(&format!("at {} mm", digits(1e3 * w.arclength_m, 3)), &value);
    }
    if let Some(s) = t.scatter_m {
        let stated =
            t.reading_deviation_m.map_or_else(String::new, |e| format!("; stated {} mm", digits(1e3 * e, 2)));
        let chance =
            t.scatter_chance.map_or_else(String::new, |c| format!("; chance of so much {}", percent(c)));
        p.row(
            "scatter of a reading",
            &format!("{} mm (one standard deviation){stated}{chance}", digits(1e3 * s, 2)),
        );
    }
    if let Some(l) = &t.lopsided {
        let said = if l.seen { "lopsided" } else { "no lopsidedness seen" };
        let value = format!(
            "{said}: {} thicker at {:.0}° ± {:.0}° and as much thinner opposite ({} of the wall); chance without it {}",
            length(l.amplitude_m, l.deviation_m),
            l.direction_rad.to_degrees(),
            2.0 * l.direction_deviation_rad.to_degrees(),
            percent(l.share),
            percent(l.chance)
        );
        p.row("round the axis", &value);
    }
}

fn memory(p: &mut Sheet, m: &MemoryEstimate) {
    let count = m.terms.len();
    p.head(&format!("Memory from {}: {} term{}", m.kind, count, if count == 1 { "" } else { "s" }));
    for t in &m.terms {
        let share = show_number(t.share, t.share_error);
        let doubt = if t.supported { "" } else { "; not supported by the readings" };
        p.row(
            &format!("share {share}"),
            &format!("in {}{doubt}", seconds(t.time_s, Some(t.time_s * t.time_relative_error))),
        );
    }
    p.row("left after a long time", &show_number(m.share_left, m.share_left_error));
    let at_once = match m.column {
        "ratio" => format!("{} in the ratio of the table", digits(m.instantaneous, 4)),
        _ => modulus(m.instantaneous, m.instantaneous_relative_error),
    };
    p.row("modulus at once", &at_once);
    let stated = if m.noise_stated { "stated or seen, the larger" } else { "from the residuals" };
    p.row("noise of a reading", &format!("{} ({stated}), {} readings", percent(m.noise), m.count));
    let mut rows =
        vec![["terms", "misses by, rms", "Schwarz", "Akaike", "belief"].map(str::to_owned).to_vec()];
    for e in &m.evidence {
        rows.push(vec![
            e.terms.to_string(),
            percent(e.rms),
            format!("+{:.1}", e.bic),
            format!("+{:.1}", e.aicc),
            format!("{:.3}", e.weight),
        ]);
    }
    p.text_block(if m.asked {
        "The number of terms was asked for."
    } else {
        "How many terms the readings speak for, by Schwarz's criterion (the least is taken):"
    });
    p.table(rows);
}

fn show_number(x: f64, deviation: f64) -> String {
    find_unit("", Dimension::Number)
        .map_or_else(String::new, |u| show(x, Some(2.0 * deviation).filter(|d| *d > 0.0), u))
}
