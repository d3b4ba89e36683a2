//! Raw files for the tests of reading them.
#![allow(dead_code, reason = "each test program uses its own part of this module")]

use lab::Rng;
use lab::dng::{DngFile, RawSamples, colour_tags};
use mirecast::colour::{CameraCalibration, Kelvin, Matrix3};
use mirecast::still::{ReadError, ReadOptions, Still, read_bytes};

/// A made-up camera calibrated under A and D65.
pub(crate) fn calibrations() -> [(CameraCalibration, u16); 2] {
    let at = |kelvin: f64, rows| CameraCalibration {
        illuminant: Kelvin::new(kelvin).ok(),
        from_xyz: Matrix3(rows),
    };
    let warm = [[0.9, -0.2, -0.05], [-0.55, 1.45, 0.35], [-0.1, 0.25, 0.9]];
    let cool = [[0.85, -0.25, -0.1], [-0.5, 1.4, 0.25], [-0.12, 0.3, 0.8]];
    [(at(2856.0, warm), 17), (at(6504.0, cool), 21)]
}

/// What a neutral surface gives under the as-shot balance.
pub(crate) const NEUTRAL: [f64; 3] = [0.6, 1.0, 0.7];

/// Samples that differ everywhere, from a fixed pseudo-random sequence, within the given share of full scale.
pub(crate) fn busy(width: usize, height: usize, planes: usize, bits: u32) -> RawSamples {
    let mut rng = Rng::new(11);
    let full = f64::from(u16::MAX >> (16 - bits));
    let count = width * height * planes;
    let samples = (0..count).map(|_| (rng.between(0.05, 0.9) * full) as u16).collect();
    RawSamples { width, height, planes, bits, samples }
}

/// A plain file of these samples.
pub(crate) fn file(raw: RawSamples) -> DngFile {
    let mut file = DngFile::new(raw);
    file.main_tags = colour_tags(&calibrations(), Some(NEUTRAL));
    file
}

/// Reads bytes, into cells of one repeat of a mosaic each where the picture is small.
pub(crate) fn read(bytes: &[u8]) -> Result<Still, ReadError> {
    read_bytes(bytes, &ReadOptions::default())
}
