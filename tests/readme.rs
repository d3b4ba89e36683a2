//! What the README shows is what the program prints.
//!
//! `MIRECAST_WRITE_README=1 cargo test --test readme` writes the README's output anew.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use assert_cmd::Command;

const PROMPT: &str = "$ mirecast ";
const FENCE: &str = "```";

/// The README with the output of each `$ mirecast …` put in the place of what it shows.
fn run_again(readme: &str) -> (String, usize) {
    let mut fresh = String::new();
    let mut commands = 0;
    let mut lines = readme.lines();
    while let Some(line) = lines.next() {
        fresh += line;
        fresh.push('\n');
        let Some(arguments) = line.strip_prefix(PROMPT) else { continue };
        commands += 1;
        let output = Command::cargo_bin("mirecast")
            .unwrap()
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .env("NO_COLOR", "1")
            .args(arguments.split_whitespace())
            .output()
            .unwrap();
        fresh += &String::from_utf8(output.stdout).unwrap();
        let end = lines.find(|line| line.starts_with(FENCE)).unwrap();
        fresh += end;
        fresh.push('\n');
    }
    (fresh, commands)
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    let shown = std::fs::read_to_string(path).unwrap();
    let (fresh, commands) = run_again(&shown);
    assert!(commands >= 3, "the README shows only {commands} commands");
    if std::env::var_os("MIRECAST_WRITE_README").is_some() {
        std::fs::write(path, &fresh).unwrap();
    } else {
        assert!(shown == fresh, "the README is out of date; see the top of this test");
    }
}
