//! Enthalpy, temperature and conductivity potential of one material, exact and as lane tables.
//!
//! ```text
//! H(T) = ∫ ρ (c_p + l) dT      l(T) = L/W (1 − cos(2π (T − T1)/W)),  T1 < T < T1 + W
//! θ(T) = ∫ k dT
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | H | enthalpy | enthalpy of a volume | J/m³ |
//! | θ | potential | Kirchhoff's potential: its gradient is the heat flux | W/m |
//! | L, W | `heat`, `width` | latent heat beside the table, range of melting | J/kg, K |
//!
//! With H as the unknown and θ(H) as the only law, heat is conserved whatever happens to the
//! temperature, and a conductivity that varies needs no mean between cells.
//!
//! Holds for: piecewise-linear ρ, k and c_p of any length (products integrated exactly), held
//! constant outside their tables; melting and solidification on the same curve.
//! Does not hold for: supercooling, crystallisation kinetics, change of volume.
//!
//! Source: H. S. Carslaw and J. C. Jaeger, *Conduction of Heat in Solids*, 2nd ed. (1959), sec. 1.6
//! (potential) and 11.1 (change of state); from memory.
//! Checked in: `tests/heat/properties.rs`.

use std::f64::consts::PI;

use crate::error::HeatProblem;
use crate::material::Thermal;

/// Intervals of a lane table between the first and the last temperature at which anything varies:
/// a cell that crosses a melting range of 1 K still meets dozens of them, and 32 kB stay in cache.
const TABLE_INTERVALS: usize = 1024;

/// Narrowest range of melting, K; a narrower one is widened to it.
const NARROWEST_MELTING_K: f64 = 1e-3;

/// Exact thermal functions of one material.
#[derive(Clone, Debug)]
pub struct Curves {
    knots: Vec<Knot>,
    hump: Option<Hump>,
    sharpness: f64,
}

/// Everything at one temperature at which a table has an entry.
#[derive(Clone, Copy, Debug)]
struct Knot {
    t: f64,
    rho: f64,
    cp: f64,
    k: f64,
    /// ∫ρ c_p dT and ∫k dT from the first knot, hump not included.
    sensible: f64,
    potential: f64,
    /// ∫ρ l dT from the first knot.
    latent: f64,
}

#[derive(Clone, Copy, Debug)]
struct Hump {
    heat: f64,
    from: f64,
    width: f64,
}

impl Hump {
    /// Heat taken up from the start of melting to `t`, J/kg.
    fn taken(&self, t: f64) -> f64 {
        let u = ((t - self.from) / self.width).clamp(0.0, 1.0);
        self.heat * (u - (2.0 * PI * u).sin() / (2.0 * PI))
    }

    /// Integral of [`Hump::taken`] over temperature up to `t`.
    fn taken_integral(&self, t: f64) -> f64 {
        let u = ((t - self.from) / self.width).clamp(0.0, 1.0);
        let beyond = (t - self.from - self.width).max(0.0);
        let inside = 0.5 * u * u + ((2.0 * PI * u).cos() - 1.0) / (4.0 * PI * PI);
        self.heat * (self.width * inside + beyond)
    }

    /// Specific heat of melting at `t`, J/(kg K).
    fn at(&self, t: f64) -> f64 {
        let u = (t - self.from) / self.width;
        if !(0.0..=1.0).contains(&u) {
            return 0.0;
        }
        self.heat / self.width * (1.0 - (2.0 * PI * u).cos())
    }
}

impl Curves {
    /// Integrates the tables of a material.
    ///
    /// # Errors
    /// Density, conductivity or specific heat not above zero somewhere, or latent heat negative.
    pub fn new(thermal: &Thermal) -> Result<Self, HeatProblem> {
        let (rho, k, cp) = (
            &thermal.density_kg_per_m3.value,
            &thermal.conductivity_w_per_m_k.value,
            &thermal.specific_heat_j_per_kg_k.value,
        );
        for (quantity, table) in [("density", rho), ("conductivity", k), ("specific heat", cp)] {
            if let Some((_, value)) = table.points().find(|&(_, y)| !(0.0 < y && y.is_finite())) {
                return Err(HeatProblem::NotPhysical { quantity, value });
            }
        }
        let hump = match &thermal.latent_heat {
            None => None,
            Some(latent) => {
                let latent = latent.value;
                if !(0.0 <= latent.heat_j_per_kg && latent.heat_j_per_kg.is_finite()) {
                    return Err(HeatProblem::NotPhysical {
                        quantity: "latent heat",
                        value: latent.heat_j_per_kg,
                    });
                }
                Some(Hump {
                    heat: latent.heat_j_per_kg,
                    from: latent.from_k,
                    width: (latent.to_k - latent.from_k).max(NARROWEST_MELTING_K),
                })
            }
        };
        let mut at: Vec<f64> = [rho, k, cp]
            .iter()
            .filter(|table| !table.is_constant())
            .flat_map(|table| table.points().map(|(x, _)| x))
            .chain(hump.iter().flat_map(|it| [it.from, it.from + it.width]))
            .collect();
        if at.is_empty() {
            at.push(crate::units::ZERO_CELSIUS_K);
        }
        at.sort_by(f64::total_cmp);
        at.dedup();
        let mut knots: Vec<Knot> = Vec::with_capacity(at.len());
        for t in at {
            let mut next = Knot {
                t,
                rho: rho.at(t),
                cp: cp.at(t),
                k: k.at(t),
                sensible: 0.0,
                potential: 0.0,
                latent: 0.0,
            };
            if let Some(before) = knots.last() {
                let part = Segment {
                    from: *before,
                    to: next,
                    hump,
                };
                let (sensible, latent, potential) = part.integrals(t);
                next.sensible = before.sensible + sensible;
                next.latent = before.latent + latent;
                next.potential = before.potential + potential;
            }
            knots.push(next);
        }
        let mut curves = Curves {
            knots,
            hump,
            sharpness: 0.0,
        };
        curves.sharpness = curves.measured_sharpness();
        Ok(curves)
    }

    /// Largest heat capacity over the larger one at either end of the tables, less one: how sharply
    /// the material melts; zero where it does not.
    pub fn sharpness(&self) -> f64 {
        self.sharpness
    }

    fn measured_sharpness(&self) -> f64 {
        let middle = self.hump.map(|it| it.from + 0.5 * it.width);
        let (first, last) = self.range_k();
        let beside = self
            .sensible_capacity_j_per_m3_k(first)
            .max(self.sensible_capacity_j_per_m3_k(last));
        let most = self
            .knots
            .iter()
            .map(|it| it.t)
            .chain(middle)
            .map(|t| self.capacity_j_per_m3_k(t))
            .fold(beside, f64::max);
        most / beside - 1.0
    }

    /// First and last temperature at which a property varies, K.
    pub fn range_k(&self) -> (f64, f64) {
        (self.knots[0].t, self.knots[self.knots.len() - 1].t)
    }

    /// Enthalpy of a volume, J/m³, zero at the first temperature of the tables.
    pub fn enthalpy_j_per_m3(&self, temperature_k: f64) -> f64 {
        let (from, sensible, latent, _) = self.since_knot(temperature_k);
        (from.sensible + sensible) + (from.latent + latent)
    }

    /// Kirchhoff's potential ∫k dT, W/m, zero at the first temperature of the tables.
    pub fn potential_w_per_m(&self, temperature_k: f64) -> f64 {
        let (from, _, _, potential) = self.since_knot(temperature_k);
        from.potential + potential
    }

    /// Heat capacity of a volume dH/dT, J/(m³ K).
    pub fn capacity_j_per_m3_k(&self, temperature_k: f64) -> f64 {
        let (rho, cp, _) = self.at(temperature_k);
        rho * (cp + self.hump.map_or(0.0, |it| it.at(temperature_k)))
    }

    /// Heat capacity of a volume without heat of melting, J/(m³ K).
    pub fn sensible_capacity_j_per_m3_k(&self, temperature_k: f64) -> f64 {
        let (rho, cp, _) = self.at(temperature_k);
        rho * cp
    }

    /// Conductivity, W/(m K).
    pub fn conductivity_w_per_m_k(&self, temperature_k: f64) -> f64 {
        self.at(temperature_k).2
    }

    /// Density, specific heat of the table, and conductivity.
    fn at(&self, t: f64) -> (f64, f64, f64) {
        let i = self.knots.partition_point(|it| it.t <= t);
        let last = self.knots.len() - 1;
        if i == 0 || last < i {
            let end = &self.knots[if i == 0 { 0 } else { last }];
            return (end.rho, end.cp, end.k);
        }
        let (a, b) = (&self.knots[i - 1], &self.knots[i]);
        let share = (t - a.t) / (b.t - a.t);
        (
            a.rho + share * (b.rho - a.rho),
            a.cp + share * (b.cp - a.cp),
            a.k + share * (b.k - a.k),
        )
    }

    /// The knot below `t` and the integrals of sensible and latent heat and of k from there.
    fn since_knot(&self, t: f64) -> (&Knot, f64, f64, f64) {
        let i = self.knots.partition_point(|it| it.t <= t);
        let last = self.knots.len() - 1;
        if i == 0 || last < i {
            let end = &self.knots[if i == 0 { 0 } else { last }];
            let rise = t - end.t;
            return (end, end.rho * end.cp * rise, 0.0, end.k * rise);
        }
        let segment = Segment {
            from: self.knots[i - 1],
            to: self.knots[i],
            hump: self.hump,
        };
        let (sensible, latent, potential) = segment.integrals(t);
        (&self.knots[i - 1], sensible, latent, potential)
    }
}

/// A stretch of temperature in which ρ, c_p and k are linear.
struct Segment {
    from: Knot,
    to: Knot,
    hump: Option<Hump>,
}

impl Segment {
    /// ∫ρ c_p, ∫ρ l and ∫k from the start of the segment to `t`, exactly.
    fn integrals(&self, t: f64) -> (f64, f64, f64) {
        let (a, b) = (&self.from, &self.to);
        let rise = t - a.t;
        let span = b.t - a.t;
        let rho_slope = (b.rho - a.rho) / span;
        let (cp_slope, k_slope) = ((b.cp - a.cp) / span, (b.k - a.k) / span);
        let sensible = rise
            * (a.rho * a.cp
                + rise
                    * (0.5 * (a.rho * cp_slope + a.cp * rho_slope)
                        + rise * rho_slope * cp_slope / 3.0));
        let potential = rise * (a.k + 0.5 * rise * k_slope);
        // By parts: ∫ρ l = [ρ S] − ρ' ∫S with S the heat taken up so far.
        let latent = self.hump.map_or(0.0, |hump| {
            let rho = a.rho + rho_slope * rise;
            rho * hump.taken(t)
                - a.rho * hump.taken(a.t)
                - rho_slope * (hump.taken_integral(t) - hump.taken_integral(a.t))
        });
        (sensible, latent, potential)
    }
}

/// One interval of a lane table: potential at its start and rise to its end (W/m), dH/dθ (J/(W m²)),
/// and temperature at its start (K). The row after a table's last interval has the temperature
/// there.
pub type Interval = [f64; 4];

/// Tables over enthalpy at even spacing, all materials of a batch one behind the other.
#[derive(Clone, Debug, Default)]
pub struct Pool {
    /// Intervals of all tables.
    pub intervals: Vec<Interval>,
}

/// Where one table lies in the pool, and how its abscissa runs.
#[derive(Clone, Copy, Debug)]
pub struct Table {
    /// Index of its first interval, which reaches below the table.
    pub first: usize,
    /// Intervals, those below and above the table included.
    pub count: usize,
    /// Distance to the table with the potential on the other side, for a node of two materials.
    pub other: usize,
    /// Enthalpy at the start of the first interval, J/m³.
    pub start_j_per_m3: f64,
    /// Width of an interval, J/m³.
    pub width_j_per_m3: f64,
    /// Least conductivity, W/(m K).
    pub least_conductivity_w_per_m_k: f64,
}

impl Pool {
    /// Adds the table of a node of one material.
    pub fn add(&mut self, curves: &Curves) -> Table {
        let law = |t: f64| (curves.enthalpy_j_per_m3(t), curves.capacity_j_per_m3_k(t));
        let grid = EvenEnthalpy::new(&law, &temperatures(&[curves]));
        let table = self.append(&grid, &|t| curves.potential_w_per_m(t));
        Table {
            least_conductivity_w_per_m_k: least_conductivity(curves),
            ..table
        }
    }

    /// Adds the tables of a node half of which is `above` and half `below`: enthalpy is the mean
    /// of both; the first table has the potential of `below`, the other one that of `above`.
    pub fn add_pair(&mut self, above: &Curves, below: &Curves) -> Table {
        let law = |t: f64| {
            (
                0.5 * (above.enthalpy_j_per_m3(t) + below.enthalpy_j_per_m3(t)),
                0.5 * (above.capacity_j_per_m3_k(t) + below.capacity_j_per_m3_k(t)),
            )
        };
        let grid = EvenEnthalpy::new(&law, &temperatures(&[above, below]));
        let table = self.append(&grid, &|t| below.potential_w_per_m(t));
        let other = self.append(&grid, &|t| above.potential_w_per_m(t));
        Table {
            other: other.first - table.first,
            least_conductivity_w_per_m_k: least_conductivity(above).min(least_conductivity(below)),
            ..table
        }
    }

    /// Takes in a table from another pool of which it is the first; tells where it stands now.
    pub fn take_in(&mut self, other: &Pool, table: &Table) -> Table {
        let first = self.intervals.len();
        self.intervals.extend_from_slice(&other.intervals);
        Table { first, ..*table }
    }

    fn append(&mut self, grid: &EvenEnthalpy, potential: &dyn Fn(f64) -> f64) -> Table {
        let first = self.intervals.len();
        let values: Vec<(f64, f64)> = grid
            .temperature
            .iter()
            .map(|&t| (potential(t), t))
            .collect();
        self.intervals.extend(values.windows(2).map(|w| {
            let rise = w[1].0 - w[0].0;
            [w[0].0, rise, grid.width / rise, w[0].1]
        }));
        let last = values.len() - 1;
        self.intervals
            .push([values[last].0, 0.0, 0.0, values[last].1]);
        Table {
            first,
            count: values.len() - 1,
            other: 0,
            start_j_per_m3: grid.start,
            width_j_per_m3: grid.width,
            least_conductivity_w_per_m_k: 0.0,
        }
    }
}

impl Table {
    /// Temperature at an enthalpy, K; linear beyond the ends.
    pub fn temperature_k(&self, pool: &Pool, enthalpy_j_per_m3: f64) -> f64 {
        let at = (enthalpy_j_per_m3 - self.start_j_per_m3) / self.width_j_per_m3;
        let index = (at.max(0.0) as usize).min(self.count - 1);
        let from = pool.intervals[self.first + index][3];
        let to = pool.intervals[self.first + index + 1][3];
        from + (at - index as f64) * (to - from)
    }

    /// Enthalpy at a temperature, J/m³: the inverse of [`Table::temperature_k`].
    pub fn enthalpy_j_per_m3(&self, pool: &Pool, temperature_k: f64) -> f64 {
        let intervals = &pool.intervals[self.first..self.first + self.count];
        let index = intervals
            .partition_point(|it| it[3] <= temperature_k)
            .saturating_sub(1);
        let from = intervals[index][3];
        let to = pool.intervals[self.first + index + 1][3];
        let share = (temperature_k - from) / (to - from);
        self.start_j_per_m3 + (index as f64 + share) * self.width_j_per_m3
    }
}

fn temperatures(all: &[&Curves]) -> Vec<f64> {
    let mut at: Vec<f64> = all
        .iter()
        .flat_map(|it| it.knots.iter().map(|knot| knot.t))
        .collect();
    at.sort_by(f64::total_cmp);
    at.dedup();
    at
}

fn least_conductivity(curves: &Curves) -> f64 {
    curves
        .knots
        .iter()
        .fold(f64::INFINITY, |least, it| least.min(it.k))
}

/// Temperatures at evenly spaced enthalpies, one interval beyond either end of the knots.
struct EvenEnthalpy {
    start: f64,
    width: f64,
    temperature: Vec<f64>,
}

impl EvenEnthalpy {
    /// `law` gives enthalpy and capacity; `knots` are the temperatures at which it has kinks.
    fn new(law: &dyn Fn(f64) -> (f64, f64), knots: &[f64]) -> Self {
        let at_knots: Vec<f64> = knots.iter().map(|&t| law(t).0).collect();
        let last = knots.len() - 1;
        let span = at_knots[last] - at_knots[0];
        let (width, inner) = if 0.0 < span {
            (span / TABLE_INTERVALS as f64, TABLE_INTERVALS)
        } else {
            // Nothing varies: any width will do, so take one kelvin.
            (law(knots[0]).1, 0)
        };
        let mut temperature = Vec::with_capacity(inner + 3);
        temperature.push(knots[0] - width / law(knots[0] - 1.0).1);
        let mut segment = 0;
        for j in 0..=inner {
            let wanted = at_knots[0] + j as f64 * width;
            while segment + 1 < last && at_knots[segment + 1] <= wanted {
                segment += 1;
            }
            temperature.push(if j == 0 {
                knots[0]
            } else if j == inner {
                knots[last]
            } else {
                let bracket = (knots[segment], knots[segment + 1]);
                let before = &temperature[temperature.len() - 2..];
                let guess: f64 = 2.0 * before[1] - before[0];
                inverse(law, wanted, bracket, guess)
            });
        }
        temperature.push(knots[last] + width / law(knots[last] + 1.0).1);
        EvenEnthalpy {
            start: at_knots[0] - width,
            width,
            temperature,
        }
    }
}

/// Temperature at which the rising `law` has the value `wanted`: Newton's steps from `guess`, kept
/// in a bracket.
fn inverse(law: &dyn Fn(f64) -> (f64, f64), wanted: f64, bracket: (f64, f64), guess: f64) -> f64 {
    let (mut low, mut high) = bracket;
    let mut t = if low < guess && guess < high {
        guess
    } else {
        0.5 * (low + high)
    };
    for _ in 0..100 {
        let (value, slope) = law(t);
        if value < wanted {
            low = t;
        } else {
            high = t;
        }
        let newton = t - (value - wanted) / slope;
        let next = if low < newton && newton < high {
            newton
        } else {
            0.5 * (low + high)
        };
        if (next - t).abs() <= 1e-10 * t.abs() {
            return next;
        }
        t = next;
    }
    t
}
