use super::*;
use crate::balance::BalanceSource;
use crate::card::{BalanceRecord, ShotRecord};

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

/// A record of a frame, taken so many seconds into the day.
fn frame(mired: f64, half: f64, second: Option<i64>) -> FrameReading {
    let white_linear_srgb = [1.0, 0.9, 0.8];
    FrameReading {
        verdict: Verdict::Neutral,
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
            balance: BalanceRecord {
                source: BalanceSource::LightSource,
                name: Some("daylight".to_owned()),
                kelvin: Some(5500.0),
                duv: Some(0.0033),
            },
            taken: second
                .map(|s| format!("2024-03-12T{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)),
            camera: Some("Camera A".to_owned()),
            shutter_seconds: None,
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
            let seen = cast + scale * random.heavy();
            made.frames.push(frame(seen, 2.132 * scale, with_time.then_some(second as i64)));
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
        println!("error {error} time {with_time}: {rand:.3} pooled {pooled:.1} single {single:.1}");
        assert!(rand >= least_rand, "error {error}, time {with_time}: index {rand}");
        assert!(pooled < 0.8 * single, "error {error}: {pooled} pooled, {single} single");
    }
}
