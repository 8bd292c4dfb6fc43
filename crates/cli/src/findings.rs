//! Findings of the case reader, shown at their place.

use std::collections::BTreeMap;
use std::path::Path;

use calotte_specimen::{File, Finding, Level, place};
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, Severity, SourceCode,
};

use crate::paint;

#[derive(Debug)]
struct Shown {
    says: String,
    hint: Option<String>,
    level: Level,
    label: LabeledSpan,
    source: NamedSource<String>,
}

impl std::fmt::Display for Shown {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.says)
    }
}

impl std::error::Error for Shown {}

impl Diagnostic for Shown {
    fn severity(&self) -> Option<Severity> {
        Some(match self.level {
            Level::Error => Severity::Error,
            Level::Warning => Severity::Warning,
        })
    }
    fn help<'a>(&'a self) -> Option<Box<dyn std::fmt::Display + 'a>> {
        self.hint.as_ref().map(|h| Box::new(h) as Box<dyn std::fmt::Display>)
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(std::iter::once(self.label.clone())))
    }
}

/// Prints every finding to standard error, with line and column; `others` are the bytes of files that the
/// case names.
pub(crate) fn show(case: &Path, bytes: &[u8], others: &BTreeMap<String, Vec<u8>>, findings: &[Finding]) {
    show_kept(case, bytes, others, findings, false);
}

/// The same; `kept` says that what was whole was worked out all the same.
pub(crate) fn show_kept(
    case: &Path,
    bytes: &[u8],
    others: &BTreeMap<String, Vec<u8>>,
    findings: &[Finding],
    kept: bool,
) {
    let theme =
        if paint::is_terminal() { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let handler = GraphicalReportHandler::new_themed(theme).with_width(100);
    for f in findings {
        let (name, bytes) = match &f.file {
            File::Case => (case.display().to_string(), bytes),
            File::Other(name) => (name.clone(), others.get(name).map_or(&[][..], Vec::as_slice)),
        };
        let at = place(bytes, f.span.start);
        // Broken UTF-8 changes length when it is replaced, so such a file is not quoted.
        let Ok(text) = std::str::from_utf8(bytes) else {
            paint::complain(&plain(&name, at, f));
            continue;
        };
        let end = f.span.end.clamp(f.span.start, text.len().max(f.span.start));
        if text.is_empty() || f.span.start > text.len() || text.len() > 1 << 20 {
            paint::complain(&plain(&name, at, f));
            continue;
        }
        let shown = Shown {
            says: f.says.clone(),
            hint: f.hint.clone(),
            level: f.level,
            label: LabeledSpan::new(Some("here".into()), f.span.start, end - f.span.start),
            source: NamedSource::new(&name, text.to_owned()),
        };
        let mut out = String::new();
        match handler.render_report(&mut out, &shown) {
            Ok(()) => paint::complain(out.trim_end()),
            Err(_) => paint::complain(&plain(&name, at, f)),
        }
    }
    let errors = findings.iter().filter(|f| f.level == Level::Error).count();
    if errors > 0 {
        let s = if errors == 1 { "" } else { "s" };
        paint::complain(&format!(
            "{errors} problem{s} in {}; {}",
            case.display(),
            if kept { "what is whole was worked out" } else { "nothing was computed or written" }
        ));
    }
}

fn plain(name: &str, at: calotte_specimen::Place, f: &Finding) -> String {
    let hint = f.hint.as_ref().map_or(String::new(), |h| format!("\n  help: {h}"));
    format!("{name}:{}:{}: {}{hint}", at.line, at.column, f.says)
}
