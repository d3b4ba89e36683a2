//! How well corrections take casts out of frames whose cast is known.

use std::fmt;

use mirecast::balance::PresetTable;
use mirecast::colour::illuminants::ENCODING_D65;
use mirecast::colour::{Xyz, delta_e_2000, lab, srgb};
use mirecast::frames::{
    Cast, FrameOptions, FrameReading, Tolerance, check_frame, group_frames, verdict,
};
use mirecast::grade::{Decision, GradeOptions};
use mirecast::still::{self, ReadOptions};

use super::Example;
use super::example::daylight;
use super::train::left_out_posteriors;
use crate::LabError;

/// Casts from here on are clear ones, mired.
const CLEAR: f64 = 35.0;
/// A frame with less was balanced, mired.
const BALANCED: f64 = 1.0;
/// Neutral surfaces of these L* are looked at.
const GREYS: [f64; 3] = [30.0, 50.0, 70.0];

/// CIEDE2000 differences of neutral surfaces from neutral.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Graded {
    /// Frames with a clear cast.
    pub clear: usize,
    /// Their mean difference before, by the CLF, and by the CDL.
    pub means: [f64; 3],
    /// Balanced frames.
    pub balanced: usize,
    /// By how much the worst of these was made worse, by the CLF and by the CDL.
    pub worse: [f64; 2],
}

/// A line each: corrected frame by frame and group by group, by estimates that the frames' scenes had no part in
/// (`with` are further frames to train on) and by those of the estimator as it is.
///
/// # Errors
/// [`LabError`] where a frame cannot be read or the estimator not trained.
pub fn graded(examples: &[Example], with: &[Example]) -> Result<String, LabError> {
    let balance = daylight()?;
    let mut shipped = Vec::new();
    let presets = PresetTable::built_in().map_err(|error| LabError::Presets(error.to_string()))?;
    let options = FrameOptions::new(presets);
    for example in examples {
        let still = still::read(&example.path, &ReadOptions::default())?;
        shipped.push(check_frame(&still, &options));
    }
    let all: Vec<Example> = examples.iter().chain(with).cloned().collect();
    let posteriors = left_out_posteriors(&all)?;
    let left_out: Vec<FrameReading> = shipped
        .iter()
        .zip(&posteriors)
        .map(|(reading, posterior)| FrameReading {
            verdict: verdict(posterior, Tolerance::default()),
            cast: Cast::of(posterior, &balance),
            ..reading.clone()
        })
        .collect();
    let mut lines = Vec::new();
    for (name, readings) in [("scene left out", &left_out), ("as it is", &shipped)] {
        lines.push(format!("{name}, each frame: {}", Graded::by_frame(examples, readings)));
        lines.push(format!("{name}, by group:   {}", Graded::by_group(examples, readings)));
    }
    Ok(lines.join("\n"))
}

impl Graded {
    fn by_frame(examples: &[Example], readings: &[FrameReading]) -> Self {
        let decisions = examples.iter().zip(readings).map(|(example, reading)| {
            Decision::of_frame(&example.path, "frame", reading, &GradeOptions::default(), None)
        });
        Self::of(examples, &decisions.collect::<Vec<_>>())
    }

    fn by_group(examples: &[Example], readings: &[FrameReading]) -> Self {
        let paths: Vec<_> = examples.iter().map(|example| example.path.to_string_lossy()).collect();
        let frames: Vec<_> =
            paths.iter().zip(readings).map(|(path, reading)| (path.as_ref(), reading)).collect();
        let grouping = group_frames(&frames);
        let decisions: Vec<_> = grouping
            .groups
            .iter()
            .map(|group| Decision::of_group(group, &GradeOptions::default(), &[]))
            .collect();
        let own = grouping.group_of.iter().filter_map(|group| {
            let at = grouping.groups.iter().position(|reading| reading.group == *group)?;
            decisions.get(at).cloned()
        });
        Self::of(examples, &own.collect::<Vec<_>>())
    }

    fn of(examples: &[Example], decisions: &[Decision]) -> Self {
        let mut graded = Self { worse: [f64::NEG_INFINITY; 2], ..Self::default() };
        for (example, decision) in examples.iter().zip(decisions) {
            let [before, clf, cdl] = differences(example.white, decision);
            if example.mired.abs() >= CLEAR {
                graded.clear += 1;
                for (sum, value) in graded.means.iter_mut().zip([before, clf, cdl]) {
                    *sum += value;
                }
            } else if example.mired.abs() < BALANCED {
                graded.balanced += 1;
                for (worst, value) in graded.worse.iter_mut().zip([clf, cdl]) {
                    *worst = worst.max(value - before);
                }
            }
        }
        graded.means = graded.means.map(|sum| sum / graded.clear.max(1) as f64);
        graded
    }
}

/// Mean differences over neutral surfaces of a true colour: before, by the CLF, by the CDL.
fn differences(neutral: [f64; 3], decision: &Decision) -> [f64; 3] {
    let white = ENCODING_D65.to_xyz();
    let luminance = Xyz::from(srgb::TO_XYZ.apply(neutral)).y;
    let mut sums = [0.0; 3];
    for level in GREYS {
        let grey = ((level + 16.0) / 116.0_f64).powi(3);
        // As the footage holds it.
        let recorded = neutral.map(|channel| (channel / luminance * grey).min(1.0));
        let [clf, cdl] = match decision.plan_made() {
            None => [recorded; 2],
            Some(plan) => [
                plan.correction().matrix().apply(recorded).map(|light| light.clamp(0.0, 1.0)),
                plan.footage().decode(plan.fit().cdl.apply(plan.footage().encode(recorded))),
            ],
        };
        for (sum, colour) in sums.iter_mut().zip([recorded, clf, cdl]) {
            let off = lab(srgb::TO_XYZ.apply(colour).into(), white);
            *sum += delta_e_2000(off, lab(white * grey, white)) / GREYS.len() as f64;
        }
    }
    sums
}

impl fmt::Display for Graded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [before, clf, cdl] = self.means;
        let down = |after: f64| 100.0 * (1.0 - after / before.max(1e-9));
        write!(
            f,
            "{} clear casts {before:.2}, CLF {clf:.2} (-{:.0} %), CDL {cdl:.2} (-{:.0} %)",
            self.clear,
            down(clf),
            down(cdl)
        )?;
        let [clf, cdl] = self.worse;
        write!(f, "; {} balanced, worse by at most CLF {clf:.2}, CDL {cdl:.2}", self.balanced)
    }
}
