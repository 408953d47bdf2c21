//! Plots of the opening run: pull against opening, pull-off curves, what stays bent along the runs.

use keepside_engine::Opening;
use keepside_engine::opening::{HoldName, HoldOutcome};
use keepside_model::Project;

use super::side;
use crate::document::{Curve, Dot, Flow, Plot, Scale, decimals, signed};
use crate::page::Pen;
use crate::paper::Area;

/// Pull-off curves shown, at most.
const MOST_CURVES: usize = 6;

const MOVING: Pen = Pen { width_mm: 0.4, grey: 0, dash_mm: &[] };
const FIXED: Pen = Pen { width_mm: 0.3, grey: 0, dash_mm: &[1.6, 0.8] };

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, opening: &Opening, deciding: Option<HoldName>) {
    pulls(flow, opening);
    pull_offs(flow, project, opening, deciding);
    residual(flow, project, opening);
}

/// Total pull of each half against the opening: as it is, and with the first hundredths drawn out.
fn pulls(flow: &mut Flow<'_>, opening: &Opening) {
    flow.heading_over("Pull of each half while the mould opens", 56.0);
    let openings = || opening.frames.iter().map(|frame| frame.opening_mm);
    let curve = |words: &str, pen, pull: fn(&keepside_engine::opening::Frame) -> f64| Curve {
        words: words.to_owned(),
        points: opening.frames.iter().map(|frame| (frame.opening_mm, pull(frame))).collect(),
        pen,
    };
    let even = Scale::even("opening, mm", openings());
    let drawn_out = Scale::factors("opening, mm; equal steps are equal factors", openings());
    for x in std::iter::once(even).chain(drawn_out) {
        let pulls = opening.frames.iter().flat_map(|frame| [frame.moving_n, frame.fixed_n]);
        let plot = Plot {
            x,
            y: Scale::even("total pull, N", pulls),
            curves: vec![
                curve("moving half", MOVING, |frame| frame.moving_n),
                curve("fixed half", FIXED, |frame| frame.fixed_n),
            ],
            dots: Vec::new(),
        };
        let area = flow.take(54.0);
        let lettering = flow.lettering;
        plot.draw(flow.page(), lettering, &area);
        flow.space(2.0);
    }
}

/// The pull-off curves of the deciding hold and of those that pulled hardest, two in a row.
fn pull_offs(flow: &mut Flow<'_>, project: &Project, opening: &Opening, deciding: Option<HoldName>) {
    let mut holds: Vec<(usize, &HoldOutcome)> = opening
        .holds
        .iter()
        .enumerate()
        .filter(|(_, hold)| hold.curve.len() > 1 && hold.capacity_n > 0.0)
        .collect();
    let rank = |hold: &HoldOutcome| if Some(hold.name) == deciding { f64::INFINITY } else { hold.peak_n };
    holds.sort_by(|a, b| rank(b.1).total_cmp(&rank(a.1)).then(a.0.cmp(&b.0)));
    let more = holds.len().saturating_sub(MOST_CURVES);
    holds.truncate(MOST_CURVES);
    if holds.is_empty() {
        return;
    }
    flow.heading_over("Pull-off curves of the holds that matter", 64.0);
    let more = if more > 0 { format!(" {more} weaker ones are not shown.") } else { String::new() };
    flow.remark(&format!(
        "The deciding hold first, then those that pulled hardest. The dot is where the hold stands at full \
         stroke, below its curve if it has been relieved; the dashed line is the most that it pulled, friction included.{more}"
    ));
    for pair in holds.chunks(2) {
        let area = flow.take(52.0);
        let half_mm = area.size_mm().x / 2.0;
        let mut left = area.low.x;
        for (index, hold) in pair {
            let mut cell = Area { low: area.low, high: area.high };
            cell.low.x = left;
            cell.high.x = left + half_mm - 1.0;
            left += half_mm;
            let now_n = opening.frames.last().and_then(|frame| frame.pulls_n.get(*index));
            let lettering = flow.lettering;
            pull_off(project, hold, now_n.map_or(0.0, |pull| f64::from(*pull))).draw(
                flow.page(),
                lettering,
                &cell,
            );
        }
    }
}

fn pull_off(project: &Project, hold: &HoldOutcome, now_n: f64) -> Plot {
    let last_mm = hold.curve.last().map_or(0.0, |point| point.0);
    let reach_mm = last_mm.max(hold.travel_mm.min(1.25 * last_mm));
    let pulls = hold.curve.iter().map(|point| point.1).chain([hold.peak_n, now_n]);
    let working = (hold.travel_mm.min(reach_mm), now_n);
    Plot {
        x: Scale::even("travel, mm", [reach_mm].into_iter()),
        y: Scale::even("pull, N", pulls),
        curves: vec![
            Curve { words: hold.name.words(project), points: hold.curve.clone(), pen: MOVING },
            Curve {
                words: String::new(),
                points: vec![(0.0, hold.peak_n), (reach_mm, hold.peak_n)],
                pen: FIXED,
            },
        ],
        dots: vec![Dot {
            at: working,
            words: format!("{} mm, {} N", decimals(hold.travel_mm, 2), decimals(now_n, 1)),
        }],
    }
}

/// Out of flat along the runs that are drawn from the side.
fn residual(flow: &mut Flow<'_>, project: &Project, opening: &Opening) {
    if opening.residual.is_empty() {
        return;
    }
    flow.heading_over("What stays bent, along the run", 52.0);
    let not_shown = side::not_shown(opening);
    if !not_shown.is_empty() {
        flow.remark(&not_shown);
    }
    for (_, axis) in side::shown(opening) {
        let pieces: Vec<_> = opening.residual.iter().filter(|piece| piece.run == axis.run).collect();
        let points = || pieces.iter().flat_map(|piece| piece.points.iter());
        let tag = project.tag(axis.run);
        let curves = pieces.iter().enumerate().map(|(index, piece)| Curve {
            words: if index == 0 {
                format!("{tag}, out of flat, + towards the moving half")
            } else {
                String::new()
            },
            points: piece.points.clone(),
            pen: MOVING,
        });
        let on_curve = |along_mm: f64| {
            let near = points().min_by(|a, b| (a.0 - along_mm).abs().total_cmp(&(b.0 - along_mm).abs()));
            near.map_or(0.0, |point| point.1)
        };
        let dots = side::bumps(opening, axis).map(|bump| Dot {
            at: (bump.along_mm, on_curve(bump.along_mm)),
            words: format!("{} {}", project.tag(bump.item), signed(bump.height_mm, 2)),
        });
        let plot = Plot {
            x: Scale::even("along the run, mm", points().map(|point| point.0)),
            y: Scale::even("out of flat, mm", points().map(|point| point.1)),
            curves: curves.collect(),
            dots: dots.collect(),
        };
        let area = flow.take(50.0);
        let lettering = flow.lettering;
        plot.draw(flow.page(), lettering, &area);
    }
    flow.remark(side::BUMPS);
}
