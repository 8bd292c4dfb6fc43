//! The order of the pages: links of lists in docs/README.md, under its headings.

use std::path::Path;

/// A page of the book.
pub(super) struct Entry {
    pub(super) title: String,
    /// Path below the workspace's root.
    pub(super) source: String,
    /// File in the book.
    pub(super) target: String,
}

pub(super) struct Part {
    pub(super) title: String,
    pub(super) entries: Vec<Entry>,
}

pub(super) struct Contents {
    pub(super) parts: Vec<Part>,
}

impl Contents {
    pub(super) fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.parts.iter().flat_map(|p| &p.entries)
    }
    /// The file in the book for a path below the root.
    pub(super) fn target(&self, source: &str) -> Option<&str> {
        self.entries().find(|e| e.source == source).map(|e| e.target.as_str())
    }
}

/// A path with its `..` taken out.
pub(super) fn beside(folder: &str, link: &str) -> String {
    let mut out: Vec<&str> = folder.split('/').filter(|p| !p.is_empty()).collect();
    for piece in link.split('/') {
        match piece {
            ".." => {
                out.pop();
            }
            "." | "" => {}
            name => out.push(name),
        }
    }
    out.join("/")
}

/// Reads them.
///
/// # Errors
/// When docs/README.md cannot be read or lists nothing.
pub(super) fn contents(root: &Path) -> Result<Contents, String> {
    let text = std::fs::read_to_string(root.join("docs/README.md")).map_err(|e| e.to_string())?;
    let first = Entry {
        title: "The book".to_owned(),
        source: "docs/README.md".to_owned(),
        target: "index.html".to_owned(),
    };
    let mut parts = vec![Part { title: String::new(), entries: vec![first] }];
    for line in text.lines() {
        if let Some(title) = line.strip_prefix("## ") {
            parts.push(Part { title: title.to_owned(), entries: Vec::new() });
        } else if let Some((title, link)) = line.strip_prefix("- [").and_then(|l| l.split_once("](")) {
            let link = link.split(')').next().unwrap_or_default();
            let source = beside("docs", link);
            let stem = source.trim_end_matches(".md").trim_start_matches("docs/").to_lowercase();
            let target = format!("{}.html", stem.replace("/readme", "").replace('/', "-"));
            if let Some(part) = parts.last_mut() {
                part.entries.push(Entry { title: title.to_owned(), source, target });
            }
        }
    }
    let out = Contents { parts };
    if out.entries().count() < 2 {
        return Err("docs/README.md lists no pages".to_owned());
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_put_together() {
        assert_eq!(beside("docs", "../cases/README.md"), "cases/README.md");
        assert_eq!(beside("docs", "heat.md"), "docs/heat.md");
        assert_eq!(beside("", "./a/../b.md"), "b.md");
    }
}
