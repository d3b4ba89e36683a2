//! The arguments that all readers of cards share.

use std::path::PathBuf;

use clap::Args;
use mirecast::colour::TransferCurve;

use super::values::{CardLab, LampKind, lab};

/// How card photos are read, whatever is made of them.
#[derive(Debug, Args)]
pub(crate) struct ReadingArguments {
    /// The balance the camera was set to: a preset's name, 5600K, or 5600K,+0.003 with a Duv
    ///
    /// It comes before what the photo's own file records. Needed where the file records nothing,
    /// as when the camera was set to a kelvin number. Raw files give their light without it.
    #[arg(long, alias = "as-shot", value_name = "BALANCE")]
    pub(crate) shot_at: Option<String>,

    /// The card's own colour, where it is not neutral: its CIE L*a*b* values (D50)
    #[arg(long, value_name = "L,A,B", value_parser = lab, allow_hyphen_values = true)]
    pub(crate) card_lab: Option<CardLab>,

    /// What the lamp's spectrum is like, where you know it: it changes how wide the intervals are
    #[arg(long, value_enum, default_value_t)]
    pub(crate) lamp: LampKind,

    /// What the numbers in the picture mean, where you know it: srgb, rec709, linear, or gamma
    /// with a number, as in gamma2.2
    ///
    /// Without it the file's encoding is taken to lie under a contrast curve that is not known, as
    /// cameras' pictures do, and the intervals allow for it.
    #[arg(long, value_name = "CURVE")]
    pub(crate) encoding: Option<TransferCurve>,

    /// A table of presets to use instead of the built-in one
    ///
    /// `mirecast presets --write FILE` makes one to edit.
    #[arg(long, value_name = "FILE")]
    pub(crate) presets: Option<PathBuf>,
}
