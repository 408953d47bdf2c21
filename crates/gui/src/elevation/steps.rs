//! Going through the opening: step by step, from release to release, or played.

use keepside_engine::Opening;
use keepside_session::Session;

use crate::view::ViewState;

/// Two openings nearer than this are the same place of the slider, mm.
const SAME_MM: f64 = 1e-6;

/// Shows the next opening, or the one before; of the releases only, if wanted.
pub(crate) fn step(session: &Session, view: &mut ViewState, forward: bool, release: bool) {
    let Some(Ok(opening)) = session.results().opening() else { return };
    view.playing_s = None;
    if let Some(next_mm) = next_mm(opening, view.opening_mm, forward, release) {
        view.opening_mm = next_mm;
    }
}

/// Plays the opening, or pauses it.
pub(crate) fn play_or_pause(session: &Session, view: &mut ViewState) {
    let computed = matches!(session.results().opening(), Some(Ok(_)));
    view.playing_s = if view.playing_s.is_some() || !computed { None } else { Some(0.0) };
}

/// The computed opening next to `now_mm`.
fn next_mm(opening: &Opening, now_mm: f64, forward: bool, release: bool) -> Option<f64> {
    let all: Vec<f64> = if release {
        opening.releases.iter().map(|release| release.opening_mm).collect()
    } else {
        opening.frames.iter().map(|frame| frame.opening_mm).collect()
    };
    let beyond = |mm: &f64| if forward { *mm > now_mm + SAME_MM } else { *mm < now_mm - SAME_MM };
    let nearest = |a: &f64, b: &f64| (a - now_mm).abs().total_cmp(&(b - now_mm).abs());
    all.into_iter().filter(beyond).min_by(nearest)
}
