//! The holds that act all along the part: faces, walls, edges, vacuum, and the walls that guide it.

use glam::DVec2;
use keepside_model::{Half, Project};

use crate::beam::{Beams, ChannelShape, GAUSS_2, WallContact};
use crate::hold::{self, Curve};
use crate::network::{self, Member, Network};
use crate::opening::law::{Slide, TackLaw, Wall};
use crate::opening::setup::{Build, Factors, tack_law, tack_stiffness};
use crate::opening::spot::{Extra, ExtraKind, Face, Guide, LineSpot};
use crate::opening::tug::{FIXED, MOVING, Tug};
use crate::opening::{HoldName, What};

/// A line hold of one half, added up over the part.
#[derive(Clone, Debug)]
pub(crate) struct LineTotal {
    pub(crate) name: HoldName,
    /// Peak pull if all of it were pulled at once, N.
    pub(crate) peak_n: f64,
    pub(crate) gone_mm: f64,
    pub(crate) curve: Vec<(f64, f64)>,
}

/// Makes the holds that act all along the part.
pub(crate) struct LineMaker<'a, S> {
    project: &'a Project,
    network: &'a Network,
    factors: &'a Factors,
    pub(crate) tack: TackLaw,
    tack_stiffness: f64,
    pub(crate) curves: Vec<Curve>,
    pub(crate) lines: Vec<LineSpot<S>>,
    pub(crate) extras: Vec<Extra<S>>,
    pub(crate) guides: Vec<Guide<S>>,
}

impl<'a, S: Copy> LineMaker<'a, S> {
    pub(crate) fn new(project: &'a Project, network: &'a Network, factors: &'a Factors) -> Self {
        let tack = tack_law(project);
        Self {
            project,
            network,
            factors,
            tack_stiffness: tack_stiffness(project, &tack),
            tack,
            curves: Vec::new(),
            lines: Vec::new(),
            extras: Vec::new(),
            guides: Vec::new(),
        }
    }

    /// The holds along one member.
    pub(crate) fn member<B: Build<Spot = S>>(&mut self, beams: &B, element: usize, member: &Member) {
        let Some(path) = member.path else { return };
        let shape = self.network.shape(&self.project.part, member);
        let whole_mm = member.to_mm - member.from_mm;
        for place in GAUSS_2 {
            let along_mm = member.from_mm + place * whole_mm;
            // Both sides apart where the part may twist.
            let sides: &[f64] = if B::TWISTS { &[-1.0, 1.0] } else { &[0.0] };
            let length_mm = 0.5 * whole_mm;
            for side in sides {
                let share = 1.0 / if B::TWISTS { 2.0 } else { 1.0 };
                // Two points that have the second moment of the width.
                let beside_mm = side * shape.width_mm / 12.0_f64.sqrt();
                let spot = beams.spot(element, place, beside_mm);
                let cover = self.network.cover(self.project, path, along_mm, *side);
                self.spot(spot, &shape, length_mm, share, cover);
            }
            if B::TWISTS {
                let spot = beams.spot(element, place, 0.0);
                let (_, direction) = self.network.paths[path].at(along_mm);
                let open =
                    [-1.0, 1.0].map(|side| self.network.cover(self.project, path, along_mm, side).wall);
                self.guide(spot, &shape, length_mm, direction.perp(), 0.5 * (open[0] + open[1]));
            }
        }
    }

    fn guide(&mut self, spot: S, shape: &ChannelShape, length_mm: f64, across: DVec2, walls: f64) {
        if walls <= 0.0 {
            return;
        }
        // Pressed against a wall, the part gives like half its width of plastic.
        let stiffness = self.project.material.modulus_hot_mpa * shape.depth_mm() / (0.5 * shape.width_mm);
        self.guides.push(Guide {
            spot,
            across,
            stiffness_n_mm: stiffness * length_mm * walls,
            depth_mm: [shape.depth_fixed_mm, shape.depth_moving_mm],
            worst_mm: [0.0; 2],
            force_before: 0.0,
            across_before_mm: 0.0,
        });
    }

    fn factor(&self, half: usize) -> f64 {
        let holds = &self.project.holds;
        if half == FIXED {
            self.factors.fixed * holds.release_factor_fixed
        } else {
            holds.release_factor_moving
        }
    }

    /// Travel until a wall is cleared, by height or because its slope has opened the relief, mm.
    fn clear_mm(&self, wall: &WallContact) -> f64 {
        if wall.slope > 0.0 {
            wall.height_mm.min(self.project.holds.wall_relief_mm / wall.slope)
        } else {
            wall.height_mm
        }
    }

    fn spot(&mut self, spot: S, shape: &ChannelShape, length_mm: f64, share: f64, cover: network::Cover) {
        let holds = &self.project.holds;
        let mut faces = [Face::default(); 2];
        for (half, face) in faces.iter_mut().enumerate() {
            let factor = self.factor(half);
            let is_fixed = half == FIXED;
            let name = if is_fixed { Half::Fixed } else { Half::Moving };
            let floor = shape.face_mm(name);
            face.tack_n_mm = factor
                * self.factors.tack[half]
                * self.tack_stiffness
                * floor
                * length_mm
                * share
                * cover.floor;
            let [wall, groove] = shape.walls(name);
            let wall_mm2 = (wall.area_mm + groove.area_mm) * length_mm * share * cover.wall;
            let wall_factor = factor * self.factors.wall[half];
            if holds.wall_curve.is_none() && wall_mm2 > 0.0 {
                // A groove's sides drag along with the walls; their travels are mixed by area.
                let mixed = wall.area_mm * self.clear_mm(&wall) + groove.area_mm * self.clear_mm(&groove);
                let gone_mm = mixed / (wall.area_mm + groove.area_mm);
                if gone_mm > 1e-6 {
                    let peak_n = wall_factor * holds.wall_drag_mpa * wall_mm2;
                    let rise_mm = hold::WALL_RISE_MM.min(0.1 * gone_mm);
                    face.wall = Wall { peak_n, gone_mm, rise_mm };
                }
            }
            face.wall_slide = Slide::default();
            let extra_mm = length_mm * share;
            if let Some(curve) = &holds.wall_curve {
                self.extra(
                    spot,
                    half,
                    ExtraKind::Wall,
                    Curve::measured(curve),
                    wall_factor * wall_mm2,
                    extra_mm,
                );
            }
            if let Some(hold) = hold::edge(self.project, shape, name) {
                let scale = if is_fixed { self.factors.fixed } else { 1.0 };
                self.extra(spot, half, ExtraKind::Edge, hold.curve, scale * extra_mm * cover.wall, extra_mm);
            }
            if holds.vacuum_mpa > 0.0 && !cover.is_vented[half] {
                let gap_mm = holds.air_gap_mm;
                let points = vec![(0.0, 0.0), (0.1 * gap_mm, 1.0), (gap_mm, 1.0), (1.1 * gap_mm, 0.0)];
                let curve = Curve::new(points).unwrap_or_else(|| Curve::triangle(1.0, 0.1 * gap_mm, gap_mm));
                let scale = if is_fixed { self.factors.fixed } else { 1.0 };
                let pull = scale * holds.vacuum_mpa * floor * extra_mm * cover.floor;
                self.extra(spot, half, ExtraKind::Air, curve, pull, extra_mm);
            }
        }
        // Pressed into a half, the part gives like half its depth of plastic.
        let contact = self.project.material.modulus_hot_mpa * shape.width_mm / (0.5 * shape.depth_mm());
        let contact_n_mm = contact * length_mm * share * cover.floor;
        self.lines.push(LineSpot { spot, faces, contact_n_mm, length_mm: length_mm * share });
    }

    fn extra(&mut self, spot: S, half: usize, kind: ExtraKind, curve: Curve, scale: f64, length_mm: f64) {
        if scale <= 0.0 {
            return;
        }
        let known = self.curves.iter().position(|known| *known == curve);
        let curve = known.unwrap_or_else(|| {
            self.curves.push(curve);
            self.curves.len() - 1
        });
        self.extras.push(Extra {
            spot,
            half,
            kind,
            curve,
            scale,
            slide: Slide::default(),
            length_mm,
            gone_at_mm: 0.0,
        });
    }
}

/// The line holds of both halves, added up: tack and walls always, the others where there are any.
pub(crate) fn line_totals<B: Beams>(tug: &Tug<B>) -> Vec<LineTotal> {
    let mut totals = Vec::new();
    for (half, index) in [(Half::Fixed, FIXED), (Half::Moving, MOVING)] {
        let name = |what| HoldName { half, what };
        let tack: f64 = tug.lines.iter().map(|line| line.faces[index].tack_n_mm).sum();
        totals.push(LineTotal {
            name: name(What::Tack),
            peak_n: tug.tack.peak(tack),
            gone_mm: tug.tack.gone_mm,
            curve: tug.tack.curve(tack),
        });
        let faces = || tug.lines.iter().map(|line| &line.faces[index]);
        let measured = extras_total(tug, index, ExtraKind::Wall, name(What::WallDrag));
        totals.push(measured.unwrap_or_else(|| {
            let peak_n: f64 = faces().map(|face| face.wall.peak_n).sum();
            let gone_mm = faces().map(|face| face.wall.gone_mm).fold(0.0, f64::max);
            let rise_mm = faces().map(|face| face.wall.rise_mm).fold(0.0, f64::max);
            let curve =
                if peak_n > 0.0 { vec![(0.0, 0.0), (rise_mm, peak_n), (gone_mm, 0.0)] } else { Vec::new() };
            LineTotal { name: name(What::WallDrag), peak_n, gone_mm, curve }
        }));
        totals.extend(extras_total(tug, index, ExtraKind::Edge, name(What::Edge)));
        totals.extend(extras_total(tug, index, ExtraKind::Air, name(What::Vacuum)));
    }
    totals
}

fn extras_total<B: Beams>(tug: &Tug<B>, half: usize, kind: ExtraKind, name: HoldName) -> Option<LineTotal> {
    let of_kind = || tug.extras.iter().filter(move |extra| extra.half == half && extra.kind == kind);
    let first = of_kind().next()?;
    let whole: f64 = of_kind().map(|extra| extra.scale).sum();
    let peak_n = of_kind().map(|extra| extra.scale * tug.curves[extra.curve].peak_n()).sum();
    let gone_mm = of_kind().map(|e| tug.curves[e.curve].let_go_travel_mm()).fold(0.0, f64::max);
    let curve = tug.curves[first.curve].scaled(whole).points().to_vec();
    Some(LineTotal { name, peak_n, gone_mm, curve })
}
