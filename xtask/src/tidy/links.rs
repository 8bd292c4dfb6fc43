//! Links from Markdown to files of the tree resolve.

use super::Source;

/// Targets of inline links and of reference definitions.
fn targets(line: &str) -> Vec<&str> {
    let mut out: Vec<&str> =
        line.match_indices("](").map(|(i, _)| line[i + 2..].split([')', ' ']).next().unwrap_or("")).collect();
    let start = line.trim_start();
    if start.starts_with('[')
        && let Some((_, rest)) = start.split_once("]: ")
    {
        out.push(rest.split_whitespace().next().unwrap_or(""));
    }
    out
}

/// The path from the root that `target` names, seen from `folder`; nothing when it leaves the tree.
fn resolve(folder: &str, target: &str) -> Option<String> {
    let mut parts: Vec<&str> = folder.split('/').filter(|p| !p.is_empty()).collect();
    for p in target.trim_end_matches('/').split('/') {
        match p {
            "." => {}
            ".." => {
                parts.pop()?;
            }
            p => parts.push(p),
        }
    }
    Some(parts.join("/"))
}

pub(crate) fn check(file: &Source, files: &[Source], say: &mut dyn FnMut(usize, String)) {
    if !file.path.ends_with(".md") {
        return;
    }
    let folder = file.path.rsplit_once('/').map_or("", |p| p.0);
    let mut code = false;
    for (n, line) in file.text.lines().enumerate() {
        if line.trim_start().starts_with("```") {
            code = !code;
        }
        if code {
            continue;
        }
        for target in targets(line) {
            let target = target.trim_matches(['<', '>']).split('#').next().unwrap_or("");
            if target.is_empty() || target.contains("://") || target.starts_with("mailto:") {
                continue;
            }
            let found = resolve(folder, target).is_some_and(|path| {
                let inside = format!("{path}/");
                path.is_empty() || files.iter().any(|f| f.path == path || f.path.starts_with(&inside))
            });
            if !found {
                say(n + 1, format!("`{target}` leads nowhere"));
            }
        }
    }
}
