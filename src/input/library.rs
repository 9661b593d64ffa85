//! The cards that come with the program, from `spectra/`.

use crate::error::{Error, FileProblem};
use crate::input::material_file;
use crate::input::note::Note;
use crate::input::spectrum_file;
use crate::material::{Material, Sourced, Spectrum, Status};

/// One built-in card and the data files it names.
struct BuiltIn {
    id: &'static str,
    card: &'static str,
    data: &'static [(&'static str, &'static [u8])],
}

macro_rules! cards {
    ($($id:literal $(, $data:literal)*;)*) => {
        &[$(BuiltIn {
            id: $id,
            card: include_str!(concat!("../../spectra/", $id, "/material.toml")),
            data: &[$((
                concat!("spectra/", $id, "/", $data),
                include_bytes!(concat!("../../spectra/", $id, "/", $data)),
            )),*],
        }),*]
    };
}

/// Every built-in card.
const CARDS: &[BuiltIn] = cards! {
    "abs";
    "glass";
    "pa12";
    "pa6";
    "pa6-gf30";
    "pa66";
    "pa66-gf33";
    "pbt";
    "pbt-gf30";
    "pc", "index-absorption-zhang2020.csv";
    "pc-gf30";
    "pe-hd";
    "peek";
    "pei", "index-absorption-zhang2020.csv";
    "pet", "index-absorption-zhang2020.csv";
    "pmma", "index-absorption-zhang2020.csv";
    "pom";
    "pp";
    "pps";
    "ps", "index-absorption-zhang2020.csv";
    "pvc", "index-absorption-zhang2020.csv";
    "tpu";
};

/// Short names of the built-in cards.
pub fn ids() -> impl Iterator<Item = &'static str> {
    CARDS.iter().map(|it| it.id)
}

/// The text of a built-in card, for showing and copying.
pub fn card_text(id: &str) -> Option<&'static str> {
    CARDS.iter().find(|it| it.id == id).map(|it| it.card)
}

/// Data files of a built-in card as (path below the project, content).
pub fn card_data(id: &str) -> &'static [(&'static str, &'static [u8])] {
    CARDS
        .iter()
        .find(|it| it.id == id)
        .map_or(&[], |it| it.data)
}

/// The built-in material of a short name, with remarks; none if there is no such card.
///
/// ```
/// let (pa6, _notes) = lightseam::input::library::material("pa6").expect("a card of that name")?;
/// assert_eq!(pa6.id, "pa6");
/// # Ok::<(), lightseam::error::Error>(())
/// ```
pub fn material(id: &str) -> Option<Result<(Material, Vec<Note>), Error>> {
    let built_in = CARDS.iter().find(|it| it.id == id)?;
    let file = format!("spectra/{id}/material.toml");
    let read = |path: &str| data_file(id, path);
    Some(material_file::parse(built_in.card, &file, id, &read))
}

/// Content of a data file that a built-in card names.
///
/// # Errors
/// The card names no such file.
pub fn data_file(id: &str, path: &str) -> Result<Vec<u8>, Error> {
    match card_data(id).iter().find(|(name, _)| *name == path) {
        Some((_, bytes)) => Ok(bytes.to_vec()),
        None => no_files(path),
    }
}

/// Name and content of the table of liquid water.
const WATER: (&str, &[u8]) = (
    "spectra/water/index-absorption-segelstein1981.csv",
    include_bytes!("../../spectra/water/index-absorption-segelstein1981.csv"),
);

/// Absorption coefficient of liquid water, 1/m, from 400 to 2000 nm.
///
/// # Errors
/// The table that comes with the program cannot be read: a fault of the program.
pub fn water() -> Result<Sourced<Spectrum>, Error> {
    let table = spectrum_file::parse_index(WATER.1, WATER.0)?;
    Ok(Sourced::new(
        table.absorption,
        "liquid water: D. Segelstein (1981), refractiveindex.info",
        Status::Published,
    ))
}

/// A reader for text that names no files.
///
/// # Errors
/// Always: there are no files.
pub fn no_files(path: &str) -> Result<Vec<u8>, Error> {
    Err(Error::new(FileProblem::Read {
        path: path.into(),
        reason: "no files can be read here".into(),
    }))
}
