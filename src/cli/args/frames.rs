//! The arguments of the commands that check frames.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use mirecast::frames::Tolerance;
use mirecast::report::{FrameFilter, FrameOrder};

use super::grade::{FrameTargets, GradeArguments, Targets};
use super::limits::Limits;
use super::report::ReportArguments;
use super::values::Format;

const FRAMES_EXAMPLES: &str = "\
Examples:
  mirecast frames shoot
      Check every picture in the folder shoot and in the folders in it.
  mirecast frames --only casts --sort cast shoot
      List only what came out with a cast, the worst first.
  mirecast frames --reference card.jpg --shot-at 5600K shoot
      All were shot at 5600 K; card.jpg shows what is neutral at that setting.
  mirecast frames --format csv shoot > shoot.csv
      A table for a spreadsheet.
  mirecast frames --report shoot.html shoot
      A contact sheet with each frame as shot and corrected, to look at and mail.
  mirecast frames --corrections grade --proofs looks --footage rec709 shoot
      Write what takes the casts out in a grading program, and small corrected
      copies to see it by.
  mirecast frames --no-groups --format json shoot > records.jsonl
      A record a line as soon as a picture is checked; mirecast groups groups them.

Exit code: 0 if every picture was read, whatever its cast; 1 if one could not be
read; 2 if the arguments make no sense.";

/// Check stills without a card for casts
///
/// Checks photographs in which there is no card: which came out orange or blue, green or magenta,
/// by how much, and which share a light, so that one correction does for all of them. Without a
/// card a cast is an estimate from what is in the picture; every figure has an interval that holds
/// the truth nine times in ten.
#[derive(Debug, Args)]
#[command(after_help = FRAMES_EXAMPLES)]
pub(crate) struct FramesArguments {
    /// Pictures, and folders of pictures
    #[arg(value_name = "PATH", required_unless_present = "files_from")]
    pub(crate) paths: Vec<PathBuf>,

    /// Check what is listed in FILE as well, one path a line; - is standard input
    #[arg(long, value_name = "FILE")]
    pub(crate) files_from: Option<PathBuf>,

    /// The balance the camera was set to: a preset's name, 5600K, or 5600K,+0.003 with a Duv
    ///
    /// It comes before what the pictures' own files record.
    #[arg(long, alias = "as-shot", value_name = "BALANCE")]
    pub(crate) shot_at: Option<String>,

    /// A photo of a card, shot with the same camera at the same balance: what is neutral there
    ///
    /// Casts are then what is left once the pictures are balanced from that card.
    #[arg(long, value_name = "CARD")]
    pub(crate) reference: Option<PathBuf>,

    /// What is still neutral: mired, or mired and Duv, as in 20 or 20,0.006 [default: 20,0.006]
    #[arg(long, value_name = "MIRED[,DUV]", allow_hyphen_values = true)]
    pub(crate) tolerance: Option<Tolerance>,

    /// A table of presets to use instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) presets: Option<PathBuf>,

    /// Do not group: print each picture as soon as it is checked
    #[arg(long, conflicts_with_all = ["sort", "targets"])]
    pub(crate) no_groups: bool,

    #[command(flatten)]
    pub(crate) targets: FrameTargets,

    /// Correct each frame by its own cast instead of its group's
    ///
    /// Its files then have the picture's name. A group of several views is surer than its frames.
    #[arg(long, requires = "targets")]
    pub(crate) each_frame: bool,

    #[command(flatten)]
    pub(crate) grade: GradeArguments,

    #[command(flatten)]
    pub(crate) listing: Listing,

    #[command(flatten)]
    pub(crate) report: ReportArguments,

    #[command(flatten)]
    pub(crate) limits: Limits,
}

const GROUPS_EXAMPLES: &str = "\
Examples:
  mirecast groups day1.jsonl day2.jsonl
      Group what two machines have checked.
  cat *.jsonl | mirecast groups --format csv > shoot.csv

Make records with: mirecast frames --format json shoot > records.jsonl
Exit code: 0 if every line was read, 1 if one could not be, or holds a picture
that could not be read; 2 if there is no record at all.";

/// Group frames by the records of earlier checks
///
/// Reads records that mirecast frames has printed as JSON, from one or several machines, and
/// groups the frames that share a light. Groups follow from the records alone: the pictures need
/// not be there.
#[derive(Debug, Args)]
#[command(after_help = GROUPS_EXAMPLES)]
pub(crate) struct GroupsArguments {
    /// Files of records; standard input if there is none, or for -
    #[arg(value_name = "RECORDS")]
    pub(crate) records: Vec<PathBuf>,

    #[command(flatten)]
    pub(crate) targets: Targets,

    #[command(flatten)]
    pub(crate) grade: GradeArguments,

    #[command(flatten)]
    pub(crate) listing: Listing,
}

/// What is printed of frames.
#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct Listing {
    /// List only these; the summary and the groups are of all the same
    #[arg(long, value_enum, value_name = "WHICH")]
    pub(crate) only: Option<Only>,

    /// In which order to list
    #[arg(long, value_enum, value_name = "BY", default_value_t)]
    pub(crate) sort: Sort,

    /// How to print the results
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Only {
    /// Frames with a cast
    Casts,
    /// Frames that do not tell
    Undecided,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Sort {
    /// As given; folders by name
    #[default]
    Given,
    /// By file name
    Name,
    /// By the camera's clock
    Time,
    /// The strongest cast first, in tolerances of mired or Duv
    Cast,
    /// By group
    Group,
}

impl Listing {
    pub(crate) fn filter(self) -> FrameFilter {
        match self.only {
            None => FrameFilter::All,
            Some(Only::Casts) => FrameFilter::Casts,
            Some(Only::Undecided) => FrameFilter::Undecided,
        }
    }

    pub(crate) fn order(self) -> FrameOrder {
        match self.sort {
            Sort::Given => FrameOrder::Given,
            Sort::Name => FrameOrder::Name,
            Sort::Time => FrameOrder::Time,
            Sort::Cast => FrameOrder::Cast,
            Sort::Group => FrameOrder::Group,
        }
    }
}
