//! The casts that are weighed against one another.

use crate::balance::{White, neutral_in_srgb};
use crate::colour::{Duv, Mired, MiredShift};

use super::plane::Place;

/// A cast that a frame may have, and where it puts a neutral surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// Light − balance, + orange.
    pub mired: MiredShift,
    /// Light − balance, + green.
    pub duv: Duv,
    /// The place of a neutral surface in the picture.
    pub neutral: Place,
}

/// Steps to either side of no cast, and their width.
const MIRED: (i32, f64) = (18, 12.0);
const DUV: (i32, f64) = (3, 0.005);

/// The casts that a frame shot at `balance` may have: up to 216 mired and Duv 0.015 to either side,
/// as far as such a light has a temperature and a colour within sRGB.
#[must_use]
pub fn candidates(balance: &White) -> Vec<Candidate> {
    let steps = |(count, width): (i32, f64)| (-count..=count).map(move |n| f64::from(n) * width);
    steps(MIRED)
        .flat_map(|mired| steps(DUV).map(move |duv| (MiredShift::new(mired), Duv::new(duv))))
        .filter_map(|(mired, duv)| {
            let neutral = neutral(mired, duv, balance)?;
            Some(Candidate { mired, duv, neutral })
        })
        .collect()
}

/// The place of a neutral surface in a picture that was shot at `balance` and has this cast;
/// `None` where the light has no temperature or its colour lies outside sRGB.
#[must_use]
pub fn neutral(mired: MiredShift, duv: Duv, balance: &White) -> Option<Place> {
    const LEAST: f64 = 1e-3;
    let cct = Mired::new(balance.mired().get() + mired.get()).ok()?.kelvin();
    let light = White::new(cct, Duv::new(balance.duv.get() + duv.get())).ok()?;
    let rgb = neutral_in_srgb(light, *balance);
    let inside = rgb.iter().all(|channel| *channel > LEAST);
    inside.then(|| Place::of(rgb.map(|channel| channel as f32)))
}
