//! What a run of frames comes to, as text: counts, groups and their corrections, what to do next.

use std::io::{self, Write};

use super::folder::Folder;
use super::frames_advice::{advice, gains_to_apply};
use super::frames_page::FramesPage;
use super::frames_words::{
    CARD_INCLUDED, cast_of, clock_in_words, counts, drifts_in_words, named, reasons_in_words,
    reference_in_words,
};
use super::text::{in_columns, width, write_named, write_wrapped};
use super::times::{clocks, date, days, of_several_days};
use super::words::signed;
use super::{FrameFilter, FrameOrder, FrameRecord, GroupRecord};
use crate::balance::appearance;
use crate::frames::GroupReading;

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
    write_paragraphs(out, &reasons_in_words(&groups))?;
    write_paragraphs(out, &drifts_in_words(&groups, page.told))?;
    write_odd(out, page, &groups, folder)?;
    write_worst(out, page.frames, folder)?;
    write_advice(out, page, &groups)
}

/// Says so where some frames were judged against a card and others could not be, and where clocks differ.
fn write_reference(out: &mut impl Write, frames: &[FrameRecord]) -> io::Result<()> {
    let texts = reference_in_words(frames).into_iter().chain(clock_in_words(frames));
    texts.into_iter().try_for_each(|text| write_wrapped(out, "", "  ", &text))
}

fn write_groups(out: &mut impl Write, groups: &[&GroupReading]) -> io::Result<()> {
    // What is said of one day is not to be taken for what says no time.
    let is_timed = |group: &&GroupReading| group.from.is_some();
    let some_timed = groups.iter().any(is_timed) && !groups.iter().all(is_timed);
    let several_days = of_several_days(groups) || some_timed;
    let mut dates = groups.iter().filter_map(|group| date(group.from.as_deref()?));
    let one_date = dates.next().filter(|_| !several_days);
    if groups.is_empty() {
        return Ok(());
    }
    let day = one_date.map(|date| format!(", on {date}")).unwrap_or_default();
    let (shown, more) = shown(groups);
    writeln!(out)?;
    if shown.is_empty() {
        return writeln!(out, "Every frame is in a light of its own, and none has a cast.");
    }
    let heading = match shown.iter().all(|group| group.reason.is_some()) {
        true => format!("Groups as far as they could be told{day}"),
        false => format!("Groups of one light each, to be corrected as a whole{day}"),
    };
    write_wrapped(out, "", "  ", &heading)?;
    writeln!(
        out,
        "  {:>5}  {:>6}  {:<14}  {:<28}  {:>5}  Gain R, B",
        "Group", "Frames", "When", "Cast", "mired"
    )?;
    let mut day = String::new();
    for group in &shown {
        // Whole dates would leave no room for the figures.
        let days = days(group);
        if several_days && days != day {
            writeln!(out, "  {days}")?;
            day = days;
        }
        let gains = gains_to_apply(group);
        let gains = gains.map(|[red, _, blue]| format!("{red:.2}, {blue:.2}")).unwrap_or_default();
        let line = format!(
            "  {:>5}  {:>6}  {}  {}  {:>5}  {gains}",
            group.group,
            group.frames,
            in_columns(&clocks(group), 14),
            in_columns(&cast_of(group), 28),
            if group.reason.is_none() { signed(group.cast.mired, 0) } else { String::new() },
        );
        writeln!(out, "{}", line.trim_end())?;
    }
    if let Some(more) = more {
        writeln!(out, "  {more}")?;
    }
    if groups.iter().any(|group| group.reference.is_some()) {
        write_wrapped(out, "  ", "  ", CARD_INCLUDED)?;
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

fn write_paragraphs(out: &mut impl Write, texts: &[String]) -> io::Result<()> {
    for text in texts {
        writeln!(out)?;
        write_wrapped(out, "", "  ", text)?;
    }
    Ok(())
}

fn write_odd(
    out: &mut impl Write,
    page: &FramesPage<'_>,
    groups: &[&GroupReading],
    folder: &Folder,
) -> io::Result<()> {
    let odd: Vec<_> =
        groups.iter().flat_map(|group| group.odd.iter().map(|path| (group.group, path))).collect();
    if odd.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nOdd ones out: look at them before correcting their group")?;
    for (group, path) in odd.iter().take(MOST_NAMED) {
        writeln!(out, "  {group:>5}  {}", folder.short(path))?;
    }
    match odd.len().checked_sub(MOST_NAMED).filter(|more| *more > 0) {
        Some(more) if page.filter == FrameFilter::All => {
            writeln!(out, "  and {more} more, marked * where every frame is listed")
        }
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
    writeln!(out)?;
    let heading = "Furthest off, by mired or by Duv, whichever is more of what counts as neutral";
    write_wrapped(out, "", "  ", heading)?;
    let worst: Vec<_> = worst.iter().take(MOST_NAMED).copied().filter_map(seen).collect();
    let widest = worst.iter().map(|(_, _, looks)| width(looks)).max().unwrap_or(0);
    for (record, [mired, duv], looks) in worst {
        let (mired, duv) = (signed(mired, 0), signed(duv, 4));
        let figures = format!("  {mired:>5}  {duv:>7}  {}", in_columns(&looks, widest));
        write_named(out, (&figures, width(&figures)), &folder.short(&record.path.path))?;
    }
    Ok(())
}

/// How far a frame is off, and how it looks.
fn seen(record: &FrameRecord) -> Option<(&FrameRecord, [f64; 2], String)> {
    let cast = record.reading()?.cast;
    Some((record, [cast.mired, cast.duv], appearance(cast.mired, cast.duv)))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frames::{Drift, DriftKind, ReferenceRecord};
    use crate::grade::{CorrectionRecord, CorrectionStatus};
    use crate::report::FrameOutcome;
    use crate::report::frame_examples;
    use crate::told::Told;

    #[test]
    fn groups_of_several_days_have_their_dates_and_ends() {
        let (_, records) = frame_examples::shoot();
        let mut groups = [0, 1, 1].map(|at| records[at].reading().clone());
        groups[1].from = Some("2025-05-14T09:38:00".to_owned());
        groups[1].to = Some("2025-05-14T10:12:00".to_owned());
        groups[2].from = Some("2025-05-14T23:38:00".to_owned());
        groups[2].to = Some("2025-05-15T00:12:00".to_owned());
        let mut out = Vec::new();
        write_groups(&mut out, &groups.iter().collect::<Vec<_>>()).unwrap();
        let text = String::from_utf8(out).unwrap();
        let lines: Vec<_> =
            text.lines().skip(3).map(|line| line.get(..38).unwrap_or(line)).collect();
        let wanted = [
            "  2024-03-12",
            "      1       4  09:00 to 09:06  neutr",
            "  2025-05-14",
            "      2       5  09:38 to 10:12  stron",
            "  2025-05-14 23:38 to 2025-05-15 00:12",
            "      2       5                  stron",
        ];
        assert_eq!(lines, wanted, "{text}");
        assert!(!text.contains(", on 2"), "{text}");
    }

    #[test]
    fn a_group_of_no_one_light_is_named_with_the_reason_and_no_correction() {
        let (frames, groups) = frame_examples::shoot();
        let groups = [groups[0].clone(), frame_examples::mixed()];
        let mut page = frame_examples::page(&frames, &groups);
        let said = |page: &FramesPage<'_>| {
            let mut out = Vec::new();
            write_summary(&mut out, page, &Folder::of(page.frames)).unwrap();
            String::from_utf8(out).unwrap()
        };
        let text = said(&page);
        assert!(text.contains("  09:48 to 09:56  undecided\n"), "no figures: {text}");
        assert!(
            text.contains("Group 2 is undecided as a whole, since 9 of its 20 frames"),
            "{text}"
        );
        let all = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let wanted =
            "group 2, 5 of which are called for a cast, each by its own cast (frames --each-frame)";
        assert!(all.contains(wanted), "{text}");
        assert!(!text.contains("Odd ones out") && !text.contains("came out"), "{text}");
        page.groups = &groups[1..];
        assert!(said(&page).contains("\nGroups as far as they could be told, on"), "{text}");
        page.told = Told::OnPage;
        assert!(!said(&page).contains("--each-frame"));
    }

    #[test]
    fn where_each_frame_has_its_own_correction_none_of_a_group_is_advised() {
        let (mut frames, groups) = frame_examples::shoot();
        let said = |frames: &[FrameRecord]| {
            let mut out = Vec::new();
            let page = frame_examples::page(frames, &groups);
            write_summary(&mut out, &page, &Folder::of(frames)).unwrap();
            String::from_utf8(out).unwrap()
        };
        assert!(said(&frames).contains("multiply linear red by"));
        let status = CorrectionStatus::NotNeeded;
        frames[1].correction = Some(CorrectionRecord { status, reason: None, made: None });
        let text = said(&frames);
        assert!(text.contains("Each frame with a sure cast has a correction of its own"), "{text}");
        assert!(!text.contains("multiply") && !text.contains("--each-frame"), "{text}");
    }

    #[test]
    fn groups_of_a_change_are_said_to_be_its_steps() {
        let (_, records) = frame_examples::shoot();
        let mut groups = [0, 1].map(|at| records[at].reading().clone());
        let drift = Drift {
            kind: DriftKind::TowardOrange,
            from: groups[0].from.clone(),
            to: groups[1].to.clone(),
            frames: 9,
            mired: 90.0,
            mired_interval: [70.0, 110.0],
            looks_like: "a lamp warming up".to_owned(),
        };
        groups.iter_mut().for_each(|group| group.drift = Some(drift.clone()));
        let said = |groups: &[GroupReading], told| {
            drifts_in_words(&groups.iter().collect::<Vec<_>>(), told).concat()
        };
        let steps =
            "a lamp warming up. These groups are steps of one change: frames --each-frame suits";
        let text = said(&groups, Told::AtTerminal);
        assert!(text.contains(steps), "{text}");
        assert!(said(&groups[1..], Told::AtTerminal).contains("fits the middle of it at best"));
        assert!(!said(&groups, Told::OnPage).contains("--each-frame"));
        // Settings between which a balance jumps are no steps.
        let hunting = Some(Drift { kind: DriftKind::Hunting, ..drift });
        groups.iter_mut().for_each(|group| group.drift = hunting.clone());
        assert!(said(&groups, Told::AtTerminal).ends_with("a lamp warming up."));
    }

    #[test]
    fn a_temperature_is_no_way_out_where_a_tint_would_stay() {
        let (frames, records) = frame_examples::shoot();
        let mut group = records[1].reading().clone();
        let told = |group: &GroupReading| {
            advice(&frame_examples::page(&frames, &records), &[group]).join(" ")
        };
        assert!(told(&group).contains("or balance for 3750 K instead of 5500 K"));
        for duv in [0.009, -0.009] {
            group.cast.duv = duv;
            let told = told(&group);
            assert!(told.contains("multiply linear red by") && !told.contains(" K "), "{told}");
        }
    }

    /// What stands in the table is what is to be done, as the advice has it.
    #[test]
    fn gains_against_a_card_are_the_same_in_the_table_and_in_the_advice() {
        let (mut frames, _) = frame_examples::shoot();
        for record in &mut frames {
            if let FrameOutcome::Reading(reading) = &mut record.outcome {
                let card = ReferenceRecord { path: "card.jpg".into(), gains: [0.8, 1.0, 1.25] };
                reading.reference = Some(card);
            }
        }
        let records = GroupRecord::of_frames(&mut frames);
        let groups: Vec<_> = records.iter().map(GroupRecord::reading).collect();
        let [red, _, blue] = groups[1].gains.unwrap();
        let applied = format!("{:.2}, {:.2}", red * 0.8, blue * 1.25);
        let mut out = Vec::new();
        write_groups(&mut out, &groups).unwrap();
        let table = String::from_utf8(out).unwrap();
        let ends = |line: usize, end: &str| table.lines().nth(line).unwrap().ends_with(end);
        assert!(ends(3, "+4  0.80, 1.25"), "neutral beyond the card: {table}");
        assert!(ends(4, &applied), "{applied} is not in {table}");
        assert!(table.contains("the card's part included"), "{table}");
        let advice = advice(&frame_examples::page(&frames, &records), &groups).join(" ");
        let wanted = format!("red by {:.2} and blue by {:.2}", red * 0.8, blue * 1.25);
        assert!(advice.contains(&wanted), "{wanted} is not in {advice}");
    }

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
