//! The shop list on paper.

use keepside_model::Project;

use super::screws::BEHIND;
use super::{Line, groups};
use crate::document::{Column, Flow, Table, paper_mm};
use crate::lettering::Lettering;
use crate::page::Page;

const COLUMNS: [Column; 5] = [
    Column::number("Count", 13.0),
    Column::wide("What", 3.0),
    Column::wide("Size, mm", 2.6),
    Column::wide("For", 2.4),
    Column::wide("Remark", 2.6),
];

/// The pages.
pub(crate) fn pages(project: &Project, lettering: &Lettering) -> Vec<Page> {
    let foot = "Tick what is there.";
    let mut flow = Flow::new(lettering, paper_mm(project), "Shop list", &project.name, foot);
    flow.lines(&format!("Shop list: {}", project.name), 5.2, 0, 0.0);
    flow.space(1.5);
    flow.remark(
        "Everything that the holes and features of the project ask for, counted by what is alike. Tools are \
         listed once. “In the drawer” is a screw size that the project says is on hand: look for the length.",
    );
    for group in groups(project) {
        flow.heading(group.title);
        let mut table = Table::new(&COLUMNS).with_boxes().whole();
        for line in group.lines {
            let (tags, remark) = (tags(&line), remark(&line));
            let count = line.count.map_or_else(|| "–".to_owned(), |count| count.to_string());
            table.row([count, line.what, line.size, tags, remark]);
        }
        table.write(&mut flow);
    }
    flow.space(2.0);
    flow.remark(
        "No hole asks for a countersink or a counterbore unless it is listed. Drilling and tapping: clamp the \
         work, wear eye protection, no gloves or loose sleeves at the spindle; follow the machine's manual and \
         your local rules.",
    );
    flow.finish()
}

fn remark(line: &Line) -> String {
    let drawer = line.in_drawer.then(|| "in the drawer".to_owned());
    let remarks = Some(line.remark_words()).filter(|words| !words.is_empty());
    drawer.into_iter().chain(remarks).collect::<Vec<_>>().join("; ")
}

/// The tags, those of screws driven from behind together after the others.
fn tags(line: &Line) -> String {
    let (behind, plain): (Vec<&String>, Vec<&String>) =
        line.tags.iter().partition(|tag| tag.starts_with(BEHIND));
    let plain = plain.into_iter().map(String::as_str).collect::<Vec<_>>().join(", ");
    let behind = behind.into_iter().filter_map(|tag| tag.strip_prefix(BEHIND)).collect::<Vec<_>>().join(", ");
    match (plain.is_empty(), behind.is_empty()) {
        (_, true) => plain,
        (true, false) => format!("{BEHIND}{behind}"),
        (false, false) => format!("{plain}; {BEHIND}{behind}"),
    }
}
