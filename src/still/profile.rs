//! Embedded ICC profiles → an [`Encoding`] with its real white, and the way from pixels to linear light.

use std::sync::Arc;

use moxcms::{
    ColorProfile, DataColorSpace, Layout, Matrix3d, ParsingOptions, ProfileText, RenderingIntent,
    ToneReprCurve, TransformF32Executor, TransformOptions, Xyzd,
};

use super::encoding::{DCF_OPTIONAL, P3};
use super::guard::guarded;
use super::{Encoding, EncodingSource, Note, SampledCurves, Transfer};
use crate::colour::illuminants::{ENCODING_D65, PCS_D50};
use crate::colour::{Adaptation, Matrix3, srgb};

/// How to get from a picture's numbers to linear light.
pub(super) struct Pipeline {
    pub(super) encoding: Encoding,
    /// Encoded RGB rows → linear sRGB rows, for profiles that are tables.
    pub(super) converter: Option<Arc<TransformF32Executor>>,
}

impl From<Encoding> for Pipeline {
    fn from(encoding: Encoding) -> Self {
        Self { encoding, converter: None }
    }
}

const PCS_WHITE: [f64; 3] = [PCS_D50.x, PCS_D50.y, PCS_D50.z];
/// Profiles hold XYZ to 1/65536 and old ones were rounded more coarsely.
const SAME_WHITE: f64 = 0.005;

/// Makes sense of an embedded profile. A profile that cannot be used is a note: it never costs the picture.
///
/// A profile that has both curves with a matrix and tables is taken by its curves: they are exact, and they
/// keep the primaries the file was written in.
pub(super) fn interpret(icc: &[u8], is_grey: bool, limit: usize) -> Result<Pipeline, Note> {
    if icc.len() > limit {
        return Err(bad(format!("it has {} bytes, more than {limit}", icc.len())));
    }
    guarded(|| {
        let options = ParsingOptions {
            max_profile_size: limit.saturating_add(1),
            max_allowed_clut_size: limit,
            ..ParsingOptions::default()
        };
        let profile = ColorProfile::new_from_slice_with_options(icc, options)
            .map_err(|error| bad(error.to_string()))?;
        match profile.color_space {
            DataColorSpace::Rgb if has_curves_and_matrix(&profile) => from_matrix(&profile),
            DataColorSpace::Rgb => from_tables(&profile),
            DataColorSpace::Gray if is_grey => from_grey(&profile),
            DataColorSpace::Gray => Err(unsuitable("it describes grey, the picture is in colour")),
            other => Err(unsuitable(&format!("it describes {other:?}, the picture is RGB"))),
        }
    })
    .unwrap_or_else(|| Err(bad("it could not be read".to_owned())))
}

fn bad(reason: String) -> Note {
    Note::BadProfile { reason }
}

fn unsuitable(reason: &str) -> Note {
    Note::UnsuitableProfile { reason: reason.to_owned() }
}

fn has_curves_and_matrix(profile: &ColorProfile) -> bool {
    profile.is_matrix_shaper() && profile.pcs == DataColorSpace::Xyz
}

fn from_matrix(profile: &ColorProfile) -> Result<Pipeline, Note> {
    let colorants = Matrix3(profile.colorant_matrix().v);
    let adaptation = undo_adaptation(profile, colorants)
        .ok_or_else(|| bad("its primaries do not add up to a white".to_owned()))?;
    let to_xyz = at_exact_d65(adaptation * colorants);
    let white = to_xyz.apply([1.0; 3]);
    let [_, y, _] = white;
    if !is_plausible_white(white) || to_xyz.inverse().is_none() {
        return Err(bad("its primaries do not add up to a white".to_owned()));
    }
    let curves = [&profile.red_trc, &profile.green_trc, &profile.blue_trc];
    Ok(Pipeline::from(Encoding {
        name: name(profile).unwrap_or_else(|| "unnamed RGB profile".to_owned()),
        to_xyz: to_xyz.0.map(|row| row.map(|value| value / y)),
        white_xyz: white.map(|value| value / y),
        source: EncodingSource::IccProfile,
        transfer: sample(curves)?,
    }))
}

/// A grey picture is neutral by definition, so its white is taken as that of sRGB and only the curve
/// comes from the profile.
fn from_grey(profile: &ColorProfile) -> Result<Pipeline, Note> {
    let transfer = sample([&profile.gray_trc; 3])?;
    let mut encoding = Encoding::srgb(EncodingSource::IccProfile);
    encoding.name = name(profile).unwrap_or_else(|| "unnamed grey profile".to_owned());
    encoding.transfer = transfer;
    Ok(Pipeline::from(encoding))
}

/// The matrix that takes the profile's D50-relative XYZ back to the encoding's own white.
fn undo_adaptation(profile: &ColorProfile, colorants: Matrix3) -> Option<Matrix3> {
    let sum = colorants.apply([1.0; 3]);
    if let Some(Matrix3d { v: chad }) = profile.chromatic_adaptation {
        let chad = Matrix3(chad);
        let usable = |m: &Matrix3| is_plausible_white(m.apply(PCS_WHITE));
        let adapted = !is_near(&chad, &Matrix3::IDENTITY, 1e-4);
        if let Some(inverse) = chad.inverse().filter(|m| adapted && usable(m)) {
            return is_near_white(sum, PCS_WHITE, 0.05).then_some(inverse);
        }
    }
    let media = profile.media_white_point.and_then(relative).filter(|m| is_plausible_white(*m));
    if let Some(media) = media.filter(|media| !is_near_white(*media, PCS_WHITE, SAME_WHITE)) {
        // Some old profiles were never adapted: their primaries add up to the media white itself.
        if is_near_white(sum, media, SAME_WHITE) {
            return Some(Matrix3::IDENTITY);
        }
        if is_near_white(sum, PCS_WHITE, 0.05) {
            return bradford(PCS_WHITE, media);
        }
    }
    if !is_near_white(sum, PCS_WHITE, 0.05) {
        return None;
    }
    // A short profile may leave its white out; its primaries then tell which encoding it is.
    let to_d65 = bradford(PCS_WHITE, ENCODING_D65.to_xyz().into())?;
    let at_d65 = to_d65 * colorants;
    let known = [srgb::PRIMARIES, P3, DCF_OPTIONAL].into_iter().any(|primaries| {
        srgb::rgb_to_xyz(primaries, ENCODING_D65)
            .is_some_and(|matrix| is_near(&at_d65, &matrix, 0.002))
    });
    Some(if known { to_d65 } else { Matrix3::IDENTITY })
}

/// Profile makers round D65, D50 and the primaries differently, so that the white comes back some tenths of
/// a mired off. A white that close to D65 is D65.
fn at_exact_d65(to_xyz: Matrix3) -> Matrix3 {
    const ROUNDING: f64 = 0.002;
    let (white, d65) = (to_xyz.apply([1.0; 3]), ENCODING_D65.to_xyz().into());
    if !is_near_white(white, d65, ROUNDING) {
        return to_xyz;
    }
    bradford(white, d65).map_or(to_xyz, |tune| tune * to_xyz)
}

/// The linear Bradford adaptation (ICC.1:2022, annex E) that takes the white `from` to the white
/// `to`, both XYZ. `None` where either has a cone response of zero or less.
pub(super) fn bradford(from: [f64; 3], to: [f64; 3]) -> Option<Matrix3> {
    let responses = [from, to].map(|white| Adaptation::Bradford.matrix().apply(white));
    let real = |response: &f64| response.is_finite() && *response > 0.0;
    let both_real = responses.as_flattened().iter().all(real);
    both_real.then(|| Adaptation::Bradford.between(from.into(), to.into()))
}

fn relative(Xyzd { x, y, z }: Xyzd) -> Option<[f64; 3]> {
    (y > 0.0).then(|| [x / y, 1.0, z / y])
}

fn is_near(Matrix3(a): &Matrix3, Matrix3(b): &Matrix3, tolerance: f64) -> bool {
    a.iter().flatten().zip(b.iter().flatten()).all(|(a, b)| (a - b).abs() <= tolerance)
}

fn is_near_white(a: [f64; 3], b: [f64; 3], tolerance: f64) -> bool {
    a.iter().zip(b).all(|(a, b)| (a - b).abs() <= tolerance)
}

/// Wide enough for any light from a candle to a blue sky, narrow enough to catch nonsense.
fn is_plausible_white([x, y, z]: [f64; 3]) -> bool {
    (0.5..2.0).contains(&y) && (0.7..1.3).contains(&(x / y)) && (0.1..2.5).contains(&(z / y))
}

/// Samples the tone curves. Equal curves are sampled once.
fn sample(curves: [&Option<ToneReprCurve>; 3]) -> Result<Transfer, Note> {
    let one = |curve: &Option<ToneReprCurve>| -> Result<Arc<[f32]>, Note> {
        let curve = curve.as_ref().ok_or_else(|| bad("it has no tone curve".to_owned()))?;
        let evaluator = curve.make_linear_evaluator().map_err(|error| bad(error.to_string()))?;
        let last = (SampledCurves::SAMPLES - 1) as f32;
        let samples: Vec<f32> = (0..SampledCurves::SAMPLES)
            .map(|n| evaluator.evaluate_value(n as f32 / last).clamp(0.0, 1.0))
            .collect();
        let rises = samples.windows(2).all(|pair| matches!(pair, [a, b] if a <= b));
        let spans =
            samples.first().is_some_and(|v| *v < 0.1) && samples.last().is_some_and(|v| *v > 0.9);
        if rises && spans {
            Ok(samples.into())
        } else {
            Err(bad("its tone curve does not rise from black to white".to_owned()))
        }
    };
    let [red, green, blue] = curves;
    let first = one(red)?;
    let same_as_red = |curve: &Option<ToneReprCurve>| {
        if format!("{curve:?}") == format!("{red:?}") { Ok(first.clone()) } else { one(curve) }
    };
    let (second, third) = (same_as_red(green)?, same_as_red(blue)?);
    Ok(Transfer::Curves(SampledCurves::new([first, second, third])))
}

/// A profile made of tables: the pixels go through it to linear sRGB.
fn from_tables(profile: &ColorProfile) -> Result<Pipeline, Note> {
    let mut linear = ColorProfile::new_srgb();
    linear.cicp = None; // it would bring the sRGB curve back
    let straight = Some(ToneReprCurve::Lut(Vec::new()));
    (linear.red_trc, linear.green_trc, linear.blue_trc) =
        (straight.clone(), straight.clone(), straight);
    let options = TransformOptions {
        rendering_intent: RenderingIntent::RelativeColorimetric,
        allow_use_cicp_transfer: false,
        prefer_fixed_point: false,
        ..TransformOptions::default()
    };
    let converter = profile
        .create_transform_f32(Layout::Rgb, &linear, Layout::Rgb, options)
        .map_err(|error| bad(error.to_string()))?;

    // Tried out here, where a failure costs only the profile.
    let probe = [0.0, 0.0, 0.0, 0.5, 0.5, 0.5, 1.0, 1.0, 1.0, 1.0, 0.0, 0.5];
    let mut result = [f32::NAN; 12];
    converter.transform(&probe, &mut result).map_err(|error| bad(error.to_string()))?;
    if !result.iter().all(|value| value.is_finite()) {
        return Err(bad("its tables lead to no colour".to_owned()));
    }
    let mut encoding = Encoding::srgb(EncodingSource::IccProfile);
    encoding.name = name(profile).unwrap_or_else(|| "unnamed table profile".to_owned());
    encoding.transfer = Transfer::Converted;
    Ok(Pipeline { encoding, converter: Some(converter) })
}

/// The profile's description on one line.
fn name(profile: &ColorProfile) -> Option<String> {
    let text = match profile.description.as_ref()? {
        ProfileText::PlainString(text) => text,
        ProfileText::Localizable(texts) => {
            &texts.iter().find(|text| text.language == "en").or(texts.first())?.value
        }
        ProfileText::Description(text) => &text.ascii_string,
    };
    super::shot::one_line(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn encoding_of(profile: &ColorProfile) -> Encoding {
        let icc = profile.encode().expect("encodes");
        interpret(&icc, false, 1 << 20).expect("usable").encoding
    }

    fn assert_white(encoding: &Encoding, white: [f64; 3]) {
        for (got, want) in encoding.white_xyz.iter().zip(white) {
            assert!((got - want).abs() < 1e-4, "{:?} is not {white:?}", encoding.white_xyz);
        }
    }

    #[test]
    fn srgb_profile_is_srgb() {
        let encoding = encoding_of(&ColorProfile::new_srgb());
        let plain = Encoding::srgb(EncodingSource::Assumed);
        // The profile's maker rounded the primaries to four digits.
        let [got, want] = [&encoding, &plain].map(|encoding| Matrix3(encoding.to_xyz));
        assert!(is_near(&got, &want, 4e-4), "{:?}", encoding.to_xyz);
        for code in 0..=255 {
            let encoded = f64::from(code) / 255.0;
            let difference =
                encoding.transfer.to_linear(1, encoded) - plain.transfer.to_linear(1, encoded);
            assert!(difference.abs() < 1e-5, "code {code}: {difference}");
        }
    }

    #[test]
    fn white_comes_from_adaptation_else_media_white_else_primaries() {
        let d65 = ENCODING_D65.to_xyz().into();
        let mut profile = ColorProfile::new_display_p3();
        assert_white(&encoding_of(&profile), d65);
        profile.chromatic_adaptation = None;
        assert_white(&encoding_of(&profile), d65); // known primaries
        profile.media_white_point = Some(Xyzd { x: 0.9505, y: 1.0, z: 1.0891 });
        assert_white(&encoding_of(&profile), d65);
        // Another white than D65 is left as it comes: 0.9642, 1, 0.8251 by this profile's maker.
        let d50 = encoding_of(&ColorProfile::new_pro_photo_rgb()).white_xyz;
        assert!(is_near_white(d50, PCS_WHITE, 1e-3), "{d50:?}");
    }

    #[test]
    fn bradford_takes_white_to_white() {
        let d65 = ENCODING_D65.to_xyz().into();
        let result = bradford(PCS_WHITE, d65).expect("both whites are real").apply(PCS_WHITE);
        assert!(is_near_white(result, d65, 1e-12), "{result:?}");
        assert_eq!(bradford(PCS_WHITE, [0.0, 0.0, 0.0]), None);
    }

    #[test]
    fn primaries_never_adapted_are_taken_as_they_are() {
        let mut profile = ColorProfile::new_srgb();
        let plain = Matrix3(Encoding::srgb(EncodingSource::Assumed).to_xyz);
        let [r, g, b] = plain.transpose().0.map(|[x, y, z]| Xyzd { x, y, z });
        (profile.red_colorant, profile.green_colorant, profile.blue_colorant) = (r, g, b);
        profile.chromatic_adaptation = None;
        profile.media_white_point = Some(Xyzd { x: 0.9505, y: 1.0, z: 1.0891 });
        let encoding = encoding_of(&profile);
        assert!(is_near(&Matrix3(encoding.to_xyz), &plain, 2e-4), "{:?}", encoding.to_xyz);
    }

    #[test]
    fn unusable_profiles_become_notes() {
        let code = |icc: &[u8], grey| interpret(icc, grey, 1 << 20).err().map(|note| note.code());
        assert_eq!(code(b"nonsense", false), Some("bad-profile"));
        let grey = ColorProfile::new_gray_with_gamma(2.2).encode().expect("encodes");
        assert_eq!(code(&grey, false), Some("unsuitable-profile"));
        assert_eq!(code(&grey, true), None);
        let srgb = ColorProfile::new_srgb().encode().expect("encodes");
        assert_eq!(interpret(&srgb, false, 64).err().map(|n| n.code()), Some("bad-profile"));
        let mut black = ColorProfile::new_srgb();
        black.red_colorant = Xyzd { x: 0.001, y: 0.0, z: 0.0 };
        assert_eq!(code(&black.encode().expect("encodes"), false), Some("bad-profile"));
        let mut falling = ColorProfile::new_srgb();
        falling.red_trc = Some(ToneReprCurve::Lut(vec![0, 40_000, 20_000, 65_535]));
        assert_eq!(code(&falling.encode().expect("encodes"), false), Some("bad-profile"));
    }

    #[test]
    fn every_cut_and_every_flipped_byte_is_survived() {
        let icc = ColorProfile::new_srgb().encode().expect("encodes");
        for cut in 0..icc.len() {
            let _ = interpret(&icc[..cut], false, 1 << 20);
        }
        for at in 0..icc.len() {
            let mut bent = icc.clone();
            bent[at] ^= 0xFF;
            let _ = interpret(&bent, false, 1 << 20);
        }
    }
}
