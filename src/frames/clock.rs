//! One clock for frames whose cameras' clocks were set to several time zones.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::card::ShotRecord;

/// The clock by which times of frames are told and put in order: that of the offset from UTC that most of them
/// record. A frame that records none is taken to go by it already.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Clock {
    /// Minutes ahead of UTC, where any frame says.
    offset: Option<i16>,
    /// Whether frames' own clocks are of several offsets.
    differ: bool,
}

impl Clock {
    /// The clock for some frames, in whatever order they come.
    pub(crate) fn of<'a>(shots: impl IntoIterator<Item = &'a ShotRecord>) -> Self {
        let mut counts: BTreeMap<i16, usize> = BTreeMap::new();
        let timed = shots.into_iter().filter(|shot| shot.taken.is_some());
        for offset in timed.filter_map(|shot| shot.utc_offset_minutes) {
            *counts.entry(offset).or_default() += 1;
        }
        // The last of the most common ones counts: the one furthest west.
        let most = counts.iter().rev().max_by_key(|(_, count)| **count);
        Self { offset: most.map(|(offset, _)| *offset), differ: counts.len() > 1 }
    }

    /// Which clock it is, as in "UTC+01:00", where frames' own clocks differ.
    pub(crate) fn name(self) -> Option<String> {
        let offset = self.offset.filter(|_| self.differ)?;
        let (sign, minutes) = (if offset < 0 { '-' } else { '+' }, offset.unsigned_abs());
        Some(format!("UTC{sign}{:02}:{:02}", minutes / 60, minutes % 60))
    }

    /// When a frame was taken, in seconds from an arbitrary beginning.
    pub(crate) fn seconds(self, shot: &ShotRecord) -> Option<i64> {
        Some(seconds(shot.taken.as_deref()?)? + self.ahead(shot))
    }

    /// When a frame was taken, as in a record.
    pub(crate) fn time(self, shot: &ShotRecord) -> Option<Cow<'_, str>> {
        let own = shot.taken.as_deref()?;
        match self.seconds(shot).filter(|_| self.ahead(shot) != 0) {
            Some(seconds) => Some(Cow::Owned(text(seconds))),
            None => Some(Cow::Borrowed(own)),
        }
    }

    /// How many seconds it is ahead of a frame's own clock.
    fn ahead(self, shot: &ShotRecord) -> i64 {
        let offsets = self.offset.zip(shot.utc_offset_minutes);
        offsets.map_or(0, |(here, there)| 60 * (i64::from(here) - i64::from(there)))
    }
}

/// Seconds of a camera's clock, `YYYY-MM-DDTHH:MM:SS`, from an arbitrary beginning. `None` for
/// anything else.
fn seconds(taken: &str) -> Option<i64> {
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

/// The time at so many [`seconds`].
fn text(at: i64) -> String {
    let (days, rest) = (at.div_euclid(86_400) - 1, at.rem_euclid(86_400));
    // In cycles of 400 years, which have 146 097 days.
    let (cycles, day) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day = day - (153 * month + 2) / 5 + 1;
    let (month, later) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    let year = 400 * cycles + year + later;
    let (hour, minute, second) = (rest / 3600, rest / 60 % 60, rest % 60);
    format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shot(taken: &str, offset: Option<i16>) -> ShotRecord {
        let taken = Some(taken.to_owned());
        ShotRecord { taken, utc_offset_minutes: offset, ..ShotRecord::default() }
    }

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
    fn seconds_lead_back_to_their_time() {
        let of = |text: &str| seconds(text).unwrap();
        let mut at = of("1899-12-28T13:14:15");
        while at < of("2101-03-02T00:00:00") {
            let told = text(at);
            assert_eq!(of(&told), at, "{told}");
            at += 86_399;
        }
        assert_eq!(text(of("2024-02-29T23:59:59") + 1), "2024-03-01T00:00:00");
    }

    #[test]
    fn times_of_several_clocks_are_told_by_the_commonest() {
        let shots = [
            shot("2024-03-12T11:42:00", Some(540)),
            shot("2024-03-12T04:02:00", Some(60)),
            shot("2024-03-12T04:12:00", Some(60)),
            shot("2024-03-12T04:30:00", None),
        ];
        let clock = Clock::of(&shots);
        let times: Vec<_> = shots.iter().map(|shot| clock.time(shot).unwrap()).collect();
        let wanted = ["03:42", "04:02", "04:12", "04:30"];
        assert_eq!(times, wanted.map(|time| format!("2024-03-12T{time}:00")));
        assert_eq!(clock.name().as_deref(), Some("UTC+01:00"));
        assert_eq!(clock, Clock::of(shots.iter().rev()), "whatever comes first");
        let west = [shot("2024-03-12T23:00:00", Some(-210)), shot("2024-03-13T02:30:00", Some(0))];
        let clock = Clock::of(&west);
        assert_eq!(clock.name().as_deref(), Some("UTC-03:30"));
        assert_eq!(clock.seconds(&west[0]), clock.seconds(&west[1]));
        assert_eq!(clock.time(&west[1]).unwrap(), "2024-03-12T23:00:00");
    }

    #[test]
    fn of_one_clock_nothing_is_said_and_nothing_changed() {
        let one = [shot("2024-03-12T11:42:00", Some(540)), shot("yesterday", None)];
        let clock = Clock::of(&one);
        assert_eq!((clock.name(), clock.time(&one[1]).unwrap().as_ref()), (None, "yesterday"));
        assert_eq!(clock.time(&one[0]).unwrap(), "2024-03-12T11:42:00");
        assert_eq!(Clock::of([]), Clock::default());
    }
}
