//! One settings file: keys that are names of options, values as they stand after the options.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use super::{Origin, Set, Settings, SettingsError};
use crate::cli::args::lab;
use crate::cli::complaint::whole_path;

/// Every key that there is.
pub(super) const KEYS: [&str; 6] =
    ["presets", "gels", "tolerance", "encoding", "card-lab", "footage"];

/// A larger file is no settings that somebody wrote.
const MOST_BYTES: u64 = 64 << 10;

/// The settings in a file; what is not said there is `None`.
pub(super) fn read(origin: Origin) -> Result<Settings, SettingsError> {
    let text = text_of(&origin.path)
        .map_err(|source| SettingsError::Unreadable { path: origin.path.clone(), source })?;
    parse(&text, Arc::new(origin))
}

fn text_of(path: &Path) -> io::Result<String> {
    let mut text = String::new();
    let length = File::open(path)?.take(MOST_BYTES + 1).read_to_string(&mut text)?;
    if length as u64 > MOST_BYTES {
        return Err(io::Error::new(io::ErrorKind::InvalidData, "it is too large for settings"));
    }
    Ok(text)
}

pub(super) fn parse(text: &str, origin: Arc<Origin>) -> Result<Settings, SettingsError> {
    let place = |offset: Option<usize>| {
        let before = offset.and_then(|offset| text.get(..offset));
        let line = before.map_or(1, |before| before.matches('\n').count() + 1);
        format!("{}, line {line}", whole_path(&origin.path))
    };
    let table = DeTable::parse(text).map_err(|error| SettingsError::Syntax {
        place: place(error.span().map(|span| span.start)),
        message: error.message().trim_end().replace('\n', "; "),
    })?;
    let mut settings = Settings::default();
    for (key, value) in table.into_inner() {
        let place = place(Some(key.span().start));
        let key = key.into_inner().into_owned();
        let Some(known) = KEYS.into_iter().find(|known| *known == key) else {
            return Err(SettingsError::Unknown { place, nearest: nearest(&key), key });
        };
        let wrong = |message: String| SettingsError::Value { place, key: known, message };
        let Some(text) = written(value.get_ref()) else {
            let example = example(known);
            return Err(wrong(format!(
                "write what stands after the option, in quotes, as in `{known} = \"{example}\"`"
            )));
        };
        let origin = &origin;
        match known {
            "presets" => settings.presets = Some(beside(text, origin).map_err(wrong)?),
            "gels" => settings.gels = Some(beside(text, origin).map_err(wrong)?),
            "tolerance" => settings.tolerance = Some(set(text, origin, str::parse).map_err(wrong)?),
            "encoding" => settings.encoding = Some(set(text, origin, str::parse).map_err(wrong)?),
            "card-lab" => settings.card_lab = Some(set(text, origin, lab).map_err(wrong)?),
            "footage" => settings.footage = Some(set(text, origin, str::parse).map_err(wrong)?),
            _ => return Err(wrong("it is known and has no use".to_owned())),
        }
    }
    Ok(settings)
}

/// What could stand as a key's value.
fn example(key: &str) -> &'static str {
    match key {
        "presets" => "my-presets.toml",
        "gels" => "my-gels.toml",
        "tolerance" => "20,0.006",
        "card-lab" => "94,0.5,-1.2",
        _ => "rec709",
    }
}

/// A value as its option takes it; a bare number will do for its text.
fn written(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(text) => Some(text.clone().into_owned()),
        // Its digits alone would be another number in another base.
        DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
        DeValue::Float(number) => Some(number.as_str().to_owned()),
        _ => None,
    }
}

fn set<T, E: ToString>(
    text: String,
    origin: &Arc<Origin>,
    parse: impl Fn(&str) -> Result<T, E>,
) -> Result<Set<T>, String> {
    let value = parse(&text).map_err(|error| error.to_string())?;
    Ok(Set { value, text, origin: origin.clone() })
}

/// A file that settings name lies where they lie, not where somebody happens to be.
fn beside(text: String, origin: &Arc<Origin>) -> Result<Set<std::path::PathBuf>, String> {
    if text.is_empty() {
        return Err("name a file, or take the line out".to_owned());
    }
    let value = origin.path.with_file_name(&text);
    Ok(Set { value, text, origin: origin.clone() })
}

/// The key that was most likely meant.
fn nearest(key: &str) -> Option<&'static str> {
    KEYS.into_iter()
        .map(|known| (strsim::levenshtein(&key.to_lowercase().replace('_', "-"), known), known))
        .filter(|(edits, known)| *edits <= 1 + known.len() / 4)
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, known)| known)
}

#[cfg(test)]
mod tests {
    use super::super::Whose;
    use super::*;
    use std::path::PathBuf;

    fn parsed(text: &str) -> Result<Settings, SettingsError> {
        parse(text, Arc::new(Origin { whose: Whose::Shoot, path: "shoot/mirecast.toml".into() }))
    }

    #[test]
    fn every_key_takes_what_its_option_takes() {
        let settings = parsed(
            "presets = 'mine.toml'\ngels = '/kit/gels.toml'\ntolerance = '10,0.004'\n\
             encoding = 'rec709'\ncard-lab = '94,0.5,-1.2'\nfootage = 'gamma2.2'\n",
        )
        .unwrap();
        let value = |set: Option<Set<PathBuf>>| set.map(|set| set.value);
        assert_eq!(value(settings.presets), Some("shoot/mine.toml".into()));
        assert_eq!(value(settings.gels), Some("/kit/gels.toml".into()));
        assert_eq!(settings.tolerance.unwrap().value.duv, 0.004);
        assert_eq!(settings.card_lab.unwrap().value, [94.0, 0.5, -1.2]);
        assert_eq!(settings.footage.unwrap().value.to_string(), "gamma2.2");
        assert!(settings.encoding.is_some());
        assert_eq!(parsed("tolerance = 12.5").unwrap().tolerance.unwrap().value.mired, 12.5);
        assert_eq!(parsed("# nothing\n").unwrap(), Settings::default());
    }

    #[test]
    fn slips_are_named_with_their_line_and_the_key_meant() {
        for (text, line, word) in [
            ("\ntolerence = 20\n", 2, "did you mean `tolerance`?"),
            ("card_lab = '94,0,0'\n", 1, "did you mean `card-lab`?"),
            ("shot-at = 'tungsten'\n", 1, "there are presets, gels, tolerance"),
            ("gels = 'a'\ntolerance = 0\n", 2, "20,0.006"),
            ("tolerance = true\n", 1, "in quotes"),
            ("card-lab = [94, 0, 0]\n", 1, "in quotes, as in `card-lab = \"94,0.5,-1.2\"`"),
            ("footage = 'mylog'\n", 1, "footage: "),
            ("encoding = 'rec601'\n", 1, "write srgb"),
            ("tolerance = 20\ntolerance = 21\n", 2, "duplicate"),
            ("tolerance = 0x14\n", 1, "in quotes"),
            ("presets = ''\n", 1, "name a file"),
            ("tolerance = \n", 1, ""),
            ("[card]\ntolerance = 20\n", 1, "`card`"),
        ] {
            let message = parsed(text).unwrap_err().to_string();
            let start = format!("shoot/mirecast.toml, line {line}: ");
            assert!(message.starts_with(&start) && message.contains(word), "{text:?}: {message}");
        }
    }

    #[test]
    fn the_file_to_edit_sets_nothing_and_offers_every_setting() {
        let template = super::super::TEMPLATE;
        assert_eq!(parsed(template).unwrap(), Settings::default());
        let lines = template.lines().map(|line| match line.strip_prefix("# ") {
            Some(set) if KEYS.iter().any(|key| set.starts_with(&format!("{key} = "))) => set,
            _ => line,
        });
        let all = parsed(&lines.collect::<Vec<_>>().join("\n")).unwrap();
        let Settings { presets, gels, tolerance, encoding, card_lab, footage } = all;
        assert!(presets.is_some() && gels.is_some() && tolerance.is_some());
        assert!(encoding.is_some() && card_lab.is_some() && footage.is_some());
        assert!(template.lines().all(|line| line.chars().count() <= 84));
    }
}
