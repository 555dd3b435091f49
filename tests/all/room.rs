//! What a room does to a part while it is cut, as the command tells it.

use std::fmt::Write as _;

use roxmltree::Document;

use crate::common::{assert_close, number, run, run_with_input, stderr, stdout};

const FRONT_PLATE: [&str; 10] = [
    "fixtures/clock/front-plate.dxf",
    "--thickness",
    "8",
    "--material",
    "mild-steel",
    "--wire",
    "0.25",
    "--passes",
    "2",
    "--assume-sides",
];
const LOG: &str = "fixtures/shop/room.csv";

fn told(log: &str, more: &[&str]) -> serde_json::Value {
    let arguments = [&["room", "-"], &FRONT_PLATE[..], more, &["--json"]].concat();
    let output = run_with_input(&arguments, log);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {}", stderr(&output)))
}

/// The front plate is 960 mm long, of 1020 steel: 11.7 µm/(m·K) (Callister, Materials Science and Engineering, table B.6). Over 7 K it grows
/// by 0.96 · 11.7 · 7 = 78.624 µm; with a lag of 60 minutes by 1 − exp(−t/60) of that after t minutes.
#[test]
fn the_front_plate_grows_over_seven_kelvin_as_the_closed_form_says() {
    let mut log = "time,room_c,part_c\n2026-11-29 00:00,27,20\n".to_owned();
    for minute in 1..1440 {
        let _ = writeln!(log, "2026-11-29 {:02}:{:02},27,", minute / 60, minute % 60);
    }
    let value = told(&log, &["--lag", "60"]);
    let length = &value["length"];
    assert_close("length", number(&length["length_mm"]), 960.0, 1e-9);
    let order_hours = number(&value["order_hours"][1]);
    assert!(order_hours > 2.0, "{order_hours}");
    // The last whole minute of the order, or of the log.
    let minutes = (order_hours * 60.0 + 1e-6).floor().min(1439.0);
    let grown = 78.624 * (1.0 - (-minutes / 60.0).exp());
    assert_close(
        "growth",
        number(&length["since_start_um"]["expected"]),
        grown,
        1e-6,
    );
    assert_close("growth", number(&length["moves_um"]["expected"]), grown, 1e-6);
    assert_eq!(value["lag"]["source"], "given");
    // 27 °C lies outside 20 to 25 all the time.
    assert_eq!(value["beyond"]["outside"], value["beyond"]["readings"]);
}

/// The log of the workshop was made with a time constant of 110 minutes, read to 0.05 K.
#[test]
fn the_time_constant_is_fitted_to_the_log_of_the_workshop() {
    let arguments = [
        &["room", LOG],
        &FRONT_PLATE[..],
        &["--begins", "2026-11-27 08:00", "--json"],
    ]
    .concat();
    let value: serde_json::Value = serde_json::from_slice(&run(&arguments).stdout).expect("JSON");
    let lag = &value["lag"];
    assert_eq!(lag["source"], "fitted");
    assert_close("time constant", number(&lag["minutes"]), 110.0, 6.0);
    assert!(number(&lag["off_k"]) < 0.1);
    assert_close("begins", number(&value["order_hours"][0]), 2.0, 1e-9);
    assert!(number(&value["beyond"]["too_humid"]) > 0.0);
}

#[test]
fn without_a_time_constant_there_is_the_picture_alone() {
    let log = "time,room_c,humidity_percent\n2026-11-29 08:00,22,38\n2026-11-29 09:00,23,39\nnoon,22,38\n";
    let value = told(log, &[]);
    assert!(value["lag"].is_null() && value["length"].is_null());
    assert_eq!(value["unusable"][0]["line"], 4);
    let arguments = [&["room", LOG], &FRONT_PLATE[..], &["--svg"]].concat();
    let svg = stdout(&run(&arguments));
    let document = Document::parse(&svg).expect("well-formed XML");
    let curves = document
        .descendants()
        .filter(|node| node.has_tag_name("path"))
        .count();
    assert_eq!(curves, 3, "room, part and humidity");
    let refused = run_with_input(
        &[&["room", "-"], &FRONT_PLATE[..]].concat(),
        "time,celsius\n2026-11-29 08:00,22\n",
    );
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        stderr(&refused).contains("column `room_c` is missing"),
        "{}",
        stderr(&refused)
    );
}
