//! Chromaticities of standard whites: the one home of these digits.
//!
//! The illuminants are of the spectra of CIE 15:2004, rounded to five decimals; the whites
//! of encodings are the digits their own standards define them by, which differ from the
//! illuminants' in the last place.

use super::{Xy, Xyz};

/// CIE standard illuminant A: a tungsten lamp at 2856 K.
pub const A: Xy = Xy::new(0.447_58, 0.407_45);

/// CIE illuminant D50: daylight at a nominal 5000 K.
pub const D50: Xy = Xy::new(0.345_67, 0.358_51);

/// CIE illuminant D55: daylight at a nominal 5500 K.
pub const D55: Xy = Xy::new(0.332_43, 0.347_44);

/// CIE standard illuminant D65: daylight at a nominal 6500 K.
pub const D65: Xy = Xy::new(0.312_72, 0.329_03);

/// CIE illuminant D75: daylight at a nominal 7500 K.
pub const D75: Xy = Xy::new(0.299_03, 0.314_88);

/// CIE illuminant FL2: a cool white fluorescent lamp, about 4225 K.
pub const FL2: Xy = Xy::new(0.372_08, 0.375_29);

/// The white of sRGB (IEC 61966-2-1) and of Recommendation ITU-R BT.709: D65 in the four decimals
/// that define those encodings.
pub const ENCODING_D65: Xy = Xy::new(0.3127, 0.3290);

/// The white of the ICC profile connection space (ICC.1:2022): D50 in the four decimals
/// that define it.
pub const PCS_D50: Xyz = Xyz::new(0.9642, 1.0, 0.8249);
