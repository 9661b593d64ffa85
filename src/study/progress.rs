//! How a study tells how far it is; the command line decides what to show.

use std::sync::{Mutex, PoisonError};

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

/// The sum of several studies that run side by side.
pub struct Told<'p> {
    to: &'p dyn Progress,
    parts: Mutex<Vec<(usize, usize)>>,
}

impl<'p> Told<'p> {
    /// Sums `parts` studies and tells `to`.
    pub fn new(to: &'p dyn Progress, parts: usize) -> Self {
        Told {
            to,
            parts: Mutex::new(vec![(0, 0); parts]),
        }
    }

    /// What the study of a number tells.
    pub fn of(&self, part: usize) -> Part<'_, 'p> {
        Part { told: self, part }
    }
}

/// One of several studies.
pub struct Part<'t, 'p> {
    told: &'t Told<'p>,
    part: usize,
}

impl Progress for Part<'_, '_> {
    fn at(&self, done: usize, all: usize) {
        let mut parts = self
            .told
            .parts
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        parts[self.part] = (done, all);
        let sum = parts.iter().fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
        self.told.to.at(sum.0, sum.1);
    }
}
