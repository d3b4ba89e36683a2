//! A transfer curve by table, for encoded values between whole levels.

use std::sync::{Arc, LazyLock};

use super::{SampledCurves, Transfer};
use crate::whole::below;

/// Linear light by encoded value, 0–255, one table a channel.
pub(super) struct TransferTable([Arc<Table>; 3]);

/// Steps between neighbouring levels of 8 bits.
const STEPS: f32 = 16.0;
const LAST: f32 = (SampledCurves::SAMPLES - 1) as f32;
/// A power of two, so that a mask keeps places inside: one more than there are steps comes before the first, and
/// the others behind the last.
const PLACES: usize = 1 << 12;
const _: () = assert!(SampledCurves::SAMPLES + 2 <= PLACES);
/// The light at step `n` stands at `n + 1`.
type Table = [f32; PLACES];

static SRGB: LazyLock<Arc<Table>> = LazyLock::new(|| table(&Transfer::Srgb, 0));

fn table(transfer: &Transfer, channel: usize) -> Arc<Table> {
    let light = |place: usize| {
        let step = place.saturating_sub(1).min(SampledCurves::SAMPLES - 1);
        transfer.to_linear(channel, step as f64 / f64::from(LAST)) as f32
    };
    Arc::new(std::array::from_fn(light))
}

impl TransferTable {
    /// The tables of a curve.
    pub(super) fn of(transfer: &Transfer) -> Self {
        let one = |table: Arc<Table>| Self([table.clone(), table.clone(), table]);
        match transfer {
            Transfer::Srgb => one(SRGB.clone()),
            Transfer::Curves(curves) if !curves.are_equal() => {
                Self(std::array::from_fn(|channel| table(transfer, channel)))
            }
            _ => one(table(transfer, 0)),
        }
    }

    /// Each channel's mean light of values with this mean and this standard deviation: the mean of what one
    /// deviation less and one more give. That is right to the second order whatever the distribution, and what
    /// lies beyond the ends of the scale counts as the end, as it does in the file.
    #[inline]
    pub(super) fn mean(&self, channels: [f32; 3], deviations: [f32; 3]) -> [f32; 3] {
        let mut means = [0.0; 3];
        let values = self.0.iter().zip(channels).zip(deviations);
        for (light, ((table, mean), deviation)) in means.iter_mut().zip(values) {
            *light = 0.5 * (at(table, mean - deviation) + at(table, mean + deviation));
        }
        means
    }
}

#[inline]
fn at(table: &Table, level: f32) -> f32 {
    let (below, part) = below((level * STEPS).clamp(0.0, LAST));
    // The light at a step stands one place further on.
    let [here, next] = [1, 2].map(|more| table[below.wrapping_add(more) as usize & (PLACES - 1)]);
    here + (next - here) * part
}
