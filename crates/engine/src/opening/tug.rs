//! The tug of war as equations: the part's beams, the holds of both halves on it, and contact.
//!
//! Every hold acts at a spot inside an element. Its travel is the spot's displacement from its half:
//! w for the fixed half, U − w for the moving half.

use glam::{DVec2, DVec3};
use keepside_model::Half;

use crate::beam::{Beams, Matrix, SpotForce};
use crate::hold::Curve;
use crate::opening::law::{Slide, TackLaw};
use crate::opening::spot::{Extra, ExtraKind, Face, Guide, LineSpot, PointLaw, PointSpot, Pusher};

/// The whole tug of war.
#[derive(Clone)]
pub(crate) struct Tug<B: Beams> {
    pub(crate) beams: B,
    pub(crate) tack: TackLaw,
    pub(crate) lines: Vec<LineSpot<B::Spot>>,
    pub(crate) extras: Vec<Extra<B::Spot>>,
    /// Curves of the extras.
    pub(crate) curves: Vec<Curve>,
    pub(crate) guides: Vec<Guide<B::Spot>>,
    pub(crate) laws: Vec<PointLaw>,
    pub(crate) points: Vec<PointSpot<B::Spot>>,
    /// Ejector pins; none while the mould opens.
    pub(crate) pushers: Vec<Pusher<B::Spot>>,
    /// Sideways force on each law at the last accepted step, N.
    pub(crate) sides: Vec<DVec2>,
    /// Viscosity of each freedom: N (or N mm) per unit of displacement per mm of opening.
    pub(crate) viscosity: Vec<f64>,
    /// Whether each node is in a sudden jump.
    pub(crate) jumps: Vec<bool>,
    /// Viscous force on each freedom in the last accepted step.
    pub(crate) drag_before: Vec<f64>,
    /// Loads from outside on each freedom, N or N mm; zero in an opening run.
    pub(crate) load: Vec<f64>,
}

/// A moment of the opening: where the mould is and where it was at the last accepted step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moment<'a> {
    pub(crate) opening_mm: f64,
    pub(crate) opened_by_mm: f64,
    pub(crate) before: &'a [f64],
    pub(crate) now: &'a [f64],
}

/// Share of the viscosity that resists motion at the speeds of the two halves and between them.
const CALM: f64 = 0.01;

/// A node that moves more than this many times as fast as the mould is in a sudden jump,
const JUMP: f64 = 10.0;
/// and is in it until it moves less than this many times as fast.
const CALM_AGAIN: f64 = 2.0;

/// Opening at which a worst travel passed `gone_mm` in a step, if it did, by interpolation.
#[inline]
fn passed_at(at: Moment<'_>, worst_before_mm: f64, worst_mm: f64, gone_mm: f64) -> Option<f64> {
    let is_now = worst_before_mm < gone_mm && worst_mm >= gone_mm;
    let rest = || (worst_mm - gone_mm) / (worst_mm - worst_before_mm);
    is_now.then(|| at.opening_mm - at.opened_by_mm * rest())
}

/// Sign of a half's travel against w, and its travel at w.
#[inline]
fn travel(face: usize, z: f64, opening_mm: f64) -> (f64, f64) {
    if face == FIXED { (1.0, z) } else { (-1.0, opening_mm - z) }
}

/// Index of the fixed half in arrays of two.
pub(crate) const FIXED: usize = 0;
/// Index of the moving half in arrays of two.
pub(crate) const MOVING: usize = 1;

/// Index of a half in arrays of two.
pub(crate) fn index(half: Half) -> usize {
    match half {
        Half::Fixed => FIXED,
        Half::Moving => MOVING,
    }
}

/// The sideways force of a lock on a spot at `side`, and whether the plastic gives way.
#[inline]
fn lock(law: &PointLaw, away: DVec2) -> (DVec2, bool) {
    let trial = law.lateral_n_mm * away;
    let size = trial.length();
    if size > law.lateral_limit_n { (trial * (law.lateral_limit_n / size), true) } else { (trial, false) }
}

impl<B: Beams> Tug<B> {
    /// Freedoms of the whole part.
    pub(crate) fn size(&self) -> usize {
        B::FREEDOMS * self.beams.nodes()
    }

    /// Out-of-balance forces at `at.now` and their derivative. With `convex` every softening hold
    /// counts with its secant, so that the matrix is positive definite.
    pub(crate) fn assemble(&self, at: Moment<'_>, convex: bool, to: &mut Balance<B>) {
        let Balance { residual, matrix, turns } = to;
        residual.fill(0.0);
        matrix.clear();
        self.beams.turns(at.now, turns);
        self.beams.assemble(at.now, turns, residual, matrix, convex);
        let beams = &self.beams;
        for line in &self.lines {
            let place = beams.place(&line.spot, at.now, turns);
            if let Some(force) = self.line_force(line, place, at.opening_mm, convex) {
                beams.spread(&line.spot, turns, &force, convex, residual, matrix);
            }
        }
        for extra in &self.extras {
            let place = beams.place(&extra.spot, at.now, turns);
            if let Some(force) = self.extra_force(extra, place.z, at.opening_mm, convex) {
                beams.spread(&extra.spot, turns, &force, convex, residual, matrix);
            }
        }
        for guide in &self.guides {
            let place = beams.place(&guide.spot, at.now, turns);
            // As far out as at the last accepted step: the walls do not push along the opening.
            let stiffness = guide.left_n_mm();
            if stiffness > 0.0 {
                let DVec2 { x, y } = guide.across;
                let force = SpotForce {
                    side: guide.across * (stiffness * place.truncate().dot(guide.across)),
                    xx: stiffness * x * x,
                    xy: stiffness * x * y,
                    yy: stiffness * y * y,
                    ..SpotForce::default()
                };
                beams.spread(&guide.spot, turns, &force, convex, residual, matrix);
            }
        }
        for point in &self.points {
            let place = beams.place(&point.spot, at.now, turns);
            if let Some(force) = self.point_force(point, place, at.opening_mm, convex) {
                beams.spread(&point.spot, turns, &force, convex, residual, matrix);
            }
        }
        for pusher in &self.pushers {
            let place = beams.place(&pusher.spot, at.now, turns);
            let beyond_mm = pusher.beyond_mm(place.z, at.opening_mm);
            if beyond_mm > 0.0 {
                let stiffness = pusher.stiffness_n_mm;
                let force = SpotForce { z: stiffness * beyond_mm, zz: stiffness, ..SpotForce::default() };
                beams.spread(&pusher.spot, turns, &force, convex, residual, matrix);
            }
        }
        for (i, load) in self.load.iter().enumerate() {
            let (force, slope) = self.viscous(i, at);
            residual[i] += force - load;
            matrix.add_diagonal(i, slope / at.opened_by_mm);
        }
    }

    /// Viscous force on freedom `i` and its derivative by the freedom's speed.
    ///
    /// Along the opening it resists what moves faster than the mould, forwards or back. Between the
    /// speeds of the two halves a hundredth of it resists motion against their mean, so that a part that
    /// hangs free has a place; neither half is favoured.
    #[inline]
    fn viscous(&self, i: usize, at: Moment<'_>) -> (f64, f64) {
        let viscosity = self.viscosity[i];
        let speed = (at.now[i] - at.before[i]) / at.opened_by_mm;
        if i % B::FREEDOMS != B::Z {
            return (viscosity * speed, viscosity);
        }
        let excess = speed - speed.clamp(0.0, 1.0);
        let slope = if excess == 0.0 { CALM } else { 1.0 + CALM };
        (viscosity * (excess + CALM * (speed - 0.5)), viscosity * slope)
    }

    /// Viscous force on freedom `i`.
    pub(crate) fn viscous_force(&self, i: usize, at: Moment<'_>) -> f64 {
        self.viscous(i, at).0
    }

    #[inline]
    fn line_force(
        &self,
        line: &LineSpot<B::Spot>,
        place: DVec3,
        opening_mm: f64,
        convex: bool,
    ) -> Option<SpotForce> {
        let mut out = SpotForce::default();
        let mut acts = false;
        let DVec3 { x, y, z } = place;
        for (half, face) in line.faces.iter().enumerate() {
            let (sign, gap) = travel(half, z, opening_mm);
            if gap < 0.0 {
                acts = true;
                out.z += sign * line.contact_n_mm * gap;
                out.zz += line.contact_n_mm;
            }
            if face.tack_worst_mm < self.tack.gone_mm && face.tack_n_mm > 0.0 {
                acts = true;
                let open = gap.max(0.0);
                let apart = (open * open + x * x + y * y).sqrt();
                let worst = apart.max(face.tack_worst_mm);
                let stiffness = face.tack_n_mm * self.tack.left(worst);
                out.z += sign * stiffness * open;
                out.side += stiffness * place.truncate();
                out.xx += stiffness;
                out.yy += stiffness;
                if gap >= 0.0 {
                    out.zz += stiffness;
                }
                if !convex && apart > face.tack_worst_mm && apart > 0.0 {
                    let weaken = face.tack_n_mm * self.tack.left_slope(worst) / apart;
                    out.zz += weaken * open * open;
                    out.xx += weaken * x * x;
                    out.xy += weaken * x * y;
                    out.yy += weaken * y * y;
                    out.zx += sign * weaken * open * x;
                    out.zy += sign * weaken * open * y;
                }
            }
            if face.wall_slide.worst_mm < face.wall.gone_mm && face.wall.peak_n > 0.0 {
                acts = true;
                let pull = face.wall_slide.pull(gap, face.wall.stiffness(), |t| face.wall.envelope(t));
                out.z += sign * pull.force;
                out.zz += if convex { pull.secant } else { pull.tangent };
            }
        }
        acts.then_some(out)
    }

    #[inline]
    fn extra_force(
        &self,
        extra: &Extra<B::Spot>,
        z: f64,
        opening_mm: f64,
        convex: bool,
    ) -> Option<SpotForce> {
        let curve = &self.curves[extra.curve];
        if extra.slide.worst_mm >= curve.let_go_travel_mm() {
            return None;
        }
        let (sign, gap) = travel(extra.half, z, opening_mm);
        let stiffness = extra.scale * curve.initial_stiffness_n_mm();
        let pull = extra.slide.pull(gap, stiffness, |t| scaled(curve, extra.scale, t));
        Some(SpotForce {
            z: sign * pull.force,
            zz: if convex { pull.secant } else { pull.tangent },
            ..SpotForce::default()
        })
    }

    #[inline]
    fn point_force(
        &self,
        point: &PointSpot<B::Spot>,
        place: DVec3,
        opening_mm: f64,
        convex: bool,
    ) -> Option<SpotForce> {
        let law = &self.laws[point.law];
        if !point.is_engaged {
            return None;
        }
        let (sign, gap) = travel(index(law.half), place.z, law.opening_mm(opening_mm));
        let pull = point.slide.pull(gap, law.stiffness_n_mm, |t| law.curve.force_and_slope(t));
        let away = place.truncate() - point.lateral_rest_mm;
        let (side, gives_way) = lock(law, away);
        // Where the plastic gives way the force is constant along itself and turns with the place across.
        let size = away.length();
        let across = if gives_way { law.lateral_limit_n / size } else { law.lateral_n_mm };
        let lost = if gives_way && !convex { away / size * across.sqrt() } else { DVec2::ZERO };
        let mut out = SpotForce {
            z: sign * pull.force * point.share,
            zz: if convex { pull.secant } else { pull.tangent } * point.share,
            side: side * point.share,
            xx: (across - lost.x * lost.x) * point.share,
            xy: -lost.x * lost.y * point.share,
            yy: (across - lost.y * lost.y) * point.share,
            ..SpotForce::default()
        };
        if point.grip_n > 0.0 {
            let (grip, stiffness) = Self::grip(point, law, gap);
            out.z += sign * grip * point.share;
            // Constant while it slides: the secant keeps the matrix definite in either case.
            let secant =
                if gap == point.grip_rest_mm { stiffness } else { grip / (gap - point.grip_rest_mm) };
            out.zz += if convex { secant } else { stiffness } * point.share;
        }
        Some(out)
    }

    /// Friction of the plastic pressed sideways on a feature, N, and its stiffness, N/mm.
    #[inline]
    fn grip(point: &PointSpot<B::Spot>, law: &PointLaw, gap: f64) -> (f64, f64) {
        let trial = law.stiffness_n_mm * (gap - point.grip_rest_mm);
        let force = trial.clamp(-point.grip_n, point.grip_n);
        (force, if force == trial { law.stiffness_n_mm } else { 0.0 })
    }

    /// Makes the damage of an accepted step permanent and adds up the work that everything took.
    /// `turns` belong to `at.now`. Returns whether the part tore.
    pub(crate) fn accept(&mut self, at: Moment<'_>, turns: &B::Turns, work: &mut Work) -> bool {
        let Self { beams, lines, extras, guides, points, pushers, laws, curves, tack, sides, .. } = self;
        for line in lines {
            let DVec3 { x, y, z } = beams.place(&line.spot, at.now, turns);
            for (half, face) in line.faces.iter_mut().enumerate() {
                let (_, gap) = travel(half, z, at.opening_mm);
                let open = gap.max(0.0);
                let apart = (open * open + x * x + y * y).sqrt();
                let tack_before_mm = face.tack_worst_mm;
                face.tack_worst_mm = tack_before_mm.max(apart);
                if let Some(at_mm) = passed_at(at, tack_before_mm, face.tack_worst_mm, tack.gone_mm) {
                    face.tack_gone_at_mm = at_mm;
                    work.events += 1;
                }
                let taken = tack.work(face.tack_n_mm, apart, face.tack_worst_mm);
                work.tack[half] += taken - face.tack_work_mj;
                face.tack_work_mj = taken;
                face.tack_pull_n = face.tack_n_mm * tack.left(face.tack_worst_mm) * open;
                let wall = face.wall;
                let wall_before_mm = face.wall_slide.worst_mm;
                let taken =
                    face.wall_slide.accept(gap, wall.stiffness(), |t| wall.envelope(t), |t| wall.area(t));
                work.wall[half] += taken;
                if let Some(at_mm) = passed_at(at, wall_before_mm, face.wall_slide.worst_mm, wall.gone_mm) {
                    face.wall_gone_at_mm = at_mm;
                    work.events += 1;
                }
            }
        }
        for extra in extras {
            let z = beams.place(&extra.spot, at.now, turns).z;
            let (_, gap) = travel(extra.half, z, at.opening_mm);
            let curve = &curves[extra.curve];
            let before_mm = extra.slide.worst_mm;
            let taken = extra.slide.accept(
                gap,
                extra.scale * curve.initial_stiffness_n_mm(),
                |t| scaled(curve, extra.scale, t),
                |t| extra.scale * curve.area_to(t),
            );
            work.extra[extra.half][extra.kind as usize] += taken;
            if let Some(at_mm) = passed_at(at, before_mm, extra.slide.worst_mm, curve.let_go_travel_mm()) {
                extra.gone_at_mm = at_mm;
                work.events += 1;
            }
        }
        for guide in guides {
            let place = beams.place(&guide.spot, at.now, turns);
            let across_mm = place.truncate().dot(guide.across);
            let force = guide.left_n_mm() * across_mm;
            work.guides += 0.5 * (force + guide.force_before) * (across_mm - guide.across_before_mm);
            (guide.force_before, guide.across_before_mm) = (force, across_mm);
        }
        sides.clear();
        sides.resize(laws.len(), DVec2::ZERO);
        for point in points.iter_mut() {
            let law = &laws[point.law];
            let place = beams.place(&point.spot, at.now, turns);
            let (_, gap) = travel(index(law.half), place.z, law.opening_mm(at.opening_mm));
            let let_go_mm = law.curve.let_go_travel_mm();
            let before_mm = point.slide.worst_mm;
            let opening_before_mm = law.opening_mm(at.opening_mm - at.opened_by_mm);
            let (_, gap_before) = travel(index(law.half), point.z_before_mm, opening_before_mm);
            point.z_before_mm = place.z;
            if point.is_engaged {
                let (grip, _) = Self::grip(point, law, gap);
                work.point[point.law] += point.share * 0.5 * (grip + point.grip_pull_n) * (gap - gap_before);
                point.grip_pull_n = grip;
                if law.stiffness_n_mm > 0.0 {
                    point.grip_rest_mm = gap - grip / law.stiffness_n_mm;
                }
                if law.lateral_n_mm > 0.0 {
                    let side_mm = place.truncate();
                    let (side, gives_way) = lock(law, side_mm - point.lateral_rest_mm);
                    if gives_way {
                        let rest = side_mm - side / law.lateral_n_mm;
                        work.point[point.law] += point.share * side.dot(rest - point.lateral_rest_mm);
                        point.lateral_rest_mm = rest;
                    }
                    sides[point.law] += point.share * side;
                }
            }
            let taken = point.slide.accept(
                gap,
                law.stiffness_n_mm,
                |t| law.curve.force_and_slope(t),
                |t| law.curve.area_to(t),
            );
            work.point[point.law] += point.share * taken;
            if let Some(at_mm) = passed_at(at, before_mm, point.slide.worst_mm, let_go_mm) {
                point.gone_at_mm = at_mm;
                work.events += 1;
            }
        }
        for pusher in pushers {
            let z = beams.place(&pusher.spot, at.now, turns).z;
            pusher.force_n = pusher.stiffness_n_mm * pusher.beyond_mm(z, at.opening_mm).max(0.0);
        }
        let (lost, tore) = beams.accept(at.now, turns);
        work.part += lost;
        self.viscous_work(at, work);
        tore
    }

    /// Lets friction and channel walls follow the accepted step. Both act in a step with the strength that
    /// they had at its start; where they are weaker at the start of the next one, the viscosity takes over
    /// the rest in that instant. Returns by how much the moving half pulls more, N.
    pub(crate) fn follow(&mut self, at: Moment<'_>, turns: &B::Turns) -> f64 {
        let Self { beams, guides, points, laws, sides, drag_before, .. } = self;
        for guide in guides {
            let place = beams.place(&guide.spot, at.now, turns);
            let before = guide.left_n_mm();
            for (worst, out) in guide.worst_mm.iter_mut().zip([place.z, at.opening_mm - place.z]) {
                *worst = worst.max(out);
            }
            let weaker = before - guide.left_n_mm();
            if weaker != 0.0 {
                let lost = guide.across * (weaker * guide.across_before_mm);
                beams.push(&guide.spot, turns, lost.extend(0.0), drag_before);
                guide.force_before = guide.left_n_mm() * guide.across_before_mm;
            }
        }
        let mut moving = 0.0;
        for point in points.iter_mut().filter(|point| point.is_engaged) {
            let law = &laws[point.law];
            // A plug or pin is one body: what presses its sides apart but not aside does not grip it.
            point.grip_n = law.friction * sides[point.law].length();
            let start_n = point.grip_pull_n.clamp(-point.grip_n, point.grip_n);
            let weaker = point.share * (point.grip_pull_n - start_n);
            if weaker != 0.0 {
                let (sign, _) = travel(index(law.half), 0.0, 0.0);
                beams.push(&point.spot, turns, DVec3::new(0.0, 0.0, sign * weaker), drag_before);
                if law.half == Half::Moving {
                    moving -= weaker;
                }
                point.grip_pull_n = start_n;
            }
        }
        moving
    }

    /// Lets go of what an accepted step has left without a hold: plugs and pins that are out, and with
    /// `tore` everything that grips a torn element. What their springs had stored is lost. Returns whether
    /// any force has vanished at once.
    pub(crate) fn drop_lost(
        &mut self,
        at: Moment<'_>,
        turns: &B::Turns,
        tore: bool,
        work: &mut Work,
    ) -> bool {
        let mut dropped = tore;
        let Self { beams, lines, points, laws, .. } = self;
        for point in points {
            let law = &laws[point.law];
            let is_out = point.slide.worst_mm >= law.curve.let_go_travel_mm();
            let is_torn = tore && beams.is_torn(B::element_of(&point.spot));
            if point.is_engaged && (is_out || is_torn) {
                point.is_engaged = false;
                let away = beams.place(&point.spot, at.now, turns).truncate() - point.lateral_rest_mm;
                let stored = 0.5 * law.lateral_n_mm * away.length_squared();
                work.point[point.law] += point.share * stored;
                dropped |= stored > 0.0 || point.grip_pull_n != 0.0;
                (point.grip_n, point.grip_pull_n) = (0.0, 0.0);
            }
        }
        if tore {
            for line in lines.iter().filter(|line| beams.is_torn(B::element_of(&line.spot))) {
                let z = beams.place(&line.spot, at.now, turns).z;
                for half in [FIXED, MOVING] {
                    let (_, gap) = travel(half, z, at.opening_mm);
                    work.part += 0.5 * line.contact_n_mm * gap.min(0.0).powi(2);
                }
            }
            self.drop_holds_on_torn(at.opening_mm);
        }
        dropped
    }

    /// Adds up what viscosity took, that of nodes in a sudden jump apart.
    fn viscous_work(&mut self, at: Moment<'_>, work: &mut Work) {
        for node in 0..self.beams.nodes() {
            let first = B::FREEDOMS * node;
            let mut taken = 0.0;
            for i in first..first + B::FREEDOMS {
                let force = self.viscous_force(i, at);
                taken += 0.5 * (force + self.drag_before[i]) * (at.now[i] - at.before[i]);
                self.drag_before[i] = force;
            }
            let moved = (B::shift(at.now, node) - B::shift(at.before, node)).length();
            let jumps = &mut self.jumps[node];
            *jumps = moved > if *jumps { CALM_AGAIN } else { JUMP } * at.opened_by_mm;
            if *jumps {
                work.jumps += taken;
            } else {
                work.viscous += taken;
            }
        }
    }

    /// Energy stored in contact and in the sideways locks, mJ: part of what the holds took.
    pub(crate) fn stored_mj(&self, now: &[f64], turns: &B::Turns, opening_mm: f64) -> f64 {
        let mut stored = 0.0;
        for line in &self.lines {
            let z = self.beams.place(&line.spot, now, turns).z;
            for half in [FIXED, MOVING] {
                let (_, gap) = travel(half, z, opening_mm);
                stored += 0.5 * line.contact_n_mm * gap.min(0.0).powi(2);
            }
        }
        for point in &self.points {
            let law = &self.laws[point.law];
            if point.is_engaged {
                let away = self.beams.place(&point.spot, now, turns).truncate() - point.lateral_rest_mm;
                stored += 0.5 * point.share * law.lateral_n_mm * away.length_squared();
            }
        }
        stored
    }

    /// What grips or pushes a torn element grips and pushes neither piece: it is left out from now on.
    fn drop_holds_on_torn(&mut self, opening_mm: f64) {
        let gone = Slide { worst_mm: f64::INFINITY, ..Slide::default() };
        let lost = Face {
            tack_worst_mm: f64::INFINITY,
            tack_gone_at_mm: opening_mm,
            wall_slide: gone,
            wall_gone_at_mm: opening_mm,
            ..Face::default()
        };
        let Self { beams, lines, extras, guides, points, pushers, .. } = self;
        let is_torn = |spot: &B::Spot| beams.is_torn(B::element_of(spot));
        for line in lines.iter_mut().filter(|line| is_torn(&line.spot)) {
            line.faces = [lost; 2];
            line.contact_n_mm = 0.0;
        }
        for extra in extras.iter_mut().filter(|extra| is_torn(&extra.spot)) {
            (extra.slide, extra.scale, extra.gone_at_mm) = (gone, 0.0, opening_mm);
        }
        for guide in guides.iter_mut().filter(|guide| is_torn(&guide.spot)) {
            guide.stiffness_n_mm = 0.0;
        }
        for point in points.iter_mut().filter(|point| is_torn(&point.spot)) {
            point.share = 0.0;
            point.slide = gone;
            point.gone_at_mm = opening_mm;
        }
        // Pushed on, one end of a torn element would be levered away for ever by the other.
        for pusher in pushers.iter_mut().filter(|pusher| is_torn(&pusher.spot)) {
            (pusher.stiffness_n_mm, pusher.force_n) = (0.0, 0.0);
        }
    }

    /// Force of the moving half on the part along z at the last accepted step, N: its holds less contact.
    pub(crate) fn moving_pull(&self, now: &[f64], turns: &B::Turns, opening_mm: f64) -> f64 {
        let mut pull = 0.0;
        for line in &self.lines {
            let face = &line.faces[MOVING];
            pull += face.tack_pull_n + face.wall_slide.pull_before;
            let (_, gap) = travel(MOVING, self.beams.place(&line.spot, now, turns).z, opening_mm);
            pull += line.contact_n_mm * gap.min(0.0);
        }
        let extras = self.extras.iter().filter(|extra| extra.half == MOVING);
        pull += extras.map(|extra| extra.slide.pull_before).sum::<f64>();
        let points = self.points.iter().filter(|point| self.laws[point.law].half == Half::Moving);
        pull + points.map(PointSpot::pull_n).sum::<f64>()
    }
}

/// Force and slope of a curve times a factor.
#[inline]
fn scaled(curve: &Curve, scale: f64, travel_mm: f64) -> (f64, f64) {
    let (force, slope) = curve.force_and_slope(travel_mm);
    (scale * force, scale * slope)
}

/// Work taken so far, mJ, by face tack and wall drag of each half, by each law, by the part's plastic
/// flow and tearing, and by viscosity.
#[derive(Clone, Debug, Default)]
pub(crate) struct Work {
    pub(crate) tack: [f64; 2],
    pub(crate) wall: [f64; 2],
    /// By half and kind.
    pub(crate) extra: [[f64; ExtraKind::ALL.len()]; 2],
    pub(crate) guides: f64,
    pub(crate) point: Vec<f64>,
    pub(crate) part: f64,
    pub(crate) viscous: f64,
    pub(crate) jumps: f64,
    /// Spots that have let go.
    pub(crate) events: usize,
}

/// Out-of-balance forces, their derivative, and the room needed to find them.
#[derive(Clone)]
pub(crate) struct Balance<B: Beams> {
    pub(crate) residual: Vec<f64>,
    pub(crate) matrix: B::Matrix,
    pub(crate) turns: B::Turns,
}

impl<B: Beams> Balance<B> {
    pub(crate) fn new(beams: &B) -> Self {
        let residual = vec![0.0; B::FREEDOMS * beams.nodes()];
        Self { residual, matrix: beams.matrix(), turns: B::Turns::default() }
    }
}
