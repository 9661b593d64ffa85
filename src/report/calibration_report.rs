//! What weld trials taught: parameters, what the trials cannot tell, and the window redrawn.

use serde_json::{Value, json};

use crate::report::answer::{self, Fact};
use crate::report::bundle::{Part, Report, named};
use crate::report::figure::{Dash, Figure, Label, Line, Mark, Marker, Place, Points, Stroke};
use crate::report::number;
use crate::report::page::{Answer, Tone};
use crate::report::palette::Role;
use crate::report::process::{self, PowerScale};
use crate::report::table::{Cell, Column, Table};
use crate::report::window_figure::window_figure;
use crate::study::calibration::redrawn::Redrawn;
use crate::study::calibration::trial::Trial;
use crate::study::calibration::{Calibration, Compared, Learnt, Told};
use crate::study::window::Window;
use crate::units::UM;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;

/// Which trials a marker stands for.
type Belongs = fn(&Trial) -> bool;

/// Residual above which a trial does not fit the model, in standard deviations.
const MISFIT: f64 = 3.0;

/// A calibration with its windows.
#[derive(Clone, Debug)]
pub struct Calibrated<'c> {
    /// The joint as its file says.
    pub joint: &'c Joint,
    /// What was learnt.
    pub calibration: &'c Calibration,
    /// The window before.
    pub before: &'c Window,
    /// The window after.
    pub after: &'c Redrawn,
}

fn value(learnt: &Learnt, value: f64) -> String {
    let number = number::significant(value, 3);
    if learnt.prior.unit.is_empty() {
        number
    } else {
        format!("{number} {}", learnt.prior.unit)
    }
}

impl Calibrated<'_> {
    /// The outcome in one sentence.
    pub fn headline(&self) -> String {
        match &self.after.window.setpoint {
            Some(it) => format!(
                "by the trials it welds: {} set and {}; power and {} may both drift by {} either way",
                PowerScale::of_window(self.before).say(it.power_w, 3),
                process::say(self.before.lever, it.setting),
                process::word(self.before.lever),
                number::percent(it.tolerance(), 2)
            ),
            None => "by the trials it does not weld at any setting the machine can deliver".into(),
        }
    }

    /// Parameters and fit in a few lines.
    pub fn facts(&self) -> Vec<Fact> {
        let mut facts: Vec<Fact> = self
            .calibration
            .learnt
            .iter()
            .map(|it| {
                (
                    it.prior.parameter.words().into(),
                    format!(
                        "{} (95 %: {} to {}){}",
                        value(it, it.best),
                        number::significant(it.interval.0, 3),
                        number::significant(it.interval.1, 3),
                        match it.told() {
                            Told::Much => "",
                            Told::Something => "; little narrower than before the trials",
                            Told::Nothing => "; not told by these trials",
                        }
                    ),
                )
            })
            .collect();
        if let Some(it) = &self.before.setpoint {
            facts.push((
                "before the trials".into(),
                format!(
                    "{} at {}, drift {}",
                    PowerScale::of_window(self.before).say(it.power_w, 3),
                    process::say(self.before.lever, it.setting),
                    number::percent(it.tolerance(), 2)
                ),
            ));
        }
        facts.push((
            "things seen, and misfit per thing seen".into(),
            format!(
                "{}, {} (near 1 where the scatter is as assumed)",
                self.calibration.seen,
                number::significant(
                    self.calibration.chi_squared / self.calibration.seen as f64,
                    2
                )
            ),
        ));
        facts
    }

    /// What the trials cannot tell, and what does not fit.
    pub fn remarks(&self) -> Vec<String> {
        let calibration = self.calibration;
        let mut remarks = Vec::new();
        for it in &calibration.learnt {
            if it.told() == Told::Nothing {
                remarks.push(format!(
                    "these trials do not tell the {}: its interval is that of the assumption ({})",
                    it.prior.parameter.words(),
                    it.prior.source
                ));
            }
            let (least, most) = it.prior.bounds();
            let edge = 0.25 * it.prior.deviation;
            if it.best.ln() < least + edge || most - edge < it.best.ln() {
                remarks.push(format!(
                    "the best {} lies at the end of what was thought possible ({} to {}): look for another cause",
                    it.prior.parameter.words(),
                    value(it, least.exp()),
                    value(it, most.exp())
                ));
            }
        }
        for it in &calibration.learnt {
            if it.best < it.interval.0 || it.interval.1 < it.best {
                remarks.push(format!(
                    "the best {} lies outside its interval: no value fits all trials, so look for runs \
                     that do not fit and for units before trusting it",
                    it.prior.parameter.words()
                ));
            }
        }
        for (a, b, correlation) in calibration.not_apart() {
            remarks.push(format!(
                "these trials do not tell \"{}\" from \"{}\" (correlation {}): only a combination is known; \
                 measure the power at the part, or section welds at other speeds",
                a.words(),
                b.words(),
                answer::signed(*correlation)
            ));
        }
        for it in &calibration.compared {
            if MISFIT < it.worst_residual.abs() {
                remarks.push(format!(
                    "run {} does not fit: {} standard deviations from the model after the fit",
                    it.trial.name,
                    number::significant(it.worst_residual.abs(), 2)
                ));
            }
        }
        remarks
    }

    /// One row a parameter.
    pub fn parameters(&self) -> Table {
        let learnt = &self.calibration.learnt;
        let numbers = |name: &str, of: &dyn Fn(&Learnt) -> f64| {
            Column::numbers(name, "", learnt.iter().map(of)).digits(3)
        };
        Table::new(
            "What the trials say",
            vec![
                Column::words(
                    "Parameter",
                    learnt.iter().map(|it| it.prior.parameter.words()),
                ),
                Column::words("Unit", learnt.iter().map(|it| it.prior.unit)),
                numbers("Before", &|it| it.prior.mean.exp()),
                numbers("Spread before (factor)", &|it| it.prior.deviation.exp()),
                numbers("Best", &|it| it.best),
                numbers("2.5 %", &|it| it.interval.0),
                numbers("Median", &|it| it.median),
                numbers("97.5 %", &|it| it.interval.1),
                Column::words(
                    "Trials tell",
                    learnt.iter().map(|it| match it.told() {
                        Told::Much => "much",
                        Told::Something => "something",
                        Told::Nothing => "nothing",
                    }),
                ),
                Column::words(
                    "Source of the assumption",
                    learnt.iter().map(|it| it.prior.source),
                ),
            ],
        )
    }

    /// One row a trial: seen, expected before, expected after.
    pub fn trials(&self) -> Table {
        let compared = &self.calibration.compared;
        let (heading, unit) = process::heading(self.before.lever);
        let depth = |name: &str, of: &dyn Fn(&Compared) -> Option<f64>| Column {
            cells: compared
                .iter()
                .map(|it| of(it).map_or(Cell::Missing, |depth_m| Cell::Number(depth_m / UM)))
                .collect(),
            digits: 3,
            ..Column::numbers(name, "µm", [])
        };
        let answer = |name: &str, of: &dyn Fn(&Trial) -> Option<bool>| {
            Column::words(
                name,
                compared.iter().map(|it| match of(&it.trial) {
                    Some(true) => "yes",
                    Some(false) => "no",
                    None => "",
                }),
            )
        };
        let chance = |name: &str, of: &dyn Fn(&Compared) -> f64| {
            Column::numbers(name, "", compared.iter().map(of)).digits(2)
        };
        Table::new(
            "Trials beside the model",
            vec![
                Column::words("Run", compared.iter().map(|it| it.trial.name.as_str())),
                Column::numbers("Power", "W", compared.iter().map(|it| it.trial.power_w)),
                Column::numbers(
                    heading,
                    unit,
                    compared
                        .iter()
                        .map(|it| process::shown(self.before.lever, it.trial.setting)),
                ),
                answer("Fused", &|it| it.seen.fused),
                chance("Margin of fusion before", &|it| it.before.fused),
                chance("after", &|it| it.after.fused),
                depth("Upper depth seen", &|it| it.trial.seen.upper_melt_depth_m),
                depth("before", &|it| Some(it.before.upper_melt_depth_m)),
                depth("after", &|it| Some(it.after.upper_melt_depth_m)),
                depth("Lower depth seen", &|it| it.trial.seen.lower_melt_depth_m),
                depth("before", &|it| Some(it.before.lower_melt_depth_m)),
                depth("after", &|it| Some(it.after.lower_melt_depth_m)),
                answer("Marked", &|it| it.seen.marked),
                answer("Burnt", &|it| it.seen.burnt),
                chance("Worst residual", &|it| it.worst_residual),
            ],
        )
    }

    fn figure(&self) -> Figure {
        let mut figure = window_figure(self.joint, &self.after.window, Some(&self.after.band));
        // The setpoint of the file has nothing to do with the window by the trials.
        figure.title = "Where it welds, by the trials".into();
        figure.y.label = figure.y.label.replace("at the part", "set");
        let scale = PowerScale::of_window(self.before);
        push_before(self.before, &mut figure);
        let groups: [(&str, Marker, Belongs); 4] = [
            ("trial: holds", Marker::Disc, |it| {
                it.seen.fused != Some(false) && !failed_hot(it)
            }),
            ("trial: does not hold", Marker::Saltire, |it| {
                it.seen.fused == Some(false)
            }),
            ("trial: burnt", Marker::Triangle, |it| {
                it.seen.burnt == Some(true) && it.seen.fused != Some(false)
            }),
            ("trial: marked", Marker::Square, |it| {
                it.seen.marked == Some(true)
                    && it.seen.burnt != Some(true)
                    && it.seen.fused != Some(false)
            }),
        ];
        for (words, marker, belongs) in groups {
            let points: Vec<[f64; 2]> = self
                .calibration
                .compared
                .iter()
                .map(|it| &it.trial)
                .filter(|it| 0 < it.seen.count() && 0.0 < it.power_w && belongs(it))
                .map(|it| {
                    [
                        process::shown(self.before.lever, it.setting),
                        it.power_w * scale.per_w,
                    ]
                })
                .collect();
            if !points.is_empty() {
                figure.marks.push(Mark::Points(Points {
                    points,
                    errors: Vec::new(),
                    label: Label::at(Place::Legend, words),
                    marker,
                    role: Role::Ink,
                    radius_px: 5.0,
                }));
            }
        }
        figure
    }

    /// Page, figures and tables.
    pub fn report(&self, warnings: &[String]) -> Report {
        let answer = Answer {
            headline: self.headline(),
            tone: if self.after.window.setpoint.is_some() {
                Tone::Sound
            } else {
                Tone::NotSound
            },
            text: String::new(),
            facts: self.facts(),
        };
        let noise = &self.calibration.choices.noise;
        let error = &self.calibration.response_error;
        let window = Part {
            heading: "The window, before and after".into(),
            text: "Full lines: boundaries by the trials. Fine dotted lines: boundaries by the joint file. \
                   Hatched: one standard deviation of what the trials leave open. Power is the power the \
                   machine was set to in the trials."
                .into(),
            figures: vec![named(
                "window-by-trials",
                self.figure(),
                &format!(
                    "Power set against {}, with the trials.",
                    process::word(self.before.lever)
                ),
            )],
            tables: Vec::new(),
            tables_behind: Vec::new(),
        };
        let parameters = Part {
            heading: "What the trials say, and what they do not".into(),
            text: format!(
                "Assumed: a melt depth is read to {} and differs by {} from weld to weld; the margin at which \
                 a weld holds, marks or burns differs by {} (one standard deviation each); {} of the answers \
                 are wrong. The model is interpolated between simulations, which adds {} to depths and {} to \
                 margins (root mean square at {} points). The intervals rest on a sample worth {} independent \
                 points, seed {}.",
                number::length(noise.depth_m, 2),
                number::percent(noise.depth_relative, 2),
                number::percent(noise.margin, 2),
                number::percent(noise.slip, 2),
                number::length(error.depth_m, 2),
                number::significant(error.margin, 2),
                error.points,
                number::significant(self.calibration.effective_sample, 2),
                self.calibration.choices.seed,
            ),
            figures: Vec::new(),
            tables: vec![self.parameters(), self.trials()],
            tables_behind: vec![
                ("parameters".into(), self.parameters()),
                ("trials-beside-model".into(), self.trials()),
            ],
        };
        Report::of(
            self.joint,
            &Settings::standard(),
            answer,
            warnings,
            vec![window, parameters],
        )
    }

    /// As JSON.
    pub fn json(&self, warnings: &[String]) -> Value {
        let calibration = self.calibration;
        let learnt: Vec<Value> = calibration
            .learnt
            .iter()
            .map(|it| {
                json!({
                    "parameter": it.prior.parameter.key(),
                    "unit": it.prior.unit,
                    "before": it.prior.mean.exp(),
                    "spread_before_factor": it.prior.deviation.exp(),
                    "best": it.best,
                    "median": it.median,
                    "interval_95": [it.interval.0, it.interval.1],
                    "narrowed_to": it.narrowed_to,
                })
            })
            .collect();
        let correlations: Vec<Value> = calibration
            .correlations
            .iter()
            .map(|(a, b, it)| json!({ "between": [a.key(), b.key()], "correlation": it }))
            .collect();
        let setpoint = |window: &Window| {
            window.setpoint.map(|it| {
                json!({
                    "power_w": it.power_w,
                    window.lever.key(): it.setting,
                    "tolerance": it.tolerance(),
                })
            })
        };
        json!({
            "question": self.joint.question.as_ref(),
            "parameters": learnt,
            "correlations": correlations,
            "seen": calibration.seen,
            "chi_squared": calibration.chi_squared,
            "setpoint_before": setpoint(self.before),
            "setpoint_after": setpoint(&self.after.window),
            "interpolation_depth_m": calibration.response_error.depth_m,
            "interpolation_margin": calibration.response_error.margin,
            "effective_sample": calibration.effective_sample,
            "seed": calibration.choices.seed,
            "warnings": warnings,
            "version": env!("CARGO_PKG_VERSION"),
        })
    }
}

fn failed_hot(trial: &Trial) -> bool {
    trial.seen.burnt == Some(true) || trial.seen.marked == Some(true)
}

/// Boundaries by the joint file as fine dotted lines.
fn push_before(window: &Window, figure: &mut Figure) {
    let scale = PowerScale::of_window(window);
    let mut labelled = false;
    for low in [true, false] {
        let points: Vec<[f64; 2]> = window
            .lines
            .iter()
            .filter_map(|it| {
                let limit = if low { &it.limits.low } else { &it.limits.high };
                limit.rule()?;
                Some([
                    process::shown(window.lever, it.setting),
                    limit.power_w()? * scale.per_w,
                ])
            })
            .collect();
        if points.len() < 2 {
            continue;
        }
        let label = if labelled {
            Label::none()
        } else {
            Label::at(Place::Legend, "boundary by the joint file")
        };
        labelled = true;
        figure.marks.push(Mark::Line(Line::new(
            points,
            Stroke::fine(Role::Quiet, Dash::Dotted),
            label,
        )));
    }
}
