//! How much pressure a power-law melt needs to flow through a duct.
//!
//! Everything is told as the natural logarithm of `r` in `Δp = r·Qⁿ`, for a consistency of 1 MPa·sⁿ.

mod table;
#[cfg(test)]
mod tests;

use table::{INDICES, LN_EXCESS};

/// Heights over widths in the table: 0 to 1 in steps of this.
const STEP: f64 = 1.0 / (LN_EXCESS.len() - 1) as f64;

/// The smallest power-law index that is computed with: no melt thins more (the lowest published are about 0.2;
/// from memory), and a network's flows would go with more than the tenth power of its pressures.
pub(crate) const LEAST_INDEX: f64 = 0.1;

/// The laws of ducts for one power-law index.
#[derive(Clone, Debug)]
pub(crate) struct Ducts {
    /// Power-law index.
    pub(crate) index: f64,
    /// What a rectangle resists more than a slit as wide and high, logarithm, over height to width.
    ln_excess: [f64; LN_EXCESS.len()],
    /// `ln 2 + n ln(2 (2n+1)/n)`, of the slit.
    ln_slit: f64,
}

impl Ducts {
    /// Laws for a power-law index from [`LEAST_INDEX`] to 1; outside, those of the nearest in it.
    pub(crate) fn new(index: f64) -> Self {
        let index = index.clamp(LEAST_INDEX, 1.0);
        let column = between(&INDICES, index);
        let mut ln_excess = [0.0; LN_EXCESS.len()];
        for (excess, row) in ln_excess.iter_mut().zip(&LN_EXCESS) {
            *excess = column.iter().map(|(at, weight)| weight * row[*at]).sum();
        }
        let ln_slit = 2.0_f64.ln() + index * (2.0 * (2.0 * index + 1.0) / index).ln();
        Self { index, ln_excess, ln_slit }
    }

    /// Logarithm of `r` for 1 mm of a rectangular duct with sides in mm, both over zero.
    ///
    /// The slit's closed formula times what a rectangle resists more: own finite elements, tabulated over
    /// height to width and power-law index and interpolated by cubics, within 0.05 % of the elements.
    #[inline]
    pub(crate) fn ln_rectangle(&self, one_mm: f64, other_mm: f64) -> f64 {
        let (width_mm, height_mm) = if one_mm > other_mm { (one_mm, other_mm) } else { (other_mm, one_mm) };
        let (ln_width, ln_height) = (width_mm.ln(), height_mm.ln());
        let n = self.index;
        self.ln_slit - n * ln_width - (1.0 + 2.0 * n) * ln_height + self.excess(height_mm / width_mm)
    }

    /// Logarithm of what a rectangle resists more than a slit; height over width 0 to 1.
    #[inline]
    fn excess(&self, ratio: f64) -> f64 {
        let last = self.ln_excess.len() - 1;
        let place = (ratio / STEP).clamp(0.0, last as f64);
        let first = (place as usize).saturating_sub(1).min(last - 3);
        let t = place - first as f64;
        let [a, b, c, d] = [0, 1, 2, 3].map(|i| self.ln_excess[first + i]);
        // Lagrange's cubic through four equidistant values.
        let (t1, t2, t3) = (t - 1.0, t - 2.0, t - 3.0);
        (-a * t1 * t2 * t3 + 3.0 * b * t * t2 * t3 - 3.0 * c * t * t1 * t3 + d * t * t1 * t2) / 6.0
    }

    /// Logarithm of `r` for a round bore of a length, narrower at one end than at the other, all in mm and
    /// over zero.
    ///
    /// The tube's formula integrated along the cone: `r = 2 ((3n+1)/(π n))ⁿ ∫ R^(−3n−1) dx`.
    pub(crate) fn ln_cone(&self, narrow_mm: f64, wide_mm: f64, length_mm: f64) -> f64 {
        let n = self.index;
        let of_tube = 2.0_f64.ln() + n * ((3.0 * n + 1.0) / (n * std::f64::consts::PI)).ln();
        // ∫ R^(-3n-1) dx over L = L R^(-3n-1) (1 − (1+s)^(−3n)) / (3 n s), with s the relative widening.
        let (radius_mm, widening) = (0.5 * narrow_mm, wide_mm / narrow_mm - 1.0);
        let power = 3.0 * n;
        let mean = if widening.abs() < 1e-6 {
            1.0
        } else {
            -(-power * widening.ln_1p()).exp_m1() / (power * widening)
        };
        of_tube + (length_mm * mean).ln() - (power + 1.0) * radius_mm.ln()
    }

    /// Shear rate at the wall of a slit, 1/s: `(2n+1)/n · 2Q/(W H²)`. On the long walls of a rectangle it is
    /// lower at the corners and higher, by a few per cent, in the middle.
    #[inline]
    pub(crate) fn shear_rate_per_s(&self, flow_mm3_s: f64, one_mm: f64, other_mm: f64) -> f64 {
        let (width_mm, height_mm) = (one_mm.max(other_mm), one_mm.min(other_mm));
        let n = self.index;
        (2.0 * n + 1.0) / n * 2.0 * flow_mm3_s / (width_mm * height_mm * height_mm)
    }

    /// Shear rate at the wall of a tube, 1/s: `(3n+1)/n · Q/(π R³)`.
    pub(crate) fn tube_shear_rate_per_s(&self, flow_mm3_s: f64, diameter_mm: f64) -> f64 {
        let (n, radius_mm) = (self.index, 0.5 * diameter_mm);
        (3.0 * n + 1.0) / n * flow_mm3_s / (std::f64::consts::PI * radius_mm.powi(3))
    }
}

/// Places and weights of Lagrange's cubic through the four of `stations` about a place.
fn between(stations: &[f64], place: f64) -> [(usize, f64); 4] {
    let after = stations.partition_point(|station| *station < place);
    let first = after.saturating_sub(2).min(stations.len() - 4);
    [0, 1, 2, 3].map(|one| {
        let others = (0..4).filter(|other| *other != one);
        let at = stations[first + one];
        let weight =
            others.map(|other| (place - stations[first + other]) / (at - stations[first + other])).product();
        (first + one, weight)
    })
}
