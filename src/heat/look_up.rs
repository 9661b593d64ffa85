//! Potentials, temperatures and their slopes of several cases, looked up in the table of each.

use pulp::Simd;

use crate::heat::table::Interval;
use crate::heat::table::Table;
use crate::numerics::pack::Pack;
use crate::numerics::pack::ROUND;
use crate::numerics::pack::Sight;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;

/// Nodes of one table: the inside of a body, or of several of one material, or a node shared by two.
#[derive(Clone, Debug)]
#[repr(C, align(64))]
pub struct Segment {
    /// Intervals per enthalpy, m³/J.
    per_width: Lane,
    /// Place of enthalpy zero in the table, less half an interval.
    origin: Lane,
    /// The last place that is rounded.
    last: Lane,
    /// 1 / least conductivity, m K/W.
    pub per_conductivity: Lane,
    /// First row in the pool, with [`ROUND`].
    first: Lane,
    /// The same of the table with the potential of the body before.
    before: Lane,
    /// The (first) body.
    pub body: usize,
    /// First node.
    pub from: usize,
    /// One past the last node.
    pub to: usize,
    /// True if this is the last node of a body, shared with the next.
    pub shared: bool,
}

/// The table of each lane.
#[derive(Clone, Copy)]
pub struct Tables<'a, S: Simd> {
    sight: Sight<S>,
    pool: &'a [Interval],
    per_width: Pack<S>,
    origin: Pack<S>,
    last: Pack<S>,
    first: Pack<S>,
}

/// A number and its slope over the enthalpy.
pub type Line<S> = (Pack<S>, Pack<S>);

impl Segment {
    /// Without tables.
    pub fn new(body: usize, from: usize, to: usize, shared: bool) -> Self {
        Segment {
            per_width: [0.0; LANES],
            origin: [0.0; LANES],
            last: [0.0; LANES],
            per_conductivity: [0.0; LANES],
            first: [0.0; LANES],
            before: [0.0; LANES],
            body,
            from,
            to,
            shared,
        }
    }

    /// Takes the table of a case into a lane.
    pub fn load(&mut self, lane: usize, table: &Table) {
        self.per_width[lane] = table.per_width_m3_per_j;
        self.origin[lane] = -table.start_j_per_m3 / table.width_j_per_m3 - 0.5;
        self.last[lane] = (table.count - 1) as f64 - 0.25;
        self.first[lane] = ROUND + table.first as f64;
        self.before[lane] = ROUND + (table.first + table.other) as f64;
        self.per_conductivity[lane] = 1.0 / table.least_conductivity_w_per_m_k;
    }

    /// The tables of the lanes.
    #[inline(always)]
    pub fn tables<'a, S: Simd>(&self, sight: Sight<S>, pool: &'a [Interval]) -> Tables<'a, S> {
        Tables {
            sight,
            pool,
            per_width: sight.read(&self.per_width),
            origin: sight.read(&self.origin),
            last: sight.read(&self.last),
            first: sight.read(&self.first),
        }
    }

    /// The tables with the potential of the body before, at a shared node.
    #[inline(always)]
    pub fn tables_before<'a, S: Simd>(
        &self,
        sight: Sight<S>,
        pool: &'a [Interval],
    ) -> Tables<'a, S> {
        Tables {
            first: sight.read(&self.before),
            ..self.tables(sight, pool)
        }
    }
}

impl<S: Simd> Tables<'_, S> {
    /// Rows of the pool that hold the enthalpies of the lanes.
    #[inline(always)]
    fn rows(&self, enthalpy: Pack<S>) -> [usize; LANES] {
        let middle = enthalpy.times_plus(self.per_width, self.origin);
        // Beyond the ends the outermost intervals go on; a quarter keeps clear of ties.
        let inside = middle.max(self.sight.all(-0.25)).min(self.last);
        (inside + self.first)
            .numbers()
            .map(|it| it.to_bits() as u32 as usize)
    }

    /// Potential, W/m.
    #[inline(always)]
    pub fn potential(&self, enthalpy: Pack<S>) -> Line<S> {
        let rows = self.rows(enthalpy);
        let [zero, slope] = self.sight.pairs(|l| self.pool[rows[l]].potential);
        (slope.times_plus(enthalpy, zero), slope)
    }

    /// Temperature, K.
    #[inline(always)]
    pub fn temperature(&self, enthalpy: Pack<S>) -> Line<S> {
        let rows = self.rows(enthalpy);
        let [zero, slope] = self.sight.pairs(|l| self.pool[rows[l]].temperature);
        (slope.times_plus(enthalpy, zero), slope)
    }
}
