//! The channel's cross-section as a drawing needs it: its true outline with draft, rounded edges and rib.

use glam::DVec2;
use keepside_model::Part;

use crate::beam::ChannelShape;

/// Arcs are drawn in chords of at most this angle, rad: three degrees, less than a hundredth of a
/// millimetre off on any edge that a bench mills.
const STEP_RAD: f64 = std::f64::consts::PI / 60.0;

/// The right flank of the section where the channel is `width_mm` wide and `depth_mm` deep, from the
/// fixed half's floor to the moving half's: half width in x and height over the parting plane in y, both
/// mm, y positive into the moving half. Where two points differ in width alone there is a face.
pub fn flank(part: &Part, width_mm: f64, depth_mm: f64) -> Vec<DVec2> {
    let shape = ChannelShape::new(part, width_mm, depth_mm);
    let parting = DVec2::new(0.0, shape.depth_fixed_mm);
    shape.flank_points(STEP_RAD).into_iter().map(|point| point - parting).collect()
}

#[cfg(test)]
mod tests {
    use keepside_model::{Half, Project, Rib};

    use super::*;

    #[test]
    fn a_drafted_channel_is_two_trapezia_widest_at_the_parting_plane() {
        let part = Project::blank().part;
        let narrower = 3.0 - 1.5 * 1.0_f64.to_radians().tan();
        let expected = [(narrower, -1.5), (3.0, 0.0), (narrower, 1.5)].map(DVec2::from);
        let points = flank(&part, 6.0, 3.0);
        assert_eq!(points.len(), 3);
        for (point, expected) in points.iter().zip(expected) {
            assert!(point.distance(expected) < 1e-9, "{point} is not {expected}");
        }
    }

    #[test]
    fn edges_are_rounded_and_a_rib_stands_over_the_floor() {
        let mut part = Project::blank().part;
        (part.edge_moving_mm, part.draft_moving_deg) = (0.5, 0.0);
        part.rib = Some(Rib { half: Half::Fixed, width_mm: 1.0, height_mm: 0.8 });
        let points = flank(&part, 6.0, 3.0);
        assert!(points[0].distance(DVec2::new(0.5, -2.3)) < 1e-9, "the rib's face: {points:?}");
        assert!(points[1].distance(DVec2::new(0.5, -1.5)) < 1e-9, "the rib's foot: {points:?}");
        let last = points[points.len() - 1];
        assert!(last.distance(DVec2::new(2.5, 1.5)) < 1e-9, "the end of the rounding: {last}");
        let centre = DVec2::new(2.5, 1.0);
        let rounded = points.iter().filter(|point| point.y > 1.0 + 1e-9);
        assert!(rounded.clone().count() >= 30);
        assert!(rounded.into_iter().all(|point| (point.distance(centre) - 0.5).abs() < 1e-9));
    }
}
