//! Tables come back from CSV bit for bit and read well everywhere else.

use lightseam::report::table::Cell;
use lightseam::report::table::Column;
use lightseam::report::table::InputRow;
use lightseam::report::table::Table;
use proptest::prelude::*;

fn table() -> Table {
    Table::new(
        "Sound power",
        vec![
            Column::numbers("Feed rate", "mm/s", [5.0, 47.25]).digits(3),
            Column::words("Governs", ["melt, \"upper\"", "a|b\nc"]),
            Column::numbers("Margin", "", [f64::NAN, -0.25]),
        ],
    )
}

fn read_csv(text: &str) -> Vec<Vec<String>> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.as_bytes())
        .records()
        .map(|it| it.unwrap().iter().map(str::to_string).collect())
        .collect()
}

#[test]
fn csv_has_units_and_empty_fields() {
    let rows = read_csv(&table().csv().unwrap());
    assert_eq!(rows[0], ["Feed rate (mm/s)", "Governs", "Margin"]);
    assert_eq!(rows[1], ["5.0", "melt, \"upper\"", ""]);
    assert_eq!(rows[2], ["47.25", "a|b\nc", "-0.25"]);
}

#[test]
fn json_keeps_order_and_null() {
    let json = table().json();
    assert_eq!(json["units"]["Feed rate"], "mm/s");
    assert_eq!(json["rows"][0]["Margin"], serde_json::Value::Null);
    assert_eq!(json["rows"][1]["Feed rate"], 47.25);
    let text = json.to_string();
    assert!(text.find("Feed rate").unwrap() < text.find("Margin").unwrap());
}

#[test]
fn json_loses_no_column_of_equal_name() {
    let peaks = |value| Column::numbers("Peak", "°C", [value]);
    let json = Table::new("", vec![peaks(1.5), peaks(2.5)]).json();
    assert_eq!(json["rows"][0]["Peak"], 1.5);
    assert_eq!(json["rows"][0]["Peak 2"], 2.5);
}

#[test]
fn markdown_escapes_bars_and_aligns_numbers() {
    assert_eq!(
        table().markdown(),
        "| Feed rate (mm/s) | Governs | Margin |\n\
         | ---: | --- | ---: |\n\
         | 5.00 | melt, \"upper\" | – |\n\
         | 47.2 | a\\|b c | −0.2500 |\n"
    );
}

#[test]
fn terminal_text_keeps_to_its_width() {
    let long = Table::new("", vec![Column::words("Word", ["ten letters ".repeat(20)])]);
    let text = long.terminal(Some(40));
    assert!(text.lines().all(|it| it.chars().count() <= 40), "{text}");
    assert!(table().terminal(None).contains("47.2"));
}

#[test]
fn uneven_columns_are_filled_up() {
    let mut uneven = table();
    uneven.columns[0].cells.truncate(1);
    assert_eq!(uneven.rows(), 2);
    assert_eq!(uneven.reading_rows()[1][0], "–");
    assert_eq!(read_csv(&uneven.csv().unwrap())[2][0], "");
    assert!(Table::new("", vec![]).reading_rows().is_empty());
}

#[test]
fn inputs_show_source_and_status() {
    let row = InputRow {
        quantity: "Anisotropy".to_string(),
        value: "0.9".to_string(),
        unit: String::new(),
        source: String::new(),
        status: "from memory".to_string(),
    };
    let table = Table::of_inputs("Lid", &[row]);
    assert_eq!(
        table.headings(),
        ["Input", "Value", "Unit", "Source", "Status"]
    );
    assert_eq!(
        table.reading_rows()[0],
        ["Anisotropy", "0.9", "–", "–", "from memory"]
    );
}

proptest! {
    #[test]
    fn csv_round_trip_is_exact(
        numbers in prop::collection::vec(any::<f64>(), 1..8),
        words in prop::collection::vec("[ -~\nµ°\"',;|]{0,12}", 1..8),
    ) {
        let table = Table::new("", vec![
            Column::numbers("n", "W", numbers.clone()),
            Column::words("w", words.clone()),
        ]);
        let rows = read_csv(&table.csv().unwrap());
        prop_assert_eq!(rows.len(), 1 + numbers.len().max(words.len()));
        for (row, number) in rows[1..].iter().zip(&numbers) {
            if number.is_finite() {
                prop_assert_eq!(row[0].parse::<f64>().unwrap().to_bits(), number.to_bits());
            } else {
                prop_assert_eq!(&row[0], "");
            }
        }
        for (row, word) in rows[1..].iter().zip(&words) {
            prop_assert_eq!(&row[1], word);
        }
        let back: serde_json::Value = serde_json::from_str(&table.json().to_string()).unwrap();
        prop_assert_eq!(back["rows"].as_array().unwrap().len(), table.rows());
        prop_assert!(matches!(table.columns[0].cells[0], Cell::Number(_)));
    }
}
