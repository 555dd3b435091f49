//! What is said in words, with its quantities kept: a message reads in millimetres as it stands, and in inches without being read
//! back. `message!` makes one.

pub mod number;
mod lengths;
mod quantity;

use std::borrow::Borrow;
use std::fmt::{self, Display, Formatter};
use std::ops::{AddAssign, Deref, Range};

use serde::{Deserialize, Deserializer, Serialize, Serializer};

pub use lengths::Lengths;
pub use quantity::{Digits, QuantityValue, UnitSymbol};
pub use quantity::{degrees, minutes, mm, mm_per_min, mm2, mm2_per_min, of_unit, roughness_um, um, um_of_mm};

/// A sentence, or a part of one. It is its own text, lengths in millimetres and micrometres, and knows where its quantities stand.
#[derive(Clone, Debug, Default)]
pub struct Message {
    text: String,
    quantities: Vec<(Range<usize>, QuantityValue)>,
}

impl Message {
    /// Makes one of a template, whose `{}` are filled in order. `message!` has their number checked by the compiler.
    pub fn of(template: &str, parts: &[&dyn MessagePart]) -> Self {
        let mut message = Self::default();
        let mut parts = parts.iter();
        for (i, words) in template.split("{}").enumerate() {
            if i > 0
                && let Some(part) = parts.next()
            {
                part.add_to(&mut message);
            }
            message.text.push_str(words);
        }
        message
    }

    /// Joins messages by words.
    pub fn joined(messages: impl IntoIterator<Item = Self>, between: &str) -> Self {
        let mut joined = Self::default();
        for (i, message) in messages.into_iter().enumerate() {
            if i > 0 {
                joined.text.push_str(between);
            }
            joined += message;
        }
        joined
    }

    /// Returns the text with its lengths in a unit.
    pub fn in_unit(&self, lengths: Lengths) -> String {
        if lengths == Lengths::Mm {
            return self.text.clone();
        }
        let mut text = String::with_capacity(self.text.len());
        let mut from = 0;
        for (range, quantity) in &self.quantities {
            text.push_str(&self.text[from..range.start]);
            text.push_str(&quantity.written(lengths));
            from = range.end;
        }
        text + &self.text[from..]
    }

    /// Returns the text with its lengths in a unit, without what a name in it could do to a terminal or a file.
    pub fn shown(&self, lengths: Lengths) -> String {
        number::plain(&self.in_unit(lengths))
    }

    /// Returns its quantities, in their order.
    pub fn quantities(&self) -> impl Iterator<Item = QuantityValue> + '_ {
        self.quantities.iter().map(|(_, quantity)| *quantity)
    }

    /// Returns what stands between its quantities.
    pub fn words(&self) -> Vec<&str> {
        let ends = self
            .quantities
            .iter()
            .map(|(range, _)| range.start)
            .chain([self.text.len()]);
        let begins = [0]
            .into_iter()
            .chain(self.quantities.iter().map(|(range, _)| range.end));
        begins.zip(ends).map(|(from, to)| &self.text[from..to]).collect()
    }
}

/// What a template is filled with.
pub trait MessagePart {
    /// Puts it at the end of a message.
    fn add_to(&self, message: &mut Message);
}

impl MessagePart for QuantityValue {
    fn add_to(&self, message: &mut Message) {
        let from = message.text.len();
        message.text.push_str(&self.written(Lengths::Mm));
        message.quantities.push((from..message.text.len(), *self));
    }
}

impl MessagePart for Message {
    fn add_to(&self, message: &mut Message) {
        let by = message.text.len();
        message.text.push_str(&self.text);
        let moved = self.quantities.iter();
        let moved = moved.map(|(range, quantity)| (range.start + by..range.end + by, *quantity));
        message.quantities.extend(moved);
    }
}

/// Words, names and counts: whatever has no unit of length.
macro_rules! part_in_words {
    ($($words:ty),*) => {
        $(impl MessagePart for $words {
            fn add_to(&self, message: &mut Message) {
                use std::fmt::Write as _;
                let _ = write!(message.text, "{self}");
            }
        })*
    };
}

part_in_words!(
    str,
    String,
    char,
    usize,
    u32,
    u64,
    i32,
    std::borrow::Cow<'_, str>,
    crate::id::ContourId,
    crate::id::GroupId,
    crate::id::PassNo
);

impl<T: MessagePart + ?Sized> MessagePart for &T {
    fn add_to(&self, message: &mut Message) {
        (**self).add_to(message);
    }
}

impl<T: MessagePart> MessagePart for Option<T> {
    fn add_to(&self, message: &mut Message) {
        if let Some(part) = self {
            part.add_to(message);
        }
    }
}

impl<T: MessagePart> AddAssign<T> for Message {
    fn add_assign(&mut self, part: T) {
        part.add_to(self);
    }
}

impl Deref for Message {
    type Target = str;

    fn deref(&self) -> &str {
        &self.text
    }
}

/// So that a list of them joins to plain text.
impl Borrow<str> for Message {
    fn borrow(&self) -> &str {
        &self.text
    }
}

impl Display for Message {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// As its text, in millimetres.
impl Serialize for Message {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.text.serialize(serializer)
    }
}

#[cfg(test)]
impl schemars::JsonSchema for Message {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        String::schema_name()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        String::json_schema(generator)
    }

    fn inline_schema() -> bool {
        true
    }
}

impl<T: Into<String>> From<T> for Message {
    fn from(words: T) -> Self {
        Self {
            text: words.into(),
            quantities: Vec::new(),
        }
    }
}

/// A text that was written in millimetres, without its quantities.
impl<'de> Deserialize<'de> for Message {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer).map(Self::from)
    }
}

/// Two are equal that say the same.
impl PartialEq for Message {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

impl PartialEq<str> for Message {
    fn eq(&self, other: &str) -> bool {
        self.text == other
    }
}

impl PartialEq<&str> for Message {
    fn eq(&self, other: &&str) -> bool {
        self.text == *other
    }
}

/// How many places a template has to be filled.
pub const fn places(template: &str) -> usize {
    let bytes = template.as_bytes();
    let (mut i, mut places) = (0, 0);
    while i + 1 < bytes.len() {
        if bytes[i] == b'{' && bytes[i + 1] == b'}' {
            places += 1;
        }
        i += 1;
    }
    places
}

/// Makes a [`Message`] of a template and what fills its `{}`: words, numbers of contours and passes, counts, other messages, and
/// quantities such as `mm(width_mm).fixed(4)`, which bring their unit. Lengths that are written into words are never turned.
macro_rules! message {
    ($template:literal $(, $part:expr)* $(,)?) => {{
        const _: () = assert!(
            $crate::message::places($template) == 0 $(+ { let _ = stringify!($part); 1 })*,
            "a template has as many places as there are parts"
        );
        $crate::message::Message::of($template, &[$(&$part),*])
    }};
}
pub(crate) use message;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Band;

    /// 1 in = 25.4 mm exactly, 1 µm = 39.37 µin: NIST Special Publication 811 (2008), appendix B.
    #[test]
    fn a_message_reads_in_either_unit() {
        let rate = Band {
            low: 500.0,
            expected: 1000.0,
            high: 2000.0,
        };
        for (message, metric, inch) in [
            (
                message!(
                    "contour {}, {}: up to {} stay",
                    2_usize,
                    message!("x {} y {}", mm(40.0).bare(), mm(-20.5)),
                    um(12.7)
                ),
                "contour 2, x 40 y -20.5 mm: up to 12.7 µm stay",
                "contour 2, x 1.5748 y -0.8071 in: up to 0.0005 in stay",
            ),
            (
                message!(
                    "{}, is {} x {}",
                    mm2_per_min(rate),
                    mm(254.0).bare(),
                    mm(25.4).fixed(4)
                ),
                "1000 mm²/min (500 to 2000), is 254 x 25.4000 mm",
                "1.55 in²/min (0.775 to 3.1), is 10 x 1 in",
            ),
            (
                message!(
                    "{} left, would leave Ra {}",
                    mm2(645.16),
                    roughness_um(1.6).fixed(2)
                ),
                "645.16 mm² left, would leave Ra 1.60 µm",
                "1 in² left, would leave Ra 63 µin",
            ),
            (
                message!(
                    "{} to {}, an angle of {}",
                    um_of_mm(-0.010).signed().bare(),
                    um_of_mm(0.005).signed(),
                    degrees(30.0)
                ),
                "-10 to +5 µm, an angle of 30°",
                "-0.00039 to +0.0002 in, an angle of 30°",
            ),
        ] {
            assert_eq!(&*message, metric);
            assert_eq!(message.in_unit(Lengths::Mm), metric);
            assert_eq!(message.in_unit(Lengths::Inch), inch);
        }
    }

    /// A price that is never made from the low end of the cost has its expected value there. No more digits than the band supports.
    #[test]
    fn an_end_that_is_the_expected_value_is_no_end_of_a_range() {
        let of = |low, expected, high| Band { low, expected, high };
        let written = |quantity: QuantityValue| quantity.written(Lengths::Mm);
        let price = |band| written(of_unit(band, "").fixed(2).range_first());
        assert_eq!(price(of(120.0, 120.0, 240.0)), "expected 120, up to 240");
        assert_eq!(price(of(60.12, 120.34, 240.56)), "60 to 241, expected 120");
        assert_eq!(price(of(1.0, 1.2, 1.5)), "1.00 to 1.50, expected 1.20");
        assert_eq!(
            written(minutes(of(47.3, 68.7, 110.7)).fixed(1)),
            "69 min (47 to 111)"
        );
        assert_eq!(
            written(minutes(of(80.0, 317.0, 640.4)).fixed(1)),
            "5 h 17 (1 h 20 to 10 h 40)"
        );
        assert_eq!(
            written(minutes(of(57.6, 101.0, 163.0)).fixed(1)),
            "1 h 41 (58 min to 2 h 43)"
        );
        assert_eq!(
            written(minutes(of(4.0, 5.04, 6.0)).fixed(1)),
            "5.0 min (4.0 to 6.0)"
        );
        assert_eq!(
            written(of_unit(of(60.0, 120.0, 120.0), "").four(0)),
            "120 (from 60)"
        );
        // As they are printed, not as they are.
        assert_eq!(written(minutes(of(49.99, 50.0, 50.01)).fixed(1)), "50.0 min");
    }

    #[test]
    fn messages_join_and_keep_their_quantities() {
        let short = || message!("{} short", mm(25.4));
        let mut joined = Message::joined([short(), "a layer of 25.4 mm".into(), short()], "; ");
        joined += " in all";
        assert_eq!(
            &*joined,
            "25.4 mm short; a layer of 25.4 mm; 25.4 mm short in all"
        );
        assert_eq!(
            joined.in_unit(Lengths::Inch),
            "1 in short; a layer of 25.4 mm; 1 in short in all"
        );
        assert_eq!(
            joined.words(),
            ["", " short; a layer of 25.4 mm; ", " short in all"]
        );
        assert_eq!(
            serde_json::to_string(&short()).expect("text"),
            "\"25.4 mm short\""
        );
    }
}
