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

/// How often the interval of a group holds its cast, over lights under which a few views are taken several times
/// each: views differ by what single estimates are off by, the frames of one by a tenth of that.
fn held(between_frames: i64) -> f64 {
    const LIGHTS: usize = 400;
    let mut random = Random(17);
    let mut held = 0;
    for _ in 0..LIGHTS {
        let cast = random.between(-80.0, 120.0);
        let (mut frames, mut second) = (Vec::new(), 36_000);
        for _ in 0..2 + (random.uniform() * 3.0) as usize {
            let view = cast + 18.0 * random.normal();
            second += 90;
            for _ in 0..1 + (random.uniform() * 8.0) as usize {
                second += between_frames;
                frames.push(seen(view + 1.8 * random.normal(), 18.0, Some(second)));
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
fn a_burst_of_one_view_tells_hardly_more_than_one_of_its_frames() {
    let (bursts, apart) = (held(4), held(40));
    assert!(bursts > 0.85, "{bursts}");
    assert!(apart < 0.75, "{apart}: the frames share no error, and the test shows nothing");
}
