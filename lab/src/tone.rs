//! Tone curves: what a camera does between linear light and the numbers in the file.

use mirecast::colour::TransferCurve;

/// How linear light becomes encoded values.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum ToneCurve {
    /// The sRGB transfer function of IEC 61966-2-1 and nothing else.
    Srgb,
    /// sRGB, then an S-curve through 0, 0.5 and 1 of the encoded scale; `strength` 0 is none, 1 a hard one.
    SCurve {
        /// 0 to 1.
        strength: f64,
    },
    /// sRGB of a film-like curve: shadows sink into a toe, highlights roll off over a shoulder.
    Filmic {
        /// How far the toe reaches up, in linear light: 0 to about 0.05.
        toe: f64,
        /// How hard the shoulder is: 0 is none, 2 a long one.
        shoulder: f64,
    },
    /// An S-curve as [`SCurve`](Self::SCurve) over a picture lightened or darkened as a whole.
    Rendering {
        /// 0 to 1.
        strength: f64,
        /// The power of the encoded scale; below 1 it lightens.
        power: f64,
    },
    /// A plain power of `1 / gamma`.
    Gamma {
        /// The exponent, commonly 1.8 to 2.4.
        gamma: f64,
    },
}

impl ToneCurve {
    /// Encoded value, 0 to 1, of linear light, where 1 is white. Out-of-range light is clamped.
    #[must_use]
    pub fn encode(self, linear: f64) -> f64 {
        let linear = linear.clamp(0.0, 1.0);
        match self {
            Self::Srgb => TransferCurve::Srgb.encode(linear),
            Self::SCurve { strength } => s_curve(TransferCurve::Srgb.encode(linear), strength),
            Self::Rendering { strength, power } => {
                s_curve(TransferCurve::Srgb.encode(linear).powf(power), strength)
            }
            Self::Filmic { toe, shoulder } => {
                let rolled = linear * (1.0 + shoulder) / (1.0 + shoulder * linear);
                let sunk = rolled * rolled / (rolled + toe);
                TransferCurve::Srgb.encode(sunk * (1.0 + toe))
            }
            Self::Gamma { gamma } => linear.powf(1.0 / gamma),
        }
    }

    /// Linear light of an encoded value: the inverse of [`encode`](Self::encode), by bisection.
    #[must_use]
    pub fn decode(self, encoded: f64) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if self.encode(middle) < encoded {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }
}

fn s_curve(encoded: f64, strength: f64) -> f64 {
    let smooth = encoded * encoded * (3.0 - 2.0 * encoded);
    encoded + strength.clamp(0.0, 1.0) * (smooth - encoded)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CURVES: [ToneCurve; 6] = [
        ToneCurve::Srgb,
        ToneCurve::SCurve { strength: 0.4 },
        ToneCurve::SCurve { strength: 1.0 },
        ToneCurve::Filmic { toe: 0.02, shoulder: 1.0 },
        ToneCurve::Rendering { strength: 0.4, power: 0.92 },
        ToneCurve::Gamma { gamma: 2.2 },
    ];

    #[test]
    fn curves_rise_from_black_to_white() {
        for curve in CURVES {
            assert_eq!(curve.encode(0.0), 0.0, "{curve:?}");
            assert!((curve.encode(1.0) - 1.0).abs() < 1e-12, "{curve:?}");
            let values: Vec<f64> = (0..=200).map(|i| curve.encode(f64::from(i) / 200.0)).collect();
            assert!(values.windows(2).all(|pair| pair[0] < pair[1]), "{curve:?}");
        }
    }

    #[test]
    fn decoding_undoes() {
        for curve in CURVES {
            for linear in [0.01, 0.18, 0.5, 0.9] {
                assert!((curve.decode(curve.encode(linear)) - linear).abs() < 1e-9, "{curve:?}");
            }
        }
    }

    #[test]
    fn s_curve_keeps_the_middle_and_steepens_it() {
        let curve = ToneCurve::SCurve { strength: 0.5 };
        let middle = ToneCurve::Srgb.decode(0.5);
        assert!((curve.encode(middle) - 0.5).abs() < 1e-9);
        assert!(curve.encode(0.05) < ToneCurve::Srgb.encode(0.05));
        assert!(curve.encode(0.6) > ToneCurve::Srgb.encode(0.6));
    }
}
