//! From evidence to a posterior over casts.

use std::sync::OnceLock;

use crate::balance::White;

use super::candidates::{Candidate, candidates};
use super::evidence::{Evidence, VIEW_COUNT};
use super::plane::{Histogram, Place};
use super::posterior::{CastPoint, CastPosterior};
use super::template::{KNOT_COUNT, Lines, Shares, Table, Template, around};
use super::weights::BUILT_IN;

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

/// How much of each view falls on each knot of its template, were a neutral surface at this place:
/// the numbers whose sum, weighted by the templates, is the evidence for that. View by view.
#[must_use]
pub fn knot_shares(evidence: &Evidence, neutral: Place) -> Vec<f32> {
    let mut all = Vec::with_capacity(VIEW_COUNT * KNOT_COUNT);
    for view in &evidence.views {
        let mut knots = [0.0; KNOT_COUNT];
        for (row, column, share) in view.shares() {
            for (knot, part) in around(Histogram::place(row, column) - neutral) {
                knots[knot] += share * part;
            }
        }
        all.extend(knots);
    }
    all
}

/// Weights made ready.
pub struct Model {
    tables: [Table; VIEW_COUNT],
    prior: [f32; PRIOR_COUNT],
    temperature: f32,
}

impl Model {
    /// Makes weights ready.
    #[must_use]
    pub fn new(weights: &Weights) -> Self {
        Self {
            tables: std::array::from_fn(|view| Table::of(&weights.templates[view])),
            prior: weights.prior,
            temperature: weights.temperature,
        }
    }

    /// The weights that the program comes with.
    #[must_use]
    pub fn built_in() -> &'static Self {
        static MODEL: OnceLock<Model> = OnceLock::new();
        MODEL.get_or_init(|| Self::new(&BUILT_IN))
    }

    /// What the cast may be of a frame that was shot at `balance` and has this evidence.
    #[must_use]
    pub fn posterior(&self, evidence: &Evidence, balance: &White) -> CastPosterior {
        let views: Vec<_> = evidence.views.iter().map(Shares::of).collect();
        if views.iter().all(Shares::is_empty) {
            // What lights are common is no reason to find a cast in nothing.
            return CastPosterior::of_no_evidence();
        }
        let candidates = candidates(balance);
        let scores: Vec<f64> = candidates
            .iter()
            .map(|candidate| {
                let lines = Lines::of(candidate.neutral);
                let tables = self.tables.iter().zip(&views);
                let shown: f32 = tables.map(|(table, shares)| table.score(shares, &lines)).sum();
                let terms = prior_terms(candidate);
                let expected: f32 = terms.iter().zip(self.prior).map(|(a, b)| a * b).sum();
                f64::from((shown + expected) / self.temperature)
            })
            .collect();
        let most = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let points = candidates.iter().zip(scores).map(|(candidate, score)| CastPoint {
            mired: candidate.mired,
            duv: candidate.duv,
            weight: (score - most).exp(),
        });
        CastPosterior::new(points.collect()).unwrap_or_else(CastPosterior::of_no_evidence)
    }
}
