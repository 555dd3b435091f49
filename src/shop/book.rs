use std::collections::BTreeMap;

use super::material::same_name;
use super::recipe::Case;
use super::{
    AmbiguousMaterial, Calibration, Figure, GaugingErrors, Machine, MachineError, MachineRate, Material,
    MaterialError, Prices, Recipe, RecipePass, RefusedMaterial, Room, Rules, SingleCut, Term, TestPieceSizes,
    Times, Wire, WireDefaults, WireError, WireKind, WireSize, nearest, same_wire,
};

/// The shop's own data: what the built-in book says, with the user's own book layered over it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Book {
    /// Materials by name.
    pub materials: BTreeMap<String, Material>,
    /// Materials that are not cut, by name.
    pub refused: BTreeMap<String, RefusedMaterial>,
    /// Names that can mean more than one material.
    pub ambiguous: BTreeMap<String, AmbiguousMaterial>,
    /// What holds for all wires.
    pub wire: WireDefaults,
    /// Wire kinds by name.
    pub wire_kinds: BTreeMap<String, WireKind>,
    /// Wire diameters, thinnest first.
    pub wire_sizes: Vec<WireSize>,
    /// The pass table, rough first: rows 1 to n make the built-in recipe of n passes.
    pub pass_table: Vec<RecipePass>,
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
    /// What an hour of the machine is made of, where the shop gives it instead of a plain price.
    pub machine_rate: Option<MachineRate>,
    /// Currency of all prices.
    pub currency: String,
    /// The room.
    pub room: Room,
    /// How a test piece is gauged.
    pub gauging: GaugingErrors,
    /// The test piece by which offsets are gauged.
    pub test_piece: TestPieceSizes,
    /// Finish where the job has no requirement, as written.
    pub default_finish: String,
    /// Tolerance where the job has no requirement, as written.
    pub default_tolerance: String,
    /// Name of the machine that is used where none is given.
    pub default_machine: String,
    /// What finished jobs have taught.
    pub calibrations: Vec<Calibration>,
    /// The texts in TOML that were laid over each other, the built-in one first.
    pub texts: Vec<String>,
}

impl Book {
    /// The material of that name, alias or designation, however it is spaced.
    pub fn material(&self, asked: &str) -> Result<&Material, MaterialError> {
        let same = |name: &str| same_name(name, asked);
        if let Some(material) = self.materials.values().find(|m| same(&m.name)) {
            return Ok(material);
        }
        if let Some(material) = self.materials.values().find(|m| m.names().any(same)) {
            return Ok(material);
        }
        let called = |name: &str, aliases: &[String]| same(name) || aliases.iter().any(|alias| same(alias));
        let refused = self.refused.iter().find(|(name, r)| called(name, &r.aliases));
        if let Some((_, refused)) = refused {
            return Err(MaterialError::Refused {
                asked: asked.to_owned(),
                reason: refused.reason.clone(),
            });
        }
        let ambiguous = self.ambiguous.iter().find(|(name, a)| called(name, &a.aliases));
        if let Some((_, ambiguous)) = ambiguous {
            return Err(MaterialError::Ambiguous {
                asked: asked.to_owned(),
                readings: ambiguous.readings.clone(),
            });
        }
        let words = self
            .materials
            .values()
            .flat_map(|m| m.names().map(move |name| (name, m)));
        let named: BTreeMap<&str, &Material> = words.collect();
        Err(MaterialError::Unknown {
            asked: asked.to_owned(),
            suggestion: nearest(asked, named.keys().copied()).map(|word| named[word].name.clone()),
            known: self.materials.keys().cloned().collect(),
        })
    }

    /// Returns the wire of that diameter (mm) and kind.
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

    /// Returns every wire of the book, finest first.
    pub fn wires(&self) -> impl Iterator<Item = Wire<'_>> {
        self.wire_sizes.iter().flat_map(|size| {
            let kinds = self.wire_kinds.values();
            kinds
                .filter(|kind| kind.sizes_mm.iter().any(|mm| same_wire(*mm, size.diameter_mm)))
                .map(move |kind| Wire { size, kind })
        })
    }

    /// Returns the machine of that name, or the default one.
    pub fn machine(&self, asked: Option<&str>) -> Result<&Machine, MachineError> {
        let asked = asked.unwrap_or(&self.default_machine);
        self.machines.get(asked).ok_or_else(|| MachineError {
            asked: asked.to_owned(),
            suggestion: nearest(asked, self.machines.keys().map(String::as_str)).map(str::to_owned),
            known: self.machines.keys().cloned().collect(),
        })
    }

    /// Returns the cost of an hour of the machine: by its structure where the book gives one, else the plain price.
    pub fn machine_per_hour(&self) -> Figure {
        self.machine_rate.as_ref().map_or_else(
            || {
                let price = &self.prices.machine_per_hour;
                let term = Term::of("machine price", price, "/h");
                Figure::new("machine rate", price.band, "/h", "machine price", vec![term])
            },
            MachineRate::per_hour,
        )
    }

    /// Returns the own recipe that is most specific to this case; the later one of two alike.
    pub fn recipe(&self, case: &Case<'_>) -> Option<&Recipe> {
        self.recipes
            .iter()
            .filter(|recipe| recipe.suits(case))
            .max_by_key(|recipe| recipe.says())
    }

    /// Returns the calibration for this material and wire on this machine: its own before one of all machines.
    pub fn calibration(
        &self,
        material: &str,
        wire_mm: f64,
        wire_kind: &str,
        machine: &str,
    ) -> Option<&Calibration> {
        let suit = |c: &&Calibration| c.suits(material, wire_mm, wire_kind, machine);
        let mut suiting = self.calibrations.iter().filter(suit);
        suiting
            .clone()
            .find(|c| c.machine.is_some())
            .or_else(|| suiting.next())
    }

    /// Returns this book as it is without what finished jobs have taught.
    pub fn without_calibrations(&self) -> Self {
        Self {
            calibrations: Vec::new(),
            ..self.clone()
        }
    }

    /// Returns the most passes of any recipe of the book.
    pub fn most_passes(&self) -> usize {
        self.recipes
            .iter()
            .map(|recipe| recipe.rows.len())
            .fold(self.pass_table.len(), usize::max)
    }
}
