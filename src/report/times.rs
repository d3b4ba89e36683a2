//! When frames and groups were taken, in words. A time is as in a record: YYYY-MM-DDThh:mm:ss.

use crate::frames::GroupReading;

/// The date.
pub(super) fn date(time: &str) -> Option<&str> {
    time.split_once('T').map(|(date, _)| date)
}

/// Hours and minutes.
pub(super) fn clock(time: &str) -> &str {
    time.split_once('T').and_then(|(_, clock)| clock.get(..5)).unwrap_or(time)
}

/// When a group was taken: from the first of its frames to the last, with the dates.
#[cfg(feature = "html")]
pub(super) fn when(group: &GroupReading) -> String {
    let (Some(from), Some(to)) = (&group.from, &group.to) else { return String::new() };
    if date(from) == date(to) {
        let times = clocks(group);
        return date(from).map_or_else(|| times.clone(), |date| format!("{date} {times}"));
    }
    format!("{} to {}", date_and_clock(from), date_and_clock(to))
}

/// The same by the clock alone; empty where it is over more than one day, since the clock alone
/// would mislead.
pub(super) fn clocks(group: &GroupReading) -> String {
    match (&group.from, &group.to) {
        (Some(from), Some(to)) if date(from) != date(to) => String::new(),
        (Some(from), Some(to)) if clock(from) != clock(to) => {
            format!("{} to {}", clock(from), clock(to))
        }
        (Some(from), _) => clock(from).to_owned(),
        _ => String::new(),
    }
}

/// The day that a group was taken on; when it begins and ends where that is on two.
pub(super) fn days(group: &GroupReading) -> String {
    match (&group.from, &group.to) {
        (Some(from), Some(to)) if date(from) != date(to) => {
            format!("{} to {}", date_and_clock(from), date_and_clock(to))
        }
        (Some(from), _) => date(from).unwrap_or(from).to_owned(),
        _ => "No time".to_owned(),
    }
}

/// A date with hours and minutes.
pub(super) fn date_and_clock(time: &str) -> String {
    date(time).map_or_else(|| clock(time).to_owned(), |date| format!("{date} {}", clock(time)))
}

/// Whether groups are of more than one day.
pub(super) fn of_several_days(groups: &[&GroupReading]) -> bool {
    let times = groups.iter().flat_map(|group| [&group.from, &group.to]).flatten();
    are_of_several_days(times.map(String::as_str))
}

/// Whether times are of more than one day.
pub(super) fn are_of_several_days<'a>(times: impl Iterator<Item = &'a str>) -> bool {
    let mut days = times.filter_map(date);
    let first = days.next();
    days.any(|day| Some(day) != first)
}
