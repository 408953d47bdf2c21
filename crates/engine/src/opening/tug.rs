//! The tug of war as equations: the part's chain, the holds of both halves on it, and contact.
//!
//! Every hold acts at a spot inside an element. Its travel is the spot's displacement from its half:
//! w for the fixed half, U − w for the moving half.

use keepside_model::Half;

use crate::beam::{Band, Chain, DOF};
use crate::opening::law::{Slide, TackLaw};
use crate::opening::spot::{Face, LineSpot, PointLaw, PointSpot, Spot};

/// The whole tug of war.
#[derive(Clone, Debug)]
pub(crate) struct Tug {
    pub(crate) chain: Chain,
    pub(crate) tack: TackLaw,
    pub(crate) lines: Vec<LineSpot>,
    pub(crate) laws: Vec<PointLaw>,
    pub(crate) points: Vec<PointSpot>,
    /// Viscosity of each freedom: N (or N mm) per unit of displacement per mm of opening.
    pub(crate) viscosity: Vec<f64>,
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

/// Force along z and x at a spot and its derivatives.
#[derive(Clone, Copy, Debug, Default)]
struct SpotForce {
    z: f64,
    x: f64,
    zz: f64,
    xx: f64,
    xz: f64,
}

impl Tug {
    /// Out-of-balance forces at `at.now` and their derivative. With `convex` every softening hold
    /// counts with its secant, so that the matrix is positive definite.
    pub(crate) fn assemble(&self, at: Moment<'_>, convex: bool, to: &mut Balance) {
        let Balance { residual, matrix, turns } = to;
        residual.fill(0.0);
        matrix.clear();
        Chain::turns(at.now, turns);
        self.chain.assemble(at.now, turns, residual, matrix, convex);
        for line in &self.lines {
            let (turn_1, turn_2) = (turns[line.spot.element], turns[line.spot.element + 1]);
            let place = line.spot.place(at.now, turn_1.0, turn_2.0);
            let force = self.line_force(line, place, at.opening_mm, convex);
            add(&line.spot, turn_1, turn_2, force, convex, residual, matrix);
        }
        for point in &self.points {
            let (turn_1, turn_2) = (turns[point.spot.element], turns[point.spot.element + 1]);
            let place = point.spot.place(at.now, turn_1.0, turn_2.0);
            let force = self.point_force(point, place, at.opening_mm, convex);
            add(&point.spot, turn_1, turn_2, force, convex, residual, matrix);
        }
        for (i, viscosity) in self.viscosity.iter().enumerate() {
            residual[i] += self.viscous_force(i, at) - self.load[i];
            matrix.add(i, i, viscosity / at.opened_by_mm);
        }
    }

    /// Viscous force on freedom `i`. It resists motion against the mean of both halves, so that
    /// neither half is favoured.
    pub(crate) fn viscous_force(&self, i: usize, at: Moment<'_>) -> f64 {
        let mean = if i % DOF == 1 { 0.5 } else { 0.0 };
        self.viscosity[i] * ((at.now[i] - at.before[i]) / at.opened_by_mm - mean)
    }

    #[inline]
    fn line_force(&self, line: &LineSpot, (x, z): (f64, f64), opening_mm: f64, convex: bool) -> SpotForce {
        let mut out = SpotForce::default();
        for (half, face) in line.faces.iter().enumerate() {
            let (sign, gap) = travel(half, z, opening_mm);
            if gap < 0.0 {
                out.z += sign * line.contact_n_mm * gap;
                out.zz += line.contact_n_mm;
            }
            if face.tack_worst_mm < self.tack.gone_mm && face.tack_n_mm > 0.0 {
                let open = gap.max(0.0);
                let apart = open.hypot(x);
                let worst = apart.max(face.tack_worst_mm);
                let stiffness = face.tack_n_mm * self.tack.left(worst);
                out.z += sign * stiffness * open;
                out.x += stiffness * x;
                out.xx += stiffness;
                if gap >= 0.0 {
                    out.zz += stiffness;
                }
                if !convex && apart > face.tack_worst_mm && apart > 0.0 {
                    let weaken = face.tack_n_mm * self.tack.left_slope(worst) / apart;
                    out.zz += weaken * open * open;
                    out.xx += weaken * x * x;
                    out.xz += sign * weaken * open * x;
                }
            }
            if face.wall_slide.worst_mm < face.wall.gone_mm && face.wall.peak_n > 0.0 {
                let pull = face.wall_slide.pull(gap, face.wall.stiffness(), |t| face.wall.envelope(t));
                out.z += sign * pull.force;
                out.zz += if convex { pull.secant } else { pull.tangent };
            }
        }
        out
    }

    #[inline]
    fn point_force(&self, point: &PointSpot, (x, z): (f64, f64), opening_mm: f64, convex: bool) -> SpotForce {
        let law = &self.laws[point.law];
        if point.slide.worst_mm >= law.curve.let_go_travel_mm() {
            return SpotForce::default();
        }
        let (sign, gap) = travel(index(law.half), z, opening_mm);
        let pull = point.slide.pull(gap, law.stiffness_n_mm, |t| law.curve.force_and_slope(t));
        let trial = law.lateral_n_mm * (x - point.lateral_rest_mm);
        let side = trial.clamp(-law.lateral_limit_n, law.lateral_limit_n);
        let side_stiffness = if side == trial {
            law.lateral_n_mm
        } else if convex {
            side / (x - point.lateral_rest_mm)
        } else {
            0.0
        };
        SpotForce {
            z: sign * pull.force * point.share,
            x: side * point.share,
            zz: if convex { pull.secant } else { pull.tangent } * point.share,
            xx: side_stiffness * point.share,
            xz: 0.0,
        }
    }

    /// Makes the damage of an accepted step permanent and adds up the work that everything took.
    /// Returns whether the part tore.
    pub(crate) fn accept(&mut self, at: Moment<'_>, work: &mut Work) -> bool {
        for line in &mut self.lines {
            let (x, z) = line.spot.displacement(at.now);
            for (half, face) in line.faces.iter_mut().enumerate() {
                let (_, gap) = travel(half, z, at.opening_mm);
                let open = gap.max(0.0);
                let apart = open.hypot(x);
                let tack_before_mm = face.tack_worst_mm;
                face.tack_worst_mm = tack_before_mm.max(apart);
                if let Some(at_mm) = passed_at(at, tack_before_mm, face.tack_worst_mm, self.tack.gone_mm) {
                    face.tack_gone_at_mm = at_mm;
                }
                let taken = self.tack.work(face.tack_n_mm, apart, face.tack_worst_mm);
                work.tack[half] += taken - face.tack_work_mj;
                face.tack_work_mj = taken;
                face.tack_pull_n = face.tack_n_mm * self.tack.left(face.tack_worst_mm) * open;
                let wall = face.wall;
                let wall_before_mm = face.wall_slide.worst_mm;
                let taken =
                    face.wall_slide.accept(gap, wall.stiffness(), |t| wall.envelope(t), |t| wall.area(t));
                work.wall[half] += taken;
                if let Some(at_mm) = passed_at(at, wall_before_mm, face.wall_slide.worst_mm, wall.gone_mm) {
                    face.wall_gone_at_mm = at_mm;
                }
            }
        }
        for point in &mut self.points {
            let law = &self.laws[point.law];
            let (x, z) = point.spot.displacement(at.now);
            let (_, gap) = travel(index(law.half), z, at.opening_mm);
            let let_go_mm = law.curve.let_go_travel_mm();
            let before_mm = point.slide.worst_mm;
            if before_mm < let_go_mm && law.lateral_n_mm > 0.0 {
                let side = (law.lateral_n_mm * (x - point.lateral_rest_mm))
                    .clamp(-law.lateral_limit_n, law.lateral_limit_n);
                let rest = x - side / law.lateral_n_mm;
                work.point[point.law] += point.share * side * (rest - point.lateral_rest_mm);
                point.lateral_rest_mm = rest;
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
            }
        }
        let mut tore = false;
        for i in 0..self.chain.elements.len() {
            let deformation = self.chain.deformation(i, at.now);
            let element = &mut self.chain.elements[i];
            let was_torn = element.is_torn;
            work.part += element.accept(deformation);
            tore |= element.is_torn && !was_torn;
        }
        if tore {
            self.drop_holds_on_torn(at.opening_mm);
        }
        for i in 0..self.viscosity.len() {
            let force = self.viscous_force(i, at);
            work.viscous += 0.5 * (force + self.drag_before[i]) * (at.now[i] - at.before[i]);
            self.drag_before[i] = force;
        }
        tore
    }

    /// Energy stored in contact, in the tack's sideways stretch, and in the sideways locks, mJ: part
    /// of what the holds took.
    pub(crate) fn stored_mj(&self, now: &[f64], opening_mm: f64) -> f64 {
        let mut stored = 0.0;
        for line in &self.lines {
            let (_, z) = line.spot.displacement(now);
            for half in [FIXED, MOVING] {
                let (_, gap) = travel(half, z, opening_mm);
                stored += 0.5 * line.contact_n_mm * gap.min(0.0).powi(2);
            }
        }
        for point in &self.points {
            let law = &self.laws[point.law];
            if point.slide.worst_mm < law.curve.let_go_travel_mm() {
                let (x, _) = point.spot.displacement(now);
                stored += 0.5 * point.share * law.lateral_n_mm * (x - point.lateral_rest_mm).powi(2);
            }
        }
        stored
    }

    /// What grips a torn element grips neither piece: it is left out from now on.
    fn drop_holds_on_torn(&mut self, opening_mm: f64) {
        let gone = Slide { worst_mm: f64::INFINITY, ..Slide::default() };
        let lost = Face {
            tack_worst_mm: f64::INFINITY,
            tack_gone_at_mm: opening_mm,
            wall_slide: gone,
            wall_gone_at_mm: opening_mm,
            ..Face::default()
        };
        for line in &mut self.lines {
            if self.chain.elements[line.spot.element].is_torn {
                line.faces = [lost; 2];
                line.contact_n_mm = 0.0;
            }
        }
        for point in &mut self.points {
            if self.chain.elements[point.spot.element].is_torn {
                point.share = 0.0;
                point.slide = gone;
                point.gone_at_mm = opening_mm;
            }
        }
    }

    /// Force of each half on the part along z at the last accepted step, N: holds less contact. The
    /// fixed half's is its pull towards z = 0, the moving half's its pull away from it.
    pub(crate) fn pulls(&self, now: &[f64], opening_mm: f64) -> ([f64; 2], [f64; 2]) {
        let (mut holds, mut contact) = ([0.0; 2], [0.0; 2]);
        for line in &self.lines {
            let (_, z) = line.spot.displacement(now);
            for (half, face) in line.faces.iter().enumerate() {
                holds[half] += face.tack_pull_n + face.wall_slide.pull_before;
                let (_, gap) = travel(half, z, opening_mm);
                if gap < 0.0 {
                    contact[half] -= line.contact_n_mm * gap;
                }
            }
        }
        for point in &self.points {
            holds[index(self.laws[point.law].half)] += point.pull_n();
        }
        (holds, contact)
    }
}

/// Work taken so far, mJ, by face tack and wall drag of each half, by each law, by the part's plastic
/// flow and tearing, and by viscosity.
#[derive(Clone, Debug, Default)]
pub(crate) struct Work {
    pub(crate) tack: [f64; 2],
    pub(crate) wall: [f64; 2],
    pub(crate) point: Vec<f64>,
    pub(crate) part: f64,
    pub(crate) viscous: f64,
}

/// Out-of-balance forces, their derivative, and the room needed to find them.
#[derive(Clone, Debug)]
pub(crate) struct Balance {
    pub(crate) residual: Vec<f64>,
    pub(crate) matrix: Band,
    turns: Vec<(f64, f64)>,
}

impl Balance {
    pub(crate) fn new(size: usize) -> Self {
        Self { residual: vec![0.0; size], matrix: Band::new(size), turns: Vec::new() }
    }
}

/// Spreads a force at a spot over the freedoms of its element, whose nodes are turned by these sines
/// and cosines.
#[inline]
fn add(
    spot: &Spot,
    (sin_1, cos_1): (f64, f64),
    (sin_2, cos_2): (f64, f64),
    force: SpotForce,
    convex: bool,
    residual: &mut [f64],
    matrix: &mut Band,
) {
    if force.zz == 0.0 && force.z == 0.0 && force.xx == 0.0 && force.x == 0.0 {
        return;
    }
    let first = DOF * spot.element;
    let [a, b, c, e] = spot.weights;
    // Only w and rotation move the spot along z, only u along x.
    let along_z = [(1, a), (2, b * cos_1), (4, c), (5, e * cos_2)];
    let along_x = [(0, 1.0 - spot.xi), (3, spot.xi)];
    for (i, (row, weight)) in along_z.iter().enumerate() {
        residual[first + row] += force.z * weight;
        let stiffness = force.zz * weight;
        for (column, other) in &along_z[..=i] {
            matrix.add(first + row, first + column, stiffness * other);
        }
    }
    if force.x != 0.0 || force.xx != 0.0 {
        for (i, (row, weight)) in along_x.iter().enumerate() {
            residual[first + row] += force.x * weight;
            for (column, other) in &along_x[..=i] {
                matrix.add(first + row, first + column, force.xx * weight * other);
            }
        }
    }
    if force.xz != 0.0 {
        for (i, weight) in along_z {
            for (j, other) in along_x {
                matrix.add(first + i.max(j), first + i.min(j), force.xz * weight * other);
            }
        }
    }
    if !convex {
        matrix.add(first + 2, first + 2, -force.z * b * sin_1);
        matrix.add(first + 5, first + 5, -force.z * e * sin_2);
    }
}
