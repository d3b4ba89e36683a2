//! Casts that move.

use super::*;

#[test]
fn a_sun_that_goes_down_is_named_and_steps_are_not() {
    let found = group(&afternoon(40, 12.0, |part| 90.0 * part));
    let drift = found.groups[0].drift.as_ref().expect("a drift");
    assert_eq!((drift.kind, drift.frames), (DriftKind::TowardOrange, 40));
    assert_eq!(drift.looks_like, "the sun going down");
    assert_eq!(drift.from.as_deref(), Some("2024-03-12T16:00:00"));
    let [low, high] = drift.mired_interval;
    assert!(low < 90.0 && 90.0 < high, "{drift:?}");
    assert!(found.groups.iter().all(|group| group.drift.as_ref() == Some(drift)), "{found:?}");

    let still = group(&afternoon(40, 12.0, |_| 30.0));
    assert!(still.groups.iter().all(|group| group.drift.is_none()), "{still:?}");
    let step = group(&afternoon(40, 12.0, |part| if part < 0.5 { 0.0 } else { 90.0 }));
    assert!(step.groups.iter().all(|group| group.drift.is_none()), "{step:?}");
}

#[test]
fn steady_drifts_are_hardly_ever_seen_where_there_are_none() {
    let mut random = Random(3);
    let mut seen = 0;
    for _ in 0..100 {
        let day = day(&mut random, 14.0, true);
        let found = group(&day.frames);
        seen += usize::from(found.groups.iter().any(|group| group.drift.is_some()));
    }
    assert!(seen <= 3, "{seen} of 100 days");
}

#[test]
fn a_balance_that_hunts_is_named() {
    let mut frames =
        afternoon(24, 6.0, |part| if (part * 12.0) as i32 % 2 == 0 { -40.0 } else { 40.0 });
    for frame in &mut frames {
        frame.shot.balance = BalanceRecord::default();
    }
    let found = group(&frames);
    let drift = found.groups[0].drift.as_ref().expect("hunting");
    assert_eq!(drift.kind, DriftKind::Hunting);
    assert!((drift.mired - 80.0).abs() < 20.0, "{drift:?}");
    // Nor does anything hunt where names give the order, or over weeks.
    let told = |taken: fn(usize) -> Option<String>| {
        let mut frames = frames.clone();
        for (day, frame) in frames.iter_mut().enumerate() {
            frame.shot.taken = taken(day);
        }
        group(&frames)
    };
    let elsewhere = [told(|_| None), told(|day| Some(format!("2024-03-{:02}T12:00:00", day + 1)))];
    for found in &elsewhere {
        assert!(found.groups.iter().all(|group| group.drift.is_none()), "{found:?}");
    }
    // A known balance is not automatic.
    for frame in &mut frames {
        frame.shot.balance.source = BalanceSource::Flag;
    }
    assert!(group(&frames).groups.iter().all(|group| group.drift.is_none()));
}
