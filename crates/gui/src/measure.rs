//! Measuring how long frames take: moves the pointer as a hand would, notes the time of every frame, and
//! writes what came out. For developers; the results stand in `DEVELOPERS.md`.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::time::Instant;

use egui::{Event, Modifiers, MouseWheelUnit, PointerButton, Pos2, RawInput, TouchPhase, Vec2, pos2, vec2};
use glam::DVec2;
use keepside_model::{FeatureKind, Half, Id, KeyingFeature, Plates, Project, Run, ScrewEnd, ThreadSize};

/// Frames of each kind of movement.
const FRAMES: usize = 90;

/// Frames before the first movement: what is done once is over.
const WARM: usize = 20;

/// What the pointer does, in this order.
const MOVES: [(&str, Move); 5] = [
    ("moving the pointer", Move::Hover),
    ("panning", Move::Pan),
    ("zooming", Move::Zoom),
    ("dragging a pin", Move::DragPin),
    ("selecting everything, panning", Move::PanSelected),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Move {
    Hover,
    Pan,
    Zoom,
    DragPin,
    PanSelected,
}

/// What is to be measured.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// File for the results.
    pub file: PathBuf,
    /// When the program started.
    pub since: Instant,
}

/// One measurement under way.
#[derive(Debug)]
pub(crate) struct Measure {
    wanted: Wanted,
    frame: usize,
    began: Option<Instant>,
    first_frame_ms: f64,
    /// Whole frames of each movement, ms.
    frames_ms: [Vec<f64>; MOVES.len()],
    /// The share of the frame that the editor itself takes, without putting it on the screen, ms.
    own_ms: [Vec<f64>; MOVES.len()],
    /// Processor time at the first and the newest frame of each movement, ms.
    busy_ms: [Option<(f64, f64)>; MOVES.len()],
}

/// What the measurement needs to know of the window.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scene {
    /// Where the plan is.
    pub(crate) plan: egui::Rect,
    /// A pin on the screen.
    pub(crate) pin: Pos2,
}

impl Measure {
    pub(crate) fn new(wanted: Wanted) -> Self {
        Self {
            wanted,
            frame: 0,
            began: None,
            first_frame_ms: 0.0,
            frames_ms: Default::default(),
            own_ms: Default::default(),
            busy_ms: Default::default(),
        }
    }

    /// The movement that this frame belongs to, and its number in it.
    fn now(&self) -> Option<(usize, usize)> {
        let frame = self.frame.checked_sub(WARM)?;
        let index = frame / FRAMES;
        (index < MOVES.len()).then_some((index, frame % FRAMES))
    }

    /// Adds what the hand does in the frame to come.
    pub(crate) fn input(&self, raw: &mut RawInput, scene: Option<Scene>) {
        let (Some((index, step)), Some(scene)) = (self.now(), scene) else { return };
        #[expect(clippy::cast_precision_loss, reason = "a few hundred frames")]
        let turn = step as f32 / FRAMES as f32 * std::f32::consts::TAU;
        let way = Vec2::angled(turn) - Vec2::X;
        let ground = scene.plan.left_top() + vec2(6.0, 6.0);
        let (from, wide) = match MOVES[index].1 {
            Move::Hover | Move::Zoom => (scene.plan.center(), 60.0),
            Move::Pan | Move::PanSelected => (ground, 70.0),
            Move::DragPin => (scene.pin, 40.0),
        };
        let at = from + way * wide;
        let button = |pressed| Event::PointerButton {
            pos: at,
            // The middle button pans, the main one drags.
            button: match MOVES[index].1 {
                Move::Pan | Move::PanSelected => PointerButton::Middle,
                Move::Hover | Move::Zoom | Move::DragPin => PointerButton::Primary,
            },
            pressed,
            modifiers: Modifiers::NONE,
        };
        raw.events.push(Event::PointerMoved(at));
        match MOVES[index].1 {
            Move::Hover => {}
            Move::Zoom => {
                let delta = if step < FRAMES / 2 { 12.0 } else { -12.0 };
                raw.events.push(Event::MouseWheel {
                    unit: MouseWheelUnit::Point,
                    delta: Vec2::new(0.0, delta),
                    phase: TouchPhase::Move,
                    source: egui::MouseWheelSource::Wheel,
                    modifiers: Modifiers::NONE,
                });
            }
            Move::PanSelected if step == 0 => {
                let key = |pressed| Event::Key {
                    key: egui::Key::A,
                    physical_key: None,
                    pressed,
                    repeat: false,
                    modifiers: Modifiers::COMMAND,
                };
                raw.events.extend([key(true), key(false)]);
            }
            Move::Pan | Move::PanSelected | Move::DragPin => match step {
                1 => raw.events.push(button(true)),
                _ if step == FRAMES - 1 => raw.events.push(button(false)),
                _ => {}
            },
        }
    }

    /// A frame begins. Everything since the last one is that one's time, the screen included.
    pub(crate) fn begin(&mut self) {
        let now = Instant::now();
        if let Some(began) = self.began.replace(now) {
            let took_ms = now.duration_since(began).as_secs_f64() * 1e3;
            if self.frame == 1 {
                self.first_frame_ms = now.duration_since(self.wanted.since).as_secs_f64() * 1e3;
            }
            if let Some((index, _)) = self.now() {
                self.frames_ms[index].push(took_ms);
                if let Some(now_ms) = drawing_ms() {
                    self.busy_ms[index].get_or_insert((now_ms, now_ms)).1 = now_ms;
                }
            }
        }
        self.frame += 1;
    }

    /// What the editor does in a frame is done. Returns the results after the last one.
    pub(crate) fn end(&mut self, ctx: &egui::Context) -> Option<(PathBuf, String)> {
        if let (Some(began), Some((index, _))) = (self.began, self.now()) {
            self.own_ms[index].push(began.elapsed().as_secs_f64() * 1e3);
        }
        if self.frame <= WARM + FRAMES * MOVES.len() {
            ctx.request_repaint();
            return None;
        }
        Some((self.wanted.file.clone(), self.results()))
    }

    fn results(&self) -> String {
        let mut text = format!("first frame on the screen after {:.0} ms\n", self.first_frame_ms);
        for (index, (name, _)) in MOVES.iter().enumerate() {
            let [median, late, worst] = spread(&self.frames_ms[index]);
            let [own, _, own_worst] = spread(&self.own_ms[index]);
            #[expect(clippy::cast_precision_loss, reason = "a few hundred frames")]
            let frames = self.frames_ms[index].len().saturating_sub(1).max(1) as f64;
            let busy = self.busy_ms[index].map_or_else(String::new, |(from_ms, to_ms)| {
                format!("; processor time {:.1} ms a frame", (to_ms - from_ms) / frames)
            });
            let line = format!(
                "{name}: frame {median:.1} ms, 95 % within {late:.1} ms, longest {worst:.1} ms; \
                 of it the editor {own:.1} ms, longest {own_worst:.1} ms{busy}"
            );
            // Writing to a string does not fail.
            writeln!(text, "{line}").unwrap_or(());
        }
        text
    }
}

/// Processor time of this program so far without the analysis, ms: what drawing costs, whatever else the
/// machine does. Known where the kernel tells it in clock ticks of 10 ms.
fn drawing_ms() -> Option<f64> {
    let mut ticks = 0;
    for task in std::fs::read_dir("/proc/self/task").ok()? {
        let Ok(text) = std::fs::read_to_string(task.ok()?.path().join("stat")) else { continue };
        // The thread's name stands in brackets and may hold anything; the times are the 12th and 13th after.
        let (name, rest) = text.split_once('(')?.1.rsplit_once(')')?;
        if name != "analysis" {
            let times = rest.split_whitespace().skip(11).take(2);
            ticks += times.filter_map(|time| time.parse::<u32>().ok()).sum::<u32>();
        }
    }
    Some(f64::from(ticks) * 10.0)
}

/// Median, 95th percentile and largest.
fn spread(times_ms: &[f64]) -> [f64; 3] {
    let mut sorted = times_ms.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = |share: usize| sorted.get((sorted.len() * share / 100).min(sorted.len().saturating_sub(1)));
    [50, 95, 100].map(|share| at(share).copied().unwrap_or(0.0))
}

/// A project with about so many keying features: rows of channels, fifty pins in each.
pub fn crowd(features: usize) -> Project {
    const PITCH_MM: f64 = 12.0;
    let mut project = Project::blank();
    project.name = format!("{features} features");
    project.part.runs.clear();
    let in_row = features.clamp(1, 50);
    let rows = features.div_ceil(in_row);
    #[expect(clippy::cast_precision_loss, reason = "a few thousand")]
    let place = |column: usize, row: usize| {
        DVec2::new(PITCH_MM * (column as f64 + 2.0), PITCH_MM * (row as f64 + 2.0))
    };
    let far = place(in_row + 1, rows + 1);
    project.plates = Plates { width_mm: far.x.min(2000.0), height_mm: far.y.min(2000.0), ..project.plates };
    let mut id = 0;
    let mut next = || {
        id += 1;
        Id(id)
    };
    for row in 0..rows {
        let (from, to) = (place(0, row), place(in_row - 1, row));
        let end = DVec2::new(PITCH_MM / 2.0, 0.0);
        project.part.runs.insert(next(), Run::straight("", from - end, to + end, 7.0, 3.0));
        for column in 0..in_row.min(features - row * in_row) {
            let kind = match column % 4 {
                0 => FeatureKind::set_screw(ThreadSize::M3),
                1 => FeatureKind::SetScrew { thread: ThreadSize::M3, end: ScrewEnd::Cone },
                2 => FeatureKind::PlainPost { diameter_mm: 2.5 },
                _ => FeatureKind::set_screw(ThreadSize::M2_5),
            };
            let half = if column % 5 == 4 { Half::Fixed } else { Half::Moving };
            project.features.insert(next(), KeyingFeature::new(place(column, row), half, kind, 1.5));
        }
    }
    project
}

/// The middle of the plan, for what is grasped there.
pub(crate) fn scene(project: &Project, view: &crate::ViewState) -> Option<Scene> {
    let (camera, plan) = (view.camera?, view.plan_rect?);
    let on_screen = project.features.values().map(|feature| camera.to_screen(plan, feature.at));
    let from_middle = |at: &Pos2| at.distance(pos2(plan.center().x, plan.center().y));
    let pin = on_screen.min_by(|a, b| from_middle(a).total_cmp(&from_middle(b)))?;
    Some(Scene { plan, pin })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crowd_has_as_many_pins_as_asked_for_and_is_a_valid_project() {
        for count in [1, 7, 200, 2000] {
            let project = crowd(count);
            assert_eq!(project.features.len(), count);
            let text = keepside_store::write_text(&project);
            assert_eq!(keepside_store::read_text(&text).unwrap(), project);
        }
    }

    #[test]
    fn the_spread_of_times_is_their_median_nearly_largest_and_largest() {
        let times: Vec<f64> = (1..=100_u8).map(f64::from).collect();
        assert_eq!(spread(&times), [51.0, 96.0, 100.0]);
        assert_eq!(spread(&[]), [0.0; 3]);
    }
}
