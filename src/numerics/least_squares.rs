//! Non-linear least squares for a few bounded parameters: damped Gauss–Newton steps.
//!
//! ```text
//! minimise ½ Σ r_i(p)²      (JᵀJ + λ diag JᵀJ) δ = −Jᵀ r,     lower ≤ p + δ ≤ upper
//! after a good step         J ← J + (r(p + δ) − r(p) − J δ) δᵀ / δᵀδ
//! ```
//!
//! The Jacobian J is by forward differences at the start, is carried on by Broyden's update, and is
//! made anew where a step fails or gains little, and before the end is believed: the minimum is accepted only when
//! a fresh J promises no further gain. Differences may be taken on a rougher and cheaper model. Where
//! its slopes are off by a share ε, the minimum is off by ε times the root mean square of the residuals,
//! in standard deviations; from [`ROUGH_COST`] on, or where a rough step fails, J is therefore taken
//! from the model itself.
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | p | `parameters` | parameters, of order one in steps (take logarithms where they are not) |
//! | r | `residuals` | differences between model and data in standard deviations |
//! | λ | `damping` | Marquardt's damping, raised tenfold after a failed step |
//!
//! Source: D. W. Marquardt, J. SIAM 11 (1963) 431; C. G. Broyden, Math. Comp. 19 (1965) 577 (both
//! from memory). Checked in: `tests/numerics/least_squares.rs`.

use crate::numerics::small_matrix::Matrix;

/// When to stop and how far to step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Calls of the model allowed.
    pub most_evaluations: usize,
    /// Gain of half the sum of squares below which nothing is left to win.
    pub least_gain: f64,
    /// The same as a share of half the sum of squares: where the model cannot reach the data, its
    /// best point need not be known better than that.
    pub least_gain_share: f64,
    /// Largest change of a parameter in one step.
    pub largest_step: f64,
    /// Change of a parameter for forward differences.
    pub difference: f64,
}

/// What is fitted: start, bounds, and perhaps a Jacobian from nearby.
#[derive(Clone, Debug)]
pub struct Start {
    /// Where to start.
    pub parameters: Vec<f64>,
    /// Least value of each parameter.
    pub lower: Vec<f64>,
    /// Greatest value of each parameter.
    pub upper: Vec<f64>,
    /// Jacobian of a neighbouring fit, residuals by rows.
    pub jacobian: Option<Matrix>,
}

/// Outcome of a fit.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Best parameters.
    pub parameters: Vec<f64>,
    /// Residuals there.
    pub residuals: Vec<f64>,
    /// Jacobian there by forward differences, residuals by rows.
    pub jacobian: Matrix,
    /// Calls of the model, those of a rougher one not counted.
    pub evaluations: usize,
    /// False where the allowed calls were used up before the end was confirmed.
    pub converged: bool,
}

/// Damping above which a step is so short that the point counts as the minimum.
const MOST_DAMPING: f64 = 1e10;

/// Share of the promised gain below which a carried-on Jacobian is made anew.
const POOR_GAIN: f64 = 0.5;

/// Half a sum of squares from which a minimum is not left to rough slopes.
pub const ROUGH_COST: f64 = 2.0;

/// Least and first damping.
const LEAST_DAMPING: f64 = 1e-9;

impl Fit {
    /// Covariance of the parameters, (JᵀJ)⁻¹, where residuals are in standard deviations; entries
    /// are not finite where the data cannot tell.
    pub fn covariance(&self) -> Matrix {
        normal(&self.jacobian, 0.0).inverse()
    }

    /// Half the sum of the squared residuals.
    pub fn cost(&self) -> f64 {
        cost(&self.residuals)
    }
}

/// A model without surroundings.
type Plain = fn(&[f64]) -> Vec<f64>;

/// Fits `model`, which gives the residuals at the parameters.
pub fn fit(start: Start, settings: Settings, model: impl Fn(&[f64]) -> Vec<f64>) -> Fit {
    fit_by(start, settings, model, None::<Plain>)
}

/// Fits `model` with its Jacobian from the differences of a rougher one, if there is one.
pub fn fit_by(
    start: Start,
    settings: Settings,
    model: impl Fn(&[f64]) -> Vec<f64>,
    rough: Option<impl Fn(&[f64]) -> Vec<f64>>,
) -> Fit {
    let mut trusted = true;
    let differentiate = |fit: &mut Fit, upper: &[f64], trusted: bool| match &rough {
        Some(rough) if trusted => {
            let base = rough(&fit.parameters);
            fit.differentiate(settings, upper, &base, rough);
        }
        _ => {
            let base = fit.residuals.clone();
            fit.differentiate(settings, upper, &base, &model);
            fit.evaluations += fit.parameters.len();
        }
    };
    let Start {
        parameters,
        lower,
        upper,
        jacobian,
    } = start;
    let mut fresh = jacobian.is_none();
    let residuals = model(&parameters);
    let mut now = Fit {
        jacobian: Matrix::zero(residuals.len(), parameters.len()),
        parameters,
        residuals,
        evaluations: 1,
        converged: false,
    };
    match jacobian {
        Some(it) if it.rows() == now.residuals.len() && it.columns() == now.parameters.len() => {
            now.jacobian = it;
        }
        _ => {
            fresh = true;
            differentiate(&mut now, &upper, trusted);
        }
    }

    let mut damping = LEAST_DAMPING;
    while now.evaluations < settings.most_evaluations {
        let step = now.step(damping, settings, [&lower, &upper]);
        let promised = now.promised(&step);
        let enough = (settings.least_gain).max(settings.least_gain_share * now.cost());
        let nothing_left = damping <= LEAST_DAMPING && promised.abs() < enough;
        if nothing_left || now.cost() < settings.least_gain || MOST_DAMPING < damping {
            let rough_end = rough.is_some() && trusted && ROUGH_COST < now.cost();
            if rough_end {
                trusted = false;
            } else if fresh {
                now.converged = true;
                break;
            }
            differentiate(&mut now, &upper, trusted);
            fresh = true;
            damping = LEAST_DAMPING;
            continue;
        }
        let parameters: Vec<f64> = (now.parameters.iter().zip(&step))
            .map(|(p, d)| p + d)
            .collect();
        let residuals = model(&parameters);
        now.evaluations += 1;
        let gained = now.cost() - cost(&residuals);
        if 0.0 < gained {
            now.accept(parameters, residuals, &step);
            damping = (damping * 0.1).max(LEAST_DAMPING);
            fresh = gained < POOR_GAIN * promised;
            if fresh {
                differentiate(&mut now, &upper, trusted);
            }
        } else if fresh && trusted && rough.is_some() {
            trusted = false;
            differentiate(&mut now, &upper, trusted);
        } else if fresh {
            damping = 10.0 * damping.max(1e-4);
        } else {
            differentiate(&mut now, &upper, trusted);
            fresh = true;
        }
    }
    if !fresh {
        differentiate(&mut now, &upper, trusted);
    }
    now
}

impl Fit {
    fn differentiate(
        &mut self,
        settings: Settings,
        upper: &[f64],
        base: &[f64],
        model: &impl Fn(&[f64]) -> Vec<f64>,
    ) {
        for j in 0..self.parameters.len() {
            let mut moved = self.parameters.clone();
            let outwards = upper[j] < moved[j] + settings.difference;
            let change = if outwards {
                -settings.difference
            } else {
                settings.difference
            };
            moved[j] += change;
            let residuals = model(&moved);
            for (i, (after, before)) in residuals.iter().zip(base).enumerate() {
                self.jacobian.row_mut(i)[j] = (after - before) / change;
            }
        }
    }

    /// The damped step, cut to the largest step and to the bounds.
    fn step(&self, damping: f64, settings: Settings, [lower, upper]: [&[f64]; 2]) -> Vec<f64> {
        let slope = self.slope();
        let mut free = vec![true; slope.len()];
        let mut step = vec![0.0; slope.len()];
        // A parameter pressed against its bound is held, and the others are asked again.
        for _ in 0..=slope.len() {
            step = self.free_step(damping, &slope, &free);
            let longest = step
                .iter()
                .fold(0.0_f64, |longest, it| longest.max(it.abs()));
            let shorter = (settings.largest_step / longest).min(1.0);
            let mut held = false;
            for (j, change) in step.iter_mut().enumerate() {
                *change *= shorter;
                let target = (self.parameters[j] + *change).clamp(lower[j], upper[j]);
                if free[j] && target == self.parameters[j] && *change != 0.0 {
                    free[j] = false;
                    held = true;
                }
                *change = target - self.parameters[j];
            }
            if !held {
                break;
            }
        }
        step
    }

    fn free_step(&self, damping: f64, slope: &[f64], free: &[bool]) -> Vec<f64> {
        let mut matrix = normal(&self.jacobian, damping);
        let mut right: Vec<f64> = slope.iter().map(|it| -it).collect();
        for j in (0..slope.len()).filter(|&j| !free[j]) {
            for k in 0..slope.len() {
                matrix.row_mut(j)[k] = 0.0;
                matrix.row_mut(k)[j] = 0.0;
            }
            matrix.row_mut(j)[j] = 1.0;
            right[j] = 0.0;
        }
        for j in 0..slope.len() {
            if matrix.row(j)[j] == 0.0 {
                matrix.row_mut(j)[j] = 1.0;
            }
        }
        let step = matrix.factored().solve_vector(&right);
        if step.iter().all(|it| it.is_finite()) {
            step
        } else {
            right
        }
    }

    /// Jᵀ r.
    fn slope(&self) -> Vec<f64> {
        (0..self.parameters.len())
            .map(|j| {
                let rows = self.residuals.iter().enumerate();
                rows.map(|(i, r)| self.jacobian.row(i)[j] * r).sum()
            })
            .collect()
    }

    /// Gain of half the sum of squares that the linear model promises for a step.
    fn promised(&self, step: &[f64]) -> f64 {
        let change = self.jacobian.times_vector(step);
        let after: Vec<f64> = (self.residuals.iter().zip(&change))
            .map(|(r, c)| r + c)
            .collect();
        self.cost() - cost(&after)
    }

    fn accept(&mut self, parameters: Vec<f64>, residuals: Vec<f64>, step: &[f64]) {
        let predicted = self.jacobian.times_vector(step);
        let length: f64 = step.iter().map(|it| it * it).sum();
        for i in 0..residuals.len() {
            let miss = (residuals[i] - self.residuals[i] - predicted[i]) / length;
            let row = self.jacobian.row_mut(i).iter_mut().zip(step);
            row.for_each(|(it, change)| *it += miss * change);
        }
        self.parameters = parameters;
        self.residuals = residuals;
    }
}

fn cost(residuals: &[f64]) -> f64 {
    0.5 * residuals.iter().map(|r| r * r).sum::<f64>()
}

/// JᵀJ with its diagonal raised by the factor 1 + λ.
fn normal(jacobian: &Matrix, damping: f64) -> Matrix {
    let size = jacobian.columns();
    Matrix::from_fn(size, size, |j, k| {
        let rows = 0..jacobian.rows();
        let sum: f64 = rows.map(|i| jacobian.row(i)[j] * jacobian.row(i)[k]).sum();
        if j == k { sum * (1.0 + damping) } else { sum }
    })
}
