//! From the colour that a card has in a picture to the light it was taken in, and back.

use crate::colour::{Adaptation, ColourError, Xyz, illuminants::ENCODING_D65, srgb};

use super::White;

/// Balancing is modelled as von Kries adaptation in CAT16's cone space. Bradford measures alike,
/// plain XYZ scaling clearly worse.
const BALANCING: Adaptation = Adaptation::Cat16;

/// The light that gives a neutral card the colour `card` in a picture balanced for `as_shot` and
/// encoded relative to the white `encoding_white`. All luminances are free.
///
/// # Errors
/// [`ColourError`] where that colour has no correlated colour temperature.
pub fn light_of(card: Xyz, encoding_white: Xyz, as_shot: White) -> Result<White, ColourError> {
    White::from_xyz(BALANCING.adapt(card, encoding_white, as_shot.to_xyz()))
}

/// The colour, with Y = 1 for a perfect white, that a neutral surface in `light` has in a picture
/// balanced for `balance` and encoded relative to `encoding_white`: the inverse of [`light_of`].
#[must_use]
pub fn neutral_in(light: White, balance: White, encoding_white: Xyz) -> Xyz {
    BALANCING.adapt(light.to_xyz(), balance.to_xyz(), encoding_white)
}

/// The same in linear sRGB, neither clipped nor scaled: a channel may be below 0 for a light of strong
/// colour.
#[must_use]
pub fn neutral_in_srgb(light: White, balance: White) -> [f64; 3] {
    srgb::from_xyz(neutral_in(light, balance, ENCODING_D65.to_xyz())).into()
}
