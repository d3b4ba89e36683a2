//! Tables of half widths of 90 % intervals, and what lies between their entries.

/// A half width is the product of two curves: one over the residual, and a factor over the distance
/// from the loci.
#[derive(Debug, PartialEq)]
pub(super) struct Product<const RESIDUALS: usize, const DISTANCES: usize> {
    /// Mired, by the residual.
    pub(super) mired: [f64; RESIDUALS],
    /// Factors, by the distance.
    pub(super) mired_factors: [f64; DISTANCES],
    /// Duv, by the residual.
    pub(super) duv: [f64; RESIDUALS],
    /// Factors, by the distance.
    pub(super) duv_factors: [f64; DISTANCES],
}

/// Half widths by the distance from the loci (rows) and the light (columns).
#[derive(Debug, PartialEq)]
pub(super) struct Plane<const DISTANCES: usize, const LIGHTS: usize> {
    pub(super) mired: [[f64; LIGHTS]; DISTANCES],
    pub(super) duv: [[f64; LIGHTS]; DISTANCES],
}

/// Straight lines between the nodes, level beyond them.
pub(super) fn between<const N: usize>(nodes: &[f64; N], values: &[f64; N], at: f64) -> f64 {
    let right = nodes.iter().position(|&node| node >= at);
    match right {
        Some(0) => values[0],
        Some(i) => {
            let part = (at - nodes[i - 1]) / (nodes[i] - nodes[i - 1]);
            values[i - 1] + part * (values[i] - values[i - 1])
        }
        None => values[N - 1],
    }
}
