//! Batches of one colour: their spread, their limits, and which of them weld at a fixed setpoint.
//!
//! A black that hides the visible lets the laser through; a little carbon black in it does neither
//! harm nor good to the eye and heats the upper part. So every batch is put in the place of the upper
//! part of a joint: what it absorbs, how hot its laser-side surface gets, and between which powers it
//! welds at the joint's speed.
//!
//! Checked in: `tests/study/colours.rs`.

use std::sync::Arc;

use rayon::prelude::*;

use crate::colour::{Observer, ciede2000};
use crate::error::{ColourProblem, Error};
use crate::numerics::control_chart::{Capability, ControlChart, Limits, capability};
use crate::study::colour_compared::{common, has};
use crate::study::colour_limits;
use crate::study::colours::{
    Colour, LaserLight, LaserQuestion, Sample, Seen, colours, laser_light, opacity,
    part_transmittance,
};
use crate::study::power_limits::{PowerLimits, power_limits};
use crate::study::progress::Progress;
use crate::study::specification::{Characteristic, Specified};
use crate::study::window::ranges;
use crate::weld::criteria::{Criterion, Rule};
use crate::weld::joint::{Joint, Part};
use crate::weld::settings::Settings;
use crate::weld::simulate::{Outcome, simulate};
use crate::weld::verdict::Verdict;

/// What is asked of batches.
#[derive(Clone, Debug)]
pub struct BatchQuestion<'q> {
    /// Whose eye.
    pub observer: Observer,
    /// The laser.
    pub laser: LaserQuestion,
    /// True where the laser line was asked for: then a file that does not reach it is refused.
    pub laser_asked: bool,
    /// The colour that is aimed at.
    pub standard: Option<&'q Sample>,
    /// The same polymer without colourant.
    pub natural: Option<&'q Sample>,
    /// The joint whose upper part the batches take the place of.
    pub joint: Option<&'q Joint>,
    /// Limits the batches must keep to, such as [`possible`](super::colour_limits::possible) passes.
    pub specification: &'q [Specified],
}

/// A batch in the place of the upper part.
#[derive(Clone, Debug)]
pub struct ColourWeld {
    /// The joint with this upper part.
    pub joint: Joint,
    /// What becomes of it at the joint's setpoint.
    pub outcome: Outcome,
    /// Sound powers at the joint's speed.
    pub limits: PowerLimits,
}

impl ColourWeld {
    /// Power that turns to heat inside the upper part, W.
    pub fn absorbed_upper_w(&self) -> f64 {
        self.joint.beam.power_w * self.outcome.light.absorbed_upper()
    }

    /// The laser-side surface against its softening temperature; its margin is how far the part may
    /// heat itself.
    pub fn surface(&self) -> Option<&Criterion> {
        self.outcome
            .criteria
            .iter()
            .find(|it| it.rule == Rule::SurfaceMarking)
    }

    /// True where it welds at the joint's setpoint.
    pub fn is_sound(&self) -> bool {
        self.outcome.verdict == Verdict::Sound
    }
}

/// All about one batch.
#[derive(Clone, Debug)]
pub struct Batch {
    /// As measured.
    pub sample: Sample,
    /// Its colours, in the order of [`Seen`].
    pub colours: Vec<Colour>,
    /// Index of the colour that is compared among `colours`.
    pub compared: usize,
    /// Contrast ratio.
    pub opacity: Option<f64>,
    /// ΔE00 from the standard.
    pub difference: Option<f64>,
    /// The laser in it; none where no transmittance was measured.
    pub light: Option<LaserLight>,
    /// Transmittance over that of the natural grade.
    pub retained: Option<f64>,
    /// In the place of the upper part.
    pub weld: Option<ColourWeld>,
}

impl Batch {
    /// The colour that is compared.
    pub fn colour(&self) -> &Colour {
        &self.colours[self.compared]
    }

    /// A characteristic, SI; none where it is not known.
    pub fn value(&self, of: Characteristic, observer: Observer) -> Option<f64> {
        let lab = self.colour().to(observer).lab;
        match of {
            Characteristic::Lightness => Some(lab.lightness),
            Characteristic::RedGreen => Some(lab.a),
            Characteristic::YellowBlue => Some(lab.b),
            Characteristic::Difference => self.difference,
            Characteristic::Opacity => self.opacity,
            Characteristic::Transmittance => Some(self.light.as_ref()?.transmittance()?.value),
            Characteristic::Retained => self.retained,
            Characteristic::Extinction => Some(self.light.as_ref()?.extinction_per_m),
            Characteristic::Latitude => self.weld.as_ref()?.limits.latitude(),
        }
    }
}

/// The series of one characteristic.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// Of what.
    pub characteristic: Characteristic,
    /// Values in the order of the files, with control limits, SI.
    pub chart: ControlChart,
    /// Limits of the specification.
    pub limits: Limits,
    /// Capability, where there are limits and spread.
    pub capability: Option<Capability>,
}

/// What the batches say.
#[derive(Clone, Debug)]
pub struct ColourStudy {
    /// Whose eye.
    pub observer: Observer,
    /// Wavelength of the laser, m.
    pub line_m: f64,
    /// What colours are compared by.
    pub seen: Seen,
    /// The batches in the order of their files.
    pub batches: Vec<Batch>,
    /// The standard.
    pub standard: Option<Colour>,
    /// Transmittance of the part of natural grade.
    pub natural_transmittance: Option<f64>,
    /// The weld of the natural grade.
    pub natural_weld: Option<ColourWeld>,
    /// Control charts; empty for a single batch.
    pub charts: Vec<Chart>,
    /// Limits asked for.
    pub specification: Vec<Specified>,
    /// What to know, one sentence each.
    pub remarks: Vec<String>,
    /// Files that do not show what is asked, with what is wrong.
    pub left_out: Vec<(String, Error)>,
}

impl ColourStudy {
    /// Batches that do not weld at the joint's setpoint.
    pub fn unsound(&self) -> Vec<&Batch> {
        self.batches
            .iter()
            .filter(|it| it.weld.as_ref().is_some_and(|it| !it.is_sound()))
            .collect()
    }

    /// Batches outside the specification.
    pub fn outside(&self) -> Vec<&Batch> {
        self.batches
            .iter()
            .filter(|it| !it.broken(&self.specification, self.observer).is_empty())
            .collect()
    }

    /// Batches of which a limit cannot be judged.
    pub fn unjudged(&self) -> Vec<&Batch> {
        self.batches
            .iter()
            .filter(|it| !it.unjudged(&self.specification, self.observer).is_empty())
            .collect()
    }
}

/// Compares batches; their order is that in which they were made. A file that does not show what is
/// asked, or not what the others are compared by, or whose part cannot be followed in the joint, is left
/// out as long as another remains.
///
/// # Errors
/// No file shows what is asked, standard or natural grade do not, files were measured in different
/// ways so that none stands for most, or a limit cannot be judged for any batch.
pub fn colour_batches(
    samples: &[Sample],
    asked: &BatchQuestion<'_>,
    settings: &Settings,
    progress: &dyn Progress,
) -> Result<ColourStudy, Error> {
    let mut remarks = Vec::new();
    let mut left_out = Vec::new();
    let standard = asked
        .standard
        .map(|it| Ok::<_, Error>((it, colours(it)?)))
        .transpose()?;
    let told: Vec<Result<(Vec<Colour>, Light), Error>> = samples
        .par_iter()
        .map(|it| Ok((colours(it)?, light(it, asked)?)))
        .collect();
    let (mut kept, mut all, mut lights) = (Vec::new(), Vec::new(), Vec::new());
    for (sample, told) in samples.iter().zip(told) {
        match told {
            Ok((colours, light)) => {
                kept.push(sample);
                all.push(colours);
                lights.push(light);
            }
            Err(error) => left_out.push((sample.file.clone(), error)),
        }
    }
    some_left(kept.len(), &left_out)?;
    let compared = common(&kept, &all, standard.as_ref())?;
    let seen = compared.seen;
    remarks.extend(compared.remark);
    left_out.extend(compared.left_out);
    let shown: Vec<bool> = all.iter().map(|it| has(it, seen)).collect();
    keep(&mut kept, &shown);
    keep(&mut all, &shown);
    keep(&mut lights, &shown);
    let pick = |colours: &[Colour]| colours.iter().position(|it| it.seen == seen).unwrap_or(0);
    let standard = standard.map(|(_, colours)| colours[pick(&colours)].clone());

    for (sample, (light, remark)) in kept.iter().zip(&lights) {
        remarks.extend(remark.iter().cloned());
        if let Some(light) = light {
            let of = |it: &String| format!("{}: {it}", sample.name);
            remarks.extend(light.remarks.iter().map(of));
        }
    }
    let natural = Natural::of(asked, &mut remarks)?;
    let mut welds = welds(&kept, &lights, &natural, asked, settings, progress);
    let natural_weld = welds.pop().flatten().transpose()?;

    let mut batches: Vec<Batch> = Vec::with_capacity(kept.len());
    for (((sample, colours), (light, _)), weld) in kept.into_iter().zip(all).zip(lights).zip(welds)
    {
        let weld = match weld.transpose() {
            Ok(weld) => weld,
            Err(error) => {
                left_out.push((sample.file.clone(), error.at(sample.place())));
                continue;
            }
        };
        let compared = pick(&colours);
        let lab = |it: &Colour| it.to(asked.observer).lab;
        let transmittance = light.as_ref().and_then(LaserLight::transmittance);
        batches.push(Batch {
            sample: sample.clone(),
            opacity: opacity(&colours, asked.observer),
            difference: standard
                .as_ref()
                .map(|it| ciede2000(lab(it), lab(&colours[compared]))),
            retained: transmittance
                .zip(natural.transmittance)
                .map(|(own, natural)| own.value / natural),
            compared,
            colours,
            light,
            weld,
        });
    }
    some_left(batches.len(), &left_out)?;
    colour_limits::judged(&batches, asked)?;
    let charts = charts(&batches, asked);
    Ok(ColourStudy {
        observer: asked.observer,
        line_m: asked.laser.line_m,
        seen,
        batches,
        standard,
        natural_transmittance: natural.transmittance,
        natural_weld,
        charts,
        specification: asked.specification.to_vec(),
        remarks,
        left_out,
    })
}

/// Drops the entries that are not marked.
fn keep<T>(entries: &mut Vec<T>, marked: &[bool]) {
    let mut marks = marked.iter();
    entries.retain(|_| marks.next() == Some(&true));
}

/// The error of the first file left out, where nothing else is left.
fn some_left(count: usize, left_out: &[(String, Error)]) -> Result<(), Error> {
    match left_out.first() {
        Some((_, error)) if count == 0 => Err(error.clone()),
        _ => Ok(()),
    }
}

/// The laser in a sample, or why it is not known.
type Light = (Option<LaserLight>, Option<String>);

fn light(sample: &Sample, asked: &BatchQuestion<'_>) -> Result<Light, Error> {
    match laser_light(sample, &asked.laser) {
        Ok(Some(light)) => Ok((Some(light), None)),
        Ok(None) if asked.joint.is_some() => {
            Err(Error::new(ColourProblem::NoTransmittance {
                file: sample.file.clone(),
            })
            .at(sample.place())
            .cure("measure total transmittance up to the laser line; or leave the joint out for colour alone"))
        }
        Ok(None) => Ok((None, None)),
        Err(error) if asked.laser_asked || asked.joint.is_some() => Err(error),
        Err(error) => Ok((
            None,
            Some(format!(
                "{}: nothing is said about the laser: {}",
                sample.name,
                error.problem()
            )),
        )),
    }
}

/// The grade without colourant.
struct Natural {
    transmittance: Option<f64>,
    joint: Option<Joint>,
}

impl Natural {
    fn of(asked: &BatchQuestion<'_>, remarks: &mut Vec<String>) -> Result<Self, Error> {
        let line_m = asked.laser.line_m;
        let own = asked.joint.map(|it| Joint {
            wavelength_m: line_m,
            ..it.clone()
        });
        let Some(sample) = asked.natural else {
            return Ok(Natural {
                transmittance: own
                    .as_ref()
                    .map(|it| part_transmittance(&it.upper, line_m))
                    .transpose()?,
                joint: own,
            });
        };
        let light = laser_light(sample, &asked.laser)?.ok_or_else(|| {
            Error::new(ColourProblem::NoTransmittance {
                file: sample.file.clone(),
            })
            .at(sample.place())
            .cure("measure total transmittance of the natural grade up to the laser line")
        })?;
        let of = |it: &String| format!("{}: {it}", sample.name);
        remarks.extend(light.remarks.iter().map(of));
        Ok(Natural {
            transmittance: light.transmittance().map(|it| it.value),
            joint: own.map(|it| with_upper(&it, sample, &light)),
        })
    }
}

/// The joint with a sample for its upper part: its spectra hold all that absorbs.
fn with_upper(joint: &Joint, sample: &Sample, light: &LaserLight) -> Joint {
    Joint {
        wavelength_m: light.line_m,
        upper: Part {
            optical: Arc::new(light.optical.clone()),
            plaques: Arc::new(sample.plaques.clone()),
            absorber: None,
            moisture: None,
            ..joint.upper.clone()
        },
        ..joint.clone()
    }
}

/// Welds of all samples, then that of the natural grade; none of each without a joint.
fn welds(
    samples: &[&Sample],
    lights: &[Light],
    natural: &Natural,
    asked: &BatchQuestion<'_>,
    settings: &Settings,
    progress: &dyn Progress,
) -> Vec<Option<Result<ColourWeld, Error>>> {
    let Some(joint) = asked.joint else {
        return vec![None; samples.len() + 1];
    };
    let mut joints: Vec<Joint> = samples
        .iter()
        .zip(lights)
        .filter_map(|(sample, (light, _))| Some(with_upper(joint, sample, light.as_ref()?)))
        .collect();
    joints.extend(natural.joint.clone());
    let outcomes = simulate(&joints, settings);
    let limits = power_limits(&joints, ranges(joint).0, settings, progress);
    joints
        .into_iter()
        .zip(outcomes)
        .zip(limits)
        .map(|((joint, outcome), limits)| {
            Some(outcome.and_then(|outcome| {
                Ok(ColourWeld {
                    joint,
                    outcome,
                    limits: limits?,
                })
            }))
        })
        .collect()
}

/// A chart for every characteristic that all batches have and that is charted or limited.
fn charts(batches: &[Batch], asked: &BatchQuestion<'_>) -> Vec<Chart> {
    let mut found = Vec::new();
    for characteristic in Characteristic::ALL {
        let specified = asked
            .specification
            .iter()
            .find(|it| it.characteristic == characteristic);
        if specified.is_none() && !Characteristic::CHARTED.contains(&characteristic) {
            continue;
        }
        let values: Option<Vec<f64>> = batches
            .iter()
            .map(|it| it.value(characteristic, asked.observer))
            .collect();
        let Some(chart) = values.and_then(|it| ControlChart::new(&it)) else {
            continue;
        };
        let limits = specified.map_or(Limits::default(), |it| it.limits);
        found.push(Chart {
            characteristic,
            capability: capability(&chart, limits),
            chart,
            limits,
        });
    }
    found
}
