//! The table of white-balance presets: built in, or a copy that the user edited.

use serde::Deserialize;
use std::borrow::Cow;
use std::path::{Path, PathBuf};
use strsim::levenshtein;

use super::White;
use super::toml_table::{Field, Kind, entries, text_of};
use crate::colour::{CctDuv, ColourError, Duv, Kelvin, Xy};
use crate::system::in_system_words;

/// One preset.
#[derive(Debug, Clone, PartialEq)]
pub struct Preset {
    /// Its name: an Exif LightSource value in lower case with hyphens, or the user's own.
    pub name: String,
    /// The light it is meant for.
    pub white: White,
    /// Whether its miss is reported; false for lights that are only known by name.
    pub compare: bool,
}

/// Presets in the order of their table.
#[derive(Debug, Clone, PartialEq)]
pub struct PresetTable {
    presets: Vec<Preset>,
}

/// Why a preset table cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PresetError {
    /// The file could not be read.
    #[error("{path}: cannot read the preset table: {why}. Check the name; `mirecast presets --write FILE` makes a table to edit", path = path.display(), why = in_system_words(.source))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Not TOML, or a key or value that a preset does not have.
    #[error("{place}: {message}")]
    Syntax {
        /// File and line.
        place: String,
        /// What is wrong there.
        message: String,
    },
    /// A preset that says too little, too much, or names no possible light.
    #[error("{place}: preset `{name}`: {message}")]
    Preset {
        /// File and line.
        place: String,
        /// The preset.
        name: String,
        /// What is wrong with it and what to write instead.
        message: String,
    },
    /// A table without a single preset to compare with.
    #[error(
        "{place}: there is no preset to compare with in this table; add one, as in\n  [daylight]\n  kelvin = 5500"
    )]
    Empty {
        /// File.
        place: String,
    },
}

const BUILT_IN: &str = include_str!("presets.toml");

const FIELDS: [Field; 5] = [
    Field { key: "kelvin", kind: Kind::Number, example: "5500" },
    Field { key: "duv", kind: Kind::Number, example: "0.002" },
    Field { key: "x", kind: Kind::Number, example: "0.3721" },
    Field { key: "y", kind: Kind::Number, example: "0.3751" },
    Field { key: "compare", kind: Kind::YesOrNo, example: "false" },
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    kelvin: Option<f64>,
    duv: Option<f64>,
    x: Option<f64>,
    y: Option<f64>,
    #[serde(default = "yes")]
    compare: bool,
}

fn yes() -> bool {
    true
}

impl PresetTable {
    /// The table that comes with the program.
    ///
    /// # Errors
    /// None in practice: the built-in table is checked by a test.
    pub fn built_in() -> Result<Self, PresetError> {
        Self::parse(BUILT_IN, "built-in presets")
    }

    /// The built-in table's text, comments and all: a copy to edit.
    #[must_use]
    pub fn built_in_text() -> &'static str {
        BUILT_IN
    }

    /// Reads a table from a file.
    ///
    /// # Errors
    /// [`PresetError`] with the line that is wrong.
    pub fn from_file(path: &Path) -> Result<Self, PresetError> {
        let text = text_of(path)
            .map_err(|source| PresetError::Unreadable { path: path.to_path_buf(), source })?;
        Self::parse(&text, &path.display().to_string())
    }

    /// Reads a table from text; `origin` names it in errors.
    ///
    /// # Errors
    /// [`PresetError`] with the line that is wrong.
    pub fn parse(text: &str, origin: &str) -> Result<Self, PresetError> {
        let entries = entries::<Entry>(text, origin, &FIELDS)
            .map_err(|error| PresetError::Syntax { place: error.place, message: error.message })?;
        let mut presets = Vec::new();
        for entry in entries {
            let white = entry.values.white().map_err(|message| PresetError::Preset {
                place: entry.place,
                name: entry.name.clone(),
                message,
            })?;
            presets.push(Preset { name: entry.name, white, compare: entry.values.compare });
        }
        if !presets.iter().any(|preset| preset.compare) {
            return Err(PresetError::Empty { place: origin.to_owned() });
        }
        Ok(Self { presets })
    }

    /// All presets, in the table's order.
    #[must_use]
    pub fn presets(&self) -> &[Preset] {
        &self.presets
    }

    /// Those whose misses are reported.
    pub fn compared(&self) -> impl Iterator<Item = &Preset> {
        self.presets.iter().filter(|preset| preset.compare)
    }

    /// The preset of a name, in any letter case.
    #[must_use]
    pub fn named(&self, name: &str) -> Option<&Preset> {
        self.presets.iter().find(|preset| preset.name.eq_ignore_ascii_case(name))
    }

    /// The known name that an everyday word stands for, or that is most like `name`, if one is like
    /// it at all.
    #[must_use]
    pub fn nearest_name(&self, name: &str) -> Option<&str> {
        if let Some(meant) = everyday(name).and_then(|meant| self.named(meant)) {
            return Some(&meant.name);
        }
        self.presets
            .iter()
            .map(|preset| (levenshtein(&name.to_lowercase(), &preset.name), preset.name.as_str()))
            .filter(|&(edits, known)| edits <= 1 + known.len() / 4)
            .min_by_key(|&(edits, _)| edits)
            .map(|(_, known)| known)
    }
}

/// The preset that an everyday word for a light stands for.
fn everyday(word: &str) -> Option<&'static str> {
    Some(match word.trim().to_lowercase().replace(['-', '_'], " ").as_str() {
        "incandescent" | "bulb" | "light bulb" | "halogen" | "indoor" | "indoors" => "tungsten",
        "sun" | "sunny" | "sunlight" | "sunshine" | "direct sun" | "direct sunlight" => "daylight",
        "overcast" | "clouds" => "cloudy",
        "neon" | "tube" | "tubes" => "fluorescent",
        _ => return None,
    })
}

impl Entry {
    fn white(&self) -> Result<White, String> {
        const WAYS: &str = "give `kelvin`, or `kelvin` and `duv`, or the chromaticity `x` and `y`";
        let range = |error: ColourError| error.to_string();
        match (self.kelvin, self.duv, self.x, self.y) {
            (Some(kelvin), None, None, None) => {
                Kelvin::new(kelvin).and_then(White::from_dial).map_err(range)
            }
            (Some(kelvin), Some(duv), None, None) => Kelvin::new(kelvin)
                .and_then(|kelvin| White::new(kelvin, Duv::new(duv)))
                .map_err(range),
            (None, None, Some(x), Some(y)) => {
                CctDuv::from_xy(Xy::new(x, y)).map(White::from).map_err(range)
            }
            (None, None, None, None) => Err(format!("says no light: {WAYS}")),
            _ => Err(format!("says its light in two ways or by half: {WAYS}")),
        }
    }
}

/// The preset name of an Exif LightSource code (Exif 3.0, tag 37384); `None` for unknown, other
/// and reserved codes.
#[must_use]
pub fn light_source_name(code: u16) -> Option<&'static str> {
    Some(match code {
        // 9 is "fine weather", which dials call daylight too.
        1 | 9 => "daylight",
        2 => "fluorescent",
        3 => "tungsten",
        4 => "flash",
        10 => "cloudy",
        11 => "shade",
        12 => "daylight-fluorescent",
        13 => "day-white-fluorescent",
        14 => "cool-white-fluorescent",
        15 => "white-fluorescent",
        16 => "warm-white-fluorescent",
        17 => "standard-light-a",
        18 => "standard-light-b",
        19 => "standard-light-c",
        20 => "d55",
        21 => "d65",
        22 => "d75",
        23 => "d50",
        24 => "iso-studio-tungsten",
        _ => return None,
    })
}

/// A preset's name as a sentence has it: those that Exif numbers in words, one of the user's own as it is.
#[must_use]
pub fn preset_in_words(name: &str) -> Cow<'_, str> {
    Cow::Borrowed(match name {
        "standard-light-a" => "standard light A",
        "standard-light-b" => "standard light B",
        "standard-light-c" => "standard light C",
        "d50" => "D50",
        "d55" => "D55",
        "d65" => "D65",
        "d75" => "D75",
        "iso-studio-tungsten" => "ISO studio tungsten",
        _ => {
            let is_numbered = (0..=u16::from(u8::MAX)).filter_map(light_source_name);
            return match is_numbered.into_iter().any(|known| known == name) {
                true => Cow::Owned(name.replace('-', " ")),
                false => Cow::Borrowed(name),
            };
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_exif_numbers_are_read_as_words() {
        assert_eq!(preset_in_words("standard-light-a"), "standard light A");
        assert_eq!(preset_in_words("cool-white-fluorescent"), "cool white fluorescent");
        assert_eq!(preset_in_words("my-own-lamp"), "my-own-lamp");
        assert_eq!(preset_in_words("tungsten"), "tungsten");
    }

    #[test]
    fn the_built_in_table_holds_every_light_that_exif_numbers() {
        let table = PresetTable::built_in().unwrap();
        let compared: Vec<_> = table.compared().map(|preset| preset.name.as_str()).collect();
        let dial = ["daylight", "cloudy", "shade", "flash", "tungsten", "fluorescent"];
        assert_eq!(compared, dial, "in the table's own order");
        let known = (0..=u16::from(u8::MAX)).filter_map(light_source_name);
        let missing: Vec<_> = known.filter(|name| table.named(name).is_none()).collect();
        assert_eq!(missing, Vec::<&str>::new());
        assert_eq!((0..=255).filter_map(light_source_name).count(), 20);
    }

    #[test]
    fn a_bare_kelvin_number_takes_its_tint_from_the_locus_a_dial_means() {
        let table = PresetTable::parse("[a]\nkelvin = 4000\n[b]\nkelvin = 4001\n", "t").unwrap();
        let duv = |name| table.named(name).unwrap().white.duv.get();
        assert_eq!(duv("a"), 0.0);
        assert!(duv("b") > 0.001, "daylight lies above the Planckian locus: {}", duv("b"));
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line() {
        let wrong = |text: &str| PresetTable::parse(text, "my.toml").unwrap_err().to_string();
        for (text, line, word) in [
            ("[daylight]\nkelvn = 5500\n", "line 2", "kelvn"),
            (
                "[daylight]\nkelvin = 5500\n\n[lamp]\nkelvin = \"3200\"\n",
                "line 5",
                "`kelvin = 5500`",
            ),
            (
                "daylight = 5500\n",
                "line 1",
                "`[daylight]`, and under it lines such as `kelvin = 5500`",
            ),
            ("\"my lamp\" = 3200\n", "line 1", "`[\"my lamp\"]`"),
            ("[[preset]]\nkelvin = 5500\n", "line 1", "own names, each in one pair"),
            ("[a]\n[a.kelvin]\n", "line 2", "a number, without quotes"),
            ("[a]\nkelvin = 3200K\n", "line 2", "write `kelvin = 3200`"),
            ("[a]\nkelvin = 3200 K # lamp\n", "line 2", "write `kelvin = 3200`"),
            ("[a]\nkelvin = 5500\ncompare = 'no'\n", "line 3", "`compare = false`"),
            ("[daylight]\nkelvin = 5500\n[odd]\nkelvin = 12\n", "line 3", "odd"),
            ("[half]\nx = 0.3\n", "line 1", "`x` and `y`"),
            ("[none]\n", "line 1", "kelvin"),
            ("[a]\nkelvin = nan\n", "line 1", "`a`"),
            ("[a\nkelvin = 5500\n", "line 1", ""),
            ("[a]\nkelvin = 5500\n[a]\nkelvin = 5600\n", "line 3", "duplicate"),
            ("kelvin = 5500\n", "line 1", "as in `[daylight]`"),
        ] {
            let message = wrong(text);
            assert!(message.starts_with(&format!("my.toml, {line}:")), "{text:?} gave {message}");
            assert!(message.contains(word), "{text:?} gave {message}");
        }
        assert!(wrong("# nothing\n").contains("no preset"));
    }

    #[test]
    fn a_slip_in_a_name_finds_the_name_meant() {
        let table = PresetTable::built_in().unwrap();
        assert_eq!(table.nearest_name("tungstem"), Some("tungsten"));
        assert_eq!(table.nearest_name("Clody"), Some("cloudy"));
        assert_eq!(table.nearest_name("zebra"), None);
        for (word, meant) in [
            ("Bulb", "tungsten"),
            ("indoor", "tungsten"),
            ("incandescent", "tungsten"),
            ("direct-sun", "daylight"),
            ("sunny", "daylight"),
            ("overcast", "cloudy"),
            ("neon", "fluorescent"),
            ("tube", "fluorescent"),
        ] {
            assert_eq!(table.nearest_name(word), Some(meant), "{word}");
        }
        let own = PresetTable::parse("[window]\nkelvin = 5000\n", "own.toml").unwrap();
        assert_eq!(own.nearest_name("sunny"), None, "only what the table knows");
        assert!(table.named("Daylight").is_some());
    }
}
