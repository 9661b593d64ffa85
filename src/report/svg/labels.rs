//! Labels inside the frame: placed clear of each other, and those without room handed back.

use crate::report::figure::Mark;
use crate::report::figure::Place;
use crate::report::figure::Text;
use crate::report::font::Weight;
use crate::report::font::width_px;
use crate::report::font::wrapped;
use crate::report::number::short;
use crate::report::palette::Colour;
use crate::report::palette::INK;
use crate::report::palette::PAPER;
use crate::report::palette::QUIET;
use crate::report::palette::Role;

use super::canvas::Anchor;
use super::canvas::Canvas;
use super::canvas::Letters;
use super::clip::ring_inside;
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
use super::placing::uncovered;
use super::plot::LEADING;
use super::plot::Plot;
use super::plot::SMALL_PX;
use super::plot::TEXT_PX;
use super::plot::label;

/// Cost of covering one px of a curve, of a guide, of an isoline.
const CURVE: f64 = 6.0;
const GUIDE: f64 = 0.6;
const ISOLINE: f64 = 0.4;
/// Of the diagonals of a box: other labels may enter it at little cost.
const DIAGONAL: f64 = 0.8;

/// Shortest isoline that is labelled, px, and labels a level at most.
const LEAST_ISOLINE_PX: f64 = 70.0;
const LABELS_A_LEVEL: usize = 4;

/// A label dearer than this is better off in the legend.
const TOO_DEAR: f64 = 220.0;

/// A label with its place.
pub struct Written {
    /// Mark it belongs to, and which curve of a family.
    of: (usize, usize),
    cover: Cover,
    words: String,
    style: Letters,
    /// Whether its curve is interrupted for it.
    cuts: bool,
}

/// All labels inside the frame.
pub struct Labels {
    written: Vec<Written>,
    placing: Placing,
    /// Marks whose label found no room.
    pub homeless: Vec<usize>,
}

impl Labels {
    /// Finds places for all labels, the least free first.
    pub fn new(plot: &Plot) -> Self {
        let mut labels = Labels {
            written: Vec::new(),
            placing: Placing::new(plot.frame),
            homeless: Vec::new(),
        };
        keep_marks_clear(&mut labels.placing, plot);
        let mut order: Vec<usize> = (0..plot.figure.marks.len()).collect();
        order.sort_by_key(|it| freedom(&plot.figure.marks[*it]));
        for number in order {
            if !labels.place(plot, number) {
                labels.homeless.push(number);
            }
        }
        labels
    }

    /// `run` of curve `of` without what its labels interrupt.
    pub fn cut(&self, run: &[[f64; 2]], of: (usize, usize)) -> Vec<Vec<[f64; 2]>> {
        let covers: Vec<Cover> = self
            .written
            .iter()
            .filter(|it| it.cuts && it.of == of)
            .map(|it| it.cover)
            .collect();
        uncovered(run, &covers)
    }

    /// Writes them.
    pub fn draw(&self, canvas: &mut Canvas) {
        canvas.open("");
        for label in &self.written {
            let lines: Vec<&str> = label.words.lines().collect();
            let (sin, cos) = label.cover.angle.sin_cos();
            let size = label.style.size_px;
            for (i, line) in (0..).zip(&lines) {
                let row = f64::from(i) - (lines.len() as f64 - 1.0) / 2.0;
                let off = row * size * LEADING + 0.36 * size;
                let [x, y] = label.cover.centre;
                let at = [x - off * sin, y + off * cos];
                canvas.text(at, line, label.style, label.cover.angle);
            }
        }
        canvas.close();
    }

    /// Finds a place for the label of one mark; false if it has a label and no room.
    fn place(&mut self, plot: &Plot, number: usize) -> bool {
        let mark = &plot.figure.marks[number];
        match mark {
            Mark::Text(it) => {
                self.place_text(plot, number, it);
                return true;
            }
            Mark::Guides(it) => {
                for (i, constant) in it.constants.iter().enumerate() {
                    let style = style(SMALL_PX, QUIET);
                    let candidates = |size| {
                        let runs = guide_runs(plot, it, constant.at);
                        runs.iter()
                            .flat_map(|it| along(it, size, false, 0.97))
                            .collect()
                    };
                    // A guide without room for its value is told by its neighbours.
                    self.set(
                        (number, i),
                        std::slice::from_ref(&constant.label),
                        style,
                        true,
                        candidates,
                    );
                }
                return true;
            }
            Mark::Field(_) => {
                for (_, bands) in plot.bands.iter().filter(|other| other.0 == number) {
                    self.place_isolines(plot, number, bands);
                }
                return true;
            }
            Mark::VLine(_) => return true,
            _ => {}
        }
        let Some(label) = label(mark) else {
            return true;
        };
        if plot.legended.contains(&number) || label.place == Place::End {
            return true;
        }
        let plain = style(TEXT_PX, role(mark).text_colour());
        let one = [label.text.clone()];
        let of = (number, 0);
        match mark {
            Mark::Line(it) => {
                let runs = plot.visible(&plot.runs(&it.points));
                let on = label.place == Place::On;
                self.set(of, &one, plain, on, |size| {
                    runs.iter()
                        .flat_map(|it| along(it, size, !on, 0.62))
                        .collect()
                })
            }
            Mark::HLine(it) => {
                let [[left, _], [right, _]] = plot.frame;
                let Some(y) = plot.y.place(it.at).filter(|_| plot.y.holds(it.at)) else {
                    return true;
                };
                let line = [[left, y], [right, y]];
                self.set(of, &one, plain, false, |size| along(&line, size, true, 1.0))
            }
            Mark::Box(it) => {
                let corners = [[it.x[0], it.y[0]], [it.x[1], it.y[1]]];
                let [a, b] = plot.outline(corners.into_iter())[..] else {
                    return true;
                };
                let low = [a[0].min(b[0]), a[1].min(b[1])];
                let high = [a[0].max(b[0]), a[1].max(b[1])];
                let words = folded(&label.text, plain);
                self.set(of, &words, plain, false, |size| {
                    around(low, high, size, 5.0)
                })
            }
            Mark::Points(it) => {
                let places: Vec<[f64; 2]> = plot.runs(&it.points).concat();
                let gap = it.radius_px + 3.0;
                let words = folded(&label.text, plain);
                self.set(of, &words, plain, false, |size| {
                    let taken = places.iter().take(60);
                    taken.flat_map(|at| around(*at, *at, size, gap)).collect()
                })
            }
            Mark::Band(it) => {
                let outline = [ring_inside(band_outline(plot, it), plot.frame)];
                self.set(of, &one, plain, false, |size| inside(&outline, size))
            }
            Mark::Region(it) => {
                let outline = plot.outline(it.corners.iter().copied());
                let outline = [ring_inside(outline, plot.frame)];
                let words = folded(&label.text, strong(plain));
                self.set(of, &words, strong(plain), false, |size| {
                    inside(&outline, size)
                })
            }
            Mark::Text(_) | Mark::Field(_) | Mark::Guides(_) | Mark::VLine(_) => true,
        }
    }

    fn place_text(&mut self, plot: &Plot, number: usize, text: &Text) {
        let (Some(x), Some(y)) = (plot.x.place(text.at[0]), plot.y.place(text.at[1])) else {
            return;
        };
        let plain = style(TEXT_PX, text.role.text_colour());
        let style = if text.strong { strong(plain) } else { plain };
        self.set(
            (number, 0),
            std::slice::from_ref(&text.text),
            style,
            false,
            |size| {
                let mut candidates = Vec::new();
                for (ring, turn) in (0..7).flat_map(|ring| (0..8).map(move |turn| (ring, turn))) {
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
                candidates
            },
        );
    }

    fn place_isolines(&mut self, plot: &Plot, number: usize, bands: &Bands) {
        for (i, level) in bands.levels.iter().enumerate() {
            let ground = bands.colours[i].towards(bands.colours[i + 1], 0.5);
            let ink = if ground.luminance() < 0.24 {
                PAPER
            } else {
                INK
            };
            let style = Letters {
                rim: Some(ground),
                ..style(SMALL_PX, ink)
            };
            let mut runs = plot.visible(&bands.areas[i + 1].lines);
            runs.retain(|it| LEAST_ISOLINE_PX < length(it));
            runs.sort_by(|a, b| length(b).total_cmp(&length(a)));
            for run in runs.iter().take(LABELS_A_LEVEL) {
                self.set((number, i), &[short(*level, 4)], style, true, |size| {
                    along(run, size, false, 0.5)
                });
            }
        }
    }

    /// Takes the best place over several wordings.
    fn set(
        &mut self,
        of: (usize, usize),
        wordings: &[String],
        style: Letters,
        cuts: bool,
        candidates: impl Fn([f64; 2]) -> Vec<Candidate>,
    ) -> bool {
        let own = cuts.then_some(of);
        let mut best: Option<(f64, Cover, &String)> = None;
        for words in wordings {
            let found = self.placing.best(&candidates(size_px(words, style)), own);
            if let Some((cost, cover)) = found
                && best.is_none_or(|it| cost < it.0)
            {
                best = Some((cost, cover, words));
            }
        }
        let Some((cost, cover, words)) = best else {
            return false;
        };
        if TOO_DEAR < cost {
            return false;
        }
        self.placing.take(cover);
        self.written.push(Written {
            of,
            cover,
            words: words.clone(),
            style,
            cuts,
        });
        true
    }
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
            Mark::Line(it) => {
                for run in plot.visible(&plot.runs(&it.points)) {
                    placing.keep_clear(&run, CURVE, (number, 0));
                }
            }
            Mark::Points(it) => {
                let r = it.radius_px + 2.0;
                for run in plot.runs(&it.points) {
                    for [x, y] in run {
                        placing.keep_clear(&[[x - r, y - r], [x + r, y + r]], CURVE, (number, 0));
                        placing.keep_clear(&[[x - r, y + r], [x + r, y - r]], CURVE, (number, 0));
                    }
                }
            }
            Mark::HLine(it) => {
                if let Some(y) = plot.y.place(it.at) {
                    placing.keep_clear(&[[left, y], [right, y]], CURVE, (number, 0));
                }
            }
            Mark::VLine(it) => {
                if let Some(x) = plot.x.place(it.at) {
                    placing.keep_clear(&[[x, top], [x, bottom]], CURVE, (number, 0));
                }
            }
            Mark::Box(it) => {
                let corners = [
                    [it.x[0], it.y[0]],
                    [it.x[1], it.y[0]],
                    [it.x[1], it.y[1]],
                    [it.x[0], it.y[1]],
                    [it.x[0], it.y[0]],
                ];
                let places = plot.outline(corners.into_iter());
                placing.keep_clear(&places, CURVE, (number, 0));
                if let [a, b, c, d, _] = places[..] {
                    placing.keep_clear(&[a, c], DIAGONAL, (number, 0));
                    placing.keep_clear(&[b, d], DIAGONAL, (number, 0));
                }
            }
            Mark::Guides(it) => {
                for (i, constant) in it.constants.iter().enumerate() {
                    for run in guide_runs(plot, it, constant.at) {
                        placing.keep_clear(&run, GUIDE, (number, i));
                    }
                }
            }
            Mark::Field(_) => {
                for (_, bands) in plot.bands.iter().filter(|it| it.0 == number) {
                    for (i, area) in bands.areas.iter().skip(1).enumerate() {
                        for run in plot.visible(&area.lines) {
                            placing.keep_clear(&run, ISOLINE, (number, i));
                        }
                    }
                }
            }
            Mark::Band(_) | Mark::Region(_) | Mark::Text(_) => {}
        }
    }
}

/// A text in one line, and in two of about equal length.
fn folded(text: &str, style: Letters) -> Vec<String> {
    let whole = text.to_string();
    let room = 0.6 * width_px(text, style.size_px, style.weight);
    let two = wrapped(text, style.size_px, style.weight, room).join("\n");
    vec![whole, two]
}

fn length(run: &[[f64; 2]]) -> f64 {
    run.windows(2)
        .map(|it| (it[1][0] - it[0][0]).hypot(it[1][1] - it[0][1]))
        .sum()
}

fn strong(style: Letters) -> Letters {
    Letters {
        size_px: 1.08 * style.size_px,
        weight: Weight::SemiBold,
        ..style
    }
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
