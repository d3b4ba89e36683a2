//! The as-shot balance: the white that the camera took for neutral.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

use super::White;
use super::presets::{PresetTable, light_source_name, preset_in_words};
use crate::colour::{CctDuv, ColourError, Duv, Kelvin, Xy};
use crate::still::{ShotInfo, Still, XmpShot};

/// Where the as-shot balance is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum BalanceSource {
    /// The user said so.
    Flag,
    /// Exif LightSource.
    LightSource,
    /// The raw file itself: its as-shot balance.
    Raw,
    /// A raw file of the same shot beside the picture: what the camera applied to both, so long as
    /// the picture is the camera's own.
    RawBeside,
    /// `exif:LightSource` in the picture's XMP data.
    Xmp,
    /// `exif:LightSource` in an XMP file beside the picture.
    Sidecar,
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
    /// The white; `None` where the balance is not known, or by a name alone that no table explains.
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
    /// Automatic, which the camera alone knows.
    #[error(
        "`{given}`: automatic is no balance that is known: leave it out, or photograph the card \
         at a fixed preset"
    )]
    Automatic {
        /// What was given.
        given: String,
    },
    /// A temperature or tint out of range.
    #[error("`{given}`: {source}{}", range(*.source))]
    OutOfRange {
        /// What was given.
        given: String,
        /// What is wrong with it.
        source: ColourError,
    },
}

/// What may be typed, where a temperature is what is wrong.
fn range(source: ColourError) -> &'static str {
    match source {
        ColourError::InvalidKelvin(_)
        | ColourError::BelowCctRange
        | ColourError::AboveCctRange
        | ColourError::OutsideDaylightLocus(_) => {
            "; a temperature is from 1000K to 25000K, or with a tint, as in 30000K,0.003, to 40000K"
        }
        _ => "",
    }
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
        if ["auto", "automatic", "awb"].iter().any(|auto| given.eq_ignore_ascii_case(auto)) {
            return Err(AsShotError::Automatic { given: given.to_owned() });
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

    /// The balance that the file, or what lies beside it, records. What is nearest to what the camera
    /// did comes first:
    ///
    /// 1. a raw file's own as-shot balance, and that of a raw file of the same shot beside a
    ///    finished picture: the very numbers that the camera applied, automatic balance or not;
    /// 2. Exif LightSource, which the camera wrote: a preset's name, good to what the preset means;
    /// 3. the same in embedded XMP, which a program copied from Exif or somebody corrected;
    /// 4. the same in a sidecar, which need not even be of this picture.
    ///
    /// A source that says automatic balance ends the search among those after it: what they could
    /// name is no more than a guess at what the camera chose. "Other" lights give unknown. A preset that
    /// the table lacks keeps its name, and has no white.
    #[must_use]
    pub fn recorded(shot: &ShotInfo, presets: &PresetTable) -> Self {
        for (source, white) in
            [(BalanceSource::Raw, shot.raw_white), (BalanceSource::RawBeside, shot.raw_beside)]
        {
            if let Some(light) = white.and_then(|white| CctDuv::from_xy(white).ok()) {
                return Self { source, name: None, white: Some(light.into()) };
            }
        }
        let xmp = |found: &Option<XmpShot>| {
            let found = found.clone().unwrap_or_default();
            (found.light_source, found.white_balance_auto)
        };
        let presets_named = [
            (BalanceSource::LightSource, (shot.light_source, shot.white_balance_auto)),
            (BalanceSource::Xmp, xmp(&shot.xmp)),
            (BalanceSource::Sidecar, xmp(&shot.sidecar)),
        ];
        let mut lacking = None;
        for (source, (light_source, automatic)) in presets_named {
            if automatic == Some(true) {
                break;
            }
            let name = light_source.and_then(light_source_name);
            let Some(name) = name else { continue };
            let Some(preset) = presets.named(name) else {
                lacking.get_or_insert((source, name));
                continue;
            };
            let (name, white) = (Some(preset.name.clone()), Some(preset.white));
            return Self { source, name, white };
        }
        lacking.map_or_else(Self::unknown, |(source, name)| Self {
            source,
            name: Some(name.to_owned()),
            white: None,
        })
    }

    /// What the file of a finished picture records, where this is stated instead and is another balance: by
    /// more than two may differ that are called the same. A raw picture's light rests on neither.
    #[must_use]
    pub fn overrules(&self, still: &Still, presets: &PresetTable) -> Option<Self> {
        const APART: f64 = 20.0;
        let stated = self.white.filter(|_| still.raw.is_none())?;
        let recorded = Self::recorded(&still.shot, presets);
        let apart = (stated.mired() - recorded.white?.mired()).get();
        (apart.abs() > APART).then_some(recorded)
    }

    /// The white's chromaticity, where it is known.
    #[must_use]
    pub fn xy(&self) -> Option<Xy> {
        self.white.map(|white| white.to_cct_duv().to_xy())
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
            (Some(name), Some(white)) => {
                write!(f, "{} ({:.0} K)", preset_in_words(name), white.cct.get())
            }
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
        assert!(message("sunny").contains("did you mean `daylight`?"));
        for automatic in ["auto", "AWB", "Automatic"] {
            assert!(message(automatic).contains("leave it out"), "{}", message(automatic));
        }
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
        let own = PresetTable::parse("[daylight]\nkelvin = 5600\n", "own.toml").unwrap();
        let lacking = AsShot::recorded(&shot, &own);
        assert_eq!((lacking.source, lacking.white), (BalanceSource::LightSource, None));
        assert_eq!(lacking.name.as_deref(), Some("tungsten"));
        shot.white_balance_auto = Some(true);
        assert_eq!(AsShot::recorded(&shot, &presets), AsShot::unknown());
        shot = ShotInfo { light_source: Some(255), ..ShotInfo::default() };
        assert_eq!(AsShot::recorded(&shot, &presets), AsShot::unknown());
    }

    #[test]
    fn what_is_nearest_to_what_the_camera_did_comes_first() {
        let presets = PresetTable::built_in().unwrap();
        let source = |shot: &ShotInfo| AsShot::recorded(shot, &presets).source;
        let xmp = XmpShot { light_source: Some(10), ..XmpShot::default() };
        let white = Some(crate::colour::illuminants::D65);
        let mut shot = ShotInfo { sidecar: Some(xmp.clone()), ..ShotInfo::default() };
        assert_eq!(source(&shot), BalanceSource::Sidecar);
        assert_eq!(AsShot::recorded(&shot, &presets).name.as_deref(), Some("cloudy"));
        shot.xmp = Some(xmp);
        assert_eq!(source(&shot), BalanceSource::Xmp);
        shot.light_source = Some(3);
        assert_eq!(source(&shot), BalanceSource::LightSource);
        // Automatic: nothing after it may name a preset, but a raw file still knows.
        shot.white_balance_auto = Some(true);
        assert_eq!(source(&shot), BalanceSource::Unknown);
        shot.raw_beside = white;
        assert_eq!(source(&shot), BalanceSource::RawBeside);
        shot.raw_white = white;
        assert_eq!(source(&shot), BalanceSource::Raw);
        let kelvin = AsShot::recorded(&shot, &presets).white.unwrap().cct.get();
        assert!((kelvin - 6503.0).abs() < 2.0, "{kelvin}");
    }
}
