//! Labels outside the frame: above it for vertical lines, right of it for curves that end there.

use crate::report::figure::Mark;
use crate::report::figure::Place;
use crate::report::font::Weight;
use crate::report::font::width_px;
use crate::report::palette::Colour;
use crate::report::palette::FRAME;

use super::canvas::Anchor;
use super::canvas::Canvas;
use super::frame::letters;
use super::plot::LEADING;
use super::plot::Plot;
use super::plot::SMALL_PX;
use super::plot::TEXT_PX;

/// Draws both kinds.
pub fn draw(canvas: &mut Canvas, plot: &Plot) {
    canvas.open("");
    draw_rule_labels(canvas, plot);
    draw_end_labels(canvas, plot);
    canvas.close();
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
    let kept = |centre: f64, size: f64| {
        if size <= ends[1] - ends[0] {
            centre.clamp(ends[0] + size / 2.0, ends[1] - size / 2.0)
        } else {
            centre
        }
    };
    // Groups that touch share the mean of what their members want.
    let mut groups: Vec<(f64, f64, usize)> = Vec::new();
    for (want, size) in wanted.iter().zip(sizes) {
        let mut group = (kept(*want, *size), *size, 1);
        while let Some(before) = groups.last() {
            if before.0 + before.1 / 2.0 <= group.0 - group.1 / 2.0 {
                break;
            }
            let (n, m) = (before.2 as f64, group.2 as f64);
            let size = before.1 + group.1;
            let centre = (before.0 * n + group.0 * m) / (n + m);
            group = (kept(centre, size), size, before.2 + group.2);
            groups.pop();
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
