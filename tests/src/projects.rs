//! Projects for tests of files: the demo projects, and projects made of random numbers.

use std::path::PathBuf;
use std::sync::Arc;

use glam::DVec2;
use keepside_model::bounds::{self, Bounds};
use keepside_model::{
    Datum, DrillCycles, Ejector, EjectorFace, EndShape, Ended, FeatureKind, Finish, GeneralTolerance,
    Grooves, Half, HeldBack, HoleUse, Id, KeptBy, KeptStretch, KeyingFeature, Lock, MaterialValue, Moulding,
    Note, Paper, PlateHole, Project, Projection, PullOff, Relief, Rib, Run, RunPoint, ScrewEnd, SheetChoices,
    Sprue, ThreadSize, ToleranceClass, Trial, Variant, Vent,
};

/// The path of a demo project.
pub fn demo_path(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../demo-projects");
    folder.join(name).with_extension(keepside_store::EXTENSION)
}

/// A demo project.
#[track_caller]
pub fn demo(name: &str) -> Project {
    keepside_store::load(&demo_path(name)).expect("the demo projects open")
}

/// A project in which every number, name and choice follows from random words: any bit pattern within
/// a number's range may come up. `names` must not be empty.
pub fn random_project(words: &[u64], names: &[String]) -> Project {
    let mut draw = Draw { words, next: 0, names };
    let mut project = Project::blank();
    project.name = draw.name();
    project.notes = draw.name();
    let part = &mut project.part;
    part.runs = (0..draw.below(3)).map(|_| (draw.id(), draw.run())).collect();
    part.moving_share = draw.number(bounds::SHARE);
    part.draft_moving_deg = draw.number(bounds::DRAFT);
    part.draft_fixed_deg = draw.number(bounds::DRAFT);
    part.edge_moving_mm = draw.number(bounds::EDGE);
    part.edge_fixed_mm = draw.number(bounds::EDGE);
    let (width_mm, height_mm) = (draw.number(bounds::RIB), draw.number(bounds::RIB));
    part.rib = (draw.below(2) == 0).then_some(Rib { half: Half::Moving, width_mm, height_mm });
    project.material.name = draw.name();
    for info in MaterialValue::LIST {
        let number = draw.number(info.bounds);
        match draw.below(4) {
            0 => project.material.set_own(info.value, number),
            1 => *(info.of_mut)(&mut project.material) = number,
            _ => {}
        }
    }
    project.moulding = draw.moulding();
    project.plates.width_mm = draw.number(bounds::PLATE_SIZE);
    project.plates.fixed_thickness_mm = draw.number(bounds::PLATE_THICKNESS);
    project.press.name = draw.name();
    project.press.stroke_mm = draw.number(bounds::STROKE);
    project.press.clamp_n = draw.number(bounds::CLAMP);
    project.press.shot_volume_mm3 = draw.number(bounds::SHOT);
    project.press.pressure_limit_mpa = draw.number(bounds::PRESSURE);
    project.holds.tack_mpa = draw.number(bounds::TACK);
    project.holds.tack_travel_mm = draw.number(bounds::TRAVEL);
    project.holds.tack_curve = draw.measured();
    project.holds.edge_curve = draw.measured();
    project.scatter.tack.shot = draw.number(bounds::LOG_SPREAD);
    project.scatter.filled.median = draw.number(bounds::LOG_SPREAD);
    project.limits.roof_mm = draw.number(bounds::LIMIT_LENGTH);
    project.sprues = (0..draw.below(3)).map(|_| (draw.id(), draw.sprue())).collect();
    project.vents = (0..draw.below(3)).map(|_| (draw.id(), draw.vent())).collect();
    project.features = (0..draw.below(4)).map(|_| (draw.id(), draw.feature())).collect();
    project.ejectors = (0..draw.below(3)).map(|_| (draw.id(), draw.ejector())).collect();
    project.holes = (0..draw.below(3)).map(|_| (draw.id(), draw.hole())).collect();
    project.remarks = (0..draw.below(3)).map(|_| (draw.id(), draw.note())).collect();
    project.locked = project.ids().into_iter().filter(|_| draw.below(3) == 0).collect();
    let pin = project.holes.keys().next().copied();
    project.sheet = draw.sheet(pin);
    let layout = project.clone();
    project.trials = (0..draw.below(3)).map(|_| draw.trial()).collect();
    project.variants = (0..draw.below(3)).map(|_| draw.variant(&layout)).collect();
    project
}

/// Draws values from a list of random words, over and over.
struct Draw<'a> {
    words: &'a [u64],
    next: usize,
    names: &'a [String],
}

impl Draw<'_> {
    fn word(&mut self) -> u64 {
        self.next += 1;
        // Mixed with the count, so that a short list does not repeat itself.
        let word = self.words[self.next % self.words.len()];
        word.wrapping_add(self.next as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(29)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.word() % count as u64) as usize
    }

    /// Numbers of one sign are ordered as their bit patterns are.
    fn number(&mut self, range: Bounds) -> f64 {
        let is_negative = range.min < 0.0 && self.below(2) == 0;
        let (near, far, sign) =
            if is_negative { (0.0, -range.min, -1.0) } else { (range.min.max(0.0), range.max, 1.0) };
        let count = far.to_bits() - near.to_bits() + 1;
        sign * f64::from_bits(near.to_bits() + self.word() % count)
    }

    fn at(&mut self) -> DVec2 {
        DVec2::new(self.number(bounds::COORDINATE), self.number(bounds::COORDINATE))
    }

    fn name(&mut self) -> String {
        let index = self.below(self.names.len());
        self.names[index].clone()
    }

    /// Never the same twice: the count is part of it.
    fn id(&mut self) -> Id {
        Id((self.word() as u32 & 0x1fff_0000) | self.next as u32)
    }

    fn moulding(&mut self) -> Moulding {
        let mut maybe = |range| [None, Some(self.number(range))][self.below(2)];
        Moulding {
            own_melt_temperature_c: maybe(bounds::TEMPERATURE),
            own_mould_temperature_c: maybe(bounds::TEMPERATURE),
            own_ejection_temperature_c: maybe(bounds::TEMPERATURE),
            cooling_time_s: maybe(bounds::COOLING_TIME),
            injection_rate_mm3_s: self.number(bounds::FLOW_RATE),
            packing_pressure_mpa: self.number(bounds::PACKING_PRESSURE),
            packing_time_s: self.number(bounds::PACKING_TIME),
            held_back: HeldBack::ALL[self.below(2)],
        }
    }

    fn trial(&mut self) -> Trial {
        let by = [KeptBy::Moving, KeptBy::Fixed, KeptBy::Between, KeptBy::Neither][self.below(4)];
        let mut stretch = |by| KeptStretch {
            run: self.id(),
            from_mm: self.number(bounds::ALONG),
            to_mm: self.number(bounds::ALONG),
            by,
        };
        Trial {
            kept: vec![stretch(by)],
            name: self.name(),
            shots: 1 + self.below(100_000) as u32,
            settings: self.name(),
            sprayed_moving: self.below(2) == 0,
            sprayed_fixed: self.below(2) == 0,
            layout: (self.below(2) == 0).then(|| self.name()),
            ended: (self.below(2) == 0).then(|| Ended::ALL[self.below(Ended::ALL.len())]),
            broke: (self.below(2) == 0).then(|| (0..self.below(3)).map(|_| self.id()).collect()),
            bumps_mm: (0..self.below(3)).map(|_| (self.id(), self.number(bounds::BUMP))).collect(),
            photo: self.name(),
            remarks: self.name(),
            is_taken_in: self.below(2) == 0,
        }
    }

    fn half(&mut self) -> Half {
        [Half::Moving, Half::Fixed][self.below(2)]
    }

    fn run(&mut self) -> Run {
        let mut point = || RunPoint {
            at: self.at(),
            width_mm: self.number(bounds::CHANNEL_WIDTH),
            depth_mm: self.number(bounds::CHANNEL_DEPTH),
            bulge: self.number(bounds::BULGE),
        };
        let points = [point(), point(), point()];
        let points = points[..self.below(4)].to_vec();
        Run { name: self.name(), points, start: EndShape::Round, end: EndShape::Square }
    }

    fn sprue(&mut self) -> Sprue {
        Sprue {
            name: self.name(),
            at: self.at(),
            half: self.half(),
            diameter_mm: self.number(bounds::SPRUE_DIAMETER),
            length_mm: self.number(bounds::SPRUE_LENGTH),
            draft_deg: self.number(bounds::DRAFT),
            finish: [Finish::AsTurned, Finish::Polished][self.below(2)],
            measured: self.measured(),
        }
    }

    fn vent(&mut self) -> Vent {
        Vent {
            name: self.name(),
            at: self.at(),
            half: self.half(),
            width_mm: self.number(bounds::VENT_WIDTH),
            depth_mm: self.number(bounds::VENT_DEPTH),
            length_mm: self.number(bounds::VENT_LENGTH),
            relief: [None, Some(self.relief())][self.below(2)],
        }
    }

    fn relief(&mut self) -> Relief {
        Relief { land_mm: self.number(bounds::VENT_LENGTH), depth_mm: self.number(bounds::VENT_DEPTH) }
    }

    fn feature(&mut self) -> KeyingFeature {
        let thread = ThreadSize::ALL[self.below(ThreadSize::ALL.len())];
        let kind = match self.below(5) {
            0 => FeatureKind::SetScrew { thread, end: ScrewEnd::ALL[self.below(5)] },
            1 => FeatureKind::CapHead {
                thread,
                turned_mm: [None, Some(self.number(bounds::FEATURE_SIZE))][self.below(2)],
                chamfer_mm: self.number(bounds::CHAMFER),
            },
            2 => FeatureKind::TurnedHead {
                head_diameter_mm: self.number(bounds::FEATURE_SIZE),
                neck_diameter_mm: self.number(bounds::FEATURE_SIZE),
                head_height_mm: self.number(bounds::FEATURE_SIZE),
                underside_deg: self.number(bounds::UNDERSIDE),
            },
            3 => FeatureKind::RingedPost {
                diameter_mm: self.number(bounds::FEATURE_SIZE),
                ring_depth_mm: self.number(bounds::RING),
                ring_width_mm: self.number(bounds::RING),
                land_mm: self.number(bounds::RING),
                flank_deg: self.number(bounds::UNDERSIDE),
            },
            _ => FeatureKind::PlainPost { diameter_mm: self.number(bounds::FEATURE_SIZE) },
        };
        let protrusion_mm = self.number(bounds::PROTRUSION);
        let measured = self.measured();
        KeyingFeature {
            name: self.name(),
            lock: Lock::ALL[self.below(5)],
            screw_length_mm: [None, Some(self.number(bounds::SCREW_LENGTH))][self.below(2)],
            measured,
            ..KeyingFeature::new(self.at(), self.half(), kind, protrusion_mm)
        }
    }

    fn note(&mut self) -> Note {
        let text = format!("{}\n{}", self.name(), self.name());
        Note { text, at: self.at() }
    }

    /// Choices for the sheets; a datum pin may be missing.
    fn sheet(&mut self, pin: Option<Id>) -> SheetChoices {
        let position_mm = self.number(bounds::POSITION_TOLERANCE);
        SheetChoices {
            paper: Paper::ALL[self.below(4)],
            datum: [Datum::LowerLeft, Datum::Centre, Datum::GuidePin(pin.unwrap_or(Id(7)))][self.below(3)],
            back_views: self.below(2) == 0,
            drawing_number: self.name(),
            legal_owner: self.name(),
            creator: self.name(),
            approved_by: self.name(),
            date_of_issue: self.name(),
            revision: self.name(),
            general_tolerance: match self.below(4) {
                3 => GeneralTolerance::Own(self.name()),
                class => GeneralTolerance::Iso2768(ToleranceClass::ALL[class]),
            },
            position_tolerance_mm: (self.below(2) == 0).then_some(position_mm),
            projection: [Projection::FirstAngle, Projection::ThirdAngle][self.below(2)],
            drill_cycles: DrillCycles {
                wanted: self.below(2) == 0,
                safe_height_mm: self.number(bounds::SAFE_HEIGHT),
                retract_mm: self.number(bounds::RETRACT),
                peck_mm: self.number(bounds::PECK),
                feed_mm_min: [None, Some(self.number(bounds::FEED))][self.below(2)],
                spindle_rpm: [None, Some(self.number(bounds::SPINDLE))][self.below(2)],
            },
        }
    }

    /// A layout like this one with another title, plates and sprues.
    fn variant(&mut self, layout: &Project) -> Variant {
        let mut layout = layout.clone();
        layout.name = self.name();
        layout.plates.height_mm = self.number(bounds::PLATE_SIZE);
        layout.sprues = (0..self.below(3)).map(|_| (self.id(), self.sprue())).collect();
        let known = layout.ids();
        layout.locked.retain(|id| known.contains(id));
        Variant { name: self.name(), layout: Arc::new(layout) }
    }

    /// A measured pull-off curve, or none.
    fn measured(&mut self) -> Option<PullOff> {
        let (rise, gone, pull) = (self.number(bounds::TRAVEL), self.number(bounds::TRAVEL), self.below(1000));
        let points = vec![(0.0, 0.0), (rise, 1.0 + pull as f64), (rise + gone, 0.0)];
        (self.below(2) == 0).then(|| PullOff::new(points).expect("a curve"))
    }

    fn ejector(&mut self) -> Ejector {
        Ejector {
            name: self.name(),
            at: self.at(),
            diameter_mm: self.number(bounds::EJECTOR_DIAMETER),
            length_mm: self.number(bounds::EJECTOR_LENGTH),
            stroke_mm: self.number(bounds::EJECTOR_STROKE),
            face: [EjectorFace::Plain, EjectorFace::Grooved, EjectorFace::Crossed][self.below(3)],
            grooves: Grooves {
                pitch_mm: self.number(bounds::GROOVE),
                mouth_mm: self.number(bounds::GROOVE),
                depth_mm: self.number(bounds::GROOVE),
                lean_deg: self.number(bounds::LEAN),
            },
            measured: self.measured(),
        }
    }

    fn hole(&mut self) -> PlateHole {
        let diameter_mm = self.number(bounds::HOLE_DIAMETER);
        PlateHole { name: self.name(), purpose: HoleUse::GuidePin, at: self.at(), diameter_mm }
    }
}
