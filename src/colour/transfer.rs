//! Transfer curves: encoded value to linear light and back.

use std::fmt;
use std::str::FromStr;

/// How an encoding stores linear light. Both are 0 for black and 1 for white.
///
/// Values outside 0–1 follow the same formula, negative ones mirrored about 0, so that colours
/// outside a gamut survive a round trip.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum TransferCurve {
    /// The value is linear light.
    Linear,
    /// sRGB (IEC 61966-2-1): a straight line near black, then a power of 2.4.
    Srgb,
    /// The camera curve of Recommendation ITU-R BT.709-6 (its OETF) and its inverse. It is not the
    /// inverse of what a display does.
    Rec709,
    /// A plain power: light is the value to this power. Not finite results for a power that is
    /// zero or not finite.
    Gamma(f64),
}

/// A name that stands for no curve.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CurveError {
    /// None that is known.
    #[error(
        "`{0}` is no encoding that is known here; write srgb, rec709, linear, or gamma and a \
         number, as in gamma2.2"
    )]
    Unknown(String),
    /// A power out of the range 1 to 4.
    #[error(
        "a gamma of `{0}` makes no sense; write gamma and a number from 1 to 4, as in gamma2.2"
    )]
    Power(String),
}

impl TransferCurve {
    /// A plain power from 1 to 4; `None` outside, where no picture is encoded.
    #[must_use]
    pub fn gamma(power: f64) -> Option<Self> {
        (1.0..=4.0).contains(&power).then_some(Self::Gamma(power))
    }

    /// Linear light of the encoded `value`.
    #[must_use]
    pub fn decode(self, value: f64) -> f64 {
        mirror(value, |value| match self {
            Self::Linear => value,
            Self::Srgb if value <= 0.040_45 => value / 12.92,
            Self::Srgb => ((value + 0.055) / 1.055).powf(2.4),
            Self::Rec709 if value < 4.5 * 0.018 => value / 4.5,
            Self::Rec709 => ((value + 0.099) / 1.099).powf(1.0 / 0.45),
            Self::Gamma(power) => value.powf(power),
        })
    }

    /// Encoded value of linear `light`.
    #[must_use]
    pub fn encode(self, light: f64) -> f64 {
        mirror(light, |light| match self {
            Self::Linear => light,
            Self::Srgb if light <= 0.003_130_8 => 12.92 * light,
            Self::Srgb => 1.055 * light.powf(1.0 / 2.4) - 0.055,
            Self::Rec709 if light < 0.018 => 4.5 * light,
            Self::Rec709 => 1.099 * light.powf(0.45) - 0.099,
            Self::Gamma(power) => light.powf(1.0 / power),
        })
    }
}

/// The name by which it is asked for.
impl fmt::Display for TransferCurve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Linear => f.write_str("linear"),
            Self::Srgb => f.write_str("srgb"),
            Self::Rec709 => f.write_str("rec709"),
            Self::Gamma(power) => write!(f, "gamma{power}"),
        }
    }
}

/// By its name, whatever the capitals, spaces, points and hyphens in it.
impl FromStr for TransferCurve {
    type Err = CurveError;

    fn from_str(text: &str) -> Result<Self, CurveError> {
        let text = text.trim();
        let lower = text.to_lowercase();
        let bare: String = lower.chars().filter(|c| !matches!(c, ' ' | '.' | '-')).collect();
        match bare.as_str() {
            "srgb" => return Ok(Self::Srgb),
            "rec709" | "bt709" => return Ok(Self::Rec709),
            "linear" => return Ok(Self::Linear),
            _ => {}
        }
        // With its point, and with whatever else was left out above.
        let number = lower.strip_prefix("gamma").map(str::trim);
        let number = number.ok_or_else(|| CurveError::Unknown(text.to_owned()))?;
        let power = number.parse().ok().and_then(Self::gamma);
        power.ok_or_else(|| CurveError::Power(number.to_owned()))
    }
}

fn mirror(value: f64, curve: impl FnOnce(f64) -> f64) -> f64 {
    curve(value.abs()).copysign(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [TransferCurve; 4] = [
        TransferCurve::Linear,
        TransferCurve::Srgb,
        TransferCurve::Rec709,
        TransferCurve::Gamma(2.2),
    ];

    #[test]
    fn curves_are_known_by_name() {
        for curve in ALL {
            assert_eq!(curve.to_string().parse(), Ok(curve));
        }
        assert_eq!("Rec. 709".parse(), Ok(TransferCurve::Rec709));
        assert_eq!(" Gamma 2.4".parse(), Ok(TransferCurve::Gamma(2.4)));
        for power in ["gamma", "gamma0", "gamma99", "gammaNaN", "gamma-2"] {
            let error = power.parse::<TransferCurve>().unwrap_err();
            assert!(matches!(error, CurveError::Power(_)), "{power}");
        }
        let unknown = "technicolour".parse::<TransferCurve>().unwrap_err();
        assert!(unknown.to_string().contains("rec709"), "{unknown}");
    }

    // By hand from the formulas of the standards.
    #[test]
    fn curves_have_the_standards_values() {
        let close = |value: f64, wanted: f64| (value - wanted).abs() < 1e-9;
        assert!(close(TransferCurve::Srgb.decode(0.5), 0.214_041_140_5));
        assert!(close(TransferCurve::Srgb.decode(0.02), 0.02 / 12.92));
        assert!(close(TransferCurve::Srgb.encode(0.18), 0.461_356_129_5));
        assert!(close(TransferCurve::Rec709.encode(0.18), 0.409_007_728_8));
        assert!(close(TransferCurve::Rec709.encode(0.01), 0.045));
        assert!(close(TransferCurve::Gamma(2.0).decode(0.5), 0.25));
        assert!(close(TransferCurve::Gamma(2.0).encode(0.25), 0.5));
    }

    #[test]
    fn black_and_white_stay_and_order_is_kept() {
        for curve in ALL {
            assert!((curve.decode(1.0) - 1.0).abs() < 1e-15, "{curve:?}");
            assert!((curve.encode(1.0) - 1.0).abs() < 1e-15, "{curve:?}");
            assert_eq!(curve.decode(0.0), 0.0, "{curve:?}");
            assert_eq!(curve.encode(0.0), 0.0, "{curve:?}");
            let codes: Vec<f64> = (-260..=260).map(|code| f64::from(code) / 255.0).collect();
            assert!(codes.is_sorted_by(|a, b| curve.decode(*a) < curve.decode(*b)), "{curve:?}");
            assert!(codes.is_sorted_by(|a, b| curve.encode(*a) < curve.encode(*b)), "{curve:?}");
        }
    }
}
