//! `weld`: judge one weld at its setpoint.

use crate::cli::args::{Manner, WeldFile};
use crate::cli::terminal::Terminal;
use crate::cli::{Answer, deliver, load};
use crate::error::Error;
use crate::input::pair_table;
use crate::report::page::Tone;
use crate::report::pair_table as report_of_pair;
use crate::report::weld_report::weld_report;
use crate::report::{answer, clearing_report, cross_section_report, json};
use crate::study::clearing_sensitivity::{ClearingSensitivity, clearing_sensitivity};
use crate::study::power_limits::power_limits;
use crate::study::window::ranges;
use crate::weld::across::Across;
use crate::weld::clearing::{self, Cleared};
use crate::weld::cross_section::cross_section;
use crate::weld::warning::matters_dry;
use crate::weld::{Joint, Settings, Verdict, simulate};

/// Reads, simulates, reports.
///
/// # Errors
/// The joint cannot be read, or its light or heat cannot be followed.
pub fn run(asked: &WeldFile, manner: &Manner, terminal: &Terminal) -> Result<Answer, Error> {
    let (joint, notes) = load::joint(&asked.file)?;
    let standard = Settings::standard();
    let settings = if manner.out.is_some() {
        standard.recording()
    } else {
        standard.clone()
    };
    let clearing = cleared(&joint, &settings, terminal)?;
    let outcome = match &clearing {
        Some((cleared, _)) => cleared.outcome.clone(),
        None => simulate(std::slice::from_ref(&joint), &settings).remove(0)?,
    };
    // With clearing both are in what it changes.
    let sound = match &clearing {
        Some(_) => None,
        None => {
            let dry = matters_dry(&joint, &outcome).and_then(|it| it.computed.ok());
            let joints: Vec<Joint> = std::iter::once(joint.clone()).chain(dry).collect();
            let progress = terminal.progress("seeking sound powers");
            let looked_at_w = ranges(&joint).0;
            let found = power_limits(&joints, looked_at_w, &standard, &progress);
            let found = found.into_iter().collect::<Result<Vec<_>, _>>()?;
            let facts = answer::sound_powers(&joint, &found, looked_at_w);
            Some((found, facts))
        }
    };
    let cut = asked
        .cross_section
        .then(|| cross_section(&joint, &outcome, &settings))
        .transpose()?;
    let across = cut.as_ref().map(|it| Across::new(&joint, &outcome, it));
    let section = cut.as_ref().zip(across.as_ref());
    let mut remarks = load::remarks(&notes, &joint, &outcome);
    let pair = pair_table::of(&joint.upper.material, &joint.lower.material)?;
    if joint.melt_clearing.is_some() && clearing.is_none() {
        remarks.push(clearing_report::NO_EFFECT.into());
    }

    let sound_across = across.as_ref().is_none_or(Across::is_sound);
    // What stands beside the verdict.
    let beside: Vec<String> = across
        .as_ref()
        .and_then(|it| cross_section_report::across_words(&outcome, it))
        .into_iter()
        .chain(report_of_pair::caveat(&pair))
        .collect();
    if manner.json {
        let mut value = json::weld(&joint, &outcome, &remarks);
        if let Some(object) = value.as_object_mut() {
            object.insert("pair".into(), report_of_pair::json(&pair));
        }
        if let (Some((found, _)), Some(object)) = (&sound, value.as_object_mut()) {
            for (key, limits) in ["sound_powers", "sound_powers_dry"].into_iter().zip(found) {
                object.insert(key.into(), json::limits(limits).into());
            }
        }
        if let (Some((cleared, powers)), Some(object)) = (&clearing, value.as_object_mut()) {
            let extra = clearing_report::weld_json(cleared, powers);
            object.insert("melt_clearing".into(), extra);
        }
        if let (Some(section), Some(object)) = (section, value.as_object_mut()) {
            let extra = cross_section_report::json(&joint, &outcome, section);
            object.insert("cross_section".into(), extra);
        }
        deliver::json(terminal, &value);
    } else {
        let mut facts = answer::weld_facts(&joint, &outcome);
        facts.extend(sound.iter().flat_map(|it| it.1.clone()));
        if !pair.is_same() {
            facts.push(("pair of polymers".into(), report_of_pair::line(&pair)));
        }
        if let Some((cleared, powers)) = &clearing {
            facts.extend(clearing_report::setpoint_facts(cleared));
            facts.extend(clearing_report::power_facts(powers));
        }
        if let Some(section) = section {
            facts.extend(cross_section_report::facts(&joint, &outcome, section));
        }
        let mut said = vec![joint.question.to_string(), answer::weld_headline(&outcome)];
        said.extend(beside.iter().cloned());
        terminal.result(&format!("{}\n\n{}", said.join("\n"), answer::lines(&facts)));
    }
    terminal.warnings(&remarks);
    if let Some(dir) = &manner.out {
        let mut report = weld_report(&joint, &outcome, &settings, &remarks);
        let sound = sound.into_iter().flat_map(|it| it.1);
        report.page.answer.facts.extend(sound);
        report.page.answer.text = beside.join("; ");
        if !sound_across {
            report.page.answer.tone = Tone::NotSound;
        }
        if let Some((cleared, powers)) = &clearing {
            report = report.with_part(clearing_report::clearing_part(cleared, powers));
        }
        if let Some(section) = section {
            report = report.with_part(cross_section_report::part(&joint, &outcome, section));
        }
        if !pair.is_same() {
            report = report.with_part(report_of_pair::part(&pair));
        }
        deliver::report(terminal, dir, &report)?;
    }
    Ok(match outcome.verdict {
        Verdict::Sound if sound_across => Answer::Yes,
        _ => Answer::No,
    })
}

/// The joint with a melt that is clearer than its solid, and what that does to its sound powers;
/// none where the joint does not ask for it or it changes nothing.
pub(super) fn cleared(
    joint: &Joint,
    settings: &Settings,
    terminal: &Terminal,
) -> Result<Option<(Cleared, ClearingSensitivity)>, Error> {
    if !clearing::matters(joint) {
        return Ok(None);
    }
    let cleared = clearing::simulate_cleared(std::slice::from_ref(joint), settings).remove(0)?;
    let progress = terminal.progress("seeking sound powers");
    let powers = clearing_sensitivity(joint, settings, &progress)?;
    Ok(Some((cleared, powers)))
}
