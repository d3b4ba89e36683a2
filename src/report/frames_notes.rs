//! What is to be known of what is listed, in words.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::frames_page::FramesPage;
use super::frames_words::{group_of, named};
use super::words::{capitalised, plural};
use super::{FrameRecord, GroupRecord};
use crate::frames::{FrameReading, GroupReading, Verdict};

/// Whether frames were put together without knowing when they were taken.
pub(super) fn is_guess(group: &GroupReading) -> bool {
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
    let by_folder = by_folder_in_words(page);
    notes.extend(by_folder);
    let beyond = beyond_in_words(page);
    notes.extend(beyond.as_deref());
    let edited = edited_in_words(page);
    notes.extend(edited.as_deref());
    if groups().any(is_guess) {
        notes.push("Without times, groups are guesses from casts and names: look at them first.");
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

/// Whether a frame is an odd one of its group.
pub(super) fn is_odd(page: &FramesPage<'_>, record: &FrameRecord) -> bool {
    record
        .reading()
        .and_then(|reading| group_of(reading, page.groups))
        .is_some_and(|group| group.odd.contains(&record.path.path))
}

/// That folders part groups, where nothing else tells cameras apart.
fn by_folder_in_words(page: &FramesPage<'_>) -> Option<&'static str> {
    let unnamed =
        page.groups.iter().map(GroupRecord::reading).filter(|group| group.camera.is_none());
    let folders: BTreeSet<_> =
        unnamed.map(|group| Path::new(&group.first).parent().map(Path::to_owned)).collect();
    (folders.len() > 1)
        .then_some("Where files name no camera each folder counts as one, with groups of its own.")
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
    fn it_is_said_where_folders_part_groups() {
        let (frames, mut groups) = frame_examples::shoot();
        for (group, first) in groups.iter_mut().zip(["a/1.jpg", "b/1.jpg"]) {
            let mut reading = group.reading().clone();
            (reading.camera, reading.first) = (None, first.to_owned());
            *group = GroupRecord::from(reading);
        }
        let page = frame_examples::page(&frames, &groups);
        let said = notes(&page, &page.listed()).concat();
        assert!(said.contains("Where files name no camera each folder counts as one"), "{said}");
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
        assert!(!notes(&page, &page.listed()).concat().contains("each folder"));
        forget(&mut frames[0]);
        assert!(said(&frames).contains("1 of 9 frames has no time: it comes"), "{}", said(&frames));
        forget(&mut frames[1]);
        assert!(said(&frames).contains("2 of 9 frames have no time: they come"));
        frames.iter_mut().for_each(forget);
        assert!(!said(&frames).contains("come after"), "where none has one, nothing comes after");
    }
}
