//! A figure as data: axes with units, marks, labels. Drawn by [`svg`](crate::report::svg).
//!
//! Values are in the units the axes name. Every mark that carries a meaning carries a text label,
//! placed beside it, so that a figure is read without colours. Points that are not finite, or not
//! positive on a logarithmic axis, leave a gap.

use ndarray::Array2;

use crate::report::palette::Map;
use crate::report::palette::Role;

/// A figure, complete but not yet drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// What the figure shows, in a few words.
    pub title: String,
    /// The conditions it holds for; may be empty.
    pub subtitle: String,
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// What is drawn, from back to front within each kind.
    pub marks: Vec<Mark>,
    /// A small line at the foot: source, caution; may be empty.
    pub note: String,
    /// Width and height in CSS pixels.
    pub size: [f64; 2],
    /// A unit is as long on both axes: the height is then what the ranges of the axes need.
    pub equal_scale: bool,
}

impl Figure {
    /// An empty figure of the usual size, 760 by 500.
    pub fn new(title: impl Into<String>, x: Axis, y: Axis) -> Self {
        Figure {
            title: title.into(),
            subtitle: String::new(),
            x,
            y,
            marks: Vec::new(),
            note: String::new(),
            size: [760.0, 500.0],
            equal_scale: false,
        }
    }
}

/// How values are spread along an axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Equal differences are equal lengths.
    Linear,
    /// Equal ratios are equal lengths; values must be positive.
    Log,
}

/// One axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Quantity.
    pub label: String,
    /// Unit; empty for a pure number.
    pub unit: String,
    /// Linear or logarithmic.
    pub scale: Scale,
    /// First and last value; the first may be the larger one. `None`: what the marks need.
    pub range: Option<[f64; 2]>,
    /// Ticks of one's own. `None`: round numbers.
    pub ticks: Option<Vec<Tick>>,
}

impl Axis {
    /// A linear axis with a range from its marks.
    pub fn linear(label: impl Into<String>, unit: impl Into<String>) -> Self {
        Axis {
            label: label.into(),
            unit: unit.into(),
            scale: Scale::Linear,
            range: None,
            ticks: None,
        }
    }

    /// A logarithmic axis with a range from its marks.
    pub fn log(label: impl Into<String>, unit: impl Into<String>) -> Self {
        Axis {
            scale: Scale::Log,
            ..Axis::linear(label, unit)
        }
    }

    /// The same axis from `first` to `last`.
    pub fn over(self, first: f64, last: f64) -> Self {
        Axis {
            range: Some([first, last]),
            ..self
        }
    }

    /// Label and unit as printed: "Power, W".
    pub fn heading(&self) -> String {
        if self.unit.is_empty() {
            self.label.clone()
        } else {
            format!("{}, {}", self.label, self.unit)
        }
    }
}

/// A tick with its own text.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Where, in the unit of the axis.
    pub at: f64,
    /// What it says.
    pub label: String,
}

/// Text that names a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The words; lines are parted by `\n`. Empty: no label.
    pub text: String,
    /// Where they go.
    pub place: Place,
}

impl Label {
    /// A label put where it is clear of others.
    pub fn new(text: impl Into<String>) -> Self {
        Label {
            text: text.into(),
            place: Place::Beside,
        }
    }

    /// A label at a place of one's own choice.
    pub fn at(place: Place, text: impl Into<String>) -> Self {
        Label {
            text: text.into(),
            place,
        }
    }

    /// No label.
    pub fn none() -> Self {
        Label::new("")
    }
}

/// Where a label goes. A label that finds no room is moved to the legend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Along the curve, beside or inside the mark.
    Beside,
    /// On the curve, interrupting it: for families of curves.
    On,
    /// In the right margin, level with the last point.
    End,
    /// In the legend above the plot.
    Legend,
}

/// How a line is interrupted: told apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// ————
    Solid,
    /// – – –
    Dashed,
    /// — — —
    Long,
    /// · · ·
    Dotted,
    /// – · –
    DashDot,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// What its colour stands for.
    pub role: Role,
    /// How it is interrupted.
    pub dash: Dash,
    /// Width in CSS pixels.
    pub width_px: f64,
}

impl Stroke {
    /// A solid line of usual width.
    pub fn solid(role: Role) -> Self {
        Stroke {
            role,
            dash: Dash::Solid,
            width_px: 2.0,
        }
    }

    /// The same with interruptions.
    pub fn dashed(role: Role, dash: Dash) -> Self {
        Stroke {
            dash,
            ..Stroke::solid(role)
        }
    }

    /// A fine line, for guides and limits.
    pub fn fine(role: Role, dash: Dash) -> Self {
        Stroke {
            role,
            dash,
            width_px: 1.1,
        }
    }
}

/// Shape of a point: told apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Marker {
    /// Filled circle.
    Disc,
    /// Open circle.
    Ring,
    /// Filled square.
    Square,
    /// Filled triangle.
    Triangle,
    /// Open diamond.
    Diamond,
    /// Upright cross, for setpoints.
    Cross,
    /// Diagonal cross.
    Saltire,
}

/// How an area is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// A light even tint.
    Tint,
    /// One even colour: for swatches.
    Full,
    /// Thin strokes rising to the right.
    Rising,
    /// Thin strokes falling to the right.
    Falling,
    /// Both.
    Crossed,
    /// Small dots.
    Dots,
}

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A curve.
    Line(Line),
    /// The area between two curves.
    Band(Band),
    /// A closed area.
    Region(Region),
    /// Separate points.
    Points(Points),
    /// A horizontal line across the plot: a limit.
    HLine(Rule),
    /// A vertical line across the plot; its label stands above the frame.
    VLine(Rule),
    /// A rectangle.
    Box(Rectangle),
    /// Free text.
    Text(Text),
    /// Values over the plane.
    Field(Field),
    /// Faint curves of constant y / xᵉ.
    Guides(Guides),
}

/// A curve through points.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Points `[x, y]` in order.
    pub points: Vec<[f64; 2]>,
    /// Its name.
    pub label: Label,
    /// How it is drawn.
    pub stroke: Stroke,
    /// A marker on some of its points, for long families.
    pub marker: Option<Marker>,
}

impl Line {
    /// A curve without markers.
    pub fn new(points: Vec<[f64; 2]>, stroke: Stroke, label: Label) -> Self {
        Line {
            points,
            label,
            stroke,
            marker: None,
        }
    }
}

/// The area between a lower and an upper curve, for instance an uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Points `[x, y]` of the lower edge.
    pub lower: Vec<[f64; 2]>,
    /// Points `[x, y]` of the upper edge, in the same direction.
    pub upper: Vec<[f64; 2]>,
    /// Its name.
    pub label: Label,
    /// What its colour stands for.
    pub role: Role,
    /// How it is filled.
    pub fill: Fill,
}

/// A closed area.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    /// Corners `[x, y]`; the last joins the first.
    pub corners: Vec<[f64; 2]>,
    /// Its name, placed where the area is widest.
    pub label: Label,
    /// What its colour stands for.
    pub role: Role,
    /// How it is filled.
    pub fill: Fill,
}

/// Separate points.
#[derive(Clone, Debug, PartialEq)]
pub struct Points {
    /// Points `[x, y]`.
    pub points: Vec<[f64; 2]>,
    /// Half-lengths of vertical error bars, one a point; empty for none.
    pub errors: Vec<f64>,
    /// Their name.
    pub label: Label,
    /// Shape.
    pub marker: Marker,
    /// What their colour stands for.
    pub role: Role,
    /// Radius in CSS pixels.
    pub radius_px: f64,
}

/// A straight line across the whole plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Where, on the axis it crosses.
    pub at: f64,
    /// Its name.
    pub label: Label,
    /// How it is drawn.
    pub stroke: Stroke,
}

/// A rectangle with sides along the axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Rectangle {
    /// Left and right side.
    pub x: [f64; 2],
    /// Lower and upper side.
    pub y: [f64; 2],
    /// Its name.
    pub label: Label,
    /// How its sides are drawn.
    pub stroke: Stroke,
    /// How it is filled, if at all.
    pub fill: Option<Fill>,
}

/// Free text centred on a point.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Where `[x, y]`.
    pub at: [f64; 2],
    /// The words; lines are parted by `\n`.
    pub text: String,
    /// What its colour stands for.
    pub role: Role,
    /// Whether it names a whole area: larger and stronger.
    pub strong: bool,
}

/// Values over the plane, drawn as filled bands with labelled lines between them.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Columns, in order, at least two.
    pub x: Vec<f64>,
    /// Rows, in order, at least two.
    pub y: Vec<f64>,
    /// `values[[row, column]]`, shape (y.len(), x.len()); not a number where there is no value.
    pub values: Array2<f64>,
    /// Quantity, for the colour bar.
    pub label: String,
    /// Unit, for the colour bar.
    pub unit: String,
    /// Colours.
    pub map: Map,
    /// Values at which bands part; empty for round numbers.
    pub levels: Vec<f64>,
    /// Values below this count as none; the edge is then traced and not stepped by the samples.
    pub none_below: Option<f64>,
    /// What a place without value is called in the legend, for instance "no sound power".
    pub none_label: String,
    /// Places without value of which nothing is known, apart from the others.
    pub unknown: Option<Box<Unknown>>,
}

/// Samples of a field that have no answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Unknown {
    /// True where there is none; shape of the values.
    pub places: Array2<bool>,
    /// What such a place is called in the legend.
    pub label: String,
}

/// Curves y = c · xᵉ, dashed, each with a small label; for e = 1 lines of constant y / x.
#[derive(Clone, Debug, PartialEq)]
pub struct Guides {
    /// Exponent e.
    pub exponent: f64,
    /// c of each curve, with its label.
    pub constants: Vec<Tick>,
}
