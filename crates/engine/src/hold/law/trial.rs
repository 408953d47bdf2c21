//! Inputs that only a trial can give, and how far the pull depends on them.

use keepside_model::{Id, Project};

use crate::hold::law::{Way, weigh};
use crate::outline::Outline;

/// An input that only a trial can give.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialInput {
    /// What it is, in words.
    pub name: &'static str,
    /// The value that the project takes.
    pub value: f64,
    /// Its unit; empty if it has none.
    pub unit: &'static str,
    /// Lowest and highest value to be expected.
    pub range: (f64, f64),
    /// Where the range is from.
    pub origin: &'static str,
    /// Computed peak of the pull, N, at the lowest and the highest value.
    pub pull_n: (f64, f64),
    /// The way that governs at the lowest and the highest value.
    pub governed_by: (&'static str, &'static str),
}

/// Share of a moulded-over thread that the plastic may really fill; assumed.
const FILLED: (f64, f64) = (0.3, 0.9);

/// Drag of a bare wall, MPa; assumed: half and twice the usual starting value.
const DRAG: (f64, f64) = (0.025, 0.1);

/// Drag in a bore as turned, MPa; assumed.
const TURNED_DRAG: (f64, f64) = (0.3, 1.0);

/// Friction of plastics on steel: name, range.
pub(super) const FRICTION: [(&str, (f64, f64), &str); 9] = [
    ("PTFE", (0.12, 0.22), GUIDE),
    ("HDPE", (0.20, 0.25), GUIDE),
    ("PP", (0.25, 0.30), GUIDE),
    ("POM", (0.20, 0.35), GUIDE),
    ("PA", (0.30, 0.40), GUIDE),
    ("PS", (0.40, 0.50), GUIDE),
    ("PC", (0.45, 0.55), GUIDE),
    ("PMMA", (0.50, 0.60), GUIDE),
    ("ABS", (0.30, 0.50), "typical in ejection, J. Manuf. Mater. Process. 10(2) 45, introduction"),
];

const GUIDE: &str = "on steel: Snap-Fit Joints for Plastics: A Design Guide, table 3, from memory";

/// Range of the friction of a plastic on steel, by the letters that its name begins with; three quarters to
/// four thirds of `value` if it is not known.
pub(super) fn friction_range(material: &str, value: f64) -> ((f64, f64), &'static str) {
    let letters: String = material.chars().take_while(|c| c.is_ascii_alphabetic()).collect();
    let known = FRICTION.iter().find(|(name, ..)| name.eq_ignore_ascii_case(&letters));
    known.map_or(((0.75 * value, value / 0.75), "assumed"), |(_, range, origin)| (*range, *origin))
}

/// The inputs on which the pull of a feature or ejector depends.
pub(super) fn inputs(project: &Project, outline: &Outline, id: Id, ways: &[Way]) -> Vec<TrialInput> {
    if ways.is_empty() {
        return Vec::new();
    }
    let (friction, friction_origin) = friction_range(&project.material.name, project.material.friction);
    let holds = &project.holds;
    let with = |name, value: f64, unit, range, origin, set: &dyn Fn(&mut Project, f64)| {
        let at = |value: f64| {
            let mut other = project.clone();
            set(&mut other, value);
            let measured = |item: Option<&mut Option<keepside_model::PullOff>>| {
                if let Some(curve) = item {
                    *curve = None;
                }
            };
            measured(other.features.get_mut(&id).map(|feature| &mut feature.measured));
            measured(other.ejectors.get_mut(&id).map(|ejector| &mut ejector.measured));
            weigh(&other, outline, id).map_or((0.0, ""), |w| (w.hold.curve.peak_n(), w.hold.governed_by))
        };
        let (low, high): (f64, f64) = range;
        // A range never leaves the project's own value out.
        let range = (low.min(value), high.max(value));
        let ((low_n, low_by), (high_n, high_by)) = (at(range.0), at(range.1));
        let (pull_n, governed_by) = ((low_n, high_n), (low_by, high_by));
        TrialInput { name, value, unit, range, origin, pull_n, governed_by }
    };
    let mut inputs = Vec::new();
    let is_threaded = project
        .features
        .get(&id)
        .is_some_and(|feature| matches!(feature.kind, keepside_model::FeatureKind::SetScrew { .. }));
    if is_threaded {
        let set = |project: &mut Project, value| project.holds.thread_filled_share = value;
        let value = holds.thread_filled_share;
        inputs.push(with("share of the thread filled", value, "", FILLED, "assumed", &set));
    }
    let set = |project: &mut Project, value| project.material.friction = value;
    inputs.push(with("friction on steel", project.material.friction, "", friction, friction_origin, &set));
    let set = |project: &mut Project, value| project.holds.wall_drag_mpa = value;
    inputs.push(with("drag of plain sides", holds.wall_drag_mpa, "MPa", DRAG, "assumed", &set));
    if ways.iter().any(|way| way.name == "plug") {
        let set = |project: &mut Project, value| project.holds.sprue_drag_turned_mpa = value;
        let value = holds.sprue_drag_turned_mpa;
        inputs.push(with("drag in the socket", value, "MPa", TURNED_DRAG, "assumed", &set));
    }
    inputs
}
