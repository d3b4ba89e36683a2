//! Frames as text to read: a summary first, then a line a frame.

use std::io::{self, Write};

use super::folder::Folder;
use super::frames_notes::{is_odd, notes};
use super::frames_page::FramesPage;
use super::frames_summary::write_summary;
use super::frames_words::silent_in_words;
use super::text::{WIDTH, width, write_named, write_wrapped};
use super::words::{sentence, signed};
use super::{Emphasis, FrameFilter};
use crate::frames::{FrameReading, Verdict};

/// Writes frames as text: how many came out how, the groups and their corrections, what to do
/// next, and a table. Lines are at most 80 columns wide.
///
/// # Errors
/// What the writer says.
pub fn write_frames_text(
    out: &mut impl Write,
    page: &FramesPage<'_>,
    emphasis: Emphasis,
) -> io::Result<()> {
    let folder = Folder::of(page.frames);
    write_summary(out, page, &folder)?;
    write_table(out, page, &folder, emphasis)?;
    out.flush()
}

fn write_table(
    out: &mut impl Write,
    page: &FramesPage<'_>,
    folder: &Folder,
    emphasis: Emphasis,
) -> io::Result<()> {
    let listed = page.listed();
    if listed.is_empty() {
        let none = match page.filter {
            FrameFilter::All => return Ok(()),
            FrameFilter::Casts => "No frame has a cast.",
            FrameFilter::Undecided => "Every frame tells.",
        };
        return writeln!(out, "\n{none}");
    }
    let heading = match page.filter {
        FrameFilter::All => "Every frame",
        FrameFilter::Casts => "Frames with a cast",
        FrameFilter::Undecided => "Frames that do not tell",
    };
    // They are listed whatever is asked for.
    let with_unread =
        page.filter != FrameFilter::All && listed.iter().any(|record| record.error().is_some());
    let unread = if with_unread { ", and what could not be read" } else { "" };
    let place = if folder.0.is_empty() { String::new() } else { format!(", in {}", folder.0) };
    writeln!(out)?;
    write_wrapped(out, "", "  ", &format!("{heading}{unread}{place}"))?;
    writeln!(
        out,
        "  {:<9}  {:>5}  {:>12}  {:>7}  {:>5}  File",
        "Verdict", "mired", "nine in ten", "Duv", "Group"
    )?;
    for record in &listed {
        match record.reading() {
            Some(reading) => {
                let mark = if is_odd(page, record) { "*" } else { "" };
                write_frame(out, (&record.path.path, mark), reading, folder, emphasis)?;
            }
            None => {
                let message = record.error().map_or("", |error| &error.message);
                write_unread(out, &folder.short(&record.path.path), message)?;
            }
        }
    }
    let notes = notes(page, &listed);
    notes.iter().try_for_each(|text| write_wrapped(out, "  ", "  ", text))
}

/// A file that could not be read, by its name in one piece.
fn write_unread(out: &mut impl Write, name: &str, message: &str) -> io::Result<()> {
    /// Room for the first word of a message.
    const A_WORD: usize = 12;
    let label = format!("  {:<9}  ", "failed");
    let rest = " ".repeat(label.len());
    let named = format!("{label}{name}: ");
    if width(&named) + A_WORD <= WIDTH {
        return write_wrapped(out, &named, &rest, &sentence(message));
    }
    writeln!(out, "  {name}")?;
    write_wrapped(out, &label, &rest, &sentence(message))
}

fn write_frame(
    out: &mut impl Write,
    (path, mark): (&str, &str),
    reading: &FrameReading,
    folder: &Folder,
    emphasis: Emphasis,
) -> io::Result<()> {
    let cast = &reading.cast;
    let [low, high] = cast.mired_interval.map(|mired| signed(mired, 0));
    let verdict = format!("{:<9}", reading.verdict.as_str());
    let group = reading.group.map(|group| format!("{mark}{group}")).unwrap_or_default();
    let figures = match silent_in_words(reading) {
        Some(why) => format!("  {}", with_group(&why, &group)),
        None => format!(
            "  {:>5}  {:>12}  {:>7}  {group:>5}",
            signed(cast.mired, 0),
            format!("{low} to {high}"),
            signed(cast.duv, 4),
        ),
    };
    let columns = 2 + width(&verdict) + width(&figures);
    let verdict = match (emphasis, colour(reading.verdict)) {
        (Emphasis::Colour, Some(code)) => format!("\u{1b}[1;{code}m{verdict}\u{1b}[0m"),
        _ => verdict,
    };
    write_named(out, (&format!("  {verdict}{figures}"), columns), &folder.short(path))
}

/// What stands in the columns of figures, and the group in its own; the end of the text goes where there is no
/// room for it.
fn with_group(why: &str, group: &str) -> String {
    /// Of mired, interval and Duv with what is between them; without a group its column is free too.
    const FIGURES: usize = 28;
    const AND_GROUP: usize = FIGURES + 7;
    let room = if group.is_empty() { AND_GROUP } else { FIGURES };
    let shown = match why.split_once(", ") {
        Some((short, _)) if width(why) > room => short,
        _ => why,
    };
    if group.is_empty() {
        return format!("{shown:<AND_GROUP$}");
    }
    format!("{shown:<FIGURES$}  {group:>5}")
}

/// The foreground colour of a verdict (ECMA-48 select graphic rendition): the cast's own.
fn colour(verdict: Verdict) -> Option<u8> {
    match verdict {
        Verdict::Orange => Some(33),
        Verdict::Blue => Some(34),
        Verdict::Green => Some(32),
        Verdict::Magenta => Some(35),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::report::frame_examples::{self, page};
    use crate::report::{FrameOrder, FrameRecord, GroupRecord};

    fn text(page: &FramesPage<'_>, emphasis: Emphasis) -> String {
        let mut out = Vec::new();
        write_frames_text(&mut out, page, emphasis).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn a_shoot_reads_well() {
        let (records, groups) = frame_examples::shoot();
        insta::assert_snapshot!(text(&page(&records, &groups), Emphasis::None), @r"
        10 frames: 4 orange, 1 blue, 3 neutral, 1 undecided, 1 could not be read.

        Groups of one light each, to be corrected as a whole, on 2024-03-12
          Group  Frames  When            Cast                          mired  Gain R, B
              1       4  09:00 to 09:06  neutral                          +4
              2       5  09:48 to 09:56  strong orange                   +85  0.71, 1.86

        Odd ones out: look at them before correcting their group
              2  still-7.jpg

        What next
          - Group 2 came out strongly orange: on all 5 frames, multiply linear red by
            0.71 and blue by 1.86, or balance for 3750 K instead of 5500 K where the
            program can.
          - Look at the undecided frame by itself: nothing in it tells for sure. A card
            photographed in that light would (mirecast card, or --reference).

        Every frame, in shoot/
          Verdict    mired   nine in ten      Duv  Group  File
          neutral       +2    -19 to +23  +0.0010      1  still-0.jpg
          neutral       -9    -30 to +12   0.0000      1  still-1.jpg
          neutral       +7    -14 to +28  -0.0020      1  still-2.jpg
          undecided    +12     -9 to +33  +0.0010      1  still-3.jpg
          orange       +88   +67 to +109  +0.0020      2  still-4.jpg
          failed     still-x.jpg: The file is empty. Copy it again from the camera's
                     card.
          orange       +75    +54 to +96   0.0000      2  still-5.jpg
          orange       +92   +71 to +113  +0.0010      2  still-6.jpg
          blue         -60    -81 to -39   0.0000     *2  still-7.jpg
          orange       +81   +60 to +102  +0.0030      2  still-8.jpg
          * Looks otherwise than its group: look at it before correcting the group.
        ");
    }

    #[test]
    fn the_table_can_be_cut_to_what_matters() {
        let (records, groups) = frame_examples::shoot();
        let mut page = page(&records, &groups);
        (page.filter, page.order) = (FrameFilter::Casts, FrameOrder::Cast);
        let text = text(&page, Emphasis::None);
        assert!(text.starts_with("10 frames: 4 orange"), "the summary counts all: {text}");
        let (_, table) =
            text.split_once("Frames with a cast, and what could not be read, in shoot/\n").unwrap();
        let first = table.lines().nth(1).unwrap();
        assert!(first.contains("+92") && first.ends_with("still-6.jpg"), "{table}");
        assert_eq!(table.lines().count(), 9, "{table}");
    }

    #[test]
    fn no_line_is_too_wide_and_no_name_steers_the_terminal() {
        let (mut records, _) = frame_examples::shoot();
        let long = format!("{}/\u{1b}[2J{}.jpg", "x".repeat(30), "y".repeat(90));
        let reading = frame_examples::frame(Verdict::Magenta, -123.4, -0.0123, 9);
        records.push(FrameRecord::read(Path::new(&long), reading));
        let groups = GroupRecord::of_frames(&mut records);
        let text = text(&page(&records, &groups), Emphasis::None);
        let mut names = 0;
        for line in text.lines() {
            assert!(!line.chars().any(char::is_control), "{line:?}");
            if line.ends_with("yyy.jpg") {
                assert!(line.starts_with("  xxx"), "alone on its line: {line}");
                names += 1;
            } else {
                assert!(width(line) <= WIDTH, "{line}");
            }
        }
        assert!(names > 0, "{text}");
    }

    #[test]
    fn long_names_stay_whole_and_stand_above_their_figures() {
        let named = |scene: u32| {
            let name = format!("2024-03-12_scene {scene}_take 4_camera A_wheel_0001.jpg");
            FrameRecord::read(Path::new(&name), frame_examples::frame(Verdict::Blue, -60.0, 0.0, 9))
        };
        let failed = |name: &str| {
            FrameRecord::failure(Path::new(name), crate::report::ErrorRecord::stumbled())
        };
        let unread = "2024-03-12_scene 12_take 5_camera A_the wheel seen from the window_0001.jpg";
        let records = [named(12), named(13), failed(unread)];
        let plain = text(&page(&records, &[]), Emphasis::None);
        let (_, table) = plain.split_once("  File\n").unwrap();
        assert!(
            table.starts_with(
                "  2024-03-12_scene 12_take 4_camera A_wheel_0001.jpg\n  blue         -60    \
                 -81 to -39   0.0000\n  2024-03-12_scene 13_take 4_camera A_wheel_0001.jpg\n"
            ),
            "{table}"
        );
        assert!(table.contains(&format!("  {unread}\n  failed     A fault in")), "{table}");
        let coloured = text(&page(&records, &[]), Emphasis::Colour);
        let bare = coloured.replace("\u{1b}[1;34m", "").replace("\u{1b}[0m", "");
        assert_eq!(bare, plain);
    }

    #[test]
    fn colour_is_on_verdicts_alone_and_says_no_more() {
        let (records, groups) = frame_examples::shoot();
        let page = page(&records, &groups);
        let coloured = text(&page, Emphasis::Colour);
        assert!(coloured.contains("\u{1b}[1;33morange   \u{1b}[0m"), "{coloured}");
        let bare = coloured.replace("\u{1b}[0m", "");
        let bare = [33, 34].iter().fold(bare, |b, c| b.replace(&format!("\u{1b}[1;{c}m"), ""));
        assert_eq!(bare, text(&page, Emphasis::None));
    }
}
