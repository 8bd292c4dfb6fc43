//! Everything the program prints.

use std::io::{IsTerminal, Write};

use calotte_answers::explain::{degrees, digits, energy, length};
use calotte_answers::report::{InvertedState, Margin, PartSummary, Verdict, VerdictReport};
use calotte_specimen::{Case, Stated, shelf as stock};

use crate::End;

/// Columns of running text.
const WIDTH: usize = 92;

/// Prints to standard output. A closed pipe is the reader's wish, not a failure.
pub(crate) fn line(text: &str) -> End {
    let mut out = std::io::stdout().lock();
    match writeln!(out, "{text}").and_then(|()| out.flush()) {
        Ok(()) => End::Answered,
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => End::Answered,
        Err(_) => End::Failure,
    }
}

/// Prints to standard error; nothing is left to do when that fails.
pub(crate) fn complain(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

pub(crate) fn is_terminal() -> bool {
    std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none()
}

/// A bar on standard error; nothing is drawn when that is no terminal.
pub(crate) fn bar(what: &str, total: u64) -> indicatif::ProgressBar {
    let bar = indicatif::ProgressBar::new(total);
    let style = indicatif::ProgressStyle::with_template("{prefix} {wide_bar} {percent} % {msg}");
    bar.set_style(style.unwrap_or_else(|_| indicatif::ProgressStyle::default_bar()));
    bar.set_prefix(what.to_owned());
    bar
}

/// Work whose end is not known, on standard error; nothing is drawn when that is no terminal.
pub(crate) fn spinner(what: &str) -> indicatif::ProgressBar {
    let bar = indicatif::ProgressBar::new_spinner();
    let style = indicatif::ProgressStyle::with_template("{prefix} {spinner} {msg}");
    bar.set_style(style.unwrap_or_else(|_| indicatif::ProgressStyle::default_spinner()));
    bar.set_prefix(what.to_owned());
    bar
}

/// Wraps a paragraph, later lines indented by `indent`.
fn wrap(text: &str, first: &str, indent: &str) -> String {
    let mut out = String::from(first);
    let mut column = first.chars().count();
    let mut fresh = true;
    for word in text.split_whitespace() {
        let n = word.chars().count();
        if !fresh && column + 1 + n > WIDTH {
            out.push('\n');
            out.push_str(indent);
            column = indent.chars().count();
            fresh = true;
        }
        if !fresh {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += n;
        fresh = false;
    }
    out
}

/// A page of text being written.
pub(crate) struct Page(String);

impl Page {
    pub(crate) fn new(first: &str) -> Self {
        Self(format!("{first}\n"))
    }
    pub(crate) fn finish(self) -> String {
        self.0.trim_end().to_owned()
    }
    /// A paragraph.
    pub(crate) fn text(&mut self, text: &str) {
        self.0.push_str(&wrap(text, "", ""));
        self.0.push('\n');
    }
    pub(crate) fn head(&mut self, text: &str) {
        self.0.push_str(&format!("\n{text}\n"));
    }
    pub(crate) fn item(&mut self, text: &str) {
        self.0.push_str(&wrap(text, "  - ", "    "));
        self.0.push('\n');
    }
    pub(crate) fn row(&mut self, name: &str, value: &str) {
        let pad = 28_usize.saturating_sub(name.chars().count());
        let first = format!("  {name}{} ", " ".repeat(pad));
        self.0.push_str(&wrap(value, &first, &" ".repeat(31)));
        self.0.push('\n');
    }
    /// A row of a table: its name, then cells flush left, each in thirty columns.
    pub(crate) fn columns(&mut self, name: &str, cells: &[&str]) {
        let mut line = format!("  {name}");
        for (i, cell) in cells.iter().enumerate() {
            let wide = 31 + 30 * i;
            let pad = wide.saturating_sub(line.chars().count()).max(1);
            line += &format!("{}{cell}", " ".repeat(pad));
        }
        self.0.push_str(line.trim_end());
        self.0.push('\n');
    }
}

/// The answer as text.
pub(crate) fn report(case: &Case, r: &VerdictReport) -> String {
    let word = match r.verdict {
        Verdict::Stays => "STAYS",
        Verdict::Returns => "RETURNS",
        Verdict::Waits => "WAITS",
        Verdict::Undecided => "UNDECIDED",
    };
    let mut p = Page::new(&format!("{word}: {}", r.title));
    p.text(&part_words(&r.part));
    for d in &r.doubts {
        p.item(&format!("Doubt: {d}"));
    }
    p.head("Why");
    for e in &r.explanation {
        p.item(e);
    }
    if let Some(m) = &r.margin {
        margin(&mut p, m);
    }
    if let Some(i) = &r.inverted {
        inverted(&mut p, i);
    }
    ripples(&mut p, r);
    if let Some(e) = &r.eversion {
        p.head("Pushed inside out by the pole (axisymmetric)");
        p.row("largest force", &calotte_answers::explain::force(e.largest_force_N));
        let least = match (e.least_force_N, e.least_force_at_travel_m) {
            (Some(f), Some(at)) => {
                format!("{} at a travel of {}", calotte_answers::explain::force(f), length(at))
            }
            _ => "the force has no peak".to_owned(),
        };
        p.row("least force after the peak", &least);
    }
    evidence(&mut p, r);
    if !case.notes().is_empty() {
        p.head("Notes on the case");
        case.notes().iter().for_each(|n| p.item(n));
    }
    p.head("Warnings");
    r.warnings.iter().for_each(|w| p.item(w));
    p.finish()
}

/// The part in one line.
pub(crate) fn part_words(s: &PartSummary) -> String {
    if s.sphere_radius_m.is_infinite() {
        return format!(
            "{}; rim radius {}, wall {} (h/a {}), ν {}, rim {}",
            s.shape,
            length(s.rim_radius_m),
            length(s.thickness_m),
            digits(s.thickness_m / s.rim_radius_m, 3),
            digits(s.poisson_ratio, 3),
            s.rim
        );
    }
    format!(
        "{}; radius {}, half-angle {}, rise {}, wall {} (h/R {}), ν {}, rim {}, λ {}",
        s.shape,
        length(s.sphere_radius_m),
        degrees(s.half_angle_rad),
        length(s.rise_m),
        length(s.thickness_m),
        digits(s.thickness_ratio, 3),
        digits(s.poisson_ratio, 3),
        s.rim,
        digits(s.lambda, 4)
    )
}

/// An answer as JSON.
pub(crate) fn json(answer: &impl serde::Serialize) -> End {
    match serde_json::to_string_pretty(answer) {
        Ok(text) => line(&text),
        Err(e) => {
            complain(&format!("the answer could not be put into JSON: {e}"));
            End::Failure
        }
    }
}

fn margin(p: &mut Page, m: &Margin) {
    p.head("Margin");
    let spread = m
        .spread
        .as_ref()
        .map_or(String::new(), |s| format!(" ± {}", digits(s.thickness_ratio_half_width, 2)));
    p.row(
        "thickness h/h*",
        &format!(
            "{}{spread}  (below 1 stays; h* = {})",
            digits(m.thickness_ratio, 4),
            length(m.threshold_thickness_m)
        ),
    );
    match &m.depth {
        Some(d) => {
            let angle =
                d.threshold_half_angle_rad.map_or(String::new(), |a| format!("half-angle {}, ", degrees(a)));
            p.row(
                "depth, rise/rise*",
                &format!(
                    "{}  (above 1 stays; at threshold {angle}rise {})",
                    digits(d.rise_ratio, 4),
                    length(d.threshold_rise_m)
                ),
            );
            p.row("", &format!("depth here: {}", m.depth_note));
        }
        None => p.row("depth", &format!("no threshold: {}", m.depth_note)),
    }
    p.row(
        "shallowness λ/λ*",
        &format!("{}  (above 1 stays; λ* = {})", digits(m.lambda_ratio, 4), digits(m.threshold_lambda, 5)),
    );
    if m.governing_n > 0 {
        p.row("lost first", &format!("a ripple with {} waves", m.governing_n));
    }
    for s in &m.sensitivities {
        let Some(relative) = s.relative_slope else {
            p.row(
                &s.input,
                &format!("stands at 0; its tolerance moves h/h* by ± {}", digits(s.half_width, 2)),
            );
            continue;
        };
        if relative.abs() < 1e-6 {
            p.row(&s.input, "no effect on the margin");
        } else {
            let share = if s.half_width > 0.0 {
                format!("; its tolerance moves h/h* by ± {}", digits(s.half_width, 2))
            } else {
                String::new()
            };
            p.row(&s.input, &format!("1 % more changes h/h* by {} %{share}", digits(relative, 3)));
        }
    }
}

fn inverted(p: &mut Page, i: &InvertedState) {
    p.head("Inverted shape");
    p.row("pole over rim plane", &length(i.pole_height_m));
    p.row("rim radius", &length(i.rim_radius_m));
    p.row(
        "rim slope",
        &format!(
            "{} (mirror image {})",
            degrees(i.rim_slope_rad),
            degrees(i.rim_slope_rad - i.mirror.rim_slope_change_rad)
        ),
    );
    match (i.lip_width_m, i.lip_width_over_root_Rh) {
        (Some(l), Some(q)) => p.row("lip width", &format!("{} = {} √(Rh)", length(l), digits(q, 3))),
        _ => p.row("lip width", "the meridian's curvature changes sign nowhere"),
    }
    let zeros: Vec<String> = i.curvature_sign_changes_m.iter().map(|s| length(*s)).collect();
    if !zeros.is_empty() {
        p.row("curvature changes sign at", &format!("{} of arc from the inner end", zeros.join(", ")));
    }
    p.row(
        "energy",
        &format!(
            "{} stretching + {} bending{}",
            energy(i.stretching_energy_J),
            energy(i.bending_energy_J),
            if i.rim_energy_J > 0.0 {
                format!(" + {} in the rim springs", energy(i.rim_energy_J))
            } else {
                String::new()
            }
        ),
    );
    p.row(
        "barrier to the saddle",
        &i.barrier_J.map_or("the saddle was not reached".to_owned(), |b| {
            format!("{} (on the axisymmetric path)", energy(b))
        }),
    );
    p.row(
        "against the mirror image",
        &format!(
            "{} of its energy, {} of the natural height, rim {} {}",
            digits(i.mirror.energy_ratio, 4),
            digits(i.mirror.height_ratio, 4),
            length(i.mirror.rim_radius_change_m.abs()),
            if i.mirror.rim_radius_change_m < 0.0 { "narrower" } else { "wider" }
        ),
    );
    let percent = |x: f64| format!("{} %", digits(100.0 * x, 3));
    p.row(
        "strains (Biot)",
        &format!(
            "rim hoop {}, largest in the mid-surface {}, in bending {}, at a face {} ({} from the inner end)",
            percent(i.strains.rim_hoop),
            percent(i.strains.largest_membrane),
            percent(i.strains.largest_bending),
            percent(i.strains.largest_surface),
            length(i.strains.largest_surface_at_m)
        ),
    );
}

fn ripples(p: &mut Page, r: &VerdictReport) {
    if r.ripples.is_empty() {
        return;
    }
    p.head("Stability, waves n round the circumference");
    p.0.push_str("     n  negative  rigid  smallest Ω²");
    let hertz = r.ripples.iter().any(|q| q.frequency_Hz.is_some());
    p.0.push_str(if hertz { "    frequency\n" } else { "\n" });
    const SHOWN: usize = 12;
    for q in r.ripples.iter().take(SHOWN) {
        p.0.push_str(&format!(
            "  {:>4}  {:>8}  {:>5}  {:>11}",
            q.n,
            q.negative,
            q.rigid,
            digits(q.smallest_eigenvalue, 6)
        ));
        p.0.push_str(&q.frequency_Hz.map_or("\n".to_owned(), |f| format!("  {:>8} Hz\n", digits(f, 4))));
    }
    if r.ripples.len() > SHOWN {
        let rest = &r.ripples[SHOWN..];
        let negative: usize = rest.iter().map(|q| q.negative).sum();
        let least = rest.iter().map(|q| q.smallest_eigenvalue).fold(f64::INFINITY, f64::min);
        p.0.push_str(&format!(
            "  {} more up to n = {}: {negative} negative, smallest Ω² {} (all of them with --json)\n",
            rest.len(),
            rest.last().map_or(0, |q| q.n),
            digits(least, 6)
        ));
    }
    if let Some(b) = &r.ripple_bound {
        p.item(b);
    }
}

fn evidence(p: &mut Page, r: &VerdictReport) {
    let e = &r.evidence;
    p.head("Evidence");
    let tiny = |x: f64| format!("{x:.1e}");
    if let Some(x) = e.residual {
        p.row("forces out of balance", &format!("{} of the largest", tiny(x)));
    }
    if e.elements_fine > 0 {
        let mut text = format!("{} and {} elements", e.elements_coarse, e.elements_fine);
        if let Some(d) = e.threshold_difference {
            text += &format!("; threshold differs by {}", tiny(d));
        }
        if let Some(d) = e.energy_difference {
            text += &format!("; energy by {}", tiny(d));
        }
        if let Some(d) = e.ripple_difference {
            text += &format!("; softest ripple by {}", tiny(d));
        }
        p.row("two meshes", &text);
    }
    if let Some(b) = e.fold_bracket {
        p.row(
            "threshold bracketed",
            &format!(
                "a stable state and a saddle lie within {} below it; refined by an extended system",
                tiny(b)
            ),
        );
    }
    if let Some(d) = r.eversion.as_ref().and_then(|v| v.mesh_difference) {
        p.row("two meshes, eversion", &format!("force differs by {}", tiny(d)));
    }
    for l in &e.limits {
        let sign = if l.met { "within" } else { "BEYOND" };
        p.row(&l.name, &format!("{}, {sign} {}", digits(l.value, 3), l.limit));
    }
    let w = &e.work;
    p.row(
        "work",
        &format!(
            "{} assemblies, {} factorisations, {} solves, {} energies, {} directional derivatives",
            w.assemblies, w.factorisations, w.solves, w.energies, w.directionals
        ),
    );
}

/// `calotte shelf`.
pub(crate) fn shelf() -> End {
    let mut p = Page(String::from("Generic materials. A value's spread acts as its tolerance.\n"));
    let value = |s: &Stated, unit: f64, name: &str| {
        format!("{} ± {}{name}; {}", digits(s.value / unit, 4), digits(s.half_width / unit, 2), s.source)
    };
    for m in stock() {
        p.head(&format!("{}  ({})", m.key, m.name));
        let (unit, name) = if m.youngs_modulus.value < 1e9 { (1e6, " MPa") } else { (1e9, " GPa") };
        p.row("Young's modulus", &value(&m.youngs_modulus, unit, name));
        p.row("Poisson ratio", &value(&m.poisson_ratio, 1.0, ""));
        p.row("density", &value(&m.density, 1.0, " kg/m³"));
        if let Some((first, _)) = m.memory.first() {
            let terms: Vec<String> = m
                .memory
                .iter()
                .map(|(g, t)| {
                    format!("{} ± {} in {} s", digits(g.value, 2), digits(g.half_width, 2), digits(*t, 3))
                })
                .collect();
            p.row("memory", &format!("{}; {}", terms.join(", "), first.source));
        }
    }
    line(p.0.trim_end())
}
