//! Going through the filling: step by step, from event to event, or played.

use egui::Ui;
use keepside_engine::Filling;
use keepside_session::Session;

use super::of;
use crate::view::ViewState;

/// How long a whole filling is played, s.
const PLAY_S: f64 = 5.0;

/// Steps from the beginning to the end.
const STEPS: f64 = 40.0;

/// Two moments nearer than this share of the fill time are one.
const SAME: f64 = 1e-6;

/// Shows a moment later or earlier; if wanted the next event: a gate opens, fronts meet, a front ends.
pub(crate) fn step(session: &Session, view: &mut ViewState, forward: bool, event: bool) {
    let Some(Ok(filling)) = of(session) else { return };
    view.playing_s = None;
    let now = view.fill_share;
    if event {
        if let Some(next) = next_event(&events(filling), now, forward) {
            view.fill_share = next;
        }
    } else {
        let steps = now * STEPS;
        let next = if forward { (steps + SAME).floor() + 1.0 } else { (steps - SAME).ceil() - 1.0 };
        view.fill_share = (next / STEPS).clamp(0.0, 1.0);
    }
}

/// Plays the filling, or pauses it.
pub(crate) fn play_or_pause(session: &Session, view: &mut ViewState) {
    let computed = matches!(of(session), Some(Ok(_)));
    view.playing_s = if view.playing_s.is_some() || !computed { None } else { Some(0.0) };
}

/// Goes on with the playing.
pub(crate) fn play(ui: &Ui, session: &Session, view: &mut ViewState) {
    let (Some(played_s), Some(Ok(_))) = (view.playing_s, of(session)) else {
        view.playing_s = None;
        return;
    };
    let played_s = played_s + f64::from(ui.input(|input| input.stable_dt).min(0.1));
    view.fill_share = (played_s / PLAY_S).min(1.0);
    view.playing_s = (played_s < PLAY_S).then_some(played_s);
    ui.request_repaint();
}

/// Moments at which something happens, as shares of the fill time, in order.
fn events(filling: &Filling) -> Vec<f64> {
    let opens = filling.gates.iter().filter_map(|gate| gate.opens_s);
    let meet = filling.welds.iter().map(|weld| weld.time_s);
    let end = filling.trapped.iter().map(|place| place.time_s);
    let whole_s = filling.fill_time_s.max(1e-12);
    let mut all: Vec<f64> = opens.chain(meet).chain(end).map(|time_s| time_s / whole_s).collect();
    all.extend([0.0, 1.0]);
    all.sort_by(f64::total_cmp);
    all
}

fn next_event(events: &[f64], now: f64, forward: bool) -> Option<f64> {
    if forward {
        events.iter().copied().find(|event| *event > now + SAME)
    } else {
        events.iter().rev().copied().find(|event| *event < now - SAME)
    }
}

#[cfg(test)]
mod tests {
    use super::next_event;

    #[test]
    fn events_are_gone_through_both_ways_and_end() {
        let events = [0.0, 0.2, 0.2, 0.7, 1.0];
        assert_eq!(next_event(&events, 0.0, true), Some(0.2));
        assert_eq!(next_event(&events, 0.2, true), Some(0.7));
        assert_eq!(next_event(&events, 0.5, false), Some(0.2));
        assert_eq!(next_event(&events, 0.2, false), Some(0.0));
        assert_eq!(next_event(&events, 1.0, true), None);
    }
}
