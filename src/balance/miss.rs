//! How far a preset misses a light, and how the picture then looks.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Preset, PresetTable, White, neutral_in};
use crate::colour::{delta_e_2000, illuminants::ENCODING_D65, lab};

/// One preset's miss.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Miss {
    /// The preset's name.
    pub name: String,
    /// The temperature it is meant for, kelvin.
    pub kelvin: f64,
    /// The tint it is meant for: Duv, + green, − magenta.
    pub duv: f64,
    /// Light − preset in mired: + the picture goes orange, − blue.
    pub miss_mired: f64,
    /// Light − preset in Duv: + green, − magenta.
    pub miss_duv: f64,
    /// CIEDE2000 difference of a mid-grey (L* 50) under this preset from neutral.
    pub delta_e_2000: f64,
    /// How it looks, in words: "about right", "clear orange", "slight blue, slight green".
    pub appearance: String,
}

impl Miss {
    /// The miss of one preset in a light.
    #[must_use]
    pub fn of(preset: &Preset, light: White) -> Self {
        let miss_mired = (light.mired() - preset.white.mired()).get();
        let miss_duv = (light.duv - preset.white.duv).get();
        Self {
            name: preset.name.clone(),
            kelvin: preset.white.cct.get(),
            duv: preset.white.duv.get(),
            miss_mired,
            miss_duv,
            delta_e_2000: grey_difference(light, preset.white),
            appearance: appearance(miss_mired, miss_duv),
        }
    }

    /// The misses of every compared preset of a table, nearest first by how a grey looks.
    #[must_use]
    pub fn of_all(presets: &PresetTable, light: White) -> Vec<Self> {
        let mut misses: Vec<_> = presets.compared().map(|preset| Self::of(preset, light)).collect();
        misses.sort_by(|a, b| a.delta_e_2000.total_cmp(&b.delta_e_2000));
        misses
    }
}

/// The CIEDE2000 difference between a grey of L* 50 as it should be and as it comes out in
/// `light` under `balance`.
fn grey_difference(light: White, balance: White) -> f64 {
    /// Luminance of L* 50 (CIE 015:2018).
    const MID_GREY: f64 = 0.184_186_518_512_444_2;
    let white = ENCODING_D65.to_xyz();
    let came_out = neutral_in(light, balance, white) * MID_GREY;
    delta_e_2000(lab(came_out, white), lab(white * MID_GREY, white))
}

/// A miss below this, in mired to either side, is called about right.
pub const HARDLY_SHOWS_MIRED: f64 = 8.0;

/// Where a miss begins to be slight, clear, strong: mired and Duv. Five mired is about what can
/// just be seen side by side; 20 mired and 0.006 Duv are the default tolerance of a frame check.
const MIRED_STEPS: [f64; 3] = [HARDLY_SHOWS_MIRED, 20.0, 60.0];
const DUV_STEPS: [f64; 3] = [0.003, 0.006, 0.015];
const STRENGTHS: [&str; 3] = ["slight", "clear", "strong"];

/// A miss in words, as records and tables name it.
#[must_use]
pub fn appearance(miss_mired: f64, miss_duv: f64) -> String {
    let word = |miss: f64, steps: [f64; 3], positive: &str, negative: &str| {
        let reached = steps.iter().filter(|&&step| miss.abs() >= step).count();
        let strength = STRENGTHS.get(reached.checked_sub(1)?)?;
        Some(format!("{strength} {}", if miss > 0.0 { positive } else { negative }))
    };
    let words = [
        word(miss_mired, MIRED_STEPS, "orange", "blue"),
        word(miss_duv, DUV_STEPS, "green", "magenta"),
    ];
    let words: Vec<_> = words.into_iter().flatten().collect();
    if words.is_empty() { "about right".to_owned() } else { words.join(", ") }
}

/// A miss that is named "slight blue, clear green", as it is said of a picture: "slightly blue, clearly
/// green".
pub(crate) fn looks(appearance: &str) -> String {
    let of_one = |word: &str| match word.split_once(' ') {
        Some((strength, colour)) if STRENGTHS.contains(&strength) => {
            format!("{strength}ly {colour}")
        }
        _ => word.to_owned(),
    };
    appearance.split(", ").map(of_one).collect::<Vec<_>>().join(", ")
}

/// The same for the end of a sentence: "slightly blue and clearly green".
pub(crate) fn looks_in_a_sentence(appearance: &str) -> String {
    looks(appearance).replace(", ", " and ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{Duv, Kelvin};

    fn white(kelvin: f64, duv: f64) -> White {
        White::new(Kelvin::new(kelvin).unwrap(), Duv::new(duv)).unwrap()
    }

    #[test]
    fn a_lamp_under_daylight_balance_goes_orange_and_the_sky_under_tungsten_blue() {
        let presets = PresetTable::built_in().unwrap();
        let lamp = Miss::of(presets.named("daylight").unwrap(), white(2850.0, 0.0));
        assert!((lamp.miss_mired - (1e6 / 2850.0 - 1e6 / 5500.0)).abs() < 1e-9);
        assert!(lamp.appearance.starts_with("strong orange"), "{lamp:?}");
        let sky = Miss::of(presets.named("tungsten").unwrap(), white(9000.0, 0.003));
        assert!(sky.miss_mired < -200.0 && sky.appearance.starts_with("strong blue"), "{sky:?}");
    }

    #[test]
    fn the_right_preset_misses_by_nothing_and_comes_first() {
        let presets = PresetTable::built_in().unwrap();
        let shade = presets.named("shade").unwrap().white;
        let misses = Miss::of_all(&presets, shade);
        assert_eq!((misses[0].name.as_str(), misses.len()), ("shade", 6));
        assert!(misses[0].miss_mired.abs() < 1e-9 && misses[0].delta_e_2000 < 1e-6);
        assert_eq!(misses[0].appearance, "about right");
        assert!(misses.is_sorted_by(|a, b| a.delta_e_2000 <= b.delta_e_2000));
    }

    #[test]
    fn words_grow_with_the_miss() {
        let orange: Vec<_> = [7.9, 8.0, 20.0, 60.0].iter().map(|&m| appearance(m, 0.0)).collect();
        assert_eq!(orange, ["about right", "slight orange", "clear orange", "strong orange"]);
        assert_eq!(appearance(-25.0, -0.004), "clear blue, slight magenta");
        assert_eq!(appearance(0.0, 0.02), "strong green");
    }

    #[test]
    fn people_read_adverbs() {
        assert_eq!(looks("clear blue, slight magenta"), "clearly blue, slightly magenta");
        assert_eq!(looks("strong orange"), "strongly orange");
        for whole in ["about right", ""] {
            assert_eq!(looks(whole), whole);
        }
        let sentence = looks_in_a_sentence("clear blue, slight magenta");
        assert_eq!(sentence, "clearly blue and slightly magenta");
    }
}
