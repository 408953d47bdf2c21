//! Shrinkage that the mould keeps the part from: it pulls on whatever locks the part's length.

use glam::DVec2;
use keepside_model::Project;

use crate::beam::{Beams, Chain, Space};
use crate::cooling;
use crate::opening::setup::{JUNCTION_STIFFNESS, Layout};
use crate::opening::tug::Tug;

/// Beams whose length the mould can keep.
pub(crate) trait Kept {
    /// Keeps this strain in an element; the tension that it makes, N.
    fn keep(&mut self, element: usize, strain: f64) -> f64;
}

/// Puts the elements between locked points under the tension of their kept shrinkage, and the locks under
/// what balances it, so that everything is at rest while the mould is closed.
///
/// A lock bears no more than its plastic does: if the tension would tear along the strongest pulled of
/// them, all of it is taken down to what that one bears.
pub(crate) fn keep<B: Beams + Kept>(project: &Project, layout: &Layout, tug: &mut Tug<B>) {
    let material = &project.material;
    let strain = cooling::held_back(project).min(material.yield_hot_mpa / material.modulus_hot_mpa);
    if strain <= 0.0 || tug.points.is_empty() {
        return;
    }
    let locked = locked_members(layout);
    let pulls = |tug: &mut Tug<B>, strain: f64| -> Vec<DVec2> {
        let mut on_point = vec![DVec2::ZERO; layout.points.len()];
        for (element, member) in layout.network.members.iter().enumerate() {
            // A stiffened junction is no stronger in tension than the channel is.
            let share = if member.is_stiff { 1.0 / JUNCTION_STIFFNESS } else { 1.0 };
            let tension = tug.beams.keep(element, if locked[element] { share * strain } else { 0.0 });
            let (from, to) = (layout.network.nodes[member.from], layout.network.nodes[member.to]);
            // A plane's x leads along the run.
            let along = if B::TWISTS { (to - from).normalize_or(DVec2::X) } else { DVec2::X };
            // The member pulls what stands at its ends towards its middle.
            for (node, way) in [(member.from, along), (member.to, -along)] {
                for (index, point) in layout.points.iter().enumerate() {
                    if node_of(layout, point.path, point.along_mm) == node {
                        on_point[index] += tension * way;
                    }
                }
            }
        }
        on_point
    };
    let whole = pulls(tug, strain);
    let limit = whole.iter().zip(&tug.laws).map(|(pull, law)| {
        let size = pull.length();
        if size > law.lateral_limit_n { law.lateral_limit_n / size } else { 1.0 }
    });
    let share = limit.fold(1.0, f64::min);
    let on_point = pulls(tug, share * strain);
    for point in &mut tug.points {
        let law = &tug.laws[point.law];
        if law.lateral_n_mm > 0.0 {
            // The lock's force on the part is its stiffness times the displacement from this place.
            let force = on_point[point.law];
            point.lateral_rest_mm = -force / law.lateral_n_mm;
            point.grip_n = law.friction * force.length();
        }
    }
}

/// The node at a place along a path.
fn node_of(layout: &Layout, path: usize, along_mm: f64) -> usize {
    let away = |station: &&(f64, usize)| (station.0 - along_mm).abs();
    let stations = &layout.network.stations[path];
    stations.iter().min_by(|a, b| away(a).total_cmp(&away(b))).map_or(0, |station| station.1)
}

/// Whether each member lies between points that lock the length: what hangs free on one side shrinks as it
/// likes.
fn locked_members(layout: &Layout) -> Vec<bool> {
    let network = &layout.network;
    let mut is_lock = vec![false; network.nodes.len()];
    for point in &layout.points {
        is_lock[node_of(layout, point.path, point.along_mm)] = true;
    }
    let mut is_kept = vec![true; network.members.len()];
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); network.nodes.len()];
    for (index, member) in network.members.iter().enumerate() {
        at_node[member.from].push(index);
        at_node[member.to].push(index);
    }
    let mut waiting: Vec<usize> = (0..network.nodes.len()).collect();
    while let Some(node) = waiting.pop() {
        let mut left = at_node[node].iter().filter(|member| is_kept[**member]);
        if let (false, Some(&only), None) = (is_lock[node], left.next(), left.next()) {
            is_kept[only] = false;
            waiting.extend([network.members[only].from, network.members[only].to]);
        }
    }
    is_kept
}

impl Kept for Chain {
    fn keep(&mut self, element: usize, strain: f64) -> f64 {
        let element = &mut self.elements[element];
        element.kept_strain = strain;
        element.law.modulus_mpa * element.section.total_mm2 * element.kept_strain
    }
}

impl Kept for Space {
    fn keep(&mut self, element: usize, strain: f64) -> f64 {
        let element = &mut self.elements[element];
        element.kept_strain = strain;
        element.law.modulus_mpa * element.section.total_mm2 * element.kept_strain
    }
}
