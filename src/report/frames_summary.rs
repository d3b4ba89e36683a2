//! What a run of frames comes to: counts, groups and their corrections, and what to do next.

use std::io::{self, Write};

use super::folder::Folder;
use super::frames_page::FramesPage;
use super::text::{in_columns, write_wrapped};
use super::words::{capitalised, kelvin, plural, signed};
use super::{FrameFilter, FrameOrder, FrameRecord, GroupRecord};
use crate::balance::appearance;
use crate::frames::{Drift, DriftKind, GroupReading, Verdict};

/// So many of a kind are named; the table has the rest.
const MOST_NAMED: usize = 10;
/// So many groups are listed.
const MOST_GROUPS: usize = 16;

pub(super) fn write_summary(
    out: &mut impl Write,
    page: &FramesPage<'_>,
    folder: &Folder,
) -> io::Result<()> {
    write_wrapped(out, "", "  ", &counts(page.frames))?;
    let groups: Vec<_> = page.groups.iter().map(GroupRecord::reading).collect();
    write_reference(out, page.frames)?;
    write_groups(out, &groups)?;
    write_drifts(out, &groups)?;
    write_odd(out, &groups, folder)?;
    write_worst(out, page.frames, folder)?;
    write_advice(out, page, &groups)
}

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

/// Says so where some frames were judged against a card and others could not be.
fn write_reference(out: &mut impl Write, frames: &[FrameRecord]) -> io::Result<()> {
    reference_in_words(frames).iter().try_for_each(|text| write_wrapped(out, "", "  ", text))
}

/// What frames were judged against, where that is a card.
pub(super) fn reference_in_words(frames: &[FrameRecord]) -> Vec<String> {
    let readings: Vec<_> = frames.iter().filter_map(FrameRecord::reading).collect();
    let Some(card) = readings.iter().find_map(|reading| reading.reference.as_ref()) else {
        return Vec::new();
    };
    let [red, _, blue] = card.gains;
    let mut texts = vec![format!(
        "Casts are what is left once the pictures are balanced from the card in {} (red × {red:.2}, \
         blue × {blue:.2}).",
        card.path
    )];
    let others = readings.iter().filter(|reading| reading.reference.is_none()).count();
    if others > 0 {
        texts.push(format!(
            "{} shot with another camera or balance than the card and judged without it.",
            match others {
                1 => "1 frame was".to_owned(),
                others => format!("{others} frames were"),
            }
        ));
    }
    texts
}

fn write_groups(out: &mut impl Write, groups: &[&GroupReading]) -> io::Result<()> {
    let dates: Vec<_> = groups.iter().filter_map(|group| date(group.from.as_deref()?)).collect();
    let one_date = dates.first().filter(|first| dates.iter().all(|date| date == *first));
    if groups.is_empty() {
        return Ok(());
    }
    let day = one_date.map(|date| format!(", on {date}")).unwrap_or_default();
    let (shown, more) = shown(groups);
    writeln!(out)?;
    if shown.is_empty() {
        return writeln!(out, "Every frame is in a light of its own, and none has a cast.");
    }
    let heading = format!("Groups of one light each, to be corrected as a whole{day}");
    write_wrapped(out, "", "  ", &heading)?;
    writeln!(
        out,
        "  {:>5}  {:>6}  {:<14}  {:<28}  {:>5}  Gain R, B",
        "Group", "Frames", "When", "Cast", "mired"
    )?;
    for group in &shown {
        let looks = looks(group);
        let [red, _, blue] = group.gains;
        let gains =
            if group.verdict.is_cast() { format!("{red:.2}, {blue:.2}") } else { String::new() };
        let line = format!(
            "  {:>5}  {:>6}  {}  {}  {:>5}  {gains}",
            group.group,
            group.frames,
            in_columns(&when(group, one_date.is_some()), 14),
            in_columns(&looks, 28),
            signed(group.cast.mired, 0),
        );
        writeln!(out, "{}", line.trim_end())?;
    }
    if let Some(more) = more {
        writeln!(out, "  {more}")?;
    }
    write_cameras(out, &shown)
}

/// The groups that are listed, and what is said of the others. Of many groups, those of one frame
/// without a cast go first: there is nothing to correct in them.
fn shown<'a>(groups: &[&'a GroupReading]) -> (Vec<&'a GroupReading>, Option<String>) {
    let mut shown = groups.to_vec();
    if shown.len() <= MOST_GROUPS {
        return (shown, None);
    }
    shown.retain(|group| group.frames > 1 || group.verdict.is_cast());
    let plain = groups.len() - shown.len();
    let rest = shown.len().saturating_sub(MOST_GROUPS);
    shown.truncate(MOST_GROUPS);
    let more = match (rest, plain) {
        (0, plain) => format!("and {plain} more, of one frame each and without a cast"),
        (rest, 0) => format!("and {rest} more; --format csv has them all"),
        (rest, plain) => {
            let more = rest + plain;
            format!(
                "and {more} more, {plain} of them one frame without a cast; --format csv has all"
            )
        }
    };
    (shown, Some(more))
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

/// Which groups are of which camera, where there are several.
fn write_cameras(out: &mut impl Write, groups: &[&GroupReading]) -> io::Result<()> {
    let mut cameras = std::collections::BTreeMap::<Option<&str>, Vec<u32>>::new();
    for group in groups {
        cameras.entry(group.camera.as_deref()).or_default().push(group.group);
    }
    if cameras.len() < 2 {
        return Ok(());
    }
    for (camera, numbers) in cameras {
        let text = format!("{}: {}", camera.unwrap_or("Camera unknown"), named(&numbers));
        write_wrapped(out, "  ", "    ", &text)?;
    }
    Ok(())
}

fn named(numbers: &[u32]) -> String {
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

fn date(time: &str) -> Option<&str> {
    time.split_once('T').map(|(date, _)| date)
}

/// Hours and minutes.
pub(super) fn clock(time: &str) -> &str {
    time.split_once('T').and_then(|(_, clock)| clock.get(..5)).unwrap_or(time)
}

pub(super) fn when(group: &GroupReading, one_date: bool) -> String {
    match (&group.from, &group.to) {
        (Some(from), Some(to)) if one_date && clock(from) != clock(to) => {
            format!("{} to {}", clock(from), clock(to))
        }
        (Some(from), _) if one_date => clock(from).to_owned(),
        (Some(from), _) => {
            format!("{} {}", date(from).and_then(|date| date.get(5..)).unwrap_or(""), clock(from))
        }
        _ => String::new(),
    }
}

fn write_drifts(out: &mut impl Write, groups: &[&GroupReading]) -> io::Result<()> {
    for text in drifts_in_words(groups) {
        writeln!(out)?;
        write_wrapped(out, "", "  ", &text)?;
    }
    Ok(())
}

/// How casts move over time, a sentence or two for each movement.
pub(super) fn drifts_in_words(groups: &[&GroupReading]) -> Vec<String> {
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
            (Some(from), Some(to)) => format!("From {} to {}", clock(from), clock(to)),
            _ => format!("Over {}", plural(drift.frames, "frame")),
        };
        let what = match drift.kind {
            DriftKind::TowardOrange => "the cast moves steadily toward orange",
            DriftKind::TowardBlue => "the cast moves steadily toward blue",
            DriftKind::Hunting => "the cast jumps back and forth",
        };
        format!(
            "{over} {what}, by {} mired ({low} to {high}), in {}. It looks like {}.",
            signed(drift.mired, 0),
            named(&numbers),
            drift.looks_like
        )
    };
    drifts.into_iter().map(in_words).collect()
}

fn write_odd(out: &mut impl Write, groups: &[&GroupReading], folder: &Folder) -> io::Result<()> {
    let odd: Vec<_> =
        groups.iter().flat_map(|group| group.odd.iter().map(|path| (group.group, path))).collect();
    if odd.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nOdd ones out: look at them before correcting their group")?;
    for (group, path) in odd.iter().take(MOST_NAMED) {
        writeln!(out, "  {group:>5}  {}", folder.short(path, 70))?;
    }
    match odd.len().checked_sub(MOST_NAMED).filter(|more| *more > 0) {
        Some(more) => writeln!(out, "  and {more} more"),
        None => Ok(()),
    }
}

fn write_worst(out: &mut impl Write, frames: &[FrameRecord], folder: &Folder) -> io::Result<()> {
    let listed: Vec<_> = frames.iter().filter(|record| FrameFilter::Casts.lists(record)).collect();
    let mut worst: Vec<_> =
        listed.into_iter().filter(|record| record.reading().is_some()).collect();
    // Of a few frames the table shows at a glance which they are.
    if frames.len() <= 2 * MOST_NAMED || worst.is_empty() {
        return Ok(());
    }
    FrameOrder::Cast.sort(&mut worst);
    writeln!(out, "\nFurthest off")?;
    for record in worst.iter().take(MOST_NAMED) {
        let Some(reading) = record.reading() else { continue };
        let (mired, duv) = (reading.cast.mired, reading.cast.duv);
        writeln!(
            out,
            "  {:>5}  {}  {}",
            signed(mired, 0),
            in_columns(&appearance(mired, duv), 30),
            folder.short(&record.path.path, 39)
        )?;
    }
    Ok(())
}

fn write_advice(
    out: &mut impl Write,
    page: &FramesPage<'_>,
    groups: &[&GroupReading],
) -> io::Result<()> {
    let advice = advice(page, groups);
    if advice.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nWhat next")?;
    for sentence in advice {
        write_wrapped(out, "  - ", "    ", &sentence)?;
    }
    Ok(())
}

pub(super) fn advice(page: &FramesPage<'_>, groups: &[&GroupReading]) -> Vec<String> {
    /// So many groups have a sentence of their own.
    const MOST: usize = 6;
    let mut advice = Vec::new();
    let casts: Vec<_> = groups.iter().filter(|group| group.verdict.is_cast()).collect();
    advice.extend(casts.iter().take(MOST).map(|group| correction(group)));
    if casts.len() > MOST {
        advice.push("Correct the other groups by the gains in their lines.".to_owned());
    }
    let is = |wanted: fn(Verdict) -> bool| {
        let readings = page.frames.iter().filter_map(FrameRecord::reading);
        readings.filter(|reading| wanted(reading.verdict)).count()
    };
    let (found, undecided) = (is(Verdict::is_cast), is(|verdict| verdict == Verdict::Undecided));
    if !groups.is_empty() && casts.is_empty() && found > 0 {
        let text = "No group as a whole has a cast; look at the frames that are called for one by \
                    themselves.";
        advice.push(text.to_owned());
    }
    if groups
        .iter()
        .any(|group| group.drift.as_ref().is_some_and(|drift| drift.kind == DriftKind::Hunting))
    {
        let text = "Set the camera to a fixed preset or a kelvin number: its automatic balance \
                    changed from frame to frame.";
        advice.push(text.to_owned());
    }
    if undecided > 0 {
        advice.push(format!(
            "Look at the {} that {} not tell by {}: nothing in {} seems neutral. A card photographed \
             in that light would{}.",
            if undecided == 1 { "frame".to_owned() } else { format!("{undecided} frames") },
            if undecided == 1 { "does" } else { "do" },
            if undecided == 1 { "itself" } else { "themselves" },
            if undecided == 1 { "it" } else { "them" },
            page.told.either(" (mirecast card, or --reference)", ""),
        ));
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

/// How a group is corrected, in words.
fn correction(group: &GroupReading) -> String {
    let [red, _, blue] = group.gains;
    let frames = match group.frames {
        1 => "its one frame".to_owned(),
        2 => "both frames".to_owned(),
        frames => format!("all {frames} frames"),
    };
    let shot_at = group.balance.kelvin.filter(|_| group.reference.is_none());
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
        "group {} came out {}: on {frames}, multiply linear red by {red:.2} and blue by {blue:.2}{}.",
        group.group,
        looks(group),
        balance.unwrap_or_default()
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::frame_examples;

    #[test]
    fn of_many_groups_those_with_nothing_to_correct_go_first() {
        let (_, records) = frame_examples::shoot();
        let [neutral, orange] = [0, 1].map(|at| records[at].reading().clone());
        assert!(!neutral.verdict.is_cast() && orange.verdict.is_cast());
        let of_one = |group: &GroupReading| GroupReading { frames: 1, ..group.clone() };
        let many = |singles: usize, casts: usize| {
            let singles = std::iter::repeat_n(of_one(&neutral), singles);
            let casts = std::iter::repeat_n(of_one(&orange), casts);
            singles.chain(casts).chain([neutral.clone()]).collect::<Vec<_>>()
        };
        let told = |groups: &[GroupReading]| {
            let (shown, more) = shown(&groups.iter().collect::<Vec<_>>());
            (shown.len(), more.unwrap_or_default())
        };
        assert_eq!(told(&many(10, 2)), (13, String::new()));
        let without_a_cast = "and 20 more, of one frame each and without a cast";
        assert_eq!(told(&many(20, 2)), (3, without_a_cast.to_owned()));
        let casts = "and 5 more; --format csv has them all";
        assert_eq!(told(&many(0, 20)), (16, casts.to_owned()));
        let both = "and 10 more, 5 of them one frame without a cast; --format csv has all";
        assert_eq!(told(&many(5, 20)), (16, both.to_owned()));
    }
}
