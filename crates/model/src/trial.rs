//! The log of trial shots: what was done, and what was seen.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize};

use crate::bounds::{self, OutOfRange, check_all};
use crate::edit::Edit;
use crate::items::items;
use crate::note::Variant;
use crate::project::{Id, Project};

/// What was seen of a shot as a whole, in the words of the trial card.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Ended {
    /// It stayed whole on the moving half.
    Moving,
    /// It stayed whole on the fixed half.
    Fixed,
    /// It hung between both halves.
    Between,
    /// It was torn.
    Torn,
    /// It fell out.
    Fell,
    /// The channel was not filled: nothing is learned about the holds.
    ShortShot,
}

impl Ended {
    /// All of them, in the order of the trial card.
    pub const ALL: [Self; 6] =
        [Self::Moving, Self::Fixed, Self::Between, Self::Torn, Self::Fell, Self::ShortShot];

    /// The word on the trial card.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Moving => "moving",
            Self::Fixed => "fixed",
            Self::Between => "between",
            Self::Torn => "torn",
            Self::Fell => "fell",
            Self::ShortShot => "short shot",
        }
    }
}

/// Which half kept a stretch of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum KeptBy {
    /// The moving half.
    Moving,
    /// The fixed half.
    Fixed,
    /// It hung between both.
    Between,
    /// Neither: it fell.
    Neither,
}

/// What was seen of a stretch of a run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptStretch {
    /// The run.
    pub run: Id,
    /// From here along the run's centre line, mm.
    #[serde(deserialize_with = "bounds::along")]
    pub from_mm: f64,
    /// To here, mm.
    #[serde(deserialize_with = "bounds::along")]
    pub to_mm: f64,
    /// Who kept it.
    pub by: KeptBy,
}

/// One shot, or a batch of shots that all ended alike. What is left empty was not looked at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Trial {
    /// Date, shot number or whatever names it, as typed.
    pub name: String,
    /// How many shots ended like this, 1 to 100,000.
    #[serde(deserialize_with = "shots")]
    pub shots: u32,
    /// Melt and mould temperature, pressure, cooling time, as typed.
    pub settings: String,
    /// Whether the moving half was sprayed with release agent.
    pub sprayed_moving: bool,
    /// Whether the fixed half was.
    pub sprayed_fixed: bool,
    /// Name of the kept layout that was shot; `None` for the layout that is open.
    pub layout: Option<String>,
    /// What was seen of the part as a whole.
    pub ended: Option<Ended>,
    /// What was seen of single stretches.
    pub kept: Vec<KeptStretch>,
    /// Sprues whose plug broke, and features in which plastic stayed behind. `None` if nobody looked.
    pub broke: Option<BTreeSet<Id>>,
    /// Height of the bump at a sprue or feature over a straightedge, mm, positive towards the fixed half.
    #[serde(deserialize_with = "bumps")]
    pub bumps_mm: BTreeMap<Id, f64>,
    /// File name of a photo, as typed.
    pub photo: String,
    /// Remarks.
    pub remarks: String,
    /// Whether what it teaches has been taken into the assumed values already: it is then not counted again.
    pub is_taken_in: bool,
}

impl Default for Trial {
    /// One shot of which nothing is known.
    fn default() -> Self {
        Self {
            name: String::new(),
            shots: 1,
            settings: String::new(),
            sprayed_moving: false,
            sprayed_fixed: false,
            layout: None,
            ended: None,
            kept: Vec::new(),
            broke: None,
            bumps_mm: BTreeMap::new(),
            photo: String::new(),
            remarks: String::new(),
            is_taken_in: false,
        }
    }
}

impl Trial {
    /// Adds the trial to a project's log, one undo step. The open layout is kept under a name, unless one just
    /// like it is, and the trial points at it: what is drawn later then changes nothing about what was shot.
    pub fn logged(self, project: &Project) -> Edit {
        let bare = Project { variants: Vec::new(), trials: Vec::new(), ..project.clone() };
        let mut variants = project.variants.clone();
        let known =
            variants.iter().find(|variant| *variant.layout == bare).map(|variant| variant.name.clone());
        let name = known.unwrap_or_else(|| {
            let is_free = |name: &String| variants.iter().all(|variant| variant.name != *name);
            let number = project.trials.len() + 1;
            let names = (number..).map(|number| format!("As shot {number}"));
            let name = names.into_iter().find(is_free).unwrap_or_default();
            variants.push(Variant { name: name.clone(), layout: Arc::new(bare) });
            name
        });
        let mut trials = project.trials.clone();
        trials.push(Self { layout: Some(name), ..self });
        let edits = vec![Edit::SetVariants(variants), Edit::SetTrials(trials)];
        Edit::Several { label: "log trial", edits }
    }

    pub(crate) fn check(&self) -> Result<(), OutOfRange> {
        bounds::SHOTS.check(f64::from(self.shots))?;
        for stretch in &self.kept {
            check_all(&[(bounds::ALONG, stretch.from_mm), (bounds::ALONG, stretch.to_mm)])?;
        }
        self.bumps_mm.values().try_for_each(|height_mm| bounds::BUMP.check(*height_mm).map(drop))
    }
}

fn shots<'de, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    let shots = u32::deserialize(from)?;
    bounds::SHOTS.check(f64::from(shots)).map_err(serde::de::Error::custom)?;
    Ok(shots)
}

fn bumps<'de, D: Deserializer<'de>>(from: D) -> Result<BTreeMap<Id, f64>, D::Error> {
    let bumps: BTreeMap<Id, f64> = items(from)?;
    for height_mm in bumps.values() {
        bounds::BUMP.check(*height_mm).map_err(serde::de::Error::custom)?;
    }
    Ok(bumps)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_logged_trial_points_at_the_layout_as_it_was_shot() {
        let mut project = Project::blank();
        project.apply(&Trial::default().logged(&project)).unwrap();
        project.apply(&Trial::default().logged(&project)).unwrap();
        assert_eq!(project.variants.len(), 1, "the same layout is kept once");
        assert!(project.trials.iter().all(|trial| trial.layout.as_deref() == Some("As shot 1")));
        project.part.moving_share = 0.4;
        project.apply(&Trial::default().logged(&project)).unwrap();
        assert_eq!(project.trials[2].layout.as_deref(), Some("As shot 3"));
        assert_eq!(project.variants[0].layout.part.moving_share, 0.5);
        assert_eq!(project.variants[1].layout.part.moving_share, 0.4);
    }
}
