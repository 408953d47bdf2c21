//! The part from the side, along its runs, at the moments that matter, and as it stays bent.

use glam::DVec2;
use keepside_engine::Opening;
use keepside_engine::opening::{Axis, BumpAt, Frame, HoldOutcome, HoldState, What};
use keepside_engine::outline;
use keepside_model::{Half, Project};

use super::moments::Moment;
use crate::document::{Flow, Labels, SMALL_MM, decimals, left_out, mm, signed};
use crate::page::{Mark, Page, Pen, Step, rectangle};
use crate::paper::Area;

/// Runs that are drawn, at most: the longest.
const MOST_RUNS: usize = 3;
/// Room for the heights of part and gap, mm.
const HEIGHT_MM: f64 = 27.0;
/// Thickness of plate that is drawn, and room for tags beyond it, mm.
const PLATE_MM: f64 = 3.0;
const TAGS_MM: f64 = 7.5;
/// The same where there are more than this many tags.
const MANY_TAGS_MM: f64 = 16.0;
const MANY: usize = 14;
/// Part of the run's length that is left free at either end.
const BESIDE_SHARE: f64 = 0.02;

/// The runs that are drawn: index among the axes and the axis, the longest first.
pub(super) fn shown(opening: &Opening) -> Vec<(usize, &Axis)> {
    let mut all: Vec<(usize, &Axis)> = opening.axes.iter().enumerate().collect();
    all.sort_by(|a, b| b.1.length_mm.total_cmp(&a.1.length_mm).then(a.0.cmp(&b.0)));
    all.truncate(MOST_RUNS);
    all
}

/// What stands at a bump.
pub(super) const BUMPS: &str =
    "Numbers: bump over a straightedge, mm, + towards the fixed half; none below 0.05 mm and 0.5°.";

/// The bumps on a run that can be seen or felt.
pub(super) fn bumps<'a>(opening: &'a Opening, axis: &'a Axis) -> impl Iterator<Item = &'a BumpAt> {
    let on_run = opening.bumps.iter().filter(|bump| bump.run == axis.run);
    on_run.filter(|bump| bump.height_mm.abs() >= 0.05 || bump.kink_deg.abs() >= 0.5)
}

/// A sentence that tells which runs are not drawn; empty if all are.
pub(super) fn not_shown(opening: &Opening) -> String {
    let (count, shown) = (opening.axes.len(), shown(opening).len());
    if count == shown { String::new() } else { format!("Shown are the {shown} longest of {count} runs.") }
}

pub(super) fn write(flow: &mut Flow<'_>, project: &Project, opening: &Opening, moments: &[Moment<'_>]) {
    flow.heading_over("The opening, from the side", 66.0);
    flow.remark(&format!(
        "Along the run, unrolled; the moving half above, the fixed half below. Lengths and heights are to the \
         scales stated over each picture. A tag in brackets: that hold has let go. {}",
        not_shown(opening)
    ));
    for (index, axis) in shown(opening) {
        let drawn = Drawn::new(project, opening, axis, flow.width_mm());
        for moment in moments {
            drawn.mould(flow, index, moment.frame, &moment.words);
        }
        drawn.released(flow);
    }
}

/// A run to be drawn from the side.
pub(super) struct Drawn<'a> {
    project: &'a Project,
    opening: &'a Opening,
    axis: &'a Axis,
    /// Paper millimetres to a millimetre of length.
    length_scale: f64,
}

/// Where a picture's numbers lie on the paper.
struct View {
    origin: DVec2,
    scale: DVec2,
}

impl View {
    /// A place along the run and a height over the fixed half's parting face, on the paper.
    fn at(&self, x_mm: f64, z_mm: f64) -> DVec2 {
        self.origin + DVec2::new(x_mm, -z_mm) * self.scale
    }
}

impl<'a> Drawn<'a> {
    fn new(project: &'a Project, opening: &'a Opening, axis: &'a Axis, width_mm: f64) -> Self {
        let length_mm = axis.length_mm.max(1e-3) * (1.0 + 2.0 * BESIDE_SHARE);
        Self { project, opening, axis, length_scale: Self::scale_for(length_mm / width_mm) }
    }

    /// The largest round scale at which what is so many times the room fits: 10:1 at most.
    pub(super) fn scale_for(times: f64) -> f64 {
        if times <= 1.0 {
            return [10.0, 5.0, 2.0, 1.0].into_iter().find(|scale| scale * times <= 1.0).unwrap_or(1.0);
        }
        let power = 10_f64.powf(times.log10().floor());
        let steps = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];
        1.0 / (power * steps.into_iter().find(|step| step * power >= times).unwrap_or(10.0))
    }

    /// A scale as written on a drawing.
    pub(super) fn words(scale: f64) -> String {
        if scale >= 1.0 { format!("{}:1", mm(scale)) } else { format!("1:{}", mm(1.0 / scale)) }
    }

    /// Depth below the parting face in each half at a place along the run, mm: fixed, moving.
    fn depths_mm(&self, along_mm: f64) -> (f64, f64) {
        let at = self.axis.plan_point(along_mm);
        let depth_mm = at.and_then(|at| outline::depth_at(self.project, at)).unwrap_or(0.0);
        let share = self.project.part.moving_share;
        ((1.0 - share) * depth_mm, share * depth_mm)
    }

    /// Places along the run at which its depth is taken.
    fn places(&self) -> Vec<f64> {
        let inwards_mm = 1e-6 * self.axis.length_mm;
        let within = |mm: f64| mm.clamp(inwards_mm, self.axis.length_mm - inwards_mm);
        self.axis.points.iter().map(|point| within(point.along_mm)).collect()
    }

    fn deepest_mm(&self) -> (f64, f64) {
        let depths = self.places().into_iter().map(|along_mm| self.depths_mm(along_mm));
        depths.fold((0.0, 0.0), |a: (f64, f64), b| (a.0.max(b.0), a.1.max(b.1)))
    }

    /// Takes room for a picture with heights from `low_mm` to `high_mm`, and writes what it is over it.
    fn view(
        &self,
        flow: &mut Flow<'_>,
        words: &str,
        low_mm: f64,
        high_mm: f64,
        beyond_mm: f64,
    ) -> (View, Area) {
        let tall_mm = (high_mm - low_mm).max(1e-3);
        let scale = Self::scale_for(tall_mm / HEIGHT_MM);
        let tag = self.project.tag(self.axis.run);
        let words = format!(
            "{tag}, {words}. Lengths {}, heights {}.",
            Self::words(self.length_scale),
            Self::words(scale)
        );
        let picture_mm = tall_mm * scale + 2.0 * beyond_mm;
        flow.caption(&words, picture_mm);
        let area = flow.take(picture_mm);
        let left = area.low.x + (area.size_mm().x - self.axis.length_mm * self.length_scale) / 2.0;
        let origin = DVec2::new(left, area.high.y - beyond_mm + low_mm * scale);
        (View { origin, scale: DVec2::new(self.length_scale, scale) }, area)
    }

    fn mould(&self, flow: &mut Flow<'_>, index: usize, frame: &Frame, words: &str) {
        let opening_mm = frame.opening_mm;
        let (below_mm, above_mm) = self.deepest_mm();
        let words =
            format!("opening {} mm: {words}", decimals(opening_mm, if opening_mm < 1.0 { 3 } else { 2 }));
        let holds =
            || self.opening.holds.iter().filter(|hold| hold.on.is_some_and(|(run, _)| run == self.axis.run));
        let tags_mm = if holds().count() > MANY { MANY_TAGS_MM } else { TAGS_MM };
        let beyond_mm = PLATE_MM + tags_mm;
        let (view, area) = self.view(flow, &words, -below_mm, opening_mm + above_mm, beyond_mm);
        let lettering = flow.lettering;
        let page = flow.page();
        let (top, bottom) = (area.low.y + tags_mm, area.high.y - tags_mm);
        page.marks.push(Mark::BeginClip {
            low_mm: DVec2::new(area.low.x, top),
            high_mm: DVec2::new(area.high.x, bottom),
        });
        self.plate(page, &view, &area, opening_mm, top, |(_, moving_mm)| opening_mm + moving_mm);
        self.plate(page, &view, &area, 0.0, bottom, |(fixed_mm, _)| -fixed_mm);
        let holds =
            || self.opening.holds.iter().filter(|hold| hold.on.is_some_and(|(run, _)| run == self.axis.run));
        holds().for_each(|hold| self.bore(page, &view, hold, opening_mm, top, bottom));
        let points = frame.shapes.get(index).map_or(&[][..], Vec::as_slice);
        let points = points.iter().map(|p| (f64::from(p.along_mm), f64::from(p.x_mm), f64::from(p.z_mm)));
        self.part(page, &view, points);
        holds().for_each(|hold| self.pin(page, &view, hold, opening_mm));
        page.marks.push(Mark::EndClip);

        let mut above = Labels::new(Area { low: area.low, high: DVec2::new(area.high.x, top) });
        let mut below = Labels::new(Area { low: DVec2::new(area.low.x, bottom), high: area.high });
        for hold in holds() {
            let (Some((_, along_mm)), Some(id)) = (hold.on, hold.name.what.item()) else { continue };
            let tag = self.project.tag(id);
            let has_gone = match hold.state {
                HoldState::LetGo { opening_mm: at } | HoldState::Broke { opening_mm: at } => at <= opening_mm,
                HoldState::Holding | HoldState::PartlyHolding { .. } => false,
            };
            let tag = if has_gone { format!("({tag})") } else { tag };
            let x = view.at(along_mm, 0.0).x;
            match hold.name.half {
                Half::Moving => above.place(page, lettering, &tag, DVec2::new(x, top), 0.0),
                Half::Fixed => below.place(page, lettering, &tag, DVec2::new(x, bottom), 0.0),
            }
        }
        let left_out = left_out(&[&above, &below]);
        if !left_out.is_empty() {
            flow.remark(&left_out);
        }
    }

    /// A plate from its parting face at `face_mm` to the edge of the picture at `edge`.
    fn plate(
        &self,
        page: &mut Page,
        view: &View,
        area: &Area,
        face_mm: f64,
        edge: f64,
        floor_mm: impl Fn((f64, f64)) -> f64,
    ) {
        let face = view.at(0.0, face_mm).y;
        let mut steps = vec![Step::Move(DVec2::new(area.low.x, face)), Step::Line(view.at(0.0, face_mm))];
        for along_mm in self.places() {
            steps.push(Step::Line(view.at(along_mm, floor_mm(self.depths_mm(along_mm)))));
        }
        steps.push(Step::Line(view.at(self.axis.length_mm, face_mm)));
        steps.push(Step::Line(DVec2::new(area.high.x, face)));
        let mut body = steps.clone();
        body.push(Step::Line(DVec2::new(area.high.x, edge)));
        body.push(Step::Line(DVec2::new(area.low.x, edge)));
        body.push(Step::Close);
        page.fill(body, 225);
        page.stroke(steps, Pen::THIN);
    }

    /// The bore of a sprue in its plate.
    fn bore(&self, page: &mut Page, view: &View, hold: &HoldOutcome, opening_mm: f64, top: f64, bottom: f64) {
        let (What::Sprue(id), Some((_, along_mm))) = (hold.name.what, hold.on) else { return };
        let Some(sprue) = self.project.sprues.get(&id) else { return };
        let (fixed_mm, moving_mm) = self.depths_mm(along_mm);
        let reach_mm = sprue.diameter_mm / 2.0;
        let (z_mm, edge) = match sprue.half {
            Half::Moving => (opening_mm + moving_mm, top),
            Half::Fixed => (-fixed_mm, bottom),
        };
        let (a, b) = (view.at(along_mm - reach_mm, z_mm), view.at(along_mm + reach_mm, z_mm));
        page.fill(rectangle(a.min(DVec2::new(a.x, edge)), b.max(DVec2::new(b.x, edge))), 255);
        page.line(a, DVec2::new(a.x, edge), Pen::THIN);
        page.line(b, DVec2::new(b.x, edge), Pen::THIN);
    }

    /// A keying feature as far as it stands in the channel.
    fn pin(&self, page: &mut Page, view: &View, hold: &HoldOutcome, opening_mm: f64) {
        let (What::Feature(id), Some((_, along_mm))) = (hold.name.what, hold.on) else { return };
        let Some(feature) = self.project.features.get(&id) else { return };
        let (fixed_mm, moving_mm) = self.depths_mm(along_mm);
        let reach_mm = outline::plan_diameter_mm(&feature.kind) / 2.0;
        let (floor_mm, tip_mm) = match feature.half {
            Half::Moving => (opening_mm + moving_mm, opening_mm + moving_mm - feature.protrusion_mm),
            Half::Fixed => (-fixed_mm, feature.protrusion_mm - fixed_mm),
        };
        let (a, b) = (view.at(along_mm - reach_mm, floor_mm), view.at(along_mm + reach_mm, tip_mm));
        page.fill(rectangle(a.min(b), a.max(b)), 60);
    }

    /// The part: points (along, x, z) of its axis.
    fn part(&self, page: &mut Page, view: &View, points: impl Iterator<Item = (f64, f64, f64)>) {
        let inwards_mm = 1e-6 * self.axis.length_mm;
        let (mut upper, mut lower) = (Vec::new(), Vec::new());
        for (along_mm, x_mm, z_mm) in points.filter(|(_, x, z)| x.is_finite() && z.is_finite()) {
            let along_mm = along_mm.clamp(inwards_mm, self.axis.length_mm - inwards_mm);
            let (fixed_mm, moving_mm) = self.depths_mm(along_mm);
            upper.push(view.at(x_mm, z_mm + moving_mm));
            lower.push(view.at(x_mm, z_mm - fixed_mm));
        }
        let mut steps: Vec<Step> = Vec::new();
        for at in upper.into_iter().chain(lower.into_iter().rev()) {
            steps.push(if steps.is_empty() { Step::Move(at) } else { Step::Line(at) });
        }
        if steps.len() > 2 {
            steps.push(Step::Close);
            page.fill(steps.clone(), 150);
            page.stroke(steps, Pen::THIN);
        }
    }

    /// The released part on a flat table, moving side up.
    fn released(&self, flow: &mut Flow<'_>) {
        let pieces: Vec<_> = self.opening.residual.iter().filter(|r| r.run == self.axis.run).collect();
        let heights =
            || pieces.iter().flat_map(|piece| piece.points.iter().map(|(_, z)| *z)).filter(|z| z.is_finite());
        let low_mm = heights().fold(f64::INFINITY, f64::min);
        let high_mm = heights().fold(f64::NEG_INFINITY, f64::max);
        if low_mm > high_mm {
            return;
        }
        let (below_mm, above_mm) = self.deepest_mm();
        let words = "the released part, as it stays bent; the moving half's side is up";
        let (view, area) = self.view(flow, words, low_mm - below_mm, high_mm + above_mm, TAGS_MM);
        let lettering = flow.lettering;
        let page = flow.page();
        let table = view.at(0.0, low_mm - below_mm).y;
        page.line(DVec2::new(area.low.x, table), DVec2::new(area.high.x, table), Pen::HOLE);
        for piece in &pieces {
            self.part(page, &view, piece.points.iter().map(|&(along_mm, z)| (along_mm, along_mm, z)));
        }
        let mut labels =
            Labels::new(Area { low: area.low, high: DVec2::new(area.high.x, area.low.y + TAGS_MM) });
        for bump in bumps(self.opening, self.axis) {
            let words = format!("{} {}", self.project.tag(bump.item), signed(bump.height_mm, 2));
            let at = DVec2::new(view.at(bump.along_mm, 0.0).x, area.low.y + TAGS_MM);
            labels.place(page, lettering, &words, at, 0.0);
        }
        let at = DVec2::new(area.low.x, area.high.y - 2.0);
        page.text(at, SMALL_MM, 60, BUMPS.to_owned());
        let left_out = left_out(&[&labels]);
        if !left_out.is_empty() {
            flow.remark(&left_out);
        }
    }
}
