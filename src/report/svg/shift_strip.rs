//! The shift strip: the working day of one piece. Above stands what somebody has to be there for, below the wire
//! running unattended; hours without anybody are hatched.

use svg::node::element::{Group, Title};

use super::plot::{Plot, Scale};
use super::sheet::{Area, Lettering, coordinate, group, line, picture, rectangle, spot};
use super::text::width;
use crate::message::number::{fixed, short};
use crate::plan::{Activity, Day, DayBlock};
use crate::report::words;
use crate::units::{HOURS_PER_DAY, MIN_PER_HOUR};

const WIDTH: f64 = 183.0;
const LEFT: f64 = 20.0;
const RIGHT: f64 = 3.0;
/// Height of a row: two lanes and the hours below.
const ROW: f64 = 23.0;
const LANE: f64 = 8.0;
const SIZE: f64 = 2.6;
/// Stands in the hours without anybody.
const NOBODY: &str = "nobody there";
/// Days that are drawn; a longer job says how many more there are.
const MOST_DAYS: usize = 7;
/// Blocks that are drawn.
const MOST_BLOCKS: usize = 3000;

/// Told apart by lane and outline first.
pub(super) const STYLE: &str = "
.block{stroke-width:0.2}
.block-runs{fill:#d5e3e9;stroke:#0b5c7d}
.block-attended{fill:#f3d9a4;stroke:#8b6a1f}
.block-waits{fill:none;stroke:#5a5c60;stroke-dasharray:0.9 0.7}
.alone{fill:#ece9e0;stroke:none}
";

/// Returns the strip alone, for a page that brings the style. Each block bears its number, from 0, in `data-step`, and the
/// contour and pass whose path it is in `data-contour` and `data-pass`.
pub fn shift_strip(day: &Day) -> String {
    let (room, drawn) = strip(day);
    super::sheet::alone(room, drawn)
}

/// Returns the strip as a picture that needs nothing else.
pub fn working_day(day: &Day) -> String {
    let (room, drawn) = strip(day);
    let mut picture = picture(room, "Working day of one piece", STYLE)
        .add(rectangle("paper", room))
        .add(drawn)
        .to_string();
    picture.push('\n');
    picture
}

/// Returns the strip and the room that it takes.
fn strip(day: &Day) -> (Area, Group) {
    let span_min = if day.end_minutes() <= day.shift_minutes {
        day.end_minutes()
    } else {
        HOURS_PER_DAY * MIN_PER_HOUR
    };
    let days = ((day.end_minutes() / span_min).ceil() as usize).max(1);
    let drawn_days = days.min(MOST_DAYS);
    let rows: Vec<DayRow> = (0..drawn_days)
        .map(|number| DayRow::new(number, span_min))
        .collect();
    let mut drawn = rows.iter().fold(group("shift-strip"), |drawn, row| {
        drawn.add(row.ground(day, days))
    });
    for (number, block) in day.blocks.iter().enumerate().take(MOST_BLOCKS) {
        drawn = drawn.add(drawn_block(number, block, &rows));
    }
    let room = Area::new(0.0, 0.0, WIDTH, ROW * drawn_days as f64 + 5.0);
    let more = [
        (days > drawn_days).then(|| format!("{} more days are not drawn", days - drawn_days)),
        (day.blocks.len() > MOST_BLOCKS)
            .then(|| format!("{} more blocks are not drawn", day.blocks.len() - MOST_BLOCKS)),
    ];
    let more: Vec<String> = more.into_iter().flatten().collect();
    if !more.is_empty() {
        let at = spot(WIDTH - RIGHT, room.bottom() - 1.0);
        drawn = drawn.add(Lettering::end("quiet", SIZE).write(at, WIDTH, &more.join("; ")));
    }
    (room, drawn)
}

/// A day, or less of it.
struct DayRow {
    plot: Plot,
    scale: Scale,
    from_min: f64,
    span_min: f64,
}

impl DayRow {
    fn new(number: usize, span_min: f64) -> Self {
        let area = Area::new(LEFT, 1.0 + ROW * number as f64, WIDTH - LEFT - RIGHT, 2.0 * LANE);
        let plot = Plot::new(area, SIZE);
        let from_min = span_min * number as f64;
        Self {
            plot,
            scale: plot.even_across(from_min, from_min + span_min),
            from_min,
            span_min,
        }
    }

    /// Where a minute of the job lies, kept within the row.
    fn x(&self, minutes: f64) -> f64 {
        let Area { x, .. } = self.plot.area;
        self.scale.at(minutes).clamp(x, self.plot.area.right())
    }

    /// Its lanes, its hours and who is there.
    fn ground(&self, day: &Day, days: usize) -> Group {
        let area = self.plot.area;
        let Area { x, y, .. } = area;
        let quiet = Lettering::end("quiet", SIZE);
        let mut drawn = Group::new();
        if self.span_min > day.shift_minutes {
            let from = self.x(self.from_min + day.shift_minutes);
            let alone = Area::new(from, y, area.right() - from, 2.0 * LANE);
            drawn = drawn.add(rectangle("alone", alone)).add(quiet.write(
                spot(area.right() - 1.0, y + SIZE),
                60.0,
                NOBODY,
            ));
        }
        drawn = drawn.add(rectangle("edge", area)).add(line(
            "rule",
            spot(x, y + LANE),
            spot(area.right(), y + LANE),
        ));
        for (lane, words) in [(0.0, "attended"), (LANE, "wire runs")] {
            let at = spot(x - 1.5, y + lane + LANE / 2.0);
            drawn = drawn.add(quiet.write_level(at, LEFT - 2.0, words));
        }
        for hour in self.hours() {
            let at = self.x(self.from_min + hour * MIN_PER_HOUR);
            let words = if hour == 0.0 && days > 1 {
                format!("day {}", (self.from_min / self.span_min).round() as usize + 1)
            } else if hour < 1.0 && hour > 0.0 {
                format!("{} min", short(hour * MIN_PER_HOUR, 0))
            } else {
                format!("{} h", short(hour, 2))
            };
            let bottom = area.bottom();
            // The words of the last hour stay on the sheet.
            let most = WIDTH - 0.5 - 0.5 * width(&words, SIZE);
            drawn = drawn
                .add(line("rule", spot(at, bottom), spot(at, bottom + 1.2)))
                .add(self.plot.words_below(at.min(most), &words));
        }
        drawn
    }

    /// Hours that are written below.
    fn hours(&self) -> impl Iterator<Item = f64> {
        const MARKS: f64 = 9.0;
        const STEPS: [f64; 8] = [0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0];
        let hours = self.span_min / MIN_PER_HOUR;
        let step = STEPS
            .into_iter()
            .find(|step| hours / step <= MARKS)
            .unwrap_or(6.0);
        (0..=(hours / step).floor() as usize).map(move |mark| mark as f64 * step)
    }
}

fn drawn_block(number: usize, block: &DayBlock, rows: &[DayRow]) -> Group {
    let class = match (block.doing, block.attended) {
        (Activity::Waiting, _) => "block block-waits",
        (_, true) => "block block-attended",
        (_, false) => "block block-runs",
    };
    let lane = if block.attended || block.doing == Activity::Waiting {
        0.0
    } else {
        LANE
    };
    let mut drawn = Group::new()
        .set("data-step", number)
        .add(Title::new(hover(block)));
    if let Some(contour) = block.contour {
        drawn = drawn.set("data-contour", contour.number());
    }
    if let Activity::Cutting(pass, _) = block.doing {
        drawn = drawn.set("data-pass", pass.number());
    }
    let begins_after = |row: &&DayRow| block.from_minutes < row.from_min + row.span_min;
    let ends_before = |row: &&DayRow| block.to_minutes > row.from_min;
    for row in rows.iter().filter(begins_after).filter(ends_before) {
        let (from, to) = (row.x(block.from_minutes), row.x(block.to_minutes));
        let area = Area::new(from, row.plot.area.y + lane + 0.8, to - from, LANE - 1.6);
        drawn = drawn.add(rectangle(class, area));
        // A block that waits stands beside the words that nobody is there.
        let right = if block.doing == Activity::Waiting {
            area.right()
                .min(row.plot.area.right() - 2.0 - width(NOBODY, SIZE))
        } else {
            area.right()
        };
        let room = right - area.x - 1.0;
        let words = [label(block), number_of(block)];
        if let Some(words) = words
            .iter()
            .find(|words| !words.is_empty() && width(words, SIZE) <= room)
        {
            let at = spot(0.5 * (area.x + right), area.center().y);
            drawn = drawn.add(Lettering::middle("", SIZE).write_level(at, room, words));
        }
    }
    drawn.set("data-minutes", coordinate(block.minutes()))
}

/// Returns the number of the contour that is worked on: what is left of a label in a narrow block.
fn number_of(block: &DayBlock) -> String {
    match block.contour {
        Some(contour) if block.doing != Activity::Waiting => contour.to_string(),
        _ => String::new(),
    }
}

fn label(block: &DayBlock) -> String {
    let contour = number_of(block);
    match block.doing {
        Activity::SetUp => "set-up".into(),
        Activity::Travelling => format!("to {contour}"),
        Activity::Threading => format!("thread {contour}"),
        Activity::Cutting(pass, _) => format!("{contour} · pass {pass}"),
        Activity::Separating => format!("free {contour}"),
        Activity::Waiting => "waits".into(),
    }
}

fn hover(block: &DayBlock) -> String {
    let on = block
        .contour
        .map_or_else(String::new, |contour| format!("contour {contour}"));
    let doing = match block.doing {
        Activity::SetUp => "set-up".to_owned(),
        Activity::Travelling => format!("on to {on}"),
        Activity::Threading => format!("{on}: threading"),
        Activity::Cutting(pass, kind) => format!("{on}: pass {pass}, {}", words::pass_kind(kind)),
        Activity::Separating => format!("{on}: secured, cut off and removed, with its stops"),
        Activity::Waiting => format!("{on}: the machine waits, nobody is there before the next shift"),
    };
    let clock = |minutes: f64| {
        let whole = minutes.round();
        format!("{} h {:02}", (whole / MIN_PER_HOUR).floor(), whole % MIN_PER_HOUR)
    };
    let who = match (block.doing, block.attended) {
        (Activity::Waiting, _) => "",
        (_, true) => ", somebody has to be there",
        (_, false) => ", unattended",
    };
    format!(
        "{doing}: from {} to {}, {} min{who}",
        clock(block.from_minutes),
        clock(block.to_minutes),
        fixed(block.minutes(), 1)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan;
    use crate::report::sample;

    #[test]
    fn every_block_is_drawn_once_a_day_that_it_lasts_and_as_wide_as_it_is_long() {
        let sample = sample::plan();
        let day = plan::day(&sample).expect("every path is there");
        let drawn = shift_strip(&day);
        assert_eq!(drawn, shift_strip(&day), "same input, same bytes");
        let parsed = roxmltree::Document::parse(&drawn).expect("well formed");
        let blocks: Vec<_> = parsed
            .descendants()
            .filter(|node| node.has_attribute("data-step"))
            .collect();
        assert_eq!(blocks.len(), day.blocks.len());
        let span_min = if day.end_minutes() <= day.shift_minutes {
            day.end_minutes()
        } else {
            1440.0
        };
        for (node, block) in blocks.iter().zip(&day.blocks) {
            let widths = node
                .children()
                .filter_map(|child| child.attribute("width")?.parse::<f64>().ok());
            let width: f64 = widths.sum();
            let right = block.minutes() / span_min * (WIDTH - LEFT - RIGHT);
            assert!((width - right).abs() < 0.001, "{width} against {right}");
        }
    }
}
