//! What is told of the filling, in the user's words.

use keepside_engine::Filling;
use keepside_engine::filling::{GateFill, Short, ShortWhy, Trapped, Weld, WeldKind};
use keepside_model::{Id, Project};

use crate::units::Unit;

/// A time to three figures, s: shots take from tenths of a second to minutes.
pub(crate) fn seconds_number(time_s: f64) -> String {
    match time_s {
        _ if time_s < 9.995 => format!("{time_s:.2}"),
        _ if time_s < 99.95 => format!("{time_s:.1}"),
        _ => format!("{time_s:.0}"),
    }
}

/// A time with its unit.
pub(crate) fn seconds(time_s: f64) -> String {
    format!("{} s", seconds_number(time_s))
}

/// A volume with its unit: cubic millimetres, or cubic centimetres from ten of them.
pub(crate) fn volume(mm3: f64) -> String {
    if mm3 < 9_999.5 { format!("{mm3:.0} mm³") } else { format!("{:.1} cm³", mm3 / 1000.0) }
}

/// A place along a run.
pub(crate) fn place(project: &Project, run: Id, along_mm: f64, unit: Unit) -> String {
    format!("{} along {}", unit.length(along_mm), project.tag(run))
}

/// Whether and when the mould fills, in one line.
pub(crate) fn in_short(filling: &Filling) -> String {
    let peak_mpa = filling.peak_pressure_mpa;
    if filling.is_full {
        format!("Fills in {}, at most {peak_mpa:.1} MPa", seconds(filling.fill_time_s))
    } else {
        let empty_mm3: f64 = filling.short.iter().map(|short| short.volume_mm3).sum();
        format!("Does not fill: {} stay empty, at most {peak_mpa:.1} MPa", volume(empty_mm3))
    }
}

/// The keying feature that loads a weld line, other than the one that it is behind.
pub(crate) fn loaded_by(weld: &Weld) -> Option<Id> {
    weld.near_feature.filter(|id| weld.kind != WeldKind::Behind(*id))
}

/// How fronts meet.
pub(crate) fn weld(project: &Project, weld: &Weld) -> String {
    let how = match weld.kind {
        WeldKind::HeadOn => "fronts meet head on".to_owned(),
        WeldKind::Joining => format!("streams join at {:.0}°", weld.angle_deg),
        WeldKind::Behind(id) => format!("the stream closes again behind {}", project.tag(id)),
    };
    let [one, other] = weld.temperatures_c;
    let mut words = format!("{how} after {}, at {one:.0} °C and {other:.0} °C", seconds(weld.time_s));
    if let Some(id) = loaded_by(weld) {
        words += &format!("; {} is within reach of the line and loads it", project.tag(id));
    }
    if weld.is_thin {
        words += "; the channel is thin there";
    }
    words
}

/// What becomes of the air where a front ends.
pub(crate) fn trapped(project: &Project, place: &Trapped) -> String {
    let when = seconds(place.time_s);
    let how = if place.is_weld { "fronts meet" } else { "fills" };
    match place.way_out {
        Some(id) => format!("{how} after {when}; the air gets out by {}", project.tag(id)),
        None => {
            format!("{how} after {when}; {} of air have no way out", volume(place.air_mm3))
        }
    }
}

/// What stays empty, and why.
pub(crate) fn short(project: &Project, short: &Short, unit: Unit) -> String {
    let why = match short.why {
        ShortWhy::NoGate => "it is joined to no gate",
        ShortWhy::Froze => "the melt freezes on its way",
        ShortWhy::Blocked => "a keying feature closes the way",
        ShortWhy::ShotUsedUp => "the press has no more melt to give",
        ShortWhy::NoPressure => "the pressure of the press does not move the melt any more",
    };
    let (from, to) = (unit.number(short.from_mm), unit.length(short.to_mm));
    let (run, volume) = (project.tag(short.run), volume(short.volume_mm3));
    format!("{run} stays empty from {from} to {to}, {volume}: {why}")
}

/// What goes through a gate.
pub(crate) fn gate(gate: &GateFill) -> String {
    let Some(opens_s) = gate.opens_s else { return "no melt comes out of it".to_owned() };
    let mut words = format!(
        "opens after {}, gives {:.0} % of the part, {:.1} MPa at the channel, {:.0} 1/s at the wall",
        seconds(opens_s),
        100.0 * gate.share,
        gate.peak_pressure_mpa,
        gate.shear_rate_per_s
    );
    if let Some(frozen_s) = gate.frozen_s {
        words += &format!("; freezes after {}", seconds(frozen_s));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;

    #[test]
    fn times_and_volumes_have_as_many_figures_as_they_are_worth() {
        let told = [0.0, 0.843, 9.99, 9.996, 45.26, 99.96, 611.4].map(seconds);
        assert_eq!(told, ["0.00 s", "0.84 s", "9.99 s", "10.0 s", "45.3 s", "100 s", "611 s"]);
        assert_eq!([12.4, 9_999.0, 9_999.6].map(volume), ["12 mm³", "9999 mm³", "10.0 cm³"]);
    }

    #[test]
    fn a_weld_behind_a_pin_names_it_once() {
        let project = Project::blank();
        let behind = Weld {
            at: DVec2::ZERO,
            run: Id(1),
            along_mm: 10.0,
            time_s: 0.5,
            kind: WeldKind::Behind(Id(9)),
            angle_deg: 60.0,
            temperatures_c: [220.0, 218.4],
            near_feature: Some(Id(9)),
            thickness_mm: 3.0,
            is_thin: false,
        };
        let words = "the stream closes again behind ?9 after 0.50 s, at 220 °C and 218 °C";
        assert_eq!(weld(&project, &behind), words);
        let joining = Weld { kind: WeldKind::Joining, is_thin: true, ..behind };
        let words = weld(&project, &joining);
        assert!(words.starts_with("streams join at 60°") && words.ends_with("; the channel is thin there"));
        assert!(words.contains("?9 is within reach of the line"), "{words}");
    }
}
