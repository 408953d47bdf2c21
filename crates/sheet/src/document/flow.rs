//! A paper being written: what comes next is put under what is there, or on a new page.

use glam::DVec2;

use super::text::broken;
use super::{SMALL_MM, TEXT_MM};
use crate::lettering::Lettering;
use crate::page::{Page, Pen};
use crate::paper::Area;

/// Left margin, room for filing, and the other margins, mm.
const FILING_MM: f64 = 20.0;
const MARGIN_MM: f64 = 12.0;
/// Height of the line at the head and at the foot of a page, mm.
const STRIP_MM: f64 = 7.0;
/// Line to line, in letter sizes.
const LEADING: f64 = 1.32;
/// Least room under a heading for what it heads, mm.
const KEPT_WITH_MM: f64 = 22.0;

/// A paper being written.
pub(crate) struct Flow<'a> {
    /// The font.
    pub(crate) lettering: &'a Lettering,
    size_mm: DVec2,
    title: String,
    project: String,
    remark: &'static str,
    pages: Vec<Page>,
    /// How far down the last page is filled, mm.
    y_mm: f64,
}

impl<'a> Flow<'a> {
    /// An empty paper on pages of a size; `remark` stands at the foot of every page.
    pub(crate) fn new(
        lettering: &'a Lettering,
        size_mm: DVec2,
        title: &str,
        project: &str,
        remark: &'static str,
    ) -> Self {
        let (title, project) = (title.to_owned(), project.to_owned());
        let mut flow = Self { lettering, size_mm, title, project, remark, pages: Vec::new(), y_mm: 0.0 };
        flow.new_page();
        flow
    }

    fn inner(&self) -> Area {
        Area {
            low: DVec2::new(FILING_MM, MARGIN_MM + STRIP_MM),
            high: self.size_mm - DVec2::new(MARGIN_MM, MARGIN_MM + STRIP_MM),
        }
    }

    /// Left edge of what is written, mm.
    pub(crate) const fn left_mm(&self) -> f64 {
        FILING_MM
    }

    /// Width of what is written, mm.
    pub(crate) fn width_mm(&self) -> f64 {
        self.inner().size_mm().x
    }

    /// Room left on this page, mm.
    pub(crate) fn room_mm(&self) -> f64 {
        self.inner().high.y - self.y_mm
    }

    /// Goes on at the top of a new page.
    pub(crate) fn new_page(&mut self) {
        self.pages.push(Page::new(self.size_mm));
        self.y_mm = self.inner().low.y;
    }

    /// Whether nothing has been written on this page yet.
    pub(crate) fn is_at_top(&self) -> bool {
        self.y_mm <= self.inner().low.y
    }

    /// The page that is being written on.
    pub(crate) fn page(&mut self) -> &mut Page {
        if self.pages.is_empty() {
            self.new_page();
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    /// Takes a strip of the whole width for what is as high as this, on a new page if it needs one.
    pub(crate) fn take(&mut self, height_mm: f64) -> Area {
        if height_mm > self.room_mm() && !self.is_at_top() {
            self.new_page();
        }
        let low = DVec2::new(FILING_MM, self.y_mm);
        self.y_mm += height_mm;
        Area { low, high: DVec2::new(self.inner().high.x, self.y_mm) }
    }

    /// Leaves room, unless at the top of a page.
    pub(crate) fn space(&mut self, height_mm: f64) {
        if !self.is_at_top() {
            self.y_mm += height_mm;
        }
    }

    /// A heading over what comes next, on the same page as the beginning of it.
    pub(crate) fn heading(&mut self, words: &str) {
        self.heading_over(words, KEPT_WITH_MM);
    }

    /// A heading on the same page as `below_mm` of what comes next.
    pub(crate) fn heading_over(&mut self, words: &str, below_mm: f64) {
        self.space(5.0);
        if 9.0 + below_mm > self.room_mm() && !self.is_at_top() {
            self.new_page();
        }
        let area = self.take(9.0);
        let words = self.lettering.fitted(words, 4.4, area.size_mm().x);
        let page = self.page();
        page.text(area.low + DVec2::new(0.0, 5.2), 4.4, 0, words);
        page.line(area.low + DVec2::new(0.0, 7.0), DVec2::new(area.high.x, area.low.y + 7.0), Pen::HOLE);
    }

    /// A smaller heading.
    pub(crate) fn subheading(&mut self, words: &str, below_mm: f64) {
        self.space(2.0);
        if 5.6 + below_mm > self.room_mm() && !self.is_at_top() {
            self.new_page();
        }
        self.lines(words, 3.4, 0, 0.0);
    }

    /// A caption over a picture that is so high, on the same page.
    pub(crate) fn caption(&mut self, words: &str, picture_mm: f64) {
        self.space(2.5);
        let lines = broken(self.lettering, words, SMALL_MM, self.width_mm()).len();
        let lines = f64::from(u32::try_from(lines).unwrap_or(u32::MAX));
        if lines * SMALL_MM * LEADING + picture_mm > self.room_mm() && !self.is_at_top() {
            self.new_page();
        }
        self.lines(words, SMALL_MM, 0, 0.0);
    }

    /// A paragraph.
    pub(crate) fn words(&mut self, words: &str) {
        self.lines(words, TEXT_MM, 0, 0.0);
        self.space(1.0);
    }

    /// A paragraph in smaller and paler letters.
    pub(crate) fn remark(&mut self, words: &str) {
        self.lines(words, SMALL_MM, 60, 0.0);
        self.space(1.0);
    }

    /// A paragraph with a dash before it.
    pub(crate) fn item(&mut self, words: &str) {
        if TEXT_MM * LEADING > self.room_mm() && !self.is_at_top() {
            self.new_page();
        }
        let at = DVec2::new(FILING_MM, self.y_mm + TEXT_MM);
        self.page().text(at, TEXT_MM, 0, "–".to_owned());
        self.lines(words, TEXT_MM, 0, 4.0);
        self.space(0.6);
    }

    /// Lines of text, set in by so much.
    pub(crate) fn lines(&mut self, words: &str, size_mm: f64, grey: u8, indent_mm: f64) {
        for line in broken(self.lettering, words, size_mm, self.width_mm() - indent_mm) {
            let area = self.take(size_mm * LEADING);
            self.page().text(area.low + DVec2::new(indent_mm, size_mm), size_mm, grey, line);
        }
    }

    /// The pages, each with the paper's title, the project and its number.
    pub(crate) fn finish(self) -> Vec<Page> {
        let (inner, count) = (self.inner(), self.pages.len());
        let Self { lettering, title, project, remark, mut pages, .. } = self;
        for (index, page) in pages.iter_mut().enumerate() {
            let top = inner.low.y - 3.0;
            page.line(DVec2::new(inner.low.x, top), DVec2::new(inner.high.x, top), Pen::THIN);
            page.text(DVec2::new(inner.low.x, top - 1.6), SMALL_MM, 60, title.clone());
            let room_mm = inner.size_mm().x - lettering.width_mm(&title, SMALL_MM) - 8.0;
            let name = lettering.fitted(&project, SMALL_MM, room_mm);
            let left = inner.high.x - lettering.width_mm(&name, SMALL_MM);
            page.text(DVec2::new(left, top - 1.6), SMALL_MM, 60, name);

            let bottom = inner.high.y + 3.0;
            page.line(DVec2::new(inner.low.x, bottom), DVec2::new(inner.high.x, bottom), Pen::THIN);
            let at = DVec2::new(inner.low.x, bottom + 3.8);
            page.text(at, SMALL_MM, 60, format!("Keepside {}. {remark}", env!("CARGO_PKG_VERSION")));
            let number = format!("{} of {count}", index + 1);
            let left = inner.high.x - lettering.width_mm(&number, SMALL_MM);
            page.text(DVec2::new(left, at.y), SMALL_MM, 0, number);
        }
        pages
    }
}
