//! Layers and faces added to a stack: reflectances from the back, then the light from the front.
//!
//! ```text
//! layer i with reflectance B below it:     C = R + T B (1 − R B)⁻¹ T
//! face i with reflectance C below it:      B' = r + t C (1 − r C)⁻¹ t,     t = 1 − r
//! light going down below the face:         d = (1 − r C)⁻¹ t d',    u = C d,    u' = r d' + t u
//! light at the foot of the layer:          d = (1 − R B)⁻¹ T d_top,  u = B d
//! ```
//!
//! | symbol | name in code | meaning | unit |
//! |---|---|---|---|
//! | r | `Face::reflect` | Fresnel reflectance of a face by direction | – |
//! | R, T | `Layer` | a layer's own reflectance and transmittance | – |
//! | B, C | `Reflector` | all below a layer, all below a face | – |
//! | d, u | `Ends` | light going down and up, power / √c by direction | – |
//!
//! Source: H. C. van de Hulst, *Multiple Light Scattering* (1980), ch. 4 (from memory).
//! Checked in: `tests/optics/adding_doubling.rs` (reversed stack, a layer cut in two, no faces).

use crate::numerics::small_matrix::{Factored, Matrix};
use crate::optics::adding_doubling::doubling::Doubled;

/// A face between two media by direction.
#[derive(Clone, Debug)]
pub struct Face {
    /// Directions that exist above the face.
    pub above: usize,
    /// Directions that exist below the face.
    pub below: usize,
    /// Reflectance, the same from both sides; 1 where the light is totally reflected.
    pub reflect: Vec<f64>,
}

/// One layer without its faces.
#[derive(Clone, Debug)]
pub enum Layer {
    /// No scattering: each direction keeps its own transmittance.
    Clear(Vec<f64>),
    /// Scattering.
    Scattering(Box<Doubled>),
}

/// Light at the top and at the foot of a layer, inside it.
#[derive(Clone, Debug)]
pub struct Ends {
    /// Going down just below the upper face.
    pub down_top: Vec<f64>,
    /// Going up just below the upper face.
    pub up_top: Vec<f64>,
    /// Going down just above the lower face.
    pub down_foot: Vec<f64>,
    /// Going up just above the lower face.
    pub up_foot: Vec<f64>,
}

/// Light in a stack.
#[derive(Clone, Debug)]
pub struct Field {
    /// Leaving the front.
    pub reflected: Vec<f64>,
    /// Leaving the back.
    pub transmitted: Vec<f64>,
    /// In each layer.
    pub ends: Vec<Ends>,
}

/// Reflectance by direction, or between directions.
#[derive(Clone, Debug)]
enum Reflector {
    Diagonal(Vec<f64>),
    Full(Matrix),
}

/// What the forward pass needs of one layer.
struct Step {
    /// All below the layer.
    below: Reflector,
    /// All below the layer's upper face.
    top: Reflector,
    /// 1 − R B, for a scattering layer.
    inner: Option<Factored>,
    /// 1 − r C, where C is full.
    face: Option<Factored>,
}

/// Follows `incident` light (power / √c by direction in the medium in front) through a stack;
/// `faces[i]` lies in front of `layers[i]`, the last face behind the last layer.
pub fn follow(faces: &[Face], layers: &[Layer], incident: &[f64]) -> Field {
    let mut seen =
        Reflector::Diagonal(faces[layers.len()].reflect[..faces[layers.len()].above].to_vec());
    let mut steps = Vec::with_capacity(layers.len());
    for (i, layer) in layers.iter().enumerate().rev() {
        let (top, inner) = behind_layer(layer, &seen);
        let (face, next) = behind_face(&faces[i], &top, 0 < i);
        steps.push(Step {
            below: std::mem::replace(&mut seen, next),
            top,
            inner,
            face,
        });
    }
    steps.reverse();

    let mut arriving = incident.to_vec();
    let mut reflected = Vec::new();
    let mut ends = Vec::with_capacity(layers.len());
    for ((step, layer), face) in steps.iter().zip(layers).zip(faces) {
        let down_top = step.enter(face, &arriving);
        let up_top = step.top.times(&down_top);
        if reflected.is_empty() {
            reflected = leave_upwards(face, &arriving, &up_top);
        }
        let down_foot = step.pass(layer, &down_top);
        let up_foot = step.below.times(&down_foot);
        arriving.clone_from(&down_foot);
        ends.push(Ends {
            down_top,
            up_top,
            down_foot,
            up_foot,
        });
    }
    let last = &faces[layers.len()];
    let shared = last.above.min(last.below);
    let transmitted = (0..shared)
        .map(|k| (1.0 - last.reflect[k]) * arriving[k])
        .collect();
    Field {
        reflected,
        transmitted,
        ends,
    }
}

impl Reflector {
    fn times(&self, light: &[f64]) -> Vec<f64> {
        match self {
            Reflector::Diagonal(r) => r.iter().zip(light).map(|(r, it)| r * it).collect(),
            Reflector::Full(matrix) => matrix.times_vector(light),
        }
    }
}

impl Step {
    /// Light going down below the face, all reflections between face and layer added up.
    fn enter(&self, face: &Face, arriving: &[f64]) -> Vec<f64> {
        let mut passed = vec![0.0; face.below];
        for k in 0..face.above.min(face.below) {
            passed[k] = (1.0 - face.reflect[k]) * arriving[k];
        }
        match (&self.face, &self.top) {
            (Some(factored), _) => factored.solve_vector(&passed),
            (None, Reflector::Diagonal(top)) => passed
                .iter()
                .zip(top)
                .zip(&face.reflect)
                .map(|((&it, top), r)| over(it, 1.0 - r * top))
                .collect(),
            (None, Reflector::Full(_)) => passed,
        }
    }

    /// Light going down at the foot of the layer.
    fn pass(&self, layer: &Layer, down_top: &[f64]) -> Vec<f64> {
        match (layer, &self.inner) {
            (Layer::Scattering(doubled), Some(factored)) => {
                factored.solve_vector(&doubled.through.times_vector(down_top))
            }
            (Layer::Scattering(doubled), None) => doubled.through.times_vector(down_top),
            (Layer::Clear(through), _) => {
                through.iter().zip(down_top).map(|(t, it)| t * it).collect()
            }
        }
    }
}

/// Light going up in front of the first face.
fn leave_upwards(face: &Face, arriving: &[f64], up_top: &[f64]) -> Vec<f64> {
    (0..face.above)
        .map(|k| {
            let r = face.reflect[k];
            let from_below = up_top.get(k).map_or(0.0, |it| (1.0 - r) * it);
            r * arriving[k] + from_below
        })
        .collect()
}

/// C of a layer, and the factors of 1 − R B where it scatters.
fn behind_layer(layer: &Layer, below: &Reflector) -> (Reflector, Option<Factored>) {
    match (layer, below) {
        (Layer::Clear(through), Reflector::Diagonal(r)) => {
            let top = through.iter().zip(r).map(|(t, r)| t * t * r).collect();
            (Reflector::Diagonal(top), None)
        }
        (Layer::Clear(through), Reflector::Full(matrix)) => {
            let top = matrix.clone().scaled_rows(through).scaled_columns(through);
            (Reflector::Full(top), None)
        }
        (Layer::Scattering(doubled), below) => {
            let Doubled {
                reflect, through, ..
            } = doubled.as_ref();
            let mixed = match below {
                Reflector::Diagonal(r) => reflect.clone().scaled_columns(r),
                Reflector::Full(matrix) => reflect.times(matrix),
            };
            let inner = mixed.blend(-1.0, &mixed, 0.0).plus_identity(1.0).factored();
            let down = inner.solve(through.clone());
            let up = match below {
                Reflector::Diagonal(r) => down.scaled_rows(r),
                Reflector::Full(matrix) => matrix.times(&down),
            };
            let top = reflect.blend(1.0, &through.times(&up), 1.0);
            (Reflector::Full(top.symmetric_part(1.0)), Some(inner))
        }
    }
}

/// The factors of 1 − r C where C is full, and B' of the face where `wanted`.
fn behind_face(face: &Face, top: &Reflector, wanted: bool) -> (Option<Factored>, Reflector) {
    let shared = face.above.min(face.below);
    let through: Vec<f64> = (0..face.below)
        .map(|k| {
            if k < shared {
                1.0 - face.reflect[k]
            } else {
                0.0
            }
        })
        .collect();
    match top {
        Reflector::Diagonal(top) => {
            let seen = (0..face.above)
                .map(|k| match top.get(k) {
                    Some(&c) => {
                        let r = face.reflect[k];
                        r + through[k] * through[k] * over(c, 1.0 - r * c)
                    }
                    None => 1.0,
                })
                .collect();
            (None, Reflector::Diagonal(seen))
        }
        Reflector::Full(top) => {
            let mixed = top.clone().scaled_rows(&face.reflect);
            let mut loop_matrix = mixed.blend(-1.0, &mixed, 0.0).plus_identity(1.0);
            for k in 0..face.below {
                // Caught between two perfect mirrors: no light gets in, any number but 0 will do.
                if loop_matrix.row(k)[k] == 0.0 {
                    loop_matrix.row_mut(k)[k] = 1.0;
                }
            }
            let factored = loop_matrix.factored();
            if !wanted {
                return (Some(factored), Reflector::Diagonal(Vec::new()));
            }
            let down = factored.solve(Matrix::diagonal(&through));
            let up = top.times(&down).scaled_rows(&through);
            let seen = Matrix::from_fn(face.above, face.above, |i, j| {
                let back = if i < shared && j < shared {
                    0.5 * (up.row(i)[j] + up.row(j)[i])
                } else {
                    0.0
                };
                if i == j { back + face.reflect[i] } else { back }
            });
            (Some(factored), Reflector::Full(seen))
        }
    }
}

/// `part` / `whole`, and 0 where both vanish: light that cannot enter between two mirrors.
fn over(part: f64, whole: f64) -> f64 {
    if whole == 0.0 { 0.0 } else { part / whole }
}
