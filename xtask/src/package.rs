//! `cargo xtask package`: the sources with the page built in, and a rehearsal of building them where there is no Node.
//!
//! The crates depend on one another by path and are published nowhere, so what is handed out is one archive of the workspace,
//! `target/package/calotte-VERSION.tar.gz`: everything committed but `ui/`, and the built page and the worked cases as
//! `crates/workbench/dist` and `crates/workbench/cases`, where the build script looks for them. `cargo install --path crates/cli` in
//! the unpacked folder needs no Node. The page must be built by somebody once; that is this task.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

type Outcome<T> = Result<T, String>;

fn at(path: &Path) -> impl FnOnce(std::io::Error) -> String {
    move |e| format!("{}: {e}", path.display())
}

/// Runs a program to its end.
fn run(command: &mut Command) -> Outcome<()> {
    let words = format!("{command:?}");
    let status = command.status().map_err(|e| format!("{words}: {e}"))?;
    if status.success() { Ok(()) } else { Err(format!("{words}: {status}")) }
}

/// Builds, packs and rehearses; `quick` also takes a tree with changes (what is packed is what was committed) and rehearses without
/// optimising the build. `CARGO_TARGET_DIR` is where the rehearsal builds, when set.
pub(crate) fn package(root: &Path, quick: bool) -> Outcome<String> {
    let name = format!("calotte-{}", env!("CARGO_PKG_VERSION"));
    if !quick {
        clean(root)?;
    }
    page(root)?;
    let cases = cases(root)?;
    let out = root.join("target/package");
    let staged = out.join(&name);
    let files = stage(root, &out, &name)?;
    let archive = out.join(format!("{name}.tar.gz"));
    run(Command::new("tar").arg("-czf").arg(&archive).arg("-C").arg(&out).arg(&name))?;
    fs::remove_dir_all(&staged).map_err(at(&staged))?;
    rehearse(&archive, &name, &out.join("rehearsal"), cases, quick)?;
    Ok(format!("{} has {files} files; it builds without Node and shows the page", archive.display()))
}

/// Builds the page into the crate that carries it.
fn page(root: &Path) -> Outcome<()> {
    let source = root.join("ui");
    let dist = root.join("crates/workbench/dist");
    let _ = fs::remove_dir_all(&dist);
    let npm = |arguments: &[&str]| {
        run(Command::new("npm").args(arguments).current_dir(&source).stdout(Stdio::null()))
    };
    let lock = fs::File::create(source.join("building.tmp")).map_err(at(&source))?;
    lock.lock().map_err(at(&source))?;
    if !source.join("node_modules/.package-lock.json").exists() {
        npm(&["ci", "--no-audit", "--no-fund"])?;
    }
    let to = dist.to_str().ok_or("the tree's path is not UTF-8")?;
    npm(&["run", "build", "--", "--outDir", to, "--emptyOutDir"])?;
    let index = fs::read_to_string(dist.join("index.html")).map_err(at(&dist))?;
    let assets = dist.join("assets");
    let has = |ending: &str| {
        let all = fs::read_dir(&assets).into_iter().flatten().flatten();
        all.filter(|f| f.path().extension().is_some_and(|e| e == ending))
            .any(|f| index.contains(&*f.file_name().to_string_lossy()))
    };
    for ending in ["js", "css"] {
        if !has(ending) {
            return Err(format!("{}: index.html names no {ending} file of assets", dist.display()));
        }
    }
    Ok(())
}

/// Copies the worked cases into the crate that carries them; how many.
fn cases(root: &Path) -> Outcome<usize> {
    let to = root.join("crates/workbench/cases");
    let _ = fs::remove_dir_all(&to);
    let mut count = 0;
    let from = root.join("cases");
    for folder in fs::read_dir(&from).map_err(at(&from))?.flatten() {
        if !folder.path().join("case.toml").is_file() {
            continue;
        }
        count += 1;
        let own = to.join(folder.file_name());
        fs::create_dir_all(&own).map_err(at(&own))?;
        for file in fs::read_dir(folder.path()).map_err(at(&own))?.flatten() {
            let path = file.path();
            if file.file_name() == "case.toml" || path.extension().is_some_and(|e| e == "csv") {
                fs::copy(&path, own.join(file.file_name())).map_err(at(&path))?;
            }
        }
    }
    if count == 0 { Err(format!("{}: no case", from.display())) } else { Ok(count) }
}

/// Lays out what goes into the archive, as it was committed; how many files.
fn stage(root: &Path, out: &Path, name: &str) -> Outcome<usize> {
    let staged = out.join(name);
    let _ = fs::remove_dir_all(&staged);
    fs::create_dir_all(&staged).map_err(at(&staged))?;
    let plain = out.join("committed.tar");
    let mut list = Command::new("git");
    list.args(["archive", "--format=tar", "-o"])
        .arg(&plain)
        .args(["HEAD", "--", ".", ":(exclude)ui"])
        .current_dir(root);
    run(&mut list)?;
    run(Command::new("tar").arg("-xf").arg(&plain).arg("-C").arg(&staged))?;
    fs::remove_file(&plain).map_err(at(&plain))?;
    let mut made = Vec::new();
    for folder in ["crates/workbench/dist", "crates/workbench/cases"] {
        walk(root, Path::new(folder), &mut made)?;
    }
    for name in &made {
        let target = staged.join(name);
        let folder = target.parent().unwrap_or(&staged);
        fs::create_dir_all(folder).map_err(at(folder))?;
        fs::copy(root.join(name), &target).map_err(at(&target))?;
    }
    for needed in
        ["Cargo.toml", "Cargo.lock", "LICENSE-MIT", "LICENSE-APACHE", "crates/workbench/dist/index.html"]
    {
        if !staged.join(needed).is_file() {
            return Err(format!("the archive would lack {needed}"));
        }
    }
    let mut all = Vec::new();
    walk(&staged, Path::new(""), &mut all)?;
    if let Some(stray) = all.iter().find(|f| f.starts_with("ui")) {
        return Err(format!("the archive would have {}", stray.display()));
    }
    Ok(all.len())
}

/// Refuses a tree with changes: what is handed out is what was committed.
fn clean(root: &Path) -> Outcome<()> {
    let listed = Command::new("git")
        .args(["status", "--porcelain"])
        .current_dir(root)
        .output()
        .map_err(|e| format!("git: {e}"))?;
    let listed = String::from_utf8_lossy(&listed.stdout).into_owned();
    match listed.lines().next() {
        None => Ok(()),
        Some(first) => Err(format!(
            "the tree has changes ({}): commit them first, or rehearse with --quick",
            first.trim()
        )),
    }
}

fn walk(root: &Path, folder: &Path, out: &mut Vec<PathBuf>) -> Outcome<()> {
    let here = root.join(folder);
    for entry in fs::read_dir(&here).map_err(at(&here))?.flatten() {
        let name = folder.join(entry.file_name());
        if entry.path().is_dir() {
            walk(root, &name, out)?;
        } else {
            out.push(name);
        }
    }
    Ok(())
}

/// Unpacks the archive, builds it offline with a Node that tells when it is called, and looks at the page.
fn rehearse(archive: &Path, name: &str, to: &Path, cases: usize, quick: bool) -> Outcome<()> {
    let sources = to.join("sources");
    let _ = fs::remove_dir_all(&sources);
    fs::create_dir_all(&sources).map_err(at(&sources))?;
    run(Command::new("tar").arg("-xzf").arg(archive).arg("-C").arg(&sources))?;
    let called = traps(to)?;
    let mut path = to.join("traps").into_os_string();
    path.push(":");
    path.push(std::env::var_os("PATH").unwrap_or_default());
    let folder = if quick { "debug" } else { "release" };
    let mut build = Command::new("cargo");
    build.args(["build", "--offline", "--locked", "--package", "calotte"]);
    if !quick {
        build.arg("--release");
    }
    let built = std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| to.join("target"), PathBuf::from);
    build
        .current_dir(sources.join(name))
        .env("PATH", path)
        .env("CARGO_TARGET_DIR", &built)
        .env_remove("SKIP_UI_BUILD");
    run(&mut build)?;
    if called.exists() {
        return Err("the build called Node".to_owned());
    }
    look(&built.join(folder).join("calotte"), cases)
}

/// Programs in the place of Node that leave a mark; where the mark would be.
fn traps(to: &Path) -> Outcome<PathBuf> {
    let folder = to.join("traps");
    fs::create_dir_all(&folder).map_err(at(&folder))?;
    let mark = folder.join("called");
    let _ = fs::remove_file(&mark);
    for name in ["node", "npm", "npx"] {
        let file = folder.join(name);
        fs::write(&file, format!("#!/bin/sh\n: > '{}'\nexit 127\n", mark.display())).map_err(at(&file))?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            fs::set_permissions(&file, fs::Permissions::from_mode(0o755)).map_err(at(&file))?;
        }
    }
    Ok(mark)
}

/// A server that ends with the value.
struct Served(Child);

impl Drop for Served {
    fn drop(&mut self) {
        // It is ours; when it has ended already there is nothing to kill.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Starts the built program and looks at its page, at a file of it and at the list of cases.
fn look(program: &Path, cases: usize) -> Outcome<()> {
    let started = Command::new(program)
        .args(["serve", "--port", "0"])
        .stdout(Stdio::piped())
        .spawn()
        .map_err(at(program))?;
    let mut served = Served(started);
    let mut line = String::new();
    let out = served.0.stdout.take().ok_or("no output of the server")?;
    BufReader::new(out).read_line(&mut line).map_err(at(program))?;
    let host = line
        .split("http://")
        .nth(1)
        .and_then(|l| l.split('/').next())
        .ok_or(format!("no address in {line:?}"))?;
    let page = get(host, "/")?;
    let (_, rest) = page.split_once("assets/").ok_or("the page names no assets: it is the placeholder")?;
    let asset: String = rest.chars().take_while(|c| c.is_alphanumeric() || "-_.".contains(*c)).collect();
    get(host, &format!("/assets/{asset}"))?;
    let about = get(host, "/api/about")?;
    if !about.contains("\"node_missing\":false") {
        return Err("the program says that its page is missing".to_owned());
    }
    let found = about.matches("\"title\":").count();
    if found == cases {
        Ok(())
    } else {
        Err(format!("the program carries {found} cases, the tree has {cases}"))
    }
}

fn get(host: &str, path: &str) -> Outcome<String> {
    let fail = |e: std::io::Error| format!("GET {path}: {e}");
    let mut stream = TcpStream::connect(host).map_err(fail)?;
    stream.set_read_timeout(Some(Duration::from_secs(20))).map_err(fail)?;
    write!(stream, "GET {path} HTTP/1.1\r\nhost: {host}\r\nconnection: close\r\n\r\n").map_err(fail)?;
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).map_err(fail)?;
    let text = String::from_utf8_lossy(&bytes).into_owned();
    if text.starts_with("HTTP/1.1 200") {
        Ok(text)
    } else {
        Err(format!("GET {path}: {}", text.lines().next().unwrap_or_default()))
    }
}
