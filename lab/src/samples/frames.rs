//! The day's frames of the studio.

use super::shot::{Balance, Kind, Meter, Shot};
use super::studio::{CAMERA_B, TONE_B, evening, noon, photograph, strip};
use crate::preset::Preset;
use crate::scene::{Vec3, View, vec3};

const WHOLE: [f32; 4] = [0.0, 0.0, 1.0, 1.0];

/// What all frames share unless they say otherwise.
fn frame(file: &'static str, view: View, subject: (Vec3, Vec3)) -> Shot {
    Shot {
        kind: Kind::Frame,
        usable: false,
        subject,
        meter: Meter { area: WHOLE, quantile: 0.72, level: 0.42 },
        time: "10:00:00",
        exposure_time: (1, 60),
        f_number_tenths: 28,
        iso: 400,
        ..photograph(file, view)
    }
}

fn view(eye: Vec3, target: Vec3, angle_degrees: f32) -> View {
    View { eye, target, angle_degrees, aperture: 0.004, focus: None, roll: 0.006 }
}

pub(super) fn shots() -> Vec<Shot> {
    let room = view(vec3(0.55, 1.50, 0.95), vec3(-0.45, 1.05, -3.0), 60.0);
    let wheel = view(vec3(0.05, 1.28, -0.15), vec3(-1.55, 0.86, -2.35), 52.0);
    let bench = view(vec3(0.35, 1.52, -0.35), vec3(0.62, 1.02, -2.85), 56.0);
    let kiln = view(vec3(0.75, 1.48, -0.75), vec3(1.95, 1.22, -4.0), 54.0);
    let shelves = view(vec3(-0.25, 1.42, -1.35), vec3(-0.55, 1.30, -4.3), 50.0);
    let on_wheel = (vec3(-1.30, 0.95, -1.80), vec3(-0.3, 0.5, 0.8));
    let on_bench = (vec3(0.60, 0.98, -2.55), vec3(0.0, 0.6, 0.8));
    vec![
        Shot {
            story: "The whole studio in the morning",
            expected: "Neutral",
            time: "09:40:15",
            ..frame("frame-studio-window-right.jpg", room, on_bench)
        },
        Shot {
            story: "The wheel at the window; the camera was still on tungsten",
            light: "window, clearing sky",
            expected: "Blue, strongly",
            lighting: noon,
            balance: Balance::Preset(Preset::Tungsten),
            time: "11:30:50",
            ..frame("frame-wheel-window-blue.jpg", wheel, on_wheel)
        },
        Shot {
            story: "The kiln corner under the strip lamp",
            light: "strip lamp",
            expected: "Green",
            lighting: strip,
            balance: Balance::Preset(Preset::Fluorescent),
            time: "14:02:30",
            exposure_time: (1, 50),
            iso: 800,
            ..frame(
                "frame-kiln-strip-greenish.jpg",
                kiln,
                (vec3(2.0, 1.25, -3.5), vec3(0.0, 0.7, 0.7)),
            )
        },
        Shot {
            story: "The bench after dark; the camera was still on daylight",
            light: "bench lamps",
            expected: "Orange, strongly",
            lighting: evening,
            balance: Balance::Preset(Preset::Daylight),
            time: "18:30:10",
            exposure_time: (1, 50),
            iso: 800,
            ..frame("frame-bench-lamps-orange.jpg", bench, on_bench)
        },
        Shot {
            story: "The shelves after dark, balance on tungsten",
            light: "bench lamps",
            expected: "Neutral: within the tolerance of the preset",
            lighting: evening,
            balance: Balance::Preset(Preset::Tungsten),
            camera: CAMERA_B,
            tone: TONE_B,
            meter: Meter { area: WHOLE, quantile: 0.72, level: 0.28 },
            time: "19:20:00",
            exposure_time: (1, 50),
            iso: 800,
            ..frame(
                "frame-shelves-lamps-right.jpg",
                shelves,
                (vec3(-0.55, 1.30, -4.0), vec3(0.0, 0.1, 1.0)),
            )
        },
        Shot {
            story: "Somebody picked the wrong photograph: the sill, and no card in it",
            expected: "Refused as a card: no card found",
            kind: Kind::NoCard,
            time: "09:33:30",
            ..frame(
                "card-missing-wrong-photo.jpg",
                view(vec3(-1.20, 1.34, -1.45), vec3(-2.15, 0.92, -2.55), 55.0),
                on_wheel,
            )
        },
    ]
}
