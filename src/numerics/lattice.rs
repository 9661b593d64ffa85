//! A costly smooth function of a few variables, computed at the nodes of a lattice where they are
//! needed and interpolated by cubics.
//!
//! ```text
//! f(x) ≈ Σ f(node) Π w(x_d),      w: Lagrange's cubic through the four nodes around x_d
//! error of one dimension ≤ 3/128 h⁴ max|f''''|                    h: step of the lattice
//! ```
//!
//! The lattice starts at the origin: a variable that is zero everywhere costs no extra node, and
//! values at nodes come back as they were given. Weights add up to one, so that sums over the
//! entries of a value (a balance of energy) are kept.
//!
//! Source: Abramowitz and Stegun, *Handbook of Mathematical Functions*, 25.2.13 (cubic), 25.2.10
//! (error; from memory). Checked in: `tests/numerics/lattice.rs`.

use std::collections::HashMap;
use std::sync::Arc;

/// Where a node lies: steps from the origin, one number a variable.
pub type Node = Vec<i32>;

/// Share of a step that counts as none.
const NONE: f64 = 1e-7;

/// Values found at nodes of a lattice.
#[derive(Clone, Debug)]
pub struct Lattice {
    step: Vec<f64>,
    values: HashMap<Node, Arc<[f64]>>,
}

impl Lattice {
    /// An empty lattice with a step for each variable.
    pub fn new(step: Vec<f64>) -> Self {
        Lattice {
            step,
            values: HashMap::new(),
        }
    }

    /// Number of nodes computed.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// True where no node was computed.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// Variables at a node.
    pub fn place(&self, node: &Node) -> Vec<f64> {
        let steps = node.iter().zip(&self.step);
        steps.map(|(n, step)| f64::from(*n) * step).collect()
    }

    /// Nodes that the points need and that are not yet known, each once, in order.
    pub fn missing<'p>(&self, points: impl IntoIterator<Item = &'p [f64]>) -> Vec<Node> {
        let mut nodes: Vec<Node> = points
            .into_iter()
            .flat_map(|point| self.around(point))
            .map(|(node, _)| node)
            .filter(|node| !self.values.contains_key(node))
            .collect();
        nodes.sort_unstable();
        nodes.dedup();
        nodes
    }

    /// Takes in the value of a node; all values must be of one length.
    pub fn add(&mut self, node: Node, value: Vec<f64>) {
        self.values.insert(node, value.into());
    }

    /// Value at a point; none where a node around it is not known.
    pub fn at(&self, point: &[f64]) -> Option<Vec<f64>> {
        let mut sum: Vec<f64> = Vec::new();
        for (node, weight) in self.around(point) {
            let value = self.values.get(&node)?;
            if sum.is_empty() {
                sum = vec![0.0; value.len()];
            }
            for (sum, it) in sum.iter_mut().zip(value.iter()) {
                *sum += weight * it;
            }
        }
        Some(sum)
    }

    /// Nodes around a point with their weights.
    fn around(&self, point: &[f64]) -> Vec<(Node, f64)> {
        let mut nodes = vec![(Node::with_capacity(point.len()), 1.0)];
        for (x, step) in point.iter().zip(&self.step) {
            let at = x / step;
            let near = at.round();
            let (first, weights): (f64, &[f64]) = if (at - near).abs() < NONE {
                (near, &[1.0])
            } else {
                (at.floor() - 1.0, &cubic(at - at.floor()))
            };
            nodes = nodes
                .iter()
                .flat_map(|(node, weight)| {
                    weights.iter().enumerate().map(move |(i, it)| {
                        let mut node = node.clone();
                        node.push(first as i32 + i as i32);
                        (node, weight * it)
                    })
                })
                .collect();
        }
        nodes
    }
}

/// Weights of the nodes −1, 0, 1, 2 at `t` between 0 and 1.
fn cubic(t: f64) -> [f64; 4] {
    [
        -t * (t - 1.0) * (t - 2.0) / 6.0,
        (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0,
        -(t + 1.0) * t * (t - 2.0) / 2.0,
        (t + 1.0) * t * (t - 1.0) / 6.0,
    ]
}
