//! What the README and the pages under `docs/` show is what the program prints, and what they link to
//! is there.
//!
//! `MIRECAST_WRITE_README=1 cargo test --test readme` writes their output anew.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use std::path::{Path, PathBuf};

use assert_cmd::Command;

const PROMPT: &str = "$ mirecast ";
const FENCE: &str = "```";

/// A page with the output of each `$ mirecast …` put in the place of what it shows.
fn run_again(page: &str) -> (String, usize) {
    let mut fresh = String::new();
    let mut commands = 0;
    let folder = with_samples();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        fresh += line;
        fresh.push('\n');
        let Some(arguments) = line.strip_prefix(PROMPT) else { continue };
        commands += 1;
        let output = Command::cargo_bin("mirecast")
            .unwrap()
            .current_dir(folder.path())
            .env("NO_COLOR", "1")
            .env("HOME", "/home/potter")
            .env_remove("XDG_CONFIG_HOME")
            .args(arguments.split_whitespace().flat_map(expanded))
            .output()
            .unwrap();
        fresh += &String::from_utf8(output.stdout).unwrap();
        let end = lines.find(|line| line.starts_with(FENCE)).unwrap();
        fresh += end;
        fresh.push('\n');
    }
    (fresh, commands)
}

/// A folder of its own with the sample frames in it, so that what a command writes is not left behind.
fn with_samples() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let samples = folder.path().join("sample-frames");
    std::fs::create_dir(&samples).unwrap();
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/sample-frames")).unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), samples.join(entry.file_name())).unwrap();
    }
    folder
}

/// The files that a pattern such as `folder/name-*.jpg` stands for in a shell, or the word itself.
fn expanded(word: &str) -> Vec<String> {
    let Some((start, end)) = word.split_once('*') else { return vec![word.to_owned()] };
    let folder = start.rsplit_once('/').map_or(".", |(folder, _)| folder);
    let entries = std::fs::read_dir(format!("{}/{folder}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let mut paths: Vec<_> = entries
        .map(|entry| format!("{folder}/{}", entry.unwrap().file_name().to_str().unwrap()))
        .filter(|path| path.starts_with(start) && path.ends_with(end))
        .collect();
    paths.sort();
    paths
}

/// The README and what it leads to.
fn pages() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut pages = vec![root.join("README.md"), root.join("DEVELOPERS.md")];
    let docs = std::fs::read_dir(root.join("docs")).unwrap().map(|entry| entry.unwrap().path());
    pages.extend(docs.filter(|path| path.extension().is_some_and(|ending| ending == "md")));
    pages
}

#[test]
fn pages_show_what_the_program_prints() {
    let mut shown_at_all = 0;
    for path in pages() {
        let shown = std::fs::read_to_string(&path).unwrap();
        let (fresh, commands) = run_again(&shown);
        shown_at_all += commands;
        if std::env::var_os("MIRECAST_WRITE_README").is_some() {
            std::fs::write(path, &fresh).unwrap();
        } else {
            assert!(shown == fresh, "{} is out of date; see the top of this test", path.display());
        }
    }
    assert!(shown_at_all >= 8, "only {shown_at_all} commands are shown");
}

#[test]
fn links_lead_somewhere() {
    let mut links = 0;
    for page in pages() {
        let text = std::fs::read_to_string(&page).unwrap();
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let (file, place) = link.split_once('#').unwrap_or((link, ""));
            if link.starts_with("http") {
                continue;
            }
            let target = match file {
                "" => page.clone(),
                file => page.parent().unwrap().join(file),
            };
            assert!(target.exists(), "{}: {link}", page.display());
            let heading = |line: &str| {
                let kept = line.trim_start_matches(['#', ' ']).to_lowercase();
                kept.replace(|c: char| !c.is_alphanumeric() && !" -".contains(c), "")
                    .replace(' ', "-")
            };
            if !place.is_empty() {
                let text = std::fs::read_to_string(&target).unwrap();
                let mut headings = text.lines().filter(|line| line.starts_with('#')).map(heading);
                assert!(headings.any(|heading| heading == place), "{}: {link}", page.display());
            }
            links += 1;
        }
    }
    assert!(links > 20, "{links}");
}
