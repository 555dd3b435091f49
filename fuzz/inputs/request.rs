//! Requests to the page, and what every answer to them promises.

use hyper::Request;
use hyper::body::Bytes;
use kerfwright::serve::{ASK_HEADER, AccessControl, BOOK_AND_DRAWING, Site};
use kerfwright::shop::Book;

/// A page on this machine.
pub(crate) fn site() -> Site {
    let book = Book::built_in().expect("the built-in book");
    let at = ([127, 0, 0, 1], 7171).into();
    Site::new(book, AccessControl::on_this_machine(at))
}

/// A request: the first byte picks method and path, the second the headers, then a line of what is asked, then the
/// body.
pub(crate) fn request(bytes: &[u8]) -> Option<Request<Bytes>> {
    const METHODS: [&str; 5] = ["POST", "GET", "HEAD", "PUT", "OPTIONS"];
    const PATHS: [&str; 16] = [
        "/answer",
        "/drawing",
        "/summary",
        "/sheet.svg",
        "/job-sheet.html",
        "/plan.json",
        "/paths.dxf",
        "/row.csv",
        "/compare.csv",
        "/job.toml",
        "/job",
        "/",
        "/rest",
        "/book.json",
        "/../main.js",
        "/?token=1",
    ];
    let [line, kinds, rest @ ..] = bytes else {
        return None;
    };
    // Most requests are posts.
    let method = METHODS[usize::from(line / 16).saturating_sub(11)];
    let mut request = Request::builder()
        .method(method)
        .uri(PATHS[usize::from(line % 16)]);
    let end = rest.iter().position(|b| *b == b'\n').unwrap_or(rest.len());
    let (asked, body) = rest.split_at(end);
    let flag = |bit: u8| kinds & (1 << bit) != 0;
    if !flag(0) {
        request = request.header(
            "host",
            if flag(1) {
                "elsewhere:7171"
            } else {
                "localhost:7171"
            },
        );
    }
    if flag(2) {
        request = request.header("origin", if flag(3) { "null" } else { "http://localhost:7171" });
    }
    if flag(4) {
        request = request.header("cookie", asked);
    }
    if !flag(5) {
        request = request.header(ASK_HEADER, asked);
    }
    // The body is then the length of a book, the book and a drawing.
    if flag(6) {
        request = request.header("content-type", BOOK_AND_DRAWING);
    }
    let body = body.get(1..).unwrap_or_default().to_vec();
    // What is no header never gets this far: the library that reads requests refuses it.
    request.body(Bytes::from(body)).ok()
}

/// Asks, and holds the answer to what every answer promises.
pub(crate) fn answered(site: &Site, request: &Request<Bytes>) {
    let answer = site.respond(request);
    let policy = answer.headers().get("content-security-policy");
    assert!(policy.is_some_and(|policy| policy.as_bytes().starts_with(b"default-src 'none'")));
    assert!(answer.status().as_u16() < 500, "{}", answer.status());
    assert!(request.method() != "HEAD" || answer.body().is_empty());
}
