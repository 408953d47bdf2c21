//! Thousands of edits by chance, then all of them undone, then all of them redone: the file must be the same
//! to the last byte each time. The real window does the same in `.ci/endurance`.

use glam::DVec2;
use keepside_model::{
    Edit, FeatureKind, Half, Id, Item, KeyingFeature, Limits, Note, Project, ThreadSize, Trial,
};
use keepside_model::{Plates, Variant};
use keepside_session::{Across, Align, MirrorLine, Session, align, distribute, mirror, repeat};
use keepside_store::{read_text, write_text};

/// Numbers by chance, the same in every run (the linear congruential generator of Knuth's MMIX).
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 40) as usize % limit.max(1)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.below(1001) as f64 / 1000.0
    }

    fn ids(&mut self, project: &Project, most: usize) -> Vec<Id> {
        let all = project.ids();
        let count = 1 + self.below(most);
        let mut ids: Vec<Id> = (0..count.min(all.len())).map(|_| all[self.below(all.len())]).collect();
        ids.sort_unstable();
        ids.dedup();
        ids
    }
}

/// One edit by chance; it may be one that is refused or changes nothing.
fn edit(chance: &mut Chance, session: &mut Session) -> Option<Edit> {
    let project = session.document().clone();
    let few = chance.ids(&project, 4);
    let by_mm = DVec2::new(chance.between(-5.0, 5.0), chance.between(-5.0, 5.0));
    let at = DVec2::new(chance.between(5.0, 195.0), chance.between(5.0, 95.0));
    Some(match chance.below(16) {
        0..=3 => Edit::Move { ids: few, by_mm },
        4 => {
            let kind = FeatureKind::set_screw(ThreadSize::M4);
            Edit::Add(session.fresh_id(), Item::Feature(KeyingFeature::new(at, Half::Moving, kind, 2.0)))
        }
        5 => Edit::Add(session.fresh_id(), Item::Note(Note { at, text: format!("{:.1}", at.x) })),
        6 if project.ids().len() > 15 => Edit::Delete(few),
        7 => align(&project, &few, [Align::Left, Align::Middle, Align::Top][chance.below(3)])?,
        8 => distribute(&project, &few, [Across::LeftToRight, Across::BottomToTop][chance.below(2)])?,
        9 => mirror(&project, &few, MirrorLine::through_middle(&project, &few, chance.below(2) == 0)?),
        10 if project.ids().len() < 40 => {
            let step = DVec2::new(chance.between(3.0, 9.0), 0.0);
            repeat(&project, &few[..1], step, 2, &mut || session.fresh_id()).0
        }
        11 => Edit::SetPlates(Plates { width_mm: chance.between(150.0, 260.0), ..project.plates }),
        12 => Edit::SetLimits(Limits { bump_mm: chance.between(0.1, 3.0), ..project.limits }),
        13 => {
            let trial = Trial { name: format!("{by_mm}"), shots: 3, ..Trial::default() };
            Edit::SetTrials(project.trials.iter().cloned().chain([trial]).rev().take(5).collect())
        }
        14 => {
            let layout = Project { variants: Vec::new(), ..Project::clone(&project) };
            Edit::SetVariants(vec![Variant { name: format!("{by_mm}"), layout: layout.into() }])
        }
        15 => match project.variants.first() {
            Some(variant) if chance.below(8) == 0 => {
                let variants = project.variants.clone();
                Edit::SetLayout(Box::new(Project { variants, ..Project::clone(&variant.layout) }))
            }
            _ => Edit::SetLocked { ids: few, locked: chance.below(2) == 0 },
        },
        _ => Edit::SetTitle { name: format!("Title {by_mm}"), notes: project.notes.clone() },
    })
}

#[test]
fn thousands_of_edits_are_undone_and_redone_to_the_last_byte() {
    let text = std::fs::read_to_string("../demo-projects/row-marker.keepside").unwrap();
    let mut session = Session::new(read_text(&text).unwrap(), None, || {}).unwrap();
    let mut chance = Chance(7);
    // The text of the project after so many steps, at some of them.
    let mut at_steps = std::collections::BTreeMap::new();
    while session.undo_len() < 3000 {
        match chance.below(12) {
            0 => drop(session.undo()),
            1 => drop(session.redo()),
            2 => {
                let ids = chance.ids(session.document(), 3);
                session.begin_gesture("move");
                for _ in 0..3 {
                    let by_mm = DVec2::new(chance.between(-9.0, 9.0), 0.5);
                    // Out of the plan it is refused, as it is to the pointer.
                    session.preview(&Edit::Move { ids: ids.clone(), by_mm }).unwrap_or_default();
                }
                if chance.below(4) == 0 {
                    session.abort_gesture();
                } else {
                    session.commit_gesture();
                }
            }
            3 if session.undo_len() > 0 => {
                let ids = chance.ids(session.document(), 2);
                session.amend(&Edit::Move { ids, by_mm: DVec2::new(0.25, 0.0) }).unwrap_or_default();
            }
            _ => {
                if let Some(edit) = edit(&mut chance, &mut session) {
                    session.apply(&edit).unwrap_or_default();
                }
            }
        }
        let steps = session.undo_len();
        if steps.is_multiple_of(100) {
            at_steps.insert(steps, write_text(session.document()));
        } else {
            // It may have been undone and gone another way.
            at_steps.retain(|at, _| *at <= steps);
        }
    }
    let (steps, end) = (session.undo_len(), write_text(session.document()));
    assert_ne!(end, text);
    while session.undo().is_some() {
        if let Some(expected) = at_steps.get(&session.undo_len()) {
            assert_eq!(write_text(session.document()), *expected, "undone to step {}", session.undo_len());
        }
    }
    assert_eq!(write_text(session.document()), text);
    assert_eq!((session.undo_len(), session.redo_len()), (0, steps));
    while session.redo().is_some() {
        if let Some(expected) = at_steps.get(&session.undo_len()) {
            assert_eq!(write_text(session.document()), *expected, "redone to step {}", session.undo_len());
        }
    }
    assert_eq!(write_text(session.document()), end);
    assert_eq!(session.undo_len(), steps);
}
