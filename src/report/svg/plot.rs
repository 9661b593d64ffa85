//! Where everything of a figure goes: header, legend, margins, frame, axes.

use std::collections::BTreeSet;

use plotters::coord::cartesian::Cartesian2d;

use crate::report::axis::Placed;
use crate::report::figure::Axis;
use crate::report::figure::Figure;
use crate::report::figure::Label;
use crate::report::figure::Mark;
use crate::report::figure::Place;
use crate::report::figure::Tick;
use crate::report::font::Weight;
use crate::report::font::width_px;
use crate::report::font::wrapped;

use super::canvas::fine;
use super::clip::ring_inside;
use super::clip::runs_inside;
use super::field::Bands;

/// Size of the title, px.
pub const TITLE_PX: f64 = 16.0;
/// Size of axis headings, labels, subtitle and legend, px.
pub const TEXT_PX: f64 = 12.0;
/// Size of tick labels, px.
pub const TICK_PX: f64 = 11.5;
/// Size of notes, guides and isoline labels, px.
pub const SMALL_PX: f64 = 10.5;
/// Room around the figure, px.
pub const MARGIN_PX: f64 = 16.0;
/// Height of a line of text by its size.
pub const LEADING: f64 = 1.32;

/// From the baseline of the axis heading to the frame: clears a tick label at the very top.
pub const HEADING_GAP_PX: f64 = 12.0;

/// How far beyond the frame marks are drawn before they are clipped.
const BRIM_PX: f64 = 6.0;

const LEGEND_SWATCH_PX: f64 = 26.0;
const LEGEND_GAP_PX: f64 = 18.0;

/// What a legend entry shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Swatch {
    /// The look of mark number n.
    Mark(usize),
    /// The hatch of places where field number n has no value.
    NoValue,
    /// The dots of places of which nothing is known.
    Unknown,
}

/// One legend entry and where it stands (left end, middle height).
#[derive(Clone, Debug)]
pub struct Entry {
    pub swatch: Swatch,
    pub text: String,
    pub at: [f64; 2],
}

/// A figure laid out.
pub struct Plot<'a> {
    pub figure: &'a Figure,
    pub size: [f64; 2],
    pub title: Vec<String>,
    pub subtitle: Vec<String>,
    pub note: Vec<String>,
    pub legend: Vec<Entry>,
    pub legended: BTreeSet<usize>,
    /// Upper left and lower right corner, px.
    pub frame: [[f64; 2]; 2],
    pub x: Placed,
    pub y: Placed,
    pub x_ticks: (Vec<Tick>, Vec<f64>),
    pub y_ticks: (Vec<Tick>, Vec<f64>),
    /// Whether labels of vertical lines stand upright.
    pub upright: bool,
    /// Height of the row of their labels.
    pub rules_px: f64,
    /// Bands of each field, by mark number.
    pub bands: Vec<(usize, Bands)>,
    /// Left edge of the colour bar, if there is one.
    pub bar_left: f64,
}

impl<'a> Plot<'a> {
    pub fn new(figure: &'a Figure, moved: &BTreeSet<usize>) -> Self {
        let mut size = [
            bounded(figure.size[0], 760.0),
            bounded(figure.size[1], 500.0),
        ];
        let room = size[0] - 2.0 * MARGIN_PX;
        let mut legended = moved.clone();
        legended.extend(
            (0..)
                .zip(&figure.marks)
                .filter(|(_, it)| label(it).is_some_and(|it| it.place == Place::Legend))
                .map(|(number, _)| number),
        );
        let lines = |text: &str, px, weight| {
            if text.is_empty() {
                Vec::new()
            } else {
                wrapped(text, px, weight, room)
            }
        };
        let title = lines(&figure.title, TITLE_PX, Weight::SemiBold);
        let subtitle = lines(&figure.subtitle, TEXT_PX, Weight::Regular);
        let note = lines(&figure.note, SMALL_PX, Weight::Regular);
        let mut top = MARGIN_PX
            + TITLE_PX * LEADING * title.len() as f64
            + TEXT_PX * LEADING * subtitle.len() as f64
            + 4.0;
        let legend = legend(figure, &legended, room, &mut top);
        top += 8.0 + TEXT_PX + HEADING_GAP_PX;

        let data = extents(figure);
        let ticks_for = |axis: &Axis, values: &[f64], length: f64, pitch: f64| {
            let placed = Placed::new(axis, values.iter().copied(), [0.0, length.max(20.0)]);
            placed.ticks(axis, ((length / pitch) as usize).clamp(2, 12))
        };
        let bottom = MARGIN_PX
            + TICK_PX * LEADING
            + 8.0
            + TEXT_PX * LEADING
            + if note.is_empty() {
                0.0
            } else {
                8.0 + SMALL_PX * LEADING * note.len() as f64
            };
        // The width of y labels needs the height and the other way round; heights barely depend.
        let y_ticks = ticks_for(&figure.y, &data.1, size[1] - top - bottom, 52.0);
        let left = MARGIN_PX + widest(y_ticks.0.iter().map(|it| it.label.as_str()), TICK_PX) + 9.0;
        let end_labels = figure.marks.iter().enumerate().filter_map(|(number, it)| {
            let label = label(it)?;
            (label.place == Place::End && !legended.contains(&number)).then_some(label)
        });
        let ends = widest(end_labels.flat_map(|it| it.text.lines()), TEXT_PX);
        let fields: Vec<(usize, &crate::report::figure::Field)> = figure
            .marks
            .iter()
            .enumerate()
            .filter_map(|(number, it)| match it {
                Mark::Field(field) => Some((number, field)),
                _ => None,
            })
            .collect();
        let mut right = MARGIN_PX + 4.0;
        if 0.0 < ends {
            right += ends + 8.0;
        }
        let bar = if fields.is_empty() { 0.0 } else { 64.0 };
        right += bar;
        // At least a stamp of a plot, however small the figure.
        let frame_right = (size[0] - right).max(left + 40.0);

        let x = Placed::new(&figure.x, data.0.iter().copied(), [left, frame_right]);
        let upright = crowded(figure, &x);
        let rules_px = rule_labels_height(figure, &legended, upright);
        top += rules_px;
        if figure.equal_scale
            && let (Some(across), Some(down)) = (figure.x.range, figure.y.range)
        {
            let ratio = (down[1] - down[0]).abs() / (across[1] - across[0]).abs();
            size[1] = bounded(top + bottom + ratio * (frame_right - left), size[1]);
        }
        let frame_bottom = (size[1] - bottom).max(top + 40.0);
        let frame = [[left, top], [frame_right, frame_bottom]];
        let y = Placed::new(&figure.y, data.1.iter().copied(), [frame_bottom, top]);
        let x_ticks = ticks_for(&figure.x, &data.0, frame_right - left, 78.0);
        let bands = fields
            .into_iter()
            .map(|(number, field)| (number, Bands::new(field, &x, &y)))
            .collect();
        Plot {
            figure,
            size,
            title,
            subtitle,
            note,
            legend,
            legended,
            frame,
            x,
            y,
            x_ticks,
            y_ticks,
            upright,
            rules_px,
            bands,
            bar_left: frame_right + 16.0 + if 0.0 < ends { ends + 8.0 } else { 0.0 },
        }
    }

    /// Runs of points that have a place, unclipped.
    pub fn runs(&self, points: &[[f64; 2]]) -> Vec<Vec<[f64; 2]>> {
        let mut runs = vec![Vec::new()];
        for point in points {
            match (self.x.place(point[0]), self.y.place(point[1])) {
                (Some(x), Some(y)) => {
                    if let Some(run) = runs.last_mut() {
                        run.push([x, y]);
                    }
                }
                _ => runs.push(Vec::new()),
            }
        }
        runs.retain(|it| !it.is_empty());
        runs
    }

    /// A closed outline; corners without place on a logarithmic axis lie far below it.
    pub fn outline(&self, corners: impl Iterator<Item = [f64; 2]>) -> Vec<[f64; 2]> {
        corners
            .filter_map(|it| Some([self.x.edge(it[0])?, self.y.edge(it[1])?]))
            .collect()
    }

    /// The parts of runs inside the frame.
    pub fn visible(&self, runs: &[Vec<[f64; 2]>]) -> Vec<Vec<[f64; 2]>> {
        runs_inside(runs, self.frame)
    }

    /// The frame and a little more, so that ends of strokes at it are cut by the clip path.
    pub fn brim(&self) -> [[f64; 2]; 2] {
        let [[left, top], [right, bottom]] = self.frame;
        [
            [left - BRIM_PX, top - BRIM_PX],
            [right + BRIM_PX, bottom + BRIM_PX],
        ]
    }

    /// The parts of closed outlines in and about the frame.
    pub fn filled(&self, rings: &[Vec<[f64; 2]>]) -> Vec<Vec<[f64; 2]>> {
        let brim = self.brim();
        let rings = rings.iter().map(|it| ring_inside(it.clone(), brim));
        rings.filter(|it| 3 <= it.len()).collect()
    }

    /// The coordinates of the axes, for what plotters places by its values.
    pub fn chart(&self) -> Cartesian2d<Placed, Placed> {
        let [[left, top], [right, bottom]] = self.frame.map(|it| it.map(fine));
        Cartesian2d::new(self.x, self.y, (left..right, bottom..top))
    }

    /// Whether a coloured field lies under the marks.
    pub fn has_field(&self) -> bool {
        !self.bands.is_empty()
    }
}

/// The label of a mark, for those that have one in words of their own.
pub fn label(mark: &Mark) -> Option<&Label> {
    let label = match mark {
        Mark::Line(it) => &it.label,
        Mark::Band(it) => &it.label,
        Mark::Region(it) => &it.label,
        Mark::Points(it) => &it.label,
        Mark::HLine(it) | Mark::VLine(it) => &it.label,
        Mark::Box(it) => &it.label,
        Mark::Text(_) | Mark::Field(_) | Mark::Guides(_) => return None,
    };
    (!label.text.is_empty()).then_some(label)
}

/// Width of the widest text, px.
pub fn widest<'t>(texts: impl Iterator<Item = &'t str>, size_px: f64) -> f64 {
    texts
        .map(|it| width_px(it, size_px, Weight::Regular))
        .fold(0.0, f64::max)
}

fn bounded(length: f64, usual: f64) -> f64 {
    if length.is_finite() {
        length.clamp(200.0, 4000.0)
    } else {
        usual
    }
}

fn legend(figure: &Figure, legended: &BTreeSet<usize>, room: f64, top: &mut f64) -> Vec<Entry> {
    let mut wanted: Vec<(Swatch, String)> = Vec::new();
    for (number, mark) in figure.marks.iter().enumerate() {
        if let Mark::Field(field) = mark
            && Bands::leaves_out(field)
            && !field.none_label.is_empty()
        {
            wanted.push((Swatch::NoValue, field.none_label.clone()));
        }
        if let Mark::Field(field) = mark
            && let Some(label) = Bands::unknown_label(field)
        {
            wanted.push((Swatch::Unknown, label.into()));
        }
        if let Some(label) = label(mark)
            && legended.contains(&number)
        {
            let text = label.text.replace('\n', " ");
            // Pieces of one line are one entry.
            let again = wanted.iter().any(|it| match it.0 {
                Swatch::Mark(before) => it.1 == text && same_line(&figure.marks[before], mark),
                _ => false,
            });
            if !again {
                wanted.push((Swatch::Mark(number), text));
            }
        }
    }
    let mut entries = Vec::new();
    let (mut x, mut y) = (MARGIN_PX, *top + 6.0 + TEXT_PX * LEADING / 2.0);
    for (swatch, text) in wanted {
        let width = LEGEND_SWATCH_PX + 7.0 + width_px(&text, TEXT_PX, Weight::Regular);
        if MARGIN_PX < x && MARGIN_PX + room < x + width {
            x = MARGIN_PX;
            y += TEXT_PX * 1.6;
        }
        entries.push(Entry {
            swatch,
            text,
            at: [x, y],
        });
        x += width + LEGEND_GAP_PX;
        *top = y + TEXT_PX * LEADING / 2.0;
    }
    entries
}

fn same_line(a: &Mark, b: &Mark) -> bool {
    matches!((a, b), (Mark::Line(a), Mark::Line(b)) if a.stroke == b.stroke)
}

/// All values the axes should show when they have no range.
fn extents(figure: &Figure) -> (Vec<f64>, Vec<f64>) {
    let (mut x, mut y) = (Vec::new(), Vec::new());
    let mut add = |points: &[[f64; 2]]| {
        x.extend(points.iter().map(|it| it[0]));
        y.extend(points.iter().map(|it| it[1]));
    };
    for mark in &figure.marks {
        match mark {
            Mark::Line(it) => add(&it.points),
            Mark::Band(it) => {
                add(&it.lower);
                add(&it.upper);
            }
            Mark::Region(it) => add(&it.corners),
            Mark::Points(it) => {
                add(&it.points);
                for (point, error) in it.points.iter().zip(&it.errors) {
                    add(&[[point[0], point[1] - error], [point[0], point[1] + error]]);
                }
            }
            Mark::Box(it) => add(&[[it.x[0], it.y[0]], [it.x[1], it.y[1]]]),
            Mark::Text(it) => add(&[it.at]),
            Mark::Field(_) | Mark::HLine(_) | Mark::VLine(_) | Mark::Guides(_) => {}
        }
    }
    for mark in &figure.marks {
        match mark {
            Mark::Field(it) => {
                x.extend(&it.x);
                y.extend(&it.y);
            }
            Mark::HLine(it) => y.push(it.at),
            Mark::VLine(it) => x.push(it.at),
            _ => {}
        }
    }
    (x, y)
}

/// Whether labels of vertical lines would touch if they lay flat.
fn crowded(figure: &Figure, x: &Placed) -> bool {
    let mut spans: Vec<[f64; 2]> = figure
        .marks
        .iter()
        .filter_map(|it| match it {
            Mark::VLine(rule) if x.holds(rule.at) => {
                let half = width_px(&rule.label.text, SMALL_PX, Weight::Regular) / 2.0 + 4.0;
                x.place(rule.at).map(|at| [at - half, at + half])
            }
            _ => None,
        })
        .collect();
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    spans.windows(2).any(|it| it[1][0] < it[0][1])
}

fn rule_labels_height(figure: &Figure, legended: &BTreeSet<usize>, upright: bool) -> f64 {
    let widest = widest(
        figure
            .marks
            .iter()
            .enumerate()
            .filter_map(|(number, it)| match it {
                Mark::VLine(rule) if !legended.contains(&number) => Some(rule.label.text.as_str()),
                _ => None,
            }),
        SMALL_PX,
    );
    match (widest == 0.0, upright) {
        (true, _) => 0.0,
        (false, true) => widest + 16.0,
        (false, false) => SMALL_PX * LEADING + 6.0,
    }
}
