use roxmltree::{Document, ParsingOptions};

use crate::report::sample;

/// The page as a tree. HTML is no XML: what differs is put right first.
fn tree(page: &str) -> String {
    let start = page.find("<html").expect("a page");
    let (_, script) = page.split_once("<script>").expect("a script");
    let (script, _) = script.split_once("</script>").expect("its end");
    page[start..]
        .replace(script, "")
        .replace("<meta charset=\"utf-8\">", "")
        .replace(
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">",
            "",
        )
}

#[test]
fn the_page_needs_nothing_else_and_is_well_formed() {
    let mut plan = sample::plan();
    plan.inspection.file = "<b>&\"plate\".dxf".into();
    plan.inspection.findings = vec![sample::finding(); 3];
    let page = super::plan(&plan);
    let text = tree(&page);
    let document = Document::parse_with_options(&text, ParsingOptions::default()).expect("well-formed");
    let ids: Vec<&str> = document
        .descendants()
        .filter_map(|node| node.attribute("id"))
        .collect();
    let mut own = ids.clone();
    own.sort_unstable();
    own.dedup();
    assert_eq!(own.len(), ids.len(), "an id stands twice");
    for name in ["src", "href", "action"] {
        assert!(
            document.descendants().all(|node| !node.has_attribute(name)),
            "{name} leads elsewhere"
        );
    }
    assert!(
        !page.contains("url(") && !page.contains("@import"),
        "a style leads elsewhere"
    );
    for node in document
        .descendants()
        .filter(|node| node.has_attribute("aria-labelledby"))
    {
        let label = node.attribute("aria-labelledby").unwrap();
        assert!(ids.contains(&label), "{label} is no heading");
    }
    assert!(!page.contains("<b>"), "a name is text, not markup");
    assert_eq!(page, super::plan(&plan), "same input, same bytes");
}

#[test]
fn every_offset_stands_beside_its_caution() {
    let page = super::plan(&sample::plan());
    let offsets = page.matches("Offset µm").count();
    assert!(offsets > 0);
    assert!(page.to_lowercase().matches("cut and gauge a test piece").count() >= offsets);
    for words in ["fit to cut", "meets the tolerance", "guarantee"] {
        assert!(!page.contains(words), "{words}");
    }
}
