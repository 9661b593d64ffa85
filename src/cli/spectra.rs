//! `spectra`: what spectrometer files say about a material, and about a part made of it.

use std::path::PathBuf;

use crate::cli::args::{Inversion, Manner, Spectra, Specular};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, files};
use crate::error::{Error, FileProblem, Place};
use crate::input::plaques::{PlaqueSet, PlaqueText, read};
use crate::input::quantity::{
    ANISOTROPY, Field, PHOTOMETRIC, PORT_LOSS, REFERENCE, REFRACTIVE_INDEX, THICKNESS, WAVELENGTH,
};
use crate::material::{Sourced, Spectrum, Status};
use crate::optics::reduction::{Assumptions, USUAL_G};
use crate::report::answer;
use crate::report::spectra_report::{SpectraResult, headline, json, spectra_report, tables};
use crate::study::plaques::{Question, study};

const COMMAND_LINE: &str = "command line";

/// Reads the plaques, reduces them, shows them.
///
/// # Errors
/// A file cannot be read or understood, the plaques contradict each other, or a wavelength asked
/// for is outside them.
pub fn run(asked: &Spectra, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let set = plaques(asked)?;
    let question = Question {
        wavelengths_m: asked
            .at
            .iter()
            .map(|it| value("--at", it, &WAVELENGTH))
            .collect::<Result<_, Error>>()?,
        part_thickness_m: asked
            .part
            .as_ref()
            .map(|it| value("--part", it, &THICKNESS))
            .transpose()?,
        curves: manner.out.is_some(),
    };
    let n = value("--index", &asked.index, &REFRACTIVE_INDEX)?;
    let refractive_index = Sourced::new(Spectrum::constant(n), COMMAND_LINE, Status::Stated);
    let source = names(&asked.files).join(", ");
    let found = study(
        &set.plaques,
        refractive_index,
        &source,
        &assumptions(asked)?,
        &question,
    )
    .map_err(|it| {
        it.at(Place {
            file: source.clone(),
            ..Place::default()
        })
    })?;
    let mut remarks: Vec<String> = set.notes.iter().map(ToString::to_string).collect();
    remarks.extend(found.reduction.remarks.iter().cloned());
    remarks.extend(found.reduction.asides.iter().cloned());
    let result = SpectraResult {
        plaques: set.plaques,
        files: set.files,
        study: found,
        n,
        remarks,
    };
    if manner.json {
        deliver::json(terminal, &json(&result));
    } else {
        terminal.result(&as_text(&result, terminal));
    }
    terminal.warnings(&result.remarks);
    if let Some(dir) = &manner.out {
        deliver::report(terminal, dir, &spectra_report(&result))?;
    }
    Ok(Answer::Yes)
}

fn plaques(asked: &Spectra) -> Result<PlaqueSet, Error> {
    let thickness_m = asked
        .thickness
        .as_ref()
        .map(|it| value("--thickness", it, &THICKNESS))
        .transpose()?;
    let mut read_files = Vec::with_capacity(asked.files.len());
    for (path, name) in asked.files.iter().zip(names(&asked.files)) {
        if path.is_dir() {
            return Err(Error::new(FileProblem::Read {
                path: name.clone(),
                reason: "it is a folder".into(),
            })
            .cure(format!(
                "the files of one call are plaques of one material: name them, such as {}; for a \
                 folder of many materials there are `colour` and `rank`",
                path.join("*.csv").display()
            )));
        }
        read_files.push((name, files::read(path)?));
    }
    let texts: Vec<PlaqueText> = read_files
        .iter()
        .map(|(file, bytes)| PlaqueText {
            file,
            bytes,
            thickness_m,
        })
        .collect();
    read(&texts)
}

fn assumptions(asked: &Spectra) -> Result<Assumptions, Error> {
    let mut assumed = Assumptions::default();
    let g = value("--g", &asked.g, &ANISOTROPY)?;
    if g != USUAL_G {
        assumed.g = Sourced::new(g, COMMAND_LINE, Status::Stated);
    }
    assumed.photometric = value("--photometric", &asked.photometric, &PHOTOMETRIC)?;
    assumed.sphere.port_loss = value("--port-loss", &asked.port_loss, &PORT_LOSS)?;
    assumed.sphere.reference_reflectance = value("--reference", &asked.reference, &REFERENCE)?;
    assumed.sphere.specular_included = asked.specular == Specular::Included;
    assumed.invert = asked.invert == Inversion::Auto;
    Ok(assumed)
}

fn names(files: &[PathBuf]) -> Vec<String> {
    files.iter().map(|it| it.display().to_string()).collect()
}

/// A quantity of the command line.
fn value(option: &str, text: &str, field: &Field) -> Result<f64, Error> {
    field.parse(text).map_err(|it| {
        it.at(Place {
            file: format!("{option} of the command line"),
            ..Place::default()
        })
    })
}

fn as_text(result: &SpectraResult, terminal: &Terminal) -> String {
    let mut text = format!("{}\n\n{}", headline(result), answer::lines(&result.facts()));
    for table in tables(result) {
        text.push_str(&format!(
            "\n{}\n{}\n",
            table.title,
            table.terminal(terminal.width())
        ));
    }
    if result.study.part_thickness_m.is_none() {
        text.push_str(
            "\nlight in a part, in air and delivered to a joint: add --part \"1.5 mm\"\n",
        );
    }
    text
}
