//! Cross-sections that trap the part in a half, or that cannot be cut as drawn.

use keepside_model::{Edit, Half, Id, Part, Rib, RunPoint};

use super::cure::SLACK_MM;
use super::runs::has_no_length;
use super::{Drawn, Finding, Severity};
use crate::beam::ChannelShape;
use crate::hold::{self, LineHold};

/// Radii and ribs are compared with this much slack, mm: less is the rounding of a share.
const SLIGHT_MM: f64 = 1e-5;

impl Drawn<'_> {
    /// The points of every run that has a length. Between them width and depth are between theirs.
    fn stations(&self) -> impl Iterator<Item = (Id, &RunPoint)> {
        let runs = self.project.part.runs.iter().filter(|(_, run)| !has_no_length(run));
        runs.flat_map(|(&id, run)| run.points.iter().map(move |point| (id, point)))
    }

    /// The cross-section at a point of a run.
    fn shape(&self, part: &Part, point: &RunPoint) -> ChannelShape {
        ChannelShape::new(part, point.width_mm, point.depth_mm)
    }
}

/// Edges that go on beyond the parting plane: the half in which the channel is widest traps the part.
pub(super) fn undercut(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    for half in [Half::Moving, Half::Fixed] {
        let holds = drawn.stations().filter_map(|(id, point)| {
            let shape = drawn.shape(&drawn.project.part, point);
            Some((id, point, shape, hold::edge(drawn.project, &shape, half)?))
        });
        let worst = holds.max_by(|a, b| {
            let rank = |hold: &LineHold| (hold.governed_by == "shear", hold.strip_strain);
            let ((a_shears, a_strain), (b_shears, b_strain)) = (rank(&a.3), rank(&b.3));
            a_shears.cmp(&b_shears).then(a_strain.total_cmp(&b_strain))
        });
        let Some((id, point, shape, hold)) = worst else { continue };
        let Some(undercut) = shape.undercut(half) else { continue };
        let (severity, end) = judged(&hold);
        let message = format!(
            "the channel of {} is widest in the {} half, {:.2} mm from the parting plane: {:.3} mm of undercut \
             on each side trap the part there and take {:.2} N a mm of run to pull off{end}",
            drawn.project.tag(id),
            half.word(),
            undercut.height_mm,
            undercut.depth_mm,
            hold.curve.peak_n(),
        );
        let finding = Finding::new("edge-undercut", severity, [id], Some(point.at), message);
        let allowed = if severity == Severity::Fault { hold.allowed_once } else { hold.allowed_repeated };
        let finding = Finding {
            measured: Some(100.0 * hold.strip_strain),
            needed: Some(100.0 * allowed),
            unit: "%",
            ..finding
        };
        findings.push(cured(drawn, finding, half));
    }
}

/// How bad an undercut edge is, and why, to end a sentence.
fn judged(hold: &LineHold) -> (Severity, String) {
    let LineHold { strip_strain, allowed_once, allowed_repeated, governed_by, .. } = *hold;
    let (strain, once, repeated) = (100.0 * strip_strain, 100.0 * allowed_once, 100.0 * allowed_repeated);
    if governed_by == "shear" {
        (Severity::Fault, "; the edges are sheared off before it slides out".to_owned())
    } else if strip_strain > allowed_once {
        (Severity::Fault, format!("; that strains it by {strain:.1} %, and {once:.1} % is allowed once"))
    } else if strip_strain > allowed_repeated {
        let end =
            format!("; that strains it by {strain:.1} %, and {repeated:.1} % is allowed again and again");
        (Severity::Warning, end)
    } else {
        (Severity::Note, String::new())
    }
}

/// The parting plane through the widest place if that frees the part everywhere, else smaller edges.
fn cured(drawn: &Drawn<'_>, finding: Finding, half: Half) -> Finding {
    let part = &drawn.project.part;
    let frees = |part: &Part| {
        drawn.stations().all(|(_, point)| {
            let shape = drawn.shape(part, point);
            shape.undercut(Half::Moving).is_none() && shape.undercut(Half::Fixed).is_none()
        })
    };
    // The largest part of its depth that an edge takes up anywhere is the share that its half needs.
    let needed = |half| {
        let share = |point: &RunPoint| drawn.shape(part, point).edge_mm(half) / point.depth_mm;
        drawn.stations().map(|(_, point)| share(point)).fold(0.0, f64::max)
    };
    let rounded = half.other();
    let moving_share = if rounded == Half::Fixed { 1.0 - needed(rounded) } else { needed(rounded) };
    let moved = Part { moving_share, ..part.clone() };
    if frees(&moved) {
        let cure = format!(
            "Let the parting plane run through the widest place, {:.0} % of the depth in the moving half, or \
             make the radius smaller",
            100.0 * moving_share
        );
        return finding.cured_by(cure, split(&moved));
    }
    let shallowest = |half| {
        let depths = drawn.stations().map(|(_, point)| drawn.shape(part, point).depth_in_mm(half));
        depths.fold(f64::INFINITY, f64::min)
    };
    let smaller = Part {
        edge_moving_mm: part.edge_moving_mm.min(shallowest(Half::Moving)),
        edge_fixed_mm: part.edge_fixed_mm.min(shallowest(Half::Fixed)),
        ..part.clone()
    };
    let edit = frees(&smaller).then(|| split(&smaller)).flatten();
    finding.cured_by("Make the radius no larger than that half is deep", edit)
}

/// Edge radii that do not fit the channel and are computed smaller.
pub(super) fn radius(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let part = &drawn.project.part;
    let fitted = |half| {
        let at = drawn.stations().map(|(id, point)| (id, point, drawn.shape(part, point).edge_mm(half)));
        at.min_by(|a, b| a.2.total_cmp(&b.2))
    };
    let (Some(moving), Some(fixed)) = (fitted(Half::Moving), fitted(Half::Fixed)) else { return };
    let cured = Part { edge_moving_mm: moving.2, edge_fixed_mm: fixed.2, ..part.clone() };
    let cases = [(Half::Moving, part.edge_moving_mm, moving), (Half::Fixed, part.edge_fixed_mm, fixed)];
    for (half, edge_mm, (id, point, fitted_mm)) in cases {
        if edge_mm <= fitted_mm + SLIGHT_MM {
            continue;
        }
        let message = format!(
            "an edge radius of {edge_mm:.2} mm in the {} half does not fit {}, {:.2} mm wide and {:.2} mm deep; \
             it is computed with {fitted_mm:.2} mm",
            half.word(),
            drawn.project.tag(id),
            point.width_mm,
            point.depth_mm,
        );
        findings.push(
            Finding::new("edge-radius", Severity::Warning, [id], Some(point.at), message)
                .comparing_mm(edge_mm, fitted_mm)
                .cured_by(format!("Make it {fitted_mm:.2} mm"), split(&cured)),
        );
    }
}

/// A rib wider than the floor that it is milled into.
pub(super) fn rib(drawn: &Drawn<'_>, findings: &mut Vec<Finding>) {
    let part = &drawn.project.part;
    let Some(rib) = part.rib else { return };
    let floors = drawn.stations().map(|(id, point)| (id, point, drawn.shape(part, point).floor_mm(rib.half)));
    let Some((id, point, floor_mm)) = floors.min_by(|a, b| a.2.total_cmp(&b.2)) else { return };
    if rib.width_mm <= floor_mm + SLIGHT_MM {
        return;
    }
    let message = format!(
        "a rib {:.2} mm wide does not fit the {} half's floor in {}, {:.2} mm wide: its sides run into the \
         channel's walls",
        rib.width_mm,
        rib.half.word(),
        drawn.project.tag(id),
        floor_mm.max(0.0),
    );
    // As wide as a cutter comes, in tenths.
    let width_mm = ((floor_mm + SLACK_MM) * 10.0).floor() / 10.0;
    let finding = Finding::new("rib-width", Severity::Warning, [id], Some(point.at), message)
        .comparing_mm(rib.width_mm, floor_mm);
    findings.push(if width_mm >= 0.1 {
        let narrower = Part { rib: Some(Rib { width_mm, ..rib }), ..part.clone() };
        finding.cured_by(format!("Make it {width_mm:.1} mm wide"), split(&narrower))
    } else {
        let none = Part { rib: None, ..part.clone() };
        finding.cured_by("Leave it out, or make the edges sharper so that there is a floor", split(&none))
    });
}

/// The edit that gives the project the cross-section of `part`.
fn split(part: &Part) -> Option<Edit> {
    let Part { moving_share, draft_moving_deg, draft_fixed_deg, edge_moving_mm, edge_fixed_mm, rib, .. } =
        *part;
    let edit = Edit::SetSplit {
        moving_share,
        draft_moving_deg,
        draft_fixed_deg,
        edge_moving_mm,
        edge_fixed_mm,
        rib,
    };
    Some(edit)
}

#[cfg(test)]
mod tests {
    use keepside_model::{Material, Project};

    use super::*;
    use crate::finding::tests::layout;

    fn of(moving_share: f64, edge_moving_mm: f64, edge_fixed_mm: f64, rib: Option<Rib>) -> Project {
        let mut project = Project::blank();
        let gate = crate::finding::tests::gate(45.0, 60.0, Half::Fixed);
        project.sprues.insert(Id(2), gate);
        let part = &mut project.part;
        (part.moving_share, part.rib) = (moving_share, rib);
        (part.edge_moving_mm, part.edge_fixed_mm) = (edge_moving_mm, edge_fixed_mm);
        project
    }

    /// Checks that the layout breaks this one rule and no other, and that its cure leaves nothing to say.
    #[track_caller]
    fn check(project: &Project, rule: &str, severity: Severity) -> Finding {
        let findings = layout(project).findings;
        let told: Vec<_> = findings.iter().map(|finding| (finding.rule, finding.severity)).collect();
        assert_eq!(told, [(rule, severity)], "{findings:#?}");
        let mut cured = project.clone();
        cured.apply(findings[0].cure_edit.as_ref().expect("a cure")).expect("the cure can be applied");
        assert_eq!(layout(&cured).findings, [], "{:?}", findings[0].cure);
        assert!(findings[0].message.contains("R1") && !findings[0].message.ends_with('.'));
        findings[0].clone()
    }

    #[test]
    fn edges_that_fit_their_half_are_sound() {
        assert_eq!(layout(&of(0.5, 1.5, 1.0, None)).findings, []);
        let rib = Rib { half: Half::Moving, width_mm: 2.0, height_mm: 1.0 };
        assert_eq!(layout(&of(0.5, 0.5, 0.5, Some(rib))).findings, []);
    }

    #[test]
    fn an_undercut_edge_is_noted_with_the_half_that_traps_it() {
        // PP: 5.6 % once, 3.4 % again and again. 1.8 − √(1.8² − 0.3²) = 0.0252 mm a side, 0.8 % of 6 mm.
        let finding = check(&of(0.5, 0.0, 1.8, None), "edge-undercut", Severity::Note);
        assert!(finding.message.contains("moving half") && finding.message.contains("0.025"), "{finding:?}");
        assert!((finding.measured.unwrap_or(0.0) - 0.839).abs() < 1e-3, "{finding:?}");
        let Some(Edit::SetSplit { moving_share, edge_fixed_mm, .. }) = finding.cure_edit else {
            panic!("{finding:?}")
        };
        assert!((moving_share - 0.4).abs() < 1e-12 && edge_fixed_mm == 1.8, "the parting plane moves");
        let finding = check(&of(0.5, 1.8, 0.0, None), "edge-undercut", Severity::Note);
        assert!(finding.message.contains("widest in the fixed half"), "{finding:?}");
    }

    #[test]
    fn an_undercut_beyond_the_allowable_is_a_warning_then_a_fault() {
        // ABS: 1.75 % once, 1.05 % again and again. A radius of 2 in a half 1.5 deep: 0.0635 mm a side.
        let mut project = of(0.5, 0.0, 2.0, None);
        project.material = Material::generic().swap_remove(2);
        project.material.friction = 0.1;
        assert!(check(&project, "edge-undercut", Severity::Fault).message.contains("allowed once"));
        project.part.edge_fixed_mm = 1.88;
        assert!(check(&project, "edge-undercut", Severity::Warning).message.contains("again and again"));
    }

    #[test]
    fn an_edge_against_a_flat_half_is_sheared_off() {
        let finding = check(&of(1.0, 0.0, 1.0, None), "edge-undercut", Severity::Fault);
        assert!(finding.message.contains("sheared off"), "{finding:?}");
    }

    #[test]
    fn a_tapering_run_is_judged_where_it_is_worst() {
        let mut project = of(0.5, 0.0, 1.5, None);
        project.part.runs.values_mut().for_each(|run| run.points[1].depth_mm = 2.4);
        let finding = check(&project, "edge-undercut", Severity::Note);
        assert_eq!(finding.at.map(|at| at.x), Some(160.0));
    }

    #[test]
    fn radii_and_ribs_that_do_not_fit_are_told() {
        // Both radii 2 in a depth of 3: each is computed with 1.5, and either cure sets both right.
        let project = of(0.5, 2.0, 2.0, None);
        let findings = layout(&project).findings;
        assert_eq!(findings.len(), 2, "{findings:#?}");
        for finding in &findings {
            assert_eq!(
                (finding.rule, finding.measured, finding.needed),
                ("edge-radius", Some(2.0), Some(1.5))
            );
            let mut cured = project.clone();
            cured.apply(finding.cure_edit.as_ref().expect("a cure")).expect("it can be applied");
            assert_eq!(layout(&cured).findings, []);
        }
        // The fixed half's floor: 6 less twice 1.5 tan 1° for draft and an edge of 1: 1 tan 44.5° a side.
        let rib = |half, width_mm| Some(Rib { half, width_mm, height_mm: 1.0 });
        let floor_mm = 6.0 - 2.0 * (1.5 * 1.0_f64.to_radians().tan() + 44.5_f64.to_radians().tan());
        assert_eq!(layout(&of(0.5, 0.0, 1.0, rib(Half::Fixed, floor_mm - 1e-9))).findings, []);
        let finding = check(&of(0.5, 0.0, 1.0, rib(Half::Fixed, 5.0)), "rib-width", Severity::Warning);
        assert!((finding.needed.unwrap_or(0.0) - floor_mm).abs() < 1e-9, "{finding:?}");
        assert!(finding.cure.contains("3.9 mm"), "{finding:?}");
        // No floor at all under a full round.
        let mut round = of(0.5, 1.5, 1.5, rib(Half::Moving, 1.0));
        round.part.runs.values_mut().flat_map(|run| &mut run.points).for_each(|point| point.width_mm = 3.0);
        (round.part.draft_moving_deg, round.part.draft_fixed_deg) = (0.0, 0.0);
        check(&round, "rib-width", Severity::Warning);
    }
}
