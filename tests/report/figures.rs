//! Drawings are well-formed, hold their text, put marks where they belong and keep labels apart.

use std::sync::Arc;

use lightseam::report::figure::Axis;
use lightseam::report::figure::Figure;
use lightseam::report::figure::Label;
use lightseam::report::figure::Line;
use lightseam::report::figure::Mark;
use lightseam::report::figure::Marker;
use lightseam::report::figure::Place;
use lightseam::report::figure::Points;
use lightseam::report::figure::Stroke;
use lightseam::report::font;
use lightseam::report::palette::Role;
use lightseam::report::png;
use lightseam::report::svg;
use resvg::tiny_skia::Pixmap;
use resvg::usvg;
use resvg::usvg::fontdb::Database;
use resvg::usvg::roxmltree::Document;

use super::sample;

fn texts(svg: &str) -> Vec<String> {
    let document = Document::parse(svg).unwrap();
    document
        .descendants()
        .filter(|it| it.has_tag_name("text"))
        .filter_map(|it| it.text().map(str::to_string))
        .collect()
}

/// Boxes around the letters of every text, with the letters.
fn letter_boxes(svg: &str) -> Vec<(String, usvg::Rect, bool)> {
    let mut fonts = Database::new();
    fonts.load_font_data(font::REGULAR.to_vec());
    let options = usvg::Options {
        font_family: "Inter".to_string(),
        fontdb: Arc::new(fonts),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options).unwrap();
    let mut found = Vec::new();
    collect(tree.root(), &mut found);
    found
}

fn collect(group: &usvg::Group, found: &mut Vec<(String, usvg::Rect, bool)>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => collect(group, found),
            usvg::Node::Text(text) => {
                let words = text.chunks().iter().map(|it| it.text()).collect();
                let turned = text.abs_transform().has_skew();
                found.push((words, text.abs_bounding_box(), turned));
            }
            _ => {}
        }
    }
}

#[test]
fn drawings_hold_their_words() {
    let figure = sample::window();
    let drawn = svg::document(&figure);
    let texts = texts(&drawn);
    for words in [
        "Where the lid welds",
        "Invented data & <signs> that \"need\" care",
        "Feed rate, mm/s",
        "Laser power, W",
        "unfused",
        "degraded",
        "sound",
        "melt depth 20 µm",
        "thermal damage 1 %",
        "laser at most 100 W",
        "0.5 J/mm",
        "23 W, 47 mm/s",
        "100",
    ] {
        assert!(
            texts.iter().any(|it| it == words),
            "{words} is missing: {texts:?}"
        );
    }
    assert_eq!(drawn, svg::document(&figure), "same figure, same bytes");
}

#[test]
fn labels_keep_clear_of_each_other() {
    for figure in [sample::window(), sample::survey()] {
        let boxes = letter_boxes(&svg::document(&figure));
        assert!(20 < boxes.len());
        for (i, (a, one, turned)) in boxes.iter().enumerate() {
            let inside = 0.0 <= one.left()
                && 0.0 <= one.top()
                && one.right() <= figure.size[0] as f32
                && one.bottom() <= figure.size[1] as f32;
            assert!(inside, "{a} leaves the figure: {one:?}");
            for (b, other, other_turned) in &boxes[i + 1..] {
                // Boxes around turned words are larger than the words.
                if *turned || *other_turned {
                    continue;
                }
                let across = one.right().min(other.right()) - one.left().max(other.left());
                let down = one.bottom().min(other.bottom()) - one.top().max(other.top());
                assert!(across <= 0.0 || down <= 0.5, "{a} covers {b}");
            }
        }
    }
}

#[test]
fn width_of_words_is_that_of_the_drawing_library() {
    let words = "Temperature 222 °C, 20 µm × 0.5 J/mm";
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="600" height="50"><text x="10" y="30" font-family="Inter" font-size="20">{words}</text></svg>"#
    );
    let drawn = f64::from(letter_boxes(&svg)[0].1.width());
    let measured = font::width_px(words, 20.0, font::Weight::Regular);
    // Kerning and the bearings of the outer letters.
    assert!(
        (measured / drawn - 1.0).abs() < 0.02,
        "{measured} against {drawn}"
    );
}

#[test]
fn marks_stand_where_the_axes_say() {
    let mut figure = Figure::new(
        "",
        Axis::log("x", "").over(1.0, 100.0),
        Axis::linear("y", "").over(0.0, 8.0),
    );
    let points = vec![[1.0, 0.0], [10.0, 2.0], [100.0, 8.0]];
    figure.marks.push(Mark::Points(Points {
        points,
        errors: vec![],
        label: Label::none(),
        marker: Marker::Ring,
        role: Role::Ink,
        radius_px: 3.0,
    }));
    let drawn = svg::document(&figure);
    let document = Document::parse(&drawn).unwrap();
    let number = |node: usvg::roxmltree::Node, name: &str| -> f64 {
        node.attribute(name).unwrap().parse().unwrap()
    };
    let frame = document
        .descendants()
        .find(|it| it.has_tag_name("clipPath"))
        .and_then(|it| it.first_element_child())
        .unwrap();
    let (left, top) = (number(frame, "x"), number(frame, "y"));
    let (width, height) = (number(frame, "width"), number(frame, "height"));
    let mut places: Vec<[f64; 2]> = document
        .descendants()
        .filter(|it| it.has_tag_name("circle"))
        .map(|it| {
            [
                (number(it, "cx") - left) / width,
                (number(it, "cy") - top) / height,
            ]
        })
        .collect();
    // A ring is its ground and its rim.
    places.dedup();
    // Shares of the frame; coordinates are written with hundredths of a pixel.
    for (place, expected) in places.iter().zip([[0.0, 1.0], [0.5, 0.75], [1.0, 0.0]]) {
        assert!((place[0] - expected[0]).abs() < 5e-5 && (place[1] - expected[1]).abs() < 5e-5);
    }
    assert_eq!(places.len(), 3);
    assert!(drawn.contains("<title>10, 2</title>"), "hover values");
}

/// Dark pixels within 8 px of places given as shares of the frame.
fn dark_about(drawn: &str, places: &[[f64; 2]]) -> Vec<usize> {
    let document = Document::parse(drawn).unwrap();
    let frame = document
        .descendants()
        .find(|it| it.has_tag_name("clipPath"))
        .and_then(|it| it.first_element_child())
        .unwrap();
    let number = |name: &str| -> f64 { frame.attribute(name).unwrap().parse().unwrap() };
    let picture = Pixmap::decode_png(&png::encode(drawn).unwrap()).unwrap();
    // Hundredths of a px there, halves of one in the picture.
    let scale = 2.0 / 100.0;
    let count = |[across, down]: [f64; 2]| {
        let x = scale * (number("x") + across * number("width"));
        let y = scale * (number("y") + down * number("height"));
        let width = picture.width() as usize;
        let near = |i: usize| {
            let (column, row) = ((i % width) as f64 + 0.5, (i / width) as f64 + 0.5);
            (column - x).abs() < 16.0 && (row - y).abs() < 16.0
        };
        let pixels = picture.pixels().iter().enumerate();
        pixels.filter(|it| near(it.0) && it.1.red() < 100).count()
    };
    places.iter().map(|it| count(*it)).collect()
}

#[test]
fn a_marker_on_the_frame_is_whole_and_one_beyond_it_left_out() {
    for marker in [
        Marker::Disc,
        Marker::Square,
        Marker::Triangle,
        Marker::Cross,
        Marker::Saltire,
    ] {
        let bare = |first, last| Axis {
            ticks: Some(Vec::new()),
            ..Axis::linear("", "").over(first, last)
        };
        let mut figure = Figure::new("", bare(0.0, 10.0), bare(0.0, 10.0));
        let beyond = [[-1e-1, 5.0], [5.0, 10.1]];
        let mut points = vec![[5.0, 5.0], [0.0, 0.0], [10.0, 10.0], [0.0, 8.0], [8.0, 0.0]];
        points.extend(beyond);
        figure.marks.push(Mark::Points(Points {
            points,
            errors: vec![],
            label: Label::none(),
            marker,
            role: Role::Ink,
            radius_px: 5.0,
        }));
        // Of a line the markers are whole too.
        figure.marks.push(Mark::Line(Line {
            marker: Some(marker),
            ..Line::new(
                vec![[2.0, 10.0], [2.0, 10.0]],
                Stroke::solid(Role::Ink),
                Label::none(),
            )
        }));
        let shares = [[0.5, 0.5], [0.0, 1.0], [1.0, 0.0], [0.0, 0.2], [0.8, 1.0]];
        let drawn = svg::document(&figure);
        let dark = dark_about(&drawn, &shares);
        for on_frame in &dark[1..] {
            // Strokes of 3.6 pixels cover 3 or 4 of them in whole; of a cut marker half would be left.
            let share = *on_frame as f64 / dark[0] as f64;
            assert!((share - 1.0).abs() < 0.25, "{marker:?}: {dark:?}");
        }
        assert_eq!(dark_about(&drawn, &[[-0.01, 0.5], [0.5, -0.01]]), [0, 0]);
        let of_line = dark_about(&drawn, &[[0.2, 0.0]])[0] as f64;
        assert!((0.6 * dark[0] as f64) < of_line, "{marker:?}: {of_line}");
    }
}

#[test]
fn a_number_keeps_its_unit_beside_it() {
    let words = "B recommended: 2.37 W, 7.01 mm/s (12 passes), upper part 1.5 mm × 20 °C";
    for room in 0..400 {
        let lines = font::wrapped(words, 12.0, font::Weight::Regular, f64::from(room));
        assert_eq!(lines.join(" "), words);
        for line in &lines {
            let unit = ["W,", "mm/s", "passes", "mm", "°C"];
            assert!(!unit.iter().any(|it| line.starts_with(it)), "{lines:?}");
        }
    }
}

#[test]
fn places_without_value_are_hatched_and_explained() {
    let figure = sample::survey();
    let drawn = svg::document(&figure);
    assert!(texts(&drawn).iter().any(|it| it == "no sound power"));
    assert!(drawn.contains(r#"<pattern id="hatch0""#));
    // Legend swatch and field.
    assert_eq!(drawn.matches("url(#hatch0)").count(), 2);
    // With values everywhere there is nothing to hatch.
    let mut whole = figure;
    if let Mark::Field(field) = &mut whole.marks[0] {
        field.none_below = None;
    }
    let drawn = svg::document(&whole);
    assert!(!texts(&drawn).iter().any(|it| it == "no sound power"));
    assert!(!drawn.contains("<pattern"));
}

#[test]
fn a_label_without_room_moves_to_the_legend() {
    let mut figure = Figure::new("", Axis::linear("x", ""), Axis::linear("y", ""));
    figure.size = [320.0, 240.0];
    for i in 0..12 {
        let points = (0..9).map(|x| [f64::from(x), f64::from(i * x)]).collect();
        let label = Label::new(format!("a rather long name, number {i}"));
        let stroke = Stroke::solid(Role::Series(i as usize));
        figure
            .marks
            .push(Mark::Line(Line::new(points, stroke, label)));
    }
    let texts = texts(&svg::document(&figure));
    for i in 0..12 {
        let name = format!("a rather long name, number {i}");
        assert_eq!(texts.iter().filter(|it| **it == name).count(), 1, "{name}");
    }
}

#[test]
fn end_labels_are_moved_apart() {
    let mut figure = Figure::new("", Axis::linear("t", "ms"), Axis::linear("T", "°C"));
    for i in 0..4 {
        let end = 100.0 + 0.5 * f64::from(i);
        let label = Label::at(Place::End, format!("curve {i}"));
        let points = vec![[0.0, 20.0], [9.0, end]];
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::solid(Role::Ink),
            label,
        )));
    }
    let boxes = letter_boxes(&svg::document(&figure));
    let mut rows: Vec<(f32, f32)> = boxes
        .iter()
        .filter(|it| it.0.starts_with("curve"))
        .map(|it| (it.1.top(), it.1.bottom()))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    assert_eq!(rows.len(), 4);
    assert!(
        rows.windows(2).all(|it| it[0].1 <= it[1].0 + 0.5),
        "{rows:?}"
    );
}

/// Dark pixels in the row of the title.
fn dark_in_title(bytes: &[u8]) -> usize {
    let picture = Pixmap::decode_png(bytes).unwrap();
    let width = picture.width() as usize;
    let rows = &picture.pixels()[..width * 70];
    rows.iter().filter(|it| it.red() < 128).count()
}

#[test]
fn pictures_have_their_size_and_their_words() {
    let figure = sample::window();
    let drawn = svg::document(&figure);
    let bytes = png::encode(&drawn).unwrap();
    let picture = Pixmap::decode_png(&bytes).unwrap();
    assert_eq!((picture.width(), picture.height()), (1520, 1000));
    // Opaque paper, and more than paper.
    assert!(picture.pixels().iter().all(|it| it.alpha() == 255));
    let inked = picture.pixels().iter().filter(|it| it.red() < 250).count();
    assert!(50_000 < inked && inked < 1_400_000, "{inked}");

    let without = png::encode_with(&drawn, Arc::new(Database::new())).unwrap();
    assert_eq!(dark_in_title(&without), 0, "no font, no letters");
    let mut regular = Database::new();
    regular.load_font_data(font::REGULAR.to_vec());
    let regular = dark_in_title(&png::encode_with(&drawn, Arc::new(regular)).unwrap());
    let both = dark_in_title(&bytes);
    assert!(1000 < regular, "{regular}");
    // The title is set in the heavier face.
    assert!(
        1.1 * regular as f64 <= both as f64,
        "{both} against {regular}"
    );
}

#[test]
fn what_is_no_drawing_is_refused() {
    let error = png::encode("no drawing").unwrap_err().to_string();
    assert!(
        error.starts_with("cannot turn the drawing into a picture"),
        "{error}"
    );
}

/// Pieces of one line that find no room are one entry of the legend; another line of the same words is
/// another.
#[test]
fn pieces_of_a_line_stand_in_the_legend_once() {
    let mut figure = Figure::new("", Axis::linear("x", ""), Axis::linear("y", ""));
    for (from, role) in [(0.0, Role::Ink), (5.0, Role::Ink), (9.0, Role::Quiet)] {
        let label = Label::at(Place::Legend, "boundary");
        let points = vec![[from, 1.0], [from + 3.0, 2.0]];
        figure
            .marks
            .push(Mark::Line(Line::new(points, Stroke::solid(role), label)));
    }
    let texts = texts(&svg::document(&figure));
    assert_eq!(texts.iter().filter(|it| *it == "boundary").count(), 2);
}
