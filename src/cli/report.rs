//! `--report FILE.html`: the same results as a page.

use std::ffi::OsStr;
use std::path::Path;

use mirecast::card::Area;
use mirecast::colour::TransferCurve;
use mirecast::frames::Tolerance;
use mirecast::report::html::About;

use super::args::{CardLab, Existing, LampKind, ReadingArguments, ReportArguments};
use super::exit::RunError;
use super::write_file::{Kind, has_folder, may_be_written, write_file};

impl ReportArguments {
    /// Whether a page is wanted.
    pub(crate) fn is_wanted(&self) -> bool {
        self.report.is_some()
    }

    /// Says now what would stop the page from being written after a long run; what else the run
    /// reads must be known by then ([`is_input`](super::inputs::is_input)).
    pub(crate) fn check(&self, existing: Existing) -> Result<(), RunError> {
        let Some(path) = &self.report else { return Ok(()) };
        // A folder is told as one, whatever its name ends in.
        if !path.is_dir() && !is_named_html(path) {
            let html = path.with_extension("html");
            return Err(RunError::NotHtml { path: path.clone(), html });
        }
        may_be_written(path, Kind::Text, existing)?;
        has_folder(path)
    }

    /// Writes the page, if one is wanted.
    pub(crate) fn write(
        &self,
        existing: Existing,
        page: impl FnOnce() -> String,
    ) -> Result<(), RunError> {
        match &self.report {
            Some(path) => write_file(path, page().as_bytes(), Kind::Text, existing),
            None => Ok(()),
        }
    }
}

/// Whether a browser will take a file for a page by its name.
fn is_named_html(path: &Path) -> bool {
    let is = |ending: &OsStr| ["html", "htm"].iter().any(|html| ending.eq_ignore_ascii_case(html));
    path.extension().is_some_and(is)
}

/// How cards were read, in words; `named` says of each photo whether a balance stood after its name.
pub(crate) fn about_reading(command: &str, arguments: &ReadingArguments, named: &[bool]) -> About {
    let lamp = match arguments.lamp {
        LampKind::Any => "any",
        LampKind::Continuous => "smooth spectrum",
        LampKind::Spiky => "spectrum with spikes",
    };
    let others = shot_at(arguments.shot_at.as_deref());
    let shot_at = match named.iter().filter(|named| **named).count() {
        0 => others,
        all if all == named.len() => "as given for each photo".to_owned(),
        some => format!("as given for {some} of {} photos; else {others}", named.len()),
    };
    with_tables(command, shot_at, arguments.presets.as_deref())
        .with("The card", card(arguments.card_lab))
        .with("Lamp", lamp)
        .with("Encoding", encoding(arguments.encoding))
}

/// The card's own colour, in words.
pub(crate) fn card(lab: Option<CardLab>) -> String {
    lab.map_or_else(
        || "taken for neutral".to_owned(),
        |[l, a, b]| format!("L* {l}, a* {a}, b* {b}"),
    )
}

/// What the numbers in the photos are taken for, in words.
pub(crate) fn encoding(known: Option<TransferCurve>) -> String {
    known.map_or_else(
        || "as the files say, under a contrast curve that is not known".to_owned(),
        |curve| curve.to_string(),
    )
}

/// What counts as neutral, in words.
pub(crate) fn neutral(Tolerance { mired, duv }: Tolerance) -> String {
    format!("within {mired} mired and Duv {duv}")
}

/// The settings that all readers share.
pub(crate) fn about(command: &str, stated: Option<&str>, presets: Option<&Path>) -> About {
    with_tables(command, shot_at(stated), presets)
}

fn with_tables(command: &str, shot_at: String, presets: Option<&Path>) -> About {
    About { command: command.to_owned(), ..About::default() }
        .with("Shot at", shot_at)
        .with("Presets", table(presets))
}

fn shot_at(stated: Option<&str>) -> String {
    stated.map_or_else(
        || "as each file records".to_owned(),
        |balance| format!("{balance}, as stated"),
    )
}

/// Where the card is, in words.
pub(crate) fn place(area: Option<Area>) -> String {
    area.map_or_else(
        || "searched for".to_owned(),
        |Area { x, y, width, height }| {
            format!("{width} × {height} pixels, {x} from the left and {y} from the top")
        },
    )
}

/// A table by its file, or the built-in one.
pub(crate) fn table(file: Option<&Path>) -> String {
    file.map_or_else(|| "built in".to_owned(), |path| path.to_string_lossy().into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_written_is_said_before_the_run() {
        let folder = tempfile::tempdir().unwrap();
        let there = folder.path().join("there.html");
        std::fs::write(&there, "old").unwrap();
        let check = |path: &Path, force| {
            ReportArguments { report: Some(path.to_path_buf()) }.check(Existing { force })
        };
        assert!(matches!(check(&there, false), Err(RunError::Exists(_))));
        assert!(check(&there, true).is_ok());
        assert!(check(&folder.path().join("new.html"), false).is_ok());
        let nowhere = check(&folder.path().join("no/such.html"), true);
        assert!(matches!(nowhere, Err(RunError::NoFolder { .. })), "{nowhere:?}");
        let taken = check(folder.path(), true);
        assert!(matches!(taken, Err(RunError::IsAFolder(_))), "{taken:?}");
        for (other, told) in [
            ("card.pdf", "name it {}card.html; for a PDF, print the page from the browser"),
            ("a.jpg", "name it {}a.html"),
            ("page", "name it {}page.html"),
        ] {
            let refused = check(&folder.path().join(other), true).unwrap_err();
            let told = told.replace("{}", &format!("{}/", folder.path().display()));
            assert!(refused.to_string().ends_with(&told), "{refused}");
            assert_eq!(refused.outcome(), crate::cli::exit::Outcome::WrongUsage);
        }
        assert!(check(&folder.path().join("NEW.HTM"), false).is_ok());
        assert!(ReportArguments { report: None }.check(Existing::default()).is_ok());
    }
}
