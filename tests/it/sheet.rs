//! The drilling sheet, read back from its bytes by readers that share nothing with its writer.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::f64::consts::FRAC_PI_2;

use glam::DVec2;
use keepside_engine::outline::{self, Piece};
use keepside_model::{
    Ejector, EjectorFace, FeatureKind, Finish, Half, HoleUse, Id, KeyingFeature, Lock, Note, PlateHole,
    Project, ScrewEnd, Sprue, ThreadSize, Variant, Vent,
};
use keepside_sheet::{AfterDrilling, Depth, Export, HoleRow, Output, SheetError, hole_table};
use keepside_tests::pdf::{PdfPage, read_pdf};
use proptest::prelude::*;

const HALVES: [Half; 2] = [Half::Moving, Half::Fixed];

/// The drilling sheet, then the hole table of each half.
fn export(project: &Project) -> Result<Vec<Export>, SheetError> {
    keepside_sheet::export(project, &[Output::DrillingSheet, Output::HoleTables], None)
}

/// A plant label with a hole of every kind; nothing lies symmetrically, so that a mirror shows.
fn every_kind() -> Project {
    let mut project = Project::blank();
    project.name = "Plant label".to_owned();
    let mut feature = |id, x, half, kind| {
        let at = DVec2::new(x, 60.0);
        let feature = KeyingFeature::new(at, half, kind, 1.6);
        project.features.insert(Id(id), feature);
    };
    feature(4, 50.0, Half::Moving, FeatureKind::set_screw(ThreadSize::M4));
    feature(5, 71.25, Half::Moving, FeatureKind::cap_head(ThreadSize::M2));
    let head = FeatureKind::TurnedHead {
        head_diameter_mm: 3.0,
        neck_diameter_mm: 2.0,
        head_height_mm: 0.8,
        underside_deg: 30.0,
    };
    feature(6, 118.4, Half::Moving, head);
    feature(7, 150.0, Half::Fixed, FeatureKind::PlainPost { diameter_mm: 2.0 });
    feature(8, 95.5, Half::Fixed, FeatureKind::set_screw(ThreadSize::M2_5));
    for (id, x, draft_deg, finish) in [(2, 60.0, 1.5, Finish::AsTurned), (3, 140.0, 0.0, Finish::Polished)] {
        let at = DVec2::new(x, 60.0);
        let (diameter_mm, length_mm) = (3.0, 15.0);
        let name = String::new();
        let sprue =
            Sprue { name, at, half: Half::Fixed, diameter_mm, length_mm, draft_deg, finish, measured: None };
        project.sprues.insert(Id(id), sprue);
    }
    let holes = [(10, HoleUse::Bolt, 12.5, 12.0, 6.6), (11, HoleUse::GuidePin, 186.0, 107.0, 8.0)];
    for (id, purpose, x, y, diameter_mm) in holes {
        let hole = PlateHole { name: String::new(), purpose, at: DVec2::new(x, y), diameter_mm };
        project.holes.insert(Id(id), hole);
    }
    for (id, x, diameter_mm, face) in
        [(30, 84.3, 3.0, EjectorFace::Plain), (31, 133.7, 4.0, EjectorFace::Grooved)]
    {
        let ejector = Ejector::new(DVec2::new(x, 60.0), diameter_mm, 80.0, 8.5, face);
        project.ejectors.insert(Id(id), ejector);
    }
    let vent = Vent {
        name: String::new(),
        at: DVec2::new(163.0, 60.0),
        half: Half::Moving,
        width_mm: 4.0,
        depth_mm: 0.02,
        length_mm: 10.0,
        relief: None,
    };
    project.vents.insert(Id(20), vent);
    project.check().unwrap();
    project
}

/// A big plate with sixty set screws, long names, and scripts beyond the font.
fn crowded() -> Project {
    let mut project = every_kind();
    project.name = "Ж".repeat(57) + "中文字";
    project.material.name = "W".repeat(60);
    project.plates.width_mm = 400.0;
    project.plates.height_mm = 300.0;
    for index in 0..60 {
        let x_mm = 20.0 + 36.0 * f64::from(index % 10);
        let at = DVec2::new(x_mm, 90.0 + 25.0 * f64::from(index / 10));
        let name = format!("{} pin number {index}, a name of sixty characters", "我".repeat(30));
        let kind = FeatureKind::set_screw(ThreadSize::M4);
        let feature = KeyingFeature { name, ..KeyingFeature::new(at, Half::Moving, kind, 2.0) };
        project.features.insert(Id(100 + index), feature);
    }
    project.check().unwrap();
    project
}

fn ending<'a>(exports: &'a [Export], end: &str) -> &'a [u8] {
    let mut matching = exports.iter().filter(|export| export.file_name.ends_with(end));
    let found = matching.next().unwrap_or_else(|| panic!("no file {end}"));
    assert!(matching.next().is_none(), "two files {end}");
    &found.bytes
}

fn pages(project: &Project) -> Vec<PdfPage> {
    read_pdf(ending(&export(project).unwrap(), ".pdf"))
}

/// The page with the drawing of a half.
fn drawing(pages: &[PdfPage], half: Half) -> &PdfPage {
    let heading = match half {
        Half::Moving => "Moving half, seen on its parting face",
        Half::Fixed => "Fixed half, seen on its parting face",
    };
    let is_headed = |page: &&PdfPage| page.texts.iter().any(|text| text.text == heading);
    pages.iter().find(is_headed).unwrap_or_else(|| panic!("no page headed {heading}"))
}

/// Lower left corner on the paper of the plate of `project`, drawn at 1 : `reduction`, mm.
#[track_caller]
fn plate_corner(page: &PdfPage, project: &Project, reduction: f64) -> DVec2 {
    let size = DVec2::new(project.plates.width_mm, project.plates.height_mm) / reduction;
    let of_size = |(low, high, _): &(DVec2, DVec2, f64)| (*high - *low - size).abs().max_element() < 0.05;
    let plates: Vec<_> = page.rectangles().into_iter().filter(of_size).collect();
    assert_eq!(plates.len(), 1, "one rectangle of the plate's size, {size} mm");
    plates[0].0
}

#[track_caller]
fn assert_circle(page: &PdfPage, centre: DVec2, diameter_mm: f64, dashed: bool, what: &str) {
    let near = |&(at, diameter, is_dashed): &(DVec2, f64, bool)| {
        at.distance(centre) <= 0.05 && (diameter - diameter_mm).abs() <= 0.05 && is_dashed == dashed
    };
    assert!(page.circles().iter().any(near), "{what}: no circle Ø{diameter_mm} at {centre}");
}

/// The diameter of the thick circle of a row, mm.
fn finished_mm(row: &HoleRow) -> f64 {
    match row.after {
        AfterDrilling::Ream { diameter_mm } | AfterDrilling::TaperReam { diameter_mm, .. } => diameter_mm,
        AfterDrilling::Tap(_) | AfterDrilling::Nothing => row.drill_mm.unwrap(),
    }
}

#[test]
fn the_paper_is_a4_and_the_check_bar_is_100_mm_long_at_any_scale() {
    // ISO 216: A4 is 210 × 297 mm, A3 is 297 × 420 mm.
    for (project, size_mm) in
        [(every_kind(), DVec2::new(297.0, 210.0)), (crowded(), DVec2::new(420.0, 297.0))]
    {
        let pages = pages(&project);
        for page in &pages {
            assert!((page.size_mm - size_mm).abs().max_element() < 0.001, "{}", page.size_mm);
        }
        for page in &pages {
            let words = page.texts.iter().find(|text| text.text.contains("no fitting to the page")).unwrap();
            assert!(words.text.contains("Print at 100 %") && words.text.contains("Measure: 100 mm"));
            let above = |(from, to): &(DVec2, DVec2)| {
                (from.x - words.at.x).abs() < 0.01
                    && (0.0..8.0).contains(&(from.y - words.at.y))
                    && from.y == to.y
                    && (to.x - from.x).abs() > 50.0
            };
            let bars: Vec<_> = page.lines().into_iter().filter(above).collect();
            assert_eq!(bars.len(), 1);
            let length_mm = bars[0].0.distance(bars[0].1);
            assert!((length_mm - 100.0).abs() <= 0.05, "the bar is {length_mm} mm");
        }
    }
}

#[test]
fn notes_on_the_drawing_and_kept_layouts_are_printed_nowhere() {
    let mut project = every_kind();
    let bytes = |project: &Project| -> Vec<Vec<u8>> {
        export(project).unwrap().into_iter().map(|export| export.bytes).collect()
    };
    let before = bytes(&project);
    let layout = std::sync::Arc::new(project.clone());
    let note = Note { text: "Polish here".to_owned(), at: DVec2::new(100.0, 40.0) };
    project.remarks.insert(Id(90), note);
    project.variants.push(Variant { name: "Narrow".to_owned(), layout });
    assert_eq!(bytes(&project), before);
}

#[test]
fn every_hole_is_drawn_where_the_project_has_it() {
    for (project, reduction) in [(every_kind(), 1.0), (crowded(), 2.0)] {
        let pages = pages(&project);
        for half in HALVES {
            let page = drawing(&pages, half);
            let corner = plate_corner(page, &project, reduction);
            let rows = hole_table(&project, half);
            assert!(rows.len() >= 5);
            for row in rows {
                let plan = project.place(row.id).unwrap();
                let x_mm = if half == Half::Fixed { project.plates.width_mm - plan.x } else { plan.x };
                let centre = corner + DVec2::new(x_mm, plan.y) / reduction;
                assert_circle(page, centre, finished_mm(&row) / reduction, false, &row.tag);
            }
        }
    }
}

#[test]
fn the_channel_is_drawn_as_the_engine_outlines_it() {
    let mut project = every_kind();
    // An arc, so that a mirrored arc turning the wrong way shows.
    let run = project.part.runs.get_mut(&Id(1)).unwrap();
    run.points[0].bulge = 0.3;
    let rings = outline::of(&project).rings;
    assert!(!rings.is_empty());
    let pages = pages(&project);
    for half in HALVES {
        let page = drawing(&pages, half);
        let corner = plate_corner(page, &project, 1.0);
        let on_paper = |plan| corner + project.plates.seen_on_face(half, plan);
        let filled =
            page.paths.iter().find(|path| path.stroke_mm.is_none() && path.pieces.len() == rings.len());
        for (ring, drawn) in rings.iter().zip(&filled.unwrap().pieces) {
            assert!(drawn.closed);
            let off_mm =
                |at: DVec2| drawn.nodes.iter().map(|node| node.distance(at)).fold(f64::MAX, f64::min);
            for piece in &ring.pieces {
                let ends = match *piece {
                    Piece::Line { from, to } => vec![from, to],
                    Piece::Arc { centre, radius_mm, from_rad, sweep_rad } => {
                        // Curves of a quarter turn at most end at equal steps along the arc.
                        let steps = (sweep_rad.abs() / FRAC_PI_2 - 1e-9).ceil().max(1.0);
                        (0..=4)
                            .map(f64::from)
                            .filter(|step| *step <= steps)
                            .map(|step| from_rad + step / steps * sweep_rad)
                            .map(|at_rad| centre + radius_mm * DVec2::from_angle(at_rad))
                            .collect()
                    }
                };
                for end in ends {
                    let off_mm = off_mm(on_paper(end));
                    assert!(off_mm <= 0.05, "{half:?}: {end} of {piece:?} is {off_mm} mm off");
                }
            }
        }
    }
}

#[test]
fn folding_one_table_over_the_other_brings_every_through_hole_in_line() {
    for project in [every_kind(), crowded()] {
        let (moving, fixed) = (hole_table(&project, Half::Moving), hole_table(&project, Half::Fixed));
        for id in project.holes.keys() {
            let at = |rows: &[HoleRow]| rows.iter().find(|row| row.id == *id).unwrap().at_mm;
            // Folded about the common upright edge, x of the fixed half runs back from the width.
            let folded = DVec2::new(project.plates.width_mm - at(&fixed).x, at(&fixed).y);
            assert!(at(&moving).distance(folded) <= 1e-9, "{}", project.tag(*id));
            assert_eq!(at(&moving), project.holes[id].at);
        }
        for row in moving.iter().chain(&fixed).filter(|row| !project.holes.contains_key(&row.id)) {
            let half = if moving.contains(row) { Half::Moving } else { Half::Fixed };
            let back = project.plates.seen_on_face(half, row.at_mm);
            assert!(back.distance(project.place(row.id).unwrap()) <= 1e-9, "{}", row.tag);
        }
    }
}

#[test]
fn folding_one_drawing_over_the_other_brings_opposite_features_in_line() {
    let project = every_kind();
    let pages = pages(&project);
    for half in HALVES {
        let (own, opposite) = (drawing(&pages, half), drawing(&pages, half.other()));
        let (corner, other) = (plate_corner(own, &project, 1.0), plate_corner(opposite, &project, 1.0));
        for row in hole_table(&project, half).iter().filter(|row| !project.holes.contains_key(&row.id)) {
            let folded = DVec2::new(project.plates.width_mm - row.at_mm.x, row.at_mm.y);
            let drawn = opposite
                .circles()
                .into_iter()
                .find(|(at, _, dashed)| *dashed && at.distance(other + folded) <= 0.001);
            assert!(drawn.is_some(), "{} is not shown dashed on the other half", row.tag);
            assert_circle(own, corner + row.at_mm, finished_mm(row), false, &row.tag);
        }
    }
}

#[test]
fn tap_drills_clearance_holes_and_heads_are_the_published_ones() {
    // Tap drills for ISO metric coarse threads: Engineering ToolBox, metric threads and drills; M2.5
    // after bd_warehouse 0.4.0, tap_hole_sizes.csv. Clearance holes: ISO 273, medium series, and head
    // diameters and heights: ISO 4762, both after bd_warehouse 0.4.0.
    let table = [
        (ThreadSize::M2, 1.6, "Ø2.4 ", "Ø3.8 × 2.0,"),
        (ThreadSize::M2_5, 2.05, "Ø2.9 ", "Ø4.5 × 2.5,"),
        (ThreadSize::M3, 2.5, "Ø3.4 ", "Ø5.5 × 3.0,"),
        (ThreadSize::M4, 3.3, "Ø4.5 ", "Ø7.0 × 4.0,"),
        (ThreadSize::M5, 4.2, "Ø5.5 ", "Ø8.5 × 5.0,"),
        (ThreadSize::M6, 5.0, "Ø6.6 ", "Ø10.0 × 6.0,"),
        (ThreadSize::M8, 6.8, "Ø9.0 ", "Ø13.0 × 8.0,"),
    ];
    for (thread, drill_mm, clearance, head) in table {
        for kind in [FeatureKind::set_screw(thread), FeatureKind::cap_head(thread)] {
            let mut project = every_kind();
            project.plates.moving_thickness_mm = 60.0;
            project.features.get_mut(&Id(4)).unwrap().kind = kind;
            let rows = hole_table(&project, Half::Moving);
            let row = rows.iter().find(|row| row.id == Id(4)).unwrap();
            assert_eq!(row.drill_mm, Some(drill_mm), "{}", thread.designation());
            assert_eq!((row.depth, row.after), (Depth::Through, AfterDrilling::Tap(thread)));
            assert!(row.note.contains(&format!("may be opened to {clearance}from behind")), "{}", row.note);
            assert!(row.note.contains("1.6 mm above the channel floor"), "{}", row.note);
            assert!(row.note.contains("No countersink"), "{}", row.note);
            assert_eq!(row.note.contains(head), kind == FeatureKind::cap_head(thread), "{}", row.note);
        }
    }
}

#[test]
fn a_drafted_sprue_is_drilled_to_its_narrow_end() {
    let rows = hole_table(&every_kind(), Half::Fixed);
    // Ø3.0 narrowing by 1.5° a side over 15 mm: 3.0 − 2·15·tan 1.5° = 2.214 mm.
    let sprue = &rows[0];
    assert_eq!((sprue.tag.as_str(), sprue.drill_mm), ("S2", Some(2.21)));
    assert_eq!(sprue.after, AfterDrilling::TaperReam { diameter_mm: 3.0, draft_deg: 1.5 });
    let polished = &rows[1];
    assert_eq!(polished.after, AfterDrilling::Ream { diameter_mm: 3.0 });
    assert!(polished.note.contains("Polish"), "{}", polished.note);
}

#[test]
fn a_sprue_that_closes_within_its_length_is_not_to_be_drilled() {
    let mut project = every_kind();
    project.sprues.get_mut(&Id(2)).unwrap().draft_deg = 10.0;
    let rows = hole_table(&project, Half::Fixed);
    assert_eq!(rows[0].drill_mm, None);
    assert!(rows[0].note.contains("do not drill"), "{}", rows[0].note);
    assert!(!pages(&project).is_empty());
}

#[test]
fn a_post_in_a_thin_plate_goes_through_and_in_a_thick_one_stops() {
    let depth = |thickness_mm| {
        let mut project = every_kind();
        project.plates.fixed_thickness_mm = thickness_mm;
        let rows = hole_table(&project, Half::Fixed);
        rows.into_iter().find(|row| row.id == Id(7)).unwrap().depth
    };
    assert_eq!(depth(12.0), Depth::Through);
    // Half of the 3 mm channel, then four diameters of 2 mm.
    assert_eq!(depth(20.0), Depth::Blind { depth_mm: 9.5 });
}

#[test]
fn an_ejector_hole_is_reamed_right_through_the_moving_plate_alone() {
    let project = every_kind();
    let is_ejector = |row: &HoleRow| project.ejectors.contains_key(&row.id);
    assert!(!hole_table(&project, Half::Fixed).iter().any(is_ejector));
    let rows: Vec<HoleRow> = hole_table(&project, Half::Moving).into_iter().filter(is_ejector).collect();
    let made: Vec<_> = rows.iter().map(|row| (row.tag.as_str(), row.what.as_str(), row.after)).collect();
    let reamed = |diameter_mm| AfterDrilling::Ream { diameter_mm };
    assert_eq!(made, [("E30", "ejector, plain", reamed(3.0)), ("E31", "ejector, grooved", reamed(4.0))]);
    for row in &rows {
        assert_eq!(row.depth, Depth::Through);
        assert!(row.note.contains("Pin 80.0 mm free from head to face, stroke 8.5 mm"), "{}", row.note);
        assert!(!row.note.contains("CHECK"), "{}", row.note);
    }
    assert!(rows[0].note.contains("Below 9.0 mm, counted from the channel floor, may be opened to Ø3.5"));
    assert!(!rows[1].note.contains("may be opened"), "18.5 mm of steel is no thick plate for a pin of 4 mm");
    assert!(!rows[0].note.contains("Grooves"));
    assert!(rows[1].note.contains("Grooves at 90° to x on all pins"), "{}", rows[1].note);
    let mut astray = project.clone();
    astray.ejectors.get_mut(&Id(30)).unwrap().at.y = 80.0;
    let rows = hole_table(&astray, Half::Moving);
    let row = rows.iter().find(|row| row.id == Id(30)).unwrap();
    assert!(row.note.starts_with("CHECK: not in the channel"), "{}", row.note);
}

/// The middle and direction, degrees from x on the moving half's face, 0 to below 180, of the strokes
/// within a circle of the drawing.
fn strokes_in(page: &PdfPage, centre: DVec2, radius_mm: f64) -> Vec<f64> {
    let within = |(from, to): &(DVec2, DVec2)| from.distance(centre).max(to.distance(centre)) < radius_mm;
    let strokes = page.lines().into_iter().filter(within);
    strokes.map(|(from, to)| (to - from).to_angle().to_degrees().rem_euclid(180.0)).collect()
}

#[test]
fn the_grooves_of_an_ejector_are_drawn_the_way_they_run() {
    for (rise_mm, deg) in [(0.0, 90.0), (60.0, 117.0), (-60.0, 63.0)] {
        let mut project = every_kind();
        // The channel from (40, 60) to (160, 60), turned about its start: 60 mm up in 120 mm is 26.57°.
        project.part.runs.get_mut(&Id(1)).unwrap().points[1].at.y += rise_mm;
        let pages = pages(&project);
        let page = drawing(&pages, Half::Moving);
        let corner = plate_corner(page, &project, 1.0);
        let rows = hole_table(&project, Half::Moving);
        let row = rows.iter().find(|row| row.id == Id(31)).unwrap();
        assert!(row.note.contains(&format!("Grooves at {deg:.0}° to x")), "{}", row.note);
        let grooves = strokes_in(page, corner + row.at_mm, 2.0);
        assert_eq!(grooves.len(), 2, "{grooves:?}");
        assert!(grooves.iter().all(|drawn| (drawn - deg).abs() < 0.5), "{grooves:?} is not {deg}");
        let plain = rows.iter().find(|row| row.id == Id(30)).unwrap();
        assert_eq!(strokes_in(page, corner + plain.at_mm, 1.5), [0.0; 0]);
    }
}

#[test]
fn ejectors_bring_their_own_cautions_to_the_moving_half_only() {
    let words = |project: &Project, half: Half| {
        let title = format!("Holes of the {} half", half.word());
        let charts = pages(project).into_iter().filter(|page| page.words().contains(&title));
        charts.map(|page| page.words()).collect::<Vec<_>>().join(" ").replace('\n', " ")
    };
    let project = every_kind();
    let moving = words(&project, Half::Moving);
    for wanted in [
        "return springs stay loaded, let them off before you take the mould apart",
        "pins must be back before it closes",
        "the part comes off hot and may jump",
    ] {
        assert!(moving.contains(wanted), "{wanted:?} is not in {moving:?}");
        assert!(!words(&project, Half::Fixed).contains(wanted));
    }
    let mut without = project;
    without.ejectors.clear();
    assert!(!words(&without, Half::Moving).contains("return springs"));
}

#[test]
fn a_head_with_nothing_clear_under_it_is_pointed_out() {
    // Assumes the published head height of an M2 cap screw, 2.0 mm: ISO 4762, k max.
    let note = |protrusion_mm| {
        let mut project = every_kind();
        project.features.get_mut(&Id(5)).unwrap().protrusion_mm = protrusion_mm;
        let rows = hole_table(&project, Half::Moving);
        rows.into_iter().find(|row| row.id == Id(5)).unwrap().note
    };
    assert!(note(2.5).contains("0.5 mm clear under it"), "{}", note(2.5));
    assert!(note(2.0).contains("CHECK: nothing is clear under the head"), "{}", note(2.0));
}

/// The row of a feature in the moving plate, 20 mm thick, with the channel floor 1.5 mm below its face.
fn row_of(change: impl FnOnce(&mut KeyingFeature)) -> HoleRow {
    let mut project = every_kind();
    change(project.features.get_mut(&Id(4)).unwrap());
    project.check().unwrap();
    hole_table(&project, Half::Moving).into_iter().find(|row| row.id == Id(4)).unwrap()
}

#[test]
fn the_row_of_a_screw_says_what_to_buy_and_how_to_set_and_lock_it() {
    let row = row_of(|_| ());
    assert_eq!(row.what, "set screw M4 × 10");
    assert!(row.note.contains("Socket up; turn it from the parting face with a 2 mm key"), "{}", row.note);
    assert!(row.note.contains("Lock: a second set screw M4 × 4 from behind."), "{}", row.note);
    // Turned over: 18.5 mm of plate less 8.4 mm of screw, and 2.5 mm of socket.
    let dog = FeatureKind::SetScrew { thread: ThreadSize::M4, end: ScrewEnd::Dog };
    let row = row_of(|feature| feature.kind = dog);
    assert!(
        row.note.contains("Turned over, dog point up; turn it from behind with a 2 mm key"),
        "{}",
        row.note
    );
    assert!(row.note.contains("12.6 deep"), "{}", row.note);
    assert!(!row.note.contains("CHECK"), "{}", row.note);
}

#[test]
fn a_screw_that_is_not_surely_sold_is_pointed_out() {
    let note = |change: &dyn Fn(&mut KeyingFeature)| row_of(change).note;
    let cup = FeatureKind::SetScrew { thread: ThreadSize::M4, end: ScrewEnd::Cup };
    let unsure = note(&|feature| feature.kind = cup);
    assert!(unsure.starts_with("CHECK that set screw with cup point M4 × 10 is sold"), "{unsure}");
    let odd = note(&|feature| feature.screw_length_mm = Some(11.0));
    assert!(odd.starts_with("CHECK: no set screw M4 × 11 is sold"), "{odd}");
    let long = note(&|feature| feature.screw_length_mm = Some(20.5));
    assert!(long.contains("CHECK: the screw sticks 0.4 out of the plate's back"), "{long}");
}

/// 8.4 mm of screw in the plate and two pitches of 0.7 mm are 10 mm of thread in half millimetres; with the
/// floor's 1.5 mm and four pitches of lead 14.5 mm.
#[test]
fn a_screw_set_in_compound_sits_in_a_blind_hole() {
    let row = row_of(|feature| feature.lock = Lock::Compound);
    assert_eq!(row.depth, Depth::Blind { depth_mm: 14.5 });
    assert!(row.note.contains("Full thread to 10.0 mm below the channel floor"), "{}", row.note);
    assert!(row.note.contains("Lock: thread-locking compound"), "{}", row.note);
    let post = FeatureKind::PlainPost { diameter_mm: 1.9 };
    let row = row_of(|feature| (feature.kind, feature.lock) = (post, Lock::BackScrew));
    assert_eq!(row.depth, Depth::Through);
    assert!(
        row.note.contains("From behind Ø2.05 up to 7.6 mm below the channel floor, tapped M2.5"),
        "{}",
        row.note
    );
}

#[test]
fn a_head_that_is_turned_down_is_told_with_its_own_size() {
    let kind = FeatureKind::CapHead { thread: ThreadSize::M2, turned_mm: Some(3.2), chamfer_mm: 0.3 };
    let row = row_of(|feature| (feature.kind, feature.protrusion_mm) = (kind, 2.4));
    assert!(row.note.contains("head turned down to Ø3.2 × 2.0"), "{}", row.note);
    assert!(row.note.contains("Chamfer the rim of its underside 0.3 × 45°"), "{}", row.note);
}

#[test]
fn a_hole_off_the_plate_is_listed_with_a_warning_and_not_drawn() {
    let mut project = every_kind();
    project.features.get_mut(&Id(4)).unwrap().at = DVec2::new(-4000.0, 60.0);
    let rows = hole_table(&project, Half::Moving);
    let row = rows.iter().find(|row| row.id == Id(4)).unwrap();
    assert!(row.note.starts_with("CHECK: not on the plate"), "{}", row.note);
    for page in pages(&project) {
        for (centre, ..) in page.circles() {
            assert!(centre.cmpge(DVec2::ZERO).all() && centre.cmple(page.size_mm).all(), "{centre}");
        }
    }
}

#[test]
fn the_csv_read_back_is_the_project() {
    for project in [every_kind(), crowded()] {
        let exports = export(&project).unwrap();
        for half in HALVES {
            let bytes = ending(&exports, &format!("-holes-{}-half.csv", half.word()));
            let text = std::str::from_utf8(bytes).unwrap();
            assert!(text.ends_with("\r\n"), "RFC 4180 ends every line with CR LF");
            let mut reader = csv::Reader::from_reader(bytes);
            let headings = reader.headers().unwrap().clone();
            let column = |name: &str| headings.iter().position(|heading| heading == name).unwrap();
            let rows = hole_table(&project, half);
            let records: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
            assert_eq!(records.len(), rows.len());
            for (record, row) in records.iter().zip(&rows) {
                let number = |name: &str| record[column(name)].parse::<f64>().unwrap();
                assert_eq!(&record[column("tag")], project.tag(row.id));
                assert_eq!(&record[column("name")], row.name);
                let at = DVec2::new(number("x (mm)"), number("y (mm)"));
                let plan = project.plates.seen_on_face(half, project.place(row.id).unwrap());
                // Three decimals: half a unit of the last.
                assert!((at - plan).abs().max_element() <= 0.0005 + 1e-9, "{at} {plan}");
                assert!((number("drill diameter (mm)") - row.drill_mm.unwrap()).abs() <= 0.0005);
                let depth = &record[column("depth (mm)")];
                match row.depth {
                    Depth::Through => assert_eq!(depth, "THROUGH"),
                    Depth::Blind { depth_mm } => assert_eq!(depth, format!("{depth_mm:.3}")),
                }
                if let AfterDrilling::Tap(thread) = row.after {
                    assert_eq!(&record[column("tap")], thread.designation());
                }
                assert_eq!(&record[column("note")], row.note);
            }
        }
    }
}

#[test]
fn the_same_project_gives_the_same_bytes_and_no_date() {
    let project = every_kind();
    let exports = export(&project).unwrap();
    assert_eq!(exports, export(&project.clone()).unwrap());
    let pdf = String::from_utf8_lossy(ending(&exports, ".pdf")).into_owned();
    for dated in ["CreationDate", "ModDate", "CreateDate", "ModifyDate"] {
        assert!(!pdf.contains(dated), "{dated}");
    }
}

#[test]
fn the_title_block_and_the_cautions_say_what_they_must() {
    let mut project = every_kind();
    let sheet = &mut project.sheet;
    sheet.legal_owner = "Garden workshop".to_owned();
    sheet.creator = "A. Maker".to_owned();
    sheet.approved_by = "B. Second".to_owned();
    sheet.date_of_issue = "2031-05-04".to_owned();
    sheet.drawing_number = "GW-17".to_owned();
    sheet.revision = "C".to_owned();
    for page in HALVES.map(|half| drawing(&pages(&project), half).clone()) {
        let words = page.words().replace('\n', " ");
        // The data fields of ISO 7200 that must be there, and those that may, from memory.
        for wanted in [
            "Legal owner Garden workshop",
            "Creator A. Maker",
            "Approved by B. Second",
            "Date of issue 2031-05-04",
            "Title Plant label",
            "Document type Drilling sheet",
            "Drawing number GW-17",
            "Revision C",
            "Sheet 1 of|Sheet 4 of",
            "200.0 × 120.0 × 20.0 mm",
            "Scale 1:1 on A4",
            "ISO 2768-1, m (medium): ±0.1 to 6, ±0.2 to 30, ±0.3 to 120, ±0.5 to 400",
            concat!("Keepside ", env!("CARGO_PKG_VERSION")),
            "clamp the plate; wear eye protection; no gloves",
            "deburr every hole",
            "Follow your machine's manual and your local rules.",
        ] {
            let is_there = wanted.split('|').any(|one| words.contains(one));
            assert!(is_there, "{wanted:?} is not in {words:?}");
        }
    }
    let words = pages(&project).iter().map(PdfPage::words).collect::<Vec<_>>().join(" ").replace('\n', " ");
    for wanted in [
        "springs and a loaded press store force",
        "no. GW-17 · rev. C",
        "x →, y ↑ from the lower left corner",
    ] {
        assert!(words.contains(wanted), "{wanted:?} is not in {words:?}");
    }
}

#[test]
fn sixty_holes_flow_over_further_sheets_and_none_is_lost() {
    let project = crowded();
    let pages = pages(&project);
    assert!(pages.len() > 4, "{} sheets", pages.len());
    let rows = hole_table(&project, Half::Moving);
    for tag in rows.iter().map(|row| row.tag.as_str()) {
        // Once in the drawing, once in the table.
        let times = pages
            .iter()
            .filter(|page| {
                !page.words().contains("Fixed half") && !page.words().contains("of the fixed half\n")
            })
            .flat_map(|page| &page.texts)
            .filter(|text| text.text == tag)
            .count();
        assert_eq!(times, 2, "{tag}");
    }
    for (index, page) in pages.iter().enumerate() {
        assert!(page.words().contains(&format!("{} of {}", index + 1, pages.len())));
    }
}

#[test]
fn no_text_leaves_the_frame_or_covers_another() {
    let sizes = [(10.0, 10.0), (2000.0, 10.0), (10.0, 2000.0), (2000.0, 2000.0), (377.0, 210.0)];
    let sized = sizes.map(|(width_mm, height_mm)| {
        let mut project = every_kind();
        (project.plates.width_mm, project.plates.height_mm) = (width_mm, height_mm);
        project
    });
    for project in [Project::blank(), every_kind(), crowded()].into_iter().chain(sized) {
        for page in pages(&project) {
            page.assert_clear();
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_name_can_be_printed(name in "\\PC{0,60}", odd in "(?s).{0,20}") {
        let mut project = every_kind();
        project.name = format!("{name}{odd}");
        project.material.name.clone_from(&odd);
        project.sprues.get_mut(&Id(2)).unwrap().name.clone_from(&name);
        project.holes.get_mut(&Id(10)).unwrap().name.clone_from(&odd);
        let exports = export(&project).unwrap();
        for page in read_pdf(ending(&exports, ".pdf")) {
            for text in &page.texts {
                // Grid references stand outside the frame.
                let is_reference = text.text.chars().count() == 1;
                prop_assert!(text.end.x <= page.size_mm.x - 10.0 || is_reference, "{:?}", text);
            }
        }
        for half in HALVES {
            let bytes = ending(&exports, &format!("-holes-{}-half.csv", half.word()));
            let records: Result<Vec<_>, _> = csv::Reader::from_reader(bytes).into_records().collect();
            let names: Vec<String> = records.unwrap().iter().map(|record| record[1].to_owned()).collect();
            let rows = hole_table(&project, half);
            prop_assert_eq!(names, rows.into_iter().map(|row| row.name).collect::<Vec<_>>());
        }
        for export in &exports {
            prop_assert!(!export.file_name.contains(['/', '\\', ':', '\0', '\n']), "{}", export.file_name);
            prop_assert!(export.file_name.len() < 255);
        }
    }
}

#[test]
fn long_names_are_cut_and_unknown_characters_show() {
    let words = pages(&crowded()).iter().map(PdfPage::words).collect::<Vec<_>>().join("\n");
    let title = words.lines().find(|line| line.starts_with("ЖЖЖ")).unwrap();
    assert!(title.ends_with('…') || title.ends_with("???"), "{title}");
    assert!(words.contains("????") && words.contains("“?” stands for a letter"));
    assert!(words.lines().any(|line| line.starts_with("WWW") && line.ends_with('…')));
    assert!(!words.contains('\u{fffd}') && !words.contains('\u{0}'));
}
