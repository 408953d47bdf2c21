//! The trial card against the analysis that it predicts from.

use keepside_engine::opening::HoldState;
use keepside_sheet::Output;
use keepside_tests::papers::{COMPUTED, assert_written, every_tag_is_on, pages, written};

#[test]
fn the_trial_card_has_a_row_for_every_tag_with_what_is_predicted() {
    for (project, analysis) in COMPUTED.iter() {
        let opening = analysis.opening.as_ref().unwrap().as_ref().unwrap();
        let pages = pages(Output::TrialCard, project, Some(analysis));
        let card = written(&pages);
        for hold in opening.holds.iter().filter(|hold| hold.name.what.item().is_some()) {
            let id = hold.name.what.item().unwrap();
            let expected = match hold.state {
                HoldState::LetGo { opening_mm } => format!("lets go at {opening_mm:.2} mm"),
                HoldState::Broke { opening_mm } => format!("breaks at {opening_mm:.2} mm"),
                HoldState::Holding | HoldState::PartlyHolding { .. } => "holds".to_owned(),
            };
            let title = match project.features.get(&id) {
                Some(feature) => format!("{}, {} half", project.title(id), feature.half.word()),
                None => project.title(id),
            };
            if !project.ejectors.contains_key(&id) {
                assert_written(&card, &format!("{title} {expected}"));
            }
        }
        for bump in &opening.bumps {
            assert_written(&card, &format!("{:.2} mm, kink", bump.height_mm.abs()));
        }
        for stretch in &opening.stretches {
            let title = project.title(stretch.run);
            let (from, to) = (stretch.from_mm, stretch.to_mm);
            assert_written(&card, &format!("{title} from {from:.1} to {to:.1} kept by the"));
        }
        assert_written(&card, "closing platens crush");
        assert!(pages.iter().all(|page| page.size_mm.x > page.size_mm.y));
        every_tag_is_on(project, &pages);
    }
}
