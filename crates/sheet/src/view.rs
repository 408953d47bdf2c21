//! Which way round a plate is seen, and where x and y are counted from.

use glam::DVec2;
use keepside_model::{Datum, Half, Plates, Project};

/// The side of a plate that is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// The parting face.
    Face,
    /// The back, away from the other plate.
    Back,
}

/// A plate as it lies before somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct View {
    /// Which plate.
    pub half: Half,
    /// The side that is up.
    pub side: Side,
}

impl View {
    /// The plate of a half, seen on its parting face.
    pub const fn face(half: Half) -> Self {
        Self { half, side: Side::Face }
    }

    /// The plate of a half, seen from behind.
    pub const fn back(half: Half) -> Self {
        Self { half, side: Side::Back }
    }

    /// Whether the view is the mirror image of the plan: turning a plate over about an upright axis mirrors
    /// it in x, and so does looking at the other half of a closed mould.
    pub fn is_mirrored(self) -> bool {
        (self.half == Half::Fixed) != (self.side == Side::Back)
    }

    /// Where a point of the plan is seen, and the other way round: mm from the plate's lower left corner in
    /// this view.
    pub fn mirrored(self, plates: &Plates, point_mm: DVec2) -> DVec2 {
        if self.is_mirrored() { DVec2::new(plates.width_mm - point_mm.x, point_mm.y) } else { point_mm }
    }

    /// The datum: mm from the plate's lower left corner in this view.
    pub fn datum_mm(self, project: &Project) -> DVec2 {
        let plates = &project.plates;
        match (project.sheet.datum, project.datum_pin()) {
            (Datum::Centre, _) => DVec2::new(plates.width_mm, plates.height_mm) / 2.0,
            (Datum::GuidePin(_), Some((_, at_mm))) => self.mirrored(plates, at_mm),
            (Datum::LowerLeft | Datum::GuidePin(_), _) => DVec2::ZERO,
        }
    }

    /// What is seen, in words.
    pub const fn words(self) -> &'static str {
        match (self.half, self.side) {
            (Half::Moving, Side::Face) => "Moving half, seen on its parting face",
            (Half::Fixed, Side::Face) => "Fixed half, seen on its parting face",
            (Half::Moving, Side::Back) => "Moving half, SEEN FROM THE BACK",
            (Half::Fixed, Side::Back) => "Fixed half, SEEN FROM THE BACK",
        }
    }
}

/// The datum in words that follow "from".
pub(crate) fn datum_words(project: &Project) -> String {
    match (project.sheet.datum, project.datum_pin()) {
        (Datum::Centre, _) => "the centre of the plate".to_owned(),
        (Datum::GuidePin(_), Some((id, _))) => format!("guide pin {}", project.tag(id)),
        (Datum::LowerLeft | Datum::GuidePin(_), _) => "the lower left corner".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use keepside_model::{HoleUse, Id, PlateHole};

    use super::*;

    const VIEWS: [View; 4] = [
        View::face(Half::Moving),
        View::back(Half::Moving),
        View::face(Half::Fixed),
        View::back(Half::Fixed),
    ];

    #[test]
    fn every_datum_is_the_same_place_of_the_mould_in_every_view_but_for_the_corner() {
        let mut project = Project::blank();
        let at = DVec2::new(30.0, 17.0);
        let pin = PlateHole { name: String::new(), purpose: HoleUse::GuidePin, at, diameter_mm: 6.0 };
        project.holes.insert(Id(9), pin);
        let in_plan = |project: &Project, view: View| view.mirrored(&project.plates, view.datum_mm(project));
        for view in VIEWS {
            project.sheet.datum = Datum::Centre;
            assert_eq!(in_plan(&project, view), DVec2::new(100.0, 60.0));
            project.sheet.datum = Datum::GuidePin(Id(9));
            assert_eq!(in_plan(&project, view), at);
            // A pin that is not there: the corner.
            for datum in [Datum::LowerLeft, Datum::GuidePin(Id(1))] {
                project.sheet.datum = datum;
                assert_eq!(view.datum_mm(&project), DVec2::ZERO);
            }
        }
    }

    #[test]
    fn a_plate_turned_over_is_mirrored_and_two_mirrors_are_none() {
        assert_eq!(VIEWS.map(View::is_mirrored), [false, true, true, false]);
    }
}
