//! Who may come in. A page on the machine itself is open to every program on it and to every site that its browser
//! visits, unless the requests are looked at: the name that they ask for (a foreign name may have been pointed at
//! this machine), the site that they come from, and, away from the machine itself, a token.

use std::fmt::Write as _;
use std::net::SocketAddr;

use hyper::body::Bytes;
use hyper::header::{COOKIE, HOST, HeaderValue, ORIGIN};
use hyper::{Method, Request};

use super::refusal::Refusal;

const COOKIE_NAME: &str = "kerfwright-token";

/// Names and token that open the page.
#[derive(Clone, Debug)]
pub struct Door {
    hosts: Vec<String>,
    token: Option<String>,
}

impl Door {
    /// Opens to this machine alone, on the port of `at`.
    pub fn on_this_machine(at: SocketAddr) -> Self {
        let port = at.port();
        let mut hosts = vec![
            format!("localhost:{port}"),
            format!("127.0.0.1:{port}"),
            format!("[::1]:{port}"),
            at.to_string(),
        ];
        hosts.dedup();
        Self { hosts, token: None }
    }

    /// Opens to whoever reaches `at` and knows the token.
    pub fn with_token(at: SocketAddr, token: String) -> Self {
        Self {
            token: Some(token),
            ..Self::on_this_machine(at)
        }
    }

    /// Lets a request in, or says why not.
    pub(super) fn check(&self, request: &Request<Bytes>) -> Result<(), Refusal> {
        let header = |name| {
            request
                .headers()
                .get(name)
                .and_then(|value: &HeaderValue| value.to_str().ok())
        };
        let known = |host: &str| self.hosts.iter().any(|own| own.eq_ignore_ascii_case(host));
        // With a token a name of the local network is as good as an address.
        let host = header(HOST).filter(|host| self.token.is_some() || known(host));
        let host = host.ok_or_else(Refusal::foreign_host)?;
        if *request.method() != Method::GET && *request.method() != Method::HEAD {
            let own = |origin: &str| {
                origin
                    .strip_prefix("http://")
                    .is_some_and(|from| from.eq_ignore_ascii_case(host))
            };
            if request.headers().contains_key(ORIGIN) && !header(ORIGIN).is_some_and(own) {
                return Err(Refusal::foreign_site());
            }
            if header("sec-fetch-site".try_into().expect("a header name"))
                .is_some_and(|site| site != "same-origin" && site != "none")
            {
                return Err(Refusal::foreign_site());
            }
        }
        match &self.token {
            Some(token) if !(holds_cookie(request, token) || asks_with(request, token)) => {
                Err(Refusal::no_token())
            }
            _ => Ok(()),
        }
    }

    /// The cookie to hand out to a request that brings the token in its address.
    pub(super) fn cookie(&self, request: &Request<Bytes>) -> Option<HeaderValue> {
        let token = self.token.as_ref().filter(|token| asks_with(request, token))?;
        HeaderValue::try_from(format!(
            "{COOKIE_NAME}={token}; Path=/; HttpOnly; SameSite=Strict"
        ))
        .ok()
    }
}

fn asks_with(request: &Request<Bytes>, token: &str) -> bool {
    let query = request.uri().query().unwrap_or_default();
    query
        .split('&')
        .filter_map(|pair| pair.strip_prefix("token="))
        .any(|given| same(given, token))
}

fn holds_cookie(request: &Request<Bytes>, token: &str) -> bool {
    let cookies = request.headers().get_all(COOKIE).iter();
    let cookies = cookies.filter_map(|value| value.to_str().ok());
    cookies
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .any(|(name, value)| name == COOKIE_NAME && same(value, token))
}

/// Compares without telling by the time it takes how much was right.
fn same(given: &str, token: &str) -> bool {
    let differing = given
        .bytes()
        .zip(token.bytes())
        .fold(0, |sum, (a, b)| sum | (a ^ b));
    given.len() == token.len() && differing == 0
}

/// A token that nobody can guess: 16 random bytes in hexadecimal.
pub fn random_token() -> Result<String, getrandom::Error> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    }))
}
