//! Clear distances in the plan: what is too tight anywhere, and all that is near of what is selected or
//! dragged.

use std::collections::BTreeSet;

use egui::{Align2, FontId, Pos2, Rect, Role, Sense, Shape, Stroke, Vec2, WidgetInfo, vec2};
use keepside_engine::outline::{Gap, GapTo};
use keepside_model::{Id, Project};
use keepside_session::Session;

use super::Canvas;
use super::crowd::{Boxes, FEW};
use super::items::{feature_tag, name_of, sprue_tag, tag_room};
use crate::units::Unit;
use crate::view::{Dragged, ViewState};

/// Of what is selected a gap is shown up to this many times what is needed.
const NEAR: f64 = 4.0;

/// So many gaps get their numbers, the tight ones first: more would only cover one another.
const MOST_NUMBERS: usize = 400;

/// The gaps, tight ones last and so on top.
pub(super) fn draw(canvas: &Canvas<'_>, session: &Session, view: &ViewState) {
    let Some(layout) = session.results().layout() else { return };
    let dragged: &[Id] = match view.drag.as_ref().map(|drag| &drag.what) {
        Some(Dragged::Items { ids, .. }) => ids,
        _ => &[],
    };
    let few = session.selection().len() <= FEW;
    let is_focus = |id: Id| few && (session.selection().contains(&id) || dragged.contains(&id));
    let mut drawn = BTreeSet::new();
    let mut wanted: Vec<&Gap> = Vec::new();
    for gap in &layout.gaps {
        if gap.to == GapTo::Roof {
            continue;
        }
        let near = gap.needed_mm.is_some_and(|needed_mm| gap.gap_mm <= NEAR * needed_mm);
        let edge = matches!(gap.to, GapTo::ChannelEdge | GapTo::FarEdge);
        if !gap.is_tight() && !(is_focus(gap.item) && (near || edge)) {
            continue;
        }
        // The gap between two of them is listed for each.
        if let GapTo::Feature(other) | GapTo::Sprue(other) | GapTo::Ejector(other) = gap.to
            && !drawn.insert((gap.item.min(other), gap.item.max(other)))
        {
            continue;
        }
        if canvas.rect.expand(90.0).contains(canvas.at(gap.from_point.midpoint(gap.to_point))) {
            wanted.push(gap);
        }
    }
    wanted.sort_by_key(|gap| gap.is_tight());
    for gap in &wanted {
        line(canvas, gap);
    }
    let mut taken = Boxes::default();
    let ends = wanted.iter().flat_map(|gap| [Some(gap.item), gap.to.item()]).flatten();
    for id in ends.collect::<BTreeSet<Id>>() {
        if let Some(at) = tag_of(canvas, session.document(), id) {
            taken.add(tag_room(at));
        }
    }
    for gap in wanted.iter().rev().take(MOST_NUMBERS) {
        number(canvas, session, gap, &mut taken);
    }
}

/// Where the tag of a feature or gate stands.
fn tag_of(canvas: &Canvas<'_>, project: &Project, id: Id) -> Option<Pos2> {
    let feature = project.features.get(&id).map(|feature| feature_tag(canvas, feature));
    feature.or_else(|| project.sprues.get(&id).map(|sprue| sprue_tag(canvas, sprue)))
}

/// A gap's line: thin with dots at its ends; too tight, thick between two bars, whatever the colour.
fn line(canvas: &Canvas<'_>, gap: &Gap) {
    let (from, to) = (canvas.at(gap.from_point), canvas.at(gap.to_point));
    let painter = &canvas.painter;
    if gap.is_tight() {
        let ink = canvas.palette.fault;
        painter.line_segment([from, to], Stroke::new(5.0, canvas.palette.plate));
        painter.line_segment([from, to], Stroke::new(2.6, ink));
        let along = way(from, to);
        for end in [from, to] {
            let bar = along.rot90() * 6.0;
            painter.line_segment([end - bar, end + bar], Stroke::new(4.5, canvas.palette.plate));
            painter.line_segment([end - bar, end + bar], Stroke::new(2.2, ink));
        }
    } else {
        let ink = canvas.palette.ink;
        painter.line_segment([from, to], Stroke::new(3.2, canvas.palette.plate.gamma_multiply(0.8)));
        painter.line_segment([from, to], Stroke::new(1.2, ink));
        for end in [from, to] {
            painter.circle(end, 2.2, ink, Stroke::new(0.8, canvas.palette.plate));
        }
    }
}

fn way(from: Pos2, to: Pos2) -> Vec2 {
    if from.distance(to) > 0.1 { (to - from).normalized() } else { Vec2::X }
}

/// A gap's number beside it, where it covers no other; left away where it finds no room. One that is too
/// small is told by a finding as well.
fn number(canvas: &Canvas<'_>, session: &Session, gap: &Gap, taken: &mut Boxes) {
    let project = session.document();
    let (from, to) = (canvas.at(gap.from_point), canvas.at(gap.to_point));
    let tight = gap.is_tight();
    let palette = canvas.palette;
    let ink = if tight { palette.fault } else { palette.ink };
    let unit = Unit::of(canvas.ui);
    let number = unit.number(gap.gap_mm);
    let text = if tight { format!("! {number}") } else { number };
    let galley = canvas.painter.layout_no_wrap(text, FontId::proportional(11.5), ink);
    let along = way(from, to);
    let is_flat = along.x.abs() > along.y.abs();
    let middle = from + (to - from) * 0.5;
    let (over, under) =
        if is_flat { (vec2(0.0, -15.0), vec2(0.0, 15.0)) } else { (vec2(24.0, 0.0), vec2(-24.0, 0.0)) };
    let beyond = along * (12.0 + galley.size().x * 0.5);
    let places = [
        middle + over,
        middle + under,
        middle + over * 2.0,
        middle + under * 2.0,
        middle + over * 2.8,
        to + beyond,
        to + beyond + over,
        to + beyond + under,
        from - beyond,
    ];
    // A number that warns looks farther away; a thin line leads to it.
    let far = (4_u8..=9).flat_map(|times| [over, under].map(|away| middle + away * f32::from(times)));
    let rect_at = |at: Pos2| Align2::CENTER_CENTER.anchor_size(at, galley.size()).expand2(vec2(3.0, 0.0));
    let is_free = |rect: &Rect| canvas.rect.contains_rect(*rect) && taken.is_free(*rect);
    let near = places.into_iter().map(rect_at).find(is_free);
    let Some(rect) = near.or_else(|| far.map(rect_at).find(is_free).filter(|_| tight)) else { return };
    if near.is_none() {
        canvas.painter.line_segment([middle, rect.center()], Stroke::new(0.8, ink));
    }
    taken.add(rect);
    canvas.painter.rect_filled(rect, 2.0, palette.plate.gamma_multiply(0.93));
    if tight {
        canvas.painter.add(Shape::closed_line(
            vec![rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()],
            Stroke::new(1.1, ink),
        ));
    }
    canvas.painter.galley(rect.shrink2(vec2(3.0, 0.0)).min, galley, ink);
    let id = egui::Id::unique(("gap", gap.item.0, gap.to.words(project)));
    let needs =
        gap.needed_mm.map_or_else(String::new, |needed_mm| format!(", needs {}", unit.short(needed_mm)));
    let (item, other) = (name_of(project, gap.item), gap.to.words(project));
    let name = format!("{item} to {other} {}{needs}", unit.length(gap.gap_mm));
    let response = canvas.ui.interact(rect, id, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, name.clone()));
}
