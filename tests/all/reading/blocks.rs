use kerfwright::dxf::document::{NoticeKind, Shape};
use kerfwright::dxf::{self, Document, Error};

use super::{lines, notices};

/// A file with these blocks and these entities.
fn read(blocks: &str, entities: &str) -> Document {
    let words =
        format!("0 SECTION 2 BLOCKS {blocks} 0 ENDSEC 0 SECTION 2 ENTITIES {entities} 0 ENDSEC 0 EOF");
    dxf::read(&lines(&words)).unwrap_or_else(|error| panic!("{blocks}: {error}"))
}

#[test]
fn a_block_holds_its_entities_up_to_its_end() {
    let document = read(
        "0 BLOCK 8 0 2 A 70 0 10 1 20 2 30 3 3 A 1 path 0 POINT 10 0 20 0 0 ENDBLK 5 1F 8 0 \
         0 BLOCK 2 B 10 0 20 0 0 ENDBLK",
        "0 INSERT 2 A 10 5 20 6",
    );
    let [a, b] = document.blocks.as_slice() else {
        panic!("two blocks were expected");
    };
    assert_eq!(
        (a.name.as_str(), a.base, a.entities.len(), a.line),
        ("A", [1.0, 2.0, 3.0], 1, 6)
    );
    assert_eq!((b.name.as_str(), b.entities.len()), ("B", 0));
    assert_eq!(notices(&document), []);
}

#[test]
fn of_two_blocks_of_one_name_the_first_is_kept() {
    let document = read("0 BLOCK 2 A 0 POINT 10 0 20 0 0 ENDBLK 0 BLOCK 2 a 0 ENDBLK", "");
    assert_eq!(document.blocks.len(), 1);
    assert_eq!(document.blocks[0].entities.len(), 1);
    assert_eq!(notices(&document), [NoticeKind::BlockRepeated("a".into())]);
}

#[test]
fn a_block_without_an_end_ends_where_the_next_begins() {
    let document = read("0 BLOCK 2 A 0 POINT 10 0 20 0 0 BLOCK 2 B 0 POINT 10 0 20 0", "");
    assert_eq!(
        document
            .blocks
            .iter()
            .map(|block| block.entities.len())
            .collect::<Vec<_>>(),
        [1, 1]
    );
    assert_eq!(
        notices(&document),
        [NoticeKind::EndMissing("BLOCK"), NoticeKind::EndMissing("BLOCK")]
    );
}

#[test]
fn an_entity_between_two_blocks_is_refused() {
    let bytes = lines("0 SECTION 2 BLOCKS 0 POINT 10 0 20 0 0 ENDSEC 0 EOF");
    assert!(matches!(dxf::read(&bytes), Err(Error::Structure { line: 6, .. })));
}

#[test]
fn a_block_that_stands_in_another_file_is_said() {
    let document = read(
        "0 BLOCK 2 XREF 70 4 1 other.dwg 0 ENDBLK",
        "0 INSERT 2 XREF 10 0 20 0",
    );
    assert_eq!(notices(&document), [NoticeKind::BlockElsewhere("XREF".into())]);
}

#[test]
fn model_space_is_taken_from_its_block_when_entities_has_none() {
    let block = "0 BLOCK 2 *MODEL_SPACE 0 POINT 10 0 20 0 0 POINT 10 1 20 1 0 ENDBLK";
    let document = read(block, "0 LINE 67 1 10 0 20 0 11 1 21 1");
    assert_eq!(document.entities.len(), 3);
    assert_eq!(document.blocks[0].entities.len(), 0);
    assert_eq!(
        notices(&document),
        [NoticeKind::ModelSpaceBlock {
            entities: 2,
            taken: true
        }]
    );

    let document = read(block, "0 LINE 10 0 20 0 11 1 21 1");
    assert_eq!(document.entities.len(), 1);
    assert_eq!(
        notices(&document),
        [NoticeKind::ModelSpaceBlock {
            entities: 2,
            taken: false
        }]
    );

    let document = read("0 BLOCK 2 $MODEL_SPACE 0 ENDBLK", "");
    assert_eq!(notices(&document), []);
}

#[test]
fn attributes_follow_their_insert_as_texts() {
    let document = read(
        "",
        "0 INSERT 2 A 66 1 10 5 20 6 0 ATTRIB 8 T 10 1 20 2 1 M6 2 SIZE 0 SEQEND 8 0 0 POINT 10 0 20 0",
    );
    let [_, attribute, _] = document.entities.as_slice() else {
        panic!("three entities were expected: {:?}", document.entities);
    };
    let Shape::Text(text) = &attribute.shape else {
        panic!("a text was expected");
    };
    assert_eq!(
        (&*text.kind, text.text.as_str(), text.at),
        ("ATTRIB", "M6", [1.0, 2.0, 0.0])
    );
}
