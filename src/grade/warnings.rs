//! What a correction would do to a picture that it should not, in words.

use super::{Correction, Footage, Headroom, Strength};
use crate::told::Told;

const CHANNELS: [&str; 3] = ["red", "green", "blue"];

/// What to mind of a correction, a sentence or two each; `safe` is how much of it would do no harm.
pub(super) fn warnings_of(
    correction: &Correction,
    footage: Footage,
    headroom: &Headroom,
    safe: Option<Strength>,
    told: Told,
) -> Vec<String> {
    let mut warnings = Vec::new();
    let less = safe.map(|safe| match told {
        Told::AtTerminal | Told::AmongSetups | Told::InBracket => {
            format!(", or give --strength {safe}")
        }
        Told::OnPage => format!(", or make only {safe} of the correction"),
    });
    let less = less.unwrap_or_default();
    if !headroom.stands_bits_of(footage) {
        let fewest = headroom.codes_kept_8_bit.iter().zip(CHANNELS).min();
        if let Some((codes, channel)) = fewest {
            warnings.push(format!(
                "8-bit footage would not stand it: {channel} keeps {codes} of its 256 codes, and \
                 noise and compression show. Use 10-bit footage{less}."
            ));
        }
    }
    if let Some(clipped) = headroom.clipped.filter(|_| !headroom.stays_within_scale()) {
        let channels: Vec<_> = clipped
            .iter()
            .zip(CHANNELS)
            .filter(|(share, _)| **share > 0.01)
            .map(|(share, channel)| format!("{channel} in {:.0} %", 100.0 * share))
            .collect();
        // Rounded up, or it would clip still.
        let stops = ((10.0 * headroom.over_stops.unwrap_or(0.0)).ceil() / 10.0).max(0.1);
        warnings.push(format!(
            "It would clip {} of the pixels. Lower the exposure by {stops:.1} stops in the same \
             grade{less}.",
            channels.join(", ")
        ));
    }
    if let Some(tint) = tint_of_white(correction) {
        let enough = |share: Option<f64>| share.filter(|share| *share >= 0.01);
        if let Some(blown) = enough(headroom.blown) {
            warnings.push(format!(
                "Burnt-out whites ({:.0} % of the pixels) would turn {tint}: keep the correction off \
                 the highlights.",
                100.0 * blown
            ));
        }
        if let Some(partly) = enough(headroom.partly_blown) {
            warnings.push(format!(
                "What is clipped in one channel or two ({:.0} % of the pixels) has lost its colour \
                 and would lean to {tint}: grade it by itself, with the highlights held back.",
                100.0 * partly
            ));
        }
    }
    warnings
}

/// What a clipped white looks like when it is corrected; `None` where it hardly shows.
fn tint_of_white(correction: &Correction) -> Option<&'static str> {
    let [red, green, blue] = correction.matrix().apply([1.0; 3]).map(|v| v.clamp(0.0, 1.0));
    let least = red.min(green).min(blue);
    match (red, green, blue) {
        _ if least > 0.95 => None,
        _ if least == red => Some(if blue > green + 0.05 { "blue" } else { "cyan" }),
        _ if least == blue => Some(if red > green + 0.05 { "orange" } else { "yellow" }),
        _ => Some("magenta"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grade::ColourSample;

    #[test]
    fn an_exposure_to_lower_is_lowered_by_something() {
        let correction = Correction::new([1.0, 0.84, 0.65], Strength::FULL).unwrap();
        let advised = (0..40).filter(|step| {
            let colours = vec![[0.5, 0.5, 0.6 + 0.01 * *step as f32]; 100];
            let picture = ColourSample { colours, blown: 0.0 };
            let headroom = Headroom::of(&correction, Footage::SRGB, &[&picture]);
            let told = warnings_of(&correction, Footage::SRGB, &headroom, None, Told::AtTerminal);
            let said = told.join(" ");
            assert!(!said.contains("by 0.0 stops"), "{said}");
            said.contains("Lower the exposure")
        });
        assert!(advised.count() > 5);
    }

    #[test]
    fn a_clipped_white_turns_the_colour_opposite_to_the_cast() {
        let tint = |neutral| tint_of_white(&Correction::new(neutral, Strength::FULL).unwrap());
        assert_eq!(tint([1.0, 0.70, 0.44]), Some("cyan"));
        assert_eq!(tint([0.44, 0.70, 1.0]), Some("orange"));
        assert_eq!(tint([0.8, 1.0, 0.8]), Some("magenta"));
        assert_eq!(tint([1.0, 0.99, 0.98]), None);
    }
}
