//! Absorption without scattering: Fresnel faces, exponential decay, all reflections added up.
//!
//! Light at normal incidence; phases are not followed, since a plastic part is many coherence
//! lengths thick and its faces are not optically flat. The layers are added one behind the other
//! from the back, so that each face sees the reflectance of all that lies behind it:
//!
//! ```text
//! stack behind face i:   R = r + (1 − r)² Q / (1 − r Q),     Q = t² R'
//! light going down in the layer behind the face:   D = D' (1 − r) / (1 − r Q)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r | Fresnel reflectance of face i | – |
//! | t | exp(−µ d) of the layer behind face i | – |
//! | R' | reflectance of the stack behind that layer, seen from inside it | – |
//! | D' | light that arrives at the face | – |
//!
//! Scattering is ignored: where a layer scatters, its `mu_a` must be an effective extinction, and
//! what scatters back is then counted as absorbed.
//!
//! Source: G. Kortüm, *Reflectance Spectroscopy* (1969), plate with multiple reflections (from
//! memory); it is a sum of geometric series. Checked in: `tests/optics/` against closed forms
//! and against `fresnel-slab.csv`.

use crate::optics::absorbed::{Absorbed, DepthProfile};
use crate::optics::fresnel::{Boundary, reflectance};
use crate::optics::slab::Stack;

/// Shares of unit light at normal incidence from air.
pub fn absorb(stack: &Stack) -> Absorbed {
    let indices = stack.indices();
    let faces: Vec<f64> = indices
        .windows(2)
        .map(|pair| {
            let boundary = Boundary {
                n_from: pair[0],
                n_into: pair[1],
            };
            reflectance(boundary, 1.0)
        })
        .collect();
    let depths: Vec<f64> = stack
        .slabs
        .iter()
        .map(|slab| slab.constants.mu_a_per_m * slab.thickness_m)
        .collect();

    // From the back: what each face and all behind it reflects.
    let count = stack.slabs.len();
    let mut behind = vec![0.0; count + 1];
    behind[count] = faces[count];
    for i in (0..count).rev() {
        let returned = (-2.0 * depths[i]).exp() * behind[i + 1];
        let r = faces[i];
        behind[i] = r + (1.0 - r).powi(2) * returned / (1.0 - r * returned);
    }

    // From the front: light going down through each layer.
    let mut down = 1.0;
    let mut layers = Vec::with_capacity(count);
    for i in 0..count {
        let through = (-depths[i]).exp();
        let returned = through * through * behind[i + 1];
        down *= (1.0 - faces[i]) / (1.0 - faces[i] * returned);
        let lost = -(-depths[i]).exp_m1();
        layers.push(DepthProfile::Exponential {
            down: down * lost,
            up: down * through * behind[i + 1] * lost,
            mu_per_m: stack.slabs[i].constants.mu_a_per_m,
            thickness_m: stack.slabs[i].thickness_m,
        });
        down *= through;
    }
    Absorbed {
        reflected: behind[0],
        transmitted: down * (1.0 - faces[count]),
        layers,
        upper: stack.upper,
        lower: stack.lower,
    }
}
