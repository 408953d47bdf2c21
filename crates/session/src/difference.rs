//! What leads from one state of a project to another: only the items and values that differ, so that a long
//! history of a large project stays small.

use std::collections::{BTreeMap, BTreeSet};
use std::mem::{size_of, size_of_val};

use keepside_model::{
    Ejector, HoldInputs, Id, KeyingFeature, Limits, Material, Moulding, Note, Part, PlateHole, Plates, Press,
    Project, Run, RunPoint, Scatter, SheetChoices, Sprue, ThreadSize, Trial, Variant, Vent,
};

/// Items that differ, as they are to become; `None` for one that is not to be there. Boxed, as a vector of a
/// single item has room for four.
type Items<T> = Box<[(Id, Option<T>)]>;

/// Makes [`Difference`] out of the fields of [`Project`], of which each stands here once: a new one is
/// thought of because the compiler asks for it.
macro_rules! difference {
    (items { $($item:ident: $Item:ty,)* } values { $($value:ident: $Value:ty,)* }) => {
        /// What leads from one state of a project to another.
        #[derive(Debug)]
        pub(crate) struct Difference {
            runs: Items<Run>,
            /// The part without its runs.
            part: Option<Box<Part>>,
            $($item: Items<$Item>,)*
            $($value: Option<Box<$Value>>,)*
        }

        impl Difference {
            /// What leads from `from` to `to`.
            pub(crate) fn between(from: &Project, to: &Project) -> Self {
                let Project { part: _, $($item: _,)* $($value: _,)* } = from;
                let (bare, wanted) = (without_runs(&from.part), without_runs(&to.part));
                Self {
                    runs: items_between(&from.part.runs, &to.part.runs),
                    part: (bare != wanted).then(|| Box::new(wanted)),
                    $($item: items_between(&from.$item, &to.$item),)*
                    $($value: (from.$value != to.$value).then(|| Box::new(to.$value.clone())),)*
                }
            }

            /// The state that it leads to from `from`.
            pub(crate) fn applied_to(&self, from: &Project) -> Project {
                let mut to = from.clone();
                if let Some(part) = &self.part {
                    let runs = std::mem::take(&mut to.part.runs);
                    to.part = Part { runs, ..Part::clone(part) };
                }
                put_items(&mut to.part.runs, &self.runs);
                $(put_items(&mut to.$item, &self.$item);)*
                $(if let Some(value) = &self.$value {
                    to.$value.clone_from(value);
                })*
                to
            }

            /// About how much memory it holds, bytes. Layouts kept in the project are not counted: the states
            /// share them.
            pub(crate) fn bytes(&self) -> usize {
                size_of::<Self>()
                    + items_bytes(&self.runs)
                    + self.part.as_ref().map_or(0, |part| size_of_val(&**part))
                    $(+ items_bytes(&self.$item))*
                    $(+ self.$value.as_ref().map_or(0, |value| value.bytes()))*
            }
        }
    };
}

difference! {
    items {
        holes: PlateHole,
        sprues: Sprue,
        vents: Vent,
        features: KeyingFeature,
        ejectors: Ejector,
        remarks: Note,
    }
    values {
        name: String,
        notes: String,
        material: Material,
        plates: Plates,
        press: Press,
        moulding: Moulding,
        locked: BTreeSet<Id>,
        holds: HoldInputs,
        scatter: Scatter,
        limits: Limits,
        drawer: BTreeSet<ThreadSize>,
        sheet: SheetChoices,
        trials: Vec<Trial>,
        variants: Vec<Variant>,
    }
}

fn without_runs(part: &Part) -> Part {
    let Part { runs: _, moving_share, draft_moving_deg, draft_fixed_deg, edge_moving_mm, edge_fixed_mm, rib } =
        *part;
    let runs = BTreeMap::new();
    Part { runs, moving_share, draft_moving_deg, draft_fixed_deg, edge_moving_mm, edge_fixed_mm, rib }
}

fn items_between<T: Clone + PartialEq>(from: &BTreeMap<Id, T>, to: &BTreeMap<Id, T>) -> Items<T> {
    let gone = from.keys().filter(|id| !to.contains_key(id)).map(|id| (*id, None));
    let wanted = to.iter().filter(|(id, item)| from.get(id) != Some(item));
    gone.chain(wanted.map(|(id, item)| (*id, Some(item.clone())))).collect()
}

fn put_items<T: Clone>(items: &mut BTreeMap<Id, T>, wanted: &Items<T>) {
    for (id, item) in wanted {
        match item {
            Some(item) => items.insert(*id, item.clone()),
            None => items.remove(id),
        };
    }
}

fn items_bytes<T: Bytes>(items: &Items<T>) -> usize {
    let spare = size_of::<(Id, Option<T>)>() - size_of::<T>();
    items.iter().map(|(_, item)| spare + item.as_ref().map_or(size_of::<T>(), Bytes::bytes)).sum()
}

/// About how much memory a value holds, bytes.
trait Bytes: Sized {
    fn bytes(&self) -> usize {
        size_of::<Self>()
    }
}

impl Bytes for PlateHole {}
impl Bytes for Sprue {}
impl Bytes for Vent {}
impl Bytes for Ejector {}
impl Bytes for Material {}
impl Bytes for Plates {}
impl Bytes for Press {}
impl Bytes for Moulding {}
impl Bytes for HoldInputs {}
impl Bytes for Scatter {}
impl Bytes for Limits {}
impl Bytes for SheetChoices {}
impl Bytes for Run {
    fn bytes(&self) -> usize {
        size_of::<Self>() + self.name.len() + self.points.len() * size_of::<RunPoint>()
    }
}
impl Bytes for KeyingFeature {
    fn bytes(&self) -> usize {
        let measured = self.measured.as_ref().map_or(0, |curve| size_of_val(curve.points()));
        size_of::<Self>() + self.name.len() + measured
    }
}
impl Bytes for Note {
    fn bytes(&self) -> usize {
        size_of::<Self>() + self.text.len()
    }
}
impl Bytes for Trial {
    fn bytes(&self) -> usize {
        let texts = [&self.name, &self.settings, &self.photo, &self.remarks].map(String::len);
        let seen = size_of_val(&*self.kept) + self.bumps_mm.len() * size_of::<(Id, f64)>();
        size_of::<Self>() + texts.iter().sum::<usize>() + seen
    }
}
impl Bytes for Variant {
    fn bytes(&self) -> usize {
        size_of::<Self>() + self.name.len()
    }
}
impl Bytes for String {
    fn bytes(&self) -> usize {
        size_of::<Self>() + self.len()
    }
}
impl<T: Bytes> Bytes for Vec<T> {
    fn bytes(&self) -> usize {
        size_of::<Self>() + self.iter().map(Bytes::bytes).sum::<usize>()
    }
}
impl<T> Bytes for BTreeSet<T> {
    fn bytes(&self) -> usize {
        size_of::<Self>() + self.len() * size_of::<T>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;
    use keepside_model::Edit;

    fn after(project: &Project, edit: &Edit) -> Project {
        let mut next = project.clone();
        next.apply(edit).unwrap();
        next
    }

    #[test]
    fn it_leads_there_and_back_whatever_differs() {
        let from = Project::blank();
        let note = Note { at: DVec2::new(5.0, 5.0), text: "here".to_owned() };
        let ids = from.ids();
        let edits = [
            Edit::Add(from.free_id(), keepside_model::Item::Note(note)),
            Edit::Delete(ids.clone()),
            Edit::Move { ids, by_mm: DVec2::new(1.0, 0.1) },
            Edit::SetTitle { name: "Another".to_owned(), notes: String::new() },
            Edit::SetPlates(Plates { width_mm: 180.0, ..from.plates.clone() }),
            Edit::SetTrials(vec![Trial::default()]),
            Edit::SetLimits(Limits { bump_mm: 2.0, ..from.limits.clone() }),
            Edit::SetSplit {
                moving_share: 0.25,
                draft_moving_deg: 1.0,
                draft_fixed_deg: 2.0,
                edge_moving_mm: 0.0,
                edge_fixed_mm: 0.0,
                rib: None,
            },
        ];
        for edit in edits {
            let to = after(&from, &edit);
            assert_ne!(from, to, "{edit:?}");
            assert_eq!(Difference::between(&from, &to).applied_to(&from), to, "{edit:?}");
            assert_eq!(Difference::between(&to, &from).applied_to(&to), from, "{edit:?}");
        }
    }

    #[test]
    fn one_pin_moved_among_a_thousand_holds_one_pin() {
        let mut project = Project::blank();
        let pin = KeyingFeature::new(
            DVec2::new(20.0, 20.0),
            keepside_model::Half::Moving,
            keepside_model::FeatureKind::PlainPost { diameter_mm: 3.0 },
            1.5,
        );
        project.features = (10..1010).map(|id| (Id(id), pin.clone())).collect();
        let to = after(&project, &Edit::Move { ids: vec![Id(500)], by_mm: DVec2::X });
        let difference = Difference::between(&to, &project);
        assert_eq!(difference.features.len(), 1);
        assert!(difference.bytes() < 1500, "{} bytes", difference.bytes());
    }
}
