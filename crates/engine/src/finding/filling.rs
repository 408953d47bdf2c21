//! What the filling tells: what stays empty, weak lines, melt that is sheared too fast, a press at its limit.

use keepside_model::{Edit, Id, Item, Project, Sprue, bounds};

use super::{Finding, Severity};
use crate::cooling::Cooling;
use crate::filling::{self, Filling, GateFill, Short, ShortWhy, Weld, WeldKind};

/// Gates are drilled in steps of this, mm.
const DRILL_STEP_MM: f64 = 0.1;

/// Findings of the filling; how long the part cools tells how long a shot takes.
pub(crate) fn of_filling(project: &Project, filling: &Filling, cooling: Option<&Cooling>) -> Vec<Finding> {
    let mut findings = Vec::new();
    shorts(project, filling, &mut findings);
    welds(project, filling, &mut findings);
    gate_shear(project, filling, &mut findings);
    channel_shear(project, filling, &mut findings);
    pressure(project, filling, &mut findings);
    findings.extend(cooling.and_then(|cooling| residence(project, filling, cooling)));
    findings
}

/// What stays empty, one finding for each reason.
fn shorts(project: &Project, filling: &Filling, findings: &mut Vec<Finding>) {
    let reasons =
        [ShortWhy::NoGate, ShortWhy::Blocked, ShortWhy::Froze, ShortWhy::NoPressure, ShortWhy::ShotUsedUp];
    for why in reasons {
        let short: Vec<&Short> = filling.short.iter().filter(|short| short.why == why).collect();
        let Some(largest) = short.iter().max_by(|a, b| a.volume_mm3.total_cmp(&b.volume_mm3)) else {
            continue;
        };
        let mut runs: Vec<Id> = short.iter().map(|short| short.run).collect();
        runs.sort_unstable();
        runs.dedup();
        // The one with the largest gap is selected first.
        runs.sort_by_key(|run| *run != largest.run);
        let empty_mm3: f64 = short.iter().map(|short| short.volume_mm3).sum();
        let share = 100.0 * empty_mm3 / filling.part_volume_mm3;
        let what = format!(
            "{share:.1} % of the part stays empty, most of it on {} from {:.1} mm to {:.1} mm along it",
            project.tag(largest.run),
            largest.from_mm,
            largest.to_mm
        );
        let (because, cure) = match why {
            ShortWhy::NoGate => (
                "it is joined to no gate".to_owned(),
                "Join it to the rest of the part, or put a gate on it".to_owned(),
            ),
            ShortWhy::Blocked => (
                "a keying feature closes the channel".to_owned(),
                "Use a smaller feature there, or one that stands out less".to_owned(),
            ),
            ShortWhy::Froze => (
                format!("the melt freezes on its way, {:.1} s after the start", filling.fill_time_s),
                "Inject faster, or put a gate nearer to it".to_owned(),
            ),
            ShortWhy::NoPressure => (
                format!(
                    "{:.0} MPa, all that the press gives, do not move the melt",
                    project.press.pressure_limit_mpa
                ),
                "Make channel and gates wider, or put a gate nearer to it".to_owned(),
            ),
            // A rule of the press says how much melt is missing.
            ShortWhy::ShotUsedUp => continue,
        };
        let finding =
            Finding::new("short-shot", Severity::Fault, runs, Some(largest.at), format!("{what}: {because}"));
        findings.push(Finding { measured: Some(share), unit: "%", ..finding }.cured_by(cure, None));
    }
}

/// Lines where two fronts meet beside a keying feature or at a thin place. The line behind every feature is
/// no news.
fn welds(project: &Project, filling: &Filling, findings: &mut Vec<Finding>) {
    for weld in &filling.welds {
        if matches!(weld.kind, WeldKind::Behind(_)) {
            continue;
        }
        let colder_c = weld.temperatures_c[0].min(weld.temperatures_c[1]);
        let how = match weld.kind {
            WeldKind::Joining => "two streams come together",
            WeldKind::HeadOn | WeldKind::Behind(_) => "two fronts meet",
        };
        let (items, message) = if let Some(feature) = weld.near_feature {
            let message = format!(
                "{how} beside {}, at {colder_c:.0} °C: the part is weaker along that line, and it is pulled there",
                project.tag(feature)
            );
            (vec![feature, weld.run], message)
        } else if weld.is_thin {
            let message = format!(
                "{how} where {} is only {:.2} mm thick, at {colder_c:.0} °C: the part is weaker along that line",
                project.tag(weld.run),
                weld.thickness_mm
            );
            (vec![weld.run], message)
        } else {
            continue;
        };
        let finding = Finding::new("weld-line", Severity::Warning, items, Some(weld.at), message);
        findings.push(finding.cured_by(cure_of_weld(project, filling, weld), None));
    }
}

/// A gate that is moved takes the line along by half of its way.
fn cure_of_weld(project: &Project, filling: &Filling, weld: &Weld) -> String {
    let away = |gate: &&GateFill| {
        project.sprues.get(&gate.gate).map_or(f64::INFINITY, |sprue| sprue.at.distance(weld.at))
    };
    let nearest = filling.gates.iter().min_by(|a, b| away(a).total_cmp(&away(b)));
    let gate = nearest.map_or_else(|| "the gate".to_owned(), |gate| project.tag(gate.gate));
    format!("Move {gate}: the line goes along with it, half as far where two gates feed one channel")
}

/// Gates through which the melt is sheared faster than does it good.
fn gate_shear(project: &Project, filling: &Filling, findings: &mut Vec<Finding>) {
    let limit_per_s = project.material.melt.shear_rate_limit_per_s;
    for gate in filling.gates.iter().filter(|gate| gate.shear_rate_per_s > limit_per_s) {
        let Some(sprue) = project.sprues.get(&gate.gate) else { continue };
        let message = format!(
            "the melt is sheared at up to {:.0} per second in {}; {} bears {limit_per_s:.0}: it may burn or streak",
            gate.shear_rate_per_s,
            project.tag(gate.gate),
            project.material.name
        );
        let finding = Finding::new("gate-shear", Severity::Warning, [gate.gate], Some(sprue.at), message);
        let finding = Finding {
            measured: Some(gate.shear_rate_per_s),
            needed: Some(limit_per_s),
            unit: "1/s",
            ..finding
        };
        findings.push(match wider(project, gate, sprue, limit_per_s) {
            Some((diameter_mm, edit)) => {
                finding.cured_by(format!("Make the gate {diameter_mm:.1} mm wide"), Some(edit))
            }
            None => finding.cured_by("Make the gate wider, or inject more slowly", None),
        });
    }
}

/// A wider gate that is tried out: the wider it is, the more goes through it where there are several.
fn wider(project: &Project, gate: &GateFill, sprue: &Sprue, limit_per_s: f64) -> Option<(f64, Edit)> {
    let lost_mm = 2.0 * sprue.length_mm * sprue.draft_deg.to_radians().tan();
    let narrow_mm = sprue.diameter_mm - lost_mm;
    // The shear rate goes with the cube of the narrowest diameter; a little more for what it draws to itself.
    let factor = (gate.shear_rate_per_s / limit_per_s).cbrt();
    for spare in [1.02, 1.2] {
        let wanted_mm = lost_mm + narrow_mm.max(0.3 * sprue.diameter_mm) * factor * spare;
        let diameter_mm = (wanted_mm / DRILL_STEP_MM).ceil() * DRILL_STEP_MM;
        if !bounds::SPRUE_DIAMETER.contains(diameter_mm) {
            return None;
        }
        let edit = Edit::Set(gate.gate, Item::Sprue(Sprue { diameter_mm, ..sprue.clone() }));
        let mut changed = project.clone();
        let is_cured = changed.apply(&edit).is_ok()
            && filling::fill(&changed).is_ok_and(|filling| {
                let same = filling.gates.iter().find(|other| other.gate == gate.gate);
                same.is_some_and(|same| same.shear_rate_per_s <= limit_per_s)
            });
        if is_cured {
            return Some((diameter_mm, edit));
        }
    }
    None
}

/// The place of the channel where the melt is sheared most, if that is too fast.
fn channel_shear(project: &Project, filling: &Filling, findings: &mut Vec<Finding>) {
    let limit_per_s = project.material.melt.shear_rate_limit_per_s;
    let stations = filling.runs.iter().flat_map(|fill| fill.stations.iter().map(move |s| (fill.run, s)));
    let worst = stations.max_by(|a, b| a.1.shear_rate_per_s.total_cmp(&b.1.shear_rate_per_s));
    let Some((run, station)) = worst.filter(|(_, station)| station.shear_rate_per_s > limit_per_s) else {
        return;
    };
    let message = format!(
        "the melt is sheared at up to {:.0} per second in the channel of {}; {} bears {limit_per_s:.0}: it may burn \
         or streak",
        station.shear_rate_per_s,
        project.tag(run),
        project.material.name
    );
    let finding = Finding::new("channel-shear", Severity::Warning, [run], Some(station.at), message);
    findings.push(
        Finding {
            measured: Some(station.shear_rate_per_s),
            needed: Some(limit_per_s),
            unit: "1/s",
            ..finding
        }
        .cured_by("Inject more slowly, or make the channel wider there", None),
    );
}

/// A press that reaches its pressure limit before the part is full.
fn pressure(project: &Project, filling: &Filling, findings: &mut Vec<Finding>) {
    let Some(from_s) = filling.pressure_limited_from_s else { return };
    let limit_mpa = project.press.pressure_limit_mpa;
    let message = format!(
        "the press is at its limit of {limit_mpa:.0} MPa from {from_s:.2} s on: the melt goes on more slowly, until \
         {:.2} s",
        filling.fill_time_s
    );
    let gates: Vec<Id> = filling.gates.iter().map(|gate| gate.gate).collect();
    findings.push(
        Finding::new("pressure-limit", Severity::Note, gates, None, message)
            .cured_by("Make gates or channel wider, or the melt hotter", None),
    );
}

/// Melt that stays hot for longer than it bears. The barrel is taken to hold one largest shot, which every
/// shot pushes on by its own volume; the time to open and close the press is not counted. Assumed.
fn residence(project: &Project, filling: &Filling, cooling: &Cooling) -> Option<Finding> {
    let shot_mm3 = filling.record.last()?.injected_mm3;
    let shots = project.press.shot_volume_mm3 / shot_mm3;
    let hot_s = shots * (filling.fill_time_s + cooling.opens_s);
    let limit_s = project.material.melt.residence_limit_s;
    if !hot_s.is_finite() || hot_s <= limit_s {
        return None;
    }
    let message = format!(
        "the barrel holds {shots:.0} such shots, so that the melt stays hot for {:.0} min; {} bears {:.0} min: it may \
         burn or give off fumes",
        hot_s / 60.0,
        project.material.name,
        limit_s / 60.0
    );
    let finding = Finding::new("melt-residence", Severity::Warning, [], None, message);
    let finding = Finding { measured: Some(hot_s), needed: Some(limit_s), unit: "s", ..finding };
    Some(
        finding.cured_by("Keep less melt hot, or use a smaller press; empty the barrel before a break", None),
    )
}

#[cfg(test)]
mod tests {
    use glam::DVec2;
    use keepside_model::{FeatureKind, Vent};
    use keepside_model::{Finish, Half, KeyingFeature, ThreadSize};

    use super::*;

    fn gate(x: f64) -> Sprue {
        Sprue {
            name: String::new(),
            at: DVec2::new(x, 60.0),
            half: Half::Fixed,
            diameter_mm: 3.0,
            length_mm: 18.0,
            draft_deg: 1.0,
            finish: Finish::Polished,
            measured: None,
        }
    }

    /// A strip from x = 40 to 160 mm with gates.
    fn strip(gates_x: &[f64]) -> Project {
        let mut project = Project::blank();
        for (id, &x) in (10..).zip(gates_x) {
            project.sprues.insert(Id(id), gate(x));
        }
        project
    }

    #[track_caller]
    fn found(project: &Project, rule: &str) -> Option<Finding> {
        let filling = filling::fill(project).expect("it can be computed");
        let cooling = crate::cooling::of(project).ok();
        of_filling(project, &filling, cooling.as_ref()).into_iter().find(|finding| finding.rule == rule)
    }

    #[test]
    fn a_sound_strip_has_nothing_to_tell() {
        let project = strip(&[100.0]);
        let filling = filling::fill(&project).expect("it can be computed");
        assert_eq!(of_filling(&project, &filling, crate::cooling::of(&project).ok().as_ref()), []);
    }

    #[test]
    fn what_freezes_on_its_way_is_a_fault() {
        let mut project = strip(&[45.0]);
        project.moulding.injection_rate_mm3_s = 50.0;
        let finding = found(&project, "short-shot").expect("it is told");
        assert_eq!((finding.severity, &finding.items[..]), (Severity::Fault, &[Id(1)][..]));
        assert!(finding.message.contains("freezes"), "{}", finding.message);
        assert!(finding.measured.is_some_and(|share| share > 1.0 && share < 100.0));
    }

    #[test]
    fn fronts_that_meet_beside_a_feature_are_told_and_others_are_not() {
        let mut project = strip(&[70.0, 130.0]);
        assert_eq!(found(&project, "weld-line"), None);
        let screw = |x| {
            let kind = FeatureKind::set_screw(ThreadSize::M4);
            KeyingFeature::new(DVec2::new(x, 60.0), Half::Moving, kind, 2.0)
        };
        // Two alike, so that the fronts still meet in the middle, then one there.
        project.features.insert(Id(20), screw(85.0));
        project.features.insert(Id(21), screw(115.0));
        assert_eq!(found(&project, "weld-line"), None);
        project.features.insert(Id(22), screw(103.0));
        let finding = found(&project, "weld-line").expect("it is told");
        assert_eq!(finding.items[0], Id(22));
    }

    #[test]
    fn a_thin_place_where_fronts_meet_is_told() {
        let mut project = strip(&[70.0, 130.0]);
        let run = project.part.runs.get_mut(&Id(1)).expect("the run");
        let mut middle = run.points[0];
        (middle.at.x, middle.depth_mm) = (100.0, 1.5);
        run.points.insert(1, middle);
        let finding = found(&project, "weld-line").expect("it is told");
        assert!(finding.message.contains("only 1.50 mm"), "{}", finding.message);
    }

    #[test]
    fn a_gate_that_shears_too_fast_is_cured_by_a_wider_one() {
        let mut project = strip(&[100.0]);
        if let Some(sprue) = project.sprues.get_mut(&Id(10)) {
            (sprue.diameter_mm, sprue.draft_deg) = (0.9, 0.0);
        }
        project.moulding.injection_rate_mm3_s = 8000.0;
        project.press.pressure_limit_mpa = 300.0;
        let finding = found(&project, "gate-shear").expect("it is told");
        project.apply(&finding.cure_edit.expect("it can be cured")).expect("the cure fits");
        assert_eq!(found(&project, "gate-shear"), None);
    }

    #[test]
    fn a_press_at_its_limit_and_one_without_more_melt_are_told() {
        let mut project = strip(&[45.0]);
        project.press.pressure_limit_mpa = 5.0;
        assert!(found(&project, "pressure-limit").is_some_and(|finding| finding.severity == Severity::Note));
        project.press.shot_volume_mm3 = 1000.0;
        assert_eq!(found(&project, "short-shot"), None, "the rules of the shot say how much is missing");
    }

    #[test]
    fn melt_that_waits_too_long_in_a_large_barrel_is_told() {
        let mut project = strip(&[100.0]);
        assert_eq!(found(&project, "melt-residence"), None);
        project.press.shot_volume_mm3 = 1e7;
        let finding = found(&project, "melt-residence").expect("it is told");
        assert!(finding.measured > finding.needed && finding.unit == "s", "{finding:?}");
    }

    #[test]
    fn vents_change_nothing_of_it() {
        let mut project = strip(&[100.0]);
        let vent = Vent {
            name: String::new(),
            at: DVec2::new(163.0, 60.0),
            half: Half::Fixed,
            width_mm: 4.0,
            depth_mm: 0.02,
            length_mm: 30.0,
            relief: None,
        };
        let before = filling::fill(&project).expect("it can be computed");
        project.vents.insert(Id(30), vent);
        let after = filling::fill(&project).expect("it can be computed");
        assert_eq!(before.runs, after.runs);
        assert!(before.trapped.iter().all(|end| end.way_out.is_none()));
        assert!(after.trapped.iter().any(|end| end.way_out == Some(Id(30))));
    }
}
