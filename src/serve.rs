//! The local page: what a browser asks, answered from the same reports as the command line.
//!
//! [`Site::respond`] turns one request into one answer, without socket, file or clock. It keeps nothing between
//! requests: the drawing and all that is asked of it come with each of them, so that two browsers never meet.
//! [`listen`] carries it to a socket and bounds what a client can cost.

mod answer;
mod asset;
mod ask;
mod door;
mod listen;
#[cfg(test)]
mod listen_tests;
mod refusal;
#[cfg(test)]
mod tests;

use hyper::body::Bytes;
use hyper::header::{ALLOW, CACHE_CONTROL, CONTENT_TYPE, HeaderName, HeaderValue, LOCATION, SET_COOKIE};
use hyper::{Method, Request, Response, StatusCode};

use crate::shop::Book;
pub use door::{Door, random_token};
pub use listen::{Bounds, listen};
use refusal::Refusal;

/// Largest drawing that is taken, bytes.
pub const LARGEST_DRAWING: usize = 64 << 20;

/// The header of a request that says, in JSON, which drawing its body is and what is asked of it.
pub const ASK_HEADER: &str = "x-kerfwright-ask";

/// Nothing from elsewhere, nothing inline, no frame around it.
const CONTENT_SECURITY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
                                connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The page and what it answers from.
#[derive(Debug)]
pub struct Site {
    book: Book,
    door: Door,
}

/// What a path answers to.
enum Route {
    /// A file of the page.
    Asset(&'static asset::Asset),
    /// The style of the pictures.
    Ink,
    /// What can be asked for.
    Choices,
    /// An answer worked out from the body of the request.
    Answer(answer::Kind),
}

impl Site {
    /// The page for those that `door` lets in, with the shop's book.
    pub fn new(book: Book, door: Door) -> Self {
        Self { book, door }
    }

    /// Answers one request. The same request gives the same answer.
    pub fn respond(&self, request: &Request<Bytes>) -> Response<Bytes> {
        let mut response = self
            .door
            .check(request)
            .and_then(|()| self.route(request))
            .unwrap_or_else(Refusal::into_response);
        if request.method() == Method::HEAD {
            *response.body_mut() = Bytes::new();
        }
        guarded(response)
    }

    fn route(&self, request: &Request<Bytes>) -> Result<Response<Bytes>, Refusal> {
        let path = request.uri().path();
        if let Some(cookie) = self.door.cookie(request) {
            // The token leaves the address bar and comes back as a cookie.
            return Ok(
                built(StatusCode::SEE_OTHER, "text/plain; charset=utf-8", Bytes::new())
                    .with(LOCATION, HeaderValue::from_static("/"))
                    .with(SET_COOKIE, cookie)
                    .0,
            );
        }
        let route = find(path).ok_or_else(|| Refusal::no_such_page(path))?;
        let posted = matches!(route, Route::Answer(_));
        let allowed = match *request.method() {
            Method::POST => posted,
            Method::GET | Method::HEAD => !posted,
            _ => false,
        };
        if !allowed {
            let methods = if posted { "POST" } else { "GET, HEAD" };
            let response = Refusal::method(request.method(), path, methods).into_response();
            return Ok(Built(response).with(ALLOW, HeaderValue::from_static(methods)).0);
        }
        match route {
            Route::Asset(asset) => Ok(built(StatusCode::OK, asset.kind, Bytes::from_static(asset.content)).0),
            Route::Ink => {
                let css = crate::report::svg::page_style();
                Ok(built(StatusCode::OK, "text/css; charset=utf-8", css.into()).0)
            }
            Route::Choices => Ok(json(crate::report::json::choices(&self.book))),
            Route::Answer(kind) => answer::answer(&self.book, kind, request),
        }
    }
}

fn find(path: &str) -> Option<Route> {
    match path {
        "/ink.css" => Some(Route::Ink),
        "/choices.json" => Some(Route::Choices),
        _ => asset::named(path)
            .map(Route::Asset)
            .or_else(|| answer::Kind::at(path).map(Route::Answer)),
    }
}

/// A response under way.
struct Built(Response<Bytes>);

impl Built {
    fn with(mut self, name: HeaderName, value: HeaderValue) -> Self {
        self.0.headers_mut().insert(name, value);
        self
    }
}

fn built(status: StatusCode, kind: &'static str, body: Bytes) -> Built {
    let mut response = Response::new(body);
    *response.status_mut() = status;
    Built(response).with(CONTENT_TYPE, HeaderValue::from_static(kind))
}

fn json(text: String) -> Response<Bytes> {
    built(StatusCode::OK, "application/json", text.into()).0
}

/// What every answer says to the browser, whatever it is.
fn guarded(response: Response<Bytes>) -> Response<Bytes> {
    let always = [
        (
            HeaderName::from_static("content-security-policy"),
            CONTENT_SECURITY,
        ),
        (HeaderName::from_static("x-content-type-options"), "nosniff"),
        (HeaderName::from_static("referrer-policy"), "no-referrer"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (CACHE_CONTROL, "no-store"),
    ];
    let guard = |built: Built, (name, value)| built.with(name, HeaderValue::from_static(value));
    always.into_iter().fold(Built(response), guard).0
}
