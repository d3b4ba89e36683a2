//! From a camera's own red, green and blue to the white that they stand for.
//!
//! DNG 1.6, chapter 6 (Mapping Camera Color Space to CIE XYZ Space): matrices from XYZ to the
//! camera's channels are given for one or two calibration illuminants. Between these they are
//! interpolated in reciprocal temperature, and since the temperature is what is looked for, the
//! white is found by iteration.

use super::{CctDuv, ColourError, Kelvin, Matrix3, Xy, Xyz, chromaticity, illuminants};

/// What a camera's channels make of XYZ under one light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CameraCalibration {
    /// Temperature of the light; `None` where it is not known.
    pub illuminant: Option<Kelvin>,
    /// From CIE XYZ, any scale, to the camera's channels.
    pub from_xyz: Matrix3,
}

/// A camera's colour calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CameraColour {
    first: CameraCalibration,
    second: Option<CameraCalibration>,
}

/// The iteration ends when neither coordinate moves by more than this, and after so many passes
/// at the latest; where it then swings between two values it takes their mean.
const CLOSE: f64 = 1e-7;
const MOST_PASSES: usize = 30;

impl CameraColour {
    /// A camera by one or two calibrations. A second one counts only where both lights are known
    /// and differ.
    ///
    /// # Errors
    /// [`ColourError::SingularCamera`] where a matrix has no inverse: then colours cannot be told
    /// from one another.
    pub fn new(
        first: CameraCalibration,
        second: Option<CameraCalibration>,
    ) -> Result<Self, ColourError> {
        for calibration in [Some(first), second].into_iter().flatten() {
            let regular = calibration.from_xyz.inverse().is_some();
            regular.then_some(()).ok_or(ColourError::SingularCamera)?;
        }
        let two_lights = |second: &CameraCalibration| {
            second.illuminant.is_some()
                && first.illuminant.is_some()
                && first.illuminant != second.illuminant
        };
        Ok(Self { first, second: second.filter(two_lights) })
    }

    /// The one or two calibrations.
    #[must_use]
    pub fn calibrations(&self) -> (CameraCalibration, Option<CameraCalibration>) {
        (self.first, self.second)
    }

    /// The chromaticity of the light under which a neutral surface gives the channels `neutral`,
    /// whatever their scale.
    ///
    /// # Errors
    /// [`ColourError`] where no real light gives these channels.
    pub fn white_of(&self, neutral: [f64; 3]) -> Result<Xy, ColourError> {
        let mut white = illuminants::D50;
        let mut temperature = None;
        for pass in 0..MOST_PASSES {
            // Where a passing estimate has no temperature the one before it serves.
            temperature = CctDuv::from_xy(white).ok().map(|light| light.cct).or(temperature);
            let to_xyz =
                self.channels_at(temperature).inverse().ok_or(ColourError::SingularCamera)?;
            let next = chromaticity(Xyz::from(to_xyz.apply(neutral)))?;
            let moved = (next.x - white.x).abs().max((next.y - white.y).abs());
            if moved < CLOSE || self.second.is_none() {
                return Ok(next);
            }
            let last = pass + 1 == MOST_PASSES;
            white = if last { midway(white, next) } else { next };
        }
        Ok(white)
    }

    /// The channels of a neutral surface in light of the chromaticity `white`, largest 1: the
    /// inverse of [`CameraColour::white_of`].
    ///
    /// # Errors
    /// [`ColourError::SingularCamera`] where a channel would not be above 0.
    pub fn neutral_of(&self, white: Xy) -> Result<[f64; 3], ColourError> {
        let channels = self.channels_in(white).apply(white.to_xyz().into());
        let largest = channels.into_iter().fold(0.0, f64::max);
        let neutral = channels.map(|channel| channel / largest);
        let real = neutral.iter().all(|channel| channel.is_finite() && *channel > 0.0);
        real.then_some(neutral).ok_or(ColourError::SingularCamera)
    }

    /// The matrix from the camera's channels, any scale, to XYZ in light of the chromaticity
    /// `white`.
    ///
    /// # Errors
    /// [`ColourError::SingularCamera`] where the interpolated matrix has no inverse.
    pub fn to_xyz_in(&self, white: Xy) -> Result<Matrix3, ColourError> {
        self.channels_in(white).inverse().ok_or(ColourError::SingularCamera)
    }

    fn channels_in(&self, white: Xy) -> Matrix3 {
        self.channels_at(CctDuv::from_xy(white).ok().map(|light| light.cct))
    }

    /// Interpolated in reciprocal temperature; beyond the calibrations the nearer of them.
    fn channels_at(&self, temperature: Option<Kelvin>) -> Matrix3 {
        let first = self.first.from_xyz;
        let Some(second) = self.second else { return first };
        let (Some(warm), Some(cool)) = (self.first.illuminant, second.illuminant) else {
            return first;
        };
        let Some(temperature) = temperature else { return first };
        let (warm, cool) = (warm.mired().get(), cool.mired().get());
        let share = ((temperature.mired().get() - cool) / (warm - cool)).clamp(0.0, 1.0);
        let (a, b) = (first.0, second.from_xyz.0);
        Matrix3(std::array::from_fn(|row| {
            std::array::from_fn(|column| share * a[row][column] + (1.0 - share) * b[row][column])
        }))
    }
}

fn midway(a: Xy, b: Xy) -> Xy {
    Xy::new(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn calibration(kelvin: f64, rows: [[f64; 3]; 3]) -> CameraCalibration {
        let illuminant = Kelvin::new(kelvin).ok();
        CameraCalibration { illuminant, from_xyz: Matrix3(rows) }
    }

    fn camera() -> CameraColour {
        let warm = [[1.2, -0.4, -0.05], [-0.5, 1.5, 0.1], [-0.1, 0.3, 0.6]];
        let cool = [[1.0, -0.3, -0.1], [-0.6, 1.4, 0.2], [-0.2, 0.3, 0.7]];
        CameraColour::new(calibration(2856.0, warm), Some(calibration(6504.0, cool))).unwrap()
    }

    #[test]
    fn the_iteration_finds_the_white_that_gives_the_neutral() {
        for kelvin in [1500.0, 2400.0, 2856.0, 3400.0, 4300.0, 5500.0, 6504.0, 9000.0, 20_000.0] {
            for duv in [-0.01, 0.0, 0.012] {
                let light = CctDuv::new(Kelvin::new(kelvin).unwrap(), crate::colour::Duv::new(duv));
                let white = light.unwrap().to_xy();
                let neutral = camera().neutral_of(white).unwrap();
                let found = camera().white_of(neutral.map(|v| v * 0.37)).unwrap();
                assert!((found.x - white.x).abs() < 1e-5, "{kelvin} {duv}: {found:?} {white:?}");
                assert!((found.y - white.y).abs() < 1e-5, "{kelvin} {duv}: {found:?} {white:?}");
            }
        }
    }

    #[test]
    fn beyond_the_calibrations_the_nearer_one_holds_and_between_them_the_mix() {
        let at = |mired: f64| camera().channels_at(Kelvin::new(1e6 / mired).ok()).0[0][0];
        assert_eq!((at(500.0), at(50.0)), (1.2, 1.0));
        let middle = f64::midpoint(1e6 / 2856.0, 1e6 / 6504.0);
        assert!((at(middle) - 1.1).abs() < 1e-12);
    }

    #[test]
    fn the_order_of_the_two_calibrations_does_not_matter() {
        let CameraColour { first, second } = camera();
        let turned = CameraColour::new(second.unwrap(), Some(first)).unwrap();
        let neutral = [0.5, 1.0, 0.6];
        let (a, b) = (camera().white_of(neutral).unwrap(), turned.white_of(neutral).unwrap());
        assert!((a.x - b.x).abs() < 1e-6 && (a.y - b.y).abs() < 1e-6, "{a:?} {b:?}");
    }

    #[test]
    fn a_matrix_of_zeros_is_no_camera_and_black_no_light() {
        let zero = calibration(6504.0, [[0.0; 3]; 3]);
        assert_eq!(CameraColour::new(zero, None), Err(ColourError::SingularCamera));
        let CameraColour { first, .. } = camera();
        assert_eq!(CameraColour::new(first, Some(zero)), Err(ColourError::SingularCamera));
        assert!(camera().white_of([0.0; 3]).is_err());
        assert!(camera().white_of([f64::NAN, 1.0, 1.0]).is_err());
    }

    #[test]
    fn a_second_calibration_for_an_unknown_light_is_left_out() {
        let CameraColour { first, second } = camera();
        let unknown = CameraCalibration { illuminant: None, ..second.unwrap() };
        let one = CameraColour::new(first, Some(unknown)).unwrap();
        assert_eq!(one, CameraColour::new(first, None).unwrap());
    }
}
