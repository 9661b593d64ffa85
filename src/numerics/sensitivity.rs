//! Which input makes an output vary: first-order and total effects from paired samples.
//!
//! ```text
//! S_i = mean( f(B) (f(A_B^i) − f(A)) ) / V           input i alone
//! T_i = mean( (f(A) − f(A_B^i))² ) / (2 V)           input i with all it acts together with
//! ```
//!
//! | symbol | name in code | meaning |
//! |---|---|---|
//! | A, B | `a`, `b` | outputs at two independent sets of points |
//! | A_B^i | `mixed[i]` | outputs at the points A with input i taken from B |
//! | V | – | variance of the output over A and B together |
//!
//! T_i is the share of the variance that would be left on average if all other inputs were known:
//! an input with T_i near zero need not be held tighter. f is taken from its mean before the
//! products, which leaves both estimates as they are and makes S_i steadier.
//!
//! Source: A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, table 2 (S: their (b); T: (f),
//! M. J. W. Jansen, Comput. Phys. Commun. 117 (1999) 35). Checked in:
//! `tests/numerics/sensitivity.rs` against Ishigami's function.

/// Outputs of one set of paired samples, all of one length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Paired {
    /// At the points A.
    pub a: Vec<f64>,
    /// At the points B.
    pub b: Vec<f64>,
    /// At the points A with one input from B; one list an input.
    pub mixed: Vec<Vec<f64>>,
}

/// Share of the variance an input brings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effect {
    /// Alone.
    pub first: f64,
    /// With all it acts together with.
    pub total: f64,
}

/// Effects of every input; none where the output does not vary.
pub fn effects(paired: &Paired) -> Option<Vec<Effect>> {
    let (a, b) = (&paired.a, &paired.b);
    let count = (a.len() + b.len()) as f64;
    let mean = a.iter().chain(b).sum::<f64>() / count;
    let variance = a.iter().chain(b).map(|it| (it - mean).powi(2)).sum::<f64>() / count;
    if variance.is_nan() || variance <= 0.0 {
        return None;
    }
    let share = |sum: f64| sum / (a.len() as f64 * variance);
    Some(
        paired
            .mixed
            .iter()
            .map(|mixed| Effect {
                first: share(
                    (0..a.len())
                        .map(|j| (b[j] - mean) * (mixed[j] - a[j]))
                        .sum(),
                ),
                total: share(0.5 * (0..a.len()).map(|j| (a[j] - mixed[j]).powi(2)).sum::<f64>()),
            })
            .collect(),
    )
}
