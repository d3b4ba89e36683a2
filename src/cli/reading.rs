//! How card photos are to be read, from the arguments that all readers of cards share.

use mirecast::balance::{AsShot, PresetTable};
use mirecast::card::{CardOptions, Lamp, ModelError};

use super::args::{LampKind, ReadingArguments};
use super::exit::RunError;

pub(crate) fn options(arguments: &ReadingArguments) -> Result<CardOptions, RunError> {
    let presets = match &arguments.presets {
        Some(path) => PresetTable::from_file(path)?,
        None => PresetTable::built_in()?,
    };
    let shot_at = arguments.shot_at.as_deref().map(|text| AsShot::stated(text, &presets));
    let mut options = CardOptions::new(presets);
    options.shot_at = shot_at.transpose()?;
    options.card_lab = arguments.card_lab;
    options.encoding = arguments.encoding;
    options.model_error = ModelError::of(match arguments.lamp {
        LampKind::Any => Lamp::Any,
        LampKind::Continuous => Lamp::Continuous,
        LampKind::Spiky => Lamp::Spiky,
    });
    Ok(options)
}
