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

    /// A channel's mean light of values with these means and these standard deviations: the mean of what one
    /// deviation less and one more give. That is right to the second order whatever the distribution, and what
    /// lies beyond the ends of the scale counts as the end, as it does in the file.
    pub(super) fn means(&self, channel: usize, values: &[f32], deviations: &[f32]) -> Vec<f32> {
        /// Places are worked out so many at once, in loops that the compiler can turn into vectors.
        const AT_ONCE: usize = 64;
        let table = &self.0[channel];
        let mut light = Vec::with_capacity(values.len());
        let mut spots = [[(0_u32, 0.0_f32); AT_ONCE]; 2];
        for (values, deviations) in values.chunks(AT_ONCE).zip(deviations.chunks(AT_ONCE)) {
            let [less, more] = &mut spots;
            for (((less, more), value), deviation) in
                less.iter_mut().zip(more).zip(values).zip(deviations)
            {
                (*less, *more) = (spot(value - deviation), spot(value + deviation));
            }
            let [less, more] = &spots;
            let spots = less.iter().zip(more).take(values.len());
            light.extend(spots.map(|(less, more)| 0.5 * (at(table, *less) + at(table, *more))));
        }
        light
    }
}

/// Where in a table the light of a value stands, and how far it is to the next one.
#[inline(always)]
fn spot(level: f32) -> (u32, f32) {
    let (below, part) = below((level * STEPS).clamp(0.0, LAST));
    // The light at a step stands one place further on.
    (below.wrapping_add(1) & (PLACES as u32 - 1), part)
}

#[inline(always)]
fn at(table: &Table, (place, part): (u32, f32)) -> f32 {
    let [here, next] = [0, 1].map(|more| table[(place + more) as usize & (PLACES - 1)]);
    here + (next - here) * part
}
