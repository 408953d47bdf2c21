//! What packing can reach: melt goes on flowing in until the gate or a thinner place on the way freezes.

use std::collections::BinaryHeap;

use glam::DVec2;
use keepside_model::{Id, Project, Sprue};

use super::heat::Body;
use super::{GateFreeze, Stations, Temperatures};
use crate::outline::Lookup;

/// Share of its own freezing time by which a stretch is cut off earlier than its gate that is worth telling.
const CUT_OFF: f64 = 0.9;

/// A stretch that is cut off from packing by a thinner place between it and its gate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unpacked {
    /// The run.
    pub run: Id,
    /// Where it begins along the run, mm from its tip.
    pub from_mm: f64,
    /// Where it ends, mm.
    pub to_mm: f64,
    /// Its middle in the plan, mm.
    pub at: DVec2,
    /// Until when it is packed, s after the end of filling.
    pub until_s: f64,
    /// When it freezes itself, s.
    pub freezes_s: f64,
}

/// Smallest diameter of a sprue, mm, at its tip.
pub(crate) fn narrowest_mm(sprue: &Sprue) -> f64 {
    let tip_mm = sprue.diameter_mm - 2.0 * sprue.length_mm * sprue.draft_deg.to_radians().tan();
    // A bore that would narrow to nothing is taken to be drilled through by a tenth of a millimetre.
    tip_mm.clamp(0.1_f64.min(sprue.diameter_mm), sprue.diameter_mm)
}

/// When the gates freeze.
pub(super) fn gates(
    project: &Project,
    temperatures: &Temperatures,
    stations: &Stations,
    lookup: &Lookup<'_>,
) -> Vec<GateFreeze> {
    let diffusivity = project.material.melt.diffusivity_mm2_s;
    let no_flow = temperatures.share(temperatures.no_flow_c);
    let ejection = temperatures.share(temperatures.ejection_c);
    let packing_s =
        if project.moulding.packing_pressure_mpa > 0.0 { project.moulding.packing_time_s } else { 0.0 };
    let of = |(&id, sprue): (&Id, &Sprue)| {
        let narrowest_mm = narrowest_mm(sprue);
        let bore_s = Body::Round { diameter_mm: narrowest_mm }.time_s(diffusivity, no_flow);
        let station = stations.under(lookup, sprue.at).map(|index| stations.all[index]);
        let channel_s = station.map(|station| station.body().time_s(diffusivity, no_flow));
        let freezes_s = channel_s.map_or(bore_s, |channel_s| bore_s.min(channel_s));
        let thickest = Body::Round { diameter_mm: sprue.diameter_mm };
        GateFreeze {
            sprue: id,
            at: sprue.at,
            narrowest_mm,
            bore_s,
            channel_s,
            packs_s: if channel_s.is_some() { freezes_s.min(packing_s) } else { 0.0 },
            is_let_off_early: packing_s < freezes_s,
            plug_cold_s: thickest.time_s(diffusivity, ejection),
        }
    };
    project.sprues.iter().map(of).collect()
}

/// The stretches that a thinner place cuts off from packing.
pub(super) fn unpacked(
    project: &Project,
    temperatures: &Temperatures,
    stations: &Stations,
    gates: &[GateFreeze],
    lookup: &Lookup<'_>,
) -> Vec<Unpacked> {
    let diffusivity = project.material.melt.diffusivity_mm2_s;
    let no_flow = temperatures.share(temperatures.no_flow_c);
    let members = &stations.network.members;
    let freezes_s: Vec<f64> = (0..members.len())
        .map(|member| {
            stations
                .of_member(member)
                .map_or(f64::INFINITY, |station| station.body().one_term_s(diffusivity, no_flow))
        })
        .collect();
    let mut reach = Reach::new(stations, &freezes_s);
    for gate in gates.iter().filter(|gate| gate.packs_s > 0.0) {
        if let Some(station) = stations.under(lookup, gate.at) {
            let member = stations.all[station].member;
            let packs_s = gate.packs_s.min(gate.bore_s);
            reach.start(member.from, packs_s);
            reach.start(member.to, packs_s);
        }
    }
    let until_s = reach.spread();
    let longest_s = gates.iter().map(|gate| gate.packs_s).fold(0.0, f64::max);
    let mut cut: Vec<Unpacked> = Vec::new();
    for (index, member) in members.iter().enumerate() {
        let Some(station) = stations.of_member(index) else { continue };
        let until_s = until_s[member.from].max(until_s[member.to]).min(freezes_s[index]);
        // What its gate does to it is told of the gate.
        if longest_s <= 0.0 || until_s >= CUT_OFF * longest_s.min(freezes_s[index]) {
            continue;
        }
        let goes_on = cut.last_mut().filter(|last| last.run == station.run && last.to_mm == member.from_mm);
        if let Some(last) = goes_on {
            last.to_mm = member.to_mm;
            last.until_s = last.until_s.min(until_s);
            last.freezes_s = last.freezes_s.max(freezes_s[index]);
        } else {
            cut.push(Unpacked {
                run: station.run,
                from_mm: member.from_mm,
                to_mm: member.to_mm,
                at: station.at,
                until_s,
                freezes_s: freezes_s[index],
            });
        }
    }
    for stretch in &mut cut {
        let path = stations.network.paths.iter().find(|path| path.run == stretch.run);
        if let Some(path) = path {
            stretch.at = path.at(0.5 * (stretch.from_mm + stretch.to_mm)).0;
        }
    }
    cut
}

/// Spreads times from node to node, each no later than the way there freezes.
struct Reach<'a> {
    stations: &'a Stations,
    freezes_s: &'a [f64],
    at_node: Vec<Vec<usize>>,
    until_s: Vec<f64>,
}

impl<'a> Reach<'a> {
    fn new(stations: &'a Stations, freezes_s: &'a [f64]) -> Self {
        let nodes = stations.network.nodes.len();
        let mut at_node = vec![Vec::new(); nodes];
        for (index, member) in stations.network.members.iter().enumerate() {
            at_node[member.from].push(index);
            at_node[member.to].push(index);
        }
        Self { stations, freezes_s, at_node, until_s: vec![0.0; nodes] }
    }

    fn start(&mut self, node: usize, until_s: f64) {
        self.until_s[node] = self.until_s[node].max(until_s);
    }

    /// The latest time at which melt still gets to every node: along the way whose first place to freeze is
    /// the last.
    fn spread(mut self) -> Vec<f64> {
        // The order of the bits is that of the numbers, as none is negative.
        let entry = |until_s: f64, node: usize| (until_s.to_bits(), node);
        let starts = self.until_s.iter().enumerate().filter(|(_, until_s)| **until_s > 0.0);
        let mut waiting: BinaryHeap<(u64, usize)> =
            starts.map(|(node, until_s)| entry(*until_s, node)).collect();
        while let Some((_, node)) = waiting.pop() {
            for &index in &self.at_node[node] {
                let member = &self.stations.network.members[index];
                let other = if member.from == node { member.to } else { member.from };
                let until_s = self.until_s[node].min(self.freezes_s[index]);
                if until_s > self.until_s[other] {
                    self.until_s[other] = until_s;
                    waiting.push(entry(until_s, other));
                }
            }
        }
        self.until_s
    }
}
