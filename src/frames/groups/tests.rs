use super::evidence::Likelihood;
use super::*;
use crate::balance::{BalanceSource, White};
use crate::card::{BalanceRecord, ShotRecord};
use crate::colour::{Duv, MiredShift};
use crate::frames::white_linear_srgb;

/// Random numbers, the same at every run.
struct Random(u64);

impl Random {
    fn uniform(&mut self) -> f64 {
        // SplitMix64 (Steele et al. 2014).
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().max(1e-12).ln()).sqrt()
            * (std::f64::consts::TAU * self.uniform()).cos()
    }

    /// Student's t of four degrees of freedom.
    fn heavy(&mut self) -> f64 {
        let squares: f64 = (0..4).map(|_| self.normal().powi(2)).sum();
        self.normal() / (squares / 4.0).sqrt()
    }
}

/// A record of a frame whose picture tells such a cast, with such a scale of its error.
fn seen(cast: f64, scale: f64, second: Option<i64>) -> FrameReading {
    let (mired, interval) = Likelihood::estimate(cast, scale);
    let mut seen = frame(mired, 0.0, second);
    seen.cast.mired_interval = interval;
    seen
}

/// A record of a frame, taken so many seconds into the day.
fn frame(mired: f64, half: f64, second: Option<i64>) -> FrameReading {
    let white_linear_srgb = [1.0, 0.9, 0.8];
    FrameReading {
        verdict: Verdict::Neutral,
        black_and_white: false,
        reason: None,
        cast: Cast {
            mired,
            mired_interval: [mired - half, mired + half],
            duv: 0.0,
            duv_interval: [-0.006, 0.006],
            white_linear_srgb,
        },
        gains: gains(white_linear_srgb),
        group: None,
        tolerance: Tolerance::default(),
        shot: ShotRecord {
            balance: BalanceRecord::of_daylight(),
            taken: second
                .map(|s| format!("2024-03-12T{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)),
            camera: Some("Camera A".to_owned()),
            ..ShotRecord::default()
        },
        reference: None,
    }
}

fn group(frames: &[FrameReading]) -> Grouping {
    let names: Vec<_> = (0..frames.len()).map(|i| format!("still-{i}.jpg")).collect();
    let pairs: Vec<_> = names.iter().map(String::as_str).zip(frames).collect();
    group_frames(&pairs)
}

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

/// A day of shooting: lights at least 35 mired apart, some of them come back to.
struct Day {
    frames: Vec<FrameReading>,
    light_of: Vec<u32>,
    casts: Vec<f64>,
}

fn day(random: &mut Random, error: f64, with_time: bool) -> Day {
    let lights = 2 + (random.uniform() * 3.0) as usize;
    let mut casts: Vec<f64> = Vec::new();
    while casts.len() < lights {
        let cast = random.between(-120.0, 160.0);
        if casts.iter().all(|other| (other - cast).abs() >= 35.0) {
            casts.push(cast);
        }
    }
    let mut order: Vec<usize> = (0..lights).collect();
    for _ in 0..2 {
        order.push((random.uniform() * lights as f64) as usize);
    }
    let mut made = Day { frames: Vec::new(), light_of: Vec::new(), casts: Vec::new() };
    let mut second = 9.0 * 3600.0;
    for light in order {
        for _ in 0..2 + (random.uniform() * 8.0) as usize {
            second += random.between(20.0, 180.0);
            let cast = casts[light] + random.between(-5.0, 5.0);
            let scale = error * random.between(0.7, 1.3);
            let told = cast + scale * random.heavy();
            made.frames.push(seen(told, scale, with_time.then_some(second as i64)));
            made.light_of.push(light as u32);
            made.casts.push(cast);
        }
        second += random.between(600.0, 1800.0);
    }
    made
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
fn frames_of_other_cameras_and_balances_are_groups_of_their_own() {
    let mut frames: Vec<_> = (0..12).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    assert_eq!(group(&frames).groups.len(), 1);
    for frame in &mut frames[6..] {
        frame.shot.camera = Some("Camera B".to_owned());
    }
    frames[11].shot.balance.kelvin = Some(3200.0);
    let found = group(&frames);
    assert_eq!(found.group_of, [1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 3]);
    assert_eq!(found.groups[1].camera.as_deref(), Some("Camera B"));
    assert_eq!(found.groups[2].balance.kelvin, Some(3200.0));
}

#[test]
fn bodies_of_one_model_are_cameras_of_their_own_and_named_apart() {
    let mut frames: Vec<_> = (0..12).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    for (i, frame) in frames.iter_mut().enumerate() {
        frame.shot.body = Some(if i % 2 == 0 { "0042" } else { "0043" }.to_owned());
    }
    let found = group(&frames);
    assert_eq!(found.group_of, [1, 2, 1, 2, 1, 2, 1, 2, 1, 2, 1, 2]);
    let names: Vec<_> = found.groups.iter().filter_map(|group| group.camera.as_deref()).collect();
    assert_eq!(names, ["Camera A (body 0042)", "Camera A (body 0043)"]);
    // One body alone needs no number, and a file that does not say it is of that one.
    frames.iter_mut().for_each(|frame| frame.shot.body = Some("0042".to_owned()));
    frames[3].shot.body = None;
    let found = group(&frames);
    assert_eq!((found.groups.len(), found.groups[0].camera.as_deref()), (1, Some("Camera A")));
}

#[test]
fn records_of_two_sources_that_name_no_camera_are_of_two() {
    let mut frames: Vec<_> = (0..8).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    let of_sources = |frames: &[FrameReading]| {
        let names: Vec<_> = (0..8).map(|i| format!("{i}.jpg")).collect();
        let given = names.iter().zip(frames).zip([0, 1].into_iter().cycle());
        let given: Vec<_> =
            given.map(|((name, frame), from)| (name.as_str(), frame, from)).collect();
        group_sourced(&given).group_of
    };
    assert_eq!(of_sources(&frames), [1; 8], "a camera that is named is the same in both");
    frames.iter_mut().for_each(|frame| frame.shot.camera = None);
    assert_eq!(of_sources(&frames), [1, 2, 1, 2, 1, 2, 1, 2]);
}

#[test]
fn a_folder_stands_for_a_camera_that_is_not_named() {
    let mut frames: Vec<_> = (0..8).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    frames.iter_mut().for_each(|frame| frame.shot.camera = None);
    let names: Vec<_> = (0..8).map(|i| format!("card-{}/{i}.jpg", i % 2)).collect();
    let pairs: Vec<_> = names.iter().map(String::as_str).zip(&frames).collect();
    assert_eq!(group_frames(&pairs).group_of, [1, 2, 1, 2, 1, 2, 1, 2]);
}

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

/// Frames every two minutes from 16:00, with a cast that goes by `cast` of the part 0–1 of the
/// time.
fn afternoon(count: i64, error: f64, cast: impl Fn(f64) -> f64) -> Vec<FrameReading> {
    let mut random = Random(5);
    (0..count)
        .map(|i| {
            let told = cast(i as f64 / (count - 1) as f64) + error * random.heavy();
            seen(told, error, Some(57_600 + 120 * i))
        })
        .collect()
}

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

#[test]
fn the_order_of_the_records_does_not_matter() {
    let mut random = Random(29);
    for _ in 0..10 {
        let day = day(&mut random, 20.0, true);
        let names: Vec<_> = (0..day.frames.len()).map(|i| format!("still-{i}.jpg")).collect();
        let mut pairs: Vec<_> = names.iter().map(String::as_str).zip(&day.frames).collect();
        let given = group_frames(&pairs);
        let by_name: BTreeMap<_, _> =
            names.iter().map(String::as_str).zip(given.group_of).collect();
        for last in (1..pairs.len()).rev() {
            pairs.swap(last, (random.uniform() * (last + 1) as f64) as usize);
        }
        let shuffled = group_frames(&pairs);
        assert_eq!(shuffled.groups, given.groups);
        for ((name, _), group) in pairs.iter().zip(shuffled.group_of) {
            assert_eq!(group, by_name[name], "{name}");
        }
    }
}

#[test]
fn records_that_make_no_sense_are_survived() {
    let mut odd: Vec<_> = [f64::NAN, f64::INFINITY, 1e300, -1e300, 0.0]
        .iter()
        .flat_map(|cast| [frame(*cast, 20.0, None), frame(0.0, *cast, Some(0))])
        .collect();
    odd[3].shot.taken = Some("yesterday".to_owned());
    odd[4].cast.duv = f64::NAN;
    odd[5].cast.white_linear_srgb = [0.0, f64::NAN, -1.0];
    let found = group(&odd);
    assert!(found.group_of.iter().all(|group| *group >= 1));
    assert_eq!(found.groups.iter().map(|group| group.frames).sum::<usize>(), odd.len());
    assert_eq!(group(&[]), Grouping::default());
}

#[test]
fn ten_thousand_frames_are_grouped_in_good_time() {
    let mut random = Random(1);
    let mut frames = Vec::new();
    while frames.len() < 10_000 {
        frames.extend(day(&mut random, 14.0, false).frames);
    }
    let begun = std::time::Instant::now();
    let found = group(&frames);
    let took = begun.elapsed();
    assert!(found.groups.len() >= 3);
    // Tests are built without much optimisation and run beside others; a cubic time would be days.
    assert!(took.as_secs() < 60, "{took:?}");
}
