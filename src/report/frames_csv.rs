//! Frames as CSV (RFC 4180), one row each, with the group's figures beside the frame's own.

use std::io::{self, Write};

use super::csv::{headed, number, text, write_row};
use super::frames_words::group_of;
use super::{FrameRecord, GroupRecord};
use crate::frames::FrameReading;

const COLUMNS: [&str; 29] = [
    "path",
    "verdict",
    "mired",
    "mired_low",
    "mired_high",
    "duv",
    "duv_low",
    "duv_high",
    "gain_red",
    "gain_green",
    "gain_blue",
    "group",
    "group_verdict",
    "group_mired",
    "group_duv",
    "group_gain_red",
    "group_gain_green",
    "group_gain_blue",
    "odd",
    "taken",
    "camera",
    "as_shot",
    "as_shot_kelvin",
    "reference",
    "reference_gain_red",
    "reference_gain_blue",
    "error",
    "group_reason",
    "reason",
];

/// Writes frames as CSV rows under a heading. Cells that do not apply are empty; text is escaped
/// as in a table of cards.
pub struct FrameTable<W: Write>(csv::Writer<W>);

impl<W: Write> FrameTable<W> {
    /// A table with its heading.
    ///
    /// # Errors
    /// What the writer says.
    pub fn new(out: W) -> io::Result<Self> {
        headed(out, &COLUMNS).map(Self)
    }

    /// Writes one frame, whose group is among `groups`, if it has one.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write(&mut self, record: &FrameRecord, groups: &[GroupRecord]) -> io::Result<()> {
        write_row(&mut self.0, &row(record, groups))
    }
}

fn row(record: &FrameRecord, groups: &[GroupRecord]) -> [String; COLUMNS.len()] {
    let path = text(&record.path.path);
    match (record.reading(), record.error()) {
        (Some(reading), _) => reading_row(path, &record.path.path, reading, groups),
        (None, error) => {
            let mut row = [const { String::new() }; COLUMNS.len()];
            let [first, verdict, .., message, _, _] = &mut row;
            *first = path;
            *verdict = "failed".to_owned();
            *message = text(error.map_or("", |error| &error.message));
            row
        }
    }
}

fn reading_row(
    path: String,
    name: &str,
    reading: &FrameReading,
    groups: &[GroupRecord],
) -> [String; COLUMNS.len()] {
    let cast = &reading.cast;
    let shot = &reading.shot;
    let [red, green, blue] = reading.gains;
    let group = group_of(reading, groups);
    let gain = |channel: usize| group.and_then(|group| group.gains?.get(channel).copied());
    let odd = group.map_or("", |g| if g.odd.iter().any(|odd| odd == name) { "odd" } else { "" });
    [
        path,
        reading.verdict.to_string(),
        number(Some(cast.mired)),
        number(Some(cast.mired_interval[0])),
        number(Some(cast.mired_interval[1])),
        number(Some(cast.duv)),
        number(Some(cast.duv_interval[0])),
        number(Some(cast.duv_interval[1])),
        number(Some(red)),
        number(Some(green)),
        number(Some(blue)),
        reading.group.map(|group| group.to_string()).unwrap_or_default(),
        group.map(|group| group.verdict.to_string()).unwrap_or_default(),
        number(group.map(|group| group.cast.mired)),
        number(group.map(|group| group.cast.duv)),
        number(gain(0)),
        number(gain(1)),
        number(gain(2)),
        odd.to_owned(),
        text(shot.taken.as_deref().unwrap_or_default()),
        text(shot.camera.as_deref().unwrap_or_default()),
        text(shot.balance.name.as_deref().unwrap_or_default()),
        number(shot.balance.kelvin),
        text(reading.reference.as_ref().map_or("", |card| &card.path)),
        number(reading.reference.as_ref().map(|card| card.gains[0])),
        number(reading.reference.as_ref().map(|card| card.gains[2])),
        String::new(),
        text(group.and_then(|group| group.reason.as_deref()).unwrap_or_default()),
        text(reading.reason.as_deref().unwrap_or_default()),
    ]
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::frames::Verdict;
    use crate::report::frame_examples;

    fn rows(records: &[FrameRecord], groups: &[GroupRecord]) -> Vec<Vec<String>> {
        let mut out = Vec::new();
        let mut table = FrameTable::new(&mut out).unwrap();
        records.iter().for_each(|record| table.write(record, groups).unwrap());
        drop(table);
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(out.as_slice());
        reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect()
    }

    #[test]
    fn every_frame_is_a_row_with_its_group_beside_it() {
        let (records, groups) = frame_examples::shoot();
        let rows = rows(&records, &groups);
        assert_eq!(rows.len(), 11);
        let cell = |row: usize, column: &str| {
            let index = COLUMNS.iter().position(|name| *name == column).unwrap();
            rows[row][index].as_str()
        };
        assert_eq!((cell(1, "verdict"), cell(1, "mired"), cell(1, "odd")), ("neutral", "2", ""));
        assert_eq!((cell(6, "verdict"), cell(6, "group")), ("failed", ""));
        assert!(cell(6, "error").contains("empty"));
        assert_eq!(cell(7, "group_verdict"), "orange");
        assert_eq!(cell(7, "gain_green"), "1");
        let group: usize = cell(7, "group").parse().unwrap();
        let mired: f64 = cell(7, "group_mired").parse().unwrap();
        assert_eq!(mired, groups[group - 1].reading().cast.mired);
    }

    #[test]
    fn a_group_of_no_one_light_has_its_reason_and_no_gains() {
        let (records, groups) = frame_examples::shoot();
        let groups = [groups[0].clone(), frame_examples::mixed()];
        let rows = rows(&records, &groups);
        let cell = |row: usize, column: &str| {
            let index = COLUMNS.iter().position(|name| *name == column).unwrap();
            rows[row][index].as_str()
        };
        assert_eq!((cell(7, "group_verdict"), cell(7, "group_gain_red")), ("undecided", ""));
        assert!(cell(7, "group_reason").starts_with("9 of its 20 frames look otherwise"));
        assert_eq!((cell(1, "group_reason"), cell(6, "group_reason")), ("", ""));
        assert_eq!(cell(1, "group_gain_red"), "", "a neutral one has nothing to take out");
    }

    #[test]
    fn no_cell_is_a_formula() {
        let mut reading = frame_examples::frame(Verdict::Neutral, 0.0, 0.0, 0);
        reading.shot.camera = Some("@cmd".to_owned());
        let rows = rows(&[FrameRecord::read(Path::new("=1+1.jpg"), reading)], &[]);
        assert_eq!(rows[1][0], "'=1+1.jpg");
        assert!(rows[1].contains(&"'@cmd".to_owned()));
    }
}
