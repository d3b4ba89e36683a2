//! From evidence to a posterior over casts.

use std::sync::OnceLock;

use crate::balance::White;

use super::candidates::candidates;
use super::evidence::{Evidence, VIEW_COUNT};
use super::posterior::{CastPoint, CastPosterior};
use super::template::{Lines, Shares, Table};
use super::terms::{PRIOR_COUNT, Weights, prior_terms};
use super::weights::BUILT_IN;

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
