use roxmltree::{Document, Node, ParsingOptions};

use crate::job::JobFile;
use crate::plan::{Alternatives, Plan, Planner, day};
use crate::report::sample;
use crate::shop::{Basis, Book};

/// The page of a plan without what could stand beside it.
fn sheet_of(plan: &Plan) -> String {
    let alternatives = Alternatives {
        candidates: Vec::new(),
        day: day(plan),
    };
    super::plan(plan, Some(&alternatives))
}

fn words_of(node: Node<'_, '_>) -> String {
    let texts = node.descendants().filter(Node::is_text);
    texts.filter_map(|text| text.text()).collect()
}

/// The page as a tree. HTML is no XML: what differs is put right first.
pub(in crate::report) fn tree(page: &str) -> String {
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
        .replace(" hidden>", " hidden=\"\">")
}

#[test]
fn the_page_needs_nothing_else_and_is_well_formed() {
    let mut plan = sample::plan();
    plan.inspection.file = "<b>&\"plate\".dxf".into();
    plan.inspection.findings = vec![sample::finding(); 3];
    let page = sheet_of(&plan);
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
    assert_eq!(page, sheet_of(&plan), "same input, same bytes");
}

#[test]
fn every_offset_stands_beside_its_caution() {
    let page = sheet_of(&sample::plan());
    let offsets = page.matches("Offset µm").count();
    assert!(offsets > 0);
    assert!(page.to_lowercase().matches("cut and gauge a test piece").count() >= offsets);
    for words in ["fit to cut", "meets the tolerance", "guarantee"] {
        assert!(!page.contains(words), "{words}");
    }
}

/// A plan for which wire and passes were chosen, so that every section stands on the page.
fn chosen() -> Plan {
    let drawing = sample::drawing("");
    let job = JobFile::new("tool-steel", 30.0)
        .finish("Ra 0.8")
        .tolerance("±0.01");
    let book = Book::built_in().expect("the built-in book is sound");
    let plan = Planner::new(&book)
        .job(&job)
        .plan("plate.dxf", drawing.as_bytes());
    plan.expect("a sound drawing")
}

/// Source: HTML Living Standard, 4.3.11 (heading outline) and 4.9.10 (scope of a header cell); WCAG 2.2, 1.3.1.
#[test]
fn headings_follow_each_other_and_tables_have_heads() {
    let page = sheet_of(&chosen());
    let text = tree(&page);
    let document = Document::parse(&text).expect("well-formed");
    let named = |node: &Node<'_, '_>, name: &str| node.tag_name().name() == name;
    let levels: Vec<u32> = document
        .descendants()
        .filter_map(|node| node.tag_name().name().strip_prefix('h')?.parse().ok())
        .collect();
    assert_eq!(
        (levels[0], levels.iter().filter(|level| **level == 1).count()),
        (1, 1)
    );
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
    let tables: Vec<Node<'_, '_>> = document
        .descendants()
        .filter(|node| named(node, "table"))
        .collect();
    assert!(tables.len() >= 6, "{} tables", tables.len());
    for table in tables {
        let rows: Vec<Node<'_, '_>> = table.descendants().filter(|node| named(node, "tr")).collect();
        let cells = |row: &Node<'_, '_>| row.children().filter(Node::is_element).count();
        assert!(
            rows.iter().all(|row| cells(row) == cells(&rows[0])),
            "rows of one length"
        );
        for head in table.descendants().filter(|node| named(node, "th")) {
            assert!(head.has_attribute("scope"), "{:?}", head.text());
        }
        assert!(table.descendants().any(|node| named(&node, "thead")));
        let frame = table.parent().expect("a frame");
        assert!(
            frame.has_attribute("tabindex") && frame.has_attribute("aria-label"),
            "what can be moved sideways can be reached with the keyboard"
        );
    }
    for section in [
        "job-asked",
        "job-findings",
        "job-sheet",
        "job-passes",
        "job-contours",
        "job-estimate",
        "job-day",
        "job-wall",
        "job-choice",
        "job-cautions",
        "job-sources",
        "job-traces",
    ] {
        assert!(page.contains(&format!("id=\"{section}\"")), "{section}");
    }
}

/// Source: WCAG 2.2, 1.4.3 (at least 4.5 : 1) with its definitions of contrast ratio and relative luminance.
#[test]
fn letters_stand_out_from_the_paper_in_light_and_in_dark() {
    let value = |theme: &str, name: &str| {
        let (_, rest) = theme.split_once(&format!("--{name}: #")).expect("a colour");
        let channel =
            |i: usize| f64::from(u8::from_str_radix(&rest[i..i + 2], 16).expect("two digits")) / 255.0;
        [channel(0), channel(2), channel(4)]
    };
    let luminance = |colour: [f64; 3]| {
        let linear = |c: f64| {
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(colour[0]) + 0.7152 * linear(colour[1]) + 0.0722 * linear(colour[2])
    };
    let themes: Vec<&str> = super::STYLE.split(":root").skip(1).collect();
    assert_eq!(themes.len(), 3, "light, dark and print");
    for theme in themes {
        let paper = luminance(value(theme, "paper"));
        for name in ["ink", "quiet", "alarm"] {
            let ink = luminance(value(theme, name));
            let contrast = (paper.max(ink) + 0.05) / (paper.min(ink) + 0.05);
            assert!(contrast >= 4.5, "{name} of {theme}: {contrast}");
        }
    }
}

/// Where wire and passes are given, all that else could be taken stands beside them, and the given one is marked.
#[test]
fn what_else_could_be_taken_stands_beside_what_was_given() {
    let job = JobFile::parse("material = \"tool-steel\"\nthickness_mm = 30\nwire_mm = 0.25\npasses = 4")
        .expect("a job");
    let book = Book::built_in().expect("the built-in book is sound");
    let drawing = sample::drawing("");
    let plan = Planner::new(&book)
        .job(&job)
        .plan("plate.dxf", drawing.as_bytes())
        .expect("a sound drawing");
    assert!(plan.candidates.is_empty(), "nothing was to be chosen");
    let alternatives = plan.alternatives().expect("the same job");
    let page = super::plan(&plan, Some(&alternatives));
    let text = tree(&page);
    let document = Document::parse(&text).expect("well-formed");
    let named = |name: &str| {
        let mut tables = document
            .descendants()
            .filter(|node| node.attribute("aria-label") == Some(name));
        tables.next().unwrap_or_else(|| panic!("no table of {name}"))
    };
    let rows: Vec<String> = named("What else could be taken")
        .descendants()
        .filter(|node| node.has_tag_name("tr"))
        .map(words_of)
        .collect();
    let chosen: Vec<&String> = rows.iter().filter(|row| row.contains('>')).collect();
    assert!(rows.len() > 1, "a choice has at least two: {rows:?}");
    assert!(
        matches!(chosen[..], [row] if row.contains("0.25 mm brass")),
        "{chosen:?}"
    );
    // A sheet with one chart of all that was weighed.
    assert_eq!(page.matches("id=\"chart-sheet\"").count(), 1);
}

/// Every number of the book that a figure rests on is listed once, with the basis and the source that the book gives.
#[test]
fn every_number_of_the_book_is_listed_with_its_source() {
    let plan = chosen();
    let page = sheet_of(&plan);
    let text = tree(&page);
    let document = Document::parse(&text).expect("well-formed");
    let listed = document
        .descendants()
        .find(|node| node.attribute("aria-label") == Some("Book and sources"));
    let rows: Vec<Vec<String>> = listed
        .expect("the table")
        .descendants()
        .filter(|node| node.has_tag_name("tr"))
        .map(|row| row.children().filter(Node::is_element).map(words_of).collect())
        .collect();
    let mut terms = 0;
    for (_, figure) in crate::report::figures(&plan) {
        for term in figure
            .terms
            .iter()
            .filter(|term| !term.is_figure && term.basis != Basis::Given)
        {
            let value = crate::message::of_unit(term.value, "")
                .four(0)
                .written(crate::message::Lengths::Mm);
            let row = rows.iter().find(|row| {
                let stem = row[0].split(", pass").next().expect("a name");
                term.name.starts_with(stem)
                    && row[1].contains(&value)
                    && term.source.contains(row[4].as_str())
            });
            let row = row.unwrap_or_else(|| panic!("{} = {value} is not listed", term.name));
            assert_eq!(row[3], crate::report::words::basis(term.basis), "{}", term.name);
            terms += 1;
        }
    }
    assert!(terms > 40, "{terms} terms");
    assert!(rows.len() < terms, "what passes share is listed once");
    let mut once = rows.clone();
    once.sort();
    once.dedup();
    assert_eq!(once.len(), rows.len());
}

/// Nine round openings of 3 mm that are cleared away alike share a row; the outline has its own.
#[test]
fn pieces_that_come_free_alike_share_a_row() {
    let hole = |i: usize| format!("0\nCIRCLE\n8\nCUT\n10\n{}\n20\n10\n40\n1.5\n", 4 * (i + 1) - 1);
    let holes: String = (0..9).map(hole).collect();
    let drawing = sample::drawing(&holes);
    let job = JobFile::parse("material = \"tool-steel\"\nthickness_mm = 10\nwire_mm = 0.25\npasses = 2");
    let book = Book::built_in().expect("the built-in book is sound");
    let plan = Planner::new(&book)
        .job(&job.expect("a sound job"))
        .plan("plate.dxf", drawing.as_bytes())
        .expect("a plan");
    assert_eq!(plan.process.separations.len(), 10);
    let page = tree(&sheet_of(&plan));
    let document = Document::parse_with_options(&page, ParsingOptions::default()).expect("well-formed");
    let section = document
        .descendants()
        .find(|node| node.attribute("aria-labelledby") == Some("job-pieces"))
        .expect("the section");
    let named: Vec<String> = section
        .descendants()
        .filter(|node| node.has_tag_name("th") && node.attribute("scope") == Some("row"))
        .map(words_of)
        .collect();
    assert_eq!(named.len(), 2, "{named:?}");
    assert!(
        named.iter().any(|words| words.ends_with("and 5 more alike")),
        "{named:?}"
    );
}
