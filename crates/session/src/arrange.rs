//! Arranging several items: aligned, spread evenly, mirrored, repeated. Each gives one [`Edit`].

use glam::DVec2;
use keepside_engine::outline::plan_diameter_mm;
use keepside_model::{Edit, Id, Item, Project};

use crate::centre_line::points_mm;

/// How items are lined up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Align {
    Left,
    Centre,
    Right,
    Top,
    Middle,
    Bottom,
}

/// A direction of the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Across {
    /// Along x.
    LeftToRight,
    /// Along y.
    BottomToTop,
}

/// A line to mirror about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MirrorLine {
    /// A place on it, mm.
    pub at: DVec2,
    /// Its direction, of length 1.
    pub along: DVec2,
}

impl MirrorLine {
    /// The image of a place.
    pub fn image(&self, place: DVec2) -> DVec2 {
        let from = place - self.at;
        settled(self.at + self.along * (2.0 * from.dot(self.along)) - from)
    }

    /// The upright (or level) line through the middle of what the items take up.
    pub fn through_middle(project: &Project, ids: &[Id], is_upright: bool) -> Option<Self> {
        let (low, high) = extent_of_all(project, ids)?;
        Some(Self { at: low.midpoint(high), along: if is_upright { DVec2::Y } else { DVec2::X } })
    }

    /// The line through the first and the last point of a run, or along the first piece of a closed one.
    pub fn of_run(project: &Project, run: Id) -> Option<Self> {
        let points = &project.part.runs.get(&run)?.points;
        let first = points.first()?.at;
        let along = |to: DVec2| (to - first).try_normalize();
        let along = along(points.last()?.at).or_else(|| along(points.get(1)?.at))?;
        Some(Self { at: first, along })
    }
}

/// A millionth of a micrometre is nothing to cut, but a long number to read.
fn settled(at: DVec2) -> DVec2 {
    (at * 1e9).round() / 1e9
}

/// The corners of the smallest upright box round an item, mm.
pub fn extent(project: &Project, id: Id) -> Option<(DVec2, DVec2)> {
    let round = |at: DVec2, diameter_mm: f64| {
        let arm = DVec2::splat(0.5 * diameter_mm);
        Some((at - arm, at + arm))
    };
    match project.item(id)? {
        Item::Run(run) => {
            let edges = points_mm(&run).into_iter().map(|(at, width_mm)| {
                let arm = DVec2::splat(0.5 * width_mm);
                (at - arm, at + arm)
            });
            edges.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
        }
        Item::Sprue(sprue) => round(sprue.at, sprue.diameter_mm),
        Item::Vent(vent) => round(vent.at, 0.0),
        Item::Feature(feature) => round(feature.at, plan_diameter_mm(&feature.kind)),
        Item::Hole(hole) => round(hole.at, hole.diameter_mm),
        Item::Ejector(ejector) => round(ejector.at, ejector.diameter_mm),
        Item::Note(note) => round(note.at, 0.0),
    }
}

/// The corners of the smallest upright box round several items, mm.
pub fn extent_of_all(project: &Project, ids: &[Id]) -> Option<(DVec2, DVec2)> {
    let boxes = ids.iter().filter_map(|id| extent(project, *id));
    boxes.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

/// An item with every place of it put elsewhere.
fn placed(mut item: Item, to: impl Fn(DVec2) -> DVec2) -> Item {
    match &mut item {
        Item::Run(run) => run.points.iter_mut().for_each(|point| point.at = to(point.at)),
        Item::Sprue(sprue) => sprue.at = to(sprue.at),
        Item::Vent(vent) => vent.at = to(vent.at),
        Item::Feature(feature) => feature.at = to(feature.at),
        Item::Hole(hole) => hole.at = to(hole.at),
        Item::Ejector(ejector) => ejector.at = to(ejector.at),
        Item::Note(note) => note.at = to(note.at),
    }
    item
}

/// An item moved by so much, mm.
pub fn moved(item: Item, by_mm: DVec2) -> Item {
    placed(item, |at| settled(at + by_mm))
}

/// The mirror image of an item.
pub fn mirrored(item: Item, line: MirrorLine) -> Item {
    let mut item = placed(item, |at| line.image(at));
    if let Item::Run(run) = &mut item {
        // What turned to the left now turns to the right.
        run.points.iter_mut().for_each(|point| point.bulge = -point.bulge + 0.0);
    }
    item
}

fn set_all(
    project: &Project,
    label: &'static str,
    ids: &[Id],
    change: impl Fn(Id, Item) -> Option<Item>,
) -> Edit {
    let edits = ids.iter().filter(|id| !project.locked.contains(id)).filter_map(|&id| {
        let item = change(id, project.item(id)?)?;
        Some(Edit::Set(id, item))
    });
    Edit::Several { label, edits: edits.collect() }
}

/// Lines items up: at an edge of what they take up together, or at its middle. Locked ones count, but stay.
pub fn align(project: &Project, ids: &[Id], how: Align) -> Option<Edit> {
    let (low, high) = extent_of_all(project, ids)?;
    let middle = low.midpoint(high);
    Some(set_all(project, "align", ids, |id, item| {
        let (item_low, item_high) = extent(project, id)?;
        let item_middle = item_low.midpoint(item_high);
        let by_mm = match how {
            Align::Left => DVec2::new(low.x - item_low.x, 0.0),
            Align::Centre => DVec2::new(middle.x - item_middle.x, 0.0),
            Align::Right => DVec2::new(high.x - item_high.x, 0.0),
            Align::Top => DVec2::new(0.0, high.y - item_high.y),
            Align::Middle => DVec2::new(0.0, middle.y - item_middle.y),
            Align::Bottom => DVec2::new(0.0, low.y - item_low.y),
        };
        Some(moved(item, by_mm))
    }))
}

/// Spreads items so that their middles are equally far apart along one direction; the outermost two stay.
/// `None` for fewer than three.
pub fn distribute(project: &Project, ids: &[Id], across: Across) -> Option<Edit> {
    let axis = match across {
        Across::LeftToRight => DVec2::X,
        Across::BottomToTop => DVec2::Y,
    };
    let middle = |id: Id| extent(project, id).map(|(low, high)| low.midpoint(high).dot(axis));
    let mut places: Vec<(Id, f64)> = ids.iter().filter_map(|&id| Some((id, middle(id)?))).collect();
    places.sort_by(|a, b| a.1.total_cmp(&b.1));
    let [(_, first), .., (_, last)] = places[..] else { return None };
    if places.len() < 3 {
        return None;
    }
    let step = (last - first) / (places.len() - 1) as f64;
    let target = |id: Id| {
        let index = places.iter().position(|place| place.0 == id)?;
        Some((first + step * index as f64) - places[index].1)
    };
    Some(set_all(project, "distribute", ids, |id, item| Some(moved(item, axis * target(id)?))))
}

/// Mirrors items where they are.
pub fn mirror(project: &Project, ids: &[Id], line: MirrorLine) -> Edit {
    set_all(project, "mirror", ids, |_, item| Some(mirrored(item, line)))
}

/// Adds copies of items, each changed by `change`, under ids that `fresh` gives; the new ids.
fn add_all(
    project: &Project,
    label: &'static str,
    ids: &[Id],
    fresh: &mut dyn FnMut() -> Id,
    change: impl Fn(Item) -> Item,
) -> (Edit, Vec<Id>) {
    let items = ids.iter().filter_map(|id| project.item(*id));
    add_items(label, items.map(change), fresh)
}

/// Adds items under ids that `fresh` gives; the new ids.
pub fn add_items(
    label: &'static str,
    items: impl IntoIterator<Item = Item>,
    fresh: &mut dyn FnMut() -> Id,
) -> (Edit, Vec<Id>) {
    let edits: Vec<Edit> = items.into_iter().map(|item| Edit::Add(fresh(), item)).collect();
    let added = |edit: &Edit| if let Edit::Add(id, _) = edit { Some(*id) } else { None };
    let ids = edits.iter().filter_map(added).collect();
    (Edit::Several { label, edits }, ids)
}

/// Adds mirror images of items.
pub fn mirror_copy(
    project: &Project,
    ids: &[Id],
    line: MirrorLine,
    fresh: &mut dyn FnMut() -> Id,
) -> (Edit, Vec<Id>) {
    add_all(project, "mirror", ids, fresh, |item| mirrored(item, line))
}

/// Adds `count` copies of items, each `step_mm` further than the one before.
pub fn repeat(
    project: &Project,
    ids: &[Id],
    step_mm: DVec2,
    count: u32,
    fresh: &mut dyn FnMut() -> Id,
) -> (Edit, Vec<Id>) {
    let mut edits = Vec::new();
    let mut added = Vec::new();
    for number in 1..=count {
        let by_mm = step_mm * f64::from(number);
        let (edit, ids) = add_all(project, "repeat", ids, fresh, |item| moved(item, by_mm));
        edits.push(edit);
        added.extend(ids);
    }
    (Edit::Several { label: "repeat", edits }, added)
}
