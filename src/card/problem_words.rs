//! What is wrong with a card photo, in sentences.

use super::evenness::LEAST_SHIFT;
use super::options::Area;
use super::problem::{Problem, ProblemRecord};
use crate::balance::{AsShot, White, preset_in_words, rough_kelvin_number};

impl From<&Problem> for ProblemRecord {
    fn from(problem: &Problem) -> Self {
        Self { code: problem.code().to_owned(), message: problem.message(), places: Vec::new() }
    }
}

impl Problem {
    /// What is wrong, in a sentence.
    #[must_use]
    pub fn message(&self) -> String {
        match self {
            Self::NotFound => "no card found: no plain, bright surface with four straight sides \
                               could be made out"
                .to_owned(),
            Self::PictureTooSmall { picture: [across, down], .. } => format!(
                "no card found: the picture is {across} x {down} pixels, too small to tell a card in"
            ),
            Self::Outshone { share, .. } => format!(
                "no card found: what fills the picture is no white card, since something \
                 brighter lies on it ({} of the frame), and that has no card's shape or size",
                percent(*share)
            ),
            Self::Blown { share, .. } => format!(
                "no card found: a bright surface of a card's shape ({} of the frame) is blown \
                 out, and may be the card, a window or a lamp",
                percent(*share)
            ),
            Self::AreaOutside { area: Area { x, y, width, height }, picture: [across, down] } => {
                format!(
                    "the area {x},{y},{width},{height} lies outside the picture, which is \
                     {across} x {down} pixels"
                )
            }
            Self::AreaTooSmall { least } => {
                format!(
                    "the area is too small to read; name one of at least {least} pixels each way"
                )
            }
            Self::AreaNotPlain { plain } => format!(
                "no card found: the area is no plain surface; the largest that is covers only {} \
                 of it",
                percent(*plain)
            ),
            Self::AreaUneven { stops } => format!(
                "no card found: the area is {stops:.1} stops brighter in some parts than in \
                 others, so it is hardly one plain surface"
            ),
            Self::AreaBeyond { share } => format!(
                "the area reaches beyond the card: {} of it is something else and was left out",
                percent(*share)
            ),
            Self::AreaCut { picture: [across, down] } => format!(
                "the area reaches out of the picture, which is {across} x {down} pixels; the part \
                 within it was read"
            ),
            Self::Clipped { share } => format!(
                "over-exposed: {} of the card is saturated, so its colour is lost",
                percent(*share)
            ),
            Self::Dark { .. } => {
                "under-exposed: the card is too near black for its colour to mean anything"
                    .to_owned()
            }
            Self::Dim { level, .. } => format!(
                "the card is dark: its brightest channel is at {} of full scale",
                percent(*level)
            ),
            Self::PartlyClipped { share, .. } => format!(
                "over-exposed in part: the brightest {} of the card is at the top of the scale \
                 and was left out",
                percent(*share)
            ),
            Self::Coarse { step, half_mired } => format!(
                "the file is so strongly compressed that its colours are stored in steps of \
                 {step:.0} levels of 255; they alone leave the light open by {half_mired:.0} \
                 mired to either side"
            ),
            Self::MixedLight { ends: [a, b], .. } if is_of_tint(&a.1, &b.1) => {
                let greener = (b.1.duv - a.1.duv).get();
                format!(
                    "more than one light falls on the card: the {} is greener than the {}, by {:.4} Duv",
                    if greener > 0.0 { b.0 } else { a.0 },
                    if greener > 0.0 { a.0 } else { b.0 },
                    greener.abs(),
                )
            }
            Self::MixedLight { ends: [a, b], placed: true } => format!(
                "more than one light falls on the card: {} about {}, {} about {}",
                a.0,
                kelvin(a.1),
                b.0,
                kelvin(b.1)
            ),
            Self::MixedLight { ends: [a, b], placed: false } => {
                let apart = (b.1.mired() - a.1.mired()).get();
                format!(
                    "more than one light falls on the card: the {} is {:.0} mired more orange \
                     than the {}",
                    if apart > 0.0 { b.0 } else { a.0 },
                    apart.abs(),
                    if apart > 0.0 { a.0 } else { b.0 },
                )
            }
            Self::Drift { mired } => format!(
                "the light is not the same all over the card: it changes by {mired:.0} mired"
            ),
            Self::Small { coverage } => {
                format!("the card covers only {} of the frame", percent(*coverage))
            }
            Self::Uneven { stops } => {
                format!("the light is uneven: {stops:.1} stops from the dim to the bright parts")
            }
            Self::Coloured { side } => {
                format!("hardly any light is so {side}: the card may not be white")
            }
            Self::Banding => "bands of mains flicker cross the card; the colour is averaged over \
                              whole bands"
                .to_owned(),
            Self::Glare { share } => {
                format!("a bright reflection was left out ({} of the card)", percent(*share))
            }
            Self::Marked { share } => {
                format!("marks on the card were left out ({} of it)", percent(*share))
            }
            Self::BalanceUnknown => "the file does not say what balance the camera used, so the \
                                     light cannot be placed"
                .to_owned(),
            Self::PresetUnknown { name } => format!(
                "the file records {name}, which is not among the presets, so the light cannot be \
                 placed"
            ),
            Self::AutoBalance => "the camera balanced automatically and did not write down how, \
                                  so the light cannot be placed"
                .to_owned(),
            Self::FlashFired => {
                "the flash fired: this is the colour of the flash and the room together".to_owned()
            }
            Self::NoColour => "the picture is black and white".to_owned(),
            Self::OtherBalance { recorded, stated } => format!(
                "the file records {}, and you say {}: the light is placed by what you say",
                figure(recorded),
                figure(stated)
            ),
            Self::Incomplete { what } | Self::Ignored { what } | Self::OddEncoding { what } => {
                what.clone()
            }
        }
    }
}

fn percent(share: f64) -> String {
    if share > 0.0 && share < 0.01 {
        "under 1 %".to_owned()
    } else {
        format!("{:.0} %", share * 100.0)
    }
}

/// A balance by its name and its temperature.
fn figure(balance: &AsShot) -> String {
    let kelvin = balance.white.map(|white| format!("{:.0} K", white.cct.get()));
    let name = balance.name.as_deref().map(preset_in_words);
    let parts: Vec<_> = name.into_iter().chain(kelvin.map(Into::into)).collect();
    parts.join(", ")
}

fn kelvin(white: White) -> String {
    format!("{} K", rough_kelvin_number(white.cct.get()))
}

/// Whether two lights differ by their tint alone.
fn is_of_tint(a: &White, b: &White) -> bool {
    (a.mired() - b.mired()).get().abs() <= LEAST_SHIFT
}
