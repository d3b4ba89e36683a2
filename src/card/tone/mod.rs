//! What a card shows of its own tone curve.
//!
//! A camera does not record linear light: it lays a contrast curve over it, and does not say
//! which. Over one card in one light chromaticity is constant while brightness varies (falloff,
//! a shadow's edge), so once the true curve is undone the channels stay in proportion. How well
//! they do under each curve of a family is the likelihood of that curve; where a card is lit so
//! evenly that it says nothing, the prior is left.

mod contrast;
mod fit;
mod shades;

use super::sample::Samples;
use crate::colour::TransferCurve;
use crate::still::Transfer;
use contrast::Contrast;
use fit::{Fit, fit};
use shades::{Scale, Shades};

/// One curve of the family: how probable it is, and the card's colour with it undone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Candidate {
    /// Adds up to 1 over all candidates.
    pub(crate) probability: f64,
    /// Mean linear light of the encoding's channels with this curve undone.
    pub(crate) linear: [f64; 3],
    /// Covariance of the logarithms of red and of blue against green: red, both, blue. `None`
    /// where the card's shades were not fitted.
    pub(crate) covariance: Option<[f64; 3]>,
}

impl Candidate {
    fn fitted(probability: f64, fit: &Fit, green: f64) -> Self {
        let [red, blue] = fit.log_ratios.map(f64::exp);
        let linear = [red, 1.0, blue].map(|ratio| ratio * green);
        Self { probability, linear, covariance: Some(fit.covariance) }
    }
}

/// Noise to begin a fit at, in levels.
const FIRST_NOISE: [f64; 2] = [0.2; 2];

/// Strengths that are tried.
const WEAKEST: f64 = -0.2;
const STRONGEST: f64 = 1.0;
const STRENGTHS: usize = 25;

/// Cameras' curves before anything is known of this one: mean and standard deviation of the
/// strength.
const PRIOR: (f64, f64) = (0.3, 0.3);

/// Every curve of the family with its probability for these samples. Empty without samples.
///
/// `evidence` is false where brightness and chromaticity are known to vary together for another
/// reason (coloured mains bands): then only the prior speaks.
pub(crate) fn candidates(samples: &Samples, transfer: &Transfer, evidence: bool) -> Vec<Candidate> {
    let levels = shades::levels(&samples.cells);
    let means: Vec<[f64; 3]> =
        strengths().map(|strength| undone_mean(Contrast(strength), &levels)).collect();
    let fits = if evidence { fits(samples, transfer, &means) } else { None };
    let likeliest = fits.iter().flatten().map(|f| f.log_likelihood).fold(f64::MIN, f64::max);
    let mut candidates: Vec<Candidate> = strengths()
        .zip(means)
        .enumerate()
        .map(|(i, (strength, mean))| {
            let deviation = (strength - PRIOR.0) / PRIOR.1;
            let prior = (-0.5 * deviation * deviation).exp();
            match fits.as_ref().and_then(|fits| fits.get(i)) {
                Some(fit) => {
                    let likelihood = (fit.log_likelihood - likeliest).exp();
                    Candidate::fitted(prior * likelihood, fit, mean[1])
                }
                None => Candidate { probability: prior, linear: mean, covariance: None },
            }
        })
        .filter(|candidate| candidate.linear.iter().all(|v| v.is_finite()))
        .collect();
    let sum: f64 = candidates.iter().map(|candidate| candidate.probability).sum();
    candidates.iter_mut().for_each(|candidate| candidate.probability /= sum);
    candidates
}

/// Fewer blocks than this say nothing of the curve.
const FEWEST_BLOCKS: f64 = 24.0;

fn strengths() -> impl Iterator<Item = f64> {
    (0..STRENGTHS).map(|i| WEAKEST + (STRONGEST - WEAKEST) * i as f64 / (STRENGTHS - 1) as f64)
}

/// The fit under every curve, `means` with each undone; `None` where one of them cannot be fitted.
fn fits(samples: &Samples, transfer: &Transfer, means: &[[f64; 3]]) -> Option<Vec<Fit>> {
    let shades = Shades::of(samples);
    if shades.blocks < FEWEST_BLOCKS {
        return None;
    }
    let scale = match samples.stored {
        Some(_) => Scale::of(transfer),
        None => Scale::Same,
    };
    let mut noise = FIRST_NOISE;
    strengths()
        .zip(means)
        .map(|(strength, mean)| {
            let start = (log_ratios(*mean), noise);
            let found = fit(&shades, Contrast(strength), &scale, start)?;
            noise = found.noise;
            Some(found)
        })
        .collect()
}

/// Natural logarithms of red and blue against green.
fn log_ratios(linear: [f64; 3]) -> [f64; 2] {
    let [red, green, blue] = linear.map(|v| v.max(1e-6));
    [(red / green).ln(), (blue / green).ln()]
}

/// Mean over the levels with a curve undone.
fn undone_mean(curve: Contrast, levels: &[[f64; 3]]) -> [f64; 3] {
    let sum = levels.iter().fold([0.0; 3], |mut sum, level| {
        sum.iter_mut().zip(level).for_each(|(sum, v)| *sum += curve.undone_linear(*v));
        sum
    });
    sum.map(|sum| sum / levels.len() as f64)
}

/// The one candidate where the user knows what the recorded numbers mean: `mean` is the card's
/// colour as the file's own `transfer` has it. `evidence` as for [`candidates`].
pub(crate) fn stated(
    samples: &Samples,
    mean: [f64; 3],
    curve: TransferCurve,
    transfer: &Transfer,
    evidence: bool,
) -> Vec<Candidate> {
    let linear: [f64; 3] =
        std::array::from_fn(|channel| curve.decode(encoded_by(transfer, channel, mean[channel])));
    let shades = Shades::of(samples);
    let fitted = if evidence && samples.stored.is_some() && shades.blocks >= FEWEST_BLOCKS {
        let start = (log_ratios(linear), FIRST_NOISE);
        fit(&shades, Contrast(0.0), &Scale::Stated(curve), start)
    } else {
        None
    };
    vec![match fitted {
        Some(fitted) => Candidate::fitted(1.0, &fitted, linear[1]),
        None => Candidate { probability: 1.0, linear, covariance: None },
    }]
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

#[cfg(test)]
mod tests {
    use super::super::sample::{Sample, StoredShades};
    use super::shades::luma_differences;
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
        Samples::of_cells(cells)
    }

    fn ratio_of(candidates: &[Candidate]) -> f64 {
        candidates.iter().map(|c| c.probability * (c.linear[2] / c.linear[0]).ln()).sum()
    }

    /// The same card as a JPEG stores it, with colour differences in steps of `step`.
    fn stored(
        curve: Contrast,
        scale: &Scale,
        proportions: [f64; 3],
        range: f64,
        step: f64,
    ) -> Samples {
        let mut samples = card(curve, proportions, range);
        let mut noise = (1..).map(|i: u64| {
            let hash = i.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 40;
            hash as f64 / f64::from(1 << 24) - 0.5
        });
        let blocks = (0..3000)
            .map(|i| {
                let light = 0.5 * range.powf(f64::from(i) / 3000.0 - 0.5);
                let [r, g, b] = proportions.map(|p| curve.applied_to_linear(p * light));
                let encoded = [scale.recorded(0, r), scale.recorded(1, g), scale.recorded(2, b)];
                let [luma, differences @ ..] = luma_differences(encoded);
                let [blue, red] =
                    differences.map(|d| ((d + 0.3 * noise.next().unwrap()) / step).round() * step);
                [luma as f32, blue as f32, red as f32]
            })
            .collect();
        samples.stored = Some(StoredShades { steps: [step as f32; 2], blocks });
        samples
    }

    #[test]
    fn the_steps_of_a_jpeg_show_the_curve_of_a_card_with_little_shading() {
        let truth = (0.3_f64 / 0.9).ln();
        for strength in [0.0, 0.3, 0.6] {
            for step in [0.25, 0.625] {
                let samples =
                    stored(Contrast(strength), &Scale::Same, [0.9, 0.55, 0.3], 1.12, step);
                let candidates = candidates(&samples, &Transfer::Srgb, true);
                let found = ratio_of(&candidates);
                assert!((found - truth).abs() < 0.06, "{strength} {step}: {found}, not {truth}");
            }
        }
    }

    #[test]
    fn a_card_that_lies_in_one_step_is_known_to_that_step() {
        let deviations = [1.0, 2.0, 4.0].map(|step| {
            let mut card = stored(Contrast(0.3), &Scale::Same, [0.9, 0.55, 0.3], 1.0, step);
            // In the middle of a step, the worst case: no block lies beside another value.
            for block in &mut card.stored.as_mut().unwrap().blocks {
                block[1] = (block[1] / step as f32).round() * step as f32;
            }
            let candidates = candidates(&card, &Transfer::Srgb, true);
            let most = |i: usize| {
                let variance = |c: &Candidate| c.covariance.map_or(f64::NAN, |found| found[i]);
                candidates.iter().map(variance).fold(0.0, f64::max).sqrt()
            };
            [most(0), most(2)]
        });
        for i in 0..2 {
            let [fine, middle, coarse] = deviations.map(|both| both[i]);
            assert!(fine < middle && middle < coarse, "{deviations:?}");
            // Twice the step, twice the deviation, noise apart: a level is about a hundredth.
            assert!(coarse < 0.1 && (1.6..2.2).contains(&(coarse / middle)), "{deviations:?}");
        }
    }

    #[test]
    fn a_file_with_another_scale_shows_its_curve_on_that_scale() {
        let transfer = Transfer::Power(2.2);
        let scale = Scale::of(&transfer);
        let samples = stored(Contrast(0.6), &scale, [0.9, 0.55, 0.3], 1.3, 0.25);
        let found = ratio_of(&candidates(&samples, &transfer, true));
        let truth = (0.3_f64 / 0.9).ln();
        assert!((found - truth).abs() < 0.04, "{found}, not {truth}");
    }

    #[test]
    fn a_card_with_a_shadow_on_it_shows_its_curve() {
        for strength in [0.0, 0.3, 0.6] {
            let shaded = card(Contrast(strength), [0.9, 0.55, 0.3], 3.0);
            let found = ratio_of(&candidates(&shaded, &Transfer::Srgb, true));
            let truth = (0.3_f64 / 0.9).ln();
            assert!((found - truth).abs() < 0.03, "{strength}: {found}, not {truth}");
        }
    }

    #[test]
    fn an_even_card_or_coloured_bands_leave_the_prior() {
        let even = card(Contrast(0.6), [0.9, 0.55, 0.3], 1.0);
        let banded = card(Contrast(0.6), [0.9, 0.55, 0.3], 3.0);
        for candidates in
            [candidates(&even, &Transfer::Srgb, true), candidates(&banded, &Transfer::Srgb, false)]
        {
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
        let most = candidates(&samples, &Transfer::Srgb, true)
            .iter()
            .map(|c| c.probability)
            .fold(0.0, f64::max);
        assert!(most < 0.12, "a curve is claimed from colours that no curve explains: {most}");
    }

    #[test]
    fn a_stated_curve_is_undone_whatever_the_file_was_read_as() {
        let encoded = [0.8, 0.6, 0.4];
        let mean = encoded.map(|v| Transfer::Srgb.to_linear(0, v));
        let unstored = card(Contrast(0.0), encoded, 1.0);
        let curve = TransferCurve::Gamma(1.8);
        let candidates = stated(&unstored, mean, curve, &Transfer::Srgb, true);
        for (found, v) in candidates[0].linear.iter().zip(encoded) {
            assert!((found - v.powf(1.8)).abs() < 1e-6, "{found}, not {}", v.powf(1.8));
        }
    }

    #[test]
    fn a_stated_curve_is_undone_in_the_stored_steps_too() {
        let proportions = [0.9, 0.55, 0.3];
        let scale = Scale::Stated(TransferCurve::Gamma(1.8));
        let samples = stored(Contrast(0.0), &scale, proportions, 1.12, 0.625);
        let mean = samples.stored.as_ref().unwrap().blocks[1500];
        let (luma, blue, red) = (mean[0], mean[1], mean[2]);
        let encoded =
            [luma + 1.402 * red, luma - 0.344_136 * blue - 0.714_136 * red, luma + 1.772 * blue];
        let mean = encoded.map(|v| Transfer::Srgb.to_linear(0, f64::from(v) / 255.0));
        let curve = TransferCurve::Gamma(1.8);
        let candidates = stated(&samples, mean, curve, &Transfer::Srgb, true);
        assert!(candidates[0].covariance.is_some());
        let found = ratio_of(&candidates);
        let truth = (0.3_f64 / 0.9).ln();
        assert!((found - truth).abs() < 0.004, "{found}, not {truth}");
    }

    #[test]
    fn no_samples_give_no_candidates() {
        let mut empty = card(Contrast(0.0), [0.5; 3], 1.0);
        empty.cells.clear();
        assert!(candidates(&empty, &Transfer::Srgb, true).is_empty());
    }
}
