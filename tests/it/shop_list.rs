//! The shop list: counted by hand, and as CSV.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use keepside_model::{FeatureKind, Half, Id, KeyingFeature, Lock, Project, ScrewEnd, ThreadSize};
use keepside_sheet::{Output, export};
use keepside_tests::papers::{assert_written, pages, written};
use keepside_tests::projects::demo;
use keepside_tests::{add_feature, add_screw, strip};

/// Records of the shop list's CSV: group, count, what, size, for, drawer, uncertain, remark.
fn shop_list(project: &Project) -> Vec<Vec<String>> {
    let exports = export(project, &[Output::ShopList], None).unwrap();
    let mut reader = csv::Reader::from_reader(exports[1].bytes.as_slice());
    reader.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}

#[track_caller]
fn assert_listed(list: &[Vec<String>], group: &str, expected: &[(&str, &str, &str)]) {
    let of_group: Vec<(&str, &str, &str)> = list
        .iter()
        .filter(|record| record[0] == group)
        .map(|record| (record[1].as_str(), record[3].as_str(), record[4].as_str()))
        .collect();
    assert_eq!(of_group, expected, "{group}");
}

#[test]
fn the_demo_project_is_counted_as_by_hand() {
    // Counted in demo-projects/row-marker.keepside.
    let list = shop_list(&demo("row-marker"));
    let pins = "E17; E18; E19; E20; E22; E23; E24; E25";
    let free = "Ø4 × 60 free from head to face";
    assert_listed(&list, "Ejector pins", &[("8", free, pins), ("1", free, "E21")]);
    assert_listed(
        &list,
        "Turned heads and posts",
        &[
            ("2", "Turn head Ø5.6 × 1 on a neck Ø5.42, underside 70°", "K12; K15"),
            ("2", "Turn head Ø5 × 1 on a neck Ø4.85, underside 70°", "K13; K14"),
            ("1", "Dowel or turned post Ø2.5", "K16"),
        ],
    );
    let bolts = [("4", "for holes Ø6.6", "H2; H3; H4; H5"), ("2", "for holes Ø8", "H6; H7")];
    assert_listed(&list, "Bolts and guide pins", &bolts);
    assert_listed(&list, "Plates", &[("2", "240 × 100 × 16", "moving half; fixed half")]);
    assert_listed(&list, "Screws", &[]);
    assert_listed(&list, "Taps", &[]);
    // Ø3 narrowing by 0.5° a side over 14 mm: 3 − 2 · 14 · tan 0.5° = 2.756, drilled Ø2.75.
    assert_listed(&list, "Taper reamers", &[("", "0.5° a side, to Ø3", "S8; S9")]);
    let drills: Vec<&str> = list.iter().filter(|r| r[0] == "Drills").map(|r| r[3].as_str()).collect();
    // Before reaming to 2.5, 4, 4.85 and 5.42 mm, the gates, the bolts, the guide pins.
    assert_eq!(drills, ["Ø2.3", "Ø2.75", "Ø3.8", "Ø4.65", "Ø5.12", "Ø6.6", "Ø8"]);
}

#[test]
fn screws_are_listed_by_their_standards_each_length_once() {
    let mut project = strip();
    // In 20 mm plates, engaged by one and a half diameters. Socket up, the flat point's chamfer of
    // (4 − 2.5)/2 mm does not hold: 2 + 6 + 0.75 mm asks for a length of 10 mm.
    let first = add_screw(&mut project, 60.0, Half::Moving);
    let second = add_screw(&mut project, 100.0, Half::Fixed);
    let cup = FeatureKind::SetScrew { thread: ThreadSize::M4, end: ScrewEnd::Cup };
    let third = add_feature(&mut project, 140.0, Half::Moving, cup, 2.0);
    let set = |project: &mut Project, id: Id, change: &dyn Fn(&mut KeyingFeature)| {
        change(project.features.get_mut(&id).unwrap());
    };
    set(&mut project, first, &|feature| feature.lock = Lock::Compound);
    set(&mut project, third, &|feature| {
        feature.lock = Lock::Loose;
        feature.screw_length_mm = Some(12.0);
    });
    let list = shop_list(&project);
    let (first, second, third) = (project.tag(first), project.tag(second), project.tag(third));
    let behind = format!("behind {second}");
    let both = format!("{first}; {second}");
    assert_listed(
        &list,
        "Screws",
        &[
            ("1", "M4 × 4", behind.as_str()),
            ("2", "M4 × 10", both.as_str()),
            ("1", "M4 × 12", third.as_str()),
        ],
    );
    let standards: Vec<&str> =
        list.iter().filter(|r| r[0] == "Screws").map(|r| r[2].split(',').next().unwrap()).collect();
    // Flat point, flat point, cup point.
    assert_eq!(standards, ["ISO 4026", "ISO 4026", "ISO 4029"]);
    // Cup points are only remembered, and the list says so; nothing is on hand yet.
    assert_eq!(
        list.iter().filter(|r| r[0] == "Screws").map(|r| r[6].as_str()).collect::<Vec<_>>(),
        ["", "", "yes"]
    );
    assert!(list.iter().all(|record| record[5].is_empty()));
    let of_all = format!("{first}; {third}; {second}");
    assert_listed(&list, "Taps", &[("", "M4 × 0.7", of_all.as_str())]);
    assert!(list.iter().any(|r| r[2] == "thread-locking compound" && r[4] == first));

    project.drawer.insert(ThreadSize::M4);
    let list = shop_list(&project);
    assert!(list.iter().all(|record| (record[5] == "yes") == (record[0] == "Screws")));
    let paper = written(&pages(Output::ShopList, &project, None));
    assert_eq!(paper.matches("inthedrawer").count(), 3);
    assert_written(&paper, "check that this length is sold");
}
