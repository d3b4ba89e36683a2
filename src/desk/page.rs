//! The page itself.

use askama::Template;
use mirecast::balance::PresetTable;
use mirecast::still::FORMATS;

use super::limits::Limits;
use crate::cli::picture_name::endings;

pub(crate) const STYLE: &str = include_str!("page/desk.css");

/// The page's script, a module a concern; the first is the one that the page names.
pub(crate) const SCRIPTS: [(&str, &str); 8] = [
    ("desk.js", include_str!("page/desk.js")),
    ("cards.js", include_str!("page/cards.js")),
    ("corrections.js", include_str!("page/corrections.js")),
    ("frames.js", include_str!("page/frames.js")),
    ("line.js", include_str!("page/line.js")),
    ("parts.js", include_str!("page/parts.js")),
    ("queue.js", include_str!("page/queue.js")),
    ("setups.js", include_str!("page/setups.js")),
];

#[derive(Template)]
#[template(path = "desk.html")]
struct Page<'a> {
    version: &'static str,
    presets: Vec<PresetChoice<'a>>,
    most_megabytes: usize,
    most_frames: usize,
    most_lights: usize,
    /// With their dots and commas between: browsers do not know raw files for pictures.
    endings: String,
    kinds: String,
}

struct PresetChoice<'a> {
    name: &'a str,
    shown: String,
}

/// The page with a choice of balances from the table.
pub(crate) fn page(presets: &PresetTable, limits: &Limits) -> String {
    let choice = |preset: &mirecast::balance::Preset| {
        let mut letters = preset.name.chars();
        let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
        first + letters.as_str()
    };
    let presets = presets.presets().iter().map(|preset| PresetChoice {
        name: &preset.name,
        shown: format!("{} ({:.0} K)", choice(preset), preset.white.cct.get()),
    });
    let page = Page {
        version: env!("CARGO_PKG_VERSION"),
        presets: presets.collect(),
        most_megabytes: limits.photo_bytes >> 20,
        most_frames: limits.frames,
        most_lights: limits.setups,
        endings: endings().map(|ending| format!(".{ending}")).collect::<Vec<_>>().join(","),
        kinds: format!("{FORMATS} and raw files"),
    };
    // Templates fail only where a value in them does, and texts do not.
    page.render().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_in_a_table_cannot_become_markup() {
        let table = "[\"<script>alert(1)</script>\"]\nkelvin = 3000\nduv = 0.0\n";
        let Ok(table) = PresetTable::parse(table, "test") else {
            panic!("the table is sound: {:?}", PresetTable::parse(table, "test"));
        };
        let page = page(&table, &Limits::default());
        assert!(!page.contains("<script>alert"), "{page}");
        assert!(page.contains("&#60;script&#62;alert(1)"), "{page}");
    }

    #[test]
    fn nothing_in_the_page_needs_more_than_its_policy_allows() {
        let page = page(&PresetTable::built_in().unwrap(), &Limits::default());
        assert!(page.contains("value=\"tungsten\""), "{page}");
        for forbidden in ["style=", "onclick", "onload", "<style", "http://", "https://"] {
            assert!(!page.contains(forbidden), "{forbidden}");
        }
        for script in page.split("<script").skip(1) {
            assert!(script.starts_with(" type=\"module\" src=\""), "{script}");
        }
    }

    #[test]
    fn scripts_lead_to_each_other_and_nowhere_else() {
        let names: Vec<_> = SCRIPTS.iter().map(|(name, _)| *name).collect();
        let mut named = std::collections::BTreeSet::from(["desk.js"]);
        for (name, script) in SCRIPTS {
            for part in script.split(" from \"./").skip(1) {
                let imported = part.split('"').next().unwrap();
                assert!(names.contains(&imported), "{name} asks for {imported}");
                named.insert(imported);
            }
        }
        assert_eq!(named.len(), names.len(), "{names:?}");
    }
}
