//! The terms that evidence and prior are made of, and the weights that training finds for them.

use std::array;

use super::candidates::Candidate;
use super::evidence::{Evidence, VIEW_COUNT};
use super::plane::{BINS, Histogram, Place};
use super::template::{KNOT_COUNT, Template, four, green, warmth};

/// Numbers that the prior is made of.
pub const PRIOR_COUNT: usize = 6;

/// What training finds: log-linear weights, so that the logarithm of a cast's probability is a sum
/// over the views' weight on the plane and a prior.
#[derive(Debug, Clone, PartialEq)]
pub struct Weights {
    /// One template a view.
    pub templates: [Template; VIEW_COUNT],
    /// What speaks for a cast before the frame is seen; see [`prior_terms`].
    pub prior: [f32; PRIOR_COUNT],
    /// The sum is divided by this: how much surer training is of its own scenes than of others.
    pub temperature: f32,
}

/// The terms of the prior: how far a cast is from none.
#[must_use]
pub fn prior_terms(candidate: &Candidate) -> [f32; PRIOR_COUNT] {
    let (mired, duv) = (candidate.mired.get() as f32 / 100.0, candidate.duv.get() as f32 / 0.005);
    [mired.abs(), mired * mired, mired, duv, duv * duv, mired * duv]
}

/// How much of each view falls on each knot of its template, where `from_neutral` says how far from a
/// neutral surface a place in the picture is: the numbers whose sum, weighted by the templates, is the
/// evidence for that. View by view. Warmth may depend on warmth alone, and green on green.
#[must_use]
pub fn knot_shares(evidence: &Evidence, from_neutral: impl Fn(Place) -> Place) -> Vec<f32> {
    let rows: [_; BINS.0] =
        array::from_fn(|row| warmth(from_neutral(Histogram::place(row as u16, 0)).warmth));
    let columns: [_; BINS.1] =
        array::from_fn(|column| green(from_neutral(Histogram::place(0, column as u16)).green));
    let mut all = Vec::with_capacity(VIEW_COUNT * KNOT_COUNT);
    for view in &evidence.views {
        let mut knots = [0.0; KNOT_COUNT];
        for (row, column, share) in view.shares() {
            for (knot, part) in four(rows[usize::from(row)], columns[usize::from(column)]) {
                knots[knot] += share * part;
            }
        }
        all.extend(knots);
    }
    all
}
