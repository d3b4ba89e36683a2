//! Answers with their headers.

use bytes::Bytes;
use http_body_util::Full;
use hyper::header::{ALLOW, CONNECTION, CONTENT_TYPE, HeaderName, HeaderValue, LOCATION};
use hyper::{Response, StatusCode};
use serde::Serialize;

use super::refusal::Refusal;

/// An answer, whole in memory.
pub(crate) type Reply = Response<Full<Bytes>>;

/// The page's own files, pictures that it carries in itself, and requests back to the desk; nothing
/// from elsewhere, nothing within the markup, in no other page's frame.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; \
                      connect-src 'self'; base-uri 'none'; form-action 'none'; \
                      frame-ancestors 'none'";

/// On every answer, whatever it is. There is no cookie among them, ever.
const ALWAYS: [(&str, &str); 7] = [
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("cache-control", "no-store"),
    // The address holds the code: it is told to nobody else.
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), microphone=(), geolocation=()"),
];

pub(crate) fn text(kind: &'static str, body: impl Into<Bytes>) -> Reply {
    reply(StatusCode::OK, kind, body.into())
}

pub(crate) fn json(answer: &impl Serialize) -> Reply {
    match serde_json::to_vec(answer) {
        Ok(body) => reply(StatusCode::OK, "application/json", body.into()),
        Err(_) => refusal(&Refusal::Stumbled),
    }
}

pub(crate) fn nothing() -> Reply {
    reply(StatusCode::NO_CONTENT, "text/plain; charset=utf-8", Bytes::new())
}

pub(crate) fn elsewhere(path: &str) -> Reply {
    let mut reply = nothing();
    *reply.status_mut() = StatusCode::PERMANENT_REDIRECT;
    if let Ok(path) = HeaderValue::from_str(path) {
        reply.headers_mut().insert(LOCATION, path);
    }
    reply
}

pub(crate) fn refusal(refusal: &Refusal) -> Reply {
    let words = format!("{refusal}\n");
    let mut reply = reply(refusal.status(), "text/plain; charset=utf-8", words.into());
    if let Refusal::Method { allowed } = refusal {
        reply.headers_mut().insert(ALLOW, HeaderValue::from_static(allowed));
    }
    // What is left of its body is not waited for.
    reply.headers_mut().insert(CONNECTION, HeaderValue::from_static("close"));
    reply
}

fn reply(status: StatusCode, kind: &'static str, body: Bytes) -> Reply {
    let mut reply = Response::new(Full::new(body));
    *reply.status_mut() = status;
    let headers = reply.headers_mut();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    for (name, value) in ALWAYS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    reply
}
