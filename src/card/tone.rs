//! What a card shows of its own tone curve.
//!
//! A camera does not record linear light: it lays a contrast curve over it, and does not say
//! which. Over one card in one light chromaticity is constant while brightness varies (falloff,
//! a shadow's edge), so once the true curve is undone the channels stay in proportion. How well
//! they do under each curve of a family is the likelihood of that curve; where a card is lit so
//! evenly that it says nothing, the prior is left.

use super::sample::Samples;
use crate::colour::TransferCurve;
use crate::still::Transfer;

/// A contrast curve: on the encoded scale 0–1 a blend of the identity and the smooth step
/// 3e² − 2e³, which darkens the dim half and lightens the bright half as cameras' curves do.
/// 0 is no curve at all.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Contrast(f64);

impl Contrast {
    /// The encoded value that the curve makes of `encoded`.
    fn applied(self, encoded: f64) -> f64 {
        let step = encoded * encoded * (3.0 - 2.0 * encoded);
        encoded + self.0 * (step - encoded)
    }

    /// The value that [`Contrast::applied`] takes to `encoded`, for both in 0–1.
    fn undone(self, encoded: f64) -> f64 {
        // Monotone on 0–1 for every strength of the family: bisection cannot fail, and a few
        // Newton steps from the identity are already exact.
        let mut value = encoded;
        for _ in 0..8 {
            let slope = 1.0 - self.0 + self.0 * 6.0 * value * (1.0 - value);
            value -= (self.applied(value) - encoded) / slope.max(0.05);
            value = value.clamp(0.0, 1.0);
        }
        value
    }

    fn undone_linear(self, linear: f64) -> f64 {
        TransferCurve::Srgb.decode(self.undone(TransferCurve::Srgb.encode(linear.clamp(0.0, 1.0))))
    }

    fn applied_to_linear(self, linear: f64) -> f64 {
        self.applied(TransferCurve::Srgb.encode(linear.clamp(0.0, 1.0)))
    }
}

/// One curve of the family: how probable it is, and the card's colour with it undone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Candidate {
    /// Adds up to 1 over all candidates.
    pub(crate) probability: f64,
    /// Mean linear light of the encoding's channels with this curve undone.
    pub(crate) linear: [f64; 3],
}

/// Strengths that are tried.
const WEAKEST: f64 = -0.2;
const STRONGEST: f64 = 1.0;
const STRENGTHS: usize = 25;

/// Cameras' curves before anything is known of this one: mean and standard deviation of the
/// strength.
const PRIOR: (f64, f64) = (0.3, 0.3);

/// Levels that the samples are gathered into.
const LEVELS: usize = 16;

/// Error of a level's mean colour difference, in steps of 8 bits: compression and rounding.
const CHROMA_ERROR: f64 = 0.2;

/// How many of the levels err independently: compression errs alike over large flat areas.
const INDEPENDENT_LEVELS: f64 = 6.0;

/// A card on which no curve fits better than this many standard errors squared shows something
/// other than its tone curve, such as a second light's tinge in a shadow, and says nothing.
const WORST_FIT: f64 = 12.0;

/// Every curve of the family with its probability for these samples. Empty without samples.
///
/// `evidence` is false where brightness and chromaticity are known to vary together for another
/// reason (coloured mains bands): then only the prior speaks.
pub(crate) fn candidates(samples: &Samples, evidence: bool) -> Vec<Candidate> {
    let levels = levels(samples);
    let total: f64 = levels.iter().map(|level| level.weight).sum();
    let mut candidates: Vec<Candidate> = (0..STRENGTHS)
        .map(|i| {
            let part = i as f64 / (STRENGTHS - 1) as f64;
            let strength = WEAKEST + (STRONGEST - WEAKEST) * part;
            let curve = Contrast(strength);
            let undone: Vec<Level> = levels
                .iter()
                .map(|level| Level {
                    linear: level.linear.map(|v| curve.undone_linear(v)),
                    ..*level
                })
                .collect();
            let deviation = (strength - PRIOR.0) / PRIOR.1;
            let likelihood = if evidence && levels.len() > 2 {
                (-0.5 * misfit(curve, &levels, &undone)).exp() + (-0.5 * WORST_FIT).exp()
            } else {
                1.0
            };
            Candidate {
                probability: likelihood * (-0.5 * deviation * deviation).exp(),
                linear: weighted_mean(&undone, total),
            }
        })
        .filter(|candidate| candidate.linear.iter().all(|v| v.is_finite()))
        .collect();
    let sum: f64 = candidates.iter().map(|candidate| candidate.probability).sum();
    candidates.iter_mut().for_each(|candidate| candidate.probability /= sum);
    candidates
}

/// The one candidate where the user knows what the recorded numbers mean: `mean` is the card's
/// colour as the file's own `transfer` has it.
pub(crate) fn stated(mean: [f64; 3], curve: TransferCurve, transfer: &Transfer) -> Vec<Candidate> {
    let linear =
        std::array::from_fn(|channel| curve.decode(encoded_by(transfer, channel, mean[channel])));
    vec![Candidate { probability: 1.0, linear }]
}

/// The encoded value, 0–1, that `transfer` takes to `linear`. Transfers rise.
fn encoded_by(transfer: &Transfer, channel: usize, linear: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if transfer.to_linear(channel, middle) < linear {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Samples of about one brightness.
#[derive(Debug, Clone, Copy)]
struct Level {
    linear: [f64; 3],
    weight: f64,
}

/// The samples in order of brightness, gathered into levels of equal weight.
fn levels(samples: &Samples) -> Vec<Level> {
    let mut ordered: Vec<(f64, f64, [f64; 3])> = samples
        .cells
        .iter()
        .filter(|sample| sample.weight > 0.0)
        .map(|sample| (sample.log_level(), sample.weight, sample.linear))
        .collect();
    ordered.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = ordered.iter().map(|sample| sample.1).sum();
    let mut levels = vec![Level { linear: [0.0; 3], weight: 0.0 }; LEVELS];
    let mut before = 0.0;
    for (_, weight, linear) in ordered {
        let index = ((before / total * LEVELS as f64) as usize).min(LEVELS - 1);
        before += weight;
        let level = &mut levels[index];
        level.weight += weight;
        level.linear.iter_mut().zip(linear).for_each(|(sum, v)| *sum += v * weight);
    }
    levels.retain(|level| level.weight > 0.0);
    for level in &mut levels {
        level.linear = level.linear.map(|sum| sum / level.weight);
    }
    levels
}

fn weighted_mean(levels: &[Level], total: f64) -> [f64; 3] {
    std::array::from_fn(|i| levels.iter().map(|l| l.linear[i] * l.weight).sum::<f64>() / total)
}

/// Luma and the two colour differences, as compression sees them (Rec. ITU-T T.871), in steps of
/// 8 bits.
fn luma_chroma([r, g, b]: [f64; 3]) -> [f64; 3] {
    [
        (0.299 * r + 0.587 * g + 0.114 * b) * 255.0,
        (-0.168_736 * r - 0.331_264 * g + 0.5 * b) * 255.0,
        (0.5 * r - 0.418_688 * g - 0.081_312 * b) * 255.0,
    ]
}

/// Squared standard errors by which the levels depart from constant proportions under a curve:
/// the proportions and each level's brightness are fitted, the colour differences then compared.
fn misfit(curve: Contrast, recorded: &[Level], undone: &[Level]) -> f64 {
    let measured: Vec<[f64; 3]> = recorded
        .iter()
        .map(|level| luma_chroma(level.linear.map(|v| TransferCurve::Srgb.encode(v))))
        .collect();
    let total: f64 = undone.iter().map(|level| level.weight).sum();
    let mean = weighted_mean(undone, total);
    let green = mean[1].max(1e-6);
    let mut log_ratios = [(mean[0] / green).max(1e-6).ln(), (mean[2] / green).max(1e-6).ln()];
    let residuals = |log_ratios: [f64; 2]| -> Vec<[f64; 2]> {
        let proportion = [log_ratios[0].exp(), 1.0, log_ratios[1].exp()];
        let predicted =
            |light: f64| luma_chroma(proportion.map(|p| curve.applied_to_linear(p * light)));
        undone
            .iter()
            .zip(&measured)
            .map(|(level, measured)| {
                // Luma is known far better than the colour differences: brightness follows it.
                let mut light = level.linear[1].max(1e-6);
                for _ in 0..3 {
                    let luma = predicted(light)[0];
                    let slope = (predicted(light * 1.01)[0] - luma) / 0.01;
                    light *= ((measured[0] - luma) / slope.max(1e-3)).clamp(-0.5, 0.5).exp();
                }
                let [_, cb, cr] = predicted(light);
                [measured[1] - cb, measured[2] - cr]
            })
            .collect()
    };
    let mut rest = residuals(log_ratios);
    for _ in 0..2 {
        const STEP: f64 = 0.01;
        let moved = [0, 1].map(|i| {
            let mut shifted = log_ratios;
            shifted[i] += STEP;
            residuals(shifted)
        });
        let [mut a, mut b, mut c, mut d, mut e] = [0.0; 5];
        for (i, r) in rest.iter().enumerate() {
            for k in 0..2 {
                let slope = [(moved[0][i][k] - r[k]) / STEP, (moved[1][i][k] - r[k]) / STEP];
                a += slope[0] * slope[0];
                b += slope[0] * slope[1];
                c += slope[1] * slope[1];
                d += slope[0] * r[k];
                e += slope[1] * r[k];
            }
        }
        let determinant = a * c - b * b;
        if determinant <= 1e-9 {
            break;
        }
        log_ratios[0] -= (d * c - e * b) / determinant;
        log_ratios[1] -= (e * a - d * b) / determinant;
        rest = residuals(log_ratios);
    }
    let square: f64 = rest.iter().flatten().map(|r| r * r).sum::<f64>() / rest.len() as f64;
    square * INDEPENDENT_LEVELS / (CHROMA_ERROR * CHROMA_ERROR)
}

#[cfg(test)]
mod tests {
    use super::super::sample::Sample;
    use super::*;

    /// A card of the given linear proportions under `curve`, from dim to bright by `range`.
    fn card(curve: Contrast, proportions: [f64; 3], range: f64) -> Samples {
        let cells = (0..4000)
            .map(|i| {
                let light = 0.5 * range.powf(f64::from(i) / 4000.0 - 0.5);
                let linear = proportions
                    .map(|p| TransferCurve::Srgb.decode(curve.applied_to_linear(p * light)));
                Sample { column: i as usize, row: 0, linear, weight: 1.0 }
            })
            .collect();
        Samples { cells, clipped: 0.0, glare: 0.0, marked: 0.0, level: 0.5 }
    }

    fn ratio_of(candidates: &[Candidate]) -> f64 {
        candidates.iter().map(|c| c.probability * (c.linear[2] / c.linear[0]).ln()).sum()
    }

    #[test]
    fn undoing_a_curve_gives_back_what_it_was_applied_to() {
        for strength in [-0.2, 0.0, 0.3, 0.6, 1.0] {
            for i in 0..=100 {
                let value = f64::from(i) / 100.0;
                let back = Contrast(strength).undone(Contrast(strength).applied(value));
                assert!((back - value).abs() < 2e-3, "{strength}: {value} came back as {back}");
            }
        }
    }

    #[test]
    fn a_card_with_a_shadow_on_it_shows_its_curve() {
        for strength in [0.0, 0.3, 0.6] {
            let shaded = card(Contrast(strength), [0.9, 0.55, 0.3], 3.0);
            let found = ratio_of(&candidates(&shaded, true));
            let truth = (0.3_f64 / 0.9).ln();
            assert!((found - truth).abs() < 0.03, "{strength}: {found}, not {truth}");
        }
    }

    #[test]
    fn an_even_card_or_coloured_bands_leave_the_prior() {
        let even = card(Contrast(0.6), [0.9, 0.55, 0.3], 1.0);
        let banded = card(Contrast(0.6), [0.9, 0.55, 0.3], 3.0);
        for candidates in [candidates(&even, true), candidates(&banded, false)] {
            let sum: f64 = candidates.iter().map(|c| c.probability).sum();
            let most = candidates.iter().map(|c| c.probability).fold(0.0, f64::max);
            assert!((sum - 1.0).abs() < 1e-12);
            assert!(most < 0.1, "one curve stands out without evidence: {most}");
        }
    }

    #[test]
    fn chromaticity_that_changes_with_brightness_otherwise_says_nothing() {
        let mut samples = card(Contrast(0.0), [0.6, 0.55, 0.5], 3.0);
        for (i, sample) in samples.cells.iter_mut().enumerate() {
            sample.linear[2] *= 1.0 + 0.3 * (i as f64 / 500.0).sin();
        }
        let most = candidates(&samples, true).iter().map(|c| c.probability).fold(0.0, f64::max);
        assert!(most < 0.12, "a curve is claimed from colours that no curve explains: {most}");
    }

    #[test]
    fn a_stated_curve_is_undone_whatever_the_file_was_read_as() {
        let encoded = [0.8, 0.6, 0.4];
        let mean = encoded.map(|v| Transfer::Srgb.to_linear(0, v));
        let candidates = stated(mean, TransferCurve::Gamma(1.8), &Transfer::Srgb);
        for (found, v) in candidates[0].linear.iter().zip(encoded) {
            assert!((found - v.powf(1.8)).abs() < 1e-6, "{found}, not {}", v.powf(1.8));
        }
    }

    #[test]
    fn no_samples_give_no_candidates() {
        let mut empty = card(Contrast(0.0), [0.5; 3], 1.0);
        empty.cells.clear();
        assert!(candidates(&empty, true).is_empty());
    }
}
