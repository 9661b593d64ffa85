//! Header, legend, grid, axes and colour bar.

use plotters::element::PathElement;

use crate::report::figure::Dash;
use crate::report::figure::Fill;
use crate::report::figure::Mark;
use crate::report::figure::Stroke;
use crate::report::font::Weight;
use crate::report::number::short;
use crate::report::palette::Colour;
use crate::report::palette::FRAME;
use crate::report::palette::GRID;
use crate::report::palette::GRID_FINE;
use crate::report::palette::INK;
use crate::report::palette::QUIET;
use crate::report::palette::Role;

use super::canvas::Anchor;
use super::canvas::Canvas;
use super::canvas::Letters;
use super::canvas::hair;
use super::clip::rectangle;
use super::plot::HEADING_GAP_PX;
use super::plot::LEADING;
use super::plot::MARGIN_PX;
use super::plot::Plot;
use super::plot::SMALL_PX;
use super::plot::Swatch;
use super::plot::TEXT_PX;
use super::plot::TICK_PX;
use super::plot::TITLE_PX;
use super::plot::label;

/// Grid lines: they lie below everything.
pub fn draw_grid(canvas: &mut Canvas, plot: &Plot) {
    canvas.draw(plot.chart(), |area| {
        let ([left, right], [low, high]) = (plot.x.range(), plot.y.range());
        let line = |from, to, colour| area.draw(&PathElement::new([from, to], hair(colour)));
        for value in &plot.x_ticks.1 {
            line((*value, low), (*value, high), GRID_FINE)?;
        }
        for value in &plot.y_ticks.1 {
            line((left, *value), (right, *value), GRID_FINE)?;
        }
        for tick in &plot.x_ticks.0 {
            line((tick.at, low), (tick.at, high), GRID)?;
        }
        for tick in &plot.y_ticks.0 {
            line((left, tick.at), (right, tick.at), GRID)?;
        }
        Ok(())
    });
}

/// Frame, ticks, headings, title, legend, note, colour bars.
pub fn draw_axes(canvas: &mut Canvas, plot: &Plot) {
    let [[left, top], [right, bottom]] = plot.frame;
    canvas.open("");
    canvas.outline([left, top], [right - left, bottom - top], FRAME, 1.0);
    let tick_letters = |anchor| letters(TICK_PX, QUIET, anchor);
    for tick in &plot.x_ticks.0 {
        if let Some(x) = plot.x.place(tick.at) {
            canvas.hairline([x, bottom], [x, bottom + 4.0], FRAME, 1.0);
            let at = [x, bottom + 6.0 + TICK_PX];
            canvas.text(at, &tick.label, tick_letters(Anchor::Middle), 0.0);
        }
    }
    for tick in &plot.y_ticks.0 {
        if let Some(y) = plot.y.place(tick.at) {
            canvas.hairline([left - 4.0, y], [left, y], FRAME, 1.0);
            let at = [left - 8.0, y + 0.36 * TICK_PX];
            canvas.text(at, &tick.label, tick_letters(Anchor::End), 0.0);
        }
    }
    let x_heading = [
        (left + right) / 2.0,
        bottom + 8.0 + TICK_PX * LEADING + TEXT_PX + 2.0,
    ];
    let heading = letters(TEXT_PX, INK, Anchor::Middle);
    canvas.text(x_heading, &plot.figure.x.heading(), heading, 0.0);
    let y_heading = [MARGIN_PX, heading_baseline(plot)];
    canvas.text(
        y_heading,
        &plot.figure.y.heading(),
        letters(TEXT_PX, INK, Anchor::Start),
        0.0,
    );
    canvas.close();
    draw_header(canvas, plot);
    draw_bars(canvas, plot);
}

/// Baseline of what stands in the row above the plot and its rule labels.
fn heading_baseline(plot: &Plot) -> f64 {
    plot.frame[0][1] - plot.rules_px - HEADING_GAP_PX
}

fn draw_header(canvas: &mut Canvas, plot: &Plot) {
    canvas.open("");
    let mut y = MARGIN_PX - 2.0;
    for line in &plot.title {
        y += TITLE_PX * LEADING;
        let style = Letters {
            weight: Weight::SemiBold,
            ..letters(TITLE_PX, INK, Anchor::Start)
        };
        canvas.text([MARGIN_PX, y - 4.0], line, style, 0.0);
    }
    for line in &plot.subtitle {
        y += TEXT_PX * LEADING;
        canvas.text(
            [MARGIN_PX, y - 1.0],
            line,
            letters(TEXT_PX, QUIET, Anchor::Start),
            0.0,
        );
    }
    for entry in &plot.legend {
        let [x, y] = entry.at;
        draw_swatch(canvas, plot, entry.swatch, [x, y]);
        let at = [x + 33.0, y + 0.36 * TEXT_PX];
        canvas.text(at, &entry.text, letters(TEXT_PX, INK, Anchor::Start), 0.0);
    }
    let mut y = plot.size[1] - MARGIN_PX - SMALL_PX * LEADING * plot.note.len() as f64;
    for line in &plot.note {
        y += SMALL_PX * LEADING;
        canvas.text(
            [MARGIN_PX, y],
            line,
            letters(SMALL_PX, QUIET, Anchor::Start),
            0.0,
        );
    }
    canvas.close();
}

fn draw_swatch(canvas: &mut Canvas, plot: &Plot, swatch: Swatch, [x, y]: [f64; 2]) {
    let patch = |canvas: &mut Canvas, colour: Colour, fill: Fill| {
        let (low, high) = ([x, y - 6.0], [x + 26.0, y + 6.0]);
        canvas.area(&[rectangle(low, high)], colour, fill);
        canvas.outline(low, [26.0, 12.0], colour, 0.8);
    };
    let number = match swatch {
        Swatch::NoValue => return patch(canvas, QUIET, Fill::Rising),
        Swatch::Unknown => return patch(canvas, QUIET, Fill::Dots),
        Swatch::Mark(number) => number,
    };
    let stroke = |canvas: &mut Canvas, stroke: Stroke| {
        canvas.line(&[vec![[x, y], [x + 26.0, y]]], stroke);
    };
    match &plot.figure.marks[number] {
        Mark::Line(it) => {
            stroke(canvas, it.stroke);
            if let Some(marker) = it.marker {
                canvas.marker([x + 13.0, y], marker, it.stroke.role, 4.0);
            }
        }
        Mark::HLine(it) | Mark::VLine(it) => stroke(canvas, it.stroke),
        Mark::Band(it) => patch(canvas, it.role.colour(), it.fill),
        Mark::Region(it) => patch(canvas, it.role.colour(), it.fill),
        Mark::Box(it) => patch(
            canvas,
            it.stroke.role.colour(),
            it.fill.unwrap_or(Fill::Tint),
        ),
        Mark::Points(it) => canvas.marker([x + 13.0, y], it.marker, it.role, it.radius_px.min(6.0)),
        Mark::Text(_) | Mark::Field(_) | Mark::Guides(_) => {
            stroke(canvas, Stroke::fine(Role::Quiet, Dash::Dashed));
        }
    }
}

fn draw_bars(canvas: &mut Canvas, plot: &Plot) {
    let [[_, top], [_, bottom]] = plot.frame;
    // One bar a figure; a second field shares it at its own risk.
    let Some((mark, bands)) = plot.bands.first() else {
        return;
    };
    let Mark::Field(field) = &plot.figure.marks[*mark] else {
        return;
    };
    canvas.open("");
    let left = plot.bar_left;
    let height = (bottom - top) / bands.colours.len() as f64;
    for (band, colour) in bands.colours.iter().enumerate() {
        let y = bottom - height * (band as f64 + 1.0);
        canvas.bar([left, y], [14.0, height], *colour);
    }
    canvas.outline([left, top], [14.0, bottom - top], FRAME, 0.8);
    for (i, level) in bands.levels.iter().enumerate() {
        let y = bottom - height * (i as f64 + 1.0);
        canvas.hairline([left + 14.0, y], [left + 18.0, y], FRAME, 1.0);
        let at = [left + 22.0, y + 0.36 * TICK_PX];
        canvas.text(
            at,
            &short(*level, 4),
            letters(TICK_PX, QUIET, Anchor::Start),
            0.0,
        );
    }
    let heading = if field.unit.is_empty() {
        field.label.clone()
    } else {
        format!("{}, {}", field.label, field.unit)
    };
    let at = [plot.size[0] - MARGIN_PX, heading_baseline(plot)];
    canvas.text(at, &heading, letters(TEXT_PX, INK, Anchor::End), 0.0);
    canvas.close();
}

/// Plain letters.
pub fn letters(size_px: f64, colour: Colour, anchor: Anchor) -> Letters {
    Letters {
        size_px,
        weight: Weight::Regular,
        colour,
        anchor,
        rim: None,
    }
}

/// Name of mark number `number`, for hover texts.
pub fn name(plot: &Plot, number: usize) -> String {
    label(&plot.figure.marks[number]).map_or(String::new(), |it| it.text.replace('\n', " "))
}
