//! Facts of the trade that any correct opening run shows. All: common practice, no source.

use keepside_engine::opening::{HoldState, Keeper, Margin, Opening, Outcome, margin};
use keepside_model::{FeatureKind, Finish, Half, Id, Project, ThreadSize};
use keepside_tests::{add_feature, add_screw, add_sprue, hold_of, open, set_section, strip};

const M4: FeatureKind = FeatureKind::set_screw(ThreadSize::M4);

#[track_caller]
fn bump(opening: &Opening, id: Id) -> (f64, f64) {
    let bump = opening.bumps.iter().find(|bump| bump.item == id).expect("the item has a bump");
    (bump.height_mm, bump.kink_deg)
}

#[test]
fn without_keys_the_part_follows_the_sprues_whatever_its_larger_face_area() {
    let mut project = strip();
    // Most of the part lies in the moving half, and draft makes the fixed half's floor the smaller.
    project.part.moving_share = 0.7;
    project.part.draft_fixed_deg = 8.0;
    project.part.draft_moving_deg = 0.0;
    let alone = open(&project);
    assert_eq!(alone.verdict.outcome, Outcome::StaysOnMoving, "the faces alone: {}", alone.verdict.words);

    let sprues = [60.0, 160.0].map(|x| add_sprue(&mut project, x));
    let opening = open(&project);
    assert_eq!(opening.verdict.outcome, Outcome::StaysOnFixed, "{}", opening.verdict.words);
    let deciding = &opening.holds[opening.verdict.deciding.expect("a hold decides")];
    assert!(sprues.contains(&deciding.name.what.item().expect("an item decides")));
}

#[test]
fn strong_keys_near_one_of_two_sprues_leave_the_far_end_on_the_fixed_half() {
    let mut project = strip();
    set_section(&mut project, 8.0, 2.5);
    add_sprue(&mut project, 40.0);
    let far = add_sprue(&mut project, 185.0);
    project.sprues.get_mut(&far).expect("just added").length_mm = 30.0;
    for x in [30.0, 36.0, 46.0] {
        add_screw(&mut project, x, Half::Moving);
    }
    project.press.stroke_mm = 25.0;
    let opening = open(&project);
    assert_eq!(opening.verdict.outcome, Outcome::Bridges, "{}", opening.verdict.words);
    let keepers: Vec<_> = opening.stretches.iter().map(|stretch| stretch.keeper).collect();
    assert_eq!(keepers, [Keeper::Moving, Keeper::Bridging, Keeper::Fixed]);
}

#[test]
fn a_key_behind_the_gate_leaves_it_flat_and_flanking_keys_leave_a_bump() {
    let mut behind = strip();
    behind.part.moving_share = 0.6;
    let gate = add_sprue(&mut behind, 110.0);
    behind.sprues.get_mut(&gate).expect("just added").length_mm = 14.0;
    let mut flanking = behind.clone();
    add_feature(&mut behind, 110.0, Half::Moving, M4, 2.0);
    for x in [90.0, 130.0] {
        add_feature(&mut flanking, x, Half::Moving, M4, 2.0);
    }
    let (behind, flanking) = (open(&behind), open(&flanking));
    for opening in [&behind, &flanking] {
        assert_eq!(opening.verdict.outcome, Outcome::StaysOnMoving, "{}", opening.verdict.words);
        assert!(matches!(hold_of(opening, gate).state, HoldState::LetGo { .. }));
    }
    assert!(bump(&behind, gate).0.abs() < 0.02, "{:?}", bump(&behind, gate));
    assert!(bump(&flanking, gate).0 > 0.5, "{:?}", bump(&flanking, gate));
}

#[test]
fn flanking_keys_farther_from_the_gate_leave_a_taller_gentler_bump() {
    // From about three channel widths on. Nearer than that the part is stiff enough between the keys
    // to drag the sprue along, and there is hardly a bump at all.
    let of = |distance: f64| {
        let mut project = strip();
        // Without shrinkage: its tension between the keys stretches both bumps flat alike.
        project.material.restrained_shrinkage = 0.0;
        set_section(&mut project, 6.0, 2.0);
        let gate = add_sprue(&mut project, 110.0);
        project.sprues.get_mut(&gate).expect("just added").length_mm = 10.0;
        for x in [110.0 - distance, 110.0 + distance] {
            add_screw(&mut project, x, Half::Moving);
        }
        let opening = open(&project);
        assert_eq!(opening.verdict.outcome, Outcome::StaysOnMoving, "{}", opening.verdict.words);
        bump(&opening, gate)
    };
    let (near, far) = (of(18.0), of(30.0));
    assert!(far.0 > near.0, "taller: {near:?} {far:?}");
    assert!(far.1 < near.1, "gentler: {near:?} {far:?}");
}

#[track_caller]
fn margin_of(project: &Project) -> f64 {
    let opening = open(project);
    let Margin { factor, searched, .. } =
        margin(project, &opening, &Default::default()).expect("not cancelled");
    let is_good = opening.verdict.outcome == Outcome::StaysOnMoving;
    factor.unwrap_or(if is_good { searched.1 } else { searched.0 })
}

#[test]
fn a_drafted_shorter_or_polished_sprue_needs_fewer_keys() {
    let layout = |change: &dyn Fn(&mut keepside_model::Sprue)| {
        let mut project = strip();
        let gate = add_sprue(&mut project, 110.0);
        change(project.sprues.get_mut(&gate).expect("just added"));
        add_screw(&mut project, 122.0, Half::Moving);
        project
    };
    let plain = margin_of(&layout(&|_| {}));
    for (name, easier) in [
        ("drafted", layout(&|sprue| sprue.draft_deg = 2.0)),
        ("shorter", layout(&|sprue| sprue.length_mm = 8.0)),
        ("polished", layout(&|sprue| sprue.finish = Finish::Polished)),
    ] {
        let margin = margin_of(&easier);
        assert!(margin > 1.2 * plain, "{name}: {margin} against {plain}");
    }
}

#[test]
fn release_agent_shuffles_an_unkeyed_layout_and_hardly_touches_a_well_keyed_one() {
    let shots = [(0.25, 0.4), (0.4, 0.25), (0.2, 0.5), (0.5, 0.2)];
    let outcomes = |project: &Project| {
        shots.map(|(moving, fixed)| {
            let mut shot = project.clone();
            shot.holds.release_factor_moving = moving;
            shot.holds.release_factor_fixed = fixed;
            open(&shot).verdict.outcome
        })
    };
    let mut project = strip();
    project.part.moving_share = 0.5;
    let unkeyed = outcomes(&project);
    assert!(
        unkeyed.contains(&Outcome::StaysOnMoving) && unkeyed.contains(&Outcome::StaysOnFixed),
        "{unkeyed:?}"
    );

    add_sprue(&mut project, 110.0);
    for x in [50.0, 105.0, 115.0, 170.0] {
        add_screw(&mut project, x, Half::Moving);
    }
    assert_eq!(outcomes(&project), [Outcome::StaysOnMoving; 4]);
}
