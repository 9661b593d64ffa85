//! The numbers of the cases solved side by side, one case a lane, and where their tables are.

// Nodes and lanes index many arrays at once.
#![allow(clippy::needless_range_loop)]

use crate::heat::assemble::Case;
use crate::heat::assemble::Layout;
use crate::heat::properties::Interval;
use crate::heat::properties::Table;
use crate::numerics::tridiagonal::LANES;
use crate::numerics::tridiagonal::Lane;
use crate::numerics::tridiagonal::each;

/// Nodes of one table: the inside of a body, or a node shared by two.
#[derive(Clone, Debug)]
pub struct Segment {
    /// First node.
    pub from: usize,
    /// One past the last node.
    pub to: usize,
    /// Enthalpy at the start of the table, J/m³.
    pub start: Lane,
    /// Intervals per enthalpy, m³/J.
    pub per_width: Lane,
    /// Index of the last interval.
    pub last: Lane,
    /// First interval in the pool.
    pub first: [u64; LANES],
    /// Distance to the table with the potential of the body before.
    pub other: [u64; LANES],
    /// 1 / least conductivity, m K/W.
    pub per_conductivity: Lane,
    /// Index of the body whose last node this is, where it is shared with the next.
    pub shared: bool,
}

/// State and equations of the cases; lane arrays have one entry a node.
#[derive(Clone, Debug)]
pub struct Lanes {
    /// What the cases have in common.
    pub layout: Layout,
    /// Nodes by table.
    pub segments: Vec<Segment>,
    /// Volumes, m.
    pub volume: Vec<Lane>,
    /// Links, 1/m; for a contact W/(m² K).
    pub link: Vec<Lane>,
    /// Slopes of the heat flux to the next node over the potential of this node and of the next.
    pub left: Vec<Lane>,
    /// See `left`.
    pub right: Vec<Lane>,
    /// Exchange of inertia with the next node, m.
    pub mass_left: Vec<Lane>,
    /// The same as seen from the next node, m.
    pub mass_right: Vec<Lane>,
    /// Shares of the light.
    pub share: Vec<Lane>,
    /// Rise of the enthalpy in unit light, without conduction, 1/m.
    pub heating: Vec<Lane>,
    /// Coefficients of the outer faces, W/(m² K), and temperatures around, K.
    pub face: [Lane; 2],
    /// Temperatures around, K.
    pub ambient: [Lane; 2],
    /// Enthalpy, J/m³.
    pub enthalpy: Vec<Lane>,
    /// Rise of the enthalpy by conduction, W/m³.
    pub conducted: Vec<Lane>,
    /// Heat that leaves through the outer faces, W/m².
    pub loss: [Lane; 2],
    /// How fast a node would follow its neighbours, 1/s.
    pub pace: Vec<Lane>,
}

impl Lanes {
    /// Arrays for a layout, all zero.
    pub fn new(layout: Layout) -> Self {
        let n = layout.nodes();
        let zero = vec![[0.0; LANES]; n];
        let mut segments = Vec::new();
        for b in 0..layout.bodies {
            let (first, last) = layout.nodes_of(b);
            let from = first + usize::from(0 < b && layout.merged[b - 1]);
            let to = last + usize::from(!layout.merged[b]);
            segments.push(Segment::new(from, to, false));
            if layout.merged[b] {
                segments.push(Segment::new(last, last + 1, true));
            }
        }
        Lanes {
            layout,
            segments,
            volume: zero.clone(),
            link: zero.clone(),
            left: zero.clone(),
            right: zero.clone(),
            mass_left: zero.clone(),
            mass_right: zero.clone(),
            share: zero.clone(),
            heating: zero.clone(),
            face: [[0.0; LANES]; 2],
            ambient: [[0.0; LANES]; 2],
            enthalpy: zero.clone(),
            conducted: zero.clone(),
            loss: [[0.0; LANES]; 2],
            pace: zero,
        }
    }

    /// Puts a case into a lane.
    pub fn load(&mut self, lane: usize, case: &Case) {
        for i in 0..case.volume.len() {
            self.volume[i][lane] = case.volume[i];
            self.enthalpy[i][lane] = case.start_j_per_m3[i];
            self.pace[i][lane] = case.pace[i];
            self.link[i][lane] = case.link[i];
            self.left[i][lane] = case.link[i];
            self.right[i][lane] = case.link[i];
            self.share[i][lane] = case.share[i];
            self.mass_left[i][lane] = case.mass_left[i];
            self.mass_right[i][lane] = case.mass_right[i];
        }
        for (side, face) in case.faces.iter().enumerate() {
            self.face[side][lane] = face.coefficient_w_per_m2_k;
            self.ambient[side][lane] = face.ambient_k;
        }
        let mut body = 0;
        for segment in &mut self.segments {
            let table = if segment.shared {
                &case.pairs[body - 1]
            } else {
                body += 1;
                &case.tables[body - 1]
            };
            segment.load(lane, table);
        }
    }
}

impl Segment {
    fn new(from: usize, to: usize, shared: bool) -> Self {
        Segment {
            from,
            to,
            start: [0.0; LANES],
            per_width: [0.0; LANES],
            last: [0.0; LANES],
            first: [0; LANES],
            other: [0; LANES],
            per_conductivity: [0.0; LANES],
            shared,
        }
    }

    fn load(&mut self, lane: usize, table: &Table) {
        self.start[lane] = table.start_j_per_m3;
        self.per_width[lane] = 1.0 / table.width_j_per_m3;
        self.last[lane] = (table.count - 1) as f64;
        self.first[lane] = table.first as u64;
        self.other[lane] = table.other as u64;
        self.per_conductivity[lane] = 1.0 / table.least_conductivity_w_per_m_k;
    }

    /// Interval of each lane's table and the position in it, 0 to 1 (beyond at the table's ends).
    #[inline(always)]
    fn locate(&self, enthalpy: &Lane) -> ([u64; LANES], Lane) {
        // Adding 1.5 · 2^52 rounds to a whole number, which then stands in the low bits.
        const ROUND: f64 = 6_755_399_441_055_744.0;
        let at = each(|l| (enthalpy[l] - self.start[l]) * self.per_width[l]);
        // Beyond the ends the outermost intervals go on; a quarter keeps clear of ties.
        let rounded = each(|l| (at[l].max(0.25).min(self.last[l] + 0.25) - 0.5) + ROUND);
        let share = each(|l| at[l] - (rounded[l] - ROUND));
        let mut index = [0; LANES];
        for l in 0..LANES {
            index[l] = self.first[l] + (rounded[l].to_bits() & 0xffff_ffff);
        }
        (index, share)
    }

    /// Potential at the start of the interval and its rise over it.
    #[inline(always)]
    fn potentials(pool: &[Interval], index: &[u64; LANES]) -> (Lane, Lane) {
        let mut value = [0.0; LANES];
        let mut rise = [0.0; LANES];
        for l in 0..LANES {
            let it = &pool[index[l] as usize];
            value[l] = it[0];
            rise[l] = it[1];
        }
        (value, rise)
    }

    /// Temperature at the start of the interval and its rise over it.
    #[inline(always)]
    fn temperatures(pool: &[Interval], index: &[u64; LANES]) -> (Lane, Lane) {
        let mut value = [0.0; LANES];
        let mut rise = [0.0; LANES];
        for l in 0..LANES {
            let at = index[l] as usize;
            value[l] = pool[at][3];
            rise[l] = pool[at + 1][3] - pool[at][3];
        }
        (value, rise)
    }

    /// Potential alone.
    #[inline(always)]
    pub fn potential(&self, pool: &[Interval], enthalpy: &Lane) -> Lane {
        let (index, share) = self.locate(enthalpy);
        let (value, rise) = Self::potentials(pool, &index);
        each(|l| value[l] + share[l] * rise[l])
    }

    /// Potential and dH/dθ.
    #[inline(always)]
    pub fn potential_and_capacity(&self, pool: &[Interval], enthalpy: &Lane) -> (Lane, Lane) {
        let (index, share) = self.locate(enthalpy);
        let mut value = [0.0; LANES];
        let mut rise = [0.0; LANES];
        let mut capacity = [0.0; LANES];
        for l in 0..LANES {
            let it = &pool[index[l] as usize];
            value[l] = it[0];
            rise[l] = it[1];
            capacity[l] = it[2];
        }
        (each(|l| value[l] + share[l] * rise[l]), capacity)
    }

    /// Temperature and its slope over the potential.
    #[inline(always)]
    pub fn temperature_and_slope(&self, pool: &[Interval], enthalpy: &Lane) -> (Lane, Lane) {
        let (index, share) = self.locate(enthalpy);
        let (value, rise) = Self::temperatures(pool, &index);
        let (_, potential_rise) = Self::potentials(pool, &index);
        (
            each(|l| value[l] + share[l] * rise[l]),
            each(|l| rise[l] / potential_rise[l]),
        )
    }

    /// Temperature alone.
    #[inline(always)]
    pub fn temperature(&self, pool: &[Interval], enthalpy: &Lane) -> Lane {
        let (index, share) = self.locate(enthalpy);
        let (value, rise) = Self::temperatures(pool, &index);
        each(|l| value[l] + share[l] * rise[l])
    }

    /// Potential of the body before at a shared node, and its slope over the node's own.
    #[inline(always)]
    pub fn before(&self, pool: &[Interval], enthalpy: &Lane) -> (Lane, Lane) {
        let (index, share) = self.locate(enthalpy);
        let (_, own_rise) = Self::potentials(pool, &index);
        let mut other = index;
        for l in 0..LANES {
            other[l] += self.other[l];
        }
        let (value, rise) = Self::potentials(pool, &other);
        (
            each(|l| value[l] + share[l] * rise[l]),
            each(|l| rise[l] / own_rise[l]),
        )
    }
}
