//! Where the residual of a bracket vanishes.
//!
//! Each photo of a bracket gives a light: its setting and its residual together. Were the curve of
//! the picture known, all would give the same. It is not, so the lights drift with the residual,
//! smoothly and by an unknown amount, and only at a residual of 0 are they right. So a line and a
//! slight bend are fitted to lights over residuals, photos near 0 weighing most; what is sought is
//! where it crosses 0. The drift is expected to be small (a Gaussian prior on slope and bend),
//! which keeps brackets of two or three photos steady.

use crate::normal::HALF_90;

/// One photo of a bracket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    /// Light − setting.
    pub(super) residual: Pair,
    /// The light that the photo gives.
    pub(super) light: Pair,
    /// Half a 90 % interval of the light, without what sensor and lamp add.
    pub(super) half: Pair,
}

/// Mired and Duv of something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pair {
    pub(super) mired: f64,
    pub(super) duv: f64,
}

/// The light at a residual of 0, with half its 90 % intervals.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fit {
    pub(super) at: Pair,
    pub(super) half: Pair,
    /// For each photo what it is off from the fit, mired, if that is too much to be chance.
    pub(super) contradicts: Vec<Option<f64>>,
    /// The fitted line over the photos' residuals: setting and residual, mired.
    pub(super) line: Vec<[f64; 2]>,
    mired: [f64; TERMS],
}

impl Fit {
    /// What a photo is off from the fit, mired, whether it was fitted or not.
    pub(super) fn off(&self, point: &Point) -> f64 {
        let sample = Sample::new(point.light.mired, over(point), point.half.mired, &MIRED);
        sample.value - at(&self.mired, &sample)
    }
}

/// Unit of residuals in the fit, mired.
const FAR: f64 = 100.0;
/// A residual in Duv that goes with [`FAR`].
const FAR_DUV: f64 = 0.02;

/// What is expected of a quantity before the photos are looked at.
struct Expectation {
    /// Error that is left even at a residual of 0.
    floor: f64,
    /// Part of a reading's own interval that is not the curve's: that the fit finds out.
    own: f64,
    /// Error that comes with a residual of [`FAR`], beyond line and bend.
    stray: f64,
    /// Standard deviations of slope, bend and cross-talk of the other quantity, over [`FAR`].
    drift: [f64; 3],
    /// What the fit's own interval is multiplied by so that it holds the truth nine times in ten:
    /// errors are mostly smaller than a normal distribution of so long a tail would have them.
    scale: f64,
}

// Found by simulation over sensors, lights, tone curves and picture styles (`lab dial`), with
// brackets of two to five photos.
const MIRED: Expectation =
    Expectation { floor: 0.3, own: 0.4, stray: 4.0, drift: [25.0, 15.0, 4.0], scale: 0.6 };
const DUV: Expectation =
    Expectation { floor: 1e-4, own: 0.4, stray: 1e-3, drift: [4e-3, 4e-3, 4e-3], scale: 0.9 };

/// A photo farther from the fit than this many standard deviations, and than [`CONTRADICTS`], says
/// something else than the others.
const CHANCE: f64 = 4.0;
const CONTRADICTS: f64 = 8.0;
/// From here on, in standard deviations, a photo loses weight (Huber 1964).
const HUBER: f64 = 1.5;

/// `None` of no photos, or where they make no sense together.
pub(super) fn fit(points: &[Point]) -> Option<Fit> {
    let samples = |value: fn(&Pair) -> f64, expected: &Expectation| -> Vec<Sample> {
        let sample = |point: &Point| {
            Sample::new(value(&point.light), over(point), value(&point.half), expected)
        };
        points.iter().map(sample).collect()
    };
    let (mired, duv) = (samples(|pair| pair.mired, &MIRED), samples(|pair| pair.duv, &DUV));
    let (mired_line, duv_line) = (robust(&mired, &MIRED)?, robust(&duv, &DUV)?);
    let contradicts = mired.iter().map(|sample| {
        let off = sample.value - mired_line.at(sample);
        (off.abs() > CONTRADICTS && off.abs() > CHANCE * sample.deviation).then_some(off)
    });
    Some(Fit {
        at: Pair { mired: mired_line.terms[0], duv: duv_line.terms[0] },
        half: Pair {
            mired: MIRED.scale * HALF_90 * mired_line.deviation,
            duv: DUV.scale * HALF_90 * duv_line.deviation,
        },
        contradicts: contradicts.collect(),
        line: drawn(points, &mired_line),
        mired: mired_line.terms,
    })
}

/// The residual in the units of the fit.
fn over(point: &Point) -> [f64; 2] {
    [point.residual.mired / FAR, point.residual.duv / FAR_DUV]
}

fn at(terms: &[f64; TERMS], sample: &Sample) -> f64 {
    terms.iter().zip(sample.terms).map(|(a, b)| a * b).sum()
}

/// The line through settings and residuals that light = setting + residual makes of the fit, a
/// little beyond the photos.
fn drawn(points: &[Point], fitted: &Line) -> Vec<[f64; 2]> {
    const STEPS: i32 = 12;
    let residuals = || points.iter().map(|point| point.residual.mired).chain([0.0]);
    let low = residuals().fold(f64::INFINITY, f64::min) - 2.0;
    let high = residuals().fold(f64::NEG_INFINITY, f64::max) + 2.0;
    let [at_zero, slope, bend, _] = fitted.terms;
    (0..=STEPS)
        .map(|step| {
            let residual = low + (high - low) * f64::from(step) / f64::from(STEPS);
            let own = residual / FAR;
            [at_zero + own * (slope + own * bend) - residual, residual]
        })
        .collect()
}

const TERMS: usize = 4;

/// One observation: a value and the terms it is made of.
struct Sample {
    value: f64,
    terms: [f64; TERMS],
    deviation: f64,
}

impl Sample {
    fn new(value: f64, [own, other]: [f64; 2], half: f64, expected: &Expectation) -> Self {
        let noise = (expected.own * half / HALF_90).hypot(expected.floor);
        let deviation = noise.hypot(expected.stray * own);
        Self { value, terms: [1.0, own, own * own, other], deviation }
    }
}

/// A line with a bend, and how sure its value at 0 is.
struct Line {
    terms: [f64; TERMS],
    deviation: f64,
}

impl Line {
    fn at(&self, sample: &Sample) -> f64 {
        at(&self.terms, sample)
    }
}

/// Least squares in which a sample that lies far off loses weight.
fn robust(samples: &[Sample], expected: &Expectation) -> Option<Line> {
    const ROUNDS: usize = 12;
    let mut weights = vec![1.0; samples.len()];
    let mut line = weighted(samples, &weights, expected)?;
    for _ in 0..ROUNDS {
        for (weight, sample) in weights.iter_mut().zip(samples) {
            let off = (sample.value - line.at(sample)).abs() / sample.deviation;
            *weight = if off > HUBER { HUBER / off } else { 1.0 };
        }
        line = weighted(samples, &weights, expected)?;
    }
    // Photos that scatter more than they should widen the interval.
    let total: f64 = weights.iter().sum();
    let scatter: f64 = samples
        .iter()
        .zip(&weights)
        .map(|(sample, weight)| {
            weight * ((sample.value - line.at(sample)) / sample.deviation).powi(2)
        })
        .sum();
    let more = (scatter / (total - 1.0).max(1.0)).max(1.0);
    line.deviation *= more.sqrt();
    Some(line)
}

fn weighted(samples: &[Sample], weights: &[f64], expected: &Expectation) -> Option<Line> {
    // Nothing is expected of the value at 0.
    let [slope, bend, cross] = expected.drift.map(|deviation| deviation.powi(-2));
    let mut normal = [[0.0; TERMS + 1]; TERMS];
    for (row, prior) in [0.0, slope, bend, cross].into_iter().enumerate() {
        normal[row][row] = prior;
    }
    // About the first value, so that little is lost in large figures.
    let origin = samples.first()?.value;
    for (sample, weight) in samples.iter().zip(weights) {
        let weight = weight / sample.deviation.powi(2);
        for (row, a) in normal.iter_mut().zip(sample.terms) {
            for (cell, b) in row.iter_mut().zip(sample.terms) {
                *cell += weight * a * b;
            }
            row[TERMS] += weight * a * (sample.value - origin);
        }
    }
    let (mut terms, variance) = solved(normal)?;
    terms[0] += origin;
    Some(Line { terms, deviation: variance.sqrt() })
}

/// The solution of symmetric positive definite normal equations, and the first element of their
/// inverse.
fn solved(mut rows: [[f64; TERMS + 1]; TERMS]) -> Option<([f64; TERMS], f64)> {
    let mut inverse = [1.0, 0.0, 0.0, 0.0];
    for pivot in 0..TERMS {
        let own = rows[pivot];
        let unit = inverse[pivot];
        if !own[pivot].is_normal() {
            return None;
        }
        for row in 0..TERMS {
            if row != pivot {
                let factor = rows[row][pivot] / own[pivot];
                for (cell, of) in rows[row].iter_mut().zip(own) {
                    *cell -= factor * of;
                }
                inverse[row] -= factor * unit;
            }
        }
    }
    let terms = std::array::from_fn(|i| rows[i][TERMS] / rows[i][i]);
    let variance = inverse[0] / rows[0][0];
    let finite = terms.iter().all(|term: &f64| term.is_finite());
    (finite && variance.is_finite() && variance >= 0.0).then_some((terms, variance))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Photos of a light at 250 mired under a camera whose curve makes residuals larger by `gain`
    /// and bends them.
    fn bracket(settings: &[f64], gain: f64, bend: f64) -> Vec<Point> {
        let point = |&setting: &f64| {
            let true_residual = 250.0 - setting;
            let residual = true_residual * gain + bend * true_residual.powi(2);
            Point {
                residual: Pair { mired: residual, duv: 0.001 },
                light: Pair { mired: setting + residual, duv: 0.003 },
                half: Pair { mired: 1.0, duv: 0.0004 },
            }
        };
        settings.iter().map(point).collect()
    }

    #[test]
    fn the_crossing_is_found_whatever_the_curve_does_to_the_residual() {
        for gain in [0.85, 1.0, 1.2] {
            for bend in [-0.0008, 0.0, 0.0008] {
                let fit = fit(&bracket(&[190.0, 220.0, 245.0, 270.0, 300.0], gain, bend)).unwrap();
                assert!((fit.at.mired - 250.0).abs() < 1.2, "{gain} {bend}: {fit:?}");
                assert!((fit.at.mired - 250.0).abs() < fit.half.mired, "{gain} {bend}: {fit:?}");
                assert_eq!(fit.contradicts, [None; 5]);
            }
        }
    }

    #[test]
    fn far_photos_leave_a_wider_interval() {
        let half = |settings: &[f64]| fit(&bracket(settings, 1.1, 0.0)).unwrap().half.mired;
        let near = half(&[240.0, 260.0]);
        assert!(near < half(&[200.0, 300.0]));
        assert!(half(&[200.0, 300.0]) < half(&[180.0, 200.0]), "not enclosed");
        assert!(half(&[230.0, 240.0, 250.0, 260.0, 270.0]) < near);
    }

    #[test]
    fn a_photo_that_says_something_else_is_found_and_loses_weight() {
        let mut points = bracket(&[210.0, 230.0, 250.0, 270.0, 290.0], 1.0, 0.0);
        points[1].light.mired += 40.0;
        points[1].residual.mired += 40.0;
        let fit = fit(&points).unwrap();
        let found: Vec<_> = fit.contradicts.iter().map(Option::is_some).collect();
        assert_eq!(found, [false, true, false, false, false]);
        assert!((fit.at.mired - 250.0).abs() < 2.5, "{fit:?}");
    }

    #[test]
    fn nothing_comes_of_nothing() {
        assert_eq!(fit(&[]), None);
        let mut broken = bracket(&[240.0, 260.0], 1.0, 0.0);
        broken[0].light.mired = f64::NAN;
        assert_eq!(fit(&broken), None);
    }
}
