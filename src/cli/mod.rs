//! Arguments → a request → the library → a report → an exit code. Nothing is computed here.

mod args;
mod audience;
pub(crate) mod batch;
pub(crate) mod card;
mod complaint;
pub(crate) mod deciding;
#[cfg(feature = "desk")]
mod desk;
mod dial;
mod earlier_proof;
mod exit;
pub(crate) mod frames;
mod frames_grading;
mod frames_output;
mod gels;
mod grading;
mod groups;
mod inputs;
mod interrupt;
mod lines;
mod manual;
mod misfits;
mod output;
mod passed_over;
mod patience;
pub(crate) mod photo;
mod photos;
pub(crate) mod picture_name;
mod presets;
mod progress;
mod proofs;
mod reading;
pub(crate) mod report;
mod settings;
mod settings_files;
mod setups;
mod slip;
mod source;
mod unreadable;
mod walk;
mod write_file;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};
use complaint::complain;
use exit::{Outcome, RunError};
use slip::answer;

/// Runs the program on the process's own arguments.
pub(crate) fn main() -> ExitCode {
    let outcome = run(std::env::args_os()).unwrap_or_else(|error| {
        if let Some(message) = error.message() {
            complain(&message);
        }
        error.outcome()
    });
    outcome.into()
}

fn run(arguments: impl Iterator<Item = OsString>) -> Result<Outcome, RunError> {
    let mut arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => return Ok(answer(error)),
    };
    // The desk waits for the signal by itself, and lets what is under way end.
    #[cfg(feature = "desk")]
    let ends_itself = matches!(arguments.command, Command::Desk(_));
    #[cfg(not(feature = "desk"))]
    let ends_itself = false;
    if !ends_itself {
        interrupt::watch();
    }
    for line in settings_files::settle(&mut arguments)? {
        complain(&line);
    }
    match arguments.command {
        Command::Card(card) => card::run(&card),
        Command::Frames(frames) => frames::run(&frames),
        Command::Groups(groups) => groups::run(&groups),
        Command::Setups(setups) => setups::run(&setups),
        Command::Dial(dial) => dial::run(&dial),
        #[cfg(feature = "desk")]
        Command::Desk(desk) => desk::run(&desk),
        Command::Gels(gels) => gels::run(&gels),
        Command::Presets(presets) => presets::run(&presets),
        Command::Settings(settings) => settings::run(&settings, arguments.no_settings),
        Command::Completions(completions) => manual::complete(&completions),
        Command::Manual(manual) => manual::run(&manual),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn help_is_an_answer_and_a_slip_is_wrong_usage() {
        let outcome = |words: &[&str]| {
            run(words.iter().map(OsString::from)).expect("arguments alone are looked at")
        };
        assert_eq!(outcome(&["mirecast", "--help"]), Outcome::AllRead);
        assert_eq!(outcome(&["mirecast", "--version"]), Outcome::AllRead);
        assert_eq!(outcome(&["mirecast"]), Outcome::WrongUsage);
        assert_eq!(outcome(&["mirecast", "crad", "a.jpg"]), Outcome::WrongUsage);
    }
}
