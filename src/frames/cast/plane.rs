//! The plane of log-chromaticities on which evidence is gathered: how warm a colour is against how
//! green. Another light moves every colour of a scene by about the same step on it (von Kries).

use std::ops::{Add, Mul, Sub};

use crate::channels::Channels;
use crate::whole::below;

/// A colour's place on the plane, whatever its brightness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// ln(R/B) in linear sRGB: 0 for white, + orange, − blue.
    pub warmth: f32,
    /// ln(G/√(R·B)): 0 for white, + green, − magenta.
    pub green: f32,
}

impl Place {
    /// The place of a colour in linear sRGB. All three must be above 0.
    #[must_use]
    pub fn of([red, green, blue]: [f32; 3]) -> Self {
        let [red, green, blue] = [ln(red), ln(green), ln(blue)];
        Self { warmth: red - blue, green: green - 0.5 * (red + blue) }
    }
}

impl Sub for Place {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self { warmth: self.warmth - other.warmth, green: self.green - other.green }
    }
}

impl Add for Place {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { warmth: self.warmth + other.warmth, green: self.green + other.green }
    }
}

/// So many times as far from white.
impl Mul<f32> for Place {
    type Output = Self;

    fn mul(self, times: f32) -> Self {
        Self { warmth: self.warmth * times, green: self.green * times }
    }
}

/// The natural logarithm of a positive normal number to 0.0002: a hundred thousand of them are
/// taken for a frame. The mantissa's part is a least-squares polynomial that is exact at 1 and 2.
fn ln(value: f32) -> f32 {
    const MANTISSA_BITS: u32 = 23;
    let bits = value.to_bits();
    // By way of a signed number, whose conversion is the quicker one.
    let exponent = (bits >> MANTISSA_BITS) as i32 as f32 - 127.0;
    let mantissa = f32::from_bits((bits & 0x007f_ffff) | 0x3f80_0000);
    let rest = mantissa - 1.0;
    let polynomial =
        rest * (0.997_009 + rest * (-0.468_485 + rest * (0.220_528 + rest * -0.055_905)));
    exponent * std::f32::consts::LN_2 + polynomial
}

/// Weight spread over the plane, in bins.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Histogram {
    bins: Vec<f32>,
}

/// Bins along warmth and along green.
pub(super) const BINS: (usize, usize) = (101, 46);
/// Width of a bin along warmth (5.5 mired) and along green.
pub(super) const STEP: (f32, f32) = (0.06, 0.04);
const FIRST: Place = Place { warmth: -3.0, green: -0.9 };

impl Default for Histogram {
    fn default() -> Self {
        Self { bins: vec![0.0; BINS.0 * BINS.1] }
    }
}

/// Places are worked out so many at once, in loops that the compiler can turn into vectors.
const AT_ONCE: usize = 64;
/// A power of two with room for all bins, and what the last of these shares weight with.
const SIZE: usize = (BINS.0 * BINS.1).next_power_of_two();
const ROUND: usize = BINS.1 + 2;

impl Histogram {
    /// The histogram of colours, given channel by channel: of those with these numbers, each with its weight. All
    /// channels of these must be above 0.
    pub(super) fn of(
        [reds, greens, blues]: &Channels,
        numbers: &[u32],
        weight: impl Fn(usize) -> f32,
    ) -> Self {
        let mut bins = [0.0; SIZE + ROUND];
        let [mut red, mut green, mut blue, mut weights] = [[1.0_f32; AT_ONCE]; 4];
        let (mut first, mut parts) = ([0_u32; AT_ONCE], [[0.0_f32; AT_ONCE]; 4]);
        for numbers in numbers.chunks(AT_ONCE) {
            let colours = red.iter_mut().zip(&mut green).zip(&mut blue).zip(&mut weights);
            for ((((red, green), blue), own), number) in colours.zip(numbers) {
                let number = *number as usize;
                let of = |channel: &[f32]| channel.get(number).copied().unwrap_or(1.0);
                (*red, *green, *blue, *own) = (of(reds), of(greens), of(blues), weight(number));
            }
            let colours = red.iter().zip(&green).zip(&blue).zip(&weights);
            let [a, b, c, d] = &mut parts;
            let spots = first.iter_mut().zip(a).zip(b).zip(c).zip(d);
            for (((((first, a), b), c), d), (((red, green), blue), weight)) in spots.zip(colours) {
                let offset = Place::of([*red, *green, *blue]) - FIRST;
                let (row, down) = along(offset.warmth, STEP.0, BINS.0);
                let (column, right) = along(offset.green, STEP.1, BINS.1);
                *first = row * BINS.1 as u32 + column;
                let (upper, lower) = (weight * (1.0 - down), weight * down);
                (*a, *b) = (upper * (1.0 - right), upper * right);
                (*c, *d) = (lower * (1.0 - right), lower * right);
            }
            let [a, b, c, d] = &parts;
            let spots = first.iter().zip(a).zip(b).zip(c).zip(d).take(numbers.len());
            for ((((first, a), b), c), d) in spots {
                let first = *first as usize % SIZE;
                bins[first] += a;
                bins[first + 1] += b;
                bins[first + BINS.1] += c;
                bins[first + BINS.1 + 1] += d;
            }
        }
        Self { bins: bins[..BINS.0 * BINS.1].to_vec() }
    }

    /// The bins that hold anything, as shares of the whole: row, column and share.
    pub(super) fn shares(&self) -> Vec<(u16, u16, f32)> {
        let sum: f32 = self.bins.iter().sum();
        if !(sum.is_finite() && sum > 0.0) {
            return Vec::new();
        }
        let held = self.bins.iter().enumerate().filter(|(_, weight)| **weight > 0.0);
        held.map(|(at, weight)| ((at / BINS.1) as u16, (at % BINS.1) as u16, weight / sum))
            .collect()
    }

    /// The place at the middle of a bin.
    pub(super) fn place(row: u16, column: u16) -> Place {
        Place {
            warmth: FIRST.warmth + f32::from(row) * STEP.0,
            green: FIRST.green + f32::from(column) * STEP.1,
        }
    }
}

/// The bin below a value and how far it is to the next, 0–1. What lies beyond the plane's edge counts
/// at the edge.
fn along(value: f32, step: f32, bins: usize) -> (u32, f32) {
    below((value * (1.0 / step)).clamp(0.001, bins as f32 - 1.001))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quick_logarithm_is_close() {
        for step in 0..4000 {
            let value = (-12.0 + step as f32 * 0.0035).exp();
            assert!((ln(value) - value.ln()).abs() < 2e-4, "{value}: {} {}", ln(value), value.ln());
        }
    }

    #[test]
    fn weight_is_shared_among_the_bins_around() {
        let colour = [0.51, 0.5, 0.48];
        let place = Place::of(colour);
        let shares = Histogram::of(&colour.map(|value| vec![value]), &[0], |_| 2.0).shares();
        assert_eq!(shares.len(), 4);
        let mean = |of: fn(Place) -> f32| -> f32 {
            shares
                .iter()
                .map(|&(row, column, share)| share * of(Histogram::place(row, column)))
                .sum()
        };
        assert!((mean(|p| p.warmth) - place.warmth).abs() < 1e-4);
        assert!((mean(|p| p.green) - place.green).abs() < 1e-4);
        assert!(Histogram::default().shares().is_empty());
    }

    #[test]
    fn every_value_lies_between_two_bins() {
        for step in -100..1200 {
            let value = step as f32 * 0.1;
            let (bin, part) = along(value, 1.0, 101);
            assert!(bin < 100 && (0.0..=1.0).contains(&part), "{value}: {bin} {part}");
            let wanted = value.clamp(0.001, 99.999);
            assert!((bin as f32 + part - wanted).abs() < 1e-5, "{value}: {bin} {part}");
        }
    }
}
