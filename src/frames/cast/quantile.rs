//! Quantiles of unsorted values.

/// Values are first counted by their leading bits: sign, exponent and so many of the mantissa's that
/// few share a count.
const LEADING_BITS: u32 = 14;
const SHIFT: u32 = u32::BITS - LEADING_BITS;

/// The values that the greatest so many parts (0–1) of all of them reach. 0 where there are none.
pub(super) fn upper<const N: usize>(
    values: impl Iterator<Item = f32> + Clone,
    parts: [f32; N],
) -> [f32; N] {
    let mut counts = [0_u32; 1 << LEADING_BITS];
    let mut all = 0_usize;
    for value in values.clone() {
        counts[(key(value) >> SHIFT) as usize] += 1;
        all += 1;
    }
    parts.map(|part| {
        let last = all.saturating_sub(1);
        let rank = (((1.0 - part) * last as f32) as usize).min(last);
        let mut below = 0;
        let found = (0_u32..).zip(&counts).find(|(_, count)| {
            let count = **count as usize;
            let here = below + count > rank;
            if !here {
                below += count;
            }
            here
        });
        let Some((leading, _)) = found else { return 0.0 };
        let mut near: Vec<f32> =
            values.clone().filter(|value| key(*value) >> SHIFT == leading).collect();
        *near.select_nth_unstable_by(rank - below, f32::total_cmp).1
    })
}

/// A number that goes up as the value does, in the total order of floating-point numbers.
fn key(value: f32) -> u32 {
    let bits = value.to_bits();
    if bits >> (u32::BITS - 1) == 0 { bits | 1 << (u32::BITS - 1) } else { !bits }
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
        assert_eq!(upper(values.iter().copied(), parts), wanted);
        assert_eq!(upper([].into_iter(), [0.5]), [0.0]);
        assert_eq!(upper([3.0; 3].into_iter(), [0.0, 1.0]), [3.0, 3.0]);
    }
}
