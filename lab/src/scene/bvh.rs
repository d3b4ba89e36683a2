//! Triangles and the tree that finds which one a ray meets first.

use super::vec3::{Vec3, vec3};

/// A triangle with a normal at each corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Triangle {
    /// Corners.
    pub(super) corners: [Vec3; 3],
    /// Unit normals at the corners, on the side the corners run anticlockwise.
    pub(super) normals: [Vec3; 3],
    /// Index of the material.
    pub(super) material: u32,
}

/// Where a ray met a triangle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Meeting {
    pub(super) distance: f32,
    pub(super) triangle: u32,
    /// Weights of the second and third corner.
    pub(super) weights: (f32, f32),
}

#[derive(Debug, Clone, Copy)]
struct Bounds {
    low: Vec3,
    high: Vec3,
}

impl Bounds {
    const EMPTY: Self = Self {
        low: vec3(f32::INFINITY, f32::INFINITY, f32::INFINITY),
        high: vec3(f32::NEG_INFINITY, f32::NEG_INFINITY, f32::NEG_INFINITY),
    };

    fn of(triangle: &Triangle) -> Self {
        triangle.corners.iter().fold(Self::EMPTY, |bounds, &corner| bounds.with(corner))
    }

    fn with(self, p: Vec3) -> Self {
        Self { low: self.low.min(p), high: self.high.max(p) }
    }

    fn joined(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    fn surface(&self) -> f32 {
        let d = (self.high - self.low).max(Vec3::default());
        d.x * d.y + d.y * d.z + d.z * d.x
    }

    /// Distance at which a ray enters, if it does so before `limit`.
    fn entry(&self, origin: Vec3, inverse: Vec3, limit: f32) -> Option<f32> {
        let a = (self.low - origin).times(inverse);
        let b = (self.high - origin).times(inverse);
        let (near, far) = (a.min(b), a.max(b));
        let enter = near.x.max(near.y).max(near.z).max(0.0);
        let leave = far.x.min(far.y).min(far.z).min(limit);
        (enter <= leave).then_some(enter)
    }
}

#[derive(Debug, Clone, Copy)]
struct Node {
    bounds: Bounds,
    /// First triangle of a leaf, or the second child of a fork, whose first child follows it directly.
    index: u32,
    /// Number of triangles; 0 for a fork.
    count: u32,
}

/// A bounding volume hierarchy over triangles.
#[derive(Debug, Clone)]
pub(super) struct Bvh {
    triangles: Vec<Triangle>,
    nodes: Vec<Node>,
}

const LEAF_SIZE: usize = 4;
const BINS: usize = 12;

impl Bvh {
    pub(super) fn new(mut triangles: Vec<Triangle>) -> Self {
        let mut nodes = Vec::new();
        let count = triangles.len();
        if count > 0 {
            build(&mut triangles, 0, count, &mut nodes);
        }
        Self { triangles, nodes }
    }

    pub(super) fn triangle(&self, index: u32) -> &Triangle {
        &self.triangles[index as usize]
    }

    /// The first triangle a ray meets before `limit`.
    pub(super) fn first(&self, origin: Vec3, direction: Vec3, limit: f32) -> Option<Meeting> {
        self.search(origin, direction, limit, false)
    }

    /// Whether anything stands in a ray's way before `limit`.
    pub(super) fn blocked(&self, origin: Vec3, direction: Vec3, limit: f32) -> bool {
        self.search(origin, direction, limit, true).is_some()
    }

    fn search(&self, origin: Vec3, direction: Vec3, limit: f32, any: bool) -> Option<Meeting> {
        let inverse = vec3(1.0 / direction.x, 1.0 / direction.y, 1.0 / direction.z);
        let mut best: Option<Meeting> = None;
        let mut limit = limit;
        let enter =
            |node: u32, limit: f32| self.nodes[node as usize].bounds.entry(origin, inverse, limit);
        let mut stack = [(0_u32, 0.0_f32); 64];
        let mut depth = 0;
        if let Some(root) = self.nodes.first() {
            stack[0].1 = root.bounds.entry(origin, inverse, limit)?;
            depth = 1;
        }
        while depth > 0 {
            depth -= 1;
            let (at, entered) = stack[depth];
            if entered > limit {
                continue;
            }
            let node = &self.nodes[at as usize];
            if node.count == 0 {
                let (first, second) = (at + 1, node.index);
                let (a, b) = (enter(first, limit), enter(second, limit));
                let mut push = |node: u32, entered: Option<f32>| {
                    if let Some(entered) = entered {
                        stack[depth] = (node, entered);
                        depth += 1;
                    }
                };
                // The nearer one goes on top.
                if a.unwrap_or(0.0) <= b.unwrap_or(0.0) {
                    push(second, b);
                    push(first, a);
                } else {
                    push(first, a);
                    push(second, b);
                }
                continue;
            }
            for index in node.index..node.index + node.count {
                let triangle = &self.triangles[index as usize];
                if let Some((distance, weights)) = intersect(triangle, origin, direction, limit) {
                    best = Some(Meeting { distance, triangle: index, weights });
                    limit = distance;
                    if any {
                        return best;
                    }
                }
            }
        }
        best
    }
}

/// Distance and corner weights where a ray meets a triangle before `limit` (Möller and Trumbore, 1997).
fn intersect(
    triangle: &Triangle,
    origin: Vec3,
    direction: Vec3,
    limit: f32,
) -> Option<(f32, (f32, f32))> {
    let [a, b, c] = triangle.corners;
    let (e1, e2) = (b - a, c - a);
    let p = direction.cross(e2);
    let determinant = e1.dot(p);
    if determinant.abs() < 1e-12 {
        return None;
    }
    let inverse = 1.0 / determinant;
    let t = origin - a;
    let u = t.dot(p) * inverse;
    if !(0.0..=1.0).contains(&u) {
        return None;
    }
    let q = t.cross(e1);
    let v = direction.dot(q) * inverse;
    if v < 0.0 || u + v > 1.0 {
        return None;
    }
    let distance = e2.dot(q) * inverse;
    (distance > 0.0 && distance < limit).then_some((distance, (u, v)))
}

/// Builds the subtree over `triangles[start..end]`, splitting where the surface area heuristic says.
fn build(triangles: &mut [Triangle], start: usize, end: usize, nodes: &mut Vec<Node>) {
    let slice = &mut triangles[start..end];
    let bounds = slice.iter().fold(Bounds::EMPTY, |sum, t| sum.joined(Bounds::of(t)));
    let own = nodes.len();
    nodes.push(Node { bounds, index: start as u32, count: slice.len() as u32 });
    if slice.len() <= LEAF_SIZE {
        return;
    }
    let centre = |t: &Triangle| (t.corners[0] + t.corners[1] + t.corners[2]) * (1.0 / 3.0);
    let centres = slice.iter().fold(Bounds::EMPTY, |sum, t| sum.with(centre(t)));
    let extent = centres.high - centres.low;
    let axis = (0..3).max_by(|&a, &b| extent.axis(a).total_cmp(&extent.axis(b))).unwrap_or(0);
    let bin = |t: &Triangle| {
        let share = (centre(t).axis(axis) - centres.low.axis(axis)) / extent.axis(axis).max(1e-9);
        ((share * BINS as f32) as usize).min(BINS - 1)
    };
    let mut bins = [(Bounds::EMPTY, 0_usize); BINS];
    for triangle in slice.iter() {
        let slot = &mut bins[bin(triangle)];
        *slot = (slot.0.joined(Bounds::of(triangle)), slot.1 + 1);
    }
    let side = |bins: &[(Bounds, usize)]| {
        let (bounds, count) =
            bins.iter().fold((Bounds::EMPTY, 0), |s, b| (s.0.joined(b.0), s.1 + b.1));
        if count == 0 { f32::INFINITY } else { bounds.surface() * count as f32 }
    };
    let cost = |split: usize| side(&bins[..split]) + side(&bins[split..]);
    let split = (1..BINS).min_by(|&a, &b| cost(a).total_cmp(&cost(b))).unwrap_or(BINS / 2);
    slice.sort_by_key(|t| bin(t) >= split);
    let mut middle = slice.iter().filter(|t| bin(t) < split).count();
    if middle == 0 || middle == slice.len() {
        middle = slice.len() / 2;
    }
    build(triangles, start, start + middle, nodes);
    let second = nodes.len() as u32;
    build(triangles, start + middle, end, nodes);
    nodes[own].index = second;
    nodes[own].count = 0;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::Rng;

    #[test]
    fn tree_agrees_with_trying_every_triangle() {
        let mut rng = Rng::new(11);
        let mut point = |size: f32| {
            vec3(rng.uniform_f32() - 0.5, rng.uniform_f32() - 0.5, rng.uniform_f32() - 0.5) * size
        };
        let triangles: Vec<Triangle> = (0..300)
            .map(|_| {
                let at = point(4.0);
                let corners = [at, at + point(1.0), at + point(1.0)];
                Triangle { corners, normals: [Vec3::UP; 3], material: 0 }
            })
            .collect();
        let bvh = Bvh::new(triangles.clone());
        let mut hits = 0;
        for _ in 0..1500 {
            let (origin, direction) = (point(8.0), point(1.0).unit());
            let slow = triangles
                .iter()
                .filter_map(|t| intersect(t, origin, direction, f32::INFINITY))
                .map(|(distance, _)| distance)
                .min_by(f32::total_cmp);
            let fast = bvh.first(origin, direction, f32::INFINITY).map(|m| m.distance);
            assert_eq!(slow, fast);
            assert_eq!(slow.is_some(), bvh.blocked(origin, direction, f32::INFINITY));
            hits += usize::from(slow.is_some());
        }
        assert!(hits > 50, "{hits}");
    }
}
