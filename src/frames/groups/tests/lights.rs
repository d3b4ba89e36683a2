//! Lights are told apart, and what is said of one.

use super::*;

/// How alike two ways to part frames are: 1 the same, 0 chance (Hubert and Arabie 1985).
fn adjusted_rand(a: &[u32], b: &[u32]) -> f64 {
    fn pairs<K: Ord>(keys: impl Iterator<Item = K>) -> f64 {
        let mut counts = BTreeMap::<K, f64>::new();
        keys.for_each(|key| *counts.entry(key).or_default() += 1.0);
        counts.values().map(|n| n * (n - 1.0) / 2.0).sum()
    }
    let (both, in_a, in_b) = (pairs(a.iter().zip(b)), pairs(a.iter()), pairs(b.iter()));
    let n = a.len() as f64;
    let expected = in_a * in_b / (n * (n - 1.0) / 2.0);
    let most = f64::midpoint(in_a, in_b);
    if most == expected { 1.0 } else { (both - expected) / (most - expected) }
}

/// Mean Rand index, and the median error of the pooled cast, over many days.
fn trial(error: f64, with_time: bool) -> (f64, f64, f64) {
    const DAYS: usize = 60;
    let mut random = Random(11);
    let mut rand = 0.0;
    let (mut pooled, mut single) = (Vec::new(), Vec::new());
    for _ in 0..DAYS {
        let day = day(&mut random, error, with_time);
        let found = group(&day.frames);
        rand += adjusted_rand(&day.light_of, &found.group_of) / DAYS as f64;
        for ((group, cast), frame) in found.group_of.iter().zip(&day.casts).zip(&day.frames) {
            pooled.push((found.groups[*group as usize - 1].cast.mired - cast).abs());
            single.push((frame.cast.mired - cast).abs());
        }
    }
    let median = |mut of: Vec<f64>| {
        of.sort_by(f64::total_cmp);
        of[of.len() / 2]
    };
    (rand, median(pooled), median(single))
}

#[test]
fn lights_are_told_apart_and_pooling_beats_single_frames() {
    for (error, with_time, least_rand) in
        [(8.0, true, 0.9), (14.0, true, 0.8), (20.0, true, 0.7), (14.0, false, 0.65)]
    {
        let (rand, pooled, single) = trial(error, with_time);
        assert!(rand >= least_rand, "error {error}, time {with_time}: index {rand}");
        assert!(pooled < 0.8 * single, "error {error}: {pooled} pooled, {single} single");
    }
}

#[test]
fn two_frames_far_apart_are_not_one_group() {
    for hours in [0, 9] {
        let frames = [frame(26.0, 41.0, Some(0)), frame(186.0, 34.0, Some(hours * 3600 + 60))];
        let grouping = group(&frames);
        assert_eq!(grouping.groups.len(), 2, "{hours} hours apart");
    }
    let alike = [frame(40.0, 41.0, Some(0)), frame(60.0, 34.0, Some(60))];
    assert_eq!(group(&alike).groups.len(), 1);
}

#[test]
fn groups_of_one_light_are_not_refused() {
    let mut random = Random(11);
    for (error, with_time) in [(14.0, true), (20.0, true), (20.0, false)] {
        for _ in 0..40 {
            let day = day(&mut random, error, with_time);
            let found = group(&day.frames);
            for group in found.groups.iter().filter(|group| group.reason.is_some()) {
                let of_it = found.group_of.iter().zip(&day.light_of);
                let of_it = of_it.filter(|(number, _)| **number == group.group);
                let mut lights: Vec<_> = of_it.map(|(_, light)| light).collect();
                lights.dedup();
                assert!(lights.len() > 1, "{group:?}");
            }
        }
    }
}

#[test]
fn two_frames_of_one_tint_have_it_as_a_group_too() {
    let mut frames = [frame(14.0, 21.0, Some(0)), frame(-4.0, 26.0, Some(300))];
    (frames[0].cast.duv, frames[0].cast.duv_interval) = (0.008_86, [0.000_68, 0.014_85]);
    (frames[1].cast.duv, frames[1].cast.duv_interval) = (0.008_41, [-0.002_16, 0.014_96]);
    let found = group(&frames);
    assert_eq!((found.groups.len(), found.groups[0].verdict), (1, Verdict::Green), "{found:?}");
}

#[test]
fn a_frame_far_from_its_group_is_odd_and_hardly_counts() {
    let casts = [41.0, 38.0, 44.0, 40.0, -25.0, 39.0, 42.0, 37.0];
    let frames: Vec<_> =
        (0..).zip(casts).map(|(i, cast)| frame(cast, 33.0, Some(32_400 + 60 * i))).collect();
    let found = group(&frames);
    assert_eq!(found.groups.len(), 1, "{found:?}");
    assert_eq!(found.groups[0].odd, ["still-4.jpg"]);
    assert!((found.groups[0].cast.mired - 40.0).abs() < 4.0, "{found:?}");
    assert_eq!(found.groups[0].verdict, Verdict::Orange);
}

#[test]
fn the_gains_take_out_the_cast_that_is_named() {
    let balance = White::PHOTOGRAPHIC_DAYLIGHT;
    let white = |mired, duv| white_linear_srgb(MiredShift::new(mired), Duv::new(duv), &balance);
    let frames: Vec<_> = [(70.0, -0.003), (85.0, -0.005), (92.0, -0.004)]
        .map(|(mired, duv)| {
            let mut frame = frame(mired, 40.0, None);
            (frame.cast.duv, frame.cast.duv_interval) = (duv, [duv - 0.005, duv + 0.005]);
            frame.cast.white_linear_srgb = white(mired, duv);
            frame.shot.balance = BalanceRecord::default();
            frame
        })
        .to_vec();
    let found = group(&frames);
    let cast = found.groups[0].cast;
    assert!(cast.mired > 84.0, "beyond the mean of estimates drawn toward none: {cast:?}");
    for (got, wanted) in cast.white_linear_srgb.iter().zip(white(cast.mired, cast.duv)) {
        assert!((got - wanted).abs() < 0.003, "{cast:?}");
    }
    // Judged against a card, what the card has taken out is left out.
    let card = [1.0, 0.9, 0.7];
    let mut judged = frames;
    for frame in &mut judged {
        let white = frame.cast.white_linear_srgb;
        frame.cast.white_linear_srgb = std::array::from_fn(|i| white[i] / card[i]);
    }
    let found = group(&judged);
    let got = found.groups[0].gains.expect("gains");
    let wanted = gains(std::array::from_fn(|i| white(cast.mired, cast.duv)[i] / card[i]));
    for (got, wanted) in got.iter().zip(wanted) {
        assert!((got - wanted).abs() < 0.01 * wanted, "{got} {wanted}");
    }
}

#[test]
fn frames_that_show_nothing_say_nothing_of_their_group() {
    let silent = |second| {
        let mut frame = frame(0.0, 99.0, Some(second));
        frame.reason = Some("one even colour".to_owned());
        frame.verdict = Verdict::Undecided;
        frame
    };
    let alone: Vec<_> = (0..20).map(|i| silent(36_000 + 60 * i)).collect();
    let found = group(&alone);
    assert_eq!(found.groups.len(), 1);
    assert_eq!(found.groups[0].verdict, Verdict::Undecided, "{:?}", found.groups[0].cast);
    let told: Vec<_> = (0..6).map(|i| seen(60.0, 8.0, Some(36_030 + 60 * i))).collect();
    let among: Vec<_> = told.iter().cloned().chain(alone.iter().take(6).cloned()).collect();
    let (without, with) = (group(&told), group(&among));
    assert_eq!(with.groups.len(), 1, "a lens cap is no light of its own");
    let apart = (with.groups[0].cast.mired - without.groups[0].cast.mired).abs();
    assert!(apart < 1.0, "{:?}", with.groups[0].cast);
}
