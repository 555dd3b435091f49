//! Controls access. A page on the machine itself is open to every program on it and to every site that its browser
//! visits, unless the requests are checked: the name that they are for (a foreign name may have been pointed at
//! this machine), the site that they come from, and, away from the machine itself, a token.

use std::net::SocketAddr;

use http::Method;
use http::header::{COOKIE, HeaderName, HeaderValue, ORIGIN};

use super::head::RequestHead;
use super::refusal::RequestRefusal;

/// The header in which a browser states where a request comes from.
const FETCH_SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

/// Names and token that open the page.
#[derive(Clone, Debug)]
pub struct AccessControl {
    hosts: Vec<String>,
    token: Option<String>,
    /// Cookies are those of a machine, whatever the port (RFC 6265, section 8.5): each page on it has its own.
    cookie_name: String,
}

impl AccessControl {
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
        Self {
            hosts,
            token: None,
            cookie_name: format!("kerfwright-token-{port}"),
        }
    }

    /// Opens to whoever reaches `at` and knows the token.
    pub fn with_token(at: SocketAddr, token: String) -> Self {
        Self {
            token: Some(token),
            ..Self::on_this_machine(at)
        }
    }

    /// Admits a request, or returns why not.
    pub(super) fn check(&self, head: RequestHead<'_>) -> Result<(), RequestRefusal> {
        let known = |host: &str| self.hosts.iter().any(|own| own.eq_ignore_ascii_case(host));
        let host = head.authority()?;
        // With a token a name of the local network is as good as an address.
        if self.token.is_none() && !known(host) {
            return Err(RequestRefusal::foreign_host());
        }
        let origin = head.only(&ORIGIN)?;
        if *head.method != Method::GET && *head.method != Method::HEAD {
            let own = |origin: &HeaderValue| {
                let from = origin.to_str().ok()?.strip_prefix("http://")?;
                Some(from.eq_ignore_ascii_case(host))
            };
            let mut sites = head.headers.get_all(FETCH_SITE).iter();
            if origin.is_some_and(|origin| own(origin) != Some(true))
                || sites.any(|site| site != "same-origin" && site != "none")
            {
                return Err(RequestRefusal::foreign_site());
            }
        }
        match &self.token {
            Some(token) if !(self.holds_cookie(head, token) || asks_with(head, token)) => {
                Err(RequestRefusal::no_token())
            }
            _ => Ok(()),
        }
    }

    /// Returns the cookie for a request that has the token in its address.
    pub(super) fn cookie(&self, head: RequestHead<'_>) -> Option<HeaderValue> {
        let token = self.token.as_ref().filter(|token| asks_with(head, token))?;
        HeaderValue::try_from(format!(
            "{}={token}; Path=/; HttpOnly; SameSite=Strict",
            self.cookie_name
        ))
        .ok()
    }

    fn holds_cookie(&self, head: RequestHead<'_>, token: &str) -> bool {
        let cookies = head.headers.get_all(COOKIE).iter();
        let cookies = cookies.filter_map(|value| value.to_str().ok());
        cookies
            .flat_map(|value| value.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .any(|(name, value)| name == self.cookie_name && same(value, token))
    }
}

fn asks_with(head: RequestHead<'_>, token: &str) -> bool {
    let query = head.uri.query().unwrap_or_default();
    query
        .split('&')
        .filter_map(|pair| pair.strip_prefix("token="))
        .any(|given| same(given, token))
}

/// Compares in constant time, so that the time does not reveal how much was right.
fn same(given: &str, token: &str) -> bool {
    let differing = given
        .bytes()
        .zip(token.bytes())
        .fold(0, |sum, (a, b)| sum | (a ^ b));
    given.len() == token.len() && differing == 0
}

/// Makes a token that nobody can guess: 16 random bytes in hexadecimal.
#[cfg(feature = "serve")]
pub fn random_token() -> Result<String, getrandom::Error> {
    use std::fmt::Write as _;
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    }))
}
