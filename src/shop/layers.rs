//! Lays one text of the book over another.

use std::collections::BTreeMap;

use super::entry::{BookText, Entry};
use super::{
    AmbiguousMaterial, Book, Calibration, Flaw, FlawSource, Flaws, GaugingErrors, Machine, MachineRate,
    Material, Prices, Recipe, RecipePass, RefusedMaterial, Room, Rules, SingleCut, TestPieceSizes, Times,
    WireDefaults, WireKind, WireSize, nearest, same_wire,
};
use crate::id::PassNo;

/// The built-in book, file by file, in one text so that lines count through.
pub(super) const BUILT_IN: &str = concat!(
    include_str!("../data/materials.toml"),
    include_str!("../data/wires.toml"),
    include_str!("../data/passes.toml"),
    include_str!("../data/rules.toml"),
    include_str!("../data/machines.toml"),
    include_str!("../data/rates.toml"),
    include_str!("../data/room.toml"),
);

/// Most rows that a pass table may have.
const MOST_PASSES: usize = 99;

/// A book under construction: every part may still be missing.
#[derive(Default)]
pub(super) struct Layers {
    materials: BTreeMap<String, Material>,
    refused: BTreeMap<String, RefusedMaterial>,
    ambiguous: BTreeMap<String, AmbiguousMaterial>,
    wire: Option<WireDefaults>,
    wire_kinds: BTreeMap<String, WireKind>,
    wire_sizes: Vec<WireSize>,
    pass_table: Vec<RecipePass>,
    single_cut: Option<SingleCut>,
    recipes: Vec<Recipe>,
    rules: Option<Rules>,
    machines: BTreeMap<String, Machine>,
    times: Option<Times>,
    prices: Option<Prices>,
    machine_rate: Option<MachineRate>,
    currency: Option<String>,
    room: Option<Room>,
    gauging: Option<GaugingErrors>,
    test_piece: Option<TestPieceSizes>,
    default_finish: Option<String>,
    default_tolerance: Option<String>,
    default_machine: Option<String>,
    calibrations: Vec<Calibration>,
    texts: Vec<String>,
}

impl Layers {
    pub(super) fn lay(&mut self, text: &str, origin: FlawSource) -> Result<(), Flaws> {
        let sheet = BookText::new(text, origin);
        let table = sheet.parse();
        let root = Entry::root(&sheet, &table);
        self.lay_work(&root);
        self.lay_passes(&root);
        self.lay_shop(&root);
        root.finish();
        // A book in which everything is commented out has no entry.
        if !table.is_empty() {
            self.texts.push(text.to_owned());
        }
        sheet.finish()
    }

    fn lay_work(&mut self, root: &Entry<'_, '_>) {
        for (name, entry) in root.children("material") {
            if let Some(material) = Material::read(&entry, &name, &self.materials) {
                self.refused.remove(&name);
                self.materials.insert(name, material);
            }
        }
        for (name, entry) in root.children("refused") {
            if let Some(refused) = RefusedMaterial::read(&entry) {
                self.materials.remove(&name);
                self.refused.insert(name, refused);
            }
        }
        for (name, entry) in root.children("ambiguous") {
            self.ambiguous.insert(name, AmbiguousMaterial::read(&entry));
        }
        if let Some(entry) = root.child("wire") {
            self.wire = WireDefaults::read(&entry, self.wire.as_ref());
        }
        for (name, entry) in root.children("wire-kind") {
            if let Some(kind) = WireKind::read(&entry, &name, self.wire_kinds.get(&name)) {
                self.wire_kinds.insert(name, kind);
            }
        }
        if let (Some(entry), Some(wire)) = (root.child("wire"), &self.wire) {
            known(&entry, "default_kind", &wire.kind, self.wire_kinds.keys());
        }
        for (name, entry) in root.children("wire-size") {
            let asked: Option<f64> = name.parse().ok();
            let at = asked.and_then(|mm| {
                self.wire_sizes
                    .iter()
                    .position(|size| same_wire(size.diameter_mm, mm))
            });
            if let Some(size) = WireSize::read(&entry, &name, at.map(|i| &self.wire_sizes[i])) {
                self.wire_sizes
                    .retain(|old| !same_wire(old.diameter_mm, size.diameter_mm));
                self.wire_sizes.push(size);
            }
        }
        for (name, entry) in root.children("wire-kind") {
            let Some(kind) = self.wire_kinds.get(&name) else {
                continue;
            };
            let listed = |mm: &f64| {
                self.wire_sizes
                    .iter()
                    .any(|size| same_wire(size.diameter_mm, *mm))
            };
            if let Some(mm) = kind.sizes_mm.iter().find(|mm| !listed(mm)) {
                entry.flaw_at("sizes_mm", format!("{mm} mm has no [wire-size.\"{mm}\"]"));
            }
        }
        self.wire_sizes
            .sort_by(|a, b| a.diameter_mm.total_cmp(&b.diameter_mm));
    }

    fn lay_passes(&mut self, root: &Entry<'_, '_>) {
        let mut rows: Vec<(PassNo, Entry<'_, '_>)> = Vec::new();
        for (name, entry) in root.children("pass-table") {
            let number = name.parse().ok().filter(|number| *number <= MOST_PASSES);
            match number.and_then(PassNo::new) {
                Some(pass) => rows.push((pass, entry)),
                None => entry.flaw("rows of the pass table are numbered from 1"),
            }
        }
        rows.sort_by_key(|(pass, _)| *pass);
        for (pass, entry) in rows {
            let next = PassNo::from_index(self.pass_table.len());
            if pass > next {
                entry.flaw(format!("row {next} is missing before it"));
                continue;
            }
            let row = RecipePass::read(
                &entry,
                pass,
                self.pass_table.get(pass.index()),
                "skim_rate_mm2_min",
            );
            match (row, self.pass_table.get_mut(pass.index())) {
                (Some(row), Some(old)) => *old = row,
                (Some(row), None) => self.pass_table.push(row),
                (None, _) => {}
            }
        }
        if let Some(entry) = root.child("single-cut") {
            self.single_cut = SingleCut::read(&entry, self.single_cut.as_ref());
        }
        if let Some(entry) = root.child("rule") {
            self.rules = Rules::read(&entry, self.rules.as_ref());
        }
        for (name, entry) in root.children("recipe") {
            if let Some(recipe) = Recipe::read(&entry, &name, &self.pass_table) {
                for material in &recipe.materials {
                    known(&entry, "materials", material, self.materials.keys());
                }
                if let Some(kind) = &recipe.wire_kind {
                    known(&entry, "wire_kind", kind, self.wire_kinds.keys());
                }
                self.recipes.push(recipe);
            }
        }
        for (name, entry) in root.children("calibration") {
            if let Some(calibration) = Calibration::read(&entry, &name) {
                known(&entry, "material", &calibration.material, self.materials.keys());
                known(
                    &entry,
                    "wire_kind",
                    &calibration.wire_kind,
                    self.wire_kinds.keys(),
                );
                self.calibrations.push(calibration);
            }
        }
    }

    fn lay_shop(&mut self, root: &Entry<'_, '_>) {
        for (name, entry) in root.children("machine") {
            let like = self
                .default_machine
                .as_ref()
                .and_then(|name| self.machines.get(name));
            if let Some(machine) = Machine::read(&entry, &name, self.machines.get(&name), like) {
                self.machines.insert(name, machine);
            }
        }
        if let Some(entry) = root.child("time") {
            self.times = Times::read(&entry, self.times.as_ref());
        }
        if let Some(entry) = root.child("money") {
            self.currency = entry.text("currency", self.currency.as_deref());
            self.prices = Prices::read(&entry, self.prices.as_ref());
        }
        if let Some(entry) = root.child("machine-rate") {
            self.machine_rate = MachineRate::read(&entry, self.machine_rate.as_ref());
        }
        if let Some(entry) = root.child("room") {
            self.room = Room::read(&entry, self.room.as_ref());
        }
        if let Some(entry) = root.child("gauging") {
            self.gauging = GaugingErrors::read(&entry, self.gauging.as_ref());
        }
        if let Some(entry) = root.child("test-piece") {
            self.test_piece = TestPieceSizes::read(&entry, self.test_piece.as_ref());
        }
        if let Some(entry) = root.child("demand") {
            self.default_finish = entry.text("finish", self.default_finish.as_deref());
            self.default_tolerance = entry.text("tolerance", self.default_tolerance.as_deref());
            self.default_machine = entry.text("machine", self.default_machine.as_deref());
            if let Some(machine) = &self.default_machine {
                known(&entry, "machine", machine, self.machines.keys());
            }
            entry.finish();
        }
    }

    pub(super) fn finish(self) -> Result<Book, Flaws> {
        let missing = |part: &str| {
            Flaws(vec![Flaw {
                origin: FlawSource::BuiltIn,
                line: 1,
                entry: part.to_owned(),
                reason: "this part of the book is missing".to_owned(),
            }])
        };
        Ok(Book {
            materials: self.materials,
            refused: self.refused,
            ambiguous: self.ambiguous,
            wire: self.wire.ok_or_else(|| missing("wire"))?,
            wire_kinds: self.wire_kinds,
            wire_sizes: self.wire_sizes,
            pass_table: self.pass_table,
            single_cut: self.single_cut.ok_or_else(|| missing("single-cut"))?,
            recipes: self.recipes,
            rules: self.rules.ok_or_else(|| missing("rule"))?,
            machines: self.machines,
            times: self.times.ok_or_else(|| missing("time"))?,
            prices: self.prices.ok_or_else(|| missing("money"))?,
            machine_rate: self.machine_rate,
            currency: self.currency.ok_or_else(|| missing("money.currency"))?,
            room: self.room.ok_or_else(|| missing("room"))?,
            gauging: self.gauging.ok_or_else(|| missing("gauging"))?,
            test_piece: self.test_piece.ok_or_else(|| missing("test-piece"))?,
            default_finish: self.default_finish.ok_or_else(|| missing("demand.finish"))?,
            default_tolerance: self
                .default_tolerance
                .ok_or_else(|| missing("demand.tolerance"))?,
            default_machine: self.default_machine.ok_or_else(|| missing("demand.machine"))?,
            calibrations: self.calibrations,
            texts: self.texts,
        })
    }
}

impl Book {
    /// The book that comes with the program.
    ///
    /// # Errors
    /// None but a fault of this version: every test reads it.
    pub fn built_in() -> Result<Self, Flaws> {
        let mut layers = Layers::default();
        layers.lay(BUILT_IN, FlawSource::BuiltIn)?;
        layers.finish()
    }

    /// The built-in book with the shop's own over it: what the own text says replaces or extends, entry by
    /// entry and number by number.
    ///
    /// ```
    /// use kerfwright::Book;
    ///
    /// let book = Book::layered("[time]\nsetup_min = 25\n")?;
    /// assert_eq!(book.times.setup_min.value(), 25.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// Every flaw of the text, each with its line.
    pub fn layered(own: &str) -> Result<Self, Flaws> {
        let mut layers = Layers::default();
        layers.lay(BUILT_IN, FlawSource::BuiltIn)?;
        layers.lay(own, FlawSource::Own)?;
        layers.finish()
    }
}

/// A flaw when one part of the book names something that another does not have.
fn known<'n>(entry: &Entry<'_, '_>, key: &str, word: &str, names: impl Iterator<Item = &'n String> + Clone) {
    if names.clone().any(|name| name == word) {
        return;
    }
    let hint = nearest(word, names.map(String::as_str))
        .map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    entry.flaw_at(key, format!("`{word}` is not in the book{hint}"));
}
