//! The day's photographs of the white card.

use super::shot::{Balance, Flicker, Kind, Meter, Shot};
use super::studio::{
    CAMERA_B, MIDDLE, TONE_B, afternoon, before, card_shot, evening, noon, on_the_bench, strip,
};
use crate::preset::Preset;
use crate::scene::{CardPlace, Finish, Marks, Prop, STRIP, View, vec3};

pub(super) fn shots() -> Vec<Shot> {
    let mut shots = good();
    shots.extend(badly_exposed());
    shots.extend(badly_lit());
    shots
}

fn good() -> Vec<Shot> {
    let window = at_the_window();
    let bench = on_the_bench();
    let tilted = CardPlace { roll: 0.13, facing: vec3(0.22, 0.40, 0.89), ..bench };
    let on_stool = CardPlace {
        centre: vec3(-0.74, 0.565, -1.60),
        facing: vec3(-0.62, 0.28, 0.73),
        roll: 0.04,
        ..bench
    };
    let written = CardPlace { marks: Marks::Written, ..window };
    vec![
        Shot {
            story: "The card fills the frame, close to the window",
            expected: "A good card: read; daylight and flash are near",
            time: "09:12:20",
            ..card_shot(
                "card-window-fills-frame.jpg",
                window,
                before(&window, 0.48, (0.05, 0.03), 29.0, 0.02),
            )
        },
        Shot {
            story: "The card fills the frame, under the bench lamps, after dark",
            light: "bench lamps",
            expected: "A good card: read; tungsten is near, daylight would be strong orange",
            lighting: evening,
            balance: Balance::Preset(Preset::Tungsten),
            time: "18:41:05",
            exposure_time: (1, 100),
            f_number_tenths: 28,
            iso: 400,
            ..card_shot(
                "card-lamps-fills-frame.jpg",
                bench,
                before(&bench, 0.48, (0.03, -0.02), 29.0, -0.015),
            )
        },
        Shot {
            story: "The card leans on a mug at the bench, turned and tilted in the frame, pots all about",
            light: "bench lamps",
            expected: "Read, from the card alone; the card is found as a tilted quadrilateral",
            kind: Kind::Framed,
            lighting: evening,
            balance: Balance::Preset(Preset::Tungsten),
            time: "18:46:30",
            exposure_time: (1, 100),
            f_number_tenths: 28,
            iso: 400,
            ..card_shot(
                "card-tilted-at-bench.jpg",
                tilted,
                View {
                    eye: vec3(0.66, 1.34, -1.86),
                    target: vec3(0.42, 1.02, -2.63),
                    angle_degrees: 36.0,
                    aperture: 0.007,
                    focus: None,
                    roll: 0.03,
                },
            )
        },
        Shot {
            story: "The card stands on the stool; too far off, it covers little of the frame",
            light: "window, clearing sky",
            expected: "Read, with a wider interval: go closer so that the card fills the frame",
            kind: Kind::Small,
            lighting: noon,
            balance: Balance::Preset(Preset::Cloudy),
            camera: CAMERA_B,
            tone: TONE_B,
            meter: Meter { area: [0.46, 0.46, 0.54, 0.54], quantile: 0.5, level: 0.62 },
            time: "11:54:40",
            ..card_shot(
                "card-small-in-frame.jpg",
                on_stool,
                View {
                    eye: vec3(-0.95, 1.22, 0.35),
                    target: vec3(-0.72, 0.58, -1.60),
                    angle_degrees: 34.0,
                    aperture: 0.008,
                    focus: None,
                    roll: -0.012,
                },
            )
        },
        Shot {
            story: "The card has print, pencil and a smear of clay on it, and a thumb over its edge",
            expected: "Read, with marks and thumb left out",
            kind: Kind::Marked,
            props: vec![Prop::Thumb {
                from: written.point(1.13, 0.10) + written.facing.unit() * 0.016,
                tip: written.point(0.90, 0.24) + written.facing.unit() * 0.010,
            }],
            time: "09:21:10",
            ..card_shot(
                "card-marked-and-thumb.jpg",
                written,
                before(&written, 0.56, (0.06, 0.04), 33.0, 0.03),
            )
        },
        Shot {
            story: "The card at the bench, a good photograph but for the camera's balance: left on automatic",
            light: "bench lamps",
            expected: "The light cannot be placed: only what is left of its colour; set a preset and shoot it again",
            kind: Kind::AutoBalance,
            usable: false,
            lighting: evening,
            balance: Balance::Auto { settled_kelvin: 3900.0 },
            camera: CAMERA_B,
            tone: TONE_B,
            time: "18:52:15",
            exposure_time: (1, 50),
            f_number_tenths: 28,
            iso: 200,
            ..card_shot(
                "card-auto-balance.jpg",
                bench,
                before(&bench, 0.50, (-0.04, 0.03), 29.0, 0.01),
            )
        },
        Shot {
            story: "Once more with the balance left on automatic, but as a raw file, which has no balance in it yet",
            light: "bench lamps",
            expected: "A good card: read, as closely as raw files allow, whatever the camera was set to",
            lighting: evening,
            balance: Balance::Auto { settled_kelvin: 3900.0 },
            camera: CAMERA_B,
            tone: TONE_B,
            meter: Meter { area: MIDDLE, quantile: 0.5, level: 0.45 },
            time: "18:53:50",
            exposure_time: (1, 50),
            f_number_tenths: 28,
            iso: 200,
            ..card_shot("card-raw.dng", bench, before(&bench, 0.53, (0.02, -0.03), 30.0, 0.025))
        },
    ]
}

fn badly_exposed() -> Vec<Shot> {
    let window = at_the_window();
    let bench = on_the_bench();
    vec![
        Shot {
            story: "Exposed for the room, the card at the window is blown out",
            expected: "Refused: clipped; give it two stops less",
            kind: Kind::Clipped,
            usable: false,
            meter: Meter { area: MIDDLE, quantile: 0.5, level: 2.1 },
            time: "09:15:45",
            exposure_time: (1, 30),
            ..card_shot(
                "card-clipped.jpg",
                window,
                before(&window, 0.62, (-0.05, 0.05), 34.0, -0.03),
            )
        },
        Shot {
            story: "The shutter time of the window carried over to the bench after dark: the card is nearly black",
            light: "bench lamps",
            expected: "Refused: too dark; open up several stops",
            kind: Kind::Dark,
            usable: false,
            lighting: evening,
            balance: Balance::Preset(Preset::Tungsten),
            meter: Meter { area: MIDDLE, quantile: 0.5, level: 0.006 },
            time: "18:38:50",
            exposure_time: (1, 2000),
            iso: 800,
            ..card_shot("card-too-dark.jpg", bench, before(&bench, 0.50, (0.02, 0.03), 30.0, 0.02))
        },
    ]
}

fn badly_lit() -> Vec<Shot> {
    let bench = on_the_bench();
    let between = CardPlace {
        centre: vec3(-1.25, 1.30, -2.10),
        facing: vec3(-0.35, 0.10, 0.93),
        width: 0.36,
        ..bench
    };
    let shaded = CardPlace {
        centre: vec3(0.80, 1.18, -2.50),
        facing: vec3(0.0, 0.42, 0.90),
        width: 0.34,
        ..bench
    };
    let propped = CardPlace {
        centre: vec3(0.42, 0.985, -2.50),
        facing: vec3(-0.01, 0.676, 0.737),
        finish: Finish::Satin { exponent: 700.0 },
        ..bench
    };
    let at_kiln =
        CardPlace { centre: vec3(1.62, 1.30, -3.42), facing: vec3(0.04, 0.80, 0.60), ..bench };
    vec![
        Shot {
            story: "The card between window and bench: daylight on its left side, lamp light on its right",
            light: "window and bench lamp, at the middle of the card",
            expected: "Refused: two lights, with both ends described; block one of them and shoot it again",
            kind: Kind::Mixed,
            usable: false,
            lighting: afternoon,
            props: vec![Prop::Lamp { bulb: vec3(-0.94, 1.44, -1.75) }],
            time: "16:20:35",
            iso: 400,
            ..card_shot(
                "card-window-and-lamps-mixed.jpg",
                between,
                before(&between, 0.62, (0.02, 0.02), 31.0, 0.01),
            )
        },
        Shot {
            story: "The edge of a board's shadow runs across the card",
            light: "bench lamps",
            expected: "Read: uneven, one light all the same; move the card out of the shadow",
            kind: Kind::Shadow,
            lighting: evening,
            props: vec![Prop::Board {
                centre: vec3(1.12, 1.404, -2.42),
                size: vec3(0.34, 0.24, 0.015),
                turn: 0.0,
            }],
            balance: Balance::Preset(Preset::Tungsten),
            meter: Meter { area: [0.15, 0.3, 0.35, 0.7], quantile: 0.5, level: 0.62 },
            time: "19:05:00",
            exposure_time: (1, 50),
            f_number_tenths: 28,
            iso: 400,
            ..card_shot(
                "card-shadow-edge.jpg",
                shaded,
                before(&shaded, 0.55, (-0.05, -0.06), 36.0, -0.02),
            )
        },
        Shot {
            story: "Under the strip lamp at 1/320 s: dark and light bands run across the card",
            light: "strip lamp",
            expected: "Read over whole bands: banding; use 1/100 or 1/50 s",
            kind: Kind::Banded,
            lighting: strip,
            balance: Balance::Preset(Preset::Fluorescent),
            flicker: Some(Flicker {
                group: STRIP,
                depth: 0.42,
                mains_hz: 50.0,
                readout_seconds: 0.033,
            }),
            time: "14:07:25",
            exposure_time: (1, 320),
            f_number_tenths: 20,
            iso: 800,
            ..card_shot(
                "card-strip-lamp-banding.jpg",
                at_kiln,
                before(&at_kiln, 0.50, (0.02, -0.03), 29.0, 0.02),
            )
        },
        Shot {
            story: "A varnished card mirrors the lamp",
            light: "bench lamps",
            expected: "Read, with the bright reflection left out; tilt the card away from the lamp",
            kind: Kind::Glare,
            lighting: evening,
            balance: Balance::Preset(Preset::Tungsten),
            meter: Meter { area: [0.3, 0.3, 0.7, 0.7], quantile: 0.35, level: 0.50 },
            time: "18:57:40",
            exposure_time: (1, 100),
            f_number_tenths: 28,
            iso: 400,
            ..card_shot(
                "card-glare.jpg",
                propped,
                View {
                    eye: vec3(0.595, 1.26, -1.86),
                    target: vec3(0.42, 0.985, -2.50),
                    angle_degrees: 31.0,
                    aperture: 0.006,
                    focus: None,
                    roll: 0.02,
                },
            )
        },
    ]
}

/// A card held up near the window, turned half to it.
fn at_the_window() -> CardPlace {
    CardPlace {
        centre: vec3(-1.62, 1.36, -2.05),
        facing: vec3(-0.72, 0.10, 0.66),
        roll: 0.0,
        width: 0.30,
        marks: Marks::Clean,
        finish: Finish::Matt,
    }
}
