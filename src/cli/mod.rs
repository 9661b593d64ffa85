//! The command line: the only place that reads, writes and prints.

use clap::{CommandFactory, Parser};

use crate::cli::args::{Arguments, Command};
use crate::cli::terminal::Terminal;
use crate::error::Error;

pub mod args;

pub mod load;

pub mod demo;

pub mod starter;

pub mod weld;

pub mod window;

pub mod gap;

pub mod survey;

pub mod compare;

pub mod materials;

pub mod tolerance;

pub mod require;

pub mod rank;

pub mod spectra;

pub mod trials;

pub mod colour;

pub mod report;

pub mod shell;

pub mod validate;

pub mod deliver;

pub mod files;

pub mod repeated;

pub mod terminal;

/// What a command came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Answered; for one weld, sound; for a window, open.
    Yes,
    /// Answered, and it does not weld.
    No,
    /// Answered for some of what was asked; the rest is listed with its errors.
    Partly,
}

/// Exit code: answered.
const ANSWERED: u8 = 0;

/// Exit code: answered, and not sound.
const NOT_SOUND: u8 = 1;

/// Exit code: could not answer.
const NO_ANSWER: u8 = 2;

/// Runs the program with the process's own arguments and returns its exit code.
pub fn run() -> u8 {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(refusal) => {
            // Help and version come this way too, and are no failure.
            let _ = refusal.print();
            return if refusal.use_stderr() {
                NO_ANSWER
            } else {
                ANSWERED
            };
        }
    };
    match answer(&arguments) {
        Ok(Answer::Yes) => ANSWERED,
        Ok(Answer::No) => NOT_SOUND,
        Ok(Answer::Partly) => NO_ANSWER,
        Err(error) => {
            terminal::error(&error);
            NO_ANSWER
        }
    }
}

fn answer(arguments: &Arguments) -> Result<Answer, Error> {
    let terminal = Terminal::new(arguments.manner.quiet);
    files::abandon_when_interrupted();
    // Said before the work, and again before files are replaced.
    if let Some(dir) = &arguments.manner.out {
        files::must_be_own(dir, &[])?;
    }
    let work = || match &arguments.command {
        None => {
            terminal.result(&Arguments::command().render_long_help().to_string());
            Ok(Answer::Yes)
        }
        Some(Command::Demo) => demo::run(&arguments.manner, &terminal),
        Some(Command::Weld(it)) => weld::run(it, &arguments.manner, &terminal),
        Some(Command::New { dir, colour }) => {
            starter::run(dir, *colour, &arguments.manner, &terminal)
        }
        Some(Command::Window(it)) if it.against.is_some() => {
            gap::run(&it.file, &arguments.manner, &terminal)
        }
        Some(Command::Window(it)) => window::run(&it.file, &arguments.manner, &terminal),
        Some(Command::Compare(file)) => compare::run(file, &arguments.manner, &terminal),
        Some(Command::Tolerance(it)) => tolerance::run(it, &arguments.manner, &terminal),
        Some(Command::Require(it)) => require::run(it, &arguments.manner, &terminal),
        Some(Command::Rank(it)) => rank::run(it, &arguments.manner, &terminal),
        Some(Command::Survey(it)) => survey::run(it, &arguments.manner, &terminal),
        Some(Command::Colour(it)) => colour::run(it, &arguments.manner, &terminal),
        Some(Command::Materials { name, second }) => match (name, second) {
            (Some(name), Some(second)) => {
                materials::pair([name, second], &arguments.manner, &terminal)
            }
            _ => materials::run(name.as_deref(), &arguments.manner, &terminal),
        },
        Some(Command::Spectra(it)) => spectra::run(it, &arguments.manner, &terminal),
        Some(Command::Trials(it)) => trials::plan(it, &arguments.manner, &terminal),
        Some(Command::Calibrate(it)) => trials::correct(it, &arguments.manner, &terminal),
        Some(Command::Report(it)) => report::run(it, &arguments.manner, &terminal),
        Some(Command::Validate) => validate::run(&arguments.manner, &terminal),
        Some(Command::Completions { shell }) => shell::completions(*shell, &terminal),
        Some(Command::Manual { name }) => {
            shell::manual(name.as_deref(), &arguments.manner, &terminal)
        }
    };
    let threads = usize::from(arguments.manner.threads.unwrap_or(0));
    match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool.install(work),
        // Where no pool can be made the shared one does the work.
        Err(_) => work(),
    }
}
