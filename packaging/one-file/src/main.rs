//! Answers one request of the page, from standard input to standard output: a line of JSON with what belongs to the head, then
//! the body. It keeps nothing, so that whoever runs it may end it at any moment.
//!
//! ```text
//! {"method":"POST","path":"/answer","headers":{"x-kerfwright-ask":"{\"file\":\"die.dxf\"}"}}⏎ drawing
//! {"status":200,"headers":{"content-type":"application/json"}}⏎ answer
//! ```

use std::collections::BTreeMap;
use std::error::Error;
use std::io::{self, BufRead, Write};

use http::header::HOST;
use http::{Request, Response};
use kerfwright::Book;
use kerfwright::serve::{AccessControl, Site};
use serde::{Deserialize, Serialize};

/// Port of the name that requests are for: there is no socket, and so no other way in.
const NO_PORT: u16 = 80;

#[derive(Deserialize)]
struct Asked {
    method: String,
    path: String,
    #[serde(default)]
    headers: BTreeMap<String, String>,
}

#[derive(Serialize)]
struct Answered<'a> {
    status: u16,
    headers: BTreeMap<&'a str, &'a str>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let site = Site::new(
        Book::built_in()?,
        AccessControl::on_this_machine(([127, 0, 0, 1], NO_PORT).into()),
    );
    let request = read_request(io::stdin().lock())?;
    write_response(&site.respond(&request), io::stdout().lock())
}

fn read_request(mut input: impl BufRead) -> Result<Request<bytes::Bytes>, Box<dyn Error>> {
    let mut line = String::new();
    input.read_line(&mut line)?;
    let asked: Asked = serde_json::from_str(&line)?;
    let mut body = Vec::new();
    input.read_to_end(&mut body)?;
    let request = Request::builder()
        .method(&*asked.method)
        .uri(asked.path)
        .header(HOST, format!("localhost:{NO_PORT}"));
    let with = |request: http::request::Builder, (name, value)| request.header::<String, String>(name, value);
    Ok(asked.headers.into_iter().fold(request, with).body(body.into())?)
}

fn write_response(response: &Response<bytes::Bytes>, mut output: impl Write) -> Result<(), Box<dyn Error>> {
    let headers = response.headers().iter();
    let headers = headers
        .map(|(name, value)| Ok((name.as_str(), value.to_str()?)))
        .collect::<Result<_, http::header::ToStrError>>()?;
    let answered = Answered {
        status: response.status().as_u16(),
        headers,
    };
    serde_json::to_writer(&mut output, &answered)?;
    output.write_all(b"\n")?;
    output.write_all(response.body())?;
    Ok(output.flush()?)
}
