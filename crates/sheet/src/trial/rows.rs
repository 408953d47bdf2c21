//! The rows of the card: who is asked, what is expected, what is to be ticked.

use keepside_engine::Analysis;
use keepside_engine::opening::{HoldOutcome, Opening, What};
use keepside_model::{Half, HoleUse, Id, Project};

use super::tick::Tick;
use crate::document::{decimals, mm};
use crate::words;

/// Rows under one heading.
pub(super) struct Section {
    /// The heading.
    pub(super) title: &'static str,
    /// The heading of what is expected.
    pub(super) expected: &'static str,
    /// Its rows.
    pub(super) rows: Vec<Row>,
}

/// A row.
pub(super) struct Row {
    /// The item, or what is asked.
    pub(super) name: String,
    /// What is expected.
    pub(super) expected: String,
    /// What is to be filled in for every shot.
    pub(super) ticks: Vec<Tick>,
}

impl Row {
    fn new(name: impl Into<String>, expected: impl Into<String>, ticks: &[Tick]) -> Self {
        Self { name: name.into(), expected: expected.into(), ticks: ticks.to_vec() }
    }
}

/// Bolts or guide pins in a row at most.
const HOLES: usize = 6;

/// Stands where nothing is predicted.
const NOT_COMPUTED: &str = "not computed";

/// Every section that has rows.
pub(super) fn sections(project: &Project, analysis: Option<&Analysis>) -> Vec<Section> {
    let known = Known { project, analysis, opening: words::opening(analysis).ok() };
    let predicted = "Predicted";
    let all = [
        ("Shot and settings", "In the project", known.settings()),
        ("The part as a whole", predicted, known.whole()),
        ("Gates", predicted, known.sprues()),
        ("Keying pins", predicted, known.features()),
        ("Stretches, mm along the run", predicted, known.stretches()),
        ("Vents", predicted, known.vents()),
        ("Ejector pins", predicted, known.ejectors()),
        ("Mould", "As drawn", known.holes()),
    ];
    let filled = all.into_iter().filter(|(.., rows)| !rows.is_empty());
    filled.map(|(title, expected, rows)| Section { title, expected, rows }).collect()
}

struct Known<'a> {
    project: &'a Project,
    analysis: Option<&'a Analysis>,
    opening: Option<&'a Opening>,
}

impl Known<'_> {
    fn settings(&self) -> Vec<Row> {
        use Tick::{Box, Write};
        let project = self.project;
        let shot = &project.moulding;
        let name = project.material.name.trim();
        let agent = |half| format!("assumed: {}", words::release_agent(project, half));
        let agent_ticks = [Box("none"), Box("sprayed"), Write("shots ago", "")];
        vec![
            Row::new("Date, shot number", "", &[Write("", ""), Write("no.", "")]),
            Row::new("Material, lot, dried", name, &[Write("", "")]),
            Row::new(
                "Melt temperature",
                format!("{} °C", decimals(shot.melt_temperature_c(&project.material), 0)),
                &[Write("", "°C")],
            ),
            Row::new(
                "Mould temperature, moving and fixed half",
                format!("{} °C", decimals(shot.mould_temperature_c(&project.material), 0)),
                &[Write("m", "°C"), Write("f", "°C")],
            ),
            Row::new(
                "Pressure or force, holding time",
                format!(
                    "{} MPa, {} s",
                    decimals(shot.packing_pressure_mpa, 1),
                    decimals(shot.packing_time_s, 1)
                ),
                &[Write("", ""), Write("", "s")],
            ),
            Row::new("Cooling time, opening speed", self.cooling(), &[Write("", "s"), Write("", "mm/s")]),
            Row::new(
                "Opening stroke",
                format!("{} mm, {}", mm(project.press.stroke_mm), project.press.name),
                &[Write("", "mm")],
            ),
            Row::new("Release agent, moving half", agent(Half::Moving), &agent_ticks),
            Row::new("Release agent, fixed half", agent(Half::Fixed), &agent_ticks),
        ]
    }

    /// How long the mould stays closed after packing.
    fn cooling(&self) -> String {
        let moulding = &self.project.moulding;
        let computed = || {
            let cooling = self.analysis?.layout.cooling.as_ref().ok()?;
            Some(format!("{} s, as computed", decimals(cooling.opens_s - moulding.packing_time_s, 1)))
        };
        match moulding.cooling_time_s {
            Some(cooling_s) => format!("{} s", decimals(cooling_s, 1)),
            None => computed().unwrap_or_else(|| NOT_COMPUTED.to_owned()),
        }
    }

    /// What becomes of the air at a vent.
    fn air(&self, vent: Id) -> String {
        let Some(venting) = self.analysis.and_then(|analysis| analysis.layout.venting.as_ref()) else {
            return NOT_COMPUTED.to_owned();
        };
        let place = venting.places.iter().find(|place| place.ways.contains(&vent));
        match place.map(|place| place.pressure_mpa) {
            Some(Some(mpa)) => format!("air leaves at {} MPa", decimals(mpa, 2)),
            Some(None) => "air does not get out in time".to_owned(),
            None => "no front ends here".to_owned(),
        }
    }

    fn whole(&self) -> Vec<Row> {
        use Tick::{Box, Word, Write};
        let project = self.project;
        let mut verdict = match words::opening(self.analysis) {
            Ok(opening) => format!("{}.", opening.verdict.words),
            Err(why) => why,
        };
        if let (Some(opening), Some(analysis)) = (self.opening, self.analysis) {
            if let Some(margin) = &analysis.margin {
                verdict += &format!(" Margin {}.", words::margin(margin, opening.verdict.outcome));
            }
            if let Some(hold) = analysis.deciding() {
                verdict += &format!(" Decided by {}.", hold.words(project));
            }
        }
        let kept = [
            Word("part on"),
            Box("moving"),
            Box("fixed"),
            Box("between"),
            Box("torn"),
            Box("fell"),
            Box("short shot"),
        ];
        let mut rows = vec![Row::new("Mould open", verdict, &kept)];
        let flat = self.opening.map_or_else(
            || NOT_COMPUTED.to_owned(),
            |opening| {
                format!("out of flat by {} mm as it leaves the fixed half", decimals(opening.flatness_mm, 2))
            },
        );
        rows.push(Row::new("Flatness over all", flat, &[Write("", "mm")]));
        let stripping = self.analysis.and_then(|analysis| analysis.stripping.as_deref());
        let failed = self.analysis.and_then(|analysis| analysis.stripping_failed.as_ref());
        let off = match (stripping, failed) {
            (Some(of), _) => format!(
                "{}. At most {} N on all ejectors. Out of flat by {} mm after it.",
                of.words,
                decimals(of.peak_n, 1),
                decimals(of.flatness_mm, 2)
            ),
            (None, Some(reason)) => format!("not computed: {reason}"),
            (None, None) if self.opening.is_some() => {
                "not computed: the part is not left whole on it".to_owned()
            }
            (None, None) => NOT_COMPUTED.to_owned(),
        };
        let off_ticks = [Box("by itself"), Box("by hand"), Box("harmed"), Box("stuck")];
        rows.push(Row::new("Pushed off the moving half", off, &off_ticks));
        rows
    }

    fn hold(&self, id: Id) -> Option<&HoldOutcome> {
        words::hold_of(self.opening?, id)
    }

    /// What is expected of an item that holds: its release, what stays behind, the bump there.
    fn expected(&self, id: Id) -> String {
        let Some(opening) = self.opening else { return NOT_COMPUTED.to_owned() };
        let Some(hold) = self.hold(id) else { return "holds nothing: it is not on the part".to_owned() };
        let mut words = vec![words::state(hold)];
        words.extend(words::left_behind(hold).map(str::to_owned));
        words.extend(hold.clear_gap_mm.map(|mm| format!("{} mm clear under the part", decimals(mm, 2))));
        words.extend(opening.bumps.iter().filter(|bump| bump.item == id).map(words::bump));
        words.join("; ")
    }

    fn sprues(&self) -> Vec<Row> {
        use Tick::{Box, NewLine, Word, Write};
        let ticks = [
            Box("slid out"),
            Box("broke"),
            NewLine,
            Word("plug in"),
            Box("part"),
            Box("bore"),
            NewLine,
            Write("bump", "mm"),
        ];
        let row = |id: &Id| Row::new(self.project.title(*id), self.expected(*id), &ticks);
        self.project.sprues.keys().map(row).collect()
    }

    fn features(&self) -> Vec<Row> {
        use Tick::{Box, NewLine, Write};
        let ticks = [Box("kept"), Box("let go"), Box("torn plug"), NewLine, Write("bump", "mm")];
        let row = |(id, feature): (&Id, &keepside_model::KeyingFeature)| {
            let mut expected = self.expected(*id);
            let stripping = self.analysis.and_then(|analysis| analysis.stripping.as_deref());
            let pushed = stripping.and_then(|of| of.features.iter().find(|at| at.item == *id));
            if let Some(at) = pushed {
                expected += &format!("; {}", words::pushed_off(at));
            }
            let name = format!("{}, {} half", self.project.title(*id), feature.half.word());
            Row::new(name, expected, &ticks)
        };
        self.project.features.iter().map(row).collect()
    }

    fn stretches(&self) -> Vec<Row> {
        use Tick::Box;
        let ticks = [Box("moving"), Box("fixed"), Box("between"), Box("free")];
        let project = self.project;
        let of_run = |run: &Id| -> Vec<Row> {
            let stretches = self.opening.map_or(&[][..], |opening| &opening.stretches);
            let mut rows: Vec<Row> = stretches
                .iter()
                .filter(|stretch| stretch.run == *run)
                .map(|stretch| {
                    let (from, to) = (decimals(stretch.from_mm, 1), decimals(stretch.to_mm, 1));
                    let name = format!("{} from {from} to {to}", project.title(*run));
                    Row::new(name, words::keeper(stretch.keeper), &ticks)
                })
                .collect();
            if rows.is_empty() {
                rows.push(Row::new(project.title(*run), NOT_COMPUTED, &ticks));
            }
            rows
        };
        project.part.runs.keys().flat_map(of_run).collect()
    }

    fn vents(&self) -> Vec<Row> {
        use Tick::Box;
        let ticks = [Box("clean"), Box("burn"), Box("flash"), Box("blocked")];
        let row = |(id, vent): (&Id, &keepside_model::Vent)| {
            let expected = format!("{}; {} deep as drawn", self.air(*id), mm(vent.depth_mm));
            Row::new(self.project.title(*id), expected, &ticks)
        };
        self.project.vents.iter().map(row).collect()
    }

    fn ejectors(&self) -> Vec<Row> {
        use Tick::Box;
        let row = |(id, ejector): (&Id, &keepside_model::Ejector)| {
            let mut expected = Vec::new();
            if let Some(hold) = self.hold(*id).filter(|hold| matches!(hold.name.what, What::Ejector(_))) {
                expected.push(words::state(hold));
                expected.extend(words::left_behind(hold).map(str::to_owned));
            }
            let stripping = self.analysis.and_then(|analysis| analysis.stripping.as_deref());
            match stripping.map(|of| of.ejectors.iter().find(|load| load.item == *id)) {
                Some(Some(load)) => expected.push(words::pushes(load)),
                Some(None) => expected.push("does not touch the part".to_owned()),
                None => expected.push(NOT_COMPUTED.to_owned()),
            }
            let name = format!("{}, {}", self.project.title(*id), ejector.face.word());
            Row::new(name, expected.join("; "), &[Box("clean"), Box("marked"), Box("hung on"), Box("stuck")])
        };
        self.project.ejectors.iter().map(row).collect()
    }

    /// Bolts and guide pins, several of a size in a row.
    fn holes(&self) -> Vec<Row> {
        use Tick::Box;
        let of = |purpose: HoleUse, name: &str, ticks: &[Tick]| {
            let mut alike: Vec<(f64, Vec<String>)> = Vec::new();
            for (id, hole) in self.project.holes.iter().filter(|(_, hole)| hole.purpose == purpose) {
                let tag = self.project.tag(*id);
                let row = alike.iter_mut().find(|(mm, tags)| *mm == hole.diameter_mm && tags.len() < HOLES);
                match row {
                    Some((_, tags)) => tags.push(tag),
                    None => alike.push((hole.diameter_mm, vec![tag])),
                }
            }
            let row = |(diameter_mm, tags): (f64, Vec<String>)| {
                Row::new(tags.join(", "), format!("{name} Ø{}", mm(diameter_mm)), ticks)
            };
            alike.into_iter().map(row).collect::<Vec<Row>>()
        };
        let mut rows = of(HoleUse::Bolt, "bolt", &[Box("tight"), Box("loose")]);
        rows.extend(of(HoleUse::GuidePin, "guide pin", &[Box("slides"), Box("binds")]));
        rows
    }
}
