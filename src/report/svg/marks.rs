//! The marks themselves, without their labels: areas and lines clipped to the frame, markers whole.

use crate::report::figure::Axis;
use crate::report::figure::Band;
use crate::report::figure::Dash;
use crate::report::figure::Field;
use crate::report::figure::Fill;
use crate::report::figure::Guides;
use crate::report::figure::Line;
use crate::report::figure::Mark;
use crate::report::figure::Marker;
use crate::report::figure::Points;
use crate::report::figure::Rectangle;
use crate::report::figure::Stroke;
use crate::report::number::short;
use crate::report::palette::PAPER;
use crate::report::palette::QUIET;
use crate::report::palette::Role;

use super::canvas::Canvas;
use super::clip::rectangle;
use super::clip::runs_inside;
use super::field::Bands;
use super::frame::name;
use super::labels::Labels;
use super::plot::Plot;

/// Hover values shown along one curve, at most.
const HOVER_POINTS: usize = 30;
/// Hover values shown over a field, columns and rows, at most.
const HOVER_CELLS: [usize; 2] = [24, 16];
/// Markers along a long curve.
const MARKERS: usize = 8;

/// Points of a line up to which all have their marker.
const ALL_MARKED: usize = 10;

/// How far from the frame the middle of a marker still counts as on it, px.
const ON_FRAME_PX: f64 = 0.5;

/// Marks from back to front.
fn order(plot: &Plot) -> Vec<usize> {
    let mut order: Vec<usize> = (0..plot.figure.marks.len()).collect();
    order.sort_by_key(|it| layer(&plot.figure.marks[*it]));
    order
}

/// Draws areas and lines, areas first, clipped to the frame.
pub fn draw(canvas: &mut Canvas, plot: &Plot, labels: &Labels) {
    let clip = format!(r#" clip-path="url(#{})""#, canvas.name("plot"));
    canvas.open(&clip);
    for number in order(plot) {
        named(canvas, plot, number, |canvas| {
            draw_mark(canvas, plot, labels, number);
        });
    }
    canvas.close();
}

/// Draws the markers, over the frame: one that stands on it is whole, one beyond it left out.
pub fn draw_markers(canvas: &mut Canvas, plot: &Plot) {
    canvas.open("");
    for number in order(plot) {
        match &plot.figure.marks[number] {
            Mark::Line(it) => named(canvas, plot, number, |canvas| {
                mark_line(canvas, plot, it);
            }),
            Mark::Points(it) => named(canvas, plot, number, |canvas| {
                mark_points(canvas, plot, it, &name(plot, number));
            }),
            _ => {}
        }
    }
    canvas.close();
}

/// Draws a group that says the name of its mark when pointed at.
fn named(canvas: &mut Canvas, plot: &Plot, number: usize, draw: impl FnOnce(&mut Canvas)) {
    canvas.open("");
    let name = name(plot, number);
    if !name.is_empty() {
        canvas.hover(&name);
    }
    draw(canvas);
    canvas.close();
}

fn layer(mark: &Mark) -> u8 {
    match mark {
        Mark::Field(_) => 0,
        Mark::Region(_) | Mark::Band(_) => 1,
        Mark::Guides(_) => 2,
        Mark::HLine(_) | Mark::VLine(_) => 3,
        Mark::Box(_) => 4,
        Mark::Line(_) => 5,
        Mark::Points(_) => 6,
        Mark::Text(_) => 7,
    }
}

fn draw_mark(canvas: &mut Canvas, plot: &Plot, labels: &Labels, number: usize) {
    let [[left, top], [right, bottom]] = plot.frame;
    match &plot.figure.marks[number] {
        Mark::Line(it) => draw_line(canvas, plot, labels, number, it),
        Mark::Band(it) => {
            let rings = plot.filled(&[band_outline(plot, it)]);
            canvas.area(&rings, it.role.colour(), it.fill);
        }
        Mark::Region(it) => {
            let outline = plot.outline(it.corners.iter().copied());
            canvas.area(&plot.filled(&[outline]), it.role.colour(), it.fill);
        }
        Mark::Points(it) => draw_errors(canvas, plot, it),
        Mark::HLine(it) => {
            if let Some(y) = plot.y.place(it.at).filter(|_| plot.y.holds(it.at)) {
                draw_rule(canvas, plot, [[left, y], [right, y]], it.stroke);
            }
        }
        Mark::VLine(it) => {
            if let Some(x) = plot.x.place(it.at).filter(|_| plot.x.holds(it.at)) {
                draw_rule(canvas, plot, [[x, top], [x, bottom]], it.stroke);
            }
        }
        Mark::Box(it) => draw_box(canvas, plot, it),
        Mark::Text(_) => {}
        Mark::Field(it) => {
            for (_, bands) in plot.bands.iter().filter(|other| other.0 == number) {
                draw_field(canvas, plot, labels, number, bands);
                hover_cells(canvas, plot, it);
            }
        }
        Mark::Guides(it) => {
            for (i, constant) in it.constants.iter().enumerate() {
                for run in guide_runs(plot, it, constant.at) {
                    let pieces = labels.cut(&run, (number, i));
                    canvas.line(&pieces, Stroke::fine(Role::Guide, Dash::Dashed));
                }
            }
        }
    }
}

/// One guide inside the frame.
pub fn guide_runs(plot: &Plot, guides: &Guides, constant: f64) -> Vec<Vec<[f64; 2]>> {
    const STEPS: i32 = 96;
    let [[left, _], [right, _]] = plot.frame;
    let points: Vec<[f64; 2]> = (0..=STEPS)
        .map(|i| {
            let x = plot
                .x
                .value(left + (right - left) * f64::from(i) / f64::from(STEPS));
            [x, constant * x.powf(guides.exponent)]
        })
        .collect();
    plot.visible(&plot.runs(&points))
}

/// Outline of a band: lower edge forwards, upper edge back.
pub fn band_outline(plot: &Plot, band: &Band) -> Vec<[f64; 2]> {
    plot.outline(band.lower.iter().chain(band.upper.iter().rev()).copied())
}

/// A straight line; over a field with a light ground, to be seen on dark colours too.
fn draw_rule(canvas: &mut Canvas, plot: &Plot, ends: [[f64; 2]; 2], stroke: Stroke) {
    let pieces = [ends.to_vec()];
    if plot.has_field() {
        canvas.casing(&pieces, stroke.width_px + 0.9);
    }
    canvas.line(&pieces, stroke);
}

fn draw_line(canvas: &mut Canvas, plot: &Plot, labels: &Labels, number: usize, line: &Line) {
    let name = &name(plot, number);
    let runs = plot.runs(&line.points);
    let drawn = runs_inside(&runs, plot.brim());
    let pieces: Vec<Vec<[f64; 2]>> = drawn
        .iter()
        .flat_map(|it| labels.cut(it, (number, 0)))
        .collect();
    if plot.has_field() {
        canvas.casing(&pieces, line.stroke.width_px + 0.9);
    }
    canvas.line(&pieces, line.stroke);
    for at in spread(line.points.len(), HOVER_POINTS) {
        hover_point(canvas, plot, line.points[at], name);
    }
}

fn mark_line(canvas: &mut Canvas, plot: &Plot, line: &Line) {
    let role = line.stroke.role;
    for run in &plot.runs(&line.points) {
        // A point alone still shows.
        if let [point] = run[..] {
            let marker = line.marker.unwrap_or(Marker::Disc);
            put_marker(canvas, plot, point, marker, role, 3.0);
        } else if let Some(marker) = line.marker {
            // Nearly as many points as markers: all of them.
            let most = if run.len() <= ALL_MARKED {
                run.len()
            } else {
                MARKERS
            };
            for at in spread(run.len(), most) {
                put_marker(canvas, plot, run[at], marker, role, 4.0);
            }
        }
    }
}

/// A marker whose middle lies on the plot or its frame.
fn put_marker(
    canvas: &mut Canvas,
    plot: &Plot,
    [x, y]: [f64; 2],
    marker: Marker,
    role: Role,
    radius_px: f64,
) {
    let [[left, top], [right, bottom]] = plot.frame;
    let across = left - ON_FRAME_PX <= x && x <= right + ON_FRAME_PX;
    let down = top - ON_FRAME_PX <= y && y <= bottom + ON_FRAME_PX;
    if across && down {
        canvas.marker([x, y], marker, role, radius_px);
    }
}

/// Up to `most` indices spread over `count`.
fn spread(count: usize, most: usize) -> impl Iterator<Item = usize> {
    let taken = count.min(most);
    (0..taken).map(move |i| {
        if taken == count {
            i
        } else {
            (2 * i + 1) * count / (2 * taken)
        }
    })
}

fn hover_point(canvas: &mut Canvas, plot: &Plot, point: [f64; 2], name: &str) {
    let (Some(x), Some(y)) = (plot.x.place(point[0]), plot.y.place(point[1])) else {
        return;
    };
    let [[left, top], [right, bottom]] = plot.frame;
    if x < left || right < x || y < top || bottom < y {
        return;
    }
    let separator = if name.is_empty() { "" } else { ": " };
    let words = format!(
        "{name}{separator}{}, {}",
        valued(&plot.figure.x, point[0]),
        valued(&plot.figure.y, point[1])
    );
    canvas.hover_place([x - 6.0, y - 6.0], [12.0, 12.0], &words);
}

fn valued(axis: &Axis, value: f64) -> String {
    format!("{} {}", short(value, 4), axis.unit)
        .trim_end()
        .to_string()
}

fn draw_errors(canvas: &mut Canvas, plot: &Plot, points: &Points) {
    for (i, point) in points.points.iter().enumerate() {
        let (Some(x), Some(_)) = (plot.x.place(point[0]), plot.y.place(point[1])) else {
            continue;
        };
        let error = points.errors.get(i).copied().unwrap_or(0.0);
        if let (Some(low), Some(high)) =
            (plot.y.edge(point[1] - error), plot.y.edge(point[1] + error))
            && error != 0.0
        {
            let stroke = Stroke {
                width_px: 1.2,
                ..Stroke::solid(points.role)
            };
            let whisker = vec![[x, low], [x, high]];
            let end = |y: f64| vec![[x - 3.0, y], [x + 3.0, y]];
            let pieces = runs_inside(&[whisker, end(low), end(high)], plot.brim());
            canvas.line(&pieces, stroke);
        }
    }
}

fn mark_points(canvas: &mut Canvas, plot: &Plot, points: &Points, name: &str) {
    for place in plot.runs(&points.points).concat() {
        let (marker, role) = (points.marker, points.role);
        put_marker(canvas, plot, place, marker, role, points.radius_px);
    }
    for at in spread(points.points.len(), 10 * HOVER_POINTS) {
        hover_point(canvas, plot, points.points[at], name);
    }
}

fn draw_box(canvas: &mut Canvas, plot: &Plot, rectangle: &Rectangle) {
    let [x, y] = [rectangle.x, rectangle.y];
    let outline =
        plot.outline([[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]].into_iter());
    if let Some(fill) = rectangle.fill {
        let rings = plot.filled(std::slice::from_ref(&outline));
        canvas.area(&rings, rectangle.stroke.role.colour(), fill);
    }
    let sides = runs_inside(&[closed(&outline)], plot.brim());
    canvas.line(&sides, rectangle.stroke);
}

fn closed(ring: &[[f64; 2]]) -> Vec<[f64; 2]> {
    ring.iter().chain(ring.first()).copied().collect()
}

fn draw_field(canvas: &mut Canvas, plot: &Plot, labels: &Labels, number: usize, bands: &Bands) {
    let [low, high] = bands.extent;
    if !(low[0] < high[0] && low[1] < high[1]) {
        return;
    }
    let sampled = plot.filled(&[rectangle(low, high)]);
    canvas.filled(&sampled, PAPER, 1.0);
    if bands.leaves_out {
        canvas.area(&sampled, QUIET, Fill::Rising);
    }
    if let Some(area) = &bands.unknown {
        let rings = plot.filled(&area.rings);
        canvas.filled(&rings, PAPER, 1.0);
        canvas.area(&rings, QUIET, Fill::Dots);
    }
    for (area, colour) in bands.areas.iter().zip(&bands.colours) {
        canvas.filled(&plot.filled(&area.rings), *colour, 1.0);
    }
    let fine = Stroke {
        width_px: 0.8,
        ..Stroke::solid(Role::Ink)
    };
    for (i, area) in bands.areas.iter().skip(1).enumerate() {
        let lines = runs_inside(&area.lines, plot.brim());
        let pieces = lines.iter().flat_map(|it| labels.cut(it, (number, i)));
        canvas.line(&pieces.collect::<Vec<_>>(), fine);
    }
    if bands.leaves_out
        && let Some(base) = bands.areas.first()
    {
        let edges: Vec<Vec<[f64; 2]>> = base.rings.iter().map(|it| closed(it)).collect();
        let edge = Stroke {
            width_px: 1.4,
            ..fine
        };
        canvas.line(&runs_inside(&edges, plot.brim()), edge);
    }
}

fn hover_cells(canvas: &mut Canvas, plot: &Plot, field: &Field) {
    let [most_columns, most_rows] = HOVER_CELLS;
    let picked: Vec<usize> = spread(field.x.len(), most_columns).collect();
    let rows: Vec<usize> = spread(field.y.len(), most_rows).collect();
    let pitch = |places: &[Option<f64>], i: usize| -> Option<[f64; 2]> {
        let here = places[i]?;
        let before = if 0 < i { places[i - 1] } else { None };
        let after = places.get(i + 1).copied().flatten();
        let low = before.map_or(here, |it| (it + here) / 2.0);
        let high = after.map_or(here, |it| (it + here) / 2.0);
        Some([low.min(high), low.max(high)])
    };
    let across: Vec<Option<f64>> = picked.iter().map(|it| plot.x.place(field.x[*it])).collect();
    let down: Vec<Option<f64>> = rows.iter().map(|it| plot.y.place(field.y[*it])).collect();
    for (j, row) in rows.iter().enumerate() {
        for (i, column) in picked.iter().enumerate() {
            let (Some(x), Some(y)) = (pitch(&across, i), pitch(&down, j)) else {
                continue;
            };
            let value = field.values.get((*row, *column)).copied();
            let value = value.unwrap_or(f64::NAN);
            let none = !value.is_finite() || field.none_below.is_some_and(|it| value < it);
            let words = if none {
                field.none_label.clone()
            } else {
                format!("{} {} {}", field.label, short(value, 4), field.unit)
            };
            let words = format!(
                "{} at {}, {}",
                words.trim_end(),
                valued(&plot.figure.x, field.x[*column]),
                valued(&plot.figure.y, field.y[*row])
            );
            canvas.hover_place([x[0], y[0]], [x[1] - x[0], y[1] - y[0]], &words);
        }
    }
}
