//! The shop list: what has to be bought, found in the drawer or cut, and the tools that the holes ask for.

mod csv;
mod material;
mod paper;
mod screws;
mod tally;
mod tools;

use keepside_model::Project;

pub(crate) use csv::csv;
pub(crate) use paper::pages;

/// A line of the list.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Line {
    /// How many; `None` for a tool, of which one will do.
    pub(crate) count: Option<usize>,
    /// What it is.
    pub(crate) what: String,
    /// Its size.
    pub(crate) size: String,
    /// Tags of the items that need it, in the order of their numbers.
    pub(crate) tags: Vec<String>,
    /// Whether the user has said that this size is on hand.
    pub(crate) in_drawer: bool,
    /// Whether it rests on a value of the tables that is not certain.
    pub(crate) uncertain: bool,
    /// What else to know about it, each with the tags that it is about; none for all.
    pub(crate) remarks: Vec<(String, Vec<String>)>,
}

/// Lines that belong together.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Group {
    /// What they are.
    pub(crate) title: &'static str,
    /// The lines; never empty.
    pub(crate) lines: Vec<Line>,
}

/// Everything that the project asks for.
pub(crate) fn groups(project: &Project) -> Vec<Group> {
    let all = [
        ("Screws", screws::screws(project)),
        ("Ejector pins", material::ejectors(project)),
        ("Turned heads and posts", material::turned(project)),
        ("Bolts and guide pins", material::bolts(project)),
        ("Plates", material::plates(project)),
        ("Drills", tools::drills(project)),
        ("Taps", tools::taps(project)),
        ("Reamers", tools::reamers(project)),
        ("Taper reamers", tools::taper_reamers(project)),
        ("Keys for hexagon sockets", screws::keys(project)),
        ("Plastic, compounds and release agent", material::compounds(project)),
    ];
    let filled = all.into_iter().filter(|(_, lines)| !lines.is_empty());
    filled.map(|(title, lines)| Group { title, lines }).collect()
}
