//! The book: every page of docs/ and the page of worked cases as HTML with contents, links to the page before and after, and a search,
//! in target/book. Nothing in it needs a network.
//!
//! `contents.rs` reads the order of the pages from docs/README.md, `render.rs` turns one page into HTML and follows its links,
//! `style.css` and `find.js` go with every page.

mod contents;
mod render;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use contents::{Contents, contents};
use render::{Page, render};

const STYLE: &str = include_str!("style.css");
const FIND: &str = include_str!("find.js");

/// The book as files below its folder: paths and contents, and what is wrong with its links.
pub(crate) struct Book {
    pub(crate) files: BTreeMap<String, Vec<u8>>,
    pub(crate) faults: Vec<String>,
}

/// Words made safe for HTML.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Makes the book of a tree.
///
/// # Errors
/// A page of the contents that cannot be read.
pub(crate) fn make(root: &Path) -> Result<Book, String> {
    let contents = contents(root)?;
    let mut pages = Vec::new();
    for entry in contents.entries() {
        let text = std::fs::read_to_string(root.join(&entry.source))
            .map_err(|e| format!("{}: {e}", entry.source))?;
        pages.push(render(&text, &entry.source, &contents));
    }
    let mut book = Book { files: BTreeMap::new(), faults: Vec::new() };
    let anchors: BTreeMap<&str, &BTreeSet<String>> =
        contents.entries().zip(&pages).map(|(e, p)| (e.target.as_str(), &p.anchors)).collect();
    for (k, (entry, page)) in contents.entries().zip(&pages).enumerate() {
        book.faults.extend(page.faults.iter().map(|f| format!("{}: {f}", entry.source)));
        for (target, anchor) in &page.jumps {
            if !anchors.get(target.as_str()).is_some_and(|a| a.contains(anchor)) {
                book.faults.push(format!("{}: there is no heading `#{anchor}` in {target}", entry.source));
            }
        }
        for (from, to) in &page.files {
            match std::fs::read(root.join(from)) {
                Ok(bytes) => {
                    book.files.insert(to.clone(), bytes);
                }
                Err(e) => book.faults.push(format!("{}: `{from}`: {e}", entry.source)),
            }
        }
        let html = whole(&contents, k, page);
        book.files.insert(entry.target.clone(), html.into_bytes());
    }
    let index: Vec<String> = contents
        .entries()
        .zip(&pages)
        .flat_map(|(e, p)| p.sections.iter().map(move |s| (e, s)))
        .map(|(e, (anchor, head, words))| {
            format!(
                "[{},{},{}]",
                json(&format!("{}#{anchor}", e.target)),
                json(&if *head == e.title { head.clone() } else { format!("{}: {head}", e.title) }),
                json(words)
            )
        })
        .collect();
    book.files.insert(
        "index.js".to_owned(),
        format!("const PLACES = [\n{}\n];\n{FIND}", index.join(",\n")).into_bytes(),
    );
    book.files.insert("style.css".to_owned(), STYLE.as_bytes().to_vec());
    Ok(book)
}

/// A text as a JSON string that may stand in a script.
fn json(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '<' => out.push_str("\\u003c"),
            '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' => out.push(' '),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A page with everything round it.
fn whole(contents: &Contents, k: usize, page: &Page) -> String {
    let entries: Vec<_> = contents.entries().collect();
    let here = entries[k];
    let mut side = String::new();
    for part in &contents.parts {
        if !part.title.is_empty() {
            side += &format!("<h2>{}</h2>\n", escaped(&part.title));
        }
        side += "<ul>\n";
        for e in &part.entries {
            let now = if e.target == here.target { " aria-current=\"page\"" } else { "" };
            side += &format!("<li><a href=\"{}\"{now}>{}</a></li>\n", e.target, escaped(&e.title));
        }
        side += "</ul>\n";
    }
    let step = |at: Option<usize>, word: &str, rel: &str| {
        at.and_then(|i| entries.get(i)).map_or(String::new(), |e| {
            format!("<a rel=\"{rel}\" href=\"{}\"><span>{word}</span> {}</a>", e.target, escaped(&e.title))
        })
    };
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title} · calotte</title>\n<link rel=\"stylesheet\" href=\"style.css\">\n</head>\n<body>\n<a class=\"skip\" href=\"#page\">To the page</a>\n<header><a href=\"index.html\">calotte</a>\n<form role=\"search\" onsubmit=\"return false\"><label for=\"find\">Find</label> <input id=\"find\" type=\"search\" autocomplete=\"off\"></form>\n<ol id=\"found\" aria-live=\"polite\"></ol></header>\n<div class=\"sheet\">\n<details class=\"contents\" open><summary>Contents</summary><nav aria-label=\"Contents\">\n{side}</nav></details>\n<main id=\"page\">\n{body}\n<nav class=\"steps\" aria-label=\"Pages beside\">{before}{after}</nav>\n</main>\n</div>\n<script src=\"index.js\"></script>\n</body>\n</html>\n",
        title = escaped(&here.title),
        body = page.html,
        before = step(k.checked_sub(1), "Before:", "prev"),
        after = step(Some(k + 1), "Next:", "next"),
    )
}

/// Writes the book into target/book; what to open.
///
/// # Errors
/// Faults of links, or what the disk says.
pub(crate) fn write(root: &Path) -> Result<String, String> {
    let book = make(root)?;
    if !book.faults.is_empty() {
        return Err(book.faults.join("\n"));
    }
    let folder = root.join("target/book");
    if folder.exists() {
        std::fs::remove_dir_all(&folder).map_err(|e| e.to_string())?;
    }
    for (path, content) in &book.files {
        let to = folder.join(path);
        if let Some(parent) = to.parent() {
            std::fs::create_dir_all(parent).map_err(|e| e.to_string())?;
        }
        std::fs::write(&to, content).map_err(|e| format!("{path}: {e}"))?;
    }
    Ok(format!("{} files; open target/book/index.html", book.files.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every page of docs/ is in the contents, every link of the book leads somewhere, nothing is fetched.
    #[test]
    fn the_book_is_whole() {
        let root = crate::root();
        let book = make(&root).unwrap();
        assert_eq!(book.faults, [] as [&str; 0]);
        let contents = contents(&root).unwrap();
        let listed: BTreeSet<String> = contents.entries().map(|e| e.source.clone()).collect();
        for file in std::fs::read_dir(root.join("docs")).unwrap() {
            let name = file.unwrap().file_name().into_string().unwrap();
            if name.ends_with(".md") {
                assert!(
                    listed.contains(&format!("docs/{name}")),
                    "docs/{name} is not in the contents of docs/README.md"
                );
            }
        }
        for (name, content) in &book.files {
            let Some(page) = name.ends_with(".html").then(|| String::from_utf8_lossy(content)) else {
                continue;
            };
            assert_eq!(page.matches("<h1").count(), 1, "{name}");
            for loaded in ["src=\"http", "rel=\"stylesheet\" href=\"http", "@import"] {
                assert!(!page.contains(loaded), "{name} loads something: {loaded}");
            }
        }
    }

    #[test]
    fn scripts_hold_any_text() {
        assert_eq!(json("a\"b\\</script>\n\u{1}"), "\"a\\\"b\\\\\\u003c/script> \"");
    }
}
