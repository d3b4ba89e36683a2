//! Records as CSV (RFC 4180), one row each.

use std::io::{self, Write};

use super::{CardVerdict, GelRecord, PhotoOutcome, PhotoRecord, PresetRecord, plain};
use crate::balance::GelKind;
use crate::card::{CardReading, Status};
use crate::setups::{BracketReading, Comparison, SetupStatus};

const CARD_COLUMNS: [&str; 22] = [
    "path",
    "status",
    "cct_kelvin",
    "cct_low_kelvin",
    "cct_high_kelvin",
    "mired",
    "mired_low",
    "mired_high",
    "duv",
    "duv_low",
    "duv_high",
    "residual_mired",
    "residual_duv",
    "as_shot",
    "as_shot_kelvin",
    "coverage",
    "level",
    "problems",
    "nearest_preset",
    "nearest_miss_mired",
    "error",
    "verdict",
];

const SHIFT_COLUMNS: [&str; 11] = [
    "from",
    "to",
    "mired",
    "mired_low",
    "mired_high",
    "duv",
    "duv_low",
    "duv_high",
    "is_real",
    "appearance",
    "setting_kelvin",
];

const BRACKET_COLUMNS: [&str; 11] = [
    "path",
    "status",
    "setting_kelvin",
    "setting_duv",
    "residual_mired",
    "residual_duv",
    "neutral_kelvin",
    "neutral_low_kelvin",
    "neutral_high_kelvin",
    "neutral_duv",
    "left_out",
];

const GEL_COLUMNS: [&str; 5] = ["name", "kind", "mired", "duv", "stops"];

const PRESET_COLUMNS: [&str; 5] = ["name", "kelvin", "duv", "mired", "compare"];

/// Writes photos as CSV rows under a heading. Cells that do not apply are empty.
///
/// Text is escaped as [`plain`] does it, and an apostrophe is put before what a spreadsheet would
/// take for a formula; a record in JSON has paths as they are.
pub struct CardTable<W: Write>(csv::Writer<W>);

/// Writes presets as CSV rows under a heading.
pub struct PresetsTable<W: Write>(csv::Writer<W>);

impl<W: Write> CardTable<W> {
    /// A table with its heading.
    ///
    /// # Errors
    /// What the writer says.
    pub fn new(out: W) -> io::Result<Self> {
        headed(out, &CARD_COLUMNS).map(Self)
    }

    /// Writes one photo.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write(&mut self, record: &PhotoRecord) -> io::Result<()> {
        write_row(&mut self.0, &card_row(record))
    }
}

impl<W: Write> PresetsTable<W> {
    /// A table with its heading.
    ///
    /// # Errors
    /// What the writer says.
    pub fn new(out: W) -> io::Result<Self> {
        headed(out, &PRESET_COLUMNS).map(Self)
    }

    /// Writes one preset.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write(&mut self, preset: &PresetRecord) -> io::Result<()> {
        let row = [
            text(&preset.name),
            preset.kelvin.to_string(),
            preset.duv.to_string(),
            preset.mired.to_string(),
            preset.compare.to_string(),
        ];
        write_row(&mut self.0, &row)
    }
}

/// A figure and the ends of its interval.
type Ends = (f64, [f64; 2]);

/// Writes a comparison as CSV: a row for each two set-ups; for cameras in one light a row for each
/// that is to match the first, with the setting to dial.
///
/// # Errors
/// What the writer says.
pub fn write_comparison_csv(out: impl Write, comparison: &Comparison) -> io::Result<()> {
    let mut table = headed(out, &SHIFT_COLUMNS)?;
    let mut row = |names: [&str; 2], mired: Ends, duv: Ends, rest: [String; 3]| {
        let figures = [mired, duv].into_iter().flat_map(|(value, [low, high])| [value, low, high]);
        let cells: Vec<String> = names
            .map(text)
            .into_iter()
            .chain(figures.map(|figure| number(Some(figure))))
            .chain(rest)
            .collect();
        write_row(&mut table, &cells)
    };
    for shift in &comparison.shifts {
        row(
            [&shift.from, &shift.to],
            (shift.mired, shift.mired_interval),
            (shift.duv, shift.duv_interval),
            [shift.is_real().to_string(), text(&shift.appearance), String::new()],
        )?;
    }
    for camera in &comparison.cameras {
        row(
            [&camera.reference, &camera.camera],
            (camera.mired, camera.mired_interval),
            (camera.duv, camera.duv_interval),
            [camera.is_real.to_string(), String::new(), number(camera.setting_kelvin)],
        )?;
    }
    Ok(())
}

/// Writes a bracket as CSV: a row for each photo, with the neutral setting repeated on each.
///
/// # Errors
/// What the writer says.
pub fn write_bracket_csv(out: impl Write, bracket: &BracketReading) -> io::Result<()> {
    let mut table = headed(out, &BRACKET_COLUMNS)?;
    let neutral = bracket.neutral_at.as_ref();
    bracket.photos.iter().try_for_each(|photo| {
        let status = match photo.status {
            SetupStatus::Read | SetupStatus::Stated => "read",
            SetupStatus::ResidualOnly => "residual-only",
            SetupStatus::Refused => "refused",
            SetupStatus::Failed => "failed",
        };
        let residual = photo.residual.as_ref();
        let row = [
            text(&photo.path),
            status.to_owned(),
            number(photo.setting_kelvin),
            number(photo.setting_duv),
            number(residual.and_then(|residual| residual.mired)),
            number(residual.and_then(|residual| residual.duv)),
            number(neutral.map(|neutral| neutral.kelvin)),
            number(neutral.map(|neutral| neutral.kelvin_interval[0])),
            number(neutral.map(|neutral| neutral.kelvin_interval[1])),
            number(neutral.map(|neutral| neutral.duv)),
            photo.left_out.as_ref().map_or_else(String::new, |out| out.code.clone()),
        ];
        write_row(&mut table, &row)
    })
}

/// Writes gels as CSV rows under a heading.
///
/// # Errors
/// What the writer says.
pub fn write_gels_csv(out: impl Write, gels: &[GelRecord]) -> io::Result<()> {
    let mut table = headed(out, &GEL_COLUMNS)?;
    gels.iter().try_for_each(|gel| {
        let kind = match gel.kind {
            GelKind::Temperature => "temperature",
            GelKind::Green => "green",
        };
        let [mired, duv, stops] = [gel.mired, gel.duv, gel.stops].map(|v| v.to_string());
        write_row(&mut table, &[text(&gel.name), kind.to_owned(), mired, duv, stops])
    })
}

pub(super) fn headed<W: Write>(out: W, columns: &[&str]) -> io::Result<csv::Writer<W>> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record(columns)?;
    table.flush()?;
    Ok(table)
}

/// A row is out as soon as its photo is done.
pub(super) fn write_row<W: Write>(table: &mut csv::Writer<W>, row: &[String]) -> io::Result<()> {
    table.write_record(row)?;
    table.flush()
}

fn card_row(record: &PhotoRecord) -> [String; CARD_COLUMNS.len()] {
    let path = text(&record.path.path);
    match &record.outcome {
        PhotoOutcome::Failed(failure) => {
            let mut row = [const { String::new() }; CARD_COLUMNS.len()];
            let [first, status, .., error, verdict] = &mut row;
            *first = path;
            *status = "failed".to_owned();
            *error = text(&failure.error.message);
            *verdict = record.verdict.as_str().to_owned();
            row
        }
        PhotoOutcome::Reading(reading) => reading_row(path, reading, record.verdict),
    }
}

fn reading_row(
    path: String,
    reading: &CardReading,
    verdict: CardVerdict,
) -> [String; CARD_COLUMNS.len()] {
    let status = match reading.status {
        Status::Read => "read",
        Status::ResidualOnly => "residual-only",
        Status::Refused => "refused",
    };
    let light = reading.light.as_ref();
    let residual = reading.residual.as_ref();
    let balance = &reading.shot.balance;
    let nearest = reading.presets.first();
    let codes: Vec<_> = reading.card.problems.iter().map(|p| p.code.as_str()).collect();
    [
        path,
        status.to_owned(),
        number(light.map(|light| light.cct_kelvin)),
        number(light.map(|light| light.cct_interval_kelvin[0])),
        number(light.map(|light| light.cct_interval_kelvin[1])),
        number(light.map(|light| light.mired)),
        number(light.map(|light| light.mired_interval[0])),
        number(light.map(|light| light.mired_interval[1])),
        number(light.map(|light| light.duv)),
        number(light.map(|light| light.duv_interval[0])),
        number(light.map(|light| light.duv_interval[1])),
        number(residual.and_then(|residual| residual.mired)),
        number(residual.and_then(|residual| residual.duv)),
        text(balance.name.as_deref().unwrap_or_default()),
        number(balance.kelvin),
        number(Some(reading.card.coverage)),
        number(reading.card.level),
        text(&codes.join(" ")),
        text(nearest.map_or("", |miss| &miss.name)),
        number(nearest.map(|miss| miss.miss_mired)),
        String::new(),
        verdict.as_str().to_owned(),
    ]
}

pub(super) fn number(value: Option<f64>) -> String {
    value.filter(|value| value.is_finite()).map(|value| value.to_string()).unwrap_or_default()
}

pub(super) fn text(cell: &str) -> String {
    let shown = plain(cell);
    if shown.starts_with(['=', '+', '-', '@']) { format!("'{shown}") } else { shown.into_owned() }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::report::examples;

    fn rows(records: &[PhotoRecord]) -> Vec<Vec<String>> {
        let mut out = Vec::new();
        let mut table = CardTable::new(&mut out).unwrap();
        records.iter().for_each(|record| table.write(record).unwrap());
        drop(table);
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(out.as_slice());
        reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect()
    }

    #[test]
    fn every_photo_is_a_row_under_the_heading() {
        let rows = rows(&examples::of_every_kind());
        assert_eq!(rows.len(), 6);
        assert_eq!(rows[0], CARD_COLUMNS);
        let cell = |row: usize, column: &str| {
            let index = CARD_COLUMNS.iter().position(|name| *name == column).unwrap();
            rows[row][index].as_str()
        };
        let statuses: Vec<_> = (1..6).map(|row| cell(row, "status")).collect();
        assert_eq!(statuses, ["read", "read", "residual-only", "refused", "failed"]);
        let verdicts: Vec<_> = (1..6).map(|row| cell(row, "verdict")).collect();
        assert_eq!(verdicts, ["good", "see-notes", "light-unknown", "refused", "failed"]);
        assert_eq!(cell(1, "cct_kelvin"), "5460");
        assert_eq!(cell(1, "duv_low"), "-0.0012");
        assert_eq!((cell(1, "nearest_preset"), cell(1, "nearest_miss_mired")), ("daylight", "1.3"));
        assert_eq!((cell(3, "cct_kelvin"), cell(3, "residual_mired")), ("", "41.2"));
        assert_eq!(cell(4, "problems"), "clipped balance-unknown");
        assert!(cell(5, "error").contains("no such file"));
    }

    #[test]
    fn no_cell_is_a_formula_or_steers_a_terminal() {
        for (path, shown) in [
            ("=1+1.jpg", "'=1+1.jpg"),
            ("-x.jpg", "'-x.jpg"),
            ("@a", "'@a"),
            ("+a", "'+a"),
            ("\t=1", "\\t=1"),
            ("a,\"b\"\n.jpg", "a,\"b\"\\n.jpg"),
        ] {
            let rows = rows(&[PhotoRecord::read(Path::new(path), examples::daylight())]);
            assert_eq!(rows[1][0], shown);
        }
    }
}
