//! Minimises a smooth convex function: limited-memory BFGS (Nocedal 1980) with a backtracking line search.

use std::collections::VecDeque;

const MEMORY: usize = 12;

/// The minimum from `start`, after at most so many steps. `function` gives its value and its gradient.
pub(super) fn minimise(
    start: Vec<f64>,
    steps: usize,
    function: impl Fn(&[f64]) -> (f64, Vec<f64>),
) -> Vec<f64> {
    let mut at = start;
    let (mut value, mut gradient) = function(&at);
    let mut past: VecDeque<(Vec<f64>, Vec<f64>, f64)> = VecDeque::new();
    for _ in 0..steps {
        let direction = direction(&gradient, &past);
        let slope = dot(&direction, &gradient);
        let mut length =
            if past.is_empty() { 1.0 / dot(&gradient, &gradient).sqrt().max(1.0) } else { 1.0 };
        let next = loop {
            let there: Vec<f64> = at.iter().zip(&direction).map(|(x, d)| x + length * d).collect();
            let (lower, slope_there) = function(&there);
            if lower <= value + 1e-4 * length * slope {
                break Some((there, lower, slope_there));
            }
            length *= 0.5;
            if length < 1e-8 {
                break None;
            }
        };
        let Some((there, lower, gradient_there)) = next else { break };
        let moved: Vec<f64> = there.iter().zip(&at).map(|(a, b)| a - b).collect();
        let bent: Vec<f64> = gradient_there.iter().zip(&gradient).map(|(a, b)| a - b).collect();
        let curvature = dot(&moved, &bent);
        if curvature > 1e-12 {
            past.push_back((moved, bent, curvature));
            if past.len() > MEMORY {
                past.pop_front();
            }
        }
        let done = (value - lower) < 1e-7 * lower.abs();
        (at, value, gradient) = (there, lower, gradient_there);
        if done {
            break;
        }
    }
    at
}

/// Downhill, with the curvature that the last steps have shown.
fn direction(gradient: &[f64], past: &VecDeque<(Vec<f64>, Vec<f64>, f64)>) -> Vec<f64> {
    let mut downhill: Vec<f64> = gradient.iter().map(|value| -value).collect();
    let mut shares = Vec::with_capacity(past.len());
    for (moved, bent, curvature) in past.iter().rev() {
        let share = dot(moved, &downhill) / curvature;
        add(&mut downhill, bent, -share);
        shares.push(share);
    }
    if let Some((_, bent, curvature)) = past.back() {
        let scale = curvature / dot(bent, bent);
        downhill.iter_mut().for_each(|value| *value *= scale);
    }
    for ((moved, bent, curvature), share) in past.iter().zip(shares.iter().rev()) {
        let back = dot(bent, &downhill) / curvature;
        add(&mut downhill, moved, share - back);
    }
    downhill
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn add(sum: &mut [f64], other: &[f64], times: f64) {
    for (sum, other) in sum.iter_mut().zip(other) {
        *sum += times * other;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretched_bowl_has_its_bottom_found() {
        let bottom = [3.0, -2.0, 0.5];
        let stretch = [1.0, 100.0, 0.1];
        let bowl = |x: &[f64]| {
            let off: Vec<f64> = x.iter().zip(bottom).map(|(x, b)| x - b).collect();
            let value = off.iter().zip(stretch).map(|(o, s)| s * o * o).sum();
            (value, off.iter().zip(stretch).map(|(o, s)| 2.0 * s * o).collect())
        };
        let found = minimise(vec![0.0; 3], 200, bowl);
        for (found, wanted) in found.iter().zip(bottom) {
            assert!((found - wanted).abs() < 1e-2, "{found} is not {wanted}");
        }
    }
}
