//! Minimises a function of three variables without its gradient.

/// The minimum near `start`, by the downhill simplex method (Nelder and Mead 1965) with its usual
/// coefficients, beginning with steps of `step`.
pub(super) fn minimise(start: [f64; 3], step: f64, function: impl Fn([f64; 3]) -> f64) -> [f64; 3] {
    const MOST_STEPS: usize = 400;
    /// Far below what a file's decimals hold.
    const FINE: f64 = 1e-8;
    let valued = |at: [f64; 3]| (function(at), at);
    let mut corners = [valued(start); 4];
    for (axis, corner) in corners.iter_mut().skip(1).enumerate() {
        let mut at = start;
        at[axis] += step;
        *corner = valued(at);
    }
    for _ in 0..MOST_STEPS {
        corners.sort_by(|a, b| a.0.total_cmp(&b.0));
        let [best, second, third, worst] = corners;
        let size = (0..3).map(|i| (worst.1[i] - best.1[i]).abs()).fold(0.0, f64::max);
        if size < FINE {
            break;
        }
        let middle: [f64; 3] =
            std::array::from_fn(|i| (best.1[i] + second.1[i] + third.1[i]) / 3.0);
        let along = |factor: f64| {
            valued(std::array::from_fn(|i| middle[i] + factor * (worst.1[i] - middle[i])))
        };
        let reflected = along(-1.0);
        let next = if reflected.0 < best.0 {
            let further = along(-2.0);
            if further.0 < reflected.0 { further } else { reflected }
        } else if reflected.0 < third.0 {
            reflected
        } else {
            along(if reflected.0 < worst.0 { -0.5 } else { 0.5 })
        };
        if next.0 < worst.0.min(reflected.0) || next.0 < third.0 {
            corners = [best, second, third, next];
        } else {
            let shrunk = |corner: (f64, [f64; 3])| {
                valued(std::array::from_fn(|i| f64::midpoint(best.1[i], corner.1[i])))
            };
            corners = [best, shrunk(second), shrunk(third), shrunk(worst)];
        }
    }
    corners.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).map_or(start, |(_, at)| at)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bottom_of_a_bent_valley_is_found() {
        let wanted = [0.7, -0.4, 1.9];
        let valley = |[x, y, z]: [f64; 3]| {
            let [x, y, z] = [x - wanted[0], y - wanted[1], z - wanted[2]];
            x * x + 10.0 * (y - 0.3 * x).powi(2) + 3.0 * (z - x * y).abs().powf(1.5)
        };
        for (got, wanted) in minimise([0.0; 3], 0.1, valley).into_iter().zip(wanted) {
            assert!((got - wanted).abs() < 1e-4, "{got} is not {wanted}");
        }
    }
}
