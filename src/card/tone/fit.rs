//! How well a card's shades fit one light under one curve.
//!
//! A JPEG stores a block's colour differences in whole steps. So a shade does not say what its
//! difference is but between which bounds it lies, and noise blurs the bounds a little. Across a
//! card luma varies, and where the stored difference changes from one step to the next the true
//! one is known far more finely than a step. The likelihood here is that of such bounded values
//! (an ordered probit in luma).

use super::contrast::Contrast;
use super::shades::{Scale, Shade, Shades, luma_differences};
use crate::normal::below;

/// The best fit under one curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    /// Natural logarithms of the card's red and blue against its green, linear light.
    pub(super) log_ratios: [f64; 2],
    /// Their covariance: red, red with blue, blue.
    pub(super) covariance: [f64; 3],
    /// Standard deviation of the noise in the blue and the red difference, in levels.
    pub(super) noise: [f64; 2],
    /// Logarithm of the likelihood, a constant apart.
    pub(super) log_likelihood: f64,
}

/// How much a card's tinge may change from its dim to its bright parts by itself, whatever the
/// curve: lenses, walls and the card's own surface are not perfect. Standard deviation of a
/// channel's logarithm for a brightness e times higher.
const TINGE: f64 = 0.01;

/// More blocks than this say no more: encoders round on the way to the blocks, and that errs alike
/// in all of them.
const MOST_BLOCKS: f64 = 150.0;

/// Noise before anything is known of it, in levels, and how many blocks that is worth.
const NOISE: f64 = 0.14;
const NOISE_BLOCKS: f64 = 6.0;
/// The noise is never less: luma is not known exactly either.
const LEAST_NOISE: f64 = 0.07;

/// Share of blocks that fit nothing (a speck, a hair), and the width in levels that they lie in.
const STRAY: f64 = 0.02;
const STRAY_WIDTH: f64 = 20.0;

/// Iterations, and how often in them the predictions are made anew.
const ITERATIONS: usize = 18;
const PREDICTED_EVERY: usize = 5;

/// The card's brightness is tried at these many places.
const LIGHTS: usize = 120;

/// The fit under a curve, from `start`: log ratios and noise to begin at. `None` where there is
/// nothing to fit.
pub(super) fn fit(
    shades: &Shades,
    curve: Contrast,
    scale: &Scale,
    start: ([f64; 2], [f64; 2]),
) -> Option<Fit> {
    let brightness = Brightness::of(shades)?;
    let (mut log_ratios, mut noise) = start;
    let tolerance = TINGE * brightness.deviation;
    let mut tinge = [0.0; 2];
    let temper = (MOST_BLOCKS / shades.blocks.max(1.0)).min(1.0);
    let mut predicted = Predicted::new(shades, curve, scale, log_ratios);
    let mut base = log_ratios;
    let mut normal = Normal::default();
    for iteration in 0..ITERATIONS {
        if iteration > 0 && iteration % PREDICTED_EVERY == 0 {
            predicted = Predicted::new(shades, curve, scale, log_ratios);
            base = log_ratios;
        }
        normal = Normal::default();
        for (difference, noise) in noise.iter_mut().enumerate() {
            let mut squares = NOISE_BLOCKS * NOISE * NOISE;
            let mut weights = NOISE_BLOCKS;
            for (shade, at) in shades.of[difference].iter().zip(&predicted.of[difference]) {
                let bright = brightness.of_luma(shade.luma);
                let slopes =
                    [at.slopes[0], at.slopes[1], at.slopes[0] * bright, at.slopes[1] * bright];
                let value = at.value
                    + slopes[0] * (log_ratios[0] - base[0])
                    + slopes[1] * (log_ratios[1] - base[1])
                    + slopes[2] * tinge[0]
                    + slopes[3] * tinge[1];
                let bounded = Bounded::of(shade, value, *noise);
                normal.add(&bounded, slopes, shade.count);
                squares += shade.count * bounded.regular * bounded.square;
                weights += shade.count * bounded.regular;
            }
            // Half a step in the logarithm more than the expectation gives: it crawls otherwise.
            let wanted = (squares / weights).sqrt();
            *noise = (wanted * (wanted / *noise).powf(0.5))
                .clamp(LEAST_NOISE, (3.0 * *noise).max(LEAST_NOISE));
        }
        let moved = normal.solve(tinge, tolerance)?;
        for i in 0..2 {
            log_ratios[i] += moved[i].clamp(-0.2, 0.2);
            tinge[i] += moved[2 + i].clamp(-0.02, 0.02);
        }
    }
    let finite = log_ratios.iter().chain(&noise).all(|v| v.is_finite());
    for (difference, noise) in noise.iter().enumerate() {
        normal.bound(&shades.of[difference], &predicted.of[difference], *noise);
    }
    let covariance = normal.covariance(temper, tolerance)?;
    let tinge_cost: f64 = tinge.iter().map(|t| 0.5 * (t / tolerance).powi(2)).sum();
    let noise_cost: f64 = noise
        .iter()
        .map(|n| 0.5 * NOISE_BLOCKS * ((NOISE / n).powi(2) + 2.0 * (n / NOISE).ln()))
        .sum();
    finite.then_some(Fit {
        log_ratios,
        covariance,
        noise,
        log_likelihood: temper * (normal.log_likelihood - noise_cost) - tinge_cost,
    })
}

/// The logarithm of brightness over a card, centred and in standard deviations.
struct Brightness {
    mean: f64,
    deviation: f64,
}

/// Encoded luma goes with about this power of light.
const LUMA_POWER: f64 = 2.2;

impl Brightness {
    fn of(shades: &Shades) -> Option<Self> {
        let logs = || shades.of[0].iter().map(|s| (LUMA_POWER * s.luma.max(1.0).ln(), s.count));
        let count: f64 = logs().map(|(_, count)| count).sum();
        if count <= 0.0 {
            return None;
        }
        let mean = logs().map(|(log, count)| log * count).sum::<f64>() / count;
        let variance = logs().map(|(log, n)| (log - mean).powi(2) * n).sum::<f64>() / count;
        Some(Self { mean, deviation: variance.sqrt().max(1e-3) })
    }

    fn of_luma(&self, luma: f64) -> f64 {
        (LUMA_POWER * luma.max(1.0).ln() - self.mean) / self.deviation
    }
}

/// What a difference should be at a shade's luma, and how it goes with the two log ratios.
struct At {
    value: f64,
    slopes: [f64; 2],
}

/// For each shade.
struct Predicted {
    of: [Vec<At>; 2],
}

impl Predicted {
    fn new(shades: &Shades, curve: Contrast, scale: &Scale, log_ratios: [f64; 2]) -> Self {
        const STEP: f64 = 0.01;
        let tables = [[0.0, 0.0], [STEP, 0.0], [0.0, STEP]].map(|[red, blue]| {
            let proportion = [(log_ratios[0] + red).exp(), 1.0, (log_ratios[1] + blue).exp()];
            table(proportion, curve, scale)
        });
        let of = [0, 1].map(|difference| {
            let mut places = [0; 3];
            shades.of[difference]
                .iter()
                .map(|shade| {
                    let mut at = [0.0; 3];
                    for (i, table) in tables.iter().enumerate() {
                        at[i] = interpolated(table, &mut places[i], shade.luma, 1 + difference);
                    }
                    At { value: at[0], slopes: [(at[1] - at[0]) / STEP, (at[2] - at[0]) / STEP] }
                })
                .collect()
        });
        Self { of }
    }
}

/// Luma and differences of a card of these proportions from dark to bright, in rising luma.
fn table(proportion: [f64; 3], curve: Contrast, scale: &Scale) -> Vec<[f64; 3]> {
    (0..LIGHTS)
        .map(|i| {
            // Equal steps on the encoded scale; a little beyond white, where channels saturate.
            let encoded = 0.04 + 1.01 * i as f64 / (LIGHTS - 1) as f64;
            let light = crate::colour::TransferCurve::Srgb.decode(encoded);
            let mut channel = 0;
            luma_differences(proportion.map(|p| {
                let value = scale.recorded(channel, curve.applied_to_linear(p * light));
                channel += 1;
                value
            }))
        })
        .collect()
}

/// A column of the table at a luma, from `place` on: lumas come in rising order.
fn interpolated(table: &[[f64; 3]], place: &mut usize, luma: f64, column: usize) -> f64 {
    while *place + 2 < table.len() && table[*place + 1][0] < luma {
        *place += 1;
    }
    let (low, high) = (table[*place], table[*place + 1]);
    let part = (luma - low[0]) / (high[0] - low[0]).max(1e-9);
    low[column] + part.clamp(0.0, 1.0) * (high[column] - low[column])
}

/// How a predicted value lies to the bounds that a stored one sets.
struct Bounded {
    /// Derivative of the log likelihood by the value.
    slope: f64,
    /// Its second derivative, the sign changed.
    curvature: f64,
    log_likelihood: f64,
    /// Chance that this is not a stray.
    regular: f64,
    /// Expected square of the noise here.
    square: f64,
}

impl Bounded {
    fn of(shade: &Shade, value: f64, noise: f64) -> Self {
        let low = (shade.stored - 0.5 * shade.step - value) / noise;
        let high = (shade.stored + 0.5 * shade.step - value) / noise;
        let within = chance_between(low, high).max(1e-300);
        let (at_low, at_high) = (density(low), density(high));
        let slope = (at_low - at_high) / within;
        let bend = (high * at_high - low * at_low) / within;
        let stray = STRAY * shade.step / STRAY_WIDTH;
        let likelihood = (1.0 - STRAY) * within + stray;
        let regular = (1.0 - STRAY) * within / likelihood;
        Self {
            slope: regular * slope / noise,
            curvature: regular * (bend + slope * slope).clamp(0.0, 1.0) / (noise * noise),
            log_likelihood: (likelihood / shade.step).ln(),
            regular,
            square: noise * noise * (1.0 - bend).max(0.0),
        }
    }
}

fn density(z: f64) -> f64 {
    const FACTOR: f64 = 0.398_942_280_401_432_7;
    FACTOR * (-0.5 * z * z).exp()
}

/// Chance of a standard normal value between two bounds, exact in the tails too.
fn chance_between(low: f64, high: f64) -> f64 {
    if low > 0.0 { below(-low) - below(-high) } else { below(high) - below(low) }
}

/// The normal equations for the log ratios and the tinge.
#[derive(Debug, Clone, Copy, Default)]
struct Normal {
    gradient: [f64; 4],
    curvature: [[f64; 4]; 4],
    log_likelihood: f64,
    /// What the bounds themselves say of the log ratios, beyond what the likelihood's curvature does.
    bounds: [[f64; 2]; 2],
}

impl Normal {
    fn add(&mut self, bounded: &Bounded, slopes: [f64; 4], count: f64) {
        for i in 0..4 {
            self.gradient[i] += count * bounded.slope * slopes[i];
            for k in 0..4 {
                self.curvature[i][k] += count * bounded.curvature * slopes[i] * slopes[k];
            }
        }
        self.log_likelihood += count * bounded.log_likelihood;
    }

    /// Adds that a difference lies within half a step of what is stored. Where a whole card is in one
    /// step, the likelihood is flat between the bounds and has no curvature there, and yet the
    /// difference is known to the deviation of an even distribution over the step.
    fn bound(&mut self, shades: &[Shade], predicted: &[At], noise: f64) {
        let (mut count, mut step, mut slopes) = (0.0, 0.0, [0.0; 2]);
        for (shade, at) in shades.iter().zip(predicted) {
            count += shade.count;
            step += shade.count * shade.step;
            slopes.iter_mut().zip(at.slopes).for_each(|(sum, slope)| *sum += shade.count * slope);
        }
        if count <= 0.0 {
            return;
        }
        let square = (step / count).powi(2) / 12.0 + noise * noise;
        let slopes = slopes.map(|sum| sum / count);
        for (i, row) in self.bounds.iter_mut().enumerate() {
            row.iter_mut().zip(slopes).for_each(|(sum, slope)| *sum += slopes[i] * slope / square);
        }
    }

    /// With what is known of the tinge beforehand added, and a trace of stiffness.
    fn stiffened(&self, scale: f64, tolerance: f64) -> [[f64; 4]; 4] {
        let mut matrix = self.curvature.map(|row| row.map(|v| scale * v));
        for (i, row) in matrix.iter_mut().enumerate() {
            row[i] += if i < 2 { 1.0 } else { (1.0 / tolerance).powi(2) };
        }
        matrix
    }

    fn solve(&self, tinge: [f64; 2], tolerance: f64) -> Option<[f64; 4]> {
        let mut right = self.gradient;
        for i in 0..2 {
            right[2 + i] -= tinge[i] / (tolerance * tolerance);
        }
        solved(self.stiffened(1.0, tolerance), right)
    }

    /// Covariance of the two log ratios.
    fn covariance(&self, temper: f64, tolerance: f64) -> Option<[f64; 3]> {
        let mut matrix = self.stiffened(temper, tolerance);
        for (row, bounds) in matrix.iter_mut().zip(self.bounds) {
            row.iter_mut().zip(bounds).for_each(|(value, bound)| *value += bound);
        }
        let red = solved(matrix, [1.0, 0.0, 0.0, 0.0])?;
        let blue = solved(matrix, [0.0, 1.0, 0.0, 0.0])?;
        Some([red[0], red[1], blue[1]])
    }
}

/// The solution of a symmetric positive system, by elimination.
fn solved(mut matrix: [[f64; 4]; 4], mut right: [f64; 4]) -> Option<[f64; 4]> {
    for pivot in 0..4 {
        let head = matrix[pivot][pivot];
        if !head.is_finite() || head <= 0.0 {
            return None;
        }
        let (above, scaled) = (matrix[pivot], right[pivot]);
        for (row, right) in matrix.iter_mut().zip(&mut right).skip(pivot + 1) {
            let factor = row[pivot] / head;
            row.iter_mut().zip(above).for_each(|(value, above)| *value -= factor * above);
            *right -= factor * scaled;
        }
    }
    for row in (0..4).rev() {
        for column in row + 1..4 {
            right[row] -= matrix[row][column] * right[column];
        }
        right[row] /= matrix[row][row];
    }
    Some(right)
}
