//! The evening's bracket: one card in one light, photographed at several settings of a camera's kelvin dial.

use super::shot::{Balance, Kind, Shot};
use super::studio::{CAMERA_B, TONE_B, before, card_shot, evening, on_the_bench};

/// Settings of the dial, with the file and the time of each.
const SETTINGS: [(f64, &str, &str); 4] = [
    (2800.0, "dial-1.jpg", "19:10:05"),
    (3000.0, "dial-2.jpg", "19:10:40"),
    (3300.0, "dial-3.jpg", "19:11:10"),
    (3600.0, "dial-4.jpg", "19:11:45"),
];

pub(super) fn shots() -> Vec<Shot> {
    let bench = on_the_bench();
    SETTINGS
        .into_iter()
        .map(|(kelvin, file, time)| Shot {
            story: "The card at the bench, the second camera on a tripod, its kelvin dial turned on a step",
            light: "bench lamps",
            expected: "With the others: the setting at which the card is neutral on this camera",
            kind: Kind::Bracket,
            usable: false,
            lighting: evening,
            balance: Balance::Dial { kelvin },
            camera: CAMERA_B,
            tone: TONE_B,
            time,
            exposure_time: (1, 50),
            f_number_tenths: 28,
            iso: 200,
            ..card_shot(file, bench, before(&bench, 0.49, (0.02, 0.02), 29.0, 0.0))
        })
        .collect()
}
