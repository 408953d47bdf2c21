//! The outline of a channel's cross-section: drafted walls, rounded edges, a rib.

use std::f64::consts::FRAC_PI_2;

use glam::DVec2;
use keepside_model::{Half, Part, Rib};

/// An edge that goes beyond the parting plane by less than this, mm, ends at it: the rounding of a share.
const SLACK_MM: f64 = 1e-6;

/// A floor that draft would leave narrower than this share of the width is left that wide: the draft
/// counts as less.
const NARROWEST: f64 = 0.05;

/// The channel's cross-section.
///
/// Heights are measured from the fixed half's floor in the opening direction; a rib in that floor lies
/// below 0. The section is symmetric about its middle plane, so that one flank, half the width against
/// the height, tells it whole.
///
/// - **Drafted**: a trapezium in each half, widest at the parting plane.
/// - **Rounded**: a circular arc about the edge of each floor, tangent to the floor and to the wall. An
///   arc with a radius larger than the depth of its half leaves no straight wall there, so that the
///   half's draft counts for nothing; it goes on over the parting plane until it is tangent to the wall
///   of the other half. The widest place is then as high over the floor as the radius.
/// - **Ribbed**: a groove with parallel sides along the middle of one floor.
///
/// Radii that do not fit are made smaller: to half the width; to what the floor leaves; both in the
/// same proportion to the depth of both halves together. A rib is never wider than the channel at the
/// parting plane. [`Self::edge_mm`] and [`Self::rib`] tell what is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ChannelShape {
    /// Width at the widest place, mm: at the parting plane unless an edge goes on beyond it. It is the
    /// width seen in plan.
    pub(crate) width_mm: f64,
    /// Depth in the fixed half, mm, without a rib.
    pub(crate) depth_fixed_mm: f64,
    /// Depth in the moving half, mm, without a rib.
    pub(crate) depth_moving_mm: f64,
    /// Tangent of the draft in the fixed half, as far as it fits.
    pub(crate) slope_fixed: f64,
    /// Tangent of the draft in the moving half, as far as it fits.
    pub(crate) slope_moving: f64,
    /// Radius of the edges along the fixed half's floor, mm, as far as it fits.
    edge_fixed_mm: f64,
    /// Radius of the edges along the moving half's floor, mm, as far as it fits.
    edge_moving_mm: f64,
    rib: Option<Rib>,
}

/// An edge that traps the part in a half: the section is widest away from the parting plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Undercut {
    /// How far the widest place stands out over the parting plane's, on each side, mm.
    pub(crate) depth_mm: f64,
    /// Height of the widest place over the parting plane, mm: the travel until it has passed.
    pub(crate) height_mm: f64,
    /// Flank on which the plastic must slide, to the opening direction, degrees: the chord from the
    /// parting plane to the widest place, half of the arc's angle at the parting plane.
    pub(crate) flank_deg: f64,
    /// Radius of the arc, mm.
    pub(crate) radius_mm: f64,
}

impl Undercut {
    /// How far the widest place still has to be squeezed on each side when the part has been drawn out
    /// by `travel_mm`, mm, and the flank at the lip then, rad to the opening direction.
    ///
    /// It is the lip at the parting plane that rides on the part's arc.
    pub(crate) fn squeeze_at(&self, travel_mm: f64) -> (f64, f64) {
        let sine = |below_mm: f64| (below_mm / self.radius_mm).clamp(0.0, 1.0);
        let (first, now) = (sine(self.height_mm), sine(self.height_mm - travel_mm));
        let width = |sine: f64| self.radius_mm * (1.0 - sine * sine).sqrt();
        (width(now) - width(first), now.asin())
    }
}

/// What drags along the opening on one half, a mm of run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct WallContact {
    /// Area of both sides together, mm² a mm: straight walls with their own area, arcs with their height,
    /// which is the share of them that faces sideways. What lies in an undercut is left out.
    pub(crate) area_mm: f64,
    /// Height until it is cleared, mm.
    pub(crate) height_mm: f64,
    /// Tangent of the angle at which it opens: of the straight wall if there is one, else on the mean
    /// over the arc.
    pub(crate) slope: f64,
}

/// A piece of a flank, upwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Piece {
    /// A straight line between two points: half width and height, mm.
    Line { from: DVec2, to: DVec2 },
    /// An arc about a centre; angles in rad from sideways, −π/2 at the floor below, π/2 at the one above.
    Arc { centre: DVec2, radius_mm: f64, from_rad: f64, to_rad: f64 },
}

impl Piece {
    /// Heights of its ends, mm.
    pub(super) fn heights(&self) -> (f64, f64) {
        match *self {
            Self::Line { from, to } => (from.y, to.y),
            Self::Arc { centre, radius_mm, from_rad, to_rad } => {
                (centre.y + radius_mm * from_rad.sin(), centre.y + radius_mm * to_rad.sin())
            }
        }
    }

    /// Half width at its lower end, mm.
    fn start_mm(&self) -> f64 {
        match *self {
            Self::Line { from, .. } => from.x,
            Self::Arc { centre, radius_mm, from_rad, .. } => centre.x + radius_mm * from_rad.cos(),
        }
    }

    /// Half width at a height, mm, and how it changes with the height; the nearest end's beyond it.
    pub(super) fn half_width(&self, height_mm: f64) -> (f64, f64) {
        let (low, high) = self.heights();
        let height_mm = height_mm.clamp(low.min(high), high);
        match *self {
            Self::Line { from, to } => {
                let slope = if high > low { (to.x - from.x) / (high - low) } else { 0.0 };
                (from.x + slope * (height_mm - low), slope)
            }
            Self::Arc { centre, radius_mm, .. } => {
                let sine = ((height_mm - centre.y) / radius_mm).clamp(-1.0, 1.0);
                let cosine = (1.0 - sine * sine).sqrt();
                // At a pole the slope is infinite; it is never asked for there but by rounding.
                (centre.x + radius_mm * cosine, -sine / cosine.max(1e-9))
            }
        }
    }

    /// Area between it and the middle plane up to a height, mm².
    pub(super) fn area_below_mm2(&self, height_mm: f64) -> f64 {
        let (low, high) = self.heights();
        let to_mm = height_mm.min(high);
        if to_mm <= low {
            return 0.0;
        }
        match *self {
            Self::Line { from, .. } => 0.5 * (from.x + self.half_width(to_mm).0) * (to_mm - low),
            Self::Arc { centre, radius_mm, from_rad, .. } => {
                // Beside a centre, and r²/2 (θ + sin θ cos θ) of the circle.
                let to_rad = ((to_mm - centre.y) / radius_mm).clamp(-1.0, 1.0).asin();
                let of = |rad: f64| rad + rad.sin() * rad.cos();
                centre.x * (to_mm - low) + 0.5 * radius_mm * radius_mm * (of(to_rad) - of(from_rad))
            }
        }
    }

    /// The part of it above a height; `None` if nothing is.
    fn above(&self, height_mm: f64) -> Option<Self> {
        let (low, high) = self.heights();
        if high <= height_mm {
            return None;
        }
        if low >= height_mm {
            return Some(*self);
        }
        Some(match *self {
            Self::Line { to, .. } => {
                Self::Line { from: DVec2::new(self.half_width(height_mm).0, height_mm), to }
            }
            Self::Arc { centre, radius_mm, to_rad, .. } => {
                let from_rad = ((height_mm - centre.y) / radius_mm).clamp(-1.0, 1.0).asin();
                Self::Arc { centre, radius_mm, from_rad, to_rad }
            }
        })
    }

    /// The part of it between two heights; `None` if nothing is.
    pub(super) fn between(&self, low_mm: f64, high_mm: f64) -> Option<Self> {
        self.above(low_mm)?.turned_over(high_mm).above(0.0).map(|piece| piece.turned_over(high_mm))
    }

    /// Mirrored, so that what was at `top_mm` is at 0 and the other way round.
    fn turned_over(&self, top_mm: f64) -> Self {
        let over = |point: DVec2| DVec2::new(point.x, top_mm - point.y);
        match *self {
            Self::Line { from, to } => Self::Line { from: over(to), to: over(from) },
            Self::Arc { centre, radius_mm, from_rad, to_rad } => {
                Self::Arc { centre: over(centre), radius_mm, from_rad: -to_rad, to_rad: -from_rad }
            }
        }
    }
}

impl ChannelShape {
    /// The cross-section of `part` where its channel is `width_mm` wide and `depth_mm` deep.
    pub(crate) fn new(part: &Part, width_mm: f64, depth_mm: f64) -> Self {
        let mut shape = Self {
            width_mm,
            depth_fixed_mm: depth_mm * (1.0 - part.moving_share),
            depth_moving_mm: depth_mm * part.moving_share,
            slope_fixed: part.draft_fixed_deg.to_radians().tan(),
            slope_moving: part.draft_moving_deg.to_radians().tan(),
            edge_fixed_mm: part.edge_fixed_mm,
            edge_moving_mm: part.edge_moving_mm,
            rib: part.rib,
        };
        shape.fit();
        shape
    }

    /// A rectangle, its parting plane half way up.
    #[cfg(test)]
    pub(crate) fn rectangle(width_mm: f64, depth_mm: f64) -> Self {
        let (depth_fixed_mm, depth_moving_mm) = (0.5 * depth_mm, 0.5 * depth_mm);
        Self {
            width_mm,
            depth_fixed_mm,
            depth_moving_mm,
            slope_fixed: 0.0,
            slope_moving: 0.0,
            edge_fixed_mm: 0.0,
            edge_moving_mm: 0.0,
            rib: None,
        }
    }

    /// Depth of both halves together, mm, without a rib.
    pub(crate) fn depth_mm(&self) -> f64 {
        self.depth_fixed_mm + self.depth_moving_mm
    }

    /// Lowest and highest point of the section, mm over the fixed half's floor, with a rib.
    pub(crate) fn range_mm(&self) -> (f64, f64) {
        let rib = |half| self.rib.filter(|rib| rib.half == half).map_or(0.0, |rib| rib.height_mm);
        (-rib(Half::Fixed), self.depth_mm() + rib(Half::Moving))
    }

    /// Radius of the edges along the floor of a half, mm, as far as it fits.
    pub(crate) fn edge_mm(&self, half: Half) -> f64 {
        match half {
            Half::Fixed => self.edge_fixed_mm,
            Half::Moving => self.edge_moving_mm,
        }
    }

    /// The rib, as far as it fits.
    pub(crate) fn rib(&self) -> Option<Rib> {
        self.rib
    }

    /// Whether it is a rectangle, but for a rib.
    pub(super) fn is_rectangle(&self) -> bool {
        let upright = |depth_mm: f64, slope: f64| depth_mm == 0.0 || slope == 0.0;
        upright(self.depth_fixed_mm, self.slope_fixed)
            && upright(self.depth_moving_mm, self.slope_moving)
            && self.edge_fixed_mm == 0.0
            && self.edge_moving_mm == 0.0
    }

    /// Width at a height, mm; outside the section, that of its nearest face.
    #[cfg_attr(not(test), expect(dead_code, reason = "no hold of the opening run asks yet"))]
    pub(crate) fn width_at(&self, height_mm: f64) -> f64 {
        2.0 * half_width(&self.flank(), height_mm).0
    }

    /// Width of the flat floor in a half between its rounded edges, mm; the face of a rib counts, as
    /// much as it takes from the floor.
    pub(crate) fn floor_mm(&self, half: Half) -> f64 {
        2.0 * self.body_from(half)[0].start_mm()
    }

    /// Width on which a half sticks to the part, mm: its flat floor, and the part of its rounded edges
    /// that faces it, as seen in plan.
    pub(crate) fn face_mm(&self, half: Half) -> f64 {
        let depth_mm = self.depth_in_mm(half);
        let first = self.body_from(half)[0];
        let rounded_mm = match first {
            Piece::Line { .. } => 0.0,
            Piece::Arc { .. } => (first.half_width(depth_mm).0 - first.start_mm()).max(0.0),
        };
        2.0 * (first.start_mm() + rounded_mm)
    }

    /// What drags along the opening on a half: its walls, and the sides of a rib (zero without one).
    pub(crate) fn walls(&self, half: Half) -> [WallContact; 2] {
        let depth_mm = self.depth_in_mm(half);
        let undercut_mm = self.undercut(half).map_or(0.0, |undercut| undercut.height_mm);
        let mut wall = WallContact { height_mm: depth_mm, ..WallContact::default() };
        let (mut arc_widens_mm, mut arc_mm, mut straight) = (0.0, 0.0, None);
        for piece in self.body_from(half) {
            let Some(piece) = piece.between(0.0, depth_mm - undercut_mm) else { continue };
            let (low, high) = piece.heights();
            let widens_mm = piece.half_width(high).0 - piece.half_width(low).0;
            match piece {
                Piece::Line { .. } if high - low > SLACK_MM => {
                    wall.area_mm += 2.0 * (high - low).hypot(widens_mm);
                    straight = Some((widens_mm / (high - low)).max(0.0));
                }
                Piece::Line { .. } => {}
                Piece::Arc { .. } => {
                    wall.area_mm += 2.0 * (high - low);
                    arc_widens_mm += widens_mm;
                    arc_mm += high - low;
                }
            }
        }
        let mean = if arc_mm > 0.0 { (arc_widens_mm / arc_mm).max(0.0) } else { 0.0 };
        wall.slope = straight.unwrap_or(mean);
        let groove = self.rib.filter(|rib| rib.half == half).map_or_else(WallContact::default, |rib| {
            WallContact { area_mm: 2.0 * rib.height_mm, height_mm: rib.height_mm, slope: 0.0 }
        });
        [wall, groove]
    }

    /// The undercut that traps the part in a half, if its edge along the other half's floor goes on
    /// beyond the parting plane.
    pub(crate) fn undercut(&self, half: Half) -> Option<Undercut> {
        let radius_mm = self.edge_mm(half.other());
        let height_mm = radius_mm - self.depth_in_mm(half.other());
        if height_mm <= SLACK_MM {
            return None;
        }
        let sine = (height_mm / radius_mm).min(1.0);
        let depth_mm = radius_mm * (1.0 - (1.0 - sine * sine).sqrt());
        let flank_deg = 0.5 * sine.asin().to_degrees();
        Some(Undercut { depth_mm, height_mm, flank_deg, radius_mm })
    }

    /// Depth in a half, mm, without a rib.
    pub(crate) fn depth_in_mm(&self, half: Half) -> f64 {
        match half {
            Half::Fixed => self.depth_fixed_mm,
            Half::Moving => self.depth_moving_mm,
        }
    }

    /// The flank upwards, without a rib.
    pub(super) fn body(&self) -> Vec<Piece> {
        self.body_from(Half::Fixed)
    }

    /// The flank upwards, a rib included. Where two pieces meet at different widths there is a face.
    pub(super) fn flank(&self) -> Vec<Piece> {
        let body = self.body();
        let Some(rib) = self.rib else { return body };
        let depth_mm = self.depth_mm();
        let over = |pieces: Vec<Piece>| -> Vec<Piece> {
            pieces.into_iter().rev().map(|piece| piece.turned_over(depth_mm)).collect()
        };
        match rib.half {
            Half::Fixed => with_rib(body, rib),
            Half::Moving => over(with_rib(over(body), rib)),
        }
    }

    /// The flank upwards as points, half width and height, a rib included; arcs in chords of at most
    /// `step_rad`.
    pub(crate) fn flank_points(&self, step_rad: f64) -> Vec<DVec2> {
        let mut points: Vec<DVec2> = Vec::new();
        let mut put = |point: DVec2| {
            if points.last().is_none_or(|last| last.distance(point) > SLACK_MM) {
                points.push(point);
            }
        };
        for piece in self.flank() {
            match piece {
                Piece::Line { from, to } => [from, to].into_iter().for_each(&mut put),
                Piece::Arc { centre, radius_mm, from_rad, to_rad } => {
                    let steps = ((to_rad - from_rad).abs() / step_rad).ceil().clamp(1.0, 1000.0);
                    let mut step = 0.0;
                    while step <= steps {
                        let rad = from_rad + (to_rad - from_rad) * step / steps;
                        put(centre + radius_mm * DVec2::from_angle(rad));
                        step += 1.0;
                    }
                }
            }
        }
        points
    }

    /// The flank without a rib, from the floor of a half to the other floor.
    fn body_from(&self, half: Half) -> Vec<Piece> {
        if self.undercut(half).is_some() {
            // Told from the floor whose edge goes on beyond the parting plane.
            let depth_mm = self.depth_mm();
            return self.body_from(half.other()).iter().rev().map(|p| p.turned_over(depth_mm)).collect();
        }
        let (near, far) = (half, half.other());
        let slope = |half| if half == Half::Fixed { self.slope_fixed } else { self.slope_moving };
        let (depth_mm, radius_mm) = (self.depth_mm(), self.edge_mm(near));
        let half_mm = 0.5 * self.width_mm;
        let near_depth_mm = self.depth_in_mm(near);
        let far_rad = slope(far).atan();
        let mut pieces = Vec::with_capacity(4);
        let far_wall_from = if self.undercut(far).is_some() {
            let centre = DVec2::new(half_mm - radius_mm, radius_mm);
            pieces.push(Piece::Arc { centre, radius_mm, from_rad: -FRAC_PI_2, to_rad: far_rad });
            centre + radius_mm * DVec2::new(far_rad.cos(), far_rad.sin())
        } else {
            let near_rad = slope(near).atan();
            let corner_mm = half_mm - near_depth_mm * slope(near);
            let mut from = DVec2::new(corner_mm, 0.0);
            if radius_mm > 0.0 {
                let centre = DVec2::new(corner_mm - radius_mm * tangent(near_rad), radius_mm);
                pieces.push(Piece::Arc { centre, radius_mm, from_rad: -FRAC_PI_2, to_rad: -near_rad });
                from = centre + radius_mm * DVec2::new(near_rad.cos(), -near_rad.sin());
            }
            let parting = DVec2::new(half_mm, near_depth_mm);
            if parting.y > from.y {
                pieces.push(Piece::Line { from, to: parting });
            }
            parting
        };
        let corner_mm = far_wall_from.x - (depth_mm - far_wall_from.y) * slope(far);
        let mut to = DVec2::new(corner_mm, depth_mm);
        let mut last = None;
        let radius_mm = self.edge_mm(far);
        if radius_mm > 0.0 {
            let centre = DVec2::new(corner_mm - radius_mm * tangent(far_rad), depth_mm - radius_mm);
            last = Some(Piece::Arc { centre, radius_mm, from_rad: far_rad, to_rad: FRAC_PI_2 });
            to = centre + radius_mm * DVec2::new(far_rad.cos(), far_rad.sin());
        }
        if to.y > far_wall_from.y {
            pieces.push(Piece::Line { from: far_wall_from, to });
        }
        pieces.extend(last);
        pieces
    }

    /// Makes drafts, radii and rib fit; see the type.
    fn fit(&mut self) {
        let (depth_mm, half_mm) = (self.depth_mm(), 0.5 * self.width_mm);
        let largest_mm = depth_mm.min(half_mm);
        self.edge_fixed_mm = self.edge_fixed_mm.min(largest_mm);
        self.edge_moving_mm = self.edge_moving_mm.min(largest_mm);
        let both_mm = self.edge_fixed_mm + self.edge_moving_mm;
        if both_mm > depth_mm {
            self.edge_fixed_mm *= depth_mm / both_mm;
            self.edge_moving_mm *= depth_mm / both_mm;
        }
        let beyond =
            [Half::Fixed, Half::Moving].into_iter().find(|half| self.undercut(half.other()).is_some());
        for half in [Half::Fixed, Half::Moving] {
            let (slope, radius_mm) = match beyond {
                Some(beyond) if beyond == half => (0.0, self.edge_mm(half)),
                Some(beyond) => self.fitted_beside(half, self.edge_mm(beyond)),
                None => self.fitted(half),
            };
            match half {
                Half::Fixed => (self.slope_fixed, self.edge_fixed_mm) = (slope, radius_mm),
                Half::Moving => (self.slope_moving, self.edge_moving_mm) = (slope, radius_mm),
            }
        }
        let parting_mm = 2.0 * half_width(&self.body(), self.depth_fixed_mm).0;
        if let Some(rib) = &mut self.rib {
            rib.width_mm = rib.width_mm.min(parting_mm);
        }
    }

    fn slope_mm(&self, half: Half) -> f64 {
        if half == Half::Fixed { self.slope_fixed } else { self.slope_moving }
    }

    /// Slope and radius that fit into a half with a wall up to the parting plane.
    fn fitted(&self, half: Half) -> (f64, f64) {
        let (depth_mm, half_mm) = (self.depth_in_mm(half), 0.5 * self.width_mm);
        let slope = least(self.slope_mm(half), (1.0 - NARROWEST) * half_mm, depth_mm);
        let corner_mm = half_mm - depth_mm * slope;
        (slope, self.edge_mm(half).min(depth_mm).min(corner_mm / tangent(slope.atan())))
    }

    /// Slope and radius that fit into a half whose wall begins at the other half's edge of `beyond_mm`.
    fn fitted_beside(&self, half: Half, beyond_mm: f64) -> (f64, f64) {
        let (depth_mm, half_mm, radius_mm) = (self.depth_mm(), 0.5 * self.width_mm, self.edge_mm(half));
        let mut slope = least(self.slope_mm(half), (1.0 - NARROWEST) * half_mm, depth_mm - beyond_mm);
        // Both arcs end at the draft's angle: what lies between them must not be less than nothing.
        let room_mm = (depth_mm - beyond_mm - radius_mm).max(0.0);
        if room_mm < (beyond_mm - radius_mm) * slope.atan().sin() {
            slope = (room_mm / (beyond_mm - radius_mm)).asin().tan();
        }
        let angle_rad = slope.atan();
        let corner_mm = half_mm - beyond_mm + beyond_mm / angle_rad.cos() - (depth_mm - beyond_mm) * slope;
        (slope, radius_mm.min(corner_mm / tangent(angle_rad)))
    }
}

/// From a corner to where an arc of radius 1 touches its floor, beside a wall of this draft.
fn tangent(draft_rad: f64) -> f64 {
    (0.5 * (FRAC_PI_2 - draft_rad)).tan()
}

/// The slope, or less if it would take more than `most_mm` over a depth.
fn least(slope: f64, most_mm: f64, depth_mm: f64) -> f64 {
    if depth_mm * slope > most_mm { most_mm / depth_mm } else { slope }
}

/// Half width and its change with height at a height of a flank, mm; the nearest end's beyond it.
pub(super) fn half_width(flank: &[Piece], height_mm: f64) -> (f64, f64) {
    let piece = flank.iter().find(|piece| piece.heights().1 >= height_mm).or(flank.last());
    piece.map_or((0.0, 0.0), |piece| piece.half_width(height_mm))
}

/// A flank with a rib milled into the floor at its start.
fn with_rib(body: Vec<Piece>, rib: Rib) -> Vec<Piece> {
    let side_mm = 0.5 * rib.width_mm;
    // A rib as wide as the channel at the parting plane ends there, whatever the rounding.
    let narrow = |piece: &&Piece| piece.half_width(piece.heights().1).0 < side_mm * (1.0 - 1e-9);
    let buried = body.iter().take_while(narrow).count();
    let meets_mm = match body.get(buried) {
        None => body.last().map_or(0.0, |piece| piece.heights().1),
        Some(piece) if piece.half_width(piece.heights().0).0 >= side_mm => piece.heights().0,
        Some(Piece::Line { from, to }) => {
            from.y + ((side_mm - from.x) / (to.x - from.x)).min(1.0) * (to.y - from.y)
        }
        Some(Piece::Arc { centre, radius_mm, .. }) => {
            centre.y - (radius_mm * radius_mm - (side_mm - centre.x).powi(2)).max(0.0).sqrt()
        }
    };
    let point = |height_mm| DVec2::new(side_mm, height_mm);
    let mut pieces = vec![Piece::Line { from: point(-rib.height_mm), to: point(meets_mm) }];
    pieces.extend(body[buried..].iter().filter_map(|piece| piece.above(meets_mm)));
    pieces
}
