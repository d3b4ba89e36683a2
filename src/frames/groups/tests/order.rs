//! What the order of frames tells, and what it does not.

use super::*;

#[test]
fn where_a_time_is_missing_names_give_the_order() {
    let casts = [0.0, 4.0, -3.0, 2.0, 1.0, 60.0, 64.0, 58.0, 61.0, 63.0, 59.0];
    let frames: Vec<_> = casts.iter().map(|cast| frame(*cast, 22.0, None)).collect();
    let found = group(&frames);
    assert_eq!(found.group_of, [1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2]);
    assert_eq!((found.groups[0].from.as_ref(), found.groups[0].frames), (None, 5));
}

#[test]
fn a_frame_without_a_time_takes_it_from_no_other() {
    let casts = [48.0, 52.0, 45.0, 50.0, 49.0, -44.0, -40.0, -46.0, -42.0, -45.0];
    // Their names say the contrary of their times.
    let timed = || (0..).zip(casts).map(|(i, cast)| frame(cast, 22.0, Some(36_000 - 60 * i)));
    let mut frames: Vec<_> = timed().collect();
    let alone = group(&frames);
    frames.push(frame(47.0, 22.0, None));
    let found = group(&frames);
    assert_eq!(found.group_of[..10], alone.group_of);
    assert_eq!(found.group_of[10], found.group_of[0], "by its cast: {found:?}");
    for (with, without) in found.groups.iter().zip(&alone.groups) {
        assert!(with.from.is_some());
        assert_eq!((&with.from, &with.to), (&without.from, &without.to));
    }
    // Nor does it take away what is seen of the others' change.
    let mut dusk = afternoon(40, 12.0, |part| 90.0 * part);
    dusk.push(frame(90.0, 25.0, None));
    let found = group(&dusk);
    let drift = found.groups[0].drift.as_ref().expect("a drift");
    assert_eq!((drift.kind, drift.frames), (DriftKind::TowardOrange, 40));
}

/// Frames of lights in turn, so that no light lasts; with what single estimates are off by.
fn in_turn(
    random: &mut Random,
    lights: &[f64],
    count: usize,
    with_time: bool,
) -> Vec<FrameReading> {
    let frames = lights.iter().cycle().take(count).zip(0..).map(|(cast, i)| {
        let scale = random.between(12.0, 20.0);
        seen(cast + scale * random.heavy(), scale, with_time.then_some(36_000 + 90 * i))
    });
    frames.collect()
}

/// What becomes of many shoots: how many end as one group of one light, how many frames are in groups whose cast
/// is more than 25 mired from the frame's own light, and how many in groups that are refused.
fn fate(seed: u64, lights: usize, with_time: bool) -> [f64; 3] {
    const SHOOTS: usize = 100;
    const FRAMES: usize = 24;
    let mut random = Random(seed);
    let [mut whole, mut wrong, mut refused] = [0, 0, 0];
    for _ in 0..SHOOTS {
        let mut casts: Vec<f64> = Vec::new();
        while casts.len() < lights {
            let cast = random.between(-100.0, 140.0);
            if casts.iter().all(|other| (other - cast).abs() >= 40.0) {
                casts.push(cast);
            }
        }
        let found = group(&in_turn(&mut random, &casts, FRAMES, with_time));
        let of_one = |group: &&GroupReading| group.reason.is_none() && group.frames > 1;
        whole +=
            usize::from(found.groups.iter().filter(of_one).any(|g| 4 * g.frames >= 3 * FRAMES));
        for (number, cast) in found.group_of.iter().zip(casts.iter().cycle()) {
            let group = &found.groups[*number as usize - 1];
            refused += usize::from(group.reason.is_some());
            wrong += usize::from(of_one(&group) && (group.cast.mired - cast).abs() > 25.0);
        }
    }
    let all = (SHOOTS * FRAMES) as f64;
    [whole as f64 / SHOOTS as f64, wrong as f64 / all, refused as f64 / all]
}

#[test]
fn lights_in_no_order_hardly_ever_end_as_one() {
    for (lights, with_time) in [(2, true), (2, false), (3, true), (3, false)] {
        let [whole, wrong, _] = fate(17, lights, with_time);
        assert!(whole < 0.09 && wrong < 0.12, "{lights} {with_time}: {whole} {wrong}");
    }
    for with_time in [true, false] {
        let [whole, wrong, refused] = fate(19, 1, with_time);
        assert!(whole > 0.97 && wrong < 0.01 && refused < 0.02, "{whole} {wrong} {refused}");
    }
}

#[test]
fn two_lights_in_no_order_are_parted_by_their_casts() {
    for with_time in [true, false] {
        let found = group(&in_turn(&mut Random(7), &[-45.0, 48.0], 20, with_time));
        let expected: Vec<u32> = (0..20).map(|i| 1 + i % 2).collect();
        assert_eq!(found.group_of, expected, "{found:?}");
        let verdicts: Vec<_> = found.groups.iter().map(|group| group.verdict).collect();
        assert_eq!(verdicts, [Verdict::Blue, Verdict::Orange]);
    }
}

#[test]
fn lights_in_no_order_that_casts_do_not_part_are_no_group_of_one() {
    // From −60 to 60, whatever comes next.
    let casts: Vec<_> = (0..24).map(|i| f64::from(i * 11 % 24) * 120.0 / 23.0 - 60.0).collect();
    let frames = (0..).zip(casts).map(|(i, cast)| frame(cast, 25.0, Some(36_000 + 60 * i)));
    let frames: Vec<_> = frames.collect();
    let found = group(&frames);
    let [one] = found.groups.as_slice() else { panic!("{found:?}") };
    assert_eq!((one.verdict, one.gains), (Verdict::Undecided, None));
    let reason = one.reason.as_deref().expect("a reason");
    assert!(reason.contains("look like more than one light's"), "{reason}");
    assert!(one.odd.is_empty(), "{:?}", one.odd);
    let [low, high] = one.cast.mired_interval;
    assert!(low < -40.0 && 40.0 < high, "over the lights: {:?}", one.cast);
}

#[test]
fn a_clock_that_stands_still_tells_no_order() {
    let casts = [0.0, 4.0, -3.0, 2.0, 1.0, 60.0, 64.0, 58.0, 61.0, 63.0, 59.0];
    let of = |second: fn(i64) -> Option<i64>| {
        let frames = (0..).zip(casts).map(|(i, cast)| frame(cast, 22.0, second(i)));
        group(&frames.collect::<Vec<_>>())
    };
    let (stopped, without) = (of(|_| Some(43_200)), of(|_| None));
    assert_eq!(stopped, without);
    assert!(stopped.groups.iter().all(|group| group.from.is_none()), "{stopped:?}");
    assert!(of(|i| Some(43_200 + 60 * i)).groups.iter().all(|group| group.from.is_some()));
}

#[test]
fn frames_of_several_clocks_are_put_in_order_and_told_by_one() {
    let second = |hour: i64, minute: i64| Some(3600 * hour + 60 * minute);
    let with = |offset: i16, second, cast| {
        let mut frame = frame(cast, 22.0, second);
        frame.shot.utc_offset_minutes = Some(offset);
        frame
    };
    // One light from 04:02 to 04:26 by the clock at UTC+01:00, and half of it seen by one at UTC+09:00.
    let west = (0..4).map(|i| with(60, second(4, 2 + 6 * i), 40.0 + i as f64));
    let east = (0..4).map(|i| with(540, second(12, 5 + 6 * i), 42.0 - i as f64));
    let mut frames: Vec<_> = west.chain(east).collect();
    frames.push(with(60, second(4, 26), 41.0));
    let found = group(&frames);
    assert_eq!(found.groups.len(), 1, "{found:?}");
    let times = [&found.groups[0].from, &found.groups[0].to].map(|time| time.as_deref());
    assert_eq!(times, [Some("2024-03-12T04:02:00"), Some("2024-03-12T04:26:00")]);
}
