//! How a hot body cools whose whole surface is held at one temperature.
//!
//! Temperatures are shares: 1 is the first temperature, 0 that of the surface. Conduction with constant
//! values; heat of melting and a gap of air between part and steel are left out.
//!
//! Source: Fourier's series of the plate and the cylinder, Carslaw and Jaeger, Conduction of Heat in Solids, 3.3
//! and 7.6 (citation from memory); a bar is the product of two plates (there, 1.15).

use std::f64::consts::PI;

/// What is left of a term of a series that is not added any more.
const NOTHING: f64 = 1e-16;

/// Roots of the Bessel function `J0`, and `J1` there; worked out with the library `scipy`.
const ROOTS: [(f64, f64); 20] = [
    (2.404_825_557_695_8, 0.519_147_497_289_5),
    (5.520_078_110_286_3, -0.340_264_806_558_4),
    (8.653_727_912_911, 0.271_452_299_928_4),
    (11.791_534_439_014_3, -0.232_459_831_364_7),
    (14.930_917_708_487_8, 0.206_546_433_078),
    (18.071_063_967_910_9, -0.187_728_803_040_4),
    (21.211_636_629_879_3, 0.173_265_894_229_2),
    (24.352_471_530_749_3, -0.161_701_550_689_2),
    (27.493_479_132_040_3, 0.152_181_213_770_6),
    (30.634_606_468_432, -0.144_165_977_686_4),
    (33.775_820_213_573_6, 0.137_296_943_408_5),
    (36.917_098_353_664, -0.131_324_626_668_7),
    (40.058_425_764_628_2, 0.126_069_497_127_3),
    (43.199_791_713_176_7, -0.121_398_624_771_7),
    (46.341_188_371_661_8, 0.117_211_198_890_7),
    (49.482_609_897_397_8, -0.113_429_192_616_4),
    (52.624_051_841_115, 0.109_991_143_046_3),
    (55.765_510_755_02, -0.106_847_888_254_7),
    (58.906_983_926_080_9, 0.103_959_572_869_4),
    (62.048_469_190_227_2, -0.101_293_498_933_9),
];

/// Fourier number up to which a centre has not noticed anything to ten digits.
const UNTOUCHED: f64 = 0.002;

/// Share left at the centre of a plate cooled on both faces. `fourier` is diffusivity times time over the
/// square of the thickness.
pub fn slab_centre(fourier: f64) -> f64 {
    if fourier <= UNTOUCHED {
        return 1.0;
    }
    let mut sum = 0.0;
    for n in 0_u32.. {
        let k = f64::from(2 * n + 1);
        let decay = (-(k * PI).powi(2) * fourier).exp();
        if decay < NOTHING {
            break;
        }
        sum += if n % 2 == 0 { 1.0 } else { -1.0 } * 4.0 / (PI * k) * decay;
    }
    sum
}

/// Mean share left in such a plate.
pub fn slab_mean(fourier: f64) -> f64 {
    if fourier <= UNTOUCHED {
        // The heat that a half space gives off, from both faces.
        return 1.0 - 4.0 * (fourier.max(0.0) / PI).sqrt();
    }
    let mut sum = 0.0;
    for n in 0_u32.. {
        let k = f64::from(2 * n + 1);
        let decay = (-(k * PI).powi(2) * fourier).exp();
        if decay < NOTHING {
            break;
        }
        sum += 8.0 / (PI * k).powi(2) * decay;
    }
    sum
}

/// Share left on the axis of a long cylinder. `fourier` is diffusivity times time over the square of the
/// diameter.
pub fn cylinder_centre(fourier: f64) -> f64 {
    if fourier <= UNTOUCHED {
        return 1.0;
    }
    let term = |(root, slope): &(f64, f64)| 2.0 / (root * slope) * (-4.0 * root * root * fourier).exp();
    ROOTS.iter().map(term).sum()
}

/// What cools, all its surface at the mould's temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Body {
    /// A plate, cooled on both faces.
    Slab {
        /// Thickness, mm.
        thickness_mm: f64,
    },
    /// A long bar of rectangular section.
    Bar {
        /// One side, mm.
        width_mm: f64,
        /// The other, mm.
        depth_mm: f64,
    },
    /// A long cylinder.
    Round {
        /// Diameter, mm.
        diameter_mm: f64,
    },
}

impl Body {
    /// Share left at the hottest place after a time, s; diffusivity in mm²/s.
    pub fn centre(self, diffusivity_mm2_s: f64, time_s: f64) -> f64 {
        let fourier = |size_mm: f64| diffusivity_mm2_s * time_s / (size_mm * size_mm);
        match self {
            Self::Slab { thickness_mm } => slab_centre(fourier(thickness_mm)),
            Self::Bar { width_mm, depth_mm } => {
                slab_centre(fourier(width_mm)) * slab_centre(fourier(depth_mm))
            }
            Self::Round { diameter_mm } => cylinder_centre(fourier(diameter_mm)),
        }
    }

    /// The time, s, after which `share` is left at the hottest place. `share` is held between a millionth and
    /// 1; diffusivity in mm²/s.
    ///
    /// The first term of the series gives the time where it is long enough: `t = s²/(π²·a)·ln(4/π/share)` for
    /// a plate (Ballman and Shusman, from memory), `ln((4/π)²/share)/(π²·a·(1/w² + 1/h²))` for a bar,
    /// `D²/(23.13·a)·ln(1.602/share)` for a cylinder. The whole series, halved towards, gives it where not.
    pub fn time_s(self, diffusivity_mm2_s: f64, share: f64) -> f64 {
        let share = share.clamp(1e-6, 1.0);
        // One term is never below the alternating series it begins.
        let (mut low_s, mut high_s) = (0.0, self.one_term_s(diffusivity_mm2_s, share));
        for _ in 0..60 {
            let middle_s = 0.5 * (low_s + high_s);
            if self.centre(diffusivity_mm2_s, middle_s) > share {
                low_s = middle_s;
            } else {
                high_s = middle_s;
            }
        }
        high_s
    }

    /// The time by the first term of the series alone, s: the right one to a percent from a Fourier number of
    /// 0.05 on, and too long before.
    pub fn one_term_s(self, diffusivity_mm2_s: f64, share: f64) -> f64 {
        let (factor, per_mm2) = match self {
            Self::Slab { thickness_mm } => (4.0 / PI, PI * PI / (thickness_mm * thickness_mm)),
            Self::Bar { width_mm, depth_mm } => {
                let squares = 1.0 / (width_mm * width_mm) + 1.0 / (depth_mm * depth_mm);
                ((4.0 / PI).powi(2), PI * PI * squares)
            }
            Self::Round { diameter_mm } => {
                let (root, slope) = ROOTS[0];
                (2.0 / (root * slope), 4.0 * root * root / (diameter_mm * diameter_mm))
            }
        };
        (factor / share).ln().max(0.0) / (per_mm2 * diffusivity_mm2_s)
    }
}
