//! Colour encodings: what the numbers in a file mean.

use std::sync::Arc;

use super::Note;
use crate::colour::illuminants::ENCODING_D65;
use crate::colour::{Adaptation, Matrix3, TransferCurve, Xy, srgb};

/// What a picture's RGB numbers mean: its primaries, its white and its transfer curve.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Encoding {
    /// The encoding's name, for people: the profile's own description where there is one.
    pub name: String,
    /// Linear RGB, 0–1, to CIE 1931 XYZ relative to the encoding's own white: RGB (1, 1, 1) has Y = 1.
    pub to_xyz: [[f64; 3]; 3],
    /// XYZ of RGB (1, 1, 1), Y = 1. An ICC profile's adaptation to D50 is undone: for sRGB this is D65.
    pub white_xyz: [f64; 3],
    /// Where this was learnt from.
    pub source: EncodingSource,
    /// The curve from encoded to linear that was undone.
    pub transfer: Transfer,
}

/// Where an [`Encoding`] was learnt from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum EncodingSource {
    /// The ICC profile embedded in the file.
    IccProfile,
    /// Exif `ColorSpace`, and the interoperability index with it.
    ExifColorSpace,
    /// The file says nothing usable: sRGB was assumed.
    Assumed,
    /// A raw file: the camera's own channels, balanced as shot.
    Raw,
}

/// The curve from an encoded value to linear light, both 0–1.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Transfer {
    /// The sRGB curve (IEC 61966-2-1).
    Srgb,
    /// Encoded value to this power.
    Power(f64),
    /// A profile's own curves, one a channel.
    Curves(SampledCurves),
    /// The profile is no curve and matrix but a table; the pixels were converted through it (relative
    /// colorimetric) to the linear RGB this encoding describes. Values may fall outside 0–1.
    Converted,
    /// None: the values are linear, as a raw file's are.
    Linear,
}

impl Transfer {
    /// Linear light for an encoded value; `channel` is 0 for red, 1 for green, 2 for blue.
    ///
    /// `encoded` is clamped to 0–1. [`Transfer::Converted`] and [`Transfer::Linear`] return it unchanged.
    #[must_use]
    pub fn to_linear(&self, channel: usize, encoded: f64) -> f64 {
        let encoded = encoded.clamp(0.0, 1.0);
        match self {
            Self::Srgb => TransferCurve::Srgb.decode(encoded),
            Self::Power(exponent) => encoded.powf(*exponent),
            Self::Curves(curves) => curves.to_linear(channel, encoded),
            Self::Converted | Self::Linear => encoded,
        }
    }

    /// The encoded value, 0–1, of linear `light`: the inverse of [`Transfer::to_linear`]. Light outside
    /// the scale is held within it.
    #[must_use]
    pub fn to_encoded(&self, channel: usize, light: f64) -> f64 {
        let light = light.clamp(0.0, 1.0);
        match self {
            Self::Srgb => TransferCurve::Srgb.encode(light),
            Self::Power(exponent) => light.powf(exponent.recip()),
            Self::Curves(curves) => curves.to_encoded(channel, light),
            Self::Converted | Self::Linear => light,
        }
    }
}

/// A profile's tone curves, sampled evenly over the encoded range.
#[derive(Debug, Clone, PartialEq)]
pub struct SampledCurves([Arc<[f32]>; 3]);

impl SampledCurves {
    /// Sixteen steps between neighbouring 8-bit codes, so that those codes fall on samples exactly.
    pub(super) const SAMPLES: usize = 255 * 16 + 1;

    pub(super) fn new(curves: [Arc<[f32]>; 3]) -> Self {
        Self(curves)
    }

    /// Whether the three channels share one curve.
    pub(super) fn are_equal(&self) -> bool {
        let [red, green, blue] = &self.0;
        red == green && red == blue
    }

    fn curve(&self, channel: usize) -> &[f32] {
        let [red, green, blue] = &self.0;
        match channel {
            0 => red,
            1 => green,
            _ => blue,
        }
    }

    /// Where the curve reaches `light`; the first such place where it is level.
    fn to_encoded(&self, channel: usize, light: f64) -> f64 {
        let curve = self.curve(channel);
        let after = curve.partition_point(|value| f64::from(*value) < light);
        let at = |index: usize| curve.get(index).copied().map(f64::from);
        let position = match (after.checked_sub(1).and_then(at), at(after)) {
            (Some(low), Some(high)) => (after - 1) as f64 + (light - low) / (high - low),
            (None, _) => 0.0,
            (_, None) => 1.0 + after as f64,
        };
        (position / curve.len().saturating_sub(1).max(1) as f64).min(1.0)
    }

    fn to_linear(&self, channel: usize, encoded: f64) -> f64 {
        let curve = self.curve(channel);
        let position = encoded * curve.len().saturating_sub(1) as f64;
        let index = position.floor() as usize;
        let here = f64::from(curve.get(index).copied().unwrap_or(0.0));
        let next = curve.get(index + 1).map_or(here, |value| f64::from(*value));
        here + (next - here) * position.fract()
    }
}

/// The DCF optional colour space (JEITA CP-3461), the same primaries as the 1998 wide-gamut RGB encoding
/// (ISO 12640-4 names it opRGB).
pub(super) const DCF_OPTIONAL: [Xy; 3] =
    [Xy::new(0.64, 0.33), Xy::new(0.21, 0.71), Xy::new(0.15, 0.06)];
/// SMPTE EG 432-1 primaries, which phones use with D65.
pub(super) const P3: [Xy; 3] =
    [Xy::new(0.680, 0.320), Xy::new(0.265, 0.690), Xy::new(0.150, 0.060)];

impl Encoding {
    /// From linear RGB as it is encoded to linear sRGB as it looks: the encoding's white becomes
    /// sRGB's (CAT16), so that a picture's neutrals are neutral whatever white it is encoded for.
    ///
    /// Not clipped: colours outside sRGB leave 0–1.
    #[must_use]
    pub fn to_linear_srgb(&self) -> Matrix3 {
        let white = ENCODING_D65.to_xyz();
        let adapted = Adaptation::Cat16.between(self.white_xyz.into(), white);
        srgb::FROM_XYZ * adapted * Matrix3(self.to_xyz)
    }

    /// The way back from [`Encoding::to_linear_srgb`]; `None` where the matrix has no inverse.
    #[must_use]
    pub fn from_linear_srgb(&self) -> Option<Matrix3> {
        self.to_linear_srgb().inverse()
    }

    /// sRGB.
    pub(super) fn srgb(source: EncodingSource) -> Self {
        Self::with_d65("sRGB", srgb::PRIMARIES, Transfer::Srgb, source)
    }

    /// The DCF optional colour space; its exponent is exactly 2 + 51/256.
    fn dcf_optional() -> Self {
        let transfer = Transfer::Power(563.0 / 256.0);
        Self::with_d65("DCF optional RGB", DCF_OPTIONAL, transfer, EncodingSource::ExifColorSpace)
    }

    /// A camera's own channels, which are linear.
    pub(super) fn raw(to_xyz: Matrix3, white: Xy) -> Self {
        Self {
            name: "camera raw".to_owned(),
            to_xyz: to_xyz.0,
            white_xyz: white.to_xyz().into(),
            source: EncodingSource::Raw,
            transfer: Transfer::Linear,
        }
    }

    fn with_d65(
        name: &str,
        primaries: [Xy; 3],
        transfer: Transfer,
        source: EncodingSource,
    ) -> Self {
        // The constant primaries above are not collinear, so the fallback is never used.
        let Matrix3(to_xyz) = srgb::rgb_to_xyz(primaries, ENCODING_D65).unwrap_or(srgb::TO_XYZ);
        let white_xyz = ENCODING_D65.to_xyz().into();
        Self { name: name.to_owned(), to_xyz, white_xyz, source, transfer }
    }
}

/// The encoding of a picture without a usable profile, from Exif `ColorSpace` and the interoperability
/// index, and a note where that says something but not what.
pub(super) fn from_exif(
    color_space: Option<u16>,
    interop_index: Option<&str>,
) -> (Encoding, Option<Note>) {
    const UNCALIBRATED: u16 = 0xFFFF;
    // Not in the standard, but written by some cameras for their optional wide-gamut setting.
    const WIDE: u16 = 2;
    match (color_space, interop_index) {
        (None, _) => (Encoding::srgb(EncodingSource::Assumed), None),
        (Some(1), _) => (Encoding::srgb(EncodingSource::ExifColorSpace), None),
        (Some(UNCALIBRATED | WIDE), Some("R03")) => (Encoding::dcf_optional(), None),
        (Some(other), _) => {
            let note = Note::OddEncoding { color_space: other, assumed: "sRGB" };
            (Encoding::srgb(EncodingSource::Assumed), Some(note))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} is not {want} ± {tolerance}");
    }

    /// IEC 61966-2-1 prints the matrix to four digits.
    #[test]
    fn srgb_matrix_is_the_published_one() {
        let published =
            [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
        let encoding = Encoding::srgb(EncodingSource::Assumed);
        for (row, expected) in encoding.to_xyz.iter().zip(published) {
            for (got, want) in row.iter().zip(expected) {
                close(*got, want, 0.00006);
            }
        }
        let white = Matrix3(encoding.to_xyz).apply([1.0; 3]);
        for (got, want) in white.iter().zip(encoding.white_xyz) {
            close(*got, want, 1e-12);
        }
    }

    #[test]
    fn srgb_curve_at_known_points() {
        close(Transfer::Srgb.to_linear(0, 0.5), 0.214_041_14, 1e-8);
        close(Transfer::Srgb.to_linear(1, 0.040_45), 0.003_130_8, 1e-7);
        close(Transfer::Srgb.to_linear(2, 7.0), 1.0, 0.0);
    }

    #[test]
    fn exif_chooses_the_encoding() {
        let name = |space, index| from_exif(space, index).0.name;
        assert_eq!(name(None, None), "sRGB");
        assert_eq!(name(Some(1), Some("R98")), "sRGB");
        assert_eq!(name(Some(0xFFFF), Some("R03")), "DCF optional RGB");
        assert_eq!(name(Some(2), Some("R03")), "DCF optional RGB");
        assert_eq!(from_exif(Some(1), None).0.source, EncodingSource::ExifColorSpace);
        assert_eq!(from_exif(None, None), (Encoding::srgb(EncodingSource::Assumed), None));
        let (encoding, note) = from_exif(Some(0xFFFF), Some("R98"));
        assert_eq!(encoding.source, EncodingSource::Assumed);
        assert_eq!(note.map(|note| note.code()), Some("odd-encoding"));
    }

    #[test]
    fn sampled_curves_hit_eight_bit_codes() {
        let curve: Arc<[f32]> = (0..SampledCurves::SAMPLES)
            .map(|n| (n as f32 / (SampledCurves::SAMPLES - 1) as f32).powi(2))
            .collect();
        let curves = SampledCurves::new([curve.clone(), curve.clone(), curve]);
        for code in 0..=255 {
            let encoded = f64::from(code) / 255.0;
            close(curves.to_linear(1, encoded), encoded * encoded, 1e-6);
        }
    }
}
