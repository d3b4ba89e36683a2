//! Trains on all scenes, and on all but some to see how that does on the rest.

use std::collections::BTreeMap;

use mirecast::balance::White;
use mirecast::frames::CastPosterior;
use mirecast::frames::cast_training::{KNOT_COUNT, Model, VIEW_COUNT, Weights};

use super::example::daylight;
use super::minimise::minimise;
use super::objective::{PARAMETERS, Row, Rows, TEMPLATES, cost, rows, weights};
use super::{Example, Figures};
use crate::{LabError, Rng};

const FOLDS: usize = 6;
const STEPS: usize = 80;
/// Intervals shall hold the truth somewhat more often than they claim, on scenes left out: other sets of scenes differ more.
const HELD: f64 = 0.94;

/// What training gave.
#[derive(Debug, Clone)]
pub struct Trained {
    /// Weights from all scenes.
    pub weights: Weights,
    /// How weights from other scenes do on each scene.
    pub left_out: Figures,
}

/// Trains on the examples.
///
/// # Errors
/// [`LabError`] where 5500 K is no light, which cannot happen.
pub fn train(examples: &[Example]) -> Result<Trained, LabError> {
    let rows = rows(examples)?;
    let balance = daylight()?;
    let left_out = left_out_weights(examples, &rows);
    let temperature = temperature(examples, &left_out, &balance);
    let posteriors = posteriors(examples, &left_out, temperature, &balance);
    let weighted = rows.iter().zip(weights(examples));
    let all: Vec<_> = weighted.flat_map(|(rows, weight)| rows.shared(weight)).collect();
    Ok(Trained {
        weights: Weights { temperature, ..fitted(&all) },
        left_out: Figures::of(examples, &posteriors, &balance),
    })
}

/// For each example the posterior by weights from other scenes than its own.
///
/// # Errors
/// As [`train`].
pub(super) fn left_out_posteriors(examples: &[Example]) -> Result<Vec<CastPosterior>, LabError> {
    let rows = rows(examples)?;
    let balance = daylight()?;
    let left_out = left_out_weights(examples, &rows);
    let temperature = temperature(examples, &left_out, &balance);
    Ok(posteriors(examples, &left_out, temperature, &balance))
}

/// For each example the weights that its scene had no part in.
fn left_out_weights(examples: &[Example], rows: &[Rows]) -> Vec<Weights> {
    let folds = folds(examples);
    let weights = weights(examples);
    let by_fold: Vec<Weights> = (0..FOLDS)
        .map(|left_out| {
            let others = rows.iter().zip(&weights).zip(&folds);
            let others: Vec<_> = others
                .filter(|(_, fold)| **fold != left_out)
                .flat_map(|((rows, weight), _)| rows.shared(*weight))
                .collect();
            fitted(&others)
        })
        .collect();
    folds.iter().map(|fold| by_fold[*fold].clone()).collect()
}

/// Each example's fold: scenes are dealt out in an order drawn once.
fn folds(examples: &[Example]) -> Vec<usize> {
    let mut scenes: BTreeMap<&str, u64> = BTreeMap::new();
    let mut rng = Rng::new(5);
    for example in examples {
        scenes.entry(&example.scene).or_default();
    }
    scenes.values_mut().for_each(|place| *place = rng.next_u64());
    let mut order: Vec<_> = scenes.into_iter().collect();
    order.sort_by_key(|(_, place)| *place);
    let dealt: BTreeMap<_, _> =
        order.iter().enumerate().map(|(at, (scene, _))| (*scene, at % FOLDS)).collect();
    examples.iter().map(|example| dealt[example.scene.as_str()]).collect()
}

fn fitted(rows: &[(&Row, f64)]) -> Weights {
    let found = minimise(vec![0.0; PARAMETERS], STEPS, |parameters| cost(rows, parameters));
    let narrow: Vec<f32> = found.iter().map(|value| *value as f32).collect();
    Weights {
        templates: std::array::from_fn(|view| {
            std::array::from_fn(|knot| narrow[view * KNOT_COUNT + knot])
        }),
        prior: std::array::from_fn(|term| narrow[TEMPLATES + term]),
        temperature: 1.0,
    }
}

/// The temperature at which the intervals hold the truth of left-out scenes as often as they shall.
fn temperature(examples: &[Example], left_out: &[Weights], balance: &White) -> f32 {
    let (mut sure, mut unsure) = (0.3_f32, 4.0_f32);
    for _ in 0..12 {
        let middle = 0.5 * (sure + unsure);
        let posteriors = posteriors(examples, left_out, middle, balance);
        if Figures::of(examples, &posteriors, balance).held < HELD {
            sure = middle;
        } else {
            unsure = middle;
        }
    }
    unsure
}

fn posteriors(
    examples: &[Example],
    weights: &[Weights],
    temperature: f32,
    balance: &White,
) -> Vec<CastPosterior> {
    use rayon::prelude::*;
    let pairs = examples.par_iter().zip(weights);
    pairs
        .map(|(example, weights)| {
            let weights = Weights { temperature, ..weights.clone() };
            Model::new(&weights).posterior(&example.evidence, balance)
        })
        .collect()
}

const _: () = assert!(VIEW_COUNT * KNOT_COUNT == TEMPLATES);
