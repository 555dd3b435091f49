use super::Error;
use super::code_page::CodePage;
use super::document::{Header, NoticeKind};
use super::reader::{Reader, RecordHead, ends_section};

impl<'a> Reader<'a> {
    /// Reads section HEADER, and from then on decodes texts as it says.
    pub(super) fn header(&mut self) -> Result<RecordHead<'a>, Error> {
        let mut header = Header {
            binary: self.document.header.binary,
            ..Header::default()
        };
        let mut variable: &[u8] = b"";
        let mut code_page_line = 0;
        let end = self.group(b"section HEADER", |tag| {
            let word = || String::from_utf8_lossy(tag.word()).into_owned();
            match (tag.code, variable) {
                (9, _) => variable = tag.word(),
                (1, b"$ACADVER") => header.version = word(),
                (3, b"$DWGCODEPAGE") => {
                    header.code_page = word();
                    code_page_line = tag.line;
                }
                (70, b"$INSUNITS") => header.insunits = Some(tag.flags(variable)?),
                (70, b"$MEASUREMENT") => header.measurement = Some(tag.flags(variable)?),
                _ => {}
            }
            Ok(())
        })?;
        if !self.utf8_mark {
            self.names.code_page = CodePage::of(&header).unwrap_or_else(|| {
                self.notice(
                    code_page_line,
                    NoticeKind::CodePageUnknown(header.code_page.clone()),
                );
                CodePage::WINDOWS_1252
            });
        }
        self.document.header = header;
        if ends_section(end.kind) {
            Ok(end)
        } else {
            self.skip_section(b"section HEADER")
        }
    }
}
