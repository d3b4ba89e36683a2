//! What to do next about set-ups, in words.

use super::compromise::OneBalance;
use super::gel_choice::GelChoice;
use super::setup::{SetupRecord, SetupStatus};
use super::shift::Shift;
use crate::balance::kelvin_number;

/// From this on a miss shows; see the words for misses.
const SHOWS_MIRED: f64 = 8.0;
const SHOWS_DUV: f64 = 0.003;
/// What a gel leaves from this on is clearly off.
const CLEARLY_OFF_MIRED: f64 = 20.0;

/// What to do about lights that are so far apart, a sentence each.
pub(super) fn advice(
    setups: &[SetupRecord],
    shifts: &[Shift],
    balance: Option<&OneBalance>,
    gels: &[GelChoice],
) -> Vec<String> {
    let mut advice = Vec::new();
    if let Some(balance) = balance {
        let shows = balance.worst_miss_mired >= SHOWS_MIRED || balance.worst_miss_duv >= SHOWS_DUV;
        let real = shifts.iter().any(Shift::is_real);
        advice.push(if !shows {
            format!(
                "One balance does for all of them: set the camera to {} K.",
                kelvin_number(balance.kelvin)
            )
        } else if !real {
            "Nothing here is surely different: balance for the one that matters most, and shoot \
             the cards again, nearer and with the camera set near the light, to know more."
                .to_owned()
        } else if gels.is_empty() {
            "Balance for the one that matters most, or keep to one of them.".to_owned()
        } else if !gels_reach(gels) {
            format!(
                "Gels bring the lights nearer to each other, but what they leave is clearly off: balance for \
                 the one that matters most, or set {} K and be off both ways alike.",
                kelvin_number(balance.kelvin)
            )
        } else {
            let sources = if setups.len() > 2 {
                "Gel the others to match one source"
            } else {
                "Gel one source to match the other"
            };
            format!(
                "{sources}, and balance for that; without gels, balance for the one that matters \
                 most, or set {} K and be off both ways alike.",
                kelvin_number(balance.kelvin)
            )
        });
    }
    for setup in setups {
        let empty = setup.photos == 0 && setup.left_out.is_empty();
        if setup.status == SetupStatus::Failed && empty {
            advice
                .push(format!("Put photos of a card into {}, or name another folder.", setup.name));
        }
        for out in &setup.left_out {
            for sentence in &out.advice {
                let sentence = format!("{}: {sentence}", out.path);
                if !advice.contains(&sentence) {
                    advice.push(sentence);
                }
            }
        }
    }
    advice
}

/// Whether there is a light that gels bring all others to.
fn gels_reach(gels: &[GelChoice]) -> bool {
    let reach = |target: &str| {
        let mut toward = gels.iter().filter(|gel| gel.toward == target);
        toward.all(|gel| gel.left_mired.abs() < CLEARLY_OFF_MIRED)
    };
    gels.iter().any(|gel| reach(&gel.toward))
}
