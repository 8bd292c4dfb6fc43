//! House rules that a machine can see. Each rule is a function of a path and a text.

mod files;
mod links;
mod manifests;
mod rules;
#[cfg(test)]
mod tests;

pub(crate) use files::files;

/// A tracked file.
pub(crate) struct Source {
    /// Path from the root, with `/`.
    pub(crate) path: String,
    /// Content.
    pub(crate) text: String,
}

/// A broken rule.
#[derive(Debug, PartialEq)]
pub(crate) struct Broken {
    path: String,
    line: usize,
    what: String,
}

impl std::fmt::Display for Broken {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}: {}", self.path, self.line, self.what)
    }
}

/// Every rule on every file.
pub(crate) fn check(files: &[Source]) -> Vec<Broken> {
    let mut out = Vec::new();
    for f in files {
        let mut say = |line: usize, what: String| out.push(Broken { path: f.path.clone(), line, what });
        for rule in rules::ALL {
            rule(&f.path, &f.text, &mut say);
        }
        manifests::check(&f.path, &f.text, &mut say);
        links::check(f, files, &mut say);
    }
    out
}
