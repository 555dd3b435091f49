use std::borrow::Cow;

use encoding_rs::{BIG5, EUC_KR, Encoding, GBK, SHIFT_JIS, UTF_8, WINDOWS_1252};
use oem_cp::code_table::DECODING_TABLE_CP_MAP;
use oem_cp::code_table_type::TableType;

use super::document::Header;

/// First version whose texts are UTF-8 (R2007), as the number behind `AC`.
const FIRST_UTF8_VERSION: u32 = 1021;

/// How the texts of a file become characters.
#[derive(Clone, Copy, Debug)]
pub(super) struct CodePage {
    /// What the file says.
    stated: CharacterTable,
    /// Taken for a text that is not valid in the stated one.
    fallback: CharacterTable,
}

/// One table of characters.
#[derive(Clone, Copy, Debug)]
enum CharacterTable {
    /// Of Unicode, Windows, ISO or the Macintosh.
    Web(&'static Encoding),
    /// Of DOS: 437, 850, 852, …
    Dos(&'static TableType),
}

impl CharacterTable {
    /// The text of `bytes`; `None` where they are not valid.
    fn decode(self, bytes: &[u8]) -> Option<Cow<'_, str>> {
        match self {
            Self::Web(encoding) => encoding.decode_without_bom_handling_and_without_replacement(bytes),
            // Bytes without a character stand in some of the tables as control characters.
            Self::Dos(table) => table
                .decode_string_checked(bytes)
                .filter(|text| !text.chars().any(|c| ('\u{80}'..'\u{A0}').contains(&c)))
                .map(Cow::Owned),
        }
    }
}

/// A decoded text.
pub(super) struct Decoded {
    pub(super) text: String,
    /// Whether the text was valid in the code page of the file.
    pub(super) valid: bool,
}

impl CodePage {
    /// For files that state nothing: UTF-8 where a text is valid UTF-8, else Windows-1252.
    pub(super) const UNSTATED: Self = Self {
        stated: CharacterTable::Web(UTF_8),
        fallback: CharacterTable::Web(WINDOWS_1252),
    };

    /// For files that state what we do not have.
    pub(super) const WINDOWS_1252: Self = Self {
        stated: CharacterTable::Web(WINDOWS_1252),
        fallback: CharacterTable::Web(WINDOWS_1252),
    };

    /// What the header states; `None` when that is a code page that we do not have.
    pub(super) fn of(header: &Header) -> Option<Self> {
        let version = header
            .version
            .strip_prefix("AC")
            .and_then(|number| number.parse().ok());
        let named = by_name(&header.code_page);
        if version.is_some_and(|version: u32| version >= FIRST_UTF8_VERSION) {
            return Some(Self {
                stated: CharacterTable::Web(UTF_8),
                fallback: named.unwrap_or(CharacterTable::Web(WINDOWS_1252)),
            });
        }
        if header.code_page.is_empty() {
            return Some(Self::UNSTATED);
        }
        named.map(|stated| Self {
            stated,
            fallback: CharacterTable::Web(WINDOWS_1252),
        })
    }

    /// The text of `bytes`, with `\U+XXXX` and `\M+nXXXX` resolved.
    pub(super) fn decode(self, bytes: &[u8]) -> Decoded {
        let decoded = self.stated.decode(bytes);
        let valid = decoded.is_some();
        let text = decoded
            .or_else(|| self.fallback.decode(bytes))
            // Every byte is a character in Windows-1252, so that different names stay different.
            .unwrap_or_else(|| WINDOWS_1252.decode_without_bom_handling(bytes).0);
        Decoded {
            text: resolve_escapes(&text),
            valid,
        }
    }
}

/// The page that `$DWGCODEPAGE` names: `ANSI_1252`, `ANSI_932`, `DOS850`, `ISO8859-2`, `UTF-8`, …
fn by_name(name: &str) -> Option<CharacterTable> {
    let name = name.to_ascii_lowercase();
    let number = name.trim_start_matches(|c: char| !c.is_ascii_digit());
    if let Some(encoding) = encoding(&name, number) {
        return Some(CharacterTable::Web(encoding));
    }
    let table = DECODING_TABLE_CP_MAP.get(&number.parse::<u16>().ok()?)?;
    Some(CharacterTable::Dos(table))
}

fn encoding(name: &str, number: &str) -> Option<&'static Encoding> {
    Some(match number {
        "874" => encoding_rs::WINDOWS_874,
        "932" => SHIFT_JIS,
        "936" => GBK,
        "949" => EUC_KR,
        "950" => BIG5,
        "866" => encoding_rs::IBM866,
        "65001" => UTF_8,
        "1250" | "1251" | "1252" | "1253" | "1254" | "1255" | "1256" | "1257" | "1258" => {
            Encoding::for_label(format!("windows-{number}").as_bytes())?
        }
        _ => match name {
            "ascii" | "us-ascii" => WINDOWS_1252,
            "big5" => BIG5,
            "gb2312" => GBK,
            "ksc5601" => EUC_KR,
            "mac-roman" => encoding_rs::MACINTOSH,
            _ => match name.strip_prefix("iso8859-") {
                Some(part) => Encoding::for_label(format!("iso-8859-{part}").as_bytes())?,
                None => Encoding::for_label(name.as_bytes())?,
            },
        },
    })
}

/// Replaces `\U+XXXX` (a UTF-16 unit) and `\M+nXXXX` (two bytes of a double-byte code page) by what they
/// stand for. What does not resolve stays as it is.
fn resolve_escapes(text: &str) -> String {
    let mut resolved = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(start) = rest.find('\\') {
        resolved.push_str(&rest[..start]);
        rest = &rest[start..];
        if let Some((character, length)) = utf16_escape(rest).or_else(|| double_byte_escape(rest)) {
            resolved.push(character);
            rest = &rest[length..];
        } else {
            resolved.push('\\');
            rest = &rest[1..];
        }
    }
    resolved.push_str(rest);
    resolved
}

/// The character of `\U+XXXX` at the start of `text`, or of two of them that make a surrogate pair, and how
/// many bytes it takes.
fn utf16_escape(text: &str) -> Option<(char, usize)> {
    const LENGTH: usize = r"\U+XXXX".len();
    let high = hexadecimal(text.strip_prefix(r"\U+")?)?;
    let mut units = vec![high];
    if (0xD800..0xDC00).contains(&high) {
        units.push(hexadecimal(text[LENGTH..].strip_prefix(r"\U+")?)?);
    }
    let length = LENGTH * units.len();
    let character = char::decode_utf16(units).next()?.ok()?;
    Some((character, length))
}

/// The character of `\M+nXXXX` at the start of `text`, and how many bytes it takes.
fn double_byte_escape(text: &str) -> Option<(char, usize)> {
    const LENGTH: usize = r"\M+nXXXX".len();
    let rest = text.strip_prefix(r"\M+")?;
    let encoding = match rest.as_bytes().first()? {
        b'1' => SHIFT_JIS,
        b'2' => BIG5,
        b'3' => EUC_KR,
        b'5' => GBK,
        _ => return None,
    };
    let bytes = hexadecimal(&rest[1..])?.to_be_bytes();
    let decoded = encoding.decode_without_bom_handling_and_without_replacement(&bytes)?;
    let mut characters = decoded.chars();
    let character = characters.next()?;
    characters.next().is_none().then_some((character, LENGTH))
}

/// The number of the four hexadecimal digits at the start of `text`.
fn hexadecimal(text: &str) -> Option<u16> {
    let digits = text.get(..4)?;
    // `from_str_radix` would take a sign.
    digits
        .bytes()
        .all(|b| b.is_ascii_hexdigit())
        .then(|| u16::from_str_radix(digits, 16).ok())?
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decode(version: &str, code_page: &str, bytes: &[u8]) -> (String, bool) {
        let header = Header {
            version: version.into(),
            code_page: code_page.into(),
            ..Header::default()
        };
        let decoded = CodePage::of(&header)
            .expect("a code page that we have")
            .decode(bytes);
        (decoded.text, decoded.valid)
    }

    #[test]
    fn a_version_from_r2007_on_is_utf8_whatever_the_code_page_says() {
        assert_eq!(
            decode("AC1021", "ANSI_932", "外形".as_bytes()),
            ("外形".into(), true)
        );
        assert_eq!(decode("AC2.10", "ANSI_1252", b"\xDF"), ("ß".into(), true));
    }

    #[test]
    fn what_is_not_utf8_in_such_a_file_is_read_in_its_code_page_and_said() {
        assert_eq!(decode("AC1027", "ANSI_1251", b"\xCA\xEE"), ("Ко".into(), false));
        assert_eq!(decode("AC1027", "", b"\xDF"), ("ß".into(), false));
    }

    #[test]
    fn different_bytes_stay_different_when_nothing_can_decode_them() {
        let (first, _) = decode("AC1015", "ANSI_932", b"a\xFF");
        let (second, _) = decode("AC1015", "ANSI_932", b"a\xFE");
        assert_ne!(first, second);
    }

    #[test]
    fn utf16_escapes_resolve_and_broken_ones_stay() {
        let decode = |text: &str| resolve_escapes(text);
        assert_eq!(decode(r"a\U+00DFb"), "aßb");
        assert_eq!(decode(r"\U+D83D\U+DE00"), "😀");
        assert_eq!(decode(r"\U+D83D"), r"\U+D83D");
        assert_eq!(decode(r"\U+DE00x"), r"\U+DE00x");
        assert_eq!(decode(r"\U+12"), r"\U+12");
        assert_eq!(decode(r"\U++123"), r"\U++123");
        assert_eq!(decode(r"\Pnew"), r"\Pnew");
        assert_eq!(decode(r"é\U+é123"), r"é\U+é123");
    }

    #[test]
    fn double_byte_escapes_resolve() {
        // One character in four code pages, as Python's codecs cp932, big5, cp949 and gbk encode it.
        assert_eq!(resolve_escapes(r"\M+18A4F"), "外");
        assert_eq!(resolve_escapes(r"\M+2A57E"), "外");
        assert_eq!(resolve_escapes(r"\M+3E8E2"), "外");
        assert_eq!(resolve_escapes(r"\M+5CDE2"), "外");
        assert_eq!(resolve_escapes(r"\M+9CDE2"), r"\M+9CDE2");
        assert_eq!(resolve_escapes(r"\M+14142"), r"\M+14142");
    }
}
