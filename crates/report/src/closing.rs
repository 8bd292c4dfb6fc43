//! The last chapters: evidence, assumptions, limits, cautions.

use calotte_answers::explain::digits;
use calotte_desk::{Block as Said, Reply, heat, map, modes, poke, release, size, spread, states, verdict};
use calotte_specimen::{Case, Rests, Rim};
use serde_json::Value;

use crate::book::Book;
use crate::chapters::{set, title};
use crate::model::{BoxKind, Line};
use crate::sheet::Told;

/// Young's modulus below which a material is taken for a rubber, Pa.
const RUBBER: f64 = 100e6;
/// Beginnings of warnings that are cautions: what can hurt.
const CAUTIONS: [&str; 8] = [
    "Inverted, the part stores",
    "Turned over, the part stores",
    "When the hand lets go",
    "It flies with",
    "A computed trip temperature",
    "A vessel that folds",
    "Keys and domes are small parts",
    "Keep eyes",
];

/// Whether a warning tells what can hurt, and not how good a number is.
pub(crate) fn is_caution(warning: &str) -> bool {
    CAUTIONS.iter().any(|c| warning.starts_with(c))
}

fn has(replies: &[Reply], question: &str) -> bool {
    replies.iter().any(|r| r.question == question)
}

/// What was checked, and by what.
pub(crate) fn evidence(book: &mut Book, replies: &[Reply], told: &[Told]) {
    book.chapter("Evidence");
    book.text(Line::of(
        "Every number above was computed with its own checks: forces must balance, two meshes must agree, and whether a state is stable is \
         counted from the signs of pivots, never guessed from a search that came to rest.",
    ));
    for (reply, t) in replies.iter().zip(told).filter(|(_, t)| !t.evidence.is_empty()) {
        book.section(&format!("{}: what was checked", title(reply.question)));
        // Limits have a table of their own.
        let limit = |b: &Said| matches!(b, Said::Row { value, .. } if value.contains(", within ") || value.contains(", BEYOND "));
        let said: Vec<Said> = t.evidence.iter().filter(|b| !limit(b)).cloned().collect();
        set(book, "Evidence", &said);
    }
    book.section("What the program itself is held to");
    let mut lines = vec![book.cited(
        "Equilibria and thresholds: independent collocation of the same equations, and a published threshold of free caps.",
        &["reissner-1950", "marguerre-1938", "taffetani-2018"],
    )];
    if has(replies, heat::NAME) {
        lines.push(book.cited(
            "Trip and reset: shallow discs recomputed from published equations, and the bending of a strip of two layers.",
            &["wittrick-1953", "timoshenko-1925"],
        ));
    }
    if has(replies, release::NAME) {
        lines.push(book.cited("Motion near the threshold: the normal form of a fold.", &["strogatz-1994"]));
    }
    if has(replies, modes::NAME) {
        lines.push(book.cited("Buckling of a sphere under pressure.", &["zoelly-1915"]));
    }
    lines.push(Line::of(
        "The verification page of the program's documentation lists every such check with its source, the number computed, the number known, and the difference.",
    ));
    book.list(lines);
}

/// What is assumed: only what applies to this part and these questions.
pub(crate) fn assumptions(book: &mut Book, case: &Case, replies: &[Reply]) {
    let part = case.part();
    book.chapter("Assumptions");
    let mut l = vec![
        book.cited(
            "The part is a thin shell of revolution, the same all round its axis. It may turn and travel as far as it likes; only its strains are small.",
            &["reissner-1950"],
        ),
        Line::of(
            "Strains of the middle of the wall are those of Biot, changes of length over the natural length: ε_s = λ_s − 1, ε_θ = r/r₀ − 1. Bending is \
             measured by how much faster the wall turns per natural length: κ_s = φ′ − φ₀′, κ_θ = (sin φ − sin φ₀)/r₀. Thresholds belong to these measures; \
             others move them by a share of the order of the strain.",
        ),
        Line::of(
            "Kirchhoff's hypothesis: what is straight through the wall stays straight, square to it and as long as it was. Shear through the wall is left out.",
        ),
    ];
    if part.wall.layers().is_some() {
        l.push(book.cited(
            "Every layer is isotropic and linear in these strains; layers are bonded and share one bending.",
            &["timoshenko-1959"],
        ));
    } else {
        l.push(Line::of("The material is isotropic and linear in these strains: Young's modulus and Poisson's ratio are all that is known of it."));
    }
    if case.notes().iter().any(|n| n.contains("Gent 1958")) {
        l.push(book.cited("Young's modulus is a guess from hardness.", &["gent-1958"]));
    }
    match part.rim {
        Rim::Free if has(replies, release::NAME) && case.motion().surroundings.rests != Rests::Nowhere => {
            l.push(Line::of(
                "Nothing holds the rim. The table it lies on is in the motion alone, not in the verdict.",
            ));
        }
        Rim::Free => l.push(Line::of("Nothing touches the rim.")),
        Rim::Table => l.push(Line::of(
            "The table under the rim is flat and without friction; it can push and not pull.",
        )),
        Rim::Ring => l.push(Line::of(
            "The ring under the rim has no friction: the rim keeps its height, slides and turns freely.",
        )),
        Rim::Hinged => l.push(book.cited(
            "The rim is hinged: it keeps its radius and height and turns freely.",
            &["pogorelov-1988"],
        )),
        Rim::Clamped => {
            l.push(book.cited("The rim is clamped: radius, height and slope stay.", &["pogorelov-1988"]))
        }
        Rim::Elastic(_) => l.push(Line::of("The rim hangs on linear springs.")),
    }
    if has(replies, verdict::NAME) {
        l.push(book.cited(
            "“Turned inside out” means: on the branch of the mirror image, not rolled up. The state is found by minimising energy and judged by counting.",
            &["more-1983"],
        ));
        l.push(book.cited(
            "The threshold is the fold where the turned state and the pass out of it meet, found from an extended system. Gravity is left out of it.",
            &["griewank-1984"],
        ));
    }
    if has(replies, states::NAME) {
        l.push(Line::of("Corners keep their angles. The states are those that the search found; there may be more, and passes are upper bounds of the true barriers."));
    }
    if has(replies, heat::NAME) {
        l.push(Line::of("The shape as described is free of stress at its temperature. Heating is slow: all of the part has one temperature, but for the stated difference between its faces."));
        if case.says_heat() {
            l.push(book.cited(
                "Properties given as tables follow a monotone cubic through the readings.",
                &["fritsch-1980"],
            ));
        }
    }
    if has(replies, poke::NAME) {
        l.push(book.cited(
            "The push is slow: the path is one of equilibria. Contact has no friction. How a sideways loss goes on is told to its lowest order.",
            &["koiter-1945"],
        ));
    }
    if has(replies, release::NAME) {
        l.push(Line::of(
            "The material's memory is linear: G(t)/G₀ = 1 − Σ gᵢ(1 − e^(−t/τᵢ)), Poisson's ratio constant, stretching and bending relax alike.",
        ));
        l.push(book.cited(
            "The motion keeps the part round; rotary inertia is left out; a table is level, rigid and without friction. Steps in time control their own error.",
            &["hairer-1996"],
        ));
        if replies.iter().any(|r| r.report.get("sideways").is_some_and(|v| !v.is_null())) {
            l.push(
                book.cited("Sideways deflections are small, and follow the round motion.", &["newmark-1959"]),
            );
        }
        if case.motion().surroundings.temperature.is_some() {
            l.push(
                book.cited(
                    "At another temperature the same memory runs faster or slower.",
                    &["williams-1955"],
                ),
            );
        }
    }
    if has(replies, map::NAME) {
        l.push(book.cited(
            "Threshold curves are curves of folds, followed directly in two numbers.",
            &["griewank-1984"],
        ));
    }
    if has(replies, spread::NAME) {
        l.push(book.cited(
            "Parts vary independently and normally unless said otherwise, a tolerance being two standard deviations, cut off there.",
            &["joe-2008"],
        ));
        l.push(book.cited(
            "Shares of the variance and their intervals are estimates.",
            &["sobol-1993", "homma-1996", "saltelli-2010", "clopper-1934"],
        ));
    }
    if has(replies, modes::NAME) {
        l.push(book.cited(
            "Vibrations are small, undamped, and without air or liquid around the part.",
            &["bathe-1976"],
        ));
    }
    if replies.iter().any(|r| r.report.pointer("/trade/coned_disc").is_some_and(|v| !v.is_null())) {
        l.push(book.cited(
            "The trade's formulae of coned discs stand beside the shell's own numbers.",
            &["almen-1936", "en-16984"],
        ));
    }
    if has(replies, size::NAME) {
        l.push(Line::of("Sizes are sought within the limits given; each solution was asked again by the forward question."));
    }
    book.list(l);
}

/// Limits of validity with the values met, and warnings about how good the numbers are.
pub(crate) fn validity(book: &mut Book, replies: &[Reply], told: &[Told]) {
    book.chapter("How far it holds");
    let mut rows = Vec::new();
    let mut beyond = false;
    for r in replies {
        let limits = r.report.pointer("/evidence/limits").and_then(Value::as_array);
        for limit in limits.into_iter().flatten() {
            let text = |k: &str| limit.get(k).and_then(Value::as_str).unwrap_or("").to_owned();
            let value =
                |k: &str| limit.get(k).and_then(Value::as_f64).map_or("unknown".to_owned(), |v| digits(v, 3));
            let met = limit.get("met").and_then(Value::as_bool).unwrap_or(false);
            beyond |= !met;
            rows.push(vec![
                Line::of(&text("name")),
                Line::of(title(r.question)),
                Line::of(&value("value")),
                Line::of(&value("limit")),
                if met {
                    Line::of("within")
                } else {
                    Line::strong("beyond").then(Line::of(&format!(": {}", text("consequence"))))
                },
            ]);
        }
    }
    book.text(Line::of(if beyond {
        "The theory is one of thin walls and small strains. This part goes beyond a limit of it, and the table says what follows."
    } else {
        "The theory is one of thin walls and small strains. This part keeps within its limits."
    }));
    book.table(
        "Limits of the theory, and the values met.",
        true,
        &["limit", "where", "value", "limit at", "so"],
        &[24, 18, 9, 9, 40],
        rows,
    );
    let mut said: Vec<String> = Vec::new();
    for warning in told.iter().flat_map(|t| &t.warnings) {
        // Limits stand in the table; cautions have a chapter of their own.
        let once = !said.contains(warning) && !warning.starts_with("Limit passed") && !is_caution(warning);
        if once {
            said.push(warning.clone());
        }
    }
    if !said.is_empty() {
        book.section("Also to be minded");
        book.list(said.iter().map(|s| Line::of(s)).collect());
    }
}

/// What can hurt.
pub(crate) fn cautions(case: &Case, replies: &[Reply], told: &[Told]) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut add = |text: &str| {
        if !out.iter().any(|t| t == text) {
            out.push(text.to_owned());
        }
    };
    for warning in told.iter().flat_map(|t| t.warnings.iter()).filter(|w| is_caution(w)) {
        add(warning);
    }
    if told.iter().all(|t| !t.warnings.iter().any(|w| w.contains("eyes"))) {
        add("A part that snaps gives its stored energy back within milliseconds: keep eyes and faces clear.");
    }
    let rubber = case.part().material.youngs < RUBBER;
    if rubber {
        add(
            "Cut rubber with a closed or guarded blade, in a cut-resistant glove, away from the hand; vent a pressurised ball before it is cut.",
        );
        add(
            "Casting resins and ovens: gloves, fresh air and the maker's data sheet; an oven used for casting is not used for food.",
        );
    }
    let jumps = replies.iter().any(|r| r.report.get("jump").is_some_and(|j| !j.is_null()));
    if jumps && !told.iter().any(|t| t.warnings.iter().any(|w| w.contains("toy-safety"))) {
        add(
            "Small parts and flying toys: the maker checks the toy-safety standard in force; a computed energy is not a test.",
        );
    }
    if case.part().wall.layers().is_some()
        && !told.iter().any(|t| t.warnings.iter().any(|w| w.starts_with("A computed trip")))
    {
        add(
            "A computed trip temperature is a design aid, never evidence for a protective control: licensed practice, the appliance and control standards in force and local codes decide.",
        );
    }
    out
}

/// Writes the chapter of cautions.
pub(crate) fn caution_chapter(book: &mut Book, texts: &[String]) {
    book.chapter("Cautions");
    book.aside(
        BoxKind::Caution,
        "Before you make, turn or let go of one",
        texts.iter().map(|t| Line::of(t)).collect(),
    );
}
