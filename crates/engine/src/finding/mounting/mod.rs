//! Whether every keying feature can be made and mounted as it is drawn.

mod drawer;
mod drill;
mod head;
mod key;
mod length;
mod lock;
mod ring;
#[cfg(test)]
mod tests;
mod thread;

use keepside_model::{Edit, Half, Id, KeyingFeature, Plates};

pub(crate) use drawer::{in_size, on_hand_sizes};

use super::cure::set;
use super::{Drawn, Finding, Severity};
use crate::hardware::{self, Sold};
use crate::mount::{self, Depth, Mount};

/// A feature with its mount.
struct Mounted<'a> {
    drawn: &'a Drawn<'a>,
    id: Id,
    feature: &'a KeyingFeature,
    mount: Mount,
}

/// A rule of one mounted feature.
type Rule = fn(&Mounted<'_>) -> Option<Finding>;

/// The rules, in the order in which a feature's findings are listed.
const RULES: &[Rule] = &[
    length::sold,
    length::inside,
    thread::engagement,
    key::reach,
    lock::way,
    drill::point,
    head::turned,
    head::chamfer,
    head::clear,
    ring::neck,
    drawer::on_hand,
];

/// Everything that is amiss with how the features are mounted.
pub(super) fn check(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for (&id, feature) in &drawn.project.features {
        let floor_mm = drawn.lookup.depth_in_half_mm(feature.half, feature.at);
        let mount = mount::mounted(drawn.project, feature, floor_mm);
        let mounted = Mounted { drawn, id, feature, mount };
        findings.extend(RULES.iter().filter_map(|rule| rule(&mounted)));
    }
}

impl Mounted<'_> {
    fn finding(&self, rule: &'static str, severity: Severity, message: String) -> Finding {
        Finding::new(rule, severity, [self.id], Some(self.feature.at), message)
    }

    /// The feature in words, with its tag.
    fn title(&self) -> String {
        format!("{} {}", self.feature.kind.word(), self.drawn.project.tag(self.id))
    }

    /// How a changed feature would be mounted in the same place.
    fn mounted(&self, feature: &KeyingFeature) -> Mount {
        mount::mounted(self.drawn.project, feature, self.mount.floor_mm)
    }

    /// Whether a mount breaks none of the rules of thread, length, key, lock and drill.
    fn is_sound(&self, mount: &Mount) -> bool {
        let limits = &self.drawn.project.limits;
        let is_held = mount.screw.is_none_or(|screw| {
            screw.is_engaged(limits.engagement_diameters) && !screw.sticks_out() && screw.sold != Sold::No
        });
        let is_drilled = match mount.hole.depth {
            Depth::Blind { left_mm, .. } => left_mm >= limits.drill_floor_mm - super::cure::SLACK_MM,
            Depth::Through | Depth::Seat { .. } => true,
        };
        let is_reached = mount.key.is_none_or(|key| key.arm.is_some());
        is_held && is_drilled && is_reached && mount.locking.problem.is_none()
    }

    /// The feature with the sold length nearest to `near_mm` that leaves nothing to say about its mount, and
    /// that length, mm; `None` if there is none. A length that is surely sold goes before one that may be.
    fn with_sound_length(&self, near_mm: f64) -> Option<(KeyingFeature, f64)> {
        let screw = self.mount.screw?;
        let mut lengths: Vec<(f64, Sold)> = hardware::lengths(screw.stock, screw.thread).collect();
        lengths.sort_by(|(a, a_sold), (b, b_sold)| {
            a_sold.cmp(b_sold).then((a - near_mm).abs().total_cmp(&(b - near_mm).abs()))
        });
        lengths.into_iter().find_map(|(length_mm, _)| {
            let changed = KeyingFeature { screw_length_mm: Some(length_mm), ..self.feature.clone() };
            self.is_sound(&self.mounted(&changed)).then_some((changed, length_mm))
        })
    }

    /// Replaces the feature.
    fn set(&self, feature: KeyingFeature) -> Option<Edit> {
        set(self.id, feature)
    }

    /// The plate of the feature's half in the next whole millimetre of thickness that leaves `steel_mm`
    /// behind the channel floor, as words and as an edit; no edit for more than a project may hold.
    fn thicker(&self, steel_mm: f64) -> (String, Option<Edit>) {
        let thickness_mm = (self.mount.floor_mm + steel_mm - super::cure::SLACK_MM).ceil();
        let plates = self.drawn.project.plates.clone();
        let plates = match self.feature.half {
            Half::Moving => Plates { moving_thickness_mm: thickness_mm, ..plates },
            Half::Fixed => Plates { fixed_thickness_mm: thickness_mm, ..plates },
        };
        let words = format!("Make the {} plate {thickness_mm:.0} mm thick", self.feature.half.word());
        (words, (thickness_mm <= 500.0).then_some(Edit::SetPlates(plates)))
    }
}
