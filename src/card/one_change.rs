//! Profiles that change once: an edge, or a strip with two edges.

use super::profile::{Trend, left_of, values};

/// Places at which an edge is tried.
const PLACES: usize = 32;

/// Widths of an edge, as parts of the profile's length; the first is a step.
const WIDTHS: [f64; 9] = [0.0, 0.015, 0.03, 0.06, 0.1, 0.16, 0.24, 0.36, 0.5];

/// How an edge rises over its width, of which the argument is a part, from −1 to 1: as a blur has
/// it, and as a slanting edge does over the lines that it crosses.
const RISES: [fn(f64) -> f64; 2] = [|part| (2.0 * part).tanh(), |part| part.clamp(-1.0, 1.0)];

/// How far light falls over an edge, in logarithms. A blurred edge of light is steeper on its dark side once
/// brightness is taken by its logarithm, the more the deeper it is.
const DEPTHS: [f64; 3] = [0.7, 1.4, 2.1];

/// The logarithm of light that falls by `depth`; `rise` goes from −1 in the light to 1 in the dark.
fn falling(rise: f64, depth: f64) -> f64 {
    let in_the_dark = 0.5 * (1.0 + rise);
    (1.0 - in_the_dark * (1.0 - (-depth).exp())).ln()
}

/// The sum of squares that one change at the best place leaves of a profile, beside its trend: an
/// edge of any width, or a strip between two edges of the same width.
pub(crate) fn least_left_by_one_change(profile: &[(f64, f64)], trend: &Trend) -> f64 {
    let (Some((first, _)), Some((last, _))) = (profile.first(), profile.last()) else {
        return f64::INFINITY;
    };
    let flat = trend.taken_from(values(profile));
    let length = last - first;
    let mut least = f64::INFINITY;
    for (width, rise) in WIDTHS.into_iter().flat_map(|width| RISES.map(|rise| (width, rise))) {
        let half = (width * length / 2.0).max(0.5);
        let places = (1..PLACES).map(|i| first + length * i as f64 / PLACES as f64);
        let edges: Vec<Vec<f64>> = places
            .clone()
            .map(|at| {
                trend.taken_from(profile.iter().map(|(x, _)| rise((x - at) / half)).collect())
            })
            .collect();
        for (at, depth) in places.flat_map(|at| DEPTHS.map(|depth| (at, depth))) {
            for side in [-1.0, 1.0] {
                let light = profile
                    .iter()
                    .map(|(x, _)| falling(side * rise((x - at) / half), depth))
                    .collect();
                least = least.min(left_of(&flat, [trend.taken_from(light)]));
            }
        }
        for (i, edge) in edges.iter().enumerate() {
            least = least.min(left_of(&flat, [edge.clone()]));
            for end in &edges[i + 1..] {
                let strip = edge.iter().zip(end).map(|(a, b)| a - b).collect();
                least = least.min(left_of(&flat, [strip]));
            }
        }
    }
    least
}
