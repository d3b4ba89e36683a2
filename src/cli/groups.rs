//! `mirecast groups`: the records of earlier checks → groups.

use std::collections::HashSet;
use std::fs::File;
use std::io::{self, BufRead, BufReader, IsTerminal};
use std::path::{Component, Path, PathBuf};

use mirecast::grade::Decision;
use mirecast::report::{FrameRecord, GroupRecord, RecordError};
use mirecast::still::looks_like_media;

use super::args::GroupsArguments;
use super::audience::Audience;
use super::complaint::{complain, whole_path};
use super::exit::{Outcome, RunError};
use super::frames_output::{outcome, write_frames};
use super::grading::{Grading, Named, tell};
use super::inputs::is_input;
use super::interrupt;
use super::lines::{Line, lines};

/// A record takes about 700 bytes.
const LONGEST_LINE: u64 = 1 << 20;
/// Of a file of something else a few lines say enough.
const MOST_COMPLAINTS: usize = 5;
const TABLE: &str =
    "it is a table for a spreadsheet; groups reads what mirecast frames --format json prints";

const CARDS: &str =
    "these are records of mirecast card; groups reads what mirecast frames --format json prints";
const PICTURE: &str = "it is no list of records but a picture; mirecast frames checks pictures, and groups reads what \
     mirecast frames --format json prints";
const WIDE: &str = "it is in UTF-16; save it again as UTF-8, or have the records printed to a file by a \
                    shell that leaves them as they are";

pub(crate) fn run(arguments: &GroupsArguments) -> Result<Outcome, RunError> {
    let standard_input = [PathBuf::from("-")];
    let inputs = match arguments.records.as_slice() {
        [] if io::stdin().is_terminal() => return Err(RunError::NoRecords),
        [] => standard_input.as_slice(),
        given => given,
    };
    inputs.iter().filter(|path| *path != Path::new("-")).for_each(|path| is_input(path));
    let folder = arguments.targets.corrections.as_deref();
    let grading = Grading::begin(folder, &arguments.grade, Named::Groups)?;
    let mut records = Vec::new();
    let mut bad_lines = 0;
    for (source, path) in (0..).zip(inputs) {
        bad_lines += read(path, source, &mut records)?;
    }
    match keep_first(&mut records) {
        0 => {}
        1 => complain("1 record is of a photo that was there before, which counts once."),
        many => {
            complain(&format!(
                "{many} records are of photos that were there before, which count once."
            ));
        }
    }
    if records.is_empty() {
        return Err(RunError::NoRecords);
    }
    let mut groups = GroupRecord::of_frames(&mut records);
    let graded = grading.map(|grading| {
        let graded = grading
            .deciding
            .groups(&mut groups, |reading, options| Decision::of_group(reading, options, &[]));
        grading.write(&graded).map(|()| grading.page(&graded))
    });
    let mut audience = Audience::new(graded.is_some());
    let list = || interrupt::whole(|| write_frames(&records, &groups, arguments.listing));
    audience.show(list)?;
    if let Some(page) = graded.transpose()? {
        audience.show(|| tell(&page, arguments.listing.format))?;
    }
    audience.end()?;
    let failed = records.iter().filter(|record| record.error().is_some()).count();
    Ok(outcome(failed + bad_lines))
}

/// Leaves the first record of each photo, for one that counts twice would bear witness to its own
/// cast; returns how many others there were. Photos of one name, as from two machines, are told apart
/// by when they were taken, or else by what they look like.
fn keep_first(records: &mut Vec<FrameRecord>) -> usize {
    let before = records.len();
    let mut seen = HashSet::new();
    records.retain(|record| {
        let path = (without_dots(&record.path.path), record.path.path_bytes.clone());
        let photo = record.reading().map(|reading| match &reading.shot.taken {
            Some(taken) => Photo::Taken(taken.clone()),
            None => Photo::Gains(reading.gains.map(f64::to_bits)),
        });
        seen.insert((path, photo))
    });
    before - records.len()
}

/// A path without the steps that lead nowhere: `./a.jpg` is `a.jpg`. What `..` leads to only the machine
/// knows that the record comes from.
fn without_dots(path: &str) -> PathBuf {
    Path::new(path).components().filter(|step| *step != Component::CurDir).collect()
}

/// What tells photos of one name apart.
#[derive(PartialEq, Eq, Hash)]
enum Photo {
    Taken(String),
    Gains([u64; 3]),
}

/// A first line without the mark that some spreadsheets and shells put before it.
fn without_mark(line: Line) -> Line {
    match line {
        Line::Whole(line) => {
            Line::Whole(line.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&line).to_vec())
        }
        Line::TooLong => Line::TooLong,
    }
}

/// Whether a first line is the heading of a table, which a spreadsheet may have saved again with
/// semicolons or tabs, and in quotes.
fn is_table(first: &Line) -> bool {
    let Line::Whole(first) = first else { return false };
    let cell = first.split(|byte| b",;\t".contains(byte)).next().unwrap_or_default();
    cell.len() < first.len() && matches!(cell, b"path" | b"\"path\"")
}

/// Whether a first line is in UTF-16, as some shells redirect what a program prints.
fn is_wide(first: &Line) -> bool {
    let Line::Whole(first) = first else { return false };
    [b"\xff\xfe", b"\xfe\xff"].iter().any(|mark| first.starts_with(*mark))
}

/// What an input is, by its first line, where it cannot hold records.
fn other_than_records(first: &Line) -> Option<&'static str> {
    let Line::Whole(text) = first else { return None };
    let of_cards = || matches!(FrameRecord::from_json(text), Err(RecordError::OfCard));
    if is_table(first) {
        Some(TABLE)
    } else if is_wide(first) {
        Some(WIDE)
    } else if looks_like_media(text) {
        Some(PICTURE)
    } else {
        of_cards().then_some(CARDS)
    }
}

/// Adds the records of one input; returns how many of its lines were none.
fn read(path: &Path, source: u32, records: &mut Vec<FrameRecord>) -> Result<usize, RunError> {
    let cannot = |source| RunError::Records { path: path.to_path_buf(), source };
    let from_stdin = path == Path::new("-");
    if !from_stdin && path.is_dir() {
        return Err(RunError::FolderOfRecords(path.to_path_buf()));
    }
    let input: Box<dyn BufRead> = if from_stdin {
        Box::new(io::stdin().lock())
    } else {
        Box::new(BufReader::new(File::open(path).map_err(cannot)?))
    };
    let name = if from_stdin { "standard input".to_owned() } else { whole_path(path) };
    let mut bad = 0;
    for (number, line) in (1..).zip(lines(input, LONGEST_LINE)) {
        let mut line = line.map_err(cannot)?;
        if number == 1 {
            line = without_mark(line);
            if let Some(what) = other_than_records(&line) {
                complain(&format!("{name}: {what}"));
                return Ok(1);
            }
        }
        let problem = match line {
            Line::Whole(line) if line.iter().all(u8::is_ascii_whitespace) => continue,
            Line::Whole(line) => match FrameRecord::from_json(&line) {
                Ok(record) => {
                    records.extend(record.map(|record| record.from_source(source)));
                    continue;
                }
                Err(error) => error.to_string(),
            },
            Line::TooLong => "longer than any record".to_owned(),
        };
        bad += 1;
        if bad <= MOST_COMPLAINTS {
            complain(&format!("{name}, line {number}: {problem}; passed over"));
        }
    }
    if bad > MOST_COMPLAINTS {
        complain(&format!("{name}: {} more lines are no records", bad - MOST_COMPLAINTS));
    }
    Ok(bad)
}
