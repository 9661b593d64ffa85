//! The report of a tolerance study: chance, failures, what matters, chance over power and speed.

use serde_json::{Value, json};

use crate::report::answer::{Fact, signed};
use crate::report::bundle::{Part, Report, named};
use crate::report::number;
use crate::report::page::{Answer, Tone};
use crate::report::process::{self, PowerScale};
use crate::report::table::{Cell, Column, Table};
use crate::report::tolerance_figures::{chance_figure, effect_figure, margin_figure};
use crate::study::chance_window::ChanceWindow;
use crate::study::tolerance::{Between, Chance, InputEffect, MOSTLY_SOUND, REPLICATES, Tolerance};
use crate::weld::joint::Joint;
use crate::weld::settings::Settings;
use crate::weld::verdict::Verdict;

/// A share in percent with two decimals near the ends, where they matter.
pub fn share(value: f64) -> String {
    let percent = 100.0 * value;
    if percent == 0.0 || percent == 100.0 {
        format!("{percent} %")
    } else if percent.min(100.0 - percent) < 2.0 {
        format!("{percent:.2} %")
    } else {
        format!("{percent:.1} %")
    }
}

/// The answer in one sentence.
pub fn headline(it: &Tolerance) -> String {
    format!(
        "{} of welds are sound at this setpoint (95 % interval {} to {})",
        share(it.sound.value()),
        share(it.sound.interval.0),
        share(it.sound.interval.1)
    )
}

/// The numbers that are asked for first.
pub fn facts(joint: &Joint, it: &Tolerance, window: Option<&ChanceWindow>) -> Vec<Fact> {
    let mut facts: Vec<Fact> = Vec::new();
    let failing: Vec<String> = it
        .verdicts
        .iter()
        .filter(|(verdict, count)| *verdict != Verdict::Sound && 0 < *count)
        .map(|(verdict, count)| {
            format!(
                "{verdict} {}",
                share(*count as f64 / it.sound.trials as f64)
            )
        })
        .collect();
    facts.push((
        "the others are".into(),
        if failing.is_empty() {
            format!("none of {} welds drawn", it.sound.trials)
        } else {
            failing.join(", ")
        },
    ));
    if let Some((rule, count)) = it.rules.first() {
        facts.push((
            "most frequent cause".into(),
            format!(
                "{} ({} of all welds)",
                rule.name(),
                share(*count as f64 / it.sound.trials as f64)
            ),
        ));
    }
    // Margins that do not vary tell of no input.
    let known = |it: &&InputEffect| it.on_margin[1].half.is_finite();
    if let Some(first) = it.effects.first().filter(known) {
        facts.push((
            "matters most".into(),
            format!(
                "{} (total effect {} ± {} on the margin)",
                first.input.quantity.words(),
                number::significant(first.on_margin[1].value, 2),
                number::significant(first.on_margin[1].half, 1)
            ),
        ));
    }
    facts.push(("hold tighter".into(), tighter(it)));
    facts.push((
        "least margin, 5 %, 50 %, 95 % of welds below".into(),
        it.margin_quantiles.map(signed).join(", "),
    ));
    if let Some(it) = window
        && let Some((power_w, setting, chance)) = it.best
    {
        facts.push((
            "best setpoint of the map".into(),
            format!(
                "{} at {}: {} of {} joints drawn (95 % interval from {})",
                PowerScale::of_joint(joint).say(power_w, 3),
                process::say(it.lever, setting),
                share(chance),
                it.draws,
                share(of_draws(chance, it.draws).interval.0)
            ),
        ));
    }
    facts.push(("welds simulated".into(), drawn(it)));
    facts.push(("seed".into(), it.seed.to_string()));
    facts
}

/// How many welds were simulated of those asked for.
fn drawn(it: &Tolerance) -> String {
    format!(
        "{} (at most {} asked for; sets of points are rounded down to a power of two)",
        it.welds, it.most
    )
}

/// The chance at a setpoint of the map, with its interval.
fn of_draws(chance: f64, draws: usize) -> Chance {
    Chance::of((chance * draws as f64).round() as usize, draws)
}

/// The inputs that scatter, in one line; a page has them in a table.
pub fn scattered(it: &Tolerance) -> Fact {
    let inputs: Vec<String> = it
        .scatter
        .inputs
        .iter()
        .map(|it| {
            format!(
                "{} ± {}",
                it.quantity.words(),
                number::percent(it.relative, 2)
            )
        })
        .collect();
    ("scattered".into(), inputs.join("; "))
}

/// Which input to hold tighter, in words.
fn tighter(it: &Tolerance) -> String {
    match it.hold_tighter() {
        _ if it.base.value() < MOSTLY_SOUND => {
            "nothing yet: more than half of the welds fail, so move the setpoint first".into()
        }
        Some(input) => format!(
            "{}: half its spread takes the chance from {} to {}; both are of one half of the welds \
             drawn ({}), while {} is of all {}",
            input.input.quantity.words(),
            share(it.base.value()),
            share(input.halved.value()),
            it.base.trials,
            share(it.sound.value()),
            it.sound.trials
        ),
        None => "none: no halved spread raises the chance".into(),
    }
}

/// What to say where inputs are taken as exact.
pub fn remark(it: &Tolerance) -> Option<String> {
    if it.scatter.exact.is_empty() {
        return None;
    }
    let exact = it.scatter.exact.iter();
    let words: Vec<&str> = exact.map(|it| it.words()).collect();
    Some(format!(
        "taken as exact, since neither joint file nor card says otherwise: {}; what is not is stated in \
         [uncertainty]",
        words.join("; ")
    ))
}

/// Page, figures and tables.
pub fn tolerance_report(
    joint: &Joint,
    it: &Tolerance,
    window: Option<&ChanceWindow>,
    warnings: &[String],
) -> Report {
    let answer = Answer {
        headline: headline(it),
        tone: if 0.95 <= it.sound.interval.0 {
            Tone::Sound
        } else if it.sound.value() < 0.5 {
            Tone::NotSound
        } else {
            Tone::Open
        },
        text: format!(
            "Every input named below is multiplied by a factor with a lognormal distribution of \
             the stated spread; each draw is a weld of its own. The interval is Wilson's for {} \
             welds taken as independent; {REPLICATES} independent scrambles of the points agree \
             within ± {}. It covers the sampling alone, not the model.",
            it.sound.trials,
            number::percent(it.replicate_half, 2)
        ),
        facts: facts(joint, it, window),
    };
    let mut parts = vec![Part {
        heading: "What becomes of the welds".into(),
        figures: vec![named(
            "margins",
            margin_figure(it),
            "Share of welds whose least margin lies below a value. Left of zero a criterion is \
             broken.",
        )],
        tables: vec![verdict_table(it)],
        tables_behind: vec![("verdicts".into(), verdict_table(it))],
        ..Part::default()
    }];
    if !it.effects.is_empty() {
        parts.push(Part {
            heading: "Which input matters".into(),
            text: format!(
                "The total effect of an input is the share of the variance that would be left if all \
                 others were known; the first-order effect is what it brings alone. Where the two \
                 differ, inputs act together. Total and first-order effects are those on the least \
                 margin; beside them the total effect on whether the weld is sound; last the chance \
                 of a sound weld if the spread of this input alone were halved. That last one is to \
                 be compared with {}, the chance of the same {} welds with all spreads as stated, \
                 and not with the {} of all {}.",
                share(it.base.value()),
                it.base.trials,
                share(it.sound.value()),
                it.sound.trials
            ),
            figures: vec![named(
                "effects",
                effect_figure(it),
                "Total effect of each input on the least margin, with its interval of 95 %; inner \
                 mark: first-order effect.",
            )],
            tables: vec![effect_table(it), spread_table(it)],
            tables_behind: vec![
                ("effects".into(), effect_table(it)),
                ("spreads".into(), spread_table(it)),
            ],
        });
    }
    if let Some(window) = window {
        parts.push(Part {
            heading: format!("Chance over {}", process::power_and(window.lever)),
            text: format!(
                "The window as contours: {} joints drawn, each with its own lowest and highest \
                 sound power at all {}.",
                window.draws,
                process::plural(window.lever)
            ),
            figures: vec![named(
                "chance",
                chance_figure(joint, window),
                "Chance of a sound weld over the setpoint.",
            )],
            tables: Vec::new(),
            tables_behind: vec![("chance".into(), chance_table(joint, window))],
        });
    }
    let mut report = Report::of(joint, &Settings::standard(), answer, warnings, parts);
    report
        .page
        .colophon
        .push(("seed of the scatter".into(), it.seed.to_string()));
    report
        .page
        .colophon
        .push(("welds simulated".into(), drawn(it)));
    report.page.colophon.push((
        "light followed at nodes, then interpolated".into(),
        format!("{} and {}", it.light_nodes.0, it.light_nodes.1),
    ));
    report
}

fn verdict_table(it: &Tolerance) -> Table {
    let chances: Vec<Chance> = it
        .verdicts
        .iter()
        .map(|row| Chance::of(row.1, it.sound.trials))
        .collect();
    let percent = |name: &str, of: fn(&Chance) -> f64| {
        Column::numbers(name, "%", chances.iter().map(|it| 100.0 * of(it))).digits(3)
    };
    Table::new(
        "Verdicts",
        vec![
            Column::words("Verdict", it.verdicts.iter().map(|row| row.0.word())),
            percent("Share", Chance::value),
            percent("From", |it| it.interval.0),
            percent("To (95 %)", |it| it.interval.1),
        ],
    )
}

fn effect_table(it: &Tolerance) -> Table {
    let number = |name: &str, unit: &str, of: &dyn Fn(&InputEffect) -> Option<f64>| Column {
        cells: it
            .effects
            .iter()
            .map(|row| of(row).map_or(Cell::Missing, Cell::Number))
            .collect(),
        ..Column::numbers(name, unit, []).digits(2)
    };
    Table::new(
        "Effects",
        vec![
            Column::words(
                "Input",
                it.effects.iter().map(|it| it.input.quantity.words()),
            ),
            number("Total", "", &|it| Some(it.on_margin[1].value)),
            number("±", "", &|it| Some(it.on_margin[1].half)),
            number("First-order", "", &|it| Some(it.on_margin[0].value)),
            number("Total, sound or not", "", &|it| Some(it.on_sound?[1].value)),
            number("±", "", &|it| Some(it.on_sound?[1].half)),
            number("Half spread: chance", "%", &|it| {
                Some(100.0 * it.halved.value())
            })
            .digits(4),
        ],
    )
}

fn spread_table(it: &Tolerance) -> Table {
    Table::new(
        "Spreads",
        vec![
            Column::words(
                "Input",
                it.effects.iter().map(|it| it.input.quantity.words()),
            ),
            Column::numbers(
                "One standard deviation",
                "%",
                it.effects.iter().map(|it| 100.0 * it.input.relative),
            )
            .digits(2),
            Column::words(
                "Source",
                it.effects.iter().map(|it| it.input.source.as_str()),
            ),
        ],
    )
}

fn chance_table(joint: &Joint, window: &ChanceWindow) -> Table {
    let scale = PowerScale::of_joint(joint);
    let (name, unit) = process::heading(window.lever);
    let cells = || {
        window.power_w.iter().enumerate().flat_map(|(row, &power)| {
            window
                .setting
                .iter()
                .enumerate()
                .map(move |(column, &speed)| (row, column, power, speed))
        })
    };
    Table::new(
        "Chance of a sound weld",
        vec![
            Column::numbers(
                name,
                unit,
                cells().map(|it| process::shown(window.lever, it.3)),
            ),
            Column::numbers(
                scale.label,
                scale.unit,
                cells().map(|it| it.2 * scale.per_w),
            ),
            Column::numbers("Chance", "", cells().map(|it| window.chance[it.0][it.1])),
        ],
    )
}

/// As JSON.
pub fn json(
    joint: &Joint,
    it: &Tolerance,
    window: Option<&ChanceWindow>,
    warnings: &[String],
) -> Value {
    let chance = |it: &Chance| {
        json!({
            "value": it.value(), "hits": it.hits, "trials": it.trials,
            "wilson_95": [it.interval.0, it.interval.1],
        })
    };
    let effect = |it: &[Between; 2]| {
        json!({
            "first_order": it[0].value, "first_order_half_95": it[0].half,
            "total": it[1].value, "total_half_95": it[1].half,
        })
    };
    let rules: serde_json::Map<String, Value> = it
        .rules
        .iter()
        .map(|(rule, count)| {
            let share = *count as f64 / it.sound.trials as f64;
            (rule.key().to_string(), json!(share))
        })
        .collect();
    let verdicts: serde_json::Map<String, Value> = it
        .verdicts
        .iter()
        .map(|(verdict, count)| {
            let share = *count as f64 / it.sound.trials as f64;
            (verdict.word().to_string(), json!(share))
        })
        .collect();
    json!({
        "question": joint.question.as_ref(),
        "chance_of_sound": chance(&it.sound),
        "chance_half_95_by_replicates": it.replicate_half,
        "replicates": REPLICATES,
        "verdict_shares": verdicts,
        "governing_rule_shares": rules,
        "least_margin_quantiles": {
            "q05": it.margin_quantiles[0], "q50": it.margin_quantiles[1],
            "q95": it.margin_quantiles[2] },
        "inputs": it.effects.iter().map(|row| json!({
            "input": row.input.quantity.key(),
            "relative_standard_uncertainty": row.input.relative,
            "source": row.input.source,
            "on_margin": effect(&row.on_margin),
            "on_soundness": row.on_sound.as_ref().map(effect),
            "chance_with_half_spread": chance(&row.halved),
        })).collect::<Vec<_>>(),
        "chance_before_halving": chance(&it.base),
        "hold_tighter": it.hold_tighter().map(|it| it.input.quantity.key()),
        "taken_as_exact": it.scatter.exact.iter().map(|it| it.key()).collect::<Vec<_>>(),
        "nominal_verdict": it.nominal.verdict.word(),
        "window": window.map(|it| json!({
            it.lever.key(): it.setting,
            "power_w": it.power_w,
            "chance_by_power_and_setting": it.chance,
            "joints_drawn": it.draws,
            "best": it.best.map(|it| json!({
                "power_w": it.0, "setting": it.1, "chance": it.2 })),
        })),
        "welds": it.welds,
        "most_welds": it.most,
        "seed": it.seed,
        "power_w": joint.beam.power_w,
        joint.motion.lever().key(): joint.motion.setting(),
        "warnings": warnings,
        "version": env!("CARGO_PKG_VERSION"),
    })
}
