//! The order in which frames were taken, and how likely the light changed between two of them.

/// Seconds of a camera's clock, `YYYY-MM-DDTHH:MM:SS`, from an arbitrary beginning. `None` for
/// anything else.
pub(super) fn seconds(taken: &str) -> Option<i64> {
    let (date, time) = taken.split_once('T')?;
    let [year, month, day] = whole_numbers(date, '-')?;
    let [hour, minute, second] = whole_numbers(time, ':')?;
    let is_day = (1..=9998).contains(&year) && (1..=12).contains(&month) && (1..=31).contains(&day);
    if !is_day || hour > 23 || minute > 59 || second > 60 {
        return None;
    }
    // Days of the proleptic Gregorian calendar, with the year begun in March so that the leap day
    // comes last.
    let (year, month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let days = 365 * year + year.div_euclid(4) - year.div_euclid(100)
        + year.div_euclid(400)
        + (153 * month + 2) / 5
        + day;
    Some(days * 86_400 + hour * 3600 + minute * 60 + second)
}

fn whole_numbers(text: &str, between: char) -> Option<[i64; 3]> {
    let number = |part: &str| part.parse::<u16>().ok().map(i64::from);
    let numbers: Option<Vec<_>> = text.split(between).map(number).collect();
    numbers?.try_into().ok()
}

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
    fn a_clock_runs_over_months_and_leap_days() {
        let between = |a, b| seconds(b).unwrap() - seconds(a).unwrap();
        assert_eq!(between("2024-03-12T09:40:00", "2024-03-12T11:30:01"), 6601);
        assert_eq!(between("2024-02-28T23:59:59", "2024-03-01T00:00:00"), 86_401);
        assert_eq!(between("2023-12-31T23:59:59", "2024-01-01T00:00:00"), 1);
        for wrong in [
            "",
            "2024-03-12",
            "2024-03-12 09:40:00",
            "2024-13-01T00:00:00",
            "2024-03-12T24:00:00",
            "9999-12-31T23:59:59",
            "0000-01-01T00:00:00",
            "x-y-zTa:b:c",
        ] {
            assert_eq!(seconds(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn the_light_is_likelier_to_have_changed_over_a_pause() {
        let times = [0, 90, 180, 250, 1900, 2000].map(Some);
        let chances = chances_of_change(&times);
        assert!(chances[4] > 0.3 && chances[1] < 0.06, "{chances:?}");
        assert_eq!(after_pauses(&times), [false, false, false, false, true, false]);
        assert_eq!(chances_of_change(&[Some(1), None, None])[1..], [CHANGE_AFTER_PAUSE, CHANGE]);
    }
}
