//! Our own bench: made-up lights, sensors and cameras, and a studio to photograph with them.
//!
//! The core ([`Spectrum`], [`Sensor`], [`BalancedCamera`], [`Development`]) turns light into the bytes a camera would
//! write, with the truth known. [`scene`] renders a potter's studio through it, and [`samples`] makes the sample
//! pictures from that.

pub mod calibrate;
pub mod calibrate_raw;
mod card_shot;
pub mod casts;
pub mod colorimetry;
mod daylight;
mod develop;
pub mod dial;
pub mod dng;
mod error;
mod exif;
mod preset;
mod rng;
pub mod samples;
pub mod scene;
pub mod screenshots;
mod sensor;
mod spectrum;
pub mod speed;
pub mod table;
pub mod tiff;
mod tone;

pub use develop::{Development, Noise, RawImage, metered_exposure};
pub use error::LabError;
pub use exif::{Rational, ShotData, with_exif};
pub use preset::{Preset, dialled};
pub use rng::Rng;
pub use sensor::{BalancedCamera, Sensor};
pub use spectrum::{FIRST_NM, SAMPLES, STEP_NM, Spectrum};
pub use tone::ToneCurve;
