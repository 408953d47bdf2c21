//! From an analysis to the JSON form.

use std::path::Path;

use keepside_engine as engine;
use keepside_engine::opening::{
    BumpAt, HoldName, HoldOutcome, HoldState, NotComputed, Opening, Outcome, ReleaseHow, What,
};
use keepside_engine::{Analysis, Severity};
use keepside_model::{Half, Project};

use crate::{SCHEMA, VERSION, schema, shot, stripping};

pub(crate) fn of(path: &Path, project: &Project, analysis: &Analysis, exit_code: u8) -> schema::Report {
    let (opening, not_computed) = match &analysis.opening {
        Some(Ok(opening)) => (Some(opening.as_ref()), None),
        Some(Err(reason)) => (None, Some(of_reason(reason))),
        None => (None, None),
    };
    let holds = opening.map_or(&[][..], |opening| &opening.holds);
    schema::Report {
        schema: SCHEMA,
        program_version: VERSION,
        file: path.display().to_string(),
        project: project.name.clone(),
        exit_code,
        not_computed,
        verdict: opening.map(|opening| of_verdict(project, opening, analysis.deciding())),
        margin: analysis.margin.as_ref().map(|margin| of_margin(margin, opening)),
        holds: holds.iter().map(|hold| of_hold(project, hold)).collect(),
        releases: opening.map(of_releases).unwrap_or_default(),
        stretches: opening.map(|opening| of_stretches(project, opening)).unwrap_or_default(),
        bumps: opening.map(|opening| of_bumps(project, &opening.bumps)).unwrap_or_default(),
        flatness_mm: opening.map(|opening| opening.flatness_mm),
        energy: opening.map(|opening| of_energy(opening.energy)),
        stripping: analysis.stripping.as_ref().map(|of| stripping::json(project, of)),
        effort: opening.map(|opening| of_effort(opening.effort)),
        shot: shot::json(project, analysis),
        findings: analysis.findings.iter().map(|finding| of_finding(project, finding)).collect(),
    }
}

pub(crate) const fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::StaysOnMoving => "stays-on-moving",
        Outcome::StaysOnFixed => "stays-on-fixed",
        Outcome::Bridges => "bridges",
        Outcome::Torn => "torn",
        Outcome::FallsFree => "falls-free",
    }
}

pub(crate) const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Fault => "fault",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

fn of_reason(reason: &NotComputed) -> schema::NotComputed {
    let (key, run) = match reason {
        NotComputed::NoRun => ("no-run", None),
        NotComputed::NoLength { run } => ("no-length", Some(run.0)),
        NotComputed::Stuck { .. } => ("stuck", None),
        NotComputed::Cancelled => ("cancelled", None),
    };
    schema::NotComputed { reason: key, message: reason.to_string(), run }
}

fn of_verdict(project: &Project, opening: &Opening, deciding: Option<HoldName>) -> schema::Verdict {
    schema::Verdict {
        outcome: outcome(opening.verdict.outcome),
        words: opening.verdict.words.clone(),
        deciding_hold: deciding.and_then(|name| index(opening, name)),
        stroke_mm: project.press.stroke_mm,
        part_length_mm: opening.length_mm(),
    }
}

fn index(opening: &Opening, name: HoldName) -> Option<usize> {
    opening.holds.iter().position(|hold| hold.name == name)
}

fn of_margin(margin: &engine::Margin, opening: Option<&Opening>) -> schema::Margin {
    schema::Margin {
        factor: margin.factor,
        searched_from: margin.searched.0,
        searched_to: margin.searched.1,
        flips_to: margin.flips_to.map(outcome),
        deciding_hold: margin.deciding.and_then(|name| index(opening?, name)),
    }
}

fn of_hold(project: &Project, hold: &HoldOutcome) -> schema::Hold {
    let kind = match hold.name.what {
        What::Tack => "tack",
        What::WallDrag => "wall-drag",
        What::Edge => "edge",
        What::Vacuum => "vacuum",
        What::Sprue(_) => "sprue",
        What::Feature(_) => "feature",
        What::Ejector(_) => "ejector",
    };
    let item = hold.name.what.item();
    let (state, holding_share, released_at_opening_mm) = match hold.state {
        HoldState::Holding => ("holding", 1.0, None),
        HoldState::PartlyHolding { share } => ("partly-holding", share, None),
        HoldState::LetGo { opening_mm } => ("let-go", 0.0, Some(opening_mm)),
        HoldState::Broke { opening_mm } => ("broke", 0.0, Some(opening_mm)),
    };
    let point = |&(travel_mm, pull_n): &(f64, f64)| schema::CurvePoint { travel_mm, pull_n };
    schema::Hold {
        half: hold.name.half.word(),
        kind,
        item: item.map(|id| id.0),
        tag: item.map(|id| project.tag(id)),
        name: hold.name.words(project),
        run: hold.on.map(|(run, _)| run.0),
        along_mm: hold.on.map(|(_, along_mm)| along_mm),
        clear_gap_mm: hold.clear_gap_mm,
        capacity_n: hold.capacity_n,
        let_go_travel_mm: hold.let_go_travel_mm,
        peak_n: hold.peak_n,
        travel_mm: hold.travel_mm,
        work_mj: hold.work_mj,
        state,
        holding_share,
        released_at_opening_mm,
        remains: remains(hold).map(|half| match half {
            Half::Moving => "moving-half",
            Half::Fixed => "fixed-half",
        }),
        governed_by: hold.governed_by,
        pull_off_curve: hold.curve.iter().map(point).collect(),
    }
}

/// The half in which what broke off a hold stays; `None` if nothing did, or if the channel tore beside it.
pub(crate) fn remains(hold: &HoldOutcome) -> Option<Half> {
    let broke = matches!(hold.state, HoldState::Broke { .. }) && hold.name.what.item().is_some();
    (broke && !hold.governed_by.ends_with("tear")).then_some(hold.name.half)
}

fn of_releases(opening: &Opening) -> Vec<schema::Release> {
    let of = |release: &engine::opening::Release| schema::Release {
        opening_mm: release.opening_mm,
        hold: release.hold,
        how: match release.how {
            ReleaseHow::LetGo => "let-go",
            ReleaseHow::Broke => "broke",
        },
    };
    opening.releases.iter().map(of).collect()
}

fn of_stretches(project: &Project, opening: &Opening) -> Vec<schema::Stretch> {
    let of = |stretch: &engine::opening::Stretch| schema::Stretch {
        run: stretch.run.0,
        tag: project.tag(stretch.run),
        from_mm: stretch.from_mm,
        to_mm: stretch.to_mm,
        keeper: stretch.keeper.word(),
    };
    opening.stretches.iter().map(of).collect()
}

pub(crate) fn of_bumps(project: &Project, bumps: &[BumpAt]) -> Vec<schema::Bump> {
    let of = |bump: &BumpAt| schema::Bump {
        item: bump.item.0,
        tag: project.tag(bump.item),
        run: bump.run.0,
        along_mm: bump.along_mm,
        height_mm: bump.height_mm,
        kink_deg: bump.kink_deg,
    };
    bumps.iter().map(of).collect()
}

fn of_energy(energy: engine::opening::Energy) -> schema::Energy {
    let engine::opening::Energy { work_mj, elastic_mj, plastic_mj, holds_mj, viscous_mj, snap_mj } = energy;
    schema::Energy { work_mj, elastic_mj, plastic_mj, holds_mj, viscous_mj, snap_mj }
}

fn of_effort(effort: engine::opening::Effort) -> schema::Effort {
    let engine::opening::Effort { elements, steps, solves, cuts, events, rescues } = effort;
    schema::Effort { elements, steps, solves, cuts, events, rescues }
}

fn of_finding(project: &Project, finding: &engine::Finding) -> schema::Finding {
    schema::Finding {
        rule: finding.rule,
        severity: severity(finding.severity),
        items: finding.items.iter().map(|id| id.0).collect(),
        tags: finding.items.iter().map(|id| project.tag(*id)).collect(),
        x_mm: finding.at.map(|at| at.x),
        y_mm: finding.at.map(|at| at.y),
        message: finding.message.clone(),
        measured: finding.measured,
        needed: finding.needed,
        unit: finding.unit,
        cure: finding.cure.clone(),
    }
}

#[cfg(test)]
mod tests {
    use keepside_engine::opening::{HoldOutcome, HoldState, What};
    use keepside_model::Id;

    use super::*;

    fn hold(half: Half, what: What, state: HoldState, governed_by: &'static str) -> HoldOutcome {
        HoldOutcome {
            name: HoldName { half, what },
            on: None,
            capacity_n: 10.0,
            let_go_travel_mm: 1.0,
            peak_n: 10.0,
            travel_mm: 1.0,
            work_mj: 5.0,
            state,
            curve: Vec::new(),
            clear_gap_mm: None,
            governed_by,
        }
    }

    #[test]
    fn what_broke_off_stays_in_its_half_and_a_torn_channel_leaves_nothing() {
        let broke = HoldState::Broke { opening_mm: 0.5 };
        let let_go = HoldState::LetGo { opening_mm: 0.5 };
        let (sprue, key) = (What::Sprue(Id(8)), What::Feature(Id(12)));
        for (half, what, state, governed_by, expected) in [
            (Half::Fixed, sprue, broke, "neck breaks", Some(Half::Fixed)),
            (Half::Fixed, sprue, let_go, "drag", None),
            (Half::Moving, key, broke, "shear", Some(Half::Moving)),
            (Half::Moving, key, broke, "tear", None),
            (Half::Moving, key, broke, "measured, tear", None),
            (Half::Moving, What::Edge, broke, "shear", None),
        ] {
            let hold = hold(half, what, state, governed_by);
            assert_eq!(remains(&hold), expected, "{hold:?}");
            let told = of_hold(&Project::blank(), &hold).remains;
            assert_eq!(told.is_some(), expected.is_some());
        }
    }
}
