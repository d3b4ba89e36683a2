//! Whole numbers out of others, quickly.

/// The whole number below a value from 0 to some millions, and how far the value lies beyond it, 0–1. Of a whole
/// number that may be the one before it, which of 0 is what comes before 0 when counting in a circle.
#[inline(always)]
pub(crate) fn below(value: f32) -> (u32, f32) {
    /// Numbers from here to twice as much are whole: adding it rounds, and leaves the whole number in the low bits.
    /// A conversion would check its range, which takes longer than all the rest.
    const WHOLE: f32 = 8_388_608.0;
    let above = value + 0.5 + WHOLE;
    let number = above.to_bits().wrapping_sub(WHOLE.to_bits()).wrapping_sub(1);
    (number, value - (above - WHOLE - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_and_the_rest_are_the_value() {
        for step in 0..20_000_u32 {
            let value = step as f32 * 0.25;
            let (number, rest) = below(value);
            let next = number.wrapping_add(1) as f32;
            assert!((0.0..=1.0).contains(&rest), "{value}: {number} {rest}");
            assert_eq!(next - 1.0 + rest, value);
        }
    }
}
