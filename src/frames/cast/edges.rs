//! The colours of edges: what two neighbouring cells differ by. Where one surface is lit brighter
//! than the next bit of it, that difference has the colour of the light on it, and the same object
//! counts by its outline, not its area (grey-edge, van de Weijer and others 2007).

use super::picture::Picture;
use super::plane::{Gathering, Histogram, Weighted};
use crate::frames::quantile::upper;

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
    /// The colours of a picture's edges; `smooth` is the picture [`smoothed`].
    pub(super) fn histogram(&self, picture: &Picture, smooth: &[[f32; 3]]) -> Histogram {
        let found = differences(picture, smooth);
        let [threshold] = upper(&found.strengths, [self.strongest]);
        let mut gathering = Gathering::default();
        for (colour, strength) in found.colours.iter().zip(&found.strengths) {
            let weight = if self.by_strength { *strength } else { 1.0 };
            gathering.add_if(*strength >= threshold, Weighted { colour: *colour, weight });
        }
        gathering.finish()
    }
}

/// Edges: what colour they are and how strong.
#[derive(Default)]
struct Found {
    colours: Vec<[f32; 3]>,
    strengths: Vec<f32>,
}

/// The differences between neighbours of the lightly smoothed picture that go the same way in all
/// channels: others are between two paints, and tell nothing of the light.
fn differences(picture: &Picture, smooth: &[[f32; 3]]) -> Found {
    let columns = picture.columns;
    let mut found = Found::default();
    if columns == 0 {
        return found;
    }
    let good = shrunk(picture);
    found.colours.reserve(smooth.len());
    found.strengths.reserve(smooth.len());
    let (mut colours, mut strengths) = (vec![[0.0; 3]; columns], vec![0.0; columns]);
    let rows = || smooth.chunks_exact(columns).zip(good.chunks_exact(columns));
    for (row, next) in rows().zip(rows().skip(1).map(Some).chain([None])) {
        let beside = (&row.0[1..], &row.1[1..]);
        for to in [Some(beside), next].into_iter().flatten() {
            let count = steps(row, to, &mut colours, &mut strengths);
            found.colours.extend_from_slice(colours.get(..count).unwrap_or_default());
            found.strengths.extend_from_slice(strengths.get(..count).unwrap_or_default());
        }
    }
    found
}

/// Colours beside one another and whether each is good.
type Line<'a> = (&'a [[f32; 3]], &'a [bool]);

/// The differences between two lines, written to the beginning of these; returns how many count. Which ones do is
/// as good as random, so each is written and then kept or written over: no branch to mispredict.
fn steps(from: Line<'_>, to: Line<'_>, colours: &mut [[f32; 3]], strengths: &mut [f32]) -> usize {
    let mut count = 0;
    let goodness = from.1.iter().zip(to.1).map(|(a, b)| a & b);
    for ((p, q), good) in from.0.iter().zip(to.0).zip(goodness) {
        let step: [f32; 3] = std::array::from_fn(|i| q[i] - p[i]);
        let rises = step.iter().fold(true, |all, value| all & (*value > LEAST));
        let falls = step.iter().fold(true, |all, value| all & (*value < -LEAST));
        let difference = step.map(f32::abs);
        if let (Some(colour), Some(strength)) = (colours.get_mut(count), strengths.get_mut(count)) {
            (*colour, *strength) = (difference, difference.iter().sum());
        }
        count += usize::from(good & (rises | falls));
    }
    count
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
