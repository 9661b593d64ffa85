//! Property tables of all materials of a batch, each made once and remembered for later batches.
//!
//! The memory goes by content: an address tells a material only while its columns are borrowed.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;

use crate::error::HeatProblem;
use crate::heat::column::Column;
use crate::heat::column::Contact;
use crate::heat::properties::Curves;
use crate::heat::table::Pool;
use crate::heat::table::Table;
use crate::material::Thermal;

/// Index of a material in a library.
pub type MaterialId = usize;

/// Most tables remembered, 32 kB each; beyond, all are forgotten and made anew where needed.
const MOST_REMEMBERED: usize = 256;

/// Tables made before, shared by all who hold the same settings.
///
/// What is remembered decides no result, so any two memories are equal.
#[derive(Clone, Debug, Default)]
pub struct Memory(Arc<Mutex<BTreeMap<Content, Arc<Made>>>>);

impl PartialEq for Memory {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// The numbers that decide the table of a material, or of a pair of them.
type Content = Vec<u64>;

/// A table of one material, or of a pair, alone in its pool.
#[derive(Debug)]
struct Made {
    pool: Pool,
    table: Table,
}

impl Memory {
    fn get(&self, content: &Content) -> Option<Arc<Made>> {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.get(content).cloned()
    }

    fn keep(&self, content: Content, made: &Arc<Made>) {
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if MOST_REMEMBERED <= known.len() {
            known.clear();
        }
        known.insert(content, Arc::clone(made));
    }

    /// The table of a content: remembered, or made now.
    fn table(&self, content: Content, make: impl FnOnce(&mut Pool) -> Table) -> Arc<Made> {
        if let Some(known) = self.get(&content) {
            return known;
        }
        let mut pool = Pool::default();
        let table = make(&mut pool);
        let made = Arc::new(Made { pool, table });
        self.keep(content, &made);
        made
    }
}

/// Tables of the materials of a batch, and of the pairs of them that meet without resistance.
#[derive(Debug, Default)]
pub struct Library {
    /// Intervals of all tables.
    pub pool: Pool,
    memory: Memory,
    curves: Vec<Curves>,
    contents_by_id: Vec<Content>,
    tables: Vec<Table>,
    pairs: BTreeMap<(MaterialId, MaterialId), Table>,
    /// By address: columns of a batch share materials through their `Arc`.
    known: BTreeMap<usize, Result<MaterialId, HeatProblem>>,
    /// By content: the same card may have been read more than once.
    contents: BTreeMap<Content, Result<MaterialId, HeatProblem>>,
}

impl Library {
    /// Without materials, and with the tables that `memory` knows at hand.
    pub fn new(memory: Memory) -> Self {
        Library {
            memory,
            ..Library::default()
        }
    }

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
            let mut content = self.contents_by_id[pair.0].clone();
            content.extend_from_slice(&self.contents_by_id[pair.1]);
            let (above, below) = (&self.curves[pair.0], &self.curves[pair.1]);
            let made = self
                .memory
                .table(content, |pool| pool.add_pair(above, below));
            let table = self.pool.take_in(&made.pool, &made.table);
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
                let made = self.memory.table(content.clone(), |pool| pool.add(&curves));
                self.tables.push(self.pool.take_in(&made.pool, &made.table));
                self.curves.push(curves);
                self.contents_by_id.push(content.clone());
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
fn content(thermal: &Thermal) -> Content {
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
    match &thermal.latent_heat {
        None => bits.push(0),
        Some(latent) => {
            let it = latent.value;
            bits.push(1);
            bits.extend([it.heat_j_per_kg, it.from_k, it.to_k].map(f64::to_bits));
        }
    }
    bits
}
