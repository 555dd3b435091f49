//! The page under load: 50 visitors at once, 20 plans each, over the loopback, against the same plan on the command
//! line. `cargo bench --bench page`.

use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::Command;
use std::time::{Duration, Instant};

use kerfwright::serve::{AccessControl, ClientLimits, Site, bind, listen};
use kerfwright::shop::Book;
use tokio::runtime::Runtime;

const VISITORS: usize = 50;
const PLANS: usize = 20;
const DRAWING: &str = "fixtures/clock/hand-die.dxf";

fn main() {
    let drawing = std::fs::read(DRAWING).expect("the drawing is here");
    let runtime = Runtime::new().expect("a runtime");
    let listener = runtime
        .block_on(async { bind(([127, 0, 0, 1], 0).into()) })
        .expect("a free port");
    let at = listener.local_addr().expect("an address");
    let site = Site::new(
        Book::built_in().expect("the built-in book is sound"),
        AccessControl::on_this_machine(at),
    );
    runtime.spawn(listen(
        listener,
        site,
        ClientLimits::default(),
        std::future::pending(),
    ));

    let (alone, failed) = visit(at, &drawing, 0, 200);
    assert_eq!(failed, 0);
    println!("| what | plans | failed | median, ms | p90, ms | p99, ms | plans a second |");
    println!("|---|--:|--:|--:|--:|--:|--:|");
    let rate = alone.len() as f64 / alone.iter().sum::<Duration>().as_secs_f64();
    row("one visitor, everything the page shows", alone, 0, rate);

    let since = Instant::now();
    let (mut times, mut failed) = (Vec::new(), 0);
    std::thread::scope(|scope| {
        let visitors: Vec<_> = (0..VISITORS)
            .map(|number| {
                scope.spawn({
                    let drawing = &drawing;
                    move || visit(at, drawing, number, PLANS)
                })
            })
            .collect();
        for visitor in visitors {
            let (mine, wrong) = visitor.join().expect("a visitor does not fail");
            times.extend(mine);
            failed += wrong;
        }
    });
    let rate = times.len() as f64 / since.elapsed().as_secs_f64();
    row("50 visitors at once", times, failed, rate);

    let mut runs: Vec<Duration> = (0..40).map(|_| command_line()).collect();
    runs.sort();
    let rate = runs.len() as f64 / runs.iter().sum::<Duration>().as_secs_f64();
    row(
        "the command line, `plan --json`, one after the other",
        runs,
        0,
        rate,
    );
    assert_eq!(failed, 0, "plans failed");
}

/// One visitor who changes the thickness again and again; the times, and how many answers were not a plan.
fn visit(at: SocketAddr, drawing: &[u8], number: usize, plans: usize) -> (Vec<Duration>, usize) {
    let mut stream = TcpStream::connect(at).expect("it listens");
    stream.set_nodelay(true).expect("a socket");
    let mut reader = BufReader::new(stream.try_clone().expect("a socket"));
    let mut failed = 0;
    let times = (0..plans)
        .map(|plan| {
            let thickness = 10 + (number + plan) % 40;
            let ask = format!(
                r#"{{"file":"hand-die.dxf","job":{{"material":"tool-steel","thickness_mm":{thickness},"wire_mm":0.25,"wire_kind":"brass","passes":4,"layer":{{"PLATE":{{"use":"existing"}},"SCREWS":{{"use":"existing"}},"START":{{"use":"start-hole"}}}}}}}}"#
            );
            let head = format!(
                "POST /answer HTTP/1.1\r\nHost: {at}\r\nx-kerfwright-ask: {ask}\r\nContent-Length: {}\r\n\r\n",
                drawing.len()
            );
            let since = Instant::now();
            stream.write_all(head.as_bytes()).expect("it reads");
            stream.write_all(drawing).expect("it reads");
            let (status, body) = answer(&mut reader);
            let time = since.elapsed();
            let planned = format!("\"thickness_mm\": {thickness}.0");
            if status != 200 || !String::from_utf8_lossy(&body).contains(&planned) {
                failed += 1;
            }
            time
        })
        .collect();
    (times, failed)
}

fn answer(reader: &mut impl BufRead) -> (u16, Vec<u8>) {
    let (mut status, mut length) = (0, 0);
    for number in 0.. {
        let mut line = String::new();
        reader.read_line(&mut line).expect("a line");
        if number == 0 {
            status = line
                .split(' ')
                .nth(1)
                .and_then(|word| word.parse().ok())
                .expect("a status");
        } else if let Some(words) = line.to_lowercase().strip_prefix("content-length:") {
            length = words.trim().parse().expect("a length");
        } else if line == "\r\n" {
            break;
        }
    }
    let mut body = vec![0; length];
    reader.read_exact(&mut body).expect("the whole answer");
    (status, body)
}

fn command_line() -> Duration {
    let since = Instant::now();
    let run = Command::new(env!("CARGO_BIN_EXE_kerfwright"))
        .args([
            "plan",
            DRAWING,
            "--layer=PLATE=existing",
            "--layer=SCREWS=existing",
            "--layer=START=start-hole",
        ])
        .args([
            "--material=tool-steel",
            "--thickness=30",
            "--wire=0.25",
            "--wire-kind=brass",
            "--passes=4",
            "--json",
        ])
        .output()
        .expect("the command starts");
    assert!(run.status.success());
    since.elapsed()
}

fn row(what: &str, mut times: Vec<Duration>, failed: usize, rate: f64) {
    times.sort();
    let at = |share: f64| times[((times.len() - 1) as f64 * share).round() as usize].as_secs_f64() * 1e3;
    println!(
        "| {what} | {} | {failed} | {:.1} | {:.1} | {:.1} | {rate:.0} |",
        times.len(),
        at(0.5),
        at(0.9),
        at(0.99)
    );
}
