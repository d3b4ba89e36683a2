//! What to do next: sentences that follow from a reading.

use std::ops::RangeInclusive;

use super::options::CardOptions;
use super::problem::Problem;
use super::record::{LightReading, Residual, Status};
use crate::balance::{AsShot, Miss, appearance, rough_kelvin_number};

/// A residual larger than this, in mired, makes for a wide interval: a second photo with the
/// camera set near the light narrows it.
const FAR_OFF: f64 = 60.0;

/// What cameras can usually be set to, kelvin.
const SETTINGS: RangeInclusive<f64> = 2500.0..=10_000.0;

/// `again_at` is the balance that another photo should be nearer to, where that would tell more.
pub(super) fn advice(
    status: Status,
    problems: &[Problem],
    light: Option<&LightReading>,
    presets: &[Miss],
    residual: &Residual,
    again_at: Option<&AsShot>,
    options: &CardOptions,
) -> Vec<String> {
    let mut advice = Vec::new();
    match (status, light) {
        (Status::Read, Some(light)) => {
            let is_doubtful =
                problems.iter().any(|problem| matches!(problem, Problem::Coloured { .. }));
            advice.push(if is_tinted(options) {
                format!(
                    "Set the camera to about {} K: a custom balance from this photo would take \
                     the card's own colour for white.",
                    rough_kelvin_number(light.cct_kelvin)
                )
            } else if is_doubtful {
                "If the card is white, set the custom balance from this photo.".to_owned()
            } else {
                "Set the custom balance from this photo.".to_owned()
            });
            if let Some(nearest) = presets.first() {
                advice.push(fallback(nearest));
            }
            let far_off = residual.mired.is_some_and(|mired| mired.abs() > FAR_OFF);
            let can_be_set = SETTINGS.contains(&light.cct_kelvin);
            if let Some(as_shot) = again_at.filter(|_| far_off && can_be_set) {
                advice.push(again(light.cct_kelvin, as_shot));
            }
        }
        (Status::ResidualOnly, _) if is_tinted(options) => advice.push(
            "A custom balance from this photo would take the card's own colour for white: use a \
             whiter card for that."
                .to_owned(),
        ),
        (Status::ResidualOnly, _) => {
            advice.push(
                "A custom balance can be set from this photo; only the light stays unknown."
                    .to_owned(),
            );
        }
        _ => {}
    }
    advice.extend(problems.iter().map(|problem| problem.advice(options.told)));
    advice
}

/// Whether the card has a colour of its own that would show in a picture balanced from it: 8 mired are
/// about so far on the Lab scale.
fn is_tinted(options: &CardOptions) -> bool {
    const SHOWS: f64 = 4.0;
    options.card_lab.is_some_and(|[_, a, b]| a.hypot(b) > SHOWS)
}

/// What a preset would do where there is no time for a custom balance.
fn fallback(nearest: &Miss) -> String {
    let look = appearance(nearest.miss_mired, nearest.miss_duv);
    if look == "about right" {
        format!("The {} preset would be about right as well.", nearest.name)
    } else {
        format!(
            "If there is no time for that, {} is the nearest preset; the picture would look {look}.",
            nearest.name
        )
    }
}

/// Near the light the unknown tone curve of the camera hardly matters.
fn again(kelvin: f64, as_shot: &AsShot) -> String {
    format!(
        "To know the light more closely, set the camera to about {} K instead of {} and \
         photograph the card again.",
        rough_kelvin_number(kelvin),
        as_shot
    )
}
