//! The studio on that day: its lights, its cameras, and how a card is photographed there.

use super::shot::{Balance, Kind, Meter, Shot};
use crate::error::LabError;
use crate::preset::Preset;
use crate::scene::{CardPlace, Finish, LAMPS, Lighting, Marks, STRIP, Vec3, View, WINDOW, vec3};
use crate::spectrum::Spectrum;
use crate::table;
use crate::tone::ToneCurve;

pub(super) const CAMERA_A: (u64, &str) = (3, "Studio camera A");
pub(super) const CAMERA_B: (u64, &str) = (12, "Studio camera B");
pub(super) const TONE_A: ToneCurve = ToneCurve::SCurve { strength: 0.22 };
pub(super) const TONE_B: ToneCurve = ToneCurve::Filmic { toe: 0.004, shoulder: 0.35 };

/// Where a card lies that fills the frame, or half of it.
pub(super) const MIDDLE: [f32; 4] = [0.4, 0.4, 0.6, 0.6];

/// Bright overcast at the window, morning.
pub(super) fn morning() -> Result<Lighting, LabError> {
    Lighting::dark().with(WINDOW, &Spectrum::daylight(6100.0)?, 1.0)
}

/// Clearing sky at the window, around noon.
pub(super) fn noon() -> Result<Lighting, LabError> {
    Lighting::dark().with(WINDOW, &Spectrum::daylight(6900.0)?, 1.0)
}

/// The hanging lamps alone, after dark.
pub(super) fn evening() -> Result<Lighting, LabError> {
    Lighting::dark().with(LAMPS, &Spectrum::planckian(3200.0), 1.0)
}

/// Window and lamps at once, late afternoon; the lamps are dimmed, so warmer.
pub(super) fn afternoon() -> Result<Lighting, LabError> {
    noon()?.with(LAMPS, &Spectrum::planckian(2700.0), 0.13)
}

/// The strip lamp alone: a cool tube behind a cover gone yellow-green.
pub(super) fn strip() -> Result<Lighting, LabError> {
    let cover = Spectrum::from_fn(|nm| 0.80 + 0.20 * (-0.5 * ((nm - 545.0) / 45.0).powi(2)).exp());
    Lighting::dark().with(STRIP, &table::illuminant("FL6")?.times(&cover), 1.0)
}

/// A card that leans on a mug on the bench, under a lamp.
pub(super) fn on_the_bench() -> CardPlace {
    CardPlace {
        centre: vec3(0.42, 1.002, -2.635),
        facing: vec3(-0.10, 0.37, 0.93),
        roll: 0.0,
        width: 0.30,
        marks: Marks::Clean,
        finish: Finish::Matt,
    }
}

/// The camera in front of a card, `away` metres off and a little aside, so that it is not quite square to it.
pub(super) fn before(
    card: &CardPlace,
    away: f32,
    aside: (f32, f32),
    angle_degrees: f32,
    roll: f32,
) -> View {
    let (u, v) = card.axes();
    View {
        eye: card.centre + card.facing.unit() * away + u * aside.0 + v * aside.1,
        target: card.centre + u * (aside.0 * 0.12),
        angle_degrees,
        aperture: 0.006,
        focus: None,
        roll,
    }
}

/// What all photographs share unless they say otherwise: window light, a preset of daylight.
pub(super) fn photograph(file: &'static str, view: View) -> Shot {
    Shot {
        file,
        story: "",
        light: "window, overcast",
        expected: "",
        kind: Kind::Clean,
        usable: true,
        lighting: morning,
        card: None,
        props: Vec::new(),
        subject: (Vec3::UP, Vec3::UP),
        view,
        camera: CAMERA_A,
        tone: TONE_A,
        balance: Balance::Preset(Preset::Daylight),
        meter: Meter { area: MIDDLE, quantile: 0.5, level: 0.58 },
        flicker: None,
        time: "09:00:00",
        exposure_time: (1, 125),
        f_number_tenths: 40,
        iso: 200,
    }
}

/// The same of a card, in a good exposure.
pub(super) fn card_shot(file: &'static str, card: CardPlace, view: View) -> Shot {
    Shot { card: Some(card), ..photograph(file, view) }
}
