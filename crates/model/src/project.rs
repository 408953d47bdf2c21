//! The project: everything that a project file holds.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use glam::DVec2;
use serde::{Deserialize, Serialize};

use crate::bounds::{self, OutOfRange};
use crate::feature::{KeyingFeature, ThreadSize};
use crate::holds::HoldInputs;
use crate::items::{check_amounts, items, layouts, trials};
use crate::material::Material;
use crate::moulding::Moulding;
use crate::note::{Note, Variant};
use crate::part::{Part, Run};
use crate::scatter::Scatter;
use crate::sheet::{Datum, SheetChoices};
use crate::tooling::{Ejector, HoleUse, PlateHole, Plates, Press, Sprue, Vent};
use crate::trial::Trial;

/// Names one item of a project; unique over all kinds of item, never reused within a project's undo
/// history.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Id(pub u32);

impl Id {
    /// The largest number that an item may have: there are always free ones beyond it.
    pub const MOST: Self = Self(1_000_000_000);
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The sort of an item, which gives its tag letter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[expect(missing_docs, reason = "the variants are the item kinds")]
pub enum ItemKind {
    Run,
    Sprue,
    Vent,
    Feature,
    Hole,
    Ejector,
    Note,
}

impl ItemKind {
    /// Letter in front of an item's number in its tag.
    pub const fn letter(self) -> char {
        match self {
            Self::Run => 'R',
            Self::Sprue => 'S',
            Self::Vent => 'V',
            Self::Feature => 'K',
            Self::Hole => 'H',
            Self::Ejector => 'E',
            Self::Note => 'N',
        }
    }
}

/// One item of a project, whole.
#[derive(Clone, Debug, PartialEq)]
#[expect(missing_docs, reason = "the variants are the item kinds")]
pub enum Item {
    Run(Run),
    Sprue(Sprue),
    Vent(Vent),
    Feature(KeyingFeature),
    Hole(PlateHole),
    Ejector(Ejector),
    Note(Note),
}

impl Item {
    /// Moves it by a distance in the plan, mm.
    pub fn shift(&mut self, by_mm: DVec2) {
        match self {
            Self::Run(run) => run.points.iter_mut().for_each(|point| point.at += by_mm),
            Self::Sprue(sprue) => sprue.at += by_mm,
            Self::Vent(vent) => vent.at += by_mm,
            Self::Feature(feature) => feature.at += by_mm,
            Self::Hole(hole) => hole.at += by_mm,
            Self::Ejector(ejector) => ejector.at += by_mm,
            Self::Note(note) => note.at += by_mm,
        }
    }

    /// Checks every number of it against its permitted range.
    ///
    /// # Errors
    ///
    /// [`OutOfRange`] for the first that is not.
    pub fn check(&self) -> Result<(), OutOfRange> {
        match self {
            Self::Run(run) => run.check(),
            Self::Sprue(sprue) => sprue.check(),
            Self::Vent(vent) => vent.check(),
            Self::Feature(feature) => feature.check(),
            Self::Hole(hole) => hole.check(),
            Self::Ejector(ejector) => ejector.check(),
            Self::Note(note) => note.check(),
        }
    }
}

/// What the user wants to be told about; [`Limits::LIST`] has each in words, with its default and where
/// that comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Smallest gap between a feature and the channel edge through which plastic flows, mm.
    /// Default 1.0: common practice, no source (a 4 mm screw in a 6 mm channel fills).
    #[serde(deserialize_with = "bounds::limit_length")]
    pub flow_gap_mm: f64,
    /// Smallest plastic left over a buried feature, mm. Default 0.8: assumed.
    #[serde(deserialize_with = "bounds::limit_length")]
    pub roof_mm: f64,
    /// Smallest distance from a feature's edge to the end of the channel, mm. Default 2.0: assumed.
    #[serde(deserialize_with = "bounds::limit_length")]
    pub end_gap_mm: f64,
    /// Smallest gap between two features or ejectors of one half, mm. Default 2.0: assumed.
    #[serde(deserialize_with = "bounds::limit_length")]
    pub feature_gap_mm: f64,
    /// Smallest steel between a hole and another hole, the channel or the plate edge, mm. Default 2.0: assumed.
    #[serde(deserialize_with = "bounds::limit_length")]
    pub steel_wall_mm: f64,
    /// Smallest gap between a gate and a feature or an ejector of its half, mm. Default 2.0: assumed.
    #[serde(default = "gate_gap", deserialize_with = "bounds::limit_length")]
    pub gate_gap_mm: f64,
    /// Least length of thread in the plate, in diameters. Default 1.5: common practice, no source (one
    /// diameter in steel, one and a half to two in aluminium).
    #[serde(default = "engagement", deserialize_with = "bounds::engagement")]
    pub engagement_diameters: f64,
    /// Least metal between the point of a drill and the far face of the plate, mm. Default 2.0: assumed.
    #[serde(default = "drill_floor", deserialize_with = "bounds::limit_length")]
    pub drill_floor_mm: f64,
    /// Tallest bump the user accepts at a gate, mm. Default 1.0: assumed.
    #[serde(deserialize_with = "bounds::limit_length")]
    pub bump_mm: f64,
    /// Length of the straightedge laid on the part to measure a bump, mm. Default 40: assumed.
    #[serde(deserialize_with = "bounds::straightedge")]
    pub straightedge_mm: f64,
    /// Highest pressure that the air in the channel may be squeezed to while it fills, MPa above nothing.
    /// Default 1.0: assumed (without losing heat, air of 40 °C gets hotter than 320 °C by it).
    #[serde(default = "air_pressure", deserialize_with = "bounds::air_pressure")]
    pub air_pressure_mpa: f64,
}

const fn gate_gap() -> f64 {
    2.0
}

const fn engagement() -> f64 {
    1.5
}

const fn drill_floor() -> f64 {
    2.0
}

const fn air_pressure() -> f64 {
    1.0
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            flow_gap_mm: 1.0,
            roof_mm: 0.8,
            end_gap_mm: 2.0,
            feature_gap_mm: 2.0,
            steel_wall_mm: 2.0,
            gate_gap_mm: gate_gap(),
            engagement_diameters: engagement(),
            drill_floor_mm: drill_floor(),
            bump_mm: 1.0,
            straightedge_mm: 40.0,
            air_pressure_mpa: air_pressure(),
        }
    }
}

/// A project: the part, its mould, and what is assumed about them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Project {
    /// Title, as printed in the title block.
    pub name: String,
    /// Remarks of the user.
    pub notes: String,
    /// The part.
    pub part: Part,
    /// What it is moulded from.
    pub material: Material,
    /// The two plates.
    pub plates: Plates,
    /// The press.
    pub press: Press,
    /// How a shot is made.
    #[serde(default)]
    pub moulding: Moulding,
    /// Holes through both plates: bolts and guide pins.
    #[serde(deserialize_with = "items")]
    pub holes: BTreeMap<Id, PlateHole>,
    /// Sprues, which are the gates.
    #[serde(deserialize_with = "items")]
    pub sprues: BTreeMap<Id, Sprue>,
    /// Vents.
    #[serde(deserialize_with = "items")]
    pub vents: BTreeMap<Id, Vent>,
    /// Keying features.
    #[serde(deserialize_with = "items")]
    pub features: BTreeMap<Id, KeyingFeature>,
    /// Ejector pins, all in the moving half.
    #[serde(default, deserialize_with = "items")]
    pub ejectors: BTreeMap<Id, Ejector>,
    /// Remarks on the drawing.
    #[serde(default, deserialize_with = "items")]
    pub remarks: BTreeMap<Id, Note>,
    /// Items that pointer and keys leave where they are.
    #[serde(default)]
    pub locked: BTreeSet<Id>,
    /// Assumed strength of the holds.
    pub holds: HoldInputs,
    /// How uncertain that strength is.
    #[serde(default)]
    pub scatter: Scatter,
    /// What counts as a fault.
    pub limits: Limits,
    /// Screw sizes on hand, from which cures choose; none given means any.
    #[serde(default)]
    pub drawer: BTreeSet<ThreadSize>,
    /// Choices for what is printed and written for the bench.
    #[serde(default)]
    pub sheet: SheetChoices,
    /// The log of trial shots, in the order they were made.
    #[serde(default, deserialize_with = "trials")]
    pub trials: Vec<Trial>,
    /// Other layouts of the same part.
    #[serde(default, deserialize_with = "layouts")]
    pub variants: Vec<Variant>,
}

impl Project {
    /// Whether nothing that is computed can differ: the two have the same items, and differ at most in
    /// title, remarks, words and places of notes, locks, choices for the sheets, the trial log, how uncertain
    /// the assumed values are (which only the chances ask), and the layouts kept beside them.
    pub fn computes_like(&self, other: &Self) -> bool {
        // Each field is named, so that a new one is thought of.
        let Self {
            name: _,
            notes: _,
            locked: _,
            variants: _,
            scatter: _,
            trials: _,
            remarks,
            part,
            material,
            plates,
            press,
            moulding,
            holes,
            sprues,
            vents,
            features,
            ejectors,
            holds,
            limits,
            drawer,
            sheet,
        } = self;
        *part == other.part
            && *material == other.material
            && *plates == other.plates
            && *press == other.press
            && *moulding == other.moulding
            && *holes == other.holes
            && *sprues == other.sprues
            && *vents == other.vents
            && *features == other.features
            && *ejectors == other.ejectors
            && *holds == other.holds
            && *limits == other.limits
            && *drawer == other.drawer
            // A datum that is lost is a finding, and its cure keeps the other choices.
            && (*sheet == other.sheet || self.lost_datum().or(other.lost_datum()).is_none())
            // A cure that adds an item gives it a number that is free.
            && remarks.keys().eq(other.remarks.keys())
    }

    /// A project to start from: one straight run in the middle of a plate, nothing else.
    pub fn blank() -> Self {
        let run = Run::straight("", DVec2::new(40.0, 60.0), DVec2::new(160.0, 60.0), 6.0, 3.0);
        let material = Material::generic().swap_remove(0);
        Self {
            name: "Untitled".to_owned(),
            notes: String::new(),
            part: Part {
                runs: BTreeMap::from([(Id(1), run)]),
                moving_share: 0.5,
                draft_moving_deg: 1.0,
                draft_fixed_deg: 1.0,
                edge_moving_mm: 0.0,
                edge_fixed_mm: 0.0,
                rib: None,
            },
            material,
            plates: Plates {
                width_mm: 200.0,
                height_mm: 120.0,
                moving_thickness_mm: 20.0,
                fixed_thickness_mm: 20.0,
            },
            press: Press::default(),
            moulding: Moulding::default(),
            holes: BTreeMap::new(),
            sprues: BTreeMap::new(),
            vents: BTreeMap::new(),
            features: BTreeMap::new(),
            ejectors: BTreeMap::new(),
            remarks: BTreeMap::new(),
            locked: BTreeSet::new(),
            holds: HoldInputs::default(),
            scatter: Scatter::default(),
            limits: Limits::default(),
            drawer: BTreeSet::new(),
            sheet: SheetChoices::default(),
            trials: Vec::new(),
            variants: Vec::new(),
        }
    }

    /// The item named `id`, if there is one.
    pub fn item(&self, id: Id) -> Option<Item> {
        None.or_else(|| self.part.runs.get(&id).cloned().map(Item::Run))
            .or_else(|| self.sprues.get(&id).cloned().map(Item::Sprue))
            .or_else(|| self.vents.get(&id).cloned().map(Item::Vent))
            .or_else(|| self.features.get(&id).cloned().map(Item::Feature))
            .or_else(|| self.holes.get(&id).cloned().map(Item::Hole))
            .or_else(|| self.ejectors.get(&id).cloned().map(Item::Ejector))
            .or_else(|| self.remarks.get(&id).cloned().map(Item::Note))
    }

    /// The kind of the item named `id`, if there is one.
    pub fn kind(&self, id: Id) -> Option<ItemKind> {
        if self.part.runs.contains_key(&id) {
            Some(ItemKind::Run)
        } else if self.sprues.contains_key(&id) {
            Some(ItemKind::Sprue)
        } else if self.vents.contains_key(&id) {
            Some(ItemKind::Vent)
        } else if self.features.contains_key(&id) {
            Some(ItemKind::Feature)
        } else if self.holes.contains_key(&id) {
            Some(ItemKind::Hole)
        } else if self.ejectors.contains_key(&id) {
            Some(ItemKind::Ejector)
        } else if self.remarks.contains_key(&id) {
            Some(ItemKind::Note)
        } else {
            None
        }
    }

    /// Every item's id, in ascending order.
    pub fn ids(&self) -> Vec<Id> {
        let mut ids: Vec<Id> = self
            .part
            .runs
            .keys()
            .chain(self.sprues.keys())
            .chain(self.vents.keys())
            .chain(self.features.keys())
            .chain(self.holes.keys())
            .chain(self.ejectors.keys())
            .chain(self.remarks.keys())
            .copied()
            .collect();
        ids.sort_unstable();
        ids
    }

    /// Short tag of an item as printed on sheets, for example "K7"; "?7" if there is no such item.
    pub fn tag(&self, id: Id) -> String {
        format!("{}{id}", self.kind(id).map_or('?', ItemKind::letter))
    }

    /// The tag and, if the user gave one, the name: "K7 left anchor".
    pub fn title(&self, id: Id) -> String {
        let name = match self.item(id) {
            Some(Item::Run(run)) => run.name,
            Some(Item::Sprue(sprue)) => sprue.name,
            Some(Item::Vent(vent)) => vent.name,
            Some(Item::Feature(feature)) => feature.name,
            Some(Item::Hole(hole)) => hole.name,
            Some(Item::Ejector(ejector)) => ejector.name,
            // The first line is enough to know it by.
            Some(Item::Note(note)) => note.text.lines().next().unwrap_or_default().to_owned(),
            None => String::new(),
        };
        if name.is_empty() { self.tag(id) } else { format!("{} {name}", self.tag(id)) }
    }

    /// Centre of an item in the plan, mm; of a run, the middle of its points' bounding box.
    pub fn place(&self, id: Id) -> Option<DVec2> {
        match self.item(id)? {
            Item::Run(run) => {
                let low = run.points.iter().map(|p| p.at).reduce(DVec2::min)?;
                let high = run.points.iter().map(|p| p.at).reduce(DVec2::max)?;
                Some(low.midpoint(high))
            }
            Item::Sprue(sprue) => Some(sprue.at),
            Item::Vent(vent) => Some(vent.at),
            Item::Feature(feature) => Some(feature.at),
            Item::Hole(hole) => Some(hole.at),
            Item::Ejector(ejector) => Some(ejector.at),
            Item::Note(note) => Some(note.at),
        }
    }

    /// The guide pin that sheets count from, and its place in the plan, mm; `None` if they count from the
    /// corner or the centre, or the pin chosen is gone or no guide pin any more: then from the corner.
    pub fn datum_pin(&self) -> Option<(Id, DVec2)> {
        let Datum::GuidePin(id) = self.sheet.datum else { return None };
        let hole = self.holes.get(&id).filter(|hole| hole.purpose == HoleUse::GuidePin)?;
        Some((id, hole.at))
    }

    /// The number of the guide pin chosen as datum, if there is no such guide pin any more.
    pub fn lost_datum(&self) -> Option<Id> {
        match self.sheet.datum {
            Datum::GuidePin(id) if self.datum_pin().is_none() => Some(id),
            _ => None,
        }
    }

    /// An id that is not in use: larger than every one that is, or, if there is none, the lowest that is free.
    pub fn free_id(&self) -> Id {
        let ids = self.ids();
        match ids.last() {
            None => Id(1),
            Some(last) if *last < Id::MOST => Id(last.0 + 1),
            Some(_) => (1..).map(Id).find(|id| ids.binary_search(id).is_err()).unwrap_or(Id::MOST),
        }
    }

    /// Checks every number against its permitted range, and that no id names two items.
    ///
    /// # Errors
    ///
    /// The first number outside its range, with the item that holds it; or the first id used twice.
    pub fn check(&self) -> Result<(), crate::EditError> {
        use crate::EditError::{IdUsedTwice, Range, RangeIn};
        check_amounts(self)?;
        let general = |result: Result<(), OutOfRange>| result.map_err(Range);
        general(self.part.check())?;
        general(self.material.check())?;
        general(self.plates.check())?;
        general(self.press.check())?;
        general(self.moulding.check())?;
        general(self.holds.check())?;
        general(self.scatter.check())?;
        general(self.limits.check())?;
        general(self.sheet.check())?;
        let of = |id: Id, result: Result<(), OutOfRange>| {
            result.map_err(|range| RangeIn { item: self.tag(id), range })
        };
        self.part.runs.iter().try_for_each(|(id, run)| of(*id, run.check()))?;
        self.sprues.iter().try_for_each(|(id, sprue)| of(*id, sprue.check()))?;
        self.vents.iter().try_for_each(|(id, vent)| of(*id, vent.check()))?;
        self.features.iter().try_for_each(|(id, feature)| of(*id, feature.check()))?;
        self.holes.iter().try_for_each(|(id, hole)| of(*id, hole.check()))?;
        self.ejectors.iter().try_for_each(|(id, ejector)| of(*id, ejector.check()))?;
        self.remarks.iter().try_for_each(|(id, note)| of(*id, note.check()))?;
        self.trials.iter().enumerate().try_for_each(|(index, trial)| {
            trial.check().map_err(|range| RangeIn { item: format!("trial {}", index + 1), range })
        })?;
        for Variant { name, layout } in &self.variants {
            if !layout.variants.is_empty() {
                return Err(crate::EditError::VariantInVariant { name: name.clone() });
            }
            layout.check()?;
        }
        let ids = self.ids();
        if let Some(&id) = ids.last().filter(|id| **id > Id::MOST) {
            return Err(crate::EditError::IdTooLarge { id });
        }
        match ids.windows(2).find(|pair| pair[0] == pair[1]) {
            Some(pair) => Err(IdUsedTwice { id: pair[0] }),
            None => Ok(()),
        }
    }
}
