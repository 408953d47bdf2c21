//! The session driven as the window drives it, without a window.
#![expect(clippy::unwrap_used, reason = "a test may stop here")]

use std::sync::mpsc;
use std::time::{Duration, Instant};

use glam::DVec2;
use keepside_model::{Edit, FeatureKind, Half, Id, Item, KeyingFeature, Note, Project, ThreadSize};
use keepside_session::{Progress, Session};

fn pin(x: f64) -> Item {
    Item::Feature(KeyingFeature::new(
        DVec2::new(x, 60.0),
        Half::Moving,
        FeatureKind::set_screw(ThreadSize::M3),
        2.0,
    ))
}

/// The blank project with the pins K2 at x = 60 and K3 at x = 100.
fn session() -> Session {
    let mut project = Project::blank();
    project.apply(&Edit::Add(Id(2), pin(60.0))).unwrap();
    project.apply(&Edit::Add(Id(3), pin(100.0))).unwrap();
    Session::new(project, None, || ()).unwrap()
}

fn move_by(id: u32, x: f64) -> Edit {
    Edit::Move { ids: vec![Id(id)], by_mm: DVec2::new(x, 0.0) }
}

fn x_of(session: &Session, id: u32) -> f64 {
    session.document().place(Id(id)).unwrap().x
}

#[test]
fn undo_and_redo_restore_the_project_exactly() {
    let mut session = session();
    let before = session.document().as_ref().clone();
    session.apply(&move_by(2, 7.3)).unwrap();
    let after = session.document().as_ref().clone();
    assert_eq!(session.undo(), Some("move"));
    assert_eq!(**session.document(), before);
    assert_eq!(session.redo(), Some("move"));
    assert_eq!(**session.document(), after);
    assert_eq!(session.redo(), None);
}

#[test]
fn a_refused_edit_leaves_no_trace() {
    let mut session = session();
    let (before, revision) = (session.document().clone(), session.revision());
    let error = session.apply(&move_by(2, 1.0e6)).unwrap_err();
    assert!(error.to_string().contains("K2"), "{error}");
    assert!(session.apply(&move_by(99, 1.0)).is_err());
    assert_eq!(session.document(), &before);
    assert_eq!((session.revision(), session.undo_len()), (revision, 0));
}

#[test]
fn an_edit_that_changes_nothing_is_no_step() {
    let mut session = session();
    session.apply(&move_by(2, 0.0)).unwrap();
    assert_eq!(session.undo_len(), 0);
}

#[test]
fn a_drag_is_one_step_whatever_its_number_of_moves() {
    let mut session = session();
    session.begin_gesture("move");
    for step in 1..=20 {
        session.preview(&move_by(2, f64::from(step))).unwrap();
    }
    assert_eq!(x_of(&session, 2), 80.0, "each preview starts from the place before the drag");
    session.commit_gesture();
    assert_eq!(session.undo_len(), 1);
    session.undo();
    assert_eq!(x_of(&session, 2), 60.0);
}

#[test]
fn an_aborted_drag_leaves_everything_as_it_was() {
    let mut session = session();
    let before = session.document().clone();
    session.begin_gesture("move");
    session.preview(&move_by(2, 5.0)).unwrap();
    session.abort_gesture();
    assert_eq!(session.document(), &before);
    assert_eq!((session.undo_len(), session.is_dirty()), (0, false));
    // Undo in the middle of a drag takes the drag back and nothing else.
    session.apply(&move_by(3, 1.0)).unwrap();
    session.begin_gesture("move");
    session.preview(&move_by(2, 5.0)).unwrap();
    session.undo();
    assert_eq!((x_of(&session, 2), x_of(&session, 3)), (60.0, 101.0));
}

#[test]
fn a_drag_back_to_where_it_began_is_no_step() {
    let mut session = session();
    session.begin_gesture("move");
    session.preview(&move_by(2, 5.0)).unwrap();
    session.preview(&move_by(2, 0.0)).unwrap();
    session.commit_gesture();
    assert_eq!((session.undo_len(), session.is_dirty()), (0, false));
}

#[test]
fn a_refused_preview_keeps_the_last_good_one() {
    let mut session = session();
    session.begin_gesture("move");
    session.preview(&move_by(2, 5.0)).unwrap();
    assert!(session.preview(&move_by(2, 1.0e6)).is_err());
    assert_eq!(x_of(&session, 2), 65.0);
}

#[test]
fn an_amended_step_is_undone_as_a_whole() {
    let mut session = session();
    session.apply(&move_by(2, 1.0)).unwrap();
    session.amend(&move_by(2, 1.0)).unwrap();
    session.amend(&move_by(2, 1.0)).unwrap();
    assert_eq!((x_of(&session, 2), session.undo_len()), (63.0, 1));
    session.undo();
    assert_eq!(x_of(&session, 2), 60.0);
    session.amend(&move_by(2, 1.0)).unwrap();
    assert_eq!((session.undo_len(), session.redo_label()), (1, None), "nothing to amend: a step of its own");
}

#[test]
fn a_new_edit_forgets_what_was_undone() {
    let mut session = session();
    session.apply(&move_by(2, 1.0)).unwrap();
    session.undo();
    session.apply(&move_by(3, 1.0)).unwrap();
    assert_eq!(session.redo_label(), None);
}

#[test]
fn the_project_is_clean_again_when_undone_to_what_was_saved() {
    let mut session = session();
    session.apply(&move_by(2, 1.0)).unwrap();
    assert!(session.is_dirty());
    session.mark_saved(session.document().clone(), "a.keepside".into());
    assert!(!session.is_dirty());
    session.apply(&move_by(2, 1.0)).unwrap();
    session.undo();
    assert!(!session.is_dirty());
    session.undo();
    assert!(session.is_dirty());
}

#[test]
fn what_is_deleted_or_undone_away_is_no_longer_selected() {
    let mut session = session();
    session.select([Id(2), Id(3), Id(99)]);
    assert_eq!(session.selection().iter().copied().collect::<Vec<_>>(), [Id(2), Id(3)]);
    session.apply(&Edit::Delete(vec![Id(2)])).unwrap();
    assert_eq!(session.selection().iter().copied().collect::<Vec<_>>(), [Id(3)]);
    let id = session.fresh_id();
    session.apply(&Edit::Add(id, pin(120.0))).unwrap();
    session.select([id]);
    session.undo();
    assert!(session.selection().is_empty());
    session.toggle_selected(Id(3));
    session.toggle_selected(Id(3));
    assert!(session.selection().is_empty());
}

#[test]
fn the_number_of_a_deleted_item_is_not_given_to_another() {
    let mut session = session();
    let first = session.fresh_id();
    session.apply(&Edit::Add(first, pin(120.0))).unwrap();
    session.apply(&Edit::Delete(vec![first])).unwrap();
    assert!(session.fresh_id() > first);
}

#[test]
fn every_change_is_analysed_and_the_window_is_woken() {
    let (wake, woken) = mpsc::channel();
    let mut session = Session::new(Project::blank(), None, move || wake.send(()).unwrap_or(())).unwrap();
    for step in 0..3 {
        if step > 0 {
            session.apply(&Edit::Move { ids: vec![Id(1)], by_mm: DVec2::X }).unwrap();
        }
        let deadline = Instant::now() + Duration::from_secs(60);
        while !matches!(session.progress(), Progress::Done) {
            assert!(Instant::now() < deadline, "no result: {:?}", session.progress());
            woken.recv_timeout(Duration::from_secs(60)).unwrap();
            session.poll();
        }
        assert!(session.results().opening().is_some());
        assert!(session.results().layout().is_some());
    }
}

#[test]
fn a_word_in_a_note_or_another_name_asks_for_no_analysis() {
    let mut session = session();
    let note = |text: &str| Item::Note(Note { text: text.to_owned(), at: DVec2::new(20.0, 20.0) });
    session.apply(&Edit::Add(Id(4), note("here"))).unwrap();
    let deadline = Instant::now() + Duration::from_secs(60);
    while session.progress() != Progress::Done {
        assert!(Instant::now() < deadline, "nothing comes");
        session.poll();
        std::thread::sleep(Duration::from_millis(5));
    }
    session.apply(&Edit::Set(Id(4), note("there"))).unwrap();
    assert_eq!(session.progress(), Progress::Done);
    session.apply(&Edit::SetTitle { name: "Other".to_owned(), notes: String::new() }).unwrap();
    assert_eq!(session.progress(), Progress::Done);
    session.undo();
    assert_eq!(session.progress(), Progress::Done);
    // A pin is another matter.
    session.apply(&move_by(2, 1.0)).unwrap();
    assert_eq!(session.progress(), Progress::ComputingOpening);
}

#[test]
fn what_is_stopped_stays_stopped_until_it_is_asked_for_or_something_changes() {
    let mut session = session();
    session.stop_computing();
    assert_eq!(session.progress(), Progress::Stopped);
    // Nothing comes that would pass for an answer.
    for _ in 0..20 {
        std::thread::sleep(Duration::from_millis(5));
        session.poll();
        assert_eq!(session.progress(), Progress::Stopped);
    }
    session.compute();
    assert!(session.progress().is_computing());
    let done = |session: &mut keepside_session::Session| {
        let deadline = Instant::now() + Duration::from_secs(60);
        while session.progress() != Progress::Done {
            assert!(Instant::now() < deadline, "nothing comes: {:?}", session.progress());
            session.poll();
            std::thread::sleep(Duration::from_millis(5));
        }
    };
    done(&mut session);
    session.stop_computing();
    assert_eq!(session.progress(), Progress::Done, "there was nothing to stop");
    session.apply(&move_by(2, 1.0)).unwrap();
    session.stop_computing();
    assert_eq!(session.progress(), Progress::Stopped);
    assert!(session.results().opening().is_some(), "the last answer stays in sight");
    session.apply(&move_by(2, 1.0)).unwrap();
    done(&mut session);
}

#[test]
fn another_project_replaces_history_selection_and_results() {
    let mut session = session();
    session.apply(&move_by(2, 1.0)).unwrap();
    session.select([Id(2)]);
    let revision = session.revision();
    session.replace(Project::blank(), Some("b.keepside".into()));
    assert!(session.revision() > revision, "a late result of the old project must not match");
    assert_eq!((session.undo_label(), session.is_dirty()), (None, false));
    assert!(session.selection().is_empty());
}

#[test]
fn a_whole_other_state_is_one_undo_step() {
    let mut session = session();
    let before = session.document().as_ref().clone();
    let mut other = before.clone();
    other.apply(&move_by(2, 5.0)).unwrap();
    session.put("load from disk", other.clone());
    assert_eq!((session.document().as_ref(), session.undo_len()), (&other, 1));
    session.put("load from disk", other);
    assert_eq!(session.undo_len(), 1, "the same state is no step");
    assert_eq!(session.undo(), Some("load from disk"));
    assert_eq!(**session.document(), before);
}

#[test]
fn a_project_that_no_file_holds_is_dirty_until_saved() {
    let mut session = session();
    assert!(!session.is_dirty());
    session.mark_unsaved();
    assert!(session.is_dirty());
    session.mark_saved(session.document().clone(), "a.keepside".into());
    assert!(!session.is_dirty());
}
