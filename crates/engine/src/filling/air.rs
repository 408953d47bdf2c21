//! Where the air goes that the fronts drive before them.

use glam::DVec2;
use keepside_model::{Id, Project};

use super::march::March;
use super::plan::Plan;

/// How far beyond the channel's wall a vent or ejector may lie from the last place and still let its air out,
/// mm. Assumed.
pub(crate) const REACH_MM: f64 = 2.0;

/// The vent, or else the ejector, through whose clearance air leaves a place of a channel.
///
/// That air leaves beside ejector pins is common practice, no source; keying screws in their threads are
/// taken as tight.
pub(super) fn way_out(project: &Project, at: DVec2, half_width_mm: f64) -> Option<Id> {
    let reach_mm = half_width_mm + REACH_MM;
    let nearest = |places: &mut dyn Iterator<Item = (Id, f64)>| {
        places.filter(|place| place.1 <= reach_mm).min_by(|a, b| a.1.total_cmp(&b.1)).map(|place| place.0)
    };
    let mut vents = project.vents.iter().map(|(&id, vent)| (id, vent.at.distance(at) - 0.5 * vent.width_mm));
    let mut ejectors =
        project.ejectors.iter().map(|(&id, pin)| (id, pin.at.distance(at) - 0.5 * pin.diameter_mm));
    nearest(&mut vents).or_else(|| nearest(&mut ejectors))
}

/// For each place where a front ended, the air that had no way out but there, mm³.
///
/// Time is run backwards: air comes back where melt was last, pockets grow and run together. Until a pocket
/// comes to a vent, or joins one that fills later, its air belongs to the place where it vanished.
pub(super) fn before(plan: &Plan, march: &March<'_>, way_out: impl Fn(usize, f64) -> Option<Id>) -> Vec<f64> {
    // Whole chains and their parts: a stretch is air from the time at which the last of it filled.
    let mut pieces: Vec<(f64, usize, usize)> = Vec::new();
    for (chain, of) in plan.chains.iter().enumerate() {
        let met = march.endings.iter().find(|end| end.chain == chain && end.met_c.is_some());
        for (step, stretch) in of.stretches.clone().enumerate() {
            let first = of.stretches.start + chain + step;
            let borders = [march.borders[first].time_s, march.borders[first + 1].time_s];
            let filled_s = match borders {
                _ if !march.chains[chain].is_full && borders.contains(&None) => f64::INFINITY,
                [Some(one_s), Some(other_s)] => {
                    let holds_weld = met.is_some_and(|end| {
                        let along_mm = plan.along_mm(chain, end.place_mm3);
                        let here = &plan.stretches[stretch];
                        (here.from_mm..=here.to_mm).contains(&along_mm)
                    });
                    let met_s = met.filter(|_| holds_weld).map_or(0.0, |end| end.time_s);
                    one_s.max(other_s).max(met_s)
                }
                _ => met.map_or(f64::INFINITY, |end| end.time_s),
            };
            pieces.push((filled_s, chain, stretch));
        }
    }
    pieces.sort_by(|a, b| b.0.total_cmp(&a.0));

    let mut pockets = Pockets::new(plan);
    let mut airs = vec![0.0; march.endings.len()];
    for (filled_s, chain, stretch) in pieces {
        let of = &plan.stretches[stretch];
        let is_vented = [of.from_mm, 0.5 * (of.from_mm + of.to_mm), of.to_mm]
            .into_iter()
            .any(|along_mm| way_out(chain, along_mm).is_some());
        let ending = march.endings.iter().position(|end| {
            let along_mm = plan.along_mm(end.chain, end.place_mm3);
            end.chain == chain && (of.from_mm..=of.to_mm).contains(&along_mm)
        });
        pockets.add(chain, stretch, of.volume_mm3, ending, is_vented || filled_s.is_infinite(), &mut airs);
    }
    airs
}

/// Pockets of air that grow backwards in time.
struct Pockets<'a> {
    plan: &'a Plan,
    /// The stretch that stands for the pocket of each, or none yet.
    root: Vec<Option<usize>>,
    /// What each pocket has: its ending, and whether it has met a vent.
    has: Vec<(Option<usize>, bool)>,
    /// Stretches at the ends of chains, at every node.
    at_node: Vec<Vec<usize>>,
}

impl<'a> Pockets<'a> {
    fn new(plan: &'a Plan) -> Self {
        let mut at_node = vec![Vec::new(); plan.degree.len()];
        for chain in &plan.chains {
            at_node[chain.nodes[0]].push(chain.stretches.start);
            at_node[chain.nodes[1]].push(chain.stretches.end - 1);
        }
        let count = plan.stretches.len();
        Self { plan, root: vec![None; count], has: vec![(None, false); count], at_node }
    }

    fn find(&mut self, stretch: usize) -> Option<usize> {
        let mut at = stretch;
        while let Some(up) = self.root[at] {
            if up == at {
                return Some(at);
            }
            at = up;
        }
        None
    }

    fn add(
        &mut self,
        chain: usize,
        stretch: usize,
        volume_mm3: f64,
        ending: Option<usize>,
        is_vented: bool,
        airs: &mut [f64],
    ) {
        self.root[stretch] = Some(stretch);
        self.has[stretch] = (ending, is_vented);
        let of = &self.plan.chains[chain];
        let mut neighbours = Vec::new();
        if stretch > of.stretches.start {
            neighbours.push(stretch - 1);
        } else {
            neighbours.extend(&self.at_node[of.nodes[0]]);
        }
        if stretch + 1 < of.stretches.end {
            neighbours.push(stretch + 1);
        } else {
            neighbours.extend(&self.at_node[of.nodes[1]]);
        }
        let mut pocket = stretch;
        for neighbour in neighbours {
            let Some(other) = self.find(neighbour) else { continue };
            if other != pocket {
                // The ending that fills last, which came first backwards, takes over what is before both.
                let (one, two) = (self.has[pocket], self.has[other]);
                self.root[pocket] = Some(other);
                self.has[other] = (two.0.or(one.0), one.1 || two.1);
                pocket = other;
            }
        }
        let (ending, is_vented) = self.has[pocket];
        if let (Some(ending), false) = (ending, is_vented) {
            airs[ending] += volume_mm3;
        }
    }
}
