//! Noting a trial on the plan: a click on a stretch says who kept it, one on a gate or a pin what broke.

use egui::{Align2, FontId, Pos2, Stroke, vec2};
use glam::DVec2;
use keepside_model::{Id, ItemKind, Trial};
use keepside_session::Session;

use super::Canvas;
use super::part::{fill, quads};
use crate::action::Action;
use crate::look::hatch::hatch;
use crate::ribbon;
use crate::shots::log::{as_step, changed, is_of_open, keeper, kept_by, next, note_broke, note_kept};
use crate::shots::pieces::{Piece, along_at, pieces, ribs_of};
use crate::shots::{Page, kept_words, piece_words};
use crate::units::Unit;
use crate::view::{Tool, ViewState};

/// The trial that clicks on the plan are about.
pub(crate) fn noting<'a>(session: &'a Session, view: &ViewState) -> Option<(usize, &'a Trial)> {
    let index = view.shots.trial.filter(|_| view.shots.page == Some(Page::Trials))?;
    let trial = session.document().trials.get(index).filter(|_| view.tool == Tool::Select)?;
    is_of_open(session.document(), trial).then_some((index, trial))
}

/// What has been noted, and the stretch under the pointer.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let Some((_, trial)) = noting(session, view) else { return };
    let project = session.document();
    let pieces = pieces(session);
    let pointed = view.pointer.and_then(|at| piece_at(session, &pieces, at));
    for piece in &pieces {
        let Some(run) = project.part.runs.get(&piece.run) else { continue };
        let ribs = ribbon::between(&ribs_of(session, piece.run, run), piece.from_mm, piece.to_mm);
        if let Some(by) = kept_by(trial, piece) {
            let keeper = keeper(by);
            let ink = canvas.palette.keeper(keeper);
            fill(canvas, &ribs, ink.gamma_multiply(0.45));
            let quads = quads(canvas, &ribs);
            hatch(&canvas.painter, &quads, keeper, canvas.at(DVec2::ZERO), Stroke::new(1.8, ink));
        }
        if let Some(end) = ribs.last() {
            let ends = end.ends().map(|at| canvas.at(at));
            canvas.painter.line_segment(ends, Stroke::new(1.0, canvas.palette.plastic_edge));
        }
        if pointed == Some(*piece) {
            let sides = [0, 1].map(|side| ribs.iter().map(|rib| canvas.at(rib.ends()[side])).collect());
            for side in sides {
                canvas.painter.line(side, Stroke::new(3.0, canvas.palette.accent));
            }
        }
    }
}

/// What broke, over the items, and what clicks do.
pub(super) fn draw_over(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let Some((_, trial)) = noting(session, view) else { return };
    let project = session.document();
    for id in trial.broke.iter().flatten() {
        let Some(at) = project.place(*id).map(|place| canvas.at(place)) else { continue };
        cross(canvas, at);
    }
    let name = if trial.name.trim().is_empty() { "this trial" } else { trial.name.trim() };
    let words = format!("Noting {name}: click a stretch, a gate or a pin; Esc ends");
    // Below the scale of the forces.
    let at = canvas.rect.center_top() + vec2(0.0, 44.0);
    let font = FontId::proportional(13.0);
    super::dimension::plate_label(canvas, at, Align2::CENTER_TOP, &words, font, canvas.palette.accent);
    if let Some(place) = view.pointer
        && let Some(piece) = piece_at(session, &pieces(session), place)
    {
        let by = kept_words(kept_by(trial, &piece));
        let words = format!("{}: {by}", piece_words(project, &piece, Unit::of(canvas.ui)));
        let at = canvas.at(place) + vec2(14.0, 18.0);
        let font = FontId::proportional(12.0);
        super::dimension::plate_label(canvas, at, Align2::LEFT_TOP, &words, font, canvas.palette.ink);
    }
}

/// A cross over what broke.
fn cross(canvas: &Canvas<'_>, at: Pos2) {
    for (width, ink) in [(5.0, canvas.palette.plate), (2.5, canvas.palette.fault)] {
        for way in [vec2(8.0, 8.0), vec2(8.0, -8.0)] {
            canvas.painter.line_segment([at - way, at + way], Stroke::new(width, ink));
        }
    }
}

/// The stretch that covers a place.
fn piece_at(session: &Session, pieces: &[Piece], at: DVec2) -> Option<Piece> {
    let (run, along_mm) = along_at(session, at)?;
    let covers = |piece: &&Piece| piece.run == run && (piece.from_mm..=piece.to_mm).contains(&along_mm);
    pieces.iter().find(covers).copied()
}

/// A click on the channel or the ground.
pub(super) fn ground_clicked(session: &Session, view: &ViewState, at: DVec2) -> Vec<Action> {
    let Some((index, _)) = noting(session, view) else { return Vec::new() };
    let Some(piece) = piece_at(session, &pieces(session), at) else { return Vec::new() };
    let edit = changed(session.document(), index, |trial| {
        let by = next(kept_by(trial, &piece));
        note_kept(trial, &piece, by);
    });
    as_step(session, &view.shots, vec![Action::Edit(edit)])
}

/// A click on an item. One on the tag of a run is one on the run where it is pointed at.
pub(super) fn item_clicked(session: &Session, view: &ViewState, id: Id, at: Option<DVec2>) -> Vec<Action> {
    let Some((index, _)) = noting(session, view) else { return Vec::new() };
    if !matches!(session.document().kind(id), Some(ItemKind::Sprue | ItemKind::Feature)) {
        return at.map(|at| ground_clicked(session, view, at)).unwrap_or_default();
    }
    let edit = changed(session.document(), index, |trial| {
        let was_broken = trial.broke.as_ref().is_some_and(|broke| broke.contains(&id));
        note_broke(trial, id, !was_broken);
    });
    as_step(session, &view.shots, vec![Action::Edit(edit)])
}
