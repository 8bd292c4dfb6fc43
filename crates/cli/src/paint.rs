//! Everything the program prints.

use std::io::{IsTerminal, Write};

use calotte_answers::explain::digits;
use calotte_desk::Sheet;
use calotte_specimen::{Stated, shelf as stock};

use crate::End;

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

/// `calotte shelf`.
pub(crate) fn shelf() -> End {
    let mut p = Sheet::new("Generic materials. A value's spread acts as its tolerance.");
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
    line(&p.text())
}
