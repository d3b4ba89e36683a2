//! The order in which frames were taken, and how likely the light changed between two of them.

/// The light changes before a frame this often where time says nothing.
const CHANGE: f64 = 0.04;
/// And this often after a long pause.
const CHANGE_AFTER_PAUSE: f64 = 0.5;
/// A pause is long from so many usual gaps on.
const LONG: f64 = 6.0;

/// How likely the light changed before each frame; the first one's figure means nothing. `times`
/// are in order, what has none at the end: that is as far from the others as what follows a pause.
pub(super) fn chances_of_change(times: &[Option<i64>]) -> Vec<f64> {
    let gaps = gaps(times);
    let usual = usual(&gaps);
    let timed = timed(times);
    gaps.into_iter()
        .enumerate()
        .map(|(index, gap)| match gap {
            Some(gap) => {
                let pause = (gap / usual / LONG).powi(2);
                CHANGE + (CHANGE_AFTER_PAUSE - CHANGE) * pause / (1.0 + pause)
            }
            None if index == timed => CHANGE_AFTER_PAUSE,
            None => CHANGE,
        })
        .collect()
}

/// How many of the times, which are in order, are known: those at the beginning.
pub(super) fn timed(times: &[Option<i64>]) -> usize {
    times.iter().take_while(|time| time.is_some()).count()
}

/// Whether each frame follows a long pause.
pub(super) fn after_pauses(times: &[Option<i64>]) -> Vec<bool> {
    let gaps = gaps(times);
    let usual = usual(&gaps);
    gaps.into_iter().map(|gap| gap.is_some_and(|gap| gap > LONG * usual)).collect()
}

/// Seconds since the frame before.
fn gaps(times: &[Option<i64>]) -> Vec<Option<f64>> {
    let before = std::iter::once(None).chain(times.iter().copied());
    times
        .iter()
        .zip(before)
        .map(|(time, before)| Some((time.as_ref()? - before?).max(0) as f64))
        .collect()
}

/// The usual gap: frames taken within the same second are one burst and no measure.
fn usual(gaps: &[Option<f64>]) -> f64 {
    const SHORTEST: f64 = 5.0;
    let mut known: Vec<_> = gaps.iter().flatten().copied().filter(|gap| *gap > 0.0).collect();
    known.sort_by(f64::total_cmp);
    known.get(known.len().saturating_sub(1) / 2).copied().unwrap_or(SHORTEST).max(SHORTEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_light_is_likelier_to_have_changed_over_a_pause() {
        let times = [0, 90, 180, 250, 1900, 2000].map(Some);
        let chances = chances_of_change(&times);
        assert!(chances[4] > 0.3 && chances[1] < 0.06, "{chances:?}");
        assert_eq!(after_pauses(&times), [false, false, false, false, true, false]);
        assert_eq!(chances_of_change(&[Some(1), None, None])[1..], [CHANGE_AFTER_PAUSE, CHANGE]);
    }
}
