//! A transfer curve by table, for encoded values between whole levels.

use std::sync::{Arc, LazyLock};

use super::{SampledCurves, Transfer};

/// Linear light by encoded value, 0–255, one table a channel.
pub(super) struct TransferTable([Arc<[f32]>; 3]);

/// Steps between neighbouring levels of 8 bits.
const STEPS: f32 = 16.0;

static SRGB: LazyLock<Arc<[f32]>> = LazyLock::new(|| table(&Transfer::Srgb, 0));

fn table(transfer: &Transfer, channel: usize) -> Arc<[f32]> {
    let last = (SampledCurves::SAMPLES - 1) as f64;
    (0..SampledCurves::SAMPLES)
        .map(|step| transfer.to_linear(channel, step as f64 / last) as f32)
        .collect()
}

impl TransferTable {
    /// The tables of a curve.
    pub(super) fn of(transfer: &Transfer) -> Self {
        let one = |table: Arc<[f32]>| Self([table.clone(), table.clone(), table]);
        match transfer {
            Transfer::Srgb => one(SRGB.clone()),
            Transfer::Curves(curves) if !curves.are_equal() => {
                Self(std::array::from_fn(|channel| table(transfer, channel)))
            }
            _ => one(table(transfer, 0)),
        }
    }

    /// Mean light of values with this mean and this standard deviation: the mean of what one deviation less and
    /// one more give. That is right to the second order whatever the distribution, and what lies beyond the
    /// ends of the scale counts as the end, as it does in the file.
    #[inline]
    pub(super) fn mean(&self, channel: usize, mean: f32, deviation: f32) -> f32 {
        let Some(table) = self.0.get(channel) else { return 0.0 };
        0.5 * (at(table, mean - deviation) + at(table, mean + deviation))
    }
}

#[inline]
fn at(table: &[f32], level: f32) -> f32 {
    let place = (level * STEPS).clamp(0.0, (SampledCurves::SAMPLES - 1) as f32);
    let below = place as usize;
    let here = table.get(below).copied().unwrap_or(0.0);
    let next = table.get(below + 1).copied().unwrap_or(here);
    here + (next - here) * (place - below as f32)
}
