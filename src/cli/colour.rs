//! `colour`: what plaques look like, how they let the laser through, and which batches weld.

use std::path::{Path, PathBuf};

use crate::cli::args::{Colour, Manner, ObserverName};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, files, load, repeated};
use crate::colour::Observer;
use crate::error::{ColourProblem, Error, Place};
use crate::input::plaques::PlaqueText;
use crate::input::quantity::{Field, REFRACTIVE_INDEX, THICKNESS, WAVELENGTH};
use crate::input::repeated::{Firsts, alike};
use crate::input::{colour_file, specification};
use crate::material::{Sourced, Spectrum, Status};
use crate::optics::reduction::Assumptions;
use crate::report::answer;
use crate::report::colour_json::json;
use crate::report::colour_report::{batch_facts, batch_report, headline, study_report, tables};
use crate::study::colour_batches::{BatchQuestion, ColourStudy, ColourWeld, colour_batches};
use crate::study::colour_limits::{self, Beside};
use crate::study::colours::{LaserQuestion, Sample};
use crate::units::NM;
use crate::weld::warning::warnings;
use crate::weld::{Joint, Settings, simulate};

const COMMAND_LINE: &str = "command line";

/// Laser line where nobody names one, nm: the commonest diode laser for plastics (common practice).
const USUAL_LINE_NM: f64 = 980.0;

/// Refractive index where nobody names one.
const USUAL_INDEX: f64 = 1.5;

/// Endings of spectrometer files in a folder.
const ENDINGS: [&str; 7] = ["csv", "txt", "tsv", "asc", "jdx", "dx", "jcamp"];

/// Reads plaques, tells their colour, welds them where there is a joint; a batch that cannot be read
/// or followed is listed.
///
/// # Errors
/// No file can be read and understood, or covers the visible and the laser line; or the joint, the
/// standard, the natural grade or a limit cannot be; or the report would go among the files read.
pub fn run(asked: &Colour, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    files::must_not_be_read(manner.out.as_deref(), &asked.files)?;
    let mut notes = Notes::default();
    let limits = specification::parse(&asked.limit).map_err(|it| on_command_line("--limit", it))?;
    let beside = Beside {
        standard: asked.standard.is_some(),
        natural: asked.natural.is_some(),
        joint: asked.joint.is_some(),
    };
    colour_limits::possible(&limits, beside).map_err(|it| on_command_line("--limit", it))?;
    let thickness_m = optional("--thickness", asked.thickness.as_ref(), &THICKNESS)?;
    let mut read = |path: &Path| sample(path, thickness_m, &mut notes);
    let standard = asked.standard.as_deref().map(&mut read).transpose()?;
    let natural = asked.natural.as_deref().map(&mut read).transpose()?;
    let (paths, repeated) = repeated::named_once(batch_files(asked)?);
    let mut samples = Vec::new();
    let mut unread: Vec<(String, Error)> = Vec::new();
    let mut of_report: Vec<PathBuf> = Vec::new();
    for path in paths {
        let found = read(&path);
        match found {
            _ if files::is_table_of_report(&path, found.as_ref().err()) => of_report.push(path),
            Ok(sample) => samples.push(sample),
            Err(error) => unread.push((path.display().to_string(), error)),
        }
    }
    if samples.is_empty() && !unread.is_empty() {
        return Err(unread.swap_remove(0).1);
    }
    if samples.is_empty()
        && let Some(path) = of_report.first()
    {
        return Err(files::only_tables(path));
    }
    tell_apart(&mut samples);
    notes.extend("", repeated);
    notes.extend("", copies(&samples));
    notes.extend("", files::tables_aside(&of_report));
    let joint = match &asked.joint {
        Some(path) => {
            let (joint, said) = load::joint_of(path)?;
            notes.extend("joint", said.iter().map(ToString::to_string));
            Some(joint)
        }
        None => None,
    };
    let question = BatchQuestion {
        observer: match asked.observer {
            ObserverName::TwoDegrees => Observer::TwoDegrees,
            ObserverName::TenDegrees => Observer::TenDegrees,
        },
        laser: laser(asked, joint.as_ref())?,
        laser_asked: asked.line.is_some(),
        standard: standard.as_ref(),
        natural: natural.as_ref(),
        joint: joint.as_ref(),
        specification: &limits,
    };
    let settings = Settings::standard();
    let progress = terminal.progress("welding the batches");
    let mut study = colour_batches(&samples, &question, &settings, &progress)?;
    drop(progress);
    study.left_out.splice(0..0, unread);
    notes.of_study(&study);
    let remarks = notes.said(samples.len());

    if manner.json {
        deliver::json(terminal, &json(&study, &remarks));
    } else {
        terminal.result(&as_text(&study, terminal));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        pages(&study, &settings, dir, &remarks, terminal)?;
    }
    Ok(
        if !study.left_out.is_empty() || !study.unjudged().is_empty() {
            Answer::Partly
        } else if study.unsound().is_empty() && study.outside().is_empty() {
            Answer::Yes
        } else {
            Answer::No
        },
    )
}

/// The page of the batches, and one for each of them; a single batch has the page to itself.
fn pages(
    study: &ColourStudy,
    settings: &Settings,
    dir: &Path,
    remarks: &[String],
    terminal: &Terminal,
) -> Result<(), Error> {
    let recorded = welds_with_record(study, settings)?;
    let single = study.batches.len() == 1;
    for (batch, weld) in study.batches.iter().zip(&recorded) {
        let of = format!("{}: ", batch.sample.name);
        let own: Vec<String> = remarks
            .iter()
            .filter(|it| single || it.contains(&of) || !about_batches(it, study))
            .cloned()
            .collect();
        let report = batch_report(study, batch, weld.as_ref(), &own);
        let folder = if single {
            dir.to_path_buf()
        } else {
            dir.join("batches").join(folder_name(&batch.sample.name))
        };
        deliver::report(terminal, &folder, &report)?;
    }
    if !single {
        deliver::report(terminal, dir, &study_report(study, remarks))?;
    }
    Ok(())
}

/// A folder named after a batch; never one that leads out of its place.
fn folder_name(batch: &str) -> String {
    if batch.chars().all(|it| it == '.') {
        return "batch".into();
    }
    batch.into()
}

/// True where a remark names a batch.
fn about_batches(remark: &str, study: &ColourStudy) -> bool {
    study.batches.iter().any(|it| {
        let name = &it.sample.name;
        remark.starts_with(&format!("{name}: "))
            || remark.starts_with(&format!("{name}, "))
            || remark.starts_with(&format!("{name} and "))
    })
}

/// The welds once more with their temperatures kept for figures.
fn welds_with_record(
    study: &ColourStudy,
    settings: &Settings,
) -> Result<Vec<Option<ColourWeld>>, Error> {
    let joints: Vec<Joint> = study
        .batches
        .iter()
        .filter_map(|it| Some(it.weld.as_ref()?.joint.clone()))
        .collect();
    let mut outcomes = simulate(&joints, &settings.recording()).into_iter();
    study
        .batches
        .iter()
        .map(|batch| {
            let weld = batch.weld.as_ref();
            let weld = weld.and_then(|it| Some((it, outcomes.next()?)));
            weld.map(|(weld, outcome)| {
                Ok(ColourWeld {
                    outcome: outcome?,
                    ..weld.clone()
                })
            })
            .transpose()
        })
        .collect()
}

fn sample(path: &Path, thickness_m: Option<f64>, notes: &mut Notes) -> Result<Sample, Error> {
    let bytes = files::read(path)?;
    let file = path.display().to_string();
    let (sample, said) = colour_file::read(&PlaqueText {
        file: &file,
        bytes: &bytes,
        thickness_m,
    })?;
    // The name is put before a remark, so the place it carries is said once.
    notes.extend(&sample.name, said.iter().map(|it| it.text.clone()));
    Ok(sample)
}

/// Files of the batches: those named, and those in folders, without standard and natural grade.
fn batch_files(asked: &Colour) -> Result<Vec<PathBuf>, Error> {
    let mut found = Vec::new();
    for path in &asked.files {
        if !path.is_dir() {
            found.push(path.clone());
            continue;
        }
        let other = |it: &PathBuf| {
            let same = |named: &Option<PathBuf>| {
                named
                    .as_ref()
                    .is_some_and(|named| files::same_file(named, it))
            };
            same(&asked.standard) || same(&asked.natural)
        };
        let mut inside = files::list(path, &ENDINGS)?;
        inside.retain(|it| !other(it));
        if inside.is_empty() {
            return Err(Error::new(ColourProblem::EmptyFolder {
                folder: path.display().to_string(),
            })
            .cure(format!(
                "put one file a batch into it, ending in {}",
                ENDINGS.map(|it| format!(".{it}")).join(", ")
            )));
        }
        found.extend(inside);
    }
    Ok(found)
}

/// Gives samples of one name a number each, since pages go by the name.
fn tell_apart(samples: &mut [Sample]) {
    for i in 1..samples.len() {
        let mut name = samples[i].name.clone();
        let mut number = 2;
        while samples[..i].iter().any(|it| it.name == name) {
            name = format!("{}-{number}", samples[i].name);
            number += 1;
        }
        samples[i].name = name;
    }
}

/// A sentence for each sample that holds the same numbers as one before it.
fn copies(samples: &[Sample]) -> Vec<String> {
    let mut firsts = Firsts::default();
    let so = "both count: two measurements never agree to the last figure, so leave one out if it is \
              a copy";
    let said = samples.iter().filter_map(|it| {
        let first = firsts.of(&it.file, &it.curves)?;
        Some(alike(first, &it.file, "hold the same numbers", so))
    });
    said.collect()
}

fn laser(asked: &Colour, joint: Option<&Joint>) -> Result<LaserQuestion, Error> {
    let line_m = match (&asked.line, joint) {
        (Some(text), _) => value("--line", text, &WAVELENGTH)?,
        (None, Some(joint)) => joint.wavelength_m,
        (None, None) => USUAL_LINE_NM * NM,
    };
    let mut assumed = Assumptions::default();
    let (part_thickness_m, refractive_index) = match joint {
        Some(joint) => {
            let upper = &joint.upper;
            assumed.scatters = upper.optical.scatters();
            if let Some(card) = &upper.optical.anisotropy
                && let Ok(g) = card.value.at("anisotropy", line_m)
            {
                assumed.g = Sourced::new(g, &*card.source, card.status);
            }
            (
                Some(upper.thickness_m),
                upper.optical.refractive_index.clone(),
            )
        }
        None => {
            let part = optional("--part", asked.part.as_ref(), &THICKNESS)?;
            let n = optional("--index", asked.index.as_ref(), &REFRACTIVE_INDEX)?;
            let (n, source, status) = match n {
                Some(n) => (n, COMMAND_LINE, Status::Stated),
                None => (USUAL_INDEX, "usual for plastics", Status::CommonPractice),
            };
            (part, Sourced::new(Spectrum::constant(n), source, status))
        }
    };
    Ok(LaserQuestion {
        line_m,
        part_thickness_m,
        refractive_index,
        assumed,
    })
}

fn as_text(study: &ColourStudy, terminal: &Terminal) -> String {
    let mut text = format!("{}\n", headline(study));
    if let [batch] = study.batches.as_slice() {
        text.push('\n');
        text.push_str(&answer::lines(&batch_facts(study, batch)));
        text.push('\n');
    }
    for table in tables(study) {
        text.push_str(&format!(
            "\n{}\n{}\n",
            table.title,
            table.terminal(terminal.width())
        ));
    }
    text
}

/// Remarks with what they are about; one that holds for every file is said once.
#[derive(Default)]
struct Notes(Vec<(String, String)>);

impl Notes {
    fn extend(&mut self, about: &str, texts: impl IntoIterator<Item = String>) {
        for text in texts {
            let entry = (about.to_string(), text);
            if !self.0.contains(&entry) {
                self.0.push(entry);
            }
        }
    }

    fn of_study(&mut self, study: &ColourStudy) {
        for remark in &study.remarks {
            match remark.split_once(": ") {
                Some((about, text)) => self.extend(about, [text.to_string()]),
                None => self.extend("", [remark.clone()]),
            }
        }
        for batch in &study.batches {
            let name = &batch.sample.name;
            let colour = batch.colour();
            if let Some(held) = colour.visible.sampling.held() {
                self.extend(
                    name,
                    [format!(
                        "{} is not measured {held}; its last value is held there (ASTM E308)",
                        colour.seen.words()
                    )],
                );
            }
            if let Some(weld) = &batch.weld {
                let said = warnings(&weld.joint, &weld.outcome);
                self.extend(name, said.iter().map(ToString::to_string));
            }
        }
        if study.batches.iter().any(|it| {
            let weld = it.weld.as_ref();
            weld.is_some_and(|it| it.joint.melt_clearing.is_some())
        }) {
            self.extend("joint", ["its melt_clearing is not followed here".into()]);
        }
    }

    /// One sentence a cause: a text that goes for all files is said of all, others with their names.
    fn said(&self, samples: usize) -> Vec<String> {
        // The same cause may come with other figures for another batch.
        let cause = |text: &str| text.replace(|c: char| c.is_ascii_digit(), "");
        let mut done: Vec<String> = Vec::new();
        let mut all = Vec::new();
        for (_, text) in &self.0 {
            let this = cause(text);
            if done.contains(&this) {
                continue;
            }
            let mut about: Vec<&str> = self
                .0
                .iter()
                .filter(|it| !it.0.is_empty() && cause(&it.1) == this)
                .map(|it| it.0.as_str())
                .collect();
            about.dedup();
            done.push(this);
            all.push(match about.len() {
                0 => text.clone(),
                1 => format!("{}: {text}", about[0]),
                many if samples <= many => text.clone(),
                many if 4 < many => format!("{} and {} more: {text}", about[0], many - 1),
                _ => format!("{}: {text}", about.join(", ")),
            });
        }
        all
    }
}

/// A quantity of the command line, where it is given.
fn optional(option: &str, text: Option<&String>, field: &Field) -> Result<Option<f64>, Error> {
    text.map(|it| value(option, it, field)).transpose()
}

/// A quantity of the command line.
fn value(option: &str, text: &str, field: &Field) -> Result<f64, Error> {
    field.parse(text).map_err(|it| on_command_line(option, it))
}

fn on_command_line(option: &str, error: Error) -> Error {
    error.at(Place {
        file: format!("{option} of the command line"),
        ..Place::default()
    })
}
