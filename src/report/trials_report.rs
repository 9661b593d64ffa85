//! A plan of weld trials: table to fill in, what to look at, and what the model expects.

use serde_json::{Value, json};

use crate::report::answer::Fact;
use crate::report::bundle::{Part, Report, named};
use crate::report::figure::{Figure, Label, Mark, Marker, Place, Points};
use crate::report::number;
use crate::report::page::{Answer, Tone};
use crate::report::palette::Role;
use crate::report::process::{self, PowerScale};
use crate::report::table::{Cell, Column, Table};
use crate::report::window_figure::window_figure;
use crate::study::trial_plan::{Plan, Purpose};
use crate::study::window::Window;
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::simulate::Outcome;

/// A plan with what the model expects of every run.
#[derive(Clone, Debug)]
pub struct Planned<'p> {
    /// The joint.
    pub joint: &'p Joint,
    /// Its window.
    pub window: &'p Window,
    /// The plan.
    pub plan: &'p Plan,
    /// What the model expects, one entry a run.
    pub expected: &'p [Outcome],
}

/// Names of the columns to be filled in, with their units.
pub type Blanks<'b> = [(&'b str, &'b str)];

/// Name of the table to be filled in.
pub const FORM: &str = "trials";

/// What a welder does with the table.
const WHAT_TO_DO: &str = "Weld the runs in the order of the table, one block in one go with one lot of \
     parts; let the parts cool to the same temperature before every run. Clamp as in production. \
     Write into trials.csv, for every run: whether the parts hold together when pulled by hand, \
     whether the laser-side surface is marked, whether the seam is burnt (discoloured, bubbles, smoke). \
     Of as many welds that hold as can be spared cut a section across the seam (microtome, transmitted or \
     polarised light) and read the melt depth of both parts in the middle of the seam. Leave cells \
     empty where nobody looked. Measure the power at the part with a power meter if there is one, and \
     write that power.";

impl Planned<'_> {
    /// The plan in one sentence.
    pub fn headline(&self) -> String {
        let (power_w, setting) = self.plan.centre;
        format!(
            "{} trials in {} blocks around {} and {}",
            self.plan.runs.len(),
            self.plan.runs.iter().map(|it| it.block).max().unwrap_or(0),
            PowerScale::of_window(self.window).say(power_w, 3),
            process::say(self.plan.lever, setting)
        )
    }

    /// What the plan covers.
    pub fn facts(&self) -> Vec<Fact> {
        let runs = &self.plan.runs;
        let range = |of: &dyn Fn(usize) -> f64| {
            (0..runs.len())
                .map(of)
                .fold((f64::INFINITY, 0.0_f64), |it, value| {
                    (it.0.min(value), it.1.max(value))
                })
        };
        let power = range(&|i| runs[i].power_w);
        let setting = range(&|i| runs[i].setting);
        let lever = self.plan.lever;
        let expected_bad = self
            .expected
            .iter()
            .filter(|it| it.verdict.word() != "sound")
            .count();
        vec![
            (
                "powers".into(),
                format!(
                    "{} to {}",
                    number::power(power.0, 3),
                    number::power(power.1, 3)
                ),
            ),
            (
                process::plural(lever).into(),
                format!(
                    "{} to {}",
                    process::say(lever, setting.0),
                    process::say(lever, setting.1)
                ),
            ),
            (
                "runs expected not to be sound".into(),
                format!("{expected_bad} of {}", runs.len()),
            ),
            ("seed of the order".into(), self.plan.seed.to_string()),
        ]
    }

    /// Remarks on the plan.
    pub fn remarks(&self) -> Vec<String> {
        let mut remarks = Vec::new();
        if !self.plan.inside_window {
            remarks.push(
                "the model finds no sound power, so the plan stands around the setpoint of the joint file"
                    .to_string(),
            );
        }
        if self.plan.cut_to_machine {
            remarks.push(
                "some runs were moved to the limits of the machine; a boundary beyond them is not tried"
                    .to_string(),
            );
        }
        remarks
    }

    /// The runs as they are welded.
    pub fn table(&self) -> Table {
        Table::new(
            "Runs, in the order in which to weld them",
            self.columns()
                .into_iter()
                .chain([
                    Column::words(
                        "Purpose",
                        self.plan.runs.iter().map(|it| it.purpose.words()),
                    ),
                    Column::words(
                        "Model expects",
                        self.expected.iter().map(|it| it.verdict.word()),
                    ),
                ])
                .collect(),
        )
    }

    /// The same with empty columns to fill in, and without what the model expects.
    pub fn form(&self, blanks: &Blanks<'_>) -> Table {
        let mut columns = self.columns();
        columns.extend(blanks.iter().map(|(name, unit)| Column {
            name: (*name).into(),
            unit: (*unit).into(),
            cells: vec![Cell::Missing; self.plan.runs.len()],
            digits: 4,
        }));
        Table::new("Trials", columns)
    }

    /// Run, block, power, speed.
    fn columns(&self) -> Vec<Column> {
        let (name, unit) = process::heading(self.plan.lever);
        let runs = &self.plan.runs;
        // What a change of unit leaves behind the third digit goes.
        let round = |value: f64| number::significant(value, 3).parse().unwrap_or(value);
        vec![
            Column::words("Run", (1..=runs.len()).map(|it| it.to_string())),
            Column::words("Block", runs.iter().map(|it| it.block.to_string())),
            Column {
                digits: 3,
                ..Column::numbers("Power", "W", runs.iter().map(|it| it.power_w))
            },
            Column {
                digits: 3,
                ..Column::numbers(
                    name,
                    unit,
                    runs.iter()
                        .map(|it| round(process::shown(self.plan.lever, it.setting))),
                )
            },
        ]
    }

    fn figure(&self) -> Figure {
        let mut figure = window_figure(self.joint, self.window, None);
        let per_w = PowerScale::of_window(self.window).per_w;
        let others = format!("trials: other {}", process::plural(self.plan.lever));
        let groups = [
            (Purpose::Centre, Marker::Disc, "trials: setpoint, repeated"),
            (Purpose::Corner, Marker::Square, "trials: corners"),
            (
                Purpose::BelowWindow,
                Marker::Triangle,
                "trials: beyond the boundaries",
            ),
            (Purpose::OtherSetting, Marker::Diamond, &others),
        ];
        for (purpose, marker, words) in groups {
            let points: Vec<[f64; 2]> = self
                .plan
                .runs
                .iter()
                .filter(|it| {
                    it.purpose == purpose
                        || (purpose == Purpose::BelowWindow && it.purpose == Purpose::AboveWindow)
                })
                .map(|it| {
                    [
                        process::shown(self.plan.lever, it.setting),
                        it.power_w * per_w,
                    ]
                })
                .collect();
            figure.marks.push(Mark::Points(Points {
                points,
                errors: Vec::new(),
                label: Label::at(Place::Legend, words),
                marker,
                role: Role::Ink,
                radius_px: 5.0,
            }));
        }
        figure.title = "Where to try".into();
        figure
    }

    /// Page, figure, and the form as `trials.csv`.
    pub fn report(&self, blanks: &Blanks<'_>, warnings: &[String]) -> Report {
        let answer = Answer {
            headline: self.headline(),
            tone: Tone::Open,
            text: String::new(),
            facts: self.facts(),
        };
        let part = Part {
            heading: "The trials".into(),
            text: WHAT_TO_DO.into(),
            figures: vec![named(
                "trials",
                self.figure(),
                "The runs on the window the model expects. Runs beyond the boundaries are meant to fail.",
            )],
            tables: vec![self.table()],
            tables_behind: vec![(FORM.into(), self.form(blanks))],
        };
        Report::of(
            self.joint,
            &Settings::standard(),
            answer,
            warnings,
            vec![part],
        )
    }

    /// As JSON.
    pub fn json(&self, warnings: &[String]) -> Value {
        let runs: Vec<Value> = self
            .plan
            .runs
            .iter()
            .zip(self.expected)
            .enumerate()
            .map(|(i, (run, outcome))| {
                json!({
                    "run": i + 1,
                    "block": run.block,
                    "power_w": run.power_w,
                    self.plan.lever.key(): run.setting,
                    "purpose": run.purpose.words(),
                    "expected_verdict": outcome.verdict.word(),
                    "expected_margin": outcome.governing.margin,
                })
            })
            .collect();
        json!({
            "question": self.joint.question.as_ref(),
            "runs": runs,
            "inside_window": self.plan.inside_window,
            "cut_to_machine": self.plan.cut_to_machine,
            "seed": self.plan.seed,
            "warnings": warnings,
            "version": env!("CARGO_PKG_VERSION"),
        })
    }
}
