use super::material::same_name;
use super::{Basis, Book, Case, FlawSource, Flaws, Material, STARTER};

fn flaws(own: &str) -> Vec<(usize, String, String)> {
    let Flaws(flaws) = Book::layered(own).expect_err("has flaws");
    assert!(flaws.iter().all(|flaw| flaw.origin == FlawSource::Own));
    flaws
        .into_iter()
        .map(|flaw| (flaw.line, flaw.entry, flaw.reason))
        .collect()
}

#[test]
fn the_built_in_book_is_sound() {
    let book = Book::built_in().expect("sound");
    let names: Vec<&str> = book.materials.keys().map(String::as_str).collect();
    let asked = [
        "aluminium-6061",
        "brass-c26000",
        "copper-c11000",
        "copper-tungsten",
        "feni36",
        "graphite",
        "mild-steel",
        "nickel-718",
        "polycrystalline-diamond",
        "stainless-304",
        "titanium-6al-4v",
        "tool-steel",
        "tungsten-carbide",
    ];
    assert_eq!(names, asked);
    assert_eq!(book.pass_table.len(), 8);
    assert_eq!(book.wires().count(), 5 + 4 + 3 + 1);
    assert!(
        book.materials
            .values()
            .all(|m| m.rate_mm2_min.basis == Basis::Default)
    );
    assert!(book.refused.contains_key("magnesium"));
}

#[test]
fn a_name_belongs_to_one_material() {
    let book = Book::built_in().expect("sound");
    let of_materials = book.materials.values().flat_map(Material::names);
    let refused = book.refused.iter().map(|(name, r)| (name, &r.aliases));
    let ambiguous = book.ambiguous.iter().map(|(name, a)| (name, &a.aliases));
    let others = refused
        .chain(ambiguous)
        .flat_map(|(name, aliases)| std::iter::once(name).chain(aliases));
    let words: Vec<&str> = of_materials.chain(others.map(String::as_str)).collect();
    for (i, word) in words.iter().enumerate() {
        let same = words[i + 1..].iter().find(|other| same_name(word, other));
        assert_eq!(same, None, "{word} twice");
    }
}

/// EN ISO 4957 (1.2379, X153CrMoV12; 1.2080), AISI (D2), JIS G 4404 (SKD11), EN 10088-1 (1.4301), EN 573-3: names of one steel
/// in several standards, from memory.
#[test]
fn a_designation_of_a_standard_is_its_material() {
    let book = Book::built_in().expect("sound");
    for (asked, name) in [
        (" D2 ", "tool-steel"),
        ("1.2379", "tool-steel"),
        ("x153crmov12", "tool-steel"),
        ("SKD11", "tool-steel"),
        ("SKD 11", "tool-steel"),
        ("1.2080", "tool-steel"),
        ("1.4301", "stainless-304"),
        ("304", "stainless-304"),
        ("SUS 304", "stainless-304"),
        ("WC-10Co", "tungsten-carbide"),
        ("WC10Co", "tungsten-carbide"),
        ("Ti6Al4V", "titanium-6al-4v"),
        ("Ti-6Al-4V", "titanium-6al-4v"),
        ("EN AW 6061", "aluminium-6061"),
        ("N07718", "nickel-718"),
        ("W75Cu25", "copper-tungsten"),
        ("1.3912", "feni36"),
        ("tool steel", "tool-steel"),
    ] {
        assert_eq!(book.material(asked).map(|m| m.name.as_str()), Ok(name), "{asked}");
    }
    let steel = &book.materials["tool-steel"];
    let standard = |name| steel.designation(name).map(|found| found.standard.as_str());
    assert_eq!(standard("1.2379"), Some("EN ISO 4957"));
    assert_eq!(standard("skd11"), Some("JIS G 4404"));
    assert_eq!(standard("steel"), None);
}

/// ISO 513 classes hardmetals by what they are used for, not by what they are made of (from memory).
#[test]
fn a_name_that_can_mean_several_materials_is_not_guessed() {
    let book = Book::built_in().expect("sound");
    for (asked, readings) in [("K20", ["ISO 513", "like ="]), ("P20", ["1.2311", "ISO 513"])] {
        let error = book.material(asked).expect_err("open").to_string();
        assert!(readings.iter().all(|word| error.contains(word)), "{error}");
        assert!(error.contains("tungsten-carbide"), "{error}");
    }
    let own = Book::layered("[material.k20]\nlike = \"tungsten-carbide\"").expect("sound");
    assert_eq!(own.material("K20").map(|m| m.name.as_str()), Ok("k20"));
    let flaws = Book::layered("[ambiguous.x]\naliases = [\"y\"]").expect_err("no readings");
    assert!(flaws.to_string().contains("readings"), "{flaws}");
}

#[test]
fn own_numbers_replace_and_own_entries_extend() {
    let own = r#"
        [material.tool-steel]
        rate_mm2_min = { value = 190, percent = 10, source = "our log, 2026" }
        [material.spring-bronze]
        like = "brass-c26000"
        density_g_cm3 = 8.8
        [wire-size."0.07"]
        thickest_mm = 20
        [wire-kind.molybdenum]
        title = "molybdenum, reused"
        sizes_mm = [0.07]
        rate_factor = 1
        density_g_cm3 = 10.2
        tensile_n_mm2 = 1900
        price_per_kg = 80
        [pass-table.2]
        spark_gap_um = 14
        [machine.north]
        travel_x_mm = 350
        [demand]
        machine = "north"
    "#;
    let book = Book::layered(own).expect("sound");
    let steel = &book.materials["tool-steel"];
    assert_eq!(
        (steel.rate_mm2_min.band.low, steel.rate_mm2_min.value()),
        (171.0, 190.0)
    );
    assert_eq!(steel.rate_mm2_min.basis, Basis::Shop);
    assert_eq!(steel.rate_mm2_min.source, "our log, 2026");
    assert_eq!(steel.ra_factor.basis, Basis::Default);
    let bronze = &book.materials["spring-bronze"];
    assert_eq!(
        (bronze.density_g_cm3.value(), bronze.rate_mm2_min.value()),
        (8.8, 165.0)
    );
    assert!(bronze.aliases.is_empty());
    assert_eq!(book.wire_sizes[0].diameter_mm, 0.07);
    assert_eq!(book.pass_table[1].spark_gap_um.value(), 14.0);
    assert_eq!(book.pass_table[1].ra_um.value(), 1.6);
    let machine = book.machine(None).expect("named");
    assert_eq!(
        (machine.travel_x_mm.value(), machine.height_mm.value()),
        (350.0, 300.0)
    );
}

#[test]
fn the_recipe_that_says_most_is_taken() {
    let own = r#"
        [recipe.fine]
        pass = [{}, { taken_um = 18 }]
        [recipe.carbide]
        materials = ["tungsten-carbide"]
        thickness_mm = [5, 40]
        pass = [{ rate_mm2_min = 70, spark_gap_um = 30 }, { spark_gap_um = 10 }]
    "#;
    let book = Book::layered(own).expect("sound");
    let mut case = Case {
        machine: "typical",
        material: "tungsten-carbide",
        wire_mm: 0.25,
        wire_kind: "brass",
        thickness_mm: 20.0,
        passes: 2,
    };
    let name = |case: &Case<'_>| book.recipe(case).map(|recipe| recipe.name.clone());
    assert_eq!(name(&case).as_deref(), Some("carbide"));
    case.thickness_mm = 41.0;
    assert_eq!(name(&case).as_deref(), Some("fine"));
    case.passes = 3;
    assert_eq!(name(&case), None);
    let fine = book
        .recipes
        .iter()
        .find(|recipe| recipe.name == "fine")
        .expect("read");
    assert_eq!(fine.rows[0].spark_gap_um.value(), 40.0);
}

#[test]
fn every_flaw_is_told_with_its_line() {
    let own = "[material.tool-steel]\n\
               rate_mm2_min = 0\n\
               rate_factor = 1\n\
               density_g_cm3 = \"heavy\"\n\
               [material.new]\n\
               title = \"new\"\n\
               rate_mm2_min = { value = 100, low = 120 }\n\
               [wire]\n\
               default_kind = \"bras\"\n\
               [recipe.x]\n\
               materials = [\"tool-steal\"]\n\
               pass = [{}, {}]\n\
               [machine.typical]\n\
               drive = \"rope\"\n\
               [calibration.y]\n\
               [wire-kind.brass]\n\
               sizes_mm = [0.25, 0.22]\n";
    let flaws = flaws(own);
    let on = |line: usize| {
        let found: Vec<&str> = flaws
            .iter()
            .filter(|f| f.0 == line)
            .map(|f| f.2.as_str())
            .collect();
        found.join("; ")
    };
    assert!(on(2).contains("0 where a number above 0 is needed"), "{flaws:?}");
    assert!(on(3).contains("did you mean `ra_factor`") || on(3).contains("did you mean `rate_mm2_min`"));
    assert!(on(4).contains("a string where a number above 0 is needed"));
    assert!(on(5).contains("`ra_factor` is missing") && on(5).contains("`drill_mm_min` is missing"));
    assert!(on(7).contains("in this order"));
    assert!(on(9).contains("did you mean `brass`"));
    assert!(on(11).contains("did you mean `tool-steel`"));
    assert!(on(14).contains("`linear-scale` or `rotary-encoder`"));
    assert!(on(15).contains("`material` is missing"));
    // One of the form that counted some minutes twice is not taken in silence.
    assert!(on(15).contains("`minutes_hold` is missing") && on(15).contains("run `kerfwright calibrate`"));
    assert!(on(17).contains("0.22 mm has no [wire-size."), "{flaws:?}");
}

#[test]
fn text_that_is_no_toml_is_told_with_its_line() {
    let flaws = flaws("[money]\ncurrency = \"CHF\"\nsetup = = 3\n");
    assert!(flaws.iter().any(|flaw| flaw.0 == 3), "{flaws:?}");
}

#[test]
fn every_number_of_the_built_in_book_names_its_source() {
    let book = Book::built_in().expect("sound");
    let numbers = book.numbers();
    assert!(numbers.len() > 150, "{}", numbers.len());
    for listed in &numbers {
        assert!(!listed.number.source.is_empty(), "{}", listed.entry);
        assert!(
            listed.number.basis != Basis::Given && listed.number.basis != Basis::Shop,
            "{}",
            listed.entry
        );
    }
    let mut entries: Vec<&str> = numbers.iter().map(|listed| listed.entry.as_str()).collect();
    entries.sort_unstable();
    entries.dedup();
    assert_eq!(entries.len(), numbers.len());
}

/// What the list prints is what the text says: every number of the data files is listed.
#[test]
fn no_number_of_the_text_is_left_out_of_the_list() {
    let book = Book::built_in().expect("sound");
    let written = super::layers::BUILT_IN
        .lines()
        .filter(|line| line.contains("{ value ="))
        .count();
    assert_eq!(book.numbers().len(), written);
}

#[test]
fn a_new_book_changes_nothing_until_its_lines_are_put_in_force() {
    let untouched = Book::layered(STARTER).expect("sound");
    assert_eq!(untouched, Book::built_in().expect("sound"));
    let example = |line: &str| match line.strip_prefix('#') {
        Some(rest) if !rest.starts_with(' ') || rest.trim_start().starts_with('{') => rest.to_owned(),
        _ => line.to_owned(),
    };
    let in_force: Vec<String> = STARTER.lines().map(example).collect();
    let book = Book::layered(&in_force.join("\n")).expect("its examples are sound");
    assert_eq!(book.default_machine, "north");
    assert_eq!(book.recipes[0].rows.len(), 3);
    assert!(book.machine_rate.is_some() && book.materials.contains_key("spring-steel"));
}

#[test]
fn steps_that_make_no_sense_are_doubted() {
    let doubts = |own: &str| {
        let book = Book::layered(own).expect("sound");
        let doubts = book.doubts();
        doubts
            .into_iter()
            .filter(|d| d.recipe != "pass-table")
            .map(|d| (d.pass, d.reason))
            .collect::<Vec<_>>()
    };
    let sound = "[recipe.a]\npass = [{ form_error_um = 3, ra_um = 1 }, { taken_um = 20, form_error_um = 2 , ra_um = 0.4}]\n";
    assert_eq!(doubts(sound), []);
    let odd = "[recipe.a]\npass = [{ spark_gap_um = 5, ra_um = 1 }, { spark_gap_um = 40, taken_um = 1, ra_um = 2 }, \
               { spark_gap_um = 0, taken_um = 60 }]\n";
    let found = doubts(odd);
    for (pass, word) in [
        (2, "offset"),
        (2, "spark gap"),
        (2, "no finer"),
        (2, "takes 1 µm"),
        (3, "touch"),
    ] {
        assert!(
            found
                .iter()
                .any(|(n, reason)| n.number() == pass && reason.contains(word)),
            "{word}: {found:?}"
        );
    }
    // The built-in table's own steps fall, and take less than the worst case of the pass before: said, not hidden.
    let built_in = Book::built_in().expect("sound").doubts();
    assert!(
        built_in.iter().all(|doubt| doubt.reason.contains("may need")),
        "{built_in:?}"
    );
}
