//! What is shown: results on standard output, everything else on standard error.

use std::io::{IsTerminal, Write};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::error::Error;
use crate::study::Progress;

/// A bar appears on work that has lasted this long.
const PATIENCE: Duration = Duration::from_millis(800);

/// The terminal, as the user wants it.
pub struct Terminal {
    /// True where only results and errors are shown.
    quiet: bool,
    /// True where standard error is a terminal someone watches.
    watched: bool,
}

impl Terminal {
    /// A terminal that is quiet where asked.
    pub fn new(quiet: bool) -> Self {
        Terminal {
            quiet,
            watched: std::io::stderr().is_terminal(),
        }
    }

    /// Characters across: those of the terminal, or 132 where a program or file listens.
    pub fn width(&self) -> Option<u16> {
        let (_, columns) = console::Term::stdout().size_checked().unwrap_or((0, 132));
        Some(columns.max(60))
    }

    /// Prints a result; a closed pipe ends quietly.
    pub fn result(&self, text: &str) {
        let _ = writeln!(std::io::stdout().lock(), "{}", text.trim_matches('\n'));
    }

    /// Prints a remark unless quiet.
    pub fn remark(&self, text: &str) {
        if !self.quiet {
            let _ = writeln!(std::io::stderr().lock(), "{text}");
        }
    }

    /// Prints warnings, one cause each, unless quiet.
    pub fn warnings<'a>(&self, warnings: impl IntoIterator<Item = &'a String>) {
        for warning in warnings {
            self.remark(&format!("warning: {warning}"));
        }
    }

    /// A bar for long work.
    pub fn progress(&self, what: &'static str) -> Bar {
        Bar {
            what,
            shown: !self.quiet && self.watched,
            started: Instant::now(),
            bar: Mutex::new(None),
        }
    }
}

/// Prints an error.
pub fn error(error: &Error) {
    let _ = writeln!(std::io::stderr().lock(), "error: {error}");
}

/// A progress bar that appears only when the work is long.
pub struct Bar {
    what: &'static str,
    shown: bool,
    started: Instant,
    bar: Mutex<Option<ProgressBar>>,
}

impl Progress for Bar {
    fn at(&self, done: usize, all: usize) {
        if !self.shown || self.started.elapsed() < PATIENCE {
            return;
        }
        if let Ok(mut slot) = self.bar.lock() {
            let bar = slot.get_or_insert_with(|| {
                let bar =
                    ProgressBar::with_draw_target(Some(all as u64), ProgressDrawTarget::stderr());
                let style = ProgressStyle::with_template("{msg} {bar:30} {pos}/{len} {eta}")
                    .unwrap_or_else(|_| ProgressStyle::default_bar());
                bar.set_style(style);
                bar.set_message(self.what);
                bar
            });
            bar.set_length(all as u64);
            bar.set_position(done as u64);
        }
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        if let Ok(slot) = self.bar.lock()
            && let Some(bar) = slot.as_ref()
        {
            bar.finish_and_clear();
        }
    }
}
