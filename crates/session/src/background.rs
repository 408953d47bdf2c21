//! Analysis on one named thread: the newest request wins, results carry their revision.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Weak, mpsc};
use std::thread;

use keepside_engine::{Analysis, Cancel};
use keepside_model::Project;

/// What happens to an analysis that is running when a newer request comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Haste {
    /// It is stopped at once.
    StopRunning,
    /// It may finish its opening run, so that a long drag shows results on the way; the margin, which
    /// takes many runs, is stopped.
    FinishOpening,
}

/// A stage of an analysis, or why there is none.
#[derive(Debug)]
pub struct Report {
    /// Revision of the project it belongs to.
    pub revision: u64,
    /// The stage; the error is the message of a panic: a fault of the program, not of the layout.
    pub outcome: Result<Analysis, String>,
}

struct Job {
    revision: u64,
    project: Arc<Project>,
    state: Arc<State>,
}

/// What the asking and the working side know of a job.
#[derive(Debug, Default)]
struct State {
    cancel: Cancel,
    /// Its opening run has been published; only the margin is left.
    has_opened: AtomicBool,
}

/// The thread that analyses.
#[derive(Debug)]
pub struct Background {
    jobs: mpsc::Sender<Job>,
    reports: mpsc::Receiver<Report>,
    newest: Arc<AtomicU64>,
    /// One for each job that waits or runs.
    unfinished: Vec<Weak<State>>,
}

/// Computes an analysis in stages; see [`keepside_engine::analyse`].
type Analyse = dyn Fn(&Project, &Cancel, &mut dyn FnMut(&Analysis)) -> Analysis + Send;

impl Background {
    /// Starts the thread. `wake` is called after each report, to make the window look.
    ///
    /// # Errors
    ///
    /// The operating system's, if it gives no thread.
    pub fn spawn(wake: impl Fn() + Send + 'static) -> std::io::Result<Self> {
        Self::spawn_with(wake, Box::new(keepside_engine::analyse))
    }

    pub(crate) fn spawn_with(
        wake: impl Fn() + Send + 'static,
        analyse: Box<Analyse>,
    ) -> std::io::Result<Self> {
        let (jobs, queue) = mpsc::channel::<Job>();
        let (results, reports) = mpsc::channel();
        let newest = Arc::new(AtomicU64::new(0));
        let seen = Arc::clone(&newest);
        let work = move || {
            while let Ok(oldest) = queue.recv() {
                // Only the newest request matters; what piled up before it is stale.
                let job = queue.try_iter().last().unwrap_or(oldest);
                let report = |outcome| {
                    if results.send(Report { revision: job.revision, outcome }).is_ok() {
                        wake();
                    }
                };
                let mut publish = |stage: &Analysis| {
                    report(Ok(stage.clone()));
                    // Said before looking for newer requests, as a request is noted before looking
                    // for opened jobs: one of the two sides sees the other.
                    job.state.has_opened.store(stage.opening.is_some(), Ordering::SeqCst);
                    if stage.opening.is_some() && seen.load(Ordering::SeqCst) > job.revision {
                        job.state.cancel.cancel();
                    }
                };
                let run = || drop(analyse(&job.project, &job.state.cancel, &mut publish));
                if let Err(panic) = catch_unwind(AssertUnwindSafe(run)) {
                    report(Err(panic_words(panic.as_ref())));
                }
            }
        };
        thread::Builder::new().name("analysis".to_owned()).spawn(work)?;
        Ok(Self { jobs, reports, newest, unfinished: Vec::new() })
    }

    /// Asks for the analysis of `project`, which is the newest, as `revision`.
    pub fn request(&mut self, revision: u64, project: &Arc<Project>, haste: Haste) {
        self.newest.store(revision, Ordering::SeqCst);
        match haste {
            Haste::StopRunning => self.stop_all(),
            Haste::FinishOpening => self.stop(|job| job.has_opened.load(Ordering::SeqCst)),
        }
        let state = Arc::new(State::default());
        self.unfinished.retain(|job| job.strong_count() > 0);
        self.unfinished.push(Arc::downgrade(&state));
        let job = Job { revision, project: Arc::clone(project), state };
        // The thread ends only with this value; a panic in a job is caught there.
        drop(self.jobs.send(job));
    }

    /// The reports that have come since the last call, oldest first.
    pub fn poll(&self) -> impl Iterator<Item = Report> + '_ {
        self.reports.try_iter()
    }

    /// Tells all jobs that wait or run to stop.
    pub fn stop_all(&self) {
        self.stop(|_| true);
    }

    /// Tells those of the jobs that wait or run to stop.
    fn stop(&self, which: impl Fn(&State) -> bool) {
        let jobs = self.unfinished.iter().filter_map(Weak::upgrade);
        jobs.filter(|job| which(job)).for_each(|job| job.cancel.cancel());
    }
}

impl Drop for Background {
    fn drop(&mut self) {
        self.stop_all();
    }
}

/// The message of a panic.
pub(crate) fn panic_words(panic: &(dyn Any + Send)) -> String {
    let words = panic.downcast_ref::<&str>().copied().map(str::to_owned);
    words.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "no message".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;
    use std::time::Duration;

    fn stage(finished: bool) -> Analysis {
        let layout = Arc::new(keepside_engine::layout(&Project::blank()));
        Analysis {
            layout,
            opening: None,
            settling: false,
            stripping: None,
            stripping_failed: None,
            margin: None,
            findings: Vec::new(),
            finished,
        }
    }

    /// A background whose analysis is `analyse`, and a channel that ticks with every report.
    fn background(
        analyse: impl Fn(&Project, &Cancel, &mut dyn FnMut(&Analysis)) -> Analysis + Send + 'static,
    ) -> (Background, mpsc::Receiver<()>) {
        let (tick, ticks) = mpsc::channel();
        let wake = move || tick.send(()).unwrap_or(());
        (Background::spawn_with(wake, Box::new(analyse)).unwrap(), ticks)
    }

    fn wait(ticks: &mpsc::Receiver<()>) {
        ticks.recv_timeout(Duration::from_secs(20)).expect("no report within 20 s");
    }

    fn named(name: &str) -> Arc<Project> {
        Arc::new(Project { name: name.to_owned(), ..Project::blank() })
    }

    #[test]
    fn stages_arrive_in_order_with_their_revision() {
        let (mut background, ticks) = background(|_, _, publish| {
            publish(&stage(false));
            publish(&stage(true));
            stage(true)
        });
        background.request(7, &named("a"), Haste::StopRunning);
        wait(&ticks);
        wait(&ticks);
        let got: Vec<(u64, bool)> =
            background.poll().map(|report| (report.revision, report.outcome.unwrap().finished)).collect();
        assert_eq!(got, [(7, false), (7, true)]);
    }

    /// Runs the job "first" until `release` lets it go on or it is stopped, with others asked for
    /// meanwhile; returns which jobs ran and whether they had been stopped.
    fn overtake(haste: Haste) -> Vec<(String, bool)> {
        let log = Arc::new(Mutex::new(Vec::new()));
        let ran = Arc::clone(&log);
        let (started, is_running) = mpsc::channel();
        let (release, released) = mpsc::channel::<()>();
        let (mut background, ticks) = background(move |project, cancel, publish| {
            started.send(()).unwrap();
            while project.name == "first" && !cancel.is_cancelled() && released.try_recv().is_err() {
                thread::yield_now();
            }
            ran.lock().unwrap().push((project.name.clone(), cancel.is_cancelled()));
            publish(&stage(true));
            stage(true)
        });
        background.request(1, &named("first"), Haste::StopRunning);
        is_running.recv_timeout(Duration::from_secs(20)).unwrap();
        background.request(2, &named("second"), Haste::FinishOpening);
        background.request(3, &named("third"), haste);
        if haste == Haste::FinishOpening {
            release.send(()).unwrap();
        }
        wait(&ticks);
        wait(&ticks);
        assert_eq!(background.poll().map(|report| report.revision).collect::<Vec<_>>(), [1, 3]);
        let log = log.lock().unwrap();
        log.clone()
    }

    #[test]
    fn a_newer_request_stops_the_running_one_and_skips_those_between() {
        let ran = overtake(Haste::StopRunning);
        assert_eq!(ran, [("first".to_owned(), true), ("third".to_owned(), false)]);
    }

    #[test]
    fn during_a_drag_the_running_one_goes_on_and_those_between_are_skipped() {
        let ran = overtake(Haste::FinishOpening);
        assert_eq!(ran, [("first".to_owned(), false), ("third".to_owned(), false)]);
    }

    #[test]
    fn a_margin_search_is_stopped_by_any_newer_request() {
        let (mut background, ticks) = background(|project, cancel, publish| {
            let mut opened = stage(false);
            opened.opening = Some(Err(keepside_engine::NotComputed::NoRun));
            publish(&opened);
            // The margin of the first goes on until somebody stops it.
            while project.name == "first" && !cancel.is_cancelled() {
                thread::yield_now();
            }
            opened
        });
        background.request(1, &named("first"), Haste::StopRunning);
        wait(&ticks);
        background.request(2, &named("second"), Haste::FinishOpening);
        wait(&ticks);
        assert_eq!(background.poll().map(|report| report.revision).collect::<Vec<_>>(), [1, 2]);
    }

    #[test]
    fn a_panic_is_reported_and_the_thread_lives_on() {
        let (mut background, ticks) = background(|project, _, publish| {
            assert!(project.name != "bad", "the layout was {}", project.name);
            publish(&stage(true));
            stage(true)
        });
        background.request(1, &named("bad"), Haste::StopRunning);
        wait(&ticks);
        let report = background.poll().next().unwrap();
        assert_eq!(report.revision, 1);
        assert_eq!(report.outcome.unwrap_err(), "the layout was bad");
        background.request(2, &named("good"), Haste::StopRunning);
        wait(&ticks);
        assert!(background.poll().next().unwrap().outcome.is_ok());
    }
}
