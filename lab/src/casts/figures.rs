//! How well casts are told.

use std::fmt;

use mirecast::balance::White;
use mirecast::frames::{Cast, CastPosterior, Tolerance, Verdict, verdict};

use super::Example;

/// Casts from here on are clear ones, mired.
const CLEAR: f64 = 35.0;
/// A point estimate beyond this would be called a cast, mired.
const TOLERANCE: f64 = 20.0;

/// How well an estimator tells the casts of some frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Angle between the estimated and the true colour of a neutral surface, degrees: median, mean, and mean of the
    /// worst quarter.
    pub angle: [f64; 3],
    /// Median error in mired.
    pub mired: f64,
    /// Share of the clear casts that are called so, orange or blue, at a tolerance of 20 mired.
    pub found: f64,
    /// … that are called the other.
    pub wrong: f64,
    /// Share of the balanced frames that are called orange or blue.
    pub false_alarms: f64,
    /// Share of all frames of which nothing is said.
    pub undecided: f64,
    /// How often the 90 % interval holds the truth, and its median width in mired. 0 where there is no interval.
    pub held: f64,
    /// Its median width, mired.
    pub width: f64,
}

/// One frame's estimate.
pub(super) struct Estimate {
    pub white: [f64; 3],
    pub mired: f64,
    pub interval: [f64; 2],
    pub verdict: Verdict,
}

/// The verdict on an estimate that is a number alone.
pub(super) fn verdict_on(mired: f64) -> Verdict {
    match mired {
        mired if mired > TOLERANCE => Verdict::Orange,
        mired if mired < -TOLERANCE => Verdict::Blue,
        _ => Verdict::Neutral,
    }
}

impl Figures {
    pub(super) fn of(examples: &[Example], posteriors: &[CastPosterior], balance: &White) -> Self {
        let estimates = posteriors.iter().map(|posterior| {
            let cast = Cast::of(posterior, balance);
            Estimate {
                white: cast.white_linear_srgb,
                mired: cast.mired,
                interval: cast.mired_interval,
                verdict: verdict(posterior, Tolerance::default()),
            }
        });
        Self::of_estimates(examples, &estimates.collect::<Vec<_>>())
    }

    pub(super) fn of_estimates(examples: &[Example], estimates: &[Estimate]) -> Self {
        let both = || examples.iter().zip(estimates);
        let angles = sorted(both().map(|(truth, got)| angle(truth.white, got.white)));
        let errors = sorted(both().map(|(truth, got)| (truth.mired - got.mired).abs()));
        let widths = sorted(both().map(|(_, got)| got.interval[1] - got.interval[0]));
        let worst = &angles
            [angles.len() - (angles.len() / 4).clamp(1, angles.len().max(1)).min(angles.len())..];
        let clear = || both().filter(|(truth, _)| truth.mired.abs() >= CLEAR);
        let side = |got: &Estimate| match got.verdict {
            Verdict::Orange => 1.0,
            Verdict::Blue => -1.0,
            _ => 0.0,
        };
        let balanced = || both().filter(|(truth, _)| truth.mired == 0.0);
        Self {
            angle: [middle(&angles), mean(angles.iter().copied()), mean(worst.iter().copied())],
            mired: middle(&errors),
            found: share(clear().map(|(truth, got)| side(got) == truth.mired.signum())),
            wrong: share(clear().map(|(truth, got)| side(got) == -truth.mired.signum())),
            false_alarms: share(balanced().map(|(_, got)| side(got) != 0.0)),
            undecided: share(both().map(|(_, got)| got.verdict == Verdict::Undecided)),
            held: share(both().map(|(truth, got)| {
                got.interval[0] <= truth.mired && truth.mired <= got.interval[1]
            })),
            width: middle(&widths),
        }
    }
}

impl fmt::Display for Figures {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [median, mean, worst] = self.angle;
        write!(
            f,
            "{median:5.2} {mean:5.2} {worst:6.2} {:6.1} {:6.2} {:6.2} {:6.2} {:6.2} {:6.2} {:6.0}",
            self.mired,
            self.found,
            self.wrong,
            self.false_alarms,
            self.undecided,
            self.held,
            self.width
        )
    }
}

/// What the columns of [`Figures`] are.
pub(super) const HEADING: &str =
    "angle: median, mean, worst quarter; mired; found, wrong, false alarms, undecided; held, width";

fn angle(a: [f64; 3], b: [f64; 3]) -> f64 {
    let dot = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    (dot(a, b) / (dot(a, a) * dot(b, b)).sqrt()).clamp(-1.0, 1.0).acos().to_degrees()
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

fn middle(sorted: &[f64]) -> f64 {
    sorted.get(sorted.len() / 2).copied().unwrap_or(f64::NAN)
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value, count + 1.0));
    sum / count
}

fn share(values: impl Iterator<Item = bool>) -> f64 {
    mean(values.map(f64::from))
}
