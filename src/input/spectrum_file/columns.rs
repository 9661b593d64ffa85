//! What the columns of a table hold, from their names and from the free lines before them.

use crate::error::Error;
use crate::error::input::SpectrumProblem;
use crate::input::spectrum_file::table::Table;
use crate::material::plaque::{Backing, Geometry};

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Quantity {
    Transmittance,
    Reflectance,
    /// Decadic absorbance, −log10 of the transmittance.
    Absorbance,
    /// Refractive index, real part.
    Index,
    /// Refractive index, imaginary part.
    ImaginaryIndex,
    /// Napierian coefficient; the figure is its unit in 1/m.
    Coefficient {
        per_m: f64,
    },
}

impl Quantity {
    pub fn name(self) -> &'static str {
        match self {
            Quantity::Transmittance => "transmittance",
            Quantity::Reflectance => "reflectance",
            Quantity::Absorbance => "absorbance",
            Quantity::Index => "refractive index n",
            Quantity::ImaginaryIndex => "imaginary index k",
            Quantity::Coefficient { .. } => "absorption coefficient",
        }
    }
}

/// How a share of light is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Scale {
    Percent,
    Fraction,
}

/// One column of values.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// Place in the table, from 0.
    pub at: usize,
    /// Name as written.
    pub name: String,
    pub quantity: Quantity,
    /// Percent or fraction, where the file says.
    pub scale: Option<Scale>,
    pub geometry: Geometry,
    /// True where only the word "diffuse" speaks for the geometry.
    pub says_diffuse: bool,
    pub thickness_m: Option<f64>,
    /// What lies behind the plaque, where the name says.
    pub backing: Option<Backing>,
}

/// All columns behind the first.
///
/// # Errors
/// A column whose name, and header, do not say what it holds.
pub(super) fn classify(table: &Table) -> Result<Vec<Column>, Error> {
    let columns = table.rows.first().map_or(0, |it| it.cells.len());
    let header = header_quantity(table);
    let header_geometry = geometry_of(
        &table
            .header
            .iter()
            .map(|it| it.text.to_lowercase())
            .collect::<Vec<_>>()
            .join(" "),
    );
    let header_scale = header_scale(table);
    let thicknesses = header_thicknesses(table, columns);
    (1..columns)
        .map(|at| {
            let name = table
                .names
                .get(at)
                .filter(|it| !it.is_empty())
                .cloned()
                .unwrap_or_else(|| format!("column {}", at + 1));
            let lower = name.to_lowercase();
            let quantity = quantity_of(&lower).or(header).ok_or_else(|| {
                table
                    .error(
                        table.names_line,
                        SpectrumProblem::UnknownColumn {
                            column: name.clone(),
                        },
                    )
                    .cure(if words(&lower).iter().any(|it| it.starts_with("absorption")) {
                        "write the unit of an absorption coefficient, such as absorption [1/mm]"
                    } else {
                        "name the columns above the numbers, such as: wavelength [nm]; T 1.5 mm [%]; \
                         R 1.5 mm [%]"
                    })
            })?;
            let (own_geometry, own_diffuse) = geometry_of(&lower);
            let (geometry, says_diffuse) = if own_geometry == Geometry::Unstated {
                header_geometry
            } else {
                (own_geometry, own_diffuse)
            };
            Ok(Column {
                at,
                quantity,
                scale: scale_of(&lower).or(header_scale),
                geometry,
                says_diffuse,
                backing: backing_of(&lower),
                thickness_m: length_in(&lower)
                    .or_else(|| thicknesses.get(at).copied().flatten()),
                name,
            })
        })
        .collect()
}

/// Words of a name: runs of letters, with % as a word of its own.
fn words(lower: &str) -> Vec<&str> {
    let mut words = Vec::new();
    let mut rest = lower;
    while let Some(start) = rest.find(|it: char| it.is_alphabetic() || it == '%') {
        rest = &rest[start..];
        let end = if rest.starts_with('%') {
            1
        } else {
            rest.find(|it: char| !it.is_alphabetic())
                .unwrap_or(rest.len())
        };
        words.push(&rest[..end]);
        rest = &rest[end..];
    }
    words
}

fn quantity_of(lower: &str) -> Option<Quantity> {
    let words = words(lower);
    let has = |word: &str| words.contains(&word);
    let begins = |start: &str| words.iter().any(|it| it.starts_with(start));
    // An instrument may add an index or a unit in letters: the first single letter decides.
    if begins("transmi") || begins("trans") {
        Some(Quantity::Transmittance)
    } else if begins("reflec") || begins("reflex") || begins("remission") {
        Some(Quantity::Reflectance)
    } else if begins("absorban") || has("abs") || (begins("optical") && has("density")) {
        Some(Quantity::Absorbance)
    } else if begins("absorption")
        || has("alpha")
        || has("α")
        || lower.contains("mu_a")
        || has("µa")
    {
        coefficient_unit(lower).map(|per_m| Quantity::Coefficient { per_m })
    } else if has("t") || has("tt") {
        Some(Quantity::Transmittance)
    } else if has("r") || has("rt") {
        Some(Quantity::Reflectance)
    } else if has("a") || has("od") {
        Some(Quantity::Absorbance)
    } else if has("n") {
        Some(Quantity::Index)
    } else if has("k") || has("kappa") {
        Some(Quantity::ImaginaryIndex)
    } else {
        None
    }
}

fn coefficient_unit(lower: &str) -> Option<f64> {
    let plain = lower.replace(['^', ' ', '(', ')'], "").replace("⁻¹", "-1");
    [("mm", 1e3), ("cm", 1e2), ("m", 1.0)]
        .into_iter()
        .find(|(unit, _)| {
            plain.contains(&format!("1/{unit}"))
                || plain.contains(&format!("/{unit}"))
                || plain.contains(&format!("{unit}-1"))
                || plain.contains(&format!("per_{unit}"))
        })
        .map(|(_, per_m)| per_m)
}

/// The quantity the free lines name, if they name exactly one.
fn header_quantity(table: &Table) -> Option<Quantity> {
    let mut found = Vec::new();
    for line in &table.header {
        for word in words(&line.text.to_lowercase()) {
            let quantity = if word.starts_with("transmi") {
                Quantity::Transmittance
            } else if word.starts_with("reflectan") {
                Quantity::Reflectance
            } else if word.starts_with("absorban") {
                Quantity::Absorbance
            } else {
                continue;
            };
            if !found.contains(&quantity) {
                found.push(quantity);
            }
        }
    }
    match found.as_slice() {
        [one] => Some(*one),
        _ => None,
    }
}

fn scale_of(lower: &str) -> Option<Scale> {
    if lower.contains('%') || lower.contains("percent") {
        Some(Scale::Percent)
    } else if lower.contains("fraction") || lower.contains("[-]") || lower.contains("[1]") {
        Some(Scale::Fraction)
    } else {
        None
    }
}

/// Percent or fraction from a free line that speaks of the ordinate.
fn header_scale(table: &Table) -> Option<Scale> {
    table.header.iter().find_map(|line| {
        let lower = line.text.to_lowercase();
        let ordinate = words(&lower).iter().any(|it| {
            ["transmi", "reflec", "unit", "yunit", "ordinate", "scale"]
                .iter()
                .any(|start| it.starts_with(start))
                || ["t", "r", "y"].contains(it)
        });
        // "uncertainty 0.5 %" is no statement about the ordinate.
        let other = ["uncert", "noise", "humid", "accura", "slit"]
            .iter()
            .any(|it| lower.contains(it));
        (ordinate && !other).then(|| scale_of(&lower)).flatten()
    })
}

/// Which light was collected, and whether only "diffuse" says so.
pub(crate) fn geometry_of(lower: &str) -> (Geometry, bool) {
    let words = words(lower);
    let begins = |starts: &[&str]| {
        words
            .iter()
            .any(|it| starts.iter().any(|start| it.starts_with(start)))
    };
    let total = begins(&["total", "hemispher", "sphere", "integrating", "ulbricht"]);
    let diffuse = begins(&["diffus"]);
    let collimated = begins(&["collimat", "direct", "regular", "inline"])
        || lower.contains("in-line")
        || lower.contains("no sphere");
    match (total || diffuse, collimated) {
        (true, false) => (Geometry::Total, diffuse && !total),
        (false, true) => (Geometry::Collimated, false),
        _ if lower.contains("no sphere") => (Geometry::Collimated, false),
        _ => (Geometry::Unstated, false),
    }
}

/// What a name says about the backing of the plaque: "over black", "white backing".
pub(crate) fn backing_of(lower: &str) -> Option<Backing> {
    let words = words(lower);
    let says = |colour: &str| {
        words.windows(2).any(|it| {
            (["over", "on", "über", "auf"].contains(&it[0]) && it[1] == colour)
                || (it[0] == colour && ["backing", "backed", "background", "tile"].contains(&it[1]))
        })
    };
    match (
        says("black") || says("schwarz"),
        says("white") || says("weiß"),
    ) {
        (true, false) => Some(Backing::Black),
        (false, true) => Some(Backing::White),
        _ => None,
    }
}

/// The first length in mm, µm or cm in a text, m.
pub(crate) fn length_in(lower: &str) -> Option<f64> {
    let mut rest = lower;
    while let Some(start) = rest.find(|it: char| it.is_ascii_digit()) {
        rest = &rest[start..];
        let end = rest
            .find(|it: char| !it.is_ascii_digit() && it != '.' && it != ',')
            .unwrap_or(rest.len());
        let (number, after) = rest.split_at(end);
        let unit = after.trim_start_matches([' ', '\u{a0}', '_', '-', '[', '(']);
        let unit_end = unit
            .find(|it: char| !it.is_alphabetic())
            .unwrap_or(unit.len());
        let size = match &unit[..unit_end] {
            "mm" => Some(1e-3),
            "µm" | "μm" | "um" => Some(1e-6),
            "cm" => Some(1e-2),
            _ => None,
        };
        // "1/mm" is a unit, not a length of "1 mm"; there the sign between them is no blank.
        let value = number.replacen(',', ".", 1).parse::<f64>().ok();
        if let (Some(size), Some(value)) = (size, value)
            && 0.0 < value
        {
            return Some(value * size);
        }
        rest = &rest[end..];
    }
    None
}

/// Thicknesses by column from a free line "thickness; 1.5 mm" or "thickness [mm]; 1; 2; 3".
fn header_thicknesses(table: &Table, columns: usize) -> Vec<Option<f64>> {
    let mut found = vec![None; columns];
    let Some(line) = table.header.iter().find(|it| {
        let lower = it.text.to_lowercase();
        lower.contains("thickness") || lower.contains("dicke")
    }) else {
        return found;
    };
    let lower: Vec<String> = line.cells.iter().map(|it| it.to_lowercase()).collect();
    let unit = lower.first().and_then(|it| {
        ["mm", "µm", "μm", "um", "cm"]
            .into_iter()
            .find(|unit| words(it).contains(unit))
    });
    let value =
        |cell: &str| length_in(cell).or_else(|| length_in(&format!("{} {}", cell.trim(), unit?)));
    if lower.len() == columns && 2 < columns {
        for (at, cell) in lower.iter().enumerate().skip(1) {
            found[at] = value(cell);
        }
    } else {
        let joined = lower
            .iter()
            .skip(1)
            .map(String::as_str)
            .collect::<Vec<_>>()
            .join(" ");
        let one = value(&joined).or_else(|| length_in(&line.text.to_lowercase()));
        found = vec![one; columns];
    }
    found
}
