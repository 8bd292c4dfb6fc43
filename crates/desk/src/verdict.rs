//! `verdict`: turned inside out, does it stay?

use calotte_answers::explain::{degrees, digits, energy, force, length};
use calotte_answers::report::{InvertedState, Margin, Verdict, VerdictReport};
use calotte_answers::states::lists_states;
use calotte_answers::{Detail, refuse, verdict_with_film as answer};
use calotte_specimen::Case;
use serde_json::Value;

use crate::options::Given;
use crate::provenance::with_provenance;
use crate::reply::{Refusal, Reply, Want};
use crate::sheet::{Block, Sheet};
use crate::words::part_words;

/// Name of the question.
pub const NAME: &str = "verdict";

/// What is to be computed beside the verdict itself.
pub type Options = Detail;

/// Reads the options of the page: by default with the threshold depth and without the branch.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["depth", "branch"])?;
    Ok(Detail { depth: given.flag("depth", true)?, branch: given.flag("branch", false)? })
}

/// Why the question makes no sense for the case.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    if let Some(why) = refuse::no_rim(case.part()) {
        return Err(Refusal::question(why));
    }
    if lists_states(case.part()) {
        return Err(Refusal::with_help(
            "this part is made of lines and arcs: its verdict is a list of stable states",
            "ask `states`",
        ));
    }
    Ok(())
}

/// Answers.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense.
pub fn ask(case: &Case, options: &Options, want: Want) -> Result<Reply, Refusal> {
    refuse(case)?;
    // The figures show the branch.
    let (report, film) = answer(case, Detail { branch: options.branch || want.figures, ..*options });
    Ok(Reply {
        question: NAME,
        sheet: sheet(case, &report),
        report: with_provenance(case, &report)?,
        doubtful: report.verdict == Verdict::Undecided,
        film: want.film.then_some(film),
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || calotte_figures::verdict_figures(&report))
        } else {
            Vec::new()
        },
        tables: Vec::new(),
    })
}

/// The answer in words.
fn sheet(case: &Case, r: &VerdictReport) -> Sheet {
    let word = match r.verdict {
        Verdict::Stays => "STAYS",
        Verdict::Returns => "RETURNS",
        Verdict::Waits => "WAITS",
        Verdict::Undecided => "UNDECIDED",
    };
    let mut p = Sheet::new(&format!("{word}: {}", r.title));
    p.text_block(&part_words(&r.part));
    p.doubts(&r.doubts);
    p.head("Why");
    p.items(&r.explanation);
    if let Some(m) = &r.margin {
        margin(&mut p, m);
    }
    if let Some(i) = &r.inverted {
        inverted(&mut p, i);
    }
    ripples(&mut p, r);
    if let Some(e) = &r.eversion {
        p.head("Pushed inside out by the pole (axisymmetric)");
        p.row("largest force", &force(e.largest_force_N));
        let least = match (e.least_force_N, e.least_force_at_travel_m) {
            (Some(f), Some(at)) => {
                format!("{} at a travel of {}", force(f), length(at))
            }
            _ => "the force has no peak".to_owned(),
        };
        p.row("least force after the peak", &least);
    }
    evidence(&mut p, r);
    p.list("Notes on the case", case.notes());
    p.head("Warnings");
    p.items(&r.warnings);
    p
}

fn margin(p: &mut Sheet, m: &Margin) {
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

fn inverted(p: &mut Sheet, i: &InvertedState) {
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

fn ripples(p: &mut Sheet, r: &VerdictReport) {
    if r.ripples.is_empty() {
        return;
    }
    p.head("Stability, waves n round the circumference");
    let hertz = r.ripples.iter().any(|q| q.frequency_Hz.is_some());
    let mut heads = vec!["n", "negative", "rigid", "smallest Ω²"];
    heads.extend(hertz.then_some("frequency"));
    let mut rows = vec![heads.into_iter().map(str::to_owned).collect::<Vec<_>>()];
    const SHOWN: usize = 12;
    for q in r.ripples.iter().take(SHOWN) {
        let mut row = vec![
            q.n.to_string(),
            q.negative.to_string(),
            q.rigid.to_string(),
            digits(q.smallest_eigenvalue, 6),
        ];
        row.extend(q.frequency_Hz.map(|f| format!("{} Hz", digits(f, 4))));
        rows.push(row);
    }
    p.blocks.push(Block::Table { rows, right: vec![4, 8, 5, 11, 11] });
    if r.ripples.len() > SHOWN {
        let rest = &r.ripples[SHOWN..];
        let negative: usize = rest.iter().map(|q| q.negative).sum();
        let least = rest.iter().map(|q| q.smallest_eigenvalue).fold(f64::INFINITY, f64::min);
        let words = format!(
            "{} more up to n = {}: {negative} negative, smallest Ω² {} (all of them with --json)",
            rest.len(),
            rest.last().map_or(0, |q| q.n),
            digits(least, 6)
        );
        p.cells(&words, &[]);
    }
    if let Some(b) = &r.ripple_bound {
        p.item(b);
    }
}

fn evidence(p: &mut Sheet, r: &VerdictReport) {
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
