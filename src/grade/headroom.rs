//! What footage bears of a correction.

use schemars::JsonSchema;
use serde::Serialize;

use super::{ColourSample, Correction, Footage, Strength};
use crate::colour::TransferCurve;

/// What a correction costs.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Headroom {
    /// How much the noise of red, green and blue grows, in stops: of noise that is alike and
    /// independent in the channels, by the rows of the matrix. Below 0 it shrinks.
    pub noise_stops: [f64; 3],
    /// Codes out of 256 that 8-bit footage has left of a neutral in red, green and blue, from
    /// black to what becomes white; 256 in a channel that is not lifted.
    pub codes_kept_8_bit: [u16; 3],
    /// Share of the pictures' pixels, 0–1, that the correction pushes past the top of the scale
    /// in red, green and blue; null where the pictures were not there to be looked at.
    pub clipped: Option<[f64; 3]>,
    /// Stops by which exposure would have to be lowered for all but a thousandth of the pixels to
    /// stay within the scale; null as above.
    pub over_stops: Option<f64>,
    /// Share of the pixels, 0–1, that the camera had clipped already in all channels; null as above.
    pub blown: Option<f64>,
    /// The same in one channel or two, so that their colour is lost; null as above.
    pub partly_blown: Option<f64>,
}

/// From here on the footage's own rounding to 8 bits, stretched by what a channel is lifted, has
/// twice the power of the rounding of an 8-bit delivery: half a bit is lost. Compression, which
/// nearly all 8-bit footage has gone through, is stretched alike. It comes to a lift of the neutral
/// by about 1.1 stops.
const FEWEST_CODES: f64 = 256.0 * std::f64::consts::FRAC_1_SQRT_2;
/// More of a picture than this must not be pushed past the top.
const MOST_CLIPPED: f64 = 0.01;

impl Headroom {
    /// What a correction costs in footage of an encoding, with samples of the pictures where they
    /// are there.
    #[must_use]
    pub fn of(correction: &Correction, footage: Footage, pictures: &[&ColourSample]) -> Self {
        let matrix = correction.matrix();
        let noise = matrix.0.map(|row| row.iter().map(|v| v * v).sum::<f64>().sqrt().log2());
        // An 8-bit linear file is nobody's footage; its codes are those of the light itself.
        let codes = correction.gains().map(|gain| {
            let used = footage.curve().encode(gain.max(1.0).recip());
            (256.0 * used).round() as u16
        });
        let pixels = Pixels::of(correction, pictures);
        Self {
            noise_stops: noise,
            codes_kept_8_bit: codes,
            clipped: pixels.as_ref().map(|pixels| pixels.clipped),
            over_stops: pixels.as_ref().map(|pixels| pixels.over.max(1.0).log2()),
            blown: pixels.as_ref().map(|pixels| pixels.blown),
            partly_blown: pixels.map(|pixels| pixels.partly_blown),
        }
    }

    /// Whether 8-bit footage stands it.
    #[must_use]
    pub fn stands_8_bit(&self) -> bool {
        self.codes_kept_8_bit.iter().all(|codes| f64::from(*codes) >= FEWEST_CODES)
    }

    /// Whether footage of this encoding stands it, in the fewest bits that it may have.
    pub(super) fn stands_bits_of(&self, footage: Footage) -> bool {
        self.stands_8_bit() || !may_have_8_bits(footage)
    }

    /// Whether the scale holds the result, as far as is known.
    #[must_use]
    pub fn stays_within_scale(&self) -> bool {
        self.clipped.is_none_or(|clipped| clipped.iter().all(|share| *share <= MOST_CLIPPED))
    }

    /// The greatest strength, in steps of 5 %, that 8-bit footage stands, where the footage may be
    /// of 8 bits, and the scale holds;
    /// `None` where that is all of the correction as it was asked for, or where even 5 % is more.
    #[must_use]
    pub fn safe_strength(
        correction: &Correction,
        footage: Footage,
        pictures: &[&ColourSample],
    ) -> Option<Strength> {
        let bears = |correction: &Correction| {
            let headroom = Self::of(correction, footage, pictures);
            headroom.stands_bits_of(footage) && headroom.stays_within_scale()
        };
        if bears(correction) {
            return None;
        }
        (1..20).rev().filter_map(|step| Strength::new(f64::from(step) / 20.0)).find(|strength| {
            *strength < correction.strength()
                && correction.at(*strength).is_some_and(|less| bears(&less))
        })
    }

    /// Figures as they are meant to be read: stops to 0.01, shares to 0.0001.
    pub(super) fn rounded(mut self) -> Self {
        let round = |value: &mut f64, steps: f64| *value = (*value * steps).round() / steps + 0.0;
        self.noise_stops.iter_mut().for_each(|stops| round(stops, 100.0));
        self.over_stops.iter_mut().for_each(|stops| round(stops, 100.0));
        self.clipped
            .iter_mut()
            .flatten()
            .chain(&mut self.blown)
            .chain(&mut self.partly_blown)
            .for_each(|share| round(share, 1e4));
        self
    }
}

/// What happens to pixels.
struct Pixels {
    clipped: [f64; 3],
    over: f64,
    blown: f64,
    partly_blown: f64,
}

impl Pixels {
    /// Each picture counts alike.
    fn of(correction: &Correction, pictures: &[&ColourSample]) -> Option<Self> {
        /// Just above the top, so that rounding there counts for nothing.
        const TOP: f64 = 1.001;
        /// From here on (253 of 255 in sRGB) the camera has clipped the channel already.
        const LOST: f32 = 0.98;
        let mut brightest = Vec::new();
        let mut clipped = [0.0; 3];
        let [mut blown, mut partly_blown] = [0.0; 2];
        for picture in pictures {
            let all = picture.colours().len() as f64 / (1.0 - picture.blown()).max(1e-3);
            for colour in picture.colours() {
                let corrected = correction.matrix().apply(colour.map(f64::from));
                for (share, (channel, before)) in
                    clipped.iter_mut().zip(corrected.iter().zip(colour))
                {
                    *share += f64::from(u8::from(*channel > TOP && *before < LOST)) / all;
                }
                let is_lost = colour.iter().any(|channel| *channel >= LOST);
                partly_blown += f64::from(u8::from(is_lost)) / all;
                brightest.push(corrected.into_iter().fold(0.0, f64::max));
            }
            blown += picture.blown();
        }
        let count = pictures.len() as f64;
        brightest.sort_by(f64::total_cmp);
        let over = brightest.get(brightest.len().checked_sub(1 + brightest.len() / 1000)?);
        Some(Self {
            clipped: clipped.map(|share| share / count),
            over: *over?,
            blown: blown / count,
            partly_blown: partly_blown / count,
        })
    }
}

/// Whether footage can well be of 8 bits: nobody stores linear light so.
fn may_have_8_bits(footage: Footage) -> bool {
    !matches!(footage.curve(), TransferCurve::Linear)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn correction(neutral: [f64; 3]) -> Correction {
        Correction::new(neutral, Strength::FULL).unwrap()
    }

    fn of(neutral: [f64; 3]) -> Headroom {
        Headroom::of(&correction(neutral), Footage::SRGB, &[])
    }

    /// A picture of one colour, a part of it burnt out.
    fn picture(colour: [f64; 3], blown: f32) -> ColourSample {
        ColourSample { colours: vec![colour.map(|v| v as f32); 100], blown }
    }

    #[test]
    fn nothing_costs_nothing() {
        let none = of([1.0; 3]);
        assert_eq!(none.codes_kept_8_bit, [256; 3]);
        assert!(none.noise_stops.iter().all(|stops| stops.abs() < 1e-9), "{none:?}");
        assert!(none.stands_8_bit() && none.stays_within_scale());
    }

    #[test]
    fn a_weak_channel_is_lifted_and_its_noise_with_it() {
        let slight = of([1.0, 0.84, 0.65]);
        let [red, _, blue] = slight.noise_stops;
        assert!(red < 0.0 && (0.2..0.6).contains(&blue), "{slight:?}");
        assert!(slight.stands_8_bit(), "{slight:?}");
        let strong = of([1.0, 0.45, 0.12]);
        assert!(strong.codes_kept_8_bit[2] < 160 && !strong.stands_8_bit(), "{strong:?}");
        assert_eq!(strong.codes_kept_8_bit[0], 256);
    }

    #[test]
    fn the_safe_strength_is_safe_and_a_step_more_is_not() {
        let strong = correction([1.0, 0.45, 0.12]);
        let safe = Headroom::safe_strength(&strong, Footage::SRGB, &[]).unwrap();
        let bears = |share: f64| {
            let correction = strong.at(Strength::new(share).unwrap()).unwrap();
            Headroom::of(&correction, Footage::SRGB, &[]).stands_8_bit()
        };
        assert!(bears(safe.get()) && !bears(safe.get() + 0.05), "{safe}");
        let slight = correction([1.0, 0.84, 0.65]);
        assert_eq!(Headroom::safe_strength(&slight, Footage::SRGB, &[]), None);
        // Nobody stores linear light in 8 bits: there only the scale is a limit.
        let linear = Footage::new(TransferCurve::Linear).unwrap();
        assert_eq!(Headroom::safe_strength(&strong, linear, &[]), None);
        let blue = picture([0.6, 0.6, 0.9], 0.0);
        let safe = Headroom::safe_strength(&strong, linear, &[&blue]).unwrap();
        let held = |share: f64| {
            let correction = strong.at(Strength::new(share).unwrap()).unwrap();
            Headroom::of(&correction, linear, &[&blue]).stays_within_scale()
        };
        assert!(held(safe.get()) && !held(safe.get() + 0.05), "{safe}");
    }

    #[test]
    fn pixels_that_leave_the_scale_are_counted_by_channel() {
        let orange = [1.0, 0.84, 0.65];
        let (neutral, sky) = (picture(orange, 0.0), picture([0.3, 0.5, 0.95], 0.0));
        let of = |pictures: &[&ColourSample]| {
            Headroom::of(&correction(orange), Footage::SRGB, pictures).rounded()
        };
        assert_eq!(of(&[&neutral]).clipped, Some([0.0; 3]), "a neutral never leaves the scale");
        let both = of(&[&neutral, &sky]);
        assert_eq!(both.clipped, Some([0.0, 0.0, 0.5]));
        assert!(both.over_stops.unwrap() > 0.1 && !both.stays_within_scale());
        let blown = of(&[&picture(orange, 0.25)]);
        assert_eq!(blown.blown, Some(0.25));
        let lamp = of(&[&picture([1.0, 0.9, 0.5], 0.25), &neutral]);
        assert_eq!((lamp.blown, lamp.partly_blown), (Some(0.125), Some(0.875)));
        assert_eq!(of(&[&sky]).partly_blown, Some(0.0));
        assert_eq!(of(&[]).clipped, None);
    }

    #[test]
    fn a_black_frame_bears_everything() {
        let black = Headroom::of(
            &correction([1.0, 0.4, 0.1]),
            Footage::SRGB,
            &[&picture([0.0; 3], 0.0), &ColourSample::default()],
        );
        assert_eq!((black.clipped, black.over_stops), (Some([0.0; 3]), Some(0.0)));
    }
}
