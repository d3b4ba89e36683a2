//! Made-up frames for the tests of this layer.

use std::path::Path;

use super::{ErrorRecord, FrameFilter, FrameOrder, FrameRecord, FramesPage, GroupRecord};
use crate::balance::{BalanceSource, White};
use crate::card::{BalanceRecord, ShotRecord};
use crate::colour::{Duv, MiredShift};
use crate::frames::{Cast, FrameReading, GroupReading, Tolerance, Verdict, white_linear_srgb};
use crate::told::Told;

/// A frame of such a cast, taken so many minutes after nine.
pub(super) fn frame(verdict: Verdict, mired: f64, duv: f64, minute: u32) -> FrameReading {
    let balance = White::PHOTOGRAPHIC_DAYLIGHT;
    let white = white_linear_srgb(MiredShift::new(mired), Duv::new(duv), &balance);
    FrameReading {
        verdict,
        black_and_white: false,
        reason: None,
        view: None,
        cast: Cast {
            mired,
            mired_interval: [mired - 21.0, mired + 21.0],
            duv,
            duv_interval: [duv - 0.004, duv + 0.004],
            white_linear_srgb: white,
        },
        gains: [white[1] / white[0], 1.0, white[1] / white[2]],
        group: None,
        tolerance: Tolerance::default(),
        shot: ShotRecord {
            balance: BalanceRecord {
                source: BalanceSource::LightSource,
                name: Some("daylight".to_owned()),
                kelvin: Some(balance.cct.get()),
                duv: Some(balance.duv.get()),
            },
            taken: Some(format!("2024-03-12T{:02}:{:02}:00", 9 + minute / 60, minute % 60)),
            camera: Some("Camera A".to_owned()),
            shutter_seconds: Some(0.02),
            ..ShotRecord::default()
        },
        reference: None,
    }
}

/// All frames and groups as the terminal shows them.
pub(super) fn page<'a>(frames: &'a [FrameRecord], groups: &'a [GroupRecord]) -> FramesPage<'a> {
    let (filter, order, told) = (FrameFilter::All, FrameOrder::Given, Told::AtTerminal);
    FramesPage { frames, groups, filter, order, told }
}

/// A group of so many frames of two lights that could not be told apart.
pub(super) fn mixed() -> GroupRecord {
    let (_, groups) = shoot();
    GroupRecord::from(GroupReading {
        verdict: Verdict::Undecided,
        frames: 20,
        gains: None,
        reason: Some("9 of its 20 frames look otherwise: more than one light".to_owned()),
        odd: Vec::new(),
        ..groups[1].reading().clone()
    })
}

/// A shoot under two lights, with one file that cannot be read, grouped.
pub(super) fn shoot() -> (Vec<FrameRecord>, Vec<GroupRecord>) {
    let frames = [
        (Verdict::Neutral, 2.0, 0.001),
        (Verdict::Neutral, -9.0, 0.0),
        (Verdict::Neutral, 7.0, -0.002),
        (Verdict::Undecided, 12.0, 0.001),
        (Verdict::Orange, 88.0, 0.002),
        (Verdict::Orange, 75.0, 0.0),
        (Verdict::Orange, 92.0, 0.001),
        (Verdict::Blue, -60.0, 0.0),
        (Verdict::Orange, 81.0, 0.003),
    ];
    let mut records: Vec<_> = (0_u32..)
        .zip(frames)
        .map(|(index, (verdict, mired, duv))| {
            let minute = 2 * index + if index < 4 { 0 } else { 40 };
            let name = format!("shoot/still-{index}.jpg");
            FrameRecord::read(Path::new(&name), frame(verdict, mired, duv, minute))
        })
        .collect();
    let error = ErrorRecord {
        code: "empty".to_owned(),
        message: "the file is empty. Copy it again from the camera's card.".to_owned(),
    };
    records.insert(5, FrameRecord::failure(Path::new("shoot/still-x.jpg"), error));
    let groups = GroupRecord::of_frames(&mut records);
    (records, groups)
}
