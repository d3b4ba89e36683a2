//! What training makes least: the surprise at the true casts, and roughness of the templates.

use std::{array, iter};

use mirecast::balance::White;
use mirecast::colour::{Duv, MiredShift};
use mirecast::frames::cast_training::{
    Candidate, Evidence, KNOT_COUNT, KNOTS, PRIOR_COUNT, Place, VIEW_COUNT, candidates,
    knot_shares, neutral, prior_terms,
};
use rayon::prelude::*;

use super::Example;
use super::example::daylight;
use crate::{LabError, Rng};

/// Numbers of the views' templates together.
pub(super) const TEMPLATES: usize = VIEW_COUNT * KNOT_COUNT;
/// The prior's terms from here on speak of Duv.
const TINT: usize = 3;
/// Numbers that are trained: the templates', the prior's, and the latter's of Duv once more for lights from far off.
pub(super) const PARAMETERS: usize = TEMPLATES + PRIORS;
const PRIORS: usize = PRIOR_COUNT + (PRIOR_COUNT - TINT);

/// How much a step between neighbouring knots counts against a template, and the square of a value itself.
const ROUGHNESS: f64 = 0.02;
const SIZE: f64 = 0.02 * ROUGHNESS;
/// The same for the prior's numbers.
const PRIOR_SIZE: f64 = 0.05;
/// A scene's frames together count as so many.
const SCENE_WEIGHT: f64 = 5.0;
/// The truth is spread so wide over the candidates, in mired and Duv: their own steps, and what the scenes' own casts are unsure by.
const SPREAD: [f64; 2] = [9.0, 0.003];

/// An example as training needs it.
pub(super) struct Row {
    /// Per candidate the templates' and the prior's terms.
    terms: Vec<f32>,
    /// Per candidate how much of the truth it is.
    target: Vec<f64>,
}

/// How far off the lights lie in which parts are shown, one standard deviation in mired and Duv: sets of frames hold
/// few green, magenta and far-off ones.
const FAR: [f64; 2] = [70.0, 0.005];
/// How much more or less colourful the scene is in such a light, one standard deviation of the logarithm: cameras'
/// curves and picture styles differ in that.
const COLOURFULNESS: f64 = 0.2;
/// How far lights may be off in Duv from those of the frames, one standard deviation. These are of day and of lamps
/// with a filament; other lamps, and cameras, keep less to the loci.
const OFF_LOCUS: f64 = 0.003;
/// In so many such lights each frame is shown beside its own.
const OFF_LOCUS_COUNT: usize = 2;

/// Another light than the frame's own.
struct Moved {
    /// The place of a neutral surface as it is, and in that light.
    neutrals: [Place; 2],
    /// How many times as far from neutral other colours are.
    colourfulness: f32,
    /// The cast then, in mired and Duv.
    cast: [f64; 2],
    /// Whether it tells nothing of the tints that lights have.
    is_far: bool,
}

impl Moved {
    /// To a light from far and wide; `None` where that light has no place.
    fn far(seen: [f64; 2], balance: &White, rng: &mut Rng) -> Option<Self> {
        let cast: [f64; 2] = array::from_fn(|axis| seen[axis] + rng.normal() * FAR[axis]);
        let colourfulness = (rng.normal() * COLOURFULNESS).exp() as f32;
        let moved = Self::to(cast, seen, balance)?;
        Some(Self { colourfulness, is_far: true, ..moved })
    }

    /// To a light as it might be found too.
    fn off_locus(seen: [f64; 2], balance: &White, rng: &mut Rng) -> Option<Self> {
        Self::to([seen[0], seen[1] + rng.normal() * OFF_LOCUS], seen, balance)
    }

    fn to(cast: [f64; 2], seen: [f64; 2], balance: &White) -> Option<Self> {
        let place = |cast: [f64; 2]| neutral(MiredShift::new(cast[0]), Duv::new(cast[1]), balance);
        let (from, to) = place(seen).zip(place(cast))?;
        Some(Self { neutrals: [from, to], colourfulness: 1.0, cast, is_far: false })
    }
}

/// The rows of an example: the frame as it is, and itself and parts of it in other lights.
pub(super) struct Rows {
    as_it_is: Row,
    others: Vec<Row>,
}

impl Rows {
    /// Each row with its share of the example's weight: the frame as it is counts double.
    pub(super) fn shared(&self, weight: f64) -> impl Iterator<Item = (&Row, f64)> {
        let one = weight / (self.others.len() + 2) as f64;
        iter::once((&self.as_it_is, 2.0 * one)).chain(self.others.iter().map(move |row| (row, one)))
    }
}

/// The examples' terms: each as it is and in lights of slightly other tints, and its parts as they would be in lights
/// from far off, as a camera would show them that makes more or less of colours. On the plane of log-chromaticities
/// the one is a step of the whole evidence (von Kries), the other a factor on what lies around neutral, so neither
/// costs a picture.
pub(super) fn rows(examples: &[Example]) -> Result<Vec<Rows>, LabError> {
    let balance = daylight()?;
    let candidates = candidates(&balance);
    let rows =
        examples.par_iter().enumerate().map(|(at, example)| {
            let mut rng = Rng::stream(11, at as u64);
            let row = |evidence: &Evidence, moved: Option<Moved>| {
                row(evidence, example.seen, moved.as_ref(), &candidates)
            };
            let mut others: Vec<_> = example
                .crops
                .iter()
                .map(|evidence| row(evidence, Moved::far(example.seen, &balance, &mut rng)))
                .collect();
            others.extend((0..OFF_LOCUS_COUNT).map(|_| {
                row(&example.evidence, Moved::off_locus(example.seen, &balance, &mut rng))
            }));
            Rows { as_it_is: row(&example.evidence, None), others }
        });
    Ok(rows.collect())
}

/// The terms of the prior. Lights from far off have those of Duv for themselves: drawn as widely as they are, they
/// would teach that tints are common, which estimates then follow.
fn priors(candidate: &Candidate, is_far: bool) -> [f32; PRIORS] {
    let mut all = [0.0; PRIORS];
    for (index, term) in prior_terms(candidate).into_iter().enumerate() {
        let at = if is_far && index >= TINT { index + PRIOR_COUNT - TINT } else { index };
        all[at] = term;
    }
    all
}

/// The terms of what was seen in a frame with this cast, as it is or in another light.
fn row(
    evidence: &Evidence,
    seen: [f64; 2],
    moved: Option<&Moved>,
    candidates: &[Candidate],
) -> Row {
    let cast = moved.map_or(seen, |moved| moved.cast);
    let terms = candidates.iter().flat_map(|candidate| {
        let mut terms = knot_shares(evidence, |place| {
            let place = moved.map_or(place, |moved| {
                let [from, to] = moved.neutrals;
                to + (place - from) * moved.colourfulness
            });
            place - candidate.neutral
        });
        terms.extend(priors(candidate, moved.is_some_and(|moved| moved.is_far)));
        terms
    });
    let mut target: Vec<f64> = candidates
        .iter()
        .map(|candidate| {
            let off = [
                (candidate.mired.get() - cast[0]) / SPREAD[0],
                (candidate.duv.get() - cast[1]) / SPREAD[1],
            ];
            (-0.5 * (off[0] * off[0] + off[1] * off[1])).exp()
        })
        .collect();
    let sum: f64 = target.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    target.iter_mut().for_each(|value| *value /= sum);
    Row { terms: terms.collect(), target }
}

/// The weight of each example: frames of one scene share that scene's.
pub(super) fn weights(examples: &[Example]) -> Vec<f64> {
    let frames = |scene: &str| examples.iter().filter(|other| other.scene == scene).count();
    examples.iter().map(|example| SCENE_WEIGHT / frames(&example.scene) as f64).collect()
}

/// Surprise and roughness for these parameters, and their gradient.
pub(super) fn cost(rows: &[(&Row, f64)], parameters: &[f64]) -> (f64, Vec<f64>) {
    let narrow: Vec<f32> = parameters.iter().map(|value| *value as f32).collect();
    // Chunks of a fixed size, added in order: the same sum however many threads there are.
    let parts: Vec<(f64, Vec<f64>)> = rows
        .par_chunks(16)
        .map(|chunk| {
            let mut gradient = vec![0.0; PARAMETERS];
            let value = chunk
                .iter()
                .map(|(row, weight)| surprise(row, *weight, &narrow, &mut gradient))
                .sum();
            (value, gradient)
        })
        .collect();
    let (mut value, mut gradient) = roughness(parameters);
    for (part, slope) in parts {
        value += part;
        gradient.iter_mut().zip(slope).for_each(|(sum, part)| *sum += part);
    }
    (value, gradient)
}

fn surprise(row: &Row, weight: f64, parameters: &[f32], gradient: &mut [f64]) -> f64 {
    let scores: Vec<f64> =
        row.terms.chunks_exact(PARAMETERS).map(|terms| f64::from(dot(terms, parameters))).collect();
    let most = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = scores.iter().map(|score| (score - most).exp()).sum();
    let log_sum = most + sum.ln();
    let mut value = 0.0;
    let mut slope = vec![0.0_f32; PARAMETERS];
    let candidates = row.terms.chunks_exact(PARAMETERS).zip(scores.iter().zip(&row.target));
    for (terms, (score, target)) in candidates {
        value -= target * (score - log_sum);
        let pull = ((score - log_sum).exp() - target) as f32;
        slope.iter_mut().zip(terms).for_each(|(sum, term)| *sum += pull * term);
    }
    gradient.iter_mut().zip(slope).for_each(|(sum, part)| *sum += weight * f64::from(part));
    weight * value
}

/// A dot product in eight lanes, which the compiler can keep in one register.
fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0_f32; 8];
    let (a, a_rest) = a.as_chunks::<8>();
    let (b, b_rest) = b.as_chunks::<8>();
    for (a, b) in a.iter().zip(b) {
        for (lane, (a, b)) in lanes.iter_mut().zip(a.iter().zip(b)) {
            *lane += a * b;
        }
    }
    lanes.iter().sum::<f32>() + a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum::<f32>()
}

fn roughness(parameters: &[f64]) -> (f64, Vec<f64>) {
    let mut gradient = vec![0.0; PARAMETERS];
    let mut value = 0.0;
    for (index, parameter) in parameters.iter().enumerate() {
        let size = if index < TEMPLATES { SIZE } else { PRIOR_SIZE };
        value += 0.5 * size * parameter * parameter;
        gradient[index] += size * parameter;
    }
    for view in 0..VIEW_COUNT {
        for row in 0..KNOTS.0 {
            for column in 0..KNOTS.1 {
                let at = view * KNOT_COUNT + row * KNOTS.1 + column;
                let right = (column + 1 < KNOTS.1).then_some(at + 1);
                let below = (row + 1 < KNOTS.0).then_some(at + KNOTS.1);
                for next in [right, below].into_iter().flatten() {
                    let step = parameters[next] - parameters[at];
                    value += 0.5 * ROUGHNESS * step * step;
                    gradient[next] += ROUGHNESS * step;
                    gradient[at] -= ROUGHNESS * step;
                }
            }
        }
    }
    (value, gradient)
}
