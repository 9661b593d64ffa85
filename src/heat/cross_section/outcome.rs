//! From the peaks of cells and faces to what an engineer sees in a microtome section.

use crate::heat::column::Column;
use crate::heat::cross_section::course::Watch;
use crate::heat::cross_section::equations::Equations;
use crate::heat::history::Counters;
use crate::heat::history::StopReason;
use crate::numerics::root::Newton;

/// Energy per length of seam, both halves, from the first light to the end of the run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// Light absorbed in the bodies, J/m.
    pub absorbed_j_per_m: f64,
    /// Rise of the enthalpy of the bodies, J/m.
    pub stored_j_per_m: f64,
    /// Heat lost through the outer faces, J/m.
    pub lost_j_per_m: f64,
}

impl Ledger {
    /// (absorbed − stored − lost) / largest of the three; zero where all are zero.
    pub fn relative_residual(&self) -> f64 {
        let scale = self
            .absorbed_j_per_m
            .abs()
            .max(self.stored_j_per_m.abs())
            .max(self.lost_j_per_m.abs());
        if scale == 0.0 {
            return 0.0;
        }
        (self.absorbed_j_per_m - self.stored_j_per_m - self.lost_j_per_m) / scale
    }

    pub(super) fn of_both_halves(self) -> Self {
        Ledger {
            absorbed_j_per_m: 2.0 * self.absorbed_j_per_m,
            stored_j_per_m: 2.0 * self.stored_j_per_m,
            lost_j_per_m: 2.0 * self.lost_j_per_m,
        }
    }
}

/// A place in the cross-section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Depth from the laser-side face of the upper part, m.
    pub depth_m: f64,
    /// Distance from the middle of the seam, m.
    pub across_m: f64,
}

/// How far a film of air closed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bridge {
    /// Greatest swelling of both parts together in the middle of the seam, m; none where neither
    /// is known to swell.
    pub swelling_m: Option<f64>,
    /// Width over which the parts met, m.
    pub closed_width_m: f64,
}

/// What happened in one cross-section.
#[derive(Clone, Debug, PartialEq)]
pub struct CrossSection {
    /// Distances from the middle of the seam, the middle itself first, m; shape (columns).
    pub across_m: Vec<f64>,
    /// Depths of the rows from the laser-side face of the upper part, m, ascending: centres of
    /// cells, the faces of the two parts, and the interface twice; shape (rows).
    pub depth_m: Vec<f64>,
    /// Highest temperature at every depth (rows) and distance (columns), K.
    pub peak_k: Vec<Vec<f64>>,
    /// Rows of the upper and of the lower part.
    pub part_rows: [std::ops::Range<usize>; 2],
    /// Width over which both sides of the interface reached their flow temperature and the parts
    /// met, m; zero where the middle did not fuse.
    pub seam_width_m: f64,
    /// What became of a film of air between the parts; none without one.
    pub bridge: Option<Bridge>,
    /// Greatest width of the melt in the upper and in the lower part at any depth, m.
    pub melt_width_m: [f64; 2],
    /// Deepest point in the middle of the seam that reached its flow temperature, in the upper
    /// and in the lower part, m from the interface.
    pub melt_depth_m: [f64; 2],
    /// Highest temperature of the interface in the middle, upper and lower side, K.
    pub interface_peak_k: [f64; 2],
    /// Highest temperature of the laser-side face of the upper part, K.
    pub laser_side_peak_k: f64,
    /// Highest temperature in the two parts, K, and where.
    pub body_peak_k: f64,
    /// Where.
    pub body_peak_place: Place,
    /// Largest damage integral in the two parts; none without kinetics.
    pub damage_integral: Option<f64>,
    /// Where.
    pub damage_place: Place,
    /// Peaks above this are final, K: the run ended when nothing was hotter.
    pub final_above_k: f64,
    /// Energy per length of seam.
    pub ledger: Ledger,
    /// What the run cost.
    pub counters: Counters,
    /// Time the run ended, s.
    pub end_s: f64,
    /// Why it ended.
    pub stop: StopReason,
}

/// How a run ended.
pub struct Ending {
    pub ledger: Ledger,
    pub counters: Counters,
    pub end_s: f64,
    pub stop: StopReason,
    pub final_above_k: f64,
}

impl CrossSection {
    pub(super) fn new(
        column: &Column,
        equations: &Equations,
        watch: &Watch,
        ending: Ending,
    ) -> Self {
        let columns = equations.width_m.len();
        let upper = equations.upper;
        let thickness = column.bodies[upper].thickness_m;
        let whole = thickness + column.bodies[upper + 1].thickness_m;
        let with_middle = |values: &[f64]| -> Vec<f64> {
            let mut all = vec![in_the_middle(&equations.across_m, values)];
            all.extend_from_slice(values);
            all
        };
        let mut field = Field::default();
        let mut part_rows = [0..0, 0..0];
        for (i, row) in equations.rows.iter().enumerate() {
            if i == equations.first_row[upper] {
                part_rows[0].start = field.depth_m.len();
                field.push(0.0, with_middle(&watch.faces[0]));
            }
            if i == equations.first_row[upper + 1] {
                field.push(thickness, with_middle(&watch.faces[1]));
                part_rows[0].end = field.depth_m.len();
                part_rows[1].start = field.depth_m.len();
                field.push(thickness, with_middle(&watch.faces[2]));
            }
            let cells = &watch.peak[i * columns..(i + 1) * columns];
            field.push(row.depth_m, with_middle(cells));
        }
        field.push(whole, with_middle(&watch.faces[3]));
        part_rows[1].end = field.depth_m.len();
        let mut across_m = vec![0.0];
        across_m.extend_from_slice(&equations.across_m);

        let flow = [0, 1].map(|part| column.bodies[upper + part].thermal.flow_temperature_k.value);
        let interface = [part_rows[0].end - 1, part_rows[1].start];
        let excess: Vec<f64> = (0..=columns)
            .map(|j| {
                let over = |part: usize| field.peak_k[interface[part]][j] - flow[part];
                over(0).min(over(1))
            })
            .collect();
        let bridge = equations.closing.as_ref().map(|closing| {
            let swelling_m = with_middle(&watch.swelling_m);
            Bridge {
                swelling_m: closing.film.closes().then_some(swelling_m[0]),
                closed_width_m: 2.0 * reach(&across_m, &swelling_m, closing.film.gap_m),
            }
        });
        let met_m = bridge.map_or(f64::INFINITY, |it| it.closed_width_m);
        let melt_width_m = [0, 1].map(|part: usize| {
            part_rows[part]
                .clone()
                .map(|row| 2.0 * reach(&across_m, &field.peak_k[row], flow[part]))
                .fold(0.0, f64::max)
        });
        let melt_depth_m = [0, 1].map(|part: usize| {
            let mut distance: Vec<f64> = part_rows[part]
                .clone()
                .map(|row| (field.depth_m[row] - thickness).abs())
                .collect();
            let mut peak: Vec<f64> = part_rows[part]
                .clone()
                .map(|row| field.peak_k[row][0])
                .collect();
            if part == 0 {
                distance.reverse();
                peak.reverse();
            }
            reach(&distance, &peak, flow[part])
        });
        let highest = |row: usize| -> (usize, f64) {
            let mut top = (0, f64::NEG_INFINITY);
            for (j, &it) in field.peak_k[row].iter().enumerate() {
                if top.1 < it {
                    top = (j, it);
                }
            }
            top
        };
        let (mut body_peak_k, mut body_peak_place) = (f64::NEG_INFINITY, NOWHERE);
        for row in part_rows[0].start..part_rows[1].end {
            let (j, peak) = highest(row);
            if body_peak_k < peak {
                body_peak_k = peak;
                body_peak_place = Place {
                    depth_m: field.depth_m[row],
                    across_m: across_m[j],
                };
            }
        }
        let (mut damage_integral, mut damage_place) = (None, NOWHERE);
        let first = equations.first_row[upper] * columns;
        for (c, &it) in watch.damage.iter().enumerate().skip(first) {
            if damage_integral.is_none_or(|most| most < it) {
                damage_integral = Some(it);
                damage_place = Place {
                    depth_m: equations.rows[c / columns].depth_m,
                    across_m: equations.across_m[c % columns],
                };
            }
        }
        CrossSection {
            seam_width_m: (2.0 * reach(&across_m, &excess, 0.0)).min(met_m),
            bridge,
            melt_width_m,
            melt_depth_m,
            interface_peak_k: interface.map(|row| field.peak_k[row][0]),
            laser_side_peak_k: highest(part_rows[0].start).1,
            body_peak_k,
            body_peak_place,
            damage_integral,
            damage_place,
            final_above_k: ending.final_above_k,
            ledger: ending.ledger,
            counters: ending.counters,
            end_s: ending.end_s,
            stop: ending.stop,
            across_m,
            depth_m: field.depth_m,
            peak_k: field.peak_k,
            part_rows,
        }
    }
}

const NOWHERE: Place = Place {
    depth_m: 0.0,
    across_m: 0.0,
};

#[derive(Default)]
struct Field {
    depth_m: Vec<f64>,
    peak_k: Vec<Vec<f64>>,
}

impl Field {
    fn push(&mut self, depth_m: f64, peak_k: Vec<f64>) {
        self.depth_m.push(depth_m);
        self.peak_k.push(peak_k);
    }
}

/// Value at y = 0 of the even parabola through the first two columns.
fn in_the_middle(across_m: &[f64], values: &[f64]) -> f64 {
    let [y1, y2] = [across_m[0], across_m[1]].map(|it| it * it);
    (y2 * values[0] - y1 * values[1]) / (y2 - y1)
}

/// Greatest of the ascending places `x` at which `y` is at least `level`; zero where it nowhere is.
/// Between places the cubic through the four around is followed.
fn reach(x: &[f64], y: &[f64], level: f64) -> f64 {
    let n = x.len();
    let Some(i) = (0..n).rev().find(|&i| level <= y[i]) else {
        return 0.0;
    };
    if i + 1 == n {
        return x[i];
    }
    let around = i.saturating_sub(1)..(i + 3).min(n);
    Newton::through(&x[around.clone()], &y[around]).reaches(level, x[i], x[i + 1])
}
