//! Every variety of export that is accepted.

use approx::assert_relative_eq;
use encoding_rs::WINDOWS_1252;
use lightseam::input::spectrum_file::{PlaqueFile, parse_absorption, parse_index, parse_plaques};
use lightseam::material::plaque::Geometry;

fn plaques(text: &str) -> PlaqueFile {
    parse_plaques(text.as_bytes(), "lid.csv").unwrap_or_else(|it| panic!("{it}\n{text}"))
}

/// One plaque of 1.5 mm with 60, 61 and 62 % at 900, 1000 and 1100 nm, whatever the dress.
fn is_the_lid(file: &PlaqueFile, text: &str) {
    assert_eq!(file.plaques.len(), 1, "{text}");
    let plaque = &file.plaques[0];
    assert_relative_eq!(plaque.thickness_m, 1.5e-3, max_relative = 1e-12);
    for (nm, share) in [(900.0, 0.60), (1000.0, 0.61), (1100.0, 0.62)] {
        let value = plaque.transmittance.at("T", nm * 1e-9).unwrap();
        assert!((value - share).abs() < 2e-5, "{nm} nm: {value}\n{text}");
    }
}

#[test]
fn separators_decimals_and_line_ends() {
    for text in [
        "wavelength [nm],T 1.5 mm [%]\n900,60.0\n1000,61.0\n1100,62.0\n",
        "wavelength [nm];T 1,5 mm [%]\n900;60,0\n1000;61,0\n1100;62,0\n",
        "wavelength [nm];T 1.5 mm [%]\r\n900,0;60,0\r\n1000,0;61,0\r\n1100,0;62,0\r\n",
        "wavelength [nm]\tT 1.5 mm [%]\r900\t60.0\r1000\t61.0\r1100\t62.0\r",
        "wavelength [nm]\tT 1.5 mm [%]\n900\t60,0\n1000\t61,0\n1100\t62,0\n",
        "wavelength_nm T_1.5mm_[%]\n900 60.0\n1000 61.0\n1100 62.0\n",
        "wavelength nm   T 1.5 mm %\n900   60,0\n1000  61,0\n1100  62,0\n",
        "\"wavelength, nm\",\"T 1.5 mm, %\"\n\"900\",\"60.0\"\n\"1000\",\"61.0\"\n\"1100\",\"62.0\"\n",
        "wavelength [nm],T 1.5 mm [%],\n900,60.0,\n1000,61.0,\n1100,62.0,\n",
        "wavelength [nm];T 1.5 mm [%]\n\n900;60\n\n1000;61\n1100;62\n\n\nend of data\n",
        "wavelength [nm];T 1.5 mm [%]\n9.00e2;6.0E+01\n1.0e3;61\n1.1e3;62\n",
    ] {
        is_the_lid(&plaques(text), text);
    }
}

#[test]
fn order_and_units_of_the_wavelength() {
    for text in [
        "wavelength [nm];T 1.5 mm [%]\n1100;62\n1000;61\n900;60\n",
        "wavelength [µm];T 1.5 mm [%]\n0.9;60\n1.0;61\n1.1;62\n",
        "wavelength [um];T 1.5 mm [%]\n0.9;60\n1.0;61\n1.1;62\n",
        "wavenumber [1/cm];T 1.5 mm [%]\n9090.909091;62\n10000;61\n11111.11111;60\n",
        "cm-1;T 1.5 mm [%]\n11111.11111;60\n10000;61\n9090.909091;62\n",
        "x units: nanometers\nx;T 1.5 mm [%]\n900;60\n1000;61\n1100;62\n",
    ] {
        is_the_lid(&plaques(text), text);
    }
    let guessed = "wavelength;T 1.5 mm [%]\n0.9;60\n1.0;61\n1.1;62\n";
    let file = plaques(guessed);
    is_the_lid(&file, guessed);
    assert!(
        file.notes[0].text.contains("µm is taken"),
        "{:?}",
        file.notes
    );
}

#[test]
fn scales_of_light() {
    for text in [
        "wavelength [nm];T 1.5 mm [fraction]\n900;0.60\n1000;0.61\n1100;0.62\n",
        "wavelength [nm];T 1.5 mm\n900;0.60\n1000;0.61\n1100;0.62\n",
        "wavelength [nm];T 1.5 mm\n900;60\n1000;61\n1100;62\n",
        "wavelength [nm];absorbance 1.5 mm\n900;0.221849\n1000;0.214670\n1100;0.207608\n",
        "wavelength [nm];Abs 1.5 mm\n900;0.221849\n1000;0.214670\n1100;0.207608\n",
        "mode: transmittance in percent\nwavelength [nm];lid 1.5 mm\n900;60\n1000;61\n1100;62\n",
        "wavelength;transmission 1.5 mm\nnm;%\n900;60\n1000;61\n1100;62\n",
    ] {
        is_the_lid(&plaques(text), text);
    }
    // A dark plaque in percent is not read as a fraction when the unit says so.
    let dark = plaques("wavelength [nm];T 1.5 mm [%]\n900;0.6\n1000;0.5\n");
    assert_relative_eq!(
        dark.plaques[0].transmittance.at("T", 900e-9).unwrap(),
        0.006
    );
}

#[test]
fn encodings() {
    let text = "Prüfling: Deckel\nwavelength [µm];T 1,5 mm [%]\n0,9;60\n1,0;61\n1,1;62\n";
    let utf16 = |big: bool| -> Vec<u8> {
        text.encode_utf16()
            .flat_map(|it| {
                if big {
                    it.to_be_bytes()
                } else {
                    it.to_le_bytes()
                }
            })
            .collect()
    };
    let with = |mark: &[u8], rest: Vec<u8>| [mark.to_vec(), rest].concat();
    let varieties = [
        text.as_bytes().to_vec(),
        with(&[0xEF, 0xBB, 0xBF], text.as_bytes().to_vec()),
        WINDOWS_1252.encode(text).0.into_owned(),
        utf16(false),
        utf16(true),
        with(&[0xFF, 0xFE], utf16(false)),
        with(&[0xFE, 0xFF], utf16(true)),
    ];
    for bytes in varieties {
        let file = parse_plaques(&bytes, "lid.csv").unwrap_or_else(|it| panic!("{it}"));
        is_the_lid(&file, text);
    }
}

#[test]
fn thickness_from_names_and_from_free_lines() {
    for text in [
        "thickness; 1.5 mm\nwavelength [nm];T [%]\n900;60\n1000;61\n1100;62\n",
        "Thickness = 1.5 mm\nwavelength [nm];T [%]\n900;60\n1000;61\n1100;62\n",
        "# thickness: 1500 µm\nwavelength [nm];T [%]\n900;60\n1000;61\n1100;62\n",
        "thickness [mm]; 1.5\nwavelength [nm];T [%]\n900;60\n1000;61\n1100;62\n",
        "wavelength [nm];d=1.5mm T [%]\n900;60\n1000;61\n1100;62\n",
        "wavelength [nm];T(0.15 cm) [%]\n900;60\n1000;61\n1100;62\n",
    ] {
        is_the_lid(&plaques(text), text);
    }
    let text = "plaque;natural;natural;natural\nthickness [mm];1;2;3,5\nwavelength [nm];T a [%];T b [%];T c [%]\n900;70;60;50\n1000;71;61;51\n";
    let file = plaques(text);
    let found: Vec<f64> = file.plaques.iter().map(|it| it.thickness_m * 1e3).collect();
    for (found, expected) in found.iter().zip([1.0, 2.0, 3.5]) {
        assert_relative_eq!(*found, expected, max_relative = 1e-12);
    }
}

#[test]
fn several_plaques_with_transmittance_and_reflectance() {
    let text = "integrating sphere\nwavelength [nm];T 1 mm [%];R 1 mm [%];T 2 mm [%];R 2 mm [%];T 2 mm collimated [%]\n\
                900;52;35;37;40;3\n1000;53;34;38;39;4\n1100;54;33;39;38;5\n";
    let file = plaques(text);
    assert_eq!(file.plaques.len(), 3);
    assert!(file.notes.is_empty(), "{:?}", file.notes);
    let r = |at: usize| {
        file.plaques[at]
            .reflectance
            .as_ref()
            .map(|it| it.at("R", 1000e-9).unwrap())
    };
    assert_eq!((r(0), r(1), r(2)), (Some(0.34), Some(0.39), None));
    let geometry: Vec<Geometry> = file.plaques.iter().map(|it| it.geometry).collect();
    assert_eq!(
        geometry,
        [Geometry::Total, Geometry::Total, Geometry::Collimated]
    );
}

#[test]
fn geometry_from_words() {
    let cases = [
        ("total transmittance", Geometry::Total),
        ("hemispherical", Geometry::Total),
        ("150 mm integrating sphere", Geometry::Total),
        ("accessory: Ulbricht sphere", Geometry::Total),
        ("collimated beam", Geometry::Collimated),
        ("direct transmission", Geometry::Collimated),
        ("in-line transmittance", Geometry::Collimated),
        ("measured on a Monday", Geometry::Unstated),
        ("total and collimated", Geometry::Unstated),
    ];
    for (words, expected) in cases {
        let text = format!("{words}\nwavelength [nm];T 1.5 mm [%]\n900;60\n1000;61\n1100;62\n");
        let file = plaques(&text);
        is_the_lid(&file, &text);
        assert_eq!(file.plaques[0].geometry, expected, "{words}");
    }
    let file = plaques("wavelength [nm];diffuse T 1.5 mm [%]\n900;60\n1000;61\n");
    assert_eq!(file.plaques[0].geometry, Geometry::Total);
    assert!(file.notes[0].text.contains("diffuse"), "{:?}", file.notes);
}

#[test]
fn noise_is_clipped_with_a_remark() {
    let file = plaques("sphere\nwavelength [nm];T 1.5 mm [%]\n900;-0.3\n1000;61\n1100;100.4\n");
    let t = &file.plaques[0].transmittance;
    assert_eq!(t.at("T", 900e-9).unwrap(), 0.0);
    assert_eq!(t.at("T", 1100e-9).unwrap(), 1.0);
    assert!(
        file.notes[0].text.starts_with("2 values"),
        "{:?}",
        file.notes
    );
    assert_eq!(file.notes[0].place.as_ref().unwrap().line, Some(2));
}

#[test]
fn rows_outside_the_range_are_left_out_with_a_remark_and_empty_cells_are_missing() {
    let file = plaques(
        "sphere\nwavelength [nm];T 1 mm [%];T 2 mm [%]\n250;1;1\n900;60;\n1000;61;51\n1100;62;52\n3200;1;1\n",
    );
    assert!(
        file.notes[0].text.starts_with("2 rows outside"),
        "{:?}",
        file.notes
    );
    let range = |at: usize| file.plaques[at].transmittance.range_m().unwrap().0;
    assert_relative_eq!(range(0), 900e-9, max_relative = 1e-12);
    assert_relative_eq!(range(1), 1000e-9, max_relative = 1e-12);
}

#[test]
fn index_and_absorption_tables() {
    let file = parse_index(
        b"# source: somewhere\nwavelength_nm,n,k\n900,1.50,1e-6\n1000,1.49,2e-6\n",
        "nk.csv",
    )
    .unwrap();
    assert_relative_eq!(file.refractive_index.at("n", 1000e-9).unwrap(), 1.49);
    // 4π · 2e-6 / 1 µm.
    assert_relative_eq!(
        file.absorption.at("µa", 1000e-9).unwrap(),
        25.132_741,
        max_relative = 1e-7
    );
    for (unit, factor) in [("1/mm", 1e3), ("1/cm", 1e2), ("cm^-1", 1e2), ("1/m", 1.0)] {
        let text = format!("wavelength [nm];absorption [{unit}]\n900;7\n1000;8\n");
        let file = parse_absorption(text.as_bytes(), "body.csv").unwrap();
        assert_relative_eq!(
            file.absorption.at("µa", 900e-9).unwrap(),
            7.0 * factor,
            max_relative = 1e-12
        );
    }
    let file = parse_absorption(
        b"wavelength_nm,n,k\n900,1.5,0.4\n1000,1.5,0.4\n",
        "soot.csv",
    );
    assert_relative_eq!(
        file.unwrap().absorption.at("µa", 1000e-9).unwrap(),
        5.026_548e6,
        max_relative = 1e-6
    );
}

#[test]
fn data_files_of_the_project_are_read() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("spectra");
    let mut count = 0;
    for substance in std::fs::read_dir(folder).unwrap() {
        let path = substance.unwrap().path();
        // Pairs of polymers are no spectra; `tests/compatibility.rs` reads them.
        if !path.is_dir() || path.ends_with("pairs") {
            continue;
        }
        for file in std::fs::read_dir(path).unwrap() {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|it| it == "csv") {
                let name = path.display().to_string();
                let bytes = std::fs::read(&path).unwrap();
                let file = parse_index(&bytes, &name).unwrap_or_else(|it| panic!("{it}"));
                assert!(file.notes.is_empty(), "{:?}", file.notes);
                assert_eq!(file.absorption.points().len(), 161, "{name}");
                count += 1;
            }
        }
    }
    assert_eq!(count, 8);
}
