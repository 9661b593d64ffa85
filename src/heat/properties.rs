//! Enthalpy, temperature and conductivity potential of one material, exact.
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

    /// Temperatures at which a law has a kink, ascending, K.
    pub fn knots_k(&self) -> impl Iterator<Item = f64> {
        self.knots.iter().map(|it| it.t)
    }

    /// Least conductivity, W/(m K).
    pub fn least_conductivity_w_per_m_k(&self) -> f64 {
        self.knots
            .iter()
            .fold(f64::INFINITY, |least, it| least.min(it.k))
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
