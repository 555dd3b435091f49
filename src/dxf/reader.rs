use std::collections::HashSet;

use super::Error;
use super::document::{Block, Document, Notice, NoticeKind, fold_name};
use super::names::Names;
use super::tag::{Tag, quoted};
use super::tags::Tags;
use crate::cancel::{asking, checkpoint, checkpoint_each};

/// What the block of model space is called: from R13 on, and in R12 files made from later ones.
const MODEL_SPACE: [&str; 2] = ["*model_space", "$model_space"];

/// Walks the sections of a file, tag by tag, into a [`Document`].
pub(super) struct Reader<'a> {
    pub(super) tags: Tags<'a>,
    pub(super) names: Names<'a>,
    pub(super) document: Document,
    /// Bytes in the file; no count can be larger.
    pub(super) size: usize,
    /// The file begins with a byte order mark of UTF-8.
    pub(super) utf8_mark: bool,
    entities_seen: bool,
}

/// The group 0 that begins an entity, a table entry, a section, or ends one.
#[derive(Clone, Copy, Debug)]
pub(super) struct RecordHead<'a> {
    /// Its type: `LINE`, `ENDSEC`, …
    pub(super) kind: &'a [u8],
    /// Line of the type.
    pub(super) line: usize,
}

impl<'a> RecordHead<'a> {
    pub(super) fn of(tag: &Tag<'a>) -> Self {
        Self {
            kind: tag.word(),
            line: tag.line,
        }
    }
}

impl<'a> Reader<'a> {
    /// Begins a file of `size` bytes, whose texts are UTF-8 when it bears that mark.
    pub(super) fn new(tags: Tags<'a>, size: usize, utf8_mark: bool) -> Self {
        let mut document = Document::default();
        Self {
            tags,
            names: Names::new(&mut document),
            document,
            size,
            utf8_mark,
            entities_seen: false,
        }
    }

    /// Reads the whole file.
    pub(super) fn read(mut self) -> Result<Document, Error> {
        let mut next = Some(self.first()?);
        loop {
            match next {
                None => {
                    self.unmarked_end()?;
                    break;
                }
                Some(head) if head.kind == b"EOF" => break,
                Some(head) if head.kind == b"SECTION" => next = self.section(head)?,
                Some(head) => {
                    return Err(Error::Structure {
                        line: head.line,
                        reason: format!("`{}` stands outside of any section", quoted(head.kind)),
                    });
                }
            }
        }
        self.take_model_space_block();
        self.note_repeated_handles();
        self.document
            .notices
            .sort_by(asking(|a: &Notice, b: &Notice| a.line.cmp(&b.line)));
        Ok(self.document)
    }

    /// Returns the first tag, by which a DXF file is known.
    fn first(&mut self) -> Result<RecordHead<'a>, Error> {
        let first = self.tags.next().ok().flatten().filter(|tag| tag.code == 0);
        let reason = match first {
            Some(tag) if tag.word() == b"SECTION" => return Ok(RecordHead::of(&tag)),
            Some(tag) => format!("it begins with `{}`, not with a SECTION", quoted(tag.word())),
            None => "it does not begin with a SECTION".into(),
        };
        Err(Error::NotDxf {
            line: self.tags.line(),
            reason,
        })
    }

    /// The file ends between sections, but without the mark of its end.
    fn unmarked_end(&mut self) -> Result<(), Error> {
        if !self.entities_seen {
            return Err(self.truncated("the file: it has neither an ENTITIES section nor an EOF mark"));
        }
        self.notice(self.tags.line(), NoticeKind::NoEof);
        Ok(())
    }

    /// Reads a section; returns the head after its end, or `None` at the end of the file.
    fn section(&mut self, begin: RecordHead<'a>) -> Result<Option<RecordHead<'a>>, Error> {
        let name = match self.tags.next()? {
            Some(tag) if tag.code == 2 => tag.word(),
            Some(_) => {
                return Err(Error::Structure {
                    line: begin.line,
                    reason: "a SECTION without a name".into(),
                });
            }
            None => return Err(self.truncated("a SECTION")),
        };
        let end = match name {
            b"HEADER" => self.header()?,
            b"TABLES" => self.tables()?,
            b"BLOCKS" => self.blocks()?,
            b"ENTITIES" => self.entities()?,
            b"OBJECTS" => self.objects()?,
            b"CLASSES" | b"THUMBNAILIMAGE" | b"ACDSDATA" => self.skip_section(name)?,
            _ => {
                let decoded = self.names.decode(name, begin.line, &mut self.document.notices);
                self.notice(begin.line, NoticeKind::SectionUnknown(decoded));
                self.skip_section(name)?
            }
        };
        if end.kind != b"ENDSEC" {
            self.notice(end.line, NoticeKind::EndMissing("SECTION"));
            return Ok(Some(end));
        }
        self.after_section()
    }

    /// Returns the group 0 after the end of a section, or `None` at the end of the file. Tags between sections, and
    /// the end of a section that none has begun, are passed over.
    fn after_section(&mut self) -> Result<Option<RecordHead<'a>>, Error> {
        let mut noted = false;
        while let Some(tag) = self.tags.next()? {
            if tag.code == 0 && tag.word() != b"ENDSEC" {
                return Ok(Some(RecordHead::of(&tag)));
            }
            if !noted {
                self.notice(tag.line, NoticeKind::TagsOutsideSection);
                noted = true;
            }
        }
        Ok(None)
    }

    /// Passes over a section that holds nothing for us; returns the head that ends it.
    pub(super) fn skip_section(&mut self, name: &[u8]) -> Result<RecordHead<'a>, Error> {
        loop {
            let head = self.skip(name)?;
            if ends_section(head.kind) {
                return Ok(head);
            }
        }
    }

    /// Section OBJECTS, in which the clipping of INSERTs matters.
    fn objects(&mut self) -> Result<RecordHead<'a>, Error> {
        let mut clipped = 0;
        let mut first_line = 0;
        let end = loop {
            let head = self.skip(b"section OBJECTS")?;
            if ends_section(head.kind) {
                break head;
            }
            if head.kind == b"SPATIAL_FILTER" {
                clipped += 1;
                first_line = if clipped == 1 { head.line } else { first_line };
            }
        };
        if clipped > 0 {
            self.notice(first_line, NoticeKind::ClippingIgnored(clipped));
        }
        Ok(end)
    }

    fn entities(&mut self) -> Result<RecordHead<'a>, Error> {
        self.entities_seen = true;
        let mut entities = std::mem::take(&mut self.document.entities);
        let mut head = self.first_of(b"section ENTITIES")?;
        while !ends_section(head.kind) {
            head = self.entity(head, &mut entities)?;
        }
        self.document.entities = entities;
        Ok(head)
    }

    fn blocks(&mut self) -> Result<RecordHead<'a>, Error> {
        let mut names = HashSet::new();
        let mut head = self.first_of(b"section BLOCKS")?;
        while !ends_section(head.kind) {
            if head.kind != b"BLOCK" {
                return Err(Error::Structure {
                    line: head.line,
                    reason: format!("`{}` stands between two blocks", quoted(head.kind)),
                });
            }
            let (block, next) = self.block(head)?;
            if names.insert(fold_name(&block.name)) {
                self.document.blocks.push(block);
            } else {
                self.notice(block.line, NoticeKind::BlockRepeated(block.name));
            }
            head = next;
        }
        Ok(head)
    }

    fn block(&mut self, begin: RecordHead<'a>) -> Result<(Block, RecordHead<'a>), Error> {
        const ELSEWHERE: i32 = 4 | 8;
        let mut block = Block {
            line: begin.line,
            ..Block::default()
        };
        let mut name: &[u8] = b"";
        let mut flags = 0;
        let mut head = self.group(begin.kind, |tag| {
            match tag.code {
                2 => name = tag.word(),
                10 => block.base[0] = tag.real(begin.kind)?,
                20 => block.base[1] = tag.real(begin.kind)?,
                30 => block.base[2] = tag.real(begin.kind)?,
                70 => flags = tag.flags(begin.kind)?,
                _ => {}
            }
            Ok(())
        })?;
        block.name = self.names.decode(name, begin.line, &mut self.document.notices);
        while head.kind != b"ENDBLK" && head.kind != b"BLOCK" && !ends_section(head.kind) {
            head = self.entity(head, &mut block.entities)?;
        }
        if flags & ELSEWHERE != 0 && block.entities.is_empty() {
            self.notice(begin.line, NoticeKind::BlockElsewhere(block.name.clone()));
        }
        if head.kind == b"ENDBLK" {
            head = self.skip(head.kind)?;
        } else {
            self.notice(head.line, NoticeKind::EndMissing("BLOCK"));
        }
        Ok((block, head))
    }

    /// Returns the first group 0 of a section whose every tag counts.
    fn first_of(&mut self, section: &[u8]) -> Result<RecordHead<'a>, Error> {
        self.group(section, |tag| {
            Err(Error::Structure {
                line: tag.line,
                reason: format!("group {} stands before the first entity or block", tag.code),
            })
        })
    }

    /// Hands every tag up to the next group 0 to `take`; returns that group 0. `what` names what is being read.
    pub(super) fn group(
        &mut self,
        what: &[u8],
        mut take: impl FnMut(&Tag<'a>) -> Result<(), Error>,
    ) -> Result<RecordHead<'a>, Error> {
        checkpoint();
        for read in 1.. {
            checkpoint_each(read);
            match self.tags.next()? {
                Some(tag) if tag.code == 0 => return Ok(RecordHead::of(&tag)),
                Some(tag) => take(&tag)?,
                None => break,
            }
        }
        Err(self.truncated(&quoted(what)))
    }

    /// Passes over all tags up to the next group 0.
    pub(super) fn skip(&mut self, what: &[u8]) -> Result<RecordHead<'a>, Error> {
        self.group(what, |_| Ok(()))
    }

    pub(super) fn notice(&mut self, line: usize, kind: NoticeKind) {
        self.document.notices.push(Notice {
            line,
            handle: 0,
            kind,
        });
    }

    fn truncated(&self, what: &str) -> Error {
        Error::Truncated {
            line: self.tags.line(),
            what: what.into(),
        }
    }

    /// Some writers put model space into its block and leave ENTITIES empty.
    fn take_model_space_block(&mut self) {
        let is_model_space = |block: &&mut Block| MODEL_SPACE.contains(&fold_name(&block.name).as_str());
        let document = &mut self.document;
        let Some(block) = document.blocks.iter_mut().find(is_model_space) else {
            return;
        };
        let entities = block.entities.len();
        if entities == 0 {
            return;
        }
        let line = block.line;
        let taken = document.entities.iter().all(|entity| entity.paper_space);
        if taken {
            document.entities.append(&mut block.entities);
        }
        self.notice(line, NoticeKind::ModelSpaceBlock { entities, taken });
    }

    fn note_repeated_handles(&mut self) {
        let document = &mut self.document;
        let of_blocks = document.blocks.iter().flat_map(|block| &block.entities);
        let mut handles: Vec<(u64, usize)> = (document.entities.iter().chain(of_blocks))
            .filter(|entity| entity.handle != 0)
            .map(|entity| (entity.handle, entity.line))
            .collect();
        handles.sort_unstable_by(asking(Ord::cmp));
        for same in handles.chunk_by(|a, b| a.0 == b.0).filter(|same| same.len() > 1) {
            let (handle, line) = same[1];
            document.notices.push(Notice {
                line,
                handle,
                kind: NoticeKind::HandleRepeated,
            });
        }
    }
}

/// Whether a group 0 of this type ends a section, rightly (`ENDSEC`) or because its end is missing.
pub(super) fn ends_section(kind: &[u8]) -> bool {
    matches!(kind, b"ENDSEC" | b"SECTION" | b"EOF")
}
