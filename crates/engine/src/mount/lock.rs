//! How a feature is kept from turning or working loose, and whether it can be kept so.

use keepside_model::{KeyingFeature, Lock, ScrewEnd, ThreadSize};

use super::screw::Screw;
use super::seat_mm;
use crate::hardware::{self, Sold, Stock};

/// How a feature is kept in place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Locking {
    /// The way, never [`Lock::Usual`]: that is a second screw for a screw, a press fit for a post.
    pub way: Lock,
    /// The second screw driven against it from behind: its thread and the shortest length sold, mm.
    pub back_screw: Option<(ThreadSize, f64)>,
    /// Room in the plate behind the feature's own back end, mm; 0 for what is turned.
    pub room_mm: f64,
    /// Why it cannot be kept so; `None` if it can.
    pub problem: Option<LockProblem>,
}

/// Why a way of locking does not go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LockProblem {
    /// There is less thread behind the screw than the shortest second screw is long.
    NoRoom,
    /// A screw is not pressed in.
    PressedScrew,
    /// No thread up to M8 is wide enough for a screw behind the post.
    PostTooWide,
}

/// How much wider the tapping drill of a screw behind a post is than the post, mm. Assumed: so that the
/// post passes through the thread when it is pressed out.
const PASSES_MM: f64 = 0.1;

impl Locking {
    pub(super) fn of(feature: &KeyingFeature, screw: Option<&Screw>, steel_mm: f64) -> Self {
        let way = match (feature.lock, screw) {
            (Lock::Usual, Some(_)) => Lock::BackScrew,
            (Lock::Usual, None) => Lock::PressFit,
            (way, _) => way,
        };
        let room_mm = screw.map_or(0.0, |screw| screw.back_mm.clamp(0.0, steel_mm));
        let plain = Self { way, back_screw: None, room_mm, problem: None };
        match (way, screw) {
            (Lock::PressFit, Some(_)) => Self { problem: Some(LockProblem::PressedScrew), ..plain },
            (Lock::BackScrew, Some(screw)) => {
                let length_mm = shortest_mm(screw.thread);
                let problem = (length_mm > room_mm + 1e-6).then_some(LockProblem::NoRoom);
                Self { back_screw: Some((screw.thread, length_mm)), problem, ..plain }
            }
            (Lock::BackScrew, None) => match behind_post(feature) {
                Some(thread) => Self { back_screw: Some((thread, shortest_mm(thread))), ..plain },
                None => Self { problem: Some(LockProblem::PostTooWide), ..plain },
            },
            _ => plain,
        }
    }
}

/// The smallest thread through which the post passes.
fn behind_post(feature: &KeyingFeature) -> Option<ThreadSize> {
    let seat_mm = seat_mm(&feature.kind)?;
    ThreadSize::ALL.into_iter().find(|size| hardware::thread(*size).tap_drill_mm >= seat_mm + PASSES_MM)
}

/// The shortest set screw that is surely sold, mm.
fn shortest_mm(thread: ThreadSize) -> f64 {
    let mut lengths = hardware::lengths(Stock::SetScrew(ScrewEnd::Flat), thread);
    lengths
        .find(|(_, sold)| *sold == Sold::Yes)
        .map_or(hardware::nominal_diameter_mm(thread), |(length_mm, _)| length_mm)
}
