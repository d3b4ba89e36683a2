//! Pictures that show what others have shown already.

use super::*;

#[test]
fn copies_of_a_picture_tell_nothing_twice() {
    let told = [41.0, 52.0, 47.0].map(|cast| frame(cast, 30.0, None));
    let copied: Vec<_> = told.iter().flat_map(|frame| vec![frame.clone(); 5]).collect();
    for count in [1, 3] {
        let (once, often) = (group(&told[..count]), group(&copied[..5 * count]));
        assert_eq!((once.groups.len(), often.groups.len()), (1, 1));
        assert_eq!(often.groups[0].frames, 5 * count);
        assert_eq!(often.groups[0].cast, once.groups[0].cast);
        assert_eq!(often.groups[0].gains, once.groups[0].gains);
    }
}

#[test]
fn edited_copies_beside_their_originals_are_groups_of_their_own() {
    let mut frames = Vec::new();
    for (number, mut original) in afternoon(24, 12.0, |_| 60.0).into_iter().enumerate() {
        original.shot.balance = BalanceRecord::default();
        let mut edited = original.clone();
        edited.cast.mired -= 60.0;
        edited.cast.mired_interval = edited.cast.mired_interval.map(|end| end - 60.0);
        let mut smaller = original.clone();
        smaller.cast.mired += 2.0;
        frames.push((format!("day/{number}.jpg"), original));
        frames.push((format!("day/{number}-edit.jpg"), edited));
        frames.push((format!("day/web/{number}.jpg"), smaller));
    }
    let found = |frames: &[&(String, FrameReading)]| {
        let pairs: Vec<_> = frames.iter().map(|(name, frame)| (name.as_str(), frame)).collect();
        group_frames(&pairs).groups
    };
    let groups = found(&frames.iter().collect::<Vec<_>>());
    let [edited, shot] = groups.as_slice() else { panic!("{groups:?}") };
    assert_eq!((edited.frames, edited.edited), (24, true));
    assert_eq!((shot.frames, shot.edited), (48, false));
    assert!(groups.iter().all(|group| group.drift.is_none() && group.reason.is_none()));
    let originals: Vec<_> = frames.iter().step_by(3).collect();
    assert_eq!(shot.cast, found(&originals)[0].cast, "a smaller copy tells nothing twice");
    assert!(edited.cast.mired.abs() < 10.0, "{:?}", edited.cast);
}

#[test]
fn copies_between_the_frames_of_a_burst_do_not_part_it() {
    let mut frames: Vec<(String, FrameReading)> = Vec::new();
    for number in 0..6 {
        let original = seen(60.0, 18.0, Some(36_000 + 4 * i64::from(number)));
        let mut smaller = original.clone();
        smaller.cast.mired -= 16.0;
        frames.push((format!("day/{number}.jpg"), original));
        frames.push((format!("day/web/{number}.jpg"), smaller));
    }
    let cast = |step: usize| {
        let pairs = frames.iter().step_by(step).map(|(name, frame)| (name.as_str(), frame));
        let groups = group_frames(&pairs.collect::<Vec<_>>()).groups;
        assert_eq!(groups.len(), 1, "{groups:?}");
        groups[0].cast
    };
    assert_eq!(cast(1), cast(2));
}

/// How often the interval of a group holds its cast, over lights under which a few views are taken several times
/// each: views differ by what single estimates are off by, the frames of one by a tenth of that.
fn held(between_frames: i64, are_marked: bool) -> f64 {
    const LIGHTS: usize = 400;
    let mut random = Random(17);
    let mut held = 0;
    for _ in 0..LIGHTS {
        let cast = random.between(-80.0, 120.0);
        let (mut frames, mut second) = (Vec::new(), 36_000);
        for _ in 0..2 + (random.uniform() * 3.0) as usize {
            let view = cast + 18.0 * random.normal();
            // Of any two such numbers about half of the bits differ.
            let digits = [(); 4].map(|()| (random.uniform() * 2_f64.powi(28)) as u32);
            let mark = digits.map(|part| format!("{part:07x}")).concat().parse().ok();
            second += 90;
            for _ in 0..1 + (random.uniform() * 8.0) as usize {
                second += between_frames;
                frames.push(seen(view + 1.8 * random.normal(), 18.0, Some(second)));
                frames.last_mut().unwrap().view = mark.filter(|_| are_marked);
            }
        }
        let found = group(&frames);
        let largest = found.groups.iter().max_by_key(|group| group.frames).unwrap();
        let [low, high] = largest.cast.mired_interval;
        held += usize::from((low..=high).contains(&cast));
    }
    held as f64 / LIGHTS as f64
}

#[test]
fn frames_of_one_view_tell_hardly_more_than_one_of_them() {
    let (bursts, marked, apart) = (held(4, false), held(40, true), held(40, false));
    assert!(bursts > 0.85, "{bursts}");
    assert!(marked > 0.85, "{marked}");
    let least = bursts.min(marked);
    assert!(
        apart < least - 0.05,
        "{apart} of {least}: the frames share no error, and the test shows nothing"
    );
}

#[test]
fn a_group_of_one_view_says_what_its_frames_say_however_many_they_are() {
    let mark = Some("0123456789abcdef0123456789ab".parse().unwrap());
    let frames = |count: i64, step: Option<i64>| -> Vec<FrameReading> {
        let still = |number: i64| {
            let off = (number % 3 - 1) as f64;
            let second = step.map(|step| 36_000 + step * number);
            FrameReading { view: mark, ..frame(-150.0 + 2.0 * off, 75.0, second) }
        };
        (0..count).map(still).collect()
    };
    for (count, step) in [(3, Some(60)), (10, Some(60)), (10, Some(4000)), (10, None)] {
        let found = group(&frames(count, step));
        assert_eq!(found.groups.len(), 1, "{count} {step:?}");
        let Cast { mired, mired_interval: [low, high], .. } = found.groups[0].cast;
        assert!((mired + 150.0).abs() < 12.0, "{count} {step:?}: {mired}");
        assert!((high - low - 150.0).abs() < 20.0, "{count} {step:?}: {low} to {high}");
        assert!(found.groups[0].odd.is_empty(), "{count} {step:?}");
    }
}
