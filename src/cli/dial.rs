//! `mirecast dial`: photos at several balance settings → where the card is neutral.

use mirecast::Told;
use mirecast::card::{CardOptions, ModelError};
use mirecast::report::html::{About, dial_page};
use mirecast::report::rounded_bracket;
use mirecast::setups::{BracketReading, read_bracket};

use super::args::DialArguments;
use super::audience::give;
use super::complaint::complain;
use super::exit::{Outcome, RunError};
use super::output::write_bracket;
use super::passed_over::PassedOver;
use super::photo::{PhotoExtras, read, told};
use super::photos::photos;
use super::reading::options;
use super::report::{about_reading, place};
use super::source::{PhotoArgument, each_once, photo};

pub(crate) fn run(arguments: &DialArguments) -> Result<Outcome, RunError> {
    let options = options(&arguments.together.reading)?;
    let wanted =
        PhotoExtras { picture: arguments.together.report.is_wanted(), ..PhotoExtras::default() };
    let model = options.model_error;
    let area = arguments.area;
    let options =
        CardOptions { model_error: ModelError::none(), area, told: Told::InBracket, ..options };
    let named = photos(&arguments.photos, arguments.files_from.as_deref())?;
    let named: Vec<PhotoArgument> =
        named.map(|path| Ok(photo(&path?, &options.presets)?)).collect::<Result<_, RunError>>()?;
    if named.is_empty() {
        return Err(RunError::NoPhotos);
    }
    let passed = PassedOver::default();
    let named = each_once(named, &passed);
    passed.lines(false).iter().for_each(|line| complain(line));
    arguments.together.report.check(arguments.together.existing)?;
    let balanced: Vec<bool> = named.iter().map(|photo| photo.shot_at.is_some()).collect();
    let mut taken = Vec::new();
    let mut pictures = Vec::new();
    let reading = arguments.together.limits.reading();
    arguments.together.limits.batch().in_order(
        named.into_iter().map(Ok),
        move |photo| read(photo, &options, &reading, wanted),
        |photo, read| {
            let (photo, picture) = told(read, photo, arguments.together.format);
            taken.push(photo);
            pictures.push(picture);
            Ok::<(), RunError>(())
        },
    )?;
    let bracket = rounded_bracket(read_bracket(&taken, model));
    let page = || dial_page(&bracket, &pictures, &about(arguments, &balanced));
    give(&arguments.together, |format| write_bracket(&bracket, format), page)?;
    Ok(outcome(&bracket))
}

fn about(arguments: &DialArguments, balanced: &[bool]) -> About {
    about_reading("mirecast dial", &arguments.together.reading, balanced)
        .with("The card’s place", place(arguments.area))
}

/// All is well if the setting was found and every photo counted.
fn outcome(bracket: &BracketReading) -> Outcome {
    let whole = bracket.photos.iter().all(|photo| photo.left_out.is_none());
    if whole && bracket.neutral_at.is_some() { Outcome::AllRead } else { Outcome::Incomplete }
}
