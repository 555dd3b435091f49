//! Half the kerf of a pass from the pin and the opening that it left. The wire's centre runs round both on rectangles of one width W
//! in the last pass; with the machine's scale s and lost motion β the pin is P = W(1 + s) − β − 2k across and the opening
//! O = W(1 + s) − β + 2k, so that k = (O − P)/4 holds neither. In an earlier pass j the paths differ by 4(offset_j − offset_n).

use std::collections::BTreeMap;

use serde::Serialize;

use super::outlier::{OutlyingReading, outlying};
use super::readings::{Across, Error, FEWEST_READINGS, GaugedHeight, GaugedWall, MeasuredSize, SizeReading};
use super::uncertainty::{OUTSIDE, Uncertainty, UncertaintyTerm};
use crate::id::PassNo;
use crate::units::UM_PER_MM;

/// Most readings more of each place that are thought of.
const MOST_MORE: usize = 1000;

/// A quantity that was gauged, µm.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct GaugedValue {
    /// What it is, µm.
    pub value_um: f64,
    /// How far it may be off.
    #[serde(flatten)]
    pub uncertainty: Uncertainty,
    /// What makes that up.
    pub terms: Vec<UncertaintyTerm>,
}

/// Half a kerf across one pair of flats.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[non_exhaustive]
pub struct AxisHalfKerf {
    /// Across which flats.
    pub across: Across,
    /// Half the kerf, mm.
    pub half_kerf_mm: f64,
    /// By how much the mean of pin and opening is more than the width of the wire's path: scale and lost motion, µm.
    pub path_off_um: f64,
}

/// What beside the readings goes into half a kerf.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct KnownLimits {
    /// Plus or minus, of what is gauged outside, µm.
    pub(super) outside_um: f64,
    /// Plus or minus, of what is gauged inside, µm.
    pub(super) inside_um: f64,
    /// Plus or minus, between the two, µm.
    pub(super) inside_against_outside_um: f64,
    /// Plus or minus, of a size by the temperature, µm.
    pub(super) temperature_um: f64,
    /// Plus or minus, share of a length by the machine's scale.
    pub(super) scale: f64,
}

/// What a pass was cut with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CutWith {
    pub(super) pass: PassNo,
    /// Its offset, mm.
    pub(super) offset_mm: f64,
    /// That of the last pass, mm.
    pub(super) last_offset_mm: f64,
    /// Size of the pin as drawn, mm.
    pub(super) pin_mm: [f64; 2],
}

/// Half the kerf of a pass, and what it came from.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct HalfKerf {
    pub(super) value: GaugedValue,
    pub(super) by_axis: Vec<AxisHalfKerf>,
    pub(super) outlying: Vec<OutlyingReading>,
    pub(super) walls: [WallPlaces; 2],
    counts: Counts,
}

/// Across which flats, and at which height.
type Place = (Across, Option<GaugedHeight>);

/// The places of one wall at which it was gauged.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct WallPlaces {
    /// Readings of a place, each with its line, mm.
    read: BTreeMap<Place, Vec<(usize, f64)>>,
    /// Largest gauge that goes and smallest that does not, mm.
    between: BTreeMap<Across, (f64, f64)>,
}

/// Returns half a kerf, mm, from the sizes across pin and opening and the offsets of the pass and of the last one.
pub(super) fn half_kerf_mm(pin_mm: f64, opening_mm: f64, offset_mm: f64, last_offset_mm: f64) -> f64 {
    (opening_mm - pin_mm) / 4.0 + (offset_mm - last_offset_mm)
}

/// Computes half the kerf of a pass from its readings, the mean of all axes that were gauged.
pub(super) fn gauged_half_kerf(
    cut: CutWith,
    sizes: &[SizeReading],
    limits: KnownLimits,
) -> Result<HalfKerf, Error> {
    let of_wall = |wall| {
        let own = sizes
            .iter()
            .filter(|size| size.pass == cut.pass && size.wall == wall);
        WallPlaces::of(cut.pass, wall, own)
    };
    let walls = [of_wall(GaugedWall::Pin)?, of_wall(GaugedWall::Opening)?];
    let axes: Vec<Across> = Across::ALL
        .into_iter()
        .filter(|&axis| walls.iter().any(|wall| wall.is_gauged(axis)))
        .collect();
    for (wall, places) in [GaugedWall::Pin, GaugedWall::Opening].into_iter().zip(&walls) {
        if axes.is_empty() || axes.iter().any(|&axis| !places.is_gauged(axis)) {
            return Err(Error::NotGauged { pass: cut.pass, wall });
        }
    }
    let by_axis: Vec<AxisHalfKerf> = axes.iter().map(|&axis| cut.across(axis, &walls)).collect();
    let mean_mm = by_axis.iter().map(|axis| axis.half_kerf_mm).sum::<f64>() / by_axis.len() as f64;
    let counts = Counts::of(&walls, &axes);
    let terms = cut.terms(&walls, &counts, limits);
    let outlying = walls.iter().filter_map(WallPlaces::outlying).collect();
    Ok(HalfKerf {
        value: GaugedValue {
            value_um: mean_mm * UM_PER_MM,
            uncertainty: Uncertainty::of(&terms, OUTSIDE),
            terms,
        },
        by_axis,
        outlying,
        walls,
        counts,
    })
}

impl CutWith {
    fn across(&self, across: Across, walls: &[WallPlaces; 2]) -> AxisHalfKerf {
        let [pin_mm, opening_mm] = [0, 1].map(|wall| walls[wall].size_mm(across));
        let drawn_mm = match across {
            Across::X => self.pin_mm[0],
            Across::Y => self.pin_mm[1],
        };
        // Both paths together: the one is as much wider as the other is narrower.
        let path_mm = drawn_mm + 2.0 * self.last_offset_mm;
        AxisHalfKerf {
            across,
            half_kerf_mm: half_kerf_mm(pin_mm, opening_mm, self.offset_mm, self.last_offset_mm),
            path_off_um: (f64::midpoint(pin_mm, opening_mm) - path_mm) * UM_PER_MM,
        }
    }

    /// What makes up the uncertainty of half the kerf: each counts a quarter of what it is on a size.
    fn terms(&self, walls: &[WallPlaces; 2], counts: &Counts, limits: KnownLimits) -> Vec<UncertaintyTerm> {
        const SHARE: f64 = 0.25;
        let names = ["readings of the pin", "readings of the opening"];
        let mut terms: Vec<UncertaintyTerm> = (0..2)
            .filter(|&wall| walls[wall].degrees() > 0)
            .map(|wall| {
                let standard_um = walls[wall].deviation_um() * counts.weights[wall].sqrt();
                UncertaintyTerm::read(names[wall], SHARE * standard_um, walls[wall].degrees() as f64)
            })
            .collect();
        let share = SHARE / counts.axes as f64;
        terms.extend(walls.iter().flat_map(|wall| {
            let pairs = wall.between.values();
            pairs.map(move |(goes_mm, not_mm)| {
                UncertaintyTerm::within(
                    "gauge that goes, and one that does not",
                    share * 0.5 * (not_mm - goes_mm) * UM_PER_MM,
                )
            })
        }));
        let within = |name, half_width_um: f64| UncertaintyTerm::within(name, half_width_um);
        terms.extend([
            within("outside instrument", SHARE * limits.outside_um),
            within("inside instrument", SHARE * limits.inside_um),
            within(
                "inside against outside instrument",
                SHARE * limits.inside_against_outside_um,
            ),
            within(
                "temperature of piece and instruments",
                SHARE * limits.temperature_um,
            ),
            within(
                "scale of the machine, taken as true",
                limits.scale * (self.offset_mm - self.last_offset_mm) * UM_PER_MM,
            ),
        ]);
        terms.retain(|term| term.standard_um > 0.0);
        terms
    }
}

/// How often the places were read, as it counts in the uncertainty.
#[derive(Clone, Debug, PartialEq)]
struct Counts {
    axes: usize,
    /// Of pin and opening: the sum over all places of 1/readings × (share of the place)².
    weights: [f64; 2],
    /// The same by place: its share and its readings.
    places: [Vec<(f64, usize)>; 2],
}

impl Counts {
    fn of(walls: &[WallPlaces; 2], axes: &[Across]) -> Self {
        let places = walls.each_ref().map(|wall| {
            let places = wall.read.iter().map(|((axis, _), readings)| {
                let heights = wall.read.keys().filter(|(other, _)| other == axis).count();
                ((axes.len() * heights) as f64, readings.len())
            });
            places.map(|(of, count)| (of.recip(), count)).collect::<Vec<_>>()
        });
        Self {
            axes: axes.len(),
            weights: places.each_ref().map(|places| weight(places, 0)),
            places,
        }
    }
}

fn weight(places: &[(f64, usize)], more: usize) -> f64 {
    let each = places
        .iter()
        .map(|(share, count)| share * share / (count + more) as f64);
    each.sum()
}

impl HalfKerf {
    /// Returns how many readings more of each place would halve the uncertainty; `None` where no number of them would, since the rest alone
    /// is more than half.
    pub(super) fn more_to_halve(&self) -> Option<usize> {
        let half_um = 0.5 * self.value.uncertainty.expanded_um;
        let is_halved = |more: usize| self.with_more(more).expanded_um <= half_um;
        if !is_halved(MOST_MORE) {
            return None;
        }
        let (mut too_few, mut enough) = (0, MOST_MORE);
        while too_few + 1 < enough {
            let middle = usize::midpoint(too_few, enough);
            if is_halved(middle) {
                enough = middle;
            } else {
                too_few = middle;
            }
        }
        Some(enough)
    }

    /// The uncertainty if every place had been read so many times more and the readings had strayed as they do.
    fn with_more(&self, more: usize) -> Uncertainty {
        let mut read = [0, 1]
            .into_iter()
            .filter(|&wall| self.walls[wall].deviation_um() > 0.0);
        let terms: Vec<UncertaintyTerm> = self
            .value
            .terms
            .iter()
            .map(|term| {
                if term.degrees.is_infinite() {
                    return *term;
                }
                let Some(wall) = read.next() else { return *term };
                let places = &self.counts.places[wall];
                let fewer = (weight(places, more) / self.counts.weights[wall]).sqrt();
                UncertaintyTerm::read(
                    term.name,
                    term.standard_um * fewer,
                    term.degrees + (more * places.len()) as f64,
                )
            })
            .collect();
        Uncertainty::of(&terms, OUTSIDE)
    }
}

impl WallPlaces {
    fn of<'a>(
        pass: PassNo,
        wall: GaugedWall,
        sizes: impl Iterator<Item = &'a SizeReading>,
    ) -> Result<Self, Error> {
        let mut places = Self::default();
        for size in sizes {
            match size.size {
                MeasuredSize::Read(read_mm) => {
                    let place = places.read.entry((size.across, size.height)).or_default();
                    place.push((size.line, read_mm));
                }
                MeasuredSize::Between {
                    goes_mm,
                    does_not_go_mm,
                } => {
                    let known = places
                        .between
                        .entry(size.across)
                        .or_insert((goes_mm, does_not_go_mm));
                    *known = (known.0.max(goes_mm), known.1.min(does_not_go_mm));
                }
            }
        }
        let few = places
            .read
            .iter()
            .find(|(_, readings)| readings.len() < FEWEST_READINGS);
        if let Some((&(across, height), readings)) = few {
            return Err(Error::TooFew {
                pass,
                wall,
                across,
                height,
                count: readings.len(),
            });
        }
        let both = places
            .between
            .keys()
            .find(|&&axis| places.read.keys().any(|(read, _)| *read == axis));
        if let Some(&across) = both {
            return Err(Error::BothWays { pass, wall, across });
        }
        let crossed = places
            .between
            .iter()
            .find(|(_, (goes_mm, not_mm))| goes_mm >= not_mm);
        match crossed {
            Some((&across, _)) => Err(Error::Contradiction { pass, wall, across }),
            None => Ok(places),
        }
    }

    fn is_gauged(&self, axis: Across) -> bool {
        self.between.contains_key(&axis) || self.read.keys().any(|(known, _)| *known == axis)
    }

    /// The size across, mm: the mean of all heights, or the middle between two gauges where it was not read.
    fn size_mm(&self, axis: Across) -> f64 {
        let means: Vec<f64> = self.heights(axis).map(|(_, mean_mm, _)| mean_mm).collect();
        match self.between.get(&axis) {
            Some((goes_mm, not_mm)) => f64::midpoint(*goes_mm, *not_mm),
            None => means.iter().sum::<f64>() / means.len() as f64,
        }
    }

    /// The heights at which it was read across these flats, each with its mean, mm, and its number of readings.
    fn heights(&self, axis: Across) -> impl Iterator<Item = (Option<GaugedHeight>, f64, usize)> + '_ {
        let own = self.read.iter().filter(move |((known, _), _)| *known == axis);
        own.map(|((_, height), readings)| (*height, mean(readings), readings.len()))
    }

    /// How far each reading lies from the mean of its place, with its line, mm.
    fn strays(&self) -> Vec<(usize, f64)> {
        let of_place = |readings: &Vec<(usize, f64)>| {
            let mean_mm = mean(readings);
            let strays = readings.iter().map(|(line, mm)| (*line, mm - mean_mm));
            strays.collect::<Vec<_>>()
        };
        self.read.values().flat_map(of_place).collect()
    }

    /// Degrees of freedom of how far its readings stray: all places together.
    fn degrees(&self) -> usize {
        self.read.values().map(|readings| readings.len() - 1).sum()
    }

    /// Standard deviation of a reading, µm, pooled over its places (JCGM 100, 4.2.4).
    pub(super) fn deviation_um(&self) -> f64 {
        let squares: f64 = self.strays().iter().map(|(_, mm)| mm * mm).sum();
        match self.degrees() {
            0 => 0.0,
            degrees => (squares / degrees as f64).sqrt() * UM_PER_MM,
        }
    }

    fn outlying(&self) -> Option<OutlyingReading> {
        outlying(&self.strays())
    }

    /// Half of what the size differs over the heights, a side, plus or minus, and the expanded uncertainty of it, µm; the largest of
    /// both axes. `None` where no two heights were read.
    pub(super) fn form_error_um(&self) -> Option<(f64, f64)> {
        let of_axis = |axis| {
            let by_size = |a: &(_, f64, usize), b: &(_, f64, usize)| a.1.total_cmp(&b.1);
            let largest = self.heights(axis).max_by(by_size)?;
            let smallest = self.heights(axis).min_by(by_size)?;
            // Two walls, and to either side of the middle.
            let share = 0.25 * UM_PER_MM;
            let standard_um = 0.25
                * self.deviation_um()
                * ((largest.2 as f64).recip() + (smallest.2 as f64).recip()).sqrt();
            let term = UncertaintyTerm::read("readings", standard_um, self.degrees() as f64);
            let expanded_um = Uncertainty::of(&[term], OUTSIDE).expanded_um;
            (self.heights(axis).count() > 1).then_some((share * (largest.1 - smallest.1), expanded_um))
        };
        let axes = Across::ALL.into_iter().filter_map(of_axis);
        axes.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// How many readings there are.
    pub(super) fn count(&self) -> usize {
        self.read.values().map(Vec::len).sum::<usize>() + self.between.len()
    }
}

fn mean(readings: &[(usize, f64)]) -> f64 {
    readings.iter().map(|(_, mm)| mm).sum::<f64>() / readings.len() as f64
}
