//! What lies at which address.

use std::path::PathBuf;
use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router, middleware};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;

use crate::api::{CaseFiles, Kind, Refused};
use crate::ask::Bodies;
use crate::cache::Cache;
use crate::guard::{self, Door, wrong};
use crate::pool::Lane;
use crate::{Patience, ask, cases, folder, page};

/// What every request sees.
pub(crate) struct Shared {
    pub(crate) quick: Lane,
    pub(crate) long: Lane,
    pub(crate) cache: Arc<Cache>,
    pub(crate) bodies: Bodies,
    pub(crate) stock: Vec<CaseFiles>,
    /// The answer of `/api/about`.
    pub(crate) about: Bytes,
    /// Where cases may be kept, links resolved.
    pub(crate) folder: Option<PathBuf>,
    pub(crate) patience: Patience,
}

pub(crate) fn router(shared: Arc<Shared>, door: Arc<Door>) -> Router {
    // Streams stay as they are: packing would hold lines back.
    let packed = Router::new()
        .route("/", get(page::index))
        .route("/favicon.svg", get(page::icon))
        .route("/assets/{*path}", get(page::asset))
        .route("/api/about", get(about))
        .route("/api/cases/{name}", get(case))
        .route("/api/folder", get(folder::list))
        .route("/api/folder/{name}", get(folder::get).put(folder::put))
        .layer(CompressionLayer::new().gzip(true));
    packed
        .route("/api/ask/{question}", post(ask::ask))
        .fallback(nothing)
        .method_not_allowed_fallback(no_method)
        .with_state(shared)
        .layer(CatchPanicLayer::custom(panicked))
        .layer(middleware::from_fn_with_state(door, guard::stand))
}

async fn about(State(shared): State<Arc<Shared>>) -> Response {
    ([(CONTENT_TYPE, "application/json")], shared.about.clone()).into_response()
}

async fn case(State(shared): State<Arc<Shared>>, Path(name): Path<String>) -> Response {
    let found = shared.stock.iter().find(|c| c.name == name).cloned().or_else(|| cases::template(&name));
    match found {
        Some(case) => Json(case).into_response(),
        None => wrong(StatusCode::NOT_FOUND, "there is no such case", Some("/api/about lists them")),
    }
}

async fn nothing() -> Response {
    wrong(StatusCode::NOT_FOUND, "there is nothing at this address", None)
}

async fn no_method() -> Response {
    wrong(
        StatusCode::METHOD_NOT_ALLOWED,
        "this address is not asked like that",
        Some("docs/page.md says how"),
    )
}

#[allow(clippy::needless_pass_by_value, reason = "the layer calls it with what it caught")]
fn panicked(_: Box<dyn std::any::Any + Send>) -> Response {
    guard::refuse(
        StatusCode::INTERNAL_SERVER_ERROR,
        Refused::new(Kind::Failed, "the server failed at this request").help("please report what was asked"),
    )
}
