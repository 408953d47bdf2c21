//! What trials have taught with one press and one material, kept for other projects.

use keepside_model::Calibration;
use serde::{Deserialize, Serialize};

use crate::shelf::Kept;

/// What was learned, under a name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Experience {
    /// The name it is kept under.
    pub name: String,
    /// What was learned.
    pub learned: Calibration,
}

impl Experience {
    /// What was learned, under the names of its press and material.
    pub fn of(learned: Calibration) -> Self {
        let press = learned.press.trim();
        let press = if press.is_empty() { "press without a name" } else { press };
        let material = learned.material.name.trim();
        let material = if material.is_empty() { "material without a name" } else { material };
        Self { name: format!("{press}, {material}"), learned }
    }
}

impl Kept for Experience {
    const WHAT: &'static str = "what was learned";
    const FILE: &'static str = "learned.ron";

    fn name(&self) -> &str {
        &self.name
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Shelf;
    use keepside_model::{Project, Trial};

    #[test]
    fn what_was_learned_comes_back_to_the_last_digit() {
        let folder = tempfile::tempdir().unwrap();
        let mut project = Project::blank();
        project.holds.tack_mpa = 0.1 + 1.0 / 300.0;
        project.scatter.tack.median = 1.0 / 7.0;
        project.trials.push(Trial { shots: 12, is_taken_in: true, ..Trial::default() });
        let kept = Experience::of(Calibration::of(&project));
        Shelf::keep(folder.path(), kept.clone()).unwrap();
        let read = Shelf::<Experience>::load(folder.path()).unwrap();
        assert_eq!(read.kept(), std::slice::from_ref(&kept));
        assert_eq!((kept.learned.shots, kept.learned.fits(&project)), (12, true));
        let text = std::fs::read_to_string(folder.path().join(Experience::FILE)).unwrap();
        let wrong = text.replacen("tack_mpa: 0.10333333333333333", "tack_mpa: -1.0", 1);
        assert_ne!(text, wrong, "the number is there to be put out of range");
        std::fs::write(folder.path().join(Experience::FILE), wrong).unwrap();
        assert!(Shelf::<Experience>::load(folder.path()).is_err());
    }
}
