//! The white-balance presets of a camera's menu, as lights.

use crate::error::LabError;
use crate::spectrum::Spectrum;
use crate::table;

/// A preset of a camera's white-balance menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Preset {
    /// Daylight, 5500 K.
    Daylight,
    /// Cloudy, 6500 K.
    Cloudy,
    /// Open shade, 7500 K.
    Shade,
    /// Electronic flash, 5900 K.
    Flash,
    /// Tungsten lamps, 3200 K.
    Tungsten,
    /// Fluorescent tubes, CIE FL2.
    Fluorescent,
}

impl Preset {
    /// All presets.
    pub const ALL: [Self; 6] =
        [Self::Daylight, Self::Cloudy, Self::Shade, Self::Flash, Self::Tungsten, Self::Fluorescent];

    /// The name, as Exif LightSource has it, in lower case.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Daylight => "daylight",
            Self::Cloudy => "cloudy",
            Self::Shade => "shade",
            Self::Flash => "flash",
            Self::Tungsten => "tungsten",
            Self::Fluorescent => "fluorescent",
        }
    }

    /// The code of Exif LightSource (Exif 2.32, tag 0x9208).
    #[must_use]
    pub fn exif_light_source(self) -> u16 {
        match self {
            Self::Daylight => 1,
            Self::Fluorescent => 2,
            Self::Tungsten => 3,
            Self::Flash => 4,
            Self::Cloudy => 10,
            Self::Shade => 11,
        }
    }

    /// The light for which the preset comes out neutral.
    ///
    /// # Errors
    /// [`LabError::DamagedTable`] if the built-in table is not whole.
    pub fn light(self) -> Result<Spectrum, LabError> {
        match self {
            Self::Daylight => dialled(5500.0),
            Self::Cloudy => dialled(6500.0),
            Self::Shade => dialled(7500.0),
            Self::Flash => dialled(5900.0),
            Self::Tungsten => dialled(3200.0),
            Self::Fluorescent => table::illuminant("FL2"),
        }
    }
}

/// The light a camera takes a kelvin number on its dial to mean: Planckian below 4000 K, CIE daylight from there up.
///
/// # Errors
/// [`LabError::DamagedTable`] if the built-in table is not whole.
pub fn dialled(kelvin: f64) -> Result<Spectrum, LabError> {
    if kelvin < 4000.0 { Ok(Spectrum::planckian(kelvin)) } else { Spectrum::daylight(kelvin) }
}
