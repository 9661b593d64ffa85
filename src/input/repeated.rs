//! What is given more than once: a path, the content of a file, the numbers in it.
//!
//! Two measurements never agree to the last figure, so what is the same is a copy. Whether a copy
//! counts is for the caller to say: a path named twice and a plaque given twice count once, grades and
//! batches are listed, since each has a name of its own.
//!
//! Checked in: `tests/cli/batches.rs`, `tests/input/plaques.rs`.

/// What came first, each with its name; `T` is what makes two the same.
#[derive(Clone, Debug)]
pub struct Firsts<T>(Vec<(String, T)>);

impl<T> Default for Firsts<T> {
    fn default() -> Self {
        Firsts(Vec::new())
    }
}

impl<T: PartialEq> Firsts<T> {
    /// The name of the first that is the same; none where this is the first, which is remembered.
    ///
    /// ```
    /// use lightseam::input::repeated::Firsts;
    ///
    /// let mut firsts = Firsts::default();
    /// assert_eq!(firsts.of("a.csv", b"nm;T"), None);
    /// assert_eq!(firsts.of("b.csv", b"nm;T"), Some("a.csv"));
    /// ```
    pub fn of(&mut self, name: &str, it: T) -> Option<&str> {
        match self.0.iter().position(|first| first.1 == it) {
            Some(at) => Some(&self.0[at].0),
            None => {
                self.0.push((name.to_string(), it));
                None
            }
        }
    }
}

/// That a path was named more than once.
pub const NAMED_TWICE: &str = "is named more than once and counts once";

/// That two things are the same; `what` they have in common, and what follows.
pub fn alike(first: &str, second: &str, what: &str, so: &str) -> String {
    format!("{first} and {second} {what}; {so}")
}
