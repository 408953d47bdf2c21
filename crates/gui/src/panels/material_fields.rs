//! The material: what it is started from, every number with where it comes from, and the user's own grades.

use egui::{CollapsingHeader, Ui};
use keepside_model::{Edit, Material, MaterialValue, Project, Provenance};

use super::fields::{Fields, Origin};
use super::kept::{KeptUse, kept_ui};
use crate::action::Action;
use crate::shelves::Shelved;
use crate::view::ViewState;

/// The numbers that matter when the mould opens.
const WARM: [MaterialValue; 8] = [
    MaterialValue::ModulusHot,
    MaterialValue::YieldHot,
    MaterialValue::Hardening,
    MaterialValue::BreakStrain,
    MaterialValue::YieldStrain,
    MaterialValue::Poisson,
    MaterialValue::Friction,
    MaterialValue::RestrainedShrinkage,
];

/// All others, by what they are for.
const GROUPS: [(&str, &[MaterialValue]); 5] = [
    (
        "Flow of the melt",
        &[
            MaterialValue::Consistency,
            MaterialValue::ReferenceTemperature,
            MaterialValue::PowerLawIndex,
            MaterialValue::TemperatureFactor,
            MaterialValue::NoFlowTemperature,
            MaterialValue::ShearRateLimit,
            MaterialValue::ResidenceLimit,
        ],
    ),
    (
        "Temperatures and heat",
        &[
            MaterialValue::MeltTemperature,
            MaterialValue::MeltTemperatureLow,
            MaterialValue::MeltTemperatureHigh,
            MaterialValue::MouldTemperature,
            MaterialValue::MouldTemperatureLow,
            MaterialValue::MouldTemperatureHigh,
            MaterialValue::EjectionTemperature,
            MaterialValue::Diffusivity,
            MaterialValue::Conductivity,
            MaterialValue::HeatCapacity,
        ],
    ),
    (
        "Density and shrinkage",
        &[
            MaterialValue::DensitySolid,
            MaterialValue::DensityMelt,
            MaterialValue::ShrinkageAlong,
            MaterialValue::ShrinkageAlongLow,
            MaterialValue::ShrinkageAlongHigh,
            MaterialValue::ShrinkageAcross,
            MaterialValue::ShrinkageAcrossLow,
            MaterialValue::ShrinkageAcrossHigh,
        ],
    ),
    ("Vents", &[MaterialValue::VentDepth, MaterialValue::VentDepthMin, MaterialValue::VentDepthMax]),
    (
        "Cold strength",
        &[
            MaterialValue::ModulusCold,
            MaterialValue::YieldCold,
            MaterialValue::ModulusGone,
            MaterialValue::YieldGone,
        ],
    ),
];

/// The group.
pub(super) fn material_ui(ui: &mut Ui, project: &Project, view: &mut ViewState) -> Vec<Action> {
    let mut actions = Vec::new();
    start_ui(ui, project, view, &mut actions);
    let mut name = project.material.name.clone();
    let change = Fields::show(ui, "material name", |fields| fields.text("Name", &mut name));
    actions.extend(
        change.actions(|| Edit::SetMaterial(Box::new(Material { name, ..project.material.clone() }))),
    );
    ui.checkbox(&mut view.kept.shows_sources, "Show where numbers come from");
    let sources = view.kept.shows_sources;
    values_ui(ui, "Warm", &WARM, project, sources, &mut actions);
    for (title, values) in GROUPS {
        CollapsingHeader::new(title).id_salt(("material", title)).show(ui, |ui| {
            values_ui(ui, title, values, project, sources, &mut actions);
        });
    }
    let names: Vec<String> = view.kept.grades.iter().map(|grade| grade.name.clone()).collect();
    CollapsingHeader::new("Own grades").show(ui, |ui| {
        match kept_ui(ui, &mut view.kept, Shelved::Grade, &names, &project.material.name) {
            Some(KeptUse::Take(index)) => {
                actions.extend(view.kept.grades.get(index).map(|grade| taken(grade.clone())));
            }
            Some(KeptUse::Do(command)) => actions.push(Action::Command(command)),
            None => {}
        }
    });
    actions
}

fn taken(material: Material) -> Action {
    Action::Edit(Edit::SetMaterial(Box::new(material)))
}

/// The list of generic plastics and own grades.
fn start_ui(ui: &mut Ui, project: &Project, view: &ViewState, actions: &mut Vec<Action>) {
    let label = ui.label("Start from");
    egui::ComboBox::from_id_salt("material presets")
        .selected_text(&project.material.name)
        .show_ui(ui, |ui| {
            for grade in &view.kept.grades {
                let is_here = *grade == project.material;
                if ui.selectable_label(is_here, format!("{}, own grade", grade.name)).clicked() {
                    actions.push(taken(grade.clone()));
                }
            }
            if !view.kept.grades.is_empty() {
                ui.separator();
            }
            for preset in Material::generic() {
                let is_here = preset == project.material;
                if ui.selectable_label(is_here, format!("{}, generic", preset.name)).clicked() {
                    actions.push(taken(preset));
                }
            }
        })
        .response
        .labelled_by(label.id);
}

fn values_ui(
    ui: &mut Ui,
    salt: &str,
    values: &[MaterialValue],
    project: &Project,
    sources: bool,
    actions: &mut Vec<Action>,
) {
    let material = &project.material;
    Fields::show(ui, ("material", salt), |fields| {
        for &value in values {
            let info = value.info();
            let mut number = (info.of)(material);
            let provenance = material.provenance(value);
            let words = origin_words(material, value, provenance);
            let origin =
                Origin { tag: tag(provenance), words: &words, is_own: provenance == Provenance::Own };
            let goes_back = fields.number_of_origin(info.name, &mut number, info.bounds, &origin);
            let change = std::mem::take(&mut fields.change);
            actions.extend(change.actions(|| Edit::SetMaterialValue(value, number)));
            if goes_back {
                actions.push(Action::Edit(Edit::TakeBackMaterialValue(value)));
            }
            if sources {
                fields.remark(&words);
            }
        }
    });
}

/// Where a number comes from, in a word.
const fn tag(provenance: Provenance) -> &'static str {
    match provenance {
        Provenance::Source(_) => "published",
        Provenance::Memory(_) => "from memory",
        Provenance::Assumed(_) => "assumed",
        Provenance::Own => "yours",
    }
}

/// Where a number comes from, and its usual range.
fn origin_words(material: &Material, value: MaterialValue, provenance: Provenance) -> String {
    let bounds = value.info().bounds;
    let space = if bounds.unit.is_empty() { "" } else { " " };
    let range = material.usual_range(value).map_or_else(String::new, |(low, high)| {
        format!("; usual for {}: {low} to {high}{space}{}", material.based_on, bounds.unit)
    });
    format!("{}{range}", provenance.words())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_of_a_material_is_shown_once() {
        let mut shown: Vec<MaterialValue> = WARM.to_vec();
        shown.extend(GROUPS.iter().flat_map(|(_, values)| values.iter()));
        shown.sort();
        let mut all: Vec<MaterialValue> = MaterialValue::LIST.iter().map(|info| info.value).collect();
        all.sort();
        assert_eq!(shown, all);
    }
}
