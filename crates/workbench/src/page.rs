//! The page and its files, as they were built into the program.

use axum::extract::Path;
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;

use crate::guard::wrong;

#[derive(RustEmbed)]
#[folder = "$PAGE_FOLDER"]
struct Page;

/// Why the page is missing; empty when it is there.
pub(crate) const MISSING: &str = env!("PAGE_MISSING");

fn file(path: &str, keep: &'static str) -> Response {
    let Some(file) = Page::get(path) else {
        return wrong(StatusCode::NOT_FOUND, "there is no such file", None);
    };
    let kind = file.metadata.mimetype();
    let kind = if kind.starts_with("text/") { format!("{kind}; charset=utf-8") } else { kind.to_owned() };
    ([(CONTENT_TYPE, kind), (CACHE_CONTROL, keep.to_owned())], file.data.into_owned()).into_response()
}

pub(crate) async fn index() -> Response {
    file("index.html", "no-cache")
}

pub(crate) async fn icon() -> Response {
    file("favicon.svg", "no-cache")
}

/// Files of the page carry a digest of their content in their name.
pub(crate) async fn asset(Path(path): Path<String>) -> Response {
    file(&format!("assets/{path}"), "private, max-age=31536000, immutable")
}
