//! One bad file for each refusal; message, line and cure as golden text.

use lightseam::input::jcamp::read;

use super::{file, ten};

const HEAD: &str =
    "##XUNITS= nm\n##YUNITS= %T\n##FIRSTX= 900\n##LASTX= 902\n##DELTAX= 1\n##NPOINTS= 3";

#[track_caller]
fn assert_refused(text: &str, expected: &str) {
    let error = read(text, "lid.jdx").unwrap_err();
    assert_eq!(error.to_string(), expected);
}

#[test]
fn not_this_format() {
    assert_refused(
        "wavelength,T\n900,0.4\n",
        "this is not a JCAMP-DX file: it begins with \"wavelength,T\", not with ##TITLE=\n  \
         in:   lid.jdx, line 1\n  \
         cure: choose a .jdx or .dx file, or give a CSV file its own name",
    );
    assert_refused(
        "",
        "this is not a JCAMP-DX file: it begins with \"\", not with ##TITLE=\n  \
         in:   lid.jdx, line 1\n  \
         cure: choose a .jdx or .dx file, or give a CSV file its own name",
    );
}

#[test]
fn cut_off() {
    assert_refused(
        &file(HEAD, "900 41 42 43").replace("##END=", ""),
        "the block \"lid\" has no ##END=\n  in:   lid.jdx, line 1\n  \
         cure: export the file again: its end seems to be cut off",
    );
}

#[test]
fn missing_record() {
    assert_refused(
        &file(HEAD, "900 41 42 43").replace("##XUNITS= nm\n", ""),
        "the block \"lid\" has no ##XUNITS=\n  in:   lid.jdx, line 1\n  \
         cure: add ##XUNITS= as the instrument states it",
    );
    assert_refused(
        &file("##XUNITS= nm\n##YUNITS= %T\n##FIRSTX= 900", "900 41 42 43"),
        "the block \"lid\" has no ##LASTX=\n  in:   lid.jdx, line 1\n  \
         cure: add ##LASTX= as the instrument states it",
    );
}

#[test]
fn value_that_is_no_number() {
    assert_refused(
        &file(&HEAD.replace("902", "902,5"), "900 41 42 43"),
        "##LASTX= 902,5 is not a number\n  in:   lid.jdx, line 7\n  \
         cure: write a point for the decimal comma",
    );
    assert_refused(
        &file(&HEAD.replace("= 3", "= 2.5"), "900 41 42 43"),
        "##NPOINTS= 2.5 is not a number of points\n  in:   lid.jdx, line 9\n  \
         cure: write the number of points",
    );
    assert_refused(
        &file(&format!("{HEAD}\n##YFACTOR= 1e308"), "900 41 42 43"),
        "##YFACTOR= 100000000000000000000000000000000000000000000000000000000000000000000000000000\
         000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000\
         000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000\
         000000000000000000000000000000000000000000000000000 is not a factor that keeps the \
         ordinates finite\n  in:   lid.jdx, line 10\n  \
         cure: write the factor the instrument states",
    );
}

#[test]
fn units_of_something_else() {
    assert_refused(
        &file(&HEAD.replace("nm", "HZ"), "900 41 42 43"),
        "##XUNITS= HZ is not among the units understood: NANOMETERS, MICROMETERS, 1/CM\n  \
         in:   lid.jdx, line 4\n  \
         cure: export the spectrum against wavelength or wavenumber",
    );
    assert_refused(
        &file(&HEAD.replace("%T", "KUBELKA-MUNK"), "900 41 42 43"),
        "##YUNITS= KUBELKA-MUNK is not among the units understood: TRANSMITTANCE, %T, \
         REFLECTANCE, %R, ABSORBANCE\n  in:   lid.jdx, line 5\n  \
         cure: export the spectrum as transmittance, reflectance or absorbance",
    );
}

#[test]
fn no_spectrum() {
    assert_refused(
        include_str!("pktab1.jdx"),
        "the block \"Cholesterol (pktab1.jdx)\" holds a peak table, not a spectrum\n  \
         in:   lid.jdx, line 21\n  cure: export the spectrum itself, as XYDATA",
    );
    assert_refused(
        &file(HEAD, "900 41").replace("##XYDATA= (X++(Y..Y))", "##NTUPLES= NMR FID"),
        "the block \"lid\" holds an array of several variables (NTUPLES), not a spectrum\n  \
         in:   lid.jdx, line 10\n  cure: export the spectrum itself, as XYDATA",
    );
    assert_refused(
        "##TITLE= empty\n##END=\n",
        "the block \"empty\" holds no XYDATA and no XYPOINTS, not a spectrum\n  \
         in:   lid.jdx, line 1\n  cure: export the spectrum itself, as XYDATA",
    );
    assert_refused(
        "##TITLE= links\n##DATA TYPE= LINK\n##END=\n",
        "the block \"\" holds no data, not a spectrum\n  in:   lid.jdx, line 1\n  \
         cure: export the spectrum itself, as XYDATA",
    );
    assert_refused(
        &file(HEAD, "900 41 42 43").replace("(X++(Y..Y))", "(X++(R..R))"),
        "##XYDATA= (X++(R..R)) is not (X++(Y..Y)) or (XY..XY)\n  in:   lid.jdx, line 10\n  \
         cure: export the spectrum as XYDATA",
    );
}

#[test]
fn damaged_ordinates() {
    let cure = "export the file again: this line is damaged";
    for (data, found, line) in [
        ("1 1JJ#jjj", "\"#jjj\" is not an ordinate", 10),
        ("1 1+-2", "\"+-2\" is not an ordinate", 10),
        (
            "1 1 2\nx3 4",
            "\"x3 4\" is not the abscissa a line begins with",
            11,
        ),
        ("1JJ", "\"J\" is not an ordinate a line can begin with", 10),
        ("1T", "\"T\" is not an ordinate that could be repeated", 10),
        (
            "1 1Z99999999",
            "\"Z99999999\" is not a possible number of repeats",
            10,
        ),
        ("1 ?J", "\"J\" is not an ordinate a line can begin with", 10),
    ] {
        let expected = format!("{found}\n  in:   lid.jdx, line {line}\n  cure: {cure}");
        assert_refused(&ten(data), &expected);
    }
}

#[test]
fn check_that_fails() {
    assert_refused(
        &ten("1 1JT%j\n6 5jjjj"),
        "the line begins with the ordinate 5, but the differences before it lead to 2\n  \
         in:   lid.jdx, line 11\n  cure: export the file again: this line is damaged",
    );
}

#[test]
fn ends_and_counts_that_do_not_fit() {
    assert_refused(
        &ten("1 1 2 3 4 5\n7 7 8 9 10 11"),
        "the line begins at X = 7, but the 5 ordinates before it lead to 6\n  \
         in:   lid.jdx, line 11\n  cure: check ##FIRSTX=, ##LASTX=, ##NPOINTS= and ##XFACTOR=; if \
         they are right, points are missing",
    );
    assert_refused(
        &ten("1 1 2 3 4 5 6 7 8 9"),
        "##NPOINTS= 10, but there are 9 points\n  in:   lid.jdx, line 8\n  \
         cure: export the file again: points are missing or doubled",
    );
    assert_refused(
        &file(&HEAD.replace("DELTAX= 1", "DELTAX= 2"), "900 41 42 43"),
        "##DELTAX= 2 is not the step 1 from ##FIRSTX= to ##LASTX=\n  in:   lid.jdx, line 8\n  \
         cure: correct ##DELTAX=, ##LASTX= or ##NPOINTS=, or leave ##DELTAX= out",
    );
    assert_refused(
        &file(
            "##XUNITS= nm\n##YUNITS= %T\n##FIRSTX= 900\n##LASTX= 900\n##NPOINTS= 1",
            "900 41",
        ),
        "the block \"lid\" has 1 points; at least 2 are needed\n  in:   lid.jdx, line 1\n  \
         cure: export the whole spectrum",
    );
}

#[test]
fn abscissae_that_are_no_wavelengths() {
    assert_refused(
        &file(
            "##XUNITS= 1/CM\n##YUNITS= %T\n##FIRSTX= 0\n##LASTX= 2\n##NPOINTS= 3",
            "0 41 42 43",
        ),
        "X = 0 1/cm is not a wavelength\n  in:   lid.jdx, line 10\n  \
         cure: check ##FIRSTX=, ##LASTX= and ##XFACTOR=, or export a range above zero",
    );
    let pairs = "##TITLE= lid\n##XUNITS= nm\n##YUNITS= %T\n##XYPOINTS= (XY..XY)\n";
    assert_refused(
        &format!("{pairs}900,41 910,42 900,43\n##END=\n"),
        "900 nm appears twice\n  in:   lid.jdx, line 5\n  cure: keep one of the two points",
    );
    let cure = "write pairs as X,Y with decimal points and a space or semicolon between pairs";
    assert_refused(
        &format!("{pairs}900,41 910\n##END=\n"),
        &format!(
            "\"900,41 910\" is not a whole number of pairs\n  in:   lid.jdx, line 5\n  cure: {cure}"
        ),
    );
    assert_refused(
        &format!("{pairs}900,41 910,n/a\n##END=\n"),
        &format!("\"n/a\" is not a number\n  in:   lid.jdx, line 5\n  cure: {cure}"),
    );
}
