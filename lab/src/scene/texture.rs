//! Procedural variation of surfaces: value noise and what is made of it.

use super::vec3::{Vec3, vec3};

/// A number in [0, 1) that depends on a lattice point only.
fn lattice(x: i32, y: i32, z: i32) -> f32 {
    let mut h = (x as u32)
        .wrapping_mul(0x8da6_b343)
        .wrapping_add((y as u32).wrapping_mul(0xd816_3841))
        .wrapping_add((z as u32).wrapping_mul(0xcb1a_b31f));
    h = (h ^ (h >> 15)).wrapping_mul(0x2c1b_3c6d);
    h = (h ^ (h >> 12)).wrapping_mul(0x297a_2d39);
    ((h ^ (h >> 15)) >> 8) as f32 / (1_u32 << 24) as f32
}

/// Smooth noise in [0, 1] with features about one unit apart.
pub(super) fn noise(p: Vec3) -> f32 {
    let (fx, fy, fz) = (p.x.floor(), p.y.floor(), p.z.floor());
    let (x, y, z) = (fx as i32, fy as i32, fz as i32);
    let ease = |t: f32| t * t * (3.0 - 2.0 * t);
    let (u, v, w) = (ease(p.x - fx), ease(p.y - fy), ease(p.z - fz));
    let blend = |a: f32, b: f32, t: f32| a + (b - a) * t;
    let edge = |dy: i32, dz: i32| {
        blend(lattice(x, y + dy, z + dz), lattice(x.wrapping_add(1), y + dy, z + dz), u)
    };
    blend(blend(edge(0, 0), edge(1, 0), v), blend(edge(0, 1), edge(1, 1), v), w)
}

/// Noise of several octaves, about 0.5 on average.
pub(super) fn fractal(p: Vec3, octaves: u32) -> f32 {
    let (mut sum, mut weight, mut total, mut place) = (0.0, 0.5, 0.0, p);
    for _ in 0..octaves {
        sum += weight * noise(place);
        total += weight;
        weight *= 0.5;
        place = place * 2.03 + vec3(17.3, 5.1, 11.7);
    }
    sum / total
}

/// Gradient of a height field, by differences over `step`.
pub(super) fn gradient(p: Vec3, step: f32, height: impl Fn(Vec3) -> f32) -> Vec3 {
    let here = height(p);
    vec3(
        height(p + vec3(step, 0.0, 0.0)) - here,
        height(p + vec3(0.0, step, 0.0)) - here,
        height(p + vec3(0.0, 0.0, step)) - here,
    ) * (1.0 / step)
}

/// 0 below `low`, 1 above `high`, smooth between.
pub(super) fn smooth_step(low: f32, high: f32, x: f32) -> f32 {
    let t = ((x - low) / (high - low)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_is_bounded_continuous_and_not_flat() {
        let values: Vec<f32> =
            (0..4000).map(|i| noise(vec3(i as f32 * 0.01 - 20.0, 0.3, -7.7))).collect();
        assert!(values.iter().all(|v| (0.0..=1.0).contains(v)));
        assert!(values.windows(2).all(|pair| (pair[0] - pair[1]).abs() < 0.05));
        let spread =
            values.iter().copied().fold(0.0, f32::max) - values.iter().copied().fold(1.0, f32::min);
        assert!(spread > 0.5, "{spread}");
    }
}
