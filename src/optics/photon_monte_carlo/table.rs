//! Spreads already computed, kept in memory.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use crate::error::Error;
use crate::optics::photon_monte_carlo::spread::Spread;
use crate::optics::photon_monte_carlo::{PHOTON_STEP, Settings, spread};
use crate::optics::slab::Stack;

/// Everything a spread depends on, bit for bit.
type Key = Vec<u64>;

/// Computes each spread once. A spread is a pure function of stack and settings, so the table
/// changes when an answer comes, never what it is.
#[derive(Debug, Default)]
pub struct SpreadTable {
    known: Mutex<HashMap<Key, Arc<Spread>>>,
}

impl SpreadTable {
    /// An empty table.
    pub fn new() -> Self {
        SpreadTable::default()
    }

    /// The spread of `stack`, computed at the first call.
    ///
    /// Threads that ask for the same new spread at the same time may each compute it; they get the
    /// same numbers.
    ///
    /// # Errors
    /// As [`spread()`]; errors are not kept.
    pub fn get(&self, stack: &Stack, settings: &Settings) -> Result<Arc<Spread>, Error> {
        let key = key(stack, settings);
        let known = |table: &Mutex<HashMap<Key, Arc<Spread>>>| {
            let table = table.lock().unwrap_or_else(PoisonError::into_inner);
            table.get(&key).cloned()
        };
        if let Some(found) = known(&self.known) {
            return Ok(found);
        }
        let computed = Arc::new(spread(stack, settings)?);
        let mut table = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        Ok(table.entry(key).or_insert(computed).clone())
    }

    /// Number of spreads kept; about 200 kB each.
    pub fn len(&self) -> usize {
        let table = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        table.len()
    }

    /// True where nothing has been computed yet.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

fn key(stack: &Stack, settings: &Settings) -> Key {
    let mut key = vec![
        stack.lower as u64,
        settings.photons.div_ceil(PHOTON_STEP),
        settings.collisions,
        settings.seed,
        settings.incidence_rad.to_bits(),
    ];
    for slab in &stack.slabs {
        let it = slab.constants;
        key.extend([slab.thickness_m, it.n, it.mu_a_per_m, it.mu_s_per_m, it.g].map(f64::to_bits));
    }
    key
}
