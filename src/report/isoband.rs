//! Areas where a sampled field reaches a level, and the lines at that level.
//!
//! Each cell of the grid is cut into four triangles about its centre (whose value is the mean of
//! the corners); in a triangle the field is linear and the area above the level is a clipped
//! triangle. Edges shared by two pieces are walked in opposite directions and cancel, which leaves
//! the outline. Rings may lie inside rings: fill by the even-odd rule.
//!
//! A sample that is not a number leaves a hole whose edge runs half-way to its valid neighbours.
//!
//! The crate `contour` (0.13) does not replace this: it divides by the difference of two samples
//! without asking whether they are numbers, so a hole gives places that are none; its lines run back
//! along the border of the data; and it knows neither that border half-way to a hole nor columns of
//! unequal width.
//!
//! Checked in: `tests/report/isoband.rs`.

use std::collections::BTreeMap;

use ndarray::Array1;
use ndarray::Array2;
use ndarray::ArrayView2;
use ndarray::Axis;

use crate::numerics::interpolate::MonotoneCubic;

/// An area and the part of its outline that lies at the level.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Area {
    /// Closed outlines, for even-odd filling.
    pub rings: Vec<Vec<[f64; 2]>>,
    /// Lines at the level, without the runs along the edge of the data.
    pub lines: Vec<Vec<[f64; 2]>>,
}

#[derive(Clone, Copy)]
struct Corner {
    at: [f64; 2],
    /// 1 where there is a value, 0 where not.
    present: f64,
    value: f64,
    /// Whether it was made by clipping at the level.
    on_level: bool,
}

/// A point as a key: the same bits are the same point.
type Key = [u64; 2];

/// A field on the crossings of grid lines (and not at the centres of cells).
#[derive(Clone, Debug, PartialEq)]
pub struct Lattice {
    x: Vec<f64>,
    y: Vec<f64>,
    /// 1 where there is a value, 0 where not; shape (rows, columns).
    present: Array2<f64>,
    /// Values, continued straight beside them.
    value: Array2<f64>,
}

impl Lattice {
    /// Samples at the places of columns and rows; `values[[row, column]]` is not a number where
    /// there is no value.
    ///
    /// Rows and columns beyond the shape of `values` have none.
    pub fn new(x: &[f64], y: &[f64], values: ArrayView2<f64>) -> Self {
        let shape = (y.len(), x.len());
        let values = Array2::from_shape_fn(shape, |it| values.get(it).copied().unwrap_or(f64::NAN));
        Lattice {
            x: x.to_vec(),
            y: y.to_vec(),
            present: values.mapv(|it| if it.is_finite() { 1.0 } else { 0.0 }),
            value: filled_beside(&values),
        }
    }

    /// The same field on a lattice `parts` times as fine along x and y, by monotone cubics through
    /// the samples along rows and then columns: smooth, and nowhere beyond the samples beside.
    pub fn refined(&self, [along_x, along_y]: [usize; 2]) -> Self {
        let [linear, cubic] = [false, true];
        let both = |samples: &Array2<f64>, smooth| {
            let rows = refined_along(samples, Axis(1), along_x, smooth);
            refined_along(&rows, Axis(0), along_y, smooth)
        };
        Lattice {
            x: refined_line(&self.x, along_x, linear),
            y: refined_line(&self.y, along_y, linear),
            present: both(&self.present, linear),
            value: both(&self.value, cubic),
        }
    }

    /// The area where the field is at least `level`. An infinite negative level gives all of it.
    ///
    /// A lattice with fewer than two columns or rows, or with too few values, has no area.
    pub fn at_least(&self, level: f64) -> Area {
        let corner = |column: usize, row: usize| Corner {
            at: [self.x[column] + 0.0, self.y[row] + 0.0],
            present: self.present[[row, column]],
            value: self.value[[row, column]],
            on_level: self.value[[row, column]] == level,
        };
        let mut edges = BTreeMap::new();
        for row in 1..self.y.len() {
            for column in 1..self.x.len() {
                let ring = [
                    corner(column - 1, row - 1),
                    corner(column, row - 1),
                    corner(column, row),
                    corner(column - 1, row),
                ];
                let holds = |it: &Corner| 0.5 <= it.present && level <= it.value;
                if ring.iter().all(|it| it.present < 0.5) || ring.iter().all(|it| it.value < level)
                {
                    continue;
                }
                if ring.iter().all(holds) {
                    add_outline(&mut edges, &ring);
                    continue;
                }
                let centre = mean(&ring);
                for side in 0..4 {
                    let triangle = [ring[side], ring[(side + 1) % 4], centre];
                    let present = clip(&triangle, |it| it.present - 0.5, false);
                    add_outline(&mut edges, &clip(&present, |it| it.value - level, true));
                }
            }
        }
        Area {
            rings: chain(&edges, |_| true),
            lines: chain(&edges, |at_level| at_level),
        }
    }
}

/// Values with those beside a valid sample continued straight from it, the mean over directions.
fn filled_beside(values: &Array2<f64>) -> Array2<f64> {
    let value = |row: Option<usize>, column: Option<usize>| {
        let value = values.get((row?, column?)).copied();
        value.filter(|it| it.is_finite())
    };
    Array2::from_shape_fn(values.dim(), |(row, column)| {
        let here = values[[row, column]];
        if here.is_finite() {
            return here;
        }
        let (mut sum, mut count) = (0.0, 0.0);
        for (down, across) in (-1..2).flat_map(|i| (-1..2).map(move |j| (i, j))) {
            let step = |times: isize| {
                let row = row.checked_add_signed(times * down);
                value(row, column.checked_add_signed(times * across))
            };
            if let Some(near) = step(1) {
                sum += 2.0 * near - step(2).unwrap_or(near);
                count += 1.0;
            }
        }
        let mean: f64 = if 0.0 < count { sum / count } else { 0.0 };
        if mean.is_finite() { mean } else { 0.0 }
    })
}

fn refined_along(samples: &Array2<f64>, axis: Axis, parts: usize, smooth: bool) -> Array2<f64> {
    let fine = |count: usize| count.saturating_sub(1) * parts + count.min(1);
    let mut shape = samples.raw_dim();
    shape[axis.index()] = fine(shape[axis.index()]);
    let mut refined = Array2::zeros(shape);
    for (mut into, from) in refined.lanes_mut(axis).into_iter().zip(samples.lanes(axis)) {
        into.assign(&Array1::from(refined_line(&from.to_vec(), parts, smooth)));
    }
    refined
}

/// Samples with `parts` − 1 values put between each two, straight or by a monotone cubic.
fn refined_line(samples: &[f64], parts: usize, smooth: bool) -> Vec<f64> {
    let numbers = (0..samples.len()).map(|it| it as f64).collect();
    let curve = MonotoneCubic::new(numbers, samples.to_vec()).ok();
    let curve = curve.filter(|_| smooth);
    let mut refined: Vec<f64> = samples.first().copied().into_iter().collect();
    for (i, pair) in samples.windows(2).enumerate() {
        refined.extend((1..parts).map(|part| {
            let share = part as f64 / parts as f64;
            let between = match &curve {
                Some(curve) => curve.at(i as f64 + share),
                None => pair[0] + (pair[1] - pair[0]) * share,
            };
            // Against rounding, and the overflow of samples near the end of the number range.
            between.max(pair[0].min(pair[1])).min(pair[0].max(pair[1]))
        }));
        refined.push(pair[1]);
    }
    refined
}

fn mean(ring: &[Corner; 4]) -> Corner {
    let quarter = |of: fn(&Corner) -> f64| ring.iter().map(|it| of(it) / 4.0).sum();
    Corner {
        at: [quarter(|it| it.at[0]), quarter(|it| it.at[1])],
        present: quarter(|it| it.present),
        value: quarter(|it| it.value),
        on_level: false,
    }
}

/// The part of a convex polygon where `height` is not negative.
fn clip(polygon: &[Corner], height: impl Fn(&Corner) -> f64, at_level: bool) -> Vec<Corner> {
    let mut kept = Vec::with_capacity(polygon.len() + 1);
    for (i, from) in polygon.iter().enumerate() {
        let to = &polygon[(i + 1) % polygon.len()];
        let (above_from, above_to) = (height(from), height(to));
        if 0.0 <= above_from {
            kept.push(Corner {
                on_level: at_level && above_from == 0.0,
                ..*from
            });
        }
        if (0.0 <= above_from) != (0.0 <= above_to) {
            // Always from the low end, so that both neighbours find the same bits.
            let (low, high, share) = if above_from < above_to {
                (from, to, -above_from / (above_to - above_from))
            } else {
                (to, from, -above_to / (above_from - above_to))
            };
            let between = |a: f64, b: f64| a + (b - a) * share.clamp(0.0, 1.0);
            kept.push(Corner {
                at: [
                    between(low.at[0], high.at[0]),
                    between(low.at[1], high.at[1]),
                ],
                present: between(low.present, high.present),
                value: between(low.value, high.value),
                on_level: at_level,
            });
        }
    }
    kept
}

fn add_outline(edges: &mut BTreeMap<(Key, Key), bool>, polygon: &[Corner]) {
    for (i, from) in polygon.iter().enumerate() {
        let to = &polygon[(i + 1) % polygon.len()];
        let (a, b) = (from.at.map(f64::to_bits), to.at.map(f64::to_bits));
        if a != b && edges.remove(&(b, a)).is_none() {
            edges.insert((a, b), from.on_level && to.on_level);
        }
    }
}

/// Joins edges head to tail into runs as long as possible; closed runs repeat no point.
fn chain(edges: &BTreeMap<(Key, Key), bool>, wanted: impl Fn(bool) -> bool) -> Vec<Vec<[f64; 2]>> {
    let mut next: BTreeMap<Key, Vec<Key>> = BTreeMap::new();
    let mut arrivals: BTreeMap<Key, usize> = BTreeMap::new();
    for ((from, to), at_level) in edges {
        if wanted(*at_level) {
            next.entry(*from).or_default().push(*to);
            *arrivals.entry(*to).or_default() += 1;
        }
    }
    // Open runs first, from points nothing arrives at; what is left are rings.
    let open: Vec<Key> = next
        .keys()
        .filter(|it| !arrivals.contains_key(*it))
        .copied()
        .collect();
    let closed: Vec<Key> = next.keys().copied().collect();
    let mut runs = Vec::new();
    for start in open.into_iter().chain(closed) {
        while let Some(run) = walk(&mut next, start) {
            runs.push(without_straight_points(run));
        }
    }
    runs
}

fn walk(next: &mut BTreeMap<Key, Vec<Key>>, start: Key) -> Option<Vec<[f64; 2]>> {
    let mut run = vec![start.map(f64::from_bits)];
    let mut here = start;
    while let Some(to) = next.get_mut(&here).and_then(Vec::pop) {
        run.push(to.map(f64::from_bits));
        here = to;
    }
    (1 < run.len()).then_some(run)
}

fn without_straight_points(run: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::with_capacity(run.len());
    for point in run {
        if let [.., a, b] = kept[..] {
            let (first, second) = (
                [b[0] - a[0], b[1] - a[1]],
                [point[0] - b[0], point[1] - b[1]],
            );
            let turn = first[0] * second[1] - first[1] * second[0];
            let ahead = first[0] * second[0] + first[1] * second[1];
            if turn.abs() <= 1e-9 * ahead {
                kept.pop();
            }
        }
        kept.push(point);
    }
    kept
}
