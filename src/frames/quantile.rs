//! Quantiles of unsorted values.

use std::num::NonZero;

use super::kept::kept;

/// Every so manieth value is looked at first, to know about where the quantile lies.
const APART: usize = 32;

/// The values that the greatest so many parts (0–1) of all of them reach. 0 where there are none.
pub(super) fn upper<const N: usize>(values: &[f32], parts: [f32; N]) -> [f32; N] {
    let Some(count) = NonZero::new(values.len()) else { return [0.0; N] };
    let ranks = parts.map(|part| rank(count, part));
    let least = ranks.into_iter().min().unwrap_or_default();
    let (mut greatest, below) = if N > 1 && 2 * least > values.len() {
        // A few of the values hold all that is wanted.
        between(values, [bracket(values, least)[0], f32::INFINITY])
    } else {
        (Vec::new(), 0)
    };
    ranks.map(|rank| match rank.checked_sub(below).filter(|rank| *rank < greatest.len()) {
        Some(rank) => *greatest.select_nth_unstable_by(rank, f32::total_cmp).1,
        None => at_rank(values, rank),
    })
}

/// The rank, among so many, of the value that the greatest so many parts (0–1) of them reach.
pub(super) fn rank(count: NonZero<usize>, part: f32) -> usize {
    let last = count.get() - 1;
    (((1.0 - part) * last as f32) as usize).min(last)
}

/// The value that so many others come before, in the total order of floating-point numbers. There must be more
/// values than that.
pub(super) fn at_rank(values: &[f32], rank: usize) -> f32 {
    let (mut near, below) = between(values, bracket(values, rank));
    match rank.checked_sub(below).filter(|rank| *rank < near.len()) {
        Some(rank) => *near.select_nth_unstable_by(rank, f32::total_cmp).1,
        None => *values.to_vec().select_nth_unstable_by(rank, f32::total_cmp).1,
    }
}

/// The values from one to another, and how many are below these.
fn between(values: &[f32], [from, to]: [f32; 2]) -> (Vec<f32>, usize) {
    let below: u32 = values.iter().map(|value| u32::from(*value < from)).sum();
    let lies: Vec<bool> = values.iter().map(|value| (*value >= from) & (*value <= to)).collect();
    (kept(values.iter().copied(), &lies), below as usize)
}

/// Between what the value at a rank lies, nearly always.
fn bracket(values: &[f32], rank: usize) -> [f32; 2] {
    /// So many standard deviations of the rank of what was looked at.
    const SURE: f32 = 4.0;
    let mut some: Vec<f32> = values.iter().copied().step_by(APART).collect();
    let rank = rank as f32 / APART as f32;
    let part = rank / some.len().max(1) as f32;
    let margin = SURE * (rank * (1.0 - part)).max(1.0).sqrt();
    let mut at = |rank: f32, beyond: f32| {
        if rank < 0.0 || rank as usize >= some.len() {
            return beyond;
        }
        *some.select_nth_unstable_by(rank as usize, f32::total_cmp).1
    };
    [at(rank - margin, f32::NEG_INFINITY), at(rank + margin, f32::INFINITY)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantile_is_the_value_at_its_rank() {
        let mixed = |at: u32| at.wrapping_mul(0x9e37_79b1) >> 8;
        let values: Vec<f32> = (1..=2000).map(|at| mixed(at) as f32 / 8_388_608.0 - 0.5).collect();
        let mut sorted = values.clone();
        sorted.sort_by(f32::total_cmp);
        let parts = [0.001, 0.03, 0.34, 0.5, 0.9, 1.0];
        let wanted = parts.map(|part: f32| sorted[((1.0 - part) * 1999.0) as usize]);
        assert_eq!(upper(&values, parts), wanted);
        assert_eq!(upper(&[], [0.5]), [0.0]);
        assert_eq!(upper(&[3.0; 3], [0.0, 1.0]), [3.0, 3.0]);
    }
}
