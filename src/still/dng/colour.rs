//! The colour calibration that a DNG brings: its matrices, their lights, and the as-shot balance.

use super::tags::*;
use crate::colour::{CameraCalibration, CameraColour, Kelvin, Matrix3, Xy};
use crate::still::ReadErrorKind;
use crate::still::ifd::Directory;
use crate::still::raw::{AsShotNeutral, Calibrated, FOUR_COLOURS, ONE_COLOUR, light_source_kelvin};

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
            ([_, _, _, _], []) => Err(ReadErrorKind::UnsupportedRaw { found: FOUR_COLOURS }),
            ([_], []) => Err(ReadErrorKind::UnsupportedRaw { found: ONE_COLOUR }),
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
