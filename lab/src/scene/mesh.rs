//! Shapes as triangles: panels, boxes, turned profiles.

use super::bvh::Triangle;
use super::vec3::{Vec3, vec3};

/// Triangles gathered for a scene.
#[derive(Debug, Clone, Default)]
pub(super) struct Mesh {
    /// The triangles so far.
    pub(super) triangles: Vec<Triangle>,
}

impl Mesh {
    /// A flat parallelogram from a corner along two edges; its front is where the edges run anticlockwise.
    pub(super) fn panel(&mut self, corner: Vec3, along: Vec3, up: Vec3, material: u32) {
        let normal = along.cross(up).unit();
        let (b, c, d) = (corner + along, corner + along + up, corner + up);
        for corners in [[corner, b, c], [corner, c, d]] {
            self.triangles.push(Triangle { corners, normals: [normal; 3], material });
        }
    }

    /// A box from its low to its high corner.
    pub(super) fn block(&mut self, low: Vec3, high: Vec3, material: u32) {
        let middle = (low + high) * 0.5;
        self.turned_block(middle, high - low, 0.0, material);
    }

    /// A box of a size about a centre, turned about the vertical axis.
    pub(super) fn turned_block(&mut self, centre: Vec3, size: Vec3, turn: f32, material: u32) {
        let x = vec3(size.x, 0.0, 0.0).turned(turn);
        let y = vec3(0.0, size.y, 0.0);
        let z = vec3(0.0, 0.0, size.z).turned(turn);
        self.solid(centre, x, y, z, material);
    }

    /// A slanted box about a centre with three edges.
    pub(super) fn solid(&mut self, centre: Vec3, x: Vec3, y: Vec3, z: Vec3, material: u32) {
        let low = centre - (x + y + z) * 0.5;
        let high = centre + (x + y + z) * 0.5;
        self.panel(low + z, x, y, material);
        self.panel(high - z, -x, -y, material);
        self.panel(low, z, y, material);
        self.panel(high, -z, -y, material);
        self.panel(low, x, z, material);
        self.panel(high, -x, -z, material);
    }

    /// A round bar between two points.
    pub(super) fn bar(&mut self, from: Vec3, to: Vec3, radius: f32, material: u32) {
        let axis = to - from;
        let (u, v) = axis.unit().frame();
        let ring = |turn: usize| {
            let (sin, cos) = (turn as f32 / 10.0 * std::f32::consts::TAU).sin_cos();
            u * cos + v * sin
        };
        for turn in 0..10 {
            let (a, b) = (ring(turn), ring(turn + 1));
            self.quad(
                [from + a * radius, from + b * radius, to + b * radius, to + a * radius],
                [a, b, b, a],
                material,
            );
        }
    }

    /// A profile of (radius, height) points turned about a vertical axis through `foot`.
    ///
    /// Corners are rounded off except where a point is given twice.
    pub(super) fn turned(
        &mut self,
        foot: Vec3,
        profile: &[(f32, f32)],
        sides: usize,
        material: u32,
    ) {
        let ring = |point: (f32, f32), side: usize| {
            let (sin, cos) = (side as f32 / sides as f32 * std::f32::consts::TAU).sin_cos();
            (foot + vec3(point.0 * cos, point.1, -point.0 * sin), vec3(cos, 0.0, -sin))
        };
        for (index, pair) in profile.windows(2).enumerate() {
            let (low, high) = (pair[0], pair[1]);
            if low == high {
                continue;
            }
            let before = if index > 0 { profile[index - 1] } else { low };
            let after = profile.get(index + 2).copied().unwrap_or(high);
            // The profile runs upwards outside, so outwards is to its right.
            let slope = |from: (f32, f32), to: (f32, f32)| {
                let (dr, dh) = (to.0 - from.0, to.1 - from.1);
                let length = dr.hypot(dh).max(1e-9);
                (dh / length, -dr / length)
            };
            let own = slope(low, high);
            let mean = |other: (f32, f32)| (own.0 + other.0, own.1 + other.1);
            let at_low = if before == low { own } else { mean(slope(before, low)) };
            let at_high = if after == high { own } else { mean(slope(high, after)) };
            for side in 0..sides {
                let (a, out_a) = ring(low, side);
                let (b, out_b) = ring(low, side + 1);
                let (c, _) = ring(high, side + 1);
                let (d, _) = ring(high, side);
                let normal =
                    |out: Vec3, slope: (f32, f32)| (out * slope.0 + vec3(0.0, slope.1, 0.0)).unit();
                self.quad(
                    [a, b, c, d],
                    [
                        normal(out_a, at_low),
                        normal(out_b, at_low),
                        normal(out_b, at_high),
                        normal(out_a, at_high),
                    ],
                    material,
                );
            }
        }
    }

    /// A surface over a grid of points, `columns` wide: cloth, sacks.
    pub(super) fn sheet(&mut self, columns: usize, points: &[Vec3], material: u32) {
        let rows = points.len() / columns;
        let at = |row: usize, column: usize| points[row * columns + column];
        let normal = |row: usize, column: usize| {
            let across = at(row, (column + 1).min(columns - 1)) - at(row, column.saturating_sub(1));
            let up = at((row + 1).min(rows - 1), column) - at(row.saturating_sub(1), column);
            across.cross(up).unit()
        };
        for row in 1..rows {
            for column in 1..columns {
                let places =
                    [(row - 1, column - 1), (row - 1, column), (row, column), (row, column - 1)];
                self.quad(
                    places.map(|(r, c)| at(r, c)),
                    places.map(|(r, c)| normal(r, c)),
                    material,
                );
            }
        }
    }

    fn quad(&mut self, p: [Vec3; 4], n: [Vec3; 4], material: u32) {
        for [i, j, k] in [[0, 1, 2], [0, 2, 3]] {
            let corners = [p[i], p[j], p[k]];
            if (corners[1] - corners[0]).cross(corners[2] - corners[0]).length() > 1e-12 {
                self.triangles.push(Triangle { corners, normals: [n[i], n[j], n[k]], material });
            }
        }
    }
}

/// A smooth curve through (radius, height) points, as a profile to turn (Catmull and Rom, 1974).
#[must_use]
pub(super) fn smooth_profile(points: &[(f32, f32)], steps: usize) -> Vec<(f32, f32)> {
    let last = points.len().saturating_sub(1);
    let mut out = Vec::new();
    for i in 0..last {
        let (a, b, c, d) =
            (points[i.saturating_sub(1)], points[i], points[i + 1], points[(i + 2).min(last)]);
        for step in 0..steps {
            let t = step as f32 / steps as f32;
            let curve = |a: f32, b: f32, c: f32, d: f32| {
                0.5 * (2.0 * b
                    + (c - a) * t
                    + (2.0 * a - 5.0 * b + 4.0 * c - d) * t * t
                    + (3.0 * b - a - 3.0 * c + d) * t * t * t)
            };
            out.push((curve(a.0, b.0, c.0, d.0).max(0.0), curve(a.1, b.1, c.1, d.1)));
        }
    }
    out.extend(points.last());
    out
}
