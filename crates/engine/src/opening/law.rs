//! Laws of pull: what a hold answers to its travel, and what its travel does to it.

use crate::hold::Curve;

/// What a hold answers to a travel: its pull, and two stiffnesses.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Pull {
    pub(crate) force: f64,
    /// True derivative; negative where the hold weakens.
    pub(crate) tangent: f64,
    /// Force over elastic travel: never negative, and a bound from above that cannot overshoot.
    pub(crate) secant: f64,
}

/// Traction–separation law of a tacky face: rises to its peak, falls to nothing at `gone_mm`; damage
/// unloads to the origin.
#[derive(Clone, Debug)]
pub(crate) struct TackLaw {
    /// Separation at peak traction, mm.
    pub(crate) rise_mm: f64,
    /// Separation at which nothing is left, mm.
    pub(crate) gone_mm: f64,
    /// A measured curve, its forces over its initial stiffness, in the place of the two straight lines.
    measured: Option<Curve>,
}

impl TackLaw {
    /// Rises in a straight line and falls in another.
    pub(crate) fn bilinear(rise_mm: f64, gone_mm: f64) -> Self {
        Self { rise_mm, gone_mm, measured: None }
    }

    /// Along a measured curve.
    pub(crate) fn measured(curve: &Curve) -> Self {
        let peak = curve.peak_n();
        let rise_mm = curve.points().iter().find(|point| point.1 >= peak).map_or(0.0, |point| point.0);
        let gone_mm = curve.let_go_travel_mm();
        let curve = curve.scaled(1.0 / curve.initial_stiffness_n_mm().max(f64::MIN_POSITIVE));
        Self { rise_mm, gone_mm, measured: Some(curve) }
    }

    /// Stiffness, as a share of the initial one, after a worst separation.
    #[inline]
    pub(crate) fn left(&self, worst_mm: f64) -> f64 {
        if let Some(curve) = &self.measured {
            let worst = worst_mm.max(1e-9);
            return curve.force_n(worst) / worst;
        }
        if worst_mm <= self.rise_mm {
            1.0
        } else if worst_mm >= self.gone_mm {
            0.0
        } else {
            self.rise_mm * (self.gone_mm - worst_mm) / ((self.gone_mm - self.rise_mm) * worst_mm)
        }
    }

    /// Derivative of [`Self::left`].
    #[inline]
    pub(crate) fn left_slope(&self, worst_mm: f64) -> f64 {
        if let Some(curve) = &self.measured {
            let worst = worst_mm.max(1e-9);
            let (force, slope) = curve.force_and_slope(worst);
            return (slope - force / worst) / worst;
        }
        if worst_mm <= self.rise_mm || worst_mm >= self.gone_mm {
            0.0
        } else {
            -self.rise_mm * self.gone_mm / ((self.gone_mm - self.rise_mm) * worst_mm * worst_mm)
        }
    }

    /// Area under the envelope up to a separation, per initial stiffness, mm².
    fn area(&self, to_mm: f64) -> f64 {
        if let Some(curve) = &self.measured {
            return curve.area_to(to_mm);
        }
        if to_mm <= self.rise_mm {
            return 0.5 * to_mm * to_mm;
        }
        let pull = self.left(to_mm) * to_mm;
        0.5 * self.rise_mm * self.rise_mm + 0.5 * (self.rise_mm + pull) * (to_mm - self.rise_mm)
    }

    /// Work taken to open a face of this initial stiffness, N/mm, to `apart_mm` now and `worst_mm` at
    /// worst, mJ: what is stored plus what the damage has cost.
    pub(crate) fn work(&self, stiffness_n_mm: f64, apart_mm: f64, worst_mm: f64) -> f64 {
        let worst = worst_mm.min(self.gone_mm);
        let stored = |travel: f64| 0.5 * self.left(worst) * travel * travel;
        let now = if worst_mm >= self.gone_mm { 0.0 } else { stored(apart_mm) - stored(worst) };
        stiffness_n_mm * (self.area(worst) + now)
    }

    /// Peak pull of a face of this initial stiffness, N.
    pub(crate) fn peak(&self, stiffness_n_mm: f64) -> f64 {
        stiffness_n_mm * self.measured.as_ref().map_or(self.rise_mm, Curve::peak_n)
    }

    /// Pull-off curve of a face of this initial stiffness: (mm, N).
    pub(crate) fn curve(&self, stiffness_n_mm: f64) -> Vec<(f64, f64)> {
        match &self.measured {
            Some(curve) => curve.scaled(stiffness_n_mm).points().to_vec(),
            None => vec![(0.0, 0.0), (self.rise_mm, self.peak(stiffness_n_mm)), (self.gone_mm, 0.0)],
        }
    }
}

/// Drag that has to be slid along: follows its envelope while sliding, unloads elastically.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Slide {
    /// Furthest travel so far, mm.
    pub(crate) worst_mm: f64,
    /// Travel at which the spring is at rest, mm.
    pub(crate) rest_mm: f64,
    /// Pull at the last accepted step, N.
    pub(crate) pull_before: f64,
}

impl Slide {
    /// The answer at `travel` of a hold with this initial stiffness and envelope (force, slope).
    #[inline]
    pub(crate) fn pull(&self, travel: f64, stiffness: f64, envelope: impl Fn(f64) -> (f64, f64)) -> Pull {
        let (limit, slope) = envelope(travel.max(self.worst_mm));
        let elastic = travel - self.rest_mm;
        let trial = stiffness * elastic;
        if trial.abs() <= limit {
            return Pull { force: trial, tangent: stiffness, secant: stiffness };
        }
        let force = limit * trial.signum();
        let tangent = if trial > 0.0 && travel > self.worst_mm { slope } else { 0.0 };
        Pull { force, tangent, secant: force / elastic }
    }

    /// Makes the slip of an accepted step permanent; returns the work taken in it. `area` is the
    /// integral of the envelope from 0.
    pub(crate) fn accept(
        &mut self,
        travel: f64,
        stiffness: f64,
        envelope: impl Fn(f64) -> (f64, f64),
        area: impl Fn(f64) -> f64,
    ) -> f64 {
        if stiffness <= 0.0 {
            self.worst_mm = self.worst_mm.max(travel);
            return 0.0;
        }
        let pull = self.pull(travel, stiffness, &envelope).force;
        let (rest, worst) = (travel - pull / stiffness, self.worst_mm);
        let stored = |force: f64| 0.5 * force * force / stiffness;
        let before = self.pull_before;
        let taken = if travel > worst {
            stored(envelope(worst).0) - stored(before) + area(travel) - area(worst)
        } else {
            stored(pull) - stored(before) + pull * (rest - self.rest_mm)
        };
        self.worst_mm = worst.max(travel);
        self.rest_mm = rest;
        self.pull_before = pull;
        taken
    }
}

/// A wall that drags: rises over a short travel, then falls linearly to nothing at `gone_mm`.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wall {
    pub(crate) peak_n: f64,
    pub(crate) gone_mm: f64,
    pub(crate) rise_mm: f64,
}

impl Wall {
    #[inline]
    pub(crate) fn envelope(&self, travel: f64) -> (f64, f64) {
        if travel >= self.gone_mm {
            (0.0, 0.0)
        } else if travel < self.rise_mm {
            (self.peak_n * travel.max(0.0) / self.rise_mm, self.peak_n / self.rise_mm)
        } else {
            let slope = -self.peak_n / (self.gone_mm - self.rise_mm);
            (slope * (travel - self.gone_mm), slope)
        }
    }

    /// Integral of the envelope from 0 to `travel`, mJ.
    pub(crate) fn area(&self, travel: f64) -> f64 {
        let to = travel.clamp(0.0, self.gone_mm);
        if to < self.rise_mm {
            return 0.5 * self.peak_n / self.rise_mm * to * to;
        }
        let left = self.envelope(to).0;
        0.5 * self.peak_n * self.rise_mm + 0.5 * (self.peak_n + left) * (to - self.rise_mm)
    }

    #[inline]
    pub(crate) fn stiffness(&self) -> f64 {
        if self.peak_n > 0.0 { self.peak_n / self.rise_mm } else { 0.0 }
    }
}
