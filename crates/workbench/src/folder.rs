//! The folder where the page may keep cases: nothing outside is read or written, whatever is asked.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use axum::Json;
use axum::extract::{Path as Name, Request, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};

use crate::api::{CaseFiles, FolderFiles, Keep};
use crate::ask::read;
use crate::guard::wrong;
use crate::routes::Shared;
use crate::{BODY_BYTES, cases};

/// Most cases that are listed.
const MOST: usize = 2000;

/// Longest name of a file, bytes.
const LONGEST_NAME: usize = 120;

/// A status with words.
struct Fault(StatusCode, String);

impl Fault {
    fn new(status: StatusCode, says: impl Into<String>) -> Self {
        Self(status, says.into())
    }
}

impl From<io::Error> for Fault {
    fn from(e: io::Error) -> Self {
        match e.kind() {
            io::ErrorKind::NotFound => {
                Self::new(StatusCode::NOT_FOUND, "there is no such file in the folder")
            }
            _ => Self::new(StatusCode::INTERNAL_SERVER_ERROR, format!("the folder cannot be used: {e}")),
        }
    }
}

fn respond<T: serde::Serialize>(done: Result<T, Fault>) -> Response {
    match done {
        Ok(value) => Json(value).into_response(),
        Err(Fault(status, says)) => wrong(status, &says, None),
    }
}

/// Does it where waiting for a disk holds up nobody.
async fn off<T: serde::Serialize + Send + 'static>(
    shared: &Shared,
    work: impl FnOnce(&Path) -> Result<T, Fault> + Send + 'static,
) -> Response {
    let Some(root) = shared.folder.clone() else {
        return wrong(
            StatusCode::NOT_FOUND,
            "no folder was opened",
            Some("start the server with `--folder DIR`"),
        );
    };
    match tokio::task::spawn_blocking(move || work(&root)).await {
        Ok(done) => respond(done),
        Err(_) => wrong(StatusCode::INTERNAL_SERVER_ERROR, "the program failed at the folder", None),
    }
}

/// `GET /api/folder`.
pub(crate) async fn list(State(shared): State<Arc<Shared>>) -> Response {
    off(&shared, |root| {
        let mut files = Vec::new();
        for entry in fs::read_dir(root)? {
            let Ok(name) = entry?.file_name().into_string() else { continue };
            if fit(&name, "toml").is_ok() && inside(root, &name).is_ok() {
                files.push(name);
            }
        }
        files.sort();
        files.truncate(MOST);
        Ok(FolderFiles { files })
    })
    .await
}

/// `GET /api/folder/NAME`.
pub(crate) async fn get(State(shared): State<Arc<Shared>>, Name(name): Name<String>) -> Response {
    off(&shared, move |root| {
        fit(&name, "toml")?;
        let text = text(root, &name)?;
        let mut files = BTreeMap::new();
        for beside in cases::named(&text) {
            // A case may name what lies elsewhere; from here it is not read, and the reader of the case says that it is missing.
            if fit(&beside, "csv").is_ok()
                && let Ok(content) = self::text(root, &beside)
            {
                files.insert(beside, content);
            }
        }
        Ok(CaseFiles { name, text, files })
    })
    .await
}

/// `PUT /api/folder/NAME`.
pub(crate) async fn put(
    State(shared): State<Arc<Shared>>,
    Name(name): Name<String>,
    request: Request,
) -> Response {
    let keep: Keep = match read(request, &shared).await {
        Ok(keep) => keep,
        Err(response) => return response,
    };
    off(&shared, move |root| {
        // All names first: half of a case helps nobody.
        let targets: Vec<(PathBuf, &str)> =
            std::iter::once(target(root, &name, "toml").map(|p| (p, keep.text.as_str())))
                .chain(keep.files.iter().map(|(n, t)| target(root, n, "csv").map(|p| (p, t.as_str()))))
                .collect::<Result<_, _>>()?;
        // The case last, so that it never stands without its tables.
        for (path, text) in targets.iter().rev() {
            write(path, text.as_bytes())?;
        }
        Ok(serde_json::json!({ "kept": name }))
    })
    .await
}

/// Whether a name is that of a plain file with this ending.
fn fit(name: &str, ending: &str) -> Result<(), Fault> {
    let bad = |says: &str| Err(Fault::new(StatusCode::BAD_REQUEST, format!("{name:?}: {says}")));
    if name.len() > LONGEST_NAME {
        return Err(Fault::new(StatusCode::BAD_REQUEST, format!("names have at most {LONGEST_NAME} bytes")));
    }
    if name.starts_with('.') {
        return bad("a name does not begin with a dot");
    }
    if !name.chars().all(|c| c.is_alphanumeric() || " -_.+()".contains(c)) {
        return bad("a name has letters, digits, spaces and - _ . + ( ) alone, and no path");
    }
    match name.rsplit_once('.') {
        Some((stem, end)) if end == ending && !stem.is_empty() => Ok(()),
        _ => bad(&format!("its ending must be .{ending}")),
    }
}

/// Where an existing file really lies, when that is below the folder.
fn inside(root: &Path, name: &str) -> Result<PathBuf, Fault> {
    let real = fs::canonicalize(root.join(name))?;
    if !real.starts_with(root) || !real.is_file() {
        return Err(Fault::new(StatusCode::FORBIDDEN, format!("{name:?} is no file of the folder")));
    }
    Ok(real)
}

fn text(root: &Path, name: &str) -> Result<String, Fault> {
    let mut bytes = Vec::new();
    File::open(inside(root, name)?)?.take(BODY_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    if bytes.len() > BODY_BYTES {
        let says = format!("{name:?} is longer than {} MiB", BODY_BYTES >> 20);
        return Err(Fault::new(StatusCode::PAYLOAD_TOO_LARGE, says));
    }
    String::from_utf8(bytes)
        .map_err(|_| Fault::new(StatusCode::UNPROCESSABLE_ENTITY, format!("{name:?} is no UTF-8 text")))
}

/// Where a file is to be written: a name without a link behind it.
fn target(root: &Path, name: &str, ending: &str) -> Result<PathBuf, Fault> {
    fit(name, ending)?;
    let path = root.join(name);
    match fs::symlink_metadata(&path) {
        Ok(there) if !there.is_file() => Err(Fault::new(
            StatusCode::FORBIDDEN,
            format!("{name:?} is a link or a folder and is not replaced"),
        )),
        Ok(_) => Ok(path),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(path),
        Err(e) => Err(e.into()),
    }
}

/// Writes a file whole or not at all: to a neighbour first, then renamed.
fn write(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let beside = path.with_file_name(format!(".{name}.{}.part", crate::listen::random_word()?));
    let done = (|| {
        let mut file = OpenOptions::new().write(true).create_new(true).open(&beside)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&beside, path)
    })();
    if done.is_err() {
        // The neighbour is ours; what cannot be removed was most likely never made.
        let _ = fs::remove_file(&beside);
    }
    Ok(done?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names() {
        for name in ["a.toml", "Kappe 2 (neu).toml", "größe.toml", "a.b.toml"] {
            assert!(fit(name, "toml").is_ok(), "{name}");
        }
        let long = format!("{}.toml", "a".repeat(LONGEST_NAME));
        for name in [
            "",
            ".toml",
            ".a.toml",
            "a.csv",
            "a",
            "../a.toml",
            "a/b.toml",
            "a\\b.toml",
            "c:a.toml",
            "a\0.toml",
            "a\n.toml",
            &long,
        ] {
            assert!(fit(name, "toml").is_err(), "{name}");
        }
    }
}
