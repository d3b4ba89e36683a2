//! The colours of edges: what two neighbouring cells differ by. Where one surface is lit brighter
//! than the next bit of it, that difference has the colour of the light on it, and the same object
//! counts by its outline, not its area (grey-edge, van de Weijer and others 2007).

use super::picture::Picture;
use super::plane::{Histogram, Place};
use super::quantile::upper;

/// Differences below this are rounding.
const LEAST: f32 = 1e-5;

/// How the edges of a picture are turned into weight.
pub(super) struct Edges {
    /// The part of the edges that counts: the strongest.
    pub strongest: f32,
    /// Whether stronger edges weigh more, in proportion, or all the same.
    pub by_strength: bool,
}

impl Edges {
    /// The colours of a picture's edges.
    pub(super) fn histogram(&self, picture: &Picture) -> Histogram {
        let mut found = differences(picture);
        let mut histogram = Histogram::default();
        let threshold = upper(&mut found, self.strongest, |edge| edge.strength);
        for edge in found.iter().filter(|edge| edge.strength >= threshold) {
            let weight = if self.by_strength { edge.strength } else { 1.0 };
            histogram.add(Place::of(edge.difference), weight);
        }
        histogram
    }
}

#[derive(Clone, Copy)]
struct Edge {
    difference: [f32; 3],
    strength: f32,
}

/// The differences between neighbours of the lightly smoothed picture that go the same way in all
/// channels: others are between two paints, and tell nothing of the light.
fn differences(picture: &Picture) -> Vec<Edge> {
    let (columns, rows) = (picture.columns, picture.rows);
    let smooth = smoothed(picture);
    let good = shrunk(picture);
    let mut found = Vec::with_capacity(columns * rows);
    let mut compare = |a: usize, b: usize| {
        if !(good[a] && good[b]) {
            return;
        }
        let [p, q] = [smooth[a], smooth[b]];
        let step: [f32; 3] = std::array::from_fn(|i| q[i] - p[i]);
        let rises = step.iter().all(|value| *value > LEAST);
        let falls = step.iter().all(|value| *value < -LEAST);
        if rises || falls {
            let difference = step.map(f32::abs);
            found.push(Edge { difference, strength: difference.iter().sum() });
        }
    };
    for row in 0..rows {
        for column in 0..columns {
            let at = row * columns + column;
            if column + 1 < columns {
                compare(at, at + 1);
            }
            if row + 1 < rows {
                compare(at, at + columns);
            }
        }
    }
    found
}

/// Binomial smoothing, ¼ ½ ¼ along both axes; beyond its edge the picture goes on as it ends.
pub(super) fn smoothed(picture: &Picture) -> Vec<[f32; 3]> {
    let (columns, rows) = (picture.columns, picture.rows);
    if columns == 0 || rows == 0 {
        return Vec::new();
    }
    let blend = |a: &[f32; 3], b: &[f32; 3], c: &[f32; 3]| -> [f32; 3] {
        std::array::from_fn(|i| 0.25 * (a[i] + 2.0 * b[i] + c[i]))
    };
    let line = |row: usize| &picture.rgb[row * columns..(row + 1) * columns];
    let mut smooth = Vec::with_capacity(columns * rows);
    let mut upright = vec![[0.0; 3]; columns];
    for row in 0..rows {
        let (above, here, below) =
            (line(row.saturating_sub(1)), line(row), line((row + 1).min(rows - 1)));
        for (column, value) in upright.iter_mut().enumerate() {
            *value = blend(&above[column], &here[column], &below[column]);
        }
        smooth.extend((0..columns).map(|column| {
            let (left, right) = (column.saturating_sub(1), (column + 1).min(columns - 1));
            blend(&upright[left], &upright[column], &upright[right])
        }));
    }
    smooth
}

/// Which cells are good with all their neighbours: smoothing has mixed those in.
fn shrunk(picture: &Picture) -> Vec<bool> {
    let (columns, rows) = (picture.columns, picture.rows);
    let good = &picture.good;
    let mut across = good.clone();
    for row in 0..rows {
        for column in 1..columns {
            let at = row * columns + column;
            across[at] &= good[at - 1];
            across[at - 1] &= good[at];
        }
    }
    let mut both = across.clone();
    for at in columns..across.len() {
        both[at] &= across[at - columns];
        both[at - columns] &= across[at];
    }
    both
}
