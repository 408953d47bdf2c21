//! How plastic freezes from the walls inwards, and how flow keeps it from doing so.
//!
//! A slab that is hot all through when its faces are suddenly cold: where it is colder than the no-flow
//! temperature it is skin. Thermal properties do not change with temperature, heat of fusion is part of the
//! diffusivity, and the faces keep the temperature of the mould.

#[cfg(test)]
mod tests;

use std::f64::consts::PI;

/// Stations of the tables.
const STATIONS: usize = 64;

/// What is done with Fourier numbers above: one term of the series is enough, and below: half-spaces are.
const LATE: f64 = 0.06;

/// What freezes at which time, for one melt, mould and no-flow temperature.
#[derive(Clone, Debug)]
pub(crate) struct Freezing {
    /// Diffusivity, mm²/s.
    diffusivity_mm2_s: f64,
    /// `(T_no-flow − T_mould) / (T_melt − T_mould)`; at or below 0 nothing freezes.
    share: f64,
    /// Fourier number at which the middle of a slab freezes.
    slab: f64,
    /// Skin of a slab over its half thickness, over the root of time over that number, in equal steps to 1.
    skin: [f64; STATIONS + 1],
    /// Skin over `√(a t)` while it is thin: twice the inverse error function of the share.
    early: f64,
    mould_c: f64,
    no_flow_c: f64,
    /// Skin over `(9 a x / γ̇)^(1/3)` where hot melt flows by for long, over the share in equal steps to 1.
    swept: [f64; STATIONS + 1],
    /// Logarithm of the temperature in the middle of a slab, over its Fourier number in steps of [`FO_STEP`].
    ln_middle: [f64; STATIONS + 1],
}

/// Step of the Fourier number in the table of the middle's temperature.
const FO_STEP: f64 = 0.008;

impl Freezing {
    /// `None` if the melt is no hotter than its no-flow temperature.
    pub(crate) fn new(diffusivity_mm2_s: f64, melt_c: f64, mould_c: f64, no_flow_c: f64) -> Option<Self> {
        if melt_c <= no_flow_c {
            return None;
        }
        let share = if mould_c >= no_flow_c { 0.0 } else { (no_flow_c - mould_c) / (melt_c - mould_c) };
        let mut freezing = Self {
            diffusivity_mm2_s,
            share,
            slab: f64::INFINITY,
            skin: [0.0; STATIONS + 1],
            early: 0.0,
            mould_c,
            no_flow_c,
            swept: [0.0; STATIONS + 1],
            ln_middle: [0.0; STATIONS + 1],
        };
        for (station, ln) in freezing.ln_middle.iter_mut().enumerate() {
            *ln = slab(0.5, station as f64 * FO_STEP).ln();
        }
        if share <= 0.0 {
            return Some(freezing);
        }
        freezing.slab = rooted(0.0, 20.0, |fourier| share - slab(0.5, fourier));
        freezing.early = 2.0 * rooted(0.0, 6.0, |x| erf(x) - share);
        freezing.swept = swept();
        for station in 1..STATIONS {
            let root = station as f64 / STATIONS as f64;
            let fourier = freezing.slab * root * root;
            freezing.skin[station] = 2.0 * rooted(0.0, 0.5, |depth| slab(depth, fourier) - share);
        }
        freezing.skin[STATIONS] = 1.0;
        Some(freezing)
    }

    /// Whether anything freezes at all.
    pub(crate) fn is_cold(&self) -> bool {
        self.share > 0.0
    }

    /// When a bar with these sides is frozen through, s; infinite if it never is. The temperature of a bar is
    /// the product of those of two slabs.
    pub(crate) fn bar_s(&self, one_mm: f64, other_mm: f64) -> f64 {
        if !self.is_cold() {
            return f64::INFINITY;
        }
        let thin_mm = one_mm.min(other_mm);
        let ratio = (thin_mm / one_mm.max(other_mm)).powi(2);
        let ln_share = self.share.ln();
        // Newton from the slab; the curve is bent downwards, so that it comes from above.
        let mut fourier = self.slab;
        for _ in 0..8 {
            let (here, slope) = self.ln_middle(fourier);
            let (there, other) = self.ln_middle(fourier * ratio);
            let slope = slope + other * ratio;
            if slope >= 0.0 {
                break;
            }
            let step = (here + there - ln_share) / slope;
            fourier = (fourier - step).max(0.1 * fourier);
            if step.abs() < 1e-9 * fourier {
                break;
            }
        }
        fourier * thin_mm * thin_mm / self.diffusivity_mm2_s
    }

    /// When a round bore is frozen through, s: one term of the series, `D²/(23.133 a) ln(1.602/θ)`.
    pub(crate) fn bore_s(&self, diameter_mm: f64) -> f64 {
        if !self.is_cold() {
            return f64::INFINITY;
        }
        diameter_mm * diameter_mm / (23.133 * self.diffusivity_mm2_s) * (1.602 / self.share).ln()
    }

    /// What a section of a least thickness and its time to freeze through make of the law of the skin.
    pub(crate) fn section(&self, thin_mm: f64, frozen_s: f64) -> Section {
        // Where time is counted as a share of its own, the thin skin of a bar is by this thinner or thicker
        // than that of a slab.
        let of_slab_s = self.slab * thin_mm * thin_mm / self.diffusivity_mm2_s;
        let early = if frozen_s.is_finite() { (frozen_s / of_slab_s).sqrt() } else { 1.0 };
        Section { half_mm: 0.5 * thin_mm, frozen_s, early }
    }

    /// Thickness of the skin on every wall, mm, after a time in contact with the mould without flow: thin at
    /// first as on a wall of unbounded melt, half the thickness when the section is frozen through.
    #[inline]
    pub(crate) fn skin_mm(&self, section: &Section, age_s: f64) -> f64 {
        let share = age_s / section.frozen_s;
        if share >= 1.0 {
            return section.half_mm;
        }
        let place = share.sqrt() * STATIONS as f64;
        let at = place as usize;
        let of_slab = self.skin[at] + (place - at as f64) * (self.skin[at + 1] - self.skin[at]);
        (section.half_mm * of_slab * (section.early + (1.0 - section.early) * share)).min(section.half_mm)
    }

    /// Age at which the skin has a thickness while it is thin, s.
    #[inline]
    pub(crate) fn age_s(&self, skin_mm: f64) -> f64 {
        let root = skin_mm / self.early;
        root * root / self.diffusivity_mm2_s
    }

    /// Skin that is left on a wall past which fresh melt has flowed for long, mm: of the layer that cools
    /// over the way from the gate at a shear rate at the wall (Lévêque), the part below the no-flow
    /// temperature. Infinite where the melt itself is colder than that.
    #[inline]
    pub(crate) fn swept_mm(&self, layer_mm: f64, melt_c: f64) -> f64 {
        let share = (self.no_flow_c - self.mould_c) / (melt_c - self.mould_c);
        if !(share < 1.0 && melt_c > self.mould_c) {
            return f64::INFINITY;
        }
        let place = share.max(0.0) * STATIONS as f64;
        let at = place as usize;
        layer_mm * (self.swept[at] + (place - at as f64) * (self.swept[at + 1] - self.swept[at]))
    }

    /// Whether melt of a temperature does not flow.
    #[inline]
    pub(crate) fn is_stiff(&self, melt_c: f64) -> bool {
        melt_c <= self.no_flow_c
    }

    /// Thickness that scales the cooled layer of a wall past which melt flows, mm: `(9 a x / γ̇)^(1/3)`;
    /// `last_mm` is what it was a moment ago, or infinite.
    #[inline]
    pub(crate) fn layer_mm(&self, way_mm: f64, shear_rate_per_s: f64, last_mm: f64) -> f64 {
        let cube = 9.0 * self.diffusivity_mm2_s * way_mm / shear_rate_per_s.max(1e-12);
        let last = last_mm * last_mm * last_mm;
        if (0.25 * cube..4.0 * cube).contains(&last) {
            // One step of Halley's method: within a per cent, and within 1e-4 for a change by a quarter.
            last_mm * (last + 2.0 * cube) / (2.0 * last + cube)
        } else {
            cube.cbrt()
        }
    }

    /// Thickness of the cooled layer without flow, mm: what the heat flow through the wall divides the
    /// difference in temperature by, `√(π a t)`.
    #[inline]
    pub(crate) fn cooled_mm(&self, age_s: f64) -> f64 {
        (PI * self.diffusivity_mm2_s * age_s).sqrt()
    }

    /// Logarithm of the middle's temperature of a slab, and its slope.
    fn ln_middle(&self, fourier: f64) -> (f64, f64) {
        let place = fourier / FO_STEP;
        let at = place as usize;
        if at >= STATIONS {
            return ((4.0 / PI).ln() - PI * PI * fourier, -PI * PI);
        }
        let rise = self.ln_middle[at + 1] - self.ln_middle[at];
        (self.ln_middle[at] + (place - at as f64) * rise, rise / FO_STEP)
    }
}

/// A section as its skin knows it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Section {
    /// Half the least thickness, mm.
    half_mm: f64,
    /// When it is frozen through, s.
    pub(crate) frozen_s: f64,
    /// Thin skin at the same share of that time over a slab's.
    early: f64,
}

/// The constant of Γ(4/3).
pub(crate) const GAMMA_4_3: f64 = 0.892_979_511_569_249_2;

/// Temperature of a slab of thickness 1 at a depth under its face, 1 = hot, at a Fourier number.
fn slab(depth: f64, fourier: f64) -> f64 {
    if fourier <= 0.0 {
        return 1.0;
    }
    if fourier < LATE {
        let scale = 0.5 / fourier.sqrt();
        // Two walls, and the images that keep each of them cold.
        return (erf(depth * scale) + erf((1.0 - depth) * scale) - 1.0 + erfc_pair(depth, scale)).max(0.0);
    }
    let term = |k: f64| (k * PI * depth).sin() / k * (-(k * PI).powi(2) * fourier).exp();
    4.0 / PI * (term(1.0) + term(3.0) + term(5.0) + term(7.0))
}

/// What the first images add.
fn erfc_pair(depth: f64, scale: f64) -> f64 {
    let erfc = |x: f64| 1.0 - erf(x);
    erfc((1.0 + depth) * scale) + erfc((2.0 - depth) * scale)
}

/// `η` at which the layer that melt flowing past a cold wall has cooled is at a share of the melt's
/// temperature, for shares in equal steps: `∫₀^η exp(−s³) ds / Γ(4/3)` (Lévêque; any text on heat transfer).
fn swept() -> [f64; STATIONS + 1] {
    const STEP: f64 = 2e-3;
    let (mut eta, mut sum) = (0.0_f64, 0.0);
    let mut stations = [0.0; STATIONS + 1];
    for (station, at) in stations.iter_mut().enumerate().skip(1) {
        let share = station as f64 / STATIONS as f64;
        // The melt's own temperature is reached at infinity, within 1e-5 here.
        while sum < share && eta < 2.2 {
            sum += STEP * (-(eta + 0.5 * STEP).powi(3)).exp() / GAMMA_4_3;
            eta += STEP;
        }
        *at = eta;
    }
    stations
}

/// Root of a rising function by halving.
fn rooted(mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..26 {
        let middle = 0.5 * (low + high);
        if of(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Error function of a number of at least 0, within 1.5e-7 (Abramowitz & Stegun, 7.1.26; from memory,
/// checked below).
fn erf(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let sum =
        0.254_829_592 + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429)));
    1.0 - t * sum * (-x * x).exp()
}
