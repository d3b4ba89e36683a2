//! The table of estimators.

use mirecast::balance::light_of;
use mirecast::colour::{Xyz, illuminants::ENCODING_D65, srgb};
use mirecast::frames::cast_training::Model;

use super::classical::NAMES;
use super::example::daylight;
use super::figures::{Estimate, HEADING, verdict_on};
use super::train::left_out_posteriors;
use super::{Example, Figures};
use crate::LabError;

/// A line an estimator: the classical ones, ours trained without the scene it is asked about, and ours as it is.
/// `with` are further frames to train on.
///
/// # Errors
/// [`LabError`] where 5500 K is no light, which cannot happen.
pub fn table(examples: &[Example], with: &[Example]) -> Result<String, LabError> {
    let balance = daylight()?;
    let mut lines = vec![HEADING.to_owned()];
    for (at, name) in NAMES.iter().enumerate() {
        let estimates: Vec<_> = examples.iter().map(|example| classical(example, at)).collect();
        let estimates = estimates.into_iter().collect::<Result<Vec<_>, _>>()?;
        lines.push(format!("{name:<20} {}", Figures::of_estimates(examples, &estimates)));
    }
    let all: Vec<Example> = examples.iter().chain(with).cloned().collect();
    let mut left_out = left_out_posteriors(&all)?;
    left_out.truncate(examples.len());
    lines.push(format!(
        "{:<20} {}",
        "ours, scene left out",
        Figures::of(examples, &left_out, &balance)
    ));
    let shipped: Vec<_> = examples
        .iter()
        .map(|example| Model::built_in().posterior(&example.evidence, &balance))
        .collect();
    lines.push(format!("{:<20} {}", "ours, as it is", Figures::of(examples, &shipped, &balance)));
    Ok(lines.join("\n"))
}

fn classical(example: &Example, which: usize) -> Result<Estimate, LabError> {
    let white = example.classical[which];
    let balance = daylight()?;
    let [x, y, z] = srgb::TO_XYZ.apply(white);
    // Where the colour has no temperature, no cast is the best that can be said.
    let mired = light_of(Xyz::new(x, y, z), ENCODING_D65.to_xyz(), balance)
        .map_or(0.0, |light| (light.mired() - balance.mired()).get());
    Ok(Estimate { white, mired, interval: [mired, mired], verdict: verdict_on(mired) })
}
