//! Which frames are listed, and in which order.

use std::cmp::Ordering;

use super::FrameRecord;
use crate::frames::{Clock, FrameReading, Verdict, natural_order};

/// Which frames are listed. What could not be read is always listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum FrameFilter {
    /// Every frame.
    #[default]
    All,
    /// Frames with a cast.
    Casts,
    /// Frames that do not tell.
    Undecided,
}

impl FrameFilter {
    /// Whether a frame is listed.
    #[must_use]
    pub fn lists(self, record: &FrameRecord) -> bool {
        let verdict = record.reading().map(|reading| reading.verdict);
        verdict.is_none_or(|verdict| match self {
            Self::All => true,
            Self::Casts => verdict.is_cast(),
            Self::Undecided => verdict == Verdict::Undecided,
        })
    }
}

/// In which order frames are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum FrameOrder {
    /// As they were given.
    #[default]
    Given,
    /// By file name, as people count.
    Name,
    /// By the camera's clock, or by one for all where clocks were set to several time zones.
    Time,
    /// The strongest cast first.
    Cast,
    /// By group, and in it by the camera's clock.
    Group,
}

impl FrameOrder {
    /// Puts frames in this order. Those that do not say what it goes by come last, and those of
    /// one place stay as they were.
    pub fn sort(self, records: &mut [&FrameRecord]) {
        match self {
            Self::Given => {}
            Self::Name => records.sort_by(|a, b| natural_order(&a.path.path, &b.path.path)),
            Self::Time => {
                let clock = clock_of(records.iter().copied());
                by(records, |reading| clock.time(&reading.shot), Ord::cmp);
            }
            Self::Cast => by(records, strength, |a, b| b.total_cmp(a)),
            Self::Group => {
                Self::Time.sort(records);
                by(records, |reading| reading.group, Ord::cmp);
            }
        }
    }
}

/// The clock by which frames' times are told.
pub(super) fn clock_of<'a>(records: impl IntoIterator<Item = &'a FrameRecord>) -> Clock {
    Clock::of(records.into_iter().filter_map(|record| Some(&record.reading()?.shot)))
}

/// How many tolerances a frame's cast is off, on the worse axis; `None` of one that shows none.
fn strength(reading: &FrameReading) -> Option<f64> {
    let (cast, tolerance) = (&reading.cast, &reading.tolerance);
    let strength = (cast.mired / tolerance.mired).abs().max((cast.duv / tolerance.duv).abs());
    (!reading.is_silent()).then_some(strength)
}

fn by<'a, K: 'a>(
    records: &mut [&'a FrameRecord],
    key: impl Fn(&'a FrameReading) -> Option<K>,
    order: impl Fn(&K, &K) -> Ordering,
) {
    let key = |record: &&'a FrameRecord| record.reading().and_then(&key);
    records.sort_by(|a, b| match (key(a), key(b)) {
        (Some(a), Some(b)) => order(&a, &b),
        (a, b) => b.is_some().cmp(&a.is_some()),
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::frame_examples;

    fn names(order: FrameOrder, filter: FrameFilter) -> Vec<String> {
        let (mut records, _) = frame_examples::shoot();
        records.reverse();
        let mut listed: Vec<_> = records.iter().filter(|record| filter.lists(record)).collect();
        order.sort(&mut listed);
        let name = |record: &&FrameRecord| {
            record.path.path.replace("shoot/still-", "").replace(".jpg", "")
        };
        listed.iter().map(name).collect()
    }

    #[test]
    fn frames_are_put_in_order_and_what_has_no_place_comes_last() {
        let all = |order| names(order, FrameFilter::All).concat();
        assert_eq!(all(FrameOrder::Given), "8765x43210");
        assert_eq!(all(FrameOrder::Name), "012345678x");
        assert_eq!(all(FrameOrder::Time), "012345678x");
        assert_eq!(all(FrameOrder::Cast)[..3], *"648");
        assert!(all(FrameOrder::Group).starts_with("0123"));
        assert!(all(FrameOrder::Group).ends_with('x'));
    }

    #[test]
    fn only_what_is_asked_for_is_listed_and_failures_always() {
        assert_eq!(names(FrameOrder::Name, FrameFilter::Casts).concat(), "45678x");
        assert_eq!(names(FrameOrder::Name, FrameFilter::Undecided).concat(), "3x");
    }
}
