//! What is round a feature, a gate or an ejector: the tightest gap to everything of each kind.

use glam::DVec2;
use keepside_model::{Ejector, Half, HoleUse, Id, KeyingFeature, Sprue, Vent};

use super::edge::Extent;
use super::gap::{Gap, GapTo};
use super::grid::Grid;
use super::lookup::Lookup;
use super::{Wall, hole_diameter_mm, plan_diameter_mm};

/// What a gap is measured from.
#[derive(Clone, Copy)]
struct Round<'a> {
    id: Id,
    half: Half,
    at: DVec2,
    /// Radius in the channel, mm.
    radius_mm: f64,
    /// Radius of its hole in the plate, mm.
    hole_mm: f64,
    sort: Sort<'a>,
}

#[derive(Clone, Copy)]
enum Sort<'a> {
    Feature(&'a KeyingFeature),
    Sprue,
    Ejector,
}

impl<'a> Round<'a> {
    fn feature(id: Id, feature: &'a KeyingFeature) -> Self {
        let radius_mm = 0.5 * plan_diameter_mm(&feature.kind);
        let hole_mm = 0.5 * hole_diameter_mm(&feature.kind);
        let sort = Sort::Feature(feature);
        Self { id, half: feature.half, at: feature.at, radius_mm, hole_mm, sort }
    }

    fn sprue(id: Id, sprue: &Sprue) -> Self {
        let radius_mm = 0.5 * sprue.diameter_mm;
        Self { id, half: sprue.half, at: sprue.at, radius_mm, hole_mm: radius_mm, sort: Sort::Sprue }
    }

    fn ejector(id: Id, ejector: &Ejector) -> Self {
        let (half, radius_mm) = (Half::Moving, 0.5 * ejector.diameter_mm);
        Self { id, half, at: ejector.at, radius_mm, hole_mm: radius_mm, sort: Sort::Ejector }
    }
}

/// Round things of one kind.
struct Discs {
    discs: Vec<(Id, DVec2, f64)>,
    grid: Grid,
}

impl Discs {
    fn new(discs: impl Iterator<Item = (Id, DVec2, f64)>) -> Self {
        let discs: Vec<_> = discs.collect();
        let extent = |&(_, at, radius_mm): &(Id, DVec2, f64)| Extent {
            low: at - DVec2::splat(radius_mm),
            high: at + DVec2::splat(radius_mm),
        };
        let grid = Grid::new(discs.iter().map(extent).collect());
        Self { discs, grid }
    }

    /// The nearest to a point, without the one named; of equals the first.
    fn nearest(&self, at: DVec2, without: Id) -> Option<(Id, DVec2, f64)> {
        let mut best: Option<(f64, usize)> = None;
        self.grid.nearest(at, |index| {
            let (id, other, radius_mm) = self.discs[index];
            let this = (at.distance(other) - radius_mm, index);
            if id != without && best.is_none_or(|best| this < best) {
                best = Some(this);
            }
            best.map_or(f64::INFINITY, |(distance_mm, _)| distance_mm)
        });
        best.map(|(_, index)| self.discs[index])
    }
}

/// Everything that gaps lead to, sorted by kind.
pub(crate) struct Around<'l, 'a> {
    lookup: &'l Lookup<'a>,
    features: [Discs; 2],
    sprues: [Discs; 2],
    ejectors: Discs,
    bolts: Discs,
    guide_pins: Discs,
    /// With the direction of each.
    vents: Vec<(Id, &'a Vent, DVec2)>,
}

const HALVES: [Half; 2] = [Half::Moving, Half::Fixed];

impl<'l, 'a> Around<'l, 'a> {
    pub(crate) fn new(lookup: &'l Lookup<'a>) -> Self {
        let project = lookup.project();
        let features = HALVES.map(|half| {
            let of_half = project.features.iter().filter(|(_, feature)| feature.half == half);
            Discs::new(of_half.map(|(&id, f)| (id, f.at, 0.5 * plan_diameter_mm(&f.kind))))
        });
        let sprues = HALVES.map(|half| {
            let of_half = project.sprues.iter().filter(|(_, sprue)| sprue.half == half);
            Discs::new(of_half.map(|(&id, sprue)| (id, sprue.at, 0.5 * sprue.diameter_mm)))
        });
        let holes = |purpose: HoleUse| {
            let for_it = project.holes.iter().filter(move |(_, hole)| hole.purpose == purpose);
            Discs::new(for_it.map(|(&id, hole)| (id, hole.at, 0.5 * hole.diameter_mm)))
        };
        let ejectors = project.ejectors.iter().map(|(&id, pin)| (id, pin.at, 0.5 * pin.diameter_mm));
        let vents = project.vents.iter().map(|(&id, vent)| (id, vent, lookup.vent_direction(vent)));
        Self {
            lookup,
            features,
            sprues,
            ejectors: Discs::new(ejectors),
            bolts: holes(HoleUse::Bolt),
            guide_pins: holes(HoleUse::GuidePin),
            vents: vents.collect(),
        }
    }

    /// The gaps of every feature, gate and ejector.
    pub(crate) fn all(&self) -> Vec<Gap> {
        let project = self.lookup.project();
        let ids = project.features.keys().chain(project.sprues.keys()).chain(project.ejectors.keys());
        let mut gaps = Vec::new();
        ids.for_each(|&id| self.of(id, &mut gaps));
        gaps
    }

    /// Appends the gaps of one of them.
    pub(crate) fn of(&self, id: Id, gaps: &mut Vec<Gap>) {
        let project = self.lookup.project();
        let round = if let Some(feature) = project.features.get(&id) {
            Round::feature(id, feature)
        } else if let Some(sprue) = project.sprues.get(&id) {
            Round::sprue(id, sprue)
        } else if let Some(ejector) = project.ejectors.get(&id) {
            Round::ejector(id, ejector)
        } else {
            return;
        };
        self.to_walls(&round, gaps);
        for half in 0..2 {
            gaps.extend(self.to_disc(&round, &self.features[half], GapTo::Feature, round.radius_mm));
            gaps.extend(self.to_disc(&round, &self.sprues[half], GapTo::Sprue, round.radius_mm));
        }
        gaps.extend(self.to_disc(&round, &self.ejectors, GapTo::Ejector, round.radius_mm));
        gaps.extend(self.to_disc(&round, &self.bolts, GapTo::Bolt, round.hole_mm));
        gaps.extend(self.to_disc(&round, &self.guide_pins, GapTo::GuidePin, round.hole_mm));
        gaps.extend(self.to_vent(&round));
        gaps.push(self.to_plate_edge(&round));
        gaps.extend(self.to_roof(&round));
    }

    /// What the limits ask for, mm.
    fn needed_mm(&self, from: &Round<'_>, to: GapTo) -> Option<f64> {
        let project = self.lookup.project();
        let limits = &project.limits;
        let is_feature = matches!(from.sort, Sort::Feature(_));
        match to {
            // Plastic flows round a feature; a gate and an ejector may be as wide as the channel.
            GapTo::ChannelEdge | GapTo::FarEdge => Some(if is_feature { limits.flow_gap_mm } else { 0.0 }),
            GapTo::ChannelEnd(_) => Some(if is_feature { limits.end_gap_mm } else { 0.0 }),
            GapTo::Roof => Some(limits.roof_mm),
            GapTo::Bolt(_) | GapTo::GuidePin(_) | GapTo::PlateEdge => Some(limits.steel_wall_mm),
            GapTo::Vent(_) => Some(0.0),
            GapTo::Sprue(id) => (project.sprues.get(&id)?.half == from.half).then_some(limits.gate_gap_mm),
            GapTo::Ejector(_) if from.half == Half::Fixed => None,
            GapTo::Ejector(_) => Some(match from.sort {
                Sort::Sprue => limits.gate_gap_mm,
                Sort::Feature(_) | Sort::Ejector => limits.feature_gap_mm,
            }),
            GapTo::Feature(id) => {
                let other = project.features.get(&id)?;
                match from.sort {
                    Sort::Sprue => (other.half == from.half).then_some(limits.gate_gap_mm),
                    Sort::Ejector => (other.half == from.half).then_some(limits.feature_gap_mm),
                    Sort::Feature(_) if other.half == from.half => Some(limits.feature_gap_mm),
                    // Features of opposite halves that do not reach past each other leave the plastic
                    // between their tops to flow.
                    Sort::Feature(feature) => {
                        let depth_mm =
                            self.lookup.depth_at(from.at).or_else(|| self.lookup.depth_at(other.at))?;
                        let between_mm = depth_mm - feature.protrusion_mm - other.protrusion_mm;
                        (between_mm < limits.roof_mm).then_some(limits.flow_gap_mm)
                    }
                }
            }
        }
    }

    fn gap(&self, round: &Round<'_>, to: GapTo, gap_mm: f64, points: [DVec2; 2]) -> Gap {
        let ([from_point, to_point], needed_mm) = (points, self.needed_mm(round, to));
        Gap { item: round.id, to, gap_mm, needed_mm, from_point, to_point }
    }

    /// Gaps to the side walls on both sides and to the nearest end. Outside the channel the gap is
    /// negative, and only the wall that is nearest counts: it is the one to go back through.
    fn to_walls(&self, round: &Round<'_>, gaps: &mut Vec<Gap>) {
        let (at, lookup) = (round.at, self.lookup);
        let Some(clear) = lookup.clear(at) else { return };
        let to = |wall: Wall| match wall {
            Wall::End(run) => GapTo::ChannelEnd(run),
            Wall::Side(_) | Wall::Unknown => GapTo::ChannelEdge,
        };
        let rim = |towards: DVec2| at + towards.try_normalize().unwrap_or(DVec2::X) * round.radius_mm;
        if clear.distance_mm < 0.0 {
            // The far edge of what stands outside has furthest to go.
            let points = [rim(at - clear.at), clear.at];
            gaps.push(self.gap(round, to(clear.wall), clear.distance_mm - round.radius_mm, points));
            return;
        }
        let side = lookup.nearest_side(at);
        let far = side.and_then(|side| {
            let towards = (side.at - at).try_normalize().or_else(|| {
                lookup.channel_at(at).map(|place| place.direction.perp() * place.offset_mm.signum())
            })?;
            lookup.far_side(at, towards)
        });
        let far = far.map(|far| (GapTo::FarEdge, far));
        let near = side.map(|side| (GapTo::ChannelEdge, side));
        let end = lookup.nearest_end(at).map(|end| (to(end.wall), end));
        for (to, wall) in [near, far, end].into_iter().flatten() {
            let points = [rim(wall.at - at), wall.at];
            gaps.push(self.gap(round, to, wall.distance_mm - round.radius_mm, points));
        }
    }

    fn to_disc(
        &self,
        round: &Round<'_>,
        discs: &Discs,
        to: impl Fn(Id) -> GapTo,
        radius_mm: f64,
    ) -> Option<Gap> {
        let (id, other, other_radius_mm) = discs.nearest(round.at, round.id)?;
        let towards = (other - round.at).try_normalize().unwrap_or(DVec2::X);
        let gap_mm = round.at.distance(other) - radius_mm - other_radius_mm;
        let points = [round.at + towards * radius_mm, other - towards * other_radius_mm];
        Some(self.gap(round, to(id), gap_mm, points))
    }

    /// The nearest vent of the same half.
    fn to_vent(&self, round: &Round<'_>) -> Option<Gap> {
        let of_half = self.vents.iter().filter(|(_, vent, _)| vent.half == round.half);
        let slots = of_half.map(|&(id, vent, way)| (id, nearest_in_slot(vent, way, round.at)));
        let (id, at) =
            slots.min_by(|a, b| a.1.distance_squared(round.at).total_cmp(&b.1.distance_squared(round.at)))?;
        let towards = (at - round.at).try_normalize().unwrap_or(DVec2::X);
        let gap_mm = round.at.distance(at) - round.hole_mm;
        Some(self.gap(round, GapTo::Vent(id), gap_mm, [round.at + towards * round.hole_mm, at]))
    }

    fn to_plate_edge(&self, round: &Round<'_>) -> Gap {
        let plates = &self.lookup.project().plates;
        let (at, (wide, high)) = (round.at, (plates.width_mm, plates.height_mm));
        let edges = [
            (at.x, DVec2::NEG_X, DVec2::new(0.0, at.y)),
            (at.y, DVec2::NEG_Y, DVec2::new(at.x, 0.0)),
            (wide - at.x, DVec2::X, DVec2::new(wide, at.y)),
            (high - at.y, DVec2::Y, DVec2::new(at.x, high)),
        ];
        let [first, rest @ ..] = edges;
        let (distance_mm, out, edge) =
            rest.into_iter().fold(first, |best, edge| if edge.0 < best.0 { edge } else { best });
        let points = [at + out * round.hole_mm, edge];
        self.gap(round, GapTo::PlateEdge, distance_mm - round.hole_mm, points)
    }

    /// The plastic left over a feature; nothing is told of a feature outside the channel.
    fn to_roof(&self, round: &Round<'_>) -> Option<Gap> {
        let Sort::Feature(feature) = round.sort else { return None };
        let gap_mm = self.lookup.depth_at(round.at)? - feature.protrusion_mm;
        Some(self.gap(round, GapTo::Roof, gap_mm, [round.at; 2]))
    }
}

/// The point of a vent's slot nearest to `at`; the vent runs in the direction `out`.
pub(crate) fn nearest_in_slot(vent: &Vent, out: DVec2, at: DVec2) -> DVec2 {
    let away = at - vent.at;
    let half_mm = 0.5 * vent.width_mm;
    let along_mm = away.dot(out).clamp(0.0, vent.length_mm);
    let across_mm = away.dot(out.perp()).clamp(-half_mm, half_mm);
    vent.at + out * along_mm + out.perp() * across_mm
}
