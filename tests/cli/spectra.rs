//! `spectra`: the starter's invented plaques give back their truth, and files of each kind answer.

use std::fs;
use std::path::Path;
use std::process::Output;

use resvg::usvg::roxmltree::{Document, Node};
use serde_json::Value;

use crate::support::{lightseam, starter, stdout};

const PLAQUES: &str = "s/spectra/lid-1.0mm.csv s/spectra/lid-2.0mm.csv --index 1.49";

/// Standard error as text.
fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn json(folder: &Path, words: &str) -> Value {
    let output = lightseam(folder, &format!("spectra {words} --json"));
    assert!(output.status.success(), "{}", stderr(&output));
    serde_json::from_str(&stdout(&output)).unwrap()
}

fn error(folder: &Path, words: &str) -> String {
    let output = lightseam(folder, &format!("spectra {words}"));
    assert_eq!(output.status.code(), Some(2), "{}", stdout(&output));
    assert!(stdout(&output).is_empty());
    stderr(&output)
}

/// The truth of the starter's lid, 1/mm: reduced scattering against wavelength in nm.
fn scattering(nm: f64) -> f64 {
    0.2 * (940.0 / nm).powf(1.15)
}

#[test]
fn the_starter_gives_back_its_truth() {
    let folder = starter();
    let found = json(
        folder.path(),
        &format!("{PLAQUES} --at \"940 nm\" --part \"1.5 mm\""),
    );
    assert_eq!(found["reduced_to"], "absorption and scattering");
    let line = &found["lines"][0];
    let get = |key: &str| line[key].as_f64().unwrap();
    let error = get("reduced_scattering_standard_error_per_m");
    assert!(
        (get("reduced_scattering_per_m") - 200.0).abs() < 3.0 * error,
        "{line}"
    );
    assert!(error < 5.0, "{line}");
    let part = &line["part"];
    let value = |key: &str| part[key]["value"].as_f64().unwrap();
    // Between the plaques of 1 and 2 mm: 81.2 and 71.0 %.
    assert!(
        (0.73..0.79).contains(&value("transmitted_in_air")),
        "{part}"
    );
    assert!(
        1.15 * value("transmitted_in_air") < value("delivered_in_contact"),
        "{part}"
    );
}

#[test]
fn the_whole_spectrum_of_the_starter_is_told_with_honest_errors() {
    let folder = starter();
    let output = lightseam(
        folder.path(),
        &format!("spectra {PLAQUES} --part \"1.5 mm\" --out o"),
    );
    assert!(output.status.success(), "{}", stderr(&output));
    let text = fs::read_to_string(folder.path().join("o/coefficients.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heads = reader.headers().unwrap().clone();
    let at = |name: &str| heads.iter().position(|it| it.starts_with(name)).unwrap();
    let (wavelength, absorption) = (at("Wavelength"), at("Absorption"));
    let (reduced, error) = (at("Reduced"), at("Standard error of reduced"));
    let (mut all, mut inside, mut outside) = (0, 0, 0);
    let (mut least, mut most) = (f64::INFINITY, 0.0f64);
    for row in reader.records() {
        let row = row.unwrap();
        let get = |i: usize| row[i].parse::<f64>().unwrap();
        assert_eq!(&row[at("Used")], "yes", "{row:?}");
        let miss = (get(reduced) - scattering(get(wavelength))) / get(error);
        all += 1;
        inside += usize::from(miss.abs() < 2.0);
        outside += usize::from(4.0 < miss.abs());
        least = least.min(get(absorption));
        most = most.max(get(absorption));
    }
    assert_eq!((all, outside), (261, 0));
    assert!(0.95 * f64::from(all) <= inside as f64, "{inside} of {all}");
    assert!(
        (0.002..0.004).contains(&least) && (0.8..1.1).contains(&most),
        "{least} {most}"
    );
    for name in ["coefficients", "plaques", "residuals"] {
        for ending in ["svg", "png"] {
            assert!(folder.path().join(format!("o/{name}.{ending}")).is_file());
        }
    }
    let page = fs::read_to_string(folder.path().join("o/index.html")).unwrap();
    assert!(page.contains("inverse adding-doubling") && !page.contains("NaN"));
}

/// A CSV file of the starter as linked JCAMP-DX blocks in wavenumbers would lose digits; in nm it
/// keeps them.
fn as_jcamp(csv: &str, separator: char, thickness: &str) -> String {
    let comma = |it: &str| it.replace(',', ".");
    let rows: Vec<Vec<String>> = csv
        .lines()
        .map(|line| line.split(separator).map(comma).collect::<Vec<String>>())
        .filter(|cells: &Vec<String>| {
            cells.len() == 3 && cells.iter().all(|it| it.parse::<f64>().is_ok())
        })
        .collect();
    let block = |title: &str, units: &str, column: usize| {
        let points: String = rows
            .iter()
            .map(|it| format!("{}, {}\n", it[0], it[column]))
            .collect();
        format!(
            "##TITLE= {title}\n##JCAMP-DX= 4.24\n##DATA TYPE= UV-VIS SPECTRUM\n##SAMPLING PROCEDURE= \
             integrating sphere\n##XUNITS= NANOMETERS\n##YUNITS= {units}\n##PATHLENGTH= {thickness}\n\
             ##XFACTOR= 1\n##YFACTOR= 1\n##NPOINTS= {}\n##XYPOINTS= (XY..XY)\n{points}##END=\n",
            rows.len()
        )
    };
    let (t, r) = (block("lid T", "%T", 1), block("lid R", "%R", 2));
    format!("##TITLE= lid\n##JCAMP-DX= 4.24\n##DATA TYPE= LINK\n##BLOCKS= 3\n{t}{r}##END=\n")
}

#[test]
fn jcamp_and_csv_of_the_same_plaque_say_the_same() {
    let folder = starter();
    let csv = fs::read_to_string(folder.path().join("s/spectra/lid-1.0mm.csv")).unwrap();
    fs::write(folder.path().join("lid.jdx"), as_jcamp(&csv, ',', "1.0 mm")).unwrap();
    let at = "--index 1.49 --at \"980 nm\" --at \"1064 nm\"";
    let from_csv = json(folder.path(), &format!("s/spectra/lid-1.0mm.csv {at}"));
    let from_jcamp = json(folder.path(), &format!("lid.jdx {at}"));
    assert_eq!(from_csv["data"], "total T and R");
    for (a, b) in [0, 1].map(|i| (&from_csv["lines"][i], &from_jcamp["lines"][i])) {
        for key in ["absorption_per_m", "reduced_scattering_per_m"] {
            let (a, b) = (a[key].as_f64().unwrap(), b[key].as_f64().unwrap());
            assert!((a / b - 1.0).abs() < 1e-6, "{key}: {a} {b}");
        }
    }
}

#[test]
fn transmittance_alone_says_what_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let text = "wavelength [nm];T total [%]\n900;60\n980;61\n1064;62\n";
    fs::write(folder.path().join("lid.csv"), text).unwrap();
    let message = error(folder.path(), "lid.csv");
    assert!(
        message.contains("lid.csv, line 1") && message.contains("--thickness"),
        "{message}"
    );
    let found = json(
        folder.path(),
        "lid.csv --thickness \"2 mm\" --part \"1 mm\"",
    );
    assert_eq!(found["reduced_to"], "effective extinction");
    let line = &found["lines"][2];
    assert_eq!(line["wavelength_nm"].as_f64().unwrap().round(), 980.0);
    // 61 % through 2 mm of index 1.5: -ln(0.61 / 0.9216...) / 2 mm, reflections added up.
    let mu_per_m = line["effective_extinction_per_m"].as_f64().unwrap();
    assert!((200.0..212.0).contains(&mu_per_m), "{mu_per_m}");
    let told = stdout(&lightseam(
        folder.path(),
        "spectra lid.csv --thickness \"2 mm\"",
    ));
    assert!(
        told.contains("effective extinction") && told.contains("--part"),
        "{told}"
    );
}

#[test]
fn bad_values_on_the_command_line_are_refused_with_a_cure() {
    let folder = starter();
    for (words, part) in [
        ("--at 980", "unit"),
        ("--at \"3000 nm\"", "2500 nm"),
        ("--at \"600 nm\"", "700 nm to 2000 nm"),
        ("--part \"1 m\"", "50 mm"),
        ("--index 0.5", "--index"),
        ("--g 1.5", "--g"),
        ("--photometric 0.3", "unit"),
    ] {
        let message = error(folder.path(), &format!("s/spectra/lid-1.0mm.csv {words}"));
        assert!(
            message.contains(part) && message.contains("cure:"),
            "{words}\n{message}"
        );
    }
    let message = error(folder.path(), "nowhere.csv");
    assert!(message.contains("cannot read nowhere.csv"), "{message}");
}

#[test]
fn names_of_many_plaques_stay_beside_their_figure() {
    let folder = tempfile::tempdir().unwrap();
    for i in 1..=16 {
        let spectrum = format!(
            "Thickness;{:.1} mm\nnm;%T;%R\n900;{};8\n1000;{};8\n",
            0.2 * f64::from(i),
            90 - i,
            89 - i
        );
        fs::write(folder.path().join(format!("plaque-{i}.csv")), spectrum).unwrap();
    }
    let files: Vec<String> = (1..=16).map(|i| format!("plaque-{i}.csv")).collect();
    let output = lightseam(
        folder.path(),
        &format!("spectra {} --out o", files.join(" ")),
    );
    assert!(output.status.success(), "{}", stderr(&output));
    let drawn = fs::read_to_string(folder.path().join("o/plaques.svg")).unwrap();
    let document = Document::parse(&drawn).unwrap();
    let number =
        |node: Node<'_, '_>, name: &str| -> f64 { node.attribute(name).unwrap().parse().unwrap() };
    let frame = document
        .descendants()
        .find(|it| it.has_tag_name("clipPath"))
        .and_then(|it| it.first_element_child())
        .unwrap();
    let (right, top) = (
        number(frame, "x") + number(frame, "width"),
        number(frame, "y"),
    );
    let bottom = top + number(frame, "height");
    let mut baselines: Vec<f64> = document
        .descendants()
        .filter(|it| it.has_tag_name("text") && right < number(*it, "x"))
        .map(|it| number(it, "y"))
        .collect();
    assert_eq!(baselines.len(), 32);
    baselines.sort_by(f64::total_cmp);
    assert!(
        top < baselines[0] && baselines[31] <= bottom,
        "{baselines:?}"
    );
    // A line of letters of 12 px.
    assert!(baselines.windows(2).all(|it| it[0] + 1200.0 < it[1]));
}
