//! What takes long and is asked for beside the analysis: chances, learning, suggestions. Each is computed on
//! a thread of its own, of the newest project only; what is known so far comes while it goes on.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, mpsc};
use std::thread;

use keepside_engine::Cancel;
use keepside_model::Project;

use crate::background::panic_words;

/// How far it has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StudyState {
    /// Nothing has been asked for of the project as it is now.
    Waiting,
    /// It is being computed.
    Running,
    /// The user stopped it.
    Stopped,
    /// Nothing more will come.
    Done,
    /// The program failed at it, with this message: a fault of the program, not of the layout.
    Failed(String),
}

/// What a computation tells while it goes on.
#[derive(Clone, Debug, PartialEq)]
pub enum Stage<T> {
    /// Shots computed, and shots in all.
    Shots(usize, usize),
    /// What is known now.
    Known(T),
}

/// Computes something of a project, in the way that the user chose; tells stages.
pub type Compute<T, P> = dyn Fn(&Project, &P, &Cancel, &mut dyn FnMut(Stage<T>)) + Send + Sync;

enum Message<T> {
    Stage(Stage<T>),
    Ended(Result<(), String>),
}

/// Something computed of the newest project by many shots, in a way `P` that the user chose.
pub struct Study<T, P> {
    name: &'static str,
    compute: Arc<Compute<T, P>>,
    is_alike: fn(&Project, &Project) -> bool,
    wake: Arc<dyn Fn() + Send + Sync>,
    sender: mpsc::Sender<(u64, Message<T>)>,
    receiver: mpsc::Receiver<(u64, Message<T>)>,
    /// Number of what was begun last; what others still tell is passed over.
    number: u64,
    cancel: Arc<Cancel>,
    state: StudyState,
    /// What `state` is about.
    of: Option<(Arc<Project>, P)>,
    shots: (usize, usize),
    /// What is known, and of which project.
    known: Option<(Arc<Project>, T)>,
    /// Whether that is of the project that `state` is about.
    is_fresh: bool,
}

impl<T, P> std::fmt::Debug for Study<T, P> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Study").field("name", &self.name).field("state", &self.state).finish_non_exhaustive()
    }
}

impl<T: Send + 'static, P: Clone + PartialEq + Send + 'static> Study<T, P> {
    /// A study that has not begun. Projects of which `is_alike` holds give the same answer. `wake` is called
    /// from another thread whenever something has come.
    pub fn new(
        name: &'static str,
        is_alike: fn(&Project, &Project) -> bool,
        wake: impl Fn() + Send + Sync + 'static,
        compute: impl Fn(&Project, &P, &Cancel, &mut dyn FnMut(Stage<T>)) + Send + Sync + 'static,
    ) -> Self {
        let (sender, receiver) = mpsc::channel();
        Self {
            name,
            compute: Arc::new(compute),
            is_alike,
            wake: Arc::new(wake),
            sender,
            receiver,
            number: 0,
            cancel: Arc::default(),
            state: StudyState::Waiting,
            of: None,
            shots: (0, 0),
            known: None,
            is_fresh: false,
        }
    }

    /// Keeps to the project as it is now: of another one than before nothing is computed on. If it
    /// `is_wanted`, what has not been computed is begun; what the user stopped stays so until the next change.
    pub fn follow(&mut self, project: &Arc<Project>, how: P, is_wanted: bool) {
        let is_same = self.of.as_ref().is_some_and(|(of, with)| {
            *with == how && (Arc::ptr_eq(of, project) || (self.is_alike)(of, project))
        });
        if !is_same {
            self.end(StudyState::Waiting);
        }
        // The newest state is kept, so that it is known again at once.
        self.of = Some((Arc::clone(project), how));
        if is_wanted && self.state == StudyState::Waiting {
            self.begin();
        }
    }

    /// Ends what is being computed, and lets nothing more come of it.
    fn end(&mut self, state: StudyState) {
        self.cancel.cancel();
        self.number += 1;
        if state == StudyState::Waiting {
            self.is_fresh = false;
        }
        self.state = state;
    }

    fn begin(&mut self) {
        let Some((project, how)) = self.of.clone() else { return };
        self.number += 1;
        self.cancel = Arc::default();
        self.shots = (0, 0);
        self.state = StudyState::Running;
        let (number, cancel) = (self.number, Arc::clone(&self.cancel));
        let (sender, wake, compute) =
            (self.sender.clone(), Arc::clone(&self.wake), Arc::clone(&self.compute));
        let work = move || {
            let tell = |message| {
                if sender.send((number, message)).is_ok() {
                    wake();
                }
            };
            let run = || compute(&project, &how, &cancel, &mut |stage| tell(Message::Stage(stage)));
            let ended = catch_unwind(AssertUnwindSafe(run));
            tell(Message::Ended(ended.map_err(|panic| panic_words(panic.as_ref()))));
        };
        if let Err(error) = thread::Builder::new().name(self.name.to_owned()).spawn(work) {
            self.state = StudyState::Failed(format!("no thread could be started: {error}"));
        }
    }

    /// Takes in what has come; whether anything has.
    pub fn poll(&mut self) -> bool {
        let messages: Vec<_> = self.receiver.try_iter().collect();
        let any = !messages.is_empty();
        for (number, message) in messages {
            let Some((project, _)) = self.of.as_ref().filter(|_| number == self.number) else { continue };
            match message {
                Message::Stage(Stage::Shots(done, whole)) => self.shots = (done, whole),
                Message::Stage(Stage::Known(known)) => {
                    self.known = Some((Arc::clone(project), known));
                    self.is_fresh = true;
                }
                Message::Ended(Ok(())) => self.state = StudyState::Done,
                Message::Ended(Err(words)) => self.state = StudyState::Failed(words),
            }
        }
        any
    }

    /// Stops what is being computed; what is known so far stays.
    pub fn stop(&mut self) {
        if matches!(self.state, StudyState::Running | StudyState::Waiting) {
            self.end(StudyState::Stopped);
        }
    }

    /// Computes from the beginning, whatever was stopped or known.
    pub fn start(&mut self) {
        self.end(StudyState::Waiting);
        self.begin();
    }

    /// Forgets everything: another project has been opened.
    pub fn forget(&mut self) {
        self.end(StudyState::Waiting);
        self.known = None;
        self.of = None;
    }

    /// How far it has come.
    pub fn state(&self) -> &StudyState {
        &self.state
    }

    /// Shots computed, and shots in all, as far as that is told.
    pub fn shots(&self) -> (usize, usize) {
        self.shots
    }

    /// What was known last, of which project, and whether that is the project as it is now.
    pub fn known(&self) -> Option<(&T, &Arc<Project>, bool)> {
        self.known.as_ref().map(|(project, known)| (known, project, self.is_fresh))
    }

    /// Whether more will come by itself.
    pub fn is_running(&self) -> bool {
        self.state == StudyState::Running
    }
}

impl<T, P> Drop for Study<T, P> {
    fn drop(&mut self) {
        self.cancel.cancel();
    }
}

/// How many threads a study takes: all that the machine has but one, which is left to the window.
pub fn study_threads() -> usize {
    thread::available_parallelism().map_or(1, |threads| threads.get().saturating_sub(1).max(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    use keepside_engine::chances::Plan;

    type Of = Study<String, Plan>;

    fn named(name: &str) -> Arc<Project> {
        Arc::new(Project { name: name.to_owned(), ..Project::blank() })
    }

    /// A study that tells the project's name, and ticks with everything that comes. The project "long" goes on
    /// until it is stopped, "bad" panics.
    fn study() -> (Of, mpsc::Receiver<()>) {
        let (tick, ticks) = mpsc::channel();
        let wake = move || tick.send(()).unwrap_or(());
        let is_alike = |a: &Project, b: &Project| a.name == b.name;
        let study = Study::new("study", is_alike, wake, |project, plan: &Plan, cancel, tell| {
            assert!(project.name != "bad", "the layout was {}", project.name);
            tell(Stage::Shots(1, plan.shots()));
            tell(Stage::Known(format!("{} so far", project.name)));
            while project.name == "long" && !cancel.is_cancelled() {
                thread::yield_now();
            }
            tell(Stage::Known(project.name.clone()));
        });
        (study, ticks)
    }

    fn known(study: &Of) -> Option<(&str, bool)> {
        study.known().map(|(known, _, is_fresh)| (known.as_str(), is_fresh))
    }

    /// Polls until `done`.
    fn wait(study: &mut Of, ticks: &mpsc::Receiver<()>, done: impl Fn(&Of) -> bool) {
        while !done(study) {
            ticks.recv_timeout(Duration::from_secs(20)).expect("nothing came within 20 s");
            study.poll();
        }
    }

    #[test]
    fn what_is_known_comes_while_it_goes_on_and_is_kept_when_it_is_stopped() {
        let (mut study, ticks) = study();
        study.follow(&named("long"), Plan::default(), false);
        assert_eq!((study.state(), study.known()), (&StudyState::Waiting, None));
        study.follow(&named("long"), Plan::default(), true);
        wait(&mut study, &ticks, |study| study.known().is_some());
        assert_eq!((study.shots(), study.is_running()), ((1, 2000), true));
        study.stop();
        // Being wanted does not begin it again, nor does what makes no difference.
        study.follow(
            &Arc::new(Project { notes: "n".to_owned(), ..(*named("long")).clone() }),
            Plan::default(),
            true,
        );
        assert_eq!((study.state(), known(&study)), (&StudyState::Stopped, Some(("long so far", true))));
        // What the stopped one still tells is passed over.
        ticks.recv_timeout(Duration::from_secs(20)).expect("it ends");
        ticks.recv_timeout(Duration::from_secs(20)).expect("it ends");
        study.poll();
        assert_eq!(known(&study), Some(("long so far", true)));
        study.start();
        assert!(study.is_running());
    }

    #[test]
    fn the_newest_project_wins_and_the_old_answer_is_known_as_old() {
        let (mut study, ticks) = study();
        study.follow(&named("long"), Plan::default(), true);
        wait(&mut study, &ticks, |study| study.known().is_some());
        study.follow(&named("next"), Plan::default(), false);
        assert_eq!((study.state(), known(&study)), (&StudyState::Waiting, Some(("long so far", false))));
        study.follow(&named("next"), Plan::default(), true);
        wait(&mut study, &ticks, |study| *study.state() == StudyState::Done);
        assert_eq!(known(&study), Some(("next", true)));
        // Another number of shots is another answer.
        study.follow(&named("next"), Plan { medians: 3, ..Plan::default() }, true);
        assert!(study.is_running());
    }

    #[test]
    fn a_panic_is_told_and_the_next_project_is_computed() {
        let (mut study, ticks) = study();
        study.follow(&named("bad"), Plan::default(), true);
        wait(&mut study, &ticks, |study| !study.is_running());
        assert_eq!(*study.state(), StudyState::Failed("the layout was bad".to_owned()));
        study.follow(&named("good"), Plan::default(), true);
        wait(&mut study, &ticks, |study| !study.is_running());
        assert_eq!(known(&study), Some(("good", true)));
    }
}
