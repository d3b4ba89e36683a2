//! Made-up corrections for the tests of this layer.

use std::path::Path;

use super::{Decision, GradeOptions, Plan, Strength, unique_names};
use crate::balance::BalanceSource;
use crate::card::{BalanceRecord, ShotRecord};
use crate::frames::{Cast, FrameReading, GroupReading, Tolerance, Verdict};

pub(super) fn group() -> GroupReading {
    GroupReading {
        group: 2,
        frames: 5,
        first: "wheel/take-01.jpg".to_owned(),
        last: "wheel/take-05.jpg".to_owned(),
        verdict: Verdict::Orange,
        reason: None,
        edited: false,
        cast: Cast {
            mired: 85.0,
            mired_interval: [72.0, 98.0],
            duv: 0.0012,
            duv_interval: [-0.001, 0.004],
            white_linear_srgb: [1.0, 0.70, 0.44],
        },
        gains: Some([0.7, 1.0, 1.59]),
        tolerance: Tolerance::default(),
        from: Some("2024-03-12T09:48:00".to_owned()),
        to: Some("2024-03-12T09:56:00".to_owned()),
        camera: Some("Camera A".to_owned()),
        balance: BalanceRecord {
            source: BalanceSource::LightSource,
            name: Some("daylight".to_owned()),
            kelvin: Some(5500.0),
            duv: Some(0.0033),
        },
        reference: None,
        odd: Vec::new(),
        drift: None,
    }
}

/// The plan of a correction that is made.
pub(super) fn made(decision: Decision) -> Plan {
    match decision {
        Decision::Correct(plan) => *plan,
        other => panic!("{other:?}"),
    }
}

pub(super) fn plan() -> Plan {
    made(Decision::of_group(&group(), &GradeOptions::default(), &[]))
}

pub(super) fn plan_for(footage: &str) -> Plan {
    let options = GradeOptions::new(footage.parse().unwrap(), Strength::FULL);
    made(Decision::of_group(&group(), &options, &[]))
}

fn frame(verdict: Verdict) -> FrameReading {
    let group = group();
    FrameReading {
        verdict,
        black_and_white: false,
        reason: None,
        view: None,
        cast: group.cast,
        gains: group.gains.unwrap_or([1.0; 3]),
        group: None,
        tolerance: group.tolerance,
        shot: ShotRecord { camera: Some("\u{1b}[2J</x>".to_owned()), ..ShotRecord::default() },
        reference: None,
    }
}

/// A frame whose names are out to do harm.
pub(super) fn hostile() -> Plan {
    let path = Path::new("day/a<b>&\"'\u{1b}.jpg");
    let id = &unique_names(&[path])[0];
    let frame = frame(Verdict::Orange);
    made(Decision::of_frame(path, id, &frame, &GradeOptions::default(), None))
}
