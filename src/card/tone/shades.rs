//! A card's shades: how its colour differences go with its luma, as the file stores them.

use super::super::sample::{Sample, Samples};
use crate::colour::TransferCurve;
use crate::still::Transfer;

/// What is known of one shade of the card: its luma, and between which bounds a colour difference
/// lies. All in levels of 8 bits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shade {
    pub(super) luma: f64,
    /// The stored difference; the true one is within half a step of it, noise apart.
    pub(super) stored: f64,
    pub(super) step: f64,
    /// How many blocks say so.
    pub(super) count: f64,
}

/// The shades of a card for the blue and for the red difference, each in order of luma.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shades {
    pub(super) of: [Vec<Shade>; 2],
    /// How many blocks there are in all.
    pub(super) blocks: f64,
}

/// Luma is known far better than the colour differences; blocks are gathered by it in bins this
/// wide, in levels.
const LUMA_BIN: f64 = 0.25;

/// Without blocks the samples are gathered into as many levels of equal weight.
const LEVELS: usize = 48;

/// The step of a mean over many samples, in levels: next to nothing.
const FINE: f64 = 0.02;

impl Shades {
    /// From the blocks of a JPEG where there are any, else from the samples.
    pub(super) fn of(samples: &Samples) -> Self {
        match &samples.stored {
            Some(stored) => {
                let of = [0, 1].map(|i| {
                    gathered(
                        stored.blocks.iter().map(|b| (b[0], b[1 + i])),
                        f64::from(stored.steps[i]),
                    )
                });
                Self { of, blocks: stored.blocks.len() as f64 }
            }
            None => {
                let levels = levels(&samples.cells);
                let of = [0, 1].map(|i| {
                    levels
                        .iter()
                        .map(|level| {
                            let [luma, differences @ ..] =
                                luma_differences(level.map(|v| TransferCurve::Srgb.encode(v)));
                            Shade { luma, stored: differences[i], step: FINE, count: 1.0 }
                        })
                        .collect()
                });
                Self { of, blocks: levels.len() as f64 }
            }
        }
    }
}

/// Blocks of the same luma and the same stored difference put together.
fn gathered(blocks: impl Iterator<Item = (f32, f32)>, step: f64) -> Vec<Shade> {
    let mut ordered: Vec<(i32, i32, f64)> = blocks
        .map(|(luma, stored)| {
            let (luma, stored) = (f64::from(luma), f64::from(stored));
            ((luma / LUMA_BIN).round() as i32, (stored / step.max(1e-6)).round() as i32, luma)
        })
        .collect();
    ordered.sort_by_key(|block| (block.0, block.1));
    ordered
        .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
        .map(|alike| {
            let count = alike.len() as f64;
            Shade {
                luma: alike.iter().map(|b| b.2).sum::<f64>() / count,
                stored: f64::from(alike[0].1) * step,
                step,
                count,
            }
        })
        .collect()
}

/// Mean linear colours of the samples in order of brightness, gathered into levels of about equal
/// weight.
pub(super) fn levels(samples: &[Sample]) -> Vec<[f64; 3]> {
    let mut ordered: Vec<&Sample> = samples.iter().filter(|s| s.weight > 0.0).collect();
    ordered.sort_by(|a, b| a.log_level().total_cmp(&b.log_level()));
    let total: f64 = ordered.iter().map(|sample| sample.weight).sum();
    let mut levels = vec![([0.0; 3], 0.0); LEVELS];
    let mut before = 0.0;
    for sample in ordered {
        let index = ((before / total * LEVELS as f64) as usize).min(LEVELS - 1);
        before += sample.weight;
        let (sum, weight) = &mut levels[index];
        *weight += sample.weight;
        sum.iter_mut().zip(sample.linear).for_each(|(sum, v)| *sum += v * sample.weight);
    }
    levels
        .into_iter()
        .filter(|(_, weight)| *weight > 0.0)
        .map(|(sum, weight)| sum.map(|sum| sum / weight))
        .collect()
}

/// Luma and the blue and the red difference of encoded RGB 0–1, in levels of 8 bits (Rec. ITU-T
/// T.871, with the differences 0 where neutral).
pub(super) fn luma_differences([r, g, b]: [f64; 3]) -> [f64; 3] {
    let luma = 0.299 * r + 0.587 * g + 0.114 * b;
    [luma * 255.0, (b - luma) / 1.772 * 255.0, (r - luma) / 1.402 * 255.0]
}

/// What the file's numbers are on the sRGB scale, and back: the family of curves is laid on that
/// scale, and files may use another.
#[derive(Debug, Clone)]
pub(super) enum Scale {
    /// The file's own scale is sRGB's.
    Same,
    /// For each channel the file's encoded value at equal steps of the sRGB-encoded one, 0 to 1.
    Tables([Vec<f64>; 3]),
    /// The user says that the file's numbers are this curve's.
    Stated(TransferCurve),
}

/// Steps of a scale's table.
const SCALE_STEPS: usize = 256;

impl Scale {
    pub(super) fn of(transfer: &Transfer) -> Self {
        if matches!(transfer, Transfer::Srgb) {
            return Self::Same;
        }
        Self::Tables([0, 1, 2].map(|channel| {
            (0..=SCALE_STEPS)
                .map(|i| {
                    let linear = TransferCurve::Srgb.decode(i as f64 / SCALE_STEPS as f64);
                    super::encoded_by(transfer, channel, linear)
                })
                .collect()
        }))
    }

    /// The file's encoded value of an sRGB-encoded one, both 0–1.
    pub(super) fn recorded(&self, channel: usize, encoded: f64) -> f64 {
        match self {
            Self::Same => encoded,
            Self::Stated(curve) => curve.encode(TransferCurve::Srgb.decode(encoded)),
            Self::Tables(tables) => {
                let at = encoded.clamp(0.0, 1.0) * SCALE_STEPS as f64;
                let low = (at as usize).min(SCALE_STEPS - 1);
                let part = at - low as f64;
                let table = &tables[channel.min(2)];
                table[low] + part * (table[low + 1] - table[low])
            }
        }
    }
}
