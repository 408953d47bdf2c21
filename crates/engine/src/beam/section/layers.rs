//! A cross-section cut into layers that have its area, centroid and second moment.

use std::f64::consts::PI;

use crate::beam::section::GAUSS_4;
use crate::beam::section::profile::{ChannelShape, Piece};

/// Gauss–Legendre abscissae and weights on −1..1, eight points (Abramowitz & Stegun, table 25.4; from
/// memory, checked by the unit tests of the section).
pub(super) const GAUSS_8: [(f64, f64); 8] = [
    (-0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
    (-0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (-0.525_532_409_916_329, 0.313_706_645_877_887_27),
    (-0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_27),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// A thin slice of a section.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slice {
    /// Height over the fixed half's floor, mm.
    pub(super) height_mm: f64,
    /// Half width there, mm.
    pub(super) half_mm: f64,
    /// Thickness, mm.
    pub(super) thick_mm: f64,
}

impl Slice {
    pub(super) fn area_mm2(&self) -> f64 {
        2.0 * self.half_mm * self.thick_mm
    }
}

/// Slices of a flank between two heights, where a rule on −1..1 puts them on each piece. Eight a piece
/// are enough to integrate moments to rounding.
pub(super) fn slices(flank: &[Piece], low_mm: f64, high_mm: f64, rule: &[(f64, f64)]) -> Vec<Slice> {
    let mut slices = Vec::with_capacity(rule.len() * flank.len());
    for piece in flank.iter().filter_map(|piece| piece.between(low_mm, high_mm)) {
        slices.extend(rule.iter().map(|(at, weight)| (0.5 * (1.0 + at), 0.5 * weight)).map(
            |(at, weight)| match piece {
                Piece::Line { from, to } => {
                    let point = from.lerp(to, at);
                    Slice { height_mm: point.y, half_mm: point.x, thick_mm: weight * (to.y - from.y) }
                }
                Piece::Arc { centre, radius_mm, from_rad, to_rad } => {
                    let (sine, cosine) = (from_rad + at * (to_rad - from_rad)).sin_cos();
                    Slice {
                        height_mm: centre.y + radius_mm * sine,
                        half_mm: centre.x + radius_mm * cosine,
                        thick_mm: weight * (to_rad - from_rad) * radius_mm * cosine,
                    }
                }
            },
        ));
    }
    slices
}

/// The height that halves the area of a section, mm: where it bends when it flows through and through.
pub(super) fn halving_height_mm(shape: &ChannelShape, flank: &[Piece]) -> f64 {
    let (low_mm, high_mm) = shape.range_mm();
    let area_mm2 = |to_mm| flank.iter().map(|piece| 2.0 * piece.area_below_mm2(to_mm)).sum::<f64>();
    let half_mm2 = 0.5 * area_mm2(high_mm);
    let (mut below, mut above) = (low_mm, high_mm);
    let mut height_mm = 0.5 * (low_mm + high_mm);
    // Newton's step if it stays between the bounds, which close in on the height, else their middle.
    for _ in 0..60 {
        let over_mm2 = area_mm2(height_mm) - half_mm2;
        if over_mm2.abs() <= 1e-14 * half_mm2 {
            break;
        }
        if over_mm2 > 0.0 {
            above = height_mm;
        } else {
            below = height_mm;
        }
        let width_mm = 2.0 * super::profile::half_width(flank, height_mm).0;
        let next_mm = height_mm - over_mm2 / width_mm.max(1e-9);
        height_mm = if below < next_mm && next_mm < above { next_mm } else { 0.5 * (below + above) };
    }
    height_mm
}

/// Heights and areas, mm and mm², of the four layers that stand for a block of slices: the Gauss rule
/// whose weight is the width. Every moment of the block's area up to the seventh is exact.
///
/// The heights are the roots of the fourth of the polynomials that are orthogonal over the block, built
/// by Stieltjes' recurrence; all areas are positive and all heights lie in the block (Gautschi,
/// Orthogonal Polynomials: Computation and Approximation, ch. 2; from memory).
pub(super) fn four_layers(block: &[Slice], low_mm: f64, high_mm: f64) -> [(f64, f64); 4] {
    let (middle_mm, reach_mm) = (0.5 * (low_mm + high_mm), 0.5 * (high_mm - low_mm));
    let points = || block.iter().map(|slice| ((slice.height_mm - middle_mm) / reach_mm, slice.area_mm2()));
    // p_{k+1} = (t − a_k) p_k − b_k p_{k−1}; n_k is the square norm of p_k.
    let (mut a, mut b, mut norm) = ([0.0; 4], [0.0; 4], [0.0_f64; 4]);
    for k in 0..4 {
        let (mut square, mut first) = (0.0, 0.0);
        for (t, area) in points() {
            let p = polynomials(&a, &b, t)[k];
            square += area * p * p;
            first += area * t * p * p;
        }
        norm[k] = square;
        a[k] = first / square;
        b[k] = if k > 0 { square / norm[k - 1] } else { 0.0 };
    }
    // All four roots at once (Weierstrass), from those of an even width.
    let mut roots = GAUSS_4.map(|(at, _)| at);
    for _ in 0..100 {
        let mut moved = 0.0_f64;
        for i in 0..4 {
            let others: f64 = (0..4).filter(|&j| j != i).map(|j| roots[i] - roots[j]).product();
            let step = polynomials(&a, &b, roots[i])[4] / others;
            roots[i] -= step;
            moved = moved.max(step.abs());
        }
        if moved < 1e-14 {
            break;
        }
    }
    roots.map(|root| {
        let p = polynomials(&a, &b, root);
        let sum: f64 = (0..4).map(|k| p[k] * p[k] / norm[k]).sum();
        (middle_mm + reach_mm * root, 1.0 / sum)
    })
}

/// The polynomials of degree 0 to 4 at a point.
fn polynomials(a: &[f64; 4], b: &[f64; 4], t: f64) -> [f64; 5] {
    let mut p = [1.0, t - a[0], 0.0, 0.0, 0.0];
    for k in 1..4 {
        p[k + 1] = (t - a[k]) * p[k] - b[k] * p[k - 1];
    }
    p
}

/// St Venant torsion constant of a rectangle, mm⁴: `a b³/3 (1 − 192 b/(π⁵ a) Σ tanh(nπa/2b)/n⁵)`, odd n,
/// long side a, short side b.
///
/// Source: Timoshenko & Goodier, Theory of Elasticity, article 109 (from memory; the unit tests compare
/// with the printed table).
pub(super) fn rectangle_torsion_mm4(side_mm: f64, other_mm: f64) -> f64 {
    let (long_mm, short_mm) = (side_mm.max(other_mm), side_mm.min(other_mm));
    let term = |n: f64| (n * PI * long_mm / (2.0 * short_mm)).tanh() / n.powi(5);
    let series: f64 = (0..6).map(|i| term(f64::from(2 * i + 1))).sum();
    long_mm * short_mm.powi(3) / 3.0 * (1.0 - 192.0 / PI.powi(5) * short_mm / long_mm * series)
}
