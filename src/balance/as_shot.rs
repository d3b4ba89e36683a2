//! The as-shot balance: the white that the camera took for neutral.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

use super::White;
use super::presets::{PresetTable, light_source_name};
use crate::colour::{ColourError, Duv, Kelvin};
use crate::still::ShotInfo;

/// Where the as-shot balance is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum BalanceSource {
    /// The user said so.
    Flag,
    /// Exif LightSource.
    LightSource,
    /// Not known: nothing recorded, or automatic.
    #[default]
    Unknown,
}

/// The balance a photo was taken with, as far as it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct AsShot {
    /// Where it is known from.
    pub source: BalanceSource,
    /// The preset's name, where it is one.
    pub name: Option<String>,
    /// The white; `None` where the balance is not known.
    pub white: Option<White>,
}

/// A text that says no balance.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum AsShotError {
    /// Neither a preset nor a temperature.
    #[error("`{given}` is neither a preset nor a temperature such as 5600K or 5600K,+0.003{}", did_you_mean(.nearest.as_deref()))]
    Unknown {
        /// What was given.
        given: String,
        /// A preset's name much like it.
        nearest: Option<String>,
    },
    /// A temperature or tint out of range.
    #[error("`{given}`: {source}")]
    OutOfRange {
        /// What was given.
        given: String,
        /// What is wrong with it.
        source: ColourError,
    },
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or_else(
        || "; `mirecast presets` lists the names".to_owned(),
        |name| format!("; did you mean `{name}`?"),
    )
}

impl AsShot {
    /// A balance as the user states it: a preset's name, `5600K`, or `5600K,+0.003` with a Duv.
    ///
    /// # Errors
    /// [`AsShotError`] for anything else, and for a white that is out of range.
    pub fn stated(text: &str, presets: &PresetTable) -> Result<Self, AsShotError> {
        let given = text.trim();
        if let Some(preset) = presets.named(given) {
            let name = Some(preset.name.clone());
            return Ok(Self { source: BalanceSource::Flag, name, white: Some(preset.white) });
        }
        let unknown = || AsShotError::Unknown {
            given: given.to_owned(),
            nearest: presets.nearest_name(given).map(str::to_owned),
        };
        let (kelvin, duv) = match given.split_once(',') {
            Some((kelvin, duv)) => (kelvin, Some(duv.trim().parse().map_err(|_| unknown())?)),
            None => (given, None),
        };
        let kelvin = kelvin.trim().trim_end_matches(['K', 'k']).trim_end();
        let kelvin: f64 = kelvin.parse().map_err(|_| unknown())?;
        let out_of_range = |source| AsShotError::OutOfRange { given: given.to_owned(), source };
        let kelvin = Kelvin::new(kelvin).map_err(out_of_range)?;
        let white = match duv {
            Some(duv) => White::new(kelvin, Duv::new(duv)),
            None => White::from_dial(kelvin),
        };
        let white = Some(white.map_err(out_of_range)?);
        Ok(Self { source: BalanceSource::Flag, name: None, white })
    }

    /// The balance that the file records. Automatic balance and "other" lights give unknown: the
    /// camera chose a white that it did not write down.
    #[must_use]
    pub fn recorded(shot: &ShotInfo, presets: &PresetTable) -> Self {
        let preset = shot.light_source.and_then(light_source_name).and_then(|n| presets.named(n));
        match preset {
            Some(preset) if shot.white_balance_auto != Some(true) => Self {
                source: BalanceSource::LightSource,
                name: Some(preset.name.clone()),
                white: Some(preset.white),
            },
            _ => Self::unknown(),
        }
    }

    /// Nothing known.
    #[must_use]
    pub fn unknown() -> Self {
        Self { source: BalanceSource::Unknown, name: None, white: None }
    }
}

impl fmt::Display for AsShot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.name, self.white) {
            (Some(name), Some(white)) => write!(f, "{name} ({:.0} K)", white.cct.get()),
            (_, Some(white)) => write!(f, "{white}"),
            _ => write!(f, "unknown"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stated(text: &str) -> Result<AsShot, AsShotError> {
        AsShot::stated(text, &PresetTable::built_in().unwrap())
    }

    #[test]
    fn a_balance_can_be_stated_by_name_or_by_number() {
        let kelvin = |text| stated(text).unwrap().white.unwrap().cct.get();
        assert_eq!(kelvin("Tungsten"), 3200.0);
        assert_eq!(kelvin("5600K"), 5600.0);
        assert_eq!(kelvin(" 5600 "), 5600.0);
        let tinted = stated("5600K,+0.003").unwrap().white.unwrap();
        assert_eq!((tinted.cct.get(), tinted.duv.get()), (5600.0, 0.003));
        assert_eq!(stated("4300k, -0.002").unwrap().white.unwrap().duv.get(), -0.002);
    }

    #[test]
    fn a_wrong_statement_says_what_to_write() {
        let message = |text| stated(text).unwrap_err().to_string();
        assert!(message("dayligt").contains("did you mean `daylight`?"));
        assert!(message("warm").contains("mirecast presets"));
        assert!(message("5600K,green").contains("5600K,+0.003"));
        assert!(message("90K").contains("1000 K"), "{}", message("90K"));
        assert!(message("5600K,0.2").contains("0.05"), "{}", message("5600K,0.2"));
        for nothing in ["", "K", ",", "nanK", "infK", "-5600K"] {
            assert!(stated(nothing).is_err(), "{nothing:?}");
        }
    }

    #[test]
    fn what_the_file_records_counts_unless_the_balance_was_automatic() {
        let presets = PresetTable::built_in().unwrap();
        let mut shot = ShotInfo { light_source: Some(3), ..ShotInfo::default() };
        let recorded = AsShot::recorded(&shot, &presets);
        assert_eq!(recorded.source, BalanceSource::LightSource);
        assert_eq!(recorded.name.as_deref(), Some("tungsten"));
        shot.white_balance_auto = Some(true);
        assert_eq!(AsShot::recorded(&shot, &presets), AsShot::unknown());
        shot = ShotInfo { light_source: Some(255), ..ShotInfo::default() };
        assert_eq!(AsShot::recorded(&shot, &presets), AsShot::unknown());
    }
}
