//! How much of a correction is made.

use std::fmt;
use std::str::FromStr;

/// How much of a correction is made: above 0 and at most 1, which is all of it. Half of it leaves
/// half of the cast, as adaptation counts it: each cone's gain is raised to this power.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Strength(f64);

/// A strength that cannot be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no strength; write a percentage from 1 to 100, as in 60 or 60%")]
pub struct StrengthError(String);

impl Strength {
    /// All of the correction.
    pub const FULL: Self = Self(1.0);

    /// A share above 0 and up to 1; `None` outside.
    #[must_use]
    pub fn new(share: f64) -> Option<Self> {
        (share > 0.0 && share <= 1.0).then_some(Self(share))
    }

    /// The share.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl Default for Strength {
    fn default() -> Self {
        Self::FULL
    }
}

/// As a percentage.
impl fmt::Display for Strength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}%", (self.0 * 1000.0).round() / 10.0)
    }
}

impl FromStr for Strength {
    type Err = StrengthError;

    fn from_str(text: &str) -> Result<Self, StrengthError> {
        let number = text.trim().trim_end_matches('%').trim();
        let percent = number.parse().ok().filter(|percent: &f64| *percent >= 1.0);
        percent
            .and_then(|percent| Self::new(percent / 100.0))
            .ok_or_else(|| StrengthError(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strength_is_a_percentage() {
        assert_eq!("60".parse(), Ok(Strength(0.6)));
        assert_eq!(" 100 % ".parse(), Ok(Strength::FULL));
        assert_eq!("62.5%".parse::<Strength>().unwrap().to_string(), "62.5%");
        for none in ["0", "0.6", "-5", "101", "", "%", "NaN", "inf", "half"] {
            assert!(none.parse::<Strength>().is_err(), "{none}");
        }
    }
}
