//! The colour calibration that a DNG brings: its matrices, their lights, and the as-shot balance.

use super::tags::*;
use crate::colour::{CameraCalibration, CameraColour, Kelvin, Matrix3, Xy};
use crate::still::ReadErrorKind;
use crate::still::ifd::Directory;
use crate::still::raw::{AsShotNeutral, Calibrated};

/// Reads the colour tags of the main directory. `order` says which of the file's colour planes is
/// the frame's first, second and third channel.
pub(super) fn read(main: &Directory, order: [usize; 3]) -> Result<Calibrated, ReadErrorKind> {
    let transform = Transform::read(main, order)?;
    let first =
        transform.calibration(COLOR_MATRIX_1, CAMERA_CALIBRATION_1, CALIBRATION_ILLUMINANT_1)?;
    let second =
        transform.calibration(COLOR_MATRIX_2, CAMERA_CALIBRATION_2, CALIBRATION_ILLUMINANT_2)?;
    let first = first.ok_or(ReadErrorKind::UnsupportedRaw { found: "no colour matrix" })?;
    let singular = |_| ReadErrorKind::DamagedRaw { what: "its colour matrix has no inverse" };
    let camera = CameraColour::new(first, second).map_err(singular)?;
    Ok(Calibrated { camera, as_shot: as_shot(main, order, &camera)? })
}

fn as_shot(
    main: &Directory,
    order: [usize; 3],
    camera: &CameraColour,
) -> Result<Option<AsShotNeutral>, ReadErrorKind> {
    const NO_LIGHT: ReadErrorKind =
        ReadErrorKind::DamagedRaw { what: "its as-shot balance is no colour of light" };
    if let Some(neutral) = main.reals(AS_SHOT_NEUTRAL, 3)? {
        let neutral = permuted(&neutral, order).ok_or(NO_LIGHT)?;
        return AsShotNeutral::of(neutral, camera).map(Some).ok_or(NO_LIGHT);
    }
    match main.reals(AS_SHOT_WHITE_XY, 2)?.as_deref() {
        None => Ok(None),
        Some(&[x, y]) if x > 0.0 && y > 0.0 && x + y < 1.0 => {
            let white = Xy::new(x, y);
            let neutral = camera.neutral_of(white).map_err(|_| NO_LIGHT)?;
            Ok(Some(AsShotNeutral { neutral, white }))
        }
        Some(_) => Err(NO_LIGHT),
    }
}

impl AsShotNeutral {
    /// From a neutral surface's channels, whatever their scale; `None` where no light gives them.
    pub(in crate::still) fn of(neutral: [f64; 3], camera: &CameraColour) -> Option<Self> {
        let largest = neutral.into_iter().fold(0.0, f64::max);
        let neutral = neutral.map(|channel| channel / largest);
        let real = neutral.iter().all(|channel| channel.is_finite() && *channel > LEAST_NEUTRAL);
        let white = camera.white_of(neutral).ok().filter(|_| real);
        white.map(|white| Self { neutral, white })
    }
}

/// A channel that a neutral surface hardly reaches would need a gain of more than a hundred.
const LEAST_NEUTRAL: f64 = 0.01;

/// What all of a file's matrices share.
struct Transform<'a> {
    main: &'a Directory<'a>,
    order: [usize; 3],
    analog_balance: [f64; 3],
    /// Whether the individual camera's calibration belongs to these matrices: the signatures of
    /// both, empty where they are missing, are the same.
    individual: bool,
}

impl<'a> Transform<'a> {
    fn read(main: &'a Directory<'a>, order: [usize; 3]) -> Result<Self, ReadErrorKind> {
        let signature = |tag| Ok(text(main.bytes(tag)?.unwrap_or_default()));
        let individual =
            signature(CAMERA_CALIBRATION_SIGNATURE)? == signature(PROFILE_CALIBRATION_SIGNATURE)?;
        let analog_balance = match main.reals(ANALOG_BALANCE, 3)? {
            Some(gains) => permuted(&gains, order)
                .filter(|gains| gains.iter().all(|gain| *gain > 0.0))
                .ok_or(ReadErrorKind::DamagedRaw { what: "its analogue gains are not above 0" })?,
            None => [1.0; 3],
        };
        Ok(Self { main, order, analog_balance, individual })
    }

    /// From XYZ to the camera's channels: AnalogBalance · CameraCalibration · ColorMatrix.
    fn calibration(
        &self,
        matrix: u16,
        individual: u16,
        illuminant: u16,
    ) -> Result<Option<CameraCalibration>, ReadErrorKind> {
        let Some(matrix) = self.matrix(matrix, |rows| self.order.map(|row| rows[row]))? else {
            return Ok(None);
        };
        let both = |rows: [[f64; 3]; 3]| self.order.map(|row| self.order.map(|c| rows[row][c]));
        let individual = match self.individual {
            true => self.matrix(individual, both)?.unwrap_or(Matrix3::IDENTITY),
            false => Matrix3::IDENTITY,
        };
        let code = self.main.uint(illuminant)?;
        Ok(Some(CameraCalibration {
            illuminant: code.and_then(light_source_kelvin).and_then(|k| Kelvin::new(k).ok()),
            from_xyz: Matrix3::diagonal(self.analog_balance) * individual * matrix,
        }))
    }

    fn matrix(
        &self,
        tag: u16,
        order: impl Fn([[f64; 3]; 3]) -> [[f64; 3]; 3],
    ) -> Result<Option<Matrix3>, ReadErrorKind> {
        // Four channels of three: a sensor with four colours.
        let Some(values) = self.main.reals(tag, 12)? else { return Ok(None) };
        match values.as_chunks::<3>() {
            (&[first, second, third], []) => Ok(Some(Matrix3(order([first, second, third])))),
            ([_, _, _, _], []) => Err(ReadErrorKind::UnsupportedRaw { found: super::FOUR_COLOURS }),
            ([_], []) => Err(ReadErrorKind::UnsupportedRaw { found: super::ONE_COLOUR }),
            _ => Err(ReadErrorKind::DamagedRaw { what: "a colour matrix is not 3 × 3" }),
        }
    }
}

fn permuted(values: &[f64], order: [usize; 3]) -> Option<[f64; 3]> {
    let values: [f64; 3] = values.try_into().ok()?;
    Some(order.map(|plane| values[plane]))
}

/// Text without what follows its closing zero.
fn text(bytes: &[u8]) -> &[u8] {
    bytes.split(|byte| *byte == 0).next().unwrap_or_default()
}

/// The temperature of a light that Exif `LightSource` numbers (Exif 2.32, tag 0x9208); for tubes
/// named by a range of temperatures its middle. `None` for unknown and other lights.
pub(in crate::still) fn light_source_kelvin(code: u64) -> Option<f64> {
    Some(match code {
        // Daylight, flash, fine weather, D55.
        1 | 4 | 9 | 20 => 5500.0,
        // Fluorescent, and cool white W 3800–4500 K.
        2 | 14 => 4150.0,
        // Tungsten, standard light A.
        3 | 17 => 2856.0,
        // Cloudy, D65.
        10 | 21 => 6504.0,
        // Shade, D75.
        11 | 22 => 7504.0,
        // D 5700–7100 K, N 4600–5500 K, WW 3250–3800 K, L 2600–3250 K.
        12 => 6400.0,
        13 => 5050.0,
        15 => 3525.0,
        16 => 2925.0,
        // Standard lights B and C.
        18 => 4874.0,
        19 => 6774.0,
        23 => 5003.0,
        // ISO studio tungsten.
        24 => 3200.0,
        _ => return None,
    })
}
