//! The JCAMP-DX reader against the printed examples of the standard, public domain files and an
//! independent reader.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use lightseam::input::jcamp::{JcampBlock, JcampFile, Quantity, read};
use proptest::prelude::*;

mod refusals;

/// A UV/VIS block with this data record and these ends.
fn file(head: &str, data: &str) -> String {
    format!(
        "##TITLE= lid\n##JCAMP-DX= 4.24\n##DATA TYPE= UV/VIS SPECTRUM\n{head}\n\
         ##XYDATA= (X++(Y..Y))\n{data}\n##END=\n"
    )
}

/// Ten points at 1 to 10 µm.
fn ten(data: &str) -> String {
    file(
        "##XUNITS= MICROMETERS\n##YUNITS= ABSORBANCE\n##FIRSTX= 1\n##LASTX= 10\n##NPOINTS= 10",
        data,
    )
}

fn only(text: &str) -> JcampBlock {
    let JcampFile { mut blocks, notes } = read(text, "lid.jdx").unwrap();
    assert_eq!((blocks.len(), notes.len()), (1, 0));
    blocks.remove(0)
}

/// McDonald and Wilks (1988), Table VIIb: the same ten ordinates in every form.
#[test]
fn printed_example_in_every_form() {
    for data in [
        "1 1 2 3 3 2 1 0 -1 -2 -3",
        "1+1+2+3+3+2+1+0-1-2-3",
        "1 1 2 3 3 2 1 0-1-2-3",
        "1A BCCBA@abc",
        "1 1BCCBA@abc",
        "1 1JJ%jjjjjj",
        "1 1JT%jX",
        "1AJT%jX\n10c",
        "1, 1, 2, 3, 3, 2, 1, 0, -1, -2, -3 $$ by commas",
    ] {
        let found = only(&ten(data));
        let expected = [1.0, 2.0, 3.0, 3.0, 2.0, 1.0, 0.0, -1.0, -2.0, -3.0];
        assert_eq!(found.values, expected, "{data}");
        assert_abs_diff_eq!(found.wavelength_m[0], 1e-6, epsilon = 1e-21);
        assert_abs_diff_eq!(found.wavelength_m[9], 10e-6, epsilon = 1e-20);
        assert_eq!(found.quantity, Quantity::Absorbance);
    }
}

/// McDonald and Wilks (1988), Table VI, with the two misprints of its DIFDUP line corrected as in
/// J. I. Baumbach et al., Pure Appl. Chem. 73 (2001) 1765.
#[test]
fn printed_spectrum_in_three_forms() {
    let expected = [
        0, 0, 0, 0, 2, 4, 4, 4, 7, 5, 4, 4, 5, 5, 7, 10, 11, 11, 6, 5, 7, 6, 9, 9, 7, 10, 10, 9,
        10, 11, 12, 15, 16, 16, 14, 17, 38, 38, 35, 38, 42, 47, 54, 59, 66, 75, 78, 88, 96, 104,
        110, 121, 128,
    ];
    let head = "##XUNITS= 1/CM\n##YUNITS= ABSORBANCE\n##YFACTOR= 0.001\n##FIRSTX= 599.860\n\
                ##LASTX= 700.158\n##NPOINTS= 53";
    for data in [
        "599.860 0 0 0 0 2 4 4 4 7 5 4 4 5 5 7 10 11 11 6 5 7 6 9 9 7\n\
         648.081 10 10 9 10 11 12 15 16 16 14 17 38 38 35 38 42 47 54\n\
         682.799  59  66  75  78  88  96 104 110 121 128",
        "599.860@VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P\n700.158A28",
        "599.860@VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P",
    ] {
        let found = only(&file(head, data));
        assert_eq!(found.values.len(), 53);
        // Rising wavenumber is falling wavelength.
        for (value, expected) in found.values.iter().rev().zip(expected) {
            assert_abs_diff_eq!(*value, 0.001 * f64::from(expected), epsilon = 1e-15);
        }
        let longest = found.wavelength_m[52];
        assert_relative_eq!(longest, 1e-2 / 599.860, max_relative = 1e-14);
        assert_relative_eq!(found.wavelength_m[0], 1e-2 / 700.158, max_relative = 1e-14);
    }
}

struct Known {
    text: &'static str,
    points: usize,
    /// Abscissae of the file's ends, in its unit, and wavelength times abscissa or over it.
    ends: [f64; 2],
    per_centimetre: bool,
    quantity: Quantity,
    /// First and last ordinate in the order of the file, and the sum of all.
    first: f64,
    last: f64,
    sum: f64,
}

/// Ordinates by the Python package `jcamp` 1.3.2, except fixinc2 and jtpolys (which it cannot
/// read): plain integers added up apart.
#[test]
fn public_domain_files() {
    let cases = [
        Known {
            text: include_str!("jcamp/dupinc1.jdx"),
            points: 440,
            ends: [250.0, 469.5],
            per_centimetre: false,
            quantity: Quantity::Absorbance,
            first: 1.1663,
            last: 0.1626,
            sum: 164.7604,
        },
        Known {
            text: include_str!("jcamp/dupdec2.jdx"),
            points: 3951,
            ends: [4400.0, 450.0],
            per_centimetre: true,
            quantity: Quantity::Transmittance,
            first: 0.5839,
            last: 0.3744,
            sum: 2328.2658,
        },
        Known {
            text: include_str!("jcamp/pacdec1.jdx"),
            points: 3301,
            ends: [4000.0, 700.0],
            per_centimetre: true,
            quantity: Quantity::Transmittance,
            first: 1.0160,
            last: 1.0124,
            sum: 3300.8899,
        },
        Known {
            text: include_str!("jcamp/fixinc2.jdx"),
            points: 3601,
            ends: [400.0, 4000.0],
            per_centimetre: true,
            quantity: Quantity::Absorbance,
            first: 0.3487,
            last: 0.1275,
            sum: 876.7803,
        },
        Known {
            text: include_str!("jcamp/jtpolys.jdx"),
            points: 1844,
            ends: [447.484259, 4002.28378],
            per_centimetre: true,
            quantity: Quantity::Transmittance,
            first: 411_726_930.0 * 2.384185791e-9,
            last: 413_814_057.0 * 2.384185791e-9,
            sum: 752_524_516_701.0 * 2.384185791e-9,
        },
        Known {
            text: include_str!("jcamp/jtpolysd.jdx"),
            points: 1844,
            ends: [447.484259, 4002.284],
            per_centimetre: true,
            quantity: Quantity::Transmittance,
            first: 0.9833762491278052,
            last: 0.9883611820315464,
            sum: 1797.3435369169165,
        },
    ];
    for known in cases {
        let found = only(known.text);
        assert_eq!(found.quantity, known.quantity);
        assert_eq!(found.values.len(), known.points);
        let sum: f64 = found.values.iter().sum();
        assert_relative_eq!(sum, known.sum, max_relative = 1e-12);
        let wavelengths = known.ends.map(|end| {
            if known.per_centimetre {
                1e-2 / end
            } else {
                end * 1e-9
            }
        });
        let falling = wavelengths[1] < wavelengths[0];
        let ends = [0, known.points - 1].map(|at| (found.wavelength_m[at], found.values[at]));
        let [first, last] = if falling { [ends[1], ends[0]] } else { ends };
        assert_relative_eq!(first.0, wavelengths[0], max_relative = 1e-12);
        assert_relative_eq!(last.0, wavelengths[1], max_relative = 1e-12);
        assert_abs_diff_eq!(first.1, known.first, epsilon = 1e-12);
        assert_abs_diff_eq!(last.1, known.last, epsilon = 1e-12);
        assert!(found.wavelength_m.windows(2).all(|pair| pair[0] < pair[1]));
    }
}

/// The same spectrum in plain numbers and in differences with repeats.
#[test]
fn one_spectrum_in_two_forms() {
    let plain = only(include_str!("jcamp/jtpolys.jdx"));
    let differences = only(include_str!("jcamp/jtpolysd.jdx"));
    // The two files state different factors.
    let ratio = 2.3884185791e-9 / 2.384185791e-9;
    for (plain, other) in plain.values.iter().zip(&differences.values) {
        assert_relative_eq!(plain * ratio, *other, max_relative = 1e-12);
    }
}

#[test]
fn linked_blocks_are_all_read() {
    let found = read(include_str!("jcamp/blckpac1.jdx"), "blckpac1.jdx").unwrap();
    assert_eq!(found.blocks.len(), 5);
    // Sums by the Python package jcamp 1.3.2.
    let sums = [
        10.275622129440201,
        10.540892720222363,
        10.8182257413863,
        10.942085742950326,
        11.10473227500904,
    ];
    for (block, expected) in found.blocks.iter().zip(sums) {
        assert_eq!(block.values.len(), 176);
        assert_eq!(block.quantity, Quantity::Absorbance);
        assert_eq!(block.data_type, "UV/VIS SPECTRUM");
        let sum: f64 = block.values.iter().sum();
        assert_relative_eq!(sum, expected, max_relative = 1e-12);
        assert_abs_diff_eq!(block.wavelength_m[0], 350e-9, epsilon = 1e-21);
    }
    assert_eq!(found.blocks[1].line, 65);
    assert!(found.blocks[1].title.ends_with("(t2)"));
}

#[test]
fn a_peak_table_beside_a_spectrum_is_passed_over_with_a_note() {
    let both = format!(
        "##TITLE= all\n##DATA TYPE= LINK\n##BLOCKS= 2\n{}{}##END=\n",
        include_str!("jcamp/pktab1.jdx"),
        ten("1 1JT%jX")
    );
    let found = read(&both, "both.jdx").unwrap();
    assert_eq!(found.blocks.len(), 1);
    let note = "line 4: the block \"Cholesterol (pktab1.jdx)\" holds a peak table, not a spectrum";
    assert_eq!(found.notes, [note]);
}

#[test]
fn pairs_at_any_spacing() {
    let text = "##TITLE= black body\n##JCAMP-DX= 5.00 $$ own export\n##DATA TYPE= NIR\n\
        ##XUNITS= Wavelength (nm)\n##YUNITS= %R\n##XFACTOR= 0.1\n##YFACTOR= 0.1\n##NPOINTS= 4\n\
        ##XYPOINTS= (XY..XY)\n9800, 41; 9400, 43.5\n 10640 , 3.9E+01 8080,? $$ out of range\n\
        ##END=\n";
    let found = only(text);
    assert_eq!(found.quantity, Quantity::Reflectance);
    let expected = [(940e-9, 0.0435), (980e-9, 0.041), (1064e-9, 0.039)];
    for ((wavelength, value), expected) in
        found.wavelength_m.iter().zip(&found.values).zip(expected)
    {
        assert_abs_diff_eq!(*wavelength, expected.0, epsilon = 1e-18);
        assert_abs_diff_eq!(*value, expected.1, epsilon = 1e-15);
    }
    assert_eq!(found.values.len(), 3);
    assert_eq!(found.notes, ["1 points marked as missing are left out"]);
}

#[test]
fn units_and_shares() {
    let with = |x: &str, y: &str, data: &str| {
        only(&file(
            &format!("##XUNITS= {x}\n##YUNITS= {y}\n##FIRSTX= 900\n##LASTX= 902\n##NPOINTS= 3"),
            data,
        ))
    };
    for name in ["NANOMETERS", "nm", "Nanometres", "WAVELENGTH (NM)"] {
        assert_abs_diff_eq!(with(name, "T", "900 0.1 0.2 0.3").wavelength_m[1], 901e-9);
    }
    for name in ["1/CM", "cm-1", "cm^-1", "WAVENUMBERS"] {
        let found = with(name, "T", "900 0.1 0.2 0.3").wavelength_m[1];
        assert_relative_eq!(found, 1e-2 / 901.0, max_relative = 1e-15);
    }
    for name in ["MICROMETERS", "µm", "μm", "um", "MICRONS"] {
        let found = with(name, "T", "900 0.1 0.2 0.3").wavelength_m[1];
        assert_relative_eq!(found, 901e-6, max_relative = 1e-15);
    }
    // A dark part in per cent stays per cent; no sign and large values are noted.
    let dark = with("nm", "% TRANSMITTANCE", "900 0.1 0.2 0.3");
    assert_relative_eq!(dark.values[2], 0.003, max_relative = 1e-14);
    assert_eq!(dark.transmittance().unwrap(), dark.values);
    let bright = with("nm", "TRANSMITTANCE", "900 61 62 63");
    assert_relative_eq!(bright.values[2], 0.63, max_relative = 1e-14);
    assert_eq!(
        bright.notes,
        ["##YUNITS= gives no per cent sign, but the values reach 63: read as per cent"]
    );
    let odd = with("nm", "REFLECTANCE", "900 0.9 1.2 1.1");
    assert_eq!(
        odd.notes,
        ["the values reach 1.2, more than all of the light; read as shares"]
    );
    assert!(odd.transmittance().is_none());
    let absorbance = with("nm", "A", "900 0 1 2").transmittance().unwrap();
    assert_relative_eq!(absorbance[2], 0.01, max_relative = 1e-14);
}

#[test]
fn thickness_where_it_is_stated() {
    let with = |record: &str| {
        let head = format!(
            "##XUNITS= nm\n##YUNITS= T\n{record}\n##FIRSTX= 900\n##LASTX= 902\n##NPOINTS= 3"
        );
        only(&file(&head, "900 0.1 0.2 0.3"))
    };
    for (record, expected_m) in [
        ("##PATH LENGTH= 5 CM", 0.05),
        ("##PATHLENGTH= 0.15", 1.5e-3),
        ("##$THICKNESS= 1.5 mm", 1.5e-3),
        ("##THICKNESS= 250 µm", 250e-6),
    ] {
        let found = with(record).thickness_m.unwrap();
        assert_relative_eq!(found, expected_m, max_relative = 1e-14);
    }
    let unclear = with("##$THICKNESS= 1.5");
    assert_eq!(unclear.thickness_m, None);
    assert_eq!(
        unclear.notes,
        ["line 6: ##$THICKNESS= 1.5 is not a thickness with a unit (mm, cm, µm) and was not used"]
    );
    assert_eq!(with("##$OPERATOR= nobody").thickness_m, None);
}

/// Old and odd line ends, a byte-order mark, labels in any spelling.
#[test]
fn spelling_and_line_ends_do_not_count() {
    let plain = ten("1 1JT%jX");
    let expected = only(&plain);
    for text in [
        plain.replace('\n', "\r\n"),
        plain.replace('\n', "\r"),
        format!("\u{feff}\n$$ made by hand\n{plain}\u{1a}"),
        plain.replace("##DATA TYPE", "##Data_Type"),
        plain.replace("##FIRSTX", "## first-x"),
    ] {
        let found = only(&text);
        assert_eq!(found.values, expected.values);
        assert_eq!(found.wavelength_m, expected.wavelength_m);
        assert_eq!(found.data_type, expected.data_type);
    }
}

/// Writes ordinates in one of the standard's forms, lines of at most `width` ordinates.
fn encode(ordinates: &[i64], form: usize, width: usize) -> String {
    let pseudo = |value: i64, zero: char, plus: u8, minus: u8| {
        let digits = value.unsigned_abs().to_string();
        let first = digits.as_bytes()[0] - b'0';
        let letter = match (first, value < 0) {
            (0, _) => zero,
            (digit, false) => char::from(plus + digit - 1),
            (digit, true) => char::from(minus + digit - 1),
        };
        format!("{letter}{}", &digits[1..])
    };
    let squeezed = |value: i64| pseudo(value, '@', b'A', b'a');
    // A line of differences needs one, or the next line has nothing to check.
    let width = if form < 3 { width } else { width.max(2) };
    let mut lines = Vec::new();
    let mut at = 0;
    while at < ordinates.len() {
        let end = ordinates.len().min(at + width);
        let line = &ordinates[at..end];
        let body: String = match form {
            0 => line.iter().map(|y| format!(" {y}")).collect(),
            1 => line.iter().map(|y| format!("{y:+}")).collect(),
            2 => line.iter().map(|y| squeezed(*y)).collect(),
            _ => {
                // Differences, the ordinate before the line repeated as a check.
                let from = at.saturating_sub(1);
                let steps: Vec<i64> = ordinates[from..end]
                    .windows(2)
                    .map(|pair| pair[1] - pair[0])
                    .collect();
                let mut body = squeezed(ordinates[from]);
                let mut step = 0;
                while step < steps.len() {
                    let same = steps[step..].iter().take_while(|it| **it == steps[step]);
                    let times = if form == 4 { same.count().min(9) } else { 1 };
                    body += &pseudo(steps[step], '%', b'J', b'j');
                    if 1 < times {
                        body.push(char::from(b"STUVWXYZs"[times - 1]));
                    }
                    step += times;
                }
                body
            }
        };
        let x = if form < 3 { at } else { at.saturating_sub(1) };
        lines.push(format!("{}{body}", x + 1));
        at = end;
    }
    lines.join("\n")
}

proptest! {
    #[test]
    fn every_form_comes_back(
        ordinates in prop::collection::vec(-40_000i64..40_000, 2..60),
        runs in prop::collection::vec(0usize..60, 0..20),
        form in 0usize..5,
        width in 1usize..13,
    ) {
        // Copy neighbours so that repeats occur.
        let mut ordinates = ordinates;
        for run in runs {
            let at = run % ordinates.len();
            ordinates[at] = ordinates[at.saturating_sub(1)];
        }
        let count = ordinates.len();
        let head = format!(
            "##XUNITS= MICROMETERS\n##YUNITS= ABSORBANCE\n##FIRSTX= 1\n##LASTX= {count}\n\
             ##NPOINTS= {count}"
        );
        let found = only(&file(&head, &encode(&ordinates, form, width)));
        let expected: Vec<f64> = ordinates.iter().map(|y| *y as f64).collect();
        prop_assert_eq!(found.values, expected);
    }

    #[test]
    fn arbitrary_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let text = String::from_utf8_lossy(&bytes);
        let _ = read(&text, "any.jdx");
        let _ = read(&format!("##TITLE={text}\n##END="), "any.jdx");
        let _ = read(&ten(&text), "any.jdx");
    }

    #[test]
    fn arbitrary_ordinates_never_panic(data in "[0-9@A-Za-z%+. ?,E\\n-]{0,120}") {
        if let Ok(found) = read(&ten(&data), "any.jdx") {
            prop_assert!(found.blocks[0].values.iter().all(|it| it.is_finite()));
        }
        let pairs = ten(&data).replace("XYDATA= (X++(Y..Y))", "XYPOINTS= (XY..XY)");
        let _ = read(&pairs, "any.jdx");
    }

    /// A damaged byte gives a spectrum or a refusal with line and cure, never a panic.
    #[test]
    fn damaged_files_never_panic(at in 0usize..1600, byte in any::<u8>()) {
        let mut bytes = include_bytes!("jcamp/dupinc1.jdx").to_vec();
        let at = at % bytes.len();
        bytes[at] = byte;
        match read(&String::from_utf8_lossy(&bytes), "dupinc1.jdx") {
            Ok(found) => prop_assert_eq!(found.blocks.len(), 1),
            Err(error) => {
                prop_assert!(error.place().is_some_and(|it| it.line.is_some()));
                prop_assert!(error.cure_text().is_some());
            }
        }
    }
}
