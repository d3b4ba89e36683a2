//! What is next once frames have been checked, in words.

use std::collections::BTreeSet;

use super::FrameRecord;
use super::frames_notes::is_guess;
use super::frames_page::FramesPage;
use super::frames_words::{card_of, looks, named, without_colour};
use super::words::{capitalised, kelvin};
use crate::frames::{Cast, DriftKind, GroupReading, Verdict};

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
    if page.frames.iter().any(|frame| frame.correction.is_some()) {
        let text = "Each frame with a sure cast has a correction of its own, named after it: load that \
                    one, and leave out the gains of its group, which do the same once more.";
        advice.push(text.to_owned());
    } else {
        advice.extend(casts.iter().take(MOST).map(|group| correction(group)));
        if casts.len() > MOST {
            advice.push("Correct the other groups by the gains in their lines.".to_owned());
        }
        advice.extend(in_no_one_light(page, groups));
        advice.extend(left_as_they_are(page, groups));
    }
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
            page.told.either(" (frames --each-frame)", ""),
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
    // Odd ones may well be of another light, and so may all that was put together by guess; and many frames of one
    // view are no surer than one.
    let is_surer = |group: &&&GroupReading| {
        of.contains(&group.group)
            && !is_guess(group)
            && group.odd.is_empty()
            && is_narrower(page, group)
    };
    let surer = groups.iter().filter(is_surer).count() == of.len();
    Some(format!(
        "{are} in {}, which {} none{}: no group's correction reaches {they}. Look at {they}{}.",
        named(&of),
        if of.len() == 1 { "has" } else { "have" },
        match (surer, of.len()) {
            (false, _) => "",
            (true, 1) => " and is much surer",
            (true, _) => " and are much surer",
        },
        page.told.either("; frames --each-frame corrects by a frame's own cast", ""),
    ))
}

/// Whether a group's interval is clearly narrower than those of its frames that are called for a cast.
fn is_narrower(page: &FramesPage<'_>, group: &GroupReading) -> bool {
    const CLEARLY: f64 = 1.3;
    let width = |cast: &Cast| cast.mired_interval[1] - cast.mired_interval[0];
    let readings = page.frames.iter().filter_map(FrameRecord::reading);
    readings
        .filter(|reading| reading.group == Some(group.group) && reading.verdict.is_cast())
        .all(|reading| width(&reading.cast) > CLEARLY * width(&group.cast))
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
