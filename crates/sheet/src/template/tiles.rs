//! How a plate is shared out over sheets of paper.

use glam::DVec2;

use crate::page::{Page, Pen, rectangle};

/// What neighbouring tiles both show, mm.
pub(crate) const OVERLAP_MM: f64 = 10.0;

/// The sharing out: tiles of equal size, row by row from the top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tiling {
    /// How many rows.
    pub(crate) rows: u32,
    /// How many tiles in a row.
    pub(crate) columns: u32,
    size_mm: DVec2,
}

/// A tile: which, and the part of the plate that it shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tile {
    /// Row from the top, from 0.
    pub(crate) row: u32,
    /// Place in the row from the left, from 0.
    pub(crate) column: u32,
    /// Lower left corner on the plate as seen, mm.
    pub(crate) low_mm: DVec2,
    /// Upper right corner, mm.
    pub(crate) high_mm: DVec2,
}

impl Tiling {
    /// The fewest tiles for a plate when each sheet shows `window_mm`.
    pub(crate) fn of(size_mm: DVec2, window_mm: DVec2) -> Self {
        let step_mm = window_mm - OVERLAP_MM;
        // A hair, so that a plate as large as the window takes one tile.
        let count = |size_mm: f64, step_mm: f64| {
            let mut count = 1_u32;
            while f64::from(count) * step_mm + OVERLAP_MM < size_mm - 1e-9 {
                count += 1;
            }
            count
        };
        Self { rows: count(size_mm.y, step_mm.y), columns: count(size_mm.x, step_mm.x), size_mm }
    }

    /// How many tiles.
    pub(crate) const fn count(&self) -> u32 {
        self.rows * self.columns
    }

    /// All tiles, row by row from the top.
    pub(crate) fn tiles(&self) -> Vec<Tile> {
        let numbers = DVec2::new(f64::from(self.columns), f64::from(self.rows));
        // All are of one size and overlap alike.
        let tile_mm = (self.size_mm + (numbers - 1.0) * OVERLAP_MM) / numbers;
        let tile = |row: u32, column: u32| {
            let from_below = f64::from(self.rows - 1 - row);
            let low_mm = DVec2::new(f64::from(column), from_below) * (tile_mm - OVERLAP_MM);
            Tile { row, column, low_mm, high_mm: low_mm + tile_mm }
        };
        let columns = self.columns;
        (0..self.rows).flat_map(move |row| (0..columns).map(move |column| tile(row, column))).collect()
    }
}

impl Tile {
    /// The row as a letter, the place in the row as a number: "B2"; rows beyond Z as "AA".
    pub(crate) fn name(&self) -> String {
        let letter = |index: u32| char::from(b'A' + u8::try_from(index % 26).unwrap_or(0));
        let first = (self.row >= 26).then(|| letter(self.row / 26 - 1));
        let first = first.map(String::from).unwrap_or_default();
        format!("{first}{}{}", letter(self.row), self.column + 1)
    }
}

/// Draws the map of the tiles with its upper right corner at `corner`; its width, mm. Nothing for one tile.
pub(crate) fn map(page: &mut Page, tiling: &Tiling, tile: &Tile, corner: DVec2) -> f64 {
    if tiling.count() == 1 {
        return 0.0;
    }
    let numbers = DVec2::new(f64::from(tiling.columns), f64::from(tiling.rows));
    let cell_mm = DVec2::new(24.0, 11.0) / numbers;
    let cell_mm = DVec2::new(cell_mm.x.min(6.0), cell_mm.y.min(4.0));
    let left = corner.x - numbers.x * cell_mm.x;
    for row in 0..tiling.rows {
        for column in 0..tiling.columns {
            let low = DVec2::new(left, corner.y) + DVec2::new(f64::from(column), f64::from(row)) * cell_mm;
            if (row, column) == (tile.row, tile.column) {
                page.fill(rectangle(low, low + cell_mm), 120);
            }
            page.stroke(rectangle(low, low + cell_mm), Pen::THIN);
        }
    }
    numbers.x * cell_mm.x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_cover_the_plate_and_overlap_alike() {
        let tiling = Tiling::of(DVec2::new(500.0, 300.0), DVec2::new(267.0, 152.0));
        assert_eq!((tiling.rows, tiling.columns), (3, 2));
        let tiles = tiling.tiles();
        assert_eq!(tiles.iter().map(Tile::name).collect::<Vec<_>>(), ["A1", "A2", "B1", "B2", "C1", "C2"]);
        assert_eq!(tiles[4].low_mm, DVec2::ZERO);
        assert!((tiles[1].high_mm - DVec2::new(500.0, 300.0)).abs().max_element() < 1e-9);
        for tile in &tiles {
            assert!((tile.high_mm - tile.low_mm).cmple(DVec2::new(267.0, 152.0)).all());
        }
        assert!((tiles[0].high_mm.x - tiles[1].low_mm.x - OVERLAP_MM).abs() < 1e-9);
        assert!((tiles[2].high_mm.y - tiles[0].low_mm.y - OVERLAP_MM).abs() < 1e-9);
    }

    #[test]
    fn a_plate_as_large_as_the_window_is_one_tile_and_rows_beyond_z_have_two_letters() {
        let size = DVec2::new(267.0, 152.0);
        assert_eq!(Tiling::of(size, size).count(), 1);
        assert_eq!(Tiling::of(size + 0.1, size).count(), 4);
        let tile = Tile { row: 27, column: 3, low_mm: DVec2::ZERO, high_mm: DVec2::ONE };
        assert_eq!(tile.name(), "AB4");
    }
}
