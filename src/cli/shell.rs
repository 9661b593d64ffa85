//! `completions` and `manual`: what shells and `man` want to know, made from the commands themselves.

use clap::CommandFactory;
use clap_complete::Shell;
use clap_mangen::Man;

use crate::cli::args::{Arguments, Manner};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, files};
use crate::error::{Error, FileProblem, InputProblem};

/// Name of the program.
const PROGRAM: &str = "lightseam";

/// Prints a completion script.
///
/// # Errors
/// None; the type is that of all commands.
pub fn completions(shell: Shell, terminal: &Terminal) -> Result<Answer, Error> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), PROGRAM, &mut script);
    terminal.result(&String::from_utf8_lossy(&script));
    Ok(Answer::Yes)
}

/// Prints the manual page of the program or of one command; with `--out` writes them all.
///
/// # Errors
/// There is no such command, or the folder cannot be written.
pub fn manual(name: Option<&str>, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let pages = pages()?;
    if let Some(dir) = &manner.out {
        let batch = files::Batch::new(dir)?;
        for (name, text) in &pages {
            batch.add(&format!("{name}.1"), text.as_bytes())?;
        }
        batch.commit()?;
        terminal.remark(&format!("manual pages: {}", dir.display()));
        return Ok(Answer::Yes);
    }
    let wanted = name.map_or(PROGRAM.to_string(), |it| format!("{PROGRAM}-{it}"));
    let Some((_, text)) = pages.iter().find(|it| it.0 == wanted) else {
        let known: Vec<&str> = pages
            .iter()
            .filter_map(|it| it.0.strip_prefix("lightseam-"))
            .collect();
        return Err(Error::new(InputProblem::UnknownWord {
            key: "command".into(),
            word: name.unwrap_or_default().into(),
            allowed: known.join(", "),
        })
        .cure("leave it out for the manual of the program"));
    };
    terminal.result(text);
    Ok(Answer::Yes)
}

/// The manual page of the program and of each command, by name.
fn pages() -> Result<Vec<(String, String)>, Error> {
    let mut program = Arguments::command();
    program.build();
    let mut pages = vec![(PROGRAM.to_string(), page(program.clone(), PROGRAM)?)];
    for command in program.get_subcommands() {
        if command.get_name() != "help" {
            let name = format!("{PROGRAM}-{}", command.get_name());
            pages.push((name.clone(), page(command.clone(), &name)?));
        }
    }
    Ok(pages)
}

fn page(command: clap::Command, name: &str) -> Result<String, Error> {
    let mut text = Vec::new();
    Man::new(command.display_name(name))
        .title(name)
        .render(&mut text)
        .map_err(|it| {
            Error::new(FileProblem::Write {
                path: format!("{name}.1"),
                reason: it.to_string(),
            })
        })?;
    Ok(String::from_utf8_lossy(&text).into_owned())
}
