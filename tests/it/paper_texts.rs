//! What all papers for the bench have in common: legible, honest, the same every time.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

use std::sync::Arc;

use glam::DVec2;
use keepside_engine::opening::NotComputed;
use keepside_engine::{Cancel, analyse};
use keepside_model::{
    Ejector, EjectorFace, FeatureKind, Half, Id, KeyingFeature, Paper, Project, ScrewEnd, ThreadSize,
};
use keepside_sheet::{Output, export};
use keepside_tests::papers::{COMPUTED, assert_written, every_tag_is_on, failed, pages, tidy, written};
use keepside_tests::projects::{demo, random_project};
use keepside_tests::strip;
use proptest::prelude::*;

const PAPERS: [Output; 3] = [Output::ShopList, Output::TrialCard, Output::Report];

#[test]
fn an_empty_project_and_one_that_got_stuck_get_honest_papers() {
    let mut empty = Project::blank();
    empty.part.runs.clear();
    let computed = analyse(&empty, &Cancel::default(), &mut |_| {});
    let stuck = failed(&strip(), NotComputed::Stuck { opening_mm: 1.25 });
    for (project, analysis, why) in [
        (&empty, Some(&computed), "The opening run was not computed: the part has no channel run; draw one"),
        (
            &strip(),
            Some(&stuck),
            "The opening run was not computed: the opening run got stuck at an opening of 1.250 mm",
        ),
        (&strip(), None, "The opening run was not asked for"),
    ] {
        for output in PAPERS {
            let pages = pages(output, project, analysis);
            tidy(&pages).unwrap();
            let words = written(&pages);
            if output != Output::ShopList {
                assert_written(&words, why);
                assert!(!words.contains("stayswhole"));
            }
            if output == Output::Report {
                assert_written(&words, "No verdict.");
                assert_written(&words, "Without an opening run only the drawing has been looked at.");
            }
        }
    }
}

#[test]
fn the_same_project_gives_the_same_bytes() {
    for (project, analysis) in COMPUTED.iter() {
        let once = export(project, &PAPERS, Some(analysis)).unwrap();
        assert_eq!(once, export(project, &PAPERS, Some(&analysis.clone())).unwrap());
    }
}

#[test]
fn nothing_overlaps_on_the_demo_projects_and_pages_are_numbered() {
    for (project, analysis) in COMPUTED.iter() {
        for output in PAPERS {
            let mut project = project.clone();
            let pages = |project: &Project| pages(output, project, Some(analysis));
            // US Letter, ANSI/ASME Y14.1: 8.5 by 11 in.
            project.sheet.paper = Paper::Letter;
            let on_letter = pages(&project);
            let size = on_letter[0].size_mm;
            assert!(
                (DVec2::new(size.min_element(), size.max_element()) - DVec2::new(215.9, 279.4)).length()
                    < 0.01
            );
            tidy(&on_letter).unwrap_or_else(|why| panic!("{} on Letter: {why}", output.label()));
            project.sheet.paper = Paper::A4;
            let pages = pages(&project);
            tidy(&pages).unwrap_or_else(|why| panic!("{} of {}: {why}", output.label(), project.name));
            for (index, page) in pages.iter().enumerate() {
                let number = format!("{} of {}", index + 1, pages.len());
                assert!(page.texts.iter().any(|text| text.text == number), "{number}");
                assert!(page.texts.iter().any(|text| text.text.starts_with("Keepside ")));
            }
        }
    }
}

/// Sixty keying features and names that are long in several scripts.
fn crowded() -> Project {
    let mut project = demo("row-marker");
    let names = [
        "Штифт с очень длинным именем",
        "Πείρος με μακρύ όνομα",
        "模具顶针位置编号",
        "دبوس تثبيت القالب",
        "Anker",
    ];
    let kinds = [
        FeatureKind::set_screw(ThreadSize::M4),
        FeatureKind::SetScrew { thread: ThreadSize::M3, end: ScrewEnd::Cone },
        FeatureKind::CapHead { thread: ThreadSize::M2, turned_mm: Some(3.5), chamfer_mm: 0.2 },
        FeatureKind::PlainPost { diameter_mm: 2.0 },
    ];
    for index in 0..60 {
        let kind = kinds[index % kinds.len()];
        let at = DVec2::new(32.0 + 3.0 * index as f64, 50.0);
        let half = if index % 5 == 0 { Half::Fixed } else { Half::Moving };
        let name = names[index % names.len()].repeat(1 + index % 4);
        let feature = KeyingFeature { name, ..KeyingFeature::new(at, half, kind, 1.5) };
        project.features.insert(Id(100 + index as u32), feature);
    }
    project.name = names.join(" ");
    let ejector = Ejector::new(DVec2::new(120.0, 50.0), 3.0, 60.0, 8.0, EjectorFace::Crossed);
    project.ejectors.insert(Id(200), ejector);
    project.check().unwrap();
    project
}

#[test]
fn sixty_features_with_long_names_fit_on_several_pages() {
    let project = crowded();
    let opened = keepside_engine::opening::run(&project, &Cancel::default()).unwrap();
    let mut analysis = failed(&project, NotComputed::Cancelled);
    analysis.opening = Some(Ok(Arc::new(opened)));
    for output in PAPERS {
        let pages = pages(output, &project, Some(&analysis));
        assert!(pages.len() > 2, "{}", output.label());
        tidy(&pages).unwrap_or_else(|why| panic!("{}: {why}", output.label()));
    }
    every_tag_is_on(&project, &pages(Output::TrialCard, &project, Some(&analysis)));
    // The shop list leaves no tag out either, however many share a line.
    let list = written(&pages(Output::ShopList, &project, None));
    for id in project.features.keys() {
        assert!(list.contains(&project.tag(*id)), "{}", project.tag(*id));
    }
}

/// A letter with a mark over it is one glyph and two characters: wherever the letter stands alone, the
/// file has to say so, and what is read back is what is written.
#[test]
fn a_letter_that_stands_elsewhere_with_a_mark_is_read_back_without() {
    let mut project = demo("row-marker");
    project.name = "F\u{335}".to_owned();
    let pages = pages(Output::ShopList, &project, None);
    tidy(&pages).unwrap();
    let headings = pages.iter().flat_map(|page| &page.texts).filter(|text| text.text == "For");
    assert!(headings.count() > 0, "{}", written(&pages));
    assert_written(&written(&pages), "F\u{335}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_overlaps_or_runs_off_the_page_on_random_projects(
        words in prop::collection::vec(any::<u64>(), 8..40),
        names in prop::collection::vec("\\PC{0,60}", 1..5),
    ) {
        let project = random_project(&words, &names);
        let analysis = failed(&project, NotComputed::Stuck { opening_mm: 0.1 });
        for output in PAPERS {
            let pages = pages(output, &project, Some(&analysis));
            if let Err(why) = tidy(&pages) {
                return Err(TestCaseError::fail(format!("{}: {why}", output.label())));
            }
            if output == Output::TrialCard {
                every_tag_is_on(&project, &pages);
            }
        }
    }
}
