//! Serves the local page: answers a browser from the same reports as the command line.
//!
//! [`Site::respond`] turns one request into one answer, without socket, file or clock. It keeps nothing between
//! requests: the drawing and its job come with each of them, so that two browsers never meet. What it was opened with stays as it is.
//! [`Site::refuse`] judges a request by its head alone, so that its body need not be read first.
//! [`listen`](fn@listen) carries requests from a socket and bounds what a client can cost; it needs the feature `serve`.
//!
//! ```
//! use kerfwright::Book;
//! use kerfwright::serve::{AccessControl, Site};
//!
//! let site = Site::new(Book::built_in()?, AccessControl::on_this_machine(([127, 0, 0, 1], 7345).into()));
//! let asked = http::Request::post("http://localhost:7345/answer")
//!     .header("host", "localhost:7345")
//!     .header(kerfwright::serve::ASK_HEADER, r#"{ "file": "stadium.dxf" }"#);
//! let drawing = std::fs::read("fixtures/shapes/stadium.dxf")?;
//! let answer = site.respond(&asked.body(drawing.into())?);
//! assert!(answer.status().is_success());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod answer;
mod asset;
mod page_request;
mod own_book;
mod readings;
mod typed;
mod access;
mod head;
#[cfg(feature = "serve")]
mod lane;
#[cfg(feature = "serve")]
mod listen;
#[cfg(feature = "serve")]
mod pace;
mod refusal;
#[cfg(feature = "serve")]
mod seat;
#[cfg(feature = "serve")]
mod stream;
#[cfg(test)]
mod tests;

use bytes::Bytes;
use http::header::{CACHE_CONTROL, CONTENT_TYPE, HeaderName, HeaderValue, LOCATION, SET_COOKIE};
use http::{Method, Request, Response, StatusCode};

use crate::shop::Book;
pub use access::AccessControl;
#[cfg(feature = "serve")]
pub use access::random_token;
pub use head::RequestHead;
#[cfg(feature = "serve")]
pub use listen::{ClientLimits, Responder, bind, listen};
pub use own_book::BOOK_AND_DRAWING;
#[cfg(feature = "serve")]
pub use pace::Pace;
use page_request::PageRequest;
use refusal::RequestRefusal;

/// Largest drawing that is accepted, bytes.
pub const LARGEST_DRAWING: usize = 16 << 20;

/// The header of a request that holds the name of the drawing and its job, in JSON.
pub const ASK_HEADER: &str = "x-kerfwright-ask";

/// The header in which a window of a browser names itself: one long plan at a time is worked out for each.
pub const VISITOR_HEADER: &str = "x-kerfwright-visitor";

/// Nothing from elsewhere, nothing inline, no frame around it.
const CONTENT_SECURITY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
                                connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The page and the book that it answers from.
#[derive(Debug)]
pub struct Site {
    book: Book,
    access: AccessControl,
    /// What the page takes as if it were picked there, each with its name.
    opened: Vec<(String, Bytes)>,
}

/// What a path answers to.
enum Route {
    /// Something to be read.
    File(File),
    /// An answer worked out from the body of the request.
    Answer(answer::AnswerKind),
}

/// A file that needs no drawing.
enum File {
    /// A file of the page.
    Asset(&'static asset::Asset),
    /// The style of the pictures.
    Ink,
    /// What can be asked for.
    Choices,
    /// A new book of the shop's own.
    StarterBook,
    /// The names of what the page was opened with.
    OpenedNames,
    /// One of these, by its place in the list.
    Opened(Bytes),
}

/// What an admitted request is for.
enum Wanted {
    /// The token as a cookie.
    Cookie(HeaderValue),
    /// Something to be read.
    File(File),
    /// An answer worked out from its body.
    Answer(answer::AnswerKind, Box<PageRequest>),
}

impl Site {
    /// Makes the page for those that `access` admits, with the book of the shop.
    pub fn new(book: Book, access: AccessControl) -> Self {
        Self {
            book,
            access,
            opened: Vec::new(),
        }
    }

    /// Hands these files, each with its name, to every window that opens the page, which takes them as if they were picked there:
    /// drawings, and job files. Whoever `access` admits can read them.
    #[must_use]
    pub fn opened_with(self, files: Vec<(String, Bytes)>) -> Self {
        Self {
            opened: files,
            ..self
        }
    }

    /// Judges a request by its head alone, and returns the answer to a refused one: for its name, site or token, or
    /// because its body would not be used.
    pub fn refuse(&self, head: RequestHead<'_>) -> Option<Response<Bytes>> {
        let refusal = self.judge(head).err()?;
        Some(sent(head, refusal.into_response()))
    }

    /// Answers one request, judged like any other. The same request gives the same answer.
    pub fn respond(&self, request: &Request<Bytes>) -> Response<Bytes> {
        let head = RequestHead::from(request);
        let answered = self.judge(head).and_then(|wanted| {
            if request.body().len() > LARGEST_DRAWING {
                return Err(RequestRefusal::too_large(LARGEST_DRAWING));
            }
            self.answer(wanted, request)
        });
        sent(head, answered.unwrap_or_else(RequestRefusal::into_response))
    }

    fn judge(&self, head: RequestHead<'_>) -> Result<Wanted, RequestRefusal> {
        self.access.check(head)?;
        if let Some(cookie) = self.access.cookie(head) {
            return Ok(Wanted::Cookie(cookie));
        }
        let path = head.uri.path();
        let route = self
            .find(path)
            .ok_or_else(|| RequestRefusal::no_such_page(path))?;
        match (route, head.method) {
            (Route::Answer(kind), &Method::POST) => {
                Ok(Wanted::Answer(kind, Box::new(PageRequest::of(head)?)))
            }
            (Route::Answer(_), method) => Err(RequestRefusal::method(method, path, "POST")),
            (Route::File(file), &Method::GET | &Method::HEAD) => Ok(Wanted::File(file)),
            (Route::File(_), method) => Err(RequestRefusal::method(method, path, "GET, HEAD")),
        }
    }

    fn find(&self, path: &str) -> Option<Route> {
        let opened = |place: &str| self.opened.get(place.parse::<usize>().ok()?);
        match path {
            "/ink.css" => Some(Route::File(File::Ink)),
            "/starter-book.toml" => Some(Route::File(File::StarterBook)),
            "/choices.json" => Some(Route::File(File::Choices)),
            "/opened.json" => Some(Route::File(File::OpenedNames)),
            _ => asset::named(path)
                .map(|asset| Route::File(File::Asset(asset)))
                .or_else(|| answer::AnswerKind::at(path).map(Route::Answer))
                .or_else(|| {
                    let (_, bytes) = opened(path.strip_prefix("/opened/")?)?;
                    Some(Route::File(File::Opened(bytes.clone())))
                }),
        }
    }

    fn answer(&self, wanted: Wanted, request: &Request<Bytes>) -> Result<Response<Bytes>, RequestRefusal> {
        Ok(match wanted {
            // The token leaves the address bar and comes back as a cookie.
            Wanted::Cookie(cookie) => {
                built(StatusCode::SEE_OTHER, "text/plain; charset=utf-8", Bytes::new())
                    .with(LOCATION, HeaderValue::from_static("/"))
                    .with(SET_COOKIE, cookie)
                    .0
            }
            Wanted::File(File::Asset(asset)) => {
                built(StatusCode::OK, asset.kind, Bytes::from_static(asset.content)).0
            }
            Wanted::File(File::Ink) => {
                let css = crate::report::svg::page_style();
                built(StatusCode::OK, "text/css; charset=utf-8", css.into()).0
            }
            Wanted::File(File::StarterBook) => {
                built(
                    StatusCode::OK,
                    "application/toml",
                    Bytes::from_static(crate::shop::STARTER.as_bytes()),
                )
                .0
            }
            Wanted::File(File::OpenedNames) => {
                let names: Vec<&str> = self.opened.iter().map(|(name, _)| &**name).collect();
                json(serde_json::json!(names).to_string())
            }
            Wanted::File(File::Opened(bytes)) => built(StatusCode::OK, "application/octet-stream", bytes).0,
            Wanted::File(File::Choices) => json(crate::report::json::choices(&self.book)),
            Wanted::Answer(kind, ask) => {
                let (book, drawing) = own_book::book_and_drawing(&self.book, request)?;
                return answer::answer(&book, kind, *ask, drawing);
            }
        })
    }
}

#[cfg(feature = "serve")]
impl Responder for Site {
    fn refuse(&self, head: RequestHead<'_>) -> Option<Response<Bytes>> {
        self.refuse(head)
    }

    fn respond(&self, request: &Request<Bytes>) -> Response<Bytes> {
        self.respond(request)
    }
}

/// A response being built.
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

/// Returns an answer as it is sent: without body to a request for the head alone.
fn sent(head: RequestHead<'_>, mut response: Response<Bytes>) -> Response<Bytes> {
    if head.method == Method::HEAD {
        *response.body_mut() = Bytes::new();
    }
    guarded(response)
}

/// Adds the security headers of every answer.
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
