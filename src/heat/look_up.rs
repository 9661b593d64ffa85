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
#[repr(C, align(32))]
pub struct Segment {
    /// Width of an interval, J/m³.
    width: Lane,
    /// Intervals per enthalpy, m³/J.
    per_width: Lane,
    /// Place of enthalpy zero in the table, less half an interval.
    origin: Lane,
    /// The last place that is rounded.
    last: Lane,
    /// 1 / least conductivity, m K/W.
    pub per_conductivity: Lane,
    /// First row in the pool, a whole number.
    first: Lane,
    /// First row of the table with the potential of the body before.
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
    width: Pack<S>,
    per_width: Pack<S>,
    origin: Pack<S>,
    last: Pack<S>,
    first: Pack<S>,
}

/// Place of an enthalpy in the table of each lane: the row in the pool, and how far above its start.
struct Place<S: Simd> {
    row: [usize; LANES],
    above: Pack<S>,
}

/// A number and its slope over the enthalpy.
pub type Line<S> = (Pack<S>, Pack<S>);

impl Segment {
    /// Without tables.
    pub fn new(body: usize, from: usize, to: usize, shared: bool) -> Self {
        Segment {
            width: [0.0; LANES],
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
        self.width[lane] = table.width_j_per_m3;
        self.per_width[lane] = 1.0 / table.width_j_per_m3;
        self.origin[lane] = -table.start_j_per_m3 / table.width_j_per_m3 - 0.5;
        self.last[lane] = (table.count - 1) as f64 - 0.25;
        self.first[lane] = table.first as f64;
        self.before[lane] = (table.first + table.other) as f64;
        self.per_conductivity[lane] = 1.0 / table.least_conductivity_w_per_m_k;
    }

    /// The tables of the lanes.
    #[inline(always)]
    pub fn tables<'a, S: Simd>(&self, sight: Sight<S>, pool: &'a [Interval]) -> Tables<'a, S> {
        Tables {
            sight,
            pool,
            width: sight.read(&self.width),
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
    #[inline(always)]
    fn locate(&self, enthalpy: Pack<S>) -> Place<S> {
        let round = self.sight.all(ROUND);
        let middle = enthalpy.times_plus(self.per_width, self.origin);
        // Beyond the ends the outermost intervals go on; a quarter keeps clear of ties.
        let rounded = middle.max(self.sight.all(-0.25)).min(self.last) + round;
        let share = middle - (rounded - round) + self.sight.all(0.5);
        let bits = (rounded + self.first).numbers();
        let mut row = [0; LANES];
        for l in 0..Sight::<S>::WIDTH {
            row[l] = bits[l].to_bits() as u32 as usize;
        }
        Place {
            row,
            above: share * self.width,
        }
    }

    #[inline(always)]
    fn potential_at(&self, place: &Place<S>) -> Line<S> {
        let (mut start, mut slope) = ([0.0; LANES], [0.0; LANES]);
        for l in 0..Sight::<S>::WIDTH {
            let row = &self.pool[place.row[l]];
            (start[l], slope[l]) = (row.potential, row.potential_slope);
        }
        self.line(place, &start, &slope)
    }

    #[inline(always)]
    fn line(&self, place: &Place<S>, start: &Lane, slope: &Lane) -> Line<S> {
        let slope = self.sight.of(slope);
        (slope.times_plus(place.above, self.sight.of(start)), slope)
    }

    /// Potential, W/m.
    #[inline(always)]
    pub fn potential(&self, enthalpy: Pack<S>) -> Line<S> {
        self.potential_at(&self.locate(enthalpy))
    }

    /// Temperature, K.
    #[inline(always)]
    pub fn temperature(&self, enthalpy: Pack<S>) -> Line<S> {
        let place = self.locate(enthalpy);
        let (mut start, mut slope) = ([0.0; LANES], [0.0; LANES]);
        for l in 0..Sight::<S>::WIDTH {
            let row = &self.pool[place.row[l]];
            (start[l], slope[l]) = (row.temperature, row.temperature_slope);
        }
        self.line(&place, &start, &slope)
    }
}
