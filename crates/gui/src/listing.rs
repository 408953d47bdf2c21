//! Writes where every control is, for scripts that drive the real window by mouse and keys.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::PathBuf;

use egui::accesskit::{Node, NodeId, Role, Toggled, TreeUpdate};
use egui::{Context, FullOutput, Plugin};

use crate::app::write_for_script;

/// Lists every control after every frame in which anything of it has changed, one a line, tabs between.
///
/// The first line is `History`, steps that can be undone, steps that can be redone, and `settled` or
/// `computing`; the second `Plan`, x and y of the plan's corner, pixels per millimetre. Then of every control:
/// role, name, value, left, top, right and bottom, words for its state (`off`, `on`, `open`, `keyboard`), and
/// between which heights it is seen if it can be scrolled. All lengths are pixels of the window.
pub(crate) struct Listing {
    file: PathBuf,
    /// What stands before the controls.
    pub(crate) head: String,
    listed: String,
}

impl Listing {
    pub(crate) fn new(file: PathBuf) -> Self {
        Self { file, head: String::new(), listed: String::new() }
    }
}

impl Plugin for Listing {
    fn debug_name(&self) -> &'static str {
        "listing"
    }

    fn setup(&mut self, ctx: &Context) {
        ctx.enable_accesskit();
    }

    fn output_hook(&mut self, ctx: &Context, output: &mut FullOutput) {
        let Some(update) = &output.platform_output.accesskit_update else { return };
        let text = format!("{}\n{}", self.head, controls(update, f64::from(ctx.pixels_per_point())));
        if text != self.listed {
            // What cannot be written is seen by whoever waits for it.
            if let Err(error) = write_for_script(&self.file, &text) {
                log::error!("{error}: {}", self.file.display());
            }
            self.listed = text;
        }
    }
}

fn controls(update: &TreeUpdate, pixels_per_point: f64) -> String {
    let nodes: BTreeMap<NodeId, &Node> = update.nodes.iter().map(|(id, node)| (*id, node)).collect();
    let parents = nodes.iter().flat_map(|(id, node)| node.children().iter().map(move |child| (*child, *id)));
    let parents: BTreeMap<NodeId, NodeId> = parents.collect();
    let bars = update.nodes.iter().filter(|(_, node)| node.role() == Role::ScrollBar);
    let bars: BTreeMap<NodeId, [f64; 2]> = bars
        .filter_map(|(id, node)| Some((*parents.get(id)?, node.bounds()?)))
        .filter(|(_, bar)| bar.height() > bar.width())
        .map(|(parent, bar)| (parent, [bar.y0, bar.y1]))
        .collect();
    // The bar stands beside what it scrolls, and that holds the control.
    let band = |id: NodeId| {
        let content = *parents.get(&id)?;
        std::iter::successors(parents.get(&content), |id| parents.get(id)).find_map(|id| bars.get(id))
    };
    let mut text = String::new();
    for (id, node) in &update.nodes {
        let Some(bounds) = node.bounds() else { continue };
        if matches!(node.role(), Role::GenericContainer | Role::TextRun | Role::Window) {
            continue;
        }
        let own = node.label().filter(|label| !label.is_empty());
        let of_label = || nodes.get(node.labelled_by().first()?).and_then(|by| by.label().or(by.value()));
        let value = match (node.value(), node.numeric_value()) {
            (Some(value), _) => value.to_owned(),
            (None, Some(number)) => number.to_string(),
            (None, None) => String::new(),
        };
        let state = [
            ("off", node.is_disabled()),
            ("on", node.toggled() == Some(Toggled::True) || node.is_selected() == Some(true)),
            ("open", node.is_expanded() == Some(true)),
            ("keyboard", *id == update.focus),
        ];
        let state: Vec<&str> = state.iter().filter(|(_, is)| *is).map(|(word, _)| *word).collect();
        let band = band(*id)
            .map(|[top, bottom]| format!("{:.1}\t{:.1}", top * pixels_per_point, bottom * pixels_per_point));
        let [left, top, right, bottom] =
            [bounds.x0, bounds.y0, bounds.x1, bounds.y1].map(|side| side * pixels_per_point);
        // Writing to a string does not fail.
        let _written = writeln!(
            text,
            "{:?}\t{}\t{}\t{left:.1}\t{top:.1}\t{right:.1}\t{bottom:.1}\t{}\t{}",
            node.role(),
            one_line(own.or_else(of_label).unwrap_or_default()),
            one_line(&value),
            state.join(" "),
            band.unwrap_or_else(|| "\t".to_owned())
        );
    }
    text
}

fn one_line(text: &str) -> String {
    text.replace(['\t', '\n', '\r'], " ")
}
