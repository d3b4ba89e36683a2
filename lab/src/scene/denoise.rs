//! Smooths the light on surfaces without crossing edges, so that few rays a pixel are enough.
//!
//! The à-trous wavelet filter with variance-guided edges (Dammertz et al., 2010; Schied et al., 2017). It works on the
//! light that falls on surfaces, so their texture is not touched.

use rayon::prelude::*;

use super::vec3::Vec3;

const KERNEL: [f32; 3] = [0.375, 0.25, 0.0625];
const PASSES: u32 = 6;
/// How many deviations two pixels' light may differ by and still be one surface's.
const DEVIATIONS: f32 = 4.0;

/// A difference too small to be an edge, as a share of the light.
const UNSEEN: f32 = 0.015;

/// What the smoothing needs to know about a pixel.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Guide {
    pub(super) normal: Vec3,
    pub(super) place: Vec3,
    pub(super) distance: f32,
}

/// Light with the noise of the rays smoothed away; `variance` is that of each pixel's green light.
pub(super) fn smoothed(
    width: usize,
    mut light: Vec<[f32; 3]>,
    mut variance: Vec<f32>,
    guides: &[Guide],
) -> Vec<[f32; 3]> {
    let height = light.len() / width.max(1);
    light = without_sparks(width, &light);
    for pass in 0..PASSES {
        let step = 1_i64 << pass;
        let around = blurred(width, height, &variance);
        let (next_light, next_variance) = (0..light.len())
            .into_par_iter()
            .map(|index| {
                let (row, column) = ((index / width) as i64, (index % width) as i64);
                let own = light[index];
                let guide = guides[index];
                let tolerance = DEVIATIONS * around[index].sqrt() + UNSEEN * own[1] + 1e-5;
                let (mut sum, mut total, mut spread) = ([0.0; 3], 0.0, 0.0);
                for dy in -2..=2_i64 {
                    let y = row + dy * step;
                    if y < 0 || y >= height as i64 {
                        continue;
                    }
                    for dx in -2..=2_i64 {
                        let x = column + dx * step;
                        if x < 0 || x >= width as i64 {
                            continue;
                        }
                        let other = y as usize * width + x as usize;
                        let near = guides[other];
                        let alike = guide.normal.dot(near.normal).max(0.0).powi(32);
                        let off_plane = guide.normal.dot(near.place - guide.place).abs();
                        let allowed = 0.004 * guide.distance + 1e-4;
                        let apart = (light[other][1] - own[1]).abs() / tolerance;
                        let weight = KERNEL[dx.unsigned_abs() as usize]
                            * KERNEL[dy.unsigned_abs() as usize]
                            * alike
                            * (-off_plane / allowed - apart).exp();
                        for c in 0..3 {
                            sum[c] += weight * light[other][c];
                        }
                        total += weight;
                        spread += weight * weight * variance[other];
                    }
                }
                if total > 1e-6 {
                    (sum.map(|value| value / total), spread / (total * total))
                } else {
                    (own, variance[index])
                }
            })
            .unzip();
        light = next_light;
        variance = next_variance;
    }
    light
}

/// Single pixels brighter than all around them brought down to the brightest of those.
pub(super) fn without_sparks(width: usize, light: &[[f32; 3]]) -> Vec<[f32; 3]> {
    let height = light.len() / width.max(1);
    (0..light.len())
        .into_par_iter()
        .map(|index| {
            let (row, column) = (index / width, index % width);
            let mut brightest = [0.0_f32; 3];
            for y in row.saturating_sub(1)..=(row + 1).min(height - 1) {
                for x in column.saturating_sub(1)..=(column + 1).min(width - 1) {
                    let other = y * width + x;
                    if other != index {
                        brightest = std::array::from_fn(|c| brightest[c].max(light[other][c]));
                    }
                }
            }
            std::array::from_fn(|c| light[index][c].min(brightest[c]))
        })
        .collect()
}

/// Mean over 7 × 7 pixels: a pixel's own variance is too uncertain to go by.
fn blurred(width: usize, height: usize, values: &[f32]) -> Vec<f32> {
    (0..values.len())
        .into_par_iter()
        .map(|index| {
            let (row, column) = (index / width, index % width);
            let (mut sum, mut count) = (0.0, 0.0);
            for y in row.saturating_sub(3)..=(row + 3).min(height - 1) {
                for x in column.saturating_sub(3)..=(column + 3).min(width - 1) {
                    sum += values[y * width + x];
                    count += 1.0;
                }
            }
            sum / count
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::Rng;
    use crate::scene::vec3::vec3;

    #[test]
    fn smooths_noise_and_keeps_a_shadow_edge() {
        let (width, height) = (64, 64);
        let mut rng = Rng::new(3);
        let truth = |index: usize| if index % width < width / 2 { 0.2 } else { 1.0 };
        let light: Vec<[f32; 3]> = (0..width * height)
            .map(|index| [truth(index) + 0.05 * rng.normal() as f32; 3])
            .collect();
        let guides: Vec<Guide> = (0..width * height)
            .map(|index| Guide {
                normal: vec3(0.0, 0.0, 1.0),
                place: vec3((index % width) as f32 * 0.01, (index / width) as f32 * 0.01, 0.0),
                distance: 1.0,
            })
            .collect();
        let out = smoothed(width, light, vec![0.05 * 0.05; width * height], &guides);
        let worst = out
            .iter()
            .enumerate()
            .map(|(index, value)| (value[1] - truth(index)).abs())
            .fold(0.0, f32::max);
        assert!(worst < 0.06, "{worst}");
    }
}
