//! Pages are self-contained, escaped, and refer only to what they hold.

use std::collections::BTreeSet;

use lightseam::report::cautions::Laser;
use lightseam::report::cautions::usual;
use lightseam::report::page::Answer;
use lightseam::report::page::Illustration;
use lightseam::report::page::Page;
use lightseam::report::page::Section;
use lightseam::report::page::Tone;
use lightseam::report::table::Column;
use lightseam::report::table::Table;

use super::sample;

const NASTY: &str = r#"</style></title><script>alert("1" & '2')</script>"#;

fn page(words: &str) -> Page {
    let illustration = |figure| Illustration {
        figure,
        caption: words.to_string(),
    };
    let laser = Laser {
        wavelength_m: 980e-9,
        power_w: Some(100.0),
        area_m2: 1e-6,
    };
    Page {
        title: words.to_string(),
        question: words.to_string(),
        answer: Answer {
            headline: words.to_string(),
            tone: Tone::Sound,
            text: format!("{words}\n\nsecond paragraph"),
            facts: vec![(words.to_string(), "23 W".to_string())],
        },
        warnings: vec![words.to_string()],
        sections: vec![Section {
            heading: words.to_string(),
            text: words.to_string(),
            figures: vec![
                illustration(sample::window()),
                illustration(sample::survey()),
            ],
            tables: vec![Table::new(
                words,
                vec![
                    Column::words(words, [words]),
                    Column::numbers("Power", "W", [12.34]),
                ],
            )],
        }],
        cautions: usual(laser, &[]),
        colophon: vec![("Seed".to_string(), words.to_string())],
    }
}

#[test]
fn no_text_escapes_from_its_place() {
    let mut nasty = page(NASTY);
    for illustration in &mut nasty.sections[0].figures {
        illustration.figure.title = NASTY.to_string();
    }
    let html = nasty.html().unwrap();
    assert!(!html.contains("<script"));
    assert!(!html.contains(r#"alert("1""#));
    assert_eq!(html.matches("</style>").count(), 1);
    // Once for the page; those of figures are hover texts and closed by themselves.
    assert_eq!(
        html.matches("<title>").count(),
        html.matches("</title>").count()
    );
    // Escaped text reads as it was written.
    let heading = html
        .split("<h1>")
        .nth(1)
        .unwrap()
        .split("</h1>")
        .next()
        .unwrap();
    let read = heading
        .replace("&#60;", "<")
        .replace("&#62;", ">")
        .replace("&#34;", "\"")
        .replace("&#39;", "'")
        .replace("&#38;", "&");
    assert_eq!(read, NASTY);
}

#[test]
fn a_page_needs_no_network_and_no_script() {
    let html = page("A plain question?").html().unwrap();
    let without_names = html.replace("http://www.w3.org/2000/svg", "");
    for outside in ["http:", "https:", "<script", "<link", "@import", "src=\""] {
        assert!(!without_names.contains(outside), "{outside}");
    }
    assert_eq!(html.matches("data:font/ttf;base64,").count(), 2);
}

#[test]
fn names_are_unique_and_references_resolve() {
    let html = page("q").html().unwrap();
    let quoted = |after: &str, end: char| -> Vec<String> {
        html.split(after)
            .skip(1)
            .map(|it| it.split(end).next().unwrap().to_string())
            .collect()
    };
    let names = quoted(" id=\"", '"');
    let unique: BTreeSet<&String> = names.iter().collect();
    assert_eq!(unique.len(), names.len(), "{names:?}");
    let references = quoted("url(#", ')');
    assert!(4 < references.len());
    for reference in &references {
        assert!(unique.contains(reference), "{reference}");
    }
}

#[test]
fn the_order_is_question_answer_warnings_figures_cautions() {
    let mut page = page("x");
    page.question = "the question".to_string();
    page.answer.headline = "the answer".to_string();
    page.warnings = vec!["the warning".to_string()];
    page.sections[0].heading = "the section".to_string();
    let html = page.html().unwrap();
    let places: Vec<usize> = [
        "the question",
        "the answer",
        "23 W",
        "the warning",
        "the section",
        "<svg xmlns",
        "<table>",
        "Cautions</h2>",
        "<footer",
    ]
    .iter()
    .map(|it| html.find(it).unwrap_or_else(|| panic!("{it} is missing")))
    .collect();
    assert!(places.is_sorted(), "{places:?}");
    assert!(html.contains(">12.34</td>"));
    assert!(html.contains("<p class=\"more\">second paragraph</p>"));
}

#[test]
fn the_verdict_is_told_by_sign_and_words() {
    let mut page = page("q");
    for (tone, class) in [
        (Tone::Sound, "answer sound"),
        (Tone::NotSound, "answer not-sound"),
        (Tone::Open, "answer open"),
    ] {
        page.answer.tone = tone;
        let html = page.html().unwrap();
        let card = html
            .split("<section")
            .find(|it| it.contains("class=\"answer"))
            .unwrap();
        assert!(card.contains(class) && card.contains("<svg"), "{card}");
    }
}

#[test]
fn an_empty_page_is_still_a_page() {
    let empty = Page {
        title: String::new(),
        question: String::new(),
        answer: Answer {
            headline: String::new(),
            tone: Tone::Open,
            text: String::new(),
            facts: vec![],
        },
        warnings: vec![],
        sections: vec![Section::default()],
        cautions: vec![],
        colophon: vec![],
    };
    let html = empty.html().unwrap();
    assert!(html.starts_with("<!doctype html>") && html.trim_end().ends_with("</html>"));
    for absent in [
        "class=\"warnings\"",
        "class=\"cautions\"",
        "<footer",
        "<figure",
    ] {
        assert!(!html.contains(absent), "{absent}");
    }
}
