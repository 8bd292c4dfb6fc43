//! Lines of a CSV file and their fields, each with its place.
//!
//! Fields are separated by comma, semicolon or tab, whichever the first line uses; blank lines and lines that start with `#` do not
//! count. A field in quotes may hold separators.

use std::ops::Range;

/// Largest file that is read, bytes.
pub const LARGEST: usize = 16 << 20;

/// Text with its place in the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Field<'t> {
    /// Without blanks and quotes about it.
    pub text: &'t str,
    /// Bytes of the file.
    pub span: Range<usize>,
}

/// What separates the fields of a file with this first line.
pub fn separator(head: &str) -> char {
    let most = [',', ';', '\t'].into_iter().max_by_key(|s| (head.matches(*s).count(), *s == ','));
    most.unwrap_or(',')
}

/// Lines that count, with their places.
pub fn lines(text: &str) -> impl Iterator<Item = Field<'_>> {
    let mut at = 0;
    text.split_inclusive('\n').filter_map(move |line| {
        let start = at;
        at += line.len();
        let body = line.trim_end_matches(['\n', '\r']);
        let body_start = if start == 0 && body.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
        let body = &body[body_start..];
        let counts = !body.trim().is_empty() && !body.trim_start().starts_with('#');
        counts.then(|| Field { text: body, span: start + body_start..start + body_start + body.len() })
    })
}

/// The fields of a line.
pub fn fields<'t>(line: &Field<'t>, separator: char) -> Vec<Field<'t>> {
    let mut at = line.span.start;
    let mut out = Vec::new();
    let mut rest = Some(line.text);
    while let Some(text) = rest {
        let end = end_of_field(text, separator);
        let part = &text[..end];
        let inner = part.trim();
        let lead = part.len() - part.trim_start().len();
        let quoted = inner.len() >= 2 && inner.starts_with('"') && inner.ends_with('"');
        let (inner, lead) = if quoted { (&inner[1..inner.len() - 1], lead + 1) } else { (inner, lead) };
        out.push(Field { text: inner, span: at + lead..at + lead + inner.len() });
        at += part.len() + separator.len_utf8();
        rest = text.get(end + separator.len_utf8()..).filter(|_| end < text.len());
    }
    out
}

/// Where the first field ends: at the separator, but behind the closing quote of a field that opens with one and has one.
fn end_of_field(text: &str, separator: char) -> usize {
    let lead = text.len() - text.trim_start().len();
    let opens = text[lead..].starts_with('"');
    let closes = opens
        .then(|| text[lead + 1..].match_indices('"').map(|(i, _)| lead + 2 + i))
        .into_iter()
        .flatten()
        .find(|i| text[*i..].trim_start_matches(' ').starts_with(separator) || text[*i..].trim().is_empty());
    let from = closes.unwrap_or(0);
    text[from..].find(separator).map_or(text.len(), |i| from + i)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(line: &str) -> Vec<&str> {
        let line = Field { text: line, span: 10..10 + line.len() };
        let found = fields(&line, ',');
        for f in &found {
            assert_eq!(&line.text[f.span.start - 10..f.span.end - 10], f.text);
        }
        found.into_iter().map(|f| f.text).collect()
    }

    #[test]
    fn fields_keep_their_places() {
        assert_eq!(texts("a, b ,c"), ["a", "b", "c"]);
        assert_eq!(texts(",,"), ["", "", ""]);
        assert_eq!(texts("1, \"late, after lunch\" ,2"), ["1", "late, after lunch", "2"]);
        assert_eq!(texts("\"open,2"), ["\"open", "2"]);
        assert_eq!(texts("\"a\"b,2"), ["\"a\"b", "2"]);
        assert_eq!(texts("\"\",2,\"x,y\""), ["", "2", "x,y"]);
        assert_eq!(texts(""), [""]);
    }
}
