//! What trials have taught about a press and a material, to be used in the next project.

use serde::{Deserialize, Serialize};

use crate::edit::Edit;
use crate::holds::HoldInputs;
use crate::material::Material;
use crate::project::Project;
use crate::scatter::Scatter;

/// Assumed values and their spreads, as learned with one press and one material.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// Name of the press.
    pub press: String,
    /// The material.
    pub material: Material,
    /// Strength of the holds.
    pub holds: HoldInputs,
    /// How uncertain it is.
    pub scatter: Scatter,
    /// How many shots it rests on; 0 if none was taken in.
    pub shots: u32,
}

impl Calibration {
    /// What a project has learned so far: its assumed values, and the shots that were taken into them.
    pub fn of(project: &Project) -> Self {
        let taken_in = project.trials.iter().filter(|trial| trial.is_taken_in);
        Self {
            press: project.press.name.clone(),
            material: project.material.clone(),
            holds: project.holds.clone(),
            scatter: project.scatter,
            shots: taken_in.map(|trial| trial.shots).fold(0, u32::saturating_add),
        }
    }

    /// Whether it was learned with this project's press and material, by their names.
    pub fn fits(&self, project: &Project) -> bool {
        self.press == project.press.name && self.material.name == project.material.name
    }

    /// Takes these values into a project, one undo step. Trials that `is_counted` says are in them are marked
    /// so, and not counted again.
    pub fn edit(&self, project: &Project, is_counted: impl Fn(usize) -> bool) -> Edit {
        let mut trials = project.trials.clone();
        for (index, trial) in trials.iter_mut().enumerate() {
            trial.is_taken_in |= is_counted(index);
        }
        let mut edits = vec![
            Edit::SetMaterial(Box::new(self.material.clone())),
            Edit::SetHolds(self.holds.clone()),
            Edit::SetScatter(Box::new(self.scatter)),
        ];
        if trials != project.trials {
            edits.push(Edit::SetTrials(trials));
        }
        Edit::Several { label: "take in what trials taught", edits }
    }
}
