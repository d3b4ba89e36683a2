//! A cast that moves steadily, or back and forth.

use std::ops::Range;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::clock::{after_pauses, timed};
use super::evidence::Evidence;
use super::pool::Pooled;
use super::stretches::runs;
use crate::balance::BalanceSource;
use crate::normal::HALF_90;

/// How a cast moves over a time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Drift {
    /// Which way.
    pub kind: DriftKind,
    /// When it begins, by the camera's clock; null where the frames do not say.
    pub from: Option<String>,
    /// When it ends.
    pub to: Option<String>,
    /// How many frames it goes over.
    pub frames: usize,
    /// How far in mired: from its beginning to its end; where the balance hunts, from the bluest
    /// to the most orange.
    pub mired: f64,
    /// Its interval, low to high.
    pub mired_interval: [f64; 2],
    /// What does so, in words.
    pub looks_like: String,
}

/// Which way a cast moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum DriftKind {
    /// Steadily more orange.
    TowardOrange,
    /// Steadily bluer.
    TowardBlue,
    /// Back and forth, at a balance that is not known.
    Hunting,
}

impl DriftKind {
    /// What the cast does, in words.
    pub(crate) fn moves(self) -> &'static str {
        match self {
            Self::TowardOrange => "moves steadily toward orange",
            Self::TowardBlue => "moves steadily toward blue",
            Self::Hunting => "jumps back and forth",
        }
    }
}

/// Fewer frames than this show nothing.
const FEWEST: usize = 8;
/// A smaller change is no matter: what is called neutral by default.
const LEAST_MIRED: f64 = 20.0;
/// A steady change is believed from so many standard deviations on. High, since every time between
/// pauses is looked at.
const LEAST_DEVIATIONS: f64 = 4.0;
/// How much better a line must be than the steps found, in natural logarithms: two lights with a
/// pause between are a line as well.
const LEAST_MERIT: f64 = 3.0;
/// A balance that stays for fewer frames than this, on average, hunts.
const HUNTING_STRETCH: usize = 4;
/// And within so many seconds, half a day: over longer what changes is the places and their lights.
const HUNTING_TIME: i64 = 12 * 3600;

/// What moves, and over which frames: those in order, and the label of each. Frames without a time
/// are a sequence of their own.
pub(super) fn drifts(frames: &[Evidence<'_>], labels: &[usize]) -> Vec<(Range<usize>, Drift)> {
    let times: Vec<_> = frames.iter().map(|frame| frame.at).collect();
    let timed = timed(&times);
    let mut found = drifts_within(0..timed, frames, labels);
    found.extend(drifts_within(timed..frames.len(), frames, labels));
    found
}

/// What moves over a sequence as a whole, or over the parts of it between pauses.
fn drifts_within(
    whole: Range<usize>,
    frames: &[Evidence<'_>],
    labels: &[usize],
) -> Vec<(Range<usize>, Drift)> {
    let drift_of =
        |range: &Range<usize>| drift(frames.get(range.clone())?, labels.get(range.clone())?);
    if let Some(drift) = drift_of(&whole) {
        return vec![(whole, drift)];
    }
    let times = frames.get(whole.clone()).unwrap_or_default().iter().map(|frame| frame.at);
    let times: Vec<_> = times.collect();
    let mut sessions: Vec<Range<usize>> = Vec::new();
    for (index, after_pause) in after_pauses(&times).into_iter().enumerate() {
        match sessions.last_mut() {
            Some(session) if !after_pause => session.end += 1,
            _ => sessions.push(whole.start + index..whole.start + index + 1),
        }
    }
    sessions
        .into_iter()
        .filter(|session| *session != whole)
        .filter_map(|session| drift_of(&session).map(|drift| (session, drift)))
        .collect()
}

fn drift(frames: &[Evidence<'_>], labels: &[usize]) -> Option<Drift> {
    if frames.len() < FEWEST {
        return None;
    }
    steady(frames, labels).or_else(|| hunting(frames, labels))
}

/// A straight line through time, where it tells more than the steps that were found.
fn steady(frames: &[Evidence<'_>], labels: &[usize]) -> Option<Drift> {
    let (first, last) = (frames.first()?.at?, frames.last()?.at?);
    let length = (last - first) as f64;
    if length <= 0.0 {
        return None;
    }
    let times: Vec<_> = frames
        .iter()
        .map(|frame| frame.at.map_or(0.0, |at| (at - first) as f64 / length - 0.5))
        .collect();
    let line = Line::through(frames, &times)?;
    let believed =
        line.change.abs() >= LEAST_MIRED && line.change.abs() >= LEAST_DEVIATIONS * line.deviation;
    if !believed || line.merit(frames, &times) < merit_of_steps(frames, labels) + LEAST_MERIT {
        return None;
    }
    let kind = if line.change > 0.0 { DriftKind::TowardOrange } else { DriftKind::TowardBlue };
    let hour = frames.get(frames.len() / 2).and_then(|frame| hour(frame.taken?));
    Some(Drift {
        kind,
        from: frames.first()?.time(),
        to: frames.last()?.time(),
        frames: frames.len(),
        mired: line.change,
        mired_interval: [
            line.change - HALF_90 * line.deviation,
            line.change + HALF_90 * line.deviation,
        ],
        looks_like: looks_like(kind, hour, length / 3600.0).to_owned(),
    })
}

fn hour(taken: &str) -> Option<u32> {
    taken.split_once('T')?.1.get(..2)?.parse().ok()
}

fn looks_like(kind: DriftKind, hour: Option<u32>, hours: f64) -> &'static str {
    match (kind, hour) {
        (DriftKind::Hunting, _) => {
            "a camera's automatic balance hunting, or a move to and fro between two lights"
        }
        (DriftKind::TowardOrange, Some(15..=21)) => "the sun going down",
        (DriftKind::TowardBlue, Some(17..=22)) => "dusk, when only the sky is left",
        (DriftKind::TowardBlue, Some(4..=9)) => "the sun coming up",
        _ if hours < 1.0 => "a lamp warming up",
        _ => "the weather changing, or a lamp warming up",
    }
}

/// A straight line: mired over time, which goes from −0.5 to 0.5.
struct Line {
    middle: f64,
    /// From one end to the other.
    change: f64,
    deviation: f64,
}

impl Line {
    fn through(frames: &[Evidence<'_>], times: &[f64]) -> Option<Self> {
        const ROUNDS: usize = 30;
        let mut line = Self { middle: 0.0, change: 0.0, deviation: f64::INFINITY };
        let mut weights: Vec<f64> = frames.iter().map(|frame| frame.mired.information()).collect();
        for _ in 0..ROUNDS {
            let (mut n, mut t, mut tt, mut y, mut ty) = (0.0, 0.0, 0.0, 0.0, 0.0);
            for ((frame, time), weight) in frames.iter().zip(times).zip(&weights) {
                let value = frame.mired.centre;
                n += weight;
                t += weight * time;
                tt += weight * time * time;
                y += weight * value;
                ty += weight * time * value;
            }
            let determinant = n * tt - t * t;
            if determinant <= f64::EPSILON * n * n {
                return None;
            }
            line.change = (n * ty - t * y) / determinant;
            line.middle = (y - line.change * t) / n;
            for ((frame, time), weight) in frames.iter().zip(times).zip(&mut weights) {
                *weight = frame.mired.weight_at(line.at(*time));
            }
        }
        let (mut n, mut t, mut tt) = (0.0, 0.0, 0.0);
        for (frame, time) in frames.iter().zip(times) {
            let information = frame.mired.information();
            n += information;
            t += information * time;
            tt += information * time * time;
        }
        line.deviation = (n / (n * tt - t * t)).sqrt();
        line.deviation.is_finite().then_some(line)
    }

    fn at(&self, time: f64) -> f64 {
        self.middle + self.change * time
    }

    fn merit(&self, frames: &[Evidence<'_>], times: &[f64]) -> f64 {
        let ln = frames.iter().zip(times).map(|(frame, time)| frame.mired.ln_at(self.at(*time)));
        merit(ln.sum(), 2, frames.len())
    }
}

/// Schwarz's criterion (1978), halved: the larger, the better.
fn merit(ln_likelihood: f64, parameters: usize, frames: usize) -> f64 {
    ln_likelihood - 0.5 * parameters as f64 * (frames as f64).ln()
}

/// The merit of the levels and changes that were found.
fn merit_of_steps(frames: &[Evidence<'_>], labels: &[usize]) -> f64 {
    let levels = levels(frames, labels);
    let ln: f64 = levels
        .iter()
        .flat_map(|(pooled, members)| members.iter().map(|frame| frame.mired.ln_at(pooled.mired.0)))
        .sum();
    merit(ln, levels.len() + runs(labels).len() - 1, frames.len())
}

fn levels<'a>(
    frames: &'a [Evidence<'a>],
    labels: &[usize],
) -> Vec<(Pooled, Vec<&'a Evidence<'a>>)> {
    let mut by_label = std::collections::BTreeMap::<usize, Vec<&Evidence<'_>>>::new();
    for (frame, label) in frames.iter().zip(labels) {
        by_label.entry(*label).or_default().push(frame);
    }
    by_label.into_values().map(|members| (Pooled::of(&members), members)).collect()
}

/// The first frame of each second with its label. Nothing hunts within a second: what looks otherwise than the
/// frame of the same second is most likely an edited copy of it.
fn first_of_each_second<'a>(
    frames: &[Evidence<'a>],
    labels: &[usize],
) -> (Vec<Evidence<'a>>, Vec<usize>) {
    let mut last = None;
    let is_first = |(frame, _): &(&Evidence<'_>, &usize)| {
        let is_first = frame.at != last;
        last = frame.at;
        is_first
    };
    frames.iter().zip(labels).filter(is_first).map(|(frame, label)| (*frame, *label)).unzip()
}

/// Many changes in a short time, where the camera did not write down its balance. In the order of names nothing
/// shows that a cast moved at all.
fn hunting(frames: &[Evidence<'_>], labels: &[usize]) -> Option<Drift> {
    if frames.last()?.at? - frames.first()?.at? > HUNTING_TIME {
        return None;
    }
    let (frames, labels) = &first_of_each_second(frames, labels);
    if frames.len() < FEWEST {
        return None;
    }
    let unknown =
        frames.iter().all(|frame| frame.reading.shot.balance.source == BalanceSource::Unknown);
    if !unknown || frames.len() > HUNTING_STRETCH * runs(labels).len() {
        return None;
    }
    let levels = levels(frames, labels);
    let by_mired = |a: &&(Pooled, _), b: &&(Pooled, _)| a.0.mired.0.total_cmp(&b.0.mired.0);
    let (low, _) = levels.iter().min_by(by_mired)?;
    let (high, _) = levels.iter().max_by(by_mired)?;
    let mired = high.mired.0 - low.mired.0;
    let half = HALF_90 * high.mired.1.hypot(low.mired.1);
    (mired >= LEAST_MIRED).then(|| Drift {
        kind: DriftKind::Hunting,
        from: frames.first().and_then(Evidence::time),
        to: frames.last().and_then(Evidence::time),
        frames: frames.len(),
        mired,
        mired_interval: [mired - half, mired + half],
        looks_like: looks_like(DriftKind::Hunting, None, 0.0).to_owned(),
    })
}
