//! Made-up readings for the tests of this layer.

use std::path::Path;

use super::PhotoRecord;
use crate::balance::{BalanceSource, Miss, appearance};
use crate::card::{
    BalanceRecord, CardReading, CardRecord, LightReading, ProblemRecord, Residual, ShotRecord,
    Status,
};
use crate::still::{ReadOptions, read};

/// A good card in daylight, shot at the daylight preset.
pub(super) fn daylight() -> CardReading {
    let mired = 183.15;
    let presets = [
        ("daylight", 5500.0, 1.3, -0.0002),
        ("flash", 5900.0, 13.7, -0.0002),
        ("cloudy", 6500.0, 29.3, -0.0002),
        ("fluorescent", 4230.0, -53.3, 0.001),
        ("shade", 7500.0, 49.8, -0.0002),
        ("tungsten", 3200.0, -129.4, 0.0031),
    ];
    CardReading {
        status: Status::Read,
        card: CardRecord {
            coverage: 0.962,
            area: vec![[0.0, 0.0], [6000.0, 0.0], [6000.0, 4000.0], [0.0, 4000.0]],
            level: Some(0.781),
            stated: false,
            problems: Vec::new(),
        },
        shot: ShotRecord {
            balance: BalanceRecord::of_daylight(),
            shutter_seconds: Some(0.02),
            ..ShotRecord::default()
        },
        residual: Some(Residual {
            white_linear_srgb: [1.0, 0.99, 0.98],
            mired: Some(1.3),
            duv: Some(-0.0002),
        }),
        light: Some(LightReading {
            cct_kelvin: 5460.0,
            cct_interval_kelvin: [5310.0, 5620.0],
            mired,
            mired_interval: [177.9, 188.3],
            duv: 0.0031,
            duv_interval: [-0.0012, 0.0074],
        }),
        presets: presets
            .map(|(name, kelvin, miss_mired, miss_duv)| Miss {
                name: name.to_owned(),
                kelvin,
                duv: 0.0033,
                miss_mired,
                miss_duv,
                delta_e_2000: miss_mired.abs() / 5.0,
                appearance: appearance(miss_mired, miss_duv),
            })
            .to_vec(),
        advice: vec![
            "Set the custom balance from this photo.".to_owned(),
            "The daylight preset would be about right as well.".to_owned(),
        ],
    }
}

/// The same, with flaws that do not stop it from being read.
pub(super) fn flawed() -> CardReading {
    let mut reading = daylight();
    reading.card.coverage = 0.12;
    reading.card.problems = vec![
        problem("small", "the card covers only 12 % of the frame"),
        problem("glare", "a bright reflection was left out (under 1 % of the card)"),
    ];
    reading.advice.push("Go closer, or zoom in, until the card fills the frame.".to_owned());
    reading
}

/// A good card at an unknown balance.
pub(super) fn unplaced() -> CardReading {
    let mut reading = daylight();
    reading.status = Status::ResidualOnly;
    reading.card.problems = vec![problem(
        "balance-unknown",
        "the file does not say what balance the camera used, so the light cannot be placed",
    )];
    reading.shot.balance =
        BalanceRecord { source: BalanceSource::Unknown, name: None, kelvin: None, duv: None };
    reading.residual = Some(Residual {
        white_linear_srgb: [1.0, 0.81, 0.62],
        mired: Some(41.2),
        duv: Some(0.0011),
    });
    reading.light = None;
    reading.presets = Vec::new();
    reading.advice = vec![
        "Say what the camera was set to, as in --shot-at daylight or --shot-at 5600K.".to_owned(),
    ];
    reading
}

/// A card that cannot be balanced from.
pub(super) fn refused() -> CardReading {
    let mut reading = unplaced();
    reading.status = Status::Refused;
    reading.card.problems.insert(
        0,
        problem("clipped", "over-exposed: 92 % of the card is saturated, so its colour is lost"),
    );
    reading.residual = None;
    reading.advice = vec![
        "Close down by one to two stops, until the card sits below the right end of the \
         histogram, and photograph it again."
            .to_owned(),
    ];
    reading
}

/// One record of every kind.
pub(super) fn of_every_kind() -> Vec<PhotoRecord> {
    let missing = Path::new("card-missing.jpg");
    let error = read(missing, &ReadOptions::default()).expect_err("there is no such file");
    vec![
        PhotoRecord::read(Path::new("card-window.jpg"), daylight()),
        PhotoRecord::read(Path::new("card-far.jpg"), flawed()),
        PhotoRecord::read(Path::new("card-auto.jpg"), unplaced()),
        PhotoRecord::read(Path::new("card-white.jpg"), refused()),
        PhotoRecord::failed(missing, &error),
    ]
}

fn problem(code: &str, message: &str) -> ProblemRecord {
    ProblemRecord { code: code.to_owned(), message: message.to_owned(), places: Vec::new() }
}
