//! Property tables of all materials of a batch, each made once.
//!
//! Made anew for every batch: an address tells a material only while its columns are borrowed.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::error::HeatProblem;
use crate::heat::column::Column;
use crate::heat::column::Contact;
use crate::heat::properties::Curves;
use crate::heat::properties::Pool;
use crate::heat::properties::Table;
use crate::material::Thermal;

/// Index of a material in a library.
pub type MaterialId = usize;

/// Tables of the materials of a batch, and of the pairs of them that meet without resistance.
#[derive(Debug, Default)]
pub struct Library {
    /// Intervals of all tables.
    pub pool: Pool,
    curves: Vec<Curves>,
    tables: Vec<Table>,
    pairs: BTreeMap<(MaterialId, MaterialId), Table>,
    /// By address: columns of a batch share materials through their `Arc`.
    known: BTreeMap<usize, Result<MaterialId, HeatProblem>>,
    /// By content: the same card may have been read more than once.
    contents: BTreeMap<Vec<u64>, Result<MaterialId, HeatProblem>>,
}

impl Library {
    /// Adds what a column is made of, and tells where.
    ///
    /// # Errors
    /// A property that has no physical meaning.
    pub fn add(&mut self, column: &Column) -> Result<Vec<MaterialId>, HeatProblem> {
        let mut ids = Vec::with_capacity(column.bodies.len());
        for body in &column.bodies {
            ids.push(self.material(&body.thermal)?);
        }
        for (b, contact) in column.contacts.iter().enumerate() {
            let both = ids.get(b).copied().zip(ids.get(b + 1).copied());
            let (Contact::Perfect, Some(pair)) = (contact, both) else {
                continue;
            };
            if pair.0 == pair.1 || self.pairs.contains_key(&pair) {
                continue;
            }
            let table = self
                .pool
                .add_pair(&self.curves[pair.0], &self.curves[pair.1]);
            self.pairs.insert(pair, table);
        }
        Ok(ids)
    }

    fn material(&mut self, thermal: &Arc<Thermal>) -> Result<MaterialId, HeatProblem> {
        let address = Arc::as_ptr(thermal) as usize;
        if let Some(known) = self.known.get(&address) {
            return known.clone();
        }
        let content = content(thermal);
        let made = match self.contents.get(&content) {
            Some(known) => known.clone(),
            None => Curves::new(thermal).map(|curves| {
                self.tables.push(self.pool.add(&curves));
                self.curves.push(curves);
                self.curves.len() - 1
            }),
        };
        self.contents.insert(content, made.clone());
        self.known.insert(address, made.clone());
        made
    }

    /// Exact functions of a material.
    pub fn curves(&self, id: MaterialId) -> &Curves {
        &self.curves[id]
    }

    /// Table of a material.
    pub fn table(&self, id: MaterialId) -> Table {
        self.tables[id]
    }

    /// Table of a node half `above` and half `below`, both added before in perfect contact.
    pub fn pair(&self, above: MaterialId, below: MaterialId) -> Table {
        self.pairs
            .get(&(above, below))
            .copied()
            .unwrap_or(self.tables[below])
    }
}

/// The numbers that decide how heat is conducted and stored, bit by bit.
fn content(thermal: &Thermal) -> Vec<u64> {
    let mut bits = Vec::new();
    for table in [
        &thermal.density_kg_per_m3.value,
        &thermal.conductivity_w_per_m_k.value,
        &thermal.specific_heat_j_per_kg_k.value,
    ] {
        let start = bits.len();
        bits.push(0);
        for (x, y) in table.points() {
            bits.extend([x.to_bits(), y.to_bits()]);
        }
        bits[start] = (bits.len() - start) as u64;
    }
    if let Some(latent) = &thermal.latent_heat {
        let it = latent.value;
        bits.extend([it.heat_j_per_kg, it.from_k, it.to_k].map(f64::to_bits));
    }
    bits
}
