//! How the brightness of a card's samples runs along its lines, and what of it is no trend.

use super::sample::Sample;

/// The direction in which lines of cells follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Axis {
    Down,
    Across,
}

impl Axis {
    /// The line that a sample lies on.
    pub(crate) fn line(self, sample: &Sample) -> usize {
        match self {
            Self::Down => sample.row,
            Self::Across => sample.column,
        }
    }
}

/// Mean log level of each line of samples, with the line's place.
pub(crate) fn profile<'a>(
    samples: impl Iterator<Item = &'a Sample>,
    axis: Axis,
) -> Vec<(f64, f64)> {
    let mut lines: Vec<(f64, f64)> = Vec::new();
    for sample in samples {
        let line = axis.line(sample);
        if lines.len() <= line {
            lines.resize(line + 1, (0.0, 0.0));
        }
        lines[line].0 += sample.log_level();
        lines[line].1 += 1.0;
    }
    let most = lines.iter().map(|&(_, n)| n).fold(0.0, f64::max);
    lines
        .into_iter()
        .enumerate()
        // A line with few samples is the card's tip, or runs through a mark.
        .filter(|(_, (_, n))| *n > 0.25 * most)
        .map(|(line, (sum, n))| (line as f64, sum / n))
        .collect()
}

/// The cubics on a profile's places: what falloff across a card may look like.
pub(crate) struct Trend {
    /// Polynomials made orthogonal on these very places, so that each is fitted by itself.
    basis: Vec<Vec<f64>>,
}

impl Trend {
    pub(crate) fn on(profile: &[(f64, f64)]) -> Self {
        let n = profile.len() as f64;
        let centre = profile.iter().map(|(x, _)| x).sum::<f64>() / n;
        let scale = profile.iter().map(|(x, _)| (x - centre).abs()).fold(1.0, f64::max);
        let mut basis: Vec<Vec<f64>> = Vec::new();
        for power in 0..4 {
            let p = profile.iter().map(|(x, _)| ((x - centre) / scale).powi(power)).collect();
            basis.push(without(p, &basis));
        }
        Self { basis }
    }

    /// Values less their best-fitting cubic.
    pub(crate) fn taken_from(&self, values: Vec<f64>) -> Vec<f64> {
        without(values, &self.basis)
    }
}

/// Values less what the vectors, orthogonal to each other, explain of them.
fn without(mut values: Vec<f64>, basis: &[Vec<f64>]) -> Vec<f64> {
    for p in basis {
        let along = dot(&values, p) / dot(p, p).max(f64::MIN_POSITIVE);
        values.iter_mut().zip(p).for_each(|(v, e)| *v -= along * e);
    }
    values
}

/// The sum of squares that is left of `values` when the best combination of `shapes` is taken out.
pub(crate) fn left_of(values: &[f64], shapes: impl IntoIterator<Item = Vec<f64>>) -> f64 {
    let mut basis: Vec<Vec<f64>> = Vec::new();
    for shape in shapes {
        let before = dot(&shape, &shape);
        let new = without(shape, &basis);
        // One that the others make up already says nothing.
        if dot(&new, &new) > 1e-9 * before {
            basis.push(new);
        }
    }
    let left = without(values.to_vec(), &basis);
    dot(&left, &left)
}

/// Less its best-fitting cubic.
pub(crate) fn detrended(profile: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let flat = Trend::on(profile).taken_from(values(profile));
    profile.iter().zip(flat).map(|((x, _), v)| (*x, v)).collect()
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

pub(crate) fn values(profile: &[(f64, f64)]) -> Vec<f64> {
    profile.iter().map(|(_, v)| *v).collect()
}
