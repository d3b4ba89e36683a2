//! One frame without a card → what its cast may be.

mod posterior;
mod statistic;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::balance::{White, light_of, neutral_in};
use crate::colour::{Duv, Matrix3, Mired, MiredShift, Xyz, illuminants::ENCODING_D65, srgb};
use crate::still::LinearFrame;

pub use posterior::{CastPoint, CastPosterior};
use statistic::bright_mean;

/// What a neutral surface in a frame is off by. Intervals are 90 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cast {
    /// Light − as-shot balance in mired, + orange; at a 5500 K balance where none is known.
    pub mired: f64,
    /// Its interval, low to high.
    pub mired_interval: [f64; 2],
    /// Light − as-shot balance in Duv, + green.
    pub duv: f64,
    /// Its interval, low to high.
    pub duv_interval: [f64; 2],
    /// The colour that a neutral surface has in the picture, in linear sRGB, largest channel 1.
    pub white_linear_srgb: [f64; 3],
}

/// Intervals hold the truth so often.
const LEVEL: f64 = 0.9;

impl Cast {
    /// The cast that a posterior tells, in a picture shot at `balance`.
    #[must_use]
    pub fn of(posterior: &CastPosterior, balance: &White) -> Self {
        let (mired, duv) = posterior.mean();
        Self {
            mired: mired.get(),
            mired_interval: posterior.mired_interval(LEVEL).map(MiredShift::get),
            duv: duv.get(),
            duv_interval: posterior.duv_interval(LEVEL).map(Duv::get),
            white_linear_srgb: white_linear_srgb(mired, duv, balance),
        }
    }
}

/// The colour in linear sRGB, largest channel 1, of a neutral surface in a picture that was shot
/// at `balance` and has this cast. A light beyond what has a temperature counts as the nearest
/// that has one.
#[must_use]
pub fn white_linear_srgb(mired: MiredShift, duv: Duv, balance: &White) -> [f64; 3] {
    /// 40 000 K to 1 000 K.
    const MIRED: [f64; 2] = [25.0, 1000.0];
    const DUV: f64 = 0.05;
    let place = (balance.mired().get() + mired.get()).clamp(MIRED[0], MIRED[1]);
    let tint = (balance.duv.get() + duv.get()).clamp(-DUV, DUV);
    let light = Mired::new(place).and_then(|mired| White::new(mired.kelvin(), Duv::new(tint)));
    let neutral = neutral_in(light.unwrap_or(*balance), *balance, ENCODING_D65.to_xyz());
    let rgb = srgb::from_xyz(neutral);
    // A light so saturated that a channel would be negative is at the edge of what sRGB holds.
    let rgb = [rgb.red, rgb.green, rgb.blue].map(|channel| channel.max(1e-3));
    let largest = rgb.into_iter().fold(f64::MIN_POSITIVE, f64::max);
    rgb.map(|channel| channel / largest)
}

/// What the cast of a frame may be. `balance` is the as-shot white, 5500 K daylight where it is
/// not known.
#[must_use]
pub fn estimate(frame: &LinearFrame, balance: &White) -> CastPosterior {
    /// How far a mean of this kind is off: mired and Duv, one standard deviation.
    const SPREAD: (f64, f64) = (32.0, 0.007);
    /// Without evidence.
    const PRIOR: (f64, f64) = (50.0, 0.006);
    let cast = bright_mean(frame).and_then(|mean| {
        let [x, y, z] = Matrix3(frame.encoding.to_xyz).apply(mean);
        let [white_x, white_y, white_z] = frame.encoding.white_xyz;
        let white = Xyz::new(white_x, white_y, white_z);
        let light = light_of(Xyz::new(x, y, z), white, *balance).ok()?;
        Some((light.mired() - balance.mired(), light.duv - balance.duv))
    });
    match cast {
        Some((mired, duv)) => CastPosterior::gaussian((mired, SPREAD.0), (duv, SPREAD.1)),
        None => CastPosterior::gaussian((MiredShift::new(0.0), PRIOR.0), (Duv::new(0.0), PRIOR.1)),
    }
}
