//! The program itself, from end to end: what it prints, how it ends.

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use lab::Rng;
use serde_json::Value;

use super::pictures::Pictures;
use super::{Setting, Target, harmless};
use crate::dice::Dice;
use crate::mutate::{Grammar, bend_text};
use crate::seeds::{Kind, exif, seeds};

/// Runs the program; fails where it ends as no program should.
fn run(
    program: &PathBuf,
    words: &[&str],
    folder: &PathBuf,
    input: &[u8],
) -> Result<Output, String> {
    let mut child = Command::new(program)
        .env("XDG_CONFIG_HOME", "/nowhere")
        .args(words)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|error| format!("cannot start {}: {error}", program.display()))?;
    let stdin = child.stdin.take();
    // At the same time as the output is read: both may be longer than a pipe holds.
    let output = std::thread::scope(|threads| {
        threads.spawn(|| {
            // It may have ended before it has read everything.
            stdin.map(|mut stdin| stdin.write_all(input))
        });
        child.wait_with_output()
    });
    let output = output.map_err(|error| error.to_string())?;
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    if !matches!(output.status.code(), Some(0..=2)) || said.contains("panicked") {
        return Err(format!("{words:?} ended with {}: {said}", output.status));
    }
    harmless(&output.stderr)?;
    Ok(output)
}

/// The records of a run with `--format json`.
fn records(output: &Output) -> Result<Vec<Value>, String> {
    let lines = output.stdout.split(|byte| *byte == b'\n').filter(|line| !line.is_empty());
    lines.map(|line| serde_json::from_slice(line).map_err(|e| format!("no JSON: {e}"))).collect()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap_or(-1)
}

/// `mirecast card --files-from -`, with lists of every kind.
pub(super) struct List {
    program: PathBuf,
    folder: tempfile::TempDir,
}

const NAMES: [&str; 3] = ["a.jpg", "b c.jpg", "d.jpg"];

impl List {
    #[expect(clippy::panic, reason = "without a folder nothing can be tried")]
    pub(super) fn new(setting: &Setting) -> Self {
        let Ok(folder) = tempfile::tempdir() else { panic!("no temporary folder") };
        let pixel = seeds(Kind::Jpeg, &[]).small.into_iter().min_by_key(Vec::len);
        for name in NAMES {
            // A name that is missing is a case as well.
            let _ = fs::write(folder.path().join(name), pixel.as_deref().unwrap_or_default());
        }
        Self { program: setting.program.clone(), folder }
    }
}

impl Target for List {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        let mut list = String::from("\u{feff}");
        for _ in 0..rng.below(9) {
            list.push_str(
                ["a.jpg\n", "b c.jpg\r\n", "d.jpg\n", "\n", "no/such.jpg\n", ".\n"][rng.below(6)],
            );
        }
        let mut bytes = list.into_bytes();
        bend_text(rng, &mut bytes, Grammar::List);
        bytes
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        let words = ["card", "--format", "json", "--files-from", "-"];
        let output = run(&self.program, &words, &self.folder.path().to_path_buf(), input)?;
        let records = records(&output)?;
        let list = input.strip_prefix(b"\xef\xbb\xbf").unwrap_or(input);
        let lines = paths_of(list, b'\n');
        let too_long = lines.iter().any(|line| line.len() > 32 << 10);
        // With a zero byte near its beginning it is a list with zeros between its paths.
        let between_zeros = if list.contains(&0) { paths_of(list, 0).len() } else { lines.len() };
        if !too_long && ![lines.len(), between_zeros].contains(&records.len()) {
            return Err(format!("{} records of {} lines", records.len(), lines.len()));
        }
        let wanted = if lines.is_empty() { 2 } else { 1 };
        let good =
            |record: &Value| matches!(record["status"].as_str(), Some("read" | "residual-only"));
        if code(&output) != wanted && !records.iter().all(good) {
            return Err(format!("exit code {} of {} lines", code(&output), lines.len()));
        }
        Ok(format!("exit code {}", code(&output)))
    }
}

/// What lies between bytes that end a path, without the ends of lines and what is empty.
fn paths_of(list: &[u8], end: u8) -> Vec<&[u8]> {
    let paths = list.split(|byte| *byte == end).map(|path| match end {
        b'\n' => path.strip_suffix(b"\r").unwrap_or(path),
        _ => path,
    });
    paths.filter(|path| !path.is_empty()).collect()
}

/// Every command over a few broken pictures.
pub(super) struct Commands {
    program: PathBuf,
    folder: tempfile::TempDir,
    kinds: Vec<(Pictures, &'static str)>,
}

impl Commands {
    #[expect(clippy::panic, reason = "without a folder nothing can be tried")]
    pub(super) fn new(setting: &Setting) -> Self {
        let Ok(folder) = tempfile::tempdir() else { panic!("no temporary folder") };
        let kinds = [
            (Kind::Jpeg, "jpg"),
            (Kind::Png, "png"),
            (Kind::Tiff, "tif"),
            (Kind::WebP, "webp"),
            (Kind::Raw, "dng"),
        ];
        let kinds = kinds.map(|(kind, ending)| (Pictures::new(kind, setting), ending)).into();
        Self { program: setting.program.clone(), folder, kinds }
    }
}

const COMMANDS: [&str; 6] = ["card", "frames", "setups", "dial", "groups", "frames"];
const PAGE: &str = "page.html";

/// The words by which a command writes files beside its results.
fn files_of(command: &str) -> &'static [&'static str] {
    match command {
        "card" => &["--corrections", "corrections", "--report", PAGE],
        "frames" => &["--corrections", "corrections", "--proofs", "proofs", "--report", PAGE],
        "groups" => &["--corrections", "corrections"],
        _ => &["--report", PAGE],
    }
}

const FILES: usize = 6;
const SEPARATOR: &[u8] = b"\n--next file--\n";

impl Target for Commands {
    /// A command, a format, whether it writes files, and files, each with a letter for its kind, in
    /// one.
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        let mut bytes =
            vec![rng.below(COMMANDS.len()) as u8, rng.below(3) as u8, rng.below(3) as u8];
        for _ in 0..FILES {
            let kind = rng.below(self.kinds.len());
            bytes.extend(SEPARATOR);
            bytes.push(kind as u8);
            let file = self.kinds.get(kind).map(|(pictures, _)| pictures.input(rng));
            bytes.extend(if rng.once_in(20) {
                exif(Default::default())
            } else {
                file.unwrap_or_default()
            });
        }
        bytes
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        let mut parts = split(input).into_iter();
        let Some(&[command, format, writes]) = parts.next() else {
            return Ok("not an input".to_owned());
        };
        let format = ["text", "json", "csv"][usize::from(format % 3)];
        let mut names = Vec::new();
        for (n, part) in parts.enumerate() {
            let [kind, content @ ..] = part else { continue };
            let Some((_, ending)) = self.kinds.get(usize::from(*kind)) else { continue };
            let name = format!("{n}.{ending}");
            let written = fs::write(self.folder.path().join(&name), content);
            written.map_err(|error| error.to_string())?;
            names.push(name);
        }
        let files: Vec<&str> = names.iter().map(String::as_str).collect();
        let command = COMMANDS[usize::from(command) % COMMANDS.len()];
        let written = if writes % 3 == 0 { files_of(command) } else { &[] };
        let words = [&[command, "--format", format], written].concat();
        let folder = self.folder.path().to_path_buf();
        let output = if command == "groups" {
            let frames = [&["frames", "--format", "json"][..], &files].concat();
            run(&self.program, &frames, &folder, b"")
                .and_then(|frames| run(&self.program, &words, &folder, &frames.stdout))
        } else {
            run(&self.program, &[&words[..], &files].concat(), &folder, b"")
        };
        for name in &names {
            let _ = fs::remove_file(folder.join(name));
        }
        let page = fs::read(folder.join(PAGE)).ok();
        let _ = fs::remove_file(folder.join(PAGE));
        for made in ["corrections", "proofs"] {
            let _ = fs::remove_dir_all(folder.join(made));
        }
        let output = output?;
        harmless(&output.stdout)?;
        if code(&output) == 2 {
            return Err(format!("{words:?} is no wrong usage"));
        }
        if written.contains(&PAGE) {
            let page = page.ok_or_else(|| format!("{words:?} wrote no page"))?;
            harmless(&page)?;
            if !page.starts_with(b"<!DOCTYPE html>") || !page.trim_ascii().ends_with(b"</html>") {
                return Err(format!("{words:?} wrote half a page"));
            }
        }
        if format == "json" {
            self.check(command, &output, files.len())?;
        }
        Ok(format!("{command}, exit code {}", code(&output)))
    }
}

impl Commands {
    fn check(&self, command: &str, output: &Output, files: usize) -> Result<(), String> {
        let records = records(output)?;
        let read = |record: &Value| match command {
            "card" => matches!(record["status"].as_str(), Some("read" | "residual-only")),
            _ => record.get("error").is_none(),
        };
        let of_files: Vec<&Value> = records.iter().filter(|r| r.get("path").is_some()).collect();
        if !matches!(command, "card" | "frames" | "groups") {
            return Ok(());
        }
        if of_files.len() != files {
            return Err(format!("{command}: {} records of {files} files", of_files.len()));
        }
        let wanted = if of_files.iter().all(|record| read(record)) { 0 } else { 1 };
        if code(output) != wanted {
            return Err(format!("{command}: exit code {} is not {wanted}", code(output)));
        }
        Ok(())
    }
}

fn split(input: &[u8]) -> Vec<&[u8]> {
    let mut parts = Vec::new();
    let mut rest = input;
    while let Some(at) = rest.windows(SEPARATOR.len()).position(|window| window == SEPARATOR) {
        parts.push(&rest[..at]);
        rest = &rest[at + SEPARATOR.len()..];
    }
    parts.push(rest);
    parts
}
