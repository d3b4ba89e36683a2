//! The light that a raw card's samples stand for: straight through the camera's own matrices,
//! without a balance or a tone curve in the way.

use super::calibration_raw::RawCurves;
use super::sample::Samples;
use super::uncertainty::{Estimate, HALF_90, within_range};
use crate::balance::White;

/// The light of the card's mean colour `mean`, with what noise and the camera's matrices leave
/// open. `light` gives the light for a linear colour of the card.
///
/// `None` where no light gives the card's colour.
pub(crate) fn estimate(
    samples: &Samples,
    mean: [f64; 3],
    curves: Option<&RawCurves>,
    light: impl Fn([f64; 3]) -> Option<White>,
) -> Option<Estimate> {
    let white = light(mean)?;
    let (mired, duv) = (white.mired().get(), white.duv.get());
    let noise = noise(samples, mean, white, light);
    let model = curves.map_or([0.0; 2], |curves| curves.half_widths(white));
    let [half_mired, half_duv] = [0, 1].map(|i| f64::hypot(model[i], HALF_90 * noise[i]));
    Some(Estimate {
        white,
        mired_interval: [within_range(mired - half_mired), within_range(mired + half_mired)],
        duv_interval: [duv - half_duv, duv + half_duv],
        recorded_half_mired: HALF_90 * noise[0],
    })
}

/// Standard error of the light in mired and Duv that follows from how the cells' colours scatter.
/// Only their proportions count: brightness may vary.
fn noise(
    samples: &Samples,
    mean: [f64; 3],
    white: White,
    light: impl Fn([f64; 3]) -> Option<White>,
) -> [f64; 2] {
    let mut square = [0.0; 2];
    for channel in [0, 2] {
        let log_ratios = samples.cells.iter().filter_map(|sample| {
            let ratio = sample.linear[channel] / sample.linear[1];
            (ratio > 0.0 && sample.weight > 0.0).then(|| ratio.ln())
        });
        let error = standard_error(log_ratios);
        let mut moved = mean;
        moved[channel] *= error.exp();
        let Some(moved) = light(moved) else { continue };
        square[0] += (moved.mired() - white.mired()).get().powi(2);
        square[1] += (moved.duv - white.duv).get().powi(2);
    }
    square.map(f64::sqrt)
}

fn standard_error(values: impl Iterator<Item = f64>) -> f64 {
    let (mut count, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for value in values {
        count += 1.0;
        sum += value;
        squares += value * value;
    }
    if count < 2.0 {
        return 0.0;
    }
    let variance = (squares / count - (sum / count).powi(2)).max(0.0);
    (variance / (count - 1.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::sample::Sample;
    use super::*;

    fn light(linear: [f64; 3]) -> Option<White> {
        use crate::colour::{Duv, Mired};
        let mired = 200.0 + 100.0 * (linear[0] / linear[2]).ln();
        White::new(Mired::new(mired).ok()?.kelvin(), Duv::new(0.0)).ok()
    }

    fn samples(count: usize, scatter: f64) -> Samples {
        let cells = (0..count)
            .map(|i| {
                let sign = if i % 2 == 0 { 1.0 } else { -1.0 };
                let level = 0.3 + 0.4 * i as f64 / count as f64;
                let linear = [level * (1.0 + sign * scatter), level, level];
                Sample { column: i, row: 0, linear, weight: 1.0 }
            })
            .collect();
        Samples::of_cells(cells)
    }

    #[test]
    fn noise_widens_the_interval_and_more_cells_narrow_it() {
        let width = |count, scatter| {
            let found = estimate(&samples(count, scatter), [0.5; 3], None, light).expect("read");
            found.mired_interval[1] - found.mired_interval[0]
        };
        assert!(width(400, 0.0) < 1e-9);
        // 100 mired for a unit of log ratio, 2 % scatter, 20 = √400.
        assert!((width(400, 0.02) - 2.0 * 1.645 * 100.0 * 0.02 / 20.0).abs() < 0.005);
        assert!(width(100, 0.02) > 1.9 * width(400, 0.02));
    }

    #[test]
    fn a_colour_that_no_light_has_gives_nothing() {
        assert!(estimate(&samples(9, 0.0), [0.5; 3], None, |_| None).is_none());
    }
}
