//! What the march has seen, told along the runs.

use glam::DVec2;
use keepside_model::{Id, Project};

use super::air;
use super::march::{Border, Ending, March};
use super::plan::Plan;
use super::result::{Filling, GateFill, RunFill, Short, ShortWhy, Station, Trapped, Weld, WeldKind};
use super::shot::Shot;
use crate::outline::plan_diameter_mm;

/// A weld is next to a feature when less than this lies between them, in diameters of the feature: the stress
/// round a hole has died down by then (Kirsch; any text on elasticity).
const NEAR_DIAMETERS: f64 = 1.0;

/// A place is thin where its thickness is less than this share of the run's mean. Assumed.
const THIN_SHARE: f64 = 0.8;

/// A feature that stands through less than this share of the depth leaves no line behind it: the stream goes on
/// over it. Assumed.
const SPLITS_SHARE: f64 = 0.5;

/// Two welds nearer than this are one, mm.
const SAME_MM: f64 = 1.0;

/// Stations nearer than this are one, mm.
const SAME_STATION_MM: f64 = 1e-6;

pub(super) fn tell(project: &Project, plan: &Plan, shot: &Shot, march: March<'_>) -> Filling {
    let teller = Teller { project, plan, shot, march: &march, mean_mm: mean_thicknesses_mm(plan) };
    let runs = teller.runs();
    let short = teller.short();
    let is_full = short.is_empty();
    let moved = march.chains.iter().flat_map(|chain| chain.fronts.iter().flatten());
    let last_s = moved.map(|front| front.moved_s).fold(0.0, f64::max);
    Filling {
        gates: teller.gates(),
        fill_time_s: last_s,
        is_full,
        part_volume_mm3: plan.volume_mm3(),
        sprue_volume_mm3: plan.bores.iter().map(|bore| bore.volume_mm3).sum(),
        peak_pressure_mpa: march.record.iter().map(|moment| moment.pressure_mpa).fold(0.0, f64::max),
        pressure_limited_from_s: march.limited_from_s,
        welds: teller.welds(&runs),
        trapped: teller.trapped(),
        short,
        runs,
        record: march.record,
    }
}

struct Teller<'a> {
    project: &'a Project,
    plan: &'a Plan,
    shot: &'a Shot,
    march: &'a March<'a>,
    /// Mean thickness of each path, mm.
    mean_mm: Vec<f64>,
}

impl Teller<'_> {
    fn run(&self, chain: usize) -> Id {
        self.plan.paths[self.plan.chains[chain].path].run
    }

    fn at(&self, chain: usize, along_mm: f64) -> (DVec2, DVec2) {
        self.plan.paths[self.plan.chains[chain].path].at(along_mm)
    }

    /// The borders of a chain's stretches.
    fn borders(&self, chain: usize) -> &[Border] {
        let of = &self.plan.chains[chain].stretches;
        &self.march.borders[of.start + chain..=of.end + chain]
    }

    fn runs(&self) -> Vec<RunFill> {
        let mut runs: Vec<RunFill> = Vec::new();
        for chain in 0..self.plan.chains.len() {
            let run = self.run(chain);
            if runs.last().is_none_or(|last| last.run != run) {
                runs.push(RunFill { run, stations: Vec::new() });
            }
            if let Some(fill) = runs.last_mut() {
                self.stations(chain, &mut fill.stations);
            }
        }
        runs
    }

    /// Appends the stations of a chain; its first is the last of the chain before.
    fn stations(&self, chain: usize, stations: &mut Vec<Station>) {
        let of = &self.plan.chains[chain];
        let state = &self.march.chains[chain];
        let ending = self.march.endings.iter().find(|end| end.chain == chain && end.met_c.is_some());
        // Where fronts met or stopped: place, time and the front.
        let mut stops: Vec<(f64, f64, usize, f64)> = Vec::new();
        match ending {
            Some(end) => {
                let front = state.fronts[0].as_ref().or(state.fronts[1].as_ref());
                let (gate, temperature_c) = front.map_or((0, 0.0), |f| (f.gate, f.temperature_c));
                let along_mm = self.plan.along_mm(chain, end.place_mm3);
                stops.push((along_mm, end.time_s, gate, temperature_c));
            }
            None if !state.is_full => {
                for (side, front) in state.fronts.iter().enumerate() {
                    let Some(front) = front else { continue };
                    let volume_mm3 =
                        if side == 0 { front.filled_mm3 } else { of.volume_mm3 - front.filled_mm3 };
                    let along_mm = self.plan.along_mm(chain, volume_mm3);
                    stops.push((along_mm, front.moved_s, front.gate, front.temperature_c));
                }
            }
            None => {}
        }
        let gate =
            |time_s: Option<f64>, gate: usize| time_s.and(self.plan.bores.get(gate)).map(|bore| bore.gate);
        let put = |stations: &mut Vec<Station>, station: Station| match stations.last_mut() {
            Some(last) if station.along_mm - last.along_mm <= SAME_STATION_MM => {
                // The earlier of two tellings of one place, with the higher of its peaks.
                let peak_mpa = last.peak_pressure_mpa.max(station.peak_pressure_mpa);
                let shear_per_s = last.shear_rate_per_s.max(station.shear_rate_per_s);
                if last.time_s.is_none() && station.time_s.is_some() {
                    *last = station;
                }
                (last.peak_pressure_mpa, last.shear_rate_per_s) = (peak_mpa, shear_per_s);
            }
            _ => stations.push(station),
        };
        let borders = self.borders(chain);
        let mut stops = stops.into_iter().peekable();
        for (index, border) in borders.iter().enumerate() {
            let last = of.stretches.len() - 1;
            let before = of.stretches.start + index.min(last + 1).saturating_sub(1);
            let after = of.stretches.start + index.min(last);
            let along_mm = if index > last {
                self.plan.stretches[after].to_mm
            } else {
                self.plan.stretches[after].from_mm
            };
            let layers = [before, after].map(|stretch| &self.march.layers.now[stretch]);
            let station = |along_mm: f64, time_s: Option<f64>, by: usize, temperature_c: f64| {
                let is_wet = time_s.is_some();
                Station {
                    along_mm,
                    at: self.at(chain, along_mm).0,
                    time_s,
                    gate: gate(time_s, by),
                    end_pressure_mpa: if is_wet { border.pressure_mpa } else { 0.0 },
                    peak_pressure_mpa: border.peak_mpa,
                    temperature_c: if is_wet { temperature_c } else { self.shot.melt_c },
                    shear_rate_per_s: layers[0].peak_shear_per_s.max(layers[1].peak_shear_per_s),
                    skin_mm: if is_wet { layers[0].skin_mm.max(layers[1].skin_mm) } else { 0.0 },
                }
            };
            while let Some((stop_mm, time_s, by, temperature_c)) = stops.next_if(|stop| stop.0 <= along_mm) {
                put(stations, station(stop_mm, Some(time_s), by, temperature_c));
            }
            // A border that two fronts met at is told by the stop.
            let time_s = border.time_s.or_else(|| ending.map(|end| end.time_s));
            put(stations, station(along_mm, time_s, border.gate, border.temperature_c));
        }
    }

    fn gates(&self) -> Vec<GateFill> {
        let whole_mm3: f64 = self.march.bores.iter().map(|bore| bore.injected_mm3).sum();
        let of = |(bore, state): (&super::plan::Bore, &super::march::BoreState)| GateFill {
            gate: bore.gate,
            opens_s: state.opens_s,
            share: if whole_mm3 > 0.0 { state.injected_mm3 / whole_mm3 } else { 0.0 },
            peak_flow_mm3_s: state.peak_flow_mm3_s,
            shear_rate_per_s: self.shot.ducts.tube_shear_rate_per_s(state.peak_flow_mm3_s, bore.narrow_mm),
            peak_pressure_mpa: state.peak_mpa,
            frozen_s: state.frozen_s,
        };
        self.plan.bores.iter().zip(&self.march.bores).map(of).collect()
    }

    fn welds(&self, runs: &[RunFill]) -> Vec<Weld> {
        let mut welds: Vec<Weld> = Vec::new();
        for ending in &self.march.endings {
            let Some(temperatures_c) = ending.met_c else { continue };
            let weld = self.weld(ending, temperatures_c);
            let is_same = |known: &Weld| {
                known.at.distance(weld.at) < SAME_MM && (known.time_s - weld.time_s).abs() < 1e-6
            };
            if !welds.iter().any(is_same) {
                welds.push(weld);
            }
        }
        welds.extend(self.behind_features(runs));
        welds.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
        welds
    }

    fn weld(&self, ending: &Ending, temperatures_c: [f64; 2]) -> Weld {
        let chain = &self.plan.chains[ending.chain];
        let along_mm = self.plan.along_mm(ending.chain, ending.place_mm3);
        let path = &self.plan.paths[chain.path];
        let half_mm = 0.5 * path.channel_at(along_mm).0;
        // Beside a junction the streams come from two arms and go on into others.
        let stretches = &self.plan.stretches[chain.stretches.clone()];
        let ends_mm = [stretches[0].from_mm, stretches[stretches.len() - 1].to_mm];
        let joins = [0, 1].into_iter().find(|&side| {
            let node = chain.nodes[side];
            let is_junction = self.plan.degree[node] > 2;
            is_junction && (along_mm - ends_mm[side]).abs() <= half_mm
        });
        let met = joins.and_then(|side| {
            let first = self.march.nodes[chain.nodes[side]]?.direction;
            let own = self.plan.arriving(ending.chain, 1 - side);
            (first != DVec2::ZERO).then(|| own.angle_to(first).abs().to_degrees())
        });
        let (kind, angle_deg) = met.map_or((WeldKind::HeadOn, 180.0), |deg| (WeldKind::Joining, deg));
        self.weld_at(chain.path, along_mm, ending.time_s, (kind, angle_deg), temperatures_c)
    }

    fn weld_at(
        &self,
        path: usize,
        along_mm: f64,
        time_s: f64,
        (kind, angle_deg): (WeldKind, f64),
        temperatures_c: [f64; 2],
    ) -> Weld {
        let of = &self.plan.paths[path];
        let (at, _) = of.at(along_mm);
        let (width_mm, depth_mm) = of.channel_at(along_mm);
        let thickness_mm = width_mm.min(depth_mm);
        let near_feature = match kind {
            WeldKind::Behind(feature) => Some(feature),
            WeldKind::HeadOn | WeldKind::Joining => self.nearest_feature(at),
        };
        Weld {
            at,
            run: of.run,
            along_mm,
            time_s,
            kind,
            angle_deg,
            temperatures_c,
            near_feature,
            thickness_mm,
            is_thin: thickness_mm < THIN_SHARE * self.mean_mm[path],
        }
    }

    /// The feature within reach of a weld that is nearest to it.
    fn nearest_feature(&self, at: DVec2) -> Option<Id> {
        let near = self.project.features.iter().filter_map(|(&id, feature)| {
            let diameter_mm = plan_diameter_mm(&feature.kind);
            let away_mm = feature.at.distance(at) - 0.5 * diameter_mm;
            (away_mm <= NEAR_DIAMETERS * diameter_mm).then_some((away_mm, id))
        });
        near.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, id)| id)
    }

    /// The line that every feature leaves where the stream closes again behind it.
    fn behind_features(&self, runs: &[RunFill]) -> Vec<Weld> {
        let mut welds = Vec::new();
        for obstacle in &self.plan.standing {
            let is_split = obstacle.ways_mm[0].is_some() && obstacle.ways_mm[1].is_some();
            if !is_split || obstacle.depth_share < SPLITS_SHARE {
                continue;
            }
            let run = self.plan.paths[obstacle.path].run;
            let Some(fill) = runs.iter().find(|fill| fill.run == run) else { continue };
            let place = |along_mm: f64| {
                let after = fill.stations.partition_point(|station| station.along_mm < along_mm);
                let pair = fill.stations.get(after.max(1) - 1..=after.max(1))?;
                let share = (along_mm - pair[0].along_mm) / (pair[1].along_mm - pair[0].along_mm);
                let (from_s, to_s) = (pair[0].time_s?, pair[1].time_s?);
                let mix = |a: f64, b: f64| a + (b - a) * share.clamp(0.0, 1.0);
                Some((mix(from_s, to_s), mix(pair[0].temperature_c, pair[1].temperature_c)))
            };
            let reach_mm = obstacle.reach_mm();
            let sides = [obstacle.along_mm - reach_mm, obstacle.along_mm + reach_mm];
            let [Some(before), Some(after)] = sides.map(place) else { continue };
            // The stream comes from the side that fills first.
            let (along_mm, (time_s, temperature_c)) =
                if before.0 <= after.0 { (sides[1], after) } else { (sides[0], before) };
            let kind = WeldKind::Behind(obstacle.feature);
            let temperatures_c = [temperature_c; 2];
            welds.push(self.weld_at(obstacle.path, along_mm, time_s, (kind, 0.0), temperatures_c));
        }
        welds
    }

    fn trapped(&self) -> Vec<Trapped> {
        let airs = air::before(self.plan, self.march, |chain, along_mm| self.way_out(chain, along_mm));
        let mut trapped: Vec<Trapped> = self
            .march
            .endings
            .iter()
            .zip(airs)
            .map(|(ending, air_mm3)| {
                let along_mm = self.plan.along_mm(ending.chain, ending.place_mm3);
                Trapped {
                    at: self.at(ending.chain, along_mm).0,
                    run: self.run(ending.chain),
                    along_mm,
                    time_s: ending.time_s,
                    way_out: self.way_out(ending.chain, along_mm),
                    air_mm3,
                    is_weld: ending.met_c.is_some(),
                }
            })
            .collect();
        trapped.sort_by(|a, b| b.time_s.total_cmp(&a.time_s));
        trapped
    }

    /// What lets the air out at a place of a chain.
    fn way_out(&self, chain: usize, along_mm: f64) -> Option<Id> {
        let path = &self.plan.paths[self.plan.chains[chain].path];
        let (at, _) = path.at(along_mm);
        air::way_out(self.project, at, 0.5 * path.channel_at(along_mm).0)
    }

    fn short(&self) -> Vec<Short> {
        let mut short = Vec::new();
        let is_joined = self.joined();
        for (index, (chain, state)) in self.plan.chains.iter().zip(&self.march.chains).enumerate() {
            if state.is_full {
                continue;
            }
            let [one_mm3, other_mm3] =
                [0, 1].map(|side| state.fronts[side].as_ref().map_or(0.0, |front| front.filled_mm3));
            let from_mm = self.plan.along_mm(index, one_mm3);
            let to_mm = self.plan.along_mm(index, chain.volume_mm3 - other_mm3);
            let own = state.fronts.iter().flatten().find_map(|front| front.stopped);
            let why = if is_joined[chain.nodes[0]] {
                own.unwrap_or_else(|| self.why_stopped())
            } else {
                ShortWhy::NoGate
            };
            short.push(Short {
                run: self.run(index),
                from_mm,
                to_mm,
                at: self.at(index, 0.5 * (from_mm + to_mm)).0,
                volume_mm3: (chain.volume_mm3 - one_mm3 - other_mm3).max(0.0),
                why,
            });
        }
        short
    }

    /// Why places stay empty before which no front stopped.
    fn why_stopped(&self) -> ShortWhy {
        let fronts = self.march.chains.iter().flat_map(|chain| chain.fronts.iter().flatten());
        let froze = self.march.bores.iter().any(|bore| bore.frozen_s.is_some());
        match self.march.stopped {
            ShortWhy::NoPressure if froze => ShortWhy::Froze,
            ShortWhy::NoPressure => {
                fronts.into_iter().find_map(|front| front.stopped).unwrap_or(ShortWhy::NoPressure)
            }
            why => why,
        }
    }

    /// Whether each node is joined to a gate.
    fn joined(&self) -> Vec<bool> {
        let mut is_joined = vec![false; self.plan.degree.len()];
        self.plan.bores.iter().for_each(|bore| is_joined[bore.node] = true);
        let mut grows = true;
        while grows {
            grows = false;
            for chain in &self.plan.chains {
                if is_joined[chain.nodes[0]] != is_joined[chain.nodes[1]] {
                    chain.nodes.iter().for_each(|&node| is_joined[node] = true);
                    grows = true;
                }
            }
        }
        is_joined
    }
}

/// Mean of the smaller of width and depth along each path, mm.
fn mean_thicknesses_mm(plan: &Plan) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); plan.paths.len()];
    for chain in &plan.chains {
        let (sum, length_mm) = &mut sums[chain.path];
        for stretch in &plan.stretches[chain.stretches.clone()] {
            let middle_mm = 0.5 * (stretch.from_mm + stretch.to_mm);
            let (width_mm, depth_mm) = plan.paths[chain.path].channel_at(middle_mm);
            *sum += width_mm.min(depth_mm) * stretch.length_mm();
            *length_mm += stretch.length_mm();
        }
    }
    sums.into_iter().map(|(sum, length_mm)| if length_mm > 0.0 { sum / length_mm } else { 0.0 }).collect()
}
