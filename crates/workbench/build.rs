//! Makes what the program carries: the page, built from `ui/` at the workspace's root, and the worked cases.
//!
//! In a clone the page is built here, by npm; in a packaged crate, which has no `ui/`, it lies built in `dist`. Where neither can be
//! had, a page that says so takes its place: the build never fails for want of Node.

#![allow(clippy::print_stdout, reason = "a build script talks to cargo on its standard output")]

use std::env;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::SystemTime;

/// What of the page's source is watched, below `ui/`.
const SOURCES: [&str; 7] =
    ["src", "public", "index.html", "package.json", "package-lock.json", "tsconfig.json", "vite.config.ts"];

fn main() -> io::Result<()> {
    let crate_folder = variable("CARGO_MANIFEST_DIR")?;
    let out = variable("OUT_DIR")?;
    println!("cargo:rerun-if-changed=build.rs");
    page(&crate_folder, &out)?;
    cases(&crate_folder, &out)
}

fn variable(name: &str) -> io::Result<PathBuf> {
    env::var_os(name).map(PathBuf::from).ok_or_else(|| io::Error::other(format!("cargo sets no {name}")))
}

/// Decides which page is carried; without one a placeholder that says why.
fn page(crate_folder: &Path, out: &Path) -> io::Result<()> {
    println!("cargo:rerun-if-env-changed=SKIP_UI_BUILD");
    let source = crate_folder.join("../../ui");
    let built = out.join("ui");
    let dist = crate_folder.join("dist");
    let (folder, missing) = if source.join("src").exists() {
        for name in SOURCES.iter().filter(|n| source.join(n).exists()) {
            println!("cargo:rerun-if-changed={}", source.join(name).display());
        }
        (built.clone(), npm(&source, &built).err())
    } else {
        println!("cargo:rerun-if-changed={}", dist.display());
        let missing = (!dist.join("index.html").exists())
            .then(|| "This copy of the source came without a built page.".to_owned());
        (if missing.is_some() { built.clone() } else { dist }, missing)
    };
    if let Some(why) = &missing {
        println!("cargo:warning=the page was not built: {why}");
        fs::create_dir_all(&built)?;
        for entry in fs::read_dir(&built)?.flatten() {
            let path = entry.path();
            // What an earlier build left would be carried as if it belonged to this page.
            let _ = if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) };
        }
        fs::write(built.join("index.html"), placeholder(why))?;
    }
    println!("cargo:rustc-env=PAGE_FOLDER={}", fs::canonicalize(folder)?.display());
    println!("cargo:rustc-env=PAGE_MISSING={}", missing.unwrap_or_default());
    Ok(())
}

/// Builds the page into `out`; on failure why not, in one line.
fn npm(source: &Path, out: &Path) -> Result<(), String> {
    if env::var_os("SKIP_UI_BUILD").is_some() {
        return Err("SKIP_UI_BUILD was set.".to_owned());
    }
    // Cargo runs in several target folders share `node_modules`: one at a time. The lock goes with the file.
    let lock = File::create(source.join("building.tmp"))
        .map_err(|e| format!("{} cannot be written: {e}.", source.display()))?;
    lock.lock().map_err(|e| format!("no lock on {}: {e}.", source.display()))?;
    let run = |arguments: &[&str]| -> Result<(), String> {
        let program = if cfg!(windows) { "npm.cmd" } else { "npm" };
        let words = format!("npm {}", arguments.first().copied().unwrap_or_default());
        let done = Command::new(program)
            .args(arguments)
            .current_dir(source)
            .stdin(Stdio::null())
            .output()
            .map_err(|e| format!("npm cannot be started ({e}): is Node installed?"))?;
        if done.status.success() {
            return Ok(());
        }
        for line in String::from_utf8_lossy(&done.stderr)
            .lines()
            .chain(String::from_utf8_lossy(&done.stdout).lines())
            .take(12)
        {
            println!("cargo:warning={line}");
        }
        Err(format!("`{words}` failed ({}).", done.status))
    };
    if stale(source) {
        run(&["ci", "--no-audit", "--no-fund"])?;
    }
    let to = out.to_str().ok_or("the build folder's name is not UTF-8.")?;
    run(&["run", "build", "--", "--outDir", to, "--emptyOutDir"])?;
    if out.join("index.html").exists() { Ok(()) } else { Err("the build wrote no index.html.".to_owned()) }
}

/// Whether the installed packages are missing or older than the lock file.
fn stale(source: &Path) -> bool {
    let age = |name: &str| -> Option<SystemTime> { fs::metadata(source.join(name)).ok()?.modified().ok() };
    match (age("node_modules/.package-lock.json"), age("package-lock.json")) {
        (Some(installed), Some(wanted)) => wanted > installed,
        (installed, _) => installed.is_none(),
    }
}

fn placeholder(why: &str) -> String {
    let why = why.replace('&', "&amp;").replace('<', "&lt;");
    format!(
        r#"<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>calotte: the page is not built</title>
<h1>The page is not built into this program</h1>
<p>{why}</p>
<p>To have it: install Node 20 or newer (it brings <code>npm</code>), then build again with <code>cargo build --release</code>. Node is needed for
building alone.</p>
<h2>What works without it</h2>
<ul>
<li>Every question in the terminal: <code>calotte verdict CASE</code>, <code>poke</code>, <code>heat</code>, <code>release</code>, <code>map</code>,
<code>modes</code>.</li>
<li>What the page would ask, by any program: <a href="/api/about">/api/about</a>, <code>/api/cases/NAME</code>,
<code>POST /api/ask/QUESTION</code> (see <code>docs/page.md</code>).</li>
</ul>
</html>
"#
    )
}

/// Copies the worked cases and the tables beside them, so that the program carries exactly these.
fn cases(crate_folder: &Path, out: &Path) -> io::Result<()> {
    let root = crate_folder.join("../../cases");
    let from = if root.is_dir() { root } else { crate_folder.join("cases") };
    println!("cargo:rerun-if-changed={}", from.display());
    let to = out.join("cases");
    let _ = fs::remove_dir_all(&to);
    fs::create_dir_all(&to)?;
    if from.is_dir() {
        for folder in fs::read_dir(&from)? {
            let folder = folder?.path();
            let Some(name) = folder.file_name() else { continue };
            if !folder.join("case.toml").is_file() {
                continue;
            }
            fs::create_dir_all(to.join(name))?;
            for file in fs::read_dir(&folder)? {
                let file = file?.path();
                let table = file.extension().is_some_and(|e| e == "csv");
                let Some(own) = file.file_name() else { continue };
                if table || own == "case.toml" {
                    fs::copy(&file, to.join(name).join(own))?;
                }
            }
        }
    }
    println!("cargo:rustc-env=CASES_FOLDER={}", fs::canonicalize(to)?.display());
    Ok(())
}
