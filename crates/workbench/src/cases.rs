//! The worked cases and templates that the program carries.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::io;

use calotte_specimen::{TEMPLATES, new_template, read_case};
use rust_embed::RustEmbed;

use crate::api::{CaseFiles, CaseName};

#[derive(RustEmbed)]
#[folder = "$CASES_FOLDER"]
struct Stock;

fn text(path: &str) -> Option<String> {
    String::from_utf8(Stock::get(path)?.data.into_owned()).ok()
}

/// Every worked case, sorted by name.
pub(crate) fn all() -> Vec<CaseFiles> {
    let mut files: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    for path in Stock::iter() {
        if let Some((folder, name)) = path.split_once('/')
            && let Some(text) = text(&path)
        {
            files.entry(folder.to_owned()).or_default().insert(name.to_owned(), text);
        }
    }
    let made = files.into_iter().filter_map(|(name, mut beside)| {
        let text = beside.remove("case.toml")?;
        let named = named(&text);
        beside.retain(|file, _| named.contains(file));
        Some(CaseFiles { name, text, files: beside })
    });
    made.collect()
}

/// The files that a case names, whether there or not. Those past the first that is missing may be left out.
pub(crate) fn named(text: &str) -> BTreeSet<String> {
    let asked = RefCell::new(BTreeSet::new());
    // Content is not needed: the reader opens every file that it sees named.
    let _ = read_case(text.as_bytes(), &|name| {
        asked.borrow_mut().insert(name.to_owned());
        Err(io::Error::from(io::ErrorKind::NotFound))
    });
    asked.into_inner()
}

/// What is said of a case on the list: its title, and the comment that it begins with.
pub(crate) fn name_of(case: &CaseFiles) -> CaseName {
    let open = |name: &str| {
        let text = case.files.get(name).ok_or(io::ErrorKind::NotFound)?;
        Ok(text.clone().into_bytes())
    };
    let title =
        read_case(case.text.as_bytes(), &open).0.map_or_else(|| case.name.clone(), |c| c.title.clone());
    let comment: Vec<&str> = case
        .text
        .lines()
        .take_while(|l| l.starts_with('#'))
        .map(|l| l.trim_start_matches('#').trim())
        .collect();
    CaseName { name: case.name.clone(), title, says: comment.join(" ") }
}

/// The case `new-KIND`.
pub(crate) fn template(name: &str) -> Option<CaseFiles> {
    let kind = name.strip_prefix("new-")?;
    let known = TEMPLATES.iter().find(|t| **t == kind)?;
    Some(CaseFiles { name: name.to_owned(), text: new_template(known)?.to_owned(), files: BTreeMap::new() })
}
