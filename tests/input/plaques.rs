//! Plaque files of either kind, in sets: what pairs, what is remarked, and that nothing panics.

use lightseam::input::plaques::{PlaqueSet, PlaqueText, read};
use lightseam::material::plaque::Geometry;
use proptest::prelude::*;

fn of<'t>(file: &'t str, text: &'t str) -> PlaqueText<'t> {
    PlaqueText {
        file,
        bytes: text.as_bytes(),
        thickness_m: None,
    }
}

fn set(texts: &[PlaqueText<'_>]) -> PlaqueSet {
    read(texts).unwrap_or_else(|it| panic!("{it}"))
}

/// A JCAMP-DX block with values in thousandths.
fn block(title: &str, units: &str, head: &str, values: [i32; 3]) -> String {
    let [a, b, c] = values;
    format!(
        "##TITLE= {title}\n##JCAMP-DX= 4.24\n##DATA TYPE= UV-VIS SPECTRUM\n##XUNITS= NANOMETERS\n\
         ##YUNITS= {units}\n{head}##XFACTOR= 1\n##YFACTOR= 0.001\n##FIRSTX= 900\n##LASTX= 920\n\
         ##NPOINTS= 3\n##XYDATA= (X++(Y..Y))\n900 {a} {b} {c}\n##END=\n"
    )
}

const T_CSV: &str = "sphere, total\nnm;T 2 mm [%]\n900;60\n910;61\n920;62\n";
const R_CSV: &str = "nm;R 2 mm [%]\n900;12\n910;13\n920;14\n";

#[test]
fn jcamp_is_known_by_its_content_and_pairs_like_csv() {
    let t = block(
        "lid",
        "TRANSMITTANCE",
        "##PATHLENGTH= 2 mm\n##$ACCESSORY= integrating sphere\n",
        [600, 610, 620],
    );
    let r = block("lid", "REFLECTANCE", "##PATHLENGTH= 0.2\n", [120, 130, 140]);
    let from_jcamp = set(&[of("t.csv", &t), of("r.txt", &r)]);
    let from_csv = set(&[of("t.csv", T_CSV), of("r.csv", R_CSV)]);
    for found in [&from_jcamp, &from_csv] {
        assert_eq!(found.plaques.len(), 1);
        let plaque = &found.plaques[0];
        assert_eq!(plaque.geometry, Geometry::Total);
        assert!((plaque.thickness_m - 2e-3).abs() < 1e-12);
        let at = |it: &lightseam::material::Spectrum| it.at("", 910e-9).unwrap();
        assert!((at(&plaque.transmittance) - 0.61).abs() < 1e-12);
        assert!((at(plaque.reflectance.as_ref().unwrap()) - 0.13).abs() < 1e-12);
        assert!(found.files[0].contains(" + "), "{:?}", found.files);
        assert!(
            found
                .notes
                .iter()
                .any(|it| it.text.contains("taken to be of plaque"))
        );
    }
    // Linked blocks of one file pair without a remark, and mixed kinds pair too.
    let linked =
        format!("##TITLE= both\n##JCAMP-DX= 4.24\n##DATA TYPE= LINK\n##BLOCKS= 3\n{t}{r}##END=\n");
    let found = set(&[of("both.jdx", &linked)]);
    assert!(found.plaques[0].reflectance.is_some());
    assert!(
        found
            .notes
            .iter()
            .all(|it| !it.text.contains("taken to be"))
    );
    assert!(
        set(&[of("t.csv", T_CSV), of("r.jdx", &r)]).plaques[0]
            .reflectance
            .is_some()
    );
}

#[test]
fn absorbance_and_titles_with_a_thickness_are_read() {
    let a = block("lid 1.5 mm", "ABSORBANCE", "", [301, 301, 301]);
    let found = set(&[of("a.jdx", &a)]);
    assert!((found.plaques[0].thickness_m - 1.5e-3).abs() < 1e-12);
    let t = found.plaques[0].transmittance.at("", 900e-9).unwrap();
    assert!((t - 10f64.powf(-0.301)).abs() < 1e-12);
}

#[test]
fn a_thickness_beside_the_file_stands_in_and_does_not_overrule() {
    let stated = |text| PlaqueText {
        thickness_m: Some(3e-3),
        ..of("x.csv", text)
    };
    let found = set(&[stated("nm;T total [%]\n900;60\n910;61\n")]);
    assert_eq!(found.plaques[0].thickness_m, 3e-3);
    assert!(found.notes.is_empty(), "{:?}", found.notes);
    let found = set(&[stated(T_CSV)]);
    assert_eq!(found.plaques[0].thickness_m, 2e-3);
    assert!(
        found.notes[0].text.contains("is not used"),
        "{:?}",
        found.notes
    );
    let t = block("lid", "TRANSMITTANCE", "", [600, 610, 620]);
    assert_eq!(set(&[stated(&t)]).plaques[0].thickness_m, 3e-3);
}

#[test]
fn collimated_and_total_of_one_thickness_stay_two_plaques() {
    let text = "nm;T 1 mm total [%];T 1 mm collimated [%];R 1 mm [%]\n900;60;5;20\n910;61;6;21\n";
    let found = set(&[of("x.csv", text)]);
    assert_eq!(found.plaques.len(), 2);
    assert!(found.plaques[0].reflectance.is_some());
    assert!(found.plaques[1].reflectance.is_none());
}

#[test]
fn names_of_samples_are_compared() {
    let sample = |name: &str, thickness: &str| {
        format!("Sample;{name}\nnm;T {thickness} mm total [%]\n900;60\n910;61\n")
    };
    let pair = |a: &str, b: &str| {
        let (a, b) = (sample(a, "1"), sample(b, "2"));
        read(&[of("one.csv", &a), of("two.csv", &b)])
    };
    let remark = "may be another material";
    let remarked = |a: &str, b: &str| {
        let found = pair(a, b).unwrap_or_else(|it| panic!("{it}"));
        found.notes.iter().any(|it| it.text.contains(remark))
    };
    assert!(!remarked(
        "lid natural 1 mm",
        "lid natural 2.0 mm, plaque no. 7"
    ));
    assert!(remarked("lid natural", "body black"));
    assert!(!remarked("PA66-GF30 nat", "PA66 GF30 nat"));
    for (a, b) in [("PA6 natural", "PC natural"), ("PA6", "pa66 gf30")] {
        let error = pair(a, b).unwrap_err();
        assert!(error.to_string().contains("this is a plaque of"), "{error}");
    }
    // File names count where the header says nothing.
    let error = read(&[of("pa6-2mm.csv", T_CSV), of("runs/pbt-2mm.csv", R_CSV)]).unwrap_err();
    assert_eq!(error.place().unwrap().file, "runs/pbt-2mm.csv");
}

#[test]
fn free_lines_above_a_row_of_units_are_no_column_names() {
    let text =
        "Thickness,1.0 mm\nConditioning,23 °C, 50 % RH\nnm,%T,%R\n900,60.5,20\n910,61,20.5\n";
    let found = set(&[of("x.csv", text)]);
    // "%T" says nothing and gives way to the file's name; a free line would have stood.
    assert_eq!(found.plaques[0].name, "x");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever two files hold, reading them answers, and what is accepted makes sense.
    #[test]
    fn sets_never_panic(
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0..4u8), 0..8),
        which in 0..3usize,
    ) {
        let t = block("PA6 2 mm", "TRANSMITTANCE", "##PATHLENGTH= 2 mm\n", [600, 610, 620]);
        let r = block("PA6 2 mm", "REFLECTANCE", "##PATHLENGTH= 2 mm\n", [120, 130, 140]);
        let originals = [t.as_str(), R_CSV, r.as_str()];
        let mut bytes = originals[which].as_bytes().to_vec();
        for (index, byte, kind) in edits {
            let at = index.index(bytes.len() + 1);
            match kind {
                0 => bytes.insert(at, byte),
                1 => bytes.insert(at, b";,.\t\n #-0[]=%"[usize::from(byte) % 13]),
                2 if at < bytes.len() => bytes[at] = byte,
                _ if at < bytes.len() => {
                    bytes.remove(at);
                }
                _ => {}
            }
        }
        let odd = PlaqueText { file: "odd", bytes: &bytes, thickness_m: Some(1e-3) };
        if let Ok(found) = read(&[of("t.csv", T_CSV), odd]) {
            for plaque in found.plaques {
                prop_assert!((1e-6..=50e-3).contains(&plaque.thickness_m));
                for (_, share) in plaque.transmittance.points() {
                    prop_assert!((0.0..=1.0).contains(&share));
                }
            }
        }
    }
}

#[test]
fn columns_that_say_nothing_take_the_name_of_their_file() {
    let one = "sphere\nthickness; 1 mm\nnm;%T;%R\n900;60;20\n910;61;20\n";
    let two = "sphere\nthickness; 2 mm\nnm;T total [%]\n900;50\n910;51\n";
    let own = "sphere\nnm;T 3 mm [%];T body [%]\n900;40;10\n910;41;11\n";
    let found = read(&[
        of("spectra/lid-1.csv", one),
        of("lid-2.txt", two),
        PlaqueText {
            thickness_m: Some(4e-3),
            ..of("own.csv", own)
        },
    ])
    .unwrap_or_else(|it| panic!("{it}"));
    let names: Vec<&str> = found.plaques.iter().map(|it| it.name.as_str()).collect();
    assert_eq!(names, ["lid-1", "lid-2", "T 3 mm [%]", "T body [%]"]);
    let pair = "sphere\nnm;T 1 mm [%];T 2 mm [%]\n900;60;50\n910;61;51\n";
    let found = set(&[of("lid.csv", pair)]);
    assert_eq!(found.plaques[1].name, "T 2 mm [%]");
    let alike = "thickness; 1 mm; 2 mm\nnm;%T total;%T total\n900;60;50\n910;61;51\n";
    let found = set(&[of("lid.csv", alike)]);
    let names: Vec<&str> = found.plaques.iter().map(|it| it.name.as_str()).collect();
    assert_eq!(names, ["lid, 1 mm", "lid, 2 mm"]);
}

#[test]
fn a_bad_value_of_a_jcamp_file_is_named_by_its_own_line() {
    let file = |data: &str| {
        format!(
            "##TITLE= lid\n##JCAMP-DX= 4.24\n##DATA TYPE= UV-VIS SPECTRUM\n##XUNITS= NANOMETERS\n\
             ##YUNITS= TRANSMITTANCE\n##PATHLENGTH= 2 mm\n##XFACTOR= 1\n##YFACTOR= 0.001\n\
             ##FIRSTX= 900\n##LASTX= 980\n##NPOINTS= 9\n##XYDATA= (X++(Y..Y))\n{data}\n##END=\n"
        )
    };
    let line = |text: &str| {
        let error = read(&[of("lid.jdx", text)]).unwrap_err();
        let place = error.place().unwrap();
        assert_eq!(place.file, "lid.jdx");
        (place.line.unwrap(), error.to_string())
    };
    // Data begin on line 13; the value too large stands on the second line of them.
    let (at, message) = line(&file("900 600 610 620\n930 630 1640 650\n960 660 670 680"));
    assert_eq!(at, 14, "{message}");
    assert!(
        message.contains("940 nm") && message.contains("164.0 %"),
        "{message}"
    );
    let (at, _) = line(&file("900 600 610 620\n930 630 640 650\n960 660 -70 680"));
    assert_eq!(at, 15);
    // In differences a line begins with the last ordinate of the line before, which is its check.
    let (at, _) = line(&file("900F00J0J0\n920F20J0J0\n940F40J0A640J0\n970A650J0"));
    assert_eq!(at, 15);
    // Wavelengths written the other way round keep their lines.
    let turned = file("980 600 610 620\n950 630 640 650\n920 660 1670 680")
        .replace("##FIRSTX= 900", "##FIRSTX= 980")
        .replace("##LASTX= 980", "##LASTX= 900");
    let (at, message) = line(&turned);
    assert_eq!(at, 15, "{message}");
    assert!(message.contains("910 nm"), "{message}");
}

#[test]
fn two_plaques_of_one_thickness_say_it_twice() {
    let text = |csv: &'static str| PlaqueText {
        file: "two.csv",
        bytes: csv.as_bytes(),
        thickness_m: Some(2e-3),
    };
    let count = |csv| read(&[text(csv)]).map(|it| it.plaques.len());
    // Bare names: the second may be the reflectance.
    for names in ["nm,%T,%T", "nm,%T,%t", "nm,T [%],R [%],R [%]"] {
        let last = if names.ends_with("R [%]") { ",20" } else { "" };
        let csv = format!("total\n{names}\n900,60,20{last}\n980,62,21{last}\n");
        let error = count(csv.leak()).unwrap_err().to_string();
        assert!(error.contains("are both called"), "{error}");
        assert!(error.contains("two.csv, line 2"), "{error}");
    }
    let rows = "900,60,58\n980,62,61\n";
    let named = |names: &str| count(format!("total\n{names}\n{rows}").leak()).unwrap();
    assert_eq!(named("nm,T 1.5 mm [%],T 1.5 mm [%]"), 2);
    assert_eq!(named("thickness [mm],1.5,2\nnm,%T,%T"), 2);
}
