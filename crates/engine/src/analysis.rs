//! The one door into the engine: everything that follows from a project, in stages.

use std::sync::Arc;

use keepside_model::Project;

use crate::cooling::{self, Cooling, NotCooled};
use crate::filling::{self, Filling, NotFilled};
use crate::finding::{self, Drawn, Finding, Shot};
use crate::opening::{self, Cancel, Fineness, HoldName, Margin, NotComputed, Opening, Outcome, Stripping};
use crate::outline::{self, Gap, Outline};
use crate::press::{self, PressUse};
use crate::venting::{self, Venting};

/// What the drawing alone tells, without an opening run: cheap enough for every change.
#[derive(Clone, Debug)]
pub struct Layout {
    /// True outline of the part in plan.
    pub outline: Outline,
    /// The tightest gap of every keying feature to the channel edge and to its neighbours.
    pub gaps: Vec<Gap>,
    /// How melt fills the part, or why that cannot be told.
    pub filling: Result<Filling, NotFilled>,
    /// How the shot cools, or why that cannot be told.
    pub cooling: Result<Cooling, NotCooled>,
    /// How the air gets out; `None` if the filling is not known.
    pub venting: Option<Venting>,
    /// What the shot asks of the press; `None` if the filling is not known.
    pub press: Option<PressUse>,
    /// What the drawing alone tells.
    pub findings: Vec<Finding>,
}

/// Everything known so far about a project.
#[derive(Clone, Debug)]
pub struct Analysis {
    /// What the drawing alone tells.
    pub layout: Arc<Layout>,
    /// The opening run; `None` while it is being computed.
    pub opening: Option<Result<Arc<Opening>, NotComputed>>,
    /// Whether `opening` is a quick, coarse answer that a finer one will replace: the verdict settles.
    pub settling: bool,
    /// Taking the part off the moving half; `None` while it is being computed, or if the part does not
    /// stay there.
    pub stripping: Option<Arc<Stripping>>,
    /// Why stripping could not be computed, if it could not.
    pub stripping_failed: Option<NotComputed>,
    /// How far the verdict is from flipping; `None` while it is being computed or if there is no run.
    pub margin: Option<Margin>,
    /// All findings so far, worst first, those of the layout and those of the opening run.
    pub findings: Vec<Finding>,
    /// Whether nothing more will come for this project.
    pub finished: bool,
}

impl Analysis {
    /// Whether the opening run is there and leaves the part whole on the moving half.
    pub fn is_good(&self) -> bool {
        let outcome = self.opening.as_ref().and_then(|opening| Some(opening.as_ref().ok()?.verdict.outcome));
        outcome == Some(Outcome::StaysOnMoving)
    }

    /// The hold that decides the verdict: the one that the margin search found, if the flip is near
    /// enough (a factor of three) to say something about this mould, else the one that the opening run
    /// points at.
    pub fn deciding(&self) -> Option<HoldName> {
        let of_run = || {
            let opening = self.opening.as_ref()?.as_ref().ok()?;
            Some(opening.holds.get(opening.verdict.deciding?)?.name)
        };
        let is_near =
            |margin: &&Margin| margin.factor.is_some_and(|factor| (1.0 / 3.0..3.0).contains(&factor));
        self.margin.as_ref().filter(is_near).and_then(|margin| margin.deciding).or_else(of_run)
    }
}

/// What the drawing alone tells.
pub fn layout(project: &Project) -> Layout {
    let outline = outline::of(project);
    let gaps = outline::gaps(project, &outline);
    let filling = filling::fill(project);
    let drawn = Drawn::new(project, &outline, &gaps);
    let cooling = cooling::drawn(project, &drawn.lookup);
    let known = filling.as_ref().ok();
    let venting = known.map(|filling| venting::of(project, filling));
    let press = known.map(|filling| press::of(project, &outline, filling));
    let mut findings = finding::of_layout(&drawn);
    let cooled = cooling.as_ref().ok();
    findings.extend(known.iter().flat_map(|filling| finding::of_filling(project, filling, cooled)));
    let shot = Shot { cooling: cooling.as_ref(), venting: venting.as_ref(), press: press.as_ref() };
    findings.extend(finding::of_shot(&drawn, &shot));
    Layout { outline, gaps, filling, cooling, venting, press, findings }
}

/// Computes everything, handing each stage to `publish` as it is ready, the cheap ones first, and
/// returns the last. Stops early, with `finished` false, when `cancel` is set.
pub fn analyse(project: &Project, cancel: &Cancel, publish: &mut dyn FnMut(&Analysis)) -> Analysis {
    let layout = Arc::new(layout(project));
    let findings = layout.findings.clone();
    let mut analysis = Analysis {
        layout,
        opening: None,
        settling: false,
        stripping: None,
        stripping_failed: None,
        margin: None,
        findings,
        finished: false,
    };
    publish(&analysis);

    // A coarse run first: where it cannot be done, the full one tells why.
    match opening::run_with(project, Fineness::QUICK, cancel) {
        Err(NotComputed::Cancelled) => return analysis,
        Err(_) => {}
        Ok(opening) => {
            analysis.opening = Some(Ok(Arc::new(opening)));
            analysis.settling = true;
            analysis.findings = findings_of(project, &analysis);
            publish(&analysis);
        }
    }

    let stripping = opening::run_and_strip(project, cancel, &mut |opening| {
        analysis.opening = Some(Ok(Arc::new(opening)));
        analysis.settling = false;
        analysis.findings = findings_of(project, &analysis);
        publish(&analysis);
    });
    match stripping {
        Err(NotComputed::Cancelled) => return analysis,
        Ok(stripping) => analysis.stripping = stripping.map(Arc::new),
        // Stripping that could not be done leaves the opening run as it is.
        Err(reason) if analysis.opening.is_some() && !analysis.settling => {
            analysis.stripping_failed = Some(reason);
        }
        Err(reason) => (analysis.opening, analysis.settling) = (Some(Err(reason)), false),
    }
    if let Some(Ok(opening)) = &analysis.opening {
        let opening = Arc::clone(opening);
        analysis.findings = findings_of(project, &analysis);
        publish(&analysis);
        match opening::margin(project, &opening, cancel) {
            Err(NotComputed::Cancelled) => return analysis,
            // A run of the search that could not be done leaves the margin unknown.
            other => analysis.margin = other.ok(),
        }
    }
    analysis.findings = findings_of(project, &analysis);
    analysis.finished = true;
    publish(&analysis);
    analysis
}

/// All findings of what is known, worst first.
fn findings_of(project: &Project, analysis: &Analysis) -> Vec<Finding> {
    let mut findings = analysis.layout.findings.clone();
    match &analysis.opening {
        Some(Ok(opening)) => findings.extend(finding::of_opening(project, opening, analysis.deciding())),
        Some(Err(reason)) => findings.extend(finding::of_no_opening(project, reason)),
        None => {}
    }
    let stripping = analysis.stripping.iter().filter(|_| analysis.is_good());
    findings.extend(stripping.flat_map(|stripping| finding::of_stripping(project, stripping)));
    findings.extend(analysis.stripping_failed.iter().map(finding::of_no_stripping));
    findings.extend(
        analysis
            .margin
            .iter()
            .filter(|_| analysis.is_good())
            .flat_map(|margin| finding::of_margin(project, margin)),
    );
    finding::sort(&mut findings);
    findings
}
