//! How a study tells how far it is; the command line decides what to show.

/// Told by studies, implemented at the edge.
pub trait Progress: Sync {
    /// `done` of `all` units of work are finished. May be called from any thread.
    fn at(&self, done: usize, all: usize);
}

/// Shows nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Silent;

impl Progress for Silent {
    fn at(&self, _done: usize, _all: usize) {}
}
