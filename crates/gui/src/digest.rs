//! What decides between two layouts, in few numbers.

use keepside_engine::opening::{BumpAt, Margin, NotComputed, Opening, Outcome, Stripping};
use keepside_engine::{Analysis, Finding, Severity};
use keepside_model::Project;
use keepside_session::{Progress, Session};

use crate::elevation::sentence;
use crate::units::Unit;

/// One layout in numbers.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Digest {
    /// How the opening ends, in words.
    pub(crate) verdict: String,
    /// Whether the part stays whole on the moving half.
    pub(crate) good: bool,
    /// Whether nothing more will come.
    pub(crate) finished: bool,
    values: [Option<f64>; ROWS.len()],
}

/// What a number is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Count,
    Force,
    Length,
    Angle,
    Factor,
}

/// The numbers, in the order in which they are told; the flag says that less of it is better, or more.
const ROWS: [(&str, Kind, Option<bool>); 13] = [
    ("Margin", Kind::Factor, Some(false)),
    ("Peak, moving half", Kind::Force, None),
    ("Peak, fixed half", Kind::Force, None),
    ("Ejection force", Kind::Force, Some(true)),
    ("Tallest bump", Kind::Length, Some(true)),
    ("Sharpest kink", Kind::Angle, Some(true)),
    ("Flat within, released", Kind::Length, Some(true)),
    ("Flat within, ejected", Kind::Length, Some(true)),
    ("Keying pins", Kind::Count, None),
    ("Holes", Kind::Count, None),
    ("Faults", Kind::Count, Some(true)),
    ("Warnings", Kind::Count, Some(true)),
    ("Notes", Kind::Count, None),
];

/// A row of the comparison.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    pub(crate) name: &'static str,
    pub(crate) a: String,
    pub(crate) b: String,
    /// B less A, with its sign; nothing where there is none to tell.
    pub(crate) change: String,
    /// Whether B is better there, or worse.
    pub(crate) better: Option<bool>,
}

impl Digest {
    /// Of the open layout, as far as it is known; what belongs to an older state of it is left out.
    pub(crate) fn of_session(session: &Session) -> Self {
        let results = session.results();
        let findings = results.findings(session.revision());
        let stands = session.progress().has_verdict();
        Self::of(
            session.document(),
            results.opening().filter(|_| stands).map(|opening| opening.as_deref()),
            results.margin().filter(|_| stands),
            results.stripping().filter(|_| stands),
            findings.iter().filter(|(_, fresh)| *fresh).map(|(finding, _)| *finding),
            session.progress() == Progress::Done,
        )
    }

    /// Of a layout of which nothing has been computed yet.
    pub(crate) fn of_project(project: &Project) -> Self {
        Self::of(project, None, None, None, std::iter::empty(), false)
    }

    /// Of a layout that is analysed in the background.
    pub(crate) fn of_analysis(project: &Project, analysis: &Analysis) -> Self {
        let stands = !analysis.settling;
        Self::of(
            project,
            analysis.opening.as_ref().filter(|_| stands).map(|opening| opening.as_deref()),
            analysis.margin.as_ref(),
            analysis.stripping.as_deref(),
            analysis.findings.iter(),
            analysis.finished,
        )
    }

    fn of<'a>(
        project: &Project,
        opening: Option<Result<&Opening, &NotComputed>>,
        margin: Option<&Margin>,
        stripping: Option<&Stripping>,
        findings: impl Iterator<Item = &'a Finding>,
        finished: bool,
    ) -> Self {
        let run = opening.and_then(Result::ok);
        let verdict = match opening {
            Some(Ok(opening)) => sentence(&opening.verdict.words),
            Some(Err(reason)) => sentence(&reason.to_string()),
            None => "Computing…".to_owned(),
        };
        let findings: Vec<Severity> = findings.map(|finding| finding.severity).collect();
        let count = |severity| findings.iter().filter(|of| **of == severity).count();
        let most = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
        let ejected = stripping.filter(|stripping| !stripping.residual.is_empty());
        let bumps = |bumps: &[BumpAt]| most(&mut bumps.iter().map(|bump| bump.height_mm.abs()));
        let kinks = |bumps: &[BumpAt]| most(&mut bumps.iter().map(|bump| bump.kink_deg.abs()));
        // What is left after ejection counts where it is known.
        let left = ejected.map(|stripping| &*stripping.bumps).or(run.map(|opening| &*opening.bumps));
        let holes =
            project.holes.len() + project.sprues.len() + project.ejectors.len() + project.features.len();
        let finite = |mm: f64| mm.is_finite().then_some(mm);
        Self {
            verdict,
            good: run.is_some_and(|opening| opening.verdict.outcome == Outcome::StaysOnMoving),
            finished,
            values: [
                margin.map(|margin| margin.factor.unwrap_or(f64::INFINITY)),
                run.map(|opening| most(&mut opening.frames.iter().map(|frame| frame.moving_n))),
                run.map(|opening| most(&mut opening.frames.iter().map(|frame| frame.fixed_n))),
                ejected.map(|stripping| stripping.peak_n),
                left.map(bumps),
                left.map(kinks),
                run.and_then(|opening| finite(opening.flatness_mm)),
                ejected.and_then(|stripping| finite(stripping.flatness_mm)),
                Some(number(project.features.len())),
                Some(number(holes)),
                Some(number(count(Severity::Fault))),
                Some(number(count(Severity::Warning))),
                Some(number(count(Severity::Note))),
            ],
        }
    }
}

/// Both layouts, number by number.
pub(crate) fn rows(a: &Digest, b: &Digest, unit: Unit) -> Vec<Row> {
    let row = |(index, &(name, kind, less_is_better)): (usize, &(&'static str, Kind, Option<bool>))| {
        let (a, b) = (a.values[index], b.values[index]);
        let words =
            |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| kind.words(value, unit));
        let by = a.zip(b).map(|(a, b)| b - a).filter(|by| by.is_finite());
        let shown = by
            .map(|by| kind.words(by.abs(), unit))
            .filter(|words| words.contains(|c| matches!(c, '1'..='9')));
        let sign = if by.is_some_and(|by| by < 0.0) { "−" } else { "+" };
        let better = by.filter(|_| shown.is_some()).zip(less_is_better).map(|(by, less)| (by < 0.0) == less);
        let change = match (&shown, by) {
            (Some(words), _) => format!("{sign}{words}"),
            (None, Some(_)) => "same".to_owned(),
            (None, None) => String::new(),
        };
        Row { name, a: words(a), b: words(b), change, better }
    };
    // What neither of them has is not told.
    let known = |index: usize| a.values[index].or(b.values[index]).is_some();
    ROWS.iter().enumerate().filter(|(index, _)| known(*index)).map(row).collect()
}

impl Kind {
    fn words(self, value: f64, unit: Unit) -> String {
        match self {
            Self::Count => format!("{value:.0}"),
            Self::Force => format!("{value:.1} N"),
            Self::Length => unit.length(value),
            Self::Angle => format!("{value:.1}°"),
            Self::Factor if value.is_infinite() => "no flip".to_owned(),
            Self::Factor => format!("{value:.2}"),
        }
    }
}

/// A count as a number.
fn number(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::INFINITY, f64::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn digest(values: [Option<f64>; ROWS.len()]) -> Digest {
        Digest { verdict: String::new(), good: true, finished: true, values }
    }

    #[test]
    fn differences_have_a_sign_and_say_which_is_better() {
        let mut of_a = [Some(1.0); ROWS.len()];
        let mut of_b = of_a;
        (of_a[0], of_b[0]) = (Some(1.5), Some(2.25));
        (of_a[4], of_b[4]) = (Some(0.5), Some(0.8));
        (of_a[3], of_b[3]) = (None, Some(12.0));
        let rows = rows(&digest(of_a), &digest(of_b), Unit::Millimetre);
        let told =
            |index: usize| (rows[index].a.as_str(), rows[index].b.as_str(), rows[index].change.as_str());
        assert_eq!(told(0), ("1.50", "2.25", "+0.75"));
        assert_eq!(rows[0].better, Some(true), "more margin is better");
        assert_eq!(told(4), ("0.50 mm", "0.80 mm", "+0.30 mm"));
        assert_eq!(rows[4].better, Some(false), "a taller bump is worse");
        assert_eq!(told(3), ("–", "12.0 N", ""));
        assert_eq!(told(1).2, "same");
        assert_eq!(rows[1].better, None);
    }

    #[test]
    fn what_can_be_counted_is_counted_without_an_opening() {
        let project = Project::blank();
        let digest = Digest::of_project(&project);
        assert_eq!(digest.verdict, "Computing…");
        assert_eq!(digest.values[0], None);
        assert_eq!(digest.values[9], Some(0.0));
    }
}
