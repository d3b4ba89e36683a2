//! What a raw file's channels mean: the way from them to a light, whatever the format was.

use super::ReadErrorKind;
use crate::colour::{CameraColour, ColourError, Matrix3, Xy, illuminants};

/// What is not read, in words: sensors from whose channels no light can be told.
pub(super) const FOUR_COLOURS: &str = "four colours";
pub(super) const ONE_COLOUR: &str =
    "one colour only, so it says nothing about the colour of the light";

/// A camera's calibration, and the balance that it wrote down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Calibrated {
    pub(super) camera: CameraColour,
    /// The camera's channels for a neutral surface under its as-shot balance, and that balance.
    pub(super) as_shot: Option<AsShotNeutral>,
}

/// An as-shot balance: as the camera's channels, largest 1, and as the white it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct AsShotNeutral {
    pub(super) neutral: [f64; 3],
    pub(super) white: Xy,
}

/// A channel that a neutral surface hardly reaches would need a gain of more than a hundred.
const LEAST_NEUTRAL: f64 = 0.01;

impl AsShotNeutral {
    /// From a neutral surface's channels, whatever their scale; `None` where no light gives them.
    pub(super) fn of(neutral: [f64; 3], camera: &CameraColour) -> Option<Self> {
        let largest = neutral.into_iter().fold(0.0, f64::max);
        let neutral = neutral.map(|channel| channel / largest);
        let real = neutral.iter().all(|channel| channel.is_finite() && *channel > LEAST_NEUTRAL);
        let white = camera.white_of(neutral).ok().filter(|_| real);
        white.map(|white| Self { neutral, white })
    }
}

/// The colour calibration of a raw picture, and the balance that its frame is scaled by.
///
/// The frame of a raw file holds the camera's own channels, each times its gain, so that a surface
/// that is neutral under the as-shot balance has three equal values, as in a finished picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RawColour {
    camera: CameraColour,
    gains: [f64; 3],
    reference: Xy,
    is_recorded: bool,
    to_xyz: Matrix3,
}

impl RawColour {
    /// At the as-shot balance; at that for photographic daylight where the file records none.
    pub(super) fn new(calibrated: Calibrated) -> Result<Self, ReadErrorKind> {
        let Calibrated { camera, as_shot } = calibrated;
        let is_recorded = as_shot.is_some();
        let useless = |_| ReadErrorKind::DamagedRaw { what: "its colour matrix has no inverse" };
        let (neutral, reference) = match as_shot {
            Some(as_shot) => (as_shot.neutral, as_shot.white),
            None => {
                let daylight = illuminants::D55;
                (camera.neutral_of(daylight).map_err(useless)?, daylight)
            }
        };
        let to_xyz = frame_to_xyz(&camera, neutral, reference).map_err(useless)?;
        let to_xyz = to_xyz.ok_or(ReadErrorKind::DamagedRaw {
            what: "its as-shot balance is no colour of light",
        })?;
        let gains = neutral.map(|channel| 1.0 / channel);
        Ok(Self { camera, gains, reference, is_recorded, to_xyz })
    }

    /// The same as [`RawColour::to_xyz`] for a picture made in the balance `white`; `None` where the
    /// calibration does not reach there.
    pub(super) fn xyz_in(&self, white: Xy) -> Option<Matrix3> {
        let neutral = self.gains.map(|gain| 1.0 / gain);
        frame_to_xyz(&self.camera, neutral, white).ok().flatten()
    }

    /// The chromaticity of the light in which a neutral surface has the frame's colour `linear`,
    /// whatever its brightness.
    ///
    /// # Errors
    /// [`ColourError`] where no light gives that colour.
    pub fn white_of(&self, linear: [f64; 3]) -> Result<Xy, ColourError> {
        self.camera.white_of(self.saturation_of(linear))
    }

    /// What each channel of the sensor reached for the frame's colour `linear`: 1 is saturation.
    #[must_use]
    pub fn saturation_of(&self, linear: [f64; 3]) -> [f64; 3] {
        std::array::from_fn(|channel| linear[channel] / self.gains[channel])
    }

    /// What the camera's channels were multiplied by, 1 or more each.
    #[must_use]
    pub fn gains(&self) -> [f64; 3] {
        self.gains
    }

    /// The white that has equal values in the frame: the as-shot balance, or photographic daylight
    /// where the file records none.
    #[must_use]
    pub fn reference_white(&self) -> Xy {
        self.reference
    }

    /// The as-shot balance, where the file records one.
    pub(super) fn recorded_white(&self) -> Option<Xy> {
        Some(self.reference).filter(|_| self.is_recorded)
    }

    /// The camera's calibration.
    #[must_use]
    pub fn camera(&self) -> &CameraColour {
        &self.camera
    }

    /// From the frame's linear values to XYZ under the reference white: what a finished picture of
    /// the same shot would be made with. (1, 1, 1) has Y = 1.
    #[must_use]
    pub fn to_xyz(&self) -> Matrix3 {
        self.to_xyz
    }
}

/// From values in which the channels `neutral` are equal to XYZ by the matrix for `white`. `None`
/// where equal values are no colour of light.
fn frame_to_xyz(
    camera: &CameraColour,
    neutral: [f64; 3],
    white: Xy,
) -> Result<Option<Matrix3>, ColourError> {
    let Matrix3(to_xyz) = camera.to_xyz_in(white)? * Matrix3::diagonal(neutral);
    let [_, full, _] = Matrix3(to_xyz).apply([1.0; 3]);
    let is_light = full.is_finite() && full > 0.0;
    Ok(is_light.then(|| Matrix3(to_xyz.map(|row| row.map(|value| value / full)))))
}

/// The temperature of a light that Exif `LightSource` numbers (Exif 2.32, tag 0x9208); for tubes
/// named by a range of temperatures its middle. `None` for unknown and other lights.
pub(super) fn light_source_kelvin(code: u64) -> Option<f64> {
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
