//! A uniform grid over the plan: finds what lies near a place without asking everything.

use glam::DVec2;

use super::edge::Extent;

/// Most cells along either axis.
const MOST_CELLS: usize = 128;

/// A grid whose cells know which of many things, told by their boxes, reach into them.
#[derive(Clone, Debug)]
pub(crate) struct Grid {
    extents: Vec<Extent>,
    low: DVec2,
    cell_mm: f64,
    columns: usize,
    rows: usize,
    /// Where a cell's members start in `members`, row by row, and one more for the end.
    starts: Vec<usize>,
    members: Vec<usize>,
}

impl Grid {
    /// A grid over things with these boxes, which are finite.
    pub(crate) fn new(extents: Vec<Extent>) -> Self {
        let whole = extents.iter().copied().reduce(Extent::join);
        let whole = whole.unwrap_or(Extent { low: DVec2::ZERO, high: DVec2::ZERO });
        let size = whole.high - whole.low;
        // About one cell a thing, but never more than `MOST_CELLS` in a row.
        let count = extents.len().max(1) as f64;
        let cell_mm = (size.x * size.y / count).sqrt().max(size.max_element() / MOST_CELLS as f64).max(1e-3);
        let along = |length_mm: f64| ((length_mm / cell_mm).ceil().max(1.0) as usize).min(MOST_CELLS);
        let mut grid = Self {
            low: whole.low,
            cell_mm,
            columns: along(size.x),
            rows: along(size.y),
            starts: Vec::new(),
            members: Vec::new(),
            extents,
        };
        grid.fill();
        grid
    }

    /// Sorts the things into the cells by counting.
    fn fill(&mut self) {
        let mut starts = vec![0; self.columns * self.rows + 1];
        for extent in &self.extents {
            for cell in self.cells(extent) {
                starts[cell + 1] += 1;
            }
        }
        for cell in 0..self.columns * self.rows {
            starts[cell + 1] += starts[cell];
        }
        let mut next = starts.clone();
        let mut members = vec![0; starts[self.columns * self.rows]];
        for (index, extent) in self.extents.iter().enumerate() {
            for cell in self.cells(extent) {
                members[next[cell]] = index;
                next[cell] += 1;
            }
        }
        (self.starts, self.members) = (starts, members);
    }

    /// Column and row of a point; of one outside the grid, those of the nearest cell.
    fn cell_of(&self, point: DVec2) -> (usize, usize) {
        let at = (point - self.low) / self.cell_mm;
        // A negative number becomes nought.
        ((at.x as usize).min(self.columns - 1), (at.y as usize).min(self.rows - 1))
    }

    fn cells(&self, extent: &Extent) -> impl Iterator<Item = usize> + use<> {
        let ((left, bottom), (right, top)) = (self.cell_of(extent.low), self.cell_of(extent.high));
        let columns = self.columns;
        (bottom..=top).flat_map(move |row| (left..=right).map(move |column| row * columns + column))
    }

    /// Puts into `found` the things whose boxes come within `reach_mm` of a box, once each, in ascending
    /// order.
    pub(crate) fn near(&self, extent: &Extent, reach_mm: f64, found: &mut Vec<usize>) {
        found.clear();
        let reach = DVec2::splat(reach_mm);
        let wide = Extent { low: extent.low - reach, high: extent.high + reach };
        for cell in self.cells(&wide) {
            let members = &self.members[self.starts[cell]..self.starts[cell + 1]];
            found.extend(members.iter().filter(|&&index| self.extents[index].meets(extent, reach_mm)));
        }
        found.sort_unstable();
        found.dedup();
    }

    /// Shows `visit` the things near `point`, the nearest cells first, until nothing nearer can be left.
    /// It returns the least distance from the point it has met, mm; a thing may be shown more than once.
    pub(crate) fn nearest(&self, point: DVec2, mut visit: impl FnMut(usize) -> f64) {
        let (column, row) = self.cell_of(point);
        let mut best_mm = f64::INFINITY;
        for ring in 0..self.columns.max(self.rows) {
            let (left, right) = (column.saturating_sub(ring), (column + ring).min(self.columns - 1));
            let (bottom, top) = (row.saturating_sub(ring), (row + ring).min(self.rows - 1));
            for y in bottom..=top {
                // Of rows that belong to an earlier ring only the two ends are new.
                let whole = y + ring == row || y == row + ring;
                let is_new = |x: &usize| whole || x + ring == column || *x == column + ring;
                for cell in (left..=right).filter(is_new).map(|x| y * self.columns + x) {
                    for &index in &self.members[self.starts[cell]..self.starts[cell + 1]] {
                        best_mm = best_mm.min(visit(index));
                    }
                }
            }
            if self.beyond_mm(point, (left, bottom), (right, top)) > best_mm {
                return;
            }
        }
    }

    /// How far from `point` everything is that lies in none of the cells from `low` to `high`, mm.
    fn beyond_mm(&self, point: DVec2, low: (usize, usize), high: (usize, usize)) -> f64 {
        let edge = |x: usize, y: usize| self.low + DVec2::new(x as f64, y as f64) * self.cell_mm;
        let (near, far) = (point - edge(low.0, low.1), edge(high.0 + 1, high.1 + 1) - point);
        let open = |is_open: bool, mm: f64| if is_open { mm } else { f64::INFINITY };
        open(low.0 > 0, near.x)
            .min(open(low.1 > 0, near.y))
            .min(open(high.0 + 1 < self.columns, far.x))
            .min(open(high.1 + 1 < self.rows, far.y))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn of_box(x: f64, y: f64, width: f64, height: f64) -> Extent {
        let low = DVec2::new(x, y);
        Extent { low, high: low + DVec2::new(width, height) }
    }

    /// Distance from a point to a box, mm.
    fn to_mm(extent: &Extent, point: DVec2) -> f64 {
        (extent.low - point).max(point - extent.high).max(DVec2::ZERO).length()
    }

    #[test]
    fn an_empty_grid_finds_nothing() {
        let grid = Grid::new(Vec::new());
        let mut found = vec![3];
        grid.near(&of_box(0.0, 0.0, 10.0, 10.0), 5.0, &mut found);
        assert_eq!(found, [0_usize; 0]);
        grid.nearest(DVec2::ZERO, |_| panic!("there is nothing to visit"));
    }

    proptest! {
        /// What the grid finds is what asking everything finds.
        #[test]
        fn a_grid_misses_nothing(
            boxes in prop::collection::vec((-50.0..50.0, -20.0..20.0, 0.0..30.0, 0.0..5.0), 1..60),
            at in (-80.0..80.0, -80.0..80.0),
            reach_mm in 0.0..20.0,
        ) {
            let extents: Vec<Extent> = boxes.into_iter().map(|(x, y, w, h)| of_box(x, y, w, h)).collect();
            let grid = Grid::new(extents.clone());
            let at = DVec2::from(at);
            let here = Extent { low: at, high: at };
            let mut found = Vec::new();
            grid.near(&here, reach_mm, &mut found);
            let all = extents.iter().enumerate();
            let expected: Vec<usize> =
                all.filter(|(_, extent)| extent.holds(at, reach_mm)).map(|(index, _)| index).collect();
            prop_assert_eq!(found, expected);

            let mut best_mm = f64::INFINITY;
            grid.nearest(at, |index| {
                best_mm = best_mm.min(to_mm(&extents[index], at));
                best_mm
            });
            let least_mm = extents.iter().map(|extent| to_mm(extent, at)).fold(f64::INFINITY, f64::min);
            prop_assert_eq!(best_mm, least_mm);
        }
    }
}
