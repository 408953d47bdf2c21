//! What is known about the project at this moment: fresh where it can be, else the last known.

use std::collections::BTreeMap;
use std::sync::Arc;

use keepside_engine::opening::{HoldName, Stripping};
use keepside_engine::{Analysis, Finding, Layout, Margin, NotComputed, Opening};

use crate::background::Report;

/// How far the analysis of the present project has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// The opening run is being computed; what is shown of it belongs to an older project.
    ComputingOpening,
    /// A quick, coarse opening run is there; a finer one is being computed and may end otherwise.
    Settling,
    /// The opening run is there, its margin or its stripping is being computed.
    ComputingMargin,
    /// The user stopped the computing before the full opening run of the present project was there;
    /// what is shown of it is a quick answer, or belongs to an older project.
    Stopped,
    /// The opening run is there, the user stopped the computing of its margin or its stripping.
    StoppedMargin,
    /// Everything is there.
    Done,
    /// The program failed at it; see [`Results::panic`].
    Failed,
}

impl Progress {
    /// Whether the full opening run of the present project is there, so that its verdict stands.
    pub const fn has_verdict(self) -> bool {
        matches!(self, Self::ComputingMargin | Self::StoppedMargin | Self::Done)
    }

    /// Whether more will come by itself.
    pub const fn is_computing(self) -> bool {
        matches!(self, Self::ComputingOpening | Self::Settling | Self::ComputingMargin)
    }

    /// The same once nothing more will come by itself.
    pub(crate) const fn stopped(self) -> Self {
        match self {
            Self::ComputingOpening | Self::Settling => Self::Stopped,
            Self::ComputingMargin => Self::StoppedMargin,
            ended => ended,
        }
    }
}

/// The results of an analysis that stay visible until newer ones land.
#[derive(Debug, Default)]
pub struct Results {
    /// Reports of earlier revisions belong to another project.
    first: u64,
    layout: Option<(u64, Arc<Layout>)>,
    opened: Option<(u64, Analysis)>,
    /// Of each finding of that analysis, whether its layout has it as well.
    of_layout: Vec<bool>,
    /// Message of the panic that ended the analysis of this revision.
    panic: Option<(u64, String)>,
}

impl Results {
    /// Nothing yet, and nothing to come from before a revision.
    pub(crate) fn since(first: u64) -> Self {
        Self { first, ..Self::default() }
    }

    /// The layout's outline, gaps and findings: the newest there are.
    pub fn layout(&self) -> Option<&Layout> {
        self.layout.as_ref().map(|(_, layout)| layout.as_ref())
    }

    /// Revision of the project that the layout belongs to.
    pub fn layout_revision(&self) -> Option<u64> {
        self.layout.as_ref().map(|(revision, _)| *revision)
    }

    /// The newest opening run there is, or why there is none.
    pub fn opening(&self) -> Option<&Result<Arc<Opening>, NotComputed>> {
        self.opened.as_ref().and_then(|(_, analysis)| analysis.opening.as_ref())
    }

    /// Whether the newest opening run is a quick, coarse one.
    pub fn is_quick(&self) -> bool {
        self.opened.as_ref().is_some_and(|(_, analysis)| analysis.settling)
    }

    /// The margin of the newest opening run, once it is known.
    pub fn margin(&self) -> Option<&Margin> {
        self.opened.as_ref().and_then(|(_, analysis)| analysis.margin.as_ref())
    }

    /// What stripping the part off the moving half does, once it is known; `None` as well if the part
    /// does not stay there.
    pub fn stripping(&self) -> Option<&Stripping> {
        self.opened.as_ref().and_then(|(_, analysis)| analysis.stripping.as_deref())
    }

    /// Everything that was found about `revision`, once nothing more will come.
    pub fn analysis(&self, revision: u64) -> Option<&Analysis> {
        let opened = self.opened.as_ref().filter(|(of, analysis)| *of == revision && analysis.finished);
        opened.map(|(_, analysis)| analysis)
    }

    /// How far the analysis of `revision` has come.
    pub fn progress(&self, revision: u64) -> Progress {
        if self.panic.as_ref().is_some_and(|(of, _)| *of == revision) {
            return Progress::Failed;
        }
        match &self.opened {
            Some((of, analysis)) if *of == revision && analysis.finished => Progress::Done,
            Some((of, analysis)) if *of == revision && analysis.settling => Progress::Settling,
            Some((of, _)) if *of == revision => Progress::ComputingMargin,
            _ => Progress::ComputingOpening,
        }
    }

    /// Message of the panic that ended the analysis of the newest revision analysed.
    pub fn panic(&self) -> Option<&str> {
        self.panic.as_ref().map(|(_, words)| words.as_str())
    }

    /// The hold that decides the newest run's verdict, as far as it is known.
    pub fn deciding(&self) -> Option<HoldName> {
        self.opened.as_ref().and_then(|(_, analysis)| analysis.deciding())
    }

    /// The findings: those of the drawing from the newest layout, those of the opening run from the
    /// newest run, worst first. The flag says whether a finding belongs to the project as it is now and
    /// stands; one of a run that is still settling does not.
    pub fn findings(&self, revision: u64) -> Vec<(&Finding, bool)> {
        let mut all = Vec::new();
        match (&self.opened, &self.layout) {
            (Some((of, analysis)), _) if *of == revision => {
                let each = analysis.findings.iter().zip(&self.of_layout);
                all.extend(each.map(|(finding, of_layout)| (finding, !analysis.settling || *of_layout)));
            }
            (opened, layout) => {
                if let Some((of, layout)) = layout {
                    all.extend(layout.findings.iter().map(|finding| (finding, *of == revision)));
                }
                if let Some((_, analysis)) = opened {
                    let each = analysis.findings.iter().zip(&self.of_layout);
                    let of_run = each.filter(|(_, of_layout)| !**of_layout);
                    all.extend(of_run.map(|(finding, _)| (finding, false)));
                }
            }
        }
        all.sort_by_key(|(finding, _)| finding.severity);
        all
    }

    /// What was found out about one revision is true of another one, which computes alike.
    pub(crate) fn stand_for(&mut self, from: u64, to: u64) {
        let layout = self.layout.iter_mut().map(|(revision, _)| revision);
        let opened = self.opened.iter_mut().map(|(revision, _)| revision);
        layout.chain(opened).filter(|revision| **revision == from).for_each(|revision| *revision = to);
    }

    /// Takes in a layout computed at once.
    pub(crate) fn set_layout(&mut self, revision: u64, layout: Arc<Layout>) {
        if self.layout.as_ref().is_none_or(|(of, _)| *of <= revision) {
            self.layout = Some((revision, layout));
        }
    }

    /// Takes in what the background thread reports.
    pub(crate) fn take(&mut self, report: Report) {
        let Report { revision, outcome } = report;
        if revision < self.first {
            return;
        }
        match outcome {
            Err(words) => self.panic = Some((revision, words)),
            Ok(analysis) => {
                if self.panic.as_ref().is_some_and(|(of, _)| *of <= revision) {
                    self.panic = None;
                }
                self.set_layout(revision, Arc::clone(&analysis.layout));
                // Computed once more after it was stopped, a full run is not followed by a quick one.
                let is_known =
                    self.opened.as_ref().is_some_and(|(of, known)| *of == revision && !known.settling);
                if analysis.opening.is_some() && !(analysis.settling && is_known) {
                    self.of_layout = of_layout(&analysis);
                    self.opened = Some((revision, analysis));
                }
            }
        }
    }
}

/// Of each finding, whether the layout has it as well. There may be thousands: found by what they say first.
fn of_layout(analysis: &Analysis) -> Vec<bool> {
    let mut by_words: BTreeMap<&str, Vec<&Finding>> = BTreeMap::new();
    for finding in &analysis.layout.findings {
        by_words.entry(&finding.message).or_default().push(finding);
    }
    let has =
        |finding: &Finding| by_words.get(&*finding.message).is_some_and(|alike| alike.contains(&finding));
    analysis.findings.iter().map(has).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use keepside_engine::Severity;
    use keepside_model::Project;

    fn finding(rule: &'static str, severity: Severity) -> Finding {
        Finding {
            rule,
            severity,
            items: Vec::new(),
            at: None,
            message: String::new(),
            measured: None,
            needed: None,
            unit: "",
            cure: String::new(),
            cure_edit: None,
        }
    }

    fn analysis(of_layout: &[Finding], of_run: &[Finding], opened: bool, finished: bool) -> Analysis {
        let mut layout = keepside_engine::layout(&Project::blank());
        layout.findings = of_layout.to_vec();
        Analysis {
            layout: Arc::new(layout),
            opening: opened.then_some(Err(NotComputed::NoRun)),
            settling: false,
            stripping: None,
            stripping_failed: None,
            margin: None,
            findings: of_layout.iter().chain(of_run).cloned().collect(),
            finished,
        }
    }

    fn rules(results: &Results, revision: u64) -> Vec<(&'static str, bool)> {
        results.findings(revision).into_iter().map(|(finding, fresh)| (finding.rule, fresh)).collect()
    }

    #[test]
    fn an_old_run_stays_visible_until_the_new_one_lands() {
        let gap = finding("gap", Severity::Warning);
        let jam = finding("jam", Severity::Fault);
        let roof = finding("roof", Severity::Warning);
        let mut results = Results::default();
        assert_eq!(results.progress(1), Progress::ComputingOpening);
        results.take(Report {
            revision: 1,
            outcome: Ok(analysis(std::slice::from_ref(&gap), &[], false, false)),
        });
        assert_eq!(rules(&results, 1), [("gap", true)]);
        results.take(Report {
            revision: 1,
            outcome: Ok(analysis(std::slice::from_ref(&gap), &[jam], true, false)),
        });
        assert_eq!(results.progress(1), Progress::ComputingMargin);
        // The next revision has another layout finding and no run yet.
        results.take(Report {
            revision: 2,
            outcome: Ok(analysis(std::slice::from_ref(&roof), &[], false, false)),
        });
        assert_eq!(results.progress(2), Progress::ComputingOpening);
        assert!(results.opening().is_some(), "the old run is still shown");
        assert_eq!(rules(&results, 2), [("jam", false), ("roof", true)]);
        results.take(Report { revision: 2, outcome: Ok(analysis(&[roof], &[], true, true)) });
        assert_eq!(results.progress(2), Progress::Done);
        assert_eq!(rules(&results, 2), [("roof", true)]);
    }

    #[test]
    fn a_quick_run_settles_until_the_full_one_is_there() {
        let (gap, jam) = (finding("gap", Severity::Warning), finding("jam", Severity::Fault));
        let mut results = Results::default();
        let quick = Analysis {
            settling: true,
            ..analysis(std::slice::from_ref(&gap), std::slice::from_ref(&jam), true, false)
        };
        results.take(Report { revision: 1, outcome: Ok(quick) });
        assert_eq!(results.progress(1), Progress::Settling);
        assert!(!results.progress(1).has_verdict());
        assert_eq!(rules(&results, 1), [("jam", false), ("gap", true)]);
        results.take(Report { revision: 1, outcome: Ok(analysis(&[gap], &[jam], true, false)) });
        assert_eq!(results.progress(1), Progress::ComputingMargin);
        assert!(results.progress(1).has_verdict());
        assert_eq!(rules(&results, 1), [("jam", true), ("gap", true)]);
    }

    #[test]
    fn a_full_run_computed_once_more_stays_while_the_quick_one_comes_by() {
        let mut results = Results::default();
        results.take(Report { revision: 1, outcome: Ok(analysis(&[], &[], true, false)) });
        let quick = Analysis { settling: true, ..analysis(&[], &[], true, false) };
        results.take(Report { revision: 1, outcome: Ok(quick.clone()) });
        assert_eq!(results.progress(1), Progress::ComputingMargin);
        results.take(Report { revision: 2, outcome: Ok(quick) });
        assert_eq!((results.progress(2), results.is_quick()), (Progress::Settling, true));
    }

    #[test]
    fn a_panic_shows_until_a_later_analysis_works() {
        let mut results = Results::default();
        results.take(Report { revision: 3, outcome: Err("index out of bounds".to_owned()) });
        assert_eq!(results.progress(3), Progress::Failed);
        assert_eq!(results.panic(), Some("index out of bounds"));
        results.take(Report { revision: 4, outcome: Ok(analysis(&[], &[], true, true)) });
        assert_eq!((results.progress(4), results.panic()), (Progress::Done, None));
    }
}
