use super::Error;
use super::reader::{Reader, RecordHead, ends_section};

impl<'a> Reader<'a> {
    /// Reads section TABLES, of which the layers are wanted.
    pub(super) fn tables(&mut self) -> Result<RecordHead<'a>, Error> {
        let mut head = self.skip(b"section TABLES")?;
        while !ends_section(head.kind) {
            head = match head.kind {
                b"LAYER" => self.layer(head)?,
                kind => self.skip(kind)?,
            };
        }
        Ok(head)
    }

    /// Reads one entry of the LAYER table. Of two entries of one name the first is kept.
    fn layer(&mut self, begin: RecordHead<'a>) -> Result<RecordHead<'a>, Error> {
        const FROZEN: i32 = 1;
        let kind = begin.kind;
        let (mut name, mut linetype): (&[u8], &[u8]) = (b"", b"Continuous");
        let (mut flags, mut color, mut plotted) = (0, 7, 1);
        let next = self.group(kind, |tag| {
            match tag.code {
                2 => name = tag.word(),
                6 => linetype = tag.word(),
                62 => color = tag.flags(kind)?,
                70 => flags = tag.flags(kind)?,
                290 => plotted = tag.flags(kind)?,
                _ => {}
            }
            Ok(())
        })?;
        let linetype = self
            .names
            .decode(linetype, begin.line, &mut self.document.notices);
        let index = self.names.layer(name, begin.line, &mut self.document);
        let layer = &mut self.document.layers[index as usize];
        if !layer.declared {
            layer.declared = true;
            layer.off = color < 0;
            layer.frozen = flags & FROZEN != 0;
            layer.not_plotted = plotted == 0;
            layer.color = color.saturating_abs();
            layer.linetype = linetype;
        }
        Ok(next)
    }
}
