//! Chores: `cargo xtask tidy`, `cargo xtask verification [--check]`, `cargo xtask package [--quick]`, `cargo xtask book`.

#![allow(clippy::print_stdout, clippy::print_stderr, reason = "chores talk to whoever runs them")]

mod book;
mod package;
mod tidy;
mod verification;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// The workspace's root.
fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_path_buf()
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["tidy"] => tidy_all(),
        ["verification"] => write_page(),
        ["verification", "--check"] => check_page(),
        ["book"] => book::write(&root()),
        ["package"] => package::package(&root(), false),
        ["package", "--quick"] => package::package(&root(), true),
        _ => Err("usage: cargo xtask tidy | verification [--check] | package [--quick] | book".to_owned()),
    };
    match done {
        Ok(said) => {
            println!("{said}");
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

fn tidy_all() -> Result<String, String> {
    let files = tidy::files(&root());
    let found = tidy::check(&files);
    if found.is_empty() {
        return Ok(format!("{} files are tidy", files.len()));
    }
    Err(found.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
}

fn write_page() -> Result<String, String> {
    let page = verification::render(&verification::computed());
    std::fs::write(root().join(verification::PATH), page).map_err(|e| e.to_string())?;
    Ok(format!("wrote {}", verification::PATH))
}

fn check_page() -> Result<String, String> {
    let page = verification::render(&verification::computed());
    let kept = std::fs::read_to_string(root().join(verification::PATH)).map_err(|e| e.to_string())?;
    if page == kept {
        Ok(format!("{} is fresh", verification::PATH))
    } else {
        Err(format!("{} is stale: run `cargo xtask verification`", verification::PATH))
    }
}
