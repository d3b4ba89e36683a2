//! The table of conversion and correction gels: built in, or a copy that the user edited.

use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::toml_table::{Field, Kind, entries, text_of};
use crate::colour::{Duv, MiredShift};
use crate::system::in_system_words;

/// What a gel is meant to change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GelKind {
    /// Colour temperature: CTO, CTB.
    Temperature,
    /// Tint: plus green, minus green.
    Green,
}

/// One gel.
#[derive(Debug, Clone, PartialEq)]
pub struct Gel {
    /// Its name.
    pub name: String,
    /// What it is meant to change.
    pub kind: GelKind,
    /// What it does to a light's place in mired: + more orange, − bluer.
    pub mired: MiredShift,
    /// What it does to a light's Duv: + greener, − more magenta.
    pub duv: Duv,
    /// Light that it costs, stops, 0 or more.
    pub stops: f64,
}

/// Gels in the order of their table.
#[derive(Debug, Clone, PartialEq)]
pub struct GelTable {
    gels: Vec<Gel>,
}

/// Why a gel table cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum GelError {
    /// The file could not be read.
    #[error("{path}: cannot read the gel table: {why}. Check the name; `mirecast gels --write FILE` makes a table to edit", path = path.display(), why = in_system_words(.source))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Not TOML, or a key or value that a gel does not have.
    #[error("{place}: {message}")]
    Syntax {
        /// File and line.
        place: String,
        /// What is wrong there.
        message: String,
    },
    /// A gel that says too little, too much, or something impossible.
    #[error("{place}: gel `{name}`: {message}")]
    Gel {
        /// File and line.
        place: String,
        /// The gel.
        name: String,
        /// What is wrong with it and what to write instead.
        message: String,
    },
    /// A table without a single gel.
    #[error(
        "{place}: there is no gel in this table; add one, as in\n  [\"1/2 CTO\"]\n  kind = \"temperature\"\n  mired = 65\n  stops = 0.5"
    )]
    Empty {
        /// File.
        place: String,
    },
}

const BUILT_IN: &str = include_str!("gels.toml");

/// A shift larger than this, either way, is no gel's: most likely kelvin were written.
const LARGEST_MIRED: f64 = 500.0;
/// The same in Duv; the domain of Duv ends there.
const LARGEST_DUV: f64 = 0.05;
/// More stops than this leave no light to speak of.
const MOST_STOPS: f64 = 10.0;

const FIELDS: [Field; 5] = [
    Field { key: "kind", kind: Kind::Text, example: "\"temperature\"" },
    Field { key: "mired", kind: Kind::Number, example: "65" },
    Field { key: "duv", kind: Kind::Number, example: "0.03" },
    Field { key: "stops", kind: Kind::Number, example: "0.5" },
    Field { key: "transmission", kind: Kind::Number, example: "0.57" },
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Values {
    kind: GelKind,
    mired: f64,
    #[serde(default)]
    duv: f64,
    stops: Option<f64>,
    transmission: Option<f64>,
}

impl Values {
    fn stops(&self) -> Result<f64, String> {
        let within = |range: bool, message: &str| range.then_some(()).ok_or(message.to_owned());
        within(
            self.mired.abs() <= LARGEST_MIRED,
            "`mired` is a shift, from -500 to 500: 1000000 / kelvin after - 1000000 / kelvin before",
        )?;
        within(self.duv.abs() <= LARGEST_DUV, "`duv` is a shift, from -0.05 to 0.05")?;
        let stops = match (self.stops, self.transmission) {
            (Some(stops), None) => stops,
            (None, Some(part)) if part > 0.0 && part <= 1.0 => -part.log2(),
            (None, Some(_)) => {
                return Err("`transmission` is a part of the light, above 0 and up to 1".to_owned());
            }
            _ => return Err("give either `stops` or `transmission`".to_owned()),
        };
        within((0.0..=MOST_STOPS).contains(&stops), "`stops` is light lost, from 0 to 10")?;
        // A transmission of 1 gives -0.
        Ok(stops + 0.0)
    }
}

impl GelTable {
    /// The table that comes with the program.
    ///
    /// # Errors
    /// None in practice: the built-in table is checked by a test.
    pub fn built_in() -> Result<Self, GelError> {
        Self::parse(BUILT_IN, "built-in gels")
    }

    /// The built-in table's text, comments and all: a copy to edit.
    #[must_use]
    pub fn built_in_text() -> &'static str {
        BUILT_IN
    }

    /// Reads a table from a file.
    ///
    /// # Errors
    /// [`GelError`] with the line that is wrong.
    pub fn from_file(path: &Path) -> Result<Self, GelError> {
        let text = text_of(path)
            .map_err(|source| GelError::Unreadable { path: path.to_path_buf(), source })?;
        Self::parse(&text, &path.display().to_string())
    }

    /// Reads a table from text; `origin` names it in errors.
    ///
    /// # Errors
    /// [`GelError`] with the line that is wrong.
    pub fn parse(text: &str, origin: &str) -> Result<Self, GelError> {
        let entries = entries::<Values>(text, origin, &FIELDS)
            .map_err(|error| GelError::Syntax { place: error.place, message: error.message })?;
        let gels = entries.into_iter().map(|entry| {
            let values = &entry.values;
            match values.stops() {
                Ok(stops) => Ok(Gel {
                    name: entry.name,
                    kind: values.kind,
                    mired: MiredShift::new(values.mired),
                    duv: Duv::new(values.duv),
                    stops,
                }),
                Err(message) => {
                    Err(GelError::Gel { place: entry.place, name: entry.name, message })
                }
            }
        });
        let gels: Vec<Gel> = gels.collect::<Result<_, _>>()?;
        if gels.is_empty() {
            return Err(GelError::Empty { place: origin.to_owned() });
        }
        Ok(Self { gels })
    }

    /// All gels, in the table's order.
    #[must_use]
    pub fn gels(&self) -> &[Gel] {
        &self.gels
    }

    /// Those of one kind.
    pub fn of_kind(&self, kind: GelKind) -> impl Iterator<Item = &Gel> + Clone {
        self.gels.iter().filter(move |gel| gel.kind == kind)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{CctDuv, FIRST_NM, LAST_NM, chromaticity, planckian, spectrum_to_xyz};

    /// What the table's comments say a gel is: transmittance by wavelength, in a lamp of a
    /// temperature; gives the shift in mired and Duv and the cost in stops.
    fn derived(kelvin: f64, transmittance: impl Fn(f64) -> f64) -> [f64; 3] {
        let samples = |through: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
            (FIRST_NM..=LAST_NM)
                .map(f64::from)
                .map(|nm| (nm, radiance(kelvin, nm) * through(nm)))
                .collect()
        };
        let bare = spectrum_to_xyz(&samples(&|_| 1.0)).unwrap();
        let gelled = spectrum_to_xyz(&samples(&transmittance)).unwrap();
        let place = |xyz| CctDuv::from_xy(chromaticity(xyz).unwrap()).unwrap();
        let (from, to) = (place(bare), place(gelled));
        [
            (to.cct.mired() - from.cct.mired()).get(),
            (to.duv - from.duv).get(),
            (bare.y / gelled.y).log2(),
        ]
    }

    /// Planck's law, in units of no matter.
    fn radiance(kelvin: f64, nm: f64) -> f64 {
        (nm / 560.0).powi(-5) / ((planckian::C2 * 1e9 / (nm * kelvin)).exp() - 1.0)
    }

    const CLEAR: f64 = 0.92;
    const FRACTIONS: [(&str, f64); 5] =
        [("full", 1.0), ("3/4", 0.75), ("1/2", 0.5), ("1/4", 0.25), ("1/8", 0.125)];

    #[track_caller]
    fn assert_like(name: &str, derived: [f64; 3], mired_tolerance: f64) {
        let table = GelTable::built_in().unwrap();
        let gel = table.gels().iter().find(|gel| gel.name == name).unwrap();
        let [mired, duv, stops] = derived;
        assert!((gel.mired.get() - mired).abs() < mired_tolerance, "{name}: {derived:?}");
        assert!((gel.duv.get() - duv).abs() < 0.0015, "{name}: {derived:?}");
        assert!((gel.stops - stops).abs() < 0.06, "{name}: {derived:?}");
    }

    #[test]
    fn conversion_gels_are_what_their_comment_derives() {
        let full = 1e6 / 3200.0 - 1e6 / 5500.0;
        for (fraction, part) in FRACTIONS {
            for (name, from, sign) in [("CTO", 5500.0, 1.0), ("CTB", 3200.0, -1.0)] {
                let to = 1e6 / (1e6 / from + sign * part * full);
                let ratio = |nm: f64| radiance(to, nm) / radiance(from, nm);
                let most = ratio(440.0).max(ratio(660.0));
                let ideal = |nm: f64| CLEAR * (ratio(nm) / most).min(1.0);
                assert_like(&format!("{fraction} {name}"), derived(from, ideal), 4.0);
            }
        }
    }

    #[test]
    fn correction_gels_are_what_their_comment_derives() {
        let deviation = 82.4 / (8.0 * 2.0_f64.ln()).sqrt();
        let band = |nm: f64| (-0.5 * ((nm - 545.0) / deviation).powi(2)).exp();
        for (fraction, part) in FRACTIONS {
            let density = 0.30 * part;
            let plus = derived(5500.0, |nm| CLEAR * 10_f64.powf(-density * (1.0 - band(nm))));
            assert_like(&format!("{fraction} plus green"), plus, 3.0);
            let minus = derived(5500.0, |nm| CLEAR * 10_f64.powf(-density * band(nm)));
            assert_like(&format!("{fraction} minus green"), minus, 3.0);
        }
    }

    #[test]
    fn the_table_has_every_fraction_of_every_gel() {
        let table = GelTable::built_in().unwrap();
        assert_eq!(table.of_kind(GelKind::Temperature).count(), 10);
        assert_eq!(table.of_kind(GelKind::Green).count(), 10);
    }

    #[test]
    fn a_transmission_says_the_same_as_stops() {
        let text = "[a]\nkind = \"green\"\nmired = 1\nduv = 0.01\ntransmission = 0.5\n";
        let table = GelTable::parse(text, "t").unwrap();
        assert_eq!(table.gels()[0].stops, 1.0);
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line() {
        let gel = |rest: &str| format!("[a]\nkind = \"green\"\n{rest}");
        for (text, line, word) in [
            (gel("mird = 3\nstops = 1\n"), 3, "mird"),
            (gel("mired = 3\n"), 1, "`stops` or `transmission`"),
            (gel("mired = 3\nstops = 1\ntransmission = 0.5\n"), 1, "either"),
            (gel("mired = 5500\nstops = 1\n"), 1, "shift"),
            (gel("mired = nan\nstops = 1\n"), 1, "shift"),
            (gel("mired = 3\nduv = 0.3\nstops = 1\n"), 1, "`duv`"),
            (gel("mired = 3\ntransmission = 36\n"), 1, "up to 1"),
            (gel("mired = 3\nstops = -1\n"), 1, "from 0"),
            ("[a]\nkind = \"warm\"\nmired = 3\nstops = 1\n".to_owned(), 2, "warm"),
        ] {
            let message = GelTable::parse(&text, "my.toml").unwrap_err().to_string();
            assert!(message.starts_with(&format!("my.toml, line {line}:")), "{text:?}: {message}");
            assert!(message.contains(word), "{text:?}: {message}");
        }
        assert!(GelTable::parse("# none\n", "t").unwrap_err().to_string().contains("no gel"));
    }
}
