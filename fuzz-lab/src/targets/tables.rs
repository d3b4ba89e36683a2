//! Tables of presets and gels that users edit.

use lab::Rng;
use mirecast::balance::{GelTable, PresetTable};

use super::Target;
use crate::mutate::{Grammar, bend_text};

pub(super) struct Presets;
pub(super) struct Gels;

fn bent(rng: &mut Rng, text: &str) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    bend_text(rng, &mut bytes, Grammar::Toml);
    bytes
}

fn ended<T, E>(parsed: Result<T, E>) -> String {
    if parsed.is_ok() { "read" } else { "refused" }.to_owned()
}

impl Target for Presets {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        bent(rng, PresetTable::built_in_text())
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        let Ok(text) = std::str::from_utf8(input) else { return Ok("not UTF-8".to_owned()) };
        let table = PresetTable::parse(text, "table");
        if let Ok(table) = &table {
            let whole = |preset: &mirecast::balance::Preset| {
                let white = preset.white;
                white.cct.get().is_finite() && white.duv.get().is_finite()
            };
            if !table.presets().iter().all(whole) {
                return Err("a preset that is no light".to_owned());
            }
        }
        Ok(ended(table))
    }
}

impl Target for Gels {
    fn input(&self, rng: &mut Rng) -> Vec<u8> {
        bent(rng, GelTable::built_in_text())
    }

    fn run(&self, input: &[u8]) -> Result<String, String> {
        let Ok(text) = std::str::from_utf8(input) else { return Ok("not UTF-8".to_owned()) };
        Ok(ended(GelTable::parse(text, "table")))
    }
}
