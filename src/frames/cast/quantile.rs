//! Quantiles of unsorted values.

/// The value that the greatest `part` (0–1) of the items reach; it reorders them. 0 where there are none.
pub(super) fn upper<T>(items: &mut [T], part: f32, value: impl Fn(&T) -> f32) -> f32 {
    if items.is_empty() {
        return 0.0;
    }
    let rank = ((1.0 - part) * (items.len() - 1) as f32) as usize;
    let rank = rank.min(items.len() - 1);
    let (_, found, _) = items.select_nth_unstable_by(rank, |a, b| value(a).total_cmp(&value(b)));
    value(found)
}
