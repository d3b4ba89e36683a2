//! How card photos are to be read, from the arguments that all readers of cards share.

use std::path::Path;

use mirecast::balance::{AsShot, GelTable, PresetTable};
use mirecast::card::{CardOptions, Lamp, ModelError};

use super::args::{LampKind, ReadingArguments};
use super::exit::RunError;
use super::inputs::is_input;

pub(crate) fn options(arguments: &ReadingArguments) -> Result<CardOptions, RunError> {
    let (presets, shot_at) = balances(arguments.presets.as_deref(), arguments.shot_at.as_deref())?;
    let mut options = CardOptions::new(presets);
    options.shot_at = shot_at;
    options.card_lab = arguments.card_lab;
    options.encoding = arguments.encoding;
    options.model_error = ModelError::of(match arguments.lamp {
        LampKind::Any => Lamp::Any,
        LampKind::Continuous => Lamp::Continuous,
        LampKind::Spiky => Lamp::Spiky,
    });
    Ok(options)
}

/// The table to go by, and the balance that the user states, if any.
pub(crate) fn balances(
    presets: Option<&Path>,
    shot_at: Option<&str>,
) -> Result<(PresetTable, Option<AsShot>), RunError> {
    let presets = table(presets)?;
    let shot_at = shot_at.map(|text| AsShot::stated(text, &presets)).transpose()?;
    Ok((presets, shot_at))
}

/// The preset table of a file, or the built-in one.
pub(crate) fn table(file: Option<&Path>) -> Result<PresetTable, RunError> {
    Ok(match file {
        Some(path) => {
            is_input(path);
            PresetTable::from_file(path)?
        }
        None => PresetTable::built_in()?,
    })
}

/// The gel table of a file, or the built-in one.
pub(crate) fn gels(file: Option<&Path>) -> Result<GelTable, RunError> {
    Ok(match file {
        Some(path) => {
            is_input(path);
            GelTable::from_file(path)?
        }
        None => GelTable::built_in()?,
    })
}
