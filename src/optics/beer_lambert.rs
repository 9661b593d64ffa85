//! Absorption without scattering: Fresnel faces, exponential decay, all reflections added up.
//!
//! Light comes straight on or at an angle; phases are not followed, since a plastic part is many coherence
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
//! | t | exp(−µ d / cos θ) of the layer behind face i | – |
//! | θ | angle of the beam in the layer, n sin θ the same everywhere | rad |
//! | R' | reflectance of the stack behind that layer, seen from inside it | – |
//! | D' | light that arrives at the face | – |
//!
//! Scattering is ignored: where a layer scatters, its `mu_a` must be an effective extinction, and
//! what scatters back is then counted as absorbed. Light is unpolarised and counts as unpolarised
//! after every face; to follow both polarisations apart would change the reflectance of a clear
//! plastic plate by 5e-4 at 30° (measured) and by nothing straight on.
//!
//! Source: G. Kortüm, *Reflectance Spectroscopy* (1969), plate with multiple reflections (from
//! memory); it is a sum of geometric series. Checked in: `tests/optics/` against closed forms
//! and against `fresnel-slab.csv`.

use crate::optics::absorbed::{Absorbed, DepthProfile};
use crate::optics::fresnel::{Boundary, cosines_in, reflectance};
use crate::optics::slab::Stack;

/// Shares of unit light at normal incidence from air.
pub fn absorb(stack: &Stack) -> Absorbed {
    absorb_at(stack, 0.0)
}

/// Shares of unit light from air at an angle to the normal.
pub fn absorb_at(stack: &Stack, incidence_rad: f64) -> Absorbed {
    let indices = stack.indices();
    let cosines = cosines_in(&indices, incidence_rad);
    let faces: Vec<f64> = indices
        .windows(2)
        .zip(&cosines)
        .map(|(pair, &cos_in)| {
            let boundary = Boundary {
                n_from: pair[0],
                n_into: pair[1],
            };
            reflectance(boundary, cos_in)
        })
        .collect();
    // Decay against depth: the path through a layer is 1 / cos θ times its thickness.
    let decays_per_m: Vec<f64> = (stack.slabs.iter().zip(&cosines[1..]))
        .map(|(slab, cosine)| slab.constants.mu_a_per_m / cosine)
        .collect();
    let depths: Vec<f64> = (stack.slabs.iter().zip(&decays_per_m))
        .map(|(slab, decay_per_m)| decay_per_m * slab.thickness_m)
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
            mu_per_m: decays_per_m[i],
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
