//! What to do next: sentences that follow from a reading.

use std::ops::RangeInclusive;

use super::options::CardOptions;
use super::problem::Problem;
use super::record::{LightReading, Residual, Status};
use crate::balance::{AsShot, Miss, looks_in_a_sentence, rough_kelvin_number};

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
            advice.extend(fallback(presets, light));
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

/// With half an interval wider than this, in mired, nothing can be called about right.
const TOO_OPEN: f64 = 30.0;

/// What a preset would do where there is no time for a custom balance: one that would be about right, or
/// else the one that would show least, which comes first.
fn fallback(presets: &[Miss], light: &LightReading) -> Option<String> {
    let right = presets.iter().find(|miss| miss.appearance == "about right");
    let Miss { name, appearance, .. } = right.or(presets.first())?;
    let [low, high] = light.mired_interval;
    let half = (high - low) / 2.0;
    Some(match right.is_some() {
        true if half > TOO_OPEN => format!(
            "The {name} preset may be about right as well; the light is known to {half:.0} mired \
             only."
        ),
        true => format!("The {name} preset would be about right as well."),
        false => format!(
            "If there is no time for that, the {name} preset would show least; the picture would \
             look {}.",
            looks_in_a_sentence(appearance)
        ),
    })
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

#[cfg(test)]
mod tests {
    use super::*;

    fn miss(name: &str, appearance: &str) -> Miss {
        Miss {
            name: name.to_owned(),
            kelvin: 5500.0,
            duv: 0.0,
            miss_mired: 0.0,
            miss_duv: 0.0,
            delta_e_2000: 0.0,
            appearance: appearance.to_owned(),
        }
    }

    fn light(half: f64) -> LightReading {
        LightReading {
            cct_kelvin: 5000.0,
            cct_interval_kelvin: [4800.0, 5200.0],
            mired: 200.0,
            mired_interval: [200.0 - half, 200.0 + half],
            duv: 0.0,
            duv_interval: [-0.003, 0.003],
        }
    }

    #[test]
    fn a_preset_that_the_table_calls_about_right_is_advised_wherever_it_stands() {
        let presets = [miss("flash", "slight green"), miss("cloudy", "about right")];
        let said = fallback(&presets, &light(12.0)).unwrap();
        assert_eq!(said, "The cloudy preset would be about right as well.");
        let said = fallback(&presets[..1], &light(12.0)).unwrap();
        assert!(said.contains("the flash preset would show least"), "{said}");
        assert!(said.ends_with("the picture would look slightly green."), "{said}");
        assert_eq!(fallback(&[], &light(12.0)), None);
    }

    #[test]
    fn of_a_light_that_is_hardly_known_no_preset_is_said_to_be_right() {
        let said = fallback(&[miss("cloudy", "about right")], &light(45.0)).unwrap();
        assert!(said.contains("may be about right") && said.contains("45 mired"), "{said}");
    }
}
