//! Pairs of polymers: names, published rows, melts against published hold temperatures, unknowns.

use lightseam::input::{library, pair_table};
use lightseam::material::Material;
use lightseam::material::compatibility::{Compatibility, Melt, polymer_of};
use lightseam::units::celsius;

fn card(id: &str) -> Material {
    library::material(id).unwrap().unwrap().0
}

fn pair(upper: &str, lower: &str) -> Compatibility {
    pair_table::of(&card(upper), &card(lower)).unwrap()
}

#[test]
fn every_built_in_polymer_is_known_by_name() {
    for (id, polymer) in [
        ("pa6-gf30", "PA6"),
        ("pa66-gf33", "PA66"),
        ("pe-hd", "PE"),
        ("pbt-gf30", "PBT"),
        ("pmma", "PMMA"),
        ("tpu", "TPU"),
    ] {
        assert_eq!(polymer_of(&card(id)).as_deref(), Some(polymer), "{id}");
    }
    assert_eq!(polymer_of(&card("glass")), None);
    let mut blend = card("pc");
    blend.name = "PC+ABS, natural".into();
    assert_eq!(polymer_of(&blend).as_deref(), Some("ABS/PC"));
    blend.name = "PP and PE".into();
    blend.id = "lid".into();
    assert_eq!(polymer_of(&blend), None);
}

#[test]
fn pairs_say_what_the_table_says_both_ways_round() {
    for (a, b, word) in [
        ("abs", "pc", "weldable"),
        ("pmma", "pc", "some grades"),
        ("pe-hd", "pp", "some reports"),
        ("pa12", "pp", "not listed as weldable"),
        ("pe-hd", "pom", "not weldable"),
        ("pa6", "pa66", "some grades"),
        ("pa6", "peek", "unknown"),
        ("pc", "pc-gf30", "same polymer"),
    ] {
        assert_eq!(pair(a, b).word(), word, "{a} {b}");
        assert_eq!(pair(b, a).word(), word, "{b} {a}");
    }
}

#[test]
fn only_pairs_that_something_speaks_against_or_nothing_for_warn() {
    assert_eq!(pair("pp", "pp").warning(), None);
    assert_eq!(pair("abs", "pc").warning(), None);
    let against = pair("pe-hd", "pom").warning().unwrap();
    assert!(against.contains("PE and POM are not weldable"), "{against}");
    let unknown = pair("pa6", "peek").warning().unwrap();
    assert!(unknown.contains("nothing is published here"), "{unknown}");
}

/// Hold temperatures for 1 % in 1 s of `published/damage-hold-temperatures.csv`, °C.
#[test]
fn a_melt_ends_where_one_percent_is_damaged_in_a_second() {
    for (id, hold_c) in [
        ("pa66", 451.0),
        ("pc", 487.0),
        ("pmma", 385.0),
        ("pbt", 402.0),
        ("pom", 379.0),
    ] {
        let melt = Melt::of(&card(id));
        assert!(
            (celsius(melt.to_k.unwrap()) - hold_c).abs() < 1.0,
            "{id}: {melt:?}"
        );
    }
    // PA6 has no kinetics: the onset of decomposition, 445 °C, stands in.
    assert!((celsius(Melt::of(&card("pa6")).to_k.unwrap()) - 445.0).abs() < 1e-9);
}

#[test]
fn overlap_and_solubility_are_those_of_the_narrower_side() {
    let it = pair("pmma", "pbt");
    let [a, b] = it.melts;
    let by_hand = a.to_k.unwrap().min(b.to_k.unwrap()) - a.from_k.max(b.from_k);
    assert_eq!(it.overlap_k(), Some(by_hand));
    // 18.6 to 26.2 against 16.8 to 18.8: they overlap. 27.8 against 17.1: 10.7 apart.
    assert_eq!(pair("pmma", "pp").solubility_distance(), Some(0.0));
    assert!((pair("pa66", "pe-hd").solubility_distance().unwrap() - 10.7).abs() < 1e-9);
    assert_eq!(pair("pa66", "peek").solubility_distance(), None);
}
