//! A template: how much a view's weight at a place speaks for a light, by how far that place is
//! from the light's neutral. Values at knots, finer where lights differ, and linear between.

use std::array;

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

/// The up to four knots around a place and their shares.
#[must_use]
pub(super) fn around(offset: Place) -> [(usize, f32); 4] {
    let (row, down) = between(offset.warmth, REACH.0, EVEN.0, KNOTS.0);
    let (column, right) = between(offset.green, REACH.1, EVEN.1, KNOTS.1);
    let first = row * KNOTS.1 + column;
    [
        (first, (1.0 - down) * (1.0 - right)),
        (first + 1, (1.0 - down) * right),
        (first + KNOTS.1, down * (1.0 - right)),
        (first + KNOTS.1 + 1, down * right),
    ]
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
    values: Vec<f32>,
}

/// A bin's width is so many of the table's steps, along warmth and along green.
const FINER: (usize, usize) = (3, 2);
/// From the middle of the table to its edges: as far as the knots reach.
const HALF: (usize, usize) = (75, 21);
const WIDTH: usize = 2 * HALF.1 + 1;

impl Table {
    pub(super) fn of(template: &Template) -> Self {
        let step = (STEP.0 / FINER.0 as f32, STEP.1 / FINER.1 as f32);
        let along = |count: usize, half: usize, step: f32| {
            (0..count).map(move |at| (at as f32 - half as f32) * step)
        };
        let values = along(2 * HALF.0 + 1, HALF.0, step.0).flat_map(|warmth| {
            along(WIDTH, HALF.1, step.1).map(move |green| {
                let shares = around(Place { warmth, green });
                shares.iter().map(|&(knot, share)| share * template[knot]).sum()
            })
        });
        Self { values: values.collect() }
    }

    /// What a histogram's shares speak for the light that these lines belong to.
    pub(super) fn score(&self, shares: &[(u16, u16, f32)], lines: &Lines) -> f32 {
        // Four sums, so that one addition need not wait for the other.
        let mut sums = [0.0_f32; 4];
        let value = |&(row, column, share): &(u16, u16, f32)| {
            let at = lines.rows[usize::from(row)] + lines.columns[usize::from(column)];
            share * self.values.get(at).copied().unwrap_or_default()
        };
        let (fours, rest) = shares.as_chunks::<4>();
        for four in fours {
            sums.iter_mut().zip(four).for_each(|(sum, share)| *sum += value(share));
        }
        sums.iter().sum::<f32>() + rest.iter().map(value).sum::<f32>()
    }
}

/// Where in the tables each row and each column of a histogram stands, were a neutral surface at
/// some place.
pub(super) struct Lines {
    rows: [usize; BINS.0],
    columns: [usize; BINS.1],
}

impl Lines {
    pub(super) fn of(neutral: Place) -> Self {
        let origin = Histogram::place(0, 0) - neutral;
        let rows = line_of(origin.warmth, STEP.0, FINER.0, HALF.0);
        let columns = line_of(origin.green, STEP.1, FINER.1, HALF.1);
        Self { rows: array::from_fn(|row| rows(row) * WIDTH), columns: array::from_fn(columns) }
    }
}

/// From the number of a bin to the table's line nearest to it.
fn line_of(origin: f32, step: f32, finer: usize, half: usize) -> impl Fn(usize) -> usize {
    let first = (origin / step * finer as f32).round() as isize + half as isize;
    move |bin| (first + (bin * finer) as isize).clamp(0, 2 * half as isize) as usize
}
