//! Areas where a sampled field reaches a level, and the lines at that level.
//!
//! Each cell of the grid is cut into four triangles about its centre (whose value is the mean of
//! the corners); in a triangle the field is linear and the area above the level is a clipped
//! triangle. Edges shared by two pieces are walked in opposite directions and cancel, which leaves
//! the outline. Rings may lie inside rings: fill by the even-odd rule.
//!
//! A sample that is not a number leaves a hole whose edge runs half-way to its valid neighbours.
//!
//! Checked in: `tests/report/isoband.rs`.

use std::collections::BTreeMap;

/// Samples on a grid, at the crossings of its lines and not at the centres of cells.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// Place of each column.
    pub x: Vec<f64>,
    /// Place of each row.
    pub y: Vec<f64>,
    /// Row after row; not a number where there is no value.
    pub values: Vec<f64>,
}

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

/// The area where `grid` is at least `level`. An infinite negative level gives all of the data.
///
/// A grid with fewer than two columns or rows, or with too few values, has no area.
pub fn at_least(grid: &Grid, level: f64) -> Area {
    let (columns, rows) = (grid.x.len(), grid.y.len());
    if columns < 2 || rows < 2 || grid.values.len() < columns * rows {
        return Area::default();
    }
    let filled = fill_beside(grid);
    let corner = |column: usize, row: usize| {
        let value = grid.values[row * columns + column];
        Corner {
            at: [grid.x[column] + 0.0, grid.y[row] + 0.0],
            present: if value.is_finite() { 1.0 } else { 0.0 },
            value: filled[row * columns + column],
            on_level: false,
        }
    };
    let mut edges = BTreeMap::new();
    for row in 0..rows - 1 {
        for column in 0..columns - 1 {
            let ring = [
                corner(column, row),
                corner(column + 1, row),
                corner(column + 1, row + 1),
                corner(column, row + 1),
            ];
            if ring.iter().all(|it| it.present == 0.0) {
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

/// Values with those beside a valid sample continued straight from it, the mean over directions.
fn fill_beside(grid: &Grid) -> Vec<f64> {
    let (columns, rows) = (grid.x.len() as isize, grid.y.len() as isize);
    let value = |column: isize, row: isize| {
        let inside = (0..columns).contains(&column) && (0..rows).contains(&row);
        let value = inside.then(|| grid.values[(row * columns + column) as usize]);
        value.filter(|it| it.is_finite())
    };
    let mut filled = grid.values.clone();
    for row in 0..rows {
        for column in 0..columns {
            if value(column, row).is_some() {
                continue;
            }
            let (mut sum, mut count) = (0.0, 0.0);
            for (across, down) in (-1..2).flat_map(|i| (-1..2).map(move |j| (i, j))) {
                if let Some(near) = value(column + across, row + down) {
                    let far = value(column + 2 * across, row + 2 * down).unwrap_or(near);
                    sum += 2.0 * near - far;
                    count += 1.0;
                }
            }
            let mean: f64 = if 0.0 < count { sum / count } else { 0.0 };
            filled[(row * columns + column) as usize] = if mean.is_finite() { mean } else { 0.0 };
        }
    }
    filled
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
