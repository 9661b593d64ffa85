//! How the nodes of a column are numbered: what cases solved side by side have in common.

/// Most bodies in a column.
pub const MOST_BODIES: usize = 3;

/// What cases solved side by side have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Layout {
    /// Number of bodies.
    pub bodies: usize,
    /// Cells in each body.
    pub cells: [usize; MOST_BODIES],
    /// Contacts that are perfect: the faces share a node.
    pub merged: [bool; MOST_BODIES],
    /// Perfect contacts between bodies of one material, whose node is like any other.
    pub alike: [bool; MOST_BODIES],
}

impl Layout {
    /// First and last node of a body.
    pub fn nodes_of(&self, body: usize) -> (usize, usize) {
        let mut first = 0;
        for before in 0..body {
            first += self.cells[before] + usize::from(!self.merged[before]);
        }
        (first, first + self.cells[body])
    }

    /// Number of nodes.
    pub fn nodes(&self) -> usize {
        self.nodes_of(self.bodies - 1).1 + 1
    }

    /// Index of the upper part.
    pub fn upper(&self) -> usize {
        self.bodies - 2
    }

    /// Last node of the upper and first node of the lower part; the same in perfect contact.
    pub fn interface(&self) -> (usize, usize) {
        let upper = self.upper();
        (self.nodes_of(upper).1, self.nodes_of(upper + 1).0)
    }
}
