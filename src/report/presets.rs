//! The preset table as records and as text.

use std::io::{self, Write};

use schemars::JsonSchema;
use serde::Serialize;

use super::rounded::{DUV, KELVIN, MIRED, round};
use super::text::{in_columns, width, write_wrapped};
use super::words::signed;
use crate::balance::Preset;

/// One preset.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Preset record")]
pub struct PresetRecord {
    /// Its name.
    pub name: String,
    /// The temperature it is meant for, kelvin.
    pub kelvin: f64,
    /// The tint it is meant for: Duv, + green, − magenta.
    pub duv: f64,
    /// 10⁶ / kelvin.
    pub mired: f64,
    /// Whether its miss is reported; if not, it is only known by name.
    pub compare: bool,
}

impl From<&Preset> for PresetRecord {
    fn from(preset: &Preset) -> Self {
        let white = preset.white;
        let [mut kelvin, mut duv, mut mired] =
            [white.cct.get(), white.duv.get(), white.mired().get()];
        round(&mut kelvin, KELVIN);
        round(&mut duv, DUV);
        round(&mut mired, MIRED);
        Self { name: preset.name.clone(), kelvin, duv, mired, compare: preset.compare }
    }
}

/// Writes presets as text: those that are compared, then those known by name.
///
/// # Errors
/// What the writer says.
pub fn write_presets_text(out: &mut impl Write, presets: &[PresetRecord]) -> io::Result<()> {
    let names = presets.iter().map(|preset| width(&preset.name));
    let name = names.max().unwrap_or(0).clamp("Preset".len(), 40);
    writeln!(out, "{:<name$}  kelvin    mired      Duv", "Preset")?;
    let (compared, known): (Vec<_>, Vec<_>) = presets.iter().partition(|preset| preset.compare);
    for preset in compared {
        write_preset(out, preset, name)?;
    }
    if !known.is_empty() {
        writeln!(out, "\nKnown by name, but not compared with a light:")?;
        for preset in known {
            write_preset(out, preset, name)?;
        }
    }
    writeln!(out)?;
    write_wrapped(
        out,
        "",
        "",
        "To use your camera's own figures, write a copy with --write my-presets.toml, change it, \
         and read photos with --presets my-presets.toml.",
    )
}

fn write_preset(out: &mut impl Write, preset: &PresetRecord, name: usize) -> io::Result<()> {
    writeln!(
        out,
        "{}  {:>6.0}  {:>7.1}  {:>7}",
        in_columns(&preset.name, name),
        preset.kelvin,
        preset.mired,
        signed(preset.duv, 4)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::balance::PresetTable;

    #[test]
    fn presets_are_listed_in_the_tables_order() {
        let text = "[window]\nkelvin = 5200\nduv = 0.004\n[lamp]\nkelvin = 3200\n\
                    [d65]\nkelvin = 6500\ncompare = false\n";
        let table = PresetTable::parse(text, "t").unwrap();
        let records: Vec<_> = table.presets().iter().map(PresetRecord::from).collect();
        let mut out = Vec::new();
        write_presets_text(&mut out, &records).unwrap();
        insta::assert_snapshot!(String::from_utf8(out).unwrap(), @r"
        Preset  kelvin    mired      Duv
        window    5200    192.3  +0.0040
        lamp      3200    312.5   0.0000

        Known by name, but not compared with a light:
        d65       6500    153.8  +0.0033

        To use your camera's own figures, write a copy with --write my-presets.toml,
        change it, and read photos with --presets my-presets.toml.
        ");
    }
}
