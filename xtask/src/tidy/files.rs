//! Which files are looked at.

use std::io::ErrorKind;
use std::path::Path;
use std::process::Command;

use super::Source;

/// Files that git tracks or would track; without git, the tree less build folders. A file that is not
/// text has its name (links may lead to it) and no content.
pub(crate) fn files(root: &Path) -> Vec<Source> {
    let mut names = tracked(root).unwrap_or_else(|| {
        let mut out = Vec::new();
        walk(root, root, &mut out);
        out
    });
    names.sort();
    names
        .into_iter()
        .filter_map(|path| match std::fs::read_to_string(root.join(&path)) {
            Ok(text) => Some(Source { path, text }),
            Err(e) if e.kind() == ErrorKind::InvalidData => Some(Source { path, text: String::new() }),
            Err(_) => None,
        })
        .collect()
}

/// What git lists, unless the tree is a copy that git ignores: then the list lacks the root's manifest.
fn tracked(root: &Path) -> Option<Vec<String>> {
    let listed = Command::new("git")
        .args(["ls-files", "-z", "--cached", "--others", "--exclude-standard"])
        .current_dir(root)
        .output()
        .ok()
        .filter(|o| o.status.success())?;
    let text = String::from_utf8_lossy(&listed.stdout);
    let names: Vec<String> = text.split('\0').filter(|n| !n.is_empty()).map(str::to_owned).collect();
    names.iter().any(|n| n == "Cargo.toml").then_some(names)
}

pub(super) fn walk(root: &Path, folder: &Path, out: &mut Vec<String>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name();
        if path.is_dir() {
            let built = ["target", ".git", "out", "__pycache__", ".venv"].iter().any(|b| name == *b);
            if !built {
                walk(root, &path, out);
            }
        } else if let Ok(relative) = path.strip_prefix(root) {
            out.push(relative.to_string_lossy().replace('\\', "/"));
        }
    }
}
