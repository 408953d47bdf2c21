//! Shapes of a section as strips: what lies between a left and a right edge, height by height.

use glam::DVec2;

/// Left and right edge at a height; two rungs at one height are a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rung {
    pub(crate) z: f64,
    pub(crate) left: f64,
    pub(crate) right: f64,
}

/// A shape between a left and a right edge, from its lowest rung upwards.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Strip(pub(crate) Vec<Rung>);

impl Strip {
    /// About a middle line, from half widths against heights in any one direction.
    pub(crate) fn about(middle: f64, half_widths: impl IntoIterator<Item = (f64, f64)>) -> Self {
        Self::between(half_widths.into_iter().map(|(half, z)| (z, middle - half, middle + half)))
    }

    /// From heights with their left and right edges, in any one direction.
    pub(crate) fn between(rungs: impl IntoIterator<Item = (f64, f64, f64)>) -> Self {
        let mut rungs: Vec<Rung> =
            rungs.into_iter().map(|(z, left, right)| Rung { z, left, right }).collect();
        if let [first, .., last] = rungs[..]
            && first.z > last.z
        {
            rungs.reverse();
        }
        Self(rungs)
    }

    /// Convex pieces that fill it.
    pub(crate) fn quads(&self) -> Vec<[DVec2; 4]> {
        self.pairs()
            .map(|(a, b)| [(a.left, a.z), (a.right, a.z), (b.right, b.z), (b.left, b.z)].map(DVec2::from))
            .collect()
    }

    /// Convex pieces that fill what is left of it, out to `far`, and right of it likewise.
    pub(crate) fn beside(&self, left: f64, right: f64) -> Vec<[DVec2; 4]> {
        let mut quads = Vec::new();
        for (a, b) in self.pairs() {
            let clamp = |x: f64| x.clamp(left, right);
            let near = [(left, a.z), (clamp(a.left), a.z), (clamp(b.left), b.z), (left, b.z)];
            let far = [(clamp(a.right), a.z), (right, a.z), (right, b.z), (clamp(b.right), b.z)];
            quads.extend([near, far].map(|corners| corners.map(DVec2::from)));
        }
        quads
    }

    /// Its left edge upwards.
    pub(crate) fn left_edge(&self) -> Vec<DVec2> {
        self.0.iter().map(|rung| DVec2::new(rung.left, rung.z)).collect()
    }

    /// Its right edge upwards.
    pub(crate) fn right_edge(&self) -> Vec<DVec2> {
        self.0.iter().map(|rung| DVec2::new(rung.right, rung.z)).collect()
    }

    /// What of it lies between two heights.
    pub(crate) fn part(&self, low: f64, high: f64) -> Self {
        let mut rungs = Vec::new();
        for (a, b) in self.pairs() {
            if b.z <= low || a.z >= high {
                continue;
            }
            let at = |z: f64| {
                let share = (z - a.z) / (b.z - a.z);
                Rung {
                    z,
                    left: a.left + share * (b.left - a.left),
                    right: a.right + share * (b.right - a.right),
                }
            };
            let ends = [if a.z < low { at(low) } else { *a }, if b.z > high { at(high) } else { *b }];
            for end in ends {
                if rungs.last() != Some(&end) {
                    rungs.push(end);
                }
            }
        }
        Self(rungs)
    }

    /// Edges at a height: the widest there; `None` above and below it.
    pub(crate) fn at(&self, z: f64) -> Option<(f64, f64)> {
        let within = |(a, b): (&Rung, &Rung)| {
            if !(a.z..=b.z).contains(&z) {
                return None;
            }
            let share = (z - a.z) / (b.z - a.z);
            Some((a.left + share * (b.left - a.left), a.right + share * (b.right - a.right)))
        };
        self.pairs().filter_map(within).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }

    fn pairs(&self) -> impl Iterator<Item = (&Rung, &Rung)> {
        self.0.windows(2).map(|pair| (&pair[0], &pair[1])).filter(|(a, b)| b.z > a.z)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A head 4 mm wide from 1 to 2 on a neck 2 mm wide from 0 to 1.
    fn mushroom() -> Strip {
        Strip::about(0.0, [(1.0, 0.0), (1.0, 1.0), (2.0, 1.0), (2.0, 2.0)])
    }

    fn area(quads: &[[DVec2; 4]]) -> f64 {
        let doubled =
            |quad: &[DVec2; 4]| (0..4).map(|index| quad[index].perp_dot(quad[(index + 1) % 4])).sum::<f64>();
        quads.iter().map(doubled).sum::<f64>() / 2.0
    }

    #[test]
    fn pieces_fill_the_shape_and_what_lies_beside_it() {
        assert_eq!(area(&mushroom().quads()), 6.0);
        assert_eq!(area(&mushroom().beside(-3.0, 3.0)), 6.0);
    }

    #[test]
    fn a_part_of_it_ends_at_the_heights_asked_for() {
        let part = mushroom().part(0.5, 1.5);
        assert_eq!((part.0[0].z, part.0[part.0.len() - 1].z), (0.5, 1.5));
        assert_eq!(area(&part.quads()), 3.0);
        assert_eq!(mushroom().at(1.0), Some((-2.0, 2.0)), "the wider of a step");
        assert_eq!(mushroom().at(2.5), None);
        let downwards = Strip::about(0.0, [(2.0, 2.0), (2.0, 1.0), (1.0, 1.0), (1.0, 0.0)]);
        assert_eq!(downwards, mushroom());
    }
}
