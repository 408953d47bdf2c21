//! Words for states of a project: how long ago, how many items, what differs.

use std::collections::BTreeSet;
use std::time::{SystemTime, UNIX_EPOCH};

use keepside_model::{Id, Project};

/// The time now, s since 1970 in UTC.
pub(crate) fn now_unix_s() -> u64 {
    unix_s(SystemTime::now())
}

/// A time, s since 1970 in UTC; 0 for any before.
pub(crate) fn unix_s(time: SystemTime) -> u64 {
    time.duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs())
}

/// How long ago a time was. A clock that was set back makes it now.
pub(crate) fn ago(now_s: u64, then_s: u64) -> String {
    let age_s = now_s.saturating_sub(then_s);
    let (number, unit) = match age_s {
        0..60 => return "less than a minute ago".to_owned(),
        60..3600 => (age_s / 60, "minute"),
        3600..86_400 => (age_s / 3600, "hour"),
        _ => (age_s / 86_400, "day"),
    };
    format!("{number} {unit}{} ago", if number == 1 { "" } else { "s" })
}

/// How many items a project has.
pub(crate) fn count(project: &Project) -> String {
    match project.ids().len() {
        1 => "1 item".to_owned(),
        number => format!("{number} items"),
    }
}

/// What differs between two states of a project.
pub(crate) fn difference(from: &Project, to: &Project) -> String {
    if from == to {
        return "no difference".to_owned();
    }
    let ids = |project: &Project| project.ids().into_iter().collect::<BTreeSet<Id>>();
    let (before, after) = (ids(from), ids(to));
    let numbers = [
        (after.difference(&before).count(), "added"),
        (before.difference(&after).count(), "removed"),
        (before.intersection(&after).filter(|id| from.item(**id) != to.item(**id)).count(), "changed"),
    ];
    let words: Vec<String> = numbers
        .iter()
        .filter(|(number, _)| *number > 0)
        .map(|(number, word)| format!("{number} {word}"))
        .collect();
    if words.is_empty() { "other data changed".to_owned() } else { words.join(", ") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;
    use keepside_model::Edit;

    #[test]
    fn ages_are_told_in_the_largest_whole_unit() {
        for (age_s, words) in [
            (0, "less than a minute ago"),
            (60, "1 minute ago"),
            (3599, "59 minutes ago"),
            (7200, "2 hours ago"),
            (86_400, "1 day ago"),
        ] {
            assert_eq!(ago(1_000_000 + age_s, 1_000_000), words);
        }
        assert_eq!(ago(5, 10), "less than a minute ago");
    }

    #[test]
    fn differences_are_counted_by_item() {
        let from = Project::blank();
        assert_eq!(difference(&from, &from), "no difference");
        let mut to = from.clone();
        let id = to.ids()[0];
        to.apply(&Edit::Move { ids: vec![id], by_mm: DVec2::new(1.0, 0.0) }).unwrap();
        assert_eq!(difference(&from, &to), "1 changed");
        to.apply(&Edit::Delete(vec![id])).unwrap();
        let removed = from.ids().len() - to.ids().len();
        assert_eq!(difference(&from, &to), format!("{removed} removed"));
        assert_eq!(
            difference(&from, &Project { notes: "n".to_owned(), ..from.clone() }),
            "other data changed"
        );
    }
}
