//! Invented figures the other tests draw.

use lightseam::report::figure::Axis;
use lightseam::report::figure::Dash;
use lightseam::report::figure::Field;
use lightseam::report::figure::Figure;
use lightseam::report::figure::Fill;
use lightseam::report::figure::Guides;
use lightseam::report::figure::Label;
use lightseam::report::figure::Line;
use lightseam::report::figure::Mark;
use lightseam::report::figure::Marker;
use lightseam::report::figure::Points;
use lightseam::report::figure::Rectangle;
use lightseam::report::figure::Region;
use lightseam::report::figure::Rule;
use lightseam::report::figure::Stroke;
use lightseam::report::figure::Tick;
use lightseam::report::palette::Map;
use lightseam::report::palette::Role;
use ndarray::Array2;

/// A power × speed window with everything such a figure carries.
pub fn window() -> Figure {
    let speeds: Vec<f64> = (0..=60)
        .map(|i| 5.0 * 40f64.powf(f64::from(i) / 60.0))
        .collect();
    let curve = |a: f64, b: f64, e: f64| -> Vec<[f64; 2]> {
        speeds.iter().map(|v| [*v, a + b * v.powf(e)]).collect()
    };
    let (cold, hot) = (curve(2.6, 1.05, 0.62), curve(6.0, 2.35, 0.66));
    let closed = |edge: &[[f64; 2]], power_w: f64| {
        let mut corners = edge.to_vec();
        corners.extend([[200.0, power_w], [5.0, power_w]]);
        corners
    };
    let mut sound = cold.clone();
    sound.extend(hot.iter().rev());
    let region = |corners, name: &str, role, fill| {
        Mark::Region(Region {
            corners,
            label: Label::new(name),
            role,
            fill,
        })
    };
    let limit = |at, name: &str| {
        Mark::HLine(Rule {
            at,
            label: Label::new(name),
            stroke: Stroke::fine(Role::Ink, Dash::DashDot),
        })
    };
    let energies = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0].map(|it| Tick {
        at: it,
        label: format!("{it} J/mm"),
    });
    let mut figure = Figure::new(
        "Where the lid welds",
        Axis::log("Feed rate", "mm/s").over(5.0, 200.0),
        Axis::log("Laser power", "W").over(3.0, 150.0),
    );
    figure.subtitle = "Invented data & <signs> that \"need\" care".to_string();
    figure.marks = vec![
        region(closed(&cold, 3.0), "unfused", Role::Quiet, Fill::Falling),
        region(closed(&hot, 150.0), "degraded", Role::Quiet, Fill::Rising),
        region(sound, "sound", Role::Sound, Fill::Tint),
        Mark::Guides(Guides {
            exponent: 1.0,
            constants: energies.to_vec(),
        }),
        Mark::Line(Line::new(
            cold,
            Stroke::solid(Role::Unfused),
            Label::new("melt depth 20 µm"),
        )),
        Mark::Line(Line::new(
            hot,
            Stroke::dashed(Role::Degraded, Dash::Long),
            Label::new("thermal damage 1 %"),
        )),
        limit(100.0, "laser at most 100 W"),
        limit(5.0, "laser at least 5 W"),
        Mark::Box(Rectangle {
            x: [35.0, 64.0],
            y: [17.5, 31.0],
            label: Label::new("recommended ±28 % power, ±30 % speed"),
            stroke: Stroke::solid(Role::Ink),
            fill: Some(Fill::Tint),
        }),
        Mark::Points(Points {
            points: vec![[47.3, 23.3]],
            errors: vec![],
            label: Label::new("23 W, 47 mm/s"),
            marker: Marker::Cross,
            role: Role::Ink,
            radius_px: 7.0,
        }),
    ];
    figure
}

/// A latitude map with laser lines and a corner without value.
pub fn survey() -> Figure {
    let x: Vec<f64> = (0..40).map(|i| 780.0 + 31.0 * f64::from(i)).collect();
    let y: Vec<f64> = (0..20).map(|i| 0.5 + 0.2 * f64::from(i)).collect();
    let values = Array2::from_shape_fn((y.len(), x.len()), |(row, column)| {
        4.5 - 0.7 * y[row] - ((x[column] - 780.0) / 600.0).powi(2)
    });
    let mut figure = Figure::new(
        "Which laser suits which lid",
        Axis::linear("Wavelength", "nm").over(780.0, 1989.0),
        Axis::linear("Lid thickness", "mm").over(0.5, 4.3),
    );
    figure.marks.push(Mark::Field(Field {
        x,
        y,
        values,
        label: "Latitude".to_string(),
        unit: String::new(),
        map: Map::Dusk,
        levels: vec![],
        none_below: Some(1.0),
        none_label: "no sound power".to_string(),
        unknown: None,
    }));
    for line in [
        808.0, 915.0, 940.0, 980.0, 1064.0, 1470.0, 1550.0, 1710.0, 1940.0,
    ] {
        figure.marks.push(Mark::VLine(Rule {
            at: line,
            label: Label::new(format!("{line}")),
            stroke: Stroke::fine(Role::Ink, Dash::Dotted),
        }));
    }
    figure
}
