//! What is told of the filling.

use glam::DVec2;
use keepside_model::Id;

use crate::opening;

/// How melt fills the part, from the moment it leaves the nozzle until it stops.
///
/// Places along a run are measured as in [`crate::Opening`]: from the tip of the part at the run's start.
#[derive(Clone, Debug, PartialEq)]
pub struct Filling {
    /// When melt passes each place of each run.
    pub runs: Vec<RunFill>,
    /// What goes through each gate that stands on the channel.
    pub gates: Vec<GateFill>,
    /// When the last place filled, or when the melt stopped short, s after it left the nozzle.
    pub fill_time_s: f64,
    /// Whether nothing is left empty.
    pub is_full: bool,
    /// Volume of the channel less what stands in it, mm³.
    pub part_volume_mm3: f64,
    /// Volume of the bores of the gates, mm³.
    pub sprue_volume_mm3: f64,
    /// Highest pressure at the nozzle, MPa.
    pub peak_pressure_mpa: f64,
    /// From when on the press can only hold its pressure limit, s; `None` if it keeps the rate to the end.
    pub pressure_limited_from_s: Option<f64>,
    /// Where fronts meet, in order of time.
    pub welds: Vec<Weld>,
    /// Where fronts come to an end and air is pressed together, the last to fill first.
    pub trapped: Vec<Trapped>,
    /// What stays empty.
    pub short: Vec<Short>,
    /// The course of the shot, in order of time.
    pub record: Vec<Moment>,
}

/// When melt passes along a run.
#[derive(Clone, Debug, PartialEq)]
pub struct RunFill {
    /// The run.
    pub run: Id,
    /// Places along it in order. Between two of them at most one front is on its way, at an even pace: where
    /// fronts meet and where one stops there is a station.
    pub stations: Vec<Station>,
}

/// A place along a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Place along the run, mm.
    pub along_mm: f64,
    /// Place in the plan, mm.
    pub at: DVec2,
    /// When a front arrives, s; `None` if it stays empty.
    pub time_s: Option<f64>,
    /// The gate that the front came from.
    pub gate: Option<Id>,
    /// Pressure of the melt at the end of filling, MPa.
    pub end_pressure_mpa: f64,
    /// Highest pressure of the melt during filling, MPa.
    pub peak_pressure_mpa: f64,
    /// Mean temperature of the melt that arrives, °C; that of the nozzle if it stays empty.
    pub temperature_c: f64,
    /// Highest shear rate at the wall during filling, 1/s.
    pub shear_rate_per_s: f64,
    /// Thickness of the frozen skin at the end of filling, mm.
    pub skin_mm: f64,
}

/// What goes through a gate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GateFill {
    /// The gate.
    pub gate: Id,
    /// When its bore is full and melt enters the channel, s; `None` if that never happens.
    pub opens_s: Option<f64>,
    /// Share of the part's melt that came through it, 0 to 1.
    pub share: f64,
    /// Highest flow, mm³/s.
    pub peak_flow_mm3_s: f64,
    /// Highest shear rate at the wall of its narrowest place, 1/s.
    pub shear_rate_per_s: f64,
    /// Highest pressure where it meets the channel, MPa.
    pub peak_pressure_mpa: f64,
    /// When it froze during filling, s; `None` if it is still open at the end of it.
    pub frozen_s: Option<f64>,
}

/// How two streams come together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WeldKind {
    /// Two fronts run into one another.
    HeadOn,
    /// Streams come together at a junction.
    Joining,
    /// One stream closes again behind a keying feature.
    Behind(Id),
}

/// Where two streams of melt meet: a weld line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weld {
    /// Place in the plan, mm.
    pub at: DVec2,
    /// The run.
    pub run: Id,
    /// Place along it, mm.
    pub along_mm: f64,
    /// When they meet, s.
    pub time_s: f64,
    /// How they meet.
    pub kind: WeldKind,
    /// Angle between the two directions of flow, degrees: 180 = head on, less where both go on together.
    pub angle_deg: f64,
    /// Mean temperatures of the melt on both sides when they meet, °C.
    pub temperatures_c: [f64; 2],
    /// A keying feature within reach of the line, which takes up load there; the nearest.
    pub near_feature: Option<Id>,
    /// The smaller of the channel's width and depth there, mm.
    pub thickness_mm: f64,
    /// Whether that is clearly less than elsewhere on this run.
    pub is_thin: bool,
}

/// A place where a front comes to an end, and the air before it with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trapped {
    /// Place in the plan, mm, on the centre line.
    pub at: DVec2,
    /// The run.
    pub run: Id,
    /// Place along it, mm.
    pub along_mm: f64,
    /// When the last of it fills, s.
    pub time_s: f64,
    /// The vent, or the ejector with its clearance, that lets the air out here; `None` if it is trapped.
    pub way_out: Option<Id>,
    /// Air that had no way out but this place, mm³ at the pressure of the room: what was left before the
    /// fronts when they passed the last vent.
    pub air_mm3: f64,
    /// Whether two fronts meet here; else it is the end of a channel.
    pub is_weld: bool,
}

/// Why a place stays empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShortWhy {
    /// It is joined to no gate.
    NoGate,
    /// The melt froze on its way.
    Froze,
    /// The way is closed by a keying feature.
    Blocked,
    /// The press has no more melt to give.
    ShotUsedUp,
    /// The pressure of the press does not move the melt any more.
    NoPressure,
}

/// A stretch that stays empty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Short {
    /// The run.
    pub run: Id,
    /// Start along it, mm.
    pub from_mm: f64,
    /// End along it, mm.
    pub to_mm: f64,
    /// Middle of it in the plan, mm.
    pub at: DVec2,
    /// Volume that stays empty, mm³.
    pub volume_mm3: f64,
    /// Why.
    pub why: ShortWhy,
}

/// A moment of the shot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Time since the melt left the nozzle, s.
    pub time_s: f64,
    /// Pressure at the nozzle from the moment before to this one, MPa.
    pub pressure_mpa: f64,
    /// Flow out of the nozzle meanwhile, mm³/s.
    pub rate_mm3_s: f64,
    /// Melt that has left the nozzle, mm³: flow through the gates, summed over time.
    pub injected_mm3: f64,
    /// Volume behind the fronts, bores of the gates included, mm³.
    pub filled_mm3: f64,
}

/// A front on its way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Front {
    /// The run.
    pub run: Id,
    /// Place along it, mm.
    pub along_mm: f64,
    /// Place in the plan, mm.
    pub at: DVec2,
    /// Whether it moves from the run's start towards its end.
    pub forwards: bool,
}

/// A stretch that is filled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filled {
    /// The run.
    pub run: Id,
    /// Start along it, mm.
    pub from_mm: f64,
    /// End along it, mm.
    pub to_mm: f64,
}

/// Why the filling was not computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotFilled {
    /// The part has no channel run.
    #[error("the part has no channel run; draw one")]
    NoRun,
    /// A run has no length.
    #[error("run R{run} has no length; drag its ends apart or delete it")]
    NoLength {
        /// The run.
        run: Id,
    },
    /// There is no gate.
    #[error("the part has no gate, so that nothing fills it; put one on the channel")]
    NoGate,
    /// No gate stands on the channel.
    #[error("gate S{gate} does not stand on the channel, so that nothing fills the part; move it there")]
    OffChannel {
        /// The first gate.
        gate: Id,
    },
    /// The melt does not flow at its own temperature.
    #[error(
        "the melt is {melt_c:.0} °C and does not flow below {no_flow_c:.0} °C; set a higher melt temperature"
    )]
    TooCold {
        /// Melt temperature, °C.
        melt_c: f64,
        /// No-flow temperature, °C.
        no_flow_c: f64,
    },
}

impl From<opening::NotComputed> for NotFilled {
    fn from(reason: opening::NotComputed) -> Self {
        match reason {
            opening::NotComputed::NoLength { run } => Self::NoLength { run },
            _ => Self::NoRun,
        }
    }
}

impl Filling {
    /// The place that fills last, if the part fills.
    pub fn last_to_fill(&self) -> Option<&Trapped> {
        self.trapped.first().filter(|_| self.is_full)
    }

    /// Where the fronts are at a time, s; none before melt enters the channel and after it has stopped.
    pub fn fronts_at(&self, time_s: f64) -> Vec<Front> {
        let mut fronts = Vec::new();
        for fill in &self.runs {
            for pair in fill.stations.windows(2) {
                let [from, to] = [pair[0], pair[1]];
                let Some(share) = share_at(from, to, time_s) else { continue };
                if share > 0.0 && share < 1.0 {
                    fronts.push(Front {
                        run: fill.run,
                        along_mm: from.along_mm + share * (to.along_mm - from.along_mm),
                        at: from.at.lerp(to.at, share),
                        forwards: from.time_s < to.time_s,
                    });
                }
            }
        }
        fronts
    }

    /// What is filled at a time, s: stretches of runs in order, joined where they touch.
    pub fn filled_at(&self, time_s: f64) -> Vec<Filled> {
        let mut filled: Vec<Filled> = Vec::new();
        for fill in &self.runs {
            for pair in fill.stations.windows(2) {
                let [from, to] = [pair[0], pair[1]];
                let Some(share) = share_at(from, to, time_s) else { continue };
                let turn_mm = from.along_mm + share * (to.along_mm - from.along_mm);
                let (from_mm, to_mm) =
                    if from.time_s <= to.time_s { (from.along_mm, turn_mm) } else { (turn_mm, to.along_mm) };
                if to_mm <= from_mm {
                    continue;
                }
                match filled.last_mut() {
                    Some(last) if last.run == fill.run && (last.to_mm - from_mm).abs() < 1e-9 => {
                        last.to_mm = to_mm;
                    }
                    _ => filled.push(Filled { run: fill.run, from_mm, to_mm }),
                }
            }
        }
        filled
    }
}

/// Where between two stations the border of the filled part lies at a time, as a share from the first;
/// `None` if one of them stays empty.
fn share_at(from: Station, to: Station, time_s: f64) -> Option<f64> {
    let (first_s, last_s) = (from.time_s?, to.time_s?);
    if first_s <= last_s {
        if time_s >= last_s {
            return Some(1.0);
        }
        // Nothing has passed the first one yet, or a share of the way has been gone.
        Some(((time_s - first_s) / (last_s - first_s)).clamp(0.0, 1.0))
    } else {
        if time_s >= first_s {
            return Some(0.0);
        }
        Some(1.0 - ((time_s - last_s) / (first_s - last_s)).clamp(0.0, 1.0))
    }
}
