//! Values under a heading of percent that look like fractions or like absorbance.
//!
//! A smooth face of index n sends back ((n − 1) / (n + 1))² of the light: 4 % at the 1.5 of most plastics,
//! 2 % at the 1.33 of the least. A sphere that holds the specular beam therefore never reads a total
//! reflectance below 2 %, whatever the colour; with a gloss trap, or at 45°/0°, a black reads less. A
//! black may transmit any little share. So
//!
//! | under a heading of percent | what comes of it |
//! |---|---|
//! | T and R of one file, no value above 1, R above 0.02, T above 0.1 | refused: fractions |
//! | the same where the file says that the specular beam was left out | read as it stands |
//! | R over a backing or alone, no value above 1 | read, with a warning |
//! | T alone or beside columns above 1, no value above 1, the largest above 0.1 | read, with a warning |
//! | T between 0.03 and 4 everywhere | read, with a warning: it may be absorbance |
//! | either in the visible alone | the warning says that a black may be so dark |
//! | R below what its face reflects beside a T | read; the reduction warns, for it knows index and sphere |
//!
//! Beside columns that are in percent beyond doubt a black may transmit 0.4 % of the visible, and the
//! file end there: nothing in it tells that from 40 % as a fraction, since a reflectance rises by less
//! than it is known to. An upper part that lets less than 1 % of the infrared through is none.
//!
//! Absorbance begins at 0.03, what two faces of index 1.5 take from a clear plate (−lg 0.92), and ends
//! where stray light of usual spectrometers does, near 4 (common practice).
//!
//! Checked in: `tests/input/percent.rs`.

use crate::error::input::SpectrumProblem;
use crate::error::{Error, InputProblem, Place};
use crate::input::note::Note;

/// Shares of light this far below 0 or above 1 are noise and are clipped (0.5 % of the incident
/// light; common practice for a sphere in the near infrared).
pub(crate) const NOISE: f64 = 0.005;

/// Largest value up to which values without a unit may be fractions.
pub(super) const LARGEST_FRACTION: f64 = 1.0 + NOISE;

/// Largest value from which values without a unit, none above one, are taken for fractions: a part
/// that nowhere lets more than this many percent through is no upper part.
pub(super) const LEAST_FRACTION: f64 = 0.1;

/// Least reflectance of a smooth plastic as a fraction: index 1.33.
const LEAST_REFLECTED: f64 = 0.02;

/// Absorbance of a plate that takes nothing but the loss at its faces, and the largest that can be
/// measured.
const ABSORBANCE: (f64, f64) = (0.03, 4.0);

/// End of the visible, m.
const VISIBLE_END_M: f64 = 780e-9;

/// A series of values that says it is in percent.
#[derive(Clone, Debug)]
pub(crate) struct Claim {
    /// Name of its column or block.
    pub name: String,
    /// Where the name stands.
    pub place: Place,
    pub reflectance: bool,
    /// True for a plaque over a backing.
    pub backed: bool,
    /// Least and largest value as written.
    pub range: (f64, f64),
    /// True where values go on beyond the visible.
    pub infrared: bool,
}

impl Claim {
    /// The claim of shares of light over their wavelengths, m; none without values.
    pub fn of(
        name: &str,
        place: Place,
        reflectance: bool,
        backed: bool,
        shares: impl Iterator<Item = (f64, f64)>,
    ) -> Option<Self> {
        let mut range = (f64::INFINITY, f64::NEG_INFINITY);
        let mut infrared = false;
        for (wavelength_m, share) in shares {
            range = (range.0.min(100.0 * share), range.1.max(100.0 * share));
            infrared |= VISIBLE_END_M < wavelength_m;
        }
        (range.0 <= range.1).then(|| Claim {
            name: name.into(),
            place,
            reflectance,
            backed,
            range,
            infrared,
        })
    }

    fn may_be_fraction(&self) -> bool {
        let least = if self.reflectance {
            LEAST_REFLECTED
        } else {
            LEAST_FRACTION
        };
        (least..=LARGEST_FRACTION).contains(&self.range.1)
    }

    fn may_be_absorbance(&self) -> bool {
        !self.reflectance && ABSORBANCE.0 <= self.range.0 && self.range.1 <= ABSORBANCE.1
    }

    fn note(&self, against: &str, cure: &str) -> Note {
        Note::new(
            format!(
                "\"{}\" says percent, and no value is above {} %, {against}: {cure}",
                self.name,
                shown(self.range.1),
            ),
            self.place.clone(),
        )
    }
}

/// How the kinds of files say what they hold.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Words {
    fraction: &'static str,
    absorbance: &'static str,
    without_specular: &'static str,
}

/// Tables of columns.
pub(crate) const TABLE: Words = Words {
    fraction: "write [fraction] into the column name, such as \"T [fraction]\"",
    absorbance: "name the column \"absorbance\"",
    without_specular: "add a line \"specular; excluded\" above the table",
};

/// JCAMP-DX.
pub(crate) const JCAMP: Words = Words {
    fraction: "write ##YUNITS= TRANSMITTANCE or REFLECTANCE, without the percent sign",
    absorbance: "write ##YUNITS= ABSORBANCE",
    without_specular: "add ##SAMPLING PROCEDURE= specular excluded",
};

/// A value as people read it.
fn shown(value: f64) -> f64 {
    (value * 1e3).round() / 1e3
}

/// True where words say that the specular beam was left out.
pub(crate) fn without_specular(lower: &str) -> bool {
    (lower.contains("specular") && lower.contains("exclu"))
        || ["gloss trap", "45/0", "45°/0°", "45°:0°", "0/45", "0°/45°"]
            .iter()
            .any(|it| lower.contains(it))
}

/// Notes about what is claimed in one file; `specular_left_out` is what the file says.
///
/// # Errors
/// Transmittance and reflectance are fractions beyond doubt.
pub(crate) fn check(
    claims: &[Claim],
    specular_left_out: bool,
    words: Words,
) -> Result<Vec<Note>, Error> {
    let small = claims.iter().all(|it| it.range.1 <= LARGEST_FRACTION);
    let own = claims.iter().find(|it| it.reflectance && !it.backed);
    let through = claims.iter().find(|it| !it.reflectance);
    let left_out = words.without_specular;
    if let (Some(reflected), Some(through)) = (own, through)
        && small
        && !specular_left_out
        && reflected.may_be_fraction()
        && through.may_be_fraction()
    {
        return Err(
            Error::new(InputProblem::Spectrum(SpectrumProblem::FractionAsPercent {
                first: through.name.clone(),
                second: reflected.name.clone(),
                transmittance: shown(through.range.1),
                reflectance: shown(reflected.range.1),
            }))
            .at(through.place.clone())
            .cure(format!(
                "{}; where a dark plaque was measured with a gloss trap, {left_out}",
                words.fraction
            )),
        );
    }
    let mut notes = Vec::new();
    for claim in claims {
        let fraction = claim.may_be_fraction();
        let mut cures = Vec::new();
        let mut against = "less than an upper part lets through";
        if claim.reflectance {
            against = "less than the 4 % of a face alone";
            let alone = claim.backed || through.is_none();
            if alone && fraction && !specular_left_out {
                cures.push(format!("if these are fractions, {}", words.fraction));
                cures.push(format!("if the specular beam was left out, {left_out}"));
            }
        } else {
            if fraction {
                cures.push(format!("if these are fractions, {}", words.fraction));
            }
            if claim.may_be_absorbance() {
                cures.push(format!("if this is absorbance, {}", words.absorbance));
            }
            if !claim.infrared && !cures.is_empty() {
                against = "which in the visible only a dark plaque has";
                cures.insert(0, "if it is one, nothing is to be done".into());
            }
        }
        if !cures.is_empty() {
            notes.push(claim.note(against, &cures.join("; ")));
        }
    }
    Ok(notes)
}
