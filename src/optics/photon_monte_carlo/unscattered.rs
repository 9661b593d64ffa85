//! The part of the light that has not been scattered yet, followed exactly.
//!
//! At normal incidence unscattered light only goes straight down and straight up, so reflection at
//! every face and decay with µa + µs have a closed form. What it loses is absorbed on the spot by
//! the share µa / (µa + µs) and starts the photons by the rest. Random numbers are spent only on
//! light that has been scattered; without scattering none are needed and the answer is exact.

use crate::optics::absorbed::{Absorbed, DepthProfile};
use crate::optics::beer_lambert;
use crate::optics::photon_monte_carlo::medium::Medium;
use crate::optics::slab::Stack;

/// Where the next photon is scattered for the first time.
#[derive(Clone, Copy, Debug)]
pub struct FirstScattering {
    /// Index of the layer.
    pub layer: usize,
    /// Depth in that layer, m.
    pub depth_m: f64,
    /// True for light on its way down.
    pub down: bool,
}

/// A stretch of unscattered light: one layer, one direction.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    layer: usize,
    down: bool,
    /// Scattered share of all stretches up to and including this one.
    until: f64,
    /// Scattered share of this one.
    share: f64,
    /// What light loses on its way through the layer, 1 − exp(−µt d).
    lost: f64,
}

/// The unscattered light of unit light at normal incidence.
#[derive(Clone, Debug)]
pub struct Unscattered {
    /// Share that comes back from the first face, unscattered.
    pub reflected: f64,
    /// Share that leaves the last face, unscattered.
    pub transmitted: f64,
    /// Net unscattered share through the interface.
    pub through_interface: f64,
    /// Share absorbed before any scattering, in each absorption bin.
    pub absorbed: Vec<f64>,
    /// Share scattered for a first time, somewhere.
    pub scattered: f64,
    stretches: Vec<Stretch>,
}

impl Unscattered {
    /// Follows unit light through `stack`, which `medium` was made from.
    pub fn new(stack: &Stack, medium: &Medium) -> Self {
        let mut extinction = stack.clone();
        for slab in &mut extinction.slabs {
            slab.constants.mu_a_per_m += slab.constants.mu_s_per_m;
            slab.constants.mu_s_per_m = 0.0;
        }
        let lost: Absorbed = beer_lambert::absorb(&extinction);

        let mut absorbed = Vec::with_capacity(medium.layers.len() * medium.bins_per_layer);
        let mut stretches = Vec::new();
        let mut scattered = 0.0;
        for (index, (layer, profile)) in medium.layers.iter().zip(&lost.layers).enumerate() {
            let bins = medium.bins_per_layer;
            let edges: Vec<f64> = (0..=bins)
                .map(|edge| layer.thickness_m * edge as f64 / bins as f64)
                .collect();
            let kept = 1.0 - layer.albedo;
            absorbed.extend(profile.between(&edges).iter().map(|share| share * kept));
            if let DepthProfile::Exponential { down, up, .. } = *profile {
                for (share, down) in [(down, true), (up, false)] {
                    let share = share * layer.albedo;
                    if 0.0 < share {
                        scattered += share;
                        stretches.push(Stretch {
                            layer: index,
                            down,
                            until: scattered,
                            share,
                            lost: -libm::expm1(-layer.mu_t_per_m * layer.thickness_m),
                        });
                    }
                }
            }
        }
        Unscattered {
            reflected: lost.reflected,
            transmitted: lost.transmitted,
            through_interface: lost.delivered_to_interface(),
            absorbed,
            scattered,
            stretches,
        }
    }

    /// No light at all: for photons that are followed from outside.
    pub fn none(medium: &Medium) -> Self {
        Unscattered {
            reflected: 0.0,
            transmitted: 0.0,
            through_interface: 0.0,
            absorbed: vec![0.0; medium.layers.len() * medium.bins_per_layer],
            scattered: 0.0,
            stretches: Vec::new(),
        }
    }

    /// The place of first scattering that belongs to a random number between 0 and 1; none where
    /// nothing scatters.
    pub fn first_scattering(&self, medium: &Medium, random: f64) -> Option<FirstScattering> {
        let target = random * self.scattered;
        let found = self.stretches.partition_point(|it| it.until < target);
        let stretch = self.stretches.get(found).or(self.stretches.last())?;
        let layer = &medium.layers[stretch.layer];
        let within = (1.0 - (stretch.until - target) / stretch.share).clamp(0.0, 1.0);
        // Depth travelled, from the exponential cut off at the layer's far face.
        let travelled_m = (-libm::log1p(-within * stretch.lost) * layer.free_path_m)
            .clamp(0.0, layer.thickness_m);
        Some(FirstScattering {
            layer: stretch.layer,
            depth_m: if stretch.down {
                travelled_m
            } else {
                layer.thickness_m - travelled_m
            },
            down: stretch.down,
        })
    }
}
