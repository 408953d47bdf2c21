//! Who keeps a stretch, as a pattern that reads in black and white.

use glam::DVec2;
use keepside_engine::opening::Keeper;

use crate::document::{Flow, SMALL_MM};
use crate::page::{Page, Pen, Step, circle, rectangle};

/// Distance between the strokes of a pattern, mm on the paper.
pub(super) const PITCH_MM: f64 = 1.2;

const STROKE: Pen = Pen { width_mm: 0.25, grey: 0, dash_mm: &[] };

/// Fills the strip between two edges, given by points about [`PITCH_MM`] apart.
pub(super) fn pattern(page: &mut Page, keeper: Keeper, edges: &[(DVec2, DVec2)]) {
    match keeper {
        Keeper::Moving => {
            let there = edges.iter().map(|(left, _)| *left);
            let back = edges.iter().rev().map(|(_, right)| *right);
            let mut steps: Vec<Step> = there.chain(back).map(Step::Line).collect();
            if let Some(first @ Step::Line(_)) = steps.first_mut()
                && let Step::Line(to) = *first
            {
                *first = Step::Move(to);
            }
            steps.push(Step::Close);
            page.fill(steps, 175);
        }
        Keeper::Fixed => {
            for pair in edges.windows(2) {
                page.line(pair[0].0, pair[1].1, STROKE);
            }
        }
        Keeper::Bridging => {
            for pair in edges.windows(3).step_by(2) {
                page.line(pair[0].0, pair[2].1, STROKE);
                page.line(pair[0].1, pair[2].0, STROKE);
            }
        }
        Keeper::Free => {
            for (left, right) in edges.iter().step_by(2) {
                page.fill(circle(left.midpoint(*right), 0.5), 0);
            }
        }
    }
}

/// What the patterns mean, in a line.
pub(super) fn legend(flow: &mut Flow<'_>) {
    let entries = [
        (Keeper::Moving, "moving half keeps it"),
        (Keeper::Fixed, "fixed half keeps it"),
        (Keeper::Bridging, "between both halves"),
        (Keeper::Free, "free"),
    ];
    let area = flow.take(6.0);
    let lettering = flow.lettering;
    let page = flow.page();
    let mut x = area.low.x;
    for (keeper, words) in entries {
        let (low, high) = (DVec2::new(x, area.low.y + 1.0), DVec2::new(x + 9.6, area.low.y + 4.4));
        let edges: Vec<(DVec2, DVec2)> = (0..=8_u32)
            .map(|step| x + PITCH_MM * f64::from(step))
            .map(|x| (DVec2::new(x, low.y), DVec2::new(x, high.y)))
            .collect();
        pattern(page, keeper, &edges);
        page.stroke(rectangle(low, high), Pen::THIN);
        page.text(DVec2::new(x + 11.0, area.low.y + 3.8), SMALL_MM, 0, words.to_owned());
        x += 15.0 + lettering.width_mm(words, SMALL_MM);
    }
}
