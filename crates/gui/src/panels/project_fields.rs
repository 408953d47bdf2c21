//! What belongs to the whole project: title, part, material, shot, plates, press, screws on hand, assumed holds,
//! limits.

use egui::{CollapsingHeader, Ui};
use keepside_engine::opening::What;
use keepside_model::{Bounds, Edit, Half, Project, Rib, bounds};
use keepside_session::Session;

use super::cooling_facts::cooling_ui;
use super::drawer::drawer_ui;
use super::fields::Fields;
use super::limits_fields::limits_ui;
use super::material_fields::material_ui;
use super::press_fields::{press_ui, shot_ui};
use super::pull_off::curve_link_ui;
use crate::action::Action;
use crate::view::ViewState;

/// A share in the way it is shown.
const PERCENT: Bounds =
    Bounds { what: "the share", unit: "%", min: 100.0 * bounds::SHARE.min, max: 100.0 * bounds::SHARE.max };

/// All groups.
pub(super) fn project_ui(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let project = session.document();
    let mut actions = Vec::new();
    group(ui, "Title", true, |ui| actions.extend(title(ui, project)));
    group(ui, "Part", true, |ui| actions.extend(split(ui, project)));
    group(ui, "Material", true, |ui| actions.extend(material_ui(ui, project, view)));
    group(ui, "Shot settings", false, |ui| actions.extend(shot_ui(ui, project)));
    group(ui, "Cooling and gates", false, |ui| actions.extend(cooling_ui(ui, session)));
    group(ui, "Plates", false, |ui| actions.extend(plates(ui, project)));
    group(ui, "Press", false, |ui| actions.extend(press_ui(ui, session, view)));
    group(ui, "Screws on hand", false, |ui| actions.extend(drawer_ui(ui, project)));
    group(ui, "Assumed holds", false, |ui| {
        actions.extend(holds(ui, project));
        actions.extend(curves(ui, session, view));
    });
    group(ui, "Limits", false, |ui| actions.extend(limits_ui(ui, project)));
    actions
}

fn group(ui: &mut Ui, name: &str, open: bool, add: impl FnOnce(&mut Ui)) {
    CollapsingHeader::new(name).default_open(open).show(ui, add);
}

fn title(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let (mut name, mut notes) = (project.name.clone(), project.notes.clone());
    let change = Fields::show(ui, "title", |fields| {
        fields.text("Title", &mut name);
        fields.long_text("Notes", &mut notes);
    });
    change.actions(|| Edit::SetTitle { name, notes })
}

fn split(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let part = &project.part;
    let (mut moving, mut fixed) = (part.draft_moving_deg, part.draft_fixed_deg);
    let (mut edge_moving_mm, mut edge_fixed_mm) = (part.edge_moving_mm, part.edge_fixed_mm);
    let mut rib = part.rib;
    let shown = 100.0 * part.moving_share;
    let mut percent = shown;
    let change = Fields::show(ui, "part", |fields| {
        fields.number("Depth in moving half", &mut percent, PERCENT).on_hover_text(
            "Share of the channel depth: 0 % = all in the fixed half, 100 % = all in the moving half",
        );
        fields.number("Draft, moving half", &mut moving, bounds::DRAFT);
        fields.number("Draft, fixed half", &mut fixed, bounds::DRAFT);
        let hint = "Larger than the depth in that half, the edge goes on beyond the parting line and the \
                    other half traps it";
        fields.number("Edge radius, moving", &mut edge_moving_mm, bounds::EDGE).on_hover_text(hint);
        fields.number("Edge radius, fixed", &mut edge_fixed_mm, bounds::EDGE).on_hover_text(hint);
        rib_fields(fields, &mut rib);
    });
    // What was not touched stays the same to the last bit.
    let moving_share = if percent == shown { part.moving_share } else { percent / 100.0 };
    change.actions(|| Edit::SetSplit {
        moving_share,
        draft_moving_deg: moving,
        draft_fixed_deg: fixed,
        edge_moving_mm,
        edge_fixed_mm,
        rib,
    })
}

fn rib_fields(fields: &mut Fields<'_>, rib: &mut Option<Rib>) {
    let half = rib.map(|rib| rib.half);
    let mut chosen = half;
    let halves =
        [(None, "none"), (Some(Half::Moving), "in moving half"), (Some(Half::Fixed), "in fixed half")];
    fields.choice("Rib", &mut chosen, &halves);
    if chosen != half {
        let (width_mm, height_mm) = rib.map_or((1.0, 1.0), |rib| (rib.width_mm, rib.height_mm));
        *rib = chosen.map(|half| Rib { half, width_mm, height_mm });
    }
    if let Some(rib) = rib {
        fields.number("Rib width", &mut rib.width_mm, bounds::RIB);
        fields.number("Rib height", &mut rib.height_mm, bounds::RIB);
    }
}

fn plates(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let mut plates = project.plates.clone();
    let change = Fields::show(ui, "plates", |fields| {
        fields.number("Width", &mut plates.width_mm, bounds::PLATE_SIZE);
        fields.number("Height", &mut plates.height_mm, bounds::PLATE_SIZE);
        fields.number("Moving plate, thick", &mut plates.moving_thickness_mm, bounds::PLATE_THICKNESS);
        fields.number("Fixed plate, thick", &mut plates.fixed_thickness_mm, bounds::PLATE_THICKNESS);
    });
    change.actions(|| Edit::SetPlates(plates))
}

fn holds(ui: &mut Ui, project: &Project) -> Vec<Action> {
    let mut holds = project.holds.clone();
    ui.weak("Only trial shots can tell these; the first values are assumed");
    let change = Fields::show(ui, "holds", |fields| {
        fields.number("Face tack, bare", &mut holds.tack_mpa, bounds::TACK);
        fields.number("Tack lets go after", &mut holds.tack_travel_mm, bounds::TRAVEL);
        fields.number("Release agent, moving", &mut holds.release_factor_moving, bounds::FACTOR);
        fields.number("Release agent, fixed", &mut holds.release_factor_fixed, bounds::FACTOR);
        fields.number("Wall drag", &mut holds.wall_drag_mpa, bounds::TACK);
        fields.number("Wall relief", &mut holds.wall_relief_mm, bounds::TRAVEL);
        fields.number("Sprue drag, turned", &mut holds.sprue_drag_turned_mpa, bounds::TACK);
        fields.number("Sprue drag, polished", &mut holds.sprue_drag_polished_mpa, bounds::TACK);
        fields.number("Thread filled", &mut holds.thread_filled_share, bounds::SHARE);
        fields.number("Vacuum under faces", &mut holds.vacuum_mpa, bounds::VACUUM);
        fields.number("Air gets in at", &mut holds.air_gap_mm, bounds::TRAVEL);
    });
    change.actions(|| Edit::SetHolds(holds))
}

/// Ways to the curves of the holds along the part. A measured one counts instead of the numbers above.
fn curves(ui: &mut Ui, session: &Session, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    for (what, words) in [
        (What::Tack, "Pull-off curve of face tack"),
        (What::WallDrag, "Pull-off curve of wall drag"),
        (What::Edge, "Pull-off curve of undercut edges"),
        (What::Vacuum, "Pull-off curve of vacuum"),
    ] {
        actions.extend(curve_link_ui(ui, session, view, what, words));
    }
    actions
}
