//! Values under a heading of percent that are fractions or absorbance: refused, warned of, or left.

use lightseam::error::input::SpectrumProblem;
use lightseam::error::{InputProblem, Problem};
use lightseam::input::plaques::{PlaqueText, read};
use lightseam::input::{colour_file, library};
use lightseam::material::{Sourced, Spectrum, Status};
use lightseam::optics::reduction::{Assumptions, reduce};

use crate::support::project;

fn text(text: &str) -> PlaqueText<'_> {
    PlaqueText {
        file: "a.csv",
        bytes: text.as_bytes(),
        thickness_m: Some(2e-3),
    }
}

/// What is said of a file; the suspicion alone.
fn said(csv: &str) -> Vec<String> {
    let set = read(&[text(csv)]).unwrap();
    let notes = set.notes.iter().map(|it| it.text.clone());
    notes.filter(|it| it.contains("says percent")).collect()
}

fn refused(csv: &str) -> String {
    let error = read(&[text(csv)]).unwrap_err();
    assert!(
        matches!(
            error.problem(),
            Problem::Input(InputProblem::Spectrum(
                SpectrumProblem::FractionAsPercent { .. }
            ))
        ),
        "{error}"
    );
    error.cure_text().unwrap().into()
}

#[test]
fn fractions_of_both_under_percent_are_refused_with_the_heading_to_write() {
    let rows = "900;0.62;0.21\n980;0.64;0.20\n";
    let cure = refused(&format!("total\nnm;%T;%R\n{rows}"));
    assert!(cure.contains("\"T [fraction]\"") && cure.contains("\"specular; excluded\""));
    refused(&format!("total\nnm;T [%];R [%]\n{rows}"));
    // The heading that the cure names is right.
    let csv = format!("total\nnm;T [fraction];R [fraction]\n{rows}");
    let set = read(&[text(&csv)]).unwrap();
    assert!((set.plaques[0].transmittance.at("T", 980e-9).unwrap() - 0.64).abs() < 1e-12);
    // A black with the specular beam trapped may be as dark as that.
    assert!(said(&format!("specular; excluded\nnm;%T;%R\n{rows}")).len() <= 1);
}

#[test]
fn jcamp_says_it_in_its_own_words() {
    let block = |title: &str, units: &str, values: [f64; 2]| {
        format!(
            "##TITLE= {title}\n##JCAMP-DX= 4.24\n##DATA TYPE= UV-VIS SPECTRUM\n##SAMPLING PROCEDURE= \
             integrating sphere\n##XUNITS= NANOMETERS\n##YUNITS= {units}\n##PATHLENGTH= 2 mm\n\
             ##XFACTOR= 1\n##YFACTOR= 1\n##NPOINTS= 2\n##XYPOINTS= (XY..XY)\n900, {}\n980, {}\n##END=\n",
            values[0], values[1]
        )
    };
    let linked = |t: &str, r: &str| {
        let (t, r) = (block("T", t, [0.62, 0.64]), block("R", r, [0.21, 0.2]));
        format!("##TITLE= lid\n##JCAMP-DX= 4.24\n##DATA TYPE= LINK\n##BLOCKS= 3\n{t}{r}##END=\n")
    };
    let cure = refused(&linked("%T", "%R"));
    assert!(cure.contains("##YUNITS= TRANSMITTANCE"), "{cure}");
    let good = linked("TRANSMITTANCE", "REFLECTANCE");
    assert!(said(&good).is_empty());
}

#[test]
fn what_may_be_a_dark_plaque_is_read_with_a_warning() {
    let warned = |csv: &str, words: &str| {
        let said = said(csv);
        assert_eq!(said.len(), 1, "{csv}: {said:?}");
        assert!(said[0].contains(words), "{said:?}");
    };
    // Transmittance alone, as a fraction; as absorbance, with a reflectance that is right.
    warned("total\nnm;%T\n900;0.62\n980;0.64\n", "[fraction]");
    warned(
        "total\nnm;%T;%R\n900;0.21;16\n980;1.9;15\n",
        "\"absorbance\"",
    );
    warned("total\nnm;%T\n900;1.2\n980;3.1\n", "\"absorbance\"");
    // Fractions beside a reflectance in percent, from the visible on where nothing comes through, and
    // where it is light all over.
    warned(
        "nm;T total [%];R [%]\n500;0.00;4.6\n780;0.31;8.2\n980;0.62;11\n",
        "[fraction]",
    );
    warned("total\nnm;%T;%R\n500;0.31;8.2\n700;0.62;11\n", "[fraction]");
    // The visible alone from nothing to 0.4: a black, or 40 % as a fraction.
    warned(
        "total\nnm;%T;%R\n500;0.00;4.6\n700;0.4;4.7\n",
        "which in the visible only a dark plaque has: if it is one, nothing is to be done; if these are \
         fractions, write [fraction]",
    );
    // The same where something comes through everywhere, which could be absorbance too, and alone.
    for csv in [
        "total\nnm;%T;%R\n400;0.03;4.6\n700;0.09;4.7\n",
        "total\nnm;%T;%R\n400;0.03;4.6\n700;0.9;4.7\n",
        "total\nnm;%T\n400;0.05\n700;0.6\n",
    ] {
        warned(csv, "if it is one, nothing is to be done; if th");
    }
    // Colour over black, as a fraction; or at 45°/0°, which the file should say.
    let black = "nm;R over black [%]\n400;0.05\n500;0.05\n600;0.05\n700;0.06\n";
    let colour = |csv: &str| {
        let (_, notes) = colour_file::read(&text(csv)).unwrap();
        notes
            .iter()
            .filter(|it| it.text.contains("says percent"))
            .count()
    };
    assert_eq!(colour(black), 1);
    assert_eq!(colour(&format!("specular excluded\n{black}")), 0);
    assert_eq!(colour(&format!("Geometry; 45°/0°\n{black}")), 0);
}

#[test]
fn what_a_plaque_can_be_is_not_warned_of() {
    for csv in [
        // A black that lets nothing through, specular included.
        "total\nnm;%T;%R\n900;0.00;4.3\n980;0.02;4.4\n",
        "total\nnm;%T\n900;0.00\n980;0.03\n",
        // Opaque in the visible, clear to the laser.
        "total\nnm;%T;%R\n500;0.00;4.6\n700;0.04;4.7\n",
        "total\nnm;%T\n700;0.1\n980;40\n",
        // Dark, and not as absorbance is: nothing at all somewhere.
        "total\nnm;%T\n900;0.01\n980;3.0\n",
        // No heading of percent.
        "total\nnm;T [fraction];R [fraction]\n900;0.62;0.21\n980;0.64;0.20\n",
        "total\nnm;absorbance\n900;0.2\n980;1.9\n",
    ] {
        assert!(said(csv).is_empty(), "{csv}: {:?}", said(csv));
    }
}

/// Below its face nothing reflects: what the reduction says, which knows index and sphere.
#[test]
fn a_reflectance_below_that_of_the_face_is_remarked_where_the_specular_beam_should_be() {
    let remarks = |reflected: f64, assumed: &Assumptions| {
        let rows: String = (0..20)
            .map(|i| format!("{};60;{reflected}\n", 900 + 10 * i))
            .collect();
        let csv = format!("total\nnm;%T;%R\n{rows}");
        let set = read(&[text(&csv)]).unwrap();
        let n = Sourced::new(Spectrum::constant(1.5), "test", Status::Stated);
        let found = reduce(&set.plaques, n, "a.csv", assumed).unwrap();
        let low = |it: &&String| it.contains("its face alone reflects 4.0 %");
        found.remarks.iter().filter(low).count()
    };
    let usual = Assumptions::default();
    // ((1.5 − 1) / (1.5 + 1))² = 4 %, less three times 0.3 %.
    assert_eq!(remarks(3.0, &usual), 1);
    assert_eq!(remarks(0.2, &usual), 1);
    assert_eq!(remarks(3.2, &usual), 0);
    let mut trapped = Assumptions::default();
    trapped.sphere.specular_included = false;
    assert_eq!(remarks(0.2, &trapped), 0);
}

/// No file that ships is under suspicion.
#[test]
fn files_that_ship_are_not_suspected() {
    let starter = project("src/cli/starter");
    let mut count = 0;
    for folder in ["spectra", "colour", "colour/batches"] {
        for entry in std::fs::read_dir(starter.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|it| it == "csv") {
                let bytes = std::fs::read(&path).unwrap();
                let name = path.display().to_string();
                let text = PlaqueText {
                    file: &name,
                    bytes: &bytes,
                    thickness_m: None,
                };
                let set = read(&[text]).unwrap();
                let suspected = set.notes.iter().any(|it| it.text.contains("says percent"));
                assert!(!suspected, "{name}");
                let n = Sourced::new(Spectrum::constant(1.5), "test", Status::Stated);
                let found = reduce(&set.plaques, n, &name, &Assumptions::default()).unwrap();
                let low = found.remarks.iter().any(|it| it.contains("face alone"));
                assert!(!low, "{name}: {:?}", found.remarks);
                count += 1;
            }
        }
    }
    assert_eq!(count, 15);
    for id in library::ids() {
        let (_, notes) = library::material(id).unwrap().unwrap();
        assert!(
            notes.iter().all(|it| !it.text.contains("says percent")),
            "{id}"
        );
    }
}
