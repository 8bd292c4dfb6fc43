//! Questions over the wire: a body goes in, a stream of lines comes out.

use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

use axum::body::{Body, Bytes, HttpBody};
use axum::extract::{Path, Request, State};
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE, RETRY_AFTER};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use http_body_util::BodyExt;
use hyper::body::Frame;
use serde::de::DeserializeOwned;
use tokio::sync::Semaphore;
use tokio::sync::mpsc::UnboundedReceiver;

use crate::BODY_BYTES;
use crate::api::{Ask, Kind, Refused};
use crate::cache::Slip;
use crate::guard::{refuse, wrong};
use crate::pool::{Job, Sent, channel};
use crate::routes::Shared;
use crate::work::job_line;

/// Longest name that a page may give itself, bytes.
const LONGEST_PAGE: usize = 64;

/// Longest name of a question, bytes.
const LONGEST_QUESTION: usize = 64;

/// Questions that a page asks while somebody types.
const QUICK: [&str; 2] = ["look", "verdict"];

/// Bodies of requests that are on their way in, all together.
pub(crate) struct Bodies(Semaphore);

impl Bodies {
    /// Bodies of `bytes` at once.
    pub(crate) fn new(bytes: usize) -> Self {
        Self(Semaphore::new(bytes))
    }
}

/// Reads a body of JSON within size and time.
pub(crate) async fn read<T: DeserializeOwned>(request: Request, shared: &Shared) -> Result<T, Response> {
    let too_long = || {
        let says = format!("the body is longer than {} MiB", BODY_BYTES >> 20);
        wrong(StatusCode::PAYLOAD_TOO_LARGE, &says, None)
    };
    let length = request
        .headers()
        .get(CONTENT_LENGTH)
        .and_then(|v| v.to_str().ok())
        .and_then(|v| v.parse::<u64>().ok());
    if length.is_some_and(|n| n > BODY_BYTES as u64) {
        return Err(too_long());
    }
    // What a body takes of the room for all counts as it comes: who only promises bytes takes nothing.
    let mut room = shared.bodies.0.try_acquire_many(0).ok();
    let whole = async {
        let mut bytes = Vec::new();
        let mut body = request.into_body();
        while let Some(frame) = body.frame().await {
            let Ok(frame) = frame else {
                return Err(wrong(StatusCode::BAD_REQUEST, "the body ended too early", None));
            };
            let Ok(data) = frame.into_data() else { continue };
            if bytes.len() + data.len() > BODY_BYTES {
                return Err(too_long());
            }
            let more = u32::try_from(data.len()).ok().and_then(|n| shared.bodies.0.try_acquire_many(n).ok());
            let Some(more) = more else { return Err(busy("too many requests are on their way in")) };
            match &mut room {
                Some(room) => room.merge(more),
                none => *none = Some(more),
            }
            bytes.extend_from_slice(&data);
        }
        Ok(bytes)
    };
    let bytes = match tokio::time::timeout(shared.patience.body, whole).await {
        Ok(whole) => whole?,
        Err(_) => return Err(wrong(StatusCode::REQUEST_TIMEOUT, "the body came too slowly", None)),
    };
    serde_json::from_slice(&bytes).map_err(|e| {
        let says = format!("the body is not what is expected here: {e}");
        wrong(StatusCode::BAD_REQUEST, &says, Some("docs/page.md says what to send"))
    })
}

/// Too much is going on.
fn busy(says: &str) -> Response {
    let refused = Refused::new(Kind::Busy, says).help("ask again in a moment");
    let mut response = refuse(StatusCode::SERVICE_UNAVAILABLE, refused);
    response.headers_mut().insert(RETRY_AFTER, HeaderValue::from_static("1"));
    response
}

/// `POST /api/ask/QUESTION`.
pub(crate) async fn ask(
    State(shared): State<Arc<Shared>>,
    Path(question): Path<String>,
    request: Request,
) -> Response {
    let ask: Ask = match read(request, &shared).await {
        Ok(ask) => ask,
        Err(response) => return response,
    };
    if ask.page.len() > LONGEST_PAGE || question.len() > LONGEST_QUESTION {
        return wrong(StatusCode::BAD_REQUEST, "a page's name and a question's have at most 64 bytes", None);
    }
    let Ok(line) = job_line(&question, &ask) else {
        return wrong(StatusCode::BAD_REQUEST, "the body cannot be handed on", None);
    };
    // What no one knows is refused at once, and not behind long work.
    let known = calotte_desk::QUESTIONS.contains(&question.as_str());
    let quick = QUICK.contains(&question.as_str()) || !known;
    let line: Arc<str> = line.into();
    let key = quick.then(|| Arc::clone(&line));
    if let Some(lines) = key.as_ref().and_then(|k| shared.cache.get(k)) {
        return stream(Body::new(Lines::Known(lines, 0)));
    }
    let (to, from) = channel();
    let slip = key.map(|key| Slip { cache: Arc::clone(&shared.cache), key });
    let lane = if quick { &shared.quick } else { &shared.long };
    match lane.take(Job { page: ask.page, question, line, to, slip }) {
        Ok(()) => stream(Body::new(Lines::Coming(from))),
        Err(full) => {
            let says = if full.own {
                "this page has too many questions waiting"
            } else {
                "too many questions are waiting"
            };
            busy(says)
        }
    }
}

fn stream(body: Body) -> Response {
    ([(CONTENT_TYPE, "application/x-ndjson")], body).into_response()
}

/// Lines as they come, up to the last one. Dropped with the connection, which tells the worker that the client has gone.
enum Lines {
    Coming(UnboundedReceiver<Sent>),
    Known(Arc<[Arc<str>]>, usize),
    Over,
}

impl HttpBody for Lines {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        let frame = |text: Arc<str>| Some(Ok(Frame::data(Bytes::from_owner(Shown(text)))));
        match &mut *self {
            Self::Coming(from) => {
                let Some(sent) = std::task::ready!(from.poll_recv(cx)) else {
                    // Whoever worked on it is gone without a last line.
                    *self = Self::Over;
                    let text = Refused::new(Kind::Stopped, "the server is stopping").line();
                    return Poll::Ready(frame(text.into()));
                };
                if sent.last {
                    *self = Self::Over;
                }
                Poll::Ready(frame(sent.text))
            }
            Self::Known(lines, next) => {
                let line = lines.get(*next).cloned();
                *next += 1;
                Poll::Ready(line.and_then(frame))
            }
            Self::Over => Poll::Ready(None),
        }
    }

    fn is_end_stream(&self) -> bool {
        matches!(self, Self::Over)
    }
}

/// A line that is shared with the cache and sent without a copy.
struct Shown(Arc<str>);

impl AsRef<[u8]> for Shown {
    fn as_ref(&self) -> &[u8] {
        self.0.as_bytes()
    }
}
