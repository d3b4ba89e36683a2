mod cameras;
mod copies;
mod drifts;
mod lights;
mod order;
mod records;

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
        view: None,
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
