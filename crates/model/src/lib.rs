//! What the user made: a [`Project`] and its parts.
//!
//! Plain data with permitted ranges. Nothing is computed here and no file is opened.
//!
//! # Space
//!
//! The plan is the parting plane as seen on the **moving half's parting face**, x to the right and y
//! up, both in mm from the lower left corner of the plate. The opening direction z points away from
//! the viewer: the way the moving half retreats. The fixed half's face is the mirror image: a point
//! (x, y) of the plan lies at (plate width − x, y) when the fixed half is looked at on its own
//! parting face; see [`Plates::seen_on_face`].

pub mod bounds;
mod calibration;
mod edit;
mod feature;
mod holds;
mod items;
mod limit;
mod material;
mod melt;
mod moulding;
mod note;
mod part;
mod project;
mod pull_off;
mod scatter;
mod sheet;
mod tooling;
mod trial;

pub use bounds::{Bounds, OutOfRange};
pub use calibration::Calibration;
pub use edit::{Edit, EditError};
pub use feature::{FeatureKind, KeyingFeature, Lock, ScrewEnd, ThreadSize};
pub use holds::HoldInputs;
pub use limit::Limit;
pub use material::{Material, MaterialValue, Provenance, ValueInfo};
pub use melt::Melt;
pub use moulding::{HeldBack, Moulding};
pub use note::{Note, Variant};
pub use part::{EndShape, Part, Rib, Run, RunPoint};
pub use project::{Id, Item, ItemKind, Limits, Project};
pub use pull_off::{NotACurve, PullOff};
pub use scatter::{Scatter, Spread};
pub use sheet::{Datum, DrillCycles, GeneralTolerance, Paper, Projection, SheetChoices, ToleranceClass};
pub use tooling::{
    Ejector, EjectorFace, Finish, Grooves, Half, HoleUse, PlateHole, Plates, Press, Relief, Sprue, Vent,
};
pub use trial::{Ended, KeptBy, KeptStretch, Trial};
