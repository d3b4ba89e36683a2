//! What can be wrong with a card photo.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::options::Area;
use crate::balance::{AsShot, White};

/// One thing that is wrong with a photo of a card.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Problem {
    /// Nothing in the picture looks like a card.
    NotFound,
    /// The picture has too few pixels to tell a card in.
    PictureTooSmall {
        /// The upright picture's width and height, pixels.
        picture: [u32; 2],
        /// So many pixels each way are enough.
        least: u32,
    },
    /// What would be the card is outshone by something that lies on it: a table, say, by a card
    /// that is too small or cut off.
    Outshone {
        /// What the brighter part covers of the frame, 0–1.
        share: f64,
        /// Where it is: left, top, width and height in pixels of the upright picture.
        place: [f64; 4],
    },
    /// What is like a card is saturated: the card, or a window or a lamp.
    Blown {
        /// Part of the frame, 0–1.
        share: f64,
        /// Where it is: left, top, width and height in pixels of the upright picture.
        place: [f64; 4],
    },
    /// The card was said to be where there is no picture.
    AreaOutside {
        /// Where it was said to be.
        area: Area,
        /// The upright picture's width and height, pixels.
        picture: [u32; 2],
    },
    /// The card was said to be where there are too few pixels to read.
    AreaTooSmall {
        /// A square of this side is read anywhere in the picture, pixels.
        least: u32,
    },
    /// The area in which the card was said to be is no plain surface.
    AreaNotPlain {
        /// The largest plain part of it, 0–1.
        plain: f64,
    },
    /// Brightness differs so much over that area that it is hardly one surface.
    AreaUneven {
        /// From dim to bright, stops.
        stops: f64,
    },
    /// The area reaches beyond the card.
    AreaBeyond {
        /// Part of it that is something else, 0–1.
        share: f64,
    },
    /// The area reaches out of the picture.
    AreaCut {
        /// The upright picture's width and height, pixels.
        picture: [u32; 2],
    },
    /// A channel is saturated over `share` (0–1) of the card.
    Clipped {
        /// Part of the card's area, 0–1.
        share: f64,
    },
    /// Too near black for its colour to mean anything; `stops` too dark.
    Dark {
        /// How much more exposure it wants, stops.
        stops: f64,
    },
    /// Dark, though not too dark to read.
    Dim {
        /// Its brightest channel on the encoding's own scale, 0–1.
        level: f64,
        /// How much more exposure it wants, stops.
        stops: f64,
    },
    /// The brightest part of a bright card is saturated, and was left out.
    PartlyClipped {
        /// Part of the card's area, 0–1.
        share: f64,
        /// Whether what would else be taken for a reflection is counted with it.
        with_spots: bool,
    },
    /// The file stores colours in such coarse steps that they leave the light open.
    Coarse {
        /// The larger step of the two colour differences, levels of 8 bits.
        step: f64,
        /// Half of the 90 % interval that they alone leave, mired.
        half_mired: f64,
    },
    /// More than one light falls on the card.
    MixedLight {
        /// Place on the card (`left`, `top`, …, or `middle` and `edge`) and light, for both.
        ends: [(&'static str, White); 2],
        /// Whether the as-shot balance is known, so that the lights are real temperatures.
        placed: bool,
    },
    /// The light's colour changes over the card, by less than two lights that no balance fits.
    Drift {
        /// From the bluest to the most orange part, mired.
        mired: f64,
    },
    /// The card covers little of the frame.
    Small {
        /// Part of the frame, 0–1.
        coverage: f64,
    },
    /// Brightness varies much over the card: falloff, or a shadow's edge.
    Uneven {
        /// From dim to bright, stops.
        stops: f64,
    },
    /// Hardly any lamp or sky has the light's colour, so that it may be the card's own.
    Coloured {
        /// To which side: `green`, `magenta`, `orange` or `blue`.
        side: &'static str,
    },
    /// Mains banding.
    Banding,
    /// A bright reflection was left out.
    Glare {
        /// Part of the card's area, 0–1.
        share: f64,
    },
    /// Marks, print or fingers were left out.
    Marked {
        /// Part of the card's area, 0–1.
        share: f64,
    },
    /// The as-shot balance is neither recorded nor stated.
    BalanceUnknown,
    /// The file names a preset that the table lacks.
    PresetUnknown {
        /// Its name.
        name: String,
    },
    /// The camera balanced automatically, or says that it did.
    AutoBalance,
    /// The flash fired.
    FlashFired,
    /// The picture has no colour to read.
    NoColour,
    /// The user states another balance than the file records.
    OtherBalance {
        /// What the file records.
        recorded: AsShot,
        /// What the user states.
        stated: AsShot,
    },
    /// Part of the file is missing or damaged; what could be made out was read.
    Incomplete {
        /// What is missing.
        what: String,
    },
    /// Something that could have told the as-shot balance was left alone.
    Ignored {
        /// What, and why.
        what: String,
    },
    /// What the file says about its encoding is odd; it was read as well as it could be.
    OddEncoding {
        /// What is odd.
        what: String,
    },
}

/// A problem as it stands in a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ProblemRecord {
    /// Short and stable, for scripts.
    pub code: String,
    /// A sentence for people.
    pub message: String,
    /// Where it is, as far as it has places of its own: rectangles as left, top, width and height
    /// in pixels of the upright picture. Of uneven light the dimmest part and the brightest, of
    /// mixed light the two parts in the order of the message, of banding the dark bands, of no card
    /// found what was taken for none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<[f64; 4]>,
}

impl ProblemRecord {
    /// Whether a card with this problem cannot be balanced from.
    #[must_use]
    pub fn refuses(&self) -> bool {
        refuses(&self.code)
    }
}

fn refuses(code: &str) -> bool {
    matches!(code, "not-found" | "clipped" | "dark" | "mixed-light" | "no-colour")
}

impl Problem {
    /// Short and stable, for scripts.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::NotFound
            | Self::PictureTooSmall { .. }
            | Self::Outshone { .. }
            | Self::Blown { .. }
            | Self::AreaOutside { .. }
            | Self::AreaTooSmall { .. }
            | Self::AreaNotPlain { .. }
            | Self::AreaUneven { .. } => "not-found",
            Self::AreaBeyond { .. } => "area-beyond",
            Self::AreaCut { .. } => "area-cut",
            Self::Clipped { .. } => "clipped",
            Self::Dark { .. } => "dark",
            Self::Dim { .. } => "dim",
            Self::PartlyClipped { .. } => "partly-clipped",
            Self::Coarse { .. } => "coarse-file",
            Self::MixedLight { .. } => "mixed-light",
            Self::Drift { .. } => "drift",
            Self::Small { .. } => "small",
            Self::Uneven { .. } => "uneven",
            Self::Coloured { .. } => "coloured",
            Self::Banding => "banding",
            Self::Glare { .. } => "glare",
            Self::Marked { .. } => "marked",
            Self::BalanceUnknown | Self::PresetUnknown { .. } => "balance-unknown",
            Self::AutoBalance => "auto-balance",
            Self::FlashFired => "flash-fired",
            Self::NoColour => "no-colour",
            Self::OtherBalance { .. } => "other-balance",
            Self::Incomplete { .. } => "incomplete-file",
            Self::Ignored { .. } => "ignored-data",
            Self::OddEncoding { .. } => "odd-encoding",
        }
    }

    /// Whether a card with this problem cannot be balanced from.
    #[must_use]
    pub fn refuses(&self) -> bool {
        refuses(self.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_leaves_no_colour_refuses_a_card() {
        assert!(Problem::NotFound.refuses() && Problem::Clipped { share: 0.9 }.refuses());
        assert!(Problem::Dark { stops: 3.0 }.refuses());
        assert!(!Problem::Banding.refuses() && !Problem::BalanceUnknown.refuses());
    }
}
