//! Whatever a figure holds, drawing it neither panics nor writes a coordinate that is no number.

use lightseam::report::figure::Axis;
use lightseam::report::figure::Band;
use lightseam::report::figure::Dash;
use lightseam::report::figure::Field;
use lightseam::report::figure::Figure;
use lightseam::report::figure::Fill;
use lightseam::report::figure::Guides;
use lightseam::report::figure::Label;
use lightseam::report::figure::Line;
use lightseam::report::figure::Mark;
use lightseam::report::figure::Marker;
use lightseam::report::figure::Place;
use lightseam::report::figure::Points;
use lightseam::report::figure::Rectangle;
use lightseam::report::figure::Region;
use lightseam::report::figure::Rule;
use lightseam::report::figure::Stroke;
use lightseam::report::figure::Text;
use lightseam::report::figure::Tick;
use lightseam::report::figure::Unknown;
use lightseam::report::palette::Map;
use lightseam::report::palette::Role;
use lightseam::report::png;
use lightseam::report::svg;
use ndarray::Array2;
use proptest::prelude::*;
use resvg::usvg::roxmltree::Document;

fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => -50.0..200.0f64,
        2 => 0.001..1.0f64,
        1 => Just(0.0),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(f64::NEG_INFINITY),
        1 => Just(1e308),
        1 => Just(-1e308),
        1 => Just(5e-324),
        1 => Just(7.0),
    ]
}

fn points() -> impl Strategy<Value = Vec<[f64; 2]>> {
    prop_oneof![
        6 => prop::collection::vec([value(), value()], 0..12),
        // Constant data.
        1 => (value(), value(), 1usize..6).prop_map(|(x, y, n)| vec![[x, y]; n]),
    ]
}

fn label() -> impl Strategy<Value = Label> {
    (
        prop_oneof![
            Just(Place::Beside),
            Just(Place::On),
            Just(Place::End),
            Just(Place::Legend)
        ],
        "[a-z <&\"'\u{1}\nµ]{0,24}",
    )
        .prop_map(|(place, text)| Label::at(place, text))
}

fn fill() -> impl Strategy<Value = Fill> {
    prop_oneof![
        Just(Fill::Tint),
        Just(Fill::Rising),
        Just(Fill::Falling),
        Just(Fill::Crossed),
        Just(Fill::Dots)
    ]
}

fn stroke() -> impl Strategy<Value = Stroke> {
    (
        prop_oneof![
            Just(Dash::Solid),
            Just(Dash::Dashed),
            Just(Dash::Dotted),
            Just(Dash::DashDot)
        ],
        value().prop_map(Role::Along),
    )
        .prop_map(|(dash, role)| Stroke::dashed(role, dash))
}

fn mark() -> impl Strategy<Value = Mark> {
    let rule =
        || (value(), label(), stroke()).prop_map(|(at, label, stroke)| Rule { at, label, stroke });
    prop_oneof![
        (points(), label(), stroke(), any::<bool>()).prop_map(|(points, label, stroke, marked)| {
            Mark::Line(Line {
                marker: marked.then_some(Marker::Square),
                ..Line::new(points, stroke, label)
            })
        }),
        (points(), points(), label(), fill()).prop_map(|(lower, upper, label, fill)| {
            Mark::Band(Band {
                lower,
                upper,
                label,
                role: Role::Sound,
                fill,
            })
        }),
        (points(), label(), fill()).prop_map(|(corners, label, fill)| {
            Mark::Region(Region {
                corners,
                label,
                role: Role::Quiet,
                fill,
            })
        }),
        (points(), prop::collection::vec(value(), 0..9), label()).prop_map(
            |(points, errors, label)| {
                let (marker, role) = (Marker::Diamond, Role::Weak);
                Mark::Points(Points {
                    points,
                    errors,
                    label,
                    marker,
                    role,
                    radius_px: 4.0,
                })
            }
        ),
        rule().prop_map(Mark::HLine),
        rule().prop_map(Mark::VLine),
        (
            [value(), value()],
            [value(), value()],
            label(),
            stroke(),
            fill()
        )
            .prop_map(|(x, y, label, stroke, fill)| {
                Mark::Box(Rectangle {
                    x,
                    y,
                    label,
                    stroke,
                    fill: Some(fill),
                })
            }),
        ([value(), value()], "[a-z<\n]{0,9}").prop_map(|(at, text)| {
            Mark::Text(Text {
                at,
                text,
                role: Role::Ink,
                strong: true,
            })
        }),
        (value(), prop::collection::vec(value(), 0..4)).prop_map(|(exponent, constants)| {
            let constants = constants.into_iter().map(|at| Tick {
                at,
                label: "c".to_string(),
            });
            Mark::Guides(Guides {
                exponent,
                constants: constants.collect(),
            })
        }),
        (
            prop::collection::vec(value(), 0..6),
            prop::collection::vec(value(), 0..6),
            // Of any shape: too small, too large, none.
            (0usize..7, 0usize..7).prop_flat_map(|shape| {
                let values = prop::collection::vec(value(), shape.0 * shape.1);
                values.prop_map(move |it| Array2::from_shape_vec(shape, it).unwrap())
            }),
            prop::collection::vec(value(), 0..5),
            prop::option::of(value()),
        )
            .prop_map(|(x, y, values, levels, none_below)| {
                let unknown = none_below.map(|it| {
                    Box::new(Unknown {
                        places: values.mapv(|value: f64| it < value),
                        label: "nothing known".to_string(),
                    })
                });
                Mark::Field(Field {
                    x,
                    y,
                    values,
                    label: "F".to_string(),
                    unit: "K".to_string(),
                    map: Map::Signed,
                    levels,
                    none_below,
                    none_label: "none".to_string(),
                    unknown,
                })
            }),
    ]
}

fn axis() -> impl Strategy<Value = Axis> {
    (any::<bool>(), prop::option::of([value(), value()])).prop_map(|(log, range)| {
        let axis = if log {
            Axis::log("Axis", "W")
        } else {
            Axis::linear("Axis", "")
        };
        Axis { range, ..axis }
    })
}

fn figure() -> impl Strategy<Value = Figure> {
    let size = prop_oneof![4 => 200.0..900.0f64, 1 => value()];
    (
        axis(),
        axis(),
        prop::collection::vec(mark(), 0..6),
        [size.clone(), size],
        "[a-z &<]{0,60}",
    )
        .prop_map(|(x, y, marks, size, title)| Figure {
            marks,
            size,
            subtitle: title.clone(),
            note: title.clone(),
            ..Figure::new(title, x, y)
        })
}

/// Every number in the attributes that carry places.
fn places(svg: &str) -> Vec<f64> {
    let document = Document::parse(svg).unwrap();
    let mut places = Vec::new();
    for node in document.descendants().filter(|it| it.is_element()) {
        for attribute in node.attributes() {
            if [
                "x",
                "y",
                "cx",
                "cy",
                "points",
                "font-size",
                "stroke-width",
                "r",
                "width",
                "height",
                "d",
                "transform",
                "viewBox",
            ]
            .contains(&attribute.name())
            {
                let numbers = attribute
                    .value()
                    .split(|c: char| " ,MLZhv()".contains(c) || c.is_ascii_lowercase())
                    .filter(|it| !it.is_empty());
                places.extend(numbers.map(|it| it.parse::<f64>().unwrap()));
            }
        }
    }
    places
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]
    #[test]
    fn any_figure_is_drawn(figure in figure()) {
        let drawn = svg::document(&figure);
        let places = places(&drawn);
        prop_assert!(8 < places.len());
        prop_assert!(places.iter().all(|it| it.is_finite() && it.abs() <= 1e6));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn any_figure_becomes_a_picture(figure in figure()) {
        let small = Figure { size: [300.0, 220.0], ..figure };
        prop_assert!(png::encode(&svg::document(&small)).is_ok());
    }
}
