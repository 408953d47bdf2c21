//! Gathers what a reader finds, in mm, and keeps to the limits.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use glam::{DAffine2, DVec2};

use super::curve::{self, Arc};
use super::{ImportError, Imported, MAX_COORDINATE_MM, MAX_ENTITIES, MAX_PIECES, Skipped, join};

/// Longest layer name that is kept, characters; DXF allows 255.
const NAME_CHARACTERS: usize = 255;
/// How many kinds of left-out things are told apart.
const KINDS: usize = 100;

/// One straight or circular piece as found.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    pub(super) from: DVec2,
    pub(super) bulge: f64,
    pub(super) to: DVec2,
    /// Index of its layer.
    pub(super) layer: usize,
}

/// What has been found so far.
#[derive(Default)]
pub(super) struct Collector {
    pieces: Vec<Piece>,
    layers: BTreeMap<String, usize>,
    skipped: BTreeMap<(String, &'static str), usize>,
    entities: usize,
}

impl Collector {
    /// The index of a layer by its name.
    pub(super) fn layer(&mut self, name: &str) -> usize {
        let name: String = name.chars().take(NAME_CHARACTERS).collect();
        let next = self.layers.len();
        *self.layers.entry(name).or_insert(next)
    }

    /// Counts one thing drawn.
    pub(super) const fn count(&mut self) -> Result<(), ImportError> {
        self.entities += 1;
        if self.entities > MAX_ENTITIES { Err(ImportError::TooManyEntities) } else { Ok(()) }
    }

    /// Notes that something is left out.
    pub(super) fn skip(&mut self, kind: &str, why: &'static str) {
        let kind: String = kind.chars().filter(|c| !c.is_control()).take(40).collect();
        let mut key = (kind, why);
        if self.skipped.len() >= KINDS && !self.skipped.contains_key(&key) {
            key = ("other things".to_owned(), "of many kinds");
        }
        *self.skipped.entry(key).or_default() += 1;
    }

    /// Adds a piece that is in mm already.
    pub(super) fn piece(
        &mut self,
        layer: usize,
        from: DVec2,
        bulge: f64,
        to: DVec2,
    ) -> Result<(), ImportError> {
        let near = |at: DVec2| at.abs().max_element() <= MAX_COORDINATE_MM && at.is_finite();
        if !(near(from) && near(to) && bulge.is_finite()) {
            return Err(ImportError::TooFar);
        }
        if self.pieces.len() >= MAX_PIECES {
            return Err(ImportError::TooManyPieces);
        }
        self.pieces.push(Piece { from, bulge, to, layer });
        Ok(())
    }

    /// Adds a straight or circular piece given by its bulge; one of more than half a turn is divided.
    pub(super) fn bulged(
        &mut self,
        layer: usize,
        to_mm: DAffine2,
        from: DVec2,
        bulge: f64,
        to: DVec2,
    ) -> Result<(), ImportError> {
        if bulge == 0.0 || from == to {
            return self.piece(layer, to_mm.transform_point2(from), 0.0, to_mm.transform_point2(to));
        }
        if bulge.abs() <= 1.0
            && let Some(sign) = similar(to_mm)
        {
            return self.piece(layer, to_mm.transform_point2(from), bulge * sign, to_mm.transform_point2(to));
        }
        let centre = from.midpoint(to) + (to - from).perp() * ((1.0 - bulge * bulge) / (4.0 * bulge));
        let arc = Arc {
            centre,
            radius_mm: from.distance(centre),
            from_rad: (from - centre).to_angle(),
            sweep_rad: 4.0 * bulge.atan(),
        };
        self.arc(layer, to_mm, arc)
    }

    /// Adds an arc of at most a full turn, given in the file's own unit.
    pub(super) fn arc(&mut self, layer: usize, to_mm: DAffine2, arc: Arc) -> Result<(), ImportError> {
        if let Some(sign) = similar(to_mm) {
            for (from, bulge, to) in curve::of_arc(arc) {
                let [from, to] = [from, to].map(|at| to_mm.transform_point2(at));
                self.piece(layer, from, bulge * sign, to)?;
            }
            return Ok(());
        }
        self.curve(layer, &|share| to_mm.transform_point2(arc.at(share)), &[(0.0, 0.5), (0.5, 1.0)])
    }

    /// Adds part of an ellipse: `centre + along·cos t + across·sin t` in the file's own unit.
    pub(super) fn ellipse(
        &mut self,
        layer: usize,
        to_mm: DAffine2,
        [centre, along, across]: [DVec2; 3],
        from_rad: f64,
        sweep_rad: f64,
    ) -> Result<(), ImportError> {
        let circle = (along.length() - across.length()).abs() <= 1e-9 * along.length()
            && along.dot(across).abs() <= 1e-9 * along.length_squared();
        if circle {
            let sign = along.perp_dot(across).signum();
            let from_rad = along.to_angle() + sign * from_rad;
            let sweep_rad = sign * sweep_rad;
            return self.arc(layer, to_mm, Arc { centre, radius_mm: along.length(), from_rad, sweep_rad });
        }
        let at = |t: f64| to_mm.transform_point2(centre + along * t.cos() + across * t.sin());
        let quarters = (sweep_rad.abs() / (TAU / 4.0)).ceil().clamp(1.0, 4.0);
        let step_rad = sweep_rad / quarters;
        let spans: Vec<(f64, f64)> = [0.0, 1.0, 2.0, 3.0]
            .into_iter()
            .filter(|index| *index < quarters)
            .map(|index| (from_rad + index * step_rad, from_rad + (index + 1.0) * step_rad))
            .collect();
        self.curve(layer, &at, &spans)
    }

    /// Adds a smooth curve in mm between parameters.
    pub(super) fn curve(
        &mut self,
        layer: usize,
        at_mm: &dyn Fn(f64) -> DVec2,
        spans: &[(f64, f64)],
    ) -> Result<(), ImportError> {
        curve::of_curve(at_mm, spans, &mut |from, bulge, to| self.piece(layer, from, bulge, to))
    }

    /// Joins the pieces end to end.
    pub(super) fn finish(mut self, remarks: Vec<String>) -> Result<Imported, ImportError> {
        let joined = join::join(&self.pieces);
        for (kind, why, count) in joined.dropped {
            if count > 0 {
                *self.skipped.entry((kind.to_owned(), why)).or_default() += count;
            }
        }
        let skipped: Vec<Skipped> =
            self.skipped.into_iter().map(|((kind, why), count)| Skipped { kind, why, count }).collect();
        if joined.chains.is_empty() {
            return Err(ImportError::Nothing { skipped });
        }
        let mut names = vec![String::new(); self.layers.len()];
        for (name, index) in self.layers {
            names[index] = name;
        }
        let chains = joined
            .chains
            .into_iter()
            .map(|(layer, points, closed)| super::Chain { layer: names[layer].clone(), points, closed })
            .collect();
        Ok(Imported { chains, skipped, remarks })
    }
}

/// For a map that keeps shapes: 1, or −1 if it mirrors them.
fn similar(map: DAffine2) -> Option<f64> {
    let (x, y) = (map.matrix2.x_axis, map.matrix2.y_axis);
    let size = x.length();
    let keeps = (size - y.length()).abs() <= 1e-9 * size && x.dot(y).abs() <= 1e-9 * size * size;
    (keeps && size > 0.0).then(|| x.perp_dot(y).signum())
}
