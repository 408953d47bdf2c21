//! What the user can do to a project: one [`Edit`] is one intention and one undo step.

use std::collections::BTreeSet;
use std::sync::Arc;

use glam::DVec2;

use crate::bounds::OutOfRange;
use crate::feature::ThreadSize;
use crate::holds::HoldInputs;
use crate::material::{Material, MaterialValue};
use crate::moulding::Moulding;
use crate::note::Variant;
use crate::part::Rib;
use crate::project::{Id, Item, Limits, Project};
use crate::scatter::Scatter;
use crate::sheet::SheetChoices;
use crate::tooling::{Plates, Press};
use crate::trial::Trial;

/// One change to a project.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// Adds an item under an id that is not in use; see [`Project::free_id`].
    Add(Id, Item),
    /// Replaces an item by another of the same kind.
    Set(Id, Item),
    /// Deletes items; ids that name nothing are passed over.
    Delete(Vec<Id>),
    /// Moves items by a distance in the plan, mm.
    Move {
        /// What to move.
        ids: Vec<Id>,
        /// By how much, mm.
        by_mm: DVec2,
    },
    /// Sets the cross-section: how the channel depth is shared, drafted, rounded and ribbed.
    SetSplit {
        /// Share in the moving half, 0 to 1.
        moving_share: f64,
        /// Draft in the moving half, degrees.
        draft_moving_deg: f64,
        /// Draft in the fixed half, degrees.
        draft_fixed_deg: f64,
        /// Edge radius along the moving half's floor, mm.
        edge_moving_mm: f64,
        /// Edge radius along the fixed half's floor, mm.
        edge_fixed_mm: f64,
        /// Rib along the middle of the runs.
        rib: Option<Rib>,
    },
    /// Sets the title and remarks.
    SetTitle {
        /// Title.
        name: String,
        /// Remarks.
        notes: String,
    },
    /// Replaces the material.
    SetMaterial(Box<Material>),
    /// Sets a number of the material, which is the user's own from now on even if it is the same.
    SetMaterialValue(MaterialValue, f64),
    /// Takes a number of the material back from the generic plastic that it was started from.
    TakeBackMaterialValue(MaterialValue),
    /// Replaces the plates.
    SetPlates(Plates),
    /// Replaces the press.
    SetPress(Press),
    /// Replaces the settings of a shot.
    SetMoulding(Moulding),
    /// Replaces the assumed holds.
    SetHolds(HoldInputs),
    /// Replaces how uncertain the assumed holds are.
    SetScatter(Box<Scatter>),
    /// Replaces the log of trial shots.
    SetTrials(Vec<Trial>),
    /// Replaces the limits.
    SetLimits(Limits),
    /// Locks or frees items: what pointer and keys leave where it is.
    SetLocked {
        /// Which.
        ids: Vec<Id>,
        /// Whether they are locked from now on.
        locked: bool,
    },
    /// Replaces the other layouts kept in the project.
    SetVariants(Vec<Variant>),
    /// Several changes that are one intention, in this order.
    Several {
        /// What they do together, for the undo menu.
        label: &'static str,
        /// The changes.
        edits: Vec<Self>,
    },
    /// Replaces the whole project by another layout of it. The trial log stays: it tells of all layouts.
    SetLayout(Box<Project>),
    /// Replaces the screw sizes on hand.
    SetDrawer(BTreeSet<ThreadSize>),
    /// Replaces the choices for what is printed and written for the bench.
    SetSheet(Box<SheetChoices>),
}

/// Why an edit was refused; the project is as it was.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the messages document the variants")]
pub enum EditError {
    #[error(transparent)]
    Range(OutOfRange),
    #[error("{item}: {range}")]
    RangeIn { item: String, range: OutOfRange },
    #[error("there is no item number {id}; it may have been deleted")]
    NoSuchItem { id: Id },
    #[error("item number {id} is used twice; give one of them another number")]
    IdUsedTwice { id: Id },
    #[error("the variant \"{name}\" holds variants of its own; take them out of it")]
    VariantInVariant { name: String },
    #[error("item number {id} is too large; give it one up to {}", Id::MOST)]
    IdTooLarge { id: Id },
    #[error("there are more than {most} {what}, which is more than can be computed; take some out")]
    TooMany { what: &'static str, most: usize },
    #[error(
        "the text that begins with \"{begins}\" is longer than {} characters; shorten it",
        crate::bounds::MOST_CHARACTERS
    )]
    TooLong { begins: String },
    #[error("item number {id} is of another kind")]
    OtherKind { id: Id },
}

impl Edit {
    /// What the edit did, for the undo menu.
    pub fn label(&self) -> &'static str {
        match self {
            Self::Add(..) => "add",
            Self::Set(..) => "change",
            Self::Delete(..) => "delete",
            Self::Move { .. } => "move",
            Self::SetSplit { .. } => "change cross-section",
            Self::SetTitle { .. } => "change title",
            Self::SetMaterial(..) | Self::SetMaterialValue(..) | Self::TakeBackMaterialValue(..) => {
                "change material"
            }
            Self::SetPlates(..) => "change plates",
            Self::SetPress(..) => "change press",
            Self::SetMoulding(..) => "change shot settings",
            Self::SetHolds(..) => "change assumed holds",
            Self::SetLimits(..) => "change limits",
            Self::SetScatter(..) => "change spreads",
            Self::SetTrials(..) => "change trial log",
            Self::SetDrawer(..) => "change screws on hand",
            Self::SetSheet(..) => "change sheets",
            Self::SetLocked { locked: true, .. } => "lock",
            Self::SetLocked { locked: false, .. } => "unlock",
            Self::SetVariants(..) => "change variants",
            Self::SetLayout(..) => "switch layout",
            Self::Several { label, .. } => label,
        }
    }
}

impl Project {
    /// Applies one edit.
    ///
    /// # Errors
    ///
    /// [`EditError`] if the edit names a missing item or would leave a number outside its range. The
    /// project may then be half changed: apply to a copy and keep the copy only on success.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), EditError> {
        match edit {
            Edit::Add(id, item) => {
                if self.kind(*id).is_some() {
                    return Err(EditError::IdUsedTwice { id: *id });
                }
                self.insert(*id, item.clone());
            }
            Edit::Set(id, item) => {
                let present = self.item(*id).ok_or(EditError::NoSuchItem { id: *id })?;
                if std::mem::discriminant(&present) != std::mem::discriminant(item) {
                    return Err(EditError::OtherKind { id: *id });
                }
                self.insert(*id, item.clone());
            }
            Edit::Delete(ids) => ids.iter().for_each(|id| self.remove(*id)),
            Edit::Move { ids, by_mm } => {
                for &id in ids {
                    let mut item = self.item(id).ok_or(EditError::NoSuchItem { id })?;
                    item.shift(*by_mm);
                    self.insert(id, item);
                }
            }
            Edit::SetSplit {
                moving_share,
                draft_moving_deg,
                draft_fixed_deg,
                edge_moving_mm,
                edge_fixed_mm,
                rib,
            } => {
                self.part.edge_moving_mm = *edge_moving_mm;
                self.part.edge_fixed_mm = *edge_fixed_mm;
                self.part.rib = *rib;
                self.part.moving_share = *moving_share;
                self.part.draft_moving_deg = *draft_moving_deg;
                self.part.draft_fixed_deg = *draft_fixed_deg;
            }
            Edit::SetTitle { name, notes } => {
                self.name.clone_from(name);
                self.notes.clone_from(notes);
            }
            Edit::SetMaterial(material) => {
                self.material.clone_from(material.as_ref());
                self.warm_up();
            }
            Edit::SetMaterialValue(value, number) => {
                self.material.set_own(*value, *number);
                self.warm_up();
            }
            Edit::TakeBackMaterialValue(value) => {
                self.material.take_back(*value);
                self.warm_up();
            }
            Edit::SetPlates(plates) => self.plates.clone_from(plates),
            Edit::SetPress(press) => self.press.clone_from(press),
            Edit::SetMoulding(moulding) => {
                self.moulding.clone_from(moulding);
                self.warm_up();
            }
            Edit::SetHolds(holds) => self.holds.clone_from(holds),
            Edit::SetLimits(limits) => self.limits.clone_from(limits),
            Edit::SetLocked { ids, locked } => {
                for &id in ids {
                    self.kind(id).ok_or(EditError::NoSuchItem { id })?;
                    if *locked {
                        self.locked.insert(id);
                    } else {
                        self.locked.remove(&id);
                    }
                }
            }
            Edit::SetVariants(variants) => self.set_variants(variants),
            Edit::SetLayout(layout) => {
                let trials = std::mem::take(&mut self.trials);
                self.clone_from(layout);
                self.trials = trials;
            }
            Edit::SetScatter(scatter) => self.scatter = **scatter,
            Edit::SetTrials(trials) => self.trials.clone_from(trials),
            Edit::Several { edits, .. } => {
                for edit in edits {
                    self.apply(edit)?;
                }
            }
            Edit::SetDrawer(drawer) => self.drawer.clone_from(drawer),
            Edit::SetSheet(sheet) => self.sheet.clone_from(sheet),
        }
        self.check()
    }

    /// Replaces the kept layouts. Trials go on pointing at the layout that they were shot with, whatever it
    /// is called now.
    fn set_variants(&mut self, variants: &[Variant]) {
        for old in &self.variants {
            let now = variants.iter().find(|new| Arc::ptr_eq(&new.layout, &old.layout));
            let Some(now) = now.filter(|now| now.name != old.name) else { continue };
            let theirs = self.trials.iter_mut().filter(|trial| trial.layout.as_ref() == Some(&old.name));
            theirs.for_each(|trial| trial.layout = Some(now.name.clone()));
        }
        self.variants = variants.to_vec();
    }

    /// Lets the warm modulus and yield stress follow the temperature at which the part is pushed off.
    fn warm_up(&mut self) {
        let temperature_c = self.moulding.ejection_temperature_c(&self.material);
        // Out of range or not a number at all: refused by the check that follows.
        if crate::bounds::TEMPERATURE.contains(temperature_c) && self.material.check().is_ok() {
            self.material.warm_to(temperature_c);
        }
    }

    fn insert(&mut self, id: Id, item: Item) {
        match item {
            Item::Run(run) => drop(self.part.runs.insert(id, run)),
            Item::Sprue(sprue) => drop(self.sprues.insert(id, sprue)),
            Item::Vent(vent) => drop(self.vents.insert(id, vent)),
            Item::Feature(feature) => drop(self.features.insert(id, feature)),
            Item::Hole(hole) => drop(self.holes.insert(id, hole)),
            Item::Ejector(ejector) => drop(self.ejectors.insert(id, ejector)),
            Item::Note(note) => drop(self.remarks.insert(id, note)),
        }
    }

    fn remove(&mut self, id: Id) {
        self.part.runs.remove(&id);
        self.sprues.remove(&id);
        self.vents.remove(&id);
        self.features.remove(&id);
        self.holes.remove(&id);
        self.ejectors.remove(&id);
        self.remarks.remove(&id);
        self.locked.remove(&id);
    }
}
