//! Frames and their groups in words and figures, for the text and for the page.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use super::frames_page::FramesPage;
use super::times::{clock, date_and_clock, of_several_days};
use super::words::{capitalised, kelvin, plural, signed};
use super::{FrameRecord, GroupRecord, plain};
use crate::balance::appearance;
use crate::frames::{Drift, DriftKind, FrameReading, GroupReading, ReferenceRecord, Verdict};
use crate::told::Told;

pub(super) fn counts(frames: &[FrameRecord]) -> String {
    let of = |verdict: Verdict| {
        let verdicts = frames.iter().filter_map(|record| Some(record.reading()?.verdict));
        verdicts.filter(|given| *given == verdict).count()
    };
    let failed = frames.iter().filter(|record| record.error().is_some()).count();
    let counted = Verdict::ALL.map(|verdict| (of(verdict), verdict.as_str()));
    let parts: Vec<_> = counted
        .into_iter()
        .chain([(failed, "could not be read")])
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    format!("{}: {}.", plural(frames.len(), "frame"), parts.join(", "))
}

/// What is said of a frame in the place of a cast's figures, where there is nothing in it that could tell one.
/// The reason may be out of a record that anybody has written.
pub(super) fn silent_in_words(frame: &FrameReading) -> Option<Cow<'_, str>> {
    let without_colour = frame.black_and_white.then_some("black and white: shows no cast");
    without_colour.or(frame.reason.as_deref()).map(plain)
}

/// How many frames are black and white.
fn without_colour(frames: &[FrameRecord]) -> usize {
    frames.iter().filter_map(FrameRecord::reading).filter(|frame| frame.black_and_white).count()
}

/// The card that frames were judged against, if any were.
fn card_of(frames: &[FrameRecord]) -> Option<&ReferenceRecord> {
    frames.iter().find_map(|record| record.reading()?.reference.as_ref())
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

/// A group's cast in words, without what is only slight.
pub(super) fn looks(group: &GroupReading) -> String {
    if !group.verdict.is_cast() {
        return group.verdict.to_string();
    }
    let appearance = appearance(group.cast.mired, group.cast.duv);
    let strong: Vec<_> =
        appearance.split(", ").filter(|word| !word.starts_with("slight")).collect();
    if strong.is_empty() { appearance } else { strong.join(", ") }
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
                told.either("--each-frame", "a correction of each frame by itself")
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

pub(super) fn advice(page: &FramesPage<'_>, groups: &[&GroupReading]) -> Vec<String> {
    /// So many groups have a sentence of their own.
    const MOST: usize = 6;
    let mut advice = Vec::new();
    let casts: Vec<_> = groups.iter().filter(|group| group.verdict.is_cast()).collect();
    if let Some(card) = card_of(page.frames) {
        let [red, _, blue] = card.gains;
        advice.push(format!(
            "What was judged against the card is to be balanced from it: multiply linear red by \
             {red:.2} and blue by {blue:.2}. What is called neutral needs no more."
        ));
    }
    advice.extend(casts.iter().take(MOST).map(|group| correction(group)));
    if casts.len() > MOST {
        advice.push("Correct the other groups by the gains in their lines.".to_owned());
    }
    advice.extend(in_no_one_light(page, groups));
    advice.extend(left_as_they_are(page, groups));
    let is = |wanted: fn(Verdict) -> bool| {
        let readings = page.frames.iter().filter_map(FrameRecord::reading);
        readings.filter(|reading| wanted(reading.verdict)).count()
    };
    let black_and_white = without_colour(page.frames);
    let found = is(Verdict::is_cast);
    let undecided = is(|verdict| verdict == Verdict::Undecided) - black_and_white;
    if groups
        .iter()
        .any(|group| group.drift.as_ref().is_some_and(|drift| drift.kind == DriftKind::Hunting))
    {
        let text = "If the camera balanced automatically where the cast jumps, set it to a fixed \
                    preset or a kelvin number.";
        advice.push(text.to_owned());
    }
    if undecided > 0 {
        advice.push(format!(
            "Look at the {} by {}: nothing in {} tells for sure. A card photographed in that light \
             would{}.",
            if undecided == 1 {
                "undecided frame".to_owned()
            } else {
                format!("{undecided} undecided frames")
            },
            if undecided == 1 { "itself" } else { "themselves" },
            if undecided == 1 { "it" } else { "them" },
            page.told.either(" (mirecast card, or --reference)", ""),
        ));
    }
    match black_and_white {
        0 => {}
        1 => advice.push(
            "1 frame is black and white and shows no cast: it is in no group and needs no \
             correction."
                .to_owned(),
        ),
        many => advice.push(format!(
            "{many} frames are black and white and show no cast: they are in no group and need no \
             correction."
        )),
    }
    if page.groups.is_empty() && found > 0 {
        let text = "To see which frames share a light, give their records to mirecast groups.";
        advice.push(text.to_owned());
    }
    if found == 0 && undecided == 0 && casts.is_empty() && is(|_| true) > 0 {
        advice.push("Nothing to correct: no frame has a sure cast.".to_owned());
    }
    advice
}

/// How many frames are called for a cast by themselves in groups of which some thing holds, and which these are.
fn called_in(
    page: &FramesPage<'_>,
    groups: &[&GroupReading],
    holds: impl Fn(&GroupReading) -> bool,
) -> (usize, Vec<u32>) {
    let wanted: BTreeSet<_> =
        groups.iter().filter(|group| holds(group)).map(|group| group.group).collect();
    let readings = page.frames.iter().filter_map(FrameRecord::reading);
    let called: Vec<_> = readings
        .filter(|reading| reading.verdict.is_cast())
        .filter_map(|reading| reading.group.filter(|group| wanted.contains(group)))
        .collect();
    let of: BTreeSet<_> = called.iter().copied().collect();
    (called.len(), of.into_iter().collect())
}

/// What to do with groups of no one light.
fn in_no_one_light(page: &FramesPage<'_>, groups: &[&GroupReading]) -> Option<String> {
    let mixed = groups.iter().filter(|group| group.reason.is_some());
    let mixed: Vec<_> = mixed.map(|group| group.group).collect();
    let called = match called_in(page, groups, |group| group.reason.is_some()).0 {
        0 => String::new(),
        1 => ", 1 of which is called for a cast,".to_owned(),
        called => format!(", {called} of which are called for a cast,"),
    };
    (!mixed.is_empty()).then(|| {
        format!(
            "Correct the frames of {}{called} each by its own cast{}, or check those of one light \
             by themselves.",
            named(&mixed),
            page.told.either(" (--each-frame)", ""),
        )
    })
}

/// Which frames with a cast of their own no group's correction reaches.
fn left_as_they_are(page: &FramesPage<'_>, groups: &[&GroupReading]) -> Option<String> {
    let has_none = |group: &GroupReading| group.reason.is_none() && !group.verdict.is_cast();
    let (called, of) = called_in(page, groups, has_none);
    let (are, they) = match called {
        0 => return None,
        1 => ("1 frame is called for a cast by itself", "it"),
        called => (&*format!("{called} frames are called for a cast by themselves"), "them"),
    };
    Some(format!(
        "{are} in {}, which {} none: no group's correction reaches {they}. Look at {they}{}.",
        named(&of),
        if of.len() == 1 { "has" } else { "have" },
        page.told.either("; --each-frame corrects by a frame's own cast", ""),
    ))
}

/// What a group's pictures, as they were shot, are to be multiplied by: with the part of the card that they
/// were judged against. `None` where nothing is to be done, or nothing can be told.
pub(super) fn gains_to_apply(group: &GroupReading) -> Option<[f64; 3]> {
    let card = group.reference.as_ref().map(|card| card.gains);
    match group.verdict {
        Verdict::Undecided => None,
        // Neutral beyond the card.
        Verdict::Neutral => card,
        _ => {
            let (gains, card) = (group.gains?, card.unwrap_or([1.0; 3]));
            Some(std::array::from_fn(|i| gains[i] * card[i]))
        }
    }
}

/// How a group is corrected, in words.
fn correction(group: &GroupReading) -> String {
    let card = group.reference.as_ref();
    let [red, _, blue] = gains_to_apply(group).unwrap_or([1.0; 3]);
    let frames = match group.frames {
        1 => "its one frame".to_owned(),
        2 => "both frames".to_owned(),
        frames => format!("all {frames} frames"),
    };
    // A temperature alone leaves a tint as it is, and tints are not counted alike everywhere.
    let is_tinted = group.cast.duv.abs() > group.tolerance.duv;
    let shot_at = group.balance.kelvin.filter(|_| group.reference.is_none() && !is_tinted);
    let balance = shot_at.and_then(|shot_at| {
        let mired = 1e6 / shot_at + group.cast.mired;
        (mired > 25.0 && mired < 1000.0).then(|| {
            format!(
                ", or balance for {} K instead of {} K where the program can",
                kelvin(1e6 / mired),
                kelvin(shot_at)
            )
        })
    });
    capitalised(&format!(
        "group {} came out {}: on {frames}, multiply linear red by {red:.2} and blue by {blue:.2}{}{}.",
        group.group,
        looks(group),
        balance.unwrap_or_default(),
        if card.is_some() { ", the card's part included" } else { "" }
    ))
}

/// Whether frames were put together without knowing when they were taken.
fn is_guess(group: &GroupReading) -> bool {
    group.frames > 1 && group.from.is_none()
}

/// What may look odd in what is listed.
pub(super) fn notes(page: &FramesPage<'_>, listed: &[&FrameRecord]) -> Vec<String> {
    let readings = || listed.iter().filter_map(|record| record.reading());
    let is_unsure = |reading: &FrameReading| {
        reading.verdict == Verdict::Neutral && reading.cast.mired.abs() > reading.tolerance.mired
    };
    let is_within = |reading: &FrameReading| {
        matches!(reading.verdict, Verdict::Orange | Verdict::Blue)
            && reading.cast.mired.abs() <= reading.tolerance.mired
    };
    let groups = || page.groups.iter().map(GroupRecord::reading);
    // Odd ones may well be of another light, and so may all that was put together by guess.
    let is_trusted = |group: &&GroupReading| {
        group.verdict == Verdict::Neutral && !is_guess(group) && group.odd.is_empty()
    };
    let neutral: Vec<u32> = groups().filter(is_trusted).map(|group| group.group).collect();
    let is_at_odds = |reading: &FrameReading| {
        reading.verdict.is_cast() && reading.group.is_some_and(|group| neutral.contains(&group))
    };
    let mut notes: Vec<&str> = Vec::new();
    if readings().any(is_unsure) {
        notes.push("Neutral also means that no cast is sure: see what holds nine times in ten.");
    }
    if readings().any(is_within) {
        notes
            .push("Orange or blue within the tolerance: likelier than not, the cast is beyond it.");
    }
    let untimed = untimed_in_words(page);
    notes.extend(untimed.iter().map(String::as_str));
    if listed.iter().any(|record| is_odd(page, record)) {
        notes.push("* Looks otherwise than its group: look at it before correcting the group.");
    }
    let beyond = beyond_in_words(page);
    notes.extend(beyond.as_deref());
    let edited = edited_in_words(page);
    notes.extend(edited.as_deref());
    if groups().any(is_guess) {
        notes.push("Without times, groups are guesses from casts and names: look at them first.");
    }
    if readings().any(is_at_odds) {
        notes.push(
            "Where a frame has a cast and its group is neutral without odd ones, trust the group: it is \
             much surer.",
        );
    }
    notes.into_iter().map(str::to_owned).collect()
}

/// Which groups are of edited copies.
fn edited_in_words(page: &FramesPage<'_>) -> Option<String> {
    let groups = page.groups.iter().map(GroupRecord::reading);
    let edited: Vec<u32> = groups.filter(|group| group.edited).map(|group| group.group).collect();
    let are = if edited.len() == 1 { "is" } else { "are" };
    (!edited.is_empty()).then(|| {
        format!(
            "{} {are} of edited copies beside their originals: of what was made of the light.",
            capitalised(&named(&edited))
        )
    })
}

/// How many frames that were grouped have no time, where others have one, and how many have none but that at which
/// their camera's clock stood.
fn untimed_in_words(page: &FramesPage<'_>) -> Vec<String> {
    let grouped = page.frames.iter().filter_map(FrameRecord::reading);
    let grouped: Vec<_> = grouped.filter(|reading| reading.group.is_some()).collect();
    let all = plural(grouped.len(), "frame");
    let untimed = grouped.iter().filter(|reading| reading.shot.taken.is_none()).count();
    let stopped = of_a_stopped_clock(page, &grouped);
    let mut texts = Vec::new();
    if untimed > 0 && untimed + stopped < grouped.len() {
        let come = match untimed {
            1 => "has no time: it comes after the others",
            _ => "have no time: they come after the others, in the order of their names",
        };
        texts.push(format!("{untimed} of {all} {come}."));
    }
    if stopped > 0 {
        texts.push(format!(
            "{stopped} of {all} say one and the same time, as of a clock that was not set: that tells \
             no order, and they are taken in the order of their names."
        ));
    }
    texts
}

/// How many frames say a time that was passed over since others say it too.
fn of_a_stopped_clock(page: &FramesPage<'_>, grouped: &[&FrameReading]) -> usize {
    let untimed: BTreeSet<_> = page
        .groups
        .iter()
        .map(GroupRecord::reading)
        .filter(|group| group.from.is_none())
        .map(|group| Some(group.group))
        .collect();
    let mut times = BTreeMap::<&str, usize>::new();
    for reading in grouped.iter().filter(|reading| untimed.contains(&reading.group)) {
        *times.entry(reading.shot.taken.as_deref().unwrap_or_default()).or_default() += 1;
    }
    times.into_iter().filter(|(time, count)| !time.is_empty() && *count > 1).map(|(_, n)| n).sum()
}

/// Whether a frame is an odd one of its group. Where many look otherwise none is.
pub(super) fn is_odd(page: &FramesPage<'_>, record: &FrameRecord) -> bool {
    let number = record.reading().and_then(|reading| reading.group);
    // Groups are numbered from 1 in their order.
    let group = number.and_then(|number| page.groups.get((number as usize).checked_sub(1)?));
    group
        .map(GroupRecord::reading)
        .is_some_and(|group| group.reason.is_none() && group.odd.contains(&record.path.path))
}

/// Of which groups the cast lies beyond those of all their frames.
fn beyond_in_words(page: &FramesPage<'_>) -> Option<String> {
    let readings: Vec<_> = page.frames.iter().filter_map(FrameRecord::reading).collect();
    let is_beyond = |group: &&GroupReading| {
        let of_it = || readings.iter().filter(|reading| reading.group == Some(group.group));
        let off = |mired: f64| mired * group.cast.mired.signum();
        group.frames > 1
            && group.verdict.is_cast()
            && of_it().all(|reading| off(reading.cast.mired) < off(group.cast.mired) - 0.5)
            && of_it().next().is_some()
    };
    let beyond = page.groups.iter().map(GroupRecord::reading).filter(is_beyond);
    let beyond: Vec<_> = beyond.map(|group| group.group).collect();
    (!beyond.is_empty()).then(|| {
        let (is, its) = match beyond.len() {
            1 => ("is", "its"),
            _ => ("are", "their"),
        };
        format!(
            "{} {is} further off than any of {its} frames: a frame that is not sure is told nearer \
             to neutral than it may be, and a group need not be.",
            capitalised(&named(&beyond))
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::frame_examples;

    #[test]
    fn a_reason_out_of_a_record_cannot_steer_a_terminal() {
        let (frames, _) = frame_examples::shoot();
        let mut frame = frames.iter().find_map(FrameRecord::reading).cloned().unwrap();
        assert_eq!(silent_in_words(&frame), None);
        frame.reason = Some("one \u{202e}even\u{1b}[2J colour".to_owned());
        assert_eq!(silent_in_words(&frame).unwrap(), r"one \u{202e}even\u{1b}[2J colour");
    }

    #[test]
    fn it_is_said_how_many_frames_have_no_time() {
        let (mut frames, groups) = frame_examples::shoot();
        let said = |frames: &[FrameRecord]| {
            let page = frame_examples::page(frames, &groups);
            notes(&page, &page.listed()).concat()
        };
        assert!(!said(&frames).contains("no time"));
        let forget = |frame: &mut FrameRecord| {
            if let crate::report::FrameOutcome::Reading(reading) = &mut frame.outcome {
                reading.shot.taken = None;
            }
        };
        let mut groups = groups.clone();
        let mut edited = groups[1].reading().clone();
        edited.edited = true;
        groups[1] = GroupRecord::from(edited);
        let page = frame_examples::page(&frames, &groups);
        assert!(notes(&page, &page.listed()).concat().contains("Group 2 is of edited copies"));
        forget(&mut frames[0]);
        assert!(said(&frames).contains("1 of 9 frames has no time: it comes"), "{}", said(&frames));
        forget(&mut frames[1]);
        assert!(said(&frames).contains("2 of 9 frames have no time: they come"));
        frames.iter_mut().for_each(forget);
        assert!(!said(&frames).contains("come after"), "where none has one, nothing comes after");
    }
}
