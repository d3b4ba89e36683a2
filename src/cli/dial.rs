//! `mirecast dial`: photos at several balance settings → where the card is neutral.

use mirecast::card::{CardOptions, ModelError};
use mirecast::report::rounded_bracket;
use mirecast::setups::{BracketReading, read_bracket};

use super::exit::{Outcome, RunError};
use super::interrupt;
use super::output::write_bracket;
use super::photo::{read, told};
use super::photos::photos;
use super::reading::options;
use super::setup_args::DialArguments;
use super::source::{PhotoArgument, photo};

pub(crate) fn run(arguments: &DialArguments) -> Result<Outcome, RunError> {
    let options = options(&arguments.reading)?;
    let model = options.model_error;
    let area = arguments.area;
    let options = CardOptions { model_error: ModelError::none(), area, ..options };
    let named = photos(&arguments.photos, arguments.files_from.as_deref())?;
    let named: Vec<PhotoArgument> =
        named.map(|path| Ok(photo(&path?, &options.presets)?)).collect::<Result<_, RunError>>()?;
    if named.is_empty() {
        return Err(RunError::NoPhotos);
    }
    let mut taken = Vec::new();
    let reading = arguments.limits.reading();
    arguments.limits.batch().in_order(
        named.into_iter().map(Ok),
        move |photo| read(photo, &options, &reading, false),
        |photo, read| {
            taken.push(told(read, photo, arguments.format));
            Ok::<(), RunError>(())
        },
    )?;
    let bracket = rounded_bracket(read_bracket(&taken, model));
    interrupt::whole(|| write_bracket(&bracket, arguments.format))?;
    Ok(outcome(&bracket))
}

/// All is well if the setting was found and every photo counted.
fn outcome(bracket: &BracketReading) -> Outcome {
    let whole = bracket.photos.iter().all(|photo| photo.left_out.is_none());
    if whole && bracket.neutral_at.is_some() { Outcome::AllRead } else { Outcome::Incomplete }
}
