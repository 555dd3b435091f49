//! What a client can cost, tried on a socket of this machine.

use std::io::{Read, Write};
use std::net::{Shutdown, SocketAddr, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use hyper::body::Bytes;
use hyper::{Request, Response, StatusCode};
use tokio::runtime::Runtime;
use tokio::sync::oneshot;

use crate::cancel::checkpoint;
use crate::serve::{AccessControl, ClientLimits, Pace, RequestHead, Responder, Site, bind, listen};
use crate::shop::Book;

/// A page that counts, dawdles or fails, as the path asks.
struct Inn {
    at: SocketAddr,
    close: Option<oneshot::Sender<()>>,
    done: Option<thread::JoinHandle<()>>,
    most_at_once: Arc<AtomicUsize>,
}

/// An answer that no buffer of the system holds, bytes.
const LARGE: usize = 48 << 20;

const LIMITS: ClientLimits = ClientLimits {
    body_bytes: 1000,
    bodies_bytes: 4000,
    connections: 8,
    connections_of_source: None,
    quick_bytes: 1_000_000,
    quick: Duration::from_millis(300),
    quick_plans: 2,
    long_plans: 1,
    threads: 1,
    read_timeout: Duration::from_millis(300),
    body_pace: Pace {
        grace: Duration::from_millis(300),
        bytes_per_second: 1_000_000,
    },
    queue_timeout: Duration::from_secs(5),
    answer: Duration::from_millis(700),
    answer_pace: Pace {
        grace: Duration::from_millis(300),
        bytes_per_second: 1_000_000,
    },
    shutdown_grace: Duration::from_secs(2),
};

struct Kitchen {
    at_once: AtomicUsize,
    most: Arc<AtomicUsize>,
}

/// What is worked on, until it ends one way or another.
struct Here<'a>(&'a AtomicUsize);

impl Drop for Here<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::SeqCst);
    }
}

impl Responder for Kitchen {
    fn refuse(&self, head: RequestHead<'_>) -> Option<Response<Bytes>> {
        let stranger = head.headers.get("host").is_some_and(|host| host == "stranger");
        stranger.then(|| {
            let mut response = Response::new(Bytes::from("not here"));
            *response.status_mut() = StatusCode::MISDIRECTED_REQUEST;
            response
        })
    }

    fn respond(&self, request: &Request<Bytes>) -> Response<Bytes> {
        let mut padding = 0;
        let at_once = self.at_once.fetch_add(1, Ordering::SeqCst) + 1;
        let _here = Here(&self.at_once);
        self.most.fetch_max(at_once, Ordering::SeqCst);
        match request.uri().path() {
            "/fail" => panic!("asked to fail"),
            "/dawdle" => thread::sleep(Duration::from_millis(100)),
            "/forever" => loop {
                checkpoint();
                thread::sleep(Duration::from_millis(5));
            },
            "/deaf" => thread::sleep(Duration::from_millis(1500)),
            "/large" => padding = LARGE,
            _ => {}
        }
        let text = format!("{} bytes", request.body().len());
        Response::new((" ".repeat(padding) + &text).into())
    }
}

impl Inn {
    fn open(bounds: ClientLimits) -> Self {
        let most_at_once = Arc::new(AtomicUsize::new(0));
        let kitchen = Kitchen {
            at_once: AtomicUsize::new(0),
            most: most_at_once.clone(),
        };
        Self::with(kitchen, most_at_once, bounds)
    }

    fn with(kitchen: impl Responder, most_at_once: Arc<AtomicUsize>, bounds: ClientLimits) -> Self {
        let (close, closed) = oneshot::channel();
        let (told, address) = std::sync::mpsc::channel();
        let done = thread::spawn(move || {
            let runtime = Runtime::new().expect("a runtime");
            runtime.block_on(async {
                let listener = bind(([127, 0, 0, 1], 0).into()).expect("a free port");
                told.send(listener.local_addr().expect("an address"))
                    .expect("the test waits");
                let stop = async {
                    let _ = closed.await;
                };
                listen(listener, kitchen, bounds, stop).await;
            });
            runtime.shutdown_background();
        });
        Self {
            at: address.recv().expect("it listens"),
            close: Some(close),
            done: Some(done),
            most_at_once,
        }
    }

    /// Sends some bytes and gives all that comes back until the connection is closed.
    fn send(&self, bytes: &[u8]) -> String {
        read(&mut self.begin(bytes))
    }

    fn post(&self, path: &str, body: &str) -> String {
        let length = body.len();
        self.send(format!("POST {path} HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: {length}\r\n\r\n{body}").as_bytes())
    }

    /// Sends some bytes and leaves the connection as it is.
    fn begin(&self, bytes: &[u8]) -> TcpStream {
        let mut stream = TcpStream::connect(self.at).expect("it listens");
        stream
            .set_read_timeout(Some(Duration::from_secs(10)))
            .expect("a timeout");
        stream.write_all(bytes).expect("it reads");
        stream
    }

    fn close(&mut self) {
        self.close.take().expect("open").send(()).expect("it listens");
        self.done.take().expect("open").join().expect("it ends");
    }
}

fn read(stream: &mut TcpStream) -> String {
    let mut answer = Vec::new();
    // A connection that is reset has said what it had to say.
    let _ = stream.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

#[test]
fn a_body_is_taken_up_to_its_bound() {
    let inn = Inn::open(LIMITS);
    assert!(inn.post("/", &"x".repeat(1000)).ends_with("1000 bytes"));
    let too_large = inn.post("/", &"x".repeat(1001));
    assert!(
        too_large.starts_with("HTTP/1.1 413") && too_large.contains("larger than"),
        "{too_large}"
    );
    let chunk = format!("{:x}\r\n{}\r\n", 600, "x".repeat(600));
    let chunked = format!(
        "POST / HTTP/1.1\r\nHost: x\r\nConnection: close\r\nTransfer-Encoding: chunked\r\n\r\n{chunk}{chunk}0\r\n\r\n"
    );
    assert!(inn.send(chunked.as_bytes()).starts_with("HTTP/1.1 411"));
    let unsaid = "POST / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n";
    assert!(inn.send(unsaid.as_bytes()).starts_with("HTTP/1.1 411"));
    let lie = "POST / HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 99999999999\r\n\r\n";
    assert!(inn.send(lie.as_bytes()).starts_with("HTTP/1.1 413"));
}

/// The client waits for its answer before it sends anything of the body.
#[test]
fn a_head_is_judged_before_its_body_comes() {
    let bounds = ClientLimits {
        body_bytes: 64 << 20,
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    for (head, status) in [
        (
            "POST / HTTP/1.1\r\nHost: stranger\r\nContent-Length: 63000000",
            "421",
        ),
        ("POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 99000000", "413"),
        ("POST / HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked", "411"),
        (
            "PUT / HTTP/1.1\r\nHost: stranger\r\nTransfer-Encoding: chunked",
            "421",
        ),
        // What comes with a request that has no use for it is not waited for either.
        ("GET / HTTP/1.1\r\nHost: x\r\nContent-Length: 63000000", "200"),
    ] {
        let since = Instant::now();
        let answer = inn.send(format!("{head}\r\n\r\n").as_bytes());
        assert!(
            answer.starts_with(&format!("HTTP/1.1 {status}")),
            "{head}: {answer}"
        );
        assert!(answer.to_lowercase().contains("connection: close"), "{answer}");
        assert!(
            since.elapsed() < LIMITS.read_timeout,
            "{head}: {:?}",
            since.elapsed()
        );
    }
    assert_eq!(
        inn.most_at_once.load(Ordering::SeqCst),
        1,
        "only the file wgiven for"
    );
}

/// The answer comes through although the client sends on without looking.
#[test]
fn the_body_of_a_refused_request_is_not_read_to_its_end() {
    let inn = Inn::open(LIMITS);
    let mut stream = TcpStream::connect(inn.at).expect("it listens");
    stream
        .set_write_timeout(Some(Duration::from_secs(10)))
        .expect("a timeout");
    stream
        .write_all(b"POST / HTTP/1.1\r\nHost: stranger\r\nContent-Length: 900000000\r\n\r\n")
        .expect("it reads");
    let piece = vec![b'x'; 1 << 16];
    let mut sent = 0;
    while sent < 900_000_000 && stream.write_all(&piece).is_ok() {
        sent += piece.len();
    }
    assert!(sent < 64 << 20, "{sent} bytes were taken");
    assert!(inn.post("/", "").ends_with("0 bytes"));
}

#[test]
fn broken_requests_are_turned_away() {
    let inn = Inn::open(LIMITS);
    for broken in [
        "\r\n\r\n\0\0",
        "GARBAGE\r\n\r\n",
        "GET / HTTP/9.9\r\n\r\n",
        "POST / HTTP/1.1\r\nContent-Length: many\r\n\r\n",
    ] {
        let answer = inn.send(broken.as_bytes());
        assert!(
            answer.is_empty() || answer.starts_with("HTTP/1.1 400"),
            "{broken:?}: {answer}"
        );
    }
    let mut stream = TcpStream::connect(inn.at).expect("it listens");
    stream
        .write_all(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 500\r\n\r\nhalf")
        .expect("it reads");
    stream.shutdown(Shutdown::Write).expect("half closed");
    let answer = read(&mut stream);
    assert!(
        answer.is_empty() || answer.starts_with("HTTP/1.1 400"),
        "{answer}"
    );
    assert!(inn.post("/", "still there").ends_with("11 bytes"));
}

#[test]
fn a_slow_client_is_not_waited_for() {
    let inn = Inn::open(LIMITS);
    let mut head = TcpStream::connect(inn.at).expect("it listens");
    let mut body = TcpStream::connect(inn.at).expect("it listens");
    head.write_all(b"GET / HTTP/1.1\r\nHost").expect("it reads");
    body.write_all(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 500\r\n\r\nslow")
        .expect("it reads");
    for stream in [&head, &body] {
        stream
            .set_read_timeout(Some(Duration::from_secs(10)))
            .expect("a timeout");
    }
    let since = Instant::now();
    read(&mut head);
    let mut first = [0; 12];
    body.read_exact(&mut first).expect("an answer");
    assert_eq!(&first, b"HTTP/1.1 408");
    assert!(since.elapsed() < Duration::from_secs(5), "{:?}", since.elapsed());
}

#[test]
fn a_panic_concerns_one_request() {
    let inn = Inn::open(LIMITS);
    for _ in 0..5 {
        let answer = inn.post("/fail", "");
        assert!(
            answer.starts_with("HTTP/1.1 500") && answer.contains("the program failed on this drawing"),
            "{answer}"
        );
    }
    assert!(inn.post("/", "").ends_with("0 bytes"));
}

#[test]
fn few_plans_are_worked_out_at_once_and_files_do_not_wait_for_them() {
    let inn = Inn::open(LIMITS);
    thread::scope(|scope| {
        let posts: Vec<_> = (0..7).map(|_| scope.spawn(|| inn.post("/dawdle", ""))).collect();
        for post in posts {
            let answer = post.join().expect("it ends");
            assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
        }
    });
    assert_eq!(inn.most_at_once.load(Ordering::SeqCst), LIMITS.quick_plans);
    thread::scope(|scope| {
        for _ in 0..LIMITS.quick_plans {
            scope.spawn(|| inn.post("/dawdle", ""));
        }
        let since = Instant::now();
        let file = inn.send(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n");
        assert!(
            file.starts_with("HTTP/1.1 200") && since.elapsed() < Duration::from_millis(90),
            "{:?}",
            since.elapsed()
        );
    });
}

#[test]
fn work_stops_when_nobody_waits_for_it() {
    let bounds = ClientLimits {
        quick_plans: 1,
        answer: Duration::from_secs(60),
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    let mut stream = TcpStream::connect(inn.at).expect("it listens");
    stream
        .write_all(b"POST /forever HTTP/1.1\r\nHost: x\r\nContent-Length: 0\r\n\r\n")
        .expect("it reads");
    thread::sleep(Duration::from_millis(100));
    // The client goes away, and the only place is free for the next.
    drop(stream);
    assert!(inn.post("/", "").ends_with("0 bytes"));
    // So it is when the page has waited long enough.
    let inn = Inn::open(ClientLimits {
        quick_plans: 1,
        ..LIMITS
    });
    let answer = inn.post("/forever", "");
    assert!(
        answer.starts_with("HTTP/1.1 503") && answer.contains("longer than"),
        "{answer}"
    );
    assert!(inn.post("/", "").ends_with("0 bytes"));
}

#[test]
fn work_that_cannot_be_stopped_keeps_its_place() {
    let bounds = ClientLimits {
        quick_plans: 1,
        queue_timeout: Duration::from_millis(200),
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    let answer = inn.post("/deaf", "");
    assert!(
        answer.starts_with("HTTP/1.1 503") && answer.contains("longer than"),
        "{answer}"
    );
    // The work goes on, so that the next one has to wait for its turn, and not for ever.
    let answer = inn.post("/", "");
    assert!(
        answer.starts_with("HTTP/1.1 503") && answer.contains("other plans"),
        "{answer}"
    );
}

#[test]
fn it_stops_when_asked_and_ends_what_is_under_way() {
    let mut inn = Inn::open(LIMITS);
    let at = inn.at;
    let under_way = thread::spawn(move || {
        let mut stream = TcpStream::connect(at).expect("it listens");
        stream
            .write_all(b"POST /dawdle HTTP/1.1\r\nHost: x\r\nContent-Length: 0\r\n\r\n")
            .expect("it reads");
        read(&mut stream)
    });
    thread::sleep(Duration::from_millis(40));
    inn.close();
    assert!(under_way.join().expect("it ends").ends_with("0 bytes"));
    assert!(TcpStream::connect(at).is_err(), "the port is free again");
}

const LARGE_PLEASE: &[u8] = b"GET /large HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n";

#[test]
fn an_answer_that_is_not_taken_ends() {
    let inn = Inn::open(LIMITS);
    let mut stream = inn.begin(LARGE_PLEASE);
    thread::sleep(Duration::from_secs(1));
    let taken = read(&mut stream).len();
    assert!(taken < LARGE, "{taken} bytes were there all the same");
}

/// It takes much longer than a client may stand still.
#[test]
fn an_answer_that_is_taken_slowly_comes_whole() {
    let inn = Inn::open(LIMITS);
    let mut stream = inn.begin(LARGE_PLEASE);
    let (mut piece, mut taken, since) = (vec![0; 1 << 20], 0, Instant::now());
    loop {
        match stream.read(&mut piece).expect("it goes on") {
            0 => break,
            more => taken += more,
        }
        let due = Duration::from_secs_f64(taken as f64 / LARGE as f64 * 1.5);
        thread::sleep(due.saturating_sub(since.elapsed()));
    }
    assert!(taken > LARGE, "{taken} bytes");
}

/// Clients that never read, whose heads never end, or who do nothing, on more connections than there are seats.
#[test]
fn nobody_waits_for_a_seat() {
    let bounds = ClientLimits {
        read_timeout: Duration::from_secs(60),
        answer_pace: Pace {
            grace: Duration::from_secs(60),
            ..LIMITS.answer_pace
        },
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    let greedy: [&[u8]; 4] = [LARGE_PLEASE, LARGE_PLEASE, b"GET / HTTP/1.1\r\nHost: ", b""];
    let mut held = Vec::new();
    for _ in 0..3 {
        held.extend((0..LIMITS.connections).map(|number| inn.begin(greedy[number % greedy.len()])));
        let since = Instant::now();
        let answer = inn.send(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n");
        assert!(answer.ends_with("0 bytes"), "{answer}");
        assert!(since.elapsed() < Duration::from_secs(1), "{:?}", since.elapsed());
    }
}

#[test]
fn who_waits_for_a_plan_keeps_the_seat() {
    let bounds = ClientLimits {
        connections: 4,
        answer: Duration::from_secs(5),
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    let mut planned =
        inn.begin(b"POST /deaf HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 0\r\n\r\n");
    let _others: Vec<TcpStream> = (0..12).map(|_| inn.begin(b"GET / HTTP/1.1\r\n")).collect();
    let answer = read(&mut planned);
    assert!(answer.ends_with("0 bytes"), "{answer}");
}

#[test]
fn requests_of_one_connection_are_answered_one_after_the_other() {
    let inn = Inn::open(LIMITS);
    let dawdle = "POST /dawdle HTTP/1.1\r\nHost: x\r\nContent-Length: 0\r\n\r\n".repeat(4);
    let last = "GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n";
    let answers = inn.send((dawdle + last).as_bytes());
    assert_eq!(answers.matches("HTTP/1.1 200").count(), 5, "{answers}");
    assert_eq!(inn.most_at_once.load(Ordering::SeqCst), 1);
}

/// Two bodies that do not come fill the memory; who comes after them waits until they are given up.
#[test]
fn bodies_share_the_memory_in_order_of_arrival() {
    let bounds = ClientLimits {
        bodies_bytes: 1000,
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    let head = b"POST / HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 500\r\n\r\n";
    let since = Instant::now();
    let mut slow = [inn.begin(head), inn.begin(head)];
    thread::sleep(Duration::from_millis(50));
    assert!(inn.post("/", &"x".repeat(1000)).ends_with("1000 bytes"));
    let waited = since.elapsed();
    assert!(waited >= bounds.body_pace.grace, "{waited:?}");
    for stream in &mut slow {
        assert!(read(stream).starts_with("HTTP/1.1 408"));
    }
    // What is larger than all of it will never come in.
    let inn = Inn::open(ClientLimits {
        bodies_bytes: 900,
        ..LIMITS
    });
    assert!(inn.post("/", &"x".repeat(901)).starts_with("HTTP/1.1 413"));
}

#[test]
fn a_body_gives_its_memory_back_when_the_work_ends() {
    let bounds = ClientLimits {
        bodies_bytes: 1000,
        queue_timeout: Duration::from_millis(400),
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    for _ in 0..3 {
        assert!(inn.post("/", &"x".repeat(1000)).ends_with("1000 bytes"));
        assert!(inn.post("/fail", &"x".repeat(1000)).starts_with("HTTP/1.1 500"));
    }
    // The client is told that it takes too long; the work goes on, and so does its body.
    let since = Instant::now();
    assert!(inn.post("/deaf", &"x".repeat(600)).starts_with("HTTP/1.1 503"));
    assert!(inn.post("/", &"x".repeat(600)).starts_with("HTTP/1.1 503"));
    assert!(inn.post("/", &"x".repeat(400)).ends_with("400 bytes"));
    thread::sleep(Duration::from_millis(2100).saturating_sub(since.elapsed()));
    assert!(inn.post("/", &"x".repeat(1000)).ends_with("1000 bytes"));
}

/// It takes longer than a client may stand still.
#[test]
fn a_body_that_comes_steadily_is_waited_for() {
    let bounds = ClientLimits {
        body_bytes: 1_000_000,
        bodies_bytes: 1_000_000,
        body_pace: Pace {
            bytes_per_second: 100_000,
            ..LIMITS.body_pace
        },
        ..LIMITS
    };
    let inn = Inn::open(bounds);
    let mut stream =
        inn.begin(b"POST / HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 500000\r\n\r\n");
    for _ in 0..20 {
        stream.write_all(&vec![b'x'; 25_000]).expect("it reads");
        thread::sleep(Duration::from_millis(50));
    }
    assert!(read(&mut stream).ends_with("500000 bytes"));
}

/// A body that comes in drops keeps no memory, however long it could go on.
#[test]
fn a_body_that_trickles_is_given_up() {
    let inn = Inn::open(LIMITS);
    let mut stream = inn.begin(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\n");
    let since = Instant::now();
    while stream.write_all(b"x").is_ok() && since.elapsed() < Duration::from_secs(5) {
        thread::sleep(Duration::from_millis(20));
    }
    assert!(since.elapsed() < Duration::from_secs(3), "{:?}", since.elapsed());
}

/// Sends the head and body of work that is too large for the quick lane.
fn begin_long(inn: &Inn, path: &str, visitor: &str) -> TcpStream {
    let body = "x".repeat(900);
    inn.begin(
        format!(
            "POST {path} HTTP/1.1\r\nHost: x\r\nConnection: close\r\nx-kerfwright-visitor: {visitor}\r\nContent-Length: 900\r\n\r\n{body}"
        )
        .as_bytes(),
    )
}

const LANES: ClientLimits = ClientLimits {
    quick_bytes: 500,
    answer: Duration::from_secs(5),
    ..LIMITS
};

#[test]
fn long_work_keeps_no_quick_work_waiting() {
    let inn = Inn::open(LANES);
    let mut held: Vec<TcpStream> = (0..4)
        .map(|visitor| begin_long(&inn, "/forever", &visitor.to_string()))
        .collect();
    // It begins small and turns out to be long: after its time it leaves the quick lane.
    held.extend((0..4).map(|_| inn.begin(b"POST /forever HTTP/1.1\r\nHost: x\r\nContent-Length: 0\r\n\r\n")));
    thread::sleep(2 * LANES.quick + Duration::from_millis(200));
    let since = Instant::now();
    assert!(inn.post("/", "").ends_with("0 bytes"));
    assert!(
        since.elapsed() < Duration::from_millis(200),
        "{:?}",
        since.elapsed()
    );
}

#[test]
fn the_newer_long_work_of_a_visitor_takes_the_place_of_the_older() {
    let inn = Inn::open(LANES);
    let mut older = begin_long(&inn, "/forever", "a");
    thread::sleep(Duration::from_millis(50));
    let mut waiting = begin_long(&inn, "/forever", "b");
    thread::sleep(Duration::from_millis(50));
    let mut newer = begin_long(&inn, "/", "a");
    let answer = read(&mut older);
    assert!(
        answer.starts_with("HTTP/1.1 503") && answer.contains("newer request"),
        "{answer}"
    );
    // What waits for its turn gives way too.
    let mut next = begin_long(&inn, "/", "b");
    assert!(read(&mut waiting).contains("newer request"));
    assert!(read(&mut newer).ends_with("900 bytes"));
    assert!(read(&mut next).ends_with("900 bytes"));
}

#[test]
fn what_is_under_way_when_the_page_is_closed_is_told() {
    let mut inn = Inn::open(ClientLimits {
        shutdown_grace: Duration::from_millis(300),
        ..LANES
    });
    let mut worked_out = begin_long(&inn, "/forever", "a");
    let mut in_line = begin_long(&inn, "/forever", "b");
    let mut sending = inn.begin(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 900\r\n\r\n");
    thread::sleep(Duration::from_millis(50));
    inn.close();
    for stream in [&mut worked_out, &mut in_line] {
        let answer = read(stream);
        assert!(
            answer.starts_with("HTTP/1.1 503") && answer.contains("being closed"),
            "{answer}"
        );
    }
    // Its body was late anyway.
    assert!(read(&mut sending).starts_with("HTTP/1.1 "));
}

/// The same drawing at the same job, worked out in either lane and on any number of threads.
#[test]
fn an_answer_does_not_depend_on_its_lane() {
    let drawing = include_str!("../../../fixtures/clock/hand-die.dxf");
    let ask = r#"{"file":"hand-die.dxf","job":{"material":"tool-steel","thickness_mm":30,"layer":{"PLATE":{"use":"existing"},"SCREWS":{"use":"existing"},"START":{"use":"start-hole"}}}}"#;
    let answers = [(1 << 20, 1), (0, 1), (0, 3)].map(|(quick_bytes, threads)| {
        let any = ([127, 0, 0, 1], 0).into();
        let book = Book::built_in().expect("the built-in book is sound");
        let app = Site::new(book, AccessControl::with_token(any, "t".into()));
        let bounds = ClientLimits {
            quick_bytes,
            threads,
            quick: Duration::from_secs(60),
            ..ClientLimits::default()
        };
        let inn = Inn::with(app, Arc::default(), bounds);
        let length = drawing.len();
        let answer = inn.send(
            format!(
                "POST /answer HTTP/1.1\r\nHost: x\r\nCookie: kerfwright-token-0=t\r\nConnection: close\r\nx-kerfwright-ask: {ask}\r\nContent-Length: {length}\r\n\r\n{drawing}"
            )
            .as_bytes(),
        );
        assert!(answer.starts_with("HTTP/1.1 200"), "{answer:.200}");
        answer.split_once("\r\n\r\n").expect("a body").1.to_owned()
    });
    assert!(answers.iter().all(|answer| *answer == answers[0]));
}

/// Whoever has as many connections as one source may have gives up one of them for the next, or has to try again.
#[test]
fn one_source_holds_no_more_connections_than_its_share() {
    let inn = Inn::open(ClientLimits {
        connections_of_source: Some(2),
        read_timeout: Duration::from_secs(60),
        ..LIMITS
    });
    let mut held: Vec<TcpStream> = (0..2).map(|_| inn.begin(b"GET / HTTP/1.1\r\n")).collect();
    thread::sleep(Duration::from_millis(300));
    assert!(
        inn.send(b"GET / HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
            .ends_with("0 bytes")
    );
    assert_eq!(read(&mut held[0]), "", "the one that has been here longest went");
}
