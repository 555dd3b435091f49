//! What the print demands, from the command line.

mod calibrated;
mod chosen;
mod compared;
mod estimated;
mod kept;
mod own_book;
mod possible;

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

const RECTANGLE: &str = "fixtures/shapes/rectangle-40x20.dxf";
const RATCHET: &str = "fixtures/clock/ratchet.dxf";
const LOG: &str = "fixtures/shop/finished-jobs.csv";

fn kerfwright() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kerfwright"));
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

fn run(arguments: &[&str]) -> Output {
    kerfwright().args(arguments).output().expect("the command starts")
}

fn run_with_input(arguments: &[&str], input: &str) -> Output {
    let mut child = kerfwright()
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    stdin.write_all(input.as_bytes()).expect("it reads all");
    drop(stdin);
    child.wait_with_output().expect("it ends")
}

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("text")
}

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("text")
}

fn json(arguments: &[&str]) -> Value {
    let mut arguments = arguments.to_vec();
    arguments.push("--json");
    let output = run(&arguments);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {}", stderr(&output)))
}

fn rows<'a>(value: &'a Value, key: &str) -> &'a Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("no list `{key}`"))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}
