//! The commands that shoot a layout many times: `chances`, `suggest`, `learn`.

mod chances;
mod form;
mod learn;
mod suggest;

use std::io::Write;
use std::num::NonZeroUsize;
use std::thread;

use anyhow::Result;
use keepside_engine::chances::Plan;
use keepside_model::Project;

pub(crate) use chances::chances;
pub(crate) use learn::learn;
pub(crate) use suggest::suggest;

use crate::args::Shots;

/// Tells on a terminal how far a long command has come; nothing if `to` is none.
pub(crate) struct Told<'a> {
    to: Option<&'a mut dyn Write>,
    last: String,
}

impl<'a> Told<'a> {
    pub(crate) fn new(to: Option<&'a mut dyn Write>) -> Self {
        Self { to, last: String::new() }
    }

    fn so_far(&mut self, words: String) {
        if let Some(to) = self.to.as_mut().filter(|_| words != self.last) {
            // Progress that cannot be told is no reason to stop.
            let wiped = self.last.chars().count().saturating_sub(words.chars().count());
            let told = write!(to, "\r{words}{:wiped$}", "").and_then(|()| to.flush());
            self.last = if told.is_ok() { words } else { String::new() };
        }
    }

    fn shots(&mut self, (done, all): (usize, usize)) {
        self.so_far(format!("{done} of {all} shots"));
    }

    /// Leaves the line empty.
    fn end(&mut self) {
        self.so_far(String::new());
        if let Some(to) = self.to.as_mut() {
            drop(write!(to, "\r"));
        }
    }
}

fn plan(shots: &Shots, sets: usize, each: usize) -> Plan {
    let cores = thread::available_parallelism().map_or(1, NonZeroUsize::get);
    Plan {
        seed: shots.seed,
        medians: shots.sets.unwrap_or(sets),
        shots_each: shots.each.unwrap_or(each),
        threads: shots.threads.unwrap_or(cores),
    }
}

/// Writes a new project; one that is there already is left alone.
fn save_new(shots: &Shots, project: &Project) -> Result<String> {
    let Some(out) = &shots.out else { return Ok(String::new()) };
    if out.exists() {
        anyhow::bail!("{} is there already; name a new file after --out", out.display());
    }
    keepside_store::save(out, project)?;
    Ok(format!("{}\n", out.display()))
}

fn json<T: serde::Serialize>(of: &T) -> Result<String> {
    let mut text = serde_json::to_string_pretty(of)?;
    text.push('\n');
    Ok(text)
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

fn range((low, high): (f64, f64)) -> String {
    format!("{:.1} to {:.1} %", 100.0 * low, 100.0 * high)
}
