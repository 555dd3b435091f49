//! The page of the real command, and clients on this machine that cost it as much as they can: meanwhile another
//! client's page comes within a second, and the memory stays bounded.
#![cfg(target_os = "linux")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use kerfwright::job::JobFile;
use kerfwright::shop::Book;
use kerfwright::{Planner, report};

/// Length of a body that is not to be taken, bytes.
const LENGTH: usize = 63 << 20;

const SECOND: Duration = Duration::from_secs(1);

/// The most that any of them may make the command take.
const MOST_MB: usize = 300;

/// Times are told apart from those of the other tests.
static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());

struct Page {
    command: Child,
    at: SocketAddr,
}

impl Page {
    fn open() -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
            .args(["serve", "--port", "0"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the command starts");
        let mut address = String::new();
        BufReader::new(command.stdout.take().expect("it is piped"))
            .read_line(&mut address)
            .expect("it prints its address");
        let at = address.trim().trim_start_matches("http://").trim_end_matches('/');
        let at = at.parse().expect("an address");
        Self { command, at }
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.at).expect("it listens");
        let wait = Some(Duration::from_secs(20));
        stream.set_read_timeout(wait).expect("a timeout");
        stream.set_write_timeout(wait).expect("a timeout");
        stream
    }

    /// The time that another client's page takes.
    fn page(&self) -> Duration {
        let since = Instant::now();
        let answer = read(self.begin(&format!(
            "GET / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            self.at
        )));
        assert!(
            answer.starts_with("HTTP/1.1 200") && answer.ends_with("</html>\n"),
            "{answer:.80}"
        );
        since.elapsed()
    }

    /// Sends the beginning of something.
    fn begin(&self, text: &str) -> TcpStream {
        let mut stream = self.connect();
        stream.write_all(text.as_bytes()).expect("it reads");
        stream
    }

    /// The most memory that the command has held so far.
    fn peak_mb(&self) -> usize {
        let status = format!("/proc/{}/status", self.command.id());
        let status = std::fs::read_to_string(status).expect("it runs");
        let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let peak = peak.and_then(|words| words.split_whitespace().next()?.parse::<usize>().ok());
        peak.expect("a number") / 1024
    }

    /// The time that another client's plan of a circle takes.
    fn plan_of_a_circle(&self) -> Duration {
        let since = Instant::now();
        let drawing = circles(1);
        let head = plan_head(&self.at.to_string(), drawing.len(), "other");
        let head = head
            .replace("/answer", "/plan.json")
            .replace("\"passes\"", "\"wire_mm\":0.25,\"passes\"");
        let answer = read(self.begin(&(head + &drawing)));
        assert!(answer.starts_with("HTTP/1.1 200"), "{answer:.300}");
        assert!(answer.contains("\"paths\""), "{answer:.300}");
        since.elapsed()
    }

    /// Processor time that the command has taken so far.
    fn processor_time(&self) -> Duration {
        let stat = format!("/proc/{}/stat", self.command.id());
        let stat = std::fs::read_to_string(stat).expect("it runs");
        let fields: Vec<&str> = stat.rsplit(") ").next().expect("fields").split(' ').collect();
        // User and system time, in hundredths of a second (proc_pid_stat(5); USER_HZ is 100).
        let ticks = |place: usize| fields[place].parse::<u64>().expect("a number");
        Duration::from_millis(10 * (ticks(11) + ticks(12)))
    }

    /// The other client's pages and plans for some time, and that the command stays small.
    fn is_there_for_others(&self, what: &str, time: Duration, plans: bool) {
        let since = Instant::now();
        let (mut longest, mut plan) = (Duration::ZERO, Duration::ZERO);
        while since.elapsed() < time {
            longest = longest.max(self.page());
            if plans {
                plan = plan.max(self.plan_of_a_circle());
            }
            thread::sleep(Duration::from_millis(50));
        }
        println!(
            "{what}: another client's page in {longest:?}, its plan of a circle in {plan:?}, {} MB",
            self.peak_mb()
        );
        assert!(longest < SECOND, "{what}: another client's page took {longest:?}");
        assert!(plan < 3 * SECOND, "{what}: another client's plan took {plan:?}");
        assert!(self.peak_mb() < MOST_MB, "{what}: {} MB", self.peak_mb());
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.command.kill();
        let _ = self.command.wait();
    }
}

/// A drawing of so many circles in a row, each over its neighbours.
fn circles(many: usize) -> String {
    let circle = |i: usize| format!("0\nCIRCLE\n8\nCUT\n10\n{}\n20\n0\n40\n10\n", i as f64 * 0.01);
    let circles: String = (0..many).map(circle).collect();
    format!("0\nSECTION\n2\nENTITIES\n{circles}0\nENDSEC\n0\nEOF\n")
}

/// The head of a request for a plan of the demo's die, from one window of a browser.
fn plan_head(host: &str, length: usize, visitor: &str) -> String {
    let ask = r#"{"file":"hand-die.dxf","job":{"material":"tool-steel","thickness_mm":30,"passes":4,"layer":{"PLATE":{"use":"existing"},"SCREWS":{"use":"existing"},"START":{"use":"start-hole"}}},"several":true}"#;
    format!(
        "POST /answer HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nx-kerfwright-ask: {ask}\r\nx-kerfwright-visitor: {visitor}\r\nContent-Length: {length}\r\n\r\n"
    )
}

/// Ends what goes on until then, also where a test fails.
struct Over<'a>(&'a AtomicBool);

impl Drop for Over<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// All that still comes. A connection that is reset has said what it had to say.
fn read(mut stream: TcpStream) -> String {
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

#[test]
fn bodies_with_a_foreign_host_are_not_taken() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let page = Page::open();
    let before = page.peak_mb();
    let since = Instant::now();
    let sent: Vec<usize> = thread::scope(|scope| {
        let clients: Vec<_> = (0..60)
            .map(|_| {
                scope.spawn(|| {
                    let mut stream = page.begin(&plan_head("evil.example", LENGTH, "a"));
                    let piece = vec![b'x'; 1 << 16];
                    let mut sent = 0;
                    while sent < LENGTH && stream.write_all(&piece).is_ok() {
                        sent += piece.len();
                    }
                    let answer = read(stream);
                    assert!(
                        answer.starts_with("HTTP/1.1 421"),
                        "after {sent} bytes: {answer:.80}"
                    );
                    sent
                })
            })
            .collect();
        page.is_there_for_others("60 foreign bodies of 63 MB", SECOND / 2, true);
        clients
            .into_iter()
            .map(|client| client.join().expect("it ends"))
            .collect()
    });
    let most = sent.iter().max().expect("clients") >> 20;
    println!(
        "answered in {:?}, at most {most} MB sent, {before} to {} MB",
        since.elapsed(),
        page.peak_mb()
    );
    assert!(page.peak_mb() < before + 64, "{before} to {} MB", page.peak_mb());
}

#[test]
fn clients_that_never_read_keep_nobody_waiting() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let page = Page::open();
    let request = format!("GET /demo/hand-die.dxf HTTP/1.1\r\nHost: {}\r\n\r\n", page.at);
    let many = request.repeat(400);
    let mut held: Vec<TcpStream> = Vec::new();
    for _ in 0..2 {
        held.extend((0..256).map(|_| page.begin(&many)));
        page.is_there_for_others("256 clients that never read", SECOND, true);
    }
}

#[test]
fn heads_that_never_end_keep_nobody_waiting() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let page = Page::open();
    let over = AtomicBool::new(false);
    thread::scope(|scope| {
        for _ in 0..6 {
            scope.spawn(|| {
                let again = || page.begin("GET / HTTP/1.1\r\nHost: ");
                let mut held: Vec<TcpStream> = (0..100).map(|_| again()).collect();
                while !over.load(Ordering::Relaxed) {
                    for stream in &mut held {
                        if stream.write_all(b"x").is_err() {
                            *stream = again();
                        }
                    }
                    thread::sleep(Duration::from_millis(20));
                }
            });
        }
        let _over = Over(&over);
        thread::sleep(SECOND);
        page.is_there_for_others("600 slow heads that come again", 3 * SECOND, true);
    });
}

#[test]
fn bodies_that_trickle_keep_a_plan_waiting_for_seconds_only() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let page = Page::open();
    let host = page.at.to_string();
    let over = AtomicBool::new(false);
    thread::scope(|scope| {
        let mut held: Vec<_> = (0..16)
            .map(|_| page.begin(&plan_head(&host, 16_000_000, "a")))
            .collect();
        let over = &over;
        let _over = Over(over);
        scope.spawn(move || {
            while !over.load(Ordering::Relaxed) {
                for stream in &mut held {
                    let _ = stream.write_all(b"x");
                }
                thread::sleep(SECOND);
            }
        });
        thread::sleep(SECOND / 2);
        let planned = scope.spawn(|| {
            let since = Instant::now();
            let drawing = include_bytes!("../fixtures/clock/hand-die.dxf");
            let mut stream = page.begin(&plan_head(&host, drawing.len(), "other"));
            stream.write_all(drawing).expect("it reads");
            let answer = read(stream);
            assert!(answer.starts_with("HTTP/1.1 200"), "{answer:.300}");
            assert!(answer.contains("\"pictures\""));
            since.elapsed()
        });
        page.is_there_for_others("16 bodies that trickle", 2 * SECOND, false);
        let time = planned.join().expect("it ends");
        println!("16 bodies that trickle: another client's plan in {time:?}");
        assert!(time < 10 * SECOND, "{time:?}");
    });
}

/// Work for two clients that takes far longer than anyone waits, until they leave.
#[test]
fn long_plans_keep_nobody_waiting_and_end_when_their_clients_leave() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let page = Page::open();
    let (host, drawing) = (page.at.to_string(), circles(16_000));
    let busy = ["a", "b"].map(|visitor| {
        let mut stream = page.begin(&plan_head(&host, drawing.len(), visitor));
        stream.write_all(drawing.as_bytes()).expect("it reads");
        stream
    });
    page.is_there_for_others("two drawings of 16 000 overlapping circles", 2 * SECOND, true);
    drop(busy);
    thread::sleep(3 * SECOND / 2);
    let before = page.processor_time();
    thread::sleep(SECOND);
    let after = page.processor_time().saturating_sub(before);
    println!("processor time later than 1.5 s after they left: {after:?}");
    assert!(before > SECOND, "they were worked on for {before:?}");
    assert!(after < SECOND / 10, "{after:?}");
}

/// A memory figure of this process, kB (proc_pid_status(5)).
fn own_memory_kb(name: &str) -> usize {
    let status = std::fs::read_to_string("/proc/self/status").expect("it runs");
    let figure = status.lines().find_map(|line| line.strip_prefix(name));
    let figure = figure.and_then(|words| words.split_whitespace().next()?.parse().ok());
    figure.expect("a number")
}

/// A plan, its JSON and its DXF, for many small contours: 2 kB for each of their passes. The elements of a picture are in memory as well.
#[test]
fn a_plan_of_many_holes_takes_little_memory() {
    const HOLES: usize = 1_000;
    const PASSES: usize = 4;
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    let hole = |i: usize| {
        let (x, y) = (4 * (i % 60), 4 * (i / 60));
        format!("0\nCIRCLE\n8\nHOLES\n10\n{x}\n20\n{y}\n40\n1\n")
    };
    let plate = "0\nLWPOLYLINE\n8\nPLATE\n70\n1\n10\n-5\n20\n-5\n10\n250\n20\n-5\n10\n250\n20\n250\n10\n-5\n20\n250\n";
    let holes: String = (0..HOLES).map(hole).collect();
    let drawing = format!("0\nSECTION\n2\nENTITIES\n{plate}{holes}0\nENDSEC\n0\nEOF\n");
    let job = "material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.25\npasses = 4";
    let job = JobFile::parse(job).expect("a sound job");
    let book = Book::built_in().expect("the built-in book is sound");

    std::fs::write("/proc/self/clear_refs", "5").expect("the peak begins anew");
    let before = own_memory_kb("VmRSS:");
    let plan = Planner::new(&book)
        .job(&job)
        .plan("plate.dxf", drawing.as_bytes())
        .expect("it can be planned");
    assert_eq!(plan.toolpaths.loops.len(), PASSES * (HOLES + 1));
    let sink = &mut std::io::sink();
    report::json::write_plan(&plan, sink).expect("a sink takes all");
    report::dxf::write_plan(&plan, report::dxf::CautionText::Written, sink).expect("a sink takes all");
    let taken = own_memory_kb("VmHWM:") - before;
    println!("{HOLES} holes in {PASSES} passes: {taken} kB");
    assert!(taken < 12_000 + 2 * HOLES * PASSES, "{taken} kB");
}

/// A service is stopped by SIGTERM, a terminal by SIGINT: both end the command as it ends by itself.
#[test]
fn it_ends_in_order_when_asked_to() {
    let _alone = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);
    for signal in ["-TERM", "-INT"] {
        let mut page = Page::open();
        // One client is between two requests, another in the middle of a head.
        let head = format!("GET / HTTP/1.1\r\nHost: {}\r\n", page.at);
        let _held = [page.begin(&format!("{head}\r\n")), page.begin(&head)];
        page.page();
        let sent = Command::new("kill")
            .args([signal, &page.command.id().to_string()])
            .status();
        assert!(sent.expect("kill is there").success());
        let since = Instant::now();
        let status = page.command.wait().expect("it ends");
        assert_eq!(status.code(), Some(0), "{signal}: {status}");
        assert!(since.elapsed() < 8 * SECOND, "{signal}: {:?}", since.elapsed());
    }
}
