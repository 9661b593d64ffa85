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
    /// By address; columns of a batch share materials through their `Arc`.
    known: BTreeMap<usize, Result<MaterialId, HeatProblem>>,
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
        let made = Curves::new(thermal).map(|curves| {
            self.tables.push(self.pool.add(&curves));
            self.curves.push(curves);
            self.curves.len() - 1
        });
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
