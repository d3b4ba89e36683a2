//! A template: how much a view's weight at a place speaks for a light, by how far that place is
//! from the light's neutral. Values at knots, finer where lights differ, and linear between.

use std::array;
use std::iter::repeat_n;

use super::plane::{BINS, Histogram, Place, STEP};

/// Knots along warmth and along green.
pub const KNOTS: (usize, usize) = (15, 7);
/// Values of a template.
pub const KNOT_COUNT: usize = KNOTS.0 * KNOTS.1;

/// How far the outermost knot lies from neutral along warmth and along green, and the distance up
/// to which knots lie about evenly. What is further counts as that far.
const REACH: (f32, f32) = (1.5, 0.42);
const EVEN: (f32, f32) = (0.4, 0.15);

/// One number a knot; warmth is the slower index.
pub type Template = [f32; KNOT_COUNT];

/// The up to four knots around a place and their shares, from where it lies along warmth and along green.
pub(super) fn four((row, down): (usize, f32), (column, right): (usize, f32)) -> [(usize, f32); 4] {
    let first = row * KNOTS.1 + column;
    [
        (first, (1.0 - down) * (1.0 - right)),
        (first + 1, (1.0 - down) * right),
        (first + KNOTS.1, down * (1.0 - right)),
        (first + KNOTS.1 + 1, down * right),
    ]
}

/// The knot below a place along warmth, and how far it is to the next.
pub(super) fn warmth(value: f32) -> (usize, f32) {
    between(value, REACH.0, EVEN.0, KNOTS.0)
}

/// The same along green.
pub(super) fn green(value: f32) -> (usize, f32) {
    between(value, REACH.1, EVEN.1, KNOTS.1)
}

/// The knot below a value, and how far it is to the next, 0–1. Knots are even in asinh.
fn between(value: f32, reach: f32, even: f32, knots: usize) -> (usize, f32) {
    let intervals = (knots - 1) as f32;
    let furthest = (reach / even).asinh();
    let value = value.clamp(-reach, reach);
    let along = (((value / even).asinh() / furthest + 1.0) / 2.0 * intervals).clamp(0.0, intervals);
    let low = (along as usize).min(knots - 2);
    let knot = |index: usize| even * ((2.0 * index as f32 / intervals - 1.0) * furthest).sinh();
    let (from, to) = (knot(low), knot(low + 1));
    (low, ((value - from) / (to - from)).clamp(0.0, 1.0))
}

/// A template drawn out in even steps, for speed.
pub(super) struct Table {
    /// Row by row, first the columns of even numbers and then the others. Each of these goes on beyond
    /// both its ends, so that a histogram's row lies within it wherever it is put.
    values: Vec<f32>,
}

/// A bin's width is so many of the table's steps, along warmth and along green.
const FINER: (usize, usize) = (3, 2);
/// From the middle of the table to its edges: as far as the knots reach.
const HALF: (usize, usize) = (75, 21);
/// Bins of a histogram's row, filled up to whole [`Lanes`].
const SPAN: usize = BINS.1.next_multiple_of(LANES);
/// Steps of a bin's width that a row goes on for before its beginning, and in all.
const BEYOND: usize = SPAN;
const WIDTH: usize = BEYOND + HALF.1 + 1 + SPAN + LANES;

/// Sums that are added up side by side, so that one addition need not wait for another.
const LANES: usize = 8;
type Lanes = [f32; LANES];

impl Table {
    pub(super) fn of(template: &Template) -> Self {
        let along = |count: usize, step: f32, place: fn(f32) -> (usize, f32)| -> Vec<_> {
            (0..=2 * count).map(|at| place((at as f32 - count as f32) * step)).collect()
        };
        let rows = along(HALF.0, STEP.0 / FINER.0 as f32, warmth);
        let columns = along(HALF.1, STEP.1 / FINER.1 as f32, green);
        let mut values = Vec::with_capacity(rows.len() * FINER.1 * WIDTH);
        for (row, down) in rows {
            // Along warmth first, which leaves one number a knot along green.
            let [upper, lower] = [row, row + 1].map(|row| &template[row * KNOTS.1..][..KNOTS.1]);
            let blend = |knot: usize| upper[knot] + down * (lower[knot] - upper[knot]);
            let knots: [f32; KNOTS.1] = array::from_fn(blend);
            let line: Vec<f32> = columns
                .iter()
                .map(|(column, right)| {
                    knots[*column] + right * (knots[column + 1] - knots[*column])
                })
                .collect();
            let [first, last] =
                [0, 2 * HALF.1].map(|column| line.get(column).copied().unwrap_or_default());
            for parity in 0..FINER.1 {
                let end = values.len() + WIDTH;
                // Beyond the ends it goes on as it ends.
                values.extend(repeat_n(first, BEYOND));
                values.extend(line.iter().skip(parity).step_by(FINER.1));
                values.resize(end, last);
            }
        }
        Self { values }
    }

    /// What a histogram's shares speak for the light that these lines belong to.
    pub(super) fn score(&self, shares: &Shares, lines: &Lines) -> f32 {
        let mut sums = Lanes::default();
        for row in &shares.0 {
            let first = lines.rows[row.number] + lines.column + row.first;
            let values = self.values.get(first..first + row.shares.len() * LANES);
            let values = values.unwrap_or_default().as_chunks::<LANES>().0;
            for (shares, values) in row.shares.iter().zip(values) {
                for ((sum, share), value) in sums.iter_mut().zip(shares).zip(values) {
                    *sum += share * value;
                }
            }
        }
        sums.iter().sum()
    }
}

/// A histogram's shares of the whole, for scoring.
pub(super) struct Shares(Vec<Row>);

/// A row of bins, as far as they hold anything.
struct Row {
    number: usize,
    /// The column of the first share.
    first: usize,
    shares: Vec<Lanes>,
}

impl Shares {
    pub(super) fn of(histogram: &Histogram) -> Self {
        let mut rows: Vec<Row> = Vec::new();
        for (row, column, share) in histogram.shares() {
            let (row, column) = (usize::from(row), usize::from(column));
            if rows.last().is_none_or(|last| last.number != row) {
                rows.push(Row { number: row, first: column, shares: Vec::new() });
            }
            let Some(last) = rows.last_mut() else { continue };
            let at = column - last.first;
            last.shares.resize((at / LANES + 1).max(last.shares.len()), Lanes::default());
            if let Some(lanes) = last.shares.get_mut(at / LANES) {
                lanes[at % LANES] = share;
            }
        }
        Self(rows)
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// Where in the tables each row of a histogram stands, and its first column, were a neutral surface at
/// some place.
pub(super) struct Lines {
    rows: [usize; BINS.0],
    column: usize,
}

impl Lines {
    pub(super) fn of(neutral: Place) -> Self {
        let origin = Histogram::place(0, 0) - neutral;
        let nearest = |origin: f32, step: f32, finer: usize, half: usize| {
            (origin / step * finer as f32).round() as isize + half as isize
        };
        let first = nearest(origin.warmth, STEP.0, FINER.0, HALF.0);
        let row = |bin: usize| (first + (bin * FINER.0) as isize).clamp(0, 2 * HALF.0 as isize);
        let column = nearest(origin.green, STEP.1, FINER.1, HALF.1);
        let (steps, parity) = (
            column.div_euclid(FINER.1 as isize).clamp(-(BEYOND as isize), HALF.1 as isize + 1),
            column.rem_euclid(FINER.1 as isize) as usize,
        );
        Self {
            rows: array::from_fn(|bin| row(bin) as usize * FINER.1 * WIDTH),
            column: parity * WIDTH + (steps + BEYOND as isize) as usize,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A template without symmetry.
    fn template() -> Template {
        array::from_fn(|knot| (knot as f32 * 0.7).sin() + 0.01 * knot as f32)
    }

    #[test]
    fn a_score_is_the_sum_over_the_nearest_lines() {
        let colours = [[0.5, 0.4, 0.3], [0.2, 0.6, 0.5], [0.9, 0.05, 0.01], [0.02, 0.05, 0.9]];
        let channels = array::from_fn(|channel| colours.map(|colour| colour[channel]).to_vec());
        let histogram = Histogram::of(&channels, &[0, 1, 2, 3], |at| 1.0 + colours[at][0]);
        let table = Table::of(&template());
        let shares = Shares::of(&histogram);
        for neutral in [[1.0, 1.0, 1.0], [1.0, 0.7, 0.3], [0.4, 0.8, 1.0], [0.01, 1.0, 0.01]] {
            let neutral = Place::of(neutral);
            let nearest = |offset: f32, step: f32, half: usize| {
                let half = half as f32;
                (offset / step).round().clamp(-half, half) * step
            };
            let wanted: f32 = histogram
                .shares()
                .into_iter()
                .map(|(row, column, share)| {
                    let offset = Histogram::place(row, column) - neutral;
                    let place = Place {
                        warmth: nearest(offset.warmth, STEP.0 / FINER.0 as f32, HALF.0),
                        green: nearest(offset.green, STEP.1 / FINER.1 as f32, HALF.1),
                    };
                    let knots = four(warmth(place.warmth), green(place.green));
                    share * knots.iter().map(|(knot, part)| part * template()[*knot]).sum::<f32>()
                })
                .sum();
            let score = table.score(&shares, &Lines::of(neutral));
            assert!((score - wanted).abs() < 1e-4, "{neutral:?}: {score} {wanted}");
        }
        assert!(Shares::of(&Histogram::default()).is_empty());
    }
}
