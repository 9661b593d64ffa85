//! Labels of marks: placed, drawn, and those without room handed back.

use crate::report::figure::Field;
use crate::report::figure::Mark;
use crate::report::figure::Place;
use crate::report::figure::Text;
use crate::report::font::Weight;
use crate::report::font::width_px;
use crate::report::number::short;
use crate::report::palette::Colour;
use crate::report::palette::FRAME;
use crate::report::palette::INK;
use crate::report::palette::PAPER;
use crate::report::palette::QUIET;
use crate::report::palette::Role;

use super::canvas::Anchor;
use super::canvas::Canvas;
use super::canvas::Letters;
use super::field::Bands;
use super::frame::letters;
use super::marks::band_outline;
use super::marks::guide_runs;
use super::placing::Candidate;
use super::placing::Cover;
use super::placing::Placing;
use super::placing::along;
use super::placing::around;
use super::placing::inside;
use super::plot::LEADING;
use super::plot::Plot;
use super::plot::SMALL_PX;
use super::plot::TEXT_PX;
use super::plot::label;

/// Cost of covering one px of a curve, of a guide, of an isoline.
const CURVE: f64 = 6.0;
const GUIDE: f64 = 0.6;
const ISOLINE: f64 = 0.4;

/// Draws all labels; returns the marks whose label found no room.
pub fn draw(canvas: &mut Canvas, plot: &Plot) -> Vec<usize> {
    let mut placing = Placing::new(plot.frame);
    let mut homeless = Vec::new();
    keep_marks_clear(&mut placing, plot);
    canvas.open("");
    draw_rule_labels(canvas, plot);
    draw_end_labels(canvas, plot);
    // The least free first.
    let mut order: Vec<usize> = (0..plot.figure.marks.len()).collect();
    order.sort_by_key(|it| freedom(&plot.figure.marks[*it]));
    for number in order {
        if !draw_label(canvas, plot, &mut placing, number) {
            homeless.push(number);
        }
    }
    canvas.close();
    homeless
}

fn freedom(mark: &Mark) -> u8 {
    match mark {
        Mark::Text(_) => 0,
        Mark::Points(_) => 1,
        Mark::Box(_) => 2,
        Mark::Line(_) => 3,
        Mark::HLine(_) | Mark::VLine(_) => 4,
        Mark::Region(_) => 5,
        Mark::Band(_) => 6,
        Mark::Guides(_) => 7,
        Mark::Field(_) => 8,
    }
}

fn keep_marks_clear(placing: &mut Placing, plot: &Plot) {
    let [[left, top], [right, bottom]] = plot.frame;
    for (number, mark) in plot.figure.marks.iter().enumerate() {
        match mark {
            // Labels that interrupt their own curve keep clear of the others all the same: the
            // length covered of its own is alike at every place.
            Mark::Line(it) => {
                for run in plot.visible(&plot.runs(&it.points)) {
                    placing.keep_clear(&run, CURVE);
                }
            }
            Mark::Points(it) => {
                let r = it.radius_px + 2.0;
                for run in plot.runs(&it.points) {
                    for [x, y] in run {
                        placing.keep_clear(&[[x - r, y - r], [x + r, y + r]], CURVE);
                        placing.keep_clear(&[[x - r, y + r], [x + r, y - r]], CURVE);
                    }
                }
            }
            Mark::HLine(it) => {
                if let Some(y) = plot.y.place(it.at) {
                    placing.keep_clear(&[[left, y], [right, y]], CURVE);
                }
            }
            Mark::VLine(it) => {
                if let Some(x) = plot.x.place(it.at) {
                    placing.keep_clear(&[[x, top], [x, bottom]], CURVE);
                }
            }
            Mark::Box(it) => {
                let corners = [
                    [it.x[0], it.y[0]],
                    [it.x[1], it.y[1]],
                    [it.x[1], it.y[0]],
                    [it.x[0], it.y[1]],
                    [it.x[0], it.y[0]],
                    [it.x[1], it.y[0]],
                    [it.x[1], it.y[1]],
                    [it.x[0], it.y[1]],
                ];
                placing.keep_clear(&plot.outline(corners.into_iter()), CURVE);
            }
            Mark::Guides(it) => {
                for constant in &it.constants {
                    for run in guide_runs(plot, it, constant.at) {
                        placing.keep_clear(&run, GUIDE);
                    }
                }
            }
            Mark::Field(_) => {
                for (_, bands) in plot.bands.iter().filter(|it| it.0 == number) {
                    for area in &bands.areas {
                        for run in plot.visible(&area.lines) {
                            placing.keep_clear(&run, ISOLINE);
                        }
                    }
                }
            }
            Mark::Band(_) | Mark::Region(_) | Mark::Text(_) => {}
        }
    }
}

/// Places and draws the label of one mark; false if it had one and no room.
fn draw_label(canvas: &mut Canvas, plot: &Plot, placing: &mut Placing, number: usize) -> bool {
    let mark = &plot.figure.marks[number];
    match mark {
        Mark::Text(it) => {
            draw_text(canvas, plot, placing, it);
            return true;
        }
        Mark::Guides(it) => {
            for constant in &it.constants {
                let runs = guide_runs(plot, it, constant.at);
                let style = style(SMALL_PX, QUIET);
                let size = size_px(&constant.label, style);
                let candidates = along_longest(&runs, size, false, 0.97);
                // A guide without room for its value is told by its neighbours.
                set(canvas, placing, &candidates, &constant.label, style);
            }
            return true;
        }
        Mark::Field(it) => {
            for (_, bands) in plot.bands.iter().filter(|other| other.0 == number) {
                label_isolines(canvas, plot, placing, it, bands);
            }
            return true;
        }
        _ => {}
    }
    let Some(label) = label(mark) else {
        return true;
    };
    if plot.legended.contains(&number) {
        return true;
    }
    let style = style(TEXT_PX, role(mark).text_colour());
    let size = size_px(&label.text, style);
    let candidates = match mark {
        Mark::Line(_) if label.place == Place::End => return true,
        Mark::Line(it) => {
            let runs = plot.visible(&plot.runs(&it.points));
            along_longest(&runs, size, label.place == Place::Beside, 0.62)
        }
        Mark::HLine(it) => {
            let [[left, _], [right, _]] = plot.frame;
            let Some(y) = plot.y.place(it.at).filter(|_| plot.y.holds(it.at)) else {
                return true;
            };
            along(&[[left, y], [right, y]], size, true, 0.985)
        }
        Mark::VLine(_) => return true,
        Mark::Box(it) => {
            let corners = [[it.x[0], it.y[0]], [it.x[1], it.y[1]]];
            match plot.outline(corners.into_iter())[..] {
                [a, b] => around(
                    [a[0].min(b[0]), a[1].min(b[1])],
                    [a[0].max(b[0]), a[1].max(b[1])],
                    size,
                    5.0,
                ),
                _ => return true,
            }
        }
        Mark::Points(it) => {
            let gap = it.radius_px + 3.0;
            let runs = plot.runs(&it.points);
            runs.iter()
                .flatten()
                .take(60)
                .flat_map(|at| around(*at, *at, size, gap))
                .collect()
        }
        Mark::Band(it) => inside(&[clipped(band_outline(plot, it), plot.frame)], size),
        Mark::Region(it) => {
            let outline = plot.outline(it.corners.iter().copied());
            inside(&[clipped(outline, plot.frame)], size)
        }
        Mark::Text(_) | Mark::Field(_) | Mark::Guides(_) => return true,
    };
    // A mark with nothing to show in the frame needs no label there, nor in the legend.
    set(canvas, placing, &candidates, &label.text, style)
}

fn draw_text(canvas: &mut Canvas, plot: &Plot, placing: &mut Placing, text: &Text) {
    let (Some(x), Some(y)) = (plot.x.place(text.at[0]), plot.y.place(text.at[1])) else {
        return;
    };
    let style = if text.strong {
        Letters {
            weight: Weight::SemiBold,
            ..style(1.12 * TEXT_PX, text.role.text_colour())
        }
    } else {
        style(TEXT_PX, text.role.text_colour())
    };
    let size = size_px(&text.text, style);
    let mut candidates = Vec::new();
    for ring in 0..7 {
        for turn in 0..8 {
            let (sin, cos) = (f64::from(turn) * std::f64::consts::FRAC_PI_4).sin_cos();
            let off = 9.0 * f64::from(ring);
            candidates.push(Candidate {
                cover: Cover {
                    centre: [x + off * cos, y + off * sin],
                    half: [size[0] / 2.0, size[1] / 2.0],
                    angle: 0.0,
                },
                cost: 3.0 * off,
            });
        }
    }
    set(canvas, placing, &candidates, &text.text, style);
}

fn label_isolines(
    canvas: &mut Canvas,
    plot: &Plot,
    placing: &mut Placing,
    field: &Field,
    bands: &Bands,
) {
    for (i, level) in bands.levels.iter().enumerate() {
        let (below, above) = (bands.colours[i], bands.colours[i + 1]);
        let ground = below.towards(above, 0.5);
        let ink = if ground.luminance() < 0.24 {
            PAPER
        } else {
            INK
        };
        let style = Letters {
            rim: Some(ground),
            ..style(SMALL_PX, ink)
        };
        let words = short(*level, 4);
        let size = size_px(&words, style);
        let runs = plot.visible(&bands.areas[i + 1].lines);
        for run in runs.iter().filter(|it| 2 < it.len()) {
            // Labels of neighbouring levels sit at different shares, clear of each other.
            let candidates = along(run, size, false, 0.5);
            set(canvas, placing, &candidates, &words, style);
        }
    }
    let _ = field;
}

/// Labels of vertical lines, above the frame, moved apart where lines are close.
fn draw_rule_labels(canvas: &mut Canvas, plot: &Plot) {
    let top = plot.frame[0][1];
    let [left, right] = [plot.frame[0][0], plot.frame[1][0]];
    let mut rules: Vec<(f64, &str, Colour)> = Vec::new();
    for (number, mark) in plot.figure.marks.iter().enumerate() {
        if let Mark::VLine(it) = mark
            && plot.x.holds(it.at)
            && !plot.legended.contains(&number)
            && let Some(x) = plot.x.place(it.at)
        {
            rules.push((x, &it.label.text, it.stroke.role.text_colour()));
        }
    }
    rules.sort_by(|a, b| a.0.total_cmp(&b.0));
    let widths: Vec<f64> = rules
        .iter()
        .map(|it| {
            if plot.upright {
                SMALL_PX * 1.2
            } else {
                width_px(it.1, SMALL_PX, Weight::Regular) + 6.0
            }
        })
        .collect();
    let wanted: Vec<f64> = rules.iter().map(|it| it.0).collect();
    let places = moved_apart(&wanted, &widths, [left - 6.0, right + 6.0]);
    for ((x, words, colour), place) in rules.into_iter().zip(places) {
        if words.is_empty() {
            continue;
        }
        let line = [[x, top], [place, top - 7.0]];
        canvas.hairline(line[0], line[1], FRAME, 0.8);
        if plot.upright {
            let at = [place + 0.36 * SMALL_PX, top - 10.0];
            let style = letters(SMALL_PX, colour, Anchor::Start);
            canvas.text(at, words, style, -std::f64::consts::FRAC_PI_2);
        } else {
            let style = letters(SMALL_PX, colour, Anchor::Middle);
            canvas.text([place, top - 10.0], words, style, 0.0);
        }
    }
}

/// Labels in the right margin, level with the last point of their curve, moved apart.
fn draw_end_labels(canvas: &mut Canvas, plot: &Plot) {
    let [[_, top], [right, bottom]] = plot.frame;
    let mut ends: Vec<([f64; 2], &str, Colour)> = Vec::new();
    for (number, mark) in plot.figure.marks.iter().enumerate() {
        if let Mark::Line(it) = mark
            && it.label.place == Place::End
            && !plot.legended.contains(&number)
            && let Some(last) = plot
                .visible(&plot.runs(&it.points))
                .last()
                .and_then(|it| it.last())
        {
            ends.push((*last, &it.label.text, it.stroke.role.text_colour()));
        }
    }
    ends.sort_by(|a, b| a.0[1].total_cmp(&b.0[1]));
    let wanted: Vec<f64> = ends.iter().map(|it| it.0[1]).collect();
    let heights: Vec<f64> = ends
        .iter()
        .map(|it| TEXT_PX * LEADING * it.1.lines().count() as f64)
        .collect();
    let places = moved_apart(&wanted, &heights, [top, bottom]);
    for ((end, words, colour), place) in ends.into_iter().zip(places) {
        if end[0] < right - 1.0 || 3.0 < (end[1] - place).abs() {
            canvas.hairline([right + 1.0, end[1]], [right + 6.0, place], FRAME, 0.8);
        }
        let count = words.lines().count() as f64;
        for (i, line) in (0..).zip(words.lines()) {
            let off = (f64::from(i) - (count - 1.0) / 2.0) * TEXT_PX * LEADING;
            let at = [right + 8.0, place + off + 0.36 * TEXT_PX];
            canvas.text(at, line, letters(TEXT_PX, colour, Anchor::Start), 0.0);
        }
    }
}

/// `wanted` places, rising, pushed apart to `sizes` and kept within `ends` where they fit.
fn moved_apart(wanted: &[f64], sizes: &[f64], ends: [f64; 2]) -> Vec<f64> {
    // Groups that touch share the mean of what their members want.
    let mut groups: Vec<(f64, f64, usize)> = Vec::new();
    for (want, size) in wanted.iter().zip(sizes) {
        let mut group = (*want, *size, 1);
        while let Some(before) = groups.last() {
            if before.0 + before.1 / 2.0 <= group.0 - group.1 / 2.0 {
                break;
            }
            let (n, m) = (before.2 as f64, group.2 as f64);
            group = (
                (before.0 * n + group.0 * m) / (n + m),
                before.1 + group.1,
                before.2 + group.2,
            );
            groups.pop();
        }
        let half = group.1 / 2.0;
        if group.1 <= ends[1] - ends[0] {
            group.0 = group.0.clamp(ends[0] + half, ends[1] - half);
        }
        groups.push(group);
    }
    let mut places = Vec::with_capacity(wanted.len());
    for (centre, total, count) in groups {
        let mut edge = centre - total / 2.0;
        for _ in 0..count {
            let size = sizes[places.len()];
            places.push(edge + size / 2.0);
            edge += size;
        }
    }
    places
}

fn along_longest(
    runs: &[Vec<[f64; 2]>],
    size: [f64; 2],
    beside: bool,
    liking: f64,
) -> Vec<Candidate> {
    runs.iter()
        .flat_map(|it| along(it, size, beside, liking))
        .collect()
}

/// Takes the best candidate and writes there.
fn set(
    canvas: &mut Canvas,
    placing: &mut Placing,
    candidates: &[Candidate],
    words: &str,
    style: Letters,
) -> bool {
    let Some(cover) = placing.choose(candidates) else {
        return false;
    };
    let lines: Vec<&str> = words.lines().collect();
    let (sin, cos) = cover.angle.sin_cos();
    for (i, line) in (0..).zip(&lines) {
        let off = (f64::from(i) - (lines.len() as f64 - 1.0) / 2.0) * style.size_px * LEADING
            + 0.36 * style.size_px;
        let at = [cover.centre[0] - off * sin, cover.centre[1] + off * cos];
        canvas.text(at, line, style, cover.angle);
    }
    true
}

fn style(size_px: f64, colour: Colour) -> Letters {
    Letters {
        rim: Some(PAPER),
        ..letters(size_px, colour, Anchor::Middle)
    }
}

/// Width and height of words, with a little room.
fn size_px(words: &str, style: Letters) -> [f64; 2] {
    let width = words
        .lines()
        .map(|it| width_px(it, style.size_px, style.weight))
        .fold(0.0, f64::max);
    let lines = words.lines().count().max(1) as f64;
    [
        width + 6.0,
        style.size_px * (1.05 + LEADING * (lines - 1.0)),
    ]
}

fn role(mark: &Mark) -> Role {
    match mark {
        Mark::Line(it) => it.stroke.role,
        Mark::Band(it) => it.role,
        Mark::Region(it) => it.role,
        Mark::Points(it) => it.role,
        Mark::HLine(it) | Mark::VLine(it) => it.stroke.role,
        Mark::Box(it) => it.stroke.role,
        Mark::Text(it) => it.role,
        Mark::Field(_) | Mark::Guides(_) => Role::Quiet,
    }
}

/// A closed outline cut to a rectangle (Sutherland and Hodgman).
fn clipped(outline: Vec<[f64; 2]>, frame: [[f64; 2]; 2]) -> Vec<[f64; 2]> {
    let mut ring = outline;
    for (axis, side, sign) in [
        (0, frame[0][0], 1.0),
        (0, frame[1][0], -1.0),
        (1, frame[0][1], 1.0),
        (1, frame[1][1], -1.0),
    ] {
        let depth = |it: &[f64; 2]| sign * (it[axis] - side);
        let mut kept = Vec::with_capacity(ring.len() + 4);
        for (i, a) in ring.iter().enumerate() {
            let b = &ring[(i + 1) % ring.len()];
            let (from, to) = (depth(a), depth(b));
            if 0.0 <= from {
                kept.push(*a);
            }
            if (0.0 <= from) != (0.0 <= to) {
                let share = from / (from - to);
                kept.push([a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]);
            }
        }
        ring = kept;
    }
    ring
}
