//! Ejector pins that cannot do their work as drawn.

use glam::DVec2;
use keepside_model::{Edit, Ejector, Grooves, Half, Id, Item, Project, Vent, bounds};

use super::cure::{SLACK_MM, move_to, sold_diameter_mm};
use super::{Drawn, Finding, Severity};
use crate::beam::ChannelShape;
use crate::outline::nearest_in_slot;
use crate::silhouette;

/// How much farther than the deepest hold an ejector should come out, mm. Assumed: enough to see under.
const CLEAR_MM: f64 = 1.0;

/// How far the rim of a face may lie in the foot of the wall, mm. Assumed: a step that nobody feels.
const STEP_MM: f64 = 0.1;

/// Pins whose face reaches beyond the flat floor, into the wall's draft or the rounded edge at its foot,
/// where it leaves a step in the part; and pins across the groove of a rib, which they interrupt.
pub(super) fn floor(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    for (&id, ejector) in &project.ejectors {
        let radius_mm = 0.5 * ejector.diameter_mm;
        let place = drawn.lookup.channel_at(ejector.at).filter(|place| place.inside);
        // What reaches through the wall is told by its own rule.
        let Some(place) = place.filter(|_| drawn.clear_mm(ejector.at) >= radius_mm - SLACK_MM) else {
            continue;
        };
        let shape = ChannelShape::new(&project.part, place.width_mm, place.depth_mm);
        let floor_mm = shape.floor_mm(Half::Moving);
        let aside_mm = place.offset_mm.abs();
        let gap_mm = 0.5 * floor_mm - aside_mm - radius_mm;
        let tag = project.tag(id);
        if gap_mm < -STEP_MM - SLACK_MM {
            let message = format!(
                "ejector {tag} reaches {:.2} mm beyond the flat floor, into the foot of the wall: its face \
                 leaves a step there",
                -gap_mm
            );
            let finding = Finding::new("ejector-floor", Severity::Warning, [id], Some(ejector.at), message)
                .comparing_mm(gap_mm, 0.0);
            let is_narrow = 0.5 * floor_mm < radius_mm - SLACK_MM;
            findings.push(match (is_narrow, sold_diameter_mm(floor_mm)) {
                (false, _) => finding.cured_by("Move it to mid-channel", move_to(id, ejector.at, place.at)),
                (true, Some(diameter_mm)) => finding.cured_by(
                    format!("Use a pin of {diameter_mm:.1} mm in mid-channel"),
                    set(id, Ejector { at: place.at, diameter_mm, ..ejector.clone() }),
                ),
                (true, None) => finding.cured_by("Let the part's edge be rounded less there", None),
            });
        }
        let rib = shape.rib().filter(|rib| rib.half == Half::Moving);
        if let Some(rib) = rib
            && aside_mm - radius_mm < 0.5 * rib.width_mm - SLACK_MM
            && aside_mm + radius_mm > 0.5 * rib.width_mm + SLACK_MM
        {
            let message = format!(
                "ejector {tag} of {:.2} mm stands across the groove of the rib, {:.2} mm wide: with its face \
                 level with the channel floor the rib has a gap there",
                ejector.diameter_mm, rib.width_mm
            );
            findings.push(
                Finding::new("ejector-rib", Severity::Note, [id], Some(ejector.at), message).cured_by(
                    "Turn a tongue as high as the rib off its face, or use a pin that fits into the groove",
                    None,
                ),
            );
        }
    }
}

/// Pins whose stroke ends before the part is clear of the moving half: it hangs as deep as the channel is
/// there, and on every keying feature as high as that stands.
pub(super) fn reach(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    let Some((deepest_mm, what)) = deepest(project) else { return };
    let needed_mm = deepest_mm + CLEAR_MM;
    for (&id, ejector) in &project.ejectors {
        if ejector.stroke_mm >= needed_mm - SLACK_MM {
            continue;
        }
        let message = format!(
            "ejector {} comes out by {:.2} mm; {needed_mm:.2} mm is needed to push the part clear of {what}, \
             {deepest_mm:.2} mm deep",
            project.tag(id),
            ejector.stroke_mm
        );
        // Up to half a millimetre, as a stop is set.
        let stroke_mm = (2.0 * (needed_mm - SLACK_MM)).ceil() / 2.0;
        let edit = set(id, Ejector { stroke_mm, ..ejector.clone() });
        findings.push(
            Finding::new("ejector-stroke", Severity::Warning, [id], Some(ejector.at), message)
                .comparing_mm(ejector.stroke_mm, needed_mm)
                .cured_by(format!("Let it come out by {stroke_mm:.1} mm"), edit),
        );
    }
}

/// How far the part reaches into the moving half or stands on it, mm, and what does so, in words.
fn deepest(project: &Project) -> Option<(f64, String)> {
    let share = project.part.moving_share;
    let rib_mm = project.part.rib.filter(|rib| rib.half == Half::Moving).map_or(0.0, |rib| rib.height_mm);
    let points = project.part.runs.values().flat_map(|run| &run.points);
    let channel_mm = points.map(|point| share * point.depth_mm + rib_mm).reduce(f64::max)?;
    let features = project.features.iter().filter(|(_, feature)| feature.half == Half::Moving);
    let highest = features.max_by(|(_, a), (_, b)| a.protrusion_mm.total_cmp(&b.protrusion_mm));
    Some(match highest {
        Some((&id, feature)) if feature.protrusion_mm > channel_mm => {
            (feature.protrusion_mm, format!("{} {}", feature.kind.word(), project.tag(id)))
        }
        _ => (channel_mm, "the channel".to_owned()),
    })
}

/// Faces whose grooves do not come out as asked for: they would meet, or do not fit.
pub(super) fn grooves(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    for (&id, ejector) in project.ejectors.iter().filter(|(_, ejector)| ejector.face.keys()) {
        let Some(why) = silhouette::of_ejector(ejector).uncertain else { continue };
        let message = format!("ejector {}: {why}", project.tag(id));
        let finding = Finding::new("ejector-grooves", Severity::Warning, [id], Some(ejector.at), message);
        // Half the pitch is mouth, and the sides lean no more than leaves steel between them.
        let pitch_mm = (0.5 * ejector.diameter_mm).min(ejector.grooves.pitch_mm).max(bounds::GROOVE.min);
        let mouth_mm = ejector.grooves.mouth_mm.min(0.5 * pitch_mm).max(bounds::GROOVE.min);
        let most_deg = (0.25 * (pitch_mm - mouth_mm) / ejector.grooves.depth_mm).atan().to_degrees();
        let lean_deg = ejector.grooves.lean_deg.min(most_deg.floor());
        let grooves = Grooves { pitch_mm, mouth_mm, lean_deg, ..ejector.grooves };
        let cured = Ejector { grooves, ..ejector.clone() };
        let fits = silhouette::of_ejector(&cured).uncertain.is_none();
        findings.push(if fits {
            let cure = format!(
                "Mill them {mouth_mm:.2} mm wide every {pitch_mm:.2} mm, with sides that lean by {lean_deg:.0}°"
            );
            finding.cured_by(cure, set(id, cured))
        } else {
            finding.cured_by("Use a thicker pin, or narrower and shallower grooves", None)
        });
    }
}

/// Pins too short for their stroke: behind the plate, what pushes them needs room to travel.
pub(super) fn length(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    for (&id, ejector) in &project.ejectors {
        let steel_mm =
            project.plates.moving_thickness_mm - drawn.lookup.depth_in_half_mm(Half::Moving, ejector.at);
        let needed_mm = steel_mm.max(0.0) + ejector.stroke_mm;
        if ejector.length_mm >= needed_mm - SLACK_MM {
            continue;
        }
        let message = format!(
            "ejector {} is {:.2} mm long; through {:.2} mm of plate and with a stroke of {:.2} mm it needs \
             {needed_mm:.2} mm",
            project.tag(id),
            ejector.length_mm,
            steel_mm.max(0.0),
            ejector.stroke_mm
        );
        let length_mm = (needed_mm - SLACK_MM).ceil();
        let edit = set(id, Ejector { length_mm, ..ejector.clone() });
        findings.push(
            Finding::new("ejector-length", Severity::Fault, [id], Some(ejector.at), message)
                .comparing_mm(ejector.length_mm, needed_mm)
                .cured_by(format!("Use a pin of {length_mm:.0} mm"), edit),
        );
    }
}

/// Vents of the moving half that run into an ejector's hole: melt that follows the vent gets round the pin.
pub(super) fn vents(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let project = drawn.project;
    let vents = project.vents.iter().filter(|(_, vent)| vent.half == Half::Moving);
    let vents: Vec<_> = vents.map(|(&id, vent)| (id, vent, drawn.lookup.vent_direction(vent))).collect();
    for (&id, ejector) in &project.ejectors {
        for &(vent_id, vent, way) in &vents {
            let gap_mm = to_slot_mm(vent, way, ejector.at) - 0.5 * ejector.diameter_mm;
            if gap_mm >= -SLACK_MM {
                continue;
            }
            let message = format!(
                "vent {} runs {:.2} mm into the hole of ejector {}: plastic that follows the vent creeps \
                 round the pin",
                project.tag(vent_id),
                -gap_mm,
                project.tag(id)
            );
            let finding =
                Finding::new("ejector-vent", Severity::Warning, [id, vent_id], Some(ejector.at), message)
                    .comparing_mm(gap_mm, 0.0);
            findings.push(match beside(drawn, ejector, (vent, way)) {
                Some(place) => {
                    let by_mm = place.distance(ejector.at);
                    let cure = format!("Move the ejector {by_mm:.1} mm along the channel");
                    finding.cured_by(cure, move_to(id, ejector.at, place))
                }
                None => finding.cured_by("Move the vent or the ejector", None),
            });
        }
    }
}

/// Distance from a place to the slot of a vent that runs in the direction `way`, mm; 0 in it.
fn to_slot_mm(vent: &Vent, way: DVec2, at: DVec2) -> f64 {
    nearest_in_slot(vent, way, at).distance(at)
}

/// The nearest place along the channel at which the pin stays in it and off the vent, tried in small steps.
fn beside(drawn: &Drawn<'_>, ejector: &Ejector, (vent, way): (&Vent, DVec2)) -> Option<DVec2> {
    let along = drawn.lookup.channel_at(ejector.at)?.direction;
    let radius_mm = 0.5 * ejector.diameter_mm;
    let most_mm = 2.0 * radius_mm + vent.width_mm;
    let steps = (1..=200).map(|step| 0.005 * f64::from(step) * most_mm);
    let mut places = steps.flat_map(|by_mm| [ejector.at + along * by_mm, ejector.at - along * by_mm]);
    places.find(|&place| drawn.clear_mm(place) >= radius_mm && to_slot_mm(vent, way, place) >= radius_mm)
}

fn set(id: Id, ejector: Ejector) -> Option<Edit> {
    Some(Edit::Set(id, Item::Ejector(ejector)))
}
