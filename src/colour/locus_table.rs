//! The Planckian locus as piecewise polynomials by mired, quick enough to search a whole picture.

use std::sync::LazyLock;

use super::Uv;
use super::planckian::{LocusPoint, point, points};

/// The first node, in mired: bluer than the domain, so that its end lies inside a piece.
const FIRST: f64 = 20.0;
/// Mired from node to node. The quintics then follow the exact sum to 10⁻¹¹.
const STEP: f64 = 10.0;
/// How many pieces reach past the domain's other end, 1000 mired.
const PIECES: u32 = 99;

static TABLE: LazyLock<LocusTable> = LazyLock::new(LocusTable::new);

/// The nearest point of the locus to some chromaticity.
#[derive(Debug, Clone, Copy)]
pub(super) struct Foot {
    /// Where on the locus, in mired.
    pub(super) mired: f64,
    /// Distance in CIE 1960 (u, v), positive above the locus.
    pub(super) offset: f64,
}

/// What a search for the nearest point ends in.
#[derive(Debug, Clone, Copy)]
pub(super) enum Nearest {
    /// A perpendicular foot within the table.
    Foot(Foot),
    /// Beyond the table's hottest point, at this distance from it. The locus goes on a little from
    /// there, to its limit of infinite temperature.
    BeyondHotEnd(f64),
    /// Beyond the table's coolest point, this far aside of the straight line on from there.
    BeyondCoolEnd(f64),
}

/// The nearest of all points of the locus to `target`, which must be finite.
pub(super) fn nearest(target: Uv) -> Nearest {
    TABLE.nearest(target)
}

/// Position and derivatives by mired at `mired`; from the exact sum where the table does not reach.
pub(super) fn locus_point(mired: f64) -> LocusPoint {
    TABLE.at(mired).unwrap_or_else(|| point(mired))
}

struct LocusTable {
    nodes: Vec<Node>,
    pieces: Vec<Piece>,
}

struct Node {
    uv: Uv,
    slope: [f64; 2],
}

impl Node {
    fn distance_squared(&self, target: Uv) -> f64 {
        let (du, dv) = (target.u - self.uv.u, target.v - self.uv.v);
        du * du + dv * dv
    }

    /// Distance of `target` from the tangent, positive above the locus.
    fn aside(&self, target: Uv) -> f64 {
        let [along_u, along_v] = self.slope;
        let (du, dv) = (target.u - self.uv.u, target.v - self.uv.v);
        (along_u * dv - along_v * du) / along_u.hypot(along_v)
    }

    /// Positive if the locus gets nearer to `target` from here toward larger mired.
    fn approach(&self, target: Uv) -> f64 {
        (target.u - self.uv.u) * self.slope[0] + (target.v - self.uv.v) * self.slope[1]
    }
}

/// One stretch between nodes: quintics in the fraction of the way from the first to the second.
struct Piece {
    start: f64,
    u: [f64; 6],
    v: [f64; 6],
}

impl LocusTable {
    fn new() -> Self {
        let mired = |index: u32| FIRST + STEP * f64::from(index);
        let points = points(FIRST, STEP, PIECES as usize + 1);
        let pieces = points
            .windows(2)
            .zip(0..PIECES)
            .filter_map(|(ends, index)| match ends {
                [from, to] => Some(Piece::between(mired(index), from, to)),
                _ => None,
            })
            .collect();
        let nodes = points.iter().map(|point| Node { uv: point.uv, slope: point.slope }).collect();
        Self { nodes, pieces }
    }

    fn at(&self, mired: f64) -> Option<LocusPoint> {
        // The cast saturates: positions before the table, and NaN, are outside the piece it names.
        let index = ((mired - FIRST) / STEP) as usize;
        let piece = self.pieces.get(index)?;
        let fraction = (mired - piece.start) / STEP;
        if !(0.0..=1.0).contains(&fraction) {
            return None;
        }
        let LocusPoint { uv, slope, bend } = piece.at(fraction);
        let by_mired = |[u, v]: [f64; 2], scale: f64| [u / scale, v / scale];
        Some(LocusPoint { uv, slope: by_mired(slope, STEP), bend: by_mired(bend, STEP * STEP) })
    }

    /// Looks at every node, so that it cannot settle in a nearest point that is only local, then
    /// refines within the one piece beside the nearest node.
    ///
    /// Within 0.05 of the locus distance falls and then rises along it (its radius of curvature is
    /// nowhere less than 0.1), so the foot is in that piece.
    fn nearest(&self, target: Uv) -> Nearest {
        let mut closest = 0;
        let mut least = f64::INFINITY;
        for (index, node) in self.nodes.iter().enumerate() {
            let distance = node.distance_squared(target);
            if distance < least {
                (closest, least) = (index, distance);
            }
        }
        let Some(end) = self.nodes.get(closest) else {
            return Nearest::BeyondHotEnd(f64::NAN);
        };
        let left = if end.approach(target) >= 0.0 { Some(closest) } else { closest.checked_sub(1) };
        let Some(left) = left else { return Nearest::BeyondHotEnd(least.sqrt()) };
        let (Some(piece), Some(from), Some(to)) =
            (self.pieces.get(left), self.nodes.get(left), self.nodes.get(left + 1))
        else {
            return Nearest::BeyondCoolEnd(end.aside(target));
        };
        let (rising, falling) = (from.approach(target), to.approach(target));
        Nearest::Foot(piece.foot(target, rising / (rising - falling)))
    }
}

impl Piece {
    /// The quintics with the positions and derivatives of both ends (Hermite interpolation).
    fn between(start: f64, from: &LocusPoint, to: &LocusPoint) -> Self {
        let quintic = |p0: f64, p1: f64, slope: [f64; 2], bend: [f64; 2]| {
            let way = p1 - p0;
            let [s0, s1] = slope.map(|slope| slope * STEP);
            let [b0, b1] = bend.map(|bend| bend * STEP * STEP);
            [
                p0,
                s0,
                0.5 * b0,
                10.0 * way - 6.0 * s0 - 4.0 * s1 - 1.5 * b0 + 0.5 * b1,
                -15.0 * way + 8.0 * s0 + 7.0 * s1 + 1.5 * b0 - b1,
                6.0 * way - 3.0 * s0 - 3.0 * s1 - 0.5 * b0 + 0.5 * b1,
            ]
        };
        let ends = |from: [f64; 2], to: [f64; 2]| ([from[0], to[0]], [from[1], to[1]]);
        let (u_slope, v_slope) = ends(from.slope, to.slope);
        let (u_bend, v_bend) = ends(from.bend, to.bend);
        Self {
            start,
            u: quintic(from.uv.u, to.uv.u, u_slope, u_bend),
            v: quintic(from.uv.v, to.uv.v, v_slope, v_bend),
        }
    }

    /// Position and derivatives by `fraction`.
    fn at(&self, fraction: f64) -> LocusPoint {
        let (u, u_slope, u_bend) = evaluate(&self.u, fraction);
        let (v, v_slope, v_bend) = evaluate(&self.v, fraction);
        LocusPoint { uv: Uv { u, v }, slope: [u_slope, v_slope], bend: [u_bend, v_bend] }
    }

    /// Newton's method on the perpendicularity of locus and distance, from the fraction `guess`;
    /// a step that would leave the bracket halves it instead.
    fn foot(&self, target: Uv, guess: f64) -> Foot {
        const STEPS: usize = 40;
        /// The next step of Newton's method would be of the order of this squared.
        const CLOSE: f64 = 1e-7;
        let (mut low, mut high) = (0.0, 1.0);
        let mut fraction = guess.clamp(low, high);
        for _ in 0..STEPS {
            let LocusPoint { uv, slope, bend } = self.at(fraction);
            let away = [target.u - uv.u, target.v - uv.v];
            let approach = inner(away, slope);
            if approach > 0.0 {
                low = fraction
            } else {
                high = fraction
            }
            let newton = fraction - approach / (inner(away, bend) - inner(slope, slope));
            let inside = (low..=high).contains(&newton);
            let next = if inside { newton } else { 0.5 * (low + high) };
            let moved = (next - fraction).abs();
            fraction = next;
            if moved < CLOSE {
                break;
            }
        }
        let LocusPoint { uv, slope, .. } = self.at(fraction);
        let away = [target.u - uv.u, target.v - uv.v];
        let side = slope[0] * away[1] - slope[1] * away[0];
        Foot {
            mired: self.start + STEP * fraction,
            offset: inner(away, away).sqrt().copysign(side),
        }
    }
}

fn inner(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// The polynomial and its first two derivatives.
fn evaluate(&[c0, c1, c2, c3, c4, c5]: &[f64; 6], t: f64) -> (f64, f64, f64) {
    (
        c0 + t * (c1 + t * (c2 + t * (c3 + t * (c4 + t * c5)))),
        c1 + t * (2.0 * c2 + t * (3.0 * c3 + t * (4.0 * c4 + t * 5.0 * c5))),
        2.0 * c2 + t * (6.0 * c3 + t * (12.0 * c4 + t * 20.0 * c5)),
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    #[test]
    fn the_table_follows_the_exact_sum() {
        let mut compared = 0;
        for step in 0..4000_u32 {
            let mired = 20.0 + f64::from(step) * 0.2475;
            let (table, exact) = (TABLE.at(mired).unwrap(), point(mired));
            assert!((table.uv.u - exact.uv.u).abs() < 1e-11, "{mired}");
            assert!((table.uv.v - exact.uv.v).abs() < 1e-11, "{mired}");
            for axis in 0..2 {
                assert!((table.slope[axis] - exact.slope[axis]).abs() < 1e-11, "{mired}");
                assert!((table.bend[axis] - exact.bend[axis]).abs() < 1e-11, "{mired}");
            }
            compared += 1;
        }
        assert_eq!(compared, 4000);
    }

    #[test]
    fn there_is_no_table_beyond_its_ends() {
        for mired in [f64::NAN, -1.0, 0.0, 19.999, 1010.0, 1e300] {
            assert!(TABLE.at(mired).is_none(), "{mired}");
        }
        let beyond = locus_point(2000.0);
        assert_eq!(beyond.uv, point(2000.0).uv);
    }

    /// What the search rests on: the locus bends one way, with a radius of at least 0.1.
    #[test]
    fn no_radius_of_curvature_is_less_than_a_tenth() {
        for step in 0..9900_u32 {
            let at = TABLE.at(20.0 + f64::from(step) * 0.1).unwrap();
            let speed = inner(at.slope, at.slope).sqrt();
            let curvature = (at.slope[0] * at.bend[1] - at.slope[1] * at.bend[0]) / speed.powi(3);
            assert!((-1.0 / 0.1..0.0).contains(&curvature), "{step}: {curvature}");
        }
    }
}
