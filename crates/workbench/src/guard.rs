//! Who may ask, and what every answer carries.
//!
//! Any page in the user's browser can send requests to a server on this machine, and a name that its owner lets point here (DNS
//! rebinding) even makes them look as if they came from the same site. So the `Host` must be a name of this machine, the `Origin`, where
//! there is one, the server's own, and what changes or asks something must be JSON, which other sites cannot send unasked.

use std::net::IpAddr;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::header::{
    AUTHORIZATION, CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, COOKIE, HOST, HeaderName,
    HeaderValue, LOCATION, ORIGIN, REFERRER_POLICY, SET_COOKIE, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use subtle::ConstantTimeEq;

use crate::api::{Kind, Line, Refused, to_line};

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; \
    connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const COOKIE_NAME: &str = "calotte_token";

/// Whom to let in.
#[derive(Clone, Debug)]
pub(crate) struct Door {
    pub(crate) address: IpAddr,
    pub(crate) token: Option<Arc<str>>,
}

/// An error outside a stream.
pub(crate) fn refuse(status: StatusCode, refused: Refused) -> Response {
    let body = to_line(&Line::Refused(refused));
    (status, [(CONTENT_TYPE, "application/json")], body).into_response()
}

pub(crate) fn wrong(status: StatusCode, says: &str, help: Option<&str>) -> Response {
    let refused = Refused { kind: Kind::Question, says: says.to_owned(), help: help.map(str::to_owned) };
    refuse(status, refused)
}

/// Lets a request through or refuses it; then adds what keeps the page to itself.
pub(crate) async fn stand(State(door): State<Arc<Door>>, request: Request, next: Next) -> Response {
    let mut response = match door.check(&request) {
        Ok(()) => next.run(request).await,
        Err(instead) => *instead,
    };
    let headers = response.headers_mut();
    let same = HeaderValue::from_static("same-origin");
    for (name, value) in [
        (CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY)),
        (X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff")),
        (X_FRAME_OPTIONS, HeaderValue::from_static("DENY")),
        (REFERRER_POLICY, HeaderValue::from_static("no-referrer")),
        (HeaderName::from_static("cross-origin-opener-policy"), same.clone()),
        (HeaderName::from_static("cross-origin-resource-policy"), same),
    ] {
        headers.insert(name, value);
    }
    headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

impl Door {
    /// What to answer instead of what was asked: a refusal, or the way on with the token as a cookie.
    fn check(&self, request: &Request) -> Result<(), Box<Response>> {
        let wrong = |status, says, help| Box::new(wrong(status, says, help));
        let headers = request.headers();
        let host = one(headers, &HOST).or_else(|| request.uri().authority().map(|a| a.as_str()));
        let Some(host) = host.filter(|h| self.is_here(h)) else {
            return Err(wrong(
                StatusCode::FORBIDDEN,
                "this server does not go by that name",
                Some("open it by the address that it printed when it started"),
            ));
        };
        if headers.contains_key(ORIGIN) && one(headers, &ORIGIN).is_none_or(|o| !is_own(o, host)) {
            return Err(wrong(StatusCode::FORBIDDEN, "requests of other sites are not answered", None));
        }
        let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
        if changes
            && one(headers, &HeaderName::from_static("sec-fetch-site"))
                .is_some_and(|s| s != "same-origin" && s != "none")
        {
            return Err(wrong(StatusCode::FORBIDDEN, "requests of other sites are not answered", None));
        }
        if changes && !one(headers, &CONTENT_TYPE).is_some_and(is_json) {
            return Err(wrong(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "the body must be JSON",
                Some("send the header `content-type: application/json`"),
            ));
        }
        let Some(token) = &self.token else { return Ok(()) };
        let query = request.uri().query().unwrap_or_default();
        let in_query = query.split('&').find_map(|p| p.strip_prefix("token="));
        if in_query.is_some_and(|t| same(t, token)) {
            let page = request.method() == Method::GET && !request.uri().path().starts_with("/api/");
            return if page { Err(Box::new(enter(request.uri().path(), token))) } else { Ok(()) };
        }
        let bearer = one(headers, &AUTHORIZATION).and_then(|a| a.strip_prefix("Bearer "));
        if bearer.is_some_and(|t| same(t, token)) || cookies(headers).any(|t| same(t, token)) {
            return Ok(());
        }
        Err(wrong(
            StatusCode::UNAUTHORIZED,
            "this server answers only who knows its token",
            Some("open the whole address that it printed when it started, `?token=…` included"),
        ))
    }

    /// Whether a `Host` means this machine. The port does not matter: it may be forwarded.
    fn is_here(&self, host: &str) -> bool {
        let name = match host.rsplit_once(':') {
            Some((name, port))
                if port.chars().all(|c| c.is_ascii_digit())
                    && (!name.contains(':') || name.ends_with(']')) =>
            {
                name
            }
            _ => host,
        };
        if name.eq_ignore_ascii_case("localhost") {
            return true;
        }
        let bare = name.strip_prefix('[').and_then(|n| n.strip_suffix(']')).unwrap_or(name);
        let Ok(ip) = bare.parse::<IpAddr>() else { return false };
        // A number cannot be made to point elsewhere, so a server for all addresses takes any.
        ip.is_loopback() || ip == self.address || self.address.is_unspecified()
    }
}

/// The value of a header that is there once.
fn one<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?.to_str().ok()?;
    all.next().is_none().then_some(first)
}

fn is_own(origin: &str, host: &str) -> bool {
    origin.strip_prefix("http://").is_some_and(|o| o.eq_ignore_ascii_case(host))
}

fn is_json(kind: &str) -> bool {
    kind.split(';').next().is_some_and(|k| k.trim().eq_ignore_ascii_case("application/json"))
}

fn same(given: &str, token: &str) -> bool {
    given.as_bytes().ct_eq(token.as_bytes()).into()
}

fn cookies(headers: &HeaderMap) -> impl Iterator<Item = &str> {
    let all = headers.get_all(COOKIE).iter().filter_map(|v| v.to_str().ok());
    all.flat_map(|v| v.split(';'))
        .filter_map(|c| c.trim().split_once('='))
        .filter(|c| c.0 == COOKIE_NAME)
        .map(|c| c.1)
}

/// Sends the browser to the same place without the token, which it keeps as a cookie out of reach of scripts.
fn enter(path: &str, token: &str) -> Response {
    let cookie = format!("{COOKIE_NAME}={token}; HttpOnly; SameSite=Strict; Path=/");
    let mut response = Response::new(Body::empty());
    *response.status_mut() = StatusCode::SEE_OTHER;
    // Two slashes at the front would name another machine.
    let path = format!("/{}", path.trim_start_matches('/'));
    if let (Ok(cookie), Ok(path)) = (HeaderValue::try_from(cookie), HeaderValue::try_from(path)) {
        response.headers_mut().insert(SET_COOKIE, cookie);
        response.headers_mut().insert(LOCATION, path);
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn door(address: &str) -> Door {
        Door { address: address.parse().unwrap(), token: None }
    }

    #[test]
    fn names_of_this_machine() {
        let local = door("127.0.0.1");
        for host in ["localhost", "LOCALHOST:80", "127.0.0.1:8722", "127.0.0.1", "[::1]:8722", "[::1]"] {
            assert!(local.is_here(host), "{host}");
        }
        for host in [
            "",
            "example.org",
            "localhost.example.org",
            "127.0.0.1.example.org:8722",
            "10.0.0.1",
            "localhost:x",
            "[::2]:1",
            "a@localhost",
        ] {
            assert!(!local.is_here(host), "{host}");
        }
        assert!(door("10.0.0.1").is_here("10.0.0.1:80") && !door("10.0.0.1").is_here("10.0.0.2:80"));
        assert!(door("0.0.0.0").is_here("10.0.0.2:80") && !door("0.0.0.0").is_here("example.org"));
    }

    #[test]
    fn origins() {
        assert!(is_own("http://localhost:8722", "localhost:8722"));
        for origin in
            ["null", "https://localhost:8722", "http://localhost:8723", "http://localhost:8722.example.org"]
        {
            assert!(!is_own(origin, "localhost:8722"), "{origin}");
        }
    }
}
