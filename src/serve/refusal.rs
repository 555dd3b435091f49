//! Explains why a request is refused, in a sentence that the page shows beside what is wrong.

use bytes::Bytes;
use http::header::{ALLOW, HeaderName, HeaderValue};
use http::{Method, Response, StatusCode};

use crate::contour::MissingName;
use crate::job::{JobFile, JobFileError, NameKind};
use crate::plan;
use crate::report::json::{self, NameRow, RefusedAnswer};

const ON_THE_COMMAND_LINE: &str = "plan it on the command line, which takes any size";

/// A refused request.
#[derive(Debug)]
pub(super) struct RequestRefusal {
    status: StatusCode,
    reason: RefusedAnswer,
    /// The methods that would be answered.
    allow: Option<&'static str>,
}

impl RequestRefusal {
    /// Refuses for an option of the job.
    pub(super) fn new(about: &'static str, sentence: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            status: StatusCode::UNPROCESSABLE_ENTITY,
            reason: RefusedAnswer {
                sentence: sentence.into(),
                remedy: remedy.into(),
                about,
                names: Vec::new(),
            },
            allow: None,
        }
    }

    fn at_the_door(status: StatusCode, sentence: &str, remedy: &str) -> Self {
        Self {
            status,
            ..Self::new("page", sentence, remedy)
        }
    }

    pub(super) fn no_host() -> Self {
        Self::at_the_door(
            StatusCode::BAD_REQUEST,
            "the request does not say which name it is for",
            "send one Host line with it",
        )
    }

    pub(super) fn said_twice(name: &HeaderName) -> Self {
        Self::at_the_door(
            StatusCode::BAD_REQUEST,
            &format!("the request has more than one line {name}"),
            "send it with one",
        )
    }

    pub(super) fn foreign_host() -> Self {
        Self::at_the_door(
            StatusCode::MISDIRECTED_REQUEST,
            "this page answers to its own address only",
            "open the address that the command printed",
        )
    }

    pub(super) fn foreign_site() -> Self {
        Self::at_the_door(
            StatusCode::FORBIDDEN,
            "the request comes from another site",
            "open the address that the command printed",
        )
    }

    pub(super) fn no_token() -> Self {
        Self::at_the_door(
            StatusCode::UNAUTHORIZED,
            "the token is missing or wrong",
            "open the whole address that the command printed, with its token",
        )
    }

    pub(super) fn no_such_page(path: &str) -> Self {
        let path: String = path.chars().take(80).collect();
        Self::at_the_door(
            StatusCode::NOT_FOUND,
            &format!("there is no page {path}"),
            "open the address that the command printed",
        )
    }

    pub(super) fn method(method: &Method, path: &str, allowed: &'static str) -> Self {
        Self {
            allow: Some(allowed),
            ..Self::at_the_door(
                StatusCode::METHOD_NOT_ALLOWED,
                &format!("{path} does not answer to {method}"),
                &format!("it answers to {allowed}"),
            )
        }
    }

    pub(super) fn nothing_asked() -> Self {
        Self::at_the_door(
            StatusCode::BAD_REQUEST,
            "the request holds no job",
            &format!("put it as JSON into the header {}", super::ASK_HEADER),
        )
    }

    pub(super) fn ask_unreadable(reason: &str) -> Self {
        Self {
            status: StatusCode::BAD_REQUEST,
            ..Self::new("job", format!("the job cannot be read: {reason}"), "")
        }
    }

    pub(super) fn asked_too_much(limit: usize) -> Self {
        Self {
            status: StatusCode::REQUEST_HEADER_FIELDS_TOO_LARGE,
            ..Self::new(
                "job",
                format!("the job is longer than {} kB", limit >> 10),
                "plan it on the command line from a job file, which may be of any length",
            )
        }
    }

    pub(super) fn no_length() -> Self {
        Self::at_the_door(
            StatusCode::LENGTH_REQUIRED,
            "the request does not say how long its body is",
            "send it with a Content-Length",
        )
    }

    pub(super) fn too_large(limit: usize) -> Self {
        Self {
            status: StatusCode::PAYLOAD_TOO_LARGE,
            ..Self::new(
                "drawing",
                format!("the drawing is larger than {} MB", limit >> 20),
                ON_THE_COMMAND_LINE,
            )
        }
    }

    pub(super) fn too_slow() -> Self {
        Self::at_the_door(
            StatusCode::REQUEST_TIMEOUT,
            "the request did not arrive in time",
            "try again",
        )
    }

    pub(super) fn broken_body() -> Self {
        Self::at_the_door(StatusCode::BAD_REQUEST, "the request broke off", "try again")
    }

    pub(super) fn busy() -> Self {
        Self::at_the_door(
            StatusCode::SERVICE_UNAVAILABLE,
            "other plans are still being worked out",
            "wait a moment and change something again",
        )
    }

    pub(super) fn replaced() -> Self {
        Self::at_the_door(
            StatusCode::SERVICE_UNAVAILABLE,
            "a newer request from the same window took the place of this one",
            "ask again when that is answered",
        )
    }

    pub(super) fn closed() -> Self {
        Self::at_the_door(
            StatusCode::SERVICE_UNAVAILABLE,
            "the page is being closed before this is worked out",
            "start it again with kerfwright serve",
        )
    }

    pub(super) fn too_long(seconds: u64) -> Self {
        Self {
            status: StatusCode::SERVICE_UNAVAILABLE,
            ..Self::new(
                "drawing",
                format!("this plan takes longer than the {seconds} s that the page waits"),
                "plan it on the command line, which takes as long as it needs",
            )
        }
    }

    pub(super) fn panicked() -> Self {
        Self {
            status: StatusCode::INTERNAL_SERVER_ERROR,
            ..Self::new(
                "drawing",
                "the program failed on this drawing: that is a fault of its own, and nothing was planned",
                "keep the drawing and report it; the page still works for other drawings",
            )
        }
    }

    /// Explains why a drawing could not be planned.
    pub(super) fn of_plan(error: &plan::Error) -> Self {
        let sentence = error.to_string();
        match error {
            plan::Error::Dxf(_) | plan::Error::Drawing(_) => {
                Self::new("drawing", sentence, "open a DXF drawing, ASCII or binary")
            }
            plan::Error::TooLarge { .. } => Self::new("drawing", sentence, ON_THE_COMMAND_LINE),
            plan::Error::Tangled { .. } | plan::Error::TooDeep { .. } => Self::new("drawing", sentence, ""),
            plan::Error::Pass(error) => Self::new(error.field(), sentence, ""),
            plan::Error::Demand(error) => Self::new(error.field(), sentence, ""),
            plan::Error::Job(error) => Self::of_job(error),
            plan::Error::NotAsked { key, .. } => Self::new(key, sentence, ""),
            plan::Error::Names { names } => Self::of_names(sentence, names),
            plan::Error::EdgeStart { .. } => Self::new(
                "start",
                sentence,
                "start it from a hole, or say how large the blank is",
            ),
            // The work of the page is cancelled from outside, with its answer.
            plan::Error::Cancelled | plan::Error::Threads(_) => Self::busy(),
            plan::Error::Impossible { .. } => Self::new(
                "wire_mm",
                sentence,
                "ask for less, or put a wire or machine that can into the book",
            ),
        }
    }

    /// Explains that the drawing lacks what the job names.
    fn of_names(sentence: String, names: &[MissingName]) -> Self {
        let row = |missing: &MissingName| NameRow {
            key: match missing.name.kind {
                NameKind::Layer => "layer",
                NameKind::Contour => "contour",
                NameKind::Linetype => "linetype",
                NameKind::Color => "color",
            },
            written: missing.name.written.clone(),
        };
        let mut refusal = Self::new("names", sentence, "");
        refusal.reason.names = names.iter().map(row).collect();
        refusal
    }

    /// Explains why a job file cannot be read.
    pub(super) fn of_job(error: &JobFileError) -> Self {
        let remedy = match error {
            JobFileError::BlankTwice => "empty one of the two",
            _ => "",
        };
        let of_a_cell = JobFile::KEYS.iter().any(|key| Some(key.key) == error.field());
        let field = error.field().filter(|_| of_a_cell);
        Self::new(field.unwrap_or("job"), error.to_string(), remedy)
    }

    /// Returns the reason.
    pub(super) fn reason(&self) -> &RefusedAnswer {
        &self.reason
    }

    /// Makes the response.
    pub(super) fn into_response(self) -> Response<Bytes> {
        let built = super::built(
            self.status,
            "application/json",
            json::refused(&self.reason).into(),
        );
        match self.allow {
            Some(methods) => built.with(ALLOW, HeaderValue::from_static(methods)).0,
            None => built.0,
        }
    }
}
