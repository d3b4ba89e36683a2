//! One frame → its record.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::cast::largest_one;
use super::silent::why_silent;
use super::{
    Cast, CastPosterior, Misfit, Reference, Tolerance, Verdict, ViewMark, estimate, verdict,
};
use crate::balance::{AsShot, PresetTable, White};
use crate::card::ShotRecord;
use crate::colour::Xy;
use crate::still::{Note, Still};

/// How frames are checked.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct FrameOptions {
    /// The presets by which a recorded balance is known.
    pub presets: PresetTable,
    /// The balance the camera was set to; it comes before what the file records.
    pub shot_at: Option<AsShot>,
    /// What is still called neutral.
    pub tolerance: Tolerance,
    /// A card to judge against.
    pub reference: Option<Reference>,
}

impl FrameOptions {
    /// The defaults, with a table of presets.
    #[must_use]
    pub fn new(presets: PresetTable) -> Self {
        Self { presets, shot_at: None, tolerance: Tolerance::default(), reference: None }
    }

    fn as_shot(&self, still: &Still) -> AsShot {
        self.shot_at.clone().unwrap_or_else(|| AsShot::recorded(&still.shot, &self.presets))
    }

    /// Why a frame is not judged against the card; `None` where it is, and without a card.
    #[must_use]
    pub fn misfit(&self, still: &Still) -> Option<Misfit> {
        let card = self.reference.as_ref()?;
        self.misfit_to(card, still, &ShotRecord::of(&still.shot, &self.as_shot(still)))
    }

    fn misfit_to(&self, card: &Reference, still: &Still, shot: &ShotRecord) -> Option<Misfit> {
        let automatic = self.shot_at.is_none() && still.shot.white_balance_auto == Some(true);
        card.misfit(shot, automatic)
    }

    /// The white of the stated balance.
    #[must_use]
    pub fn stated(&self) -> Option<Xy> {
        self.shot_at.as_ref()?.xy()
    }
}

/// What a frame without a card says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FrameReading {
    /// What is said of it.
    pub verdict: Verdict,
    /// Whether it is black and white: it shows no cast, is undecided and in no group. Only there where
    /// it is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub black_and_white: bool,
    /// Why it is undecided, where there is nothing in it that could tell: one even colour, all burnt out or
    /// black, too small. It tells its group nothing, and is in one for its time alone, without a time in none.
    /// Only there where there is such a reason.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// Where in the picture it is brighter and where darker: frames of one view, which differ in few of its bits, tell
    /// their group of a cast hardly more than one of them. Not there where there is nothing in it that could tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub view: Option<ViewMark>,
    /// What a neutral surface in it is off by; relative to the reference card where there is one.
    pub cast: Cast,
    /// Gains for linear red, green and blue, in sRGB, that make the neutral neutral; green's is 1.
    /// With a reference card they come on top of the card's own.
    pub gains: [f64; 3],
    /// The group of frames that share a cast; null until frames have been grouped, where it is
    /// black and white, and where nothing in it tells and it has no time.
    #[serde(default)]
    pub group: Option<u32>,
    /// What was called neutral.
    #[serde(default)]
    pub tolerance: Tolerance,
    /// How it was taken.
    #[serde(default)]
    pub shot: ShotRecord,
    /// The card that it was judged against; null where it was judged by itself.
    #[serde(default)]
    pub reference: Option<ReferenceRecord>,
}

impl FrameReading {
    /// Whether nothing in it can show a cast.
    pub(crate) fn is_silent(&self) -> bool {
        self.black_and_white || self.reason.is_some()
    }
}

/// A reference card in a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ReferenceRecord {
    /// The photo of the card.
    pub path: String,
    /// Gains for linear red, green and blue, in sRGB, that make the card neutral; green's is 1.
    pub gains: [f64; 3],
}

/// Checks one frame.
#[must_use]
pub fn check_frame(still: &Still, options: &FrameOptions) -> FrameReading {
    let as_shot = options.as_shot(still);
    let shot = ShotRecord::of(&still.shot, &as_shot);
    let balance = as_shot.white.unwrap_or(White::PHOTOGRAPHIC_DAYLIGHT);
    // A raw picture that is said to have been shot at another balance looks otherwise in that one.
    let frame = still.frame_in(options.stated());
    // A picture without colour looks neutral and is no evidence of it.
    let black_and_white = still.shot.notes.contains(&Note::Grey);
    let reason = if black_and_white { None } else { why_silent(&frame) };
    let is_silent = black_and_white || reason.is_some();
    let posterior = match is_silent {
        true => CastPosterior::of_no_evidence(),
        false => estimate(&frame, &balance),
    };
    let reference =
        options.reference.as_ref().filter(|card| options.misfit_to(card, still, &shot).is_none());
    let (posterior, cast) = match reference {
        None => {
            let cast = Cast::of(&posterior, &balance);
            (posterior, cast)
        }
        Some(card) => {
            let recorded = Cast::of(&posterior, &balance).white_linear_srgb;
            let relative = card.relative(&posterior);
            let mut cast = Cast::of(&relative, &balance);
            cast.white_linear_srgb = relative_white(recorded, card.white_linear_srgb());
            (relative, cast)
        }
    };
    FrameReading {
        verdict: match is_silent {
            true => Verdict::Undecided,
            false => verdict(&posterior, options.tolerance),
        },
        black_and_white,
        reason: reason.map(str::to_owned),
        view: if is_silent { None } else { ViewMark::of(&frame) },
        gains: gains(cast.white_linear_srgb),
        cast,
        group: None,
        tolerance: options.tolerance,
        shot,
        reference: reference.map(|card| ReferenceRecord {
            path: card.path().to_string_lossy().into_owned(),
            gains: gains(card.white_linear_srgb()),
        }),
    }
}

/// A picture's white once it has been balanced from the card, largest channel 1.
fn relative_white(white: [f64; 3], card: [f64; 3]) -> [f64; 3] {
    largest_one(std::array::from_fn(|i| white[i] / card[i].max(1e-3)))
}

/// The gains that make a colour neutral, green's 1.
pub(super) fn gains([red, green, blue]: [f64; 3]) -> [f64; 3] {
    /// A channel with less than this is as good as empty: no gain brings it back.
    const LEAST: f64 = 1e-3;
    let green = green.max(LEAST);
    [green / red.max(LEAST), 1.0, green / blue.max(LEAST)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gains_make_the_neutral_neutral_and_leave_green_alone() {
        let white = [1.0, 0.84, 0.65];
        let corrected: Vec<_> = white.iter().zip(gains(white)).map(|(w, g)| w * g).collect();
        assert!(corrected.iter().all(|channel| (channel - 0.84).abs() < 1e-12), "{corrected:?}");
        assert_eq!(gains(white)[1], 1.0);
        assert!(gains([0.0, 0.0, 1.0]).iter().all(|gain| gain.is_finite()));
    }

    #[test]
    fn against_its_own_card_a_frame_is_neutral() {
        let card = [1.0, 0.8, 0.6];
        for channel in relative_white(card.map(|v| v * 0.5), card) {
            assert!((channel - 1.0).abs() < 1e-12);
        }
    }
}
