use super::Error;

/// How other files begin, and what to say of them.
const KNOWN: &[(&[u8], &str)] = &[
    (b"AC10", "it looks like a DWG drawing: save it as DXF"),
    (b"AC1.", "it looks like an old DWG drawing: save it as DXF"),
    (b"AC2.", "it looks like an old DWG drawing: save it as DXF"),
    (b"MC0.0", "it looks like an old DWG drawing: save it as DXF"),
    (
        b"AutoCAD Binary DXF",
        "its binary DXF mark is damaged, as when a file is sent as text; get it again, unchanged",
    ),
    (b"AutoCAD DXB", "it is a DXB file: save it as DXF"),
    (
        b"\x89PNG",
        "it is a PNG picture: a drawing is needed, not a picture of one",
    ),
    (
        b"\xFF\xD8\xFF",
        "it is a JPEG picture: a drawing is needed, not a picture of one",
    ),
    (
        b"GIF8",
        "it is a GIF picture: a drawing is needed, not a picture of one",
    ),
    (
        b"BM",
        "it looks like a BMP picture: a drawing is needed, not a picture of one",
    ),
    (
        b"II*\0",
        "it is a TIFF picture: a drawing is needed, not a picture of one",
    ),
    (
        b"MM\0*",
        "it is a TIFF picture: a drawing is needed, not a picture of one",
    ),
    (b"%PDF", "it is a PDF document: ask for the drawing as DXF"),
    (b"PK\x03\x04", "it is a ZIP archive: unpack it first"),
    (b"\x1F\x8B", "it is a gzip archive: unpack it first"),
    (b"7z\xBC\xAF", "it is a 7z archive: unpack it first"),
    (
        b"ISO-10303-21",
        "it is a STEP model: export the flat profile as DXF",
    ),
    (
        b"solid ",
        "it looks like an STL model: export the flat profile as DXF",
    ),
    (b"<", "it looks like XML, SVG or HTML: save the drawing as DXF"),
    (
        b"\xFF\xFE",
        "its text is UTF-16: save it as UTF-8 or as ordinary DXF",
    ),
    (
        b"\xFE\xFF",
        "its text is UTF-16: save it as UTF-8 or as ordinary DXF",
    ),
];

/// Refuses files whose first bytes tell what they are, with advice.
pub(super) fn refuse(bytes: &[u8]) -> Result<(), Error> {
    match KNOWN.iter().find(|(magic, _)| bytes.starts_with(magic)) {
        Some((_, advice)) => Err(Error::NotDxf {
            line: 1,
            reason: (*advice).into(),
        }),
        None => Ok(()),
    }
}
