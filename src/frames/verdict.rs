//! From what a cast may be to what is said of the frame.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::CastPosterior;
use crate::colour::{Duv, MiredShift};
use crate::normal::{HALF_90, below};

/// What is said of a frame.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Verdict {
    /// Within the tolerance, as far as can be told.
    Neutral,
    /// Too orange.
    Orange,
    /// Too blue.
    Blue,
    /// Too green, and that more than orange or blue.
    Green,
    /// Too magenta, and that more than orange or blue.
    Magenta,
    /// The frame does not tell.
    Undecided,
}

impl Verdict {
    /// Every verdict, in the order in which they are listed.
    pub const ALL: [Self; 6] =
        [Self::Orange, Self::Blue, Self::Green, Self::Magenta, Self::Neutral, Self::Undecided];

    /// Its name in records.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Neutral => "neutral",
            Self::Orange => "orange",
            Self::Blue => "blue",
            Self::Green => "green",
            Self::Magenta => "magenta",
            Self::Undecided => "undecided",
        }
    }

    /// Whether it says that the frame has a cast.
    #[must_use]
    pub const fn is_cast(self) -> bool {
        !matches!(self, Self::Neutral | Self::Undecided)
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// What is still called neutral.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Tolerance {
    /// To orange and to blue, in mired.
    pub mired: f64,
    /// To green and to magenta, in Duv.
    pub duv: f64,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self { mired: 20.0, duv: 0.006 }
    }
}

/// A text that is no tolerance.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "write the tolerance in mired, above 0 and up to 200, as in 20; or mired and Duv, above 0 and \
     up to 0.05, with a comma between, as in 20,0.006"
)]
pub struct ToleranceError;

impl FromStr for Tolerance {
    type Err = ToleranceError;

    /// `20`, or `20,0.006` with a Duv.
    fn from_str(text: &str) -> Result<Self, ToleranceError> {
        let number = |text: &str, most: f64| {
            let number: f64 = text.trim().parse().ok()?;
            (number > 0.0 && number <= most).then_some(number)
        };
        let (mired, duv) = match text.split_once(',') {
            Some((mired, duv)) => (number(mired, 200.0), number(duv, 0.05)),
            None => (number(text, 200.0), Some(Self::default().duv)),
        };
        let (mired, duv) = mired.zip(duv).ok_or(ToleranceError)?;
        Ok(Self { mired, duv })
    }
}

// The rule, with T the tolerance and c the cast:
//
// 1. Orange if c > T is at least so probable as the interval is wide: WIDTH mired of it ask for
//    certainty, but never less than CALL_LEAST nor more than CALL_MOST are asked. Blue likewise. A
//    wide interval says that the frame tells little, and what little it tells is often wrong.
// 2. Green or magenta if P(Duv beyond its tolerance) ≥ CALL_TINT, unless it is orange or blue and
//    the mean cast is as many tolerances off: what is both is called by what disturbs more.
// 3. Else undecided if more than SPREAD of the probability lies beyond the tolerance, to whichever
//    side, or the mean lies FAR beyond it: it has a cast rather than none, but which is not sure.
// 4. Else neutral.
//
// The figures for orange, blue and undecided were chosen on posteriors of frames whose scenes the
// estimator had not been trained on, in the middle of what does equally well: WIDTH 150 to 185,
// CALL_LEAST up to 0.5, CALL_MOST 0.65 to 0.72. DEVELOPERS.md says what they give. No frame among
// those had a tint clearly beyond the tolerance: CALL_TINT was chosen on their evidence moved to lights that have.

/// The probability of a cast beyond the tolerance that it takes to call it orange or blue is the
/// width of the 90 % interval by this, in mired.
const WIDTH: f64 = 170.0;
/// But at least this,
const CALL_LEAST: f64 = 0.5;
/// and at most this.
const CALL_MOST: f64 = 0.72;
/// The least probability for green and magenta.
const CALL_TINT: f64 = 0.5;
/// Undecided if this much lies beyond the tolerance,
const SPREAD: f64 = 0.6;
/// or if the mean is so many tolerances off.
const FAR: f64 = 2.0;

/// What is said of a frame whose cast may be such.
#[must_use]
pub fn verdict(posterior: &CastPosterior, tolerance: Tolerance) -> Verdict {
    let [low, high] = posterior.mired_interval(0.9);
    let (mired, duv) = posterior.mean();
    let told = Told {
        orange: 1.0 - posterior.mired_below(MiredShift::new(tolerance.mired)),
        blue: posterior.mired_below(MiredShift::new(-tolerance.mired)),
        green: 1.0 - posterior.duv_below(Duv::new(tolerance.duv)),
        magenta: posterior.duv_below(Duv::new(-tolerance.duv)),
        width: (high - low).get(),
        mean: [mired.get(), duv.get()],
    };
    told.verdict(tolerance)
}

/// The same of a cast that is normally distributed: means and standard deviations. By the
/// distribution itself, not by points of it: a group is often so sure of its tint that the
/// tolerance lies within one step of any grid, and a tint that its frames have would be lost.
pub(super) fn verdict_of_normal(
    mired: (f64, f64),
    duv: (f64, f64),
    tolerance: Tolerance,
) -> Verdict {
    let beyond = |(mean, deviation): (f64, f64), edge: f64| below((mean - edge) / deviation);
    let short_of = |(mean, deviation): (f64, f64), edge: f64| below((edge - mean) / deviation);
    let told = Told {
        orange: beyond(mired, tolerance.mired),
        blue: short_of(mired, -tolerance.mired),
        green: beyond(duv, tolerance.duv),
        magenta: short_of(duv, -tolerance.duv),
        width: 2.0 * HALF_90 * mired.1,
        mean: [mired.0, duv.0],
    };
    told.verdict(tolerance)
}

/// What the rule goes by.
struct Told {
    /// The probabilities of a cast beyond the tolerance, to each side.
    orange: f64,
    blue: f64,
    green: f64,
    magenta: f64,
    /// Of the 90 % interval, in mired.
    width: f64,
    /// Mired, Duv.
    mean: [f64; 2],
}

impl Told {
    fn verdict(&self, tolerance: Tolerance) -> Verdict {
        let Self { orange, blue, green, magenta, width, mean: [mired, duv] } = *self;
        let needed = (width / WIDTH).clamp(CALL_LEAST, CALL_MOST);
        let is_cast = orange.max(blue) >= needed;
        let is_tint = green.max(magenta) >= CALL_TINT;
        let is_more_tint = duv.abs() / tolerance.duv > mired.abs() / tolerance.mired;
        if is_tint && (!is_cast || is_more_tint) {
            return if green > magenta { Verdict::Green } else { Verdict::Magenta };
        }
        if is_cast {
            return if orange > blue { Verdict::Orange } else { Verdict::Blue };
        }
        if orange + blue > SPREAD || mired.abs() > FAR * tolerance.mired {
            return Verdict::Undecided;
        }
        Verdict::Neutral
    }
}

#[cfg(test)]
mod tests {
    use super::super::CastPoint;
    use super::*;

    fn of(mired: (f64, f64), duv: (f64, f64)) -> Verdict {
        verdict_of_normal(mired, duv, Tolerance::default())
    }

    #[test]
    fn a_clear_cast_is_called_by_its_colour() {
        assert_eq!(of((60.0, 12.0), (0.0, 0.002)), Verdict::Orange);
        assert_eq!(of((-60.0, 12.0), (0.0, 0.002)), Verdict::Blue);
        assert_eq!(of((3.0, 8.0), (0.012, 0.002)), Verdict::Green);
        assert_eq!(of((3.0, 8.0), (-0.012, 0.002)), Verdict::Magenta);
        // What is both is called by what disturbs more.
        assert_eq!(of((60.0, 12.0), (0.012, 0.002)), Verdict::Orange);
        assert_eq!(of((30.0, 6.0), (0.012, 0.002)), Verdict::Green);
        assert_eq!(of((-30.0, 6.0), (-0.012, 0.002)), Verdict::Magenta);
    }

    #[test]
    fn a_sure_tint_is_called_however_near_the_tolerance_it_begins() {
        // 51.1 and 48.9 % beyond the tolerance; the rule asks for 50 %.
        assert_eq!(of((7.0, 10.0), (0.006_1, 0.003_69)), Verdict::Green);
        assert_eq!(of((7.0, 10.0), (-0.006_1, 0.003_69)), Verdict::Magenta);
        assert_eq!(of((7.0, 10.0), (0.005_9, 0.003_69)), Verdict::Neutral);
    }

    #[test]
    fn a_frame_that_may_well_be_neutral_is_left_alone() {
        assert_eq!(of((0.0, 15.0), (0.0, 0.003)), Verdict::Neutral);
        assert_eq!(of((19.0, 3.0), (0.0, 0.003)), Verdict::Neutral);
        assert_eq!(of((15.0, 20.0), (0.005_5, 0.004)), Verdict::Neutral);
    }

    #[test]
    fn a_frame_that_has_a_cast_but_does_not_tell_which_is_undecided() {
        assert_eq!(of((0.0, 80.0), (0.0, 0.003)), Verdict::Undecided);
        assert_eq!(of((0.0, 20.0), (0.0, 0.003)), Verdict::Neutral);
        assert_eq!(of((120.0, 80.0), (0.0, 0.003)), Verdict::Orange);
        // What little it tells is not to be relied on.
        assert_eq!(of((40.0, 40.0), (0.0, 0.003)), Verdict::Undecided);
        assert_eq!(of((40.0, 20.0), (0.0, 0.003)), Verdict::Orange);
        // Half of it lies within the tolerance, but nobody would call that neutral.
        let half_far = CastPosterior::new(vec![
            CastPoint { mired: MiredShift::new(-150.0), duv: Duv::new(0.0), weight: 0.55 },
            CastPoint { mired: MiredShift::new(0.0), duv: Duv::new(0.0), weight: 0.45 },
        ]);
        let of = |posterior: CastPosterior| verdict(&posterior, Tolerance::default());
        assert_eq!(half_far.map(of), Some(Verdict::Undecided));
    }

    #[test]
    fn a_tolerance_is_mired_or_mired_and_duv() {
        assert_eq!("20".parse(), Ok(Tolerance::default()));
        assert_eq!(" 12.5, 0.004 ".parse(), Ok(Tolerance { mired: 12.5, duv: 0.004 }));
        for wrong in ["", "0", "-5", "20,", "20;0.006", "20,6", "nan", "inf", "20,0.006,1"] {
            assert_eq!(wrong.parse::<Tolerance>(), Err(ToleranceError), "{wrong:?}");
        }
    }
}
