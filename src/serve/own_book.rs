//! Takes the book that a page brings with its drawing: it is read as a stranger's file, and nothing of it is kept.

use std::borrow::Cow;

use bytes::Bytes;
use http::Request;
use http::header::CONTENT_TYPE;

use super::refusal::RequestRefusal;
use crate::shop::Book;

/// Content type of a body that is the length of a book in bytes on a line, that book, and a drawing.
pub const BOOK_AND_DRAWING: &str = "application/x-kerfwright-book-and-drawing";

/// Largest book that a page may bring, bytes.
pub(super) const LARGEST_BOOK: usize = 256 << 10;

/// Digits of that length, and the line feed behind them.
const LONGEST_LINE: usize = 8;

/// Returns the book to answer from, the page's own where it brings one, and the drawing.
pub(super) fn book_and_drawing<'a>(
    book: &'a Book,
    request: &'a Request<Bytes>,
) -> Result<(Cow<'a, Book>, &'a [u8]), RequestRefusal> {
    let body: &[u8] = request.body();
    let kind = request.headers().get(CONTENT_TYPE);
    if kind.is_none_or(|kind| kind != BOOK_AND_DRAWING) {
        return Ok((Cow::Borrowed(book), body));
    }
    let (text, drawing) = split(body)?;
    let text = std::str::from_utf8(text).map_err(|_| refused("the book is no text in UTF-8"))?;
    let own = Book::layered(text).map_err(|flaws| refused(&flaws.to_string()))?;
    Ok((Cow::Owned(own), drawing))
}

fn refused(sentence: &str) -> RequestRefusal {
    RequestRefusal::new(
        "book",
        sentence,
        "correct it under My shop, or take it away there",
    )
}

/// Parts a body into the book and the drawing.
fn split(body: &[u8]) -> Result<(&[u8], &[u8]), RequestRefusal> {
    let line = body.iter().take(LONGEST_LINE).position(|byte| *byte == b'\n');
    let digits = line.and_then(|end| std::str::from_utf8(&body[..end]).ok().zip(Some(end)));
    let length = digits.and_then(|(digits, end)| Some((digits.parse::<usize>().ok()?, end)));
    let (length, end) = length.ok_or_else(|| refused("the length of the book does not stand before it"))?;
    if length > LARGEST_BOOK {
        return Err(refused(&format!(
            "the book has {length} bytes, {LARGEST_BOOK} at most are taken"
        )));
    }
    let rest = &body[end + 1..];
    rest.split_at_checked(length)
        .ok_or_else(|| refused("the book is shorter than the length before it"))
}

#[cfg(test)]
mod tests {
    use proptest::collection::vec;
    use proptest::prelude::*;

    use super::*;

    fn taken(body: &[u8]) -> Result<(f64, Vec<u8>), String> {
        let book = Book::built_in().expect("the built-in book is sound");
        let request = Request::post("/answer")
            .header(CONTENT_TYPE, BOOK_AND_DRAWING)
            .body(Bytes::copy_from_slice(body))
            .expect("a request");
        match book_and_drawing(&book, &request) {
            Ok((book, drawing)) => Ok((book.times.setup_min.value(), drawing.to_vec())),
            Err(refusal) => Err(refusal.reason().sentence.clone()),
        }
    }

    #[test]
    fn the_book_of_the_page_counts_and_the_drawing_stays_whole() {
        let own = "[time]\nsetup_min = 25\n";
        let body = format!("{}\n{own}0\nEOF\n", own.len());
        assert_eq!(taken(body.as_bytes()), Ok((25.0, b"0\nEOF\n".to_vec())));
        assert_eq!(taken(b"0\nrest"), Ok((30.0, b"rest".to_vec())));
    }

    #[test]
    fn a_broken_book_is_told_with_its_flaw() {
        for (body, says) in [
            (b"".as_slice(), "length"),
            (b"12", "length"),
            (b"-1\n", "length"),
            (b"999999999\n", "length"),
            (b"300000\n", "262144"),
            (b"50\n[time]\n", "shorter"),
            (b"2\n\xff\xfe", "UTF-8"),
            (b"20\n[time]\nsetup_min = x", "line 2"),
            (b"9\nno = book", "no"),
        ] {
            let told = taken(body).expect_err("it is none");
            assert!(told.contains(says), "{told}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

        /// A book with every part that there is, spoilt here and there, and told to be of any length.
        #[test]
        fn whatever_a_page_brings_is_read_or_refused(
            spoilt in vec((0_usize..6000, any::<u8>()), 0..4),
            length in prop_oneof![Just(None), (0_usize..9000).prop_map(Some)],
        ) {
            let commented = |line: &str| line.strip_prefix('#').filter(|rest| !rest.starts_with(' ')).map(str::to_owned);
            let lines: Vec<String> = crate::shop::STARTER.lines().filter_map(commented).collect();
            let mut book = lines.join("\n").into_bytes();
            for (at, byte) in spoilt {
                if let Some(held) = book.get_mut(at) {
                    *held = byte;
                }
            }
            let length = length.unwrap_or(book.len());
            let body = [format!("{length}\n").as_bytes(), &book].concat();
            match taken(&body) {
                Ok((_, drawing)) => prop_assert_eq!(drawing.len() + length, book.len()),
                Err(sentence) => prop_assert!(!sentence.is_empty()),
            }
        }
    }
}
