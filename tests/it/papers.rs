//! Drilling sheet and template on every paper, from every datum, seen from both sides.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::collections::BTreeMap;

use glam::DVec2;
use keepside_model::{
    Datum, Ejector, EjectorFace, FeatureKind, Finish, Half, HoleUse, Id, KeyingFeature, Lock, Paper,
    PlateHole, Project, ScrewEnd, Sprue, ThreadSize,
};
use keepside_sheet::{HoleRow, Output, Side, View, drilling_order, hole_table};
use keepside_tests::pdf::{PdfPage, read_pdf};
use keepside_tests::projects::demo;
use proptest::collection::vec;
use proptest::prelude::*;

const VIEWS: [View; 4] =
    [View::face(Half::Moving), View::back(Half::Moving), View::face(Half::Fixed), View::back(Half::Fixed)];

fn pages(project: &Project, output: Output) -> Vec<PdfPage> {
    read_pdf(&keepside_sheet::export(project, &[output], None).unwrap()[0].bytes)
}

fn pin(at: DVec2) -> PlateHole {
    PlateHole { name: String::new(), purpose: HoleUse::GuidePin, at, diameter_mm: 6.0 }
}

/// A mould with pins, bolts, gates and pins opposite them, none of them symmetrical.
fn mould() -> Project {
    let mut project = demo("row-marker");
    project.holes.insert(Id(300), pin(DVec2::new(30.7, 81.3)));
    // Thick plates, so that something is to be done from behind.
    (project.plates.moving_thickness_mm, project.plates.fixed_thickness_mm) = (40.0, 36.0);
    for (id, x, half) in [(310, 61.3, Half::Moving), (311, 151.9, Half::Fixed), (312, 166.0, Half::Moving)] {
        let kind = FeatureKind::set_screw(ThreadSize::M3);
        project.features.insert(Id(id), KeyingFeature::new(DVec2::new(x, 50.0), half, kind, 1.5));
    }
    project.check().unwrap();
    project
}

/// Every datum that a project can have.
fn datums(project: &Project) -> Vec<Datum> {
    let pins = project.holes.iter().filter(|(_, hole)| hole.purpose == HoleUse::GuidePin);
    let pins = pins.map(|(id, _)| Datum::GuidePin(*id));
    [Datum::LowerLeft, Datum::Centre, Datum::GuidePin(Id(9999))].into_iter().chain(pins).collect()
}

/// Where the plan has what a table's row of a view says: the plate is built from the table, turned face to
/// face with the other, and the mould closed.
fn in_closed_mould(project: &Project, view: View, from_datum_mm: DVec2) -> DVec2 {
    let width_mm = project.plates.width_mm;
    let seen = from_datum_mm + view.datum_mm(project);
    // Turned over about an upright axis, x runs back from the width; the fixed half is turned over to close
    // the mould, and a plate that lies on its face was turned over before.
    let turns = usize::from(view.half == Half::Fixed) + usize::from(view.side == Side::Back);
    if turns % 2 == 1 { DVec2::new(width_mm - seen.x, seen.y) } else { seen }
}

/// The rows of a table with x and y from the datum as the view has them.
fn seen_rows(project: &Project, view: View) -> Vec<(HoleRow, DVec2)> {
    let rows = hole_table(project, view.half).into_iter();
    rows.map(|row| {
        let from_datum_mm = match view.side {
            Side::Face => row.from_datum_mm,
            Side::Back => {
                view.mirrored(&project.plates, project.place(row.id).unwrap()) - view.datum_mm(project)
            }
        };
        (row, from_datum_mm)
    })
    .collect()
}

#[test]
fn the_closed_mould_built_from_the_tables_is_the_project_for_every_datum_and_side() {
    let mut project = mould();
    for datum in datums(&project) {
        project.sheet.datum = datum;
        let mut places: BTreeMap<Id, Vec<DVec2>> = BTreeMap::new();
        for view in VIEWS {
            for (row, from_datum_mm) in seen_rows(&project, view) {
                let at = in_closed_mould(&project, view, from_datum_mm);
                assert!(
                    at.distance(project.place(row.id).unwrap()) <= 1e-9,
                    "{datum:?} {view:?} {}",
                    row.tag
                );
                places.entry(row.id).or_default().push(at);
            }
        }
        for id in project.holes.keys() {
            let all = &places[id];
            assert_eq!(all.len(), 4, "{id} is in both plates, seen from both sides");
            assert!(all.iter().all(|at| at.distance(all[0]) <= 1e-9));
        }
        // The gate at 166 mm in the fixed half and the screw opposite to it.
        let opposite = places[&Id(312)][0];
        let gate = project.sprues.iter().find(|(_, sprue)| sprue.at.x == 166.0).unwrap().0;
        assert!(places[gate].iter().all(|at| at.distance(opposite) <= 1e-9));
    }
}

/// Lower left corner of the one rectangle of the plate's size, in mm from the paper's lower left corner.
#[track_caller]
fn plate_corner(page: &PdfPage, project: &Project, reduction: f64) -> DVec2 {
    let size = DVec2::new(project.plates.width_mm, project.plates.height_mm) / reduction;
    let of_size = |(low, high, _): &(DVec2, DVec2, f64)| (*high - *low - size).abs().max_element() < 0.02;
    let plates: Vec<_> = page.rectangles().into_iter().filter(of_size).collect();
    assert_eq!(plates.len(), 1, "one rectangle of the plate's size, {size} mm");
    plates[0].0
}

fn headed<'a>(pages: &'a [PdfPage], heading: &str) -> Vec<&'a PdfPage> {
    pages.iter().filter(|page| page.texts.iter().any(|text| text.text.starts_with(heading))).collect()
}

#[test]
fn what_is_worked_from_behind_is_drawn_mirrored_and_marked() {
    let mut project = mould();
    project.sheet.back_views = true;
    let pages = pages(&project, Output::DrillingSheet);
    for (half, heading) in
        [(Half::Moving, "Moving half, SEEN FROM THE BACK"), (Half::Fixed, "Fixed half, SEEN FROM THE BACK")]
    {
        let [page] = headed(&pages, heading)[..] else { panic!("one drawing headed {heading}") };
        let corner = plate_corner(page, &project, 1.0);
        let (mut behind, circles) = (0, page.circles());
        for row in hole_table(&project, half) {
            let at = project.place(row.id).unwrap();
            // From behind the moving half lies mirrored, the fixed half as in the plan.
            let x = if half == Half::Moving { project.plates.width_mm - at.x } else { at.x };
            let drawn = |diameter_mm: f64| {
                circles.iter().any(|(centre, diameter, _)| {
                    centre.distance(corner + DVec2::new(x, at.y)) < 0.01
                        && (diameter - diameter_mm).abs() < 0.01
                })
            };
            if let Some(opening) = row.behind.and_then(|behind| behind.opening) {
                assert!(drawn(opening.diameter_mm), "{}", row.tag);
                behind += 1;
            }
            if project.holes.contains_key(&row.id) {
                assert!(drawn(row.drill_mm.unwrap()), "{}", row.tag);
            }
        }
        assert!(behind > 0, "nothing from behind in the {} half", half.word());
        assert!(page.words().contains("Mirror image of the parting face, which lies down."));
    }
    project.sheet.back_views = false;
    let without = self::pages(&project, Output::DrillingSheet);
    assert!(without.iter().all(|page| !page.words().contains("BACK")));
}

#[test]
fn holes_are_in_the_order_of_the_drills_and_the_chart_has_each_once() {
    let project = mould();
    for half in [Half::Moving, Half::Fixed] {
        let rows = hole_table(&project, half);
        let order = drilling_order(&rows);
        let drills: Vec<f64> = order.iter().map(|row| rows[*row].drill_mm.unwrap()).collect();
        assert!(drills.is_sorted(), "{drills:?}");
        let mut sorted = order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (0..rows.len()).collect::<Vec<_>>());
        // In the chart: the tags from top to bottom.
        let title = format!("Holes of the {} half", half.word());
        let printed = pages(&project, Output::DrillingSheet);
        let tags: Vec<String> = headed(&printed, &title)
            .into_iter()
            .flat_map(|page| page.texts.iter().filter(|text| text.at.x < 27.0).map(|text| text.text.clone()))
            .filter(|text| rows.iter().any(|row| row.tag == *text))
            .collect();
        assert_eq!(tags, order.iter().map(|row| rows[*row].tag.clone()).collect::<Vec<_>>());
    }
}

#[test]
fn the_template_is_of_true_size_on_every_paper_and_marks_every_hole() {
    let mut project = mould();
    project.sheet.back_views = true;
    // ISO 216 A4 and A3; Letter is 8.5 × 11 in.
    for (paper, long_mm, short_mm) in
        [(Paper::A4, 297.0, 210.0), (Paper::A3, 420.0, 297.0), (Paper::Letter, 279.4, 215.9)]
    {
        project.sheet.paper = paper;
        for page in pages(&project, Output::Template) {
            let size = page.size_mm;
            assert!(
                (size.max_element() - long_mm).abs() < 1e-3 && (size.min_element() - short_mm).abs() < 1e-3
            );
            let title = page.texts[page.texts.len() - 1].text.clone();
            let bars =
                page.lines().into_iter().filter(|(from, to)| (from.distance(*to) - 100.0).abs() < 0.01);
            let ways: Vec<DVec2> = bars.map(|(from, to)| (to - from).abs().round()).collect();
            assert!(
                ways.contains(&DVec2::new(100.0, 0.0)) && ways.contains(&DVec2::new(0.0, 100.0)),
                "{title}"
            );
            let view = VIEWS.into_iter().find(|view| page.words().contains(view.words())).unwrap();
            let corner = plate_corner(&page, &project, 1.0);
            let marks: Vec<DVec2> = page
                .circles()
                .into_iter()
                .filter(|(_, d, _)| (d - 2.0).abs() < 0.01)
                .map(|(at, ..)| at)
                .collect();
            let wanted: Vec<DVec2> = hole_table(&project, view.half)
                .iter()
                .filter(|row| view.side == Side::Face || row.behind.is_some())
                .map(|row| corner + view.mirrored(&project.plates, project.place(row.id).unwrap()))
                .collect();
            assert_eq!(marks.len(), wanted.len());
            assert!(wanted.iter().all(|at| marks.iter().any(|mark| mark.distance(*at) < 0.01)));
        }
    }
}

#[test]
fn tiles_show_every_hole_and_tell_their_place() {
    let mut project = mould();
    (project.plates.width_mm, project.plates.height_mm) = (500.0, 300.0);
    project.holes.insert(Id(400), pin(DVec2::new(481.0, 283.0)));
    let printed = pages(&project, Output::Template);
    let names: Vec<String> = printed
        .iter()
        .flat_map(|page| &page.texts)
        .filter_map(|text| text.text.split(": tile ").nth(1).map(str::to_owned))
        .collect();
    assert_eq!(names.len(), printed.len());
    assert_eq!(names[..2], ["A1 of 3 × 2", "A2 of 3 × 2"]);
    let moving = headed(&printed, "Moving half");
    for row in hole_table(&project, Half::Moving) {
        assert!(moving.iter().any(|page| page.texts.iter().any(|text| text.text == row.tag)), "{}", row.tag);
    }
}

/// A project with holes drawn from a list of numbers.
fn scattered(numbers: &[u32], paper: Paper, size_mm: DVec2) -> Project {
    let mut project = Project::blank();
    (project.plates.width_mm, project.plates.height_mm) = size_mm.into();
    project.sheet.paper = paper;
    project.sheet.back_views = numbers.len().is_multiple_of(2);
    for (index, number) in (10_u32..).zip(numbers) {
        let (x, y) = (f64::from(number % 1009) / 1009.0, f64::from(number / 1009 % 997) / 997.0);
        let at = (DVec2::new(x, y) * size_mm * 50.0).round() / 50.0;
        let half = if number % 3 == 0 { Half::Fixed } else { Half::Moving };
        let id = Id(index);
        match number % 7 {
            0 | 1 => drop(project.holes.insert(id, pin(at))),
            2 => {
                let ejector = Ejector::new(at, 3.0, 80.0, 8.0, EjectorFace::Plain);
                project.ejectors.insert(id, ejector);
            }
            3 => {
                let sprue = Sprue {
                    name: "gate".to_owned(),
                    at,
                    half,
                    diameter_mm: 3.0,
                    length_mm: 15.0,
                    draft_deg: 1.0,
                    finish: Finish::AsTurned,
                    measured: None,
                };
                project.sprues.insert(id, sprue);
            }
            _ => {
                let end = ScrewEnd::ALL[(number % 5) as usize];
                let kind = FeatureKind::SetScrew { thread: ThreadSize::ALL[(number % 6) as usize], end };
                let lock = Lock::ALL[(number / 7 % 5) as usize];
                let feature = KeyingFeature { lock, ..KeyingFeature::new(at, half, kind, 1.5) };
                project.features.insert(id, feature);
            }
        }
    }
    let pins = datums(&project);
    project.sheet.datum = pins[numbers.len() % pins.len()];
    project.check().unwrap();
    project
}

/// Fails if anything on the papers of a project covers another thing or leaves the sheet.
#[track_caller]
fn assert_clear(project: &Project) {
    for page in pages(project, Output::DrillingSheet) {
        page.assert_clear();
    }
    for page in pages(project, Output::Template).iter().take(4) {
        let boxes = page.text_boxes();
        for (index, (low, high, text)) in boxes.iter().enumerate() {
            let inside = low.cmpge(DVec2::splat(9.0)).all() && high.cmple(page.size_mm - 9.0).all();
            assert!(inside, "{text:?} from {low} to {high}");
            for (other_low, other_high, other) in &boxes[index + 1..] {
                let common = high.min(*other_high) - low.max(*other_low);
                assert!(common.min_element() <= 0.0, "{text:?} covers {other:?} by {common}");
            }
        }
    }
}

#[test]
fn the_word_at_the_datum_and_a_tag_beside_it_do_not_touch() {
    let numbers = [
        999_874_961,
        3_785_909_140,
        1_329_425_984,
        4_027_940_600,
        1_087_212_363,
        3_150_767_252,
        8_129_230,
        767_691_699,
        268_688_973,
        2_184_847_639,
        2_344_871_020,
        3_477_151_880,
        487_915_646,
        2_875_997_036,
        1_369_018_005,
    ];
    assert_clear(&scattered(&numbers, Paper::A4, DVec2::new(64.762_555, 76.186_288)));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn no_number_or_tag_covers_another_on_random_plates(
        numbers in vec(any::<u32>(), 0..45),
        paper in 0..4_usize,
        width_mm in 10.0..400.0_f64,
        height_mm in 10.0..400.0_f64,
    ) {
        assert_clear(&scattered(&numbers, Paper::ALL[paper], DVec2::new(width_mm, height_mm)));
    }
}

#[test]
fn the_same_project_gives_the_same_papers() {
    let mut project = mould();
    project.sheet.back_views = true;
    let outputs = [Output::DrillingSheet, Output::Template];
    let bytes = |project: &Project| keepside_sheet::export(project, &outputs, None).unwrap();
    assert_eq!(bytes(&project), bytes(&project.clone()));
}
