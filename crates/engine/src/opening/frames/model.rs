//! Model files and recorded results of `tests/oracle/frames`, read.

use std::collections::BTreeMap;

use glam::DVec2;

/// A bed spring: node, half (0 fixed, 1 moving), stiffness of its tack and of contact, N/mm.
pub(super) struct Bed {
    pub(super) node: usize,
    pub(super) half: usize,
    pub(super) tack_n_mm: f64,
    pub(super) contact_n_mm: f64,
}

/// A point hold with its pull-off curve, mm and N.
pub(super) struct Hold {
    pub(super) name: String,
    pub(super) node: usize,
    pub(super) half: usize,
    pub(super) curve: Vec<(f64, f64)>,
}

/// A model as its file describes it: N, mm, MPa.
#[derive(Default)]
pub(super) struct Model {
    pub(super) stroke_mm: f64,
    pub(super) modulus_mpa: f64,
    pub(super) yield_mpa: f64,
    pub(super) ratio: f64,
    pub(super) poisson: f64,
    pub(super) rise_mm: f64,
    pub(super) gone_mm: f64,
    /// Torsion constant over a b³ of every rectangle in the file, whose sides all have one ratio.
    pub(super) torsion: f64,
    pub(super) nodes: Vec<DVec2>,
    /// Node, node, width, depth.
    pub(super) beams: Vec<(usize, usize, f64, f64)>,
    pub(super) beds: Vec<Bed>,
    pub(super) holds: Vec<Hold>,
    /// Node and stiffness, the same along x and y.
    pub(super) sides: Vec<(usize, f64)>,
    /// Viscosity of each node's displacements and rotations.
    pub(super) drags: Vec<(f64, f64)>,
}

fn lines(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().filter(|line| !line.starts_with('#')).map(|line| line.split(',').collect())
}

fn half(word: &str) -> usize {
    ["fixed", "moving"].iter().position(|half| *half == word).unwrap()
}

impl Model {
    pub(super) fn read(text: &str) -> Self {
        let mut model = Self::default();
        for line in lines(text) {
            let number = |i: usize| line[i].parse::<f64>().unwrap();
            let index = |i: usize| line[i].parse::<usize>().unwrap();
            match line[0] {
                "stroke" => model.stroke_mm = number(1),
                "material" => {
                    (model.modulus_mpa, model.yield_mpa) = (number(1), number(2));
                    (model.ratio, model.poisson) = (number(3), number(4));
                }
                "tack" => (model.rise_mm, model.gone_mm) = (number(1), number(2)),
                "k1" => model.torsion = number(2),
                "node" => model.nodes.push(DVec2::new(number(2), number(3))),
                "beam" => model.beams.push((index(1), index(2), number(3), number(4))),
                "bed" => model.beds.push(Bed {
                    node: index(1),
                    half: half(line[2]),
                    tack_n_mm: number(3),
                    contact_n_mm: number(4),
                }),
                "hold" => model.holds.push(Hold {
                    name: line[1].to_owned(),
                    node: index(2),
                    half: half(line[3]),
                    curve: line[4..]
                        .iter()
                        .map(|point| {
                            let (travel, force) = point.split_once(':').unwrap();
                            (travel.parse().unwrap(), force.parse().unwrap())
                        })
                        .collect(),
                }),
                "side" => {
                    assert_eq!(line[2], line[3], "sideways springs are the same along x and y");
                    model.sides.push((index(1), number(2)));
                }
                "drag" => model.drags.push((number(2), number(3))),
                "report" | "watch" => {}
                other => panic!("unknown line {other}"),
            }
        }
        model
    }

    pub(super) fn is_straight(&self) -> bool {
        self.nodes.iter().all(|node| node.y == 0.0)
    }

    /// An element that ends in `node`, and the node's place in it.
    pub(super) fn element_at(&self, node: usize) -> (usize, f64) {
        let element = self.beams.iter().position(|beam| beam.0 == node || beam.1 == node).unwrap();
        (element, if self.beams[element].0 == node { 0.0 } else { 1.0 })
    }
}

/// What was recorded of one model.
#[derive(Default)]
pub(super) struct Recorded {
    pub(super) columns: Vec<String>,
    /// Opening, then the columns.
    pub(super) rows: Vec<Vec<f64>>,
    /// Largest value of every force.
    pub(super) peaks: BTreeMap<String, f64>,
    /// Linear solves, and those with the longest steps that serve for 1 %.
    pub(super) solves: usize,
    pub(super) quick_solves: usize,
}

impl Recorded {
    pub(super) fn read(text: &str, model: &str) -> Self {
        let mut recorded = Self::default();
        for line in lines(text).filter(|line| line[1] == model) {
            let number = |i: usize| line[i].parse::<f64>().unwrap();
            match line[0] {
                "columns" => recorded.columns = line[3..].iter().map(|word| (*word).to_owned()).collect(),
                "at" => recorded.rows.push((2..line.len()).map(number).collect()),
                "peak" => drop(recorded.peaks.insert(line[2].to_owned(), number(3))),
                "cost" => recorded.solves = line[4].parse().unwrap(),
                "quick" => recorded.quick_solves = line[4].parse().unwrap(),
                other => panic!("unknown line {other}"),
            }
        }
        recorded
    }
}
