//! Which files are looked at.

use std::path::Path;
use std::process::Command;

use super::Source;

/// Text files that git tracks or would track; without git, the tree less build folders.
pub(crate) fn files(root: &Path) -> Vec<Source> {
    let listed = Command::new("git")
        .args(["ls-files", "--cached", "--others", "--exclude-standard"])
        .current_dir(root)
        .output()
        .ok()
        .filter(|o| o.status.success());
    let mut names: Vec<String> = match listed {
        Some(o) => String::from_utf8_lossy(&o.stdout).lines().map(str::to_owned).collect(),
        None => {
            let mut out = Vec::new();
            walk(root, root, &mut out);
            out
        }
    };
    names.sort();
    names
        .into_iter()
        .filter_map(|path| {
            let text = std::fs::read_to_string(root.join(&path)).ok()?;
            Some(Source { path, text })
        })
        .collect()
}

fn walk(root: &Path, folder: &Path, out: &mut Vec<String>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name();
        if path.is_dir() {
            if name != "target" && name != ".git" {
                walk(root, &path, out);
            }
        } else if let Ok(relative) = path.strip_prefix(root) {
            out.push(relative.to_string_lossy().replace('\\', "/"));
        }
    }
}
