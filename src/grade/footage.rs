//! The encoding that the footage to be corrected is in.

use std::fmt;
use std::str::FromStr;

use crate::colour::{CurveError, TransferCurve};
use crate::told::Told;

/// How footage stores light: a curve of an open standard, over the primaries and the white of
/// Recommendation ITU-R BT.709, which are those of sRGB too.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footage(TransferCurve);

/// Why a name stands for no encoding that a correction can be made for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum FootageError {
    /// A camera's log encoding, whose curve is its maker's own.
    #[error("{}", log_in_words(.0, Told::AtTerminal))]
    Log(String),
    /// Some other name, or a power that makes no sense.
    #[error(transparent)]
    Curve(#[from] CurveError),
}

fn log_in_words(name: &str, told: Told) -> String {
    format!(
        "`{name}` sounds like a log encoding, and its curve is not known here; a guess would tint \
         the shadows. Convert the footage to Rec. 709 or to linear light in the grading program \
         first, put the correction after that step, and {}",
        told.either(
            "say --footage rec709 or --footage linear",
            "choose Rec. 709 or linear light here"
        )
    )
}

impl FootageError {
    /// The same for where it is read; without it, for a terminal.
    #[must_use]
    pub fn told(&self, told: Told) -> String {
        match self {
            Self::Log(name) => log_in_words(name, told),
            other => other.to_string(),
        }
    }
}

impl Footage {
    /// sRGB (IEC 61966-2-1), as cameras' pictures are in.
    pub const SRGB: Self = Self(TransferCurve::Srgb);

    /// Footage of a curve; `None` for a gamma outside 1–4.
    #[must_use]
    pub fn new(curve: TransferCurve) -> Option<Self> {
        match curve {
            TransferCurve::Gamma(power) => TransferCurve::gamma(power).map(Self),
            curve => Some(Self(curve)),
        }
    }

    /// Its curve.
    #[must_use]
    pub const fn curve(self) -> TransferCurve {
        self.0
    }

    /// Linear light of encoded red, green and blue.
    #[must_use]
    pub fn decode(self, encoded: [f64; 3]) -> [f64; 3] {
        encoded.map(|value| self.0.decode(value))
    }

    /// Encoded values of linear red, green and blue.
    #[must_use]
    pub fn encode(self, linear: [f64; 3]) -> [f64; 3] {
        linear.map(|light| self.0.encode(light))
    }

    /// What it is, for people, with its standard.
    #[must_use]
    pub fn described(self) -> String {
        let curve = match self.0 {
            TransferCurve::Linear => "linear light".to_owned(),
            TransferCurve::Srgb => "sRGB (IEC 61966-2-1)".to_owned(),
            TransferCurve::Rec709 => "the camera curve of Rec. ITU-R BT.709-6".to_owned(),
            TransferCurve::Gamma(power) => format!("plain gamma {power}"),
        };
        format!("{curve}, BT.709 primaries, D65 white, full range 0 to 1")
    }
}

impl Default for Footage {
    fn default() -> Self {
        Self::SRGB
    }
}

/// The name by which it is asked for.
impl fmt::Display for Footage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Footage {
    type Err = FootageError;

    fn from_str(text: &str) -> Result<Self, FootageError> {
        text.parse().map(Self).map_err(|error| {
            let name = text.trim().to_lowercase();
            let is_log = name.contains("log") || name.ends_with("flat");
            match error {
                CurveError::Unknown(given) if is_log => FootageError::Log(given),
                error => error.into(),
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_encodings_are_known_by_name() {
        let named = |name: &str| name.parse::<Footage>().map(Footage::curve);
        assert_eq!(named("sRGB"), Ok(TransferCurve::Srgb));
        assert_eq!(named("Rec. 709"), Ok(TransferCurve::Rec709));
        assert_eq!(named("linear"), Ok(TransferCurve::Linear));
        assert_eq!(named("gamma2.4"), Ok(TransferCurve::Gamma(2.4)));
        for name in ["srgb", "rec709", "linear", "gamma2.2"] {
            assert_eq!(name.parse::<Footage>().unwrap().to_string(), name);
        }
    }

    #[test]
    fn a_log_encoding_is_refused_with_advice_and_nothing_is_guessed() {
        for name in ["Log", "log-c", "X-Log3", "cineon log"] {
            let refused = name.parse::<Footage>().unwrap_err();
            assert_eq!(refused, FootageError::Log(name.to_owned()));
            assert!(refused.to_string().contains("Convert the footage"), "{refused}");
        }
        let unknown = "technicolour".parse::<Footage>().unwrap_err();
        assert!(unknown.to_string().contains("rec709"), "{unknown}");
        for gamma in ["gamma", "gamma0", "gamma99", "gammaNaN", "gamma-2"] {
            assert!(
                matches!(gamma.parse::<Footage>(), Err(FootageError::Curve(CurveError::Power(_)))),
                "{gamma}"
            );
        }
        assert_eq!(Footage::new(TransferCurve::Gamma(0.2)), None);
    }
}
