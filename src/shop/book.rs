use std::collections::BTreeMap;

use super::entry::{Entry, Sheet};
use super::recipe::Case;
use super::{
    Calibration, Flaw, Flaws, Machine, MachineError, Material, MaterialError, Origin, PassRow, Prices,
    Recipe, Refused, Room, Rules, SingleCut, Times, Wire, WireDefaults, WireError, WireKind, WireSize,
    nearest, same_wire,
};

/// The shop's own data: what the built-in book says, with the user's own book layered over it.
#[derive(Clone, Debug, PartialEq)]
pub struct Book {
    /// Materials by name.
    pub materials: BTreeMap<String, Material>,
    /// Materials that are not cut, by name.
    pub refused: BTreeMap<String, Refused>,
    /// What holds for all wires.
    pub wire: WireDefaults,
    /// Wire kinds by name.
    pub wire_kinds: BTreeMap<String, WireKind>,
    /// Wire diameters, thinnest first.
    pub wire_sizes: Vec<WireSize>,
    /// The pass table, rough first: rows 1 to n make the built-in recipe of n passes.
    pub pass_table: Vec<PassRow>,
    /// What is different when there is only one cut.
    pub single_cut: SingleCut,
    /// The shop's own recipes.
    pub recipes: Vec<Recipe>,
    /// How rates, gaps and errors change away from the reference.
    pub rules: Rules,
    /// Machines by name.
    pub machines: BTreeMap<String, Machine>,
    /// Time beside the cut.
    pub times: Times,
    /// Prices.
    pub prices: Prices,
    /// Currency of all prices.
    pub currency: String,
    /// The room.
    pub room: Room,
    /// Finish asked when nothing is asked, as written.
    pub default_finish: String,
    /// Tolerance asked when nothing is asked, as written.
    pub default_tolerance: String,
    /// Name of the machine that is meant when none is asked for.
    pub default_machine: String,
    /// What finished jobs have taught.
    pub calibrations: Vec<Calibration>,
}

/// The built-in book, file by file, in one text so that lines count through.
const BUILT_IN: &str = concat!(
    include_str!("../data/materials.toml"),
    include_str!("../data/wires.toml"),
    include_str!("../data/passes.toml"),
    include_str!("../data/rules.toml"),
    include_str!("../data/machines.toml"),
    include_str!("../data/rates.toml"),
    include_str!("../data/room.toml"),
);

/// A book under construction: every part may still be missing.
#[derive(Default)]
struct Layers {
    materials: BTreeMap<String, Material>,
    refused: BTreeMap<String, Refused>,
    wire: Option<WireDefaults>,
    wire_kinds: BTreeMap<String, WireKind>,
    wire_sizes: Vec<WireSize>,
    pass_table: Vec<PassRow>,
    single_cut: Option<SingleCut>,
    recipes: Vec<Recipe>,
    rules: Option<Rules>,
    machines: BTreeMap<String, Machine>,
    times: Option<Times>,
    prices: Option<Prices>,
    currency: Option<String>,
    room: Option<Room>,
    default_finish: Option<String>,
    default_tolerance: Option<String>,
    default_machine: Option<String>,
    calibrations: Vec<Calibration>,
}

impl Book {
    /// The book that comes with the program.
    pub fn built_in() -> Result<Self, Flaws> {
        let mut layers = Layers::default();
        layers.lay(BUILT_IN, Origin::BuiltIn)?;
        layers.finish()
    }

    /// The built-in book with the shop's own over it: what the own text says replaces or extends, entry by
    /// entry and number by number. Fails with every flaw of the text, each with its line.
    pub fn layered(own: &str) -> Result<Self, Flaws> {
        let mut layers = Layers::default();
        layers.lay(BUILT_IN, Origin::BuiltIn)?;
        layers.lay(own, Origin::Own)?;
        layers.finish()
    }

    /// The material of that name or alias, whatever its case.
    pub fn material(&self, asked: &str) -> Result<&Material, MaterialError> {
        let same = |name: &str| name.eq_ignore_ascii_case(asked.trim());
        if let Some(material) = self.materials.values().find(|m| same(&m.name)) {
            return Ok(material);
        }
        if let Some(material) = self
            .materials
            .values()
            .find(|m| m.aliases.iter().any(|a| same(a)))
        {
            return Ok(material);
        }
        let refused = self
            .refused
            .iter()
            .find(|(name, r)| same(name) || r.aliases.iter().any(|a| same(a)));
        if let Some((_, refused)) = refused {
            return Err(MaterialError::Refused {
                asked: asked.to_owned(),
                reason: refused.reason.clone(),
            });
        }
        let words = self.materials.values().flat_map(|m| {
            std::iter::once((m.name.as_str(), m))
                .chain(m.aliases.iter().map(move |alias| (alias.as_str(), m)))
        });
        let named: BTreeMap<&str, &Material> = words.collect();
        Err(MaterialError::Unknown {
            asked: asked.to_owned(),
            suggestion: nearest(asked, named.keys().copied()).map(|word| named[word].name.clone()),
            known: self.materials.keys().cloned().collect(),
        })
    }

    /// The wire of that diameter (mm) and kind.
    pub fn wire(&self, diameter_mm: f64, kind: &str) -> Result<Wire<'_>, WireError> {
        let size = self
            .wire_sizes
            .iter()
            .find(|size| same_wire(size.diameter_mm, diameter_mm));
        let size = size.ok_or_else(|| WireError::Size {
            asked_mm: diameter_mm,
            known_mm: self.wire_sizes.iter().map(|size| size.diameter_mm).collect(),
        })?;
        let kind = self.wire_kinds.get(kind).ok_or_else(|| WireError::Kind {
            asked: kind.to_owned(),
            suggestion: nearest(kind, self.wire_kinds.keys().map(String::as_str)).map(str::to_owned),
            known: self.wire_kinds.keys().cloned().collect(),
        })?;
        if kind.sizes_mm.iter().any(|mm| same_wire(*mm, diameter_mm)) {
            Ok(Wire { size, kind })
        } else {
            Err(WireError::NotMade {
                kind: kind.name.clone(),
                asked_mm: diameter_mm,
                known_mm: kind.sizes_mm.clone(),
            })
        }
    }

    /// Every wire of the book, thinnest first.
    pub fn wires(&self) -> impl Iterator<Item = Wire<'_>> {
        self.wire_sizes.iter().flat_map(|size| {
            let kinds = self.wire_kinds.values();
            kinds
                .filter(|kind| kind.sizes_mm.iter().any(|mm| same_wire(*mm, size.diameter_mm)))
                .map(move |kind| Wire { size, kind })
        })
    }

    /// The machine of that name, or the default one.
    pub fn machine(&self, asked: Option<&str>) -> Result<&Machine, MachineError> {
        let asked = asked.unwrap_or(&self.default_machine);
        self.machines.get(asked).ok_or_else(|| MachineError {
            asked: asked.to_owned(),
            suggestion: nearest(asked, self.machines.keys().map(String::as_str)).map(str::to_owned),
            known: self.machines.keys().cloned().collect(),
        })
    }

    /// The own recipe that says most of this case; the later one where two say as much.
    pub fn recipe(&self, case: &Case<'_>) -> Option<&Recipe> {
        self.recipes
            .iter()
            .filter(|recipe| recipe.suits(case))
            .max_by_key(|recipe| recipe.says())
    }

    /// The calibration for this material and wire.
    pub fn calibration(&self, material: &str, wire_mm: f64, wire_kind: &str) -> Option<&Calibration> {
        self.calibrations
            .iter()
            .find(|c| c.suits(material, wire_mm, wire_kind))
    }

    /// Most passes that any recipe of the book has.
    pub fn most_passes(&self) -> usize {
        self.recipes
            .iter()
            .map(|recipe| recipe.rows.len())
            .fold(self.pass_table.len(), usize::max)
    }
}

impl Layers {
    fn lay(&mut self, text: &str, origin: Origin) -> Result<(), Flaws> {
        let sheet = Sheet::new(text, origin);
        let table = sheet.parse();
        let root = Entry::root(&sheet, &table);
        self.lay_work(&root);
        self.lay_passes(&root);
        self.lay_shop(&root);
        root.finish();
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
            if let Some(refused) = Refused::read(&entry) {
                self.materials.remove(&name);
                self.refused.insert(name, refused);
            }
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
        let mut rows: Vec<(usize, Entry<'_, '_>)> = Vec::new();
        for (name, entry) in root.children("pass-table") {
            match name.parse() {
                Ok(pass) if (1..=99).contains(&pass) => rows.push((pass, entry)),
                _ => entry.flaw("rows of the pass table are numbered from 1"),
            }
        }
        rows.sort_by_key(|(pass, _)| *pass);
        for (pass, entry) in rows {
            if pass > self.pass_table.len() + 1 {
                entry.flaw(format!("row {} is missing before it", self.pass_table.len() + 1));
                continue;
            }
            let row = PassRow::read(&entry, pass, self.pass_table.get(pass - 1), "skim_rate_mm2_min");
            match (row, self.pass_table.get_mut(pass - 1)) {
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
            let like = self.machines.values().next();
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
        if let Some(entry) = root.child("room") {
            self.room = Room::read(&entry, self.room.as_ref());
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

    fn finish(self) -> Result<Book, Flaws> {
        let missing = |part: &str| {
            Flaws(vec![Flaw {
                origin: Origin::BuiltIn,
                line: 1,
                entry: part.to_owned(),
                reason: "this part of the book is missing".to_owned(),
            }])
        };
        Ok(Book {
            materials: self.materials,
            refused: self.refused,
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
            currency: self.currency.ok_or_else(|| missing("money.currency"))?,
            room: self.room.ok_or_else(|| missing("room"))?,
            default_finish: self.default_finish.ok_or_else(|| missing("demand.finish"))?,
            default_tolerance: self
                .default_tolerance
                .ok_or_else(|| missing("demand.tolerance"))?,
            default_machine: self.default_machine.ok_or_else(|| missing("demand.machine"))?,
            calibrations: self.calibrations,
        })
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
