//! Reads the head of a request: all that it is judged by before its body is read.

use http::header::{HOST, HeaderMap, HeaderName, HeaderValue};
use http::request::Parts;
use http::{Method, Request, Uri};

use super::refusal::RequestRefusal;

/// Method, target and header lines of a request.
#[derive(Clone, Copy, Debug)]
pub struct RequestHead<'a> {
    /// What is to be done.
    pub method: &'a Method,
    /// With what.
    pub uri: &'a Uri,
    /// Its header lines.
    pub headers: &'a HeaderMap,
}

impl<'a, B> From<&'a Request<B>> for RequestHead<'a> {
    fn from(request: &'a Request<B>) -> Self {
        Self {
            method: request.method(),
            uri: request.uri(),
            headers: request.headers(),
        }
    }
}

impl<'a> From<&'a Parts> for RequestHead<'a> {
    fn from(head: &'a Parts) -> Self {
        Self {
            method: &head.method,
            uri: &head.uri,
            headers: &head.headers,
        }
    }
}

impl<'a> RequestHead<'a> {
    /// Returns the only value of a header. Of two lines one reader may believe the first and another the second.
    pub(super) fn only(self, name: &HeaderName) -> Result<Option<&'a HeaderValue>, RequestRefusal> {
        let mut values = self.headers.get_all(name).iter();
        let first = values.next();
        match values.next() {
            Some(_) => Err(RequestRefusal::said_twice(name)),
            None => Ok(first),
        }
    }

    /// Returns the name and port that the request is for: those of an absolute target, whatever the Host line says, else those
    /// of the Host line, which has to be there (RFC 9112, sections 3.2 and 3.2.2).
    pub(super) fn authority(self) -> Result<&'a str, RequestRefusal> {
        let host = self.only(&HOST)?.ok_or_else(RequestRefusal::no_host)?;
        let over_http = self.uri.scheme_str().is_none_or(|scheme| scheme == "http");
        let authority = match self.uri.authority() {
            Some(authority) => Some(authority.as_str()),
            None => host.to_str().ok(),
        };
        authority
            .filter(|_| over_http)
            .ok_or_else(RequestRefusal::foreign_host)
    }
}
