//! Symmetric banded matrices of the width that a chain of three-freedom nodes needs.

use crate::beam::{DOF, Matrix};

/// Sub-diagonals that are kept: two nodes of three freedoms couple.
const HALF: usize = 2 * DOF - 1;

/// A symmetric matrix of which the diagonal and five sub-diagonals are stored, row by row: entry
/// (i, i − k) stands at `rows[i][HALF − k]`.
#[derive(Clone, Debug, Default)]
pub(crate) struct Band {
    rows: Vec<[f64; HALF + 1]>,
}

/// The matrix has a pivot that is not positive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct NotPositiveDefinite;

impl Band {
    pub(crate) fn new(size: usize) -> Self {
        Self { rows: vec![[0.0; HALF + 1]; size] }
    }

    /// Adds to the entry at (`row`, `column`), `column <= row`.
    #[inline]
    pub(crate) fn add(&mut self, row: usize, column: usize, value: f64) {
        debug_assert!(column <= row && row - column <= HALF);
        self.rows[row][HALF + column - row] += value;
    }

    /// Adds the lower triangle of an element matrix whose first freedom is `first`.
    #[inline]
    pub(crate) fn add_block(&mut self, first: usize, block: &[[f64; 2 * DOF]; 2 * DOF]) {
        for (i, values) in block.iter().enumerate() {
            let row = &mut self.rows[first + i];
            for (j, value) in values[..=i].iter().enumerate() {
                row[HALF + j - i] += value;
            }
        }
    }
}

impl Matrix for Band {
    fn clear(&mut self) {
        self.rows.iter_mut().for_each(|row| *row = [0.0; HALF + 1]);
    }

    #[inline]
    fn add_diagonal(&mut self, freedom: usize, value: f64) {
        self.rows[freedom][HALF] += value;
    }

    fn stiffen(&mut self, share: f64) {
        self.rows.iter_mut().for_each(|row| row[HALF] *= 1.0 + share);
    }

    /// Factors the matrix in place as L D Lᵀ; the diagonal then holds the inverse of D.
    fn factor(&mut self) -> Result<(), NotPositiveDefinite> {
        for i in 0..self.rows.len() {
            let first = i.saturating_sub(HALF);
            let (above, rest) = self.rows.split_at_mut(i);
            let row = &mut rest[0];
            let mut pivot = row[HALF];
            for j in first..i {
                // row[j] holds L(i,j)·D(j) until it is divided.
                let mut sum = row[HALF + j - i];
                let from = first.max(j.saturating_sub(HALF));
                for k in from..j {
                    sum -= row[HALF + k - i] * above[j][HALF + k - j];
                }
                row[HALF + j - i] = sum;
            }
            for j in first..i {
                let scaled = row[HALF + j - i];
                let lower = scaled * above[j][HALF];
                pivot -= scaled * lower;
                row[HALF + j - i] = lower;
            }
            if pivot.is_nan() || pivot <= 0.0 {
                return Err(NotPositiveDefinite);
            }
            row[HALF] = 1.0 / pivot;
        }
        Ok(())
    }

    fn solve(&self, x: &mut [f64]) {
        let size = self.rows.len();
        for i in 0..size {
            let first = i.saturating_sub(HALF);
            let sum: f64 = (first..i).map(|j| self.rows[i][HALF + j - i] * x[j]).sum();
            x[i] -= sum;
        }
        for (value, row) in x.iter_mut().zip(&self.rows) {
            *value *= row[HALF];
        }
        for i in (0..size).rev() {
            let first = i.saturating_sub(HALF);
            for j in first..i {
                x[j] -= self.rows[i][HALF + j - i] * x[i];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solving_gives_back_the_vector_that_was_multiplied() {
        let size = 31;
        let entry = |i: usize, j: usize| {
            if i == j { 10.0 + i as f64 } else { ((i * 7 + j * 3) % 5) as f64 * 0.3 - 0.5 }
        };
        let mut band = Band::new(size);
        let mut product = vec![0.0; size];
        let wanted: Vec<f64> = (0..size).map(|i| (i as f64 * 0.7).sin()).collect();
        for i in 0..size {
            for j in i.saturating_sub(HALF)..=i {
                band.add(i, j, entry(i, j));
                product[i] += entry(i, j) * wanted[j];
                if i != j {
                    product[j] += entry(i, j) * wanted[i];
                }
            }
        }
        band.factor().unwrap();
        band.solve(&mut product);
        for (got, wanted) in product.iter().zip(&wanted) {
            assert!((got - wanted).abs() < 1e-12);
        }
    }

    #[test]
    fn an_indefinite_matrix_is_refused() {
        let mut band = Band::new(3);
        band.add(0, 0, 1.0);
        band.add(1, 1, -1.0);
        band.add(2, 2, 1.0);
        assert_eq!(band.factor(), Err(NotPositiveDefinite));
    }
}
