use glam::DVec2;
use keepside_model::{Edit, FeatureKind, Half, Project, Rib};
use keepside_model::{Finish, HeldBack, Id, Item, KeyingFeature, Material, Moulding, Run, RunPoint, Sprue};

use super::*;

/// A strip of PP, 120 mm × 6 mm × 3 mm, with two gates.
fn strip() -> Project {
    let mut project = Project::blank();
    for x in [70.0, 130.0] {
        let sprue = Sprue {
            name: String::new(),
            at: DVec2::new(x, 60.0),
            half: Half::Fixed,
            diameter_mm: 2.0,
            length_mm: 10.0,
            draft_deg: 0.0,
            finish: Finish::AsTurned,
            measured: None,
        };
        project.apply(&Edit::Add(project.free_id(), Item::Sprue(sprue))).unwrap();
    }
    project
}

#[test]
fn a_strip_cools_as_its_bar_and_its_gates_as_their_cylinders() {
    let cooling = of(&strip()).unwrap();
    let melt = Material::generic().swap_remove(0).melt;
    // 230 °C to 80 °C at 40 °C: a share of 40/190.
    let bar_s = bar(6.0, 3.0).time_s(melt.diffusivity_mm2_s, 40.0 / 190.0);
    assert!((cooling.needed_s - bar_s).abs() < 1e-9);
    assert!((cooling.opens_s - bar_s).abs() < 1e-9);
    assert!((cooling.hottest_c - 80.0).abs() < 1e-6);
    assert!(cooling.mean_c > 40.0 && cooling.mean_c < cooling.hottest_c);
    let gate_s = Body::Round { diameter_mm: 2.0 }.time_s(melt.diffusivity_mm2_s, 100.0 / 190.0);
    assert_eq!(cooling.gates.len(), 2);
    for gate in &cooling.gates {
        assert!((gate.bore_s - gate_s).abs() < 1e-9);
        assert!(gate.channel_s.unwrap() > gate.bore_s, "the channel is thicker");
        assert_eq!((gate.packs_s, gate.is_let_off_early), (gate.bore_s, false));
    }
    assert_eq!(cooling.unpacked, []);
}

#[test]
fn a_mould_opened_earlier_is_hotter_and_packing_let_off_early_is_told() {
    let mut project = strip();
    let moulding = Moulding { packing_time_s: 1.0, cooling_time_s: Some(3.0), ..Moulding::default() };
    project.apply(&Edit::SetMoulding(moulding)).unwrap();
    let cooling = of(&project).unwrap();
    assert!((cooling.opens_s - 4.0).abs() < 1e-12);
    assert!(cooling.hottest_c > 100.0 && cooling.needed_s > 10.0);
    assert!(cooling.gates.iter().all(|gate| gate.is_let_off_early && gate.packs_s == 1.0));
}

#[test]
fn a_thin_neck_cuts_what_lies_behind_it_off_from_packing() {
    let mut project = strip();
    let point = |x, width_mm, depth_mm| RunPoint { at: DVec2::new(x, 60.0), width_mm, depth_mm, bulge: 0.0 };
    let run = project.part.runs.get_mut(&Id(1)).unwrap();
    run.points.truncate(1);
    run.points.extend([point(130.0, 6.0, 3.0), point(134.0, 2.0, 0.6), point(138.0, 2.0, 0.6)]);
    run.points.extend([point(142.0, 6.0, 3.0), point(160.0, 6.0, 3.0)]);
    let cooling = of(&project).unwrap();
    let [cut] = cooling.unpacked[..] else { panic!("{:?}", cooling.unpacked) };
    assert_eq!(cut.run, Id(1));
    assert!((cut.to_mm - 126.0).abs() < 0.1 && (101.0..105.0).contains(&cut.from_mm), "{cut:?}");
    assert!(cut.until_s < 1.0 && cut.freezes_s > 5.0, "{cut:?}");
}

#[test]
fn where_runs_meet_and_at_the_root_of_a_rib_it_stays_hot_longer() {
    let alone = of(&strip()).unwrap();
    let mut tee = strip();
    let run = Run::straight("", DVec2::new(100.0, 60.0), DVec2::new(100.0, 90.0), 6.0, 3.0);
    tee.part.runs.insert(Id(50), run);
    let tee = of(&tee).unwrap();
    assert!(tee.thickest.is_junction && tee.thickest.at.distance(DVec2::new(100.0, 60.0)) < 6.0, "{tee:?}");
    // A plate 3 mm thick over a bar of 6 × 3 mm: 1/w² + 1/h² against 1/h², less the smaller first factor.
    assert!(tee.needed_s > 1.05 * alone.needed_s && tee.needed_s < 1.25 * alone.needed_s);
    let mut ribbed = strip();
    ribbed.part.rib = Some(Rib { half: Half::Moving, width_mm: 2.0, height_mm: 3.0 });
    let ribbed = of(&ribbed).unwrap();
    // The circle over a chord of 2 mm that is 3 mm high: 3 + 4/12.
    assert!((ribbed.thickest.thickness_mm - (3.0 + 1.0 / 3.0)).abs() < 1e-12);
}

#[test]
fn temperatures_that_cool_nothing_are_told_in_words() {
    let with = |mould_c, melt_c| {
        let mut project = strip();
        project.moulding.own_mould_temperature_c = Some(mould_c);
        project.moulding.own_melt_temperature_c = Some(melt_c);
        of(&project).unwrap_err().to_string()
    };
    assert!(with(80.0, 230.0).contains("the mould at 80 °C is not colder than the 80 °C"));
    assert!(with(40.0, 120.0).contains("the melt at 120 °C is not hotter than the 140 °C"));
    let mut project = strip();
    project.moulding.own_ejection_temperature_c = Some(200.0);
    project.moulding.own_mould_temperature_c = Some(150.0);
    assert!(of(&project).unwrap_err().to_string().contains("no gate freezes"));
    project.part.runs.clear();
    project.moulding = Moulding::default();
    assert!(matches!(of(&project), Err(NotCooled::NoPart(_))));
}

#[test]
fn what_locks_the_length_is_pulled_by_the_shrinkage_between() {
    let mut project = strip();
    let post = KeyingFeature::new(
        DVec2::new(110.0, 60.0),
        Half::Moving,
        FeatureKind::PlainPost { diameter_mm: 2.0 },
        1.5,
    );
    project.apply(&Edit::Add(project.free_id(), Item::Feature(post))).unwrap();
    let cooling = of(&project).unwrap();
    let lengths: Vec<f64> = cooling.spans.iter().map(|span| span.length_mm).collect();
    assert!((lengths[0] - 40.0).abs() < 1e-9 && (lengths[1] - 20.0).abs() < 1e-9, "{lengths:?}");
    // Half of the shrinkage and more has happened between 140 °C and about 57 °C of the 117 °C to the room.
    let share = (140.0 - cooling.mean_c) / 117.0;
    assert!((cooling.before_opening - share).abs() < 1e-12 && share > 0.6);
    assert!((cooling.spans[0].held_mm - 40.0 * 0.016 * share).abs() < 1e-12);
    assert!((cooling.spans[0].whole_mm - 0.64).abs() < 1e-12);
    // 800 MPa × 0.0113 × 17.9 mm² = 162 N; the plastic round the post bears 18 MPa × 2 mm × 1.5 mm.
    assert!((cooling.spans[0].pull_n - 54.0).abs() < 1e-9, "{:?}", cooling.spans[0]);
}

#[test]
fn the_given_shrinkage_stays_unless_the_computed_one_is_wanted() {
    let mut project = strip();
    assert_eq!(held_back(&project), 0.004);
    project.moulding.held_back = HeldBack::Computed;
    let computed = of(&project).unwrap().held_back;
    assert!(computed > 0.004);
    assert_eq!(held_back(&project), computed);
    // Where nothing can be computed it is the one given.
    project.moulding.own_mould_temperature_c = Some(300.0);
    assert_eq!(held_back(&project), 0.004);
}
