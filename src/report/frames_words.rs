//! Frames and their groups in words and figures, for the text and for the page.

use std::borrow::Cow;

use super::frame_order::clock_of;
use super::times::{clock, date_and_clock, of_several_days};
use super::words::{plural, signed};
use super::{FrameRecord, GroupRecord, plain};
use crate::balance::{appearance, looks_in_a_sentence};
use crate::frames::{Drift, DriftKind, FrameReading, GroupReading, ReferenceRecord, Verdict};
use crate::told::Told;

pub(super) fn counts(frames: &[FrameRecord]) -> String {
    let of = |verdict: Verdict| {
        let verdicts = frames.iter().filter_map(|record| Some(record.reading()?.verdict));
        verdicts.filter(|given| *given == verdict).count()
    };
    // How many frames are in a closed folder nobody knows.
    let folders = frames.iter().filter(|record| record.is_folder()).count();
    let failed = frames.iter().filter(|record| record.error().is_some()).count() - folders;
    let counted = Verdict::ALL.map(|verdict| (of(verdict), verdict.as_str()));
    let parts: Vec<_> = counted
        .into_iter()
        .chain([(failed, "could not be read")])
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    let counted = match frames.len() - folders {
        0 => "No frame".to_owned(),
        count => format!("{}: {}", plural(count, "frame"), parts.join(", ")),
    };
    match folders {
        0 => format!("{counted}."),
        _ => format!("{counted}; {} could not be looked into.", plural(folders, "folder")),
    }
}

/// What is said of a frame in the place of a cast's figures, where there is nothing in it that could tell one.
/// The reason may be out of a record that anybody has written.
pub(super) fn silent_in_words(frame: &FrameReading) -> Option<Cow<'_, str>> {
    let without_colour = frame.black_and_white.then_some("black and white: shows no cast");
    without_colour.or(frame.reason.as_deref()).map(plain)
}

/// The group of a frame.
pub(super) fn group_of<'g>(
    reading: &FrameReading,
    groups: &'g [GroupRecord],
) -> Option<&'g GroupReading> {
    // They are numbered from 1 in their order.
    let place = (reading.group? as usize).checked_sub(1)?;
    groups.get(place).map(GroupRecord::reading)
}

/// How many frames are black and white.
pub(super) fn without_colour(frames: &[FrameRecord]) -> usize {
    frames.iter().filter_map(FrameRecord::reading).filter(|frame| frame.black_and_white).count()
}

/// The card that frames were judged against, if any were.
pub(super) fn card_of(frames: &[FrameRecord]) -> Option<&ReferenceRecord> {
    frames.iter().find_map(|record| record.reading()?.reference.as_ref())
}

/// By which clock times are told, where frames' own clocks differ.
pub(super) fn clock_in_words(frames: &[FrameRecord]) -> Option<String> {
    let name = clock_of(frames).name()?;
    Some(format!(
        "The frames' clocks were set to several time zones: times here are by the clock of {name}."
    ))
}

/// What frames were judged against, where that is a card.
pub(super) fn reference_in_words(frames: &[FrameRecord]) -> Vec<String> {
    let readings: Vec<_> = frames.iter().filter_map(FrameRecord::reading).collect();
    let Some(card) = card_of(frames) else { return Vec::new() };
    let [red, _, blue] = card.gains;
    let mut texts = vec![format!(
        "Casts are what is left once the pictures are balanced from the card in {} (red × {red:.2}, \
         blue × {blue:.2}).",
        card.path
    )];
    let others = readings.iter().filter(|reading| reading.reference.is_none()).count();
    if others > 0 {
        texts.push(format!(
            "{} judged without it: shot with another camera or at another balance than the card, or \
             checked without a card.",
            match others {
                1 => "1 frame was".to_owned(),
                others => format!("{others} frames were"),
            }
        ));
    }
    texts
}

/// A group's cast by its name, "strong orange", without what is only slight.
pub(super) fn cast_of(group: &GroupReading) -> String {
    if !group.verdict.is_cast() {
        return group.verdict.to_string();
    }
    let appearance = appearance(group.cast.mired, group.cast.duv);
    let strong: Vec<_> =
        appearance.split(", ").filter(|word| !word.starts_with("slight")).collect();
    if strong.is_empty() { appearance } else { strong.join(", ") }
}

/// How a group looks, "strongly orange", without what is only slight.
pub(super) fn looks(group: &GroupReading) -> String {
    looks_in_a_sentence(&cast_of(group))
}

/// Said of gains that are not those of the cast alone.
pub(super) const CARD_INCLUDED: &str =
    "Gains are for pictures as they were shot, the card's part included.";

/// Groups by their numbers; of many only how many they are.
pub(super) fn named(numbers: &[u32]) -> String {
    const MOST: usize = 8;
    match numbers {
        many if many.len() > MOST => format!("{} groups", many.len()),
        [one] => format!("group {one}"),
        [first @ .., last] => {
            let first: Vec<_> = first.iter().map(u32::to_string).collect();
            format!("groups {} and {last}", first.join(", "))
        }
        [] => String::new(),
    }
}

/// Why groups are of no one light, a sentence for each that is not.
pub(super) fn reasons_in_words(groups: &[&GroupReading]) -> Vec<String> {
    let in_words = |group: &&GroupReading| {
        let reason = group.reason.as_deref()?;
        Some(format!("Group {} is undecided as a whole, since {reason}.", group.group))
    };
    groups.iter().filter_map(in_words).collect()
}

/// How casts move over time, some sentences for each movement.
pub(super) fn drifts_in_words(groups: &[&GroupReading], told: Told) -> Vec<String> {
    let several_days = of_several_days(groups);
    let time = |time: &str| match several_days {
        true => date_and_clock(time),
        false => clock(time).to_owned(),
    };
    let mut drifts: Vec<(&Drift, Vec<u32>)> = Vec::new();
    for group in groups {
        let Some(drift) = &group.drift else { continue };
        match drifts.iter_mut().find(|(known, _)| *known == drift) {
            Some((_, numbers)) => numbers.push(group.group),
            None => drifts.push((drift, vec![group.group])),
        }
    }
    let in_words = |(drift, numbers): (&Drift, Vec<u32>)| {
        let [low, high] = drift.mired_interval.map(|mired| signed(mired, 0));
        let over = match (&drift.from, &drift.to) {
            (Some(from), Some(to)) => format!("From {} to {}", time(from), time(to)),
            _ => format!("Over {}", plural(drift.frames, "frame")),
        };
        let advice = match (drift.kind, numbers.as_slice()) {
            // Its groups are the settings between which it jumps, each with a cast of its own.
            (DriftKind::Hunting, _) => None,
            (_, [_]) => Some("One correction fits the middle of it at best"),
            _ => Some("These groups are steps of one change"),
        };
        let advice = advice.map(|why| {
            format!(
                " {why}: {} suits better than one correction for all frames of a group, or else \
                 corrections of smaller parts.",
                told.either("frames --each-frame", "a correction of each frame by itself")
            )
        });
        format!(
            "{over} the cast {}, by {} mired ({low} to {high}), in {}. It looks like {}.{}",
            drift.kind.moves(),
            signed(drift.mired, 0),
            named(&numbers),
            drift.looks_like,
            advice.unwrap_or_default()
        )
    };
    drifts.into_iter().map(in_words).collect()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::report::{ErrorRecord, FrameOutcome, frame_examples};

    #[test]
    fn where_clocks_differ_it_is_said_by_which_one_times_are() {
        let (mut frames, _) = frame_examples::shoot();
        assert_eq!(clock_in_words(&frames), None);
        for (index, frame) in frames.iter_mut().enumerate() {
            if let FrameOutcome::Reading(reading) = &mut frame.outcome {
                reading.shot.utc_offset_minutes = Some(if index == 1 { 540 } else { 60 });
            }
        }
        let said = clock_in_words(&frames).unwrap();
        assert!(said.ends_with("times here are by the clock of UTC+01:00."), "{said}");
    }

    #[test]
    fn a_closed_folder_is_counted_as_what_it_is() {
        let (frames, _) = frame_examples::shoot();
        let error = ErrorRecord { code: "io".to_owned(), message: "closed".to_owned() };
        let closed = FrameRecord::closed_folder(Path::new("closed"), error);
        let with = [&frames[..], std::slice::from_ref(&closed)].concat();
        let [bare, told] = [&frames[..], &with].map(counts);
        assert_eq!(
            told,
            format!("{}; 1 folder could not be looked into.", bare.trim_end_matches('.'))
        );
        let alone = [closed.clone(), closed];
        assert_eq!(counts(&alone), "No frame; 2 folders could not be looked into.");
    }

    #[test]
    fn a_reason_out_of_a_record_cannot_steer_a_terminal() {
        let (frames, _) = frame_examples::shoot();
        let mut frame = frames.iter().find_map(FrameRecord::reading).cloned().unwrap();
        assert_eq!(silent_in_words(&frame), None);
        frame.reason = Some("one \u{202e}even\u{1b}[2J colour".to_owned());
        assert_eq!(silent_in_words(&frame).unwrap(), r"one \u{202e}even\u{1b}[2J colour");
    }
}
