//! Picking some of many values, quickly.

/// The values that are to be kept. Which ones are is as good as random, so each is written and then kept or written
/// over: no branch to mispredict.
pub(super) fn kept<T: Copy + Default>(
    values: impl IntoIterator<Item = T>,
    keep: &[bool],
) -> Vec<T> {
    const AT_ONCE: usize = 64;
    let mut all = Vec::with_capacity(keep.len());
    let mut values = values.into_iter();
    let mut some = [T::default(); AT_ONCE];
    for keep in keep.chunks(AT_ONCE) {
        if !keep.contains(&true) {
            values.nth(keep.len() - 1);
            continue;
        }
        let mut count = 0;
        for (keep, value) in keep.iter().zip(values.by_ref()) {
            some[count % AT_ONCE] = value;
            count += usize::from(*keep);
        }
        all.extend_from_slice(some.get(..count).unwrap_or_default());
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn those_that_are_to_be_kept_stay_in_their_order() {
        for length in [0, 1, 63, 64, 65, 200, 400] {
            let keep: Vec<bool> = (0..length).map(|at| at * at % 7 < 3 && at / 100 != 1).collect();
            let wanted: Vec<usize> = (0..length).filter(|at| keep[*at]).collect();
            assert_eq!(kept(0.., &keep), wanted);
        }
    }
}
