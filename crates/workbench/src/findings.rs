//! Findings of the case reader as lines.

use std::collections::BTreeMap;

use calotte_specimen::{File, Finding, Level, place};

use crate::api::FindingLine;

/// Findings with line and column; `files` are those that the case names.
pub(crate) fn lines(text: &str, files: &BTreeMap<String, String>, found: &[Finding]) -> Vec<FindingLine> {
    found.iter().map(|f| line(text, files, f)).collect()
}

fn line(text: &str, files: &BTreeMap<String, String>, f: &Finding) -> FindingLine {
    let (file, content) = match &f.file {
        File::Case => (None, text),
        File::Other(name) => (Some(name.clone()), files.get(name).map_or("", String::as_str)),
    };
    let at = place(content.as_bytes(), f.span.start);
    let key = if file.is_none() { key_at(text, f.span.start) } else { None };
    FindingLine {
        level: match f.level {
            Level::Error => "error",
            Level::Warning => "warning",
        },
        file,
        line: at.line,
        column: at.column,
        from: f.span.start,
        to: f.span.end.max(f.span.start),
        key,
        says: f.says.clone(),
        hint: f.hint.clone(),
    }
}

/// The key that byte `at` of a case belongs to, `table.name`; of the head of a table its name. Read line by line, so that
/// it also works in a file that is no TOML.
fn key_at(text: &str, at: usize) -> Option<String> {
    let mut table = String::new();
    let mut key: Option<String> = None;
    let mut from = 0;
    for line in text.split_inclusive('\n') {
        if from > at {
            break;
        }
        from += line.len();
        let line = line.trim();
        if let Some(head) = line.strip_prefix('[') {
            // A line of a list over several lines begins so too; its words are no name.
            let name = head.trim_start_matches('[').split(']').next().unwrap_or_default().trim();
            if !name.is_empty()
                && name.chars().all(|c| c.is_alphanumeric() || "._-".contains(c))
                && !name.starts_with(|c: char| c.is_ascii_digit())
            {
                table = name.to_owned();
                key = None;
            }
        } else if let Some((name, _)) = line.split_once('=') {
            let name = name.trim().trim_matches('"');
            if !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || "._-".contains(c)) {
                key = Some(name.to_owned());
            }
        }
    }
    match (table.is_empty(), key) {
        (true, key) => key,
        (false, None) => Some(table),
        (false, Some(key)) => Some(format!("{table}.{key}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_byte_belongs_to_the_key_before_it() {
        let text =
            "title = \"x\"\n[shape]\nkind = \"cap\"\n[wall]\nthickness = [\n \"1 mm\",\n \"oops\",\n]\n";
        let at = |word: &str| key_at(text, text.find(word).unwrap());
        assert_eq!(at("\"x\"").as_deref(), Some("title"));
        assert_eq!(at("[shape]").as_deref(), Some("shape"));
        assert_eq!(at("cap").as_deref(), Some("shape.kind"));
        assert_eq!(at("oops").as_deref(), Some("wall.thickness"));
        assert_eq!(key_at("", 0), None);
    }

    #[test]
    fn a_finding_has_line_and_column() {
        let text = "title = \"x\"\n[shape]\nkind = \"cup\"\n";
        let (case, found) =
            calotte_specimen::read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
        assert!(case.is_none());
        let lines = lines(text, &BTreeMap::new(), &found);
        let of_kind = lines.iter().find(|l| l.key.as_deref() == Some("shape.kind")).unwrap();
        assert_eq!((of_kind.line, of_kind.level, of_kind.file.as_deref()), (3, "error", None));
        assert_eq!(&text[of_kind.from..of_kind.to], "cup");
    }
}
