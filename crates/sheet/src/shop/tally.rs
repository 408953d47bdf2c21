//! Counting what is alike.

use super::Line;

/// Lines by what makes them alike: a few numbers, by which they are sorted too.
#[derive(Default)]
pub(super) struct Tally {
    lines: Vec<(Vec<f64>, Line)>,
}

impl Tally {
    /// The line of these numbers; a new one if there is none yet.
    pub(super) fn line(&mut self, key: &[f64], new: impl FnOnce() -> Line) -> &mut Line {
        // To a nanometre: sums of decimal lengths differ in their last bits.
        let key: Vec<f64> = key.iter().map(|number| (number * 1e6).round() / 1e6).collect();
        let found = self.lines.iter().position(|(other, _)| *other == key);
        let index = found.unwrap_or_else(|| {
            self.lines.push((key, new()));
            self.lines.len() - 1
        });
        &mut self.lines[index].1
    }

    /// The lines, sorted.
    pub(super) fn lines(self) -> Vec<Line> {
        let mut lines = self.lines;
        lines.sort_by(|(a, _), (b, _)| {
            let pairs = a.iter().zip(b).map(|(a, b)| a.total_cmp(b));
            pairs.fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then)
        });
        lines.into_iter().map(|(_, line)| line).collect()
    }
}

impl Line {
    /// With one more for an item.
    pub(super) fn one_more(&mut self, tag: String) {
        self.count = Some(self.count.unwrap_or(0) + 1);
        self.tags.push(tag);
    }

    /// Needed for an item too, once.
    pub(super) fn needed_for(&mut self, tag: String) {
        if !self.tags.contains(&tag) {
            self.tags.push(tag);
        }
    }

    /// With a remark on the whole line, once.
    pub(super) fn remark(&mut self, remark: impl Into<String>) {
        self.remark_on(remark, None);
    }

    /// With a remark on one item; the same on several is told once.
    pub(super) fn remark_on(&mut self, remark: impl Into<String>, tag: Option<&str>) {
        let remark = remark.into();
        if remark.is_empty() {
            return;
        }
        let tag = tag.map(str::to_owned);
        match self.remarks.iter_mut().find(|(words, _)| *words == remark) {
            Some((_, tags)) => tags.extend(tag),
            None => self.remarks.push((remark, tag.into_iter().collect())),
        }
    }

    /// The remarks in words.
    pub(super) fn remark_words(&self) -> String {
        let words = |(words, tags): &(String, Vec<String>)| {
            if tags.is_empty() { words.clone() } else { format!("{words} ({})", tags.join(", ")) }
        };
        self.remarks.iter().map(words).collect::<Vec<_>>().join("; ")
    }
}
