//! The moments of an opening that are worth a picture.

use keepside_engine::Opening;
use keepside_engine::opening::{Frame, HoldName, Release, ReleaseHow};
use keepside_model::Project;

use crate::document::decimals;

/// Releases that get a picture, at most.
const MOST_RELEASES: usize = 5;

/// A moment.
pub(super) struct Moment<'a> {
    /// The part then.
    pub(super) frame: &'a Frame,
    /// What happens.
    pub(super) words: String,
}

/// Just before the first release, at the releases that matter, at full stroke; in order of opening.
pub(super) fn moments<'a>(
    project: &Project,
    opening: &'a Opening,
    deciding: Option<HoldName>,
) -> Vec<Moment<'a>> {
    let mut moments: Vec<Moment<'a>> = Vec::new();
    let mut add = |frame: Option<&'a Frame>, words: String| {
        let Some(frame) = frame else { return };
        match moments.last_mut() {
            // Two things between the same two frames are one picture.
            Some(last) if last.frame.opening_mm >= frame.opening_mm => {
                if !last.words.contains(&words) {
                    last.words += &format!("; {words}");
                }
            }
            _ => moments.push(Moment { frame, words }),
        }
    };
    let told = |release: &Release| {
        let name = opening.holds.get(release.hold).map(|hold| hold.name.words(project)).unwrap_or_default();
        let how = match release.how {
            ReleaseHow::LetGo => "lets go",
            ReleaseHow::Broke => "breaks",
        };
        format!("{name} {how} at {} mm", decimals(release.opening_mm, 2))
    };
    if let Some(first) = opening.releases.first() {
        let before = opening.frames.iter().rev().find(|frame| frame.opening_mm < first.opening_mm);
        add(before.or(opening.frames.first()), format!("just before the first release: {}", told(first)));
    }
    for release in important(opening, deciding) {
        add(opening.frame_at(release.opening_mm), told(release));
    }
    add(opening.frames.last(), "full stroke".to_owned());
    moments
}

/// The releases of sprues, features and ejectors: of many the first, the deciding one, the last, and those
/// of the strongest holds; if there is none, the last release of a face or wall.
fn important(opening: &Opening, deciding: Option<HoldName>) -> Vec<&Release> {
    let hold = |release: &Release| opening.holds.get(release.hold);
    let has_item = |release: &&Release| hold(release).is_some_and(|hold| hold.name.what.item().is_some());
    let of_items: Vec<&Release> = opening.releases.iter().filter(has_item).collect();
    if of_items.is_empty() {
        return opening.releases.last().into_iter().collect();
    }
    let last = of_items.len() - 1;
    let mut ranked: Vec<(f64, usize)> = of_items
        .iter()
        .enumerate()
        .map(|(index, release)| {
            let is_deciding = hold(release).is_some_and(|hold| Some(hold.name) == deciding);
            let is_end = index == 0 || index == last;
            let strength_n = hold(release).map_or(0.0, |hold| hold.capacity_n);
            (if is_deciding || is_end { f64::INFINITY } else { strength_n }, index)
        })
        .collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut kept: Vec<usize> = ranked.into_iter().take(MOST_RELEASES).map(|(_, index)| index).collect();
    kept.sort_unstable();
    kept.into_iter().map(|index| of_items[index]).collect()
}
