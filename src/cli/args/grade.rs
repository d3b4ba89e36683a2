//! The arguments that ask for corrections.

use std::path::PathBuf;

use clap::Args;
use mirecast::grade::{Footage, GradeOptions, Strength};

use super::values::Existing;

/// What is to be written of corrections where no proofs can be made.
#[derive(Debug, Clone, Args)]
#[group(id = "targets", multiple = true)]
pub(crate) struct Targets {
    /// Write corrections for a grading program into FOLDER: ASC CDL and Common LUT Format
    ///
    /// The .clf files are exact, the .cc files the nearest that slopes come; corrections.ccc holds
    /// all of these.
    #[arg(long, value_name = "FOLDER")]
    pub(crate) corrections: Option<PathBuf>,
}

/// What is to be written of corrections where there are pictures.
#[derive(Debug, Clone, Args)]
#[group(id = "targets", multiple = true)]
pub(crate) struct FrameTargets {
    /// Write corrections for a grading program into FOLDER: ASC CDL and Common LUT Format
    ///
    /// One for each group. The .clf files are exact, the .cc files the nearest that slopes come;
    /// corrections.ccc holds all of these.
    #[arg(long, value_name = "FOLDER")]
    pub(crate) corrections: Option<PathBuf>,

    /// Write small corrected copies into FOLDER: what each .clf and what each .cc makes of a frame
    #[arg(long, value_name = "FOLDER")]
    pub(crate) proofs: Option<PathBuf>,
}

impl FrameTargets {
    pub(crate) fn are_wanted(&self) -> bool {
        self.corrections.is_some() || self.proofs.is_some()
    }
}

/// How corrections are made.
#[derive(Debug, Clone, Args)]
#[group(id = "grade")]
pub(crate) struct GradeArguments {
    /// The encoding of the footage to be corrected: srgb, rec709, linear, or gamma with a number
    /// [default: srgb]
    #[arg(long, value_name = "ENCODING", requires = "targets")]
    pub(crate) footage: Option<Footage>,

    /// How much of each correction to make, in per cent [default: 100]
    #[arg(long, value_name = "PERCENT", requires = "targets")]
    pub(crate) strength: Option<Strength>,

    #[command(flatten)]
    pub(crate) existing: Existing,
}

impl GradeArguments {
    pub(crate) fn options(&self) -> GradeOptions {
        GradeOptions::new(self.footage.unwrap_or_default(), self.strength.unwrap_or_default())
    }
}
